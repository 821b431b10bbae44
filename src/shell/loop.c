/* SPDX-License-Identifier: MIT */
#include "shell/loop_internal.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/caption.h"
#include "app/farewell.h"
#include "app/session.h"
#include "base/version.h"
#include "shell/clock.h"
#include "shell/paths.h"
#include "shell/pilot.h"
#include "shell/recipes.h"
#include "shell/yaml.h"
#include "app/key.h"
#include "view/screen.h"

#define LONGEST_MS    60000 /* so that a clock that was set is noticed */
#define HAND_MS       500   /* after a key the next one may come at once: no idle time; estimate */
#define ROWS_MS       100   /* what could not be read is tried again; estimate */
#define KEYS_PER_TURN 64    /* a key held down must not keep the screen from being drawn */

struct cb_moment cb_loop_moment(const struct cb_loop *loop)
{
    struct cb_moment now = cb_clock_faster(&loop->start, loop->setup->speed);
    now.wall_ms += loop->setup->ahead_ms;
    now.boot_ms += now.boot ? loop->setup->ahead_ms : 0;
    return now;
}

void cb_loop_push(struct cb_loop *loop, struct cb_input input)
{
    input.now = cb_loop_moment(loop);
    cb_vec_push(&loop->inputs, input);
}

static void do_picture(struct cb_loop *loop, const struct cb_effect *effect)
{
    struct cb_err err = {0};
    if (cb_picture_open(&loop->pictures, effect->path, effect->beside, &err) != CB_OK) {
        cb_loop_push(loop, (struct cb_input){.kind = CB_INPUT_PICTURE,
                                             .text = cb_arena_text(&loop->turn, err.text)});
    }
}

/* Nothing here writes to the terminal: what was pressed must be on disk first. */
static void execute(struct cb_loop *loop, const struct cb_effect *effect)
{
    switch (effect->kind) {
    case CB_EFFECT_STORE:
        cb_unsaved_add(&loop->unsaved, effect->events, effect->event_count);
        cb_loop_save(loop, true);
        break;
    case CB_EFFECT_PING:
        if (effect->sound) {
            cb_loop_ring(loop, effect->title, effect->body);
        }
        if (effect->by_terminal) {
            cb_loop_pop_up(loop, effect);
        }
        cb_bell_show(loop->bell, effect->ping_id, effect->sound,
                     effect->buttons ? effect->answer : 0, effect->title, effect->body,
                     cb_clock_monotonic_ms());
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
        cb_loop_push(loop, cb_recipes_input(effect->path, loop->setup->recipe_path,
                                            loop->setup->kinds, &loop->session));
        break;
    case CB_EFFECT_PICTURE:
        do_picture(loop, effect);
        break;
    case CB_EFFECT_TAKE_OVER:
        cb_loop_take_over(loop);
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

void cb_loop_step(struct cb_loop *loop)
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

static void push_size(struct cb_loop *loop)
{
    struct cb_input input = {.kind = CB_INPUT_SIZE};
    cb_term_size(loop->term, &input.rows, &input.columns);
    cb_loop_push(loop, input);
}

static void take_signals(void *data)
{
    struct cb_loop *loop = data;
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
        case SIGCHLD: /* looked at in every turn */
            break;
        case SIGHUP:
            loop->closed = true; /* nobody sees what would be drawn */
            cb_loop_push(loop, (struct cb_input){.kind = CB_INPUT_CLOSE});
            break;
        default:
            cb_loop_push(loop, (struct cb_input){.kind = CB_INPUT_CLOSE});
            break;
        }
    }
}

static void take_keys(void *data)
{
    struct cb_loop *loop = data;
    bool closed = false;
    if (loop->closed) {
        return;
    }
    cb_loop_step(loop);
    for (int i = 0; i < KEYS_PER_TURN; i++) {
        uint32_t key = cb_term_key(loop->term, &closed);
        if (key == CB_KEY_NONE) {
            break;
        }
        loop->key_ms = cb_clock_monotonic_ms();
        if (key == CB_KEY_PASTE) {
            cb_loop_push(
                loop, (struct cb_input){.kind = CB_INPUT_TEXT, .text = cb_term_pasted(loop->term)});
        } else {
            cb_loop_push(loop, (struct cb_input){.kind = CB_INPUT_KEY, .key = key});
        }
        cb_loop_step(loop); /* one press is on disk before the next is looked at */
    }
    if (closed) {
        loop->closed = true;
        cb_loop_push(loop, (struct cb_input){.kind = CB_INPUT_CLOSE});
    }
}

static void send_more(void *data)
{
    struct cb_loop *loop = data;
    if (!loop->closed) {
        cb_term_send(loop->term);
    }
}

