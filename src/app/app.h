/* SPDX-License-Identifier: MIT */
/*
 * The whole interactive program as one pure step: (state, input) -> (state, effects). It knows no
 * clock, file, terminal or bus; the loop (or a script on a fake clock) feeds it and does what it
 * asks. A key press becomes a STORE effect; the state changes when STORED comes back, so that the
 * screen never shows what is not on disk.
 */
#ifndef CB_APP_APP_H
#define CB_APP_APP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/time.h"
#include "core/bench/bench.h"
#include "core/bench/next.h"
#include "core/coach/cue.h"
#include "core/recipe/config.h"
#include "core/log/event.h"
#include "core/paint/kinds.h"
#include "core/learn/learn.h"
#include "core/review/taught.h"
#include "app/action.h"
#include "app/view.h"

struct cb_app;

struct cb_app_recipe { /* offered when a unit is to be begun */
    const char *path;  /* shown and remembered */
    const char *name;  /* from the recipe; the file name when it has none */
    const char *text;  /* the whole source; NULL when it is broken */
    const char *fault; /* one line, when broken */
    bool ours;         /* broken, yet meant as one: it has the key coatbell */
    int figures;       /* 0: not said */
};

/* How the bell stands; the status line says it in words. */
enum cb_bell_state {
    CB_BELL_NONE,
    CB_BELL_STARTING,
    CB_BELL_OK,
    CB_BELL_NO_BUS,
    CB_BELL_NO_DAEMON,
    CB_BELL_SILENT,
    CB_BELL_OFF
};

enum cb_input_kind {
    CB_INPUT_TIME,    /* nothing but the moment: a timer ran out */
    CB_INPUT_KEY,     /* key */
    CB_INPUT_ACTION,  /* action, as `do` in a script names it */
    CB_INPUT_TEXT,    /* text: pasted. Into a line that is typed; else left out, and said so */
    CB_INPUT_SIZE,    /* rows, columns */
    CB_INPUT_STORED,  /* the events of the STORE effect are on disk, now with ids */
    CB_INPUT_UNSAVED, /* they could not be written: text says why. Kept pending, NOT SAVED. The
                         loop retries and says STORED or UNSAVED again */
    CB_INPUT_EVENTS,  /* events that others wrote (begin, import, the writer) */
    CB_INPUT_ROLE,    /* writer: may this bench write? offer: the writer is gone, take over? */
    CB_INPUT_BELL,    /* bell_state */
    CB_INPUT_BUTTON,  /* ping_id: which pop-up; dry or still wet */
    CB_INPUT_RECIPES, /* recipes found, the answer to LIST_RECIPES */
    CB_INPUT_HISTORY, /* what finished units, which are not loaded, have taught: it may be nothing
                       */
    CB_INPUT_NOTICE,  /* text: what failed outside, for the status line until a key */
    CB_INPUT_PICTURE, /* text: why the PICTURE asked for is not shown */
    CB_INPUT_SENSOR,  /* text: what the sensor answers, as a painter would type it; NULL: nothing */
    CB_INPUT_IDLE,    /* nobody waits: a piece of idle work, some thousandths of a second */
    CB_INPUT_CLOSE,   /* hang-up or SIGTERM: close the session and quit */
};

struct cb_input {
    enum cb_input_kind kind;
    struct cb_moment now; /* always set */
    uint32_t key;         /* enum cb_key or a code point */
    enum cb_action action;
    const char *text; /* EVENTS: a line on what of the log is damaged, or NULL */
    int rows, columns;
    const struct cb_event *const *events; /* STORED, EVENTS */
    size_t event_count;
    bool writer, offer;
    enum cb_bell_state bell_state;
    uint32_t ping_id;
    uint32_t answer; /* BUTTON: that of the PING it stood on; 0: of the newest */
    bool button_dry;
    const struct cb_app_recipe *recipes;
    size_t recipe_count;
    struct cb_taught *taught; /* HISTORY: taken over, and zeroed */
};

