/* SPDX-License-Identifier: MIT */
#include "shell/loop.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/farewell.h"
#include "base/index.h"
#include "base/vec.h"
#include "base/version.h"
#include "shell/bell.h"
#include "shell/clock.h"
#include "shell/history.h"
#include "shell/paths.h"
#include "shell/picture.h"
#include "shell/pilot.h"
#include "shell/poll_set.h"
#include "shell/recipes.h"
#include "shell/signals.h"
#include "shell/term.h"
#include "shell/unsaved.h"
#include "shell/yaml.h"
#include "app/app.h"
#include "app/key.h"
#include "view/screen.h"

/* inotify tells that a lock was closed a moment before it is free (Linux, fs/file_table.c), so a
 * viewer looks again, each time after four times as long; estimates */
#define PROBE_MS      10
#define PROBES        4
#define UNWATCHED_MS  1000  /* without inotify it looks by the clock: so far behind at most */
#define RETRY_MS      5000  /* of a log that could not be written; estimate */
#define LONGEST_MS    60000 /* so that a clock that was set is noticed */
#define HAND_MS       500   /* after a key the next one may come at once: no idle time; estimate */
#define ROWS_MS       100   /* what could not be read is tried again; estimate */
#define KEYS_PER_TURN 64    /* a key held down must not keep the screen from being drawn */

struct loop {
    const struct cb_loop_setup *setup;
    struct cb_arena session, turn; /* lifetimes: the whole, one turn */
    struct cb_term *term;
    struct cb_app *app;
    struct cb_bell *bell;
    struct cb_grid grid;
    struct cb_index *own; /* ids of events appended here */
    CB_VEC(struct cb_input) inputs;
    struct cb_unsaved unsaved;
    struct cb_pictures pictures;
    struct cb_poll_set polled;
    struct cb_moment start;
    long long last_row;
    const char *damage; /* what was told of it; NULL: nothing */
    struct cb_signals signals;
    int64_t retry_ms, probe_ms; /* monotonic; CB_TIME_NONE: no need */
    int64_t look_ms;            /* monotonic; when the log is looked at without being told to */
    int probes;                 /* looks made since the log last moved */
    uint64_t drawn;             /* generation on the screen */
    int64_t pilot_ms;           /* wall; when the demo paints on; CB_TIME_NONE */
    struct cb_history *history; /* while it is being read */
    int64_t key_ms;             /* monotonic; when the last key came */
    bool rows_due;              /* what others have written could not be read yet */
    bool history_due;           /* the finished units' evidence is still to be read, in idle time */
    bool autopilot, beep, suspend, quit, closed, viewer, offered;
};

/* The moment as the bench is to see it: a demo's evening runs faster. */
static struct cb_moment moment(const struct loop *loop)
{
    return cb_clock_faster(&loop->start, loop->setup->speed);
}

static void push(struct loop *loop, struct cb_input input)
{
    input.now = moment(loop);
    cb_vec_push(&loop->inputs, input);
}

static void push_stored(struct loop *loop, const struct cb_event **stored, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (stored[i]->id != NULL) {
            cb_index_set(loop->own, stored[i]->id, 1);
        }
    }
    push(loop, (struct cb_input){.kind = CB_INPUT_STORED,
                                 .events = (const struct cb_event *const *)stored,
                                 .event_count = count});
}

/* What is wrong with the log, without its path: the top row of a narrow screen has room for one. */
static const char *reason(struct loop *loop, const struct cb_err *err)
{
    const char *shown = cb_store_shown(loop->setup->store);
    const size_t length = strlen(shown);
    const bool named = strncmp(err->text, shown, length) == 0 && err->text[length] == ':';
    return cb_arena_text(&loop->turn, err->text + (named ? length + 2 : 0));
}

/* fresh: the last press was made just now; when it has to wait, the bench goes on with it all the
 * same. */
