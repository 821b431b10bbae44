/* SPDX-License-Identifier: MIT */
/* The review: where the hours of the unit in front went, so far, or of the one just finished. A
 * window on the page. */
#include <string.h>

#include "core/review/review.h"
#include "view/app_state.h"
#include "view/review_page.h"
#include "view/view.h"
#include "view/words.h"

#define SCROLL_ROWS 3

/* Of a unit that was finished before this bench was opened the log gave no coats; a bench that is
 * given no history has the whole log. */
static bool is_whole(const struct cb_app *app, const struct cb_event *finished)
{
    const struct cb_moment moment = {finished->at_ms, finished->boot_ms, finished->boot};
    return cb_bench_time(app->bench, &moment) >= app->opened_ms ||
           (!app->history_due && app->taught.last == NULL);
}

/* The unit just finished, the one in front, else the last finished of those the bench still knows;
 * -1: neither, and the last one that was finished before is shown. */
static int reviewed(const struct cb_app *app)
{
    const int own = app->review_unit ? cb_bench_find_unit(app->bench, app->review_unit) : -1;
    if (own >= 0 && cb_bench_unit(app->bench, (size_t)own)->finished) {
        return own;
    }
    const int front = cb_bench_front(app->bench);
    size_t count;
    const struct cb_event *const *events = cb_bench_events(app->bench, &count);
    for (size_t i = count; front < 0 && i-- > 0;) {
        if (events[i]->kind != CB_EVENT_UNIT_FINISHED) {
            continue;
        }
        const int unit = cb_bench_find_unit(app->bench, events[i]->unit);
        if (unit >= 0 && cb_bench_unit(app->bench, (size_t)unit)->finished) {
            return is_whole(app, events[i]) ? unit : -1;
        }
    }
    return front;
}

static const struct cb_review *review_of(const struct cb_app *app, struct cb_arena *arena)
{
    const int unit = reviewed(app);
    if (unit < 0) {
        return app->taught.last;
    }
    const bool finished = cb_bench_unit(app->bench, (size_t)unit)->finished;
    return cb_review_unit(app->bench, (size_t)unit, finished ? CB_TIME_NONE : cb_app_bench_now(app),
                          arena);
}

static int stages_shown(const struct cb_app *app) /* -1: no review */
{
    const int unit = reviewed(app);
    if (unit >= 0) {
        return (int)cb_bench_unit(app->bench, (size_t)unit)->recipe->stage_count;
    }
    return app->taught.last ? (int)app->taught.last->stage_count : -1;
}

static struct cb_hours *hours_of(const struct cb_app *app, const struct cb_review *review,
                                 struct cb_arena *arena)
{
    struct cb_hours *hours = app->taught.hours ? cb_hours_copy(app->taught.hours) : cb_effort_new();
    for (size_t i = 0; i < app->taught.unit_count; i++) {
        if (strcmp(app->taught.sums[i].unit, review->unit) == 0) {
            return hours; /* it has taught already */
        }
    }
    const struct cb_effort own = cb_effort_of(review, app->kinds, arena);
    cb_effort_learn(hours, &own);
    return hours;
}

/* The page as it is now, as long as it is; false when there is nothing to review. */
static bool draw_page(const struct cb_app *app, int columns, bool ascii, struct cb_grid *tall,
                      int *focus_row)
{
    struct cb_arena arena = {0};
    const struct cb_review *review = review_of(app, &arena);
    if (review == NULL) {
        return false;
    }
    const int unit = reviewed(app);
    struct cb_review_page page = {.kinds = app->kinds,
                                  .learn = app->learn,
                                  .review = review,
                                  .unit = unit < 0 ? NULL : cb_bench_unit(app->bench, (size_t)unit),
                                  .sums = app->taught.sums,
                                  .sum_count = app->taught.unit_count,
                                  .zone = &app->zone,
                                  .answers = unit >= 0,
                                  .sort = (enum cb_review_sort)app->review_sort,
                                  .focus = app->review_focus};
    struct cb_hours *hours = hours_of(app, review, &arena);
    cb_review_page_forecast(&page, hours, &app->taught.habits);
    cb_hours_free(hours);
    cb_grid_init(tall, 1, 1);
    tall->ascii = ascii;
    *focus_row = -1;
    cb_review_page_draw(&page, columns - 2, tall, focus_row);
    cb_arena_fini(&arena);
    return true;
}

/* Where the window stands before it was scrolled: so that the opened stage is in its middle. */
static int window_base(int room, int focus_row)
{
    return focus_row < room / 2 ? 0 : focus_row - room / 2;
}

static int window_top(const struct cb_app *app, int rows, int room, int focus_row)
{
    int top = window_base(room, focus_row) + app->top;
    top = top > rows - room ? rows - room : top;
    return top < 0 ? 0 : top;
}

static void draw(const struct cb_app *app, struct cb_grid *grid)
{
    struct cb_grid tall;
    int focus_row;
    cb_grid_put(grid, 0, 1, 0, CB_ROLE_STRONG, "Review");
    if (!draw_page(app, grid->columns, grid->ascii, &tall, &focus_row)) {
        cb_words_wrap(grid, 2, 1, grid->columns - 2, 3, CB_ROLE_PLAIN,
                      "No unit is open, and none was finished yet.");
        return;
    }
    const int room = grid->rows - 3;
    const int top = window_top(app, tall.rows, room, focus_row);
    for (int row = 0; row < room && top + row < tall.rows; row++) {
        memcpy(&grid->cells[(size_t)(row + 1) * (size_t)grid->columns + 1],
               &tall.cells[(size_t)(top + row) * (size_t)tall.columns],
               (size_t)tall.columns * sizeof *tall.cells);
    }
    if (tall.rows > room) {
        cb_grid_putf(grid, 0, 9, 0, CB_ROLE_DIM, "rows %d to %d of %d", top + 1,
                     top + room < tall.rows ? top + room : tall.rows, tall.rows);
    }
    cb_words_put(grid, grid->rows - 1, 1, grid->columns - 2, CB_ROLE_DIM,
                 grid->columns >= 76
                     ? "UP DOWN stage  LEFT RIGHT sort  PGUP PGDN END  TAB view  ? keys  q quit"
                     : "UP DOWN PGDN  LEFT RIGHT  TAB view  ? keys  q");
    cb_grid_fini(&tall);
}

