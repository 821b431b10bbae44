/* SPDX-License-Identifier: MIT */
/*
 * What is believed of each paint and technique, and why: the pots of a bench as a table. Times are
 * standard minutes (23 C, 50 %, still air) of the next film.
 */
#ifndef CB_CORE_BENCH_POTS_H
#define CB_CORE_BENCH_POTS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"
#include "base/coder.h"
#include "core/bench/bench.h"
#include "core/learn/learn.h"

struct cb_pot_line {
    const char *paint; /* shown name */
    const char *pot;
    const char *kind;
    enum cb_technique technique;
    double pot_sd;
    double prior_min; /* the prior's median */
    size_t films;     /* rows of this paint and technique that teach */
    size_t told;      /* of them, how many were lessons: found dry or wet, or came up */
    size_t pot_films; /* of the paint, whatever the technique */
    double median_min;
    double ping_min;          /* at the confidence given; not below the label's floor */
    double low_min, high_min; /* 10 and 90 % of films */
    double floor_min;         /* the label's; NAN: none, or outweighed by answers */
    bool exact;               /* `wait`: all four are that, and nothing is learned */
    size_t answered;
    const struct cb_drying *drying; /* of the recipe that came last */
};

/* A stage of a unit as far as its paint goes; or what was put on by one that has another paint by
 * now. */
struct cb_pot_stage {
    const char *paint, *pot, *kind;
    enum cb_technique technique;
    struct cb_drying drying; /* read back from what is kept: only what the table wants of it */
    size_t answered; /* films of the unit answered for the paint and technique; at the first such
                        stage */
};
/* Those of a unit, or of all units where it is NULL, in order, what was painted with once behind
 * its stages; without those that dry in no time.
 * In the arena. */
const struct cb_pot_stage *cb_pots_stages(const struct cb_bench *bench, const char *unit,
                                          struct cb_arena *arena, size_t *count);
/* Written or read with what is kept of a unit (base/coder.h). */
void cb_pots_code_stage(struct cb_coder *coder, struct cb_pot_stage *stage);

/* Every paint x technique of the stages, in the order they first come; a later stage's time
 * replaces an earlier one's. rows: what the learner was given. The stages outlive it. In the arena.
 */
const struct cb_pot_line *cb_pots_lines(const struct cb_pot_stage *stages, size_t stage_count,
                                        const struct cb_learn *learn, const struct cb_row *rows,
                                        size_t row_count, double confidence, struct cb_arena *arena,
                                        size_t *count);
/* Those of every unit of the bench. */
const struct cb_pot_line *cb_pots_list(const struct cb_bench *bench, const struct cb_learn *learn,
                                       const struct cb_row *rows, size_t row_count,
                                       double confidence, struct cb_arena *arena, size_t *count);

struct cb_pot_evidence {
    const struct cb_row *row; /* one of those given */
    double mis_key;           /* chance that it was the wrong key, 0..1 */
    bool looks_off;           /* more likely than not */
};
/* The newest rows of a pot that are not forgotten, at most that many (0: all), oldest first. */
const struct cb_pot_evidence *cb_pots_why(const struct cb_learn *learn, const struct cb_row *rows,
                                          size_t row_count, const char *pot, size_t most,
                                          struct cb_arena *arena, size_t *count);

/* What a confidence costs, by simulated painters (figures: make bench) and not by the one who
 * reads it: a first guess, and called so. One line of at most 78 columns, brief 48. */
const char *cb_pots_confidence_line(double confidence, bool brief, struct cb_arena *arena);

#endif
