/* SPDX-License-Identifier: MIT */
#include "view/app.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/utf8.h"
#include "core/bench/rows.h"
#include "view/app_state.h"
#include "view/bench_lines.h"
#include "view/key.h"
#include "view/scene.h"

static const struct cb_view *const views[] = {
    &cb_view_bench, &cb_view_rack, &cb_view_pots, &cb_view_review, &cb_view_glance, &cb_view_help,
};
#define VIEW_COUNT (sizeof views / sizeof *views)
/* TAB goes round these. */
static const struct cb_view *const turns[] = {
    &cb_view_bench,
    &cb_view_rack,
    &cb_view_pots,
    &cb_view_review,
};
#define TURN_COUNT (sizeof turns / sizeof *turns)

struct cb_app *cb_app_new(const struct cb_app_setup *setup, struct cb_moment now)
{
    struct cb_app *app = cb_mem_new(1, sizeof *app);
    app->review_focus = -1;
    app->kinds = setup->kinds;
    app->config = setup->config ? setup->config : &cb_config_default;
    app->read = setup->read;
    app->zone = setup->zone;
    app->rows = setup->rows;
    app->columns = setup->columns;
    app->writer = setup->writer;
    app->scratch = setup->scratch;
    app->pilot_speed = setup->pilot_speed;
    app->begun = setup->begun;
    app->begun_path = setup->begun_path;
    app->version = setup->version ? setup->version : "";
    app->next_ping = (uint32_t)setup->ping_seed;
    app->seed = setup->ping_seed;
    app->history_due = setup->history_due;
    app->now = now;
    app->bench = cb_bench_new(setup->kinds, setup->read);
    cb_bench_own(app->bench, setup->machine);
    app->learn = cb_learn_new(NULL);
    app->view = app->view_before = &cb_view_bench;
    app->opened_ms = CB_TIME_NONE;
    app->confirm = app->sure = CB_ACTION_NONE;
    app->bell_state = app->config->bell ? CB_BELL_NONE : CB_BELL_OFF;
    struct cb_err err = {0};
    if (cb_keymap_init(&app->keymap, app->config, &err) != CB_OK) {
        cb_app_flash(app, "config.yaml:%.200s", err.text);
    }
    return app;
}

void cb_app_free(struct cb_app *app)
{
    if (!app) {
        return;
    }
    cb_learn_free(app->learn);
    cb_bench_free(app->bench);
    cb_vec_free(&app->sources);
    cb_vec_free(&app->popups);
    cb_vec_free(&app->announced);
    cb_vec_free(&app->effects);
    cb_taught_fini(&app->taught);
    cb_arena_fini(&app->frame);
    cb_arena_fini(&app->arena);
    free(app);
}

int64_t cb_app_bench_now(const struct cb_app *app)
{
    return cb_bench_time(app->bench, &app->now);
}

const struct cb_unit *cb_app_unit(const struct cb_app *app)
{
    int front = cb_bench_front(app->bench);
    return front < 0 ? NULL : cb_bench_unit(app->bench, (size_t)front);
}

void cb_app_flash(struct cb_app *app, const char *format, ...)
{
    va_list list;
    va_start(list, format);
    vsnprintf(app->flash, sizeof app->flash, format, list);
    va_end(list);
}

bool cb_app_may_write(struct cb_app *app)
{
    if (!app->loaded) {
        return false;
    }
    if (!app->writer) {
        cb_app_flash(app, "%s",
                     app->offer ? "the other bench is gone: ENTER takes over"
                                : "looking on: another bench writes this log");
        return false;
    }
    return true;
}

struct cb_effect *cb_app_effect(struct cb_app *app, enum cb_effect_kind kind)
{
    cb_vec_push(&app->effects, (struct cb_effect){.kind = kind});
    return &app->effects.items[app->effects.count - 1];
}

void cb_app_store(struct cb_app *app, const struct cb_event *const *events, size_t count)
{
    if (count == 0) {
        return;
    }
    const struct cb_event **kept = cb_arena_alloc(&app->frame, count, sizeof *kept);
    memcpy(kept, events, count * sizeof *kept);
    app->stored_here++;
    struct cb_effect *effect = cb_app_effect(app, CB_EFFECT_STORE);
    effect->events = kept;
    effect->event_count = count;
}

