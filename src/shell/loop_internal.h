/* SPDX-License-Identifier: MIT */
/* What the files of the loop share: turns and inputs (loop.c), what goes on with the log
 * (loop_log.c), and what runs beside the bench (loop_outside.c). */
#ifndef CB_SHELL_LOOP_INTERNAL_H
#define CB_SHELL_LOOP_INTERNAL_H

#include <stdbool.h>
#include <stdint.h>

#include "base/index.h"
#include "base/vec.h"
#include "shell/bell.h"
#include "shell/errand.h"
#include "shell/history.h"
#include "shell/keeper.h"
#include "shell/loop.h"
#include "shell/picture.h"
#include "shell/poll_set.h"
#include "shell/signals.h"
#include "shell/term.h"
#include "shell/unsaved.h"
#include "app/app.h"

/* That the terminal is to show. */
struct cb_loop_pop_up {
    uint32_t id; /* in the place of the same */
    char *title, *body;
    int64_t at_ms; /* monotonic; by then the bell would have shown it */
};

struct cb_loop {
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
    struct cb_keeper keeper;
    struct cb_errand sensor, ring; /* that runs now */
    int64_t sensor_ms; /* cb_clock_boot_ms, so that one that woke is asked at once; when it is asked
                          next; CB_TIME_NONE: there is none */
    char *next_ring;   /* what is to be said to the next; NULL: nobody rang */
    bool ring_failed, sensor_failed; /* that was said */
    CB_VEC(struct cb_loop_pop_up) pop_ups;
    struct cb_zone zone;
    int64_t key_ms;   /* monotonic; when the last key came */
    bool rows_due;    /* what others have written could not be read yet */
    bool history_due; /* the finished units' evidence is still to be read, in idle time */
    bool beep, suspend, quit, closed, viewer, offered;
};

/* The moment as the bench is to see it: a demo's evening runs faster. */
struct cb_moment cb_loop_moment(const struct cb_loop *loop);
/* For the next step; its moment is now. */
void cb_loop_push(struct cb_loop *loop, struct cb_input input);
/* Takes what was pushed through the app, and does what it wants done. */
void cb_loop_step(struct cb_loop *loop);

/* Writes what waits for the disk. fresh: the last press was made just now; when it has to wait, the
 * bench goes on with it all the same. */
void cb_loop_save(struct cb_loop *loop, bool fresh);
/* Feeds what others have written since. */
void cb_loop_load_rows(struct cb_loop *loop);
/* A line, when more of the log was found to be damaged than was told of; else NULL. */
const char *cb_loop_damage_line(struct cb_loop *loop);
void cb_loop_take_over(struct cb_loop *loop);
/* Something beside the log has moved; data: the loop. */
void cb_loop_take_log(void *data);
/* A viewer asks whether the writer has gone. */
void cb_loop_probe_writer(struct cb_loop *loop);
/* Pieces of idle work, one a turn, so that no key waits long: what finished units taught, and the
 * backup of the day. */
void cb_loop_read_history(struct cb_loop *loop);
void cb_loop_back_up(struct cb_loop *loop);

/* What the painter has named in config.yaml, none of which is waited for. */
void cb_loop_outside_begin(struct cb_loop *loop);
void cb_loop_outside_turn(struct cb_loop *loop);
int64_t cb_loop_outside_deadline(const struct cb_loop *loop); /* monotonic; CB_TIME_NONE */
/* It rings: the program that is to be told is, at once or when the one that runs has ended. */
void cb_loop_ring(struct cb_loop *loop, const char *title, const char *body);
/* The terminal shows it, unless the bell does after all. */
void cb_loop_pop_up(struct cb_loop *loop, const struct cb_effect *effect);
void cb_loop_popped_up(struct cb_loop *loop, uint32_t id); /* the bell did */
void cb_loop_pop_up_turn(struct cb_loop *loop);            /* the terminal takes more */
void cb_loop_outside_end(struct cb_loop *loop);

#endif
