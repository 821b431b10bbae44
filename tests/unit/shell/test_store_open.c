/* SPDX-License-Identifier: MIT */
/* What an opening reads of a log: the open units, and all that takes something of them back,
 * without a walk through the past. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>
#include <sqlite3.h>

#include "shell/store.h"
#include "shell/store_internal.h"
#include "shell/store_map.h"

#define COUNT(list) (sizeof(list) / sizeof *(list))

static struct cb_store *opened(const char *path)
{
    struct cb_store *store = NULL;
    struct cb_err err = {0};
    if (cb_store_open(path, CB_STORE_APPEND, &store, &err) != CB_OK) {
        fail_msg("%s", err.text);
    }
    return store;
}

static const struct cb_event *made(struct cb_arena *arena, enum cb_event_kind kind,
                                   const char *unit, int64_t at_ms)
{
    struct cb_event_make make;
    const struct cb_moment at = {at_ms, 0, NULL};
    cb_event_begin(&make, arena, kind, unit, &at);
    if (kind == CB_EVENT_UNIT_BEGUN) {
        cb_event_add_text(&make, CB_FIELD_NAME, unit);
        cb_event_add_int(&make, CB_FIELD_FIGURES, 10);
        cb_event_add_text(&make, CB_FIELD_RECIPE, "coatbell: 1\n");
    } else if (kind == CB_EVENT_COAT_ON) {
        cb_event_add_int(&make, CB_FIELD_FIGURE, 1);
        cb_event_add_int(&make, CB_FIELD_STAGE, 1);
        cb_event_add_int(&make, CB_FIELD_COAT, 1);
    } else if (kind == CB_EVENT_CLIMATE_SET) {
        cb_event_add_number(&make, CB_FIELD_TEMP_C, 19.5);
        cb_event_add_number(&make, CB_FIELD_RH_PCT, 62);
        cb_event_add_text(&make, CB_FIELD_AIR, "still");
        cb_event_add_text(&make, CB_FIELD_FROM, "typed");
    }
    return cb_event_take(&make);
}

static const struct cb_event *append_one(struct cb_store *store, struct cb_arena *arena,
                                         const struct cb_event *event)
{
    const struct cb_event **stored;
    struct cb_err err = {0};
    if (cb_store_append(store, &event, 1, arena, &stored, &err) != CB_OK) {
        fail_msg("%s", err.text);
    }
    return stored[0];
}

static bool has_id(const struct cb_event **events, size_t count, const struct cb_event *event)
{
    for (size_t i = 0; i < count; i++) {
        if (strcmp(events[i]->id, event->id) == 0) {
            return true;
        }
    }
    return false;
}

static enum cb_status give_one(void *context, const struct cb_event **event, struct cb_err *err)
{
    const struct cb_event **next = context;
    (void)err;
    *event = *next;
    *next = NULL;
    return CB_OK;
}

static const struct cb_event *undo(struct cb_store *store, struct cb_arena *arena,
                                   const struct cb_event *event, int64_t at_ms)
{
    struct cb_event_make make;
    struct cb_moment at = {at_ms, 0, NULL};
    cb_event_begin(&make, arena, CB_EVENT_UNDONE, NULL, &at);
    cb_event_add_text(&make, CB_FIELD_OF, event->press);
    return append_one(store, arena, cb_event_take(&make));
}

/* The clock may have gone back before it was undone; and a press is named by its own machine. */
static void what_takes_back_is_found_whatever_the_clock_said(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_err err = {0};
    struct cb_store *store = opened(NULL);
    const struct cb_event *done[4], *back[5], **events;
    size_t count;
    done[0] = append_one(store, &arena, made(&arena, CB_EVENT_UNIT_BEGUN, "one", 50));
    done[1] = append_one(store, &arena, made(&arena, CB_EVENT_COAT_ON, "one", 55));
    done[2] = append_one(store, &arena, made(&arena, CB_EVENT_UNIT_FINISHED, "one", 60));
    done[3] = undo(store, &arena, done[1], 70);
    append_one(store, &arena, made(&arena, CB_EVENT_SESSION_OPENED, NULL, 1000));
    append_one(store, &arena, made(&arena, CB_EVENT_UNIT_BEGUN, "two", 1000));
    const struct cb_event *coat =
        append_one(store, &arena, made(&arena, CB_EVENT_COAT_ON, "two", 1100));
    const struct cb_event *air =
        append_one(store, &arena, made(&arena, CB_EVENT_CLIMATE_SET, NULL, 1200));
    append_one(store, &arena, made(&arena, CB_EVENT_UNIT_BEGUN, "three", 1300));
    const struct cb_event *end =
        append_one(store, &arena, made(&arena, CB_EVENT_UNIT_FINISHED, "three", 1400));
    back[0] = undo(store, &arena, coat, 500);
    back[1] = undo(store, &arena, back[0], 400);
    back[2] = undo(store, &arena, air, 300);
    back[3] = undo(store, &arena, back[2], 200);
    back[4] = undo(store, &arena, end, 100);
    struct cb_event foreign = *back[0];
    foreign.id = foreign.press = "foreign";
    foreign.machine = "elsewhere";
    foreign.seq = 1;
    const struct cb_event *next = &foreign;
    assert_int_equal(cb_store_import(store, give_one, &next, &count, &err), CB_OK);
    assert_int_equal(count, 1);
    size_t aims[2]; /* read again it aims at nothing twice */
    for (int times = 0; times < 2; times++) {
        const struct cb_store_filter open = {.open_units = true};
        assert_int_equal(cb_store_load(store, &open, &arena, &events, &count, NULL, NULL), CB_OK);
        aims[times] = store->map->targets.count;
    }
    assert_true(aims[0] > 0);
    assert_int_equal(aims[1], aims[0]);
    for (int whole = 0; whole < 2; whole++) { /* with the whole map it is no other answer */
        const struct cb_store_filter open = {.open_units = true};
        const struct cb_store_unit *units;
        assert_int_equal(cb_store_load(store, &open, &arena, &events, &count, NULL, NULL), CB_OK);
        for (size_t i = 0; i < COUNT(back); i++) {
            assert_true(has_id(events, count, back[i]));
        }
        assert_true(has_id(events, count, end));
        for (size_t i = 0; i < COUNT(done); i++) {
            assert_false(has_id(events, count, done[i]));
        }
        assert_false(has_id(events, count, &foreign));
        assert_int_equal(cb_store_units(store, &arena, &units, &count, &err), CB_OK);
    }
    cb_store_close(store);
    cb_arena_fini(&arena);
}

