/* SPDX-License-Identifier: MIT */
#include "core/learn/learn_alarm.h"

#include <math.h>

/* Of .80 these make .50 and .94 (own choice, as the alarm's height: estimate). */
#define EARLY_ODDS (1 / 4.0)
#define LATE_ODDS  (.94 / .06 / 4)

static double step(double sum, double confidence, double factor, bool dry)
{
    double odds = confidence / (1 - confidence) * factor;
    double other = odds / (1 + odds);
    double more = dry ? log(other / confidence) : log((1 - other) / (1 - confidence));
    return sum + more > 0 ? sum + more : 0;
}

void cb_learn_alarm_add(struct cb_learn_alarm *alarm, double confidence, bool dry)
{
    if (confidence > 0 && confidence < 1) {
        alarm->early = step(alarm->early, confidence, EARLY_ODDS, dry);
        alarm->late = step(alarm->late, confidence, LATE_ODDS, dry);
    }
}

bool cb_learn_alarm_early(const struct cb_learn_alarm *alarm)
{
    return alarm->early >= CB_LEARN_ALARM_AT;
}

bool cb_learn_alarm_late(const struct cb_learn_alarm *alarm)
{
    return alarm->late >= CB_LEARN_ALARM_AT;
}
