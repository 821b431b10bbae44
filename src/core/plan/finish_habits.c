/* SPDX-License-Identifier: MIT */
#include "core/plan/finish_habits.h"

#include <stdlib.h>
#include <string.h>

/* What is no evening, what says nothing of nowadays, what is a break and no gap: own judgement. */
#define SOUND_MIN   5
#define SOUND_MAX   (16 * 60)
#define LONG_AGO_MS (400 * CB_FINISH_DAY_MS)
#define BREAK_DAYS  28
#define SLACK_MAX   2.0 /* minutes beside each of hands-on (own judgement) */

int64_t cb_finish_day(int64_t local_ms)
{
    return local_ms / CB_FINISH_DAY_MS - (local_ms % CB_FINISH_DAY_MS < 0 ? 1 : 0);
}

static bool is_sound(const struct cb_evening *evening, int64_t last_ms)
{
    const int64_t length_ms = evening->to_ms - evening->from_ms;
    return length_ms >= SOUND_MIN * CB_MS_PER_MIN && length_ms <= SOUND_MAX * CB_MS_PER_MIN &&
           evening->to_ms <= last_ms && evening->from_ms > last_ms - LONG_AGO_MS;
}

/* When the last of them ended that was before now: clocks have been wrong, either way. */
static int64_t last_of(const struct cb_evening *evenings, size_t count, int64_t now_ms)
{
    int64_t last_ms = INT64_MIN / 2;
    for (size_t i = 0; i < count; i++) {
        if (evenings[i].to_ms <= now_ms && evenings[i].to_ms > last_ms) {
            last_ms = evenings[i].to_ms;
        }
    }
    return last_ms;
}

static void add(struct cb_finish_habits *habits, const struct cb_evening *evening,
                const struct cb_zone *zone)
{
    const int64_t local_ms = cb_time_local(evening->from_ms, zone);
    struct cb_finish_habit habit = {.length_min =
                                        (double)(evening->to_ms - evening->from_ms) / 60000.0,
                                    .day = cb_finish_day(local_ms),
                                    .gap_days = -1};
    habit.start_min = (int)((local_ms - habit.day * CB_FINISH_DAY_MS) / CB_MS_PER_MIN);
    if (habits->count > 0) {
        const int64_t days = habit.day - habits->list[habits->count - 1].day;
        habit.gap_days = days > BREAK_DAYS ? BREAK_DAYS : (int)days;
    }
    if (habits->count == CB_FINISH_RECENT) {
        habits->count--;
        memmove(habits->list, habits->list + 1, habits->count * sizeof *habits->list);
    }
    habits->list[habits->count++] = habit;
}

/* Of a session that was left open over night only what came after it is under way, and that is no
 * habit yet. */
static void read_evenings(const struct cb_finish_ask *ask, struct cb_finish_habits *habits)
{
    struct cb_arena arena = {0};
    size_t count;
    const struct cb_evening *all = cb_evenings_both(
        ask->evenings, ask->evening_count, ask->habits ? ask->habits->evenings : NULL,
        ask->habits ? ask->habits->evening_count : 0, &arena, &count);
    const bool open = ask->session_ms != CB_TIME_NONE;
    const int64_t lately_ms = ask->now_ms - CB_EVENING_SPLIT_MIN * CB_MS_PER_MIN;
    const int64_t last_ms = last_of(all, count, ask->now_ms);
    habits->begun_ms = open && ask->session_ms >= lately_ms ? ask->session_ms : CB_TIME_NONE;
    for (size_t i = 0; i < count; i++) {
        const bool under_way =
            open && all[i].to_ms > ask->session_ms - CB_EVENING_JOIN_MIN * CB_MS_PER_MIN &&
            all[i].to_ms >= lately_ms && all[i].from_ms <= ask->now_ms;
        if (under_way && (habits->begun_ms == CB_TIME_NONE || all[i].from_ms < habits->begun_ms)) {
            habits->begun_ms = all[i].from_ms;
        } else if (!under_way && is_sound(&all[i], last_ms)) {
            add(habits, &all[i], ask->zone);
        }
    }
    cb_arena_fini(&arena);
}

static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median(double *values, size_t count)
{
    qsort(values, count, sizeof *values, by_value);
    return (values[(count - 1) / 2] + values[count / 2]) / 2;
}

static void find_usual(struct cb_finish_habits *habits, double given_min)
{
    double lengths[CB_FINISH_RECENT], starts[CB_FINISH_RECENT];
    for (size_t i = 0; i < habits->count; i++) {
        lengths[i] = habits->list[i].length_min;
        starts[i] = habits->list[i].start_min;
    }
    habits->usual_min = given_min;
    habits->usual_start_min = -1;
    if (habits->count > 0) {
        habits->usual_min = given_min > 0 ? given_min : median(lengths, habits->count);
        habits->usual_start_min = (int)median(starts, habits->count);
    }
}

static double slack_of(const struct cb_effort *habits)
{
    if (!habits || !(habits->hands_on_min > 0)) {
        return 0;
    }
    const double slack =
        (habits->all_min - habits->hands_on_min - habits->change_min - habits->waiting_min) /
        habits->hands_on_min;
    return slack > SLACK_MAX ? SLACK_MAX : slack > 0 ? slack : 0;
}

void cb_finish_habits_read(const struct cb_finish_ask *ask, struct cb_finish_habits *habits)
{
    *habits = (struct cb_finish_habits){.slack = slack_of(ask->habits)};
    read_evenings(ask, habits);
    find_usual(habits, ask->evening_min);
}
