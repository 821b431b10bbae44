/* SPDX-License-Identifier: MIT */
/*
 * What was learned of pots as a table that travels: a YAML file of its own, an entry a paint. It
 * names no unit, no person and no moment, and its times are standard minutes at the usual mix, so
 * that they hold elsewhere.
 */
#ifndef CB_CORE_BENCH_POT_SHARE_H
#define CB_CORE_BENCH_POT_SHARE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"
#include "base/str.h"
#include "base/tree.h"
#include "core/bench/pots.h"
#include "core/log/event.h"
#include "core/paint/kinds.h"

#define CB_POT_SHARE_EDITION 1

struct cb_pot_given {
    const char *paint, *kind, *technique;
    /* standard minutes: what its coats say of it by themselves; and as what each of them counts,
     * wet at low and dry at high */
    double median_min, low_min, high_min;
    int coats; /* that it rests on */
};

struct cb_pot_given cb_pot_given_of(const struct cb_event *event); /* texts are the event's */
/* What the log is to have of it; texts are copied into the arena. make: as of cb_event_begin. */
void cb_pot_given_event(const struct cb_pot_given *given, struct cb_arena *arena,
                        const struct cb_moment *at, struct cb_event_make *make);

/* As a row for the learner, in the terms of these kinds; the key of the pot in the arena. false:
 * the kind or technique is unknown here, or dries in no time. */
bool cb_pot_given_row(const struct cb_pot_given *given, const struct cb_kinds *kinds,
                      struct cb_arena *arena, struct cb_row *row);

/* The same coats, given twice. */
bool cb_pot_given_is_same(const struct cb_row *a, const struct cb_row *b);
/* The rows of the pot that were given and are not forgotten, each once. In the arena. */
const struct cb_row *const *cb_pots_given(const struct cb_row *rows, size_t row_count,
                                          const char *pot, struct cb_arena *arena, size_t *count);

/* Of each pot that has coats of its own one entry, by the technique of most of them, in the order
 * of the lines. In the arena; texts are the lines'. */
const struct cb_pot_given *cb_pot_share_of(const struct cb_pot_line *lines, size_t line_count,
                                           const struct cb_kinds *kinds,
                                           const struct cb_learn *learn, struct cb_arena *arena,
                                           size_t *count);
/* Appends the whole file; only as many entries as fit max bytes. Returns how many were written. */
size_t cb_pot_share_write(const struct cb_pot_given *given, size_t count, size_t max,
                          struct cb_str *out);
/* NULL, and issues filled, when it is no such table. In the arena. */
const struct cb_pot_given *cb_pot_share_read(const struct cb_tree *tree, struct cb_arena *arena,
                                             struct cb_issues *issues, size_t *count);

#endif
