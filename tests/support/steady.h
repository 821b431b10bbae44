/* SPDX-License-Identifier: MIT */
/*
 * A steady painter on a world's bench, who goes by the bench alone: each coat takes the same
 * minutes, is begun as soon as the bench calls it dry for it, with the next paint made ready while
 * it dries, and pings come when they are due. Knows nothing of the planner.
 */
#ifndef CB_TESTS_STEADY_H
#define CB_TESTS_STEADY_H

#include "core/review/review.h"
#include "support/world.h"

struct steady_task {
    int stage, figure; /* from 1; figure 0: all of a together go */
};

struct steady {
    struct world world;
    int64_t start_ms;
    const char *brush; /* pot on it; NULL: clean */
    CB_VEC(struct cb_film_key) unrung;
    double worked_min; /* hands-on and changes of paint */
    double change_min; /* of a change of paint; under 0: as the recipe says */
    double slow;       /* hands-on, times the recipe's */
    double noise;      /* log sd of the hands-on of a coat, which is its own in whatever order */
};

/* Opens a session at 23 C and 50 %, in still air, and begins unit u. */
void steady_begin(struct steady *steady, const char *recipe, int figures);
void steady_end(struct steady *steady);
/* Waits for it, puts it on, marks it; not on a figure that is parked. */
void steady_put(struct steady *steady, struct steady_task task);
/* Closes the session; the review of it in the world's arena. */
const struct cb_review *steady_review(struct steady *steady);
/* What is no coat of the unit: "pause", "chore", "other" (a unit), "lifted" and done again,
 * "undone", a coat put on by mistake, "parked", the last figure; of some minutes each. */
void steady_disturb(struct steady *steady, const char *what);
/* Does nothing for so long. */
void steady_sit(struct steady *steady, double minutes);
/* The session over night, so many minutes. */
void steady_night(struct steady *steady, double minutes);

/* The order of who takes so many figures at a time through all that lies between together goes, one
 * stage and coat after the other. Returns how many tasks. */
size_t steady_batches(const struct cb_recipe *recipe, int figures, int batch,
                      struct steady_task *tasks, size_t most);
/* All that, and the review of it; in still air, or in that. */
const struct cb_review *steady_paint(struct steady *steady, const char *recipe, int figures,
                                     int batch);
const struct cb_review *steady_paint_in(struct steady *steady, const char *recipe, int figures,
                                        int batch, const char *air);

#endif