enum { PAINTED = 3000 };
struct past {
    int given;
    struct cb_arena arena;
};

static enum cb_status give_past(void *context, const struct cb_event **event, struct cb_err *err)
{
    struct past *past = context;
    (void)err;
    *event = NULL;
    if (past->given == 2 * PAINTED) {
        return CB_OK;
    }
    const int64_t at_ms = 2000 + past->given;
    struct cb_event_make make;
    struct cb_moment at = {at_ms, 0, NULL};
    if (past->given % 2 == 0) {
        struct cb_event *coat = cb_arena_alloc(&past->arena, 1, sizeof *coat);
        *coat = *made(&past->arena, CB_EVENT_COAT_ON, "past", at_ms);
        coat->id = coat->press = cb_arena_printf(&past->arena, "c%d", past->given);
        *event = coat;
    } else {
        cb_event_begin(&make, &past->arena, CB_EVENT_UNDONE, NULL, &at);
        cb_event_add_text(&make, CB_FIELD_OF,
                          cb_arena_printf(&past->arena, "c%d", past->given - 1));
        make.event.id = make.event.press = cb_arena_printf(&past->arena, "u%d", past->given);
        *event = cb_event_take(&make);
    }
    past->given++;
    return CB_OK;
}

/* What was painted and taken back in units that are finished is not read again at every start:
 * counted in pages that SQLite was asked for. */
