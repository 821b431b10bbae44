/* SPDX-License-Identifier: MIT */
/* Films that came up, or were still wet at their ring, cluster: in those painted over before they
 * rang, in a paint, or in a technique. Shuffled: which films of a unit went wrong. What a single
 * unit shows is no habit: a new pot is learned in its first one. */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/index.h"
#include "base/mem.h"
#include "core/finding/finding_kind.h"
#include "core/paint/kinds.h"

#define UNITS_LEAST 2
#define FILMS_LEAST 6
/* Not painted over so many times its usual time after it went on: it was dry long before, and rang
 * for nobody. What a look at a film that is still wet takes. (Both own judgement.) */
#define EARLY_TIMES 2.0
#define LOOK_MIN    0.5
/* A film found wet, beside one to do again: about what it takes (own judgement). */
#define WET_WORTH 0.2

enum { OF_EARLY, OF_PAINT, OF_TECHNIQUE, OFS };

struct film {
    const struct cb_row *row;
    size_t group[OFS]; /* SIZE_MAX: none */
    bool came_up;
    double again_min; /* what doing it again took */
};
/* What films have in common. */
struct group {
    int of;
    const char *name; /* of the paint or technique */
    double films;
    size_t units; /* that have it */
    double spread;
};
struct films {
    size_t count, group_count, unit_count;
    struct film *films;
    double *wrong;   /* of each film, 0 to 1 */
    size_t *unit;    /* the first film of each unit, and the end */
    double *share;   /* mean of that, of each unit */
    double *in_unit; /* films of a group in a unit; scratch of group_count */
    struct group *groups;
    double *more, *times; /* scratch of group_count */
};

static bool is_early(const struct cb_row *row)
{
    const double age_min = isinf(row->hi) ? row->lo : row->hi;
    return row->heard == CB_HEARD_NOTHING && (row->kind == CB_ROW_WEAK || isinf(row->hi)) &&
           age_min <= EARLY_TIMES * row->median_min;
}

static size_t group_of(struct films *films, struct cb_index *index, int of, const char *name)
{
    char key[256];
    size_t at;
    snprintf(key, sizeof key, "%d %s", of, name);
    if (!cb_index_get(index, key, &at)) {
        at = films->group_count++;
        films->groups[at] = (struct group){.of = of, .name = name};
        cb_index_set(index, key, at);
    }
    return at;
}

/* What the film cost that came up: its coat done again, with taking up its paint. */
static double again_min(const struct cb_trail *trail, const struct cb_row *row)
{
    double sum = 0, coats = 0;
    for (size_t i = 0; i < trail->coat_count; i++) {
        const struct cb_trail_coat *coat = &trail->coats[i];
        if (coat->stage != row->stage) {
            continue;
        }
        if (coat->figure == row->figure && coat->coat == row->coat && coat->at_ms > row->at_ms) {
            return coat->took_min + coat->change_min;
        }
        sum += coat->took_min;
        coats++;
    }
    return coats > 0 ? sum / coats : 0; /* it was left so, or marked as another coat */
}

/* Answers of one press are one look. */
static bool is_same_look(const struct cb_row *row, const struct film *before)
{
    return row->heard_ms != 0 && row->heard_ms == before->row->heard_ms &&
           strcmp(row->pot, before->row->pot) == 0;
}

static void add_film(struct films *films, struct cb_index *index, const struct cb_trail *trail,
                     const struct cb_row *row)
{
    const bool up = row->came_up || (row->heard == CB_HEARD_NOTHING && isinf(row->hi));
    struct film *film = &films->films[films->count];
    *film = (struct film){row,
                          {is_early(row) ? group_of(films, index, OF_EARLY, "") : SIZE_MAX,
                           group_of(films, index, OF_PAINT, row->paint),
                           group_of(films, index, OF_TECHNIQUE,
                                    cb_technique_name((enum cb_technique)row->technique))},
                          up,
                          up ? again_min(trail, row) : 0};
    films->wrong[films->count++] = up ? 1 : row->heard == CB_HEARD_WET ? WET_WORTH : 0;
}

/* How many of a group's films went wrong beyond the share of their unit; *units: in how many. */
static void add_up(const struct films *films, double *more, double *units)
{
    memset(more, 0, films->group_count * sizeof *more);
    memset(units, 0, films->group_count * sizeof *units);
    for (size_t u = 0; u < films->unit_count; u++) {
        double *own = films->in_unit;
        memset(own, 0, films->group_count * sizeof *own);
        for (size_t i = films->unit[u]; i < films->unit[u + 1]; i++) {
            for (int of = 0; of < OFS; of++) {
                const size_t group = films->films[i].group[of];
                if (group != SIZE_MAX) {
                    own[group] += films->wrong[i] - films->share[u];
                }
            }
        }
        for (size_t g = 0; g < films->group_count; g++) {
            more[g] += own[g];
            units[g] += own[g] > 0 ? 1 : 0;
        }
    }
}

/* How much a group stands out; -INFINITY: it is too small, or it was but once. */
static double stands_out(const struct films *films, size_t g)
{
    const struct group *group = &films->groups[g];
    return group->spread > 0 && group->films >= FILMS_LEAST && films->times[g] >= UNITS_LEAST
               ? films->more[g] / sqrt(group->spread)
               : (double)-INFINITY;
}

static double draw(void *context, struct cb_chance *chance)
{
    struct films *films = context;
    for (size_t u = 0; u < films->unit_count; u++) {
        cb_chance_shuffle(chance, films->wrong + films->unit[u],
                          films->unit[u + 1] - films->unit[u]);
    }
    add_up(films, films->more, films->times);
    double most = -INFINITY;
    for (size_t g = 0; g < films->group_count; g++) {
        most = fmax(most, stands_out(films, g));
    }
    return most;
}

