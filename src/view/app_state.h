/* SPDX-License-Identifier: MIT */
/*
 * What the views and the parts of app share and nobody else sees. What matters of it follows from
 * the log; the rest (the view shown, a count half typed, a figure gone to by hand) may be lost in
 * a crash without harm.
 */
#ifndef CB_VIEW_APP_STATE_H
#define CB_VIEW_APP_STATE_H

#include "base/vec.h"
#include "core/bench/calibration.h"
#include "view/app.h"
#include "view/keymap.h"
#include "view/view.h"

#define CB_APP_TEXT_MAX   256                  /* bytes of one line typed */
#define CB_APP_LINE_MS    10000                /* the last press stays that long */
#define CB_APP_STALE_MS   (90 * CB_MS_PER_MIN) /* a climate older than that is asked about */
#define CB_APP_SECONDS_MS (2 * CB_MS_PER_MIN)  /* below it the countdown shows seconds */
#define CB_APP_COUNT_MAX  999
#define CB_APP_HISTORY_MS 500 /* a ping waits so long for what was learned; own judgement */

enum cb_app_mode {
    CB_APP_VIEW,   /* a view, or the chooser while no unit is in front */
    CB_APP_CHOOSE, /* the chooser, asked for */
    CB_APP_FORM,   /* what a new unit needs to know */
    CB_APP_LINE,   /* one line: climate, note, chore */
};

enum cb_app_field_id {
    CB_APP_FIELD_FIGURES,
    CB_APP_FIELD_CLIMATE,
    CB_APP_FIELD_FIRST, /* the first-opening question */
    CB_APP_FIELD_COUNT,
};

struct cb_app_field {
    char text[CB_APP_TEXT_MAX];
    char error[CB_APP_TEXT_MAX];
};

/* A pop-up that stands on the desktop: one per unit, stage and coat. */
struct cb_app_popup {
    uint32_t id;
    const char *unit; /* id, in the app's arena */
    int stage, coat;
    bool shown;
    bool sounded; /* once for this coat, for the policy `first` */
    size_t film_count;
    struct cb_film_key films[CB_FIGURES_MAX]; /* oldest due first */
};

/* Where the recipe of a unit begun in this run lies: the log has its text alone. */
struct cb_app_source {
    char *unit, *path; /* in the arena of the app */
};

/* A film that was announced, whether or not the log took it. */
struct cb_app_announced {
    const char *unit;
    struct cb_film_key film;
    int64_t on_ms, at_ms;
};

struct cb_app {
    const struct cb_kinds *kinds;
    const struct cb_config *config;
    cb_tree_reader *read;
    struct cb_zone zone;
    const char *version;
    struct cb_keymap keymap;
    struct cb_bench *bench;
    struct cb_learn *learn;
    struct cb_moment now;
    int rows, columns;
    bool writer, offer, scratch;
    double pilot_speed; /* of a demo while it paints by itself; 0: whoever sits here paints */
    const char *begun, *begun_path; /* the unit that `begin` wrote: of it is asked, once the log is
                                       read */
    bool loaded;                    /* the log's events have come */
    bool closing;                   /* session_closed is on its way */
    bool quit_anyway;               /* asked once to quit with presses unsaved */
    bool unsaved;                   /* the disk has not taken a STORE */
    char unsaved_why[CB_APP_TEXT_MAX];
    enum cb_bell_state bell_state;
    bool bell_asked; /* BELL_READY was sent since the bell was last down */
    uint64_t generation;
    uint64_t seed; /* makes the ids of units begun here unlike those of other runs */

    const struct cb_view *view, *view_before;
    enum cb_app_mode mode;
    int at_figure, at_stage;      /* gone to by hand; 0: free */
    int count;                    /* typed; 0: none */
    bool minus;                   /* a minus before it */
    int top;                      /* first row shown of a long list */
    char flash[CB_APP_TEXT_MAX];  /* answer to the last key, until the next one */
    char banner[CB_APP_TEXT_MAX]; /* a ping where no pop-up can be had, until a key */

    enum cb_action confirm, sure; /* asked about by this key, by the last one: again does it */
    bool sure_begun;              /* the last key asked whether a unit is to be begun no more */
    int stored_here; /* presses stored while this view was shown, less those taken back */

