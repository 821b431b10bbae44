/* SPDX-License-Identifier: MIT */
/* The air at the places over time, and what films gain in it. */
#include "core/bench/bench_internal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/time.h"

/* Beyond this a moment is never: 10 000 years. */
#define NEVER_MS 3.2e14

/* Films of the same answer to the air share one line: rate and gain summed up from the first
 * reading, so that a film's progress is a difference whatever the number of readings. */
struct air_line {
    enum cb_law law;
    double inner_share, min_film_c;
    int place;
    uint64_t stamp;
    CB_VEC(struct cb_reading) readings; /* as they stood, to keep what has not changed */
    CB_VEC(double) rate;                /* from the reading on */
    CB_VEC(double) sum;                 /* standard minutes from the first reading to this one */
    double rate_before;                 /* before the first, in the assumed climate */
};

struct cb_bench_air_cache {
    CB_VEC(struct air_line) lines;
};

struct cb_bench_cache *cb_bench_cache_new(void)
{
    struct cb_bench_cache *cache = cb_mem_new(1, sizeof *cache);
    cache->air = cb_mem_new(1, sizeof *cache->air);
    cache->rows = cb_bench_row_cache_new();
    cache->undo = cb_bench_undo_cache_new();
    cache->slots = cb_bench_slot_cache_new();
    cache->rows_stale = cache->undo_stale = true;
    cache->air_stamp = 1;
    return cache;
}

void cb_bench_cache_free(struct cb_bench_cache *cache)
{
    for (size_t i = 0; i < cache->air->lines.count; i++) {
        struct air_line *line = &cache->air->lines.items[i];
        cb_vec_free(&line->readings);
        cb_vec_free(&line->rate);
        cb_vec_free(&line->sum);
    }
    cb_vec_free(&cache->air->lines);
    free(cache->air);
    cb_bench_row_cache_free(cache->rows);
    cb_bench_undo_cache_free(cache->undo);
    cb_bench_slot_cache_free(cache->slots);
    free(cache);
}

void cb_bench_cache_stale(struct cb_bench *bench, bool air)
{
    bench->cache->rows_stale = bench->cache->undo_stale = true;
    bench->cache->stamp++;
    if (air) {
        bench->cache->air_stamp++;
    }
}

int cb_bench_place_of(struct cb_bench *bench, const char *name)
{
    if (!name || !name[0]) {
        return 0;
    }
    for (size_t i = 0; i < bench->places.count; i++) {
        if (strcmp(bench->places.items[i].name, name) == 0) {
            return (int)i;
        }
    }
    cb_vec_push(&bench->places, ((struct cb_bench_place){.name = cb_bench_intern(bench, name)}));
    return (int)bench->places.count - 1;
}

size_t cb_bench_place_count(const struct cb_bench *bench)
{
    return bench->places.count;
}

const char *cb_bench_place_name(const struct cb_bench *bench, int place)
{
    return place >= 0 && (size_t)place < bench->places.count ? bench->places.items[place].name : "";
}

const struct cb_reading *cb_bench_readings(const struct cb_bench *bench, int place, size_t *count)
{
    static const struct cb_reading none = {.at_ms = CB_TIME_NONE};
    *count = 0;
    if (place < 0 || (size_t)place >= bench->places.count ||
        !bench->places.items[place].readings.items) {
        return &none;
    }
    *count = bench->places.items[place].readings.count;
    return bench->places.items[place].readings.items;
}

/* Index of the last reading at or before, or count when there is none. */
static size_t reading_at(const struct cb_reading *readings, size_t count, int64_t at_ms)
{
    size_t low = 0;
    size_t high = count;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (readings[middle].at_ms <= at_ms) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low == 0 ? count : low - 1;
}

void cb_bench_add_reading(struct cb_bench *bench, int place, const struct cb_reading *reading)
{
    struct cb_bench_place *row = &bench->places.items[place];
    cb_vec_push(&row->readings, *reading);
    size_t at = row->readings.count - 1;
    while (at > 0 && row->readings.items[at - 1].at_ms > reading->at_ms) {
        row->readings.items[at] = row->readings.items[at - 1];
        at--;
    }
    row->readings.items[at] = *reading;
    bench->cache->air_stamp++;
    for (size_t i = 0; reading->at_ms < bench->latest_ms && i < bench->sources.count; i++) {
        bench->sources.items[i].dirty = true; /* the past has changed */
    }
}

struct cb_reading cb_bench_climate_at(const struct cb_bench *bench, int place, int64_t at_ms)
{
    size_t count;
    const struct cb_reading *readings = cb_bench_readings(bench, place, &count);
    size_t at = reading_at(readings, count, at_ms);
    if (at == count && place != 0) {
        readings = cb_bench_readings(bench, 0, &count);
        at = reading_at(readings, count, at_ms);
    }
    if (at == count) {
        return (struct cb_reading){CB_TIME_NONE, cb_climate_assumed, CB_FROM_DEFAULT};
    }
    return readings[at];
}

