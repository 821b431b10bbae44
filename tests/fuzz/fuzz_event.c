/* SPDX-License-Identifier: MIT */
/* Any bytes as one line of a log: what decodes fits the schema, comes out as a line fit for a
 * terminal, and that line is the same event and the same line again; so are its fields alone. */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/utf8.h"
#include "shell/jsonl.h"
#include "fuzz/must.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void check_safe(const char *text)
{
    while (*text != '\0') {
        must(cb_utf8_is_safe(cb_utf8_next(&text)));
    }
}

static void check(const struct cb_event *event, struct cb_arena *arena)
{
    struct cb_str line = {0}, again = {0}, sure = {0}, fields = {0};
    const struct cb_event *back = NULL;
    const struct cb_attr *attrs = NULL;
    size_t count = 0;
    must(cb_event_validate(event, NULL) == CB_OK);
    must(cb_event_equal(event, cb_event_copy(arena, event)));
    cb_jsonl_encode(event, &line);
    check_safe(cb_str_text(&line));
    must(cb_jsonl_decode(cb_str_text(&line), line.length, arena, &back, NULL) == CB_OK);
    must(cb_event_equal(event, back));
    cb_jsonl_encode(back, &again);
    must(strcmp(cb_str_text(&line), cb_str_text(&again)) == 0);
    if (line.length <= CB_JSONL_LINE_MAX) {
        must(cb_jsonl_encode_sure(event, arena, &sure, NULL) == CB_OK);
        must(strcmp(cb_str_text(&line), cb_str_text(&sure)) == 0);
    }
    cb_jsonl_encode_fields(event, &fields);
    must(cb_jsonl_decode_fields(cb_str_text(&fields), fields.length, event->kind, arena, &attrs,
                                &count, NULL) == CB_OK);
    cb_str_fini(&line);
    cb_str_fini(&again);
    cb_str_fini(&sure);
    cb_str_fini(&fields);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct cb_arena arena = {0};
    const struct cb_event *event = NULL;
    struct cb_err err = {0};
    int column = 0;
    const enum cb_status status =
        cb_jsonl_decode_at((const char *)data, size, &arena, &event, &column, &err);
    if (status == CB_OK) {
        check(event, &arena);
    } else {
        must(status == CB_DATA && column > 0 && err.text[0] != '\0');
        must(strchr(err.text, '\n') == NULL);
    }
    cb_arena_fini(&arena);
    return 0;
}
