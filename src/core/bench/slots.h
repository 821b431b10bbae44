/* SPDX-License-Identifier: MIT */
/*
 * The slots of a unit at one moment: what is thought wet, and what may therefore go on where. What
 * was once worked out is remembered, for a screen asks for every slot of a unit at one moment. The
 * inside of the bench, of slots.c, next.c and look_back.c alone.
 */
#ifndef CB_CORE_BENCH_SLOTS_H
#define CB_CORE_BENCH_SLOTS_H

#include "core/bench/bench_internal.h"
#include "core/bench/next.h"

/* A film that is thought wet. */
struct cb_slots_wet {
    const struct cb_film *film;
    int64_t due_ms; /* CB_TIME_NONE: stands still */
    size_t later;   /* the figure's next one, from 1; 0: none */
};

/* A slot as if its figure stood alone, as it was found in that turn. */
struct cb_slots_alone {
    uint64_t turn;
    struct cb_slot slot;
};

/* When as many as a together go takes can have that coat, as it was found in that turn. */
struct cb_slots_go {
    uint64_t turn;
    int coat;
    int64_t ms;          /* INT64_MAX: never, as things stand */
    struct cb_slot last; /* the slot it waits for, the first in figure order */
};

/* Good until the bench or the learner is given more. */
struct cb_slots {
    const struct cb_bench *bench;
    const struct cb_learn *learn;
    const struct cb_bench_unit *unit;
    int64_t now_ms;
    uint64_t turn;                   /* another unit or moment: what was found before is stale */
    CB_VEC(struct cb_slots_wet) wet; /* in the order they went on */
    size_t first_wet[CB_FIGURES_MAX + 1], last_wet[CB_FIGURES_MAX + 1]; /* of a figure, from 1 */
    CB_VEC(struct cb_slots_alone) alone;                                /* stage by stage */
    struct cb_slots_go go[CB_RECIPE_MAX];
};

/* As the learner thinks it stands. */
struct cb_slots *cb_slots_now(const struct cb_bench *bench, const struct cb_learn *learn,
                              const struct cb_unit *unit, int64_t now_ms);
/* Nothing wet yet: the caller says what is. */
struct cb_slots *cb_slots_past(const struct cb_bench *bench, const struct cb_learn *learn,
                               const struct cb_unit *unit, int64_t now_ms);
void cb_slots_add_wet(struct cb_slots *slots, const struct cb_film *film, int64_t due_ms);

static inline const struct cb_stage *cb_slots_stage(const struct cb_slots *slots, int stage)
{
    return &slots->unit->unit.recipe->stages[stage - 1];
}

/* A figure's wet films: the first or, after one, the next; NULL: no more. */
static inline const struct cb_slots_wet *cb_slots_wet(const struct cb_slots *slots, int figure,
                                                      const struct cb_slots_wet *after)
{
    const size_t at = after ? after->later : slots->first_wet[figure];
    return at > 0 ? &slots->wet.items[at - 1] : NULL;
}

/* How a film that is on meets a stage that is to go on the same figure. */
enum cb_meeting { CB_MEET_NOT, CB_MEET_NEAR, CB_MEET_BESIDE, CB_MEET_BELOW };
enum cb_meeting cb_slots_meet(const struct cb_slots *slots, const struct cb_film *film, int stage);

/* Nothing but drying holds it up, its own or that of its go. */
bool cb_slots_is_startable(const struct cb_slots *slots, int figure, int stage);
/* The slot as if the figure stood alone, and among the others of its together go. */
struct cb_slot cb_slots_alone(struct cb_slots *slots, int figure, int stage);
struct cb_slot cb_slots_slot(struct cb_slots *slots, int figure, int stage);
/* When the coat of that slot could go on; INT64_MAX: never, as things stand. *by: what it waits
 * for. */
int64_t cb_slots_ms(struct cb_slots *slots, const struct cb_slot *slot, struct cb_slot *by);
/* The first moment at which any coat could go on; INT64_MAX: never, as things stand. *slot: that
 * coat; *by: what it waits for. */
int64_t cb_slots_first_ms(struct cb_slots *slots, struct cb_slot *slot, struct cb_slot *by);

#endif
