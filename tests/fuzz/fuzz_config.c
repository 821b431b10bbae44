/* SPDX-License-Identifier: MIT */
/* Any bytes as config.yaml, and as a kinds.yaml of the user's. */
#include <stdint.h>
#include <stdlib.h>

#include "core/recipe/config.h"
#include "core/paint/kinds.h"
#include "shell/yaml.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

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
        (void)cb_kinds_from_tree(tree, NULL, &arena, &kinds_issues, &more_issues);
    }
    cb_arena_fini(&arena);
    return 0;
}
