/* SPDX-License-Identifier: MIT */
#include "shell/history.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "base/digest.h"
#include "base/index.h"
#include "base/mem.h"
#include "base/seal.h"
#include "base/vec.h"
#include "core/bench/rows.h"
#include "shell/yaml.h"

/* What some forty milliseconds are enough for (measured; they only have to be short). */
#define STEP_LESSONS 30

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

/* What is made of a unit that is folded alone, so that it depends on its events and on nothing
 * else. Begun, gone on with, ended: in pieces that keep no key waiting. */
struct made {
    struct cb_bench *bench;
    struct cb_arena arena;
    struct cb_review_work *work; /* until it is ended */
    const struct cb_review *review;
    struct cb_lesson lesson;
    struct cb_str review_bytes,
        lesson_bytes; /* of the review: empty where its recipe was refused */
};

static void made_fini(struct made *made)
{
    if (made->work != NULL) {
        (void)cb_review_end(made->work);
    }
    cb_bench_free(made->bench);
    cb_arena_fini(&made->arena);
    cb_str_fini(&made->review_bytes);
    cb_str_fini(&made->lesson_bytes);
    *made = (struct made){0};
}

struct cb_history {
    struct cb_store *store;
    const struct cb_kinds *kinds;
    struct cb_arena arena;
    const struct cb_store_unit *units;
    size_t unit_count;
    size_t next; /* the first whose lesson has not been added */
    bool teaching, making, learned;
    struct made made; /* of the next one, while it is being made */
    struct cb_taught taught;
    size_t trail_units[CB_TRAIL_UNITS];     /* the last finished ones, oldest first */
    struct cb_trail trails[CB_TRAIL_UNITS]; /* unit NULL: there is none yet */
    size_t trail_count, next_trail;
    void (*tell)(void *context, size_t done, size_t count);
    void *tell_context;
    struct cb_index *recipe_digests; /* units share recipes: each is read once */
    CB_VEC(const struct cb_recipe *) recipes;
    CB_VEC(struct cb_bench *) benches; /* reviews that can't be kept lean on them */
};

