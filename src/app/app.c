/* SPDX-License-Identifier: MIT */
#include "app/app.h"

#include <stdlib.h>
#include <string.h>

#include "app/act.h"
#include "app/figures.h"
#include "app/key.h"
#include "app/state.h"
#include "base/mem.h"
#include "base/utf8.h"

struct cb_app *cb_app_new(const struct cb_app_setup *setup, struct cb_moment now)
{
    struct cb_app *app = cb_mem_new(1, sizeof *app);
    cb_look_init(app, setup->rows, setup->columns);
    cb_session_init(app, setup, now);
    cb_nav_init(app, &setup->views);
    cb_ask_init(app);
    cb_ping_init(app, setup->ping_seed);
    cb_start_init(app, setup);
    cb_sensor_init(app);
    cb_hindsight_init(app);
    cb_roads_init(app);
    cb_outlook_init(app);
    return app;
}

void cb_app_free(struct cb_app *app)
{
    if (!app) {
        return;
    }
    cb_session_fini(app);
    cb_look_fini(app);
    cb_roads_fini(app);
    cb_outlook_fini(app);
    cb_ping_fini(app);
    cb_start_fini(app);
    cb_form_fini(app);
    cb_changes_fini(app);
    cb_edit_fini(app);
    cb_entry_fini(app);
    cb_vec_free(&app->effects);
    cb_arena_fini(&app->frame);
    cb_arena_fini(&app->arena);
    free(app);
}

struct cb_effect *cb_app_effect(struct cb_app *app, enum cb_effect_kind kind)
{
    cb_vec_push(&app->effects, (struct cb_effect){.kind = kind});
    return &app->effects.items[app->effects.count - 1];
}

/* Views with actions of their own take no number, but where coats are marked; nought is no number
 * of figures. */
static bool takes_number(const struct cb_app *app, const struct cb_view *view,
                         enum cb_action action)
{
    const bool counts = !view->act || view->flags & CB_VIEW_MARKS_COATS;
    return counts && app->nav.count > 0 &&
           (app->nav.minus ? cb_action_takes_minutes(action) : cb_action_takes_count(action));
}

/* What the view shown does with it, else what it does anywhere. A count is consumed by it. */
static void act(struct cb_app *app, enum cb_action action, bool by_key)
{
    const struct cb_view *view = cb_app_shown(app);
    if (!cb_nav_is_counting(app) && cb_ask_is_sure(app, action, false)) {
        cb_nav_set_count(app, app->ask.count);
    }
    if (cb_nav_is_counting(app) && !takes_number(app, view, action)) {
        cb_nav_refuse_count(app, cb_app_key(app, action));
        return;
    }
    bool done = (view->act && view->act(app, action)) || cb_nav_list(app, action) ||
                cb_thanks_act(app, action) || (by_key && !cb_nav_lets(app, action)) ||
                cb_nav_open(app, action);
    if (!done) {
        cb_app_act(app, action);
    }
    if (by_key) {
        cb_guide_did(app, action);
    }
    cb_nav_clear_count(app);
}

/* A line that came while somebody types has not been seen yet. */
static void new_key(struct cb_app *app, uint32_t key)
{
    if (!(app->nav.view->flags & CB_VIEW_TYPES)) {
        if (!app->look.flash[0]) { /* else it stood behind another line */
            cb_session_figures_seen(app);
        }
        cb_app_clear_flash(app);
    }
    cb_app_banner(app, "");
    cb_app_notice(app, "");
    if (!(key >= '0' && key <= '9')) { /* a number belongs to the key behind it */
        cb_ask_key(app);
    }
    cb_ping_key(app);
    cb_thanks_key(app);
}

/* ENTER answers what the last line asked, or the view does, or what the bench asks. */
static bool answer(struct cb_app *app, const struct cb_view *view)
{
    const enum cb_action asked = app->ask.sure;
    if (asked != CB_ACTION_NONE) {
        act(app, asked, true);
        return true;
    }
    return (view->act && view->act(app, CB_ACTION_DRY)) ||
           (view == app->nav.views.items[0] && cb_figures_go_on(app));
}

