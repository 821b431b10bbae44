/* SPDX-License-Identifier: MIT */
/* A pot that has come to dry slower over the months, beside the others: it thickens. Each film that
 * was answered for pulls its pot's time up or down (the slope of its log likelihood, learn.h, at
 * the one time that fits the whole pot); what its evening's other pots say of the room is taken
 * off. Pulled ever more upwards: slower. Shuffled: the films of each pot in time. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/index.h"
#include "base/mem.h"
#include "base/str.h"
#include "core/finding/finding_kind.h"

#define S         .22 /* log sd of a film's time: the middle of the learner's prior */
#define PULL_MOST 3.0 /* in units of 1/S: a wrong key pulls no harder (own judgement) */
/* Other pots' films that are believed half: an evening's air shifts all by some 8 %, as a film by
 * 22 and more (own judgement). */
#define EVENING    30.0
#define FILMS      16
#define DAYS       90 /* from first to last (own judgement) */
#define DAY_MS     (24 * 60 * CB_MS_PER_MIN)
#define HALVINGS   24
#define FIT_ROUNDS 8

struct film {
    double from, to; /* log of standard minutes over the pot's prior; infinite: not known */
    double days;     /* since the first film of the log */
    size_t evening;  /* one of the log's */
    int stage, coat;
    const char *unit;
    double median_min;
};
/* Films of a pot: a stretch of the list. */
struct pot {
    const char *name, *paint;
    size_t first, count;
    double theta, mean_days, spread;
    double waited_min; /* a unit, after its coats */
    int64_t after_ms;  /* of older films nothing is to be said: a new bottle since */
};
struct pots {
    size_t count, film_count, evening_count;
    struct pot *pots;
    struct film *films;
    double *pulls;
};

static double slope(const struct film *film, double theta)
{
    const double a = (film->from - theta) / S, c = (film->to - theta) / S;
    const double root = 0.3989422804014327; /* 1 / sqrt(2 pi) */
    const double chance = exp(cb_learn_log_phi_between(a, c));
    const double pull = (root * exp(-a * a / 2) - root * exp(-c * c / 2)) / chance;
    return isfinite(pull)       ? fmin(PULL_MOST, fmax(-PULL_MOST, pull))
           : theta < film->from ? PULL_MOST
                                : -PULL_MOST;
}

/* Where the films' slopes, each times its weight, add up to nothing: they only fall. */
static double fit(const struct film *films, size_t count, double trend, double mean_days,
                  bool of_trend)
{
    double low = -3, high = 3;
    for (int i = 0; i < HALVINGS; i++) {
        const double middle = (low + high) / 2;
        double sum = 0;
        for (size_t f = 0; f < count; f++) {
            const double year = (films[f].days - mean_days) / 365;
            sum += of_trend ? year * slope(&films[f], trend + middle * year)
                            : slope(&films[f], middle + trend * year);
        }
        *(sum > 0 ? &low : &high) = middle;
    }
    return (low + high) / 2;
}

static bool says(const struct cb_row *row)
{
    return row->kind == CB_ROW_FILM && row->median_min > 0 && (row->lo > 0 || isfinite(row->hi));
}

/* Since when the pot is this bottle. */
static int64_t bottle_ms(const struct cb_finding_log *log, const char *pot)
{
    int64_t since_ms = INT64_MIN;
    for (size_t i = 0; i < log->told_count; i++) {
        const struct cb_row *row = &log->told[i];
        const bool bottle = row->kind == CB_ROW_BOTTLE && strcmp(row->pot, pot) == 0;
        const bool forget =
            row->kind == CB_ROW_FORGET && (row->pot == NULL || strcmp(row->pot, pot) == 0);
        if ((bottle || forget) && row->at_ms > since_ms) {
            since_ms = row->at_ms;
        }
    }
    return since_ms;
}

/* Answers of one press are one look, as are those of figures that stand in a row to be said. */
static bool is_same_look(const struct cb_row *row, const struct cb_row *before)
{
    return before != NULL && row->heard_ms != 0 && row->heard_ms == before->heard_ms &&
           strcmp(row->pot, before->pot) == 0;
}

static struct film film_of(const struct cb_row *row, int64_t first_ms, size_t evening)
{
    return (struct film){
        .from = row->lo > 0 ? log(row->lo / row->median_min) : (double)-INFINITY,
        .to = isfinite(row->hi) ? log(row->hi / row->median_min) : (double)INFINITY,
        .days = (double)(row->at_ms - first_ms) / (double)DAY_MS,
        .evening = evening,
        .stage = row->stage,
        .coat = row->coat,
        .unit = row->unit,
        .median_min = row->median_min,
    };
}