static void save_unsaved(struct loop *loop, bool fresh)
{
    struct cb_err err = {0};
    enum cb_status status = CB_OK;
    while (loop->unsaved.presses.count > 0 && status == CB_OK) {
        const struct cb_event **stored;
        size_t count;
        status =
            cb_unsaved_save(&loop->unsaved, loop->setup->store, &loop->turn, &stored, &count, &err);
        if (status == CB_OK) {
            push_stored(loop, stored, count);
        }
    }
    loop->retry_ms = CB_TIME_NONE;
    if (status != CB_OK) {
        loop->retry_ms = cb_clock_monotonic_ms() + RETRY_MS;
        struct cb_input input = {.kind = CB_INPUT_UNSAVED, .text = reason(loop, &err)};
        if (fresh) {
            (void)cb_unsaved_name(&loop->unsaved, loop->setup->store, &input.events,
                                  &input.event_count);
        }
        push(loop, input);
    }
}

/* A line, when more of the log was found to be damaged than was told of. */
static const char *damage_line(struct loop *loop)
{
    const char *damage = cb_store_damage(loop->setup->store, &loop->turn);
    if (damage == NULL || (loop->damage != NULL && strcmp(loop->damage, damage) == 0)) {
        return NULL;
    }
    loop->damage = cb_arena_text(&loop->session, damage);
    const size_t bad = cb_store_bad_events(loop->setup->store);
    return bad == 0 ? damage
                    : cb_arena_printf(&loop->turn,
                                      "%zu event%s of the log %s damaged and left out; "
                                      "coatbell log export saves the others",
                                      bad, bad == 1 ? "" : "s", bad == 1 ? "is" : "are");
}

/* Feeds what others have written since. */
static void load_rows(struct loop *loop)
{
    struct cb_store_filter filter = {.after_row = loop->last_row};
    const struct cb_event **events = NULL;
    size_t count = 0;
    struct cb_err err = {0};
    if (cb_store_load(loop->setup->store, &filter, &loop->turn, &events, &count, &loop->last_row,
                      &err) != CB_OK) {
        loop->rows_due = true; /* busy: the next turn tries again */
        return;
    }
    loop->rows_due = false;
    size_t others = 0;
    for (size_t i = 0; i < count; i++) {
        size_t known;
        if (events[i]->id == NULL || !cb_index_get(loop->own, events[i]->id, &known)) {
            events[others++] = events[i];
        }
    }
    const char *damage = damage_line(loop);
    if (others > 0 || damage != NULL) {
        push(loop, (struct cb_input){.kind = CB_INPUT_EVENTS,
                                     .events = (const struct cb_event *const *)events,
                                     .event_count = others,
                                     .text = damage});
    }
}

static void do_take_over(struct loop *loop)
{
    bool writer = cb_store_lock(loop->setup->store, NULL) == CB_OK;
    if (writer) {
        load_rows(loop);
        loop->viewer = false;
        loop->probe_ms = CB_TIME_NONE;
    }
    loop->offered = false;
    push(loop, (struct cb_input){.kind = CB_INPUT_ROLE, .writer = writer});
}

static void do_picture(struct loop *loop, const struct cb_effect *effect)
{
    struct cb_err err = {0};
    if (cb_picture_open(&loop->pictures, effect->path, effect->beside, &err) != CB_OK) {
        push(loop, (struct cb_input){.kind = CB_INPUT_PICTURE,
                                     .text = cb_arena_text(&loop->turn, err.text)});
    }
}

