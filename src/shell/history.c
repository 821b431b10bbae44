/* SPDX-License-Identifier: MIT */
#include "shell/history.h"

#include <stdlib.h>
#include <string.h>

#include "base/str.h"
#include "base/vec.h"
#include "core/review.h"
#include "core/rows.h"
#include "shell/yaml.h"

/* Changes whenever the physics or the making of rows does. */
#define MODEL_EDITION "1"

enum cb_status cb_history_bench(struct cb_store *store, const struct cb_store_filter *filter,
                                const struct cb_kinds *kinds, struct cb_bench **bench,
                                long long *last_row, struct cb_err *err)
{
    struct cb_arena arena = {0};
    const struct cb_event **events = NULL;
    size_t count = 0;
    long long last = 0;
    const enum cb_status status =
        cb_store_load(store, filter, &arena, &events, &count, &last, err);
    if (status == CB_OK) {
        *bench = cb_bench_new(kinds, cb_yaml_read);
        cb_bench_add(*bench, events, count);
        if (last_row != NULL) {
            *last_row = last;
        }
    }
    cb_arena_fini(&arena);
    return status;
}

/* Kept rows: the numbers as they lie in memory, then three texts, each with its NUL. Derived data
 * of this machine only: the key says how its numbers lie. */

struct kept {
    double pot_sd, median_min, lo, hi;
    int64_t at_ms;
    int32_t kind, technique, figure, stage, coat, unused;
};

typedef CB_VEC(struct cb_row) row_list;

static bool keeps(const struct cb_row *row)
{
    return row->kind == CB_ROW_FILM || row->kind == CB_ROW_WEAK;
}

static void add_text(struct cb_str *out, const char *text)
{
    cb_str_add_n(out, text == NULL ? "" : text, text == NULL ? 1 : strlen(text) + 1);
}

static void write_row(struct cb_str *out, const struct cb_row *row)
{
    struct kept kept;
    memset(&kept, 0, sizeof kept);
    kept.pot_sd = row->pot_sd;
    kept.median_min = row->median_min;
    kept.lo = row->lo;
    kept.hi = row->hi;
    kept.at_ms = row->at_ms;
    kept.kind = (int32_t)row->kind;
    kept.technique = row->technique;
    kept.figure = row->figure;
    kept.stage = row->stage;
    kept.coat = row->coat;
    cb_str_add_n(out, (const char *)&kept, sizeof kept);
    add_text(out, row->pot);
    add_text(out, row->unit);
    add_text(out, row->paint);
}

static const char *read_text(const char **at, const char *end)
{
    const char *text = *at;
    const char *stop = memchr(text, 0, (size_t)(end - text));
    *at = stop == NULL ? end : stop + 1;
    return stop == NULL ? NULL : text;
}

/* bytes outlive the rows. */
static bool read_rows(const char *bytes, size_t length, row_list *rows)
{
    const char *at = bytes;
    const char *end = bytes + length;
    while (at < end) {
        struct kept kept;
        if ((size_t)(end - at) < sizeof kept) {
            return false;
        }
        memcpy(&kept, at, sizeof kept);
        at += sizeof kept;
        const char *pot = read_text(&at, end);
        const char *unit = read_text(&at, end);
        const char *paint = read_text(&at, end);
        if (paint == NULL || (kept.kind != CB_ROW_FILM && kept.kind != CB_ROW_WEAK)) {
            return false;
        }
        cb_vec_push(rows, ((struct cb_row){.kind = (enum cb_row_kind)kept.kind,
                                           .pot = pot,
                                           .pot_sd = kept.pot_sd,
                                           .median_min = kept.median_min,
                                           .lo = kept.lo,
                                           .hi = kept.hi,
                                           .at_ms = kept.at_ms,
                                           .technique = kept.technique,
                                           .unit = unit,
                                           .figure = kept.figure,
                                           .stage = kept.stage,
                                           .coat = kept.coat,
                                           .paint = paint}));
    }
    return true;
}

static char *derived_key(const struct cb_kinds *kinds, const struct cb_store_unit *unit,
                         struct cb_arena *arena)
{
    const uint16_t one = 1;
    unsigned char low;
    memcpy(&low, &one, 1);
    return cb_arena_printf(arena, "%s/%zu%c/%s/%lld", MODEL_EDITION, sizeof(struct kept),
                           low == 1 ? 'l' : 'b', kinds->edition, unit->last_row);
}

/* What is kept of a finished unit. */
struct unit_kept {
    const void *rows, *effort;
    size_t rows_length, effort_length;
};

static bool read_kept(struct cb_store *store, const struct cb_kinds *kinds,
                      const struct cb_store_unit *unit, struct cb_arena *arena,
                      struct unit_kept *kept)
{
    const char *key = derived_key(kinds, unit, arena);
    return cb_store_derived_get(store, cb_arena_printf(arena, "rows of %s", unit->id), key, arena,
                                &kept->rows, &kept->rows_length, NULL) == CB_OK &&
           cb_store_derived_get(store, cb_arena_printf(arena, "effort of %s", unit->id), key,
                                arena, &kept->effort, &kept->effort_length, NULL) == CB_OK;
}

