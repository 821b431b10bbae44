/* SPDX-License-Identifier: MIT */
/* The review's stages: what was planned, what each took, and the one that is opened. */
#include "view/review_pen.h"

#include <math.h>
#include <string.h>

#include "base/utf8.h"

#define NAME_LEAST  26 /* columns of a stage's name where there is room */
#define BAR_COLUMNS 20 /* of a stage's bar, before its name is cut */

static void span_of_min(double minutes, char out[CB_HM_SIZE])
{
    cb_review_span((int64_t)llround(minutes * 60000.0), out);
}

static int64_t stage_ms(const struct cb_review_stage *stage)
{
    return cb_review_took_ms(stage->spent_ms);
}

static double stage_over(const struct cb_review_stage *stage)
{
    return isnan(stage->planned_min) ? -1e9
                                     : (double)stage_ms(stage) / 60000.0 - stage->planned_min;
}

static bool is_begun(const struct cb_review_stage *stage)
{
    int64_t ms = 0;
    for (enum cb_spent spent = 0; spent < CB_SPENT_COUNT; spent++) {
        ms += stage->spent_ms[spent];
    }
    return stage->coats > 0 || ms > 0;
}

size_t cb_review_stage_order(const struct cb_review *review, enum cb_review_sort sort,
                             size_t order[CB_RECIPE_MAX])
{
    size_t count = 0;
    for (size_t i = 0; i < review->stage_count && i < CB_RECIPE_MAX; i++) {
        if (!is_begun(&review->stages[i])) {
            continue;
        }
        size_t at = count++;
        order[at] = i;
        if (sort == CB_REVIEW_BY_RECIPE) {
            continue;
        }
        const struct cb_review_stage *stages = review->stages;
        while (at > 0 && (sort == CB_REVIEW_BY_TIME
                              ? stage_ms(&stages[i]) > stage_ms(&stages[order[at - 1]])
                              : stage_over(&stages[i]) > stage_over(&stages[order[at - 1]]))) {
            order[at] = order[at - 1];
            at--;
        }
        order[at] = i;
    }
    return count;
}

static void draw_details(struct cb_review_pen *pen, const struct cb_review_stage *stage)
{
    const struct cb_review *review = pen->page->review;
    char hm[CB_HM_SIZE];
    int column = 3;
    for (enum cb_spent spent = 0; spent < CB_SPENT_COUNT; spent++) {
        if (cb_review_is_nothing(stage->spent_ms[spent])) {
            continue;
        }
        cb_review_span(stage->spent_ms[spent], hm);
        if (column + (int)(strlen(cb_spent_rows[spent].word) + strlen(hm)) + 1 > pen->columns) {
            pen->row++;
            column = 3;
        }
        column += cb_grid_putf(pen->grid, pen->row, column, 0, CB_ROLE_DIM, "%s %s  ",
                               cb_spent_rows[spent].word, hm);
    }
    pen->row++;
    column = 3;
    for (int figure = 1; figure <= review->figures; figure++) {
        int64_t ms = 0;
        for (size_t i = 0; i < review->span_count; i++) {
            const struct cb_span *span = &review->spans[i];
            if (span->stage == stage->stage && span->figure == figure &&
                span->spent == CB_SPENT_HANDS_ON) {
                ms += span->to_ms - span->from_ms;
            }
        }
        if (ms == 0) {
            continue;
        }
        if (column > pen->columns - 9) {
            pen->row++;
            column = 3;
        }
        column += cb_grid_putf(pen->grid, pen->row, column, 0, CB_ROLE_DIM, "%d:%.0f ", figure,
                               (double)ms / 60000.0);
    }
    if (column > 3) {
        if (column + (int)sizeof "(figure:minutes)" > pen->columns + 1) {
            pen->row++;
            column = 3;
        }
        cb_grid_put(pen->grid, pen->row, column, 0, CB_ROLE_DIM, "(figure:minutes)");
        pen->row++;
    }
}

static void draw_stage_before(struct cb_review_pen *pen, const char *stage, int column)
{
    char hm[CB_HM_SIZE] = "-";
    const int64_t ms = cb_review_stage_before(pen->page->review, pen->before, stage);
    if (ms >= 0) {
        cb_review_span(ms, hm);
    }
    cb_grid_putf(pen->grid, pen->row, column, 0, CB_ROLE_DIM, "%11s", hm);
}

/* Hands-on that no coat was marked for (yet), so that the stages add up to the whole. */
static void draw_unmarked(struct cb_review_pen *pen, int name_width)
{
    const struct cb_review *review = pen->page->review;
    int64_t ms = cb_review_took_ms(review->spent_ms);
    char hm[CB_HM_SIZE];
    for (size_t i = 0; i < review->stage_count; i++) {
        ms -= stage_ms(&review->stages[i]);
    }
    if (ms > 0) {
        cb_review_span(ms, hm);
        cb_grid_put(pen->grid, pen->row, 1, name_width, CB_ROLE_DIM, "no coat marked");
        cb_grid_putf(pen->grid, pen->row++, name_width + 2, 0, CB_ROLE_PLAIN, "%11s %11s", "-", hm);
    }
}

