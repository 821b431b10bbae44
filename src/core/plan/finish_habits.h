/* SPDX-License-Identifier: MIT */
/* What the evenings on record say of this painter, for the forecast of the finish. Private to
 * finish*.c. */
#ifndef CB_CORE_PLAN_FINISH_HABITS_H
#define CB_CORE_PLAN_FINISH_HABITS_H

#include "core/plan/finish.h"

#define CB_FINISH_RECENT 40 /* evenings that say how one paints nowadays (own judgement) */
#define CB_FINISH_DAY_MS (24 * 60 * CB_MS_PER_MIN)

struct cb_finish_habits {
    size_t count;
    struct cb_finish_habit { /* an evening, oldest first */
        double length_min;
        int64_t day;   /* local */
        int start_min; /* minutes after midnight */
        int gap_days;  /* since the one before; -1: there is none */
    } list[CB_FINISH_RECENT];
    int64_t begun_ms;    /* wall, of the evening under way; CB_TIME_NONE */
    double usual_min;    /* 0: not known */
    int usual_start_min; /* -1: not known */
    double slack;        /* chores, pauses and absences a minute of hands-on: what a plan does not
                            know of */
};

void cb_finish_habits_read(const struct cb_finish_ask *ask, struct cb_finish_habits *habits);
/* The day of a moment on the wall. */
int64_t cb_finish_day(int64_t local_ms);

#endif
