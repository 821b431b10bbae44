/* SPDX-License-Identifier: MIT */
/*
 * The inside of the bench, shared by the files of this room; nobody else includes it.
 *
 * Three lifetimes: `keep` holds events, names and read recipes as long as the bench; `fold` holds
 * what one folding made and is emptied by the next; the cache holds what queries worked out and
 * may be dropped at any time, so that const queries may fill it.
 */
#ifndef CB_CORE_BENCH_BENCH_INTERNAL_H
#define CB_CORE_BENCH_BENCH_INTERNAL_H

#include <stdint.h>

#include "base/index.h"
#include "base/time.h"
#include "base/vec.h"
#include "core/bench/bench.h"
#include "core/bench/doubts.h"

/* A recipe text once read, shared by every unit begun from it. */
struct cb_bench_recipe {
    const struct cb_recipe *recipe; /* NULL: refused */
    struct cb_drying drying[CB_RECIPE_MAX];
    const char *pot[CB_RECIPE_MAX]; /* per stage; NULL: no paint */
    /* per stage, masks: of stages, must be done and dry before; of areas, a film of it lies on */
    uint64_t waits[CB_RECIPE_MAX], covers[CB_RECIPE_MAX];
    bool has_parts; /* painted apart */
};

#define CB_BENCH_TEACHES_NOT SIZE_MAX

struct cb_film_stay {
    int64_t from_ms;
    int place;
};
struct cb_film_help { /* moving air near this film alone */
    int64_t from_ms, to_ms;
    enum cb_air air;
};

/* What the fold knows of a film beyond its public face. */
struct cb_film_more {
    const char *stage_name;             /* of the recipe in force, or of the last that had it */
    const struct cb_bench_recipe *read; /* recipe and stage (from 0) it went on by */
    size_t read_stage;
    const char *machine; /* NULL: foreign */
    int64_t wall_on_ms, back_ms;
    size_t unit, film; /* indices: unit, film in it or, of a stroke, among its strokes */
    bool stroke;       /* on the scrap */
    size_t source;     /* index of the source of its row; CB_BENCH_TEACHES_NOT: it has none */
    double confidence; /* when it first rang before it was answered, else when the next coat went
                          on; 0: neither yet */
    bool rang;
    int64_t ring_ms;                   /* when it rang; 0: it did not */
    enum cb_heard heard;               /* what was said of that */
    int64_t heard_ms, heard_wall_ms;   /* of what moment, and when; NOTHING: 0 */
    int next_same;                     /* the next standing film of figure and stage, or -1 */
    size_t older;                      /* the figure's film before this one, from 1; 0: none */
    int said_figure, said_coat;        /* where it was said to be, until it was moved */
    size_t moved;                      /* its last move, from 1; 0: none */
    CB_VEC(struct cb_film_stay) stays; /* where it lay from when on; the first from on_ms */
    CB_VEC(struct cb_film_help) helps;
};

struct cb_bench_swap {
    const char *key, *name; /* key of the recipe's paint, or medium and water */
    size_t kind;
    bool has_kind;
    enum cb_tone tone;
};

/* What a figure's stage keeps while a recipe without it is in force. */
struct cb_bench_stash {
    const char *name;
    int8_t extra[CB_FIGURES_MAX + 1];
    uint64_t figures_left_out[2];
    bool left_out;
};

struct cb_bench_unit {
    struct cb_unit unit; /* first: the public face is cast back */
    const struct cb_bench_recipe *read;
    const struct cb_recipe *used;       /* its recipe, by what was swapped */
    const char *begun_press, *begun_by; /* the press and its machine; NULL: foreign */
    const char **pot;                   /* per stage, after swaps and joins; NULL: no paint */
    const char **paint;                 /* per stage, shown name of the pot */
    const char **blend;                 /* per stage, all its paints */
    CB_VEC(struct cb_bench_swap) swaps;
    CB_VEC(struct cb_film) films, strokes;
    CB_VEC(struct cb_bench_stash) stash;
    size_t newest[CB_FIGURES_MAX + 1]; /* last film of each figure, from 1; 0: none */
    /* (figures + 1) x stages: first standing film of figure and stage, or -1; coats standing
     * without a gap from 1 */
    int *first_same, *coats_on;
    /* by figure, masks of stages that want more coats, and those of them that hold up others */
    uint64_t wants[CB_FIGURES_MAX + 1], holds[CB_FIGURES_MAX + 1];
};

struct cb_bench_place {
    const char *name;
    CB_VEC(struct cb_reading) readings;
};

