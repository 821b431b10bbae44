/* SPDX-License-Identifier: MIT */
#include "app/nav.h"

#include <string.h>

#include "app/key.h"
#include "app/state.h"

#define STRAY_MS 5000 /* so long without a key, and the line is over (own judgement) */

const struct cb_nav *cb_app_nav(const struct cb_app *app)
{
    return &app->nav;
}

static const struct cb_view *opened_by(const struct cb_app *app, enum cb_action action)
{
    for (size_t i = 0; i < app->nav.views.count; i++) {
        if (app->nav.views.items[i]->opens == action) {
            return app->nav.views.items[i];
        }
    }
    return NULL;
}

static const struct cb_view *or_chooser(const struct cb_app *app, const struct cb_view *view)
{
    const struct cb_view *chooser = view->flags & CB_VIEW_NEEDS_UNIT && !cb_app_unit(app)
                                        ? opened_by(app, CB_ACTION_OPEN)
                                        : NULL;
    return chooser ? chooser : view;
}

const struct cb_view *cb_app_shown(const struct cb_app *app)
{
    return or_chooser(app, app->nav.view);
}

const struct cb_view *cb_app_shown_under(const struct cb_app *app)
{
    return or_chooser(app, app->nav.before);
}

static void show(struct cb_app *app, const struct cb_view *view)
{
    struct cb_nav *nav = &app->nav;
    cb_hindsight_at(app, NULL);
    if (nav->view != view) {
        /* What lies over a view, or is typed, is no way back. */
        if (!(nav->view->flags & CB_VIEW_TYPES)) {
            nav->before = nav->view;
        }
        nav->view = view;
        nav->stored_here = 0;
        if (!(view->flags & CB_VIEW_OVER)) {
            nav->top = 0;
        }
    }
}

static void open_view(struct cb_app *app, const struct cb_view *view)
{
    show(app, view);
    if (view->open) {
        view->open(app);
    }
}

bool cb_nav_show(struct cb_app *app, const char *name)
{
    for (size_t i = 0; i < app->nav.views.count; i++) {
        if (strcmp(app->nav.views.items[i]->name, name) == 0) {
            open_view(app, app->nav.views.items[i]);
            return true;
        }
    }
    return false;
}

bool cb_app_show(struct cb_app *app, const char *name)
{
    cb_app_changed(app);
    return cb_nav_show(app, name);
}

bool cb_nav_open(struct cb_app *app, enum cb_action action)
{
    const struct cb_view *view = opened_by(app, action);
    if (!view) {
        return false;
    }
    if (view->flags & CB_VIEW_OVER && !cb_app_may_write(app)) {
        return true;
    }
    if (view->flags & CB_VIEW_TOGGLES && app->nav.view == view) {
        show(app, app->nav.before);
    } else {
        open_view(app, view);
    }
    return true;
}

void cb_nav_turn(struct cb_app *app)
{
    const struct cb_views *views = &app->nav.views;
    size_t at = 0;
    for (size_t i = 0; i < views->count; i++) {
        at = views->items[i] == app->nav.view ? i : at;
    }
    for (size_t i = 1; i <= views->count; i++) {
        const struct cb_view *view = views->items[(at + i) % views->count];
        if (view->flags & CB_VIEW_TURNS) {
            show(app, view);
            return;
        }
    }
}

void cb_nav_back(struct cb_app *app)
{
    app->nav.view = app->nav.before;
}

void cb_nav_home(struct cb_app *app)
{
    cb_nav_go(app, 0, 0);
    show(app, app->nav.views.items[0]);
}

void cb_nav_front_changed(struct cb_app *app)
{
    cb_nav_clear_count(app);
    cb_nav_go(app, 0, 0);
    const unsigned flags = app->nav.view->flags;
    if ((flags & CB_VIEW_OF_UNIT || (flags & CB_VIEW_TYPES && !(flags & CB_VIEW_OVER))) &&
        cb_app_unit(app)) {
        cb_nav_home(app);
    }
}

void cb_nav_top(struct cb_app *app, int top)
{
    app->nav.top = top;
}

void cb_nav_go(struct cb_app *app, int figure, int stage)
{
    app->nav.at_figure = figure;
    app->nav.at_stage = stage;
    cb_offer_free(app);
}

bool cb_nav_count_key(struct cb_app *app, uint32_t key)
{
    struct cb_nav *nav = &app->nav;
    if (key >= '0' && key <= '9') {
        nav->digits++;
        int count = nav->count * 10 + (int)(key - '0');
        nav->count = count > CB_NAV_COUNT_MAX ? CB_NAV_COUNT_MAX : count;
        return true;
    }
    if (key == '-' && nav->digits == 0) {
        nav->minus = true;
        return true;
    }
    bool typed = cb_nav_is_counting(app);
    if (key == CB_KEY_BACKSPACE && typed) {
        nav->minus = nav->minus && nav->digits > 0;
        nav->digits -= nav->digits > 0;
        nav->count /= 10;
        return true;
    }
    if (key == CB_KEY_ESC && typed) {
        cb_nav_clear_count(app);
        return true;
    }
    return false;
}

void cb_nav_clear_count(struct cb_app *app)
{
    app->nav.count = app->nav.digits = 0;
    app->nav.minus = false;
}