enum cb_effect_kind {
    CB_EFFECT_STORE,        /* events: append as one press, then feed STORED or UNSAVED */
    CB_EFFECT_PING,         /* show or replace the pop-up ping_id */
    CB_EFFECT_PING_CLOSE,   /* close the pop-up ping_id */
    CB_EFFECT_BELL_READY,   /* a ping comes within two minutes: start the bell child */
    CB_EFFECT_BEEP,         /* terminal bell: no pop-up can be had */
    CB_EFFECT_LIST_RECIPES, /* feed RECIPES */
    CB_EFFECT_RELOAD,       /* feed RECIPES with the unit's file (path) */
    CB_EFFECT_PICTURE,      /* show the file path, beside the recipe's file; feed PICTURE if not */
    CB_EFFECT_TAKE_OVER,    /* become the writer: feed ROLE */
    CB_EFFECT_HISTORY, /* read anew what finished units taught, when nobody waits: feed HISTORY */
    CB_EFFECT_QUIT,
    CB_EFFECT_SUSPEND, /* Ctrl-Z */
};

struct cb_effect {
    enum cb_effect_kind kind;
    const struct cb_event *const *events; /* STORE; without id, press, machine, seq */
    size_t event_count;
    /* PING: plain text, not escaped: the bell does what a daemon needs. sound: with sound, else
     * quietly. */
    uint32_t ping_id;
    const char *title, *body;
    bool sound, buttons;
    bool by_terminal; /* PING: nothing but the terminal can show it */
    uint32_t answer;  /* PING with buttons: of what they say that it is dry */
    const char *path;
    const char *beside; /* PICTURE: the recipe's file; NULL: not known, path is absolute */
};

/* Valid until the next step. */
struct cb_effects {
    size_t count;
    const struct cb_effect *items;
};

struct cb_app_setup {
    struct cb_views views; /* at least one; outlive the app */
    const struct cb_kinds *kinds;
    const struct cb_config *config;
    const struct cb_cues *cues; /* NULL: none; else outlives the app */
    cb_tree_reader *read;
    struct cb_zone zone;
    int rows, columns;
    bool writer;            /* may write; else a live viewer */
    bool terminal_pops_up;  /* the terminal shows pop-ups, where nothing else does */
    bool scratch;           /* demo: says so in the title */
    bool pilot;             /* demo: paints by itself until SPACE */
    double speed;           /* demo: the bench's time goes so many times as fast; 0: as it does */
    const char *machine;    /* of the log, as the store writes it: cb_bench_own; NULL: any */
    const char *begun;      /* id of the unit that `begin` has just written: where it is in front,
                               what was not given is asked; NULL: none */
    const char *begun_path; /* its recipe, which R reads again; NULL: not from a file */
    const char *version;
    uint64_t ping_seed; /* first ping id */
    bool history_due;   /* what finished units taught is still to come: until HISTORY, times of
                           drying are marked ~, and pings wait for it half a second */
};

/* config, kinds and recipes given later outlive the app. The log's events come with the first
 * EVENTS input; the session is opened by the first step after that when writer. */
struct cb_app *cb_app_new(const struct cb_app_setup *setup, struct cb_moment now);
void cb_app_free(struct cb_app *app);

struct cb_effects cb_app_step(struct cb_app *app, const struct cb_input *input);

/* From now on a guide leads through the first minute (app/guide.h), where the bench's time goes so
 * many times as fast as the reader's. kept: what is closed can be gone on with. */
void cb_app_guide(struct cb_app *app, double speed, bool kept);

/* Changes whenever the screen would; equal values need no drawing. */
uint64_t cb_app_generation(const struct cb_app *app);

/* The next moment at which the app wants TIME: the next second or minute shown, film deadline or
 * ping, or the end of the wait for HISTORY; wall ms; CB_TIME_NONE: none. */
int64_t cb_app_next_deadline(const struct cb_app *app);

/* Is there work for idle time? */
bool cb_app_has_idle_work(const struct cb_app *app);

const struct cb_bench *cb_app_bench(const struct cb_app *app);
const struct cb_learn *cb_app_learn(const struct cb_app *app);
struct cb_moment cb_app_now(const struct cb_app *app);
/* What it names for coat-on, as of the last input; not any: when there will be something. */
struct cb_proposal cb_app_offer(const struct cb_app *app);
/* Shows the view of that name, for `play`; false: there is none. */
bool cb_app_show(struct cb_app *app, const char *view);

/* One line for a status bar, as `coatbell status` prints it. */
struct cb_scene;
char *cb_app_status_line(const struct cb_bench *bench, const struct cb_scene *scene,
                         const struct cb_moment *now, const struct cb_zone *zone,
                         struct cb_arena *arena);

#endif
