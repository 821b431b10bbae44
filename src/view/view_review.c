/* SPDX-License-Identifier: MIT */
/* The review: where the hours of the unit in front went, so far, or of the one just finished. A
 * window on the page. */
#include "core/review/review.h"
#include "app/key.h"
#include "app/look.h"
#include "app/hindsight.h"
#include "app/nav.h"
#include "app/session.h"
#include "view/review_page.h"
#include "view/put.h"

#define SCROLL_ROWS 3

static const struct cb_view_key keys[] = {
    {CB_ACTION_STAGE_PREV, CB_ACTION_STAGE_NEXT, "stage"},
    {CB_ACTION_FIGURE_PREV, CB_ACTION_FIGURE_NEXT, "sort"},
    {CB_ACTION_HELP, CB_ACTION_NONE, NULL},
    {CB_ACTION_QUIT, CB_ACTION_NONE, NULL},
    {CB_ACTION_VIEW_NEXT, CB_ACTION_NONE, NULL},
    {CB_ACTION_VIEW_BENCH, CB_ACTION_NONE, NULL},
    {CB_ACTION_NONE, CB_ACTION_NONE, NULL},
};

/* The page as it is now, as long as it is; false when there is nothing to review. */
static bool draw_page(const struct cb_app *app, int columns, const struct cb_grid *like,
                      struct cb_grid *tall, int *focus_row)
{
    struct cb_arena arena = {0};
    const struct cb_review *review = cb_hindsight_review(app);
    if (review == NULL) {
        return false;
    }
    const int unit = cb_hindsight_unit(app);
    const struct cb_session *session = cb_app_session(app);
    const struct cb_bench_facts facts = cb_bench_facts(session->bench);
    struct cb_review_page page = {
        .open = facts.session_open,
        .opened_ms = cb_bench_wall(session->bench, &session->now, facts.session_opened_ms),
        .kinds = cb_app_session(app)->kinds,
        .learn = cb_app_session(app)->learn,
        .review = review,
        .suggestions = cb_app_suggestions(app, review),
        .findings = cb_app_findings(app),
        .unit = unit < 0 ? NULL : cb_bench_unit(cb_app_session(app)->bench, (size_t)unit),
        .sums = cb_app_session(app)->taught.sums,
        .sum_count = cb_app_session(app)->taught.unit_count,
        .zone = &cb_app_session(app)->zone,
        .yes = unit < 0 ? NULL : "ENTER",
        .no = cb_app_key(app, CB_ACTION_WET),
        .sort = (enum cb_review_sort)cb_app_hindsight(app)->sort,
        .focus = cb_app_hindsight(app)->focus};
    struct cb_hours *hours = cb_hindsight_hours(app, review);
    cb_review_page_forecast(&page, hours, &cb_app_session(app)->taught.habits);
    cb_hours_free(hours);
    cb_grid_init(tall, 1, 1);
    tall->ascii = like != NULL && like->ascii;
    tall->plain = like != NULL && like->plain;
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
    int top = window_base(room, focus_row) + cb_app_nav(app)->top;
    top = top > rows - room ? rows - room : top;
    return top < 0 ? 0 : top;
}

static void draw(const struct cb_app *app, struct cb_grid *grid)
{
    struct cb_grid tall;
    int focus_row;
    cb_grid_put(grid, 0, 1, 0, CB_ROLE_STRONG, "Review");
    if (!draw_page(app, grid->columns, grid, &tall, &focus_row)) {
        cb_grid_wrap(grid, 2, 1, grid->columns - 2, 3, CB_ROLE_PLAIN,
                     "No unit is open, and none was finished yet.");
        return;
    }
    const int room = grid->rows - 3;
    const int top = window_top(app, tall.rows, room, focus_row);
    cb_grid_window(grid, 1, 1, room, &tall, top);
    if (focus_row >= top && focus_row < top + room) {
        cb_put_focus(grid, 1 + focus_row - top, 1);
    }
    if (tall.rows > room) {
        cb_grid_putf(grid, 0, 9, 0, CB_ROLE_DIM, "rows %d to %d of %d", top + 1,
                     top + room < tall.rows ? top + room : tall.rows, tall.rows);
    }
    cb_put_keys(app, keys, grid, grid->rows - 1, 1);
    cb_grid_fini(&tall);
}

static void scroll(struct cb_app *app, int rows)
{
    struct cb_grid tall;
    int focus_row;
    const int room = cb_app_look(app)->rows - 3;
    if (!draw_page(app, cb_app_look(app)->columns, NULL, &tall, &focus_row)) {
        return;
    }
    const int before = window_top(app, tall.rows, room, focus_row);
    const int most = tall.rows > room ? tall.rows - room : 0;
    int top = rows > most - before ? most : before + rows;
    top = top < 0 ? 0 : top;
    cb_nav_top(app, top - window_base(room, focus_row));
    cb_grid_fini(&tall);
}

static bool key(struct cb_app *app, uint32_t key)
{
    const int page = cb_app_look(app)->rows > 5 ? cb_app_look(app)->rows - 4 : 1;
    switch (key) {
    case CB_KEY_PAGEUP:
        scroll(app, -page);
        return true;
    case CB_KEY_PAGEDOWN:
        scroll(app, page);
        return true;
    case CB_KEY_HOME:
        cb_hindsight_focus(app, -1);
        return true;
    case CB_KEY_END:
        scroll(app, INT16_MAX);
        return true;
    default:
        return false;
    }
}

/* Below the last stage and above the first the page itself is moved. */
static void move(struct cb_app *app, int step)
{
    const int focus = cb_app_hindsight(app)->focus, top = cb_app_nav(app)->top;
    size_t order[CB_RECIPE_MAX];
    const struct cb_review *review = cb_hindsight_review(app);
    const int shown =
        review == NULL ? 0 : (int)cb_review_stage_order(review, CB_REVIEW_BY_RECIPE, order);
    if (step > 0 && focus + 1 < shown) {
        cb_hindsight_focus(app, focus + 1);
    } else if (step > 0) {
        scroll(app, SCROLL_ROWS);
    } else if (top > 0) {
        scroll(app, top < SCROLL_ROWS ? -top : -SCROLL_ROWS);
    } else {
        cb_hindsight_focus(app, focus >= 0 ? focus - 1 : focus);
    }
}

static bool act(struct cb_app *app, enum cb_action action)
{
    if (cb_hindsight_stages(app) < 0) {
        return false;
    }
    if (action == CB_ACTION_STAGE_NEXT || action == CB_ACTION_STAGE_PREV) {
        move(app, action == CB_ACTION_STAGE_NEXT ? 1 : -1);
        return true;
    }
    if (action == CB_ACTION_FIGURE_NEXT || action == CB_ACTION_FIGURE_PREV) {
        const int step = action == CB_ACTION_FIGURE_NEXT ? 1 : CB_REVIEW_SORTS - 1;
        cb_hindsight_sort(app, (cb_app_hindsight(app)->sort + step) % CB_REVIEW_SORTS);
        return true;
    }
    if (action == CB_ACTION_DRY || action == CB_ACTION_WET) {
        return cb_hindsight_answer(app, action == CB_ACTION_DRY);
    }
    return false;
}

const struct cb_view cb_view_review = {
    .name = "review",
    .opens = CB_ACTION_VIEW_REVIEW,
    .flags = CB_VIEW_TURNS | CB_VIEW_UNDOES_OWN | CB_VIEW_SAYS_LAST | CB_VIEW_READ_OUT,
    .keys = keys,
    .draw = draw,
    .key = key,
    .act = act,
};