static void store_one(struct cb_app *app, enum cb_event_kind kind)
{
    struct cb_event_make make;
    cb_event_begin(&make, &app->frame, kind, NULL, &app->now);
    if (kind == CB_EVENT_SESSION_OPENED) {
        const struct cb_unit *front = cb_app_unit(app);
        cb_event_add_text(&make, CB_FIELD_EDITION, app->kinds->edition);
        cb_event_add_text(&make, CB_FIELD_FRONT, front ? front->id : CB_FRONT_NONE);
    }
    const struct cb_event *event = cb_event_take(&make);
    cb_app_store(app, &event, 1);
}

/* The learner is that of the finished units' rows and of the bench's, in order of time. */
static void learn(struct cb_app *app)
{
    size_t count;
    const struct cb_row *rows = cb_bench_rows(app->bench, &count);
    if (app->taught.row_count == 0) {
        cb_learn_sync(app->learn, rows, count);
        return;
    }
    struct cb_arena arena = {0};
    const struct cb_row *joined =
        cb_rows_merge(app->taught.rows, app->taught.row_count, rows, count, &arena, &count);
    cb_learn_sync(app->learn, joined, count);
    cb_arena_fini(&arena);
}

static void confess(struct cb_app *app)
{
    const char *bells = cb_calibration_line(app->bench, &app->frame);
    snprintf(app->bells, sizeof app->bells, "%s", bells ? bells : "");
    app->ask = cb_calibration_ask(app->bench);
}

static void take_events(struct cb_app *app, const struct cb_input *input)
{
    const struct cb_unit *before = cb_app_unit(app);
    const char *front = before ? cb_arena_text(&app->frame, before->id) : NULL;
    cb_bench_add(app->bench, input->events, input->event_count);
    learn(app);
    confess(app);
    const struct cb_unit *unit = cb_app_unit(app);
    if (!unit || !front || strcmp(unit->id, front) != 0) {
        app->at_figure = app->at_stage = 0;
    }
    if (unit && app->mode == CB_APP_FORM && (!front || strcmp(unit->id, front) != 0)) {
        app->mode = CB_APP_VIEW;
    }
}

/* Others wrote: a command beside this bench, an import, the bench that writes. */
static void take_others(struct cb_app *app, const struct cb_input *input)
{
    const struct cb_app_choice choice = cb_app_hold_choice(app);
    take_events(app, input);
    cb_app_find_choice(app, &choice);
    cb_app_tell_begun(app, input->events, input->event_count);
}

/* The learner of those units is ours from here on: what the bench adds, it adds to that one. */
static void take_history(struct cb_app *app, const struct cb_input *input)
{
    cb_taught_fini(&app->taught);
    app->taught = *input->taught;
    *input->taught = (struct cb_taught){0};
    if (app->taught.learn) {
        cb_learn_free(app->learn);
        app->learn = app->taught.learn;
        app->taught.learn = NULL;
    }
    app->history_due = false;
    learn(app);
}

static void open_session(struct cb_app *app)
{
    app->loaded = true;
    app->opened_ms = cb_app_bench_now(app);
    if (app->writer) {
        cb_app_ask_tail(app);
        store_one(app, CB_EVENT_SESSION_OPENED);
    }
    if (!cb_app_unit(app)) {
        cb_app_effect(app, CB_EFFECT_LIST_RECIPES);
    }
    if (app->begun) {
        cb_app_ask_begun(app);
    }
}

static void close_session(struct cb_app *app, bool at_once)
{
    if (!app->loaded || !app->writer) {
        cb_app_effect(app, CB_EFFECT_QUIT);
        return;
    }
    if (app->unsaved && !at_once && !app->quit_anyway) {
        app->quit_anyway = true;
        cb_app_flash(app, "not saved: q again leaves it in a file and quits");
        return;
    }
    if (app->closing) {
        return;
    }
    app->closing = true;
    store_one(app, CB_EVENT_SESSION_CLOSED);
    if (at_once || app->unsaved) {
        cb_app_effect(app, CB_EFFECT_QUIT);
    }
}

static void show(struct cb_app *app, const struct cb_view *view)
{
    app->review_unit = NULL;
    if (app->view != view) {
        app->stored_here = 0;
        app->view_before = app->view;
        app->view = view;
        app->top = 0;
    }
    app->mode = CB_APP_VIEW;
}

