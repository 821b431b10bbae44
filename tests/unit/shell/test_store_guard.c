/* SPDX-License-Identifier: MIT */
/* A log that is written over or cut short under an open store, and all that must not look so. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>
#include <sqlite3.h>

#include "shell/store.h"
#include "support/events.h"

static char folder[64];

/* In a shell of its own: to open and close the log here would let go of SQLite's locks. */
static void run(const char *format, ...) __attribute__((format(printf, 1, 2)));
static void run(const char *format, ...)
{
    char command[500];
    int used = snprintf(command, sizeof command, "cd '%s' && ", folder);
    va_list list;
    va_start(list, format);
    vsnprintf(command + used, sizeof command - (size_t)used, format, list);
    va_end(list);
    if (system(command) != 0) {
        fail_msg("failed: %s", command);
    }
}

static int make_folder(void **state)
{
    (void)state;
    const char *base = getenv("TMPDIR");
    snprintf(folder, sizeof folder, "%.40s/cb-guard-XXXXXX", base && *base ? base : "/tmp");
    return mkdtemp(folder) ? 0 : -1;
}

static int remove_folder(void **state)
{
    (void)state;
    run("rm -rf '%s'", folder);
    return 0;
}

static char *path_of(const char *name)
{
    static char path[100];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    return path;
}

static struct cb_store *opened(const char *name)
{
    struct cb_store *store = NULL;
    struct cb_err err = {0};
    if (cb_store_open(path_of(name), CB_STORE_APPEND, &store, &err) != CB_OK) {
        fail_msg("%s", err.text);
    }
    return store;
}

static enum cb_status append(struct cb_store *store, struct cb_err *err)
{
    struct cb_arena arena = {0};
    struct cb_event_make make;
    const struct cb_event **stored;
    cb_event_begin(&make, &arena, CB_EVENT_NOTE, NULL, &(struct cb_moment){1, 1, "boot"});
    cb_event_add_text(&make, CB_FIELD_TEXT, "a coat, and a word on it that takes some room");
    const struct cb_event *event = cb_event_take(&make);
    const enum cb_status status = cb_store_append(store, &event, 1, &arena, &stored, err);
    cb_arena_fini(&arena);
    return status;
}

static void append_good(struct cb_store *store, int times)
{
    struct cb_err err = {0};
    for (int i = 0; i < times; i++) {
        if (append(store, &err) != CB_OK) {
            fail_msg("a false alarm: %s", err.text);
        }
    }
}

static size_t count_of(struct cb_store *store)
{
    struct cb_arena arena = {0};
    const struct cb_event **events;
    size_t count = 0;
    assert_int_equal(cb_store_load(store, NULL, &arena, &events, &count, NULL, NULL), CB_OK);
    cb_arena_fini(&arena);
    return count;
}

