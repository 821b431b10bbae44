/* SPDX-License-Identifier: MIT */
/* Any bytes as a cues.yaml: what is taken fits its line and is fit for a screen. */
#include <stdint.h>
#include <stdlib.h>

#include "base/utf8.h"
#include "core/coach/cue.h"
#include "shell/yaml.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void check(const struct cb_cue *cue)
{
    if (cb_utf8_text_width(cue->text) > CB_CUE_COLUMNS || cue->until < 0 || cue->until > 1 ||
        cue->weight < 0 || cue->weight > 100) {
        abort();
    }
    for (const char *text = cue->text; *text != '\0';) {
        if (!cb_utf8_is_safe(cb_utf8_next(&text))) {
            abort();
        }
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const struct cb_kind kind = {.name = "wash"};
    static const struct cb_kinds kinds = {.kind_count = 1, .kinds = &kind};
    struct cb_arena arena = {0};
    struct cb_issues issues = {0}, none = {0};
    const struct cb_tree *tree = cb_yaml_read((const char *)data, size, &arena, &issues);
    if (tree != NULL) {
        const struct cb_cues *cues = cb_cues_from_tree(NULL, tree, &kinds, &arena, &none, &issues);
        if ((cues == NULL) != (issues.count > 0)) {
            abort();
        }
        for (size_t i = 0; cues != NULL && i < cues->count; i++) {
            check(&cues->cues[i]);
        }
    }
    cb_arena_fini(&arena);
    return 0;
}