static void toggle(struct cb_app *app, const struct cb_view *view)
{
    if (app->view == view) {
        show(app, app->view_before == view ? &cb_view_bench : app->view_before);
    } else {
        show(app, view);
    }
}

static void next_view(struct cb_app *app)
{
    size_t at = 0;
    for (size_t i = 0; i < TURN_COUNT; i++) {
        if (turns[i] == app->view) {
            at = i + 1;
        }
    }
    show(app, turns[at % TURN_COUNT]);
}

static void act(struct cb_app *app, enum cb_action action)
{
    if (app->mode == CB_APP_VIEW && app->view->act && app->view->act(app, action)) {
        return;
    }
    switch (action) {
    case CB_ACTION_VIEW_NEXT:
        next_view(app);
        return;
    case CB_ACTION_VIEW_BENCH:
        show(app, &cb_view_bench);
        return;
    case CB_ACTION_VIEW_RACK:
        show(app, &cb_view_rack);
        return;
    case CB_ACTION_VIEW_ROAD:
        cb_app_flash(app, "no road yet: a wide bench shows what is left");
        return;
    case CB_ACTION_VIEW_POTS:
        show(app, &cb_view_pots);
        return;
    case CB_ACTION_VIEW_REVIEW:
        show(app, &cb_view_review);
        return;
    case CB_ACTION_GLANCE:
        toggle(app, &cb_view_glance);
        return;
    case CB_ACTION_HELP:
        toggle(app, &cb_view_help);
        return;
    case CB_ACTION_QUIT:
        close_session(app, false);
        return;
    case CB_ACTION_CLIMATE:
    case CB_ACTION_NOTE:
    case CB_ACTION_CHORE:
        if (cb_app_may_write(app)) {
            cb_app_open_line(app, action);
        }
        return;
    case CB_ACTION_QUICK:
        cb_app_flash(app, "quick entry is not there yet: write it in the recipe, then R");
        return;
    case CB_ACTION_OPEN:
        cb_app_open_chooser(app);
        return;
    case CB_ACTION_RELOAD:
        if (cb_app_may_write(app)) {
            cb_app_reload(app);
        }
        return;
    case CB_ACTION_COAT_ON:
    case CB_ACTION_COAT_ON_REST:
    case CB_ACTION_DRY:
    case CB_ACTION_WET:
    case CB_ACTION_LIFTED:
    case CB_ACTION_TIDIED:
    case CB_ACTION_HELPED:
    case CB_ACTION_COAT_ADD:
    case CB_ACTION_COAT_SPARE:
    case CB_ACTION_LEAVE_OUT:
    case CB_ACTION_PAUSE:
    case CB_ACTION_UNDO:
    case CB_ACTION_REDO:
    case CB_ACTION_FIGURE_PREV:
    case CB_ACTION_FIGURE_NEXT:
    case CB_ACTION_STAGE_PREV:
    case CB_ACTION_STAGE_NEXT:
    case CB_ACTION_FINISH:
        cb_app_act(app, action);
        return;
    case CB_ACTION_COUNT:
        return;
    }
}

/* A count is consumed by the action that follows it. */
static void do_action(struct cb_app *app, enum cb_action action)
{
    act(app, action);
    app->count = 0;
    app->minus = false;
}

static bool count_key(struct cb_app *app, uint32_t key)
{
    if (key >= '0' && key <= '9') {
        if (app->count == 0 && key == '0' && !app->minus) {
            return true;
        }
        int count = app->count * 10 + (int)(key - '0');
        app->count = count > CB_APP_COUNT_MAX ? CB_APP_COUNT_MAX : count;
        return true;
    }
    if (key == '-' && app->count == 0) {
        app->minus = true;
        return true;
    }
    bool typed = app->count > 0 || app->minus;
    if (key == CB_KEY_BACKSPACE && typed) {
        app->minus = app->minus && app->count > 0;
        app->count /= 10;
        return true;
    }
    if (key == CB_KEY_ESC && typed) {
        app->count = 0;
        app->minus = false;
        return true;
    }
    return false;
}

