/* SPDX-License-Identifier: MIT */
/* Paints that a unit has on a few coats only, each with its own set-up: joined, they want one. What
 * setting up takes is how much longer the first coat of such a paint took, from the brush's last
 * one on, than its others usually do. Shuffled: whether it took that much longer or shorter. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/str.h"
#include "core/finding/finding_kind.h"

/* A paint on fewer coats than its unit has figures, and on so many at the most; times that one was
 * taken up, without which nothing is said (own judgement). */
#define SMALL_COATS 8
#define LEAST       5
#define NAMES       3

struct small {
    size_t count;
    double *more; /* log of what the first coat took over what is usual */
};

static double median(double *values, size_t count)
{
    for (size_t i = 1; i < count; i++) {
        const double value = values[i];
        size_t at = i;
        for (; at > 0 && values[at - 1] > value; at--) {
            values[at] = values[at - 1];
        }
        values[at] = value;
    }
    return count == 0 ? (double)NAN : (values[(count - 1) / 2] + values[count / 2]) / 2;
}

/* Of the coats of that stage in all units, but for those that began a paint; at most so many. */
static double usual_min(const struct cb_finding_log *log, const char *stage)
{
    double values[8 * SMALL_COATS];
    size_t count = 0;
    for (size_t u = log->count; u-- > 0;) {
        const struct cb_trail *trail = &log->trails[u];
        for (size_t i = 0; i < trail->coat_count; i++) {
            const struct cb_trail_coat *coat = &trail->coats[i];
            if (count < sizeof values / sizeof *values && !(coat->change_min > 0) &&
                strcmp(trail->stages[coat->stage - 1].name, stage) == 0) {
                values[count++] = coat->took_min;
            }
        }
    }
    return median(values, count);
}

/* Paints of a unit by their first stage, from 1: how many coats each has; 0: none. */
static void count_coats(const struct cb_trail *trail, size_t coats[CB_RECIPE_MAX + 1],
                        int first[CB_RECIPE_MAX + 1])
{
    memset(coats, 0, (CB_RECIPE_MAX + 1) * sizeof *coats);
    for (int stage = 1; stage <= (int)trail->stage_count; stage++) {
        int same = 1;
        while (same < stage &&
               !cb_str_same(trail->stages[same - 1].paint, trail->stages[stage - 1].paint)) {
            same++;
        }
        first[stage] = trail->stages[stage - 1].paint == NULL ? 0 : same;
    }
    for (size_t i = 0; i < trail->coat_count; i++) {
        const int stage = trail->coats[i].stage;
        /* What goes on together is no small stage, however short the list of its marks. */
        coats[first[stage]] += trail->stages[stage - 1].together ? SMALL_COATS + 1 : 1;
    }
    coats[0] = 0;
}

static bool is_small(const struct cb_trail *trail, size_t coats)
{
    return coats > 0 && coats <= SMALL_COATS && coats < (size_t)trail->figures;
}

struct told {
    double minutes, coats, paints;
    size_t units;
    struct cb_str names; /* of the last unit's */
};

static void add_unit(struct small *small, struct told *told, const struct cb_finding_log *from,
                     const struct cb_trail *trail)
{
    size_t coats[CB_RECIPE_MAX + 1], paints = 0, on = 0;
    int first[CB_RECIPE_MAX + 1];
    struct cb_str names = {0};
    double set_up_min = 0;
    count_coats(trail, coats, first);
    for (int stage = 1; stage <= (int)trail->stage_count; stage++) {
        if (is_small(trail, coats[stage])) {
            paints++;
            on += coats[stage];
            if (paints <= NAMES) {
                cb_str_addf(&names, "%s%s", paints > 1 ? ", " : "", trail->stages[stage - 1].paint);
            }
        }
    }
    cb_str_add(&names, paints > NAMES ? " and more" : "");
    for (size_t i = 0; i < trail->coat_count && paints > 1; i++) {
        const struct cb_trail_coat *coat = &trail->coats[i];
        const double usual = usual_min(from, trail->stages[coat->stage - 1].name);
        const double took_min = coat->change_min + coat->took_min;
        if (is_small(trail, coats[first[coat->stage]]) && coat->change_min > 0 && usual > 0) {
            set_up_min += took_min - usual;
            small->more[small->count++] = log(took_min / usual);
        }
    }
    if (paints > 1) {
        told->minutes += set_up_min * (double)(paints - 1) / (double)paints;
        told->coats += (double)on;
        told->paints += (double)paints;
        told->units++;
        struct cb_str before = told->names;
        told->names = names;
        names = before;
    }
    cb_str_fini(&names);
}

static double sum_of(const struct small *small, struct cb_chance *chance)
{
    double sum = 0;
    for (size_t i = 0; i < small->count; i++) {
        sum += chance != NULL && cb_chance_below(chance, 2) == 0 ? -small->more[i] : small->more[i];
    }
    return sum;
}

static double draw(void *context, struct cb_chance *chance)
{
    return sum_of(context, chance);
}

static bool look(const struct cb_finding_log *log, struct cb_arena *arena, uint64_t seed,
                 struct cb_finding *out)
{
    struct told told = {0};
    size_t most = 1;
    for (size_t u = 0; u < log->count; u++) {
        most += log->trails[u].coat_count;
    }
    struct small small = {.more = cb_mem_new(most, sizeof(double))};
    for (size_t u = 0; u < log->count; u++) {
        add_unit(&small, &told, log, &log->trails[u]);
    }
    const bool any = small.count >= LEAST;
    if (any) {
        const double units = (double)told.units;
        out->units = told.units;
        out->minutes = told.minutes / (double)log->count;
        out->coats = told.coats / (double)log->count;
        out->text =
            cb_arena_printf(arena, "%.0f paints on %.0f coats a unit, each with its own set-up: %s",
                            told.paints / units, told.coats / units, cb_str_text(&told.names));
        out->advice = "paint those places with one of them";
        out->chance = out->minutes < CB_FINDING_MIN
                          ? 1
                          : cb_chance_p(sum_of(&small, NULL), draw, &small, seed);
    }
    cb_str_fini(&told.names);
    free(small.more);
    return any;
}

const struct cb_finding_kind cb_finding_small = {"small", 1, look};
