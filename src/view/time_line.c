/* SPDX-License-Identifier: MIT */
#include "view/time_line.h"

#include <math.h>
#include <stddef.h>

#define NEARLY_NONE 1e-6 /* of a place: what sums of minutes leave over */

/* The minutes of from .. to that lie between the other two. */
static double overlap(double from, double to, double begin, double end)
{
    const double low = from > begin ? from : begin;
    const double high = to < end ? to : end;
    return high > low ? high - low : 0;
}

/* The first place that a stretch from that minute on can touch. */
static int first_place(double min, double from_min, double place_min, int count)
{
    const double place = floor((min - from_min) / place_min) - 1;
    return place < 0 ? 0 : place > count ? count : (int)place;
}

static void fill_task(const struct cb_plan_task *task, double from_min, double place_min, int count,
                      struct cb_time_place *places)
{
    for (int i = first_place(task->start_min, from_min, place_min, count); i < count; i++) {
        const double begin = from_min + i * place_min, end = begin + place_min;
        if (begin > task->end_min && begin > task->dry_min) {
            return;
        }
        const double dry_min = overlap(task->end_min, task->dry_min, begin, end);
        places[i].work_min += overlap(task->start_min, task->end_min, begin, end);
        places[i].dry_min = dry_min > places[i].dry_min ? dry_min : places[i].dry_min;
    }
}

void cb_time_line_fill(const struct cb_plan *plan, int stage, double from_min, double place_min,
                       int count, struct cb_time_place *places)
{
    for (size_t i = 0; i < plan->task_count; i++) {
        if (plan->tasks[i].stage == stage) {
            fill_task(&plan->tasks[i], from_min, place_min, count, places);
        }
    }
}

void cb_time_line_dry(double until_min, double from_min, double place_min, int count,
                      struct cb_time_place *places)
{
    for (int i = 0; i < count; i++) {
        const double begin = from_min + i * place_min;
        const double dry_min = overlap(begin, until_min, begin, begin + place_min);
        places[i].dry_min = dry_min > places[i].dry_min ? dry_min : places[i].dry_min;
    }
}

enum cb_time_sign cb_time_sign_of(const struct cb_time_place *place, double place_min)
{
    return place->work_min >= place_min / 2            ? CB_TIME_SIGN_WORK
           : place->work_min > NEARLY_NONE * place_min ? CB_TIME_SIGN_SOME
           : place->dry_min >= place_min / 2           ? CB_TIME_SIGN_DRIES
                                                       : CB_TIME_SIGN_FREE;
}

const char *cb_time_sign_text(enum cb_time_sign sign, bool ascii)
{
    static const char *const blocks[] = {"\u2588", "\u2584", "\u2591", " ", "\u2502"};
    static const char *const letters[] = {"#", "-", ".", " ", "|"};
    return ascii ? letters[sign] : blocks[sign];
}

double cb_time_line_step(double place_min, int columns)
{
    static const double steps[] = {5, 10, 15, 30, 60, 120, 180, 240, 360, 480, 720, 1440};
    const size_t count = sizeof steps / sizeof *steps;
    size_t i = 0;
    while (i + 1 < count && steps[i] / place_min < columns) {
        i++;
    }
    return steps[i];
}
