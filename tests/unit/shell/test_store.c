/* SPDX-License-Identifier: MIT */
/* The store on real files in a folder of its own. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <fcntl.h>
#include <ftw.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>
#include <sqlite3.h>

#include "base/str.h"
#include "base/vec.h"
#include "shell/jsonl.h"
#include "shell/migrate.h"
#include "shell/store.h"
#include "shell/store_sum.h"
#include "support/events.h"

static char folder[64];
static char path[256];

static int remove_one(const char *name, const struct stat *status, int type, struct FTW *walk)
{
    (void)status;
    (void)type;
    (void)walk;
    return remove(name);
}

static int make_folder(void **state)
{
    (void)state;
    const char *base = getenv("TMPDIR");
    snprintf(folder, sizeof folder, "%.40s/cb-store-XXXXXX", base && *base ? base : "/tmp");
    if (!mkdtemp(folder)) {
        return -1;
    }
    snprintf(path, sizeof path, "%s/home/log.db", folder);
    return 0;
}

static int remove_folder(void **state)
{
    (void)state;
    return nftw(folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
}

static struct cb_store *opened(enum cb_store_mode mode)
{
    struct cb_store *store = NULL;
    struct cb_err err = {0};
    if (cb_store_open(path, mode, &store, &err) != CB_OK) {
        fail_msg("%s", err.text);
    }
    return store;
}

static const struct cb_event *note(struct cb_arena *arena, const char *text, int64_t at_ms)
{
    struct cb_event_make make;
    struct cb_moment at = {at_ms, 77, "boot-1"};
    cb_event_begin(&make, arena, CB_EVENT_NOTE, NULL, &at);
    cb_event_add_text(&make, CB_FIELD_TEXT, text);
    return cb_event_take(&make);
}

static const struct cb_event *made(struct cb_arena *arena, enum cb_event_kind kind,
                                   const char *unit, int64_t at_ms)
{
    struct cb_event_make make;
    struct cb_moment at = {at_ms, at_ms, "boot-1"};
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
    } else if (kind == CB_EVENT_CONFIDENCE_SET) {
        cb_event_add_number(&make, CB_FIELD_PCT, 90);
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

static size_t count_all(struct cb_store *store)
{
    struct cb_arena arena = {0};
    const struct cb_event **events;
    size_t count = 0;
    assert_int_equal(cb_store_load(store, NULL, &arena, &events, &count, NULL, NULL), CB_OK);
    cb_arena_fini(&arena);
    return count;
}

static int mode_of(const char *name)
{
    struct stat status;
    assert_int_equal(lstat(name, &status), 0);
    return (int)(status.st_mode & 07777);
}

static void a_new_log_is_private(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    char name[300];
    umask(0);
    struct cb_store *store = opened(CB_STORE_APPEND);
    append_one(store, &arena, note(&arena, "x", 1));
    assert_int_equal(cb_store_lock(store, NULL), CB_OK);
    snprintf(name, sizeof name, "%s/home", folder);
    assert_int_equal(mode_of(name), 0700);
    static const char *const endings[] = {"", "-wal", "-shm", ".lock"};
    for (size_t i = 0; i < sizeof endings / sizeof *endings; i++) {
        snprintf(name, sizeof name, "%s%s", path, endings[i]);
        assert_int_equal(mode_of(name), 0600);
    }
    cb_store_close(store);
    cb_arena_fini(&arena);
}

static void random_events_come_back_the_same(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct dice dice = {99};
    CB_VEC(const struct cb_event *) kept = {0};
    struct cb_store *store = opened(CB_STORE_APPEND);
    for (int round = 0; round < 300; round++) {
        const struct cb_event *press[3];
        const struct cb_event **stored;
        struct cb_err err = {0};
        size_t count = 1 + (size_t)dice_below(&dice, 3);
        for (size_t i = 0; i < count; i++) {
            press[i] = dice_event(&dice, &arena, dice_below(&dice, 4) == 0);
        }
        if (cb_store_append(store, press, count, &arena, &stored, &err) != CB_OK) {
            fail_msg("round %d: %s", round, err.text);
        }
        for (size_t i = 0; i < count; i++) {
            cb_vec_push(&kept, stored[i]);
        }
    }
    cb_store_close(store);
    store = opened(CB_STORE_READ);
    const struct cb_event **events;
    size_t count;
    long long last;
    assert_int_equal(cb_store_load(store, NULL, &arena, &events, &count, &last, NULL), CB_OK);
    assert_int_equal(count, kept.count);
    assert_int_equal(last, (long long)count);
    for (size_t i = 0; i < count; i++) {
        assert_true(cb_event_equal(events[i], kept.items[i]));
    }
    cb_store_close(store);
    cb_vec_free(&kept);
    cb_arena_fini(&arena);
}

static void a_press_is_named_once(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_store *store = opened(CB_STORE_APPEND);
    const struct cb_event *press[2] = {note(&arena, "a", 5), note(&arena, "b", 5)};
    const struct cb_event **stored;
    assert_int_equal(cb_store_append(store, press, 2, &arena, &stored, NULL), CB_OK);
    assert_string_equal(stored[0]->press, stored[0]->id);
    assert_string_equal(stored[1]->press, stored[0]->id);
    assert_string_not_equal(stored[1]->id, stored[0]->id);
    assert_int_equal(stored[0]->seq, 1);
    assert_int_equal(stored[1]->seq, 2);
    assert_int_equal(strlen(stored[0]->machine), 16);
    /* tried again as it stands: nothing new, and the same answer */
    const struct cb_event **again;
    assert_int_equal(cb_store_append(store, stored, 2, &arena, &again, NULL), CB_OK);
    assert_true(cb_event_equal(again[0], stored[0]) && cb_event_equal(again[1], stored[1]));
    assert_int_equal(count_all(store), 2);
    cb_store_close(store);
    /* the count goes on, the machine stays */
    store = opened(CB_STORE_APPEND);
    const struct cb_event *next = append_one(store, &arena, note(&arena, "c", 1));
    assert_int_equal(next->seq, 3);
    assert_string_equal(next->machine, stored[0]->machine);
    cb_store_close(store);
    cb_arena_fini(&arena);
}

