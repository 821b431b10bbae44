/* SPDX-License-Identifier: MIT */
#include "shell/history.h"

#include <stdlib.h>
#include <string.h>

#include "base/bytes.h"
#include "base/index.h"
#include "base/mem.h"
#include "base/seal.h"
#include "base/vec.h"
#include "core/rows.h"
#include "shell/yaml.h"

/* Changes whenever the physics, the making of what is kept or its shape does. */
#define MODEL_EDITION "9"

enum cb_status cb_history_bench(struct cb_store *store, const struct cb_store_filter *filter,
                                const struct cb_kinds *kinds, struct cb_bench **bench,
                                long long *last_row, struct cb_err *err)
{
    struct cb_arena arena = {0};
    const struct cb_event **events = NULL;
    size_t count = 0;
    long long last = 0;
    const enum cb_status status = cb_store_load(store, filter, &arena, &events, &count, &last, err);
    if (status == CB_OK) {
        *bench = cb_bench_new(kinds, cb_yaml_read);
        cb_bench_own(*bench, cb_store_machine(store));
        cb_bench_add(*bench, events, count);
        if (last_row != NULL) {
            *last_row = last;
        }
    }
    cb_arena_fini(&arena);
    return status;
}

enum cb_status cb_history_store(const char *path, struct cb_store **store, struct cb_err *err)
{
    struct cb_store *writing = NULL;
    const enum cb_status status = cb_store_open(path, CB_STORE_READ, store, err);
    if (status == CB_OK && cb_store_open(path, CB_STORE_APPEND, &writing, NULL) == CB_OK) {
        cb_store_close(*store);
        *store = writing;
    }
    return status;
}

/* What one finished unit says: its films' rows and its effort. */
struct lesson {
    const struct cb_row *rows;
    size_t row_count;
    struct cb_effort effort;
    struct cb_review_sum sum;
};

struct cb_history {
    struct cb_store *store;
    const struct cb_kinds *kinds;
    struct cb_arena arena;
    const struct cb_store_unit *units;
    size_t unit_count;
    size_t next;                /* the first whose lesson is not there yet */
    CB_VEC(struct cb_row) rows; /* of all lessons so far */
    struct cb_effort *efforts;  /* of each, and their sums */
    struct cb_review_sum *sums;
    size_t lesson_count;
    bool teaching; /* all lessons are there: taught is being made of them */
    size_t taught_done;
    struct cb_taught taught;
    void (*tell)(void *context, size_t done, size_t count);
    void *tell_context;
    struct cb_index *recipe_texts; /* units share recipes: each text is read once */
    CB_VEC(const struct cb_recipe *) recipes;
    CB_VEC(struct cb_bench *) benches; /* reviews that can't be kept lean on them */
};

enum cb_status cb_history_open(struct cb_store *store, const struct cb_kinds *kinds,
                               struct cb_history **history, struct cb_err *err)
{
    struct cb_history *made = cb_mem_new(1, sizeof *made);
    made->store = store;
    made->kinds = kinds;
    made->recipe_texts = cb_index_new();
    const enum cb_status status =
        cb_store_units(store, &made->arena, &made->units, &made->unit_count, err);
    if (status != CB_OK) {
        cb_history_close(made);
        made = NULL;
    } else {
        made->efforts = cb_arena_alloc(&made->arena, made->unit_count + 1, sizeof *made->efforts);
        made->sums = cb_arena_alloc(&made->arena, made->unit_count + 1, sizeof *made->sums);
    }
    *history = made;
    return status;
}

void cb_history_close(struct cb_history *history)
{
    if (history == NULL) {
        return;
    }
    for (size_t i = 0; i < history->benches.count; i++) {
        cb_bench_free(history->benches.items[i]);
    }
    cb_taught_fini(&history->taught);
    cb_index_free(history->recipe_texts);
    cb_vec_free(&history->rows);
    cb_vec_free(&history->recipes);
    cb_vec_free(&history->benches);
    cb_arena_fini(&history->arena);
    free(history);
}

void cb_history_tell(struct cb_history *history,
                     void (*tell)(void *context, size_t done, size_t count), void *context)
{
    history->tell = tell;
    history->tell_context = context;
}

const struct cb_store_unit *cb_history_units(const struct cb_history *history, size_t *count)
{
    *count = history->unit_count;
    return history->units;
}

