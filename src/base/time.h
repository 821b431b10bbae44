/* SPDX-License-Identifier: MIT */
/*
 * Moments are int64_t milliseconds since 1970-01-01T00:00:00Z (no leap seconds, as POSIX).
 * Nothing here reads a clock: the zone comes in as data.
 */
#ifndef CB_BASE_TIME_H
#define CB_BASE_TIME_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define CB_MS_PER_MIN   INT64_C(60000)
#define CB_TIME_NONE    INT64_MIN
#define CB_RFC3339_SIZE 25 /* 2026-01-05T18:00:00.000Z and its NUL */

/* Offsets from UTC by the moment from which each holds, oldest first; empty = UTC. And how the
 * clock on that wall is read. */
struct cb_zone {
    size_t count;
    struct cb_zone_step {
        int64_t from_ms;
        int32_t offset_s;
    } steps[160];
    bool half_days; /* twice twelve hours a day */
};

struct cb_civil {
    int year, month, day, hour, minute, second, ms;
    int weekday; /* 0 = Monday */
};

/* RFC 3339 date-time with any offset, 0 to 9 digits of fraction (cut to ms); years 0001..9999. */
bool cb_time_parse(const char *text, int64_t *ms);
void cb_time_format(int64_t ms, char out[CB_RFC3339_SIZE]); /* always UTC with ms */

struct cb_civil cb_time_civil(int64_t ms, const struct cb_zone *zone);

/* Milliseconds that clock and calendar on the wall show, since 1970-01-01 00:00 there; and the
 * moment at which they do: one of two where the clock is set back, a later one where it is set
 * forward over them. */
int64_t cb_time_local(int64_t ms, const struct cb_zone *zone);
int64_t cb_time_of_local(int64_t local_ms, const struct cb_zone *zone);

const char *cb_time_weekday(int weekday); /* 0 = "Monday" */
const char *cb_time_month(int month);     /* 1 = "January" */

/* "20:41"; by half days "8:41pm", "12:05am" */
#define CB_CLOCK_SIZE 8
void cb_time_clock(int64_t ms, const struct cb_zone *zone, char out[CB_CLOCK_SIZE]);
/* "2026-01-05" */
void cb_time_date(int64_t ms, const struct cb_zone *zone, char out[11]);

/* "3 h 10 min", "12 min", "40 s"; never more than two parts; negative spans have a minus. */
void cb_time_span(int64_t ms, char out[32]);

#endif