static void memory_will_do(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_store *store = NULL;
    assert_int_equal(cb_store_open(NULL, CB_STORE_APPEND, &store, NULL), CB_OK);
    assert_int_equal(append_one(store, &arena, note(&arena, "a", 5))->seq, 1);
    assert_int_equal(cb_store_lock(store, NULL), CB_OK);
    assert_int_equal(cb_store_watch_fd(store), -1);
    assert_int_equal(count_all(store), 1);
    cb_store_close(store);
    cb_store_close(NULL);
    cb_arena_fini(&arena);
}

static void two_writers_and_a_viewer_share_a_log(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_err err = {0};
    struct cb_store *bench = opened(CB_STORE_APPEND);
    struct cb_store *other = opened(CB_STORE_APPEND);
    assert_int_equal(cb_store_lock(bench, NULL), CB_OK);
    assert_true(cb_store_is_locked(bench));
    assert_int_equal(cb_store_lock(other, &err), CB_FAILED);
    assert_non_null(strstr(err.text, "another bench"));
    assert_false(cb_store_is_free(other));

    struct pollfd wake = {.fd = cb_store_watch_fd(other), .events = POLLIN};
    assert_true(wake.fd >= 0);
    cb_store_changed(other);
    const struct cb_event **events;
    size_t count;
    long long last;
    assert_int_equal(cb_store_load(other, NULL, &arena, &events, &count, &last, NULL), CB_OK);
    assert_int_equal(count, 0);
    const struct cb_event *first = append_one(bench, &arena, note(&arena, "a", 1));
    assert_int_equal(poll(&wake, 1, 5000), 1);
    assert_true(cb_store_changed(other));
    assert_false(cb_store_changed(other));
    struct cb_store_filter after = {.after_row = last, .open_units = true};
    assert_int_equal(cb_store_load(other, &after, &arena, &events, &count, &last, NULL), CB_OK);
    assert_int_equal(count, 1);
    assert_true(cb_event_equal(events[0], first));

    /* a short command writes beside the bench; the count goes on across both */
    assert_int_equal(append_one(other, &arena, note(&arena, "b", 1))->seq, 2);
    assert_int_equal(append_one(bench, &arena, note(&arena, "c", 1))->seq, 3);

    /* what one writes itself is no change to it */
    cb_store_changed(other);
    append_one(other, &arena, note(&arena, "d", 1));
    assert_false(cb_store_changed(other));

    /* the writer goes: the viewer hears of it and may take over */
    cb_store_changed(other);
    cb_store_close(bench);
    assert_int_equal(poll(&wake, 1, 5000), 1);
    assert_true(cb_store_is_free(other));
    assert_int_equal(cb_store_lock(other, NULL), CB_OK);
    cb_store_close(other);
    cb_arena_fini(&arena);
}