static const struct cb_recipe *read_recipe(void *context, const char *text)
{
    struct cb_history *history = context;
    size_t at;
    if (cb_index_get(history->recipe_texts, text, &at)) {
        return history->recipes.items[at];
    }
    struct cb_issues issues = {0};
    const struct cb_tree *tree = cb_yaml_read(text, strlen(text), &history->arena, &issues);
    const struct cb_recipe *recipe =
        tree == NULL ? NULL
                     : cb_recipe_from_tree(tree, text, history->kinds, &history->arena, &issues);
    cb_index_set(history->recipe_texts, text, history->recipes.count);
    cb_vec_push(&history->recipes, recipe);
    return recipe;
}

/* What is kept is data of this machine only: the key says how its numbers lie. */
static char *derived_key(const struct cb_history *history, const char *rests_on,
                         struct cb_arena *arena)
{
    const uint16_t one = 1;
    unsigned char low;
    memcpy(&low, &one, 1);
    return cb_arena_printf(arena, "%s/%zu%c/%s/%s", MODEL_EDITION, sizeof(void *),
                           low == 1 ? 'l' : 'b', history->kinds->edition, rests_on);
}

struct bytes {
    const void *at;
    size_t length;
};

/* Sealed: a disk that has lost a bit must not show as an hour that was never painted. */
static bool get(const struct cb_history *history, const char *name, const char *rests_on,
                struct cb_arena *arena, struct bytes *bytes)
{
    const bool there =
        cb_store_derived_get(history->store, name, derived_key(history, rests_on, arena), arena,
                             &bytes->at, &bytes->length, NULL) == CB_OK &&
        cb_seal_holds(bytes->at, bytes->length);
    bytes->length -= there ? CB_SEAL_SIZE : 0;
    return there;
}

/* A log that can't be written is read all the same. */
static void put(const struct cb_history *history, const char *name, const char *rests_on,
                const struct bytes *bytes)
{
    struct cb_arena arena = {0};
    const size_t length = bytes->length + CB_SEAL_SIZE;
    char *sealed = cb_arena_alloc(&arena, length, 1);
    memcpy(sealed, bytes->at, bytes->length);
    cb_seal_put(sealed, length);
    (void)cb_store_derived_put(history->store, name, derived_key(history, rests_on, &arena), sealed,
                               length, NULL);
    cb_arena_fini(&arena);
}

/* "lesson" or "review" of one unit. */
static bool get_of(const struct cb_history *history, const char *what,
                   const struct cb_store_unit *unit, struct cb_arena *arena, struct bytes *bytes)
{
    return get(history, cb_arena_printf(arena, "%s of %s", what, unit->id),
               cb_arena_printf(arena, "%lld", unit->last_row), arena, bytes);
}

static void put_of(const struct cb_history *history, const char *what,
                   const struct cb_store_unit *unit, const struct bytes *bytes)
{
    struct cb_arena arena = {0};
    put(history, cb_arena_printf(&arena, "%s of %s", what, unit->id),
        cb_arena_printf(&arena, "%lld", unit->last_row), bytes);
    cb_arena_fini(&arena);
}

static struct bytes pack_lesson(const struct lesson *lesson, struct cb_arena *arena)
{
    struct bytes bytes;
    struct bytes effort;
    struct cb_str sum = {0};
    struct cb_str out = {0};
    effort.at = cb_effort_pack(&lesson->effort, arena, &effort.length);
    cb_review_sum_pack(&lesson->sum, 1, &sum);
    cb_bytes_put_piece(&out, effort.at, effort.length);
    cb_bytes_put_piece(&out, sum.text, sum.length);
    cb_rows_pack(lesson->rows, lesson->row_count, &out);
    cb_str_fini(&sum);
    bytes.at = cb_bytes_done(&out, arena, &bytes.length);
    return bytes;
}

/* The rows' texts are borrowed from bytes. */
static bool unpack_lesson(const struct bytes *bytes, struct cb_arena *arena, struct lesson *lesson)
{
    struct cb_bytes in = cb_bytes_of(bytes->at, bytes->length);
    struct cb_bytes effort = cb_bytes_take_piece(&in);
    struct cb_bytes sum = cb_bytes_take_piece(&in);
    size_t sums;
    if (!in.good || !cb_effort_unpack(effort.at, cb_bytes_left(&effort), arena, &lesson->effort)) {
        return false;
    }
    const struct cb_review_sum *kept =
        cb_review_sum_unpack(sum.at, cb_bytes_left(&sum), arena, &sums);
    if (kept == NULL || sums != 1) {
        return false;
    }
    lesson->sum = *kept;
    lesson->rows = cb_rows_unpack(in.at, cb_bytes_left(&in), arena, &lesson->row_count);
    return lesson->rows != NULL;
}

