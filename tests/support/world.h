/* SPDX-License-Identifier: MIT */
/*
 * A bench for tests, without files: a table of kinds, a reader of small flow texts
 * ({name: x, stages: [{name: y}]}), a clock that only the test moves, and events from one line.
 */
#ifndef CB_TESTS_WORLD_H
#define CB_TESTS_WORLD_H

#include "base/vec.h"
#include "core/bench/bench.h"

const struct cb_kinds *world_kinds(void);
const struct cb_tree *world_read(const char *text, size_t length, struct cb_arena *arena,
                                 struct cb_issues *issues);

struct world {
    struct cb_arena arena;
    struct cb_bench *bench;
    struct cb_learn *learn;
    CB_VEC(const struct cb_event *) log;
    struct cb_moment now;
    const char *machine; /* NULL: foreign events */
    int events, presses;
    bool hold; /* only log, not added to the bench */
};
/* 2026-01-05T18:00:00Z, machine "m", boot "b". */
void world_init(struct world *world);
void world_fini(struct world *world);
void world_wait(struct world *world, double minutes); /* both clocks */
int64_t world_ms(const struct world *world);          /* bench time now */

/* "coat_on u figure=1 stage=2 coat=1 on_at=-6" as one press: name, unit ("-": none), fields by
 * their schema; times in minutes from now; a text with blanks in '...'; films as 1/2/1,2/2/1.
 * Returns the press. */
const char *world_do(struct world *world, const char *line);
/* The same as part of the last press. */
const char *world_also(struct world *world, const char *line);
void world_begin(struct world *world, const char *unit, int figures, const char *recipe);
void world_undo(struct world *world); /* what cb_bench_undoable says; nothing when nothing */
void world_redo(struct world *world);
/* The ping in standard minutes of a stage, were its coat put on. */
double world_ring_min(const struct world *world, const struct cb_unit *unit, int stage, double p);
void world_learn(struct world *world); /* the learner follows the bench */

#endif
