/* SPDX-License-Identifier: MIT */
#include "core/taught.h"

#include <stdlib.h>
#include <string.h>

#include "base/bytes.h"
#include "core/rows.h"

/* What some forty milliseconds are enough for (measured; they only have to be short). */
#define STEP_UNITS 60
#define STEP_ROWS  3000

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

static struct cb_effort habits_of(const struct cb_effort *efforts, size_t count,
                                  struct cb_arena *arena)
{
    struct cb_effort habits = {0};
    for (size_t i = 0; i < count; i++) {
        habits.session_count += efforts[i].session_count;
        habits.all_min += efforts[i].all_min;
        habits.hands_on_min += efforts[i].hands_on_min;
    }
    double *lengths = cb_arena_alloc(arena, habits.session_count + 1, sizeof *lengths);
    habits.session_min = lengths;
    for (size_t i = 0; i < count; i++) {
        for (size_t j = 0; j < efforts[i].session_count; j++) {
            *lengths++ = efforts[i].session_min[j];
        }
    }
    return habits;
}

/* The rows that still weigh, with texts of their own. */
static void keep_rows(struct cb_taught *taught, const struct cb_row *rows, size_t count)
{
    struct cb_arena arena = {0};
    struct cb_row *sorted = cb_arena_alloc(&arena, count + 1, sizeof *sorted);
    if (count > 0) {
        memcpy(sorted, rows, count * sizeof *sorted);
        qsort(sorted, count, sizeof *sorted, by_time);
    }
    const struct cb_row *recent = cb_rows_recent(sorted, count, &arena, &taught->row_count);
    struct cb_row *kept = cb_arena_alloc(&taught->arena, taught->row_count + 1, sizeof *kept);
    for (size_t i = 0; i < taught->row_count; i++) {
        kept[i] = recent[i];
        kept[i].pot = cb_arena_text(&taught->arena, recent[i].pot);
        kept[i].unit = cb_arena_text(&taught->arena, recent[i].unit);
        kept[i].paint = cb_arena_text(&taught->arena, recent[i].paint);
    }
    taught->rows = kept;
    cb_arena_fini(&arena);
}

void cb_taught_begin(struct cb_taught *taught, const struct cb_row *rows, size_t row_count,
                     const struct cb_effort *efforts, const struct cb_review_sum *sums,
                     size_t unit_count)
{
    struct cb_str text = {0};
    size_t count;
    *taught = (struct cb_taught){.unit_count = unit_count};
    keep_rows(taught, rows, row_count);
    taught->learn = cb_learn_new(NULL);
    taught->hours = cb_effort_new();
    taught->habits = habits_of(efforts, unit_count, &taught->arena);
    cb_review_sum_pack(sums, unit_count, &text);
    taught->sums = cb_review_sum_unpack(cb_str_text(&text), text.length, &taught->arena, &count);
    cb_str_fini(&text);
}

/* Units first, then rows: the learner is the same whether it is given them at once or bit by bit.
 */
bool cb_taught_step(struct cb_taught *taught, const struct cb_effort *efforts, size_t *done)
{
    if (*done < taught->unit_count) {
        for (size_t i = 0; i < STEP_UNITS && *done < taught->unit_count; i++) {
            cb_effort_learn(taught->hours, &efforts[(*done)++]);
        }
    } else {
        const size_t rows = *done - taught->unit_count + STEP_ROWS;
        const size_t count = rows < taught->row_count ? rows : taught->row_count;
        cb_learn_sync(taught->learn, taught->rows, count);
        *done = taught->unit_count + count;
    }
    return *done < taught->unit_count + taught->row_count;
}

void cb_taught_make(struct cb_taught *taught, const struct cb_row *rows, size_t row_count,
                    const struct cb_effort *efforts, const struct cb_review_sum *sums,
                    size_t unit_count)
{
    size_t done = 0;
    cb_taught_begin(taught, rows, row_count, efforts, sums, unit_count);
    while (cb_taught_step(taught, efforts, &done)) {
    }
}

void cb_taught_fini(struct cb_taught *taught)
{
    cb_learn_free(taught->learn);
    cb_hours_free(taught->hours);
    cb_arena_fini(&taught->arena);
    *taught = (struct cb_taught){0};
}

const void *cb_taught_pack(const struct cb_taught *taught, struct cb_arena *arena, size_t *length)
{
    size_t learn_length = 0;
    size_t hours_length = 0;
    size_t habits_length = 0;
    const void *learn = cb_learn_pack(taught->learn, arena, &learn_length);
    const void *hours = cb_hours_pack(taught->hours, arena, &hours_length);
    const void *habits = cb_effort_pack(&taught->habits, arena, &habits_length);
    if (learn == NULL || hours == NULL) {
        return NULL;
    }
    struct cb_str rows = {0};
    struct cb_str sums = {0};
    struct cb_str out = {0};
    cb_rows_pack(taught->rows, taught->row_count, &rows);
    cb_review_sum_pack(taught->sums, taught->unit_count, &sums);
    cb_bytes_put_piece(&out, learn, learn_length);
    cb_bytes_put_piece(&out, hours, hours_length);
    cb_bytes_put_piece(&out, habits, habits_length);
    cb_bytes_put_piece(&out, rows.text, rows.length);
    cb_bytes_put_piece(&out, sums.text, sums.length);
    cb_str_fini(&rows);
    cb_str_fini(&sums);
    return cb_bytes_done(&out, arena, length);
}

bool cb_taught_unpack(const void *bytes, size_t length, struct cb_taught *taught)
{
    struct cb_bytes in = cb_bytes_of(bytes, length);
    struct cb_bytes learn = cb_bytes_take_piece(&in);
    struct cb_bytes hours = cb_bytes_take_piece(&in);
    struct cb_bytes habits = cb_bytes_take_piece(&in);
    struct cb_bytes rows = cb_bytes_take_piece(&in);
    struct cb_bytes sums = cb_bytes_take_piece(&in);
    *taught = (struct cb_taught){0};
    if (!cb_bytes_end(&in)) {
        return false;
    }
    struct cb_arena *arena = &taught->arena;
    const size_t row_bytes = cb_bytes_left(&rows);
    const char *own =
        cb_bytes_take_list(&rows, row_bytes, 1, arena); /* the rows' texts lie in it */
    taught->rows = cb_rows_unpack(own, row_bytes, arena, &taught->row_count);
    taught->sums = cb_review_sum_unpack(sums.at, cb_bytes_left(&sums), arena, &taught->unit_count);
    taught->learn = cb_learn_unpack(learn.at, cb_bytes_left(&learn));
    taught->hours = cb_hours_unpack(hours.at, cb_bytes_left(&hours), CB_TECHNIQUE_COUNT);
    if (taught->rows == NULL || taught->sums == NULL || taught->learn == NULL ||
        taught->hours == NULL ||
        !cb_effort_unpack(habits.at, cb_bytes_left(&habits), arena, &taught->habits)) {
        cb_taught_fini(taught);
        return false;
    }
    return true;
}
