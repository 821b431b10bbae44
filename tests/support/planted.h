/* SPDX-License-Identifier: MIT */
/*
 * A painter of units with at most one habit planted, seeded: fifteen figures through eleven rows of
 * coats, three or four evenings a unit. Hand, room, pots and evenings differ from painter to
 * painter; a habit costs some twenty minutes a unit. All of it is invented: it says how well habits
 * are found, and nothing about real painters.
 */
#ifndef CB_TESTS_PLANTED_H
#define CB_TESTS_PLANTED_H

#include "core/finding/finding.h"
#include "support/world.h"

#define PLANTED(X)                                                                                 \
    X(NONE, "no habit", "")                                                                        \
    X(EARLY, "paints before the ring", "lifts")                                                    \
    X(THICK, "floods one paint", "lifts")                                                          \
    X(TIRED, "tires after the eighth", "tired")                                                    \
    X(LATE, "slower after 22:00", "late")                                                          \
    X(SMALL, "five paints on twenty coats", "small")                                               \
    X(SLOWER, "a pot half as slow again", "slower")
enum planted {
#define X(id, words, kind) PLANTED_##id,
    PLANTED(X)
#undef X
        PLANTED_COUNT
};
const char *planted_words(enum planted planted);
const char *planted_kind(enum planted planted); /* of the finding */

#define PLANTED_UNITS 12

struct planted_painter {
    enum planted planted;
    uint64_t seed;
    double room, pots[8], speed, stages[24]; /* logs */
    int units;                               /* painted so far */
    double cost_min;                         /* that the habit has cost, of all units */
    struct cb_arena arena;                   /* of the trails */
    struct cb_trail trails[PLANTED_UNITS];
    CB_VEC(struct cb_row) rows; /* of all films, as the learner has them */
    struct cb_learn *learn;
    void (*write)(
        const struct cb_event *event); /* of each unit's events when it is done; or NULL */
};
void planted_begin(struct planted_painter *painter, enum planted planted, uint64_t number);
void planted_end(struct planted_painter *painter);
/* One more unit, from its first evening to its last. */
void planted_unit(struct planted_painter *painter);
/* Of all units so far; in the painter's arena. */
struct cb_findings planted_findings(struct planted_painter *painter);

bool planted_has(const struct cb_findings *findings, const char *kind);

#endif
