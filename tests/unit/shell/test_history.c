/* SPDX-License-Identifier: MIT */
/* What is kept of finished units says the same as what is made of them anew, and is made anew when
 * what it rests on has changed. On a real log file. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "shell/clock.h"
#include "shell/history.h"
#include "shell/paths.h"
#include "support/big_log.h"

#define EVENTS 4000
#define UNITS  10

static char folder[64], path[96];
static struct cb_arena session;
static const struct cb_kinds *kinds;

static int make_log(void **state)
{
    (void)state;
    const char *base = getenv("TMPDIR");
    const char *root = getenv("CB_ROOT");
    char recipes[4096];
    char last[32];
    struct cb_err err = {0};
    snprintf(folder, sizeof folder, "%.40s/cb-history-XXXXXX", base && *base ? base : "/tmp");
    if (!mkdtemp(folder) || cb_paths_kinds(&session, &kinds, &err) != CB_OK) {
        return -1;
    }
    snprintf(path, sizeof path, "%s/log.db", folder);
    snprintf(recipes, sizeof recipes, "%s/recipes", root ? root : ".");
    const struct big_log plan = {.events = EVENTS, .units = UNITS, .seed = 7, .recipes = recipes};
    return big_log_make(&plan, path, last, &err) == CB_OK ? 0 : -1;
}

static int remove_log(void **state)
{
    (void)state;
    static const char *const endings[] = {"", "-wal", "-shm", ".lock"};
    for (size_t i = 0; i < sizeof endings / sizeof *endings; i++) {
        char name[120];
        snprintf(name, sizeof name, "%s%s", path, endings[i]);
        unlink(name);
    }
    cb_arena_fini(&session);
    return rmdir(folder);
}

static struct cb_history *opened(struct cb_store **store, enum cb_store_mode mode)
{
    struct cb_history *history;
    struct cb_err err = {0};
    assert_int_equal(cb_store_open(path, mode, store, &err), CB_OK);
    assert_int_equal(cb_history_open(*store, kinds, &history, &err), CB_OK);
    return history;
}

static void closed(struct cb_history *history, struct cb_store *store)
{
    cb_history_close(history);
    cb_store_close(store);
}

static void assert_same_taught(const struct cb_taught *a, const struct cb_taught *b)
{
    assert_int_equal(a->unit_count, b->unit_count);
    assert_int_equal(a->row_count, b->row_count);
    assert_true(a->row_count > 0);
    for (size_t i = 0; i < a->row_count; i++) {
        const struct cb_row *row = &a->rows[i];
        assert_string_equal(row->pot, b->rows[i].pot);
        const double x = cb_learn_quantile(a->learn, row->pot, row->pot_sd, row->median_min, .8, 0);
        const double y = cb_learn_quantile(b->learn, row->pot, row->pot_sd, row->median_min, .8, 0);
        assert_memory_equal(&x, &y, sizeof x);
    }
    for (size_t technique = 0; technique < CB_TECHNIQUE_COUNT; technique++) {
        double x[2], y[2];
        cb_hours_effect(a->hours, technique, &x[0], &x[1]);
        cb_hours_effect(b->hours, technique, &y[0], &y[1]);
        assert_memory_equal(x, y, sizeof x);
    }
    assert_int_equal(a->habits.session_count, b->habits.session_count);
    assert_int_equal(a->habits.evening_count, b->habits.evening_count);
    assert_true(a->habits.evening_count > 0);
    assert_memory_equal(a->habits.evenings, b->habits.evenings,
                        a->habits.evening_count * sizeof *a->habits.evenings);
}

static size_t count_tells;
static void count_tell(void *context, size_t done, size_t count)
{
    (void)context;
    assert_true(done < count);
    count_tells++;
}

static void test_kept_says_what_is_made(void **state)
{
    (void)state;
    struct cb_store *store;
    struct cb_err err = {0};
    struct cb_taught made, kept;
    /* Opened for reading nothing can be kept: all is made. */
    struct cb_history *history = opened(&store, CB_STORE_READ);
    cb_history_tell(history, count_tell, NULL);
    count_tells = 0;
    assert_int_equal(cb_history_taught(history, &made, &err), CB_OK);
    assert_int_equal(count_tells, UNITS - 2);
    closed(history, store);

    history = opened(&store, CB_STORE_APPEND);
    cb_history_tell(history, count_tell, NULL);
    bool more = true;
    size_t turns = 0;
    for (; more; turns++) {
        const size_t before = count_tells;
        assert_int_equal(cb_history_step(history, &more, &err), CB_OK);
        assert_true(count_tells - before <= 1); /* no piece makes two */
    }
    assert_int_equal(count_tells, 2 * (UNITS - 2));
    assert_true(turns >= UNITS - 2);
    closed(history, store);

    history = opened(&store, CB_STORE_READ);
    cb_history_tell(history, count_tell, NULL);
    assert_int_equal(cb_history_taught(history, &kept, &err), CB_OK);
    assert_int_equal(count_tells, 2 * (UNITS - 2));
    assert_same_taught(&made, &kept);
    assert_null(made.last);
    assert_non_null(kept.last);
    cb_taught_fini(&kept);
    cb_taught_fini(&made);
    closed(history, store);
}

