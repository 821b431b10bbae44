/* SPDX-License-Identifier: MIT */
/* One thread around one poll(2): terminal, one timer, signals, the bell, the log. */
#ifndef CB_SHELL_LOOP_H
#define CB_SHELL_LOOP_H

#include <stdbool.h>

#include "base/err.h"
#include "base/str.h"
#include "core/coach/cue.h"
#include "core/recipe/config.h"
#include "core/paint/kinds.h"
#include "shell/store.h"

struct cb_loop_setup {
    const struct cb_kinds *kinds;
    const struct cb_config *config;
    const struct cb_cues *cues;
    struct cb_store *store;
    const char *log_path;    /* for messages */
    const char *recipe_path; /* the file the unit was just begun by; NULL: none */
    bool ascii;
    double speed;   /* 1; demo: 60 */
    bool autopilot; /* demo: paints by itself until the first coat-on key */
    bool scratch;
    bool guide;              /* demo: leads through its first minute */
    bool kept;               /* demo: what is closed can be gone on with */
    int64_t ahead_ms;        /* demo: so far its time is ahead of the clocks when it opens */
    const char *begun;       /* the unit begun just now: asks what is not known of the room; NULL */
    struct cb_str *farewell; /* added to: what is to be said when the screen is gone; NULL: nobody
                                says it */
};
enum cb_status cb_loop_run(const struct cb_loop_setup *setup, struct cb_err *err);

#endif
