/* SPDX-License-Identifier: MIT */
#include "core/review/review_drying.h"

#include <math.h>
#include <stdlib.h>

#include "base/time.h"
#include "core/bench/forecast.h"

static void earlier(int64_t *end_ms, int64_t at_ms)
{
    if (at_ms != CB_TIME_NONE && at_ms < *end_ms) {
        *end_ms = at_ms;
    }
}

/* Until the middle of what its paint takes, by what the unit's films taught; no later than it was
 * found dry, painted over or came up. A finished unit dries on when the lights are out. */
static int64_t dries_until(const struct cb_bench *bench, const struct cb_learn *learn,
                           const struct cb_unit *unit, const struct cb_film *film, int64_t end_ms)
{
    int64_t until_ms = unit->finished ? INT64_MAX : end_ms;
    earlier(&until_ms, film->dry_ms);
    earlier(&until_ms, film->next_ms);
    earlier(&until_ms, film->lifted_ms);
    earlier(&until_ms, cb_forecast_median_ms(bench, learn, film));
    return until_ms == INT64_MAX ? end_ms : until_ms;
}

static int by_begin(const void *a, const void *b)
{
    const struct cb_review_drying *x = a;
    const struct cb_review_drying *y = b;
    return (x->from_ms > y->from_ms) - (x->from_ms < y->from_ms);
}

/* Those that overlap or touch become one; returns how many are left. */
static size_t unite(struct cb_review_drying *list, size_t count)
{
    size_t kept = 0;
    if (count > 0) {
        qsort(list, count, sizeof *list, by_begin);
    }
    for (size_t i = 0; i < count; i++) {
        struct cb_review_drying *last = kept > 0 ? &list[kept - 1] : NULL;
        if (last == NULL || list[i].from_ms > last->to_ms) {
            list[kept++] = list[i];
        } else if (list[i].to_ms > last->to_ms) {
            last->to_ms = list[i].to_ms;
        }
    }
    return kept;
}

void cb_review_list_dryings(const struct cb_bench *bench, const struct cb_learn *learn,
                            const struct cb_unit *unit, int64_t end_ms, struct cb_review *review,
                            struct cb_arena *arena)
{
    struct cb_review_drying *list = cb_arena_alloc(arena, unit->film_count + 1, sizeof *list);
    size_t count = 0;
    for (size_t i = 0; i < unit->film_count; i++) {
        const struct cb_film *film = &unit->films[i];
        if (film->drying->from == CB_TIME_ZERO || film->before) {
            continue;
        }
        list[count] =
            (struct cb_review_drying){film->on_ms, dries_until(bench, learn, unit, film, end_ms)};
        if (list[count].to_ms > list[count].from_ms) {
            review->film_drying_ms += list[count].to_ms - list[count].from_ms;
            count++;
        }
    }
    review->drying_count = unite(list, count);
    review->dryings = list;
}

struct cb_review_drying cb_review_drying_in(const struct cb_review *review, size_t drying,
                                            int64_t from_ms, int64_t to_ms)
{
    const struct cb_review_drying *whole = &review->dryings[drying];
    struct cb_review_drying part = {whole->from_ms > from_ms ? whole->from_ms : from_ms,
                                    whole->to_ms < to_ms ? whole->to_ms : to_ms};
    part.to_ms = part.to_ms < part.from_ms ? part.from_ms : part.to_ms;
    return part;
}

int64_t cb_review_drying_ms(const struct cb_review *review, int64_t from_ms, int64_t to_ms)
{
    int64_t sum_ms = 0;
    for (size_t i = 0; i < review->drying_count; i++) {
        const struct cb_review_drying part = cb_review_drying_in(review, i, from_ms, to_ms);
        sum_ms += part.to_ms - part.from_ms;
    }
    return sum_ms;
}

/* By its last ping, or when it would have rung; INT64_MAX: it never would. */
static int64_t counted_dry_ms(const struct cb_bench *bench, const struct cb_learn *learn,
                              const struct cb_film *film)
{
    int64_t due_ms = film->pinged_due_ms;
    if (film->pinged_ms == CB_TIME_NONE) {
        (void)cb_forecast_dry(bench, learn, film, INT64_MAX, &due_ms);
    }
    int64_t dry_ms = due_ms == CB_TIME_NONE ? INT64_MAX : due_ms;
    earlier(&dry_ms, film->dry_ms);
    earlier(&dry_ms, film->next_ms);
    return dry_ms;
}

/* What of its time a film takes with a fan beside it. */
static double fan_share(const struct cb_bench *bench, const struct cb_film *film)
{
    struct cb_climate climate = cb_bench_climate_at(bench, film->place, film->on_ms).climate;
    const double own = cb_drying_rate(film->drying, &climate);
    const bool still = climate.air == CB_AIR_STILL;
    climate.air = CB_AIR_FAN;
    const double fanned = cb_drying_rate(film->drying, &climate);
    return still && own > 0 && fanned > own ? own / fanned : 1;
}

void cb_review_time_rings(const struct cb_bench *bench, const struct cb_learn *learn,
                          const struct cb_unit *unit, struct cb_review_stage *stages, size_t count)
{
    int films[CB_RECIPE_MAX] = {0};
    for (size_t i = 0; i < count; i++) {
        stages[i].ring_min = stages[i].fan_ring_min = 0;
    }
    for (size_t i = 0; i < unit->film_count; i++) {
        const struct cb_film *film = &unit->films[i];
        const int64_t dry_ms = counted_dry_ms(bench, learn, film);
        if (film->before || film->stage < 1 || (size_t)film->stage > count || dry_ms == INT64_MAX) {
            continue;
        }
        const double min =
            dry_ms > film->on_ms ? (double)(dry_ms - film->on_ms) / (double)CB_MS_PER_MIN : 0;
        films[film->stage - 1]++;
        stages[film->stage - 1].ring_min += min;
        stages[film->stage - 1].fan_ring_min += min * fan_share(bench, film);
    }
    for (size_t i = 0; i < count; i++) {
        stages[i].ring_min = films[i] > 0 ? stages[i].ring_min / films[i] : (double)NAN;
        stages[i].fan_ring_min = films[i] > 0 ? stages[i].fan_ring_min / films[i] : (double)NAN;
    }
}