static void test_reviews_are_kept(void **state)
{
    (void)state;
    struct cb_store *store;
    struct cb_err err = {0};
    struct cb_arena arena = {0};
    struct cb_history *history = opened(&store, CB_STORE_APPEND);
    size_t count;
    const struct cb_store_unit *units = cb_history_units(history, &count);
    assert_int_equal(count, UNITS);
    for (size_t i = 0; i < count; i++) {
        if (!units[i].finished) {
            continue;
        }
        const struct cb_review *first, *again;
        struct cb_bench *bench;
        const struct cb_store_filter filter = {.unit = units[i].id};
        assert_int_equal(cb_history_review(history, &units[i], &arena, &first, &err), CB_OK);
        assert_int_equal(cb_history_review(history, &units[i], &arena, &again, &err), CB_OK);
        assert_int_equal(cb_history_bench(store, &filter, kinds, &bench, NULL, &err), CB_OK);
        const struct cb_review *fresh = cb_review_unit(
            bench, (size_t)cb_bench_find_unit(bench, units[i].id), CB_TIME_NONE, &arena);
        assert_string_equal(first->unit, units[i].id);
        assert_memory_equal(first->spent_ms, fresh->spent_ms, sizeof fresh->spent_ms);
        assert_memory_equal(again->spent_ms, fresh->spent_ms, sizeof fresh->spent_ms);
        assert_memory_equal(again->figure_ms, fresh->figure_ms, sizeof fresh->figure_ms);
        assert_int_equal(again->span_count, fresh->span_count);
        cb_bench_free(bench);
    }
    cb_arena_fini(&arena);
    closed(history, store);
}

/* An event more, and what rested on the log without it is not taken for the truth. */
static void test_made_anew_after_an_event(void **state)
{
    (void)state;
    struct cb_store *store;
    struct cb_err err = {0};
    struct cb_arena arena = {0};
    struct cb_taught taught;
    struct cb_history *history = opened(&store, CB_STORE_APPEND);
    assert_int_equal(cb_history_taught(history, &taught, &err), CB_OK);
    cb_taught_fini(&taught);
    size_t count;
    const struct cb_store_unit *units = cb_history_units(history, &count);
    const char *unit = NULL;
    for (size_t i = 0; i < count; i++) {
        unit = units[i].finished ? units[i].id : unit;
    }
    assert_non_null(unit);
    struct cb_event_make make;
    const struct cb_moment now = cb_clock_now();
    cb_event_begin(&make, &arena, CB_EVENT_NOTE, unit, &now);
    cb_event_add_text(&make, CB_FIELD_TEXT, "one more");
    const struct cb_event *event = cb_event_take(&make);
    const struct cb_event **stored;
    assert_int_equal(cb_store_append(store, &event, 1, &arena, &stored, &err), CB_OK);
    closed(history, store);

    history = opened(&store, CB_STORE_APPEND);
    cb_history_tell(history, count_tell, NULL);
    count_tells = 0;
    assert_int_equal(cb_history_taught(history, &taught, &err), CB_OK);
    assert_int_equal(count_tells, 1);
    cb_taught_fini(&taught);
    closed(history, store);
    cb_arena_fini(&arena);
}

/* The beginning of one unit is damaged: the others teach all the same, and it is said. */
static void test_one_bad_beginning(void **state)
{
    (void)state;
    sqlite3 *db;
    struct cb_store *store;
    struct cb_err err = {0};
    struct cb_arena arena = {0};
    struct cb_taught all, others;
    struct cb_history *history = opened(&store, CB_STORE_READ);
    assert_int_equal(cb_history_taught(history, &all, &err), CB_OK);
    closed(history, store);
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db,
                                  "UPDATE event SET sum = sum + 1 WHERE event = 'unit_begun'"
                                  " AND row = (SELECT min(row) FROM event WHERE"
                                  " event = 'unit_begun'); DELETE FROM derived",
                                  NULL, NULL, NULL),
                     SQLITE_OK);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
    history = opened(&store, CB_STORE_READ);
    assert_int_equal(cb_history_taught(history, &others, &err), CB_OK);
    assert_int_equal(others.unit_count, all.unit_count - 1);
    closed(history, store);
    cb_taught_fini(&all);
    cb_taught_fini(&others);
    cb_arena_fini(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_kept_says_what_is_made),
        cmocka_unit_test(test_reviews_are_kept),
        cmocka_unit_test(test_made_anew_after_an_event),
        cmocka_unit_test(test_one_bad_beginning),
    };
    return cmocka_run_group_tests_name("history", tests, make_log, remove_log);
}
