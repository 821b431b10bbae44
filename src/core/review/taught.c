/* SPDX-License-Identifier: MIT */
#include "core/review/taught.h"

#include <stdlib.h>
#include <string.h>

#include "base/index.h"
#include "base/mem.h"
#include "base/vec.h"
#include "core/bench/rows.h"

/* What some forty milliseconds are enough for (measured; they only have to be short). */
#define STEP_ROWS 3000

/* The newest rows of a pot: twice as many as weigh, before the older half is dropped. */
struct pot {
    CB_VEC(struct cb_row) rows;
};

struct cb_taught_pots {
    struct cb_index *by_name;
    CB_VEC(struct pot) list;
    CB_VEC(struct cb_heard_before) dropped; /* of the rows that weigh no more */
    CB_VEC(struct cb_review_sum) sums;
    CB_VEC(struct cb_pot_stage) stages;
    CB_VEC(struct cb_cover) covers;
    struct cb_index *by_cover;
    CB_VEC(double) session_min;
    CB_VEC(struct cb_evening) evenings;
};

void cb_taught_begin(struct cb_taught *taught)
{
    *taught = (struct cb_taught){.learn = cb_learn_new(NULL), .hours = cb_effort_new()};
    taught->pots = cb_mem_new(1, sizeof *taught->pots);
    taught->pots->by_name = cb_index_new();
    taught->pots->by_cover = cb_index_new();
}

static struct pot *pot_of(struct cb_taught_pots *pots, const char *name)
{
    size_t at;
    if (!cb_index_get(pots->by_name, name, &at)) {
        at = pots->list.count;
        cb_vec_push(&pots->list, (struct pot){0});
        cb_index_set(pots->by_name, name, at);
    }
    return &pots->list.items[at];
}

/* What was heard of a film stays: it counts for as long as there is a log. */
static void drop_old(struct cb_taught_pots *pots, struct pot *pot)
{
    const size_t count = pot->rows.count;
    cb_rows_sort(pot->rows.items, count);
    if (count > CB_ROWS_RECENT) {
        for (size_t i = 0; i < count - CB_ROWS_RECENT; i++) {
            cb_vec_push(&pots->dropped, cb_learn_before_of(&pot->rows.items[i]));
        }
        memmove(pot->rows.items, pot->rows.items + count - CB_ROWS_RECENT,
                CB_ROWS_RECENT * sizeof *pot->rows.items);
        pot->rows.count = CB_ROWS_RECENT;
    }
}

/* Each text of a row is borrowed from the lesson; those of one paint are one text there. */
static void add_rows(struct cb_taught *taught, const struct cb_lesson *lesson)
{
    const char *unit = cb_arena_text(&taught->arena, lesson->sum.unit);
    struct cb_row last = {0};
    struct cb_row kept = {0};
    struct pot *pot = NULL;
    for (size_t i = 0; i < lesson->row_count; i++) {
        const struct cb_row *row = &lesson->rows[i];
        if (!pot || row->pot != last.pot) {
            pot = pot_of(taught->pots, row->pot);
            kept.pot = cb_arena_text(&taught->arena, row->pot);
        }
        if (row->paint != last.paint) {
            kept.paint = cb_arena_text(&taught->arena, row->paint);
        }
        last = *row;
        cb_vec_push(&pot->rows, *row);
        struct cb_row *added = &pot->rows.items[pot->rows.count - 1];
        added->pot = kept.pot;
        added->paint = kept.paint;
        added->unit = unit;
        if (pot->rows.count == 2 * CB_ROWS_RECENT) {
            drop_old(taught->pots, pot);
        }
    }
}

static void add_stages(struct cb_taught *taught, const struct cb_lesson *lesson)
{
    struct cb_taught_pots *pots = taught->pots;
    for (size_t i = 0; i < lesson->stage_count; i++) {
        const struct cb_pot_stage *stage = &lesson->stages[i];
        size_t at = 0;
        while (at < pots->stages.count && (pots->stages.items[at].technique != stage->technique ||
                                           strcmp(pots->stages.items[at].pot, stage->pot) != 0)) {
            at++;
        }
        if (at == pots->stages.count) {
            cb_vec_push(&pots->stages, ((struct cb_pot_stage){.technique = stage->technique}));
        }
        struct cb_pot_stage *kept = &pots->stages.items[at];
        kept->paint = cb_arena_text(&taught->arena, stage->paint);
        kept->pot = cb_arena_text(&taught->arena, stage->pot);
        kept->kind = cb_arena_text(&taught->arena, stage->kind);
        kept->drying = stage->drying;
        kept->answered += stage->answered;
    }
}