/* Nothing here writes to the terminal: what was pressed must be on disk first. */
static void execute(struct loop *loop, const struct cb_effect *effect)
{
    switch (effect->kind) {
    case CB_EFFECT_STORE:
        cb_unsaved_add(&loop->unsaved, effect->events, effect->event_count);
        save_unsaved(loop, true);
        break;
    case CB_EFFECT_PING:
        cb_bell_show(loop->bell, effect->ping_id, effect->sound, effect->buttons, effect->title,
                     effect->body, cb_clock_monotonic_ms());
        break;
    case CB_EFFECT_PING_CLOSE:
        cb_bell_close(loop->bell, effect->ping_id);
        break;
    case CB_EFFECT_BELL_READY:
        cb_bell_start(loop->bell, cb_clock_monotonic_ms(), NULL); /* its state tells how it went */
        break;
    case CB_EFFECT_BEEP:
        loop->beep = true;
        break;
    case CB_EFFECT_LIST_RECIPES:
    case CB_EFFECT_RELOAD:
        push(loop, cb_recipes_input(effect->path, loop->setup->recipe_path, loop->setup->kinds,
                                    &loop->session));
        break;
    case CB_EFFECT_PICTURE:
        do_picture(loop, effect);
        break;
    case CB_EFFECT_TAKE_OVER:
        do_take_over(loop);
        break;
    case CB_EFFECT_HISTORY:
        cb_history_close(loop->history);
        loop->history = NULL;
        loop->history_due = true;
        break;
    case CB_EFFECT_QUIT:
        loop->quit = true;
        break;
    case CB_EFFECT_SUSPEND:
        loop->suspend = true;
        break;
    }
}

static void step_all(struct loop *loop)
{
    for (size_t i = 0; i < loop->inputs.count; i++) {
        struct cb_input input = loop->inputs.items[i]; /* the vector may move below */
        struct cb_effects effects = cb_app_step(loop->app, &input);
        for (size_t e = 0; e < effects.count; e++) {
            execute(loop, &effects.items[e]);
        }
    }
    loop->inputs.count = 0;
}

static void push_size(struct loop *loop)
{
    struct cb_input input = {.kind = CB_INPUT_SIZE};
    cb_term_size(loop->term, &input.rows, &input.columns);
    push(loop, input);
}

static void take_signals(void *data)
{
    struct loop *loop = data;
    int signal;
    while ((signal = cb_signals_next(&loop->signals)) != 0) {
        switch (signal) {
        case SIGWINCH:
            push_size(loop);
            break;
        case SIGCONT:
            cb_term_resume(loop->term);
            push_size(loop);
            break;
        case SIGTSTP:
            loop->suspend = true;
            break;
        case SIGHUP:
            loop->closed = true; /* nobody sees what would be drawn */
            push(loop, (struct cb_input){.kind = CB_INPUT_CLOSE});
            break;
        default:
            push(loop, (struct cb_input){.kind = CB_INPUT_CLOSE});
            break;
        }
    }
}

static void take_keys(void *data)
{
    struct loop *loop = data;
    bool closed = false;
    if (loop->closed) {
        return;
    }
    step_all(loop);
    for (int i = 0; i < KEYS_PER_TURN; i++) {
        uint32_t key = cb_term_key(loop->term, &closed);
        if (key == CB_KEY_NONE) {
            break;
        }
        if (key == CB_KEY_SPACE || key == CB_KEY_PAGEDOWN) {
            loop->autopilot = false; /* the painter takes over */
        }
        loop->key_ms = cb_clock_monotonic_ms();
        if (key == CB_KEY_PASTE) {
            push(loop,
                 (struct cb_input){.kind = CB_INPUT_TEXT, .text = cb_term_pasted(loop->term)});
        } else {
            push(loop, (struct cb_input){.kind = CB_INPUT_KEY, .key = key});
        }
        step_all(loop); /* one press is on disk before the next is looked at */
    }
    if (closed) {
        loop->closed = true;
        push(loop, (struct cb_input){.kind = CB_INPUT_CLOSE});
    }
}

static void send_more(void *data)
{
    struct loop *loop = data;
    if (!loop->closed) {
        cb_term_send(loop->term);
    }
}

static void take_bell(void *data)
{
    struct loop *loop = data;
    struct cb_bell_news news;
    while (cb_bell_turn(loop->bell, cb_clock_monotonic_ms(), &news)) {
        switch (news.kind) {
        case CB_BELL_NEWS_STATE:
            push(loop, (struct cb_input){.kind = CB_INPUT_BELL, .bell_state = news.state});
            break;
        case CB_BELL_NEWS_BUTTON:
            push(loop, (struct cb_input){
                           .kind = CB_INPUT_BUTTON, .ping_id = news.id, .button_dry = news.dry});
            break;
        case CB_BELL_NEWS_SHOWN:
            break;
        }
    }
}