static void run_sql(const char *sql)
{
    sqlite3 *db;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

static void assert_refused(enum cb_store_mode mode, enum cb_status status, const char *why)
{
    struct cb_store *store = NULL;
    struct cb_err err = {0};
    assert_int_equal(cb_store_open(path, mode, &store, &err), status);
    assert_null(store);
    if (!strstr(err.text, why)) {
        fail_msg("\"%s\" does not say \"%s\"", err.text, why);
    }
}

static void what_is_no_log_is_left_alone(void **state)
{
    (void)state;
    assert_refused(CB_STORE_READ, CB_IO, "coatbell begin");
    assert_int_equal(access(path, F_OK), -1);
    cb_store_close(opened(CB_STORE_APPEND));
    FILE *file = fopen(path, "w");
    fputs("This is a letter, and long enough that nobody takes it for an empty file.\n", file);
    for (int i = 0; i < 1000; i++) {
        fputs("And on it goes.\n", file);
    }
    fclose(file);
    assert_refused(CB_STORE_APPEND, CB_DATA, "no coatbell log; give another with --log");
    assert_int_equal(unlink(path), 0);
    run_sql("create table recipes(a)");
    assert_refused(CB_STORE_APPEND, CB_DATA, "another program");
    assert_refused(CB_STORE_READ, CB_DATA, "another program");
    run_sql("pragma user_version=99; pragma application_id=0x63626c6c");
    assert_refused(CB_STORE_APPEND, CB_DATA, "newer coatbell (log version 99");
}

static void what_is_no_file_is_refused_at_once(void **state)
{
    (void)state;
    char name[300];
    snprintf(name, sizeof name, "%s/home", folder);
    assert_int_equal(mkdir(name, 0700), 0);
    assert_int_equal(mkfifo(path, 0600), 0);
    assert_refused(CB_STORE_APPEND, CB_IO, "no regular file");
    assert_refused(CB_STORE_READ, CB_IO, "no regular file");
    assert_int_equal(unlink(path), 0);
    assert_int_equal(symlink("nowhere", path), 0);
    assert_refused(CB_STORE_APPEND, CB_IO, "a link to nothing");
    assert_int_equal(unlink(path), 0);
    assert_int_equal(mkdir(path, 0700), 0);
    assert_refused(CB_STORE_APPEND, CB_IO, "no regular file");
    assert_int_equal(rmdir(path), 0);
    snprintf(name, sizeof name, "%s-wal", path);
    assert_int_equal(mkfifo(name, 0600), 0);
    assert_refused(CB_STORE_APPEND, CB_IO, "move it out of the way");
    assert_int_equal(unlink(name), 0);
    /* a link to a log is followed, and its companions lie beside the log itself */
    snprintf(name, sizeof name, "%s/other.db", folder);
    char kept[sizeof path];
    memcpy(kept, path, sizeof path);
    memcpy(path, name, strlen(name) + 1);
    cb_store_close(opened(CB_STORE_APPEND));
    memcpy(path, kept, sizeof path);
    assert_int_equal(symlink(name, path), 0);
    struct cb_store *store = opened(CB_STORE_APPEND);
    assert_int_equal(cb_store_lock(store, NULL), CB_OK);
    snprintf(name, sizeof name, "%s/other.db.lock", folder);
    assert_int_equal(access(name, F_OK), 0);
    cb_store_close(store);
}

static void a_log_that_may_not_be_written_can_be_read(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    if (geteuid() == 0) {
        /* root may write everything: a child gives that up first */
        pid_t child = fork();
        if (child > 0) {
            int status;
            assert_int_equal(waitpid(child, &status, 0), child);
            assert_int_equal(status, 0);
            return;
        }
        if (chown(folder, 65534, 65534) != 0 || setgid(65534) != 0 || setuid(65534) != 0) {
            _exit(0);
        }
    }
    bool child = getuid() == 65534;
    char home[300];
    struct cb_store *store = opened(CB_STORE_APPEND);
    append_one(store, &arena, note(&arena, "a", 1));
    cb_store_close(store);
    snprintf(home, sizeof home, "%s/home", folder);
    bool fine = chmod(path, 0400) == 0 && chmod(home, 0500) == 0;
    struct cb_err err = {0};
    fine =
        fine && cb_store_open(path, CB_STORE_READ, &store, &err) == CB_OK && count_all(store) == 1;
    const struct cb_event *event = note(&arena, "b", 2);
    const struct cb_event **stored;
    fine = fine && cb_store_append(store, &event, 1, &arena, &stored, &err) == CB_IO;
    cb_store_close(store);
    store = NULL;
    fine = fine && cb_store_open(path, CB_STORE_APPEND, &store, &err) == CB_IO &&
           strstr(err.text, "permissions");
    cb_store_close(store);
    chmod(home, 0700);
    chmod(path, 0600);
    cb_arena_fini(&arena);
    if (child) {
        _exit(fine ? 0 : 1);
    }
    assert_true(fine);
}

/* A limit on the size of files stands for a full disk: SQLite sees the short write alike. */
static void a_full_disk_loses_nothing_and_can_be_tried_again(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_store *store = opened(CB_STORE_APPEND);
    size_t kept = 0;
    struct rlimit old;
    signal(SIGXFSZ, SIG_IGN);
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &old), 0);
    struct rlimit tight = {.rlim_cur = 200000, .rlim_max = old.rlim_max};
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &tight), 0);
    const struct cb_event *press = NULL;
    const struct cb_event **stored = NULL;
    struct cb_err err = {0};
    enum cb_status status = CB_OK;
    for (int i = 0; i < 5000 && status == CB_OK; i++) {
        press = note(&arena, "a note that takes some room on the disk, as notes do", i);
        status = cb_store_append(store, &press, 1, &arena, &stored, &err);
        kept += status == CB_OK;
    }
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &old), 0);
    assert_int_equal(status, CB_IO);
    assert_non_null(strstr(err.text, "disk"));
    assert_non_null(stored[0]->id);
    const struct cb_event **again;
    assert_int_equal(cb_store_append(store, stored, 1, &arena, &again, &err), CB_OK);
    assert_string_equal(again[0]->id, stored[0]->id);
    assert_int_equal(again[0]->seq, (int64_t)kept + 1);
    assert_int_equal(count_all(store), kept + 1);
    cb_store_close(store);
    store = opened(CB_STORE_READ);
    assert_int_equal(count_all(store), kept + 1);
    cb_store_close(store);
    cb_arena_fini(&arena);
}