bool cb_app_scroll_review(struct cb_app *app, int rows)
{
    struct cb_grid tall;
    int focus_row;
    const int room = app->rows - 3;
    if (!draw_page(app, app->columns, true, &tall, &focus_row)) {
        return false;
    }
    const int before = window_top(app, tall.rows, room, focus_row);
    const int most = tall.rows > room ? tall.rows - room : 0;
    int top = rows > most - before ? most : before + rows;
    top = top < 0 ? 0 : top;
    app->top = top - window_base(room, focus_row);
    cb_grid_fini(&tall);
    return top != before;
}

/* Only after a session that was cut off: a look at every opening would cost the first screen. */
static bool was_cut_off(const struct cb_bench *bench)
{
    size_t count;
    const struct cb_event *const *events = cb_bench_events(bench, &count);
    for (size_t i = count; i > 0; i--) {
        const enum cb_event_kind kind = events[i - 1]->kind;
        if (cb_bench_in_force(bench, i - 1) &&
            (kind == CB_EVENT_SESSION_OPENED || kind == CB_EVENT_SESSION_CLOSED)) {
            return kind == CB_EVENT_SESSION_OPENED;
        }
    }
    return false;
}

void cb_app_ask_tail(struct cb_app *app)
{
    const int front = cb_bench_front(app->bench);
    if (front < 0 || !was_cut_off(app->bench)) {
        return;
    }
    struct cb_arena arena = {0};
    const struct cb_review *review =
        cb_review_unit(app->bench, (size_t)front, CB_TIME_NONE, &arena);
    if (review->question_count > 0) {
        const struct cb_span *span = &review->questions[review->question_count - 1];
        char from[6];
        char to[6];
        char key[16];
        cb_time_clock(cb_bench_wall(app->bench, &app->now, span->from_ms), &app->zone, from);
        cb_time_clock(cb_bench_wall(app->bench, &app->now, span->to_ms), &app->zone, to);
        cb_app_flash(app, "cut off: were you away %s to %s? %s", from, to,
                     cb_keymap_name(&app->keymap, CB_ACTION_VIEW_REVIEW, key));
    }
    cb_arena_fini(&arena);
}

/* Yes or no to the first thing that is asked. */
static bool answer(struct cb_app *app, bool away)
{
    struct cb_arena arena = {0};
    const struct cb_review *review = review_of(app, &arena);
    const bool asked = reviewed(app) >= 0 && review != NULL && review->question_count > 0;
    if (asked && cb_app_may_write(app)) {
        const struct cb_span *span = &review->questions[0];
        struct cb_event_make make;
        cb_event_begin(&make, &app->frame, away ? CB_EVENT_AWAY : CB_EVENT_ANSWERED, NULL,
                       &app->now);
        if (away) {
            cb_event_add_time(&make, CB_FIELD_FROM,
                              cb_bench_wall(app->bench, &app->now, span->from_ms));
            cb_event_add_time(&make, CB_FIELD_TO,
                              cb_bench_wall(app->bench, &app->now, span->to_ms));
        } else {
            char question[CB_REVIEW_QUESTION_SIZE];
            cb_review_question(span->from_ms, question);
            cb_event_add_text(&make, CB_FIELD_QUESTION, question);
            cb_event_add_text(&make, CB_FIELD_VALUE, "no");
        }
        const struct cb_event *event = cb_event_take(&make);
        cb_app_store(app, &event, 1);
    }
    cb_arena_fini(&arena);
    return asked;
}

static bool act(struct cb_app *app, enum cb_action action)
{
    const int stages = stages_shown(app);
    if (stages < 0) {
        return false;
    }
    /* Below the last stage and above the first the page itself is moved. */
    if (action == CB_ACTION_STAGE_NEXT) {
        if (app->review_focus + 1 < stages) {
            app->review_focus++;
            app->top = 0;
        } else {
            cb_app_scroll_review(app, SCROLL_ROWS);
        }
        return true;
    }
    if (action == CB_ACTION_STAGE_PREV) {
        if (app->top > 0) {
            cb_app_scroll_review(app, app->top < SCROLL_ROWS ? -app->top : -SCROLL_ROWS);
        } else {
            app->review_focus -= app->review_focus >= 0 ? 1 : 0;
            app->top = 0;
        }
        return true;
    }
    if (action == CB_ACTION_FIGURE_NEXT || action == CB_ACTION_FIGURE_PREV) {
        const int step = action == CB_ACTION_FIGURE_NEXT ? 1 : CB_REVIEW_SORTS - 1;
        app->review_sort = (app->review_sort + step) % CB_REVIEW_SORTS;
        return true;
    }
    if (action == CB_ACTION_DRY || action == CB_ACTION_WET) {
        return answer(app, action == CB_ACTION_DRY);
    }
    return false;
}

const struct cb_view cb_view_review = {"review", draw, act};
