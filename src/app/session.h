/* SPDX-License-Identifier: MIT */
/* What this bench works with and on: its settings, its log, and whether it may write there. */
#ifndef CB_APP_SESSION_H
#define CB_APP_SESSION_H

#include "app/app.h"
#include "app/keymap.h"
#include "core/bench/calibration.h"
#include "core/bench/coverage.h"

#define CB_APP_TEXT_MAX 256 /* bytes of one line said */

struct cb_session {
    const struct cb_kinds *kinds;
    const struct cb_config *config;
    const struct cb_cues *cues;
    cb_tree_reader *read;
    struct cb_zone zone;
    struct cb_keymap keymap;
    const char *version;
    const char *machine; /* whose bench this is; NULL: not known */
    struct cb_bench *bench;
    struct cb_learn *learn;
    struct cb_moment now;
    bool writer, offer, scratch;
    bool terminal_pops_up;
    double speed; /* of the bench's time; 1, in a demo more */
    bool pilot;   /* a demo paints by itself, and nobody has taken the brush yet */
    bool loaded;  /* the log's events have come */
    bool closing; /* session_closed is on its way */
    bool unsaved; /* the disk has not taken a STORE */
    char unsaved_why[CB_APP_TEXT_MAX];
    int64_t opened_ms;       /* bench time at which this app saw its log; CB_TIME_NONE */
    bool new_figures;        /* the times of drying are others than at the last opening */
    bool history_due;        /* what finished units taught has not come yet */
    struct cb_taught taught; /* by finished units; its learner became ours */
    /* its rows, stages and covers by the joins in force */
    struct cb_arena joined_arena;
    const struct cb_row *joined_rows;
    const struct cb_pot_stage *joined_stages;
    const struct cb_cover *joined_covers;
    struct cb_arena covers_arena;
    const struct cb_cover *covers; /* those, and of the bench's own units */
    size_t cover_count;
    char bells[64]; /* "my last 40 bells: 33 dry", or "" */
};

const struct cb_session *cb_app_session(const struct cb_app *app);
int64_t cb_app_bench_now(const struct cb_app *app);
/* The unit in front; NULL: none, and the chooser shows. */
const struct cb_unit *cb_app_unit(const struct cb_app *app);
/* What the learner was given: rows of finished units and the bench's. In the arena. */
const struct cb_row *cb_app_rows(const struct cb_app *app, struct cb_arena *arena, size_t *count);
/* What is known of the coats that paints need: of finished units and of the bench's. Until the next
 * event. */
const struct cb_cover *cb_app_covers(const struct cb_app *app, size_t *count);
/* Its units that are not finished, as the chooser lists them; the index of such a row in the
 * bench. */
size_t cb_app_open_units(const struct cb_app *app);
size_t cb_app_open_unit(const struct cb_app *app, size_t row);
/* The same of those that were put aside. */
size_t cb_app_aside_units(const struct cb_app *app);
size_t cb_app_aside_unit(const struct cb_app *app, size_t row);
/* The key that does it, as a sentence names it; the action's own name where no key does. */
const char *cb_app_key(const struct cb_app *app, enum cb_action action);

/* True when this bench may write; else says why not. */
bool cb_app_may_write(struct cb_app *app);
/* Why it may not, where it may not. */
const char *cb_app_why_not(const struct cb_app *app);
/* One press: count events from cb_event_take. */
void cb_app_store(struct cb_app *app, const struct cb_event *const *events, size_t count);
/* One press of one event, taken from make. */
void cb_app_store_one(struct cb_app *app, struct cb_event_make *make);

/* What the step is told of the log (app.h). */
void cb_session_events(struct cb_app *app, const struct cb_input *input);
void cb_session_stored(struct cb_app *app, const struct cb_input *input);
void cb_session_unsaved(struct cb_app *app, const struct cb_input *input);
void cb_session_role(struct cb_app *app, const struct cb_input *input);
void cb_session_history(struct cb_app *app, const struct cb_input *input);
void cb_session_close(struct cb_app *app, bool at_once);
/* A key after the line that said so. */
void cb_session_figures_seen(struct cb_app *app);
/* A key of whoever sits here ends the demo that paints by itself. */
void cb_session_take_brush(struct cb_app *app);

void cb_session_now(struct cb_app *app, struct cb_moment now);
void cb_session_init(struct cb_app *app, const struct cb_app_setup *setup, struct cb_moment now);
void cb_session_fini(struct cb_app *app);

#endif