static void a_log_moved_away_is_noticed(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    char name[300];
    struct cb_store *store = opened(CB_STORE_APPEND);
    append_one(store, &arena, note(&arena, "a", 1));
    snprintf(name, sizeof name, "%s/away.db", folder);
    assert_int_equal(rename(path, name), 0);
    const struct cb_event *press = note(&arena, "b", 2);
    const struct cb_event **stored;
    struct cb_err err = {0};
    assert_int_equal(cb_store_append(store, &press, 1, &arena, &stored, &err), CB_IO);
    assert_non_null(strstr(err.text, "moved or deleted"));
    assert_int_equal(rename(name, path), 0);
    append_one(store, &arena, stored[0]);
    assert_int_equal(count_all(store), 2);
    cb_store_close(store);
    cb_arena_fini(&arena);
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

static void filters_give_what_the_bench_needs(void **state)
{
    (void)state;
    enum {
        OLD_CONFIDENCE,
        OLD_UNDONE,
        OLD_SESSION,
        FIRST_UNIT,
        FIRST_COAT,
        FIRST_CLOSED,
        CLIMATE,
        SESSION,
        SECOND_UNIT,
        SECOND_COAT,
        COAT_UNDONE,
        COUNT
    };
    static const struct {
        enum cb_event_kind kind;
        const char *unit;
        int64_t at_ms;
        bool open, first; /* wanted for the open units, for the first unit */
    } rows[COUNT] = {
        [OLD_CONFIDENCE] = {CB_EVENT_CONFIDENCE_SET, NULL, 10, true, true},
        [OLD_UNDONE] = {CB_EVENT_UNDONE, NULL, 11, true, true},
        [OLD_SESSION] = {CB_EVENT_SESSION_OPENED, NULL, 90, false, true},
        [FIRST_UNIT] = {CB_EVENT_UNIT_BEGUN, "one", 100, false, true},
        [FIRST_COAT] = {CB_EVENT_COAT_ON, "one", 110, false, true},
        [FIRST_CLOSED] = {CB_EVENT_UNIT_FINISHED, "one", 120, false, true},
        [CLIMATE] = {CB_EVENT_CLIMATE_SET, NULL, 130, true, true},
        [SESSION] = {CB_EVENT_SESSION_OPENED, NULL, 190, true, true},
        [SECOND_UNIT] = {CB_EVENT_UNIT_BEGUN, "two", 200, true, true},
        [SECOND_COAT] = {CB_EVENT_COAT_ON, "two", 210, true, false},
        [COAT_UNDONE] = {CB_EVENT_UNDONE, NULL, 220, true, true},
    };
    struct cb_arena arena = {0};
    struct cb_store *store = opened(CB_STORE_APPEND);
    const struct cb_event *stored[COUNT];
    for (int i = 0; i < COUNT; i++) {
        const struct cb_event *event = made(&arena, rows[i].kind, rows[i].unit, rows[i].at_ms);
        if (rows[i].kind == CB_EVENT_UNDONE) {
            struct cb_event_make make;
            struct cb_moment at = {rows[i].at_ms, 0, NULL};
            cb_event_begin(&make, &arena, CB_EVENT_UNDONE, NULL, &at);
            cb_event_add_text(&make, CB_FIELD_OF, stored[i - 1]->press);
            event = cb_event_take(&make);
        }
        stored[i] = append_one(store, &arena, event);
    }
    const struct cb_store_filter filters[2] = {{.open_units = true}, {.unit = "one"}};
    for (int f = 0; f < 2; f++) {
        const struct cb_event **events;
        size_t count;
        assert_int_equal(cb_store_load(store, &filters[f], &arena, &events, &count, NULL, NULL),
                         CB_OK);
        for (int i = 0; i < COUNT; i++) {
            bool wanted = f == 0 ? rows[i].open : rows[i].first;
            if (wanted && !has_id(events, count, stored[i])) {
                fail_msg("filter %d: event %d is missing", f, i);
            }
            if (!wanted && has_id(events, count, stored[i])) {
                fail_msg("filter %d: event %d is too much", f, i);
            }
        }
    }
    /* the finishing undone: the unit is open again */
    struct cb_event_make make;
    struct cb_moment at = {300, 0, NULL};
    cb_event_begin(&make, &arena, CB_EVENT_UNDONE, NULL, &at);
    cb_event_add_text(&make, CB_FIELD_OF, stored[FIRST_CLOSED]->press);
    append_one(store, &arena, cb_event_take(&make));
    const struct cb_event **events;
    size_t count;
    assert_int_equal(cb_store_load(store, &filters[0], &arena, &events, &count, NULL, NULL), CB_OK);
    assert_int_equal(count, COUNT + 1);
    cb_store_close(store);
    cb_arena_fini(&arena);
}

static void derived_data_wants_its_very_key(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    const void *bytes;
    size_t length;
    struct cb_store *store = opened(CB_STORE_APPEND);
    assert_int_equal(cb_store_derived_put(store, "fits", "k1", "abc", 3, NULL), CB_OK);
    assert_int_equal(cb_store_derived_put(store, "fits", "k2", "", 0, NULL), CB_OK);
    assert_int_equal(cb_store_derived_get(store, "fits", "k1", &arena, &bytes, &length, NULL),
                     CB_FAILED);
    assert_int_equal(cb_store_derived_get(store, "fits", "k2", &arena, &bytes, &length, NULL),
                     CB_OK);
    assert_int_equal(length, 0);
    assert_int_equal(count_all(store), 0);
    cb_store_close(store);
    cb_arena_fini(&arena);
}

/* Migration machinery on steps of its own: an older log is backed up, then brought up to date. */
static void an_older_log_is_backed_up_first(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_store *store = opened(CB_STORE_APPEND);
    append_one(store, &arena, note(&arena, "a", 1));
    cb_store_close(store);
    struct cb_migrate_step steps[8];
    size_t count = cb_migrate_step_count;
    memcpy(steps, cb_migrate_steps, count * sizeof *steps);
    steps[count++] = (struct cb_migrate_step){"CREATE TABLE added(x INTEGER) STRICT;"};
    sqlite3 *db;
    struct cb_err err = {0};
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(cb_migrate(db, path, path, false, steps, count, &err), CB_DATA);
    assert_non_null(strstr(err.text, "older log"));
    assert_int_equal(cb_migrate(db, path, path, true, steps, count, &err), CB_OK);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
    char name[300];
    snprintf(name, sizeof name, "%s.backup-v%zu", path, count - 1);
    assert_int_equal(mode_of(name), 0600);
    assert_refused(CB_STORE_READ, CB_DATA, "newer coatbell (log version 3");
    memcpy(path, name, strlen(name) + 1);
    store = opened(CB_STORE_READ);
    assert_int_equal(count_all(store), 1);
    cb_store_close(store);
    cb_arena_fini(&arena);
}

/* When the copy is begun: another one's is there. */
static int be_quicker(unsigned kind, void *context, void *stmt, void *sql)
{
    (void)kind;
    (void)stmt;
    if (strncmp(sql, "VACUUM", 6) == 0) {
        const int fd = open(context, O_CREAT | O_EXCL | O_WRONLY, 0600);
        assert_true(fd >= 0 && close(fd) == 0);
    }
    return 0;
}

/* It was made of the log as it was, which this one may be no more. */
static void a_backup_of_another_that_was_quicker_stays(void **state)
{
    (void)state;
    struct stat status;
    struct cb_migrate_step steps[8];
    size_t count = cb_migrate_step_count;
    cb_store_close(opened(CB_STORE_APPEND));
    memcpy(steps, cb_migrate_steps, count * sizeof *steps);
    steps[count++] = (struct cb_migrate_step){"CREATE TABLE added(x INTEGER) STRICT;"};
    sqlite3 *db;
    char name[300];
    snprintf(name, sizeof name, "%s.backup-v%zu", path, count - 1);
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_trace_v2(db, SQLITE_TRACE_STMT, be_quicker, name), SQLITE_OK);
    assert_int_equal(cb_migrate(db, path, path, true, steps, count, NULL), CB_OK);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
    assert_int_equal(stat(name, &status), 0);
    assert_int_equal(status.st_size, 0);
    snprintf(name, sizeof name, "%s.backup-v%zu.part-%ld", path, count - 1, (long)getpid());
    assert_int_equal(access(name, F_OK), -1);
}

