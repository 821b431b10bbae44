/* SPDX-License-Identifier: MIT */
/*
 * The bench: the fold over all events. State is a function of the set of events and nothing
 * else; cb_bench_add gives the same state as folding anew. Undo is an event too.
 *
 * Bench time. The fold keeps one axis of milliseconds on which films age: within a boot it runs
 * with CLOCK_BOOTTIME (so suspend counts and setting the wall clock does not), anchored at the
 * wall time of the boot's first event; events without a boot stand at their wall time. Ask
 * cb_bench_time for the position of a moment, and cb_bench_wall for what a clock on the wall
 * shows there now.
 */
#ifndef CB_CORE_BENCH_BENCH_H
#define CB_CORE_BENCH_BENCH_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/tree.h"
#include "core/air/climate.h"
#include "core/paint/drying.h"
#include "core/log/event.h"
#include "core/paint/kinds.h"
#include "core/learn/learn.h"
#include "core/recipe/draft.h"
#include "core/recipe/recipe.h"
#include "core/recipe/recipe_match.h"

struct cb_film_more;

enum cb_film_check { CB_CHECK_NONE, CB_CHECK_WET, CB_CHECK_DRY };

struct cb_film {
    int figure, stage, coat;  /* from 1, in the recipe in force now; stage 0: removed since;
                                 figure 0: on the scrap */
    int64_t on_ms;            /* bench time; INT64 moments are bench time throughout */
    int64_t pressed_ms;       /* of the press that wrote it: on_ms, where it was not back-dated */
    double on_pm_s;           /* how sure on_ms is, 0: as pressed */
    const char *on_press;     /* press that put it on; NULL: foreign */
    const char *on_id;        /* id of the event that did; NULL: not stored */
    int place;                /* index into cb_bench places; 0: bench */
    enum cb_film_check check; /* the last answer */
    int64_t wet_ms, dry_ms;   /* last found wet, first found dry; CB_TIME_NONE */
    int64_t next_ms;          /* the next coat went on over it; CB_TIME_NONE */
    int64_t lifted_ms;        /* came up; CB_TIME_NONE. The film is then gone and to do again */
    int64_t pinged_ms;        /* bench time of the last ping; CB_TIME_NONE */
    int64_t pinged_due_ms;
    bool helped, suspect, across_boot, brought_in;
    bool before;         /* done before the unit was begun: dry, no time, teaches nothing */
    bool tidied;         /* a slip on its stage was tidied before it was settled */
    int64_t wet_like_ms; /* an older film of its coat was found wet then; CB_TIME_NONE */
    uint64_t areas;      /* it lies on, in the recipe in force now */
    bool whole;          /* on all of the figure */
    double work_s;       /* NAN: not said */
    const struct cb_drying *drying;
    const char *pot;   /* cb_pot_key; NULL when no paint */
    const char *paint; /* shown name; NULL when no paint */
    enum cb_technique technique;
    const struct cb_film_more *more; /* private to the fold */
};

struct cb_figure {
    bool parked;
    bool later;        /* parked as the unit was begun, and still so: others go first */
    int64_t joined_ms; /* 0: it was there from the first */
    /* per stage: coats wanted beyond the recipe (+ added, - spared), left out */
    int8_t extra[CB_RECIPE_MAX];
    uint64_t left_out; /* stages */
};

/* Made by the bench alone: queries look behind it. Valid until the next add. */
struct cb_unit {
    const char *id, *name;
    const struct cb_recipe *recipe;
    int figures;
    bool finished; /* or left: */
    bool left;     /* put aside, until it is opened again */
    int64_t begun_ms, last_ms;
    struct cb_figure figure[CB_FIGURES_MAX + 1]; /* from 1 */
    uint64_t left_out;                           /* stages, for every figure */
    struct cb_drying *drying;                    /* per stage, after swaps */
    /* per stage: swapped paint, NULL: as in the recipe */
    const char **swapped_name;
    size_t *swapped_kind;
    size_t film_count;
    struct cb_film *films; /* in the order they went on; standing and lifted ones */
    size_t stroke_count;
    struct cb_film *strokes; /* on the scrap, in the order they were made: no coats of the unit */
};

