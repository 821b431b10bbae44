/* SPDX-License-Identifier: MIT */
#include "view/finish_sentence.h"

#include <string.h>

#define DAY_MS         (24 * 60 * CB_MS_PER_MIN)
#define STEP_MS        (10 * CB_MS_PER_MIN)
#define WEEKDAYS       6   /* from now on no weekday is said twice */
#define YEAR_FROM_DAYS 180 /* from when on a date needs its year (own judgement) */

struct said {
    int64_t now_ms;
    const struct cb_zone *zone;
    struct cb_arena *arena;
    bool exact;
};

static int64_t day_of(const struct said *said, int64_t ms)
{
    const int64_t local_ms = cb_time_local(ms, said->zone);
    return local_ms / DAY_MS - (local_ms % DAY_MS < 0 ? 1 : 0);
}

/* Midnights from now on. */
static int64_t days_to(const struct said *said, int64_t ms)
{
    return day_of(said, ms) - day_of(said, said->now_ms);
}

static int64_t rounded(const struct said *said, int64_t ms)
{
    const int64_t local_ms = cb_time_local(ms, said->zone) + STEP_MS / 2;
    const int64_t even_ms = local_ms - (local_ms % STEP_MS + STEP_MS) % STEP_MS;
    return said->exact ? ms : cb_time_of_local(even_ms, said->zone);
}

static const char *clock_of(const struct said *said, int64_t ms)
{
    char clock[CB_CLOCK_SIZE];
    cb_time_clock(ms, said->zone, clock);
    return cb_arena_text(said->arena, clock);
}

static const char *date_of(const struct said *said, int64_t ms)
{
    const struct cb_civil at = cb_time_civil(ms, said->zone);
    const char *date = cb_arena_printf(said->arena, "%d %s", at.day, cb_time_month(at.month));
    return days_to(said, ms) > YEAR_FROM_DAYS ? cb_arena_printf(said->arena, "%s %d", date, at.year)
                                              : date;
}

static const char *weekday_of(const struct said *said, int64_t ms)
{
    return cb_time_weekday(cb_time_civil(ms, said->zone).weekday);
}

static const char *day_text(const struct said *said, int64_t ms)
{
    const int64_t days = days_to(said, ms);
    return days <= 0 ? "today"
           : days == 1
               ? "tomorrow"
               : cb_arena_printf(said->arena, "on %s %s", weekday_of(said, ms), date_of(said, ms));
}

static const char *near_text(const struct said *said, int64_t ms)
{
    const int64_t days = days_to(said, ms);
    return days <= 0 ? "today" : days == 1 ? "tomorrow" : weekday_of(said, ms);
}

static const char *range_text(const struct said *said, int64_t low_ms, int64_t high_ms)
{
    const char *low = clock_of(said, low_ms), *high = clock_of(said, high_ms);
    if (day_of(said, low_ms) != day_of(said, high_ms)) {
        const bool near = days_to(said, high_ms) <= WEEKDAYS;
        low = near ? near_text(said, low_ms) : date_of(said, low_ms);
        high = near ? near_text(said, high_ms) : date_of(said, high_ms);
    }
    return strcmp(low, high) == 0 ? ""
                                  : cb_arena_printf(said->arena, " (likely %s to %s)", low, high);
}

const char *cb_finish_sentence(const struct cb_finish *finish, int64_t now_ms,
                               const struct cb_zone *zone, struct cb_arena *arena)
{
    const struct said said = {now_ms, zone, arena,
                              finish->tonight || finish->from == CB_FINISH_DRYING};
    const int64_t at_ms = rounded(&said, finish->median_ms);
    if (finish->from == CB_FINISH_UNKNOWN) {
        return NULL;
    }
    if (finish->from == CB_FINISH_DRYING) {
        return at_ms <= now_ms ? "now"
                               : cb_arena_printf(arena, "%s, at %s", day_text(&said, at_ms),
                                                 clock_of(&said, at_ms));
    }
    return cb_arena_printf(
        arena, "%s, about %s%s", day_text(&said, at_ms), clock_of(&said, at_ms),
        range_text(&said, rounded(&said, finish->low_ms), rounded(&said, finish->high_ms)));
}
