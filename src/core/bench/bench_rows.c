/* SPDX-License-Identifier: MIT */
/* What the log says of drying: one row a film, in the order they went on. */
#include "core/bench/bench_internal.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/time.h"

struct cb_bench_row_cache {
    CB_VEC(struct cb_row) rows;
};

struct cb_bench_row_cache *cb_bench_row_cache_new(void)
{
    return cb_mem_new(1, sizeof(struct cb_bench_row_cache));
}

void cb_bench_row_cache_free(struct cb_bench_row_cache *cache)
{
    cb_vec_free(&cache->rows);
    free(cache);
}

void cb_bench_film_changed(struct cb_bench *bench, const struct cb_film *film)
{
    if (film->more->source != CB_BENCH_TEACHES_NOT) {
        bench->sources.items[film->more->source].dirty = true;
    }
}

static bool teaches(const struct cb_film *film)
{
    return film->pot && !film->suspect && !film->tidied &&
           (film->drying->from == CB_TIME_MODEL || film->drying->from == CB_TIME_DRY) &&
           film->drying->standard_min > 0;
}

/* Back-dated by more than a third of the time it tells of: the time is mostly a guess. */
static bool is_guess(const struct cb_film *film, int64_t until_ms)
{
    return film->more->back_ms > 0 && until_ms - film->on_ms < 3 * film->more->back_ms;
}

/* How much further it had dried by what was heard of it than at its ring, in logs. */
static double late_by(const struct cb_bench *bench, const struct cb_film *film)
{
    const struct cb_film_more *more = film->more;
    if (more->heard == CB_HEARD_NOTHING || more->heard_ms <= more->ring_ms) {
        return 0;
    }
    const double ring = cb_bench_gain(bench, film, film->on_ms, more->ring_ms);
    const double heard = cb_bench_gain(bench, film, film->on_ms, more->heard_ms);
    return ring > 0 && heard > ring ? log(heard / ring) : 0;
}

/* The film's own row; false: it says nothing (yet). */
static bool film_row(const struct cb_bench *bench, const struct cb_film *film, struct cb_row *row)
{
    if (!teaches(film)) {
        return false;
    }
    const struct cb_film_more *more = film->more;
    int64_t wet_ms = film->wet_ms;
    int64_t dry_ms = film->dry_ms;
    *row = (struct cb_row){.kind = CB_ROW_FILM, .hi = INFINITY};
    if (film->lifted_ms != CB_TIME_NONE) {
        /* It came up under the next coat, and was wet when that went on. */
        wet_ms = film->next_ms != CB_TIME_NONE && film->next_ms < film->lifted_ms ? film->next_ms
                                                                                  : film->lifted_ms;
        dry_ms = CB_TIME_NONE;
    } else if (dry_ms == CB_TIME_NONE && film->next_ms != CB_TIME_NONE) {
        dry_ms = film->next_ms;
        row->kind = CB_ROW_WEAK;
    }
    if (wet_ms == CB_TIME_NONE && dry_ms == CB_TIME_NONE) {
        return false;
    }
    const int64_t until_ms = dry_ms != CB_TIME_NONE ? dry_ms : wet_ms;
    if (is_guess(film, until_ms) || !cb_bench_dried_freely(bench, film, until_ms)) {
        return false;
    }
    const int64_t pm_ms = (int64_t)llround(film->on_pm_s * 1000);
    if (wet_ms != CB_TIME_NONE) {
        row->lo = cb_bench_gain(bench, film, film->on_ms + pm_ms, wet_ms);
    }
    if (dry_ms != CB_TIME_NONE) {
        row->hi = cb_bench_gain(bench, film, film->on_ms - pm_ms, dry_ms);
    }
    if (!(row->hi > row->lo) || (row->lo <= 0 && isinf(row->hi))) {
        return false;
    }
    row->pot = film->pot;
    row->pot_sd = film->drying->pot_sd;
    row->median_min = film->drying->standard_min;
    row->at_ms = more->wall_on_ms;
    row->technique = (int)film->technique;
    row->unit = bench->units.items[more->unit]->unit.id;
    row->figure = film->figure;
    row->stage = film->stage;
    row->coat = film->coat;
    row->paint = film->paint;
    row->heard = more->heard;
    row->came_up = more->heard == CB_HEARD_WET && film->check == CB_CHECK_NONE;
    row->heard_ms = more->heard_wall_ms;
    row->late = late_by(bench, film);
    row->confidence = more->confidence;
    return true;
}

const struct cb_row *cb_bench_rows(const struct cb_bench *bench, size_t *count)
{
    struct cb_bench_row_cache *cache = bench->cache->rows;
    if (!bench->cache->rows_stale) {
        *count = cache->rows.count;
        return cache->rows.items;
    }
    bench->cache->rows_stale = false;
    cache->rows.count = 0;
    for (size_t i = 0; i < bench->sources.count; i++) {
        struct cb_bench_source *source = &bench->sources.items[i];
        if (source->film && source->dirty) {
            const struct cb_film *film = cb_bench_film_of(bench, source->film);
            source->gives = film_row(bench, film, &source->row);
            source->dirty = false;
        }
        size_t next = 0;
        const struct cb_bench_pot *pot;
        while (source->name && (pot = cb_bench_pot_named(bench, source->name, &next)) != NULL) {
            struct cb_row row = source->row;
            row.pot = pot->joined;
            row.pot_sd = pot->sd;
            cb_vec_push(&cache->rows, row);
        }
        if (source->gives) {
            cb_vec_push(&cache->rows, source->row);
            cb_bench_given_now(bench, &cache->rows.items[cache->rows.count - 1]);
        }
    }
    *count = cache->rows.count;
    return cache->rows.items;
}
