/* SPDX-License-Identifier: MIT */
/* The review: how far the unit in front has come, stage by stage, and how long it took. */
#include <stdio.h>

#include "core/review.h"
#include "view/app_state.h"
#include "view/view.h"
#include "view/words.h"

static void draw(const struct cb_app *app, struct cb_grid *grid)
{
    struct cb_arena arena = {0};
    int front = cb_bench_front(app->bench);
    cb_grid_put(grid, 0, 1, 0, CB_ROLE_STRONG, "Review");
    if (front < 0) {
        cb_grid_put(grid, 2, 1, 0, CB_ROLE_PLAIN, "No unit is open.");
        return;
    }
    const struct cb_review *review = cb_review_unit(app->bench, app->learn, (size_t)front,
                                                    cb_app_bench_now(app), &arena);
    const struct cb_unit *unit = review->unit;
    cb_words_put(grid, 0, 9, 0, CB_ROLE_TITLE, unit->name);
    char all[32], hands[32], wait[32];
    cb_time_span(review->session_ms, all);
    cb_time_span(review->spent_ms[CB_SPENT_HANDS_ON], hands);
    cb_time_span(review->spent_ms[CB_SPENT_WAITING], wait);
    cb_words_put(grid, 2, 1, grid->columns - 2, CB_ROLE_PLAIN,
                 cb_arena_printf(&arena, "%s at the bench: %s hands-on, %s waiting", all, hands,
                                 wait));
    int times = grid->columns >= 60 ? 40 : grid->columns - 22;
    cb_grid_put(grid, 4, 1, times - 2, CB_ROLE_DIM, "STAGE");
    cb_grid_putf(grid, 4, times, 0, CB_ROLE_DIM, "%6s   %s", "COATS", "HANDS-ON");
    int row = 5;
    for (size_t s = 0; s < review->stage_count && row < grid->rows - 1; s++) {
        const struct cb_review_stage *stage = &review->stages[s];
        char span[32];
        cb_time_span(stage->spent_ms[CB_SPENT_HANDS_ON], span);
        cb_words_put(grid, row, 1, times - 2, CB_ROLE_PLAIN,
                     unit->recipe->stages[stage->stage - 1].name);
        cb_grid_putf(grid, row, times, 0, stage->coats ? CB_ROLE_PLAIN : CB_ROLE_DIM, "%6d   %s",
                     stage->coats, stage->coats ? span : "");
        row++;
    }
    cb_words_put(grid, grid->rows - 1, 1, grid->columns - 2, CB_ROLE_DIM,
                 "TAB view   F1 bench   ? keys");
    cb_arena_fini(&arena);
}

const struct cb_view cb_view_review = {"review", draw, NULL};
