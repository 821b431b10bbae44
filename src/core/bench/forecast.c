/* SPDX-License-Identifier: MIT */
#include "core/bench/forecast.h"

#include <math.h>

#include "base/time.h"
#include "core/bench/bench_internal.h"

/* Answered films that outweigh what is printed on the pot (own judgement). */
#define LABEL_ANSWERS 5
/* After "still wet", exact waits go on by this share of themselves (own judgement). */
#define WAIT_AGAIN 0.25

/* The latest moment at which the film is known to have been wet. */
static int64_t wet_until(const struct cb_film *film)
{
    const int64_t own_ms = film->check == CB_CHECK_WET ? film->wet_ms : CB_TIME_NONE;
    return film->wet_like_ms > own_ms ? film->wet_like_ms : own_ms; /* NONE is the least */
}

static double quantile(const struct cb_learn *learn, const char *pot,
                       const struct cb_drying *drying, double p, double wet_min)
{
    if (!learn || !pot) {
        return cb_drying_prior_quantile(drying, p);
    }
    return cb_learn_quantile(learn, pot, drying->pot_sd, drying->standard_min, p, wet_min);
}

/* The median that the film goes by where it can't form; elsewhere it is not asked. */
static double median_of(const struct cb_bench *bench, const struct cb_learn *learn,
                        const struct cb_film *film)
{
    const struct cb_drying *drying = film->drying;
    return cb_bench_dried_freely(bench, film, INT64_MAX)
               ? drying->standard_min
               : quantile(learn, film->pot, drying, .5, 0);
}

/* Its progress when it was last known to be wet. */
static double wet_by(const struct cb_bench *bench, const struct cb_film *film, int64_t wet_ms,
                     double median)
{
    return wet_ms == CB_TIME_NONE ? 0 : cb_bench_progress_by(bench, film, wet_ms, median);
}

/* The label's floor, or 0 where the log outweighs it or there is none. */
static double floor_min(const struct cb_drying *drying, size_t answered)
{
    return drying->label_min > 0 && answered < LABEL_ANSWERS ? drying->label_min : 0;
}

static bool is_exact(const struct cb_drying *drying)
{
    return drying->from == CB_TIME_WAIT || drying->from == CB_TIME_ZERO;
}

/* Progress at which the ping stands. */
static double due_min(const struct cb_bench *bench, const struct cb_learn *learn,
                      const struct cb_film *film, int64_t wet_ms, double wet_min,
                      enum cb_due_from *from)
{
    const struct cb_drying *drying = film->drying;
    if (is_exact(drying)) {
        *from = CB_DUE_WAIT;
        const double again = wet_min + WAIT_AGAIN * drying->standard_min;
        return wet_ms != CB_TIME_NONE && again > drying->standard_min ? again
                                                                      : drying->standard_min;
    }
    const double learned = quantile(learn, film->pot, drying, bench->confidence, wet_min);
    const double label =
        drying->label_min > 0
            ? floor_min(drying, cb_bench_answered(bench, film->pot, film->technique))
            : 0;
    if (label > learned) {
        *from = CB_DUE_LABEL;
        return label;
    }
    *from = drying->from == CB_TIME_DRY ? CB_DUE_DRY : CB_DUE_MODEL;
    if (learn && film->pot && cb_learn_pot(learn, film->pot, drying->pot_sd).rows > 0) {
        *from = CB_DUE_LEARNED;
    }
    return learned;
}

/* An answer stands wherever a clock that was set has put it. */
static bool is_answered(const struct cb_film *film)
{
    return film->check == CB_CHECK_DRY || film->next_ms != CB_TIME_NONE;
}

static bool is_held(const struct cb_bench *bench, const struct cb_film *film, int64_t now_ms)
{
    if (is_exact(film->drying)) {
        return false;
    }
    const struct cb_climate climate = cb_bench_climate_at(bench, film->place, now_ms).climate;
    return cb_drying_held(film->drying, &climate);
}

bool cb_forecast_dry(const struct cb_bench *bench, const struct cb_learn *learn,
                     const struct cb_film *film, int64_t now_ms, int64_t *due_ms)
{
    if (film->before) {
        if (due_ms) {
            *due_ms = film->on_ms;
        }
        return true;
    }
    const int64_t wet_ms = wet_until(film);
    const double median = median_of(bench, learn, film);
    const double wet_min = wet_by(bench, film, wet_ms, median);
    enum cb_due_from from;
    const double due = due_min(bench, learn, film, wet_ms, wet_min, &from);
    int64_t at_ms = cb_bench_reaches_by(bench, film, due, median);
    if ((at_ms == CB_TIME_NONE || at_ms > now_ms) && is_held(bench, film, now_ms)) {
        at_ms = CB_TIME_NONE;
    }
    if (due_ms) {
        *due_ms = at_ms;
    }
    return is_answered(film) || (at_ms != CB_TIME_NONE && now_ms >= at_ms);
}