static void take_bell(void *data)
{
    struct cb_loop *loop = data;
    struct cb_bell_news news;
    while (cb_bell_turn(loop->bell, cb_clock_monotonic_ms(), &news)) {
        switch (news.kind) {
        case CB_BELL_NEWS_STATE:
            cb_loop_push(loop, (struct cb_input){.kind = CB_INPUT_BELL, .bell_state = news.state});
            break;
        case CB_BELL_NEWS_BUTTON:
            cb_loop_push(loop, (struct cb_input){.kind = CB_INPUT_BUTTON,
                                                 .ping_id = news.id,
                                                 .answer = news.answer,
                                                 .button_dry = news.dry});
            break;
        case CB_BELL_NEWS_SHOWN:
            cb_loop_popped_up(loop, news.id);
            break;
        }
    }
}

/* That something came is all: it is looked at in every turn. */
static void take_sensor(void *data)
{
    (void)data;
}

static void earlier(int64_t *wait_ms, int64_t at_ms, int64_t now_ms, double speed)
{
    if (at_ms != CB_TIME_NONE) {
        const int64_t left_ms = (int64_t)ceil((double)(at_ms - now_ms) / speed);
        *wait_ms = left_ms < 0 ? 0 : left_ms < *wait_ms ? left_ms : *wait_ms;
    }
}

/* How long poll may sleep. */
static int wait_ms(const struct cb_loop *loop)
{
    int64_t wait = LONGEST_MS;
    const int64_t wall = cb_loop_moment(loop).wall_ms;
    earlier(&wait, cb_app_next_deadline(loop->app), wall, loop->setup->speed);
    earlier(&wait, loop->pilot_ms, wall, loop->setup->speed);
    const int64_t now = cb_clock_monotonic_ms();
    const int64_t others[] = {
        cb_bell_deadline(loop->bell),
        loop->retry_ms,
        loop->probe_ms,
        loop->look_ms,
        cb_loop_outside_deadline(loop),
        loop->inputs.count > 0 ? now : CB_TIME_NONE,
        loop->rows_due ? now + ROWS_MS : CB_TIME_NONE,
        loop->history_due || cb_app_has_idle_work(loop->app) ||
                cb_keeper_is_due(&loop->keeper, wall)
            ? loop->key_ms + HAND_MS
            : CB_TIME_NONE,
    };
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++) {
        earlier(&wait, others[i], now, 1);
    }
    return (int)wait;
}

/* A terminal that has not taken the last picture gets no other one: the newest, when it has. */
static bool takes_more(const struct cb_loop *loop)
{
    return !loop->closed && cb_term_out_fd(loop->term) < 0;
}

static void end_turn(struct cb_loop *loop)
{
    const uint64_t generation = cb_app_generation(loop->app);
    if (takes_more(loop) && (generation != loop->drawn || cb_term_is_stale(loop->term))) {
        cb_screen_draw(loop->app, &loop->grid);
        cb_term_draw(loop->term, &loop->grid);
        loop->drawn = generation;
        if (loop->setup->config->title) {
            cb_term_title(loop->term, cb_app_caption(loop->app, &loop->turn));
        }
    }
    if (loop->beep && takes_more(loop)) {
        cb_term_beep(loop->term);
        loop->beep = false;
    }
    if (takes_more(loop)) {
        cb_loop_pop_up_turn(loop);
    }
    if (loop->suspend && !loop->quit) {
        cb_term_suspend(loop->term);
        push_size(loop);
        cb_loop_push(loop, (struct cb_input){.kind = CB_INPUT_TIME});
    }
    loop->suspend = false;
}

static void fly(struct cb_loop *loop)
{
    const struct cb_moment now = cb_loop_moment(loop);
    loop->pilot_ms = CB_TIME_NONE;
    if (cb_app_session(loop->app)->pilot && !loop->quit &&
        cb_pilot_press(loop->app, &now, &loop->pilot_ms)) {
        cb_loop_push(loop, (struct cb_input){.kind = CB_INPUT_ACTION, .action = CB_ACTION_COAT_ON});
        cb_loop_step(loop);
    }
}

/* Told each turn: most of them come and go. */
static void watch(struct cb_loop *loop)
{
    struct cb_poll_set *set = &loop->polled;
    cb_poll_set_watch(set, loop->signals.fd, POLLIN, take_signals, loop);
    cb_poll_set_watch(set, cb_term_fd(loop->term), POLLIN, take_keys, loop);
    cb_poll_set_watch(set, cb_term_out_fd(loop->term), POLLOUT, send_more, loop);
    cb_poll_set_watch(set, cb_bell_fd(loop->bell), cb_bell_events(loop->bell), take_bell, loop);
    cb_poll_set_watch(set, cb_errand_fd(&loop->sensor), POLLIN, take_sensor, loop);
    cb_poll_set_watch(set, cb_store_watch_fd(loop->setup->store), POLLIN, cb_loop_take_log, loop);
}

static bool is_due(int64_t at_ms, int64_t now_ms)
{
    return at_ms != CB_TIME_NONE && now_ms >= at_ms;
}