static void sql(const char *text)
{
    sqlite3 *db;
    assert_int_equal(sqlite3_open(path_of("log.db"), &db), SQLITE_OK);
    sqlite3_busy_timeout(db, 2000);
    assert_int_equal(sqlite3_exec(db, text, NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(db);
}

/* Logs for the wounds: another one, one of this log as it was, another program's. */
static void make_others(void)
{
    struct cb_store *store = opened("other.db");
    append_good(store, 60);
    cb_store_close(store);
    store = opened("log.db");
    append_good(store, 40);
    cb_store_close(store);
    run("cp log.db older.db");
    sqlite3 *db;
    assert_int_equal(sqlite3_open(path_of("foreign.db"), &db), SQLITE_OK);
    static const char text[] = "PRAGMA journal_mode=WAL; CREATE TABLE recipes(a)";
    assert_int_equal(sqlite3_exec(db, text, NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(db);
}

static const char *const wounds[] = {
    "cp other.db log.db",
    "cp older.db log.db",
    "cp foreign.db log.db",
    "cp copy.db log.db", /* VACUUM INTO */
    "cp letter log.db",
    "head -c $(stat -c %s log.db) /dev/urandom >noise && cp noise log.db",
    ": >log.db",
    "truncate -s 50 log.db",
    "truncate -s -1 log.db",
    "truncate -s $(($(stat -c %s log.db) / 2)) log.db",
};

static void assert_not_saved(struct cb_store *store, const char *wound)
{
    struct cb_err err = {0};
    if (append(store, &err) != CB_IO || !strstr(err.text, "written over or cut short")) {
        fail_msg("%s: not noticed: %s", wound, err.text);
    }
}

static void written_over_is_noticed_at_the_next_press(void **state)
{
    (void)state;
    make_others();
    struct cb_store *bench = opened("log.db");
    append_good(bench, 20);
    char into[160];
    snprintf(into, sizeof into, "PRAGMA wal_checkpoint(FULL); VACUUM INTO '%s'",
             path_of("copy.db"));
    sql(into);
    run("echo a letter >letter");
    for (size_t i = 0; i < sizeof wounds / sizeof *wounds; i++) {
        append_good(bench, 2);
        const size_t before = count_of(bench);
        run("cp log.db whole.db && %s", wounds[i]);
        assert_not_saved(bench, wounds[i]);
        assert_not_saved(bench, wounds[i]);
        run("cp whole.db log.db"); /* put back */
        append_good(bench, 1);
        assert_int_equal(count_of(bench), before + 1);
        sql("PRAGMA wal_checkpoint(FULL)");
    }
    const size_t count = count_of(bench);
    cb_store_close(bench);
    run("! ls log.db-wal* 2>/dev/null");
    bench = opened("log.db");
    assert_int_equal(count_of(bench), count);
    cb_store_close(bench);
}

/* A log that no checkpoint has reached yet: the file has but its head. */
static void so_it_is_in_a_new_log(void **state)
{
    (void)state;
    make_others();
    run("cp other.db copy.db && echo a letter >letter");
    for (size_t i = 0; i < sizeof wounds / sizeof *wounds; i++) {
        run("rm -f log.db log.db-* older.db && cp other.db older.db");
        struct cb_store *bench = opened("log.db");
        append_good(bench, 5);
        run("%s", wounds[i]);
        assert_not_saved(bench, wounds[i]);
        cb_store_close(bench);
    }
}

/* What was put there is not mixed with what the -wal still holds of the old log. */
static void what_lies_there_is_left_alone(void **state)
{
    (void)state;
    make_others();
    static const char *const over[] = {"other.db", "older.db"};
    for (size_t i = 0; i < 2; i++) {
        run("cp older.db log.db");
        struct cb_store *bench = opened("log.db");
        append_good(bench, 10);
        sql("PRAGMA wal_checkpoint(FULL)");
        append_good(bench, 10);
        run("cp %s log.db", over[i]);
        assert_not_saved(bench, over[i]);
        cb_store_close(bench);
        run("cmp %s log.db && test -e log.db-wal.aside%s && ! test -e log.db-wal", over[i],
            i ? "-2" : "");
        bench = opened("log.db");
        assert_int_equal(count_of(bench), i ? 40 : 60);
        append_good(bench, 1);
        cb_store_close(bench);
    }
}

/* All that writes to the file beside an open store and may. */
static void nothing_else_alarms(void **state)
{
    (void)state;
    static const char *const deeds[] = {
        "PRAGMA wal_checkpoint(PASSIVE)",
        "PRAGMA wal_checkpoint(FULL)",
        "PRAGMA wal_checkpoint(RESTART)",
        "PRAGMA wal_checkpoint(TRUNCATE)",
        "VACUUM",
        "DELETE FROM derived",
        "CREATE TABLE more(a); DROP TABLE more",
    };
    struct dice dice = {7};
    struct cb_store *bench = opened("log.db");
    struct cb_store *other = NULL;
    size_t added = 0;
    for (int i = 0; i < 200; i++) {
        const size_t way = (size_t)dice_below(&dice, 14);
        if (way < sizeof deeds / sizeof *deeds) {
            sql(deeds[way]);
        } else if (way == 7) {
            run("touch log.db");
        } else if (way == 8) {
            run("cp log.db backup.db && cat log.db >/dev/null");
        } else if (way == 9 && other) {
            cb_store_close(other);
            other = NULL;
        } else if (way == 10 && !other) {
            other = opened("log.db");
        } else if (other) {
            append_good(other, (int)dice_below(&dice, 12));
            continue;
        }
        append_good(bench, 1);
        added++;
        if (dice_below(&dice, 40) == 0) {
            cb_store_close(bench);
            bench = opened("log.db");
        }
    }
    cb_store_close(other);
    assert_true(count_of(bench) > added);
    cb_store_close(bench);
}

/* Another process brings the -wal into the file again and again, while presses come. */
static void nor_does_a_busy_neighbour(void **state)
{
    (void)state;
    int go[2];
    assert_int_equal(pipe(go), 0);
    const pid_t child = fork(); /* before the log is open here: SQLite is not made for a fork */
    if (child == 0) {
        char byte;
        bool fine = read(go[0], &byte, 1) == 1;
        for (int i = 0; fine && i < 400; i++) {
            sqlite3 *db;
            fine =
                sqlite3_open(path_of("log.db"), &db) == SQLITE_OK &&
                sqlite3_exec(db, "PRAGMA wal_checkpoint(PASSIVE)", NULL, NULL, NULL) == SQLITE_OK;
            sqlite3_close(db);
        }
        _exit(fine ? 0 : 1);
    }
    struct cb_store *bench = opened("log.db");
    assert_int_equal(write(go[1], "g", 1), 1);
    int status = 0;
    size_t count = 0;
    while (waitpid(child, &status, WNOHANG) == 0) {
        append_good(bench, 1);
        count++;
    }
    close(go[0]);
    close(go[1]);
    assert_int_equal(status, 0);
    append_good(bench, 1);
    assert_int_equal(count_of(bench), count + 1);
    cb_store_close(bench);
}

/* The log gets another name while a press waits for another writer. */
static void a_log_that_moves_meanwhile_is_seen(void **state)
{
    (void)state;
    int go[2];
    int ready[2];
    char byte;
    struct cb_err err = {0};
    assert_int_equal(pipe(go) | pipe(ready), 0);
    const pid_t child = fork(); /* before the log is open here: SQLite is not made for a fork */
    if (child == 0) {
        sqlite3 *db = NULL;
        char away[120];
        snprintf(away, sizeof away, "%s.away", path_of("log.db"));
        bool fine = read(go[0], &byte, 1) == 1 &&
                    sqlite3_open(path_of("log.db"), &db) == SQLITE_OK &&
                    sqlite3_exec(db, "BEGIN IMMEDIATE", NULL, NULL, NULL) == SQLITE_OK;
        fine = write(ready[1], "g", 1) == 1 && fine;
        usleep(300000); /* the press waits by then; if not, it is refused all the same */
        fine = rename(path_of("log.db"), away) == 0 && fine;
        fine = sqlite3_exec(db, "COMMIT", NULL, NULL, NULL) == SQLITE_OK && fine;
        sqlite3_close(db);
        _exit(fine ? 0 : 1);
    }
    struct cb_store *bench = opened("log.db");
    append_good(bench, 1);
    assert_int_equal(write(go[1], "g", 1), 1);
    assert_int_equal(read(ready[0], &byte, 1), 1);
    assert_int_equal(append(bench, &err), CB_IO);
    assert_non_null(strstr(err.text, "moved or deleted while it was open"));
    int status = 1;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_int_equal(status, 0);
    close(go[0]);
    close(go[1]);
    close(ready[0]);
    close(ready[1]);
    run("mv log.db.away log.db");
    append_good(bench, 1);
    assert_int_equal(count_of(bench), 2);
    cb_store_close(bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
#define TEST(f) cmocka_unit_test_setup_teardown(f, make_folder, remove_folder)
        TEST(written_over_is_noticed_at_the_next_press),
        TEST(so_it_is_in_a_new_log),
        TEST(what_lies_there_is_left_alone),
        TEST(nothing_else_alarms),
        TEST(nor_does_a_busy_neighbour),
        TEST(a_log_that_moves_meanwhile_is_seen),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