static void gather(struct films *films, const struct cb_finding_log *log)
{
    struct cb_index *index = cb_index_new();
    for (size_t u = 0; u < log->count; u++) {
        const struct cb_trail *trail = &log->trails[u];
        const size_t first = films->count;
        for (size_t i = 0; i < trail->row_count; i++) {
            const struct cb_row *row = &trail->rows[i];
            const bool film = row->stage >= 1 && row->stage <= CB_RECIPE_MAX;
            if (film &&
                (films->count == first || !is_same_look(row, &films->films[films->count - 1]))) {
                add_film(films, index, trail, row);
            }
        }
        films->unit[++films->unit_count] = films->count;
    }
    cb_index_free(index);
}

/* Shares of units, and what a group's sum is divided by: as of draws without putting back. */
static void measure(struct films *films)
{
    for (size_t u = 0; u < films->unit_count; u++) {
        const double n = (double)(films->unit[u + 1] - films->unit[u]);
        double *own = films->in_unit, sum = 0, square = 0;
        memset(own, 0, films->group_count * sizeof *own);
        for (size_t i = films->unit[u]; i < films->unit[u + 1]; i++) {
            sum += films->wrong[i];
            square += films->wrong[i] * films->wrong[i];
            for (int of = 0; of < OFS; of++) {
                if (films->films[i].group[of] != SIZE_MAX) {
                    own[films->films[i].group[of]]++;
                }
            }
        }
        films->share[u] = n > 0 ? sum / n : 0;
        for (size_t g = 0; g < films->group_count && n > 1; g++) {
            films->groups[g].films += own[g];
            films->groups[g].spread +=
                own[g] * (n - own[g]) / n * (square - sum * sum / n) / (n - 1);
        }
    }
}

/* What counts is what went wrong beyond the others' share, and beyond what a ring promises: of the
 * films that rang some are still wet, and are no habit. */
static void say(const struct films *films, size_t at, size_t units, struct cb_arena *arena,
                struct cb_finding *out)
{
    const struct group *group = &films->groups[at];
    double up[2] = {0}, wet[2] = {0}, again = 0, promised = 0;
    for (size_t i = 0; i < films->count; i++) {
        const struct film *film = &films->films[i];
        const int own = film->group[group->of] == at ? 1 : 0;
        up[own] += film->came_up ? 1 : 0;
        wet[own] += films->wrong[i] > 0 && !film->came_up ? 1 : 0;
        again += own && film->came_up ? film->again_min : 0;
        promised += own && film->row->heard != CB_HEARD_NOTHING ? 1 - film->row->confidence : 0;
    }
    const double others = (double)films->count - group->films;
    const double times = others > 0 ? group->films / others : 0;
    const double more_up = fmax(0, up[1] - up[0] * times);
    const double more_wet = fmax(0, wet[1] - fmax(wet[0] * times, promised));
    const char *what = group->of == OF_EARLY ? "painted over before the ring"
                       : group->of == OF_PAINT
                           ? cb_arena_printf(arena, "of %s", group->name)
                           : cb_arena_printf(arena, "of the technique %s", group->name);
    out->minutes = (more_up * again / fmax(1, up[1]) + more_wet * LOOK_MIN) / (double)units;
    out->coats = (more_up + more_wet) / (double)units;
    out->text = cb_arena_printf(
        arena, "%.0f of %.0f films %s came up or were still wet, %.0f of %.0f others",
        up[1] + wet[1], group->films, what, up[0] + wet[0], others);
    out->advice = group->of == OF_EARLY
                      ? "wait for the ring"
                      : cb_arena_printf(arena, "give %s%s longer before the next coat",
                                        group->of == OF_PAINT ? "" : "each ", group->name);
}

static bool look(const struct cb_finding_log *log, struct cb_arena *arena, uint64_t seed,
                 struct cb_finding *out)
{
    size_t most = 1;
    for (size_t u = 0; u < log->count; u++) {
        most += log->trails[u].row_count;
    }
    const size_t groups = OFS * most;
    double *numbers = cb_mem_new(most + 3 * groups + log->count, sizeof *numbers);
    struct films films = {.films = cb_mem_new(most, sizeof(struct film)),
                          .groups = cb_mem_new(groups, sizeof(struct group)),
                          .unit = cb_mem_new(log->count + 1, sizeof(size_t)),
                          .wrong = numbers,
                          .in_unit = numbers + most,
                          .more = numbers + most + groups,
                          .times = numbers + most + 2 * groups,
                          .share = numbers + most + 3 * groups};
    gather(&films, log);
    measure(&films);
    add_up(&films, films.more, films.times);
    double seen = -INFINITY;
    for (size_t g = 0; g < films.group_count; g++) {
        struct cb_finding finding = {.units = (size_t)films.times[g], .chance = 1};
        const double more = stands_out(&films, g);
        if (more > seen) {
            say(&films, g, log->count, arena, &finding);
        }
        /* Of those that are worth a word, the one that stands out most. */
        if (finding.minutes >= CB_FINDING_MIN) {
            seen = more;
            *out = finding;
        }
    }
    const bool any = isfinite(seen);
    if (any) {
        out->chance = cb_chance_p(seen, draw, &films, seed);
    }
    free(films.films);
    free(films.groups);
    free(films.unit);
    free(numbers);
    return any;
}

const struct cb_finding_kind cb_finding_lifts = {"lifts", 1, look};
