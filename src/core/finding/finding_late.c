/* SPDX-License-Identifier: MIT */
/* Coats take longer after a late hour. Each coat is compared with others of its stage, in whatever
 * unit, and of its evening, which may have been a slow one. Shuffled: where the row of an evening's
 * coats begins. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/index.h"
#include "base/mem.h"
#include "core/finding/finding_kind.h"

#define DAY_BEGINS_H 6 /* what is painted before is of the night before (own judgement) */
#define FIRST_H      21
#define HOURS        6    /* from 21:00 to 2:00 */
#define ROUNDS       400  /* a stage that few evenings share takes long to part from them */
#define STILL        1e-6 /* logs: by so little no finding is another */
#define EVENINGS     5    /* that have both sides of the hour, at least (own judgement) */
#define COATS        4    /* before and after the hour, for an evening to count (own judgement) */

struct coats {
    size_t count, stage_count, evening_count;
    double *logs;              /* minutes, less what stage and evening explain */
    double *took_min, *hour;   /* hour since the day began */
    size_t *stage, *evening;   /* of each coat; evenings come one after the other */
    double *sum, *number;      /* scratch, by stage or evening */
    double *late[HOURS];       /* as logs, of being after the hour; all 0: nothing to go by */
    double late_square[HOURS]; /* summed */
};

static double hour_of(int64_t at_ms, const struct cb_zone *zone)
{
    const struct cb_civil civil = cb_time_civil(at_ms, zone);
    const double hour = civil.hour + civil.minute / 60.0 + civil.second / 3600.0;
    return hour < DAY_BEGINS_H ? hour + 24 : hour;
}

static size_t number_of(struct cb_index *index, const char *name, size_t *count)
{
    size_t at;
    if (!cb_index_get(index, name, &at)) {
        at = (*count)++;
        cb_index_set(index, name, at);
    }
    return at;
}

/* But for the coats that a paint is taken up for: the review cuts what they took (finding_tired.c).
 */
static void gather(struct coats *coats, const struct cb_finding_log *from)
{
    struct cb_index *stages = cb_index_new();
    struct cb_arena arena = {0};
    for (size_t u = 0; u < from->count; u++) {
        const struct cb_trail *trail = &from->trails[u];
        int session = -1;
        for (size_t i = 0; i < trail->coat_count; i++) {
            const struct cb_trail_coat *coat = &trail->coats[i];
            const struct cb_trail_stage *stage = &trail->stages[coat->stage - 1];
            if (stage->together || !(coat->took_min > 0) || coat->change_min > 0) {
                continue;
            }
            coats->evening_count += coat->session != session ? 1 : 0;
            session = coat->session;
            const char *name = cb_arena_printf(&arena, "%d %s", coat->coat, stage->name);
            coats->stage[coats->count] = number_of(stages, name, &coats->stage_count);
            coats->evening[coats->count] = coats->evening_count - 1;
            coats->took_min[coats->count] = coat->took_min;
            coats->logs[coats->count] = log(coat->took_min);
            /* When it was begun: one that takes long would be later for no other reason. */
            const int64_t begun_ms = coat->at_ms - llround(coat->took_min * (double)CB_MS_PER_MIN);
            coats->hour[coats->count++] = hour_of(begun_ms, from->zone);
        }
    }
    cb_index_free(stages);
    cb_arena_fini(&arena);
}

/* Returns the greatest of them. */
static double take_mean(struct coats *coats, double *values, const size_t *group, size_t groups)
{
    double greatest = 0;
    memset(coats->sum, 0, groups * sizeof *coats->sum);
    memset(coats->number, 0, groups * sizeof *coats->number);
    for (size_t i = 0; i < coats->count; i++) {
        coats->sum[group[i]] += values[i];
        coats->number[group[i]]++;
    }
    for (size_t g = 0; g < groups; g++) {
        coats->sum[g] /= fmax(coats->number[g], 1);
        greatest = fmax(greatest, fabs(coats->sum[g]));
    }
    for (size_t i = 0; i < coats->count; i++) {
        values[i] -= coats->sum[group[i]];
    }
    return greatest;
}

/* Less the effects of stages and evenings: their means by turns, until they hardly move. */
static void centre(struct coats *coats, double *values)
{
    double moved = 1;
    for (int round = 0; round < ROUNDS && moved > STILL; round++) {
        moved = take_mean(coats, values, coats->stage, coats->stage_count);
        moved = fmax(moved, take_mean(coats, values, coats->evening, coats->evening_count));
    }
}

