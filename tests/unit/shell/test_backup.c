/* SPDX-License-Identifier: MIT */
/* The backups that a bench makes: when, under which names, how many, and never of a bad log. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <dirent.h>
#include <fcntl.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/statvfs.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>
#include <sqlite3.h>

#include "base/str.h"
#include "shell/keeper.h"
#include "shell/store.h"
#include "shell/store_backup.h"
#include "shell/store_restore.h"

static char folder[64], path[96];
static struct cb_store *store;
static struct cb_arena session;
static const struct cb_zone utc;
static struct statvfs disk; /* what the disk says of itself */

int fstatvfs(int fd, struct statvfs *room)
{
    (void)fd;
    *room = disk;
    return 0;
}

static int remove_one(const char *name, const struct stat *status, int type, struct FTW *walk)
{
    (void)status;
    (void)type;
    (void)walk;
    return remove(name);
}

static int open_log(void **state)
{
    (void)state;
    const char *base = getenv("TMPDIR");
    snprintf(folder, sizeof folder, "%.40s/cb-backup-XXXXXX", base && *base ? base : "/tmp");
    if (!mkdtemp(folder)) {
        return -1;
    }
    snprintf(path, sizeof path, "%s/log.db", folder);
    disk = (struct statvfs){.f_bsize = 4096, .f_frsize = 4096, .f_bavail = 1000000};
    return cb_store_open(path, CB_STORE_APPEND, &store, NULL) == CB_OK &&
                   cb_store_lock(store, NULL) == CB_OK
               ? 0
               : -1;
}