    enum cb_action line_for; /* LINE: CB_ACTION_CLIMATE, _NOTE or _CHORE */
    struct cb_app_field line;

    const struct cb_app_recipe *recipes;
    size_t recipe_count;
    bool recipes_known, reloading;
    int choice;
    struct cb_app_field fields[CB_APP_FIELD_COUNT];
    int field;
    unsigned asked;   /* FORM: 1 << field for what it asks */
    bool about_begun; /* FORM: the unit in front is begun already */
    CB_VEC(struct cb_app_source) sources;

    CB_VEC(struct cb_app_popup) popups;
    CB_VEC(struct cb_app_announced) announced;
    uint32_t next_ping;
    int64_t opened_ms; /* bench time at which this app saw its log; CB_TIME_NONE */

    bool history_due;        /* what finished units taught has not come yet */
    struct cb_taught taught; /* by finished units; its learner became ours */
    char bells[64];          /* "my last 40 bells: 33 dry", or "" */
    enum cb_ask_forget ask;  /* are pings off, so that forgetting is to be asked about? */
    int review_sort, review_focus;
    const char *review_unit; /* id of the one just finished, while its review is shown; or NULL */
    CB_VEC(struct cb_effect) effects;
    struct cb_arena arena; /* as long as the app */
    struct cb_arena frame; /* until the next step */
};

int64_t cb_app_bench_now(const struct cb_app *app);
/* The unit in front; NULL: none, and the chooser shows. */
const struct cb_unit *cb_app_unit(const struct cb_app *app);
/* One line that answers a key; cleared by the next. */
void cb_app_flash(struct cb_app *app, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
/* True when this bench may write; else says why not. */
bool cb_app_may_write(struct cb_app *app);
/* One press: count events from cb_event_take. */
void cb_app_store(struct cb_app *app, const struct cb_event *const *events, size_t count);
struct cb_effect *cb_app_effect(struct cb_app *app, enum cb_effect_kind kind);

/* view_review.c: points at the review when the last session was cut off and its tail is asked
 * about. Before session_opened is written. */
void cb_app_ask_tail(struct cb_app *app);
/* Moves the page by so many rows; false: it could not. */
bool cb_app_scroll_review(struct cb_app *app, int rows);

/* app_act.c: what the actions on units, films and figures do. */
void cb_app_act(struct cb_app *app, enum cb_action action);

/* app_start.c: the chooser, the form of a new unit and the typed lines. */
void cb_app_open_chooser(struct cb_app *app);
/* The unit `begun` was written just now, from begun_path. */
void cb_app_ask_begun(struct cb_app *app);
void cb_app_open_line(struct cb_app *app, enum cb_action line_for);
void cb_app_reload(struct cb_app *app);
void cb_app_take_recipes(struct cb_app *app, const struct cb_app_recipe *recipes, size_t count);
bool cb_app_is_typing(const struct cb_app *app);
bool cb_app_is_choosing(const struct cb_app *app);
void cb_app_type(struct cb_app *app, uint32_t key);
void cb_app_choose_key(struct cb_app *app, uint32_t key);
size_t cb_app_open_units(const struct cb_app *app); /* units offered before the recipes */
size_t cb_app_open_unit(const struct cb_app *app, size_t row); /* its index in the bench */
void cb_app_draw_start(const struct cb_app *app, struct cb_grid *grid);

/* app_others.c: what others wrote while this bench is open. */
struct cb_app_choice {
    const char *unit; /* its id; NULL: a recipe */
    int recipe;
};
struct cb_app_choice cb_app_hold_choice(const struct cb_app *app);
void cb_app_find_choice(struct cb_app *app, const struct cb_app_choice *held);
/* A line on the units that were begun and did not come to the front. */
void cb_app_tell_begun(struct cb_app *app, const struct cb_event *const *events, size_t count);

/* app_ping.c: what is due is announced. */
void cb_app_ping(struct cb_app *app);
void cb_app_button(struct cb_app *app, uint32_t ping_id, bool dry);
void cb_app_tidy_popups(struct cb_app *app);
/* The next ping still to come; CB_TIME_NONE. Bench time. */
int64_t cb_app_next_ping(const struct cb_app *app);
/* For how long no ping is to ring because HISTORY may show it to be wrong, ms; 0: not at all. */
int64_t cb_app_ping_wait_ms(const struct cb_app *app);

#endif