enum cb_climate_from { CB_FROM_DEFAULT, CB_FROM_TYPED, CB_FROM_SENSOR, CB_FROM_ESTIMATE };

struct cb_reading {
    int64_t at_ms;
    struct cb_climate climate;
    enum cb_climate_from from;
};

struct cb_bench;

/* read: how a recipe's text becomes a tree (shell/yaml). kinds outlives the bench. */
struct cb_bench *cb_bench_new(const struct cb_kinds *kinds, cb_tree_reader *read);
void cb_bench_free(struct cb_bench *bench);

/* For the log of that machine, whose own bench may be open: while it is, nobody else's events say
 * what is in front, and its presses alone are undone. Copied. Before the first add. */
void cb_bench_own(struct cb_bench *bench, const char *machine);

/* Adds events (copied), in any order; a bad or meaningless one is kept and has no effect. */
void cb_bench_add(struct cb_bench *bench, const struct cb_event *const *events, size_t count);

/* An empty bench that is given the events of whole again, by their place in cb_bench_events, each
 * once, in any order. It borrows them, and what was read of recipes: whole outlives it and is given
 * no more meanwhile. */
struct cb_bench *cb_bench_again(const struct cb_bench *whole);
void cb_bench_repeat(struct cb_bench *again, size_t event);

int64_t cb_bench_time(const struct cb_bench *bench, const struct cb_moment *moment);
/* Wall clock of a bench time, as a clock set like `now`'s would show it. */
int64_t cb_bench_wall(const struct cb_bench *bench, const struct cb_moment *now, int64_t bench_ms);

/* Units that were begun, in order; the one in front, or -1.
 *
 * A unit that is begun or opened comes to the front, unless its unit_begun says front: no: then it
 * stays behind until it is opened, also where nothing is in front. While a machine's session is
 * open, only its own hand puts a unit in front: what other machines, or none, began or opened
 * meanwhile stays behind. A session_opened says what its bench found in front; that holds
 * against what others are known to have put there before. (In logs of before it does not say:
 * there it was what came to the front last.) A unit that is finished leaves the front,
 * whoever says so. One that was put aside (unit_finished with left) is as if finished until it is
 * opened; once finished for good it can't be put aside. */
size_t cb_bench_unit_count(const struct cb_bench *bench);
const struct cb_unit *cb_bench_unit(const struct cb_bench *bench, size_t unit);
int cb_bench_front(const struct cb_bench *bench);
int cb_bench_find_unit(const struct cb_bench *bench, const char *id); /* -1: none */
const struct cb_kinds *cb_bench_kinds(const struct cb_bench *bench);

/* The standing film of that coat (on and not lifted), or NULL. */
const struct cb_film *cb_bench_film(const struct cb_unit *unit, int figure, int stage, int coat);
/* Figure and coat of a coat_on, where it was said later that it was another's. */
struct cb_film_key cb_bench_key(const struct cb_bench *bench, const struct cb_event *coat_on);
/* That stroke of the stage on the scrap, or NULL. */
const struct cb_film *cb_bench_stroke(const struct cb_unit *unit, int stage, int coat);
/* Coats the figure wants at the stage: recipe + added - spared; 0 when left out, not of the
 * group. */
int cb_bench_coats(const struct cb_unit *unit, int figure, int stage);
/* Coats standing without a gap from 1. */
int cb_bench_coats_on(const struct cb_unit *unit, int figure, int stage);

/* Which of the unit's stages is which in another recipe, were that one taken: what it had earlier
 * comes back by its name. */
void cb_bench_match(const struct cb_unit *unit, const struct cb_recipe *next,
                    struct cb_recipe_match *match);

