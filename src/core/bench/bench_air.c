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

/* What a reading is for the films of a line, until the next. */
struct air_step {
    double rate;    /* standard minutes a minute */
    double sum;     /* standard minutes from the first reading to this one, formed or not */
    bool cold;      /* nothing forms */
    size_t unusual; /* of the readings up to this one, those whose air teaches nothing */
};

/* Films of the same answer to the air share one line: rate and gain summed up from the first
 * reading, so that a film's progress is a difference whatever the number of readings. */
struct air_line {
    struct cb_drying drying;
    int place;
    uint64_t stamp;
    CB_VEC(struct cb_reading) readings; /* as they stood, to keep what has not changed */
    CB_VEC(struct air_step) steps;      /* one for each */
    CB_VEC(size_t) turns;               /* readings that begin or end the cold */
    struct air_step before;             /* the first, in the assumed climate */
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
        cb_vec_free(&line->steps);
        cb_vec_free(&line->turns);
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

/* Too cold or too damp to dry, or a dryer's: a film in it says nothing of others. */
static bool is_unusual(const struct cb_drying *drying, const struct cb_climate *climate)
{
    return climate->air == CB_AIR_DRYER || cb_drying_held(drying, climate);
}

static struct air_step step_in(const struct cb_drying *drying, const struct cb_climate *climate)
{
    return (struct air_step){.rate = cb_drying_rate(drying, climate),
                             .cold = cb_drying_too_cold(drying, climate),
                             .unusual = is_unusual(drying, climate)};
}

static struct air_line *find_line(struct cb_bench_air_cache *cache, const struct cb_drying *drying,
                                  int place)
{
    for (size_t i = 0; i < cache->lines.count; i++) {
        struct air_line *line = &cache->lines.items[i];
        if (line->place == place && cb_drying_gain_alike(&line->drying, drying)) {
            return line;
        }
    }
    cb_vec_push(&cache->lines, ((struct air_line){.drying = *drying,
                                                  .place = place,
                                                  .before = step_in(drying, &cb_climate_assumed)}));
    return &cache->lines.items[cache->lines.count - 1];
}

static bool same_reading(const struct cb_reading *a, const struct cb_reading *b)
{
    return a->at_ms == b->at_ms && same_number(a->climate.temp_c, b->climate.temp_c) &&
           same_number(a->climate.rh_pct, b->climate.rh_pct) && a->climate.air == b->climate.air;
}

/* The readings that act at a place: its own from its first one on, the bench's until then. */
static void extend_line(const struct cb_bench *bench, struct air_line *line)
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
    size_t same = 0;
    const size_t count = bench_count + own_count;
    while (same < count && same < line->readings.count &&
           same_reading(&line->readings.items[same],
                        same < bench_count ? &of_bench[same] : &own[same - bench_count])) {
        same++;
    }
    line->readings.count = line->steps.count = same;
    while (line->turns.count > 0 && line->turns.items[line->turns.count - 1] >= same) {
        line->turns.count--;
    }
    for (size_t i = same; i < count; i++) {
        const struct cb_reading *reading = i < bench_count ? &of_bench[i] : &own[i - bench_count];
        const struct air_step *last = i > 0 ? &line->steps.items[i - 1] : &line->before;
        struct air_step step = step_in(&line->drying, &reading->climate);
        step.unusual += last->unusual;
        if (i > 0) {
            const double span_ms = (double)(reading->at_ms - line->readings.items[i - 1].at_ms);
            step.sum = last->sum + last->rate * (span_ms / (double)CB_MS_PER_MIN);
        }
        if (step.cold != last->cold) {
            cb_vec_push(&line->turns, i);
        }
        cb_vec_push(&line->readings, *reading);
        cb_vec_push(&line->steps, step);
    }
    line->stamp = bench->cache->air_stamp;
}

static const struct air_line *line_of(const struct cb_bench *bench, const struct cb_drying *drying,
                                      int place)
{
    struct air_line *line = find_line(bench->cache->air, drying, place);
    if (line->stamp != bench->cache->air_stamp) {
        extend_line(bench, line);
    }
    return line;
}