/* All films of a unit, those on the scrap behind the others. */
static inline size_t cb_bench_all_films(const struct cb_bench_unit *unit)
{
    return unit->films.count + unit->strokes.count;
}
static inline struct cb_film *cb_bench_any_film(const struct cb_bench_unit *unit, size_t film)
{
    return film < unit->films.count ? &unit->films.items[film]
                                    : &unit->strokes.items[film - unit->films.count];
}

/* What gives a row to the learner, in fold order: a film, or a row as it stands. */
struct cb_bench_source {
    const struct cb_film_more *film; /* NULL: row as it stands */
    const char *name;                /* folded; the row is of each pot of that name; NULL: no */
    bool dirty, gives;
    struct cb_row row;
};

struct cb_bench_pot {
    const char *key, *joined; /* after joins */
    double sd;
};

/* A clock that went on while the machine was off, or did not. */
struct cb_bench_machine {
    const char *name, *boot;
    int64_t bench_ms, wall_ms; /* of its last event with a boot */
    int64_t ahead_ms;          /* of the wall, as that boot's bench time began: where the wall had
                                  gone back, the axis goes on */
};

/* For sorting: the last key of each machine over all events. */
struct cb_bench_order {
    const char *machine;
    int64_t seq, at_ms;
};

struct cb_bench_front {
    int unit;       /* -1: none */
    const char *by; /* the machine whose event says so; NULL: foreign */
};

/* Of one name, the other is meant. A kind NULL: each kind of it, and it stays. */
struct cb_bench_alias {
    const char *from, *from_kind, *to, *to_kind;
};

/* Films that were found dry or wet or came up. */
struct cb_bench_tally {
    const char *pot; /* interned, so that the same pot is the same pointer */
    enum cb_technique technique;
    size_t count;
};

/* Said of a coat_on: it was of that figure. */
struct cb_bench_move {
    int figure, coat;
    size_t event; /* place of what says so */
    size_t older; /* the same coat's move before this one, from 1; 0: none */
};

struct cb_bench_doubt {
    const struct cb_event *event;
    enum cb_doubt_kind why;
};

struct cb_bench_cache;

struct cb_bench {
    const struct cb_kinds *kinds;
    cb_tree_reader *read;
    const struct cb_bench *whole; /* whose events these are again; NULL: it has its own */

    struct cb_arena keep;
    struct cb_index *ids, *interned, *recipe_texts, *undone_presses;
    CB_VEC(const char *) names;
    CB_VEC(struct cb_bench_recipe *) recipes;
    CB_VEC(struct cb_bench_order) orders;
    CB_VEC(const struct cb_event *) events; /* fold order */
    CB_VEC(int64_t) times;                  /* bench time of each */
    CB_VEC(bool) in_force;
    size_t undone_count;

    struct cb_arena fold;
    struct cb_index *boots, *unit_ids, *orphans, *moved_ids;
    CB_VEC(struct cb_bench_move) moves; /* by the index of ids of coat_on events */
    CB_VEC(int64_t) anchors;            /* bench time of boot_ms 0, by boot */
    const char *last_boot;              /* of the event before; texts are interned */
    size_t last_anchor;
    CB_VEC(struct cb_bench_machine) machines;
    CB_VEC(struct cb_bench_unit *) units;
    CB_VEC(struct cb_bench_place) places;
    CB_VEC(struct cb_bench_pot) pots;
    CB_VEC(struct cb_bench_alias) aliases;
    CB_VEC(struct cb_bench_tally) answered;
    CB_VEC(struct cb_bench_source) sources;
    bool watches; /* doubts: events that meant nothing to this fold */
    CB_VEC(struct cb_bench_doubt) doubts;
    CB_VEC(const char *) muted;
    CB_VEC(const char *) cautions; /* read in this session: the caution, a line break, the recipe */
    struct cb_bench_front front, last_moved; /* last_moved: whoever sat where meanwhile */
    const char *sitting; /* whose session is open; NULL: none, or of no machine */
    const char *own;     /* the log's machine, cb_bench_own; NULL: not said */
    double confidence;
    int edition; /* newest of a session, CB_KINDS_EDITION; 0: none said */
    bool session_open, paused, first_question_answered;
    int64_t session_opened_ms, pause_begun_ms, pause_ended_ms, last_mark_ms;
    int64_t latest_ms;               /* greatest bench time of an event so far */
    const struct cb_film_more *last; /* the last coat put on */

    struct cb_bench_cache *cache;
};

/* bench_apply.c: bench time at which another boot of the machine begins. */
int64_t cb_bench_boot_begins(const struct cb_bench_machine *machine, int64_t wall_ms);