static bool same_number(double a, double b)
{
    return a == b || (isnan(a) && isnan(b));
}

static struct air_line *find_line(struct cb_bench_air_cache *cache, const struct cb_drying *drying,
                                  int place)
{
    for (size_t i = 0; i < cache->lines.count; i++) {
        struct air_line *line = &cache->lines.items[i];
        if (line->place == place && line->law == drying->law &&
            same_number(line->inner_share, drying->inner_share) &&
            same_number(line->min_film_c, drying->min_film_c)) {
            return line;
        }
    }
    cb_vec_push(&cache->lines, ((struct air_line){.law = drying->law,
                                                  .inner_share = drying->inner_share,
                                                  .min_film_c = drying->min_film_c,
                                                  .place = place,
                                                  .rate_before = -1}));
    return &cache->lines.items[cache->lines.count - 1];
}

static bool same_reading(const struct cb_reading *a, const struct cb_reading *b)
{
    return a->at_ms == b->at_ms && same_number(a->climate.temp_c, b->climate.temp_c) &&
           same_number(a->climate.rh_pct, b->climate.rh_pct) && a->climate.air == b->climate.air;
}

/* The readings that act at a place: its own from its first one on, the bench's until then. */
static void extend_line(const struct cb_bench *bench, struct air_line *line,
                        const struct cb_drying *drying)
{
    size_t bench_count;
    size_t own_count = 0;
    const struct cb_reading *of_bench = cb_bench_readings(bench, 0, &bench_count);
    const struct cb_reading *own = of_bench;
    if (line->place != 0) {
        own = cb_bench_readings(bench, line->place, &own_count);
    }
    while (own_count > 0 && bench_count > 0 && of_bench[bench_count - 1].at_ms >= own[0].at_ms) {
        bench_count--;
    }
    if (line->rate_before < 0) {
        line->rate_before = cb_drying_rate(drying, &cb_climate_assumed);
    }
    size_t same = 0;
    const size_t count = bench_count + own_count;
    while (same < count && same < line->readings.count &&
           same_reading(&line->readings.items[same],
                        same < bench_count ? &of_bench[same] : &own[same - bench_count])) {
        same++;
    }
    line->readings.count = line->rate.count = line->sum.count = same;
    for (size_t i = same; i < count; i++) {
        const struct cb_reading *reading = i < bench_count ? &of_bench[i] : &own[i - bench_count];
        double sum = 0;
        if (i > 0) {
            const double span_ms = (double)(reading->at_ms - line->readings.items[i - 1].at_ms);
            sum = line->sum.items[i - 1] +
                  line->rate.items[i - 1] * (span_ms / (double)CB_MS_PER_MIN);
        }
        cb_vec_push(&line->readings, *reading);
        cb_vec_push(&line->rate, cb_drying_rate(drying, &reading->climate));
        cb_vec_push(&line->sum, sum);
    }
    line->stamp = bench->cache->air_stamp;
}

static const struct air_line *line_of(const struct cb_bench *bench, const struct cb_drying *drying,
                                      int place)
{
    struct air_line *line = find_line(bench->cache->air, drying, place);
    if (line->stamp != bench->cache->air_stamp) {
        extend_line(bench, line, drying);
    }
    return line;
}

/* Standard minutes on the line's own scale, whose zero is the first reading. */
static double line_at(const struct air_line *line, int64_t at_ms)
{
    const size_t count = line->readings.count;
    if (count == 0) {
        return line->rate_before * ((double)at_ms / (double)CB_MS_PER_MIN);
    }
    const size_t at = reading_at(line->readings.items, count, at_ms);
    if (at == count) {
        return line->rate_before *
               ((double)(at_ms - line->readings.items[0].at_ms) / (double)CB_MS_PER_MIN);
    }
    return line->sum.items[at] +
           line->rate.items[at] *
               ((double)(at_ms - line->readings.items[at].at_ms) / (double)CB_MS_PER_MIN);
}

/* Milliseconds past base_ms, NEVER_MS when it stands still before. */
static double after(double minutes, double rate)
{
    return rate > 0 ? ceil(minutes / rate * (double)CB_MS_PER_MIN - 1e-6) : NEVER_MS;
}

