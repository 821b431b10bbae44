/* SPDX-License-Identifier: MIT */
/* Any bytes as config.yaml, and as a kinds.yaml of the user's. */
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/str.h"
#include "core/recipe/config.h"
#include "core/paint/kinds.h"
#include "shell/yaml.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* What is told of a setting, and what would change it, reads as config.yaml does. */
static void check_values(const struct cb_config *config, struct cb_arena *arena)
{
    for (int i = 0; i < CB_SETTING_COUNT; i++) {
        const enum cb_setting setting = (enum cb_setting)i;
        const char *values[] = {cb_config_value(config, setting, arena),
                                cb_config_other(config, setting)};
        for (size_t k = 0; k < 2; k++) {
            struct cb_issues issues = {0};
            if (values[k] == NULL) {
                continue;
            }
            const char *line = cb_arena_printf(arena, "%s: %s\n", cb_setting_names[i], values[k]);
            const struct cb_tree *tree = cb_yaml_read(line, strlen(line), arena, &issues);
            const struct cb_config *read =
                tree != NULL ? cb_config_from_tree(tree, arena, &issues) : NULL;
            if (read == NULL ||
                cb_str_same(cb_config_value(read, setting, arena), values[0]) != (k == 0)) {
                fprintf(stderr, "%s", line);
                abort();
            }
        }
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct cb_arena arena = {0};
    struct cb_issues issues = {0}, kinds_issues = {0}, more_issues = {0};
    const struct cb_tree *tree = cb_yaml_read((const char *)data, size, &arena, &issues);
    if (tree != NULL) {
        const struct cb_config *config = cb_config_from_tree(tree, &arena, &issues);
        if ((config == NULL) != (issues.count > 0) ||
            (config != NULL && !(config->confidence >= 0.5 && config->confidence <= 0.95))) {
            abort();
        }
        if (config != NULL) {
            check_values(config, &arena);
        }
        (void)cb_kinds_from_tree(tree, NULL, &arena, &kinds_issues, &more_issues);
    }
    cb_arena_fini(&arena);
    return 0;
}