/* The reading in force, from 1; 0: before the first. */
static size_t line_place(const struct air_line *line, int64_t at_ms)
{
    const size_t count = line->readings.count;
    const size_t at = reading_at(line->readings.items, count, at_ms);
    return at == count ? 0 : at + 1;
}

static const struct air_step *line_step(const struct air_line *line, size_t place)
{
    return place == 0 ? &line->before : &line->steps.items[place - 1];
}

/* Standard minutes on the line's own scale, whose zero is the first reading. */
static double line_at(const struct air_line *line, int64_t at_ms)
{
    const size_t place = line_place(line, at_ms);
    const struct air_step *step = line_step(line, place);
    const int64_t since_ms = line->readings.count == 0 ? 0
                             : place == 0              ? line->readings.items[0].at_ms
                                                       : line->readings.items[place - 1].at_ms;
    return step->sum + step->rate * ((double)(at_ms - since_ms) / (double)CB_MS_PER_MIN);
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
    for (size_t place = line_place(line, from_ms);; place++) {
        const double rate = line_step(line, place)->rate;
        const double need_ms = after(left, rate);
        if (place == count) {
            return need_ms >= NEVER_MS ? CB_TIME_NONE : at_ms + (int64_t)need_ms;
        }
        const int64_t until_ms = line->readings.items[place].at_ms;
        if (need_ms <= (double)(until_ms - at_ms)) {
            return at_ms + (int64_t)need_ms;
        }
        left -= rate * ((double)(until_ms - at_ms) / (double)CB_MS_PER_MIN);
        at_ms = until_ms;
    }
}

static bool is_exact(const struct cb_drying *drying)
{
    return drying->from == CB_TIME_WAIT || drying->from == CB_TIME_ZERO;
}

static int64_t sooner(int64_t a, int64_t b)
{
    return a < b ? a : b;
}

/* A time in which a film gains in one way, as long as it lasts. */
struct piece {
    int64_t from_ms, to_ms; /* INT64_MAX: for good */
    const struct air_line *line;
    double rate; /* of air near this film alone, where line is NULL */
    bool cold;   /* nothing forms */
};