static struct lesson lesson_of(const struct cb_bench *bench, const struct cb_review *review,
                               struct cb_arena *arena)
{
    size_t count;
    const struct cb_row *made = cb_bench_rows(bench, &count);
    struct cb_row *rows = cb_arena_alloc(arena, count + 1, sizeof *rows);
    struct lesson lesson = {.rows = rows, .sum = cb_review_sum_of(review, arena)};
    for (size_t i = 0; i < count; i++) {
        if (made[i].unit != NULL && strcmp(made[i].unit, review->unit) == 0) {
            rows[lesson.row_count++] = made[i];
        }
    }
    lesson.effort = cb_effort_of(review, cb_bench_kinds(bench), arena);
    return lesson;
}

/* Folds the unit alone, so that what is kept depends on its events and on nothing else. The lesson
 * and the review as they were kept, in the arena; either may be NULL. */
static enum cb_status make_unit(struct cb_history *history, const struct cb_store_unit *unit,
                                struct cb_arena *arena, struct lesson *lesson,
                                struct cb_review *review, struct cb_err *err)
{
    struct cb_bench *bench = NULL;
    const struct cb_store_filter filter = {.unit = unit->id};
    enum cb_status status =
        cb_history_bench(history->store, &filter, history->kinds, &bench, NULL, err);
    if (status != CB_OK) {
        return status;
    }
    const int number = cb_bench_find_unit(bench, unit->id);
    if (number < 0) {
        cb_bench_free(bench);
        return cb_err_set(err, CB_FAILED, "unit %s can't be folded", unit->id);
    }
    struct cb_arena work = {0};
    const struct cb_review *made = cb_review_unit(bench, (size_t)number, CB_TIME_NONE, &work);
    const struct lesson taught = lesson_of(bench, made, &work);
    struct bytes bytes = {NULL, 0};
    bytes.at = cb_review_pack(made, review != NULL ? arena : &work, &bytes.length);
    if (bytes.at != NULL) {
        put_of(history, "review", unit, &bytes);
    }
    if (review != NULL &&
        (bytes.at == NULL ||
         !cb_review_unpack(bytes.at, bytes.length, read_recipe, history, arena, review))) {
        /* Its recipe can't be read: it stays where the fold put something in its place. */
        *review = *cb_review_unit(bench, (size_t)number, CB_TIME_NONE, arena);
        cb_vec_push(&history->benches, bench);
        bench = NULL;
    }
    bytes = pack_lesson(&taught, lesson != NULL ? arena : &work);
    put_of(history, "lesson", unit, &bytes);
    if (lesson != NULL && !unpack_lesson(&bytes, arena, lesson)) {
        status = cb_err_set(err, CB_FAILED, "what unit %s taught can't be read", unit->id);
    }
    cb_arena_fini(&work);
    cb_bench_free(bench);
    return status;
}

static bool read_lesson(struct cb_history *history, const struct cb_store_unit *unit,
                        struct cb_arena *arena, struct lesson *lesson)
{
    struct bytes bytes;
    return get_of(history, "lesson", unit, arena, &bytes) && unpack_lesson(&bytes, arena, lesson);
}

/* The lesson of the next finished unit, kept or made; it stays here, whether or not the log takes
 * it. */
static enum cb_status take_lesson(struct cb_history *history, bool *made, struct cb_err *err)
{
    const struct cb_store_unit *unit = &history->units[history->next];
    struct lesson lesson = {0};
    enum cb_status status = CB_OK;
    *made = false;
    if (unit->finished) {
        *made = !read_lesson(history, unit, &history->arena, &lesson);
        if (*made) {
            if (history->tell != NULL) {
                history->tell(history->tell_context, history->next, history->unit_count);
            }
            status = make_unit(history, unit, &history->arena, &lesson, NULL, err);
        }
        if (status != CB_OK) {
            return status;
        }
        for (size_t i = 0; i < lesson.row_count; i++) {
            cb_vec_push(&history->rows, lesson.rows[i]);
        }
        history->sums[history->lesson_count] = lesson.sum;
        history->efforts[history->lesson_count++] = lesson.effort;
    }
    history->next++;
    return status;
}

static const char all_name[] = "lessons of all";

/* What all lessons rest on: the sum grows with every event of any of them. */
static char *all_key(const struct cb_history *history, size_t *finished, struct cb_arena *arena)
{
    long long sum = 0;
    *finished = 0;
    for (size_t i = 0; i < history->unit_count; i++) {
        if (history->units[i].finished) {
            (*finished)++;
            sum += history->units[i].last_row;
        }
    }
    return cb_arena_printf(arena, "%lld of %zu", sum, *finished);
}