static void handle_key(struct cb_app *app, uint32_t key)
{
    const struct cb_view *view = cb_app_shown(app);
    const struct cb_session *session = &app->session;
    if (key == CB_KEY_CTRL_Z) {
        cb_app_effect(app, CB_EFFECT_SUSPEND);
        return;
    }
    if (key == CB_KEY_CTRL_C) {
        cb_session_close(app, false);
        return;
    }
    if (view->flags & CB_VIEW_TYPES) {
        view->key(app, key);
        return;
    }
    if (cb_nav_stray_key(app, key) || cb_guide_key(app, key)) {
        return;
    }
    if (!session->writer && session->offer && key == CB_KEY_ENTER) {
        cb_app_effect(app, CB_EFFECT_TAKE_OVER);
        return;
    }
    if (cb_nav_count_key(app, key)) {
        return;
    }
    const bool counting = cb_nav_is_counting(app);
    if (!counting && ((view->key && view->key(app, key)) || cb_nav_scroll_key(app, key) ||
                      (key == CB_KEY_ENTER && answer(app, view)))) {
        return;
    }
    if (key == CB_KEY_ESC) {
        cb_nav_home(app);
        return;
    }
    enum cb_action action = cb_keymap_action(&session->keymap, key);
    char name[CB_KEY_NAME_MAX];
    if (counting && (action == CB_ACTION_NONE || view->key)) {
        cb_nav_refuse_count(app, cb_key_name(key, name));
    } else if (action == CB_ACTION_NONE) {
        cb_app_flash(app, "%s does nothing; %s shows all keys", cb_key_name(key, name),
                     cb_app_key(app, CB_ACTION_HELP));
    } else {
        act(app, action, true);
    }
}

/* What whoever sits here writes frees the choice, once it is written. */
static void key_done(struct cb_app *app)
{
    for (size_t i = 0; i < app->effects.count; i++) {
        const struct cb_effect *effect = &app->effects.items[i];
        if (effect->kind == CB_EFFECT_STORE && effect->event_count > 0) {
            const struct cb_event *event = effect->events[0];
            cb_offer_written(app, event->kind == CB_EVENT_COAT_ON &&
                                      !cb_event_is(event, CB_FIELD_BEFORE));
        }
    }
}

static void take_key(struct cb_app *app, uint32_t key)
{
    const bool types = (cb_app_shown(app)->flags & CB_VIEW_TYPES) != 0;
    cb_offer_key(app);
    new_key(app, key);
    if (app->session.pilot && !types &&
        cb_keymap_action(&app->session.keymap, key) == CB_ACTION_COAT_ON) {
        cb_session_take_brush(app); /* the coat in hand is none of theirs */
        return;
    }
    handle_key(app, key);
    key_done(app);
    cb_guide_did(app, CB_ACTION_NONE);
}

/* Called by its name, it is meant. */
static void take_action(struct cb_app *app, enum cb_action action)
{
    cb_offer_key(app);
    new_key(app, CB_KEY_NONE);
    cb_nav_end_stray(app);
    cb_ask_mean(app, action);
    act(app, action, false);
    key_done(app);
}

/* Pasted into the bench, a text would be a row of presses; into a line, several would be one. */
static void take_text(struct cb_app *app, const char *text)
{
    const struct cb_view *view = app->nav.view;
    new_key(app, CB_KEY_NONE);
    if (!(view->flags & CB_VIEW_TYPES)) {
        cb_nav_clear_count(app);
        cb_app_flash(app, "pasted text left out; keys are typed here");
        return;
    }
    bool apart = false; /* a cell ended: one blank, if anything follows */
    text += strspn(text, "\r\n");
    const char *end = text + strcspn(text, "\r\n");
    while (text < end) {
        const uint32_t cp = cb_utf8_next(&text);
        if (cb_utf8_is_safe(cp)) {
            if (apart) {
                view->key(app, ' ');
            }
            view->key(app, cp);
            apart = false;
        } else {
            apart = apart || cp == '\t';
        }
    }
    if (end[strspn(end, " \t\r\n")] != '\0') {
        view->key(app, CB_KEY_PASTE);
    }
}

/* The first moment without the line of the last press; CB_TIME_NONE: no press. Wall ms. */
static int64_t line_end(const struct cb_app *app)
{
    size_t count;
    const struct cb_bench *bench = app->session.bench;
    (void)cb_bench_events(bench, &count);
    return count > 0
               ? cb_bench_wall(bench, &app->session.now, cb_bench_event_ms(bench, count - 1)) +
                     cb_lines_stay_ms(app) + 1
               : CB_TIME_NONE;
}

/* Does the screen change until that moment with nothing but the time? The seconds of the countdown
 * are its own, not those of the wall clock. */
static bool shows_time(const struct cb_app *app, int64_t now_ms)
{
    const int64_t tick_ms = app->session.config->quiet_clock ? CB_MS_PER_MIN : 1000;
    if (app->session.now.wall_ms / tick_ms != now_ms / tick_ms) {
        return true;
    }
    int64_t wake_ms = cb_app_next_deadline(app);
    return wake_ms != CB_TIME_NONE && wake_ms <= now_ms;
}

