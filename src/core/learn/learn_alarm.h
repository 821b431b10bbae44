/* SPDX-License-Identifier: MIT */
/*
 * Have pings been off lately? A sum test (Page 1954) on the first answers to pings: one sum grows
 * with answers "still wet" beyond what the confidence allows (a new room, season or bottle), the
 * other with too few of them. It only asks whether to forget older evidence; the painter says.
 */
#ifndef CB_CORE_LEARN_LEARN_ALARM_H
#define CB_CORE_LEARN_LEARN_ALARM_H

#include <stdbool.h>

/* Alarm at 5, against a change of the odds "dry" by 4 either way: at a confidence of 80 % the steps
 * are +.916 (wet) and -.470 (dry), and -1.204 and +.161: less than one false alarm a year in
 * simulation (tests/tools/bench_learn.c). */
#define CB_LEARN_ALARM_AT 5.0

struct cb_learn_alarm { /* zeroed: nothing seen */
    double early, late;
};
/* The first answer to a ping at that confidence (0..1). */
void cb_learn_alarm_add(struct cb_learn_alarm *alarm, double confidence, bool dry);
bool cb_learn_alarm_early(const struct cb_learn_alarm *alarm); /* pings come too early */
bool cb_learn_alarm_late(const struct cb_learn_alarm *alarm);  /* pings come too late */

#endif
