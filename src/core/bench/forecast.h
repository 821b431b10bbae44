/* SPDX-License-Identifier: MIT */
/*
 * When a film can take the next coat: its progress against what is known of its pot.
 * A film counts as dry from its ping on, or when it was answered dry, whichever comes first; an
 * answer "still wet" puts the ping off to the quantile given that it was wet then.
 */
#ifndef CB_CORE_BENCH_FORECAST_H
#define CB_CORE_BENCH_FORECAST_H

#include "core/bench/bench.h"
#include "core/learn/learn.h"

enum cb_due_from { CB_DUE_MODEL, CB_DUE_DRY, CB_DUE_LEARNED, CB_DUE_LABEL, CB_DUE_WAIT };

struct cb_forecast {
    bool dry;                /* counts as dry now */
    bool answered;           /* because the user said so, or the next coat is on it */
    bool held;               /* does not get dry in the air there now: no times */
    double chance;           /* P(dry to recoat by now), 0..1 */
    int64_t median_ms;       /* "usually dry": chance .50; bench time */
    int64_t due_ms;          /* the ping; CB_TIME_NONE while held */
    double standard_due_min; /* progress at which the ping stands */
    double standard_now_min;
    enum cb_due_from from; /* which of them the time is */
};

/* Label floor: until five films of this pot and technique have been answered. */
struct cb_forecast cb_forecast_film(const struct cb_bench *bench, const struct cb_learn *learn,
                                    const struct cb_film *film, int64_t now_ms);
/* As likely as not dry by then, whatever was found since; CB_TIME_NONE: never, as the air is. */
int64_t cb_forecast_median_ms(const struct cb_bench *bench, const struct cb_learn *learn,
                              const struct cb_film *film);

/* Only whether it counts as dry now, and when it is due (may be NULL; as above): cheaper. */
bool cb_forecast_dry(const struct cb_bench *bench, const struct cb_learn *learn,
                     const struct cb_film *film, int64_t now_ms, int64_t *due_ms);

/* The ping in standard minutes for a film of the pot that is not there yet, where so many of the
 * pot and technique were answered; learn and pot may be NULL. */
double cb_forecast_ring_min(const struct cb_drying *drying, const struct cb_learn *learn,
                            const char *pot, size_t answered, double p);

/* The same for a coat that the unit's stage, from 1, still wants; 0: it leaves nothing that dries.
 */
double cb_forecast_stage_min(const struct cb_bench *bench, const struct cb_learn *learn,
                             const struct cb_unit *unit, int stage);

/* The next moment at which anything changes by itself (a film's median or due), over all
 * open units; CB_TIME_NONE when nothing dries. */
int64_t cb_forecast_next_deadline(const struct cb_bench *bench, const struct cb_learn *learn,
                                  int64_t now_ms);

#endif