/* Folds the unit alone. Its hours are split by what its own films taught, so that what is kept
 * depends on the unit and on nothing else. */
static enum cb_status make_kept(struct cb_store *store, const struct cb_kinds *kinds,
                                const struct cb_store_unit *unit, struct cb_arena *arena,
                                struct unit_kept *kept, struct cb_err *err)
{
    struct cb_bench *bench = NULL;
    const struct cb_store_filter filter = {.unit = unit->id};
    const enum cb_status status = cb_history_bench(store, &filter, kinds, &bench, NULL, err);
    if (status != CB_OK) {
        return status;
    }
    struct cb_str text = {0};
    size_t count;
    const struct cb_row *made = cb_bench_rows(bench, &count);
    for (size_t i = 0; i < count; i++) {
        if (keeps(&made[i]) && made[i].unit != NULL && strcmp(made[i].unit, unit->id) == 0) {
            write_row(&text, &made[i]);
        }
    }
    char *copy = cb_arena_alloc(arena, text.length + 1, 1);
    memcpy(copy, cb_str_text(&text), text.length);
    kept->rows = copy;
    kept->rows_length = text.length;
    cb_str_fini(&text);

    struct cb_effort effort = {0};
    struct cb_arena own = {0};
    const int number = cb_bench_find_unit(bench, unit->id);
    if (number >= 0) {
        struct cb_learn *learn = cb_learn_new(NULL);
        cb_learn_sync(learn, made, count);
        effort = cb_effort_of(
            cb_review_unit(bench, learn, (size_t)number, CB_TIME_NONE, &own), kinds, &own);
        cb_learn_free(learn);
    }
    kept->effort = cb_effort_pack(&effort, arena, &kept->effort_length);
    cb_arena_fini(&own);
    cb_bench_free(bench);

    /* A log that can't be written is read all the same. */
    const char *key = derived_key(kinds, unit, arena);
    (void)cb_store_derived_put(store, cb_arena_printf(arena, "rows of %s", unit->id), key,
                               kept->rows, kept->rows_length, NULL);
    (void)cb_store_derived_put(store, cb_arena_printf(arena, "effort of %s", unit->id), key,
                               kept->effort, kept->effort_length, NULL);
    return CB_OK;
}

static enum cb_status get_kept(struct cb_store *store, const struct cb_kinds *kinds,
                               const struct cb_store_unit *unit, struct cb_arena *arena,
                               struct unit_kept *kept, struct cb_err *err)
{
    return read_kept(store, kinds, unit, arena, kept)
               ? CB_OK
               : make_kept(store, kinds, unit, arena, kept, err);
}

enum cb_status cb_history_make_one(struct cb_store *store, const struct cb_kinds *kinds,
                                   bool *more, struct cb_err *err)
{
    struct cb_arena arena = {0};
    const struct cb_store_unit *units;
    size_t count;
    enum cb_status status = cb_store_units(store, &arena, &units, &count, err);
    *more = false;
    for (size_t i = 0; status == CB_OK && i < count; i++) {
        struct unit_kept kept;
        if (units[i].finished && !read_kept(store, kinds, &units[i], &arena, &kept)) {
            status = make_kept(store, kinds, &units[i], &arena, &kept, err);
            *more = status == CB_OK && read_kept(store, kinds, &units[i], &arena, &kept);
            break;
        }
    }
    cb_arena_fini(&arena);
    return status;
}

static int by_time(const void *a, const void *b)
{
    const struct cb_row *x = a;
    const struct cb_row *y = b;
    if (x->at_ms != y->at_ms) {
        return x->at_ms < y->at_ms ? -1 : 1;
    }
    const int unit = strcmp(x->unit == NULL ? "" : x->unit, y->unit == NULL ? "" : y->unit);
    if (unit != 0) {
        return unit;
    }
    if (x->stage != y->stage) {
        return x->stage < y->stage ? -1 : 1;
    }
    if (x->coat != y->coat) {
        return x->coat < y->coat ? -1 : 1;
    }
    return (x->figure > y->figure) - (x->figure < y->figure);
}

enum cb_status cb_history_rows(struct cb_store *store, const struct cb_kinds *kinds,
                               struct cb_arena *arena, const struct cb_row **rows, size_t *count,
                               struct cb_err *err)
{
    const struct cb_store_unit *units;
    size_t unit_count;
    enum cb_status status = cb_store_units(store, arena, &units, &unit_count, err);
    row_list list = {0};
    for (size_t i = 0; status == CB_OK && i < unit_count; i++) {
        struct unit_kept kept;
        if (!units[i].finished) {
            continue;
        }
        status = get_kept(store, kinds, &units[i], arena, &kept, err);
        const size_t before = list.count;
        if (status == CB_OK && !read_rows(kept.rows, kept.rows_length, &list)) {
            list.count = before;
        }
    }
    struct cb_row *copy = cb_arena_alloc(arena, list.count + 1, sizeof *copy);
    if (list.count > 0) {
        qsort(list.items, list.count, sizeof *list.items, by_time);
        memcpy(copy, list.items, list.count * sizeof *copy);
    }
    *rows = copy;
    *count = status == CB_OK ? list.count : 0;
    cb_vec_free(&list);
    return status;
}

