/* SPDX-License-Identifier: MIT */
/* Any bytes as a script of `play`, read and never run, so that no file is touched: each line is one
 * step with all that it needs, or a fault in one line. */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/arena.h"
#include "command/play_line.h"
#include "core/recipe/recipe.h"
#include "fuzz/must.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void check(const struct cb_play_line *line)
{
    const int64_t most = (int64_t)(CB_PLAY_SPAN_MAX * 3600 * 1000);
    must(line->step <= CB_PLAY_NOTHING && line->rest != NULL);
    must(line->figures >= 0 && line->figures <= CB_FIGURES_MAX);
    must(line->first >= 0 && line->first <= CB_FIGURES_MAX);
    must(line->is_moment || (line->ms <= most && line->ms >= -most));
    must(line->is_moment || line->ms >= 0 || line->step == CB_PLAY_WALL);
    must(line->columns >= 0 && line->columns <= CB_PLAY_SIDE_MAX);
    must(line->rows >= 0 && line->rows <= CB_PLAY_SIDE_MAX);
    must(line->step != CB_PLAY_SIZE || (line->columns > 0 && line->rows > 0));
    must(line->step != CB_PLAY_NOTHING || (line->rest[0] == '\0' && !line->needs_bench));
    must(line->step != CB_PLAY_DO || line->action < CB_ACTION_COUNT);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct cb_arena arena = {0};
    char *line = cb_arena_text_n(&arena, (const char *)data, size);
    while (line != NULL) {
        struct cb_play_line read;
        struct cb_err err = {0};
        char *end = strchr(line, '\n');
        if (end != NULL) {
            *end++ = '\0';
        }
        const enum cb_status status = cb_play_line_read(line, &read, &err);
        must((status == CB_OK) == (err.text[0] == '\0'));
        must(status == CB_OK || status == CB_FAILED);
        must(strchr(err.text, '\n') == NULL);
        if (status == CB_OK) {
            check(&read);
        }
        line = end;
    }
    cb_arena_fini(&arena);
    return 0;
}