/* The first moment from from_ms on at which the line has gained that many. */
static int64_t line_reaches(const struct air_line *line, int64_t from_ms, double minutes)
{
    const size_t count = line->readings.count;
    int64_t at_ms = from_ms;
    double left = minutes;
    size_t next = 0; /* the first reading after at_ms */
    if (count > 0) {
        const size_t at = reading_at(line->readings.items, count, at_ms);
        next = at == count ? 0 : at + 1;
    }
    for (;;) {
        const double rate = next == 0 ? line->rate_before : line->rate.items[next - 1];
        const double need_ms = after(left, rate);
        if (next == count) {
            return need_ms >= NEVER_MS ? CB_TIME_NONE : at_ms + (int64_t)need_ms;
        }
        const int64_t until_ms = line->readings.items[next].at_ms;
        if (need_ms <= (double)(until_ms - at_ms)) {
            return at_ms + (int64_t)need_ms;
        }
        left -= rate * ((double)(until_ms - at_ms) / (double)CB_MS_PER_MIN);
        at_ms = until_ms;
        next++;
    }
}

static bool is_exact(const struct cb_drying *drying)
{
    return drying->from == CB_TIME_WAIT || drying->from == CB_TIME_ZERO;
}

static int64_t later(int64_t a, int64_t b)
{
    return a > b ? a : b;
}

static int64_t sooner(int64_t a, int64_t b)
{
    return a < b ? a : b;
}

/* What moving air near one film added to what its place gave. */
static double help_gain(const struct cb_bench *bench, const struct cb_film *film, int64_t from_ms,
                        int64_t to_ms)
{
    double gain = 0;
    for (size_t i = 0; i < film->more->helps.count; i++) {
        const struct cb_film_help *help = &film->more->helps.items[i];
        const int64_t from = later(from_ms, help->from_ms);
        const int64_t to = sooner(to_ms, help->to_ms);
        if (from >= to) {
            continue;
        }
        struct cb_climate climate = cb_bench_climate_at(bench, film->place, from).climate;
        const double without = cb_drying_rate(film->drying, &climate);
        climate.air = help->air;
        gain += (cb_drying_rate(film->drying, &climate) - without) *
                ((double)(to - from) / (double)CB_MS_PER_MIN);
    }
    return gain;
}

double cb_bench_gain(const struct cb_bench *bench, const struct cb_film *film, int64_t from_ms,
                     int64_t to_ms)
{
    if (to_ms <= from_ms) {
        return 0;
    }
    if (is_exact(film->drying)) {
        return (double)(to_ms - from_ms) / (double)CB_MS_PER_MIN;
    }
    const struct cb_film_more *more = film->more;
    double gain = 0;
    for (size_t i = 0; i < more->stays.count; i++) {
        const bool last = i + 1 == more->stays.count;
        const int64_t from = i == 0 ? from_ms : later(from_ms, more->stays.items[i].from_ms);
        const int64_t to = last ? to_ms : sooner(to_ms, more->stays.items[i + 1].from_ms);
        if (from < to) {
            const struct air_line *line = line_of(bench, film->drying, more->stays.items[i].place);
            gain += line_at(line, to) - line_at(line, from);
        }
    }
    return more->helps.count ? gain + help_gain(bench, film, from_ms, to_ms) : gain;
}

double cb_bench_progress(const struct cb_bench *bench, const struct cb_film *film, int64_t at_ms)
{
    return cb_bench_gain(bench, film, film->on_ms, at_ms);
}

/* Where the gain is no plain line (warm air for a while), by halving. */
static int64_t search_reaches(const struct cb_bench *bench, const struct cb_film *film,
                              int64_t until_ms, double minutes)
{
    int64_t low = film->on_ms;
    int64_t high = until_ms;
    while (high - low > 1) {
        const int64_t middle = low + (high - low) / 2;
        if (cb_bench_progress(bench, film, middle) >= minutes) {
            high = middle;
        } else {
            low = middle;
        }
    }
    return high;
}

int64_t cb_bench_reaches(const struct cb_bench *bench, const struct cb_film *film,
                         double standard_min)
{
    if (standard_min <= 0) {
        return film->on_ms;
    }
    if (is_exact(film->drying)) {
        const double ms = after(standard_min, 1);
        return ms >= NEVER_MS ? CB_TIME_NONE : film->on_ms + (int64_t)ms;
    }
    const struct cb_film_more *more = film->more;
    const struct cb_film_stay *stay = &more->stays.items[more->stays.count - 1];
    int64_t from_ms = later(film->on_ms, stay->from_ms);
    if (more->helps.count) {
        from_ms = later(from_ms, more->helps.items[more->helps.count - 1].to_ms);
    }
    const double before = cb_bench_progress(bench, film, from_ms);
    if (before >= standard_min) {
        return search_reaches(bench, film, from_ms, standard_min);
    }
    return line_reaches(line_of(bench, film->drying, stay->place), from_ms, standard_min - before);
}