struct cb_effects cb_app_step(struct cb_app *app, const struct cb_input *input)
{
    cb_arena_fini(&app->frame);
    app->effects.count = 0;
    const bool idle = input->kind == CB_INPUT_TIME || input->kind == CB_INPUT_IDLE;
    if (!idle || shows_time(app, input->now.wall_ms)) {
        cb_app_changed(app);
    }
    uint64_t flashes = app->look.flashes;
    cb_session_now(app, input->now);
    cb_look_step(app);
    switch (input->kind) {
    case CB_INPUT_TIME:
        break;
    case CB_INPUT_KEY:
        take_key(app, input->key);
        break;
    case CB_INPUT_ACTION:
        take_action(app, input->action);
        break;
    case CB_INPUT_TEXT:
        take_text(app, input->text ? input->text : "");
        break;
    case CB_INPUT_SIZE:
        cb_app_size(app, input->rows, input->columns);
        break;
    case CB_INPUT_STORED:
        cb_session_stored(app, input);
        break;
    case CB_INPUT_UNSAVED:
        cb_session_unsaved(app, input);
        break;
    case CB_INPUT_EVENTS:
        cb_session_events(app, input);
        break;
    case CB_INPUT_ROLE:
        cb_session_role(app, input);
        break;
    case CB_INPUT_BELL:
        cb_ping_bell(app, input->bell_state);
        break;
    case CB_INPUT_BUTTON:
        cb_ping_button(app, input->ping_id, input->answer, input->button_dry);
        break;
    case CB_INPUT_RECIPES:
        cb_start_recipes(app, input->recipes, input->recipe_count);
        break;
    case CB_INPUT_HISTORY:
        cb_session_history(app, input);
        break;
    case CB_INPUT_NOTICE:
        cb_app_notice(app, input->text);
        break;
    case CB_INPUT_PICTURE:
        cb_app_flash(app, "%.250s", input->text);
        break;
    case CB_INPUT_SENSOR:
        cb_sensor_hear(app, input->text);
        break;
    case CB_INPUT_IDLE:
        cb_roads_think(app);
        break;
    case CB_INPUT_CLOSE:
        cb_session_close(app, true);
        break;
    }
    if (input->kind == CB_INPUT_KEY || input->kind == CB_INPUT_ACTION) {
        flashes = app->look.flashes; /* what it asks itself */
    }
    if (app->session.loaded && !app->session.closing) {
        cb_ping_tidy(app);
        cb_ping_due(app); /* goes by what was named until now */
        cb_coach_due(app);
        cb_offer_settle(app);
        cb_guide_read(app);
    }
    if (app->look.flashes != flashes) {
        cb_ask_withdraw(app);
    }
    return (struct cb_effects){app->effects.count, app->effects.items};
}

static int64_t sooner(int64_t a, int64_t b)
{
    return a == CB_TIME_NONE || (b != CB_TIME_NONE && b < a) ? b : a;
}

struct cb_proposal cb_app_offer(const struct cb_app *app)
{
    const struct cb_scene *scene = cb_app_scene(app);
    const struct cb_proposal wait = {.ready_ms = scene->ready_ms};
    return scene->anyway ? wait : scene->proposal;
}

int64_t cb_app_next_deadline(const struct cb_app *app)
{
    const int64_t now_ms = app->session.now.wall_ms;
    if (!app->session.loaded) {
        return CB_TIME_NONE;
    }
    const struct cb_scene *scene = cb_app_scene(app);
    int64_t next_ms = CB_TIME_NONE; /* bench time */
    int64_t ping_ms = cb_ping_next(app);
    if (ping_ms != CB_TIME_NONE) {
        int64_t ready_ms = ping_ms - CB_APP_SECONDS_MS;
        next_ms = sooner(ping_ms, ready_ms > scene->now_ms ? ready_ms : CB_TIME_NONE);
    }
    next_ms = sooner(next_ms, scene->changes_ms);
    next_ms = sooner(next_ms, cb_coach_next(app));
    int64_t wake_ms = next_ms == CB_TIME_NONE ? CB_TIME_NONE : now_ms + (next_ms - scene->now_ms);
    if (scene->next && !app->session.config->quiet_clock) {
        int64_t left_ms = scene->next->forecast.due_ms - scene->now_ms;
        /* Seconds while they show; else the moment the minute shown falls. */
        int64_t step_ms = left_ms <= CB_APP_SECONDS_MS ? 1000 : CB_MS_PER_MIN;
        int64_t to_step = left_ms % step_ms;
        wake_ms = sooner(wake_ms, now_ms + (to_step == 0 ? step_ms : to_step));
    }
    int64_t minute_ms = now_ms - now_ms % CB_MS_PER_MIN + CB_MS_PER_MIN;
    wake_ms = sooner(wake_ms, minute_ms); /* the clock on the screen */
    int64_t line_ms = line_end(app);
    if (line_ms != CB_TIME_NONE && line_ms > now_ms) {
        wake_ms = sooner(wake_ms, line_ms);
    }
    int64_t wait_ms = cb_ping_wait_ms(app);
    if (wait_ms > 0) {
        wake_ms = sooner(wake_ms, now_ms + wait_ms);
    }
    wake_ms = sooner(wake_ms, cb_guide_next(app));
    return wake_ms <= now_ms ? now_ms + 1 : wake_ms;
}