/* What marks coats: it is for where they are seen. */
static bool marks_coats(enum cb_action action)
{
    static const enum cb_action marks[] = {
        CB_ACTION_COAT_ON,     CB_ACTION_COAT_ON_REST, CB_ACTION_DRY,        CB_ACTION_WET,
        CB_ACTION_LIFTED,      CB_ACTION_TIDIED,       CB_ACTION_HELPED,     CB_ACTION_COAT_ADD,
        CB_ACTION_COAT_SPARE,  CB_ACTION_LEAVE_OUT,    CB_ACTION_UNDO,       CB_ACTION_REDO,
        CB_ACTION_FIGURE_PREV, CB_ACTION_FIGURE_NEXT,  CB_ACTION_STAGE_PREV, CB_ACTION_STAGE_NEXT,
        CB_ACTION_FINISH,      CB_ACTION_RELOAD,       CB_ACTION_QUICK,
    };
    for (size_t i = 0; i < sizeof marks / sizeof *marks; i++) {
        if (marks[i] == action) {
            return true;
        }
    }
    return false;
}

/* A view that shows no bench lets no key act on it unseen; its own uses of the keys stay, and what
 * was done in it can be taken back in it. */
static bool rests_here(struct cb_app *app, enum cb_action action)
{
    const struct cb_view *view = app->view;
    if (app->mode != CB_APP_VIEW || !marks_coats(action) ||
        (view != &cb_view_help && view != &cb_view_pots && view != &cb_view_review)) {
        return false;
    }
    if (view->act && view->act(app, action)) {
        return true;
    }
    if (view != &cb_view_help && action == CB_ACTION_UNDO && app->stored_here > 0) {
        return false;
    }
    if (view == &cb_view_help) {
        cb_app_flash(app, "keys act on the bench, not here: F1");
    } else if (action != CB_ACTION_STAGE_PREV && action != CB_ACTION_STAGE_NEXT) {
        cb_app_flash(app, "coats are marked on the bench: F1");
    }
    return true;
}

static bool scroll_review(struct cb_app *app, uint32_t key)
{
    const int page = app->rows > 5 ? app->rows - 4 : 1;
    switch (key) {
    case CB_KEY_PAGEUP:
        cb_app_scroll_review(app, -page);
        return true;
    case CB_KEY_PAGEDOWN:
        cb_app_scroll_review(app, page);
        return true;
    case CB_KEY_HOME:
        app->review_focus = -1;
        app->top = 0;
        return true;
    case CB_KEY_END:
        cb_app_scroll_review(app, INT16_MAX);
        return true;
    default:
        return false;
    }
}

/* The help and the review are longer than most screens. */
static bool scroll(struct cb_app *app, uint32_t key)
{
    int page = app->rows > 5 ? app->rows - 5 : 1;
    if (app->view == &cb_view_review && app->mode == CB_APP_VIEW) {
        return scroll_review(app, key);
    }
    if (app->view != &cb_view_help || app->mode != CB_APP_VIEW) {
        return false;
    }
    if (key == CB_KEY_PAGEUP || key == CB_KEY_HOME) {
        app->top = key == CB_KEY_HOME || app->top < page ? 0 : app->top - page;
        return true;
    }
    if (key != CB_KEY_PAGEDOWN && key != CB_KEY_END) {
        return false;
    }
    app->top += key == CB_KEY_END ? INT16_MAX - page : page - 1;
    return cb_view_help.act(app, CB_ACTION_STAGE_NEXT); /* which knows the last row */
}

/* What asks before it acts is sure when it is the same key twice. A line that came while somebody
 * types has not been seen yet. */
static void new_key(struct cb_app *app)
{
    if (!cb_app_is_typing(app)) {
        app->flash[0] = '\0';
    }
    app->banner[0] = '\0';
    app->sure = app->confirm;
    app->confirm = CB_ACTION_NONE;
}