/* A log of the first version has no sums: it gets them, after a backup, and every event is whole.
 */
static void old_events_get_their_sums(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_err err = {0};
    sqlite3 *db;
    snprintf(path, sizeof path, "%s/log.db", folder);
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(cb_migrate(db, path, path, true, cb_migrate_steps, 1, &err), CB_OK);
    assert_int_equal(
        sqlite3_exec(
            db,
            "INSERT INTO origin VALUES(1, 'm', 'b');"
            "INSERT INTO event(id, at, event, unit, fields, press, origin, seq, boot_ms) VALUES"
            " ('a', 1, 'unit_begun', 'u', '{\"name\":\"U\",\"figures\":1,\"recipe\":\"\"}',"
            " 'a', 1, 1, 10);"
            "INSERT INTO event(id, at, event, unit, figure, stage, coat, press, origin, seq,"
            " boot_ms) VALUES ('b', 2, 'coat_on', 'u', 1, 1, 1, 'b', 1, 2, 20);"
            "INSERT INTO event(id, at, event, temp_c, rh_pct, press) VALUES"
            " ('c', 3, 'climate_set', 20.5, 50, 'c');"
            "UPDATE origin SET machine = 'elsewhere';",
            NULL, NULL, NULL),
        SQLITE_OK);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
    assert_refused(CB_STORE_READ, CB_DATA, "an older log (version 1 of 2)");
    struct cb_store *store = opened(CB_STORE_APPEND);
    const struct cb_store_unit *units;
    size_t count;
    assert_int_equal(count_all(store), 3);
    assert_null(cb_store_damage(store, &arena));
    assert_int_equal(cb_store_units(store, &arena, &units, &count, &err), CB_OK);
    assert_int_equal(count, 1);
    assert_int_equal(units[0].event_count, 2);
    append_one(store, &arena, note(&arena, "d", 4));
    const struct cb_store_filter of_unit = {.unit = "u"};
    const struct cb_event **events;
    assert_int_equal(cb_store_load(store, &of_unit, &arena, &events, &count, NULL, &err), CB_OK);
    assert_null(cb_store_damage(store, &arena));
    cb_store_close(store);
    char name[300];
    snprintf(name, sizeof name, "%s.backup-v1", path);
    assert_int_equal(mode_of(name), 0600);
    cb_arena_fini(&arena);
}

