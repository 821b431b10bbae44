/* SPDX-License-Identifier: MIT */
/*
 * What the painter's own log says of their painting: findings, each with its size and how sure it
 * is, and one thing to do. They rest on the trails of the last finished units alone.
 *
 * How a finding is told from chance. Each kind asks one question and answers it with a chance p:
 * that a log in which there is no such habit would say as much, by shuffling the log itself
 * (core/finding/chance.h). All kinds are asked together each time, after each finished unit: with
 * Holm's step-down correction, weighted (Holm 1979, Scand. J. Stat. 6, 65-70, from memory) the
 * chance that one of them, or more, speaks of a log without habits is .05 at the most, however they
 * hang together. A unit is finished once, so of units without habits one in twenty ends with a
 * finding at the most. Nothing of a unit under way is looked at, for each further look would have
 * its own chance to be wrong.
 */
#ifndef CB_CORE_FINDING_FINDING_H
#define CB_CORE_FINDING_FINDING_H

#include <stddef.h>

#include "base/arena.h"
#include "base/time.h"
#include "core/learn/learn.h"
#include "core/review/trail.h"

#define CB_FINDING_ALPHA .05
#define CB_FINDING_MIN   5.0 /* minutes a unit that are worth a word (own judgement) */
#define CB_FINDINGS      3
/* No older unit is looked at once the later ones have so many coats: a tenth of a second or two. */
#define CB_FINDING_COATS 4000

/* What they rest on. */
struct cb_finding_log {
    const struct cb_trail *trails; /* oldest first */
    size_t count;
    const struct cb_row *told; /* of new bottles, and of what is to be forgotten; others are
                                  passed over */
    size_t told_count;
    const struct cb_zone *zone; /* for the hour on the wall */
};

struct cb_finding {
    const char *kind;   /* its word; static */
    const char *text;   /* one sentence with its numbers; no full stop */
    const char *advice; /* one thing to do; no full stop */
    double minutes;     /* a unit */
    double coats;       /* a unit, that it touches */
    double chance;      /* that chance alone would show it, 0..1 */
    size_t units;       /* that it was seen in */
};

/* Those that cost most first, texts in the arena. Alike for the same log. */
struct cb_findings {
    size_t count, units; /* units: that were looked at */
    struct cb_finding items[CB_FINDINGS];
};
struct cb_findings cb_findings_of(const struct cb_finding_log *log, struct cb_arena *arena);

/* "19 min a unit; by chance in 1 log of 2000": size and how sure, in the arena. */
const char *cb_finding_size(const struct cb_finding *finding, struct cb_arena *arena);

#endif