static double chance_of(const struct cb_learn *learn, const struct cb_film *film, double wet_min,
                        double now_min)
{
    const struct cb_drying *drying = film->drying;
    if (!learn || !film->pot) {
        /* Without a learner the prior's quantiles are all there is: the chance by halving. */
        double low = 0;
        double high = 1;
        for (int i = 0; i < 30; i++) {
            const double p = (low + high) / 2;
            if (cb_drying_prior_quantile(drying, p) <= now_min) {
                low = p;
            } else {
                high = p;
            }
        }
        return low;
    }
    const double now =
        cb_learn_cdf(learn, film->pot, drying->pot_sd, drying->standard_min, now_min);
    const double wet =
        wet_min > 0 ? cb_learn_cdf(learn, film->pot, drying->pot_sd, drying->standard_min, wet_min)
                    : 0;
    if (now <= wet || wet >= 1) {
        return 0;
    }
    return (now - wet) / (1 - wet);
}

struct cb_forecast cb_forecast_film(const struct cb_bench *bench, const struct cb_learn *learn,
                                    const struct cb_film *film, int64_t now_ms)
{
    struct cb_forecast forecast = {.median_ms = CB_TIME_NONE};
    const struct cb_drying *drying = film->drying;
    const int64_t wet_ms = wet_until(film);
    const double median = median_of(bench, learn, film);
    const double wet_min = wet_by(bench, film, wet_ms, median);
    forecast.standard_now_min = cb_bench_progress_by(bench, film, now_ms, median);
    forecast.standard_due_min = due_min(bench, learn, film, wet_ms, wet_min, &forecast.from);
    forecast.answered = is_answered(film);
    forecast.dry = cb_forecast_dry(bench, learn, film, now_ms, &forecast.due_ms);
    forecast.held = is_held(bench, film, now_ms);
    if (is_exact(drying)) {
        forecast.median_ms = forecast.due_ms;
        forecast.chance = forecast.dry ? 1 : 0;
        return forecast;
    }
    if (forecast.due_ms != CB_TIME_NONE) {
        forecast.median_ms = cb_bench_reaches_by(
            bench, film, quantile(learn, film->pot, drying, 0.5, wet_min), median);
    }
    forecast.chance =
        forecast.answered ? 1 : chance_of(learn, film, wet_min, forecast.standard_now_min);
    return forecast;
}

int64_t cb_forecast_median_ms(const struct cb_bench *bench, const struct cb_learn *learn,
                              const struct cb_film *film)
{
    if (is_exact(film->drying)) {
        return cb_bench_reaches(bench, film, film->drying->standard_min);
    }
    const double median = median_of(bench, learn, film);
    const double wet_min = wet_by(bench, film, wet_until(film), median);
    return cb_bench_reaches_by(bench, film, quantile(learn, film->pot, film->drying, 0.5, wet_min),
                               median);
}

double cb_forecast_ring_min(const struct cb_drying *drying, const struct cb_learn *learn,
                            const char *pot, size_t answered, double p)
{
    if (is_exact(drying)) {
        return drying->standard_min;
    }
    const double learned = quantile(learn, pot, drying, p, 0);
    const double label = floor_min(drying, answered);
    return label > learned ? label : learned;
}

double cb_forecast_stage_min(const struct cb_bench *bench, const struct cb_learn *learn,
                             const struct cb_unit *unit, int stage)
{
    const char *pot = cb_bench_stage_pot(unit, stage);
    const enum cb_technique technique = unit->recipe->stages[stage - 1].technique;
    const size_t answered = pot ? cb_bench_answered(bench, pot, technique) : 0;
    return cb_forecast_ring_min(&unit->drying[stage - 1], learn, pot, answered, bench->confidence);
}

static void sooner(int64_t *next_ms, int64_t at_ms, int64_t now_ms)
{
    if (at_ms != CB_TIME_NONE && at_ms > now_ms && (*next_ms == CB_TIME_NONE || at_ms < *next_ms)) {
        *next_ms = at_ms;
    }
}

int64_t cb_forecast_next_deadline(const struct cb_bench *bench, const struct cb_learn *learn,
                                  int64_t now_ms)
{
    int64_t next_ms = CB_TIME_NONE;
    for (size_t u = 0; u < bench->units.count; u++) {
        const struct cb_unit *unit = &bench->units.items[u]->unit;
        for (size_t i = 0; !unit->finished && i < unit->film_count; i++) {
            const struct cb_film *film = &unit->films[i];
            if (!cb_bench_film_open(film)) {
                continue;
            }
            int64_t due_ms;
            if (cb_forecast_dry(bench, learn, film, now_ms, &due_ms)) {
                continue;
            }
            const struct cb_forecast forecast = cb_forecast_film(bench, learn, film, now_ms);
            sooner(&next_ms, forecast.median_ms, now_ms);
            sooner(&next_ms, forecast.due_ms, now_ms);
        }
    }
    return next_ms;
}
