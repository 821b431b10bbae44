/* SPDX-License-Identifier: MIT */
#include "base/time.h"

#include <stdio.h>

#define MS_PER_DAY INT64_C(86400000)
/* 0001-01-01T00:00:00.000Z and 9999-12-31T23:59:59.999Z */
#define FIRST_MS INT64_C(-62135596800000)
#define LAST_MS  INT64_C(253402300799999)

/* Both calendar functions after H. Hinnant, "chrono-Compatible Low-Level Date Algorithms". */
static int64_t days_from_civil(int year, int month, int day)
{
    int64_t y = month <= 2 ? (int64_t)year - 1 : year;
    int64_t era = (y >= 0 ? y : y - 399) / 400;
    int64_t year_of_era = y - era * 400;
    int64_t day_of_year = (153 * (month + (month > 2 ? -3 : 9)) + 2) / 5 + day - 1;
    return era * 146097 + year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year -
           719468;
}

static void civil_from_days(int64_t days, struct cb_civil *out)
{
    int64_t shifted = days + 719468;
    int64_t era = (shifted >= 0 ? shifted : shifted - 146096) / 146097;
    int64_t day_of_era = shifted - era * 146097;
    int64_t year_of_era =
        (day_of_era - day_of_era / 1460 + day_of_era / 36524 - day_of_era / 146096) / 365;
    int64_t day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    int64_t month = (5 * day_of_year + 2) / 153;
    out->day = (int)(day_of_year - (153 * month + 2) / 5 + 1);
    out->month = (int)(month < 10 ? month + 3 : month - 9);
    out->year = (int)(year_of_era + era * 400 + (out->month <= 2));
}

static int days_in_month(int year, int month)
{
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    return days[month - 1] + (month == 2 && leap);
}

/* Exactly `count` digits at *text, which is moved past them. */
static bool read_digits(const char **text, int count, int *value)
{
    *value = 0;
    for (int i = 0; i < count; i++) {
        char c = **text;
        if (c < '0' || c > '9') {
            return false;
        }
        *value = *value * 10 + (c - '0');
        *text += 1;
    }
    return true;
}

static bool read_char(const char **text, const char *allowed)
{
    for (; *allowed; allowed++) {
        if (**text == *allowed) {
            *text += 1;
            return true;
        }
    }
    return false;
}

static bool read_fraction(const char **text, int *ms)
{
    *ms = 0;
    if (**text != '.') {
        return true;
    }
    *text += 1;
    int digits = 0;
    for (; **text >= '0' && **text <= '9'; digits++) {
        if (digits < 3) {
            *ms = *ms * 10 + (**text - '0');
        }
        *text += 1;
    }
    for (int i = digits; i < 3; i++) {
        *ms *= 10;
    }
    return digits >= 1 && digits <= 9;
}

static bool read_offset(const char **text, int *minutes)
{
    *minutes = 0;
    if (read_char(text, "Zz")) {
        return true;
    }
    bool west = **text == '-';
    int hour = 0;
    int minute = 0;
    if (!read_char(text, "+-") || !read_digits(text, 2, &hour) || !read_char(text, ":") ||
        !read_digits(text, 2, &minute) || hour > 23 || minute > 59) {
        return false;
    }
    *minutes = (west ? -1 : 1) * (hour * 60 + minute);
    return true;
}

bool cb_time_parse(const char *text, int64_t *ms)
{
    struct cb_civil c = {0};
    int offset_min = 0;
    if (!read_digits(&text, 4, &c.year) || !read_char(&text, "-") ||
        !read_digits(&text, 2, &c.month) || !read_char(&text, "-") ||
        !read_digits(&text, 2, &c.day) || !read_char(&text, "Tt ") ||
        !read_digits(&text, 2, &c.hour) || !read_char(&text, ":") ||
        !read_digits(&text, 2, &c.minute) || !read_char(&text, ":") ||
        !read_digits(&text, 2, &c.second) || !read_fraction(&text, &c.ms) ||
        !read_offset(&text, &offset_min) || *text != '\0') {
        return false;
    }
    if (c.year < 1 || c.month < 1 || c.month > 12 || c.day < 1 ||
        c.day > days_in_month(c.year, c.month) || c.hour > 23 || c.minute > 59 || c.second > 60) {
        return false;
    }
    int64_t minutes =
        days_from_civil(c.year, c.month, c.day) * 1440 + c.hour * 60 + c.minute - offset_min;
    /* A leap second stands only at the end of a UTC day; POSIX gives it the next second's time. */
    if (c.second == 60 && ((minutes % 1440) + 1440) % 1440 != 1439) {
        return false;
    }
    int64_t moment = minutes * CB_MS_PER_MIN + (int64_t)c.second * 1000 + c.ms;
    if (moment < FIRST_MS || moment > LAST_MS) {
        return false;
    }
    *ms = moment;
    return true;
}