/* Evenings that tell of both sides of the hour. */
static size_t both_sides(struct coats *coats, double hour)
{
    size_t both = 0;
    memset(coats->sum, 0, coats->evening_count * sizeof *coats->sum);
    memset(coats->number, 0, coats->evening_count * sizeof *coats->number);
    for (size_t i = 0; i < coats->count; i++) {
        *(coats->hour[i] >= hour ? &coats->sum[coats->evening[i]]
                                 : &coats->number[coats->evening[i]]) += 1;
    }
    for (size_t e = 0; e < coats->evening_count; e++) {
        both += coats->sum[e] >= COATS && coats->number[e] >= COATS ? 1 : 0;
    }
    return both;
}

static void mark_late(struct coats *coats, size_t h)
{
    const double hour = (double)FIRST_H + (double)h;
    if (both_sides(coats, hour) < EVENINGS) {
        return;
    }
    for (size_t i = 0; i < coats->count; i++) {
        coats->late[h][i] = coats->hour[i] >= hour ? 1 : 0;
    }
    centre(coats, coats->late[h]);
    for (size_t i = 0; i < coats->count; i++) {
        coats->late_square[h] += coats->late[h][i] * coats->late[h][i];
    }
}

static double slowest(const struct coats *coats, size_t *at, double *share)
{
    double most = -INFINITY;
    for (size_t h = 0; h < HOURS; h++) {
        const double square = coats->late_square[h];
        double sum = 0;
        for (size_t i = 0; i < coats->count && square > 0; i++) {
            sum += coats->late[h][i] * coats->logs[i];
        }
        if (square > 0 && sum > most * sqrt(square)) {
            most = sum / sqrt(square);
            *at = h;
            *share = sum / square;
        }
    }
    return most;
}

static double draw(void *context, struct cb_chance *chance)
{
    const struct coats *coats = context;
    size_t first = 0, at;
    double share;
    for (size_t i = 1; i <= coats->count; i++) {
        if (i == coats->count || coats->evening[i] != coats->evening[first]) {
            cb_chance_turn(chance, coats->logs + first, i - first);
            first = i;
        }
    }
    return slowest(coats, &at, &share);
}

static void say(const struct coats *coats, size_t h, double share, size_t units,
                const struct cb_zone *zone, struct cb_arena *arena, struct cb_finding *out)
{
    const double times = exp(share);
    const int hour = (FIRST_H + (int)h) % 24;
    double late_min = 0, late = 0;
    for (size_t i = 0; i < coats->count; i++) {
        if (coats->hour[i] >= (double)FIRST_H + (double)h) {
            late_min += coats->took_min[i];
            late++;
        }
    }
    out->minutes = late_min * (1 - 1 / times) / (double)units;
    out->coats = late / (double)units;
    const bool half = zone != NULL && zone->half_days;
    const char *from =
        half ? cb_arena_printf(arena, "%d%s", (hour + 11) % 12 + 1, hour < 12 ? "am" : "pm")
             : cb_arena_printf(arena, "%d:00", hour);
    out->text = cb_arena_printf(arena, "after %s the same coat takes you %.0f %% longer", from,
                                100 * (times - 1));
    out->advice = cb_arena_printf(arena, "stop at %s, and begin earlier", from);
}

static bool look(const struct cb_finding_log *log, struct cb_arena *arena, uint64_t seed,
                 struct cb_finding *out)
{
    size_t most = 1, h = 0;
    for (size_t u = 0; u < log->count; u++) {
        most += log->trails[u].coat_count;
    }
    double share = 0, *numbers = cb_mem_new((5 + HOURS) * most, sizeof *numbers);
    size_t *groups = cb_mem_new(2 * most, sizeof *groups);
    struct coats coats = {.logs = numbers,
                          .took_min = numbers + most,
                          .hour = numbers + 2 * most,
                          .sum = numbers + 3 * most,
                          .number = numbers + 4 * most,
                          .stage = groups,
                          .evening = groups + most};
    gather(&coats, log);
    centre(&coats, coats.logs);
    for (size_t i = 0; i < HOURS; i++) {
        coats.late[i] = numbers + (5 + i) * most;
        mark_late(&coats, i);
    }
    const double seen = slowest(&coats, &h, &share);
    const bool any = isfinite(seen);
    if (any) {
        out->units = log->count;
        say(&coats, h, share, log->count, log->zone, arena, out);
        out->chance = out->minutes < CB_FINDING_MIN ? 1 : cb_chance_p(seen, draw, &coats, seed);
    }
    free(numbers);
    free(groups);
    return any;
}

const struct cb_finding_kind cb_finding_late = {"late", 3, look};