static void the_past_is_not_read_at_a_start(void **state)
{
    (void)state;
    const struct cb_store_filter open = {.open_units = true};
    struct past past = {0};
    struct cb_arena arena = {0};
    char folder[300], path[320];
    const char *tmp = getenv("TMPDIR");
    snprintf(folder, sizeof folder, "%s/open.XXXXXX", tmp != NULL ? tmp : "/tmp");
    assert_non_null(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/log.db", folder);
    struct cb_store *store = opened(path);
    const struct cb_event **events;
    size_t count;
    int hits = 0, misses = 0, most;
    append_one(store, &arena, made(&arena, CB_EVENT_UNIT_BEGUN, "past", 1000));
    assert_int_equal(cb_store_import(store, give_past, &past, &count, NULL), CB_OK);
    append_one(store, &arena, made(&arena, CB_EVENT_UNIT_FINISHED, "past", 100000));
    append_one(store, &arena, made(&arena, CB_EVENT_SESSION_OPENED, NULL, 200000));
    append_one(store, &arena, made(&arena, CB_EVENT_UNIT_BEGUN, "now", 200000));
    cb_store_close(store);
    store = opened(path);
    sqlite3_db_status(store->db, SQLITE_DBSTATUS_CACHE_HIT, &hits, &most, 1);
    sqlite3_db_status(store->db, SQLITE_DBSTATUS_CACHE_MISS, &misses, &most, 1);
    assert_int_equal(cb_store_load(store, &open, &arena, &events, &count, NULL, NULL), CB_OK);
    assert_true(count >= 2 && count < 10);
    sqlite3_db_status(store->db, SQLITE_DBSTATUS_CACHE_HIT, &hits, &most, 1);
    sqlite3_db_status(store->db, SQLITE_DBSTATUS_CACHE_MISS, &misses, &most, 1);
    if (hits + misses > PAINTED / 4) {
        fail_msg("%d pages for %zu events", hits + misses, count);
    }
    cb_store_close(store);
    cb_arena_fini(&arena);
    cb_arena_fini(&past.arena);
}

static void run_sql(const char *path, const char *sql)
{
    sqlite3 *db;
    char *fault = NULL;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    if (sqlite3_exec(db, sql, NULL, NULL, &fault) != SQLITE_OK) {
        fail_msg("%s", fault);
    }
    sqlite3_close(db);
}

/* A row that its index still has, and the table no more, is missed wherever it lay among those that
 * are read together. */
static void a_row_that_is_gone_is_missed_among_others(void **state)
{
    (void)state;
    const struct cb_store_filter open = {.open_units = true};
    for (int gone = 3; gone <= 6; gone++) {
        struct cb_arena arena = {0};
        char folder[300], path[320], sql[512];
        const char *tmp = getenv("TMPDIR");
        snprintf(folder, sizeof folder, "%s/gone.XXXXXX", tmp != NULL ? tmp : "/tmp");
        assert_non_null(mkdtemp(folder));
        snprintf(path, sizeof path, "%s/log.db", folder);
        struct cb_store *store = opened(path);
        const struct cb_event **events;
        size_t count;
        append_one(store, &arena, made(&arena, CB_EVENT_SESSION_OPENED, NULL, 1000));
        append_one(store, &arena, made(&arena, CB_EVENT_UNIT_BEGUN, "now", 1000));
        for (int i = 0; i < 4; i++) {
            append_one(store, &arena, made(&arena, CB_EVENT_CLIMATE_SET, NULL, 1100 + i));
        }
        cb_store_close(store);
        snprintf(sql, sizeof sql,
                 "CREATE TABLE kept AS SELECT * FROM sqlite_schema WHERE name = 'event_bench';"
                 "PRAGMA writable_schema = ON; DELETE FROM sqlite_schema WHERE name = "
                 "'event_bench'; PRAGMA writable_schema = RESET; DELETE FROM event WHERE row = %d;"
                 "PRAGMA writable_schema = ON; INSERT INTO sqlite_schema SELECT * FROM kept;"
                 "PRAGMA writable_schema = RESET; DROP TABLE kept",
                 gone);
        run_sql(path, sql);
        assert_int_equal(cb_store_open(path, CB_STORE_READ, &store, NULL), CB_OK);
        assert_int_equal(cb_store_load(store, &open, &arena, &events, &count, NULL, NULL), CB_OK);
        assert_int_equal(count, 5);
        snprintf(sql, sizeof sql, "1 event is damaged (row %d) and left out", gone);
        assert_non_null(strstr(cb_store_damage(store, &arena), sql));
        cb_store_close(store);
        cb_arena_fini(&arena);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_takes_back_is_found_whatever_the_clock_said),
        cmocka_unit_test(the_past_is_not_read_at_a_start),
        cmocka_unit_test(a_row_that_is_gone_is_missed_among_others),
    };
    return cmocka_run_group_tests_name("store_open", tests, NULL, NULL);
}