/* The review of the unit that was finished last, where it is kept. */
static void add_last(struct cb_history *history, struct cb_taught *taught)
{
    const struct cb_store_unit *last = NULL;
    struct bytes bytes;
    for (size_t i = 0; i < history->unit_count; i++) {
        const struct cb_store_unit *unit = &history->units[i];
        last = unit->finished && (last == NULL || unit->last_ms >= last->last_ms) ? unit : last;
    }
    if (last != NULL && get_of(history, "review", last, &taught->arena, &bytes)) {
        taught->last = bytes.at;
        taught->last_length = bytes.length;
    }
}

bool cb_history_kept(struct cb_history *history, struct cb_taught *taught)
{
    struct cb_arena arena = {0};
    struct bytes bytes;
    size_t finished;
    const char *key = all_key(history, &finished, &arena);
    *taught = (struct cb_taught){0};
    bool kept = finished == 0;
    if (kept) {
        cb_taught_make(taught, NULL, 0, NULL, NULL, 0);
    } else {
        kept = get(history, all_name, key, &arena, &bytes) &&
               cb_taught_unpack(bytes.at, bytes.length, taught);
    }
    if (kept) {
        add_last(history, taught);
    }
    cb_arena_fini(&arena);
    return kept;
}

static void keep_taught(struct cb_history *history)
{
    struct cb_arena arena = {0};
    struct bytes bytes;
    size_t finished;
    const char *key = all_key(history, &finished, &arena);
    bytes.at = cb_taught_pack(&history->taught, &arena, &bytes.length);
    if (bytes.at != NULL) {
        put(history, all_name, key, &bytes);
    }
    cb_arena_fini(&arena);
}

enum cb_status cb_history_step(struct cb_history *history, bool *more, struct cb_err *err)
{
    *more = true;
    bool made = false;
    while (!made && history->next < history->unit_count) {
        const enum cb_status status = take_lesson(history, &made, err);
        if (status != CB_OK) {
            return status;
        }
    }
    if (made) {
        return CB_OK;
    }
    if (!history->teaching) {
        history->teaching = true;
        history->taught_done = 0;
        cb_taught_begin(&history->taught, history->rows.items, history->rows.count,
                        history->efforts, history->sums, history->lesson_count);
        return CB_OK;
    }
    *more = cb_taught_step(&history->taught, history->efforts, &history->taught_done);
    if (!*more) {
        keep_taught(history);
    }
    return CB_OK;
}

enum cb_status cb_history_taught(struct cb_history *history, struct cb_taught *taught,
                                 struct cb_err *err)
{
    *taught = (struct cb_taught){0};
    if (history->next == 0 && cb_history_kept(history, taught)) {
        return CB_OK;
    }
    const size_t all = history->lesson_count + history->rows.count;
    bool more = !history->teaching || history->taught_done < all;
    while (more) {
        const enum cb_status status = cb_history_step(history, &more, err);
        if (status != CB_OK) {
            return status;
        }
    }
    *taught = history->taught;
    history->taught = (struct cb_taught){0};
    history->teaching = false;
    add_last(history, taught);
    return CB_OK;
}

enum cb_status cb_history_teach(struct cb_history *history, const struct cb_bench *bench,
                                struct cb_taught *taught, struct cb_err *err)
{
    const enum cb_status status = cb_history_taught(history, taught, err);
    if (status == CB_OK) {
        struct cb_arena arena = {0};
        size_t own_count;
        size_t count;
        const struct cb_row *own = cb_bench_rows(bench, &own_count);
        const struct cb_row *rows =
            cb_rows_merge(taught->rows, taught->row_count, own, own_count, &arena, &count);
        cb_learn_sync(taught->learn, rows, count);
        cb_arena_fini(&arena);
    }
    return status;
}

enum cb_status cb_history_review(struct cb_history *history, const struct cb_store_unit *unit,
                                 struct cb_arena *arena, const struct cb_review **review,
                                 struct cb_err *err)
{
    struct bytes bytes;
    struct cb_review *made = cb_arena_alloc(arena, 1, sizeof *made);
    *review = made;
    if (get_of(history, "review", unit, arena, &bytes) &&
        cb_review_unpack(bytes.at, bytes.length, read_recipe, history, arena, made)) {
        return CB_OK;
    }
    return make_unit(history, unit, arena, NULL, made, err);
}