static void in_line(struct piece *piece, const struct air_line *line)
{
    const size_t place = line_place(line, piece->from_ms);
    piece->line = line;
    piece->cold = line_step(line, place)->cold;
    size_t low = 0;
    size_t high = line->turns.count;
    while (low < high) { /* the first turn behind the reading in force */
        const size_t middle = low + (high - low) / 2;
        if (line->turns.items[middle] >= place) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    if (low < line->turns.count) {
        piece->to_ms = sooner(piece->to_ms, line->readings.items[line->turns.items[low]].at_ms);
    }
}

static struct piece piece_from(const struct cb_bench *bench, const struct cb_film *film,
                               int64_t from_ms)
{
    const struct cb_film_more *more = film->more;
    struct piece piece = {.from_ms = from_ms, .to_ms = INT64_MAX};
    size_t stay = 0;
    while (stay + 1 < more->stays.count && more->stays.items[stay + 1].from_ms <= from_ms) {
        stay++;
    }
    if (stay + 1 < more->stays.count) {
        piece.to_ms = more->stays.items[stay + 1].from_ms;
    }
    const int place = more->stays.items[stay].place;
    for (size_t i = 0; i < more->helps.count; i++) {
        const struct cb_film_help *help = &more->helps.items[i];
        if (help->from_ms > from_ms) {
            piece.to_ms = sooner(piece.to_ms, help->from_ms);
        } else if (help->to_ms > from_ms) {
            struct cb_climate climate = cb_bench_climate_at(bench, place, from_ms).climate;
            climate.air = help->air;
            piece.to_ms = sooner(piece.to_ms, help->to_ms);
            piece.rate = cb_drying_rate(film->drying, &climate);
            piece.cold = cb_drying_too_cold(film->drying, &climate);
            return piece;
        }
    }
    in_line(&piece, line_of(bench, film->drying, place));
    return piece;
}

/* Progress at the end of the piece, or at until_ms if that is sooner. */
static double end_of(const struct piece *piece, int64_t until_ms, double progress, double formless)
{
    const int64_t to_ms = sooner(piece->to_ms, until_ms);
    const double gain =
        piece->line ? line_at(piece->line, to_ms) - line_at(piece->line, piece->from_ms)
                    : piece->rate * ((double)(to_ms - piece->from_ms) / (double)CB_MS_PER_MIN);
    return piece->cold ? fmax(progress, fmin(progress + gain, formless)) : progress + gain;
}

static double walk(const struct cb_bench *bench, const struct cb_film *film, int64_t from_ms,
                   int64_t to_ms, double formless)
{
    double progress = 0;
    if (is_exact(film->drying)) {
        return to_ms > from_ms ? (double)(to_ms - from_ms) / (double)CB_MS_PER_MIN : 0;
    }
    while (from_ms < to_ms) {
        const struct piece piece = piece_from(bench, film, from_ms);
        progress = end_of(&piece, to_ms, progress, formless);
        from_ms = piece.to_ms;
    }
    return progress;
}

double cb_bench_gain(const struct cb_bench *bench, const struct cb_film *film, int64_t from_ms,
                     int64_t to_ms)
{
    return walk(bench, film, from_ms, to_ms, INFINITY);
}

double cb_bench_progress_by(const struct cb_bench *bench, const struct cb_film *film, int64_t at_ms,
                            double median_min)
{
    return walk(bench, film, film->on_ms, at_ms, cb_drying_formless_min(film->drying, median_min));
}

double cb_bench_progress(const struct cb_bench *bench, const struct cb_film *film, int64_t at_ms)
{
    return cb_bench_progress_by(bench, film, at_ms, film->drying->standard_min);
}

int64_t cb_bench_reaches_by(const struct cb_bench *bench, const struct cb_film *film,
                            double standard_min, double median_min)
{
    const double formless = cb_drying_formless_min(film->drying, median_min);
    double progress = 0;
    if (standard_min <= 0) {
        return film->on_ms;
    }
    if (is_exact(film->drying)) {
        const double ms = after(standard_min, 1);
        return ms >= NEVER_MS ? CB_TIME_NONE : film->on_ms + (int64_t)ms;
    }
    for (int64_t from_ms = film->on_ms;;) {
        const struct piece piece = piece_from(bench, film, from_ms);
        const bool last = piece.to_ms == INT64_MAX;
        const double left = standard_min - progress;
        if (!last) {
            progress = end_of(&piece, piece.to_ms, progress, formless);
        }
        if (last && piece.cold && standard_min > formless) {
            return CB_TIME_NONE;
        }
        if (last || progress >= standard_min) {
            const int64_t at_ms = piece.line ? line_reaches(piece.line, from_ms, left)
                                             : from_ms + (int64_t)after(left, piece.rate);
            return last ? at_ms : sooner(at_ms, piece.to_ms);
        }
        from_ms = piece.to_ms;
    }
}

int64_t cb_bench_reaches(const struct cb_bench *bench, const struct cb_film *film,
                         double standard_min)
{
    return cb_bench_reaches_by(bench, film, standard_min, film->drying->standard_min);
}

bool cb_bench_dried_freely(const struct cb_bench *bench, const struct cb_film *film,
                           int64_t until_ms)
{
    const struct cb_film_more *more = film->more;
    for (size_t i = 0; i < more->stays.count && !is_exact(film->drying); i++) {
        const int64_t from_ms = i == 0 ? film->on_ms : more->stays.items[i].from_ms;
        const int64_t to_ms = i + 1 == more->stays.count
                                  ? until_ms
                                  : sooner(until_ms, more->stays.items[i + 1].from_ms);
        if (from_ms >= to_ms) {
            continue;
        }
        const struct air_line *line = line_of(bench, film->drying, more->stays.items[i].place);
        const size_t first = line_place(line, from_ms);
        const size_t before = first == 0 ? 0 : line_step(line, first - 1)->unusual;
        if (line_step(line, line_place(line, to_ms - 1))->unusual > before) {
            return false;
        }
    }
    return !film->helped;
}