/* bench.c: one text, one pointer, for the life of the bench. NULL stays NULL. */
const char *cb_bench_intern(struct cb_bench *bench, const char *text);
const struct cb_bench_unit *cb_bench_inside(const struct cb_unit *unit);
/* The fold may change what it made. */
static inline struct cb_film_more *cb_bench_more(const struct cb_film *film)
{
    return (struct cb_film_more *)(uintptr_t)film->more;
}

/* bench_recipe.c: reads a text once; never NULL, its recipe may be. */
const struct cb_bench_recipe *cb_bench_read_recipe(struct cb_bench *bench, const char *text);
/* After a swap or join: dryings, pots and names of the stages anew. */
void cb_bench_set_paints(struct cb_bench *bench, struct cb_bench_unit *unit);
/* After films, figures or stages changed: which films stand where. */
void cb_bench_set_standing(struct cb_bench *bench, struct cb_bench_unit *unit);
/* After coats on or wanted changed at that stage (from 0) of the figure. */
void cb_bench_set_wants(struct cb_bench_unit *unit, int figure, size_t stage);

/* bench_join.c: pots by their names. */
/* A recipe has that pot; what it is after joins. */
const char *cb_bench_note_pot(struct cb_bench *bench, const char *pot, size_t kind);
void cb_bench_join_paints(struct cb_bench *bench, const struct cb_event *event);
/* The pot by the joins in force, interned; NULL stays NULL. */
const char *cb_bench_pot_of(struct cb_bench *bench, const char *pot);
/* Of the paint that the event names, or of all, what was seen is forgotten, or a bottle is new. */
void cb_bench_change_evidence(struct cb_bench *bench, const struct cb_event *event,
                              enum cb_row_kind kind);
/* bench_given.c: another painter's coats of a pot, as a row; and that row as it is now: whether a
 * unit has the pot, and what its recipe says of the time. */
void cb_bench_give(struct cb_bench *bench, const struct cb_event *event);
void cb_bench_given_now(const struct cb_bench *bench, struct cb_row *row);
void cb_bench_add_row(struct cb_bench *bench, const struct cb_row *row);
/* The next pot that the folded name means now, from *next on, which begins at 0; each joined one
 * once. NULL: no more. */
const struct cb_bench_pot *cb_bench_pot_named(const struct cb_bench *bench, const char *name,
                                              size_t *next);

/* bench_change.c: the unit goes on by this recipe; stages keep what they had, as cb_bench_match has
 * them. For one that was refused an empty one stands in. */
void cb_bench_set_recipe(struct cb_bench *bench, struct cb_bench_unit *unit,
                         const struct cb_bench_recipe *read);

/* bench_apply.c: one event in force, at its bench time. */
void cb_bench_apply(struct cb_bench *bench, const struct cb_event *event, int64_t at_ms);
/* Any event, in force or not: the clocks. Returns its bench time. */
int64_t cb_bench_apply_clock(struct cb_bench *bench, const struct cb_event *event);

/* The recipe in front, by which cautions are read. */
const char *cb_bench_caution_recipe(const struct cb_bench *bench);

/* bench_front.c: a unit was begun or opened (-1: one that this fold does not know), or finished; a
 * session was opened or closed. */
void cb_bench_front_move(struct cb_bench *bench, int unit, const struct cb_event *event);
void cb_bench_front_finish(struct cb_bench *bench, int unit, const struct cb_event *event);
void cb_bench_front_sit(struct cb_bench *bench, const struct cb_event *event);
void cb_bench_front_rise(struct cb_bench *bench, const struct cb_event *event);

/* doubts.c: why the event, about to be applied to its unit, means nothing; CB_DOUBT_COUNT: it does.
 */
enum cb_doubt_kind cb_bench_doubt_of(struct cb_bench *bench, struct cb_bench_unit *unit,
                                     const struct cb_event *event);
/* Where the bench watches. */
void cb_bench_note_doubt(struct cb_bench *bench, const struct cb_event *event,
                         enum cb_doubt_kind why);

/* bench_film.c: events of films; a meaningless one does nothing. */
/* Of one more film it is known how it was found, under the pot that it has now. */
void cb_bench_count_answered(struct cb_bench *bench, const struct cb_film *film);
struct cb_figure *cb_bench_figure_of(struct cb_bench_unit *unit, const struct cb_event *event);
/* That the event means; NULL: none is on there. */
struct cb_film *cb_bench_event_film(const struct cb_bench *bench, struct cb_bench_unit *unit,
                                    const struct cb_event *event);
/* Index of the stage, -1: none. */
int cb_bench_stage_of(const struct cb_bench_unit *unit, const struct cb_event *event);
void cb_bench_put_on(struct cb_bench *bench, size_t unit, const struct cb_event *event,
                     int64_t at_ms);
void cb_bench_check(struct cb_bench *bench, struct cb_bench_unit *unit,
                    const struct cb_event *event, int64_t at_ms);
