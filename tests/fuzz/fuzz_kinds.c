/* SPDX-License-Identifier: MIT */
/* Any bytes as a kinds.yaml of the user's beside ours: what is taken has ours in it still, and
 * every kind of it dries by numbers that can be. */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "base/utf8.h"
#include "core/paint/drying.h"
#include "core/paint/kinds.h"
#include "shell/paths.h"
#include "shell/yaml.h"
#include "fuzz/must.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static const struct cb_tree *our_tree(void)
{
    static struct cb_arena arena; /* lives as long as the program */
    static const struct cb_tree *tree;
    if (tree == NULL) {
        struct cb_issues issues = {0};
        char *text = NULL;
        size_t length = 0;
        must(cb_file_read(cb_paths_data(&arena, "kinds.yaml"), 1 << 20, &arena, &text, &length,
                          NULL) == CB_OK);
        tree = cb_yaml_read(text, length, &arena, &issues);
        must(tree != NULL);
    }
    return tree;
}

static void check_name(const char *name)
{
    must(name != NULL && name[0] != '\0');
    for (const char *at = name; *at != '\0';) {
        must(cb_utf8_is_safe(cb_utf8_next(&at)));
    }
}

static void check(const struct cb_kinds *kinds)
{
    must(kinds->kind_count <= CB_KINDS_MAX);
    for (size_t i = 0; i < kinds->kind_count; i++) {
        size_t found;
        check_name(kinds->kinds[i].name);
        must(cb_kinds_find(kinds, kinds->kinds[i].name, &found) && found == i);
        for (int technique = 0; technique < CB_TECHNIQUE_COUNT; technique++) {
            const struct cb_prior *prior =
                cb_kinds_prior(kinds, i, (enum cb_technique)technique, CB_BY_BRUSH);
            must(prior == NULL || !(prior->median_min < 0));
        }
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct cb_arena arena = {0};
    struct cb_issues issues = {0}, none = {0};
    const struct cb_tree *tree = cb_yaml_read((const char *)data, size, &arena, &issues);
    if (tree != NULL) {
        const struct cb_kinds *kinds = cb_kinds_from_tree(our_tree(), tree, &arena, &none, &issues);
        must((kinds == NULL) == (issues.count > 0) && none.count == 0);
        if (kinds != NULL) {
            check(kinds);
        }
    }
    cb_arena_fini(&arena);
    return 0;
}