static void take_log(void *data)
{
    struct loop *loop = data;
    loop->rows_due = cb_store_changed(loop->setup->store) || loop->rows_due;
    if (loop->viewer) { /* what has changed may be that the writer is gone */
        loop->probe_ms = cb_clock_monotonic_ms();
        loop->probes = 0;
    }
}

static bool is_unwatched(const struct loop *loop)
{
    return !loop->setup->scratch && cb_store_watch_fd(loop->setup->store) < 0;
}

static void probe_writer(struct loop *loop)
{
    const bool offer = cb_store_is_free(loop->setup->store);
    loop->probe_ms = offer || loop->probes >= PROBES
                         ? CB_TIME_NONE
                         : cb_clock_monotonic_ms() + ((int64_t)PROBE_MS << (2 * loop->probes));
    loop->probes++;
    if (offer != loop->offered) {
        loop->offered = offer;
        push(loop, (struct cb_input){.kind = CB_INPUT_ROLE, .offer = offer});
    }
}

static void earlier(int64_t *wait_ms, int64_t at_ms, int64_t now_ms, double speed)
{
    if (at_ms != CB_TIME_NONE) {
        const int64_t left_ms = (int64_t)ceil((double)(at_ms - now_ms) / speed);
        *wait_ms = left_ms < 0 ? 0 : left_ms < *wait_ms ? left_ms : *wait_ms;
    }
}

/* How long poll may sleep. */
static int wait_ms(const struct loop *loop)
{
    int64_t wait = LONGEST_MS;
    const int64_t wall = moment(loop).wall_ms;
    earlier(&wait, cb_app_next_deadline(loop->app), wall, loop->setup->speed);
    earlier(&wait, loop->pilot_ms, wall, loop->setup->speed);
    const int64_t now = cb_clock_monotonic_ms();
    const int64_t others[] = {
        cb_bell_deadline(loop->bell),
        loop->retry_ms,
        loop->probe_ms,
        loop->look_ms,
        loop->inputs.count > 0 ? now : CB_TIME_NONE,
        loop->rows_due ? now + ROWS_MS : CB_TIME_NONE,
        loop->history_due || cb_app_has_idle_work(loop->app) ? loop->key_ms + HAND_MS
                                                             : CB_TIME_NONE,
    };
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++) {
        earlier(&wait, others[i], now, 1);
    }
    return (int)wait;
}

/* A terminal that has not taken the last picture gets no other one: the newest, when it has. */
static bool takes_more(const struct loop *loop)
{
    return !loop->closed && cb_term_out_fd(loop->term) < 0;
}

static void end_turn(struct loop *loop)
{
    const uint64_t generation = cb_app_generation(loop->app);
    if (takes_more(loop) && (generation != loop->drawn || cb_term_is_stale(loop->term))) {
        cb_screen_draw(loop->app, &loop->grid);
        cb_term_draw(loop->term, &loop->grid);
        loop->drawn = generation;
    }
    if (loop->beep && takes_more(loop)) {
        cb_term_beep(loop->term);
        loop->beep = false;
    }
    if (loop->suspend && !loop->quit) {
        cb_term_suspend(loop->term);
        push_size(loop);
        push(loop, (struct cb_input){.kind = CB_INPUT_TIME});
    }
    loop->suspend = false;
}

static void fly(struct loop *loop)
{
    const struct cb_moment now = moment(loop);
    loop->pilot_ms = CB_TIME_NONE;
    if (loop->autopilot && !loop->quit && cb_pilot_press(loop->app, &now, &loop->pilot_ms)) {
        push(loop, (struct cb_input){.kind = CB_INPUT_ACTION, .action = CB_ACTION_COAT_ON});
        step_all(loop);
    }
}