enum cb_status cb_history_open(struct cb_store *store, const struct cb_kinds *kinds,
                               struct cb_history **history, struct cb_err *err)
{
    struct cb_history *made = cb_mem_new(1, sizeof *made);
    made->store = store;
    made->kinds = kinds;
    made->recipe_digests = cb_index_new();
    const enum cb_status status =
        cb_store_units(store, &made->arena, &made->units, &made->unit_count, err);
    if (status != CB_OK) {
        cb_history_close(made);
        made = NULL;
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
    made_fini(&history->made);
    cb_taught_fini(&history->taught);
    cb_index_free(history->recipe_digests);
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

/* ---- What is kept ---- */

struct bytes {
    const void *at;
    size_t length;
};

/* Bytes of one kind of machine only: the key says how its numbers lie. */
static char *derived_key(const struct cb_history *history, uint64_t rests_on,
                         struct cb_arena *arena)
{
    const uint16_t one = 1;
    unsigned char low;
    memcpy(&low, &one, 1);
    return cb_arena_printf(arena, "%s/%zu%c/%s/%s/%016" PRIx64, CB_CODE_SUM, sizeof(void *),
                           low == 1 ? 'l' : 'b', history->kinds->edition,
                           cb_store_machine(history->store), rests_on);
}

/* Sealed: a disk that has lost a bit must not show as an hour that was never painted. */
static bool get(const struct cb_history *history, const char *name, const char *key,
                struct cb_arena *arena, struct bytes *bytes)
{
    const bool there = cb_store_derived_get(history->store, name, key, arena, &bytes->at,
                                            &bytes->length, NULL) == CB_OK &&
                       cb_seal_holds(bytes->at, bytes->length);
    bytes->length -= there ? CB_SEAL_SIZE : 0;
    return there;
}

/* A log that can't be written is read all the same. */
static void put(const struct cb_history *history, const char *name, const char *key,
                const struct cb_str *bytes)
{
    static const char room[CB_SEAL_SIZE];
    struct cb_str sealed = {0};
    cb_str_add_n(&sealed, cb_str_text(bytes), bytes->length);
    cb_str_add_n(&sealed, room, sizeof room);
    cb_seal_put(sealed.text, sealed.length);
    (void)cb_store_derived_put(history->store, name, key, sealed.text, sealed.length, NULL);
    cb_str_fini(&sealed);
}

static bool get_of(const struct cb_history *history, const char *what,
                   const struct cb_store_unit *unit, struct cb_arena *arena, struct bytes *bytes)
{
    return get(history, cb_arena_printf(arena, "%s of %s", what, unit->id),
               derived_key(history, unit->rests_on, arena), arena, bytes);
}

static void put_of(const struct cb_history *history, const char *what,
                   const struct cb_store_unit *unit, const struct cb_str *bytes)
{
    struct cb_arena arena = {0};
    put(history, cb_arena_printf(&arena, "%s of %s", what, unit->id),
        derived_key(history, unit->rests_on, &arena), bytes);
    cb_arena_fini(&arena);
}

/* A recipe's text goes by its digest: many units follow one. */
static const char *digest_of(const char *text, struct cb_arena *arena)
{
    return cb_arena_printf(arena, "recipe %016" PRIx64 " %zu",
                           cb_digest_bytes(CB_DIGEST_BEGIN, text, strlen(text)), strlen(text));
}

/* text: NULL where it is to be found under its digest. */
static const struct cb_recipe *read_recipe(const struct cb_history *history, const char *digest,
                                           const char *text, struct cb_arena *arena)
{
    struct bytes bytes;
    struct cb_issues issues = {0};
    if (text == NULL && get(history, digest, digest, arena, &bytes)) {
        text = cb_arena_text_n(arena, bytes.at, bytes.length);
    }
    const struct cb_tree *tree =
        text == NULL ? NULL : cb_yaml_read(text, strlen(text), arena, &issues);
    return tree == NULL ? NULL
                        : cb_recipe_from_tree(tree, cb_arena_text(arena, text), history->kinds,
                                              arena, &issues);
}

static const struct cb_recipe *shared_recipe(struct cb_history *history, const char *digest,
                                             const char *text)
{
    size_t at;
    if (!cb_index_get(history->recipe_digests, digest, &at)) {
        const struct cb_recipe *recipe = read_recipe(history, digest, text, &history->arena);
        if (recipe == NULL) {
            return NULL;
        }
        at = history->recipes.count;
        cb_vec_push(&history->recipes, recipe);
        cb_index_set(history->recipe_digests, digest, at);
    }
    return history->recipes.items[at];
}

/* The review's bytes begin with the digest of its recipe. */
static bool unpack_review(const struct bytes *bytes, const struct cb_recipe *recipe,
                          struct cb_arena *arena, struct cb_review *review)
{
    const size_t head = strlen(bytes->at) + 1;
    return recipe != NULL && cb_review_unpack((const char *)bytes->at + head, bytes->length - head,
                                              recipe, arena, review);
}

static bool get_review(const struct cb_history *history, const struct cb_store_unit *unit,
                       struct cb_arena *arena, struct bytes *bytes)
{
    return get_of(history, "review", unit, arena, bytes) &&
           memchr(bytes->at, 0, bytes->length) != NULL;
}

static enum cb_status make_begin(const struct cb_history *history, const struct cb_store_unit *unit,
                                 struct made *made, struct cb_err *err)
{
    const struct cb_store_filter filter = {.unit = unit->id};
    *made = (struct made){0};
    const enum cb_status status =
        cb_history_bench(history->store, &filter, history->kinds, &made->bench, NULL, err);
    if (status != CB_OK) {
        return status;
    }
    const int number = cb_bench_find_unit(made->bench, unit->id);
    if (number < 0) {
        return cb_err_set(err, CB_FAILED, "unit %s can't be folded", unit->id);
    }
    made->work = cb_review_begin(made->bench, (size_t)number, CB_TIME_NONE, &made->arena);
    return CB_OK;
}

static void make_end(struct made *made)
{
    made->review = cb_review_end(made->work);
    made->work = NULL;
    made->lesson = cb_lesson_of(made->bench, made->review, &made->arena);
    cb_lesson_pack(&made->lesson, &made->lesson_bytes);
    const char *text = made->review->recipe->text;
    if (text != NULL) {
        const char *digest = digest_of(text, &made->arena);
        cb_str_add_n(&made->review_bytes, digest, strlen(digest) + 1);
        cb_review_pack(made->review, &made->review_bytes);
    }
}

static enum cb_status make(const struct cb_history *history, const struct cb_store_unit *unit,
                           struct made *made, struct cb_err *err)
{
    const enum cb_status status = make_begin(history, unit, made, err);
    if (status == CB_OK) {
        while (cb_review_step(made->work)) {
        }
        make_end(made);
    }
    return status;
}

static void keep(const struct cb_history *history, const struct cb_store_unit *unit,
                 struct made *made)
{
    const char *text = made->review->recipe->text;
    if (text != NULL) {
        const char *digest = digest_of(text, &made->arena);
        struct bytes there;
        if (!get(history, digest, digest, &made->arena, &there)) {
            struct cb_str recipe = {0};
            cb_str_add(&recipe, text);
            put(history, digest, digest, &recipe);
            cb_str_fini(&recipe);
        }
        put_of(history, "review", unit, &made->review_bytes);
    }
    put_of(history, "lesson", unit, &made->lesson_bytes);
}

static void tell(const struct cb_history *history, const struct cb_store_unit *unit)
{
    if (history->tell != NULL) {
        history->tell(history->tell_context, (size_t)(unit - history->units), history->unit_count);
    }
}

static bool get_lesson(const struct cb_history *history, const struct cb_store_unit *unit,
                       struct cb_arena *arena, struct cb_lesson *lesson)
{
    struct bytes bytes;
    return get_of(history, "lesson", unit, arena, &bytes) &&
           cb_lesson_unpack(bytes.at, bytes.length, arena, lesson);
}

enum cb_status cb_history_lesson(struct cb_history *history, const struct cb_store_unit *unit,
                                 struct cb_arena *arena, struct cb_lesson *lesson,
                                 struct cb_err *err)
{
    if (get_lesson(history, unit, arena, lesson)) {
        return CB_OK;
    }
    tell(history, unit);
    struct made made;
    enum cb_status status = make(history, unit, &made, err);
    if (status == CB_OK) {
        keep(history, unit, &made);
        if (!cb_lesson_unpack(made.lesson_bytes.text, made.lesson_bytes.length, arena, lesson)) {
            status = cb_err_set(err, CB_FAILED, "what unit %s taught can't be read", unit->id);
        }
    }
    made_fini(&made);
    return status;
}

enum cb_status cb_history_review(struct cb_history *history, const struct cb_store_unit *unit,
                                 struct cb_arena *arena, const struct cb_review **review,
                                 struct cb_err *err)
{
    struct cb_review *found = cb_arena_alloc(arena, 1, sizeof *found);
    struct bytes bytes;
    struct made made;
    *review = found;
    if (get_review(history, unit, arena, &bytes) &&
        unpack_review(&bytes, shared_recipe(history, bytes.at, NULL), arena, found)) {
        return CB_OK;
    }
    const enum cb_status status = make(history, unit, &made, err);
    if (status == CB_OK) {
        keep(history, unit, &made);
        const char *text = made.review->recipe->text;
        bytes = (struct bytes){made.review_bytes.text, made.review_bytes.length};
        if (text == NULL ||
            !unpack_review(&bytes, shared_recipe(history, bytes.at, text), arena, found)) {
            /* Its recipe can't be read: it stays where the fold put something in its place. */
            const int number = cb_bench_find_unit(made.bench, unit->id);
            *found = *cb_review_unit(made.bench, (size_t)number, CB_TIME_NONE, arena);
            cb_vec_push(&history->benches, made.bench);
            made.bench = NULL;
        }
    }
    made_fini(&made);
    return status;
}

static bool is_same(const struct bytes *kept, const struct cb_str *made)
{
    return kept->length == made->length && memcmp(kept->at, made->text, made->length) == 0;
}

enum cb_status cb_history_compare(struct cb_history *history, const struct cb_store_unit *unit,
                                  bool *kept, bool *same, struct cb_err *err)
{
    struct made made;
    struct bytes lesson, review;
    const enum cb_status status = make(history, unit, &made, err);
    *kept = *same = false;
    if (status == CB_OK) {
        const bool has_lesson = get_of(history, "lesson", unit, &made.arena, &lesson);
        const bool has_review = get_of(history, "review", unit, &made.arena, &review);
        *kept = has_lesson && has_review;
        *same = (!has_lesson || is_same(&lesson, &made.lesson_bytes)) &&
                (!has_review || is_same(&review, &made.review_bytes));
    }
    made_fini(&made);
    return status;
}

/* ---- What all of them taught ---- */

static void choose_trails(struct cb_history *history)
{
    for (size_t i = 0; i < history->unit_count; i++) {
        if (!history->units[i].finished) {
            continue;
        }
        size_t at = history->trail_count;
        while (at > 0 &&
               history->units[history->trail_units[at - 1]].last_ms > history->units[i].last_ms) {
            at--;
        }
        if (history->trail_count < CB_TRAIL_UNITS) {
            memmove(&history->trail_units[at + 1], &history->trail_units[at],
                    (history->trail_count++ - at) * sizeof *history->trail_units);
            history->trail_units[at] = i;
        } else if (at > 0) {
            memmove(&history->trail_units[0], &history->trail_units[1],
                    (at - 1) * sizeof *history->trail_units);
            history->trail_units[at - 1] = i;
        }
    }
}

/* Of a unit that has just been made, which may not be kept. */
static void make_trail(struct cb_history *history)
{
    for (size_t i = 0; i < history->trail_count; i++) {
        if (history->trail_units[i] == history->next) {
            history->trails[i] =
                cb_trail_of(history->made.review, history->made.lesson.rows,
                            history->made.lesson.row_count, &history->taught.arena);
        }
    }
}

/* Of the next unit that is kept. */
static void read_trail(struct cb_history *history)
{
    const size_t at = history->next_trail++;
    const struct cb_store_unit *unit = &history->units[history->trail_units[at]];
    struct cb_arena arena = {0};
    struct cb_lesson lesson;
    struct cb_review review;
    struct bytes bytes;
    if (history->trails[at].unit == NULL && get_lesson(history, unit, &arena, &lesson) &&
        get_review(history, unit, &arena, &bytes) &&
        unpack_review(&bytes, shared_recipe(history, bytes.at, NULL), &arena, &review)) {
        history->trails[at] =
            cb_trail_of(&review, lesson.rows, lesson.row_count, &history->taught.arena);
    }
    cb_arena_fini(&arena);
}

static void take_trails(struct cb_history *history)
{
    struct cb_taught *taught = &history->taught;
    struct cb_trail *trails =
        cb_arena_alloc(&taught->arena, history->trail_count + 1, sizeof *trails);
    taught->trail_count = 0; /* it may be asked for once more */
    for (size_t i = 0; i < history->trail_count; i++) {
        if (history->trails[i].unit != NULL) {
            trails[taught->trail_count++] = history->trails[i];
        }
    }
    taught->trails = trails;
}

/* Goes on with the unit that is being made. */
static void make_on(struct cb_history *history)
{
    struct made *made = &history->made;
    if (cb_review_step(made->work)) {
        return;
    }
    make_end(made);
    keep(history, &history->units[history->next], made);
    cb_taught_add(&history->taught, &made->lesson);
    make_trail(history);
    made_fini(made);
    history->making = false;
    history->next++;
}

/* Adds the next finished units: those whose lessons are kept until enough were read, or one that
 * has to be made. */
static enum cb_status add_lessons(struct cb_history *history, struct cb_err *err)
{
    for (size_t read = 0; history->next < history->unit_count && read < STEP_LESSONS; read++) {
        const struct cb_store_unit *unit = &history->units[history->next];
        struct cb_arena arena = {0};
        struct cb_lesson lesson;
        const bool kept = unit->finished && get_lesson(history, unit, &arena, &lesson);
        if (kept) {
            cb_taught_add(&history->taught, &lesson);
        }
        cb_arena_fini(&arena);
        if (unit->finished && !kept) {
            tell(history, unit);
            const enum cb_status status = make_begin(history, unit, &history->made, err);
            history->making = status == CB_OK;
            if (status != CB_OK) {
                made_fini(&history->made);
            }
            if (status != CB_FAILED) {
                return status;
            }
            /* what began it is damaged, or means nothing: the others teach */
        }
        history->next++;
    }
    return CB_OK;
}

/* The review of the unit that was finished last, where it is kept, with a recipe of its own. */
static void add_last(struct cb_history *history)
{
    struct cb_taught *taught = &history->taught;
    const struct cb_store_unit *last = NULL;
    for (size_t i = 0; i < history->unit_count; i++) {
        const struct cb_store_unit *unit = &history->units[i];
        last = unit->finished && (last == NULL || unit->last_ms >= last->last_ms) ? unit : last;
    }
    struct cb_arena *arena = &taught->arena;
    struct cb_review *review = cb_arena_alloc(arena, 1, sizeof *review);
    struct bytes bytes;
    if (last != NULL && get_review(history, last, arena, &bytes) &&
        unpack_review(&bytes, read_recipe(history, bytes.at, NULL, arena), arena, review)) {
        taught->last = review;
    }
}

enum cb_status cb_history_step(struct cb_history *history, bool *more, struct cb_err *err)
{
    *more = true;
    if (!history->teaching) {
        history->teaching = true;
        cb_taught_begin(&history->taught);
        choose_trails(history);
    }
    if (history->making) {
        make_on(history);
        return CB_OK;
    }
    if (history->next < history->unit_count) {
        return add_lessons(history, err);
    }
    if (!history->learned) {
        history->learned = !cb_taught_step(&history->taught);
    } else if (history->next_trail < history->trail_count) {
        read_trail(history);
    } else {
        add_last(history);
        take_trails(history);
        *more = false;
    }
    return CB_OK;
}

enum cb_status cb_history_taught(struct cb_history *history, struct cb_taught *taught,
                                 struct cb_err *err)
{
    enum cb_status status = CB_OK;
    bool more = true;
    while (status == CB_OK && more) {
        status = cb_history_step(history, &more, err);
    }
    *taught = history->taught;
    history->taught = (struct cb_taught){0};
    return status;
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