static int close_log(void **state)
{
    (void)state;
    cb_store_close(store);
    cb_arena_fini(&session);
    return nftw(folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
}

static void write_lines(size_t count, enum cb_event_kind kind, const char *unit)
{
    const struct cb_event **events = cb_arena_alloc(&session, count, sizeof *events);
    const struct cb_event **stored;
    for (size_t i = 0; i < count; i++) {
        struct cb_event_make make;
        const struct cb_moment at = {1000 + (int64_t)i, (int64_t)i, "boot"};
        cb_event_begin(&make, &session, kind, unit, &at);
        if (kind == CB_EVENT_NOTE) {
            cb_event_add_text(&make, CB_FIELD_TEXT, "rope is on");
        } else if (kind == CB_EVENT_UNIT_BEGUN) {
            cb_event_add_text(&make, CB_FIELD_NAME, "Night watch");
            cb_event_add_int(&make, CB_FIELD_FIGURES, 1);
            cb_event_add_text(&make, CB_FIELD_RECIPE, "name: x");
        }
        events[i] = cb_event_take(&make);
    }
    struct cb_err err = {0};
    if (cb_store_append(store, events, count, &session, &stored, &err) != CB_OK) {
        fail_msg("%s", err.text);
    }
}

static void write_notes(size_t count)
{
    write_lines(count, CB_EVENT_NOTE, NULL);
}

static int64_t noon(const char *day)
{
    int64_t ms = 0;
    assert_true(cb_time_parse(cb_arena_printf(&session, "%sT12:00:00Z", day), &ms));
    return ms;
}

/* All that is due at that moment; the line said, if any. */
static const char *keep(struct cb_keeper *keeper, const char *day)
{
    const char *line = NULL;
    for (int i = 0; cb_keeper_is_due(keeper, noon(day)); i++) {
        const char *said = cb_keeper_step(keeper, noon(day), &session);
        line = said ? said : line;
        assert_true(i < 1000);
    }
    return line;
}

static int by_name(const struct dirent **a, const struct dirent **b)
{
    return strcmp((*a)->d_name, (*b)->d_name);
}

/* The files beside the log that are none of its companions, in order. */
static const char *files(void)
{
    struct cb_str text = {0};
    struct dirent **names;
    const int count = scandir(folder, &names, NULL, by_name);
    for (int i = 0; i < count; i++) {
        const char *name = names[i]->d_name;
        if (name[0] != '.' && strcmp(name, "log.db") != 0 && strncmp(name, "log.db-", 7) != 0 &&
            strcmp(name, "log.db.lock") != 0) {
            cb_str_addf(&text, "%s ", name);
        }
        free(names[i]);
    }
    free(names);
    const char *out = cb_arena_text(&session, cb_str_text(&text));
    cb_str_fini(&text);
    return out;
}

static size_t events_in(const char *name)
{
    struct cb_store *copy;
    const struct cb_event **events;
    size_t count = 0;
    struct cb_err err = {0};
    struct stat status;
    const char *full = cb_arena_printf(&session, "%s/%s", folder, name);
    assert_int_equal(stat(full, &status), 0);
    assert_int_equal(status.st_mode & 0777, 0600);
    if (cb_store_open(full, CB_STORE_READ, &copy, &err) != CB_OK ||
        cb_store_load(copy, NULL, &session, &events, &count, NULL, &err) != CB_OK) {
        fail_msg("%s", err.text);
    }
    assert_null(cb_store_damage(copy, &session));
    cb_store_close(copy);
    return count;
}

static nlink_t names_of(const char *name)
{
    struct stat status;
    assert_int_equal(stat(cb_arena_printf(&session, "%s/%s", folder, name), &status), 0);
    return status.st_nlink;
}

static void one_a_day_and_one_a_month(void **state)
{
    (void)state;
    static const char *const days[] = {"2026-09-30", "2026-10-01", "2026-10-31", "2026-11-01",
                                       "2026-12-30", "2026-12-31", "2027-01-01"};
    struct cb_keeper keeper = {.store = store, .zone = &utc};
    assert_null(keep(&keeper, "2026-09-29"));
    assert_string_equal(files(), ""); /* nothing to keep */
    write_notes(1);
    assert_null(keep(&keeper, days[0]));
    assert_string_equal(files(), "log.db.daily-2026-09-30 log.db.monthly-2026-09 ");
    assert_int_equal(events_in("log.db.daily-2026-09-30"), 1);
    assert_int_equal(events_in("log.db.monthly-2026-09"), 1);
    assert_int_equal(names_of("log.db.daily-2026-09-30"),
                     1); /* what befalls one spares the other */
    write_notes(1);
    assert_false(cb_keeper_is_due(&keeper, noon(days[0])));
    assert_int_equal(events_in("log.db.daily-2026-09-30"), 1);
    struct cb_keeper again = {.store = store, .zone = &utc}; /* started once more that day */
    assert_null(keep(&again, days[0]));
    assert_int_equal(events_in("log.db.daily-2026-09-30"), 1);
    for (size_t i = 1; i < sizeof days / sizeof *days; i++) {
        write_notes(1);
        assert_null(keep(&keeper, days[i]));
    }
    assert_string_equal(files(),
                        "log.db.daily-2026-12-30 log.db.daily-2026-12-31 log.db.daily-2027-01-01 "
                        "log.db.monthly-2026-11 log.db.monthly-2026-12 log.db.monthly-2027-01 ");
    assert_int_equal(events_in("log.db.daily-2027-01-01"), 8);
    assert_int_equal(events_in("log.db.monthly-2026-12"), 6);
    assert_null(keep(&keeper, "2027-01-02")); /* nothing new */
    assert_string_equal(files(),
                        "log.db.daily-2026-12-30 log.db.daily-2026-12-31 log.db.daily-2027-01-01 "
                        "log.db.monthly-2026-11 log.db.monthly-2026-12 log.db.monthly-2027-01 ");
}

/* A clock that ran ahead has left names of years to come: today's stays all the same. */
static void today_is_never_the_one_to_go(void **state)
{
    (void)state;
    struct cb_keeper keeper = {.store = store, .zone = &utc};
    static const char *const ahead[] = {"2099-01-01", "2099-01-02", "2099-01-03"};
    for (size_t i = 0; i < 3; i++) {
        write_notes(1);
        assert_null(keep(&keeper, ahead[i]));
    }
    write_notes(1);
    assert_null(keep(&keeper, "2026-11-28"));
    assert_string_equal(files(),
                        "log.db.daily-2026-11-28 log.db.daily-2099-01-02 log.db.daily-2099-01-03 "
                        "log.db.monthly-2026-11 log.db.monthly-2099-01 ");
}

/* What is written meanwhile may be in it or not; it is whole. */
static void a_press_comes_between_the_pieces(void **state)
{
    (void)state;
    struct cb_keeper keeper = {.store = store, .zone = &utc};
    int pieces = 0;
    write_notes(3000);
    for (; cb_keeper_is_due(&keeper, noon("2026-11-28")); pieces++) {
        assert_null(cb_keeper_step(&keeper, noon("2026-11-28"), &session));
        write_notes(1);
    }
    assert_in_range(pieces, 6, 100);
    assert_in_range(events_in("log.db.daily-2026-11-28"), 3000, 3000 + pieces);
    assert_string_equal(files(), "log.db.daily-2026-11-28 log.db.monthly-2026-11 ");
}

/* Cut off in the middle: nothing of it stays, and what a kill has left goes with the next one. */
static void half_a_backup_is_none(void **state)
{
    (void)state;
    struct cb_keeper keeper = {.store = store, .zone = &utc};
    write_notes(3000);
    for (int i = 0; i < 3; i++) {
        assert_null(cb_keeper_step(&keeper, noon("2026-11-28"), &session));
    }
    assert_string_equal(files(), "log.db.daily-2026-11-28.part ");
    cb_keeper_fini(&keeper);
    assert_string_equal(files(), "");
    static const char *const left[] = {"daily-2026-11-27.part", "backup-v1.part-99"};
    for (size_t i = 0; i < sizeof left / sizeof *left; i++) {
        close(open(cb_arena_printf(&session, "%s.%s", path, left[i]), O_CREAT | O_WRONLY, 0600));
    }
    struct cb_keeper next = {.store = store, .zone = &utc};
    assert_null(keep(&next, "2026-11-28"));
    assert_string_equal(files(), "log.db.daily-2026-11-28 log.db.monthly-2026-11 ");
}

static void spoil(const char *sql)
{
    sqlite3 *db;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

/* A bad log must not push good backups away, whether or not its damage has been met. */
static void a_bad_log_is_not_kept(void **state)
{
    (void)state;
    static const char *const damages[] = {
        "UPDATE event SET fields = '{}' WHERE row = 2500", "DELETE FROM event WHERE row = 10",
        "UPDATE origin SET boot = 'other'", "UPDATE meta SET value = '9' WHERE name = 'seq'"};
    struct cb_keeper first = {.store = store, .zone = &utc};
    write_notes(3000);
    assert_null(keep(&first, "2026-11-01"));
    for (size_t i = 0; i < sizeof damages / sizeof *damages; i++) {
        const char *day = cb_arena_printf(&session, "2026-11-1%zu", i);
        char undo[160];
        cb_store_close(store);
        assert_int_equal(cb_store_open(path, CB_STORE_APPEND, &store, NULL), CB_OK);
        assert_int_equal(cb_store_lock(store, NULL), CB_OK);
        struct cb_keeper keeper = {.store = store, .zone = &utc};
        write_notes(1);
        snprintf(undo, sizeof undo, "%s/good", folder);
        assert_int_equal(cb_store_backup(store, undo, NULL), CB_OK);
        spoil(damages[i]);
        assert_string_equal(keep(&keeper, day), "no backup of the log today: it is damaged; see "
                                                "`coatbell log check`");
        assert_null(keep(&keeper, "2026-11-20")); /* once */
        assert_string_equal(files(), "good log.db.daily-2026-11-01 log.db.monthly-2026-11 ");
        cb_store_close(store);
        unlink(cb_arena_printf(&session, "%s-wal", path));
        assert_int_equal(rename(undo, path), 0);
        assert_int_equal(cb_store_open(path, CB_STORE_APPEND, &store, NULL), CB_OK);
    }
}

/* A bench does not read finished units, so only the copy tells. */
static void a_gap_in_a_finished_unit_is_said(void **state)
{
    (void)state;
    struct cb_keeper keeper = {.store = store, .zone = &utc};
    const struct cb_store_filter open_units = {.open_units = true};
    const struct cb_event **events;
    size_t count = 0;
    write_lines(1, CB_EVENT_UNIT_BEGUN, "a");
    write_lines(3, CB_EVENT_UNIT_OPENED, "a");
    write_lines(1, CB_EVENT_UNIT_FINISHED, "a");
    spoil("DELETE FROM event WHERE row = 3");
    assert_int_equal(cb_store_load(store, &open_units, &session, &events, &count, NULL, NULL),
                     CB_OK);
    assert_null(cb_store_damage(store, &session));
    assert_non_null(strstr(keep(&keeper, "2026-11-28"), "it is damaged; see `coatbell log check`"));
    assert_null(keep(&keeper, "2026-11-29"));
    assert_string_equal(files(), "");
}

/* What the store knows of is said by the bench, when it is met. */
static void known_damage_is_not_said_twice(void **state)
{
    (void)state;
    struct cb_keeper keeper = {.store = store, .zone = &utc};
    const struct cb_event **events;
    size_t count = 0;
    write_notes(3);
    spoil("UPDATE event SET fields = '{}' WHERE row = 2");
    assert_int_equal(cb_store_load(store, NULL, &session, &events, &count, NULL, NULL), CB_OK);
    assert_non_null(cb_store_damage(store, &session));
    assert_null(keep(&keeper, "2026-11-28"));
    assert_string_equal(files(), "");
}

/* As many rows as the last backup has, but of another log, or with another end. */
static void another_history_is_backed_up(void **state)
{
    (void)state;
    const char *good = cb_arena_printf(&session, "%s/good", folder);
    struct cb_restored restored;
    struct cb_keeper keeper = {.store = store, .zone = &utc};
    write_notes(1);
    assert_int_equal(cb_store_backup(store, good, NULL), CB_OK);
    write_notes(1);
    assert_null(keep(&keeper, "2026-11-28"));
    cb_store_close(store);
    assert_int_equal(cb_store_restore(path, good, true, &session, &restored, NULL), CB_OK);
    assert_int_equal(cb_store_open(path, CB_STORE_APPEND, &store, NULL), CB_OK);
    assert_int_equal(cb_store_lock(store, NULL), CB_OK);
    write_notes(1);
    struct cb_keeper next = {.store = store, .zone = &utc};
    assert_null(keep(&next, "2026-11-29"));
    assert_string_equal(files(), "good log.db.daily-2026-11-28 log.db.daily-2026-11-29 "
                                 "log.db.monthly-2026-11 log.db.replaced ");
    assert_int_equal(events_in("log.db.daily-2026-11-29"), 2);
    assert_null(keep(&next, "2026-11-30"));
    assert_int_equal(access(cb_arena_printf(&session, "%s.daily-2026-11-30", path), F_OK), -1);
}

static void give_up_all_but(const char *good)
{
    struct cb_restored restored;
    cb_store_close(store);
    assert_int_equal(cb_store_restore(path, good, true, &session, &restored, NULL), CB_OK);
    assert_int_equal(unlink(restored.kept), 0);
    assert_int_equal(cb_store_open(path, CB_STORE_APPEND, &store, NULL), CB_OK);
    assert_int_equal(cb_store_lock(store, NULL), CB_OK);
}

/* Days after events were given up, the backup that has most of them is still there; until the log
 * has more again. */
static void the_fullest_day_stays(void **state)
{
    (void)state;
    const char *good = cb_arena_printf(&session, "%s/good", folder);
    write_notes(1);
    assert_int_equal(cb_store_backup(store, good, NULL), CB_OK);
    for (int day = 1; day <= 10; day++) {
        write_notes(day == 1    ? 11
                    : day == 2  ? 9
                    : day == 10 ? 6
                                : 1); /* in all 12, 10, 2 to 8, 14 */
        struct cb_keeper keeper = {.store = store, .zone = &utc};
        assert_null(keep(&keeper, cb_arena_printf(&session, "2026-11-%02d", day)));
        if (day <= 2) {
            give_up_all_but(good);
        }
        if (day == 9) {
            assert_string_equal(files(), "good log.db.daily-2026-11-01 log.db.daily-2026-11-07 "
                                         "log.db.daily-2026-11-08 log.db.daily-2026-11-09 "
                                         "log.db.monthly-2026-11 ");
        }
    }
    assert_string_equal(files(), "good log.db.daily-2026-11-08 log.db.daily-2026-11-09 "
                                 "log.db.daily-2026-11-10 log.db.monthly-2026-11 ");
}

static void no_room_is_said_once(void **state)
{
    (void)state;
    struct stat log;
    struct cb_keeper keeper = {.store = store, .zone = &utc};
    write_notes(3000);
    cb_store_close(store); /* all of it is in the file itself */
    assert_int_equal(cb_store_open(path, CB_STORE_APPEND, &store, NULL), CB_OK);
    assert_int_equal(cb_store_lock(store, NULL), CB_OK);
    keeper.store = store;
    assert_int_equal(stat(path, &log), 0);
    disk.f_bavail = (fsblkcnt_t)(2 * log.st_size / 4096 - 1);
    assert_string_equal(keep(&keeper, "2026-11-26"),
                        "no backup of the log today: the disk has less than twice the log's size "
                        "free");
    assert_null(keep(&keeper, "2026-11-27"));
    assert_string_equal(files(), "");
    disk.f_bavail++;
    assert_null(keep(&keeper, "2026-11-28"));
    assert_string_equal(files(), "log.db.daily-2026-11-28 log.db.monthly-2026-11 ");
    disk = (struct statvfs){0}; /* a file system that can't say */
    write_notes(1);
    assert_null(keep(&keeper, "2026-11-29"));
    assert_int_equal(events_in("log.db.daily-2026-11-29"), 3001);
}

static int64_t now_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

/* In a log without -wal who writes keeps readers out. A piece does not wait for it, nor is one
 * tried at every turn; who wants all of it at once waits two seconds. */
static void a_writer_holds_the_log(void **state)
{
    (void)state;
    sqlite3 *writer;
    struct cb_err err = {0};
    write_notes(3000);
    cb_store_close(store);
    spoil("PRAGMA journal_mode = DELETE");
    assert_int_equal(cb_store_open(path, CB_STORE_READ, &store, NULL), CB_OK);
    assert_int_equal(cb_store_lock(store, NULL), CB_OK);
    struct cb_keeper keeper = {.store = store, .zone = &utc};
    const int64_t at = noon("2026-11-28");
    assert_int_equal(sqlite3_open(path, &writer), SQLITE_OK);
    assert_int_equal(sqlite3_exec(writer, "BEGIN EXCLUSIVE", NULL, NULL, NULL), SQLITE_OK);
    const int64_t begun = now_ms();
    int pieces = 0;
    for (int64_t ms = 0; ms < 10000; ms += 10) {
        if (cb_keeper_is_due(&keeper, at + ms)) {
            assert_null(cb_keeper_step(&keeper, at + ms, &session));
            pieces++;
        }
    }
    assert_in_range(pieces, 10, 12);
    assert_in_range(now_ms() - begun, 0, 1000);
    assert_true(cb_keeper_is_due(&keeper, at - 1000000)); /* the clock was set back */
    const char *whole = cb_arena_printf(&session, "%s/whole", folder);
    assert_int_equal(cb_store_backup(store, whole, &err), CB_IO);
    assert_non_null(strstr(err.text, "another program has been writing for over two seconds"));
    assert_in_range(now_ms() - begun, 1900, 10000);
    assert_int_equal(sqlite3_exec(writer, "COMMIT", NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(writer);
    assert_null(keep(&keeper, "2026-11-29"));
    assert_int_equal(events_in("log.db.daily-2026-11-28"), 3000);
}

/* A viewer makes none, nor does who has no file; and one that can't be made is said once. */
static void only_the_writer_keeps(void **state)
{
    (void)state;
    struct cb_store *viewer, *memory;
    write_notes(1);
    assert_int_equal(cb_store_open(path, CB_STORE_APPEND, &viewer, NULL), CB_OK);
    const struct cb_keeper looks_on = {.store = viewer, .zone = &utc};
    assert_false(cb_keeper_is_due(&looks_on, noon("2026-11-28")));
    cb_store_close(viewer);
    const struct cb_keeper none = {.zone = &utc};
    assert_false(cb_keeper_is_due(&none, noon("2026-11-28")));
    assert_int_equal(cb_store_open(NULL, CB_STORE_APPEND, &memory, NULL), CB_OK);
    assert_int_equal(cb_store_lock(memory, NULL), CB_OK);
    struct cb_keeper nowhere = {.store = memory, .zone = &utc};
    assert_null(keep(&nowhere, "2026-11-28"));
    cb_store_close(memory);
    assert_string_equal(files(), "");

    struct cb_keeper keeper = {.store = store, .zone = &utc};
    const char *part = cb_arena_printf(&session, "%s.daily-2026-11-28.part", path);
    assert_int_equal(symlink("nowhere", part), 0); /* a link to nothing is not written through */
    assert_null(keep(&keeper, "2026-11-28"));
    assert_string_equal(files(), "log.db.daily-2026-11-28 log.db.monthly-2026-11 ");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(one_a_day_and_one_a_month, open_log, close_log),
        cmocka_unit_test_setup_teardown(today_is_never_the_one_to_go, open_log, close_log),
        cmocka_unit_test_setup_teardown(a_press_comes_between_the_pieces, open_log, close_log),
        cmocka_unit_test_setup_teardown(half_a_backup_is_none, open_log, close_log),
        cmocka_unit_test_setup_teardown(a_bad_log_is_not_kept, open_log, close_log),
        cmocka_unit_test_setup_teardown(a_gap_in_a_finished_unit_is_said, open_log, close_log),
        cmocka_unit_test_setup_teardown(known_damage_is_not_said_twice, open_log, close_log),
        cmocka_unit_test_setup_teardown(another_history_is_backed_up, open_log, close_log),
        cmocka_unit_test_setup_teardown(the_fullest_day_stays, open_log, close_log),
        cmocka_unit_test_setup_teardown(no_room_is_said_once, open_log, close_log),
        cmocka_unit_test_setup_teardown(a_writer_holds_the_log, open_log, close_log),
        cmocka_unit_test_setup_teardown(only_the_writer_keeps, open_log, close_log),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
