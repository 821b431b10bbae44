/* SPDX-License-Identifier: MIT */
/* Any bytes as another painter's table: what is taken is an event, and comes out as it went in. */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "core/bench/pot_share.h"
#include "must.h"
#include "shell/yaml.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static const struct cb_pot_given *read_table(const char *text, size_t length,
                                             struct cb_arena *arena, size_t *count)
{
    struct cb_issues issues = {0};
    const struct cb_tree *tree = cb_yaml_read(text, length, arena, &issues);
    const struct cb_pot_given *given =
        tree != NULL ? cb_pot_share_read(tree, arena, &issues, count) : NULL;
    must((given == NULL) == (issues.count > 0));
    return given;
}

static void check(const struct cb_pot_given *given, struct cb_arena *arena)
{
    struct cb_event_make make;
    struct cb_err err = {0};
    cb_pot_given_event(given, arena, &(struct cb_moment){0}, &make);
    const struct cb_event *event = cb_event_take(&make);
    const struct cb_pot_given same = cb_pot_given_of(event);
    must(cb_event_validate(event, &err) == CB_OK);
    must(same.low_min < same.high_min && same.low_min >= given->low_min);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct cb_arena arena = {0};
    struct cb_str out = {0};
    size_t count = 0, again_count = 0;
    const struct cb_pot_given *given = read_table((const char *)data, size, &arena, &count);
    for (size_t i = 0; i < count; i++) {
        check(&given[i], &arena);
    }
    if (given != NULL && cb_pot_share_write(given, count, CB_YAML_BYTES_MAX, &out) == count) {
        const struct cb_pot_given *again =
            read_table(cb_str_text(&out), out.length, &arena, &again_count);
        must(again_count == count);
        for (size_t i = 0; i < count; i++) {
            must(strcmp(again[i].paint, given[i].paint) == 0);
            must(strcmp(again[i].kind, given[i].kind) == 0);
            must(again[i].coats == given[i].coats);
        }
    }
    cb_str_fini(&out);
    cb_arena_fini(&arena);
    return 0;
}
