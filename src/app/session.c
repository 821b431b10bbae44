/* SPDX-License-Identifier: MIT */
#include "app/session.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/state.h"
#include "base/vec.h"
#include "core/bench/rows.h"

const struct cb_session *cb_app_session(const struct cb_app *app)
{
    return &app->session;
}

const struct cb_bench *cb_app_bench(const struct cb_app *app)
{
    return app->session.bench;
}

const struct cb_learn *cb_app_learn(const struct cb_app *app)
{
    return app->session.learn;
}

struct cb_moment cb_app_now(const struct cb_app *app)
{
    return app->session.now;
}

int64_t cb_app_bench_now(const struct cb_app *app)
{
    return cb_bench_time(app->session.bench, &app->session.now);
}

const struct cb_unit *cb_app_unit(const struct cb_app *app)
{
    int front = cb_bench_front(app->session.bench);
    return front < 0 ? NULL : cb_bench_unit(app->session.bench, (size_t)front);
}

/* Counts the units that the chooser lists there, as far as that row: its index in the bench. */
static size_t list_units(const struct cb_app *app, bool aside, size_t row, size_t *index)
{
    size_t count = 0;
    for (size_t i = 0; i < cb_bench_unit_count(app->session.bench); i++) {
        const struct cb_unit *unit = cb_bench_unit(app->session.bench, i);
        if (aside ? unit->left : !unit->finished) {
            *index = count == row ? i : *index;
            count++;
        }
    }
    return count;
}

size_t cb_app_open_units(const struct cb_app *app)
{
    size_t ignored = 0;
    return list_units(app, false, SIZE_MAX, &ignored);
}

size_t cb_app_open_unit(const struct cb_app *app, size_t row)
{
    size_t index = 0;
    list_units(app, false, row, &index);
    return index;
}

size_t cb_app_aside_units(const struct cb_app *app)
{
    size_t ignored = 0;
    return list_units(app, true, SIZE_MAX, &ignored);
}

size_t cb_app_aside_unit(const struct cb_app *app, size_t row)
{
    size_t index = 0;
    list_units(app, true, row, &index);
    return index;
}

const char *cb_app_key(const struct cb_app *app, enum cb_action action)
{
    const char *key = cb_keymap_name(&app->session.keymap, action);
    return key[0] ? key : cb_action_name(action);
}

const char *cb_app_why_not(const struct cb_app *app)
{
    return app->session.offer ? "the other bench is gone: ENTER takes over"
                              : "looking on: another bench writes this log";
}

bool cb_app_may_write(struct cb_app *app)
{
    if (app->session.loaded && !app->session.writer) {
        cb_app_flash(app, "%s", cb_app_why_not(app));
    }
    return app->session.loaded && app->session.writer;
}

/* Not by a key, so that no key takes it back. */
static bool comes_by_itself(const struct cb_event *event)
{
    return event->kind == CB_EVENT_PINGED || event->kind == CB_EVENT_SESSION_OPENED ||
           (event->kind == CB_EVENT_CLIMATE_SET &&
            strcmp(cb_event_text(event, CB_FIELD_FROM, ""), "sensor") == 0);
}

void cb_app_store(struct cb_app *app, const struct cb_event *const *events, size_t count)
{
    if (count == 0) {
        return;
    }
    const struct cb_event **kept = cb_arena_alloc(&app->frame, count, sizeof *kept);
    memcpy(kept, events, count * sizeof *kept);
    cb_nav_stored(app, comes_by_itself(kept[0]) ? 0 : 1);
    struct cb_effect *effect = cb_app_effect(app, CB_EFFECT_STORE);
    effect->events = kept;
    effect->event_count = count;
}

void cb_app_store_one(struct cb_app *app, struct cb_event_make *make)
{
    const struct cb_event *event = cb_event_take(make);
    cb_app_store(app, &event, 1);
}