static void add_covers(struct cb_taught *taught, const struct cb_lesson *lesson)
{
    struct cb_taught_pots *pots = taught->pots;
    struct cb_str key = {0};
    for (size_t i = 0; i < lesson->cover_count; i++) {
        const struct cb_cover *cover = &lesson->covers[i];
        size_t at;
        cb_str_clear(&key);
        cb_str_addf(&key, "%d %d %s", (int)cover->technique, (int)cover->under, cover->pot);
        if (cb_index_get(pots->by_cover, cb_str_text(&key), &at)) {
            cb_coverage_add(&pots->covers.items[at], cover);
            continue;
        }
        cb_index_set(pots->by_cover, cb_str_text(&key), pots->covers.count);
        cb_vec_push(&pots->covers, *cover);
        pots->covers.items[pots->covers.count - 1].pot = cb_arena_text(&taught->arena, cover->pot);
    }
    cb_str_fini(&key);
}

void cb_taught_add(struct cb_taught *taught, const struct cb_lesson *lesson)
{
    add_rows(taught, lesson);
    add_stages(taught, lesson);
    add_covers(taught, lesson);
    cb_effort_learn(taught->hours, &lesson->effort);
    cb_vec_push(&taught->pots->sums, cb_review_sum_copy(&lesson->sum, &taught->arena));
    for (size_t i = 0; i < lesson->effort.session_count; i++) {
        cb_vec_push(&taught->pots->session_min, lesson->effort.session_min[i]);
    }
    taught->habits.all_min += lesson->effort.all_min;
    for (size_t i = 0; i < lesson->effort.evening_count; i++) {
        cb_vec_push(&taught->pots->evenings, lesson->effort.evenings[i]);
    }
    taught->habits.hands_on_min += lesson->effort.hands_on_min;
    taught->habits.change_min += lesson->effort.change_min;
    taught->habits.waiting_min += lesson->effort.waiting_min;
}

static void *keep(struct cb_taught *taught, const void *items, size_t count, size_t size)
{
    void *copy = cb_arena_alloc(&taught->arena, count + 1, size);
    if (count > 0) {
        memcpy(copy, items, count * size);
    }
    return copy;
}

static void free_pots(struct cb_taught *taught)
{
    struct cb_taught_pots *pots = taught->pots;
    if (pots == NULL) {
        return;
    }
    for (size_t i = 0; i < pots->list.count; i++) {
        cb_vec_free(&pots->list.items[i].rows);
    }
    cb_index_free(pots->by_name);
    cb_index_free(pots->by_cover);
    cb_vec_free(&pots->list);
    cb_vec_free(&pots->dropped);
    cb_vec_free(&pots->sums);
    cb_vec_free(&pots->stages);
    cb_vec_free(&pots->covers);
    cb_vec_free(&pots->session_min);
    cb_vec_free(&pots->evenings);
    free(pots);
    taught->pots = NULL;
}

/* All units are there: the rows that still weigh, in order. */
static void gather(struct cb_taught *taught)
{
    struct cb_taught_pots *pots = taught->pots;
    size_t total = 0;
    for (size_t i = 0; i < pots->list.count; i++) {
        drop_old(pots, &pots->list.items[i]);
        total += pots->list.items[i].rows.count;
    }
    struct cb_row *rows = cb_arena_alloc(&taught->arena, total + 1, sizeof *rows);
    for (size_t i = 0; i < pots->list.count; i++) {
        const struct pot *pot = &pots->list.items[i];
        if (pot->rows.count > 0) {
            memcpy(rows + taught->row_count, pot->rows.items, pot->rows.count * sizeof *rows);
        }
        taught->row_count += pot->rows.count;
    }
    cb_rows_sort(rows, total);
    cb_learn_before(taught->learn, pots->dropped.items, pots->dropped.count);
    taught->rows = rows;
    taught->unit_count = pots->sums.count;
    taught->sums = keep(taught, pots->sums.items, pots->sums.count, sizeof *pots->sums.items);
    taught->stage_count = pots->stages.count;
    taught->stages = keep(taught, pots->stages.items, pots->stages.count, sizeof *taught->stages);
    taught->cover_count = pots->covers.count;
    taught->covers = keep(taught, pots->covers.items, pots->covers.count, sizeof *taught->covers);
    taught->habits.session_count = pots->session_min.count;
    taught->habits.session_min = keep(taught, pots->session_min.items, pots->session_min.count,
                                      sizeof *pots->session_min.items);
    taught->habits.evening_count = cb_evenings_join(pots->evenings.items, pots->evenings.count);
    taught->habits.evenings = keep(taught, pots->evenings.items, taught->habits.evening_count,
                                   sizeof *pots->evenings.items);
    free_pots(taught);
}

/* The learner is the same whether it is given them at once or bit by bit. */
bool cb_taught_step(struct cb_taught *taught)
{
    if (taught->pots != NULL) {
        gather(taught);
        return true;
    }
    const size_t more = taught->rows_learned + STEP_ROWS;
    taught->rows_learned = more < taught->row_count ? more : taught->row_count;
    cb_learn_sync(taught->learn, taught->rows, taught->rows_learned);
    return taught->rows_learned < taught->row_count;
}

void cb_taught_fini(struct cb_taught *taught)
{
    free_pots(taught);
    cb_learn_free(taught->learn);
    cb_hours_free(taught->hours);
    cb_arena_fini(&taught->arena);
    *taught = (struct cb_taught){0};
}
