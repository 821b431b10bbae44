/* SPDX-License-Identifier: MIT */
/* What goes on with the log while a bench is open: presses into it, what others write out of it,
 * and what is done with it in idle time. */
#include "shell/loop_internal.h"

#include <string.h>

#include "shell/clock.h"

/* inotify tells that a lock was closed a moment before it is free (Linux, fs/file_table.c), so a
 * viewer looks again, each time after four times as long; estimates */
#define PROBE_MS     10
#define PROBES       4
#define UNWATCHED_MS 1000 /* without inotify it looks by the clock: so far behind at most */
#define RETRY_MS     5000 /* of a log that could not be written; estimate */

static void push_stored(struct cb_loop *loop, const struct cb_event **stored, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (stored[i]->id != NULL) {
            cb_index_set(loop->own, stored[i]->id, 1);
        }
    }
    cb_loop_push(loop, (struct cb_input){.kind = CB_INPUT_STORED,
                                         .events = (const struct cb_event *const *)stored,
                                         .event_count = count});
}

/* What is wrong with the log, without its path: the top row of a narrow screen has room for one. */
static const char *reason(struct cb_loop *loop, const struct cb_err *err)
{
    const char *shown = cb_store_shown(loop->setup->store);
    const size_t length = strlen(shown);
    const bool named = strncmp(err->text, shown, length) == 0 && err->text[length] == ':';
    return cb_arena_text(&loop->turn, err->text + (named ? length + 2 : 0));
}

void cb_loop_save(struct cb_loop *loop, bool fresh)
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
        cb_loop_push(loop, input);
    }
}

const char *cb_loop_damage_line(struct cb_loop *loop)
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
                                      "coatbell log check --mend goes on with the others",
                                      bad, bad == 1 ? "" : "s", bad == 1 ? "is" : "are");
}

void cb_loop_load_rows(struct cb_loop *loop)
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
    const char *damage = cb_loop_damage_line(loop);
    if (others > 0 || damage != NULL) {
        cb_loop_push(loop, (struct cb_input){.kind = CB_INPUT_EVENTS,
                                             .events = (const struct cb_event *const *)events,
                                             .event_count = others,
                                             .text = damage});
    }
}

void cb_loop_take_over(struct cb_loop *loop)
{
    bool writer = cb_store_lock(loop->setup->store, NULL) == CB_OK;
    if (writer) {
        cb_loop_load_rows(loop);
        loop->viewer = false;
        loop->probe_ms = CB_TIME_NONE;
    }
    loop->offered = false;
    cb_loop_push(loop, (struct cb_input){.kind = CB_INPUT_ROLE, .writer = writer});
}

static bool is_unwatched(const struct cb_loop *loop)
{
    return !loop->setup->scratch && cb_store_watch_fd(loop->setup->store) < 0;
}

void cb_loop_take_log(void *data)
{
    struct cb_loop *loop = data;
    loop->rows_due = cb_store_changed(loop->setup->store) || loop->rows_due;
    if (loop->viewer) { /* what has changed may be that the writer is gone */
        loop->probe_ms = cb_clock_monotonic_ms();
        loop->probes = 0;
    }
    loop->look_ms = is_unwatched(loop) ? cb_clock_monotonic_ms() + UNWATCHED_MS : CB_TIME_NONE;
}

void cb_loop_probe_writer(struct cb_loop *loop)
{
    const bool offer = cb_store_is_free(loop->setup->store);
    loop->probe_ms = offer || loop->probes >= PROBES
                         ? CB_TIME_NONE
                         : cb_clock_monotonic_ms() + ((int64_t)PROBE_MS << (2 * loop->probes));
    loop->probes++;
    if (offer != loop->offered) {
        loop->offered = offer;
        cb_loop_push(loop, (struct cb_input){.kind = CB_INPUT_ROLE, .offer = offer});
    }
}

static void end_history(struct cb_loop *loop, struct cb_taught *taught)
{
    cb_loop_push(loop, (struct cb_input){.kind = CB_INPUT_HISTORY, .taught = taught});
    cb_loop_step(loop);
    cb_taught_fini(taught);
    cb_history_close(loop->history);
    loop->history = NULL;
    loop->history_due = false;
    const char *damage = cb_loop_damage_line(loop); /* all finished units were looked at */
    if (damage != NULL) {
        cb_loop_push(loop, (struct cb_input){.kind = CB_INPUT_EVENTS, .text = damage});
    }
}

void cb_loop_read_history(struct cb_loop *loop)
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

void cb_loop_back_up(struct cb_loop *loop)
{
    const char *line = cb_keeper_step(&loop->keeper, cb_loop_moment(loop).wall_ms, &loop->turn);
    if (line != NULL) {
        cb_loop_push(loop, (struct cb_input){.kind = CB_INPUT_EVENTS, .text = line});
        cb_loop_step(loop);
    }
}
