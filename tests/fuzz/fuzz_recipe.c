/* SPDX-License-Identifier: MIT */
/* Any bytes as a recipe: the tree, the schema, what is asked of a recipe that is taken, and that
 * what is written of it reads back. */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/str.h"
#include "base/utf8.h"
#include "core/paint/drying.h"
#include "core/recipe/drying_stage.h"
#include "core/recipe/recipe.h"
#include "core/recipe/recipe_write.h"
#include "shell/paths.h"
#include "shell/yaml.h"
#include "support/recipe_equal.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static const struct cb_kinds *the_kinds(void)
{
    static struct cb_arena arena; /* lives as long as the program */
    static const struct cb_kinds *kinds;
    struct cb_err err = {0};
    if (kinds == NULL && cb_paths_kinds(&arena, &kinds, &err) != CB_OK) {
        abort();
    }
    return kinds;
}

static void use(const struct cb_recipe *recipe, struct cb_arena *arena)
{
    for (size_t i = 0; i < recipe->stage_count; i++) {
        const struct cb_stage *stage = &recipe->stages[i];
        if (strlen(cb_mix_text(recipe, &stage->mix, true, arena)) == 0 && stage->mix.count > 0) {
            abort();
        }
        if ((cb_recipe_waits_for(recipe, i) >> i & 1) != 0 || stage->coats < 1) {
            abort();
        }
        for (int figure = 1; figure <= CB_FIGURES_MAX; figure++) {
            (void)cb_recipe_applies(recipe, i, figure);
        }
        for (size_t other = 0; other < recipe->stage_count; other++) {
            if (cb_recipe_touch(recipe, i, other) != cb_recipe_touch(recipe, other, i)) {
                abort();
            }
        }
        struct cb_drying drying = cb_drying_of_stage(the_kinds(), recipe, i);
        if (!(drying.standard_min >= 0)) {
            abort();
        }
    }
}

static void write_back(const struct cb_recipe *recipe, struct cb_arena *arena)
{
    struct cb_issues issues = {0};
    const char *text = cb_recipe_write(recipe, the_kinds(), NULL, arena);
    const size_t length = strlen(text);
    if (length > CB_RECIPE_BYTES) {
        return; /* tidy takes more room than what was near the limit */
    }
    const struct cb_tree *tree = cb_yaml_read(text, length, arena, &issues);
    const struct cb_recipe *back =
        tree != NULL ? cb_recipe_from_tree(tree, text, the_kinds(), arena, &issues) : NULL;
    if (back == NULL || recipe_difference(recipe, back, arena) != NULL) {
        abort();
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct cb_arena arena = {0};
    struct cb_issues issues = {0};
    const char *text = cb_arena_text_n(&arena, (const char *)data, size);
    const struct cb_tree *tree = cb_yaml_read(text, size, &arena, &issues);
    const struct cb_recipe *recipe =
        tree != NULL ? cb_recipe_from_tree(tree, text, the_kinds(), &arena, &issues) : NULL;
    if ((recipe == NULL) != (issues.count > 0)) {
        abort(); /* refused without a word, or taken with one */
    }
    if (recipe != NULL) {
        use(recipe, &arena);
        write_back(recipe, &arena);
    }
    struct cb_str out = {0};
    cb_issues_print(&issues, "fuzz", text, &out);
    for (const char *at = cb_str_text(&out); *at != '\0';) {
        uint32_t cp = cb_utf8_next(&at);
        if (cp != '\n' && !cb_utf8_is_safe(cp)) {
            abort();
        }
    }
    cb_str_fini(&out);
    cb_arena_fini(&arena);
    return 0;
}
