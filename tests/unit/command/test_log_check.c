/* SPDX-License-Identifier: MIT */
/* `log check`, `log check --mend`, `log backup` and `log restore` as they are called, on a log as
 * use leaves it: each kind of damage is named, mended, and nothing that is whole is lost. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <fcntl.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>
#include <sqlite3.h>

#include "base/seal.h"
#include "base/str.h"
#include "command/command.h"
#include "core/bench/bench.h"
#include "shell/clock.h"
#include "shell/history.h"
#include "shell/jsonl.h"
#include "shell/migrate.h"
#include "shell/paths.h"
#include "shell/store.h"
#include "shell/store_sum.h"
#include "support/big_log.h"

enum { EVENTS = 400, UNITS = 4 };

static char folder[64], whole[96], path[96];
static char said[8192], grumbled[8192];
static struct cb_arena session;
static const struct cb_kinds *kinds;

static int remove_one(const char *name, const struct stat *status, int type, struct FTW *walk)
{
    (void)status;
    (void)type;
    (void)walk;
    return remove(name);
}

static void copy_file(const char *from, const char *to)
{
    char bytes[65536];
    size_t got;
    FILE *in = fopen(from, "rb");
    FILE *out = fopen(to, "wb");
    assert_true(in && out);
    while ((got = fread(bytes, 1, sizeof bytes, in)) > 0) {
        assert_int_equal(fwrite(bytes, 1, got, out), got);
    }
    fclose(in);
    assert_int_equal(fclose(out), 0);
}

/* The last events are this log's own. */
static bool add_own(void)
{
    struct cb_arena arena = {0};
    struct cb_store *store;
    bool good = cb_store_open(whole, CB_STORE_APPEND, &store, NULL) == CB_OK;
    for (int i = 0; i < 3 && good; i++) {
        struct cb_event_make make;
        const struct cb_event **stored;
        const struct cb_moment at = {cb_clock_now().wall_ms, i, "boot"};
        cb_event_begin(&make, &arena, CB_EVENT_NOTE, NULL, &at);
        cb_event_add_text(&make, CB_FIELD_TEXT, "tide is out");
        const struct cb_event *event = cb_event_take(&make);
        good = cb_store_append(store, &event, 1, &arena, &stored, NULL) == CB_OK;
    }
    cb_store_close(store);
    cb_arena_fini(&arena);
    return good;
}

static int make_log(void **state)
{
    (void)state;
    const char *root = getenv("CB_ROOT");
    const char *base = getenv("TMPDIR");
    char recipes[4096], last[32];
    struct cb_err err = {0};
    snprintf(folder, sizeof folder, "%.40s/cb-check-XXXXXX", base && *base ? base : "/tmp");
    if (!mkdtemp(folder) || cb_paths_kinds(&session, &kinds, &err) != CB_OK) {
        return -1;
    }
    snprintf(whole, sizeof whole, "%s/whole.db", folder);
    snprintf(path, sizeof path, "%s/home/log.db", folder);
    snprintf(recipes, sizeof recipes, "%s/recipes", root ? root : ".");
    const struct big_log plan = {
        .events = EVENTS, .units = UNITS, .seed = 3, .recipes = recipes, .lived = true};
    return big_log_make(&plan, whole, last, &err) == CB_OK && add_own() ? 0 : -1;
}