static void end_history(struct loop *loop, struct cb_taught *taught)
{
    push(loop, (struct cb_input){.kind = CB_INPUT_HISTORY, .taught = taught});
    step_all(loop);
    cb_taught_fini(taught);
    cb_history_close(loop->history);
    loop->history = NULL;
    loop->history_due = false;
    const char *damage = damage_line(loop); /* all finished units were looked at */
    if (damage != NULL) {
        push(loop, (struct cb_input){.kind = CB_INPUT_EVENTS, .text = damage});
    }
}

/* What finished units taught, after the first screen, in pieces, one a turn, so that no key waits
 * long. */
static void read_history(struct loop *loop)
{
    struct cb_taught taught = {0};
    bool more = false;
    if (loop->history == NULL) {
        if (cb_history_open(loop->setup->store, loop->setup->kinds, &loop->history, NULL) !=
            CB_OK) {
            end_history(loop, &taught);
        }
        return;
    }
    if (cb_history_step(loop->history, &more, NULL) != CB_OK || !more) {
        if (!more) {
            (void)cb_history_taught(loop->history, &taught, NULL);
        }
        end_history(loop, &taught);
    }
}

/* Told each turn: most of them come and go. */
static void watch(struct loop *loop)
{
    struct cb_poll_set *set = &loop->polled;
    cb_poll_set_watch(set, loop->signals.fd, POLLIN, take_signals, loop);
    cb_poll_set_watch(set, cb_term_fd(loop->term), POLLIN, take_keys, loop);
    cb_poll_set_watch(set, cb_term_out_fd(loop->term), POLLOUT, send_more, loop);
    cb_poll_set_watch(set, cb_bell_fd(loop->bell), cb_bell_events(loop->bell), take_bell, loop);
    cb_poll_set_watch(set, cb_store_watch_fd(loop->setup->store), POLLIN, take_log, loop);
}

static bool is_due(int64_t at_ms, int64_t now_ms)
{
    return at_ms != CB_TIME_NONE && now_ms >= at_ms;
}

static enum cb_status turn(struct loop *loop, struct cb_err *err)
{
    watch(loop);
    const int ready = cb_poll_set_wait(&loop->polled, wait_ms(loop));
    if (ready < 0 && errno != EINTR) {
        return cb_err_set(err, CB_IO, "waiting for the next key failed: %s", strerror(errno));
    }
    push(loop, (struct cb_input){.kind = CB_INPUT_TIME});
    cb_poll_set_call(&loop->polled);
    take_bell(loop); /* deadlines of its own */
    const int64_t now = cb_clock_monotonic_ms();
    if (is_due(loop->look_ms, now)) {
        take_log(loop);
        loop->look_ms = is_unwatched(loop) ? now + UNWATCHED_MS : CB_TIME_NONE;
    }
    if (loop->rows_due) {
        load_rows(loop);
    }
    if (loop->viewer && is_due(loop->probe_ms, now)) {
        probe_writer(loop);
    }
    if (is_due(loop->retry_ms, now)) {
        save_unsaved(loop, false);
    }
    step_all(loop);
    fly(loop);
    if (ready == 0 && cb_clock_monotonic_ms() >= loop->key_ms + HAND_MS) {
        if (loop->history_due) {
            read_history(loop);
        } else if (cb_app_has_idle_work(loop->app)) {
            push(loop, (struct cb_input){.kind = CB_INPUT_IDLE});
            step_all(loop);
        }
    }
    end_turn(loop);
    return CB_OK;
}