static void handle_key(struct cb_app *app, uint32_t key)
{
    if (key == CB_KEY_CTRL_Z) {
        cb_app_effect(app, CB_EFFECT_SUSPEND);
        return;
    }
    if (key == CB_KEY_CTRL_C) {
        close_session(app, false);
        return;
    }
    if (cb_app_is_typing(app)) {
        cb_app_type(app, key);
        return;
    }
    if (!app->writer && app->offer && key == CB_KEY_ENTER) {
        cb_app_effect(app, CB_EFFECT_TAKE_OVER);
        return;
    }
    if (cb_app_is_choosing(app) &&
        (key == CB_KEY_UP || key == CB_KEY_DOWN || key == CB_KEY_ENTER || key == CB_KEY_ESC)) {
        cb_app_choose_key(app, key);
        return;
    }
    if (scroll(app, key)) {
        return;
    }
    if (count_key(app, key)) {
        return;
    }
    if (key == CB_KEY_ESC) {
        app->at_figure = app->at_stage = 0;
        show(app, &cb_view_bench);
        return;
    }
    enum cb_action action = cb_keymap_action(&app->keymap, key);
    if (action == CB_ACTION_NONE) {
        char name[16];
        cb_app_flash(app, "%s does nothing; %s shows all keys", cb_key_name(key, name), "?");
    } else if (!rests_here(app, action)) {
        do_action(app, action);
    }
    app->count = 0;
    app->minus = false;
}

static void take_key(struct cb_app *app, uint32_t key)
{
    new_key(app);
    handle_key(app, key);
    if (app->pilot_speed > 0 && (key == CB_KEY_SPACE || key == CB_KEY_PAGEDOWN)) {
        app->pilot_speed = 0;
        cb_app_flash(app, "the brush is yours");
    }
}

/* Pasted into the bench, a text would be a row of presses. */
static void take_text(struct cb_app *app, const char *text)
{
    new_key(app);
    if (!cb_app_is_typing(app)) {
        app->count = 0;
        app->minus = false;
        cb_app_flash(app, "pasted text left out; keys are typed here");
        return;
    }
    bool apart = false; /* a line or cell ended: one blank, if anything follows */
    for (uint32_t cp = cb_utf8_next(&text); cp; cp = cb_utf8_next(&text)) {
        if (cb_utf8_is_safe(cp)) {
            if (apart) {
                cb_app_type(app, ' ');
            }
            cb_app_type(app, cp);
            apart = false;
        } else {
            apart = apart || cp == '\n' || cp == '\r' || cp == '\t';
        }
    }
}

static void take_role(struct cb_app *app, const struct cb_input *input)
{
    bool was = app->writer;
    app->writer = input->writer;
    app->offer = input->offer && !input->writer;
    if (app->loaded && app->writer && !was) {
        store_one(app, CB_EVENT_SESSION_OPENED);
    }
}

static void take_unsaved(struct cb_app *app, const struct cb_input *input)
{
    app->unsaved = true;
    snprintf(app->unsaved_why, sizeof app->unsaved_why, "%s", input->text ? input->text : "");
    if (input->event_count > 0) {
        take_events(app, input); /* with ids: the bench goes on, and STORED brings nothing new */
    }
}

static void take_bell(struct cb_app *app, enum cb_bell_state state)
{
    app->bell_state = app->config->bell ? state : CB_BELL_OFF;
    if (state == CB_BELL_NONE) {
        app->bell_asked = false;
    }
}

/* The first moment without the line of the last press; CB_TIME_NONE: no press. Wall ms. */
static int64_t line_end(const struct cb_app *app)
{
    size_t count;
    const struct cb_event *const *events = cb_bench_events(app->bench, &count);
    return count > 0 ? events[count - 1]->at_ms + CB_APP_LINE_MS + 1 : CB_TIME_NONE;
}

/* Does the screen change until that moment with nothing but the time? The seconds of the countdown
 * are its own, not those of the wall clock. */
static bool shows_time(const struct cb_app *app, int64_t now_ms)
{
    if (app->now.wall_ms / 1000 != now_ms / 1000) {
        return true;
    }
    int64_t wake_ms = cb_app_next_deadline(app);
    return wake_ms != CB_TIME_NONE && wake_ms <= now_ms;
}