/* One more of our own; and all that stands in the log is a line that is read back the same. */
static const struct cb_event *append_and_look(struct cb_store *store, struct cb_arena *arena)
{
    const struct cb_event *own = append_one(store, arena, note(arena, "mine", 50));
    const struct cb_event **events;
    size_t count;
    assert_int_equal(cb_store_load(store, NULL, arena, &events, &count, NULL, NULL), CB_OK);
    for (size_t i = 0; i < count; i++) {
        struct cb_str line = {0};
        struct cb_err err = {0};
        const struct cb_event *back;
        cb_jsonl_encode(events[i], &line);
        if (cb_jsonl_decode(line.text, line.length, arena, &back, &err) != CB_OK) {
            fail_msg("%s: %s", line.text, err.text);
        }
        assert_true(cb_event_equal(back, events[i]));
        cb_str_fini(&line);
    }
    return own;
}

static enum cb_status give_one(void *context, const struct cb_event **event, struct cb_err *err)
{
    const struct cb_event **next = context;
    (void)err;
    *event = *next;
    *next = NULL;
    return CB_OK;
}

static enum cb_status import_one(struct cb_store *store, const struct cb_event *event,
                                 struct cb_err *err)
{
    size_t added;
    return cb_store_import(store, give_one, &event, &added, err);
}

/* A line that says it is of this very log moves the count; however far ahead it claims to be, what
 * is pressed afterwards is still a line that import takes, and comes after it. */
