/* SPDX-License-Identifier: MIT */
/*
 * The whole program on a fake clock: the same app step as at the terminal, fed by a script, the
 * demo or a test instead of by the loop, on a log in memory or in a file. Deterministic but for
 * the ids that the log gives.
 */
#ifndef CB_COMMAND_REHEARSE_H
#define CB_COMMAND_REHEARSE_H

#include <stdbool.h>

#include "base/arena.h"
#include "base/err.h"
#include "base/time.h"
#include "shell/store.h"
#include "app/app.h"

#define CB_REHEARSE_START_MS INT64_C(1767636000000) /* 2026-01-05T18:00:00Z */

struct cb_rehearse_setup {
    const struct cb_kinds *kinds;
    const struct cb_config *config;
    const struct cb_cues *cues; /* NULL: none */
    struct cb_store *store;     /* outlives the rehearsal */
    int rows, columns;
    bool ascii;
    bool terminal_pops_up; /* as of struct cb_app_setup */
    bool pilot;            /* the same; nobody presses in its place */
    double speed;          /* the same */
    bool history_due;      /* the caller feeds CB_INPUT_HISTORY, as the bench does */
    struct cb_zone zone;   /* of the painter; empty: UTC */
    /* Every effect and every event as it is stored; may be NULL. */
    void (*saw)(void *context, const struct cb_moment *now, const struct cb_effect *effect);
    void *context;
};

struct cb_rehearse;
/* Opens the bench on what the store holds. */
enum cb_status cb_rehearse_new(const struct cb_rehearse_setup *setup, struct cb_moment now,
                               struct cb_rehearse **rehearse, struct cb_err *err);
void cb_rehearse_free(struct cb_rehearse *rehearse);

/* Recipes that the chooser offers and R reads; they outlive the rehearsal. */
void cb_rehearse_offer(struct cb_rehearse *rehearse, const struct cb_app_recipe *recipes,
                       size_t count);
/* Begins a unit beside the bench, as `coatbell begin` would: the standard climate, and no answer to
 * the first-opening question. */
/* The unit begun next begins with so many of its figures; 0: with all. */
void cb_rehearse_first(struct cb_rehearse *rehearse, int figures);
enum cb_status cb_rehearse_begin(struct cb_rehearse *rehearse, const char *name, int figures,
                                 const char *recipe_text, struct cb_err *err);

/* A sensor that answers every minute from here on, with the line, or as a device under root does
 * (shell/sensor.h); neither: it is silent. Both are copied. */
void cb_rehearse_sensor(struct cb_rehearse *rehearse, const char *line, const char *root);
/* Input as given; now is set. */
void cb_rehearse_feed(struct cb_rehearse *rehearse, struct cb_input input);
/* The clocks go on together, stopping wherever the app wants to wake. */
void cb_rehearse_advance(struct cb_rehearse *rehearse, int64_t ms);
/* Somebody sets the wall clock; the time since boot goes its way. */
void cb_rehearse_set_wall(struct cb_rehearse *rehearse, int64_t by_ms);
/* The laptop sleeps: both clocks go on, nobody wakes. */
void cb_rehearse_sleep(struct cb_rehearse *rehearse, int64_t ms);
/* The plug is pulled without a word, and the machine comes up again: another boot, the bench
 * opened anew on what the log holds. */
enum cb_status cb_rehearse_reboot(struct cb_rehearse *rehearse, struct cb_err *err);
/* The machine is brought back as it was so long ago, but for its disk and the wall clock: the same
 * boot, the bench opened anew on what the log holds. */
enum cb_status cb_rehearse_restore(struct cb_rehearse *rehearse, int64_t ms, struct cb_err *err);

const struct cb_app *cb_rehearse_app(const struct cb_rehearse *rehearse);
/* cb_app_guide, as fast as the script */
void cb_rehearse_guide(struct cb_rehearse *rehearse, bool kept);
bool cb_rehearse_show(struct cb_rehearse *rehearse, const char *view);
struct cb_moment cb_rehearse_now(const struct cb_rehearse *rehearse);
bool cb_rehearse_has_quit(const struct cb_rehearse *rehearse);
uint32_t cb_rehearse_last_ping(const struct cb_rehearse *rehearse); /* 0: none */
/* Draws now; belongs to the rehearsal. */
const struct cb_grid *cb_rehearse_grid(struct cb_rehearse *rehearse);

#endif