static void store_opened(struct cb_app *app)
{
    const struct cb_unit *front = cb_app_unit(app);
    const int edition = cb_bench_facts(app->session.bench).edition;
    const struct cb_config *config = app->session.config;
    const struct cb_event *events[2];
    size_t count = 0;
    struct cb_event_make make;
    app->session.new_figures = edition > 0 && edition < CB_KINDS_EDITION;
    cb_event_begin(&make, &app->frame, CB_EVENT_SESSION_OPENED, NULL, &app->session.now);
    cb_event_add_text(&make, CB_FIELD_EDITION, app->session.kinds->edition);
    cb_event_add_text(&make, CB_FIELD_FRONT, front ? front->id : CB_FRONT_NONE);
    events[count++] = cb_event_take(&make);
    /* a setting that moves the rings belongs to the log, or what rang then could not be told */
    if (config->lines[CB_SETTING_CONFIDENCE] > 0 &&
        fabs(config->confidence - cb_bench_facts(app->session.bench).confidence) >
            CB_CONFIDENCE_SAME) {
        cb_event_begin(&make, &app->frame, CB_EVENT_CONFIDENCE_SET, NULL, &app->session.now);
        cb_event_add_number(&make, CB_FIELD_PCT, config->confidence * 100);
        events[count++] = cb_event_take(&make);
    }
    cb_app_store(app, events, count);
}

/* What finished units taught is of the pots as they are now. */
static void join_taught(struct cb_session *session)
{
    const struct cb_taught *taught = &session->taught;
    cb_arena_fini(&session->joined_arena);
    struct cb_arena *arena = &session->joined_arena;
    struct cb_row *rows = cb_arena_alloc(arena, taught->row_count + 1, sizeof *rows);
    for (size_t i = 0; i < taught->row_count; i++) {
        rows[i] = taught->rows[i];
        rows[i].pot = cb_bench_joined(session->bench, rows[i].pot, arena);
    }
    struct cb_pot_stage *stages = cb_arena_alloc(arena, taught->stage_count + 1, sizeof *stages);
    for (size_t i = 0; i < taught->stage_count; i++) {
        stages[i] = taught->stages[i];
        stages[i].pot = cb_bench_joined(session->bench, stages[i].pot, arena);
    }
    struct cb_cover *covers = cb_arena_alloc(arena, taught->cover_count + 1, sizeof *covers);
    for (size_t i = 0; i < taught->cover_count; i++) {
        covers[i] = taught->covers[i];
        covers[i].pot = cb_bench_joined(session->bench, covers[i].pot, arena);
    }
    session->joined_covers = covers;
    session->joined_rows = rows;
    session->joined_stages = stages;
}

const struct cb_row *cb_app_rows(const struct cb_app *app, struct cb_arena *arena, size_t *count)
{
    const struct cb_session *session = &app->session;
    const struct cb_row *rows = cb_bench_rows(session->bench, count);
    return session->taught.row_count == 0
               ? rows
               : cb_rows_merge(session->joined_rows, session->taught.row_count, rows, *count, arena,
                               count);
}

/* A unit finished at this bench may have been read with the others since. */
static bool is_taught(const struct cb_taught *taught, const struct cb_unit *unit)
{
    for (size_t i = 0; unit->finished && i < taught->unit_count; i++) {
        if (strcmp(taught->sums[i].unit, unit->id) == 0) {
            return true;
        }
    }
    return false;
}

/* What was counted of coats by now. */
static void count_coats(struct cb_session *session)
{
    CB_VEC(struct cb_cover) all = {0};
    cb_arena_fini(&session->covers_arena);
    struct cb_arena *arena = &session->covers_arena;
    for (size_t i = 0; i < session->taught.cover_count; i++) {
        cb_vec_push(&all, session->joined_covers[i]);
    }
    for (size_t u = 0; u < cb_bench_unit_count(session->bench); u++) {
        const struct cb_unit *unit = cb_bench_unit(session->bench, u);
        size_t count = 0;
        const struct cb_cover *own = is_taught(&session->taught, unit)
                                         ? NULL
                                         : cb_coverage_of(session->bench, unit->id, arena, &count);
        for (size_t i = 0; i < count; i++) {
            cb_vec_push(&all, own[i]);
        }
    }
    struct cb_cover *covers = cb_arena_alloc(arena, all.count + 1, sizeof *covers);
    for (size_t i = 0; i < all.count; i++) {
        covers[i] = all.items[i];
    }
    session->covers = covers;
    session->cover_count = all.count;
    cb_vec_free(&all);
}

const struct cb_cover *cb_app_covers(const struct cb_app *app, size_t *count)
{
    *count = app->session.cover_count;
    return app->session.covers;
}

/* A ring changes nothing of what is to be put on, nor of what was said of it. */
static bool only_rings(const struct cb_input *input)
{
    for (size_t i = 0; i < input->event_count; i++) {
        if (input->events[i]->kind != CB_EVENT_PINGED) {
            return false;
        }
    }
    return true;
}