static enum cb_status turn(struct cb_loop *loop, struct cb_err *err)
{
    watch(loop);
    const int ready = cb_poll_set_wait(&loop->polled, wait_ms(loop));
    if (ready < 0 && errno != EINTR) {
        return cb_err_set(err, CB_IO, "waiting for the next key failed: %s", strerror(errno));
    }
    cb_loop_push(loop, (struct cb_input){.kind = CB_INPUT_TIME});
    cb_poll_set_call(&loop->polled);
    take_bell(loop); /* deadlines of its own */
    const int64_t now = cb_clock_monotonic_ms();
    if (is_due(loop->look_ms, now)) {
        cb_loop_take_log(loop);
    }
    if (loop->rows_due) {
        cb_loop_load_rows(loop);
    }
    if (loop->viewer && is_due(loop->probe_ms, now)) {
        cb_loop_probe_writer(loop);
    }
    if (is_due(loop->retry_ms, now)) {
        cb_loop_save(loop, false);
    }
    cb_loop_outside_turn(loop);
    cb_loop_step(loop);
    fly(loop);
    if (ready == 0 && cb_clock_monotonic_ms() >= loop->key_ms + HAND_MS) {
        if (loop->history_due) {
            cb_loop_read_history(loop);
        } else if (cb_app_has_idle_work(loop->app)) {
            cb_loop_push(loop, (struct cb_input){.kind = CB_INPUT_IDLE});
            cb_loop_step(loop);
        } else if (cb_keeper_is_due(&loop->keeper, cb_loop_moment(loop).wall_ms)) {
            cb_loop_back_up(loop);
        }
    }
    end_turn(loop);
    return CB_OK;
}

static enum cb_status begin(struct cb_loop *loop, struct cb_err *err)
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
    const bool mono = no_colour != NULL && no_colour[0] != '\0';
    struct cb_term_options options = {.ascii = setup->ascii,
                                      .theme = mono ? CB_THEME_MONO : setup->config->theme};
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
        .terminal_pops_up = cb_term_pops_up(loop->term),
        .pilot = setup->autopilot,
        .speed = setup->speed,
        .machine = cb_store_machine(setup->store),
        .begun = setup->begun,
        .begun_path = setup->recipe_path,
        .version = CB_VERSION,
        .ping_seed = 1,
        .history_due = !setup->scratch,
    };
    cb_clock_zone(loop->start.wall_ms, &loop->zone);
    loop->zone.half_days = setup->config->half_days;
    app.zone = loop->zone;
    loop->keeper.store = setup->scratch ? NULL : setup->store;
    loop->keeper.zone = &loop->zone;
    cb_term_size(loop->term, &app.rows, &app.columns);
    cb_grid_init(&loop->grid, app.rows, app.columns);
    loop->grid.ascii = setup->ascii;
    loop->app = cb_app_new(&app, cb_loop_moment(loop));
    if (setup->guide) {
        cb_app_guide(loop->app, setup->speed, setup->kept);
    }
    cb_loop_push(loop, (struct cb_input){.kind = CB_INPUT_EVENTS,
                                         .events = (const struct cb_event *const *)events,
                                         .event_count = count,
                                         .text = cb_loop_damage_line(loop)});
    if (program == NULL) {
        cb_loop_push(loop, (struct cb_input){.kind = CB_INPUT_BELL,
                                             .bell_state =
                                                 setup->config->bell ? CB_BELL_NONE : CB_BELL_OFF});
    }
    cb_loop_push(loop, (struct cb_input){.kind = CB_INPUT_TIME});
    loop->history_due = true;
    cb_loop_outside_begin(loop);
    cb_loop_step(loop);
    end_turn(loop);
    return CB_OK;
}

enum cb_status cb_loop_run(const struct cb_loop_setup *setup, struct cb_err *err)
{
    struct cb_loop loop = {
        .setup = setup,
        .start = cb_clock_now(),
        .own = cb_index_new(),
        .retry_ms = CB_TIME_NONE,
        .key_ms = cb_clock_monotonic_ms() - HAND_MS,
        .probe_ms = CB_TIME_NONE,
        .look_ms = cb_clock_monotonic_ms(), /* what moved before the watch began */
        .pilot_ms = CB_TIME_NONE,
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
    cb_loop_save(&loop, false);
    if (loop.unsaved.presses.count > 0) {
        status =
            cb_unsaved_rescue(&loop.unsaved, cb_loop_moment(&loop).wall_ms, setup->log_path, err);
    }
    if (status == CB_OK && loop.quit && setup->farewell != NULL) {
        const char *text = cb_app_farewell(loop.app, &loop.turn);
        cb_str_add(setup->farewell, text == NULL ? "" : text);
    }
    cb_history_close(loop.history);
    cb_keeper_fini(&loop.keeper);
    cb_term_close(loop.term);
    cb_bell_free(loop.bell);
    cb_app_free(loop.app);
    cb_grid_fini(&loop.grid);
    cb_index_free(loop.own);
    cb_vec_free(&loop.inputs);
    cb_unsaved_fini(&loop.unsaved);
    cb_picture_fini(&loop.pictures);
    cb_loop_outside_end(&loop);
    cb_poll_set_fini(&loop.polled);
    cb_arena_fini(&loop.turn);
    cb_arena_fini(&loop.session);
    cb_signals_close(&loop.signals);
    return status;
}