/* The mean of what its units waited, so that a last slow one does not choose it. */
static double waited_min(const struct cb_finding_log *from, const struct pot *pot)
{
    double sum = 0, units = 0;
    for (size_t u = 0; u < from->count; u++) {
        bool has = false;
        for (size_t i = 0; i < from->trails[u].stage_count; i++) {
            const struct cb_trail_stage *stage = &from->trails[u].stages[i];
            if (cb_str_same(stage->paint, pot->paint)) {
                sum += stage->waited_min;
                has = true;
            }
        }
        units += has ? 1 : 0;
    }
    return units > 0 ? sum / units : 0;
}

/* Half a day from where the log begins, for evenings reach past midnight. */
static size_t evening_of(struct pots *pots, struct cb_index *evenings, int64_t since_ms)
{
    char name[24];
    size_t at;
    snprintf(name, sizeof name, "%" PRId64, since_ms / (DAY_MS / 2));
    if (!cb_index_get(evenings, name, &at)) {
        at = pots->evening_count++;
        cb_index_set(evenings, name, at);
    }
    return at;
}

static void list_films(struct pots *pots, const struct cb_finding_log *from, struct pot *pot,
                       int64_t first_ms, struct cb_index *evenings)
{
    pot->first = pots->film_count;
    for (size_t u = 0; u < from->count; u++) {
        const struct cb_row *before = NULL;
        for (size_t i = 0; i < from->trails[u].row_count; i++) {
            const struct cb_row *row = &from->trails[u].rows[i];
            if (says(row) && strcmp(row->pot, pot->name) == 0 && row->at_ms >= pot->after_ms &&
                !is_same_look(row, before)) {
                pots->films[pots->film_count++] =
                    film_of(row, first_ms, evening_of(pots, evenings, row->at_ms - first_ms));
                before = row;
            }
        }
    }
    pot->count = pots->film_count - pot->first;
}

static double span_days(const struct pots *pots, const struct pot *pot)
{
    return pot->count == 0
               ? 0
               : pots->films[pot->first + pot->count - 1].days - pots->films[pot->first].days;
}

/* Nobody loses more by a slow pot than is waited for it. */
static bool is_asked(const struct pots *pots, const struct pot *pot)
{
    return pot->count >= FILMS && pot->waited_min >= CB_FINDING_MIN && span_days(pots, pot) >= DAYS;
}

static void measure(const struct pots *pots, struct pot *pot)
{
    const struct film *films = pots->films + pot->first;
    for (size_t i = 0; i < pot->count; i++) {
        pot->mean_days += films[i].days / (double)pot->count;
    }
    pot->theta = fit(films, pot->count, 0, pot->mean_days, false);
    for (size_t i = 0; i < pot->count; i++) {
        pots->pulls[pot->first + i] = slope(&films[i], pot->theta);
    }
}

/* What the evening's other pots pull, as far as they are many enough to tell. */
static void take_evenings(const struct pots *pots)
{
    const size_t evenings = pots->evening_count;
    double *sum = cb_mem_new(4 * (evenings + 1), sizeof *sum);
    double *number = sum + evenings, *own = number + evenings, *own_number = own + evenings;
    for (size_t i = 0; i < pots->film_count; i++) {
        sum[pots->films[i].evening] += pots->pulls[i];
        number[pots->films[i].evening]++;
    }
    for (size_t p = 0; p < pots->count; p++) {
        const size_t first = pots->pots[p].first, end = first + pots->pots[p].count;
        for (size_t i = first; i < end; i++) {
            own[pots->films[i].evening] += pots->pulls[i];
            own_number[pots->films[i].evening]++;
        }
        for (size_t i = first; i < end; i++) {
            const size_t e = pots->films[i].evening;
            pots->pulls[i] -= (sum[e] - own[e]) / (number[e] - own_number[e] + EVENING);
        }
        for (size_t i = first; i < end; i++) {
            own[pots->films[i].evening] = own_number[pots->films[i].evening] = 0;
        }
    }
    free(sum);
}

/* In the last unit that has the pot: coats of one stage dry side by side, which is one wait. */
static double waits(const struct pots *pots, const struct pot *pot)
{
    const struct film *films = pots->films + pot->first;
    const char *unit = pot->count > 0 ? films[pot->count - 1].unit : "";
    double number = 0;
    for (size_t i = 0; i < pot->count; i++) {
        bool first = strcmp(films[i].unit, unit) == 0;
        for (size_t k = 0; k < i && first; k++) {
            first = strcmp(films[k].unit, unit) != 0 || films[k].stage != films[i].stage ||
                    films[k].coat != films[i].coat;
        }
        number += first ? 1 : 0;
    }
    return number;
}

static void measure_spread(const struct pots *pots, struct pot *pot)
{
    double days = 0, pulls = 0, mean = 0;
    for (size_t i = pot->first; i < pot->first + pot->count; i++) {
        mean += pots->pulls[i] / (double)pot->count;
    }
    for (size_t i = pot->first; i < pot->first + pot->count; i++) {
        const double day = pots->films[i].days - pot->mean_days;
        pots->pulls[i] -= mean;
        days += day * day;
        pulls += pots->pulls[i] * pots->pulls[i];
    }
    pot->spread = is_asked(pots, pot) ? sqrt(days * pulls / (double)(pot->count - 1)) : 0;
}