struct cb_effects cb_app_step(struct cb_app *app, const struct cb_input *input)
{
    cb_arena_fini(&app->frame);
    app->effects.count = 0;
    app->generation += input->kind != CB_INPUT_TIME || shows_time(app, input->now.wall_ms);
    app->now = input->now;
    switch (input->kind) {
    case CB_INPUT_TIME:
        break;
    case CB_INPUT_KEY:
        take_key(app, input->key);
        break;
    case CB_INPUT_ACTION:
        new_key(app);
        app->sure = input->action; /* called by its name, it is meant */
        app->sure_begun = true;
        do_action(app, input->action);
        break;
    case CB_INPUT_TEXT:
        take_text(app, input->text ? input->text : "");
        break;
    case CB_INPUT_SIZE:
        app->rows = input->rows;
        app->columns = input->columns;
        break;
    case CB_INPUT_STORED:
        app->unsaved = false;
        app->quit_anyway = false;
        take_events(app, input);
        if (app->closing) {
            cb_app_effect(app, CB_EFFECT_QUIT);
        }
        break;
    case CB_INPUT_UNSAVED:
        take_unsaved(app, input);
        break;
    case CB_INPUT_EVENTS:
        if (app->loaded) {
            take_others(app, input);
        } else {
            take_events(app, input);
            open_session(app);
        }
        if (input->text) {
            cb_app_flash(app, "%s", input->text);
        }
        break;
    case CB_INPUT_ROLE:
        take_role(app, input);
        break;
    case CB_INPUT_BELL:
        take_bell(app, input->bell_state);
        break;
    case CB_INPUT_BUTTON:
        cb_app_button(app, input->ping_id, input->button_dry);
        break;
    case CB_INPUT_RECIPES:
        cb_app_take_recipes(app, input->recipes, input->recipe_count);
        break;
    case CB_INPUT_HISTORY:
        take_history(app, input);
        break;
    case CB_INPUT_CLOSE:
        close_session(app, true);
        break;
    }
    if (app->loaded && !app->closing) {
        cb_app_tidy_popups(app);
        cb_app_ping(app);
    }
    return (struct cb_effects){app->effects.count, app->effects.items};
}

/* Below 30x8 nothing but the countdown is left. */
static void draw_small(const struct cb_app *app, struct cb_grid *grid)
{
    struct cb_arena arena = {0};
    const struct cb_scene *scene =
        cb_scene_of(app->bench, app->learn, 0, 0, cb_app_bench_now(app), &arena);
    char span[32] = "-";
    if (scene->next) {
        cb_words_span(scene->next->forecast.due_ms - scene->now_ms, span);
    }
    int row = 0;
    if (app->unsaved) {
        cb_grid_fill(grid, row, 0, 1, grid->columns, CB_ROLE_ALARM, ' ');
        cb_grid_put(grid, row++, 0, 0, CB_ROLE_ALARM, "NOT SAVED");
    }
    if (scene->next) {
        const char *sign = cb_lines_sign(app, scene->next->film->drying);
        cb_grid_putf(grid, row++, 0, 0, CB_ROLE_STRONG, "%s%s dry %s", sign[0] == ' ' ? "" : sign,
                     span, cb_words_paint(scene->next->unit, scene->next->film->stage));
    } else {
        cb_grid_put(grid, row++, 0, 0, CB_ROLE_STRONG,
                    scene->held_count > 0 ? "held" : "nothing is wet");
    }
    cb_grid_put(grid, row, 0, 0, CB_ROLE_DIM, "too small: 30x8 or more");
    cb_arena_fini(&arena);
}

static void draw_unsaved(const struct cb_app *app, struct cb_grid *grid)
{
    cb_grid_fill(grid, 0, 0, 1, grid->columns, CB_ROLE_ALARM, ' ');
    int used = cb_grid_put(grid, 0, 1, 0, CB_ROLE_ALARM, "NOT SAVED  ");
    cb_words_put(grid, 0, 1 + used, 0, CB_ROLE_ALARM,
                 app->unsaved_why[0] ? app->unsaved_why : "the log can't be written; trying on");
}