static void a_line_far_ahead_in_our_name_spoils_nothing(void **state)
{
    (void)state;
    static const struct {
        int64_t seq;
        bool taken;
    } claims[] = {
        {INT64_MIN, false},
        {-1, false},
        {0, true},
        {7, true},
        {1000, true},
        {INT64_C(281474976710656) - (INT64_C(1) << 40), true},
        {INT64_C(281474976710656) - (INT64_C(1) << 40) + 1, false},
        {INT64_C(281474976710656), false},
        {INT64_C(281474976710657), false},
        {INT64_C(9007199254740991), false},
        {INT64_MAX - 1, false},
        {INT64_MAX, false},
    };
    struct cb_arena arena = {0};
    for (size_t i = 0; i < sizeof claims / sizeof *claims; i++) {
        struct cb_store *store = NULL;
        struct cb_err err = {0};
        assert_int_equal(cb_store_open(NULL, CB_STORE_APPEND, &store, &err), CB_OK);
        const struct cb_event *first = append_and_look(store, &arena);
        struct cb_event claim = *first;
        claim.id = "claim";
        claim.seq = claims[i].seq;
        enum cb_status status = import_one(store, &claim, &err);
        assert_int_equal(status, claims[i].taken ? CB_OK : CB_DATA);
        if (!claims[i].taken && !strstr(err.text, "seq: ")) {
            fail_msg("\"%s\" does not say what is wrong", err.text);
        }
        const struct cb_event *last = append_and_look(store, &arena);
        assert_string_equal(last->machine, first->machine);
        assert_int_equal(last->seq, 1 + (claims[i].taken && claim.seq > 1 ? claim.seq : 1));
        /* said once more it is there already, whatever it claims */
        if (claims[i].taken) {
            assert_int_equal(import_one(store, &claim, &err), CB_OK);
        }
        /* of another log it claims nothing of ours */
        claim.id = "foreign";
        claim.machine = "elsewhere";
        status = import_one(store, &claim, &err);
        assert_int_equal(status,
                         claim.seq < 0 || claim.seq > INT64_C(281474976710656) ? CB_DATA : CB_OK);
        assert_int_equal(append_and_look(store, &arena)->seq, last->seq + 1);
        cb_store_close(store);
    }
    cb_arena_fini(&arena);
}

/* A count that is at its end, or was never one: the log goes on under another name, from 1. */
static void a_count_at_its_end_begins_again_under_another_name(void **state)
{
    (void)state;
    static const char *const counts[] = {
        "9223372036854775807",  "99999999999999999999999", "9007199254740991",
        "281474976710655",      "280375465082881",         "-1",
        "-9223372036854775808",
    };
    struct cb_arena arena = {0};
    for (size_t i = 0; i < sizeof counts / sizeof *counts; i++) {
        struct cb_store *store = opened(CB_STORE_APPEND);
        const struct cb_event *before = append_and_look(store, &arena);
        cb_store_close(store);
        sqlite3 *db;
        char sql[160];
        snprintf(sql, sizeof sql,
                 "UPDATE meta SET value='%s', sum=row_sum(name, '%s') WHERE name='seq'", counts[i],
                 counts[i]);
        assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
        assert_int_equal(cb_store_sum_functions(db), SQLITE_OK);
        assert_int_equal(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK);
        assert_int_equal(sqlite3_close(db), SQLITE_OK);
        store = opened(CB_STORE_APPEND);
        const struct cb_event *after = append_and_look(store, &arena);
        assert_string_not_equal(after->machine, before->machine);
        assert_int_equal(strlen(after->machine), strlen(before->machine));
        assert_int_equal(after->seq, 1);
        cb_store_close(store);
        store = opened(CB_STORE_APPEND); /* and stays at that */
        assert_string_equal(append_and_look(store, &arena)->machine, after->machine);
        cb_store_close(store);
    }
    cb_arena_fini(&arena);
}

/* What SQLite keeps as 0 is summed as 0. */
static void a_minus_nought_comes_back_whole(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_event_make make;
    struct cb_moment at = {1000, 0, NULL};
    struct cb_store *store = opened(CB_STORE_APPEND);
    cb_event_begin(&make, &arena, CB_EVENT_CLIMATE_SET, NULL, &at);
    cb_event_add_number(&make, CB_FIELD_TEMP_C, -0.0);
    cb_event_add_number(&make, CB_FIELD_RH_PCT, 50);
    append_one(store, &arena, cb_event_take(&make));
    assert_int_equal(count_all(store), 1);
    assert_null(cb_store_damage(store, &arena));
    cb_store_close(store);
    cb_arena_fini(&arena);
}

/* Whichever row is gone, and if it is the last. */
static void a_row_that_is_gone_is_missed(void **state)
{
    (void)state;
    static const char *const gone[] = {"row = 1", "row = 2", "row = 4"};
    for (size_t i = 0; i < sizeof gone / sizeof *gone; i++) {
        struct cb_arena arena = {0};
        struct cb_store *store = opened(CB_STORE_APPEND);
        for (int n = 0; n < 4; n++) {
            append_one(store, &arena, note(&arena, "a", 1000 + n));
        }
        cb_store_close(store);
        char sql[80];
        snprintf(sql, sizeof sql, "DELETE FROM event WHERE %s", gone[i]);
        run_sql(sql);
        store = opened(CB_STORE_READ);
        assert_non_null(cb_store_damage(store, &arena));
        cb_store_close(store);
        assert_refused(CB_STORE_APPEND, CB_DATA, "missing events: 1");
        unlink(path);
        cb_arena_fini(&arena);
    }
}

