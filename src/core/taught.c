/* SPDX-License-Identifier: MIT */
#include "core/taught.h"

#include <stdlib.h>
#include <string.h>

#include "core/rows.h"

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

void cb_taught_make(struct cb_taught *taught, const struct cb_row *rows, size_t row_count,
                    const struct cb_effort *efforts, const struct cb_review_sum *sums,
                    size_t unit_count)
{
    *taught = (struct cb_taught){.unit_count = unit_count};
    keep_rows(taught, rows, row_count);
    taught->learn = cb_learn_new(NULL);
    cb_learn_sync(taught->learn, taught->rows, taught->row_count);
    taught->hours = cb_effort_new();
    for (size_t i = 0; i < unit_count; i++) {
        cb_effort_learn(taught->hours, &efforts[i]);
    }
    taught->habits = habits_of(efforts, unit_count, &taught->arena);
    struct cb_str text = {0};
    size_t count;
    cb_review_sum_pack(sums, unit_count, &text);
    taught->sums = cb_review_sum_unpack(cb_str_text(&text), text.length, &taught->arena, &count);
    cb_str_fini(&text);
}

void cb_taught_fini(struct cb_taught *taught)
{
    cb_learn_free(taught->learn);
    cb_hours_free(taught->hours);
    cb_arena_fini(&taught->arena);
    *taught = (struct cb_taught){0};
}

/* Pieces, each after its length. */

static void add_piece(struct cb_str *out, const void *bytes, size_t length)
{
    const uint64_t size = length;
    cb_str_add_n(out, (const char *)&size, sizeof size);
    cb_str_add_n(out, bytes, length);
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
    add_piece(&out, learn, learn_length);
    add_piece(&out, hours, hours_length);
    add_piece(&out, habits, habits_length);
    add_piece(&out, cb_str_text(&rows), rows.length);
    add_piece(&out, cb_str_text(&sums), sums.length);
    void *copy = cb_arena_alloc(arena, out.length, 1);
    memcpy(copy, out.text, out.length);
    *length = out.length;
    cb_str_fini(&rows);
    cb_str_fini(&sums);
    cb_str_fini(&out);
    return copy;
}

struct piece {
    const void *bytes;
    size_t length;
};

static bool next_piece(const char **at, const char *end, struct piece *piece)
{
    uint64_t size;
    if ((size_t)(end - *at) < sizeof size) {
        return false;
    }
    memcpy(&size, *at, sizeof size);
    *at += sizeof size;
    if (size > (size_t)(end - *at)) {
        return false;
    }
    *piece = (struct piece){*at, (size_t)size};
    *at += size;
    return true;
}

bool cb_taught_unpack(const void *bytes, size_t length, struct cb_taught *taught)
{
    enum { LEARN, HOURS, HABITS, ROWS, SUMS, PIECES };
    struct piece pieces[PIECES];
    const char *at = bytes;
    const char *end = at + length;
    *taught = (struct cb_taught){0};
    for (int i = 0; i < PIECES; i++) {
        if (!next_piece(&at, end, &pieces[i])) {
            return false;
        }
    }
    if (at != end) {
        return false;
    }
    taught->sums = cb_review_sum_unpack(pieces[SUMS].bytes, pieces[SUMS].length, &taught->arena,
                                        &taught->unit_count);
    char *rows = cb_arena_alloc(&taught->arena, pieces[ROWS].length + 1, 1);
    memcpy(rows, pieces[ROWS].bytes, pieces[ROWS].length);
    taught->rows =
        cb_rows_unpack(rows, pieces[ROWS].length, &taught->arena, &taught->row_count);
    taught->learn = cb_learn_unpack(pieces[LEARN].bytes, pieces[LEARN].length);
    taught->hours = cb_hours_unpack(pieces[HOURS].bytes, pieces[HOURS].length, CB_TECHNIQUE_COUNT);
    if (taught->rows == NULL || taught->sums == NULL || taught->learn == NULL || taught->hours == NULL ||
        !cb_effort_unpack(pieces[HABITS].bytes, pieces[HABITS].length, &taught->arena,
                          &taught->habits)) {
        cb_taught_fini(taught);
        return false;
    }
    return true;
}