void cb_bench_lift(struct cb_bench *bench, struct cb_bench_unit *unit, const struct cb_event *event,
                   int64_t at_ms);
void cb_bench_tidy(struct cb_bench *bench, struct cb_bench_unit *unit,
                   const struct cb_event *event);
void cb_bench_help(struct cb_bench *bench, struct cb_bench_unit *unit, const struct cb_event *event,
                   int64_t at_ms);
void cb_bench_ping(struct cb_bench *bench, const struct cb_event *event, int64_t at_ms);
/* Answered films of a pot and technique. */
size_t cb_bench_answered(const struct cb_bench *bench, const char *pot,
                         enum cb_technique technique);

/* bench_move.c: all moves in force. */
void cb_bench_settle_moves(struct cb_bench *bench);
/* Of a coat_on event; NULL: it was not moved. */
const struct cb_bench_move *cb_bench_move_of(const struct cb_bench *bench,
                                             const struct cb_event *coat_on);
/* The film that an event before its move means by where it was said to be; NULL: none. */
struct cb_film *cb_bench_film_moved_later(const struct cb_bench *bench, struct cb_bench_unit *unit,
                                          int figure, int stage, int coat);

/* bench_undo.c */
void cb_bench_settle_undone(struct cb_bench *bench); /* in_force, from all events */
/* The key under which a press is known: presses of two machines may be alike. In the arena. */
char *cb_bench_press_key(const struct cb_event *event, const char *press, struct cb_arena *arena);

/* bench_air.c: place 0 is the bench. */
int cb_bench_place_of(struct cb_bench *bench, const char *name);
void cb_bench_add_reading(struct cb_bench *bench, int place, const struct cb_reading *reading);
struct cb_bench_cache *cb_bench_cache_new(void);
void cb_bench_cache_free(struct cb_bench_cache *cache);
/* state: films, pots or rows may have changed; air: readings as well. */
void cb_bench_cache_stale(struct cb_bench *bench, bool air);
/* Standard minutes gained between two moments. */
double cb_bench_gain(const struct cb_bench *bench, const struct cb_film *film, int64_t from_ms,
                     int64_t to_ms);
/* As cb_bench_progress and cb_bench_reaches, for a film whose pot has that median. */
double cb_bench_progress_by(const struct cb_bench *bench, const struct cb_film *film, int64_t at_ms,
                            double median_min);
int64_t cb_bench_reaches_by(const struct cb_bench *bench, const struct cb_film *film,
                            double standard_min, double median_min);
/* Until then, was it never too cold or too damp to dry, and under no dryer, fan or draught of its
 * own? Else what became of it says nothing of other films. INT64_MAX: as far as is known. */
bool cb_bench_dried_freely(const struct cb_bench *bench, const struct cb_film *film,
                           int64_t until_ms);

/* bench_rows.c: rows of the cache. */
struct cb_bench_row_cache;
struct cb_bench_row_cache *cb_bench_row_cache_new(void);
void cb_bench_row_cache_free(struct cb_bench_row_cache *cache);
void cb_bench_film_changed(struct cb_bench *bench, const struct cb_film *film);

/* slots.c: the slots of a unit at the moment when last asked. */
struct cb_bench_slot_cache;
struct cb_bench_slot_cache *cb_bench_slot_cache_new(void);
void cb_bench_slot_cache_free(struct cb_bench_slot_cache *cache);

struct cb_bench_undo_cache;
struct cb_bench_undo_cache *cb_bench_undo_cache_new(void);
void cb_bench_undo_cache_free(struct cb_bench_undo_cache *cache);

/* The film that it is about, on a figure or on the scrap. */
static inline const struct cb_film *cb_bench_film_of(const struct cb_bench *bench,
                                                     const struct cb_film_more *more)
{
    const struct cb_bench_unit *unit = bench->units.items[more->unit];
    return more->stroke ? &unit->strokes.items[more->film] : &unit->films.items[more->film];
}

struct cb_bench_cache {
    struct cb_bench_air_cache *air;
    struct cb_bench_row_cache *rows;
    struct cb_bench_undo_cache *undo;
    struct cb_bench_slot_cache *slots;
    uint64_t stamp;     /* moves with every event */
    uint64_t air_stamp; /* moves with every reading and every folding */
    bool rows_stale, undo_stale;
};

/* Still to be judged: it stands and nobody has said dry or put a coat over it. */
static inline bool cb_bench_film_open(const struct cb_film *film)
{
    return film->lifted_ms == CB_TIME_NONE && film->check != CB_CHECK_DRY &&
           film->next_ms == CB_TIME_NONE && film->drying->from != CB_TIME_ZERO;
}

#endif