enum cb_status cb_history_efforts(struct cb_store *store, const struct cb_kinds *kinds,
                                  struct cb_arena *arena, const struct cb_effort **efforts,
                                  size_t *count, struct cb_err *err)
{
    const struct cb_store_unit *units;
    size_t unit_count;
    enum cb_status status = cb_store_units(store, arena, &units, &unit_count, err);
    struct cb_effort *list = cb_arena_alloc(arena, unit_count + 1, sizeof *list);
    *count = 0;
    for (size_t i = 0; status == CB_OK && i < unit_count; i++) {
        struct unit_kept kept;
        if (!units[i].finished) {
            continue;
        }
        if (cb_store_derived_get(store, cb_arena_printf(arena, "effort of %s", units[i].id),
                                 derived_key(kinds, &units[i], arena), arena, &kept.effort,
                                 &kept.effort_length, NULL) != CB_OK) {
            status = make_kept(store, kinds, &units[i], arena, &kept, err);
        }
        if (status == CB_OK &&
            cb_effort_unpack(kept.effort, kept.effort_length, arena, &list[*count])) {
            (*count)++;
        }
    }
    *efforts = list;
    return status;
}

/* The rows that still weigh, of all finished units in one piece: a long log has hundreds of units. */
static enum cb_status recent_rows(struct cb_store *store, const struct cb_kinds *kinds,
                                  struct cb_arena *arena, const struct cb_row **rows,
                                  size_t *count, struct cb_err *err)
{
    const struct cb_store_unit *units;
    size_t unit_count;
    enum cb_status status = cb_store_units(store, arena, &units, &unit_count, err);
    if (status != CB_OK) {
        return status;
    }
    struct cb_store_unit all = {0};
    size_t finished = 0;
    for (size_t i = 0; i < unit_count; i++) {
        if (units[i].finished) {
            finished++;
            all.last_row += units[i].last_row;
        }
    }
    const char *key = cb_arena_printf(arena, "%s/%zu", derived_key(kinds, &all, arena), finished);
    const void *bytes;
    size_t length;
    row_list list = {0};
    if (cb_store_derived_get(store, "recent rows", key, arena, &bytes, &length, NULL) == CB_OK &&
        read_rows(bytes, length, &list)) {
        struct cb_row *copy = cb_arena_alloc(arena, list.count + 1, sizeof *copy);
        if (list.count > 0) {
            memcpy(copy, list.items, list.count * sizeof *copy);
        }
        *rows = copy;
        *count = list.count;
        cb_vec_free(&list);
        return CB_OK;
    }
    cb_vec_free(&list);
    const struct cb_row *whole;
    size_t whole_count;
    status = cb_history_rows(store, kinds, arena, &whole, &whole_count, err);
    if (status != CB_OK) {
        return status;
    }
    *rows = cb_rows_recent(whole, whole_count, arena, count);
    struct cb_str text = {0};
    for (size_t i = 0; i < *count; i++) {
        write_row(&text, &(*rows)[i]);
    }
    (void)cb_store_derived_put(store, "recent rows", key, cb_str_text(&text), text.length, NULL);
    cb_str_fini(&text);
    return CB_OK;
}

enum cb_status cb_history_teach(struct cb_store *store, const struct cb_bench *bench,
                                struct cb_learn *learn, struct cb_err *err)
{
    struct cb_arena arena = {0};
    const struct cb_row *before;
    size_t before_count;
    const enum cb_status status =
        recent_rows(store, cb_bench_kinds(bench), &arena, &before, &before_count, err);
    if (status == CB_OK) {
        size_t own_count;
        const struct cb_row *own = cb_bench_rows(bench, &own_count);
        size_t count;
        const struct cb_row *rows =
            cb_rows_merge(before, before_count, own, own_count, &arena, &count);
        rows = cb_rows_recent(rows, count, &arena, &count);
        cb_learn_sync(learn, rows, count);
    }
    cb_arena_fini(&arena);
    return status;
}

struct cb_moment cb_history_last_moment(const struct cb_bench *bench)
{
    struct cb_moment last = {0, 0, NULL};
    size_t count;
    const struct cb_event *const *events = cb_bench_events(bench, &count);
    if (count > 0) {
        last = (struct cb_moment){events[count - 1]->at_ms, events[count - 1]->boot_ms,
                                  events[count - 1]->boot};
    }
    return last;
}