/* Names of stages that it had earlier and has no more, at most `most`; their number. */
size_t cb_bench_old_stages(const struct cb_unit *unit, const char **names, size_t most);
/* The unit's recipe as it is painted by now: with what was swapped under the keys that it was
 * swapped for. Its texts are the bench's. */
void cb_bench_draft(const struct cb_unit *unit, struct cb_draft *draft);

/* The same to read alone: its stages, but for mixes where water is for medium, and areas are
 * those of unit->recipe. Until the next add. */
const struct cb_recipe *cb_bench_used(const struct cb_unit *unit);

/* The pot and shown name of the stage's paint after swaps and joins; NULL when it has none. */
const char *cb_bench_stage_pot(const struct cb_unit *unit, int stage);
const char *cb_bench_stage_paint(const struct cb_unit *unit, int stage);
/* The pot that this one, of this bench or not, is by the joins in force: itself, or text in the
 * arena. */
const char *cb_bench_joined(const struct cb_bench *bench, const char *pot, struct cb_arena *arena);
/* What is on the brush: that name, or all that are mixed, "Cloth blue + Skin"; NULL when none. */
const char *cb_bench_stage_blend(const struct cb_unit *unit, int stage);

/* The air. place 0 is the bench; a place without a reading of its own takes the bench's. */
const struct cb_reading *cb_bench_readings(const struct cb_bench *bench, int place, size_t *count);
size_t cb_bench_place_count(const struct cb_bench *bench);
const char *cb_bench_place_name(const struct cb_bench *bench, int place);
struct cb_reading cb_bench_climate_at(const struct cb_bench *bench, int place, int64_t at_ms);

/* Standard minutes the film has gained by then; 0 before it went on. In the cold no more than it
 * gains without forming, for the median of its row; from RH 97 it stands. */
double cb_bench_progress(const struct cb_bench *bench, const struct cb_film *film, int64_t at_ms);
/* When, under the readings so far and the last one held on, it will have gained that many;
 * CB_TIME_NONE when it stands still before. */
int64_t cb_bench_reaches(const struct cb_bench *bench, const struct cb_film *film,
                         double standard_min);

/* What the log says to the learner, in fold order; valid until the next add. */
const struct cb_row *cb_bench_rows(const struct cb_bench *bench, size_t *count);

/* Settings and standing facts. */
struct cb_bench_facts {
    double confidence; /* 0.50..0.95 */
    bool session_open, paused, first_question_answered;
    int64_t session_opened_ms, pause_begun_ms;
    int64_t pause_ended_ms; /* the last one's end; CB_TIME_NONE */
    int64_t last_mark_ms;   /* last coat_on, by bench time of the press; CB_TIME_NONE */
    int last_unit, last_figure, last_stage, last_coat; /* the last coat put on; 0: none */
    size_t event_count, undone_count;
    int edition; /* the newest CB_KINDS_EDITION that a session was opened under; 0: none said */
};
struct cb_bench_facts cb_bench_facts(const struct cb_bench *bench);
bool cb_bench_caution_read(const struct cb_bench *bench,
                           const char *caution); /* in this session, for
                                                   the recipe in front */
bool cb_bench_muted(const struct cb_bench *bench, const char *cue);

/* The press that undo would take back, or redo bring again (that is: the undone event's press
 * to name in `of`); NULL when there is none. Never session_*, pinged or imported. what: a few
 * words on it in the arena ("rope on 4"), may be NULL. */
const char *cb_bench_undoable(const struct cb_bench *bench, struct cb_arena *arena, char **what);
const char *cb_bench_redoable(const struct cb_bench *bench, struct cb_arena *arena, char **what);

bool cb_bench_has(const struct cb_bench *bench, const char *id); /* that event; NULL: no */
/* All events in fold order, the bench time of each, and whether it is in force (not undone). */
const struct cb_event *const *cb_bench_events(const struct cb_bench *bench, size_t *count);
int64_t cb_bench_event_ms(const struct cb_bench *bench, size_t event);
bool cb_bench_in_force(const struct cb_bench *bench, size_t event);

#endif