static double slowest(const struct pots *pots, size_t *at)
{
    double most = -INFINITY;
    for (size_t p = 0; p < pots->count; p++) {
        const struct pot *pot = &pots->pots[p];
        double sum = 0;
        for (size_t i = pot->first; i < pot->first + pot->count && pot->spread > 0; i++) {
            sum += (pots->films[i].days - pot->mean_days) * pots->pulls[i];
        }
        if (pot->spread > 0 && sum / pot->spread > most) {
            most = sum / pot->spread;
            *at = p;
        }
    }
    return most;
}

static double draw(void *context, struct cb_chance *chance)
{
    const struct pots *pots = context;
    size_t at;
    for (size_t p = 0; p < pots->count; p++) {
        if (pots->pots[p].spread > 0) {
            cb_chance_shuffle(chance, pots->pulls + pots->pots[p].first, pots->pots[p].count);
        }
    }
    return slowest(pots, &at);
}

static void say(const struct pots *pots, const struct pot *pot, struct cb_arena *arena,
                struct cb_finding *out)
{
    const struct film *films = pots->films + pot->first, *last = &films[pot->count - 1];
    double theta = pot->theta, trend = 0;
    for (int round = 0; round < FIT_ROUNDS; round++) {
        trend = fit(films, pot->count, theta, pot->mean_days, true);
        theta = fit(films, pot->count, trend, pot->mean_days, false);
    }
    const double then =
        last->median_min * exp(theta + trend * (films[0].days - pot->mean_days) / 365);
    const double now = last->median_min * exp(theta + trend * (last->days - pot->mean_days) / 365);
    const double months = (last->days - films[0].days) / (365 / 12.0);
    out->coats = waits(pots, pot);
    out->minutes = fmin(pot->waited_min, (now - then) * out->coats);
    out->text = cb_arena_printf(
        arena, "%s dries in %s by now, %.0f month%s ago in %s (at 23 C, 50 %%)", pot->paint,
        cb_finding_span(now, arena), months, months < 1.5 ? "" : "s", cb_finding_span(then, arena));
    out->advice =
        cb_arena_printf(arena, "put a drop of water into %s, or open a new one", pot->paint);
}

static void gather(struct pots *pots, const struct cb_finding_log *from)
{
    struct cb_index *index = cb_index_new(), *evenings = cb_index_new();
    int64_t first_ms = INT64_MAX;
    bool any = false;
    size_t at;
    for (size_t u = 0; u < from->count; u++) {
        for (size_t i = 0; i < from->trails[u].row_count; i++) {
            const struct cb_row *row = &from->trails[u].rows[i];
            first_ms = row->at_ms < first_ms ? row->at_ms : first_ms;
            if (!cb_index_get(index, row->pot, &at)) {
                cb_index_set(index, row->pot, pots->count);
                pots->pots[pots->count++] = (struct pot){
                    .name = row->pot, .paint = row->paint, .after_ms = bottle_ms(from, row->pot)};
            }
        }
    }
    for (size_t p = 0; p < pots->count; p++) {
        pots->pots[p].waited_min = waited_min(from, &pots->pots[p]);
        list_films(pots, from, &pots->pots[p], first_ms, evenings);
        any = any || is_asked(pots, &pots->pots[p]);
    }
    for (size_t p = 0; p < pots->count && any; p++) {
        measure(pots, &pots->pots[p]);
    }
    take_evenings(pots);
    for (size_t p = 0; p < pots->count && any; p++) {
        measure_spread(pots, &pots->pots[p]);
    }
    cb_index_free(index);
    cb_index_free(evenings);
}

static bool look(const struct cb_finding_log *log, struct cb_arena *arena, uint64_t seed,
                 struct cb_finding *out)
{
    size_t most = 1, pot = 0;
    for (size_t u = 0; u < log->count; u++) {
        most += log->trails[u].row_count;
    }
    struct pots pots = {.pots = cb_mem_new(most, sizeof(struct pot)),
                        .films = cb_mem_new(most, sizeof(struct film)),
                        .pulls = cb_mem_new(most, sizeof(double))};
    gather(&pots, log);
    const double seen = slowest(&pots, &pot);
    const bool any = isfinite(seen);
    if (any) {
        out->units = log->count;
        say(&pots, &pots.pots[pot], arena, out);
        out->chance = out->minutes < CB_FINDING_MIN ? 1 : cb_chance_p(seen, draw, &pots, seed);
    }
    free(pots.pots);
    free(pots.films);
    free(pots.pulls);
    return any;
}

const struct cb_finding_kind cb_finding_slower = {"slower", 6, look};
