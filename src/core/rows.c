/* SPDX-License-Identifier: MIT */
#include "core/rows.h"

#include <string.h>

#include "base/bytes.h"
#include "base/index.h"

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

const struct cb_row *cb_rows_recent(const struct cb_row *rows, size_t total,
                                    struct cb_arena *arena, size_t *count)
{
    struct cb_row *kept = cb_arena_alloc(arena, total + 1, sizeof *kept);
    struct cb_index *by_pot = cb_index_new();
    size_t first = total;
    for (size_t i = total; i-- > 0;) {
        size_t have = 0;
        if (rows[i].kind == CB_ROW_FILM || rows[i].kind == CB_ROW_WEAK) {
            const char *pot = rows[i].pot == NULL ? "" : rows[i].pot;
            cb_index_get(by_pot, pot, &have);
            if (have == CB_ROWS_RECENT) {
                continue;
            }
            cb_index_set(by_pot, pot, have + 1);
        }
        kept[--first] = rows[i];
    }
    cb_index_free(by_pot);
    *count = total - first;
    return kept + first;
}

/* Then three texts: pot, unit, paint. */
struct kept {
    double pot_sd, median_min, lo, hi;
    int64_t at_ms;
    int32_t kind, technique, figure, stage, coat, unused;
};

static bool is_film(enum cb_row_kind kind)
{
    return kind == CB_ROW_FILM || kind == CB_ROW_WEAK;
}

void cb_rows_pack(const struct cb_row *rows, size_t count, struct cb_str *out)
{
    for (size_t i = 0; i < count; i++) {
        const struct cb_row *row = &rows[i];
        if (!is_film(row->kind)) {
            continue;
        }
        const struct kept kept = {.pot_sd = row->pot_sd,
                                  .median_min = row->median_min,
                                  .lo = row->lo,
                                  .hi = row->hi,
                                  .at_ms = row->at_ms,
                                  .kind = (int32_t)row->kind,
                                  .technique = row->technique,
                                  .figure = row->figure,
                                  .stage = row->stage,
                                  .coat = row->coat};
        cb_bytes_put(out, &kept, sizeof kept);
        cb_bytes_put_text(out, row->pot);
        cb_bytes_put_text(out, row->unit);
        cb_bytes_put_text(out, row->paint);
    }
}

const struct cb_row *cb_rows_unpack(const void *bytes, size_t length, struct cb_arena *arena,
                                    size_t *count)
{
    struct cb_bytes in = cb_bytes_of(bytes, length);
    struct cb_row *rows =
        cb_arena_alloc(arena, length / (sizeof(struct kept) + 3) + 1, sizeof *rows);
    *count = 0;
    while (in.good && cb_bytes_left(&in) > 0) {
        struct kept kept;
        cb_bytes_take(&in, &kept, sizeof kept);
        const char *pot = cb_bytes_take_text(&in);
        const char *unit = cb_bytes_take_text(&in);
        const char *paint = cb_bytes_take_text(&in);
        if (!in.good || (kept.kind != CB_ROW_FILM && kept.kind != CB_ROW_WEAK)) {
            return NULL;
        }
        rows[(*count)++] = (struct cb_row){.kind = (enum cb_row_kind)kept.kind,
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
                                           .paint = paint};
    }
    return in.good ? rows : NULL;
}