void cb_nav_set_count(struct cb_app *app, int count)
{
    app->nav.count = count;
    app->nav.digits = count > 0;
}

bool cb_nav_is_counting(const struct cb_app *app)
{
    return app->nav.digits > 0 || app->nav.minus;
}

/* What stands in a number or behind it: a point, the sign of a unit, a letter that is no key. */
static bool is_of_number(const struct cb_app *app, uint32_t key)
{
    return key == '.' || key == ',' || key == '/' || key == 0xB0 || key == 0xBA || key == '%' ||
           (key > ' ' && key < CB_KEY_BACKSPACE && !(key >= '0' && key <= '9') &&
            (key == '-' || cb_keymap_action(&app->session.keymap, key) == CB_ACTION_NONE));
}

bool cb_nav_stray_key(struct cb_app *app, uint32_t key)
{
    struct cb_nav *nav = &app->nav;
    const int64_t now_ms = cb_app_bench_now(app);
    const bool goes_on = nav->stray_ms != CB_TIME_NONE && now_ms - nav->stray_ms < STRAY_MS;
    const bool typed = key < CB_KEY_LEFT && key != CB_KEY_TAB; /* what a line may hold */
    if (!typed || (!goes_on && !(nav->digits > 0 && is_of_number(app, key)))) {
        nav->stray_ms = CB_TIME_NONE;
        return false;
    }
    cb_nav_clear_count(app);
    const bool ends = goes_on && (key == CB_KEY_ENTER || key == CB_KEY_ESC);
    nav->stray_ms = ends ? CB_TIME_NONE : now_ms;
    cb_app_flash(app, "%s, then %s, tells the room%s", cb_app_key(app, CB_ACTION_CLIMATE),
                 cb_climate_such(app->session.config->fahrenheit), ends ? "" : "; ESC ends this");
    return true;
}

void cb_nav_begin_stray(struct cb_app *app)
{
    cb_nav_clear_count(app);
    app->nav.stray_ms = cb_app_bench_now(app);
}

void cb_nav_end_stray(struct cb_app *app)
{
    app->nav.stray_ms = CB_TIME_NONE;
}

void cb_nav_refuse_count(struct cb_app *app, const char *key)
{
    cb_app_flash(app, "%s%.*d before %s means nothing; nothing is done", app->nav.minus ? "-" : "",
                 app->nav.digits > 0, app->nav.count, key);
    cb_nav_clear_count(app);
}

void cb_nav_stored(struct cb_app *app, int presses)
{
    app->nav.stored_here += presses;
}

bool cb_nav_lets(struct cb_app *app, enum cb_action action)
{
    const struct cb_view *view = cb_app_shown(app);
    const bool back = action == CB_ACTION_UNDO || action == CB_ACTION_REDO;
    if (!cb_action_marks_coats(action) || view->flags & CB_VIEW_MARKS_COATS ||
        (back && view->flags & CB_VIEW_TAKES_UNDO) ||
        (action == CB_ACTION_UNDO && view->flags & CB_VIEW_UNDOES_OWN &&
         app->nav.stored_here > 0)) {
        return true;
    }
    if (cb_app_unit(app)) {
        cb_app_flash(app, "coats are marked on the bench: %s",
                     cb_app_key(app, CB_ACTION_VIEW_BENCH));
    } else {
        cb_app_flash(app, "no unit is on the bench");
    }
    return false;
}

static void move_by(struct cb_app *app, const struct cb_view *view, int rows)
{
    const int last = view->last(app);
    int top = app->nav.top > last ? last : app->nav.top;
    top = rows > last - top ? last : top + rows;
    app->nav.top = top < 0 ? 0 : top;
}

bool cb_nav_list(struct cb_app *app, enum cb_action action)
{
    const struct cb_view *view = cb_app_shown(app);
    if (!(view->flags & CB_VIEW_HAS_LIST) ||
        (action != CB_ACTION_STAGE_NEXT && action != CB_ACTION_STAGE_PREV)) {
        return false;
    }
    const int rows = app->nav.count > 0 ? app->nav.count : 1;
    move_by(app, view, action == CB_ACTION_STAGE_NEXT ? rows : -rows);
    return true;
}

bool cb_nav_scroll_key(struct cb_app *app, uint32_t key)
{
    const struct cb_view *view = cb_app_shown(app);
    const int page = app->look.rows > 5 ? app->look.rows - 5 : 1;
    if (!(view->flags & CB_VIEW_SCROLLS)) {
        return false;
    }
    switch (key) {
    case CB_KEY_PAGEUP:
        move_by(app, view, -page);
        return true;
    case CB_KEY_PAGEDOWN:
        move_by(app, view, page);
        return true;
    case CB_KEY_HOME:
        app->nav.top = 0;
        return true;
    case CB_KEY_END:
        move_by(app, view, view->last(app));
        return true;
    default:
        return false;
    }
}

void cb_nav_init(struct cb_app *app, const struct cb_views *views)
{
    app->nav = (struct cb_nav){
        .views = *views,
        .view = views->items[0],
        .before = views->items[0],
        .stray_ms = CB_TIME_NONE,
    };
}