void cb_app_draw(const struct cb_app *app, struct cb_grid *grid)
{
    bool ascii = grid->ascii || app->config->ascii;
    int rows = app->rows < 1 ? 1 : app->rows, columns = app->columns < 1 ? 1 : app->columns;
    if (grid->rows != rows || grid->columns != columns || !grid->cells) {
        cb_grid_fini(grid);
        cb_grid_init(grid, rows, columns);
    }
    grid->ascii = ascii;
    cb_grid_clear(grid);
    if (columns < 30 || rows < 8) {
        draw_small(app, grid);
        return;
    }
    bool help = app->view == &cb_view_help && app->mode == CB_APP_VIEW;
    if (!app->loaded) {
        cb_grid_put(grid, 0, 1, 0, CB_ROLE_DIM, "reading the log");
    } else if (!help && (cb_app_is_choosing(app) || app->mode == CB_APP_FORM)) {
        cb_app_draw_start(app, grid);
    } else {
        app->view->draw(app, grid);
    }
    if (app->flash[0] && app->mode == CB_APP_VIEW &&
        (app->view == &cb_view_help || app->view == &cb_view_review)) {
        cb_grid_fill(grid, rows - 1, 0, 1, columns, CB_ROLE_PLAIN, ' ');
        cb_words_put(grid, rows - 1, 1, columns - 2, CB_ROLE_WARN, app->flash);
    }
    if (app->mode == CB_APP_LINE) {
        cb_app_draw_start(app, grid);
    }
    if (app->unsaved) {
        draw_unsaved(app, grid);
    }
}

uint64_t cb_app_generation(const struct cb_app *app)
{
    return app->generation;
}

static int64_t sooner(int64_t a, int64_t b)
{
    return a == CB_TIME_NONE || (b != CB_TIME_NONE && b < a) ? b : a;
}

int64_t cb_app_next_deadline(const struct cb_app *app)
{
    int64_t now_ms = app->now.wall_ms;
    if (!app->loaded) {
        return CB_TIME_NONE;
    }
    int64_t bench_now = cb_app_bench_now(app);
    int64_t next_ms = CB_TIME_NONE; /* bench time */
    int64_t ping_ms = cb_app_next_ping(app);
    if (ping_ms != CB_TIME_NONE) {
        next_ms = ping_ms > bench_now ? ping_ms : bench_now + 1000;
        int64_t ready_ms = ping_ms - CB_APP_SECONDS_MS;
        if (ready_ms > bench_now) {
            next_ms = sooner(next_ms, ready_ms);
        }
    }
    next_ms = sooner(next_ms, cb_forecast_next_deadline(app->bench, app->learn, bench_now));
    int64_t wake_ms = next_ms == CB_TIME_NONE ? CB_TIME_NONE : now_ms + (next_ms - bench_now);

    struct cb_arena arena = {0};
    const struct cb_scene *scene = cb_scene_of(app->bench, app->learn, 0, 0, bench_now, &arena);
    if (scene->next) {
        int64_t left_ms = scene->next->forecast.due_ms - bench_now;
        /* Seconds while they show; else the moment the minute shown falls. */
        int64_t step_ms = left_ms <= CB_APP_SECONDS_MS ? 1000 : CB_MS_PER_MIN;
        int64_t to_step = left_ms % step_ms;
        wake_ms = sooner(wake_ms, now_ms + (to_step == 0 ? step_ms : to_step));
    }
    cb_arena_fini(&arena);
    int64_t minute_ms = now_ms - now_ms % CB_MS_PER_MIN + CB_MS_PER_MIN;
    wake_ms = sooner(wake_ms, minute_ms); /* the clock on the screen */
    int64_t line_ms = line_end(app);
    if (line_ms != CB_TIME_NONE && line_ms > now_ms) {
        wake_ms = sooner(wake_ms, line_ms);
    }
    int64_t wait_ms = cb_app_ping_wait_ms(app);
    if (wait_ms > 0) {
        wake_ms = sooner(wake_ms, now_ms + wait_ms);
    }
    return wake_ms <= now_ms ? now_ms + 1 : wake_ms;
}

const struct cb_bench *cb_app_bench(const struct cb_app *app)
{
    return app->bench;
}

const struct cb_learn *cb_app_learn(const struct cb_app *app)
{
    return app->learn;
}

struct cb_moment cb_app_now(const struct cb_app *app)
{
    return app->now;
}

bool cb_app_show(struct cb_app *app, const char *name)
{
    if (strcmp(name, "road") == 0) {
        act(app, CB_ACTION_VIEW_ROAD);
        app->generation++;
        return true;
    }
    for (size_t i = 0; i < VIEW_COUNT; i++) {
        if (strcmp(views[i]->name, name) == 0) {
            show(app, views[i]);
            app->generation++;
            return true;
        }
    }
    return false;
}
