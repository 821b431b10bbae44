/* SPDX-License-Identifier: MIT */
#include "core/bench/rows.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/vec.h"
#include "core/log/event.h"
#include "core/paint/kinds.h"
#include "core/recipe/recipe.h"

static bool same_film(const struct cb_row *a, const struct cb_row *b)
{
    return a->at_ms == b->at_ms && a->figure == b->figure && a->stage == b->stage &&
           a->coat == b->coat && a->unit != NULL && b->unit != NULL &&
           strcmp(a->unit, b->unit) == 0;
}

static bool stands_in(const struct cb_row *row, const struct cb_row *own, size_t at,
                      size_t own_count)
{
    for (size_t i = at; i < own_count && own[i].at_ms <= row->at_ms; i++) {
        if (same_film(row, &own[i])) {
            return true;
        }
    }
    return false;
}

const struct cb_row *cb_rows_merge(const struct cb_row *before, size_t before_count,
                                   const struct cb_row *own, size_t own_count,
                                   struct cb_arena *arena, size_t *count)
{
    struct cb_row *rows = cb_arena_alloc(arena, before_count + own_count + 1, sizeof *rows);
    size_t i = 0;
    size_t j = 0;
    *count = 0;
    while (i < before_count || j < own_count) {
        if (j < own_count && (i == before_count || own[j].at_ms < before[i].at_ms)) {
            rows[(*count)++] = own[j++];
            continue;
        }
        if (!stands_in(&before[i], own, j, own_count)) {
            rows[(*count)++] = before[i];
        }
        i++;
    }
    return rows;
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

void cb_rows_sort(struct cb_row *rows, size_t count)
{
    for (size_t i = 1; i < count; i++) {
        if (by_time(&rows[i - 1], &rows[i]) > 0) {
            qsort(rows, count, sizeof *rows, by_time);
            return;
        }
    }
}

/* What the rows of a paint and technique have in common. */
struct paint {
    const char *pot, *name;
    double pot_sd, median_min;
    int technique;
};
struct paints {
    CB_VEC(struct paint) list;
};

static bool is_of(const struct cb_row *row, const struct paint *paint)
{
    return row->technique == paint->technique &&
           memcmp(&row->pot_sd, &paint->pot_sd, sizeof row->pot_sd) == 0 &&
           memcmp(&row->median_min, &paint->median_min, sizeof row->median_min) == 0 &&
           strcmp(row->pot, paint->pot) == 0 && strcmp(row->paint, paint->name) == 0;
}

static size_t paint_of(struct paints *paints, const struct cb_row *row)
{
    size_t at = 0;
    while (at < paints->list.count && !is_of(row, &paints->list.items[at])) {
        at++;
    }
    if (at == paints->list.count) {
        cb_vec_push(&paints->list, ((struct paint){row->pot, row->paint, row->pot_sd,
                                                   row->median_min, row->technique}));
    }
    return at;
}

static void code_paints(struct cb_coder *coder, struct paints *paints)
{
    size_t count = paints->list.count;
    cb_code_length(coder, &count, SIZE_MAX);
    for (size_t i = 0; i < count; i++) {
        const bool there = i < paints->list.count; /* while they are written */
        struct paint paint = there ? paints->list.items[i] : (struct paint){0};
        cb_code_text(coder, &paint.pot);
        cb_code_text(coder, &paint.name);
        cb_code_double(coder, &paint.pot_sd);
        cb_code_double(coder, &paint.median_min);
        cb_code_int(coder, &paint.technique, 0, CB_TECHNIQUE_COUNT - 1);
        if (!there) {
            cb_vec_push(&paints->list, paint);
        }
    }
}

enum {
    ROW_WEAK = 1,
    ROW_HAS_LO = 2,
    ROW_HAS_HI = 4,
    ROW_HEARD = 8, /* two bits: what was heard */
    ROW_CAME_UP = 32,
    ROW_FLAGS = 64, /* then which paint */
};

static void code_row(struct cb_coder *coder, struct paints *paints, struct cb_row *row,
                     const struct cb_row *before)
{
    uint64_t flags = 0;
    int64_t later_ms = (int64_t)((uint64_t)row->at_ms - (uint64_t)before->at_ms);
    int64_t heard_ms = (int64_t)((uint64_t)row->heard_ms - (uint64_t)row->at_ms);
    if (coder->out) {
        flags = ROW_FLAGS * paint_of(paints, row) + (row->kind == CB_ROW_WEAK ? ROW_WEAK : 0) +
                (row->lo > 0 ? ROW_HAS_LO : 0) + (isfinite(row->hi) ? ROW_HAS_HI : 0) +
                ROW_HEARD * (uint64_t)row->heard + (row->came_up ? ROW_CAME_UP : 0);
    }
    cb_code_count(coder, &flags, ROW_FLAGS * (uint64_t)paints->list.count + ROW_FLAGS - 1);
    cb_code_int(coder, &row->figure, 0, CB_FIGURES_MAX);
    cb_code_int(coder, &row->stage, 0, CB_RECIPE_MAX);
    cb_code_int(coder, &row->coat, 0, CB_EVENT_COATS_MAX);
    cb_code_signed(coder, &later_ms);
    if (flags & ROW_HAS_LO) {
        cb_code_double(coder, &row->lo);
    }
    if (flags & ROW_HAS_HI) {
        cb_code_double(coder, &row->hi);
    }
    const enum cb_heard heard = (enum cb_heard)(flags / ROW_HEARD % 4);
    if (heard != CB_HEARD_NOTHING) {
        cb_code_signed(coder, &heard_ms);
        cb_code_double(coder, &row->late);
    }
    if (heard != CB_HEARD_NOTHING || (flags & ROW_WEAK)) {
        cb_code_double(coder, &row->confidence);
    }
    if (coder->out) {
        return;
    }
    coder->good = coder->good && flags / ROW_FLAGS < paints->list.count;
    if (coder->good) {
        const struct paint *paint = &paints->list.items[flags / ROW_FLAGS];
        row->kind = flags & ROW_WEAK ? CB_ROW_WEAK : CB_ROW_FILM;
        row->hi = flags & ROW_HAS_HI ? row->hi : (double)INFINITY;
        row->at_ms = (int64_t)((uint64_t)before->at_ms + (uint64_t)later_ms);
        row->heard = heard;
        row->came_up = flags & ROW_CAME_UP;
        row->heard_ms =
            heard == CB_HEARD_NOTHING ? 0 : (int64_t)((uint64_t)row->at_ms + (uint64_t)heard_ms);
        row->pot = paint->pot;
        row->paint = paint->name;
        row->pot_sd = paint->pot_sd;
        row->median_min = paint->median_min;
        row->technique = paint->technique;
    }
}

static bool is_film(const struct cb_row *row)
{
    return row->kind == CB_ROW_FILM || row->kind == CB_ROW_WEAK;
}

void cb_rows_code(struct cb_coder *coder, const struct cb_row **rows, size_t *count,
                  const char *unit)
{
    const bool writing = coder->out != NULL;
    struct paints paints = {0};
    struct cb_row before = {0};
    size_t films = 0;
    for (size_t i = 0; writing && i < *count; i++) {
        if (is_film(&(*rows)[i])) {
            films++;
            paint_of(&paints, &(*rows)[i]);
        }
    }
    code_paints(coder, &paints);
    cb_code_length(coder, &films, SIZE_MAX);
    struct cb_row *list = writing ? NULL : cb_arena_alloc(coder->arena, films + 1, sizeof *list);
    for (size_t i = 0; writing && i < *count; i++) {
        struct cb_row row = (*rows)[i];
        if (is_film(&row)) {
            code_row(coder, &paints, &row, &before);
            before = row;
        }
    }
    for (size_t i = 0; !writing && i < films && coder->good; i++) {
        list[i].unit = unit;
        code_row(coder, &paints, &list[i], &before);
        before = list[i];
    }
    if (!writing) {
        *rows = list;
        *count = coder->good ? films : 0;
    }
    cb_vec_free(&paints.list);
}