static enum cb_status begin(struct loop *loop, struct cb_err *err)
{
    const struct cb_loop_setup *setup = loop->setup;
    const struct cb_event **events = NULL;
    size_t count = 0;
    struct cb_store_filter open = {.open_units = true};
    enum cb_status status =
        cb_store_load(setup->store, &open, &loop->turn, &events, &count, &loop->last_row, err);
    if (status != CB_OK) {
        return status;
    }
    const char *no_colour = getenv("NO_COLOR"); /* no-color.org: present and not empty */
    struct cb_term_options options = {.ascii = setup->ascii,
                                      .mono = no_colour != NULL && no_colour[0] != '\0'};
    status = cb_term_open(&options, &loop->term, err);
    if (status != CB_OK) {
        return status;
    }
    const char *program = setup->config->bell ? cb_paths_bell(&loop->session) : NULL;
    loop->bell = cb_bell_new(program);
    struct cb_app_setup app = {
        .views = cb_screens,
        .kinds = setup->kinds,
        .config = setup->config,
        .cues = setup->cues,
        .read = cb_yaml_read,
        .writer = !loop->viewer,
        .scratch = setup->scratch,
        .pilot_speed = setup->autopilot ? setup->speed : 0,
        .machine = cb_store_machine(setup->store),
        .begun = setup->begun,
        .begun_path = setup->recipe_path,
        .version = CB_VERSION,
        .ping_seed = 1,
        .history_due = !setup->scratch,
    };
    cb_clock_zone(loop->start.wall_ms, &app.zone);
    cb_term_size(loop->term, &app.rows, &app.columns);
    cb_grid_init(&loop->grid, app.rows, app.columns);
    loop->grid.ascii = setup->ascii;
    loop->app = cb_app_new(&app, moment(loop));
    push(loop, (struct cb_input){.kind = CB_INPUT_EVENTS,
                                 .events = (const struct cb_event *const *)events,
                                 .event_count = count,
                                 .text = damage_line(loop)});
    if (program == NULL) {
        push(loop,
             (struct cb_input){.kind = CB_INPUT_BELL,
                               .bell_state = setup->config->bell ? CB_BELL_NONE : CB_BELL_OFF});
    }
    push(loop, (struct cb_input){.kind = CB_INPUT_TIME});
    loop->history_due = true;
    step_all(loop);
    end_turn(loop);
    return CB_OK;
}

enum cb_status cb_loop_run(const struct cb_loop_setup *setup, struct cb_err *err)
{
    struct loop loop = {
        .setup = setup,
        .start = cb_clock_now(),
        .own = cb_index_new(),
        .retry_ms = CB_TIME_NONE,
        .key_ms = cb_clock_monotonic_ms() - HAND_MS,
        .probe_ms = CB_TIME_NONE,
        .look_ms = cb_clock_monotonic_ms(), /* what moved before the watch began */
        .pilot_ms = CB_TIME_NONE,
        .autopilot = setup->autopilot,
        .viewer = !cb_store_is_locked(setup->store),
    };
    enum cb_status status = cb_signals_open(&loop.signals, err);
    if (status == CB_OK) {
        status = begin(&loop, err);
    }
    while (status == CB_OK && !loop.quit) {
        cb_arena_fini(&loop.turn);
        cb_unsaved_tidy(&loop.unsaved);
        cb_picture_reap(&loop.pictures);
        status = turn(&loop, err);
        if (loop.closed) {
            break; /* the session is closed in the log; there is no terminal to go on with */
        }
    }
    save_unsaved(&loop, false);
    if (loop.unsaved.presses.count > 0) {
        status = cb_unsaved_rescue(&loop.unsaved, moment(&loop).wall_ms, setup->log_path, err);
    }
    if (status == CB_OK && loop.quit && setup->farewell != NULL) {
        const char *text = cb_app_farewell(loop.app, &loop.turn);
        cb_str_add(setup->farewell, text == NULL ? "" : text);
    }
    cb_history_close(loop.history);
    cb_term_close(loop.term);
    cb_bell_free(loop.bell);
    cb_app_free(loop.app);
    cb_grid_fini(&loop.grid);
    cb_index_free(loop.own);
    cb_vec_free(&loop.inputs);
    cb_unsaved_fini(&loop.unsaved);
    cb_picture_fini(&loop.pictures);
    cb_poll_set_fini(&loop.polled);
    cb_arena_fini(&loop.turn);
    cb_arena_fini(&loop.session);
    cb_signals_close(&loop.signals);
    return status;
}