/* Has the unit before a stage of the same name as one of these? */
static bool stages_before(const struct cb_review_pen *pen, const size_t *order, size_t count)
{
    const struct cb_review *review = pen->page->review;
    bool any = false;
    for (size_t i = 0; i < count && pen->before != NULL; i++) {
        const int stage = review->stages[order[i]].stage;
        any |= cb_review_stage_before(review, pen->before,
                                      review->recipe->stages[stage - 1].name) >= 0;
    }
    return any;
}

/* Columns of the stages' names: as long as they are, where the bars keep theirs. */
static int stage_names(const struct cb_review_pen *pen, const size_t *order, size_t count,
                       bool before)
{
    const struct cb_review *review = pen->page->review;
    if (pen->columns < 70) {
        return 16;
    }
    const int most = pen->columns - BAR_COLUMNS - (before ? 39 : 27);
    int width = NAME_LEAST;
    for (size_t i = 0; i < count; i++) {
        const int stage = review->stages[order[i]].stage;
        const int own = cb_utf8_text_width(review->recipe->stages[stage - 1].name);
        width = own > width ? own : width;
    }
    return width > most && most > NAME_LEAST ? most : most > NAME_LEAST ? width : NAME_LEAST;
}

void cb_review_draw_stages(struct cb_review_pen *pen, int *focus_row)
{
    static const char *const sorts[CB_REVIEW_SORTS] = {"recipe order", "longest first",
                                                       "most over plan"};
    const struct cb_review *review = pen->page->review;
    size_t order[CB_RECIPE_MAX];
    const size_t count = cb_review_stage_order(review, pen->page->sort, order);
    const bool before = stages_before(pen, order, count);
    const int name_width = stage_names(pen, order, count, before);
    if (count == 0) {
        return;
    }
    pen->row++;
    cb_grid_put(pen->grid, pen->row, 0, 0, CB_ROLE_TITLE, "Stages");
    cb_grid_putf(pen->grid, pen->row, name_width + 2, 0, CB_ROLE_DIM, "%11s %11s%s  %s", "plan",
                 "took", before ? "      before" : "",
                 pen->columns >= 62 ? sorts[pen->page->sort] : "");
    pen->row++;
    int64_t most = 1;
    for (size_t i = 0; i < count; i++) {
        const struct cb_review_stage *stage = &review->stages[order[i]];
        const int64_t plan =
            isnan(stage->planned_min) ? 0 : (int64_t)(stage->planned_min * 60000.0);
        most = stage_ms(stage) > most ? stage_ms(stage) : most;
        most = plan > most ? plan : most;
    }
    for (size_t i = 0; i < count; i++) {
        const struct cb_review_stage *stage = &review->stages[order[i]];
        const bool focus = (int)i == pen->page->focus;
        char plan[CB_HM_SIZE] = "-";
        char took[CB_HM_SIZE];
        if (!isnan(stage->planned_min)) {
            span_of_min(stage->planned_min, plan);
        }
        cb_review_span(stage_ms(stage), took);
        if (focus && focus_row != NULL) {
            *focus_row = pen->row;
        }
        cb_grid_put(pen->grid, pen->row, 0, 1, focus ? CB_ROLE_FOCUS : CB_ROLE_PLAIN,
                    focus ? ">" : " ");
        cb_grid_put(pen->grid, pen->row, 1, name_width, focus ? CB_ROLE_FOCUS : CB_ROLE_PLAIN,
                    review->recipe->stages[stage->stage - 1].name);
        cb_grid_putf(pen->grid, pen->row, name_width + 2, 0, CB_ROLE_PLAIN, "%11s %11s", plan,
                     took);
        if (before) {
            draw_stage_before(pen, review->recipe->stages[stage->stage - 1].name, name_width + 26);
        }
        const int column = name_width + (before ? 39 : 27);
        const int width = pen->columns - column - 1;
        cb_review_bar(pen, column, width, (double)stage_ms(stage) / (double)most, CB_ROLE_READY);
        if (!isnan(stage->planned_min) && width > 2 && !pen->grid->plain) {
            const int at = (int)(stage->planned_min * 60000.0 / (double)most * (width - 1));
            cb_grid_put(pen->grid, pen->row, column + at, 1, CB_ROLE_STRONG, "|");
        }
        pen->row++;
        if (focus) {
            draw_details(pen, stage);
        }
    }
    draw_unmarked(pen, name_width);
    if (!pen->grid->plain) {
        cb_grid_put(pen->grid, pen->row++, 1, pen->columns - 1, CB_ROLE_DIM,
                    "bar: hands-on and tidying up; | marks the plan");
    }
}
