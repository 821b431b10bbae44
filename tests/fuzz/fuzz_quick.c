/* SPDX-License-Identifier: MIT */
/* Any line as a quick one, with words known and without: one sentence, offers that lie within the
 * line, and what is complete makes a recipe that reads. */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/utf8.h"
#include "core/recipe/quick.h"
#include "core/recipe/recipe_write.h"
#include "shell/paths.h"
#include "shell/yaml.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static struct cb_arena kept; /* lives as long as the program */

static const struct cb_kinds *the_kinds(void)
{
    static const struct cb_kinds *kinds;
    struct cb_err err = {0};
    if (kinds == NULL && cb_paths_kinds(&kept, &kinds, &err) != CB_OK) {
        abort();
    }
    return kinds;
}

static const struct cb_recipe *read_text(const char *text, struct cb_arena *arena)
{
    struct cb_issues issues = {0};
    const struct cb_tree *tree = cb_yaml_read(text, strlen(text), arena, &issues);
    return tree != NULL ? cb_recipe_from_tree(tree, text, the_kinds(), arena, &issues) : NULL;
}

static void check(const struct cb_recipe *recipe, const char *text, struct cb_arena *arena)
{
    const struct cb_quick_known known = {the_kinds(), recipe, NULL, 0, recipe == NULL};
    struct cb_quick *quick = cb_arena_alloc(arena, 1, sizeof *quick);
    cb_quick_read(&known, text, arena, quick);
    if (quick->sentence[0] == '\0') {
        abort();
    }
    for (const char *at = quick->sentence; *at != '\0';) {
        if (!cb_utf8_is_safe(cb_utf8_next(&at))) {
            abort();
        }
    }
    for (size_t i = 0; i < quick->offer_count; i++) {
        if (quick->offers[i].word[0] == '\0') {
            abort();
        }
    }
    if (quick->complete) {
        struct cb_draft *draft = cb_arena_alloc(arena, 1, sizeof *draft);
        if (recipe != NULL) {
            cb_draft_of(draft, recipe);
        } else {
            cb_draft_begin(draft, "Tonight", 1);
        }
        if (!cb_quick_put(quick, draft, draft->recipe.stage_count, arena) ||
            read_text(cb_recipe_write(&draft->recipe, the_kinds(), NULL, arena), arena) == NULL) {
            abort();
        }
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const struct cb_recipe *some;
    struct cb_arena arena = {0};
    if (size > 4096) {
        return -1; /* a line at the bench is shorter */
    }
    if (some == NULL) {
        some = read_text("{coatbell: 1, name: Watch, paints: {green: {name: Oilskin green}, "
                         "ebb: {name: Ebb wash, kind: wash}}, areas: {oilskin: {}, rope: {}, "
                         "left boot: {}, shield: {apart: yes}}, stages: [{name: Oilskins, "
                         "technique: basecoat, paint: green, on: oilskin}]}",
                         &kept);
    }
    const char *text = cb_arena_text_n(&arena, (const char *)data, size);
    check(NULL, text, &arena);
    check(some, text, &arena);
    cb_arena_fini(&arena);
    return 0;
}