static int64_t offset_ms(int64_t ms, const struct cb_zone *zone)
{
    if (!zone || zone->count == 0) {
        return 0;
    }
    size_t low = 0; /* before the first step the first offset holds */
    size_t high = zone->count;
    while (high - low > 1) {
        size_t middle = low + (high - low) / 2;
        if (zone->steps[middle].from_ms <= ms) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return (int64_t)zone->steps[low].offset_s * 1000;
}

/* Moments outside the years 0001 to 9999 are shown as the nearest one inside. */
int64_t cb_time_local(int64_t ms, const struct cb_zone *zone)
{
    int64_t bounded = ms < FIRST_MS ? FIRST_MS : ms > LAST_MS ? LAST_MS : ms;
    int64_t local = bounded + offset_ms(bounded, zone);
    return local < FIRST_MS ? FIRST_MS : local > LAST_MS ? LAST_MS : local;
}

int64_t cb_time_of_local(int64_t local_ms, const struct cb_zone *zone)
{
    const int64_t near_ms = local_ms - offset_ms(local_ms, zone);
    return local_ms - offset_ms(near_ms, zone);
}

static int64_t floor_days(int64_t ms)
{
    int64_t days = ms / MS_PER_DAY;
    return ms % MS_PER_DAY < 0 ? days - 1 : days;
}

struct cb_civil cb_time_civil(int64_t ms, const struct cb_zone *zone)
{
    const int64_t local = cb_time_local(ms, zone);
    int64_t days = floor_days(local);
    int64_t rest = local - days * MS_PER_DAY;
    struct cb_civil c = {
        .hour = (int)(rest / 3600000),
        .minute = (int)(rest / 60000 % 60),
        .second = (int)(rest / 1000 % 60),
        .ms = (int)(rest % 1000),
        .weekday = (int)(((days + 3) % 7 + 7) % 7), /* 1970-01-01 was a Thursday */
    };
    civil_from_days(days, &c);
    return c;
}

const char *cb_time_weekday(int weekday)
{
    static const char *const names[] = {"Monday", "Tuesday",  "Wednesday", "Thursday",
                                        "Friday", "Saturday", "Sunday"};
    return names[weekday];
}

const char *cb_time_month(int month)
{
    static const char *const names[] = {"January",   "February", "March",    "April",
                                        "May",       "June",     "July",     "August",
                                        "September", "October",  "November", "December"};
    return names[month - 1];
}

static char *write_digits(char *out, int value, int count)
{
    for (int i = count - 1; i >= 0; i--) {
        out[i] = (char)('0' + value % 10);
        value /= 10;
    }
    return out + count;
}

static char *write_char(char *out, char c)
{
    *out = c;
    return out + 1;
}

static char *write_date(char *out, const struct cb_civil *c)
{
    out = write_char(write_digits(out, c->year, 4), '-');
    out = write_char(write_digits(out, c->month, 2), '-');
    return write_digits(out, c->day, 2);
}

void cb_time_format(int64_t ms, char out[CB_RFC3339_SIZE])
{
    struct cb_civil c = cb_time_civil(ms, NULL);
    out = write_char(write_date(out, &c), 'T');
    out = write_char(write_digits(out, c.hour, 2), ':');
    out = write_char(write_digits(out, c.minute, 2), ':');
    out = write_char(write_digits(out, c.second, 2), '.');
    out = write_char(write_digits(out, c.ms, 3), 'Z');
    *out = '\0';
}

void cb_time_clock(int64_t ms, const struct cb_zone *zone, char out[CB_CLOCK_SIZE])
{
    struct cb_civil c = cb_time_civil(ms, zone);
    const bool half = zone != NULL && zone->half_days;
    const int hour = half ? (c.hour + 11) % 12 + 1 : c.hour;
    out = write_char(write_digits(out, hour, half && hour < 10 ? 1 : 2), ':');
    out = write_digits(out, c.minute, 2);
    if (half) {
        out = write_char(write_char(out, c.hour < 12 ? 'a' : 'p'), 'm');
    }
    *out = '\0';
}

void cb_time_date(int64_t ms, const struct cb_zone *zone, char out[11])
{
    struct cb_civil c = cb_time_civil(ms, zone);
    *write_date(out, &c) = '\0';
}

static void write_span(char out[32], const char *sign, int64_t big, const char *big_unit,
                       int64_t small, const char *small_unit)
{
    if (small == 0) {
        snprintf(out, 32, "%s%lld %s", sign, (long long)big, big_unit);
    } else {
        snprintf(out, 32, "%s%lld %s %lld %s", sign, (long long)big, big_unit, (long long)small,
                 small_unit);
    }
}

void cb_time_span(int64_t ms, char out[32])
{
    /* Halves are rounded away from zero; the division comes first so that nothing overflows. */
    int64_t seconds = ms / 1000 + (ms % 1000) / 500;
    const char *sign = seconds < 0 ? "-" : "";
    seconds = seconds < 0 ? -seconds : seconds;
    int64_t minutes = (seconds + 30) / 60;
    int64_t hours = (minutes + 30) / 60;
    if (seconds < 120) {
        write_span(out, sign, seconds, "s", 0, "");
    } else if (minutes < 60) {
        write_span(out, sign, minutes, "min", 0, "");
    } else if (minutes < 100 * 60) {
        write_span(out, sign, minutes / 60, "h", minutes % 60, "min");
    } else {
        write_span(out, sign, hours / 24, "d", hours % 24, "h");
    }
}