/* The learner is that of the finished units' rows and of the bench's, in order of time; coats are
 * counted of both. */
static void learn(struct cb_app *app)
{
    size_t count;
    struct cb_arena arena = {0};
    const struct cb_row *rows = cb_app_rows(app, &arena, &count);
    cb_learn_sync(app->session.learn, rows, count);
    cb_arena_fini(&arena);
    count_coats(&app->session);
}

static bool is_join(const struct cb_bench *bench, const char *press)
{
    size_t count;
    const struct cb_event *const *events = cb_bench_events(bench, &count);
    bool join = false;
    for (size_t i = 0; i < count && !join; i++) {
        join = events[i]->kind == CB_EVENT_PAINT_JOINED && events[i]->press &&
               strcmp(events[i]->press, press) == 0;
    }
    return join;
}

/* After a join what is kept of finished units is mapped; after one that is no more, or is again,
 * it may have been made with it, and is to be read anew. */
static void follow_joins(struct cb_app *app, const struct cb_input *input)
{
    bool joins = false, back = false;
    for (size_t i = 0; i < input->event_count; i++) {
        joins = joins || input->events[i]->kind == CB_EVENT_PAINT_JOINED;
        back =
            back || (input->events[i]->kind == CB_EVENT_UNDONE &&
                     is_join(app->session.bench, cb_event_text(input->events[i], CB_FIELD_OF, "")));
    }
    if ((joins || back)) {
        join_taught(&app->session);
    }
    if (back) {
        cb_app_effect(app, CB_EFFECT_HISTORY);
    }
}

static void take_events(struct cb_app *app, const struct cb_input *input)
{
    struct cb_session *session = &app->session;
    const struct cb_unit *before = cb_app_unit(app);
    const char *front = before ? cb_arena_text(&app->frame, before->id) : NULL;
    cb_bench_add(session->bench, input->events, input->event_count);
    follow_joins(app, input);
    learn(app);
    const char *bells = cb_calibration_line(session->bench, &app->frame);
    snprintf(session->bells, sizeof session->bells, "%s", bells ? bells : "");
    cb_look_forget(app);
    if (!only_rings(input)) {
        cb_roads_forget(app);
    }
    cb_offer_stored(app);
    const struct cb_unit *unit = cb_app_unit(app);
    if (!unit || !front || strcmp(unit->id, front) != 0) {
        cb_nav_front_changed(app);
        cb_same_arrived(app);
    }
    cb_entry_arrived(app);
}

/* After a changed recipe a stage's number may mean another one. */
static bool moves_stages(const struct cb_input *input)
{
    bool moves = false;
    for (size_t i = 0; i < input->event_count; i++) {
        moves = moves || input->events[i]->kind == CB_EVENT_RECIPE_CHANGED ||
                input->events[i]->kind == CB_EVENT_UNDONE;
    }
    return moves;
}

static void open_session(struct cb_app *app)
{
    app->session.loaded = true;
    app->session.opened_ms = cb_app_bench_now(app);
    if (app->session.writer) {
        cb_hindsight_ask_tail(app);
        store_opened(app);
    }
    if (!cb_app_unit(app)) {
        cb_app_effect(app, CB_EFFECT_LIST_RECIPES);
    }
    cb_start_ask_begun(app);
}

/* After the first time others wrote: a command beside this bench, an import, the bench that
 * writes. */
void cb_session_events(struct cb_app *app, const struct cb_input *input)
{
    if (app->session.loaded) {
        const struct cb_start_choice choice = cb_start_hold_choice(app);
        take_events(app, input);
        cb_start_find_choice(app, &choice);
        if (!app->session.writer || moves_stages(input)) {
            cb_offer_free(app);
        }
        cb_start_tell_begun(app, input->events, input->event_count);
    } else {
        take_events(app, input);
        open_session(app);
    }
    if (input->text) {
        cb_app_flash(app, "%s", input->text);
    }
}

/* A press that had to wait for the disk: the bench has gone on with it, and said so. */
static bool is_known(const struct cb_app *app, const struct cb_input *input)
{
    bool known = input->event_count > 0;
    for (size_t i = 0; i < input->event_count && known; i++) {
        known = cb_bench_has(app->session.bench, input->events[i]->id);
    }
    return known;
}

