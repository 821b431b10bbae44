/* SPDX-License-Identifier: MIT */
/*
 * What there is to see at the bench at a moment, worked out once for every view and the status
 * line: a pure function of the bench, what was learned, and the time.
 */
#ifndef CB_APP_SCENE_H
#define CB_APP_SCENE_H

#include "core/bench/bench.h"
#include "core/recipe/config.h"
#include "core/bench/forecast.h"
#include "core/recipe/gate.h"
#include "core/bench/next.h"
#include "app/words.h"

/* A film of an open unit that is worth a look: not yet known to be dry. */
struct cb_scene_film {
    const struct cb_unit *unit;
    const struct cb_film *film;
    struct cb_forecast forecast;
};

/* A figure, stage and coat; 0: any. */
struct cb_scene_at {
    int figure, stage, coat;
};

struct cb_scene {
    int64_t now_ms;              /* bench time */
    const struct cb_unit *unit;  /* in front; NULL: none, the rest of the unit's is empty */
    struct cb_proposal proposal; /* what SPACE would put on */
    bool anyway;                 /* nothing is ready; SPACE puts it on all the same */
    bool by_hand;                /* the user has gone to this figure or stage: */
    struct cb_scene_at hand;
    bool lost; /* the coat named before can't be */
    bool all_done;
    bool stage_begins;              /* no coat of the proposed stage is on yet */
    const struct cb_stage *stage;   /* of the proposal; NULL without one */
    int coats;                      /* wanted there */
    int64_t ready_ms;               /* nothing ready: when something will be; CB_TIME_NONE */
    const struct cb_film *ready_by; /* the film that this waits for; NULL: none */
    const struct cb_film *below;    /* the film thought wet that the proposal would go on or beside;
                                       NULL: none */
    int64_t below_ms;               /* when it is due; CB_TIME_NONE: stands still */
    const struct cb_film *mind;     /* wet and near what the proposal would run into; NULL: none */
    size_t film_count;              /* all open units; soonest due first, held ones last */
    struct cb_scene_film *films;
    const struct cb_scene_film *next;  /* the next to be dry; NULL: nothing dries */
    const struct cb_scene_film *focus; /* the coat marked: what d, w and h are about; NULL: none */
    struct cb_scene_film stroke;       /* on the scrap, to be answered for; its film NULL: none */
    int64_t touch_ms; /* when it is to be touched next; CB_TIME_NONE: as the air is, never */
    size_t wet_count, held_count;
    int64_t changes_ms;        /* when a film changes by itself: likely, due; CB_TIME_NONE */
    struct cb_reading reading; /* at the bench, now */
    bool assumed, stale;
    struct cb_gates gates; /* of the proposed stage, when it begins; too cold: always */
    size_t caution_count;
    struct cb_caution cautions[4];
    bool caution_read[4];
};

/* hand: the figure and stage gone to; named: the coat that was named as ready and stays so while it
 * is; planned: else what the plan puts on next, or waits for (core/plan/road.h); NULL: no plan.
 * Lives in the arena. */
const struct cb_scene *cb_scene_of(const struct cb_bench *bench, const struct cb_learn *learn,
                                   struct cb_scene_at hand, struct cb_scene_at named,
                                   const struct cb_proposal *planned, int64_t now_ms,
                                   struct cb_arena *arena);
extern const struct cb_scene_at cb_scene_free;

/* Index of the place of that name, 0 (the bench) for NULL and for one without a reading. */
int cb_scene_place(const struct cb_bench *bench, const char *name);

/* The figure's state at a stage, as strips and tables show it. */
enum cb_words_state cb_scene_state(const struct cb_bench *bench, const struct cb_learn *learn,
                                   const struct cb_unit *unit, int figure, int stage,
                                   int64_t now_ms, struct cb_slot *slot);
/* Gone to by hand: an earlier stage that is not on yet, which the coat proposed would skip, from 1;
 * 0: none. */
int cb_scene_missing(const struct cb_bench *bench, const struct cb_learn *learn,
                     const struct cb_scene *scene);
/* What an answer would most likely be about, on that figure or, with 0, on any of the unit in
 * front: among each figure's last films the first of the coat that rang last, else the next to be
 * due. NULL: nothing. */
const struct cb_scene_film *cb_scene_focus(const struct cb_scene *scene, int at_figure);
/* The figure gone to, when it is parked; 0: it is not. */
int cb_scene_parked(const struct cb_scene *scene);
/* Is there a caution that was not read yet? */
bool cb_scene_unread(const struct cb_scene *scene);
/* The last coat that stands on the figure, or NULL. */
const struct cb_film *cb_scene_last_film(const struct cb_unit *unit, int figure);
/* Was the coat below thought wet when this one went on? Its chance of having been dry; 1: no.
 * below, if not NULL: the one least likely dry. */
double cb_scene_chance_below(const struct cb_bench *bench, const struct cb_learn *learn,
                             const struct cb_unit *unit, const struct cb_film *film,
                             const struct cb_film **below);

#endif