enum { CHAIN = 60000 };
struct chain {
    int given;
    struct cb_arena arena;
};

static enum cb_status give_link(void *context, const struct cb_event **event, struct cb_err *err)
{
    struct chain *chain = context;
    (void)err;
    *event = NULL;
    if (chain->given == CHAIN) {
        return CB_OK;
    }
    struct cb_event_make make;
    struct cb_moment at = {1000 + chain->given, 0, NULL};
    if (chain->given % 500 == 0) {
        cb_arena_fini(&chain->arena);
    }
    if (chain->given == 0) {
        cb_event_begin(&make, &chain->arena, CB_EVENT_UNIT_BEGUN, "u", &at);
        cb_event_add_text(&make, CB_FIELD_NAME, "U");
        cb_event_add_int(&make, CB_FIELD_FIGURES, 1);
        cb_event_add_text(&make, CB_FIELD_RECIPE, "");
    } else {
        cb_event_begin(&make, &chain->arena, CB_EVENT_UNDONE, NULL, &at);
        cb_event_add_text(&make, CB_FIELD_OF,
                          cb_arena_printf(&chain->arena, "p%d", chain->given - 1));
    }
    make.event.id = make.event.press = cb_arena_printf(&chain->arena, "p%d", chain->given);
    chain->given++;
    *event = cb_event_take(&make);
    return CB_OK;
}

/* Each undoes the one before: as deep as no hand goes, and no deeper than the stack. */
static void a_chain_of_undoings_ends(void **state)
{
    (void)state;
    struct chain chain = {0};
    struct cb_arena arena = {0};
    struct cb_store *store = opened(CB_STORE_APPEND);
    const struct cb_store_unit *units;
    size_t count;
    struct cb_err err = {0};
    assert_int_equal(cb_store_import(store, give_link, &chain, &count, &err), CB_OK);
    assert_int_equal(count, CHAIN);
    assert_int_equal(cb_store_units(store, &arena, &units, &count, &err), CB_OK);
    cb_store_close(store);
    cb_arena_fini(&arena);
    cb_arena_fini(&chain.arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_new_log_is_private, make_folder, remove_folder),
        cmocka_unit_test_setup_teardown(random_events_come_back_the_same, make_folder,
                                        remove_folder),
        cmocka_unit_test_setup_teardown(a_press_is_named_once, make_folder, remove_folder),
        cmocka_unit_test_setup_teardown(memory_will_do, make_folder, remove_folder),
        cmocka_unit_test_setup_teardown(two_writers_and_a_viewer_share_a_log, make_folder,
                                        remove_folder),
        cmocka_unit_test_setup_teardown(what_is_no_log_is_left_alone, make_folder, remove_folder),
        cmocka_unit_test_setup_teardown(what_is_no_file_is_refused_at_once, make_folder,
                                        remove_folder),
        cmocka_unit_test_setup_teardown(a_log_that_may_not_be_written_can_be_read, make_folder,
                                        remove_folder),
        cmocka_unit_test_setup_teardown(a_full_disk_loses_nothing_and_can_be_tried_again,
                                        make_folder, remove_folder),
        cmocka_unit_test_setup_teardown(a_backup_of_another_that_was_quicker_stays, make_folder,
                                        remove_folder),
        cmocka_unit_test_setup_teardown(a_log_moved_away_is_noticed, make_folder, remove_folder),
        cmocka_unit_test_setup_teardown(filters_give_what_the_bench_needs, make_folder,
                                        remove_folder),
        cmocka_unit_test_setup_teardown(derived_data_wants_its_very_key, make_folder,
                                        remove_folder),
        cmocka_unit_test(a_line_far_ahead_in_our_name_spoils_nothing),
        cmocka_unit_test_setup_teardown(a_count_at_its_end_begins_again_under_another_name,
                                        make_folder, remove_folder),
        cmocka_unit_test_setup_teardown(an_older_log_is_backed_up_first, make_folder,
                                        remove_folder),
        cmocka_unit_test_setup_teardown(old_events_get_their_sums, make_folder, remove_folder),
        cmocka_unit_test_setup_teardown(a_minus_nought_comes_back_whole, make_folder,
                                        remove_folder),
        cmocka_unit_test_setup_teardown(a_row_that_is_gone_is_missed, make_folder, remove_folder),
        cmocka_unit_test_setup_teardown(a_chain_of_undoings_ends, make_folder, remove_folder),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