void cb_session_stored(struct cb_app *app, const struct cb_input *input)
{
    app->session.unsaved = false;
    cb_ask_saved(app);
    if (!is_known(app, input)) {
        const struct cb_thanks_usual before =
            cb_thanks_usual(app, input->events, input->event_count);
        take_events(app, input);
        cb_thanks_stored(app, input->events, input->event_count, &before);
    }
    if (app->session.closing) {
        cb_app_effect(app, CB_EFFECT_QUIT);
    }
}

void cb_session_unsaved(struct cb_app *app, const struct cb_input *input)
{
    app->session.unsaved = true;
    snprintf(app->session.unsaved_why, sizeof app->session.unsaved_why, "%s",
             input->text ? input->text : "");
    if (input->event_count > 0) {
        take_events(app, input); /* with ids: the bench goes on, and STORED brings nothing new */
    }
}

void cb_session_role(struct cb_app *app, const struct cb_input *input)
{
    bool was = app->session.writer;
    app->session.writer = input->writer;
    app->session.offer = input->offer && !input->writer;
    if (app->session.loaded && input->writer && !was) {
        store_opened(app);
    }
}

/* The learner of those units is ours from here on: what the bench adds, it adds to that one. */
void cb_session_history(struct cb_app *app, const struct cb_input *input)
{
    struct cb_session *session = &app->session;
    cb_taught_fini(&session->taught);
    session->taught = *input->taught;
    *input->taught = (struct cb_taught){0};
    if (session->taught.learn) {
        cb_learn_free(session->learn);
        session->learn = session->taught.learn;
        session->taught.learn = NULL;
    }
    session->history_due = false;
    join_taught(session);
    learn(app);
    cb_look_forget(app);
    cb_roads_taught(app);
}

void cb_session_close(struct cb_app *app, bool at_once)
{
    struct cb_session *session = &app->session;
    if (!session->loaded || !session->writer) {
        cb_app_effect(app, CB_EFFECT_QUIT);
        return;
    }
    if (session->unsaved && !at_once && !cb_ask_quit(app)) {
        cb_app_flash(app, "not saved: %s again leaves it in a file and quits",
                     cb_app_key(app, CB_ACTION_QUIT));
        return;
    }
    if (!session->closing) {
        session->closing = true;
        struct cb_event_make make;
        cb_event_begin(&make, &app->frame, CB_EVENT_SESSION_CLOSED, NULL, &session->now);
        cb_app_store_one(app, &make);
    }
    if (at_once || session->unsaved) {
        cb_app_effect(app, CB_EFFECT_QUIT);
    }
}

void cb_session_figures_seen(struct cb_app *app)
{
    app->session.new_figures = false;
}

void cb_session_take_brush(struct cb_app *app)
{
    app->session.pilot = false;
    cb_nav_clear_count(app);
    cb_app_flash(app, "the brush is yours");
    cb_guide_did(app, CB_ACTION_COAT_ON);
}

void cb_session_now(struct cb_app *app, struct cb_moment now)
{
    app->session.now = now;
}

static const struct cb_cues no_cues;

void cb_session_init(struct cb_app *app, const struct cb_app_setup *setup, struct cb_moment now)
{
    struct cb_session *session = &app->session;
    *session = (struct cb_session){
        .kinds = setup->kinds,
        .config = setup->config ? setup->config : &cb_config_default,
        .cues = setup->cues ? setup->cues : &no_cues,
        .read = setup->read,
        .zone = setup->zone,
        .writer = setup->writer,
        .scratch = setup->scratch,
        .terminal_pops_up = setup->terminal_pops_up,
        .pilot = setup->pilot,
        .speed = setup->speed > 0 ? setup->speed : 1,
        .version = setup->version ? setup->version : "",
        .machine = setup->machine ? cb_arena_text(&app->arena, setup->machine) : NULL,
        .history_due = setup->history_due,
        .now = now,
        .bench = cb_bench_new(setup->kinds, setup->read),
        .learn = cb_learn_new(NULL),
        .opened_ms = CB_TIME_NONE,
    };
    cb_bench_own(session->bench, setup->machine);
    struct cb_err err = {0};
    if (cb_keymap_init(&session->keymap, session->config, &err) != CB_OK) {
        cb_app_flash(app, "config.yaml:%.200s", err.text);
    }
}

void cb_session_fini(struct cb_app *app)
{
    cb_learn_free(app->session.learn);
    cb_bench_free(app->session.bench);
    cb_taught_fini(&app->session.taught);
    cb_arena_fini(&app->session.joined_arena);
    cb_arena_fini(&app->session.covers_arena);
}