static int remove_all(void **state)
{
    (void)state;
    cb_arena_fini(&session);
    return nftw(folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
}

/* A home of its own with the whole log in it. */
static int fresh_home(void **state)
{
    (void)state;
    char home[96];
    snprintf(home, sizeof home, "%s/home", folder);
    (void)nftw(home, remove_one, 8, FTW_DEPTH | FTW_PHYS);
    if (mkdir(home, 0700) != 0) {
        return -1;
    }
    copy_file(whole, path);
    return chmod(path, 0600);
}

static const char *beside(const char *name)
{
    static char names[8][128];
    static int turn;
    char *at = names[turn++ % 8];
    snprintf(at, sizeof names[0], "%s/home/%s", folder, name);
    return at;
}

static void get(int fd, char *text, size_t size)
{
    assert_int_equal(lseek(fd, 0, SEEK_SET), 0);
    const ssize_t got = read(fd, text, size - 1);
    text[got > 0 ? got : 0] = '\0';
    close(fd);
}

static int temporary(void)
{
    char name[] = "/tmp/cb-said-XXXXXX";
    const int fd = mkstemp(name);
    assert_true(fd >= 0);
    unlink(name);
    return fd;
}

/* coatbell log --log PATH WORDS...; ends with NULL. */
static int call(const char *first, const char *second, const char *third)
{
    const char *words[] = {"coatbell", "log", "--log", path, first, second, third, NULL};
    int count = 0;
    char *argv[8] = {0};
    for (; words[count]; count++) {
        argv[count] = strdup(words[count]);
    }
    fflush(NULL);
    const int out = temporary();
    const int err = temporary();
    const int kept_out = dup(STDOUT_FILENO);
    const int kept_err = dup(STDERR_FILENO);
    dup2(out, STDOUT_FILENO);
    dup2(err, STDERR_FILENO);
    const int code = cb_command_main(count, argv);
    fflush(NULL);
    dup2(kept_out, STDOUT_FILENO);
    dup2(kept_err, STDERR_FILENO);
    close(kept_out);
    close(kept_err);
    for (int i = 0; i < count; i++) {
        free(argv[i]);
    }
    get(out, said, sizeof said);
    get(err, grumbled, sizeof grumbled);
    return code;
}

static void assert_holds(const char *text, const char *part)
{
    if (!strstr(text, part)) {
        fail_msg("no \"%s\" in: %s%s", part, said, grumbled);
    }
}

static bool add_line(void *context, const struct cb_event *event)
{
    cb_jsonl_encode(event, context);
    cb_str_add(context, "\n");
    return true;
}

/* Every event of a log, a line each. */
static struct cb_str lines_of(const char *log)
{
    struct cb_store *store;
    struct cb_str text = {0};
    assert_int_equal(cb_store_open(log, CB_STORE_READ, &store, NULL), CB_OK);
    assert_int_equal(cb_store_each(store, NULL, add_line, &text, NULL), CB_OK);
    cb_store_close(store);
    return text;
}

static size_t count_lines(const char *text)
{
    size_t count = 0;
    for (; (text = strchr(text, '\n')) != NULL; text++) {
        count++;
    }
    return count;
}

static void change(const char *sql)
{
    sqlite3 *db;
    char *error = NULL;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(cb_store_sum_functions(db), SQLITE_OK);
    if (sqlite3_exec(db, sql, NULL, NULL, &error) != SQLITE_OK) {
        fail_msg("%s: %s", sql, error);
    }
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

static void assert_private(const char *name)
{
    struct stat status;
    if (stat(name, &status) != 0) {
        fail_msg("%s is not there", name);
    }
    assert_int_equal(status.st_mode & 0777, 0600);
}

static void a_whole_log_needs_nothing(void **state)
{
    (void)state;
    assert_int_equal(call("check", NULL, NULL), 0);
    assert_holds(said, "\nnothing to mend\n");
    assert_null(strstr(said, "; to mend it"));
    assert_int_equal(call("check", "--mend", NULL), 0);
    assert_holds(said, "\nnothing to mend\n");
    assert_int_equal(access(beside("log.db.before-mend"), F_OK), -1);
    assert_int_equal(call("check", "--json", NULL), 0);
    assert_holds(said,
                 "{\"to_mend\":0,\"flaws\":[],\"notices\":[{\"text\":\"3 gaps of more than a year");
    assert_holds(said, "],\"mended\":0,\"kept\":null}\n");
    change("DELETE FROM unit_sum");
    assert_int_equal(call("check", "--json", NULL), 65);
    assert_holds(said, "\"to_mend\":1,\"flaws\":[{\"text\":\"");
    assert_int_equal(call("check", "--json", "--mend"), 0);
    assert_holds(said, "\"to_mend\":0,\"flaws\":[{\"text\":\"");
    assert_holds(said, "\"mended\":1,\"kept\":\"");
}

static void each_damage_is_named_and_mended(void **state)
{
    static const struct {
        const char *sql, *says, *kept;
        int lost; /* events */
    } damages[] = {
        {"UPDATE event SET figure = 9 WHERE row = 50", "an event whose sum is wrong", "damaged", 1},
        {"UPDATE event SET at = at + 1 WHERE row IN (60, 70)", "2 events whose sum is wrong",
         "damaged", 2},
        {"DELETE FROM event WHERE row = 77", "an event is missing;", "damaged", 1},
        {"DELETE FROM event WHERE row = (SELECT max(row) FROM event)",
         "an event is missing at the end", "damaged", 1},
        {"UPDATE origin SET boot = 'other' WHERE origin = 1", "an origin of events", "damaged", 0},
        {"DELETE FROM origin WHERE origin = 1", "whose origin is gone", "damaged", 0},
        {"UPDATE unit_sum SET events = events + 1 WHERE unit = (SELECT min(unit) FROM unit_sum)",
         "a unit whose sum is not that of its events", "before-mend", 0},
        {"DELETE FROM unit_sum", "units whose sums are not those of their events", "before-mend",
         0},
        {"INSERT INTO unit_sum VALUES('none', 1, 1, 1, 1)", "a unit whose sum is not",
         "before-mend", 0},
        {"UPDATE meta SET value = '7' WHERE name = 'seq'", "its own notes have changed", "damaged",
         0},
        {"DELETE FROM meta WHERE name = 'shape'", "its own notes are gone", "damaged", 0},
        {"DROP INDEX event_place", "a table or an index is not as it was made", "damaged", 0},
        {"CREATE TRIGGER more AFTER INSERT ON event BEGIN DELETE FROM event; END",
         "a trigger or a view that is none of its own", "damaged", 0},
        {"UPDATE derived SET bytes = CAST(substr(bytes, 1, length(bytes) - 1) || x'07' AS BLOB)"
         " WHERE name LIKE 'lesson%'",
         "of what is kept of finished units are damaged", "before-mend", 0},
    };
    struct cb_str before = lines_of(whole);
    for (size_t i = 0; i < sizeof damages / sizeof *damages; i++) {
        char kept[64];
        assert_int_equal(fresh_home(state), 0);
        change(damages[i].sql);
        if (call("check", NULL, NULL) != 65) {
            fail_msg("%s: nothing found: %s%s", damages[i].sql, said, grumbled);
        }
        assert_holds(said, damages[i].says);
        assert_holds(said, " to mend: `coatbell log check --mend`");
        if (call("check", "--mend", NULL) != 0) {
            fail_msg("%s: not mended: %s%s", damages[i].sql, said, grumbled);
        }
        assert_holds(said, "mended; the log as it was is kept: ");
        assert_holds(said, "\nnothing to mend\n");
        snprintf(kept, sizeof kept, "log.db.%s", damages[i].kept);
        assert_private(beside(kept));
        assert_private(path);
        if (call("check", NULL, NULL) != 0 || strstr(said, "to mend:")) {
            fail_msg("%s: still: %s%s", damages[i].sql, said, grumbled);
        }
        struct cb_str after = lines_of(path);
        assert_int_equal(count_lines(after.text),
                         count_lines(before.text) - (size_t)damages[i].lost);
        if (strcmp(damages[i].kept, "before-mend") == 0) {
            assert_string_equal(after.text, before.text);
        }
        cb_str_fini(&after);
    }
    cb_str_fini(&before);
}

/* Its seal is right, so the program itself has written it, and it is wrong all the same. */
static void kept_that_is_not_fresh_is_dropped(void **state)
{
    (void)state;
    sqlite3 *db;
    sqlite3_stmt *stmt;
    unsigned char bytes[8192];
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_prepare_v2(db,
                                        "SELECT bytes FROM derived WHERE name ="
                                        " 'lesson of unit-00001'",
                                        -1, &stmt, NULL),
                     SQLITE_OK);
    assert_int_equal(sqlite3_step(stmt), SQLITE_ROW);
    const size_t length = (size_t)sqlite3_column_bytes(stmt, 0);
    assert_in_range(length, 100, sizeof bytes);
    memcpy(bytes, sqlite3_column_blob(stmt, 0), length);
    sqlite3_finalize(stmt);
    bytes[length / 2] ^= 1;
    cb_seal_put(bytes, length);
    assert_int_equal(sqlite3_prepare_v2(db,
                                        "UPDATE derived SET bytes = ? WHERE name ="
                                        " 'lesson of unit-00001'",
                                        -1, &stmt, NULL),
                     SQLITE_OK);
    sqlite3_bind_blob(stmt, 1, bytes, (int)length, SQLITE_STATIC);
    assert_int_equal(sqlite3_step(stmt), SQLITE_DONE);
    sqlite3_finalize(stmt);
    sqlite3_close(db);
    assert_int_equal(call("check", NULL, NULL), 65);
    assert_holds(said, "what is kept of ");
    assert_holds(said, " is not what its events give; to mend it, ");
    assert_int_equal(call("check", "--mend", NULL), 0);
    assert_private(beside("log.db.before-mend"));
    assert_int_equal(call("check", NULL, NULL), 0);
}

static void spoil(off_t at, size_t length)
{
    static const char rubbish[4096] = {7, 7, 7};
    const int fd = open(path, O_WRONLY);
    assert_true(fd >= 0 && length <= sizeof rubbish);
    assert_int_equal(pwrite(fd, rubbish, length, at), length);
    close(fd);
}

static void a_broken_file_is_mended(void **state)
{
    struct stat status;
    assert_int_equal(stat(path, &status), 0);
    for (int how = 0; how < 4; how++) {
        assert_int_equal(fresh_home(state), 0);
        if (how == 0) {
            spoil(0, 16); /* of the head, what makes it a database */
        } else if (how == 1) {
            spoil(4096 * (status.st_size / 8192), 4096);
        } else if (how == 2) {
            assert_int_equal(truncate(path, status.st_size - 4096 * 9), 0);
        } else {
            spoil(100, 3000); /* the list of tables */
        }
        if (call("check", NULL, NULL) != 65) {
            fail_msg("%d: %s%s", how, said, grumbled);
        }
        assert_holds(said, " events can be read");
        if (call("check", "--mend", NULL) != 0 || call("check", NULL, NULL) != 0) {
            fail_msg("%d: %s%s", how, said, grumbled);
        }
        assert_private(beside("log.db.damaged"));
    }
}

static void what_is_no_log_is_left(void **state)
{
    (void)state;
    change("PRAGMA user_version = 99");
    assert_int_equal(call("check", "--mend", NULL), 65);
    assert_holds(grumbled, "written by a newer coatbell");
    assert_int_equal(fresh_home(state), 0);
    assert_int_equal(unlink(path), 0);
    change("CREATE TABLE theirs(it)");
    assert_int_equal(call("check", "--mend", NULL), 65);
    assert_holds(grumbled, "a database of another program");
    assert_int_equal(unlink(path), 0);
    assert_int_equal(call("check", "--mend", NULL), 74);
    assert_holds(grumbled, "no log there");
    assert_int_equal(access(path, F_OK), -1);
}

static void a_bench_keeps_its_log(void **state)
{
    (void)state;
    struct cb_store *store;
    change("DELETE FROM unit_sum");
    assert_int_equal(cb_store_open(path, CB_STORE_APPEND, &store, NULL), CB_OK);
    assert_int_equal(cb_store_lock(store, NULL), CB_OK);
    assert_int_equal(call("check", NULL, NULL), 65);
    assert_int_equal(call("check", "--mend", NULL), 1);
    assert_holds(grumbled, "another bench is open on this log; leave it first");
    assert_int_equal(call("check", "--mend", "--json"), 1);
    assert_string_equal(said, "");
    assert_int_equal(call("backup", beside("copy.db"), NULL), 0);
    assert_private(beside("copy.db"));
    assert_int_equal(call("restore", beside("copy.db"), "--yes"), 1);
    assert_holds(grumbled, "another bench is open on this log; leave it first");
    cb_store_close(store);
    change("UPDATE event SET figure = 9 WHERE row = 50");
    assert_int_equal(cb_store_open(path, CB_STORE_APPEND, &store, NULL), CB_OK);
    cb_store_close(store);
}

#define EVENT(id, rest)                                                                            \
    "{\"id\":\"" id "\",\"at\":\"2026-01-05T18:00:00.000Z\",\"event\":" rest "}\n"

static void take_lines(const char *text)
{
    FILE *file = fopen(beside("lines"), "wb");
    assert_non_null(file);
    fputs(text, file);
    fclose(file);
    if (call("import", beside("lines"), NULL) != 0) {
        fail_msg("%s", grumbled);
    }
}

/* What a painter may wonder at: each said, none a fault. */
static void doubts_are_notices(void **state)
{
    (void)state;
    static const struct {
        const char *lines, *says;
    } doubts[] = {
        {EVENT("a", "\"coat_on\",\"unit\":\"never\",\"figure\":1,\"stage\":1,\"coat\":1"),
         "notice: 1 event of a unit that was never begun: coat_on of 2026-01-05 18:00\n"},
        {EVENT("a", "\"coat_on\",\"unit\":\"u\",\"figure\":1,\"stage\":9,\"coat\":1"),
         "1 event of a stage that the recipe in force has not"},
        {EVENT("a", "\"coat_on\",\"unit\":\"u\",\"figure\":9,\"stage\":1,\"coat\":1"),
         "1 event of a figure that its unit has not"},
        {EVENT("a", "\"coat_on\",\"unit\":\"u\",\"figure\":1,\"stage\":1,\"coat\":1")
             EVENT("b", "\"coat_on\",\"unit\":\"u\",\"figure\":1,\"stage\":1,\"coat\":1"),
         "1 coat put on that was on already"},
        {EVENT("a", "\"checked\",\"unit\":\"u\",\"figure\":1,\"stage\":1,\"coat\":1,\"found\":"
                    "\"dry\"") EVENT("b", "\"lifted\",\"unit\":\"u\",\"figure\":2,\"stage\":1,"
                                          "\"coat\":1"),
         "2 events of films that were not on: the first is checked of 2026-01-05 18:00"},
        {EVENT("a", "\"recipe_changed\",\"unit\":\"u\",\"recipe\":\"no recipe\""),
         "1 recipe that can't be read"},
        {EVENT("a", "\"undone\",\"of\":\"nothing\""), "1 event that undoes or moves"},
        {"{\"id\":\"a\",\"at\":\"2999-01-01T00:00:00Z\",\"event\":\"session_closed\"}\n",
         "1 event later than now"},
        {"{\"id\":\"a\",\"at\":\"2026-01-05T18:00:00Z\",\"event\":\"session_closed\",\"machine\":"
         "\"m\",\"seq\":1}\n"
         "{\"id\":\"b\",\"at\":\"2026-01-05T17:00:00Z\",\"event\":\"session_closed\",\"machine\":"
         "\"m\",\"seq\":2}\n",
         "1 time the clock on the wall was set back (1 h): session_closed of 2026-01-05 17:00"},
        {"{\"id\":\"a\",\"at\":\"2026-01-05T18:00:00Z\",\"event\":\"session_closed\",\"machine\":"
         "\"m\",\"seq\":1,\"boot\":\"b\",\"boot_ms\":1000}\n"
         "{\"id\":\"b\",\"at\":\"2026-01-05T19:00:00Z\",\"event\":\"session_closed\",\"machine\":"
         "\"m\",\"seq\":2,\"boot\":\"b\",\"boot_ms\":61000}\n",
         "1 time the clock on the wall was set while the machine was on (59 min)"},
        {"{\"id\":\"a\",\"at\":\"2026-01-05T18:00:00Z\",\"event\":\"session_closed\",\"machine\":"
         "\"m\",\"seq\":1,\"boot\":\"b\",\"boot_ms\":61000}\n"
         "{\"id\":\"b\",\"at\":\"2026-01-05T18:01:00Z\",\"event\":\"session_closed\",\"machine\":"
         "\"m\",\"seq\":2,\"boot\":\"b\",\"boot_ms\":1000}\n",
         "1 event before another of its boot"},
        {"{\"id\":\"a\",\"at\":\"2020-01-05T18:00:00Z\",\"event\":\"session_closed\",\"machine\":"
         "\"m\",\"seq\":1}\n"
         "{\"id\":\"b\",\"at\":\"2026-01-05T18:00:00Z\",\"event\":\"session_closed\",\"machine\":"
         "\"m\",\"seq\":2}\n",
         "1 gap of more than a year"},
    };
    static const char begun[] =
        "{\"id\":\"u\",\"at\":\"2026-01-05T17:00:00.000Z\",\"event\":\"unit_begun\",\"unit\":\"u\","
        "\"name\":\"Watch\",\"figures\":2,\"recipe\":\"coatbell: 1\\nname: Watch\\nfigures: 2\\n"
        "paints: {rope: {name: Tarred rope, kind: acrylic}}\\nstages:\\n  - {name: Coats, "
        "technique: basecoat, paint: rope, minutes: 4}\\n\"}\n";
    for (size_t i = 0; i < sizeof doubts / sizeof *doubts; i++) {
        struct cb_str text = {0};
        assert_int_equal(fresh_home(state), 0);
        unlink(path);
        cb_str_addf(&text, "%s%s", begun, doubts[i].lines);
        take_lines(text.text);
        assert_int_equal(call("check", NULL, NULL), 0);
        assert_holds(said, doubts[i].says);
        assert_int_equal(count_lines(said), 2);
        assert_holds(said, "\nnothing to mend\n");
        struct cb_str before = lines_of(path);
        assert_int_equal(call("check", "--mend", NULL), 0);
        struct cb_str after = lines_of(path);
        assert_string_equal(before.text, after.text);
        cb_str_fini(&before);
        cb_str_fini(&after);
        cb_str_fini(&text);
    }
}

static void a_row_that_never_was_an_event_stays(void **state)
{
    (void)state;
    change("UPDATE event SET fields = '{\"text\":' WHERE row = 5;"
           "UPDATE event SET sum = row_sum(row, id, at, event, unit, press, origin, seq, boot_ms,"
           " figure, stage, coat, found, on_at, on_pm_s, place, temp_c, rh_pct, air, climate_from,"
           " of, fields) WHERE row = 5;"
           "DELETE FROM unit_sum; INSERT INTO unit_sum SELECT unit, min(at), max(at), count(*),"
           " row_xor(sum) FROM event WHERE unit IS NOT NULL GROUP BY unit; DELETE FROM derived");
    assert_int_equal(call("check", NULL, NULL), 0);
    assert_holds(said, "notice: 1 left out: as they stand they are no events");
    assert_holds(said, "\nnothing to mend\n");
}

/* ---- backup and restore ---- */

static void a_backup_is_the_log(void **state)
{
    (void)state;
    struct cb_str before = lines_of(path);
    assert_int_equal(call("backup", beside("copy.db"), NULL), 0);
    assert_holds(said, "the log is backed up: ");
    assert_private(beside("copy.db"));
    struct cb_str after = lines_of(beside("copy.db"));
    assert_string_equal(before.text, after.text);
    assert_int_equal(call("backup", beside("copy.db"), NULL), 1);
    assert_holds(grumbled, "there is a file of that name, and it was left; give another");
    assert_int_equal(call("backup", "-", NULL), 2);
    assert_int_equal(call("backup", NULL, NULL), 2);
    change("UPDATE event SET figure = 9 WHERE row = 50");
    assert_int_equal(call("backup", beside("bad.db"), NULL), 65);
    assert_holds(grumbled, "no backup was made of it");
    assert_int_equal(access(beside("bad.db"), F_OK), -1);
    assert_int_equal(access(beside("bad.db.part"), F_OK), -1);
    cb_str_fini(&before);
    cb_str_fini(&after);
}

static const struct cb_event *coat(struct cb_arena *arena, const char *unit, int figure,
                                   int64_t at_ms)
{
    struct cb_event_make make;
    const struct cb_moment at = {at_ms, at_ms, "boot"};
    cb_event_begin(&make, arena, CB_EVENT_COAT_ON, unit, &at);
    cb_event_add_int(&make, CB_FIELD_FIGURE, figure);
    cb_event_add_int(&make, CB_FIELD_STAGE, 1);
    cb_event_add_int(&make, CB_FIELD_COAT, 1);
    return cb_event_take(&make);
}

static void begin_unit(struct cb_store *store, struct cb_arena *arena, int64_t at_ms)
{
    struct cb_event_make make;
    const struct cb_event **stored;
    const struct cb_moment at = {at_ms, at_ms, "boot"};
    cb_event_begin(&make, arena, CB_EVENT_UNIT_BEGUN, "w", &at);
    cb_event_add_text(&make, CB_FIELD_NAME, "Watch");
    cb_event_add_int(&make, CB_FIELD_FIGURES, 9);
    cb_event_add_text(&make, CB_FIELD_RECIPE,
                      "coatbell: 1\nname: Watch\nfigures: 9\n"
                      "paints: {rope: {name: Tarred rope, kind: acrylic}}\nstages:\n"
                      "  - {name: Coats, technique: basecoat, paint: rope, minutes: 4}\n");
    const struct cb_event *event = cb_event_take(&make);
    assert_int_equal(cb_store_append(store, &event, 1, arena, &stored, NULL), CB_OK);
}

static const char *paint(struct cb_store *store, struct cb_arena *arena, int figure, int64_t at_ms)
{
    const struct cb_event **stored;
    const struct cb_event *event = coat(arena, "w", figure, at_ms);
    assert_int_equal(cb_store_append(store, &event, 1, arena, &stored, NULL), CB_OK);
    return stored[0]->id;
}

static struct cb_store *opened(void)
{
    struct cb_store *store;
    struct cb_err err = {0};
    if (cb_store_open(path, CB_STORE_APPEND, &store, &err) != CB_OK) {
        fail_msg("%s", err.text);
    }
    return store;
}

/* Restore, paint on, then import what the old log had: nothing twice, nothing in another order, and
 * undo takes back what was painted last. */
static void a_restored_log_counts_on_under_another_name(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    const int64_t day = 20000 * INT64_C(86400000);
    char machine[64];
    unlink(path);
    struct cb_store *store = opened();
    snprintf(machine, sizeof machine, "%s", cb_store_machine(store));
    begin_unit(store, &arena, day);
    for (int figure = 1; figure <= 3; figure++) {
        paint(store, &arena, figure, day + figure * 60000);
    }
    assert_int_equal(call("backup", beside("copy.db"), NULL), 0);
    /* the same state put back is the same log */
    cb_store_close(store);
    assert_int_equal(call("restore", beside("copy.db"), NULL), 0);
    store = opened();
    assert_string_equal(cb_store_machine(store), machine);
    for (int figure = 4; figure <= 6; figure++) { /* lost by the restore, later found again */
        paint(store, &arena, figure, day + figure * 60000);
    }
    cb_store_close(store);
    assert_int_equal(call("export", beside("old.jsonl"), NULL), 0);
    assert_int_equal(call("restore", beside("copy.db"), NULL), 1);
    assert_holds(grumbled, "it holds 3 events that the backup has not; --yes puts");
    struct cb_str still = lines_of(path);
    assert_int_equal(count_lines(still.text), 7);
    assert_int_equal(call("restore", beside("copy.db"), "--yes"), 0);
    assert_holds(said, "the log has 4 events now\nthe log as it was is kept: ");
    assert_holds(said, "log.db.replaced-2");
    assert_private(beside("log.db.replaced-2"));
    assert_private(path);
    struct cb_str kept = lines_of(beside("log.db.replaced-2"));
    assert_string_equal(kept.text, still.text);
    cb_str_fini(&kept);
    cb_str_fini(&still);

    store = opened();
    assert_string_not_equal(cb_store_machine(store), machine);
    paint(store, &arena, 7, day + 20 * 60000);
    const char *last = paint(store, &arena, 8, day + 21 * 60000);
    cb_store_close(store);
    assert_int_equal(call("import", beside("old.jsonl"), NULL), 0);
    assert_string_equal(said, "imported 3 events, 4 there already\n");
    assert_int_equal(call("import", beside("old.jsonl"), NULL), 0);
    assert_string_equal(said, "imported 0 events, 7 there already\n");

    store = opened();
    struct cb_bench *bench;
    size_t count;
    assert_int_equal(cb_history_bench(store, NULL, kinds, &bench, NULL, NULL), CB_OK);
    const struct cb_event *const *events = cb_bench_events(bench, &count);
    assert_int_equal(count, 9);
    for (size_t i = 1; i < count; i++) {
        assert_int_equal(cb_event_int(events[i], CB_FIELD_FIGURE, 0), (int)i);
        for (size_t j = 0; j < i; j++) {
            assert_false(events[i]->seq == events[j]->seq &&
                         strcmp(events[i]->machine, events[j]->machine) == 0);
        }
    }
    const struct cb_unit *unit = cb_bench_unit(bench, 0);
    assert_int_equal(unit->film_count, 8);
    assert_string_equal(cb_bench_undoable(bench, &arena, NULL), last);
    cb_bench_free(bench);
    cb_store_close(store);
    assert_int_equal(call("check", NULL, NULL), 0);
    cb_arena_fini(&arena);
}

/* What the old log had in its -wal goes with it, and never into the new one. */
static void a_wal_goes_with_its_log(void **state)
{
    (void)state;
    assert_int_equal(call("backup", beside("copy.db"), NULL), 0);
    struct cb_arena arena = {0};
    struct cb_store *store = opened();
    begin_unit(store, &arena, 1000);
    copy_file(path, beside("dead"));
    char wal[128];
    snprintf(wal, sizeof wal, "%s-wal", path);
    copy_file(wal, beside("dead-wal"));
    cb_store_close(store);
    copy_file(beside("dead"), path); /* as a kill leaves it */
    copy_file(beside("dead-wal"), wal);
    assert_int_equal(call("restore", beside("copy.db"), NULL), 1);
    assert_holds(grumbled, "it holds 1 event that the backup has not");
    copy_file(beside("dead"), path);
    copy_file(beside("dead-wal"), wal);
    struct cb_str before = lines_of(whole);
    assert_int_equal(call("restore", beside("copy.db"), "--yes"), 0);
    struct cb_str after = lines_of(path);
    assert_string_equal(after.text, before.text);
    struct cb_str kept = lines_of(beside("log.db.replaced"));
    assert_int_equal(count_lines(kept.text), count_lines(before.text) + 1);
    cb_str_fini(&after);
    /* the same where the old log can't be opened, or is gone: its -wal alone would be put into the
     * new one */
    for (int gone = 0; gone < 2; gone++) {
        copy_file(beside("dead"), path);
        copy_file(beside("dead-wal"), wal);
        spoil(0, 16);
        if (gone) {
            assert_int_equal(unlink(path), 0);
        }
        assert_int_equal(call("restore", beside("copy.db"), "--yes"), 0);
        assert_int_equal(access(wal, F_OK), -1);
        assert_true(!gone || access(beside("log.db.replaced-3-wal"), F_OK) == 0);
        after = lines_of(path);
        assert_string_equal(after.text, before.text);
        cb_str_fini(&after);
    }
    cb_str_fini(&kept);
    cb_str_fini(&before);
    cb_arena_fini(&arena);
}

static void only_a_whole_log_is_put_back(void **state)
{
    struct cb_str before = lines_of(path);
    static const char rubbish[] = "no log at all, but long enough to be read as the head of one: "
                                  "it is of more than a hundred bytes, which a head is.........";
    FILE *file = fopen(beside("rubbish"), "wb");
    assert_non_null(file);
    fputs(rubbish, file);
    fclose(file);
    assert_int_equal(call("restore", beside("rubbish"), "--yes"), 65);
    assert_int_equal(call("restore", beside("nowhere"), "--yes"), 74);
    assert_int_equal(call("restore", path, "--yes"), 2);
    copy_file(whole, beside("bad.db"));
    char keep[96];
    memcpy(keep, path, sizeof keep);
    snprintf(path, sizeof path, "%s", beside("bad.db"));
    change("UPDATE event SET figure = 9 WHERE row = 50");
    memcpy(path, keep, sizeof keep);
    assert_int_equal(call("restore", beside("bad.db"), "--yes"), 65);
    assert_holds(grumbled, "bad.db: it is damaged (an event whose sum is wrong");
    struct cb_str after = lines_of(path);
    assert_string_equal(after.text, before.text);
    assert_int_equal(access(beside("log.db.new.part"), F_OK), -1);
    assert_int_equal(access(beside("log.db.replaced"), F_OK), -1);
    /* where there is none, one is made of it, under another name: who knows what was lost */
    assert_int_equal(unlink(path), 0);
    copy_file(whole, beside("copy.db"));
    assert_int_equal(call("restore", beside("copy.db"), NULL), 0);
    assert_null(strstr(said, "kept"));
    cb_str_fini(&after);
    after = lines_of(path);
    assert_string_equal(after.text, before.text);
    assert_private(path);
    cb_str_fini(&after);
    cb_str_fini(&before);
    (void)state;
}

/* A -wal is put into whatever has the name before it, so a name with one is not free. */
static void a_name_with_companions_is_left(void **state)
{
    (void)state;
    assert_int_equal(call("backup", beside("copy.db"), NULL), 0);
    copy_file(whole, beside("log.db.replaced-wal"));
    assert_int_equal(call("restore", beside("copy.db"), NULL), 0);
    assert_holds(said, "log.db.replaced-2\n");
    assert_int_equal(access(beside("log.db.replaced"), F_OK), -1);
    assert_int_equal(access(beside("log.db.replaced-wal"), F_OK), 0);
}

/* What a restore had made whole when it was cut off is the log, and its -wal is not. */
static void a_log_that_was_to_come_is_put_there(void **state)
{
    (void)state;
    struct cb_str before = lines_of(path);
    copy_file(path, beside("log.db.new.whole"));
    change("DELETE FROM event");
    assert_int_equal(call("check", NULL, NULL), 0);
    assert_int_equal(access(beside("log.db.new.whole"), F_OK), -1);
    struct cb_str after = lines_of(path);
    assert_string_equal(after.text, before.text);
    cb_str_fini(&after);
    copy_file(path, beside("log.db.new.whole"));
    assert_int_equal(unlink(path), 0);
    assert_int_equal(call("check", NULL, NULL), 0);
    assert_int_equal(access(beside("log.db.new.whole"), F_OK), -1);
    cb_str_fini(&before);
}

/* A log that can't be read any more is what a backup is for; it has to be said all the same. */
static void a_broken_log_gives_way(void **state)
{
    (void)state;
    struct cb_str before = lines_of(path);
    assert_int_equal(call("backup", beside("copy.db"), NULL), 0);
    spoil(0, 16);
    spoil(100, 3000);
    assert_int_equal(call("restore", beside("copy.db"), "--yes"), 0);
    struct cb_str after = lines_of(path);
    assert_string_equal(after.text, before.text);
    assert_int_equal(call("check", NULL, NULL), 0);
    cb_str_fini(&after);
    cb_str_fini(&before);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(a_whole_log_needs_nothing, fresh_home),
        cmocka_unit_test_setup(each_damage_is_named_and_mended, fresh_home),
        cmocka_unit_test_setup(kept_that_is_not_fresh_is_dropped, fresh_home),
        cmocka_unit_test_setup(a_broken_file_is_mended, fresh_home),
        cmocka_unit_test_setup(what_is_no_log_is_left, fresh_home),
        cmocka_unit_test_setup(a_bench_keeps_its_log, fresh_home),
        cmocka_unit_test_setup(doubts_are_notices, fresh_home),
        cmocka_unit_test_setup(a_row_that_never_was_an_event_stays, fresh_home),
        cmocka_unit_test_setup(a_backup_is_the_log, fresh_home),
        cmocka_unit_test_setup(a_restored_log_counts_on_under_another_name, fresh_home),
        cmocka_unit_test_setup(a_wal_goes_with_its_log, fresh_home),
        cmocka_unit_test_setup(only_a_whole_log_is_put_back, fresh_home),
        cmocka_unit_test_setup(a_name_with_companions_is_left, fresh_home),
        cmocka_unit_test_setup(a_log_that_was_to_come_is_put_there, fresh_home),
        cmocka_unit_test_setup(a_broken_log_gives_way, fresh_home),
    };
    return cmocka_run_group_tests(tests, make_log, remove_all);
}
