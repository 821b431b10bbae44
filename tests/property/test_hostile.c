/* SPDX-License-Identifier: MIT */
/* Whatever lies in the cells of a log: what export writes, import takes, the same again to the
 * byte; what it leaves is counted and named; and no row that nobody touched is left. */
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

#include "base/index.h"
#include "base/str.h"
#include "base/utf8.h"
#include "base/vec.h"
#include "shell/jsonl.h"
#include "shell/store_sum.h"
#include "shell/transfer.h"
#include "support/events.h"

enum { SEED = 31, ROUNDS = 12 };

static char folder[64];
static char path[128];

static int make_folder(void **state)
{
    (void)state;
    const char *base = getenv("TMPDIR");
    snprintf(folder, sizeof folder, "%.40s/cb-hostile-XXXXXX", base && *base ? base : "/tmp");
    if (!mkdtemp(folder)) {
        return -1;
    }
    snprintf(path, sizeof path, "%s/log.db", folder);
    return 0;
}

static int remove_folder(void **state)
{
    (void)state;
    static const char *const endings[] = {"", "-wal", "-shm", ".lock"};
    for (size_t i = 0; i < sizeof endings / sizeof *endings; i++) {
        char name[160];
        snprintf(name, sizeof name, "%s%s", path, endings[i]);
        unlink(name);
    }
    return rmdir(folder);
}

static const char *const columns[] = {
    "id",      "at",     "event",  "unit", "press",        "origin", "seq",
    "boot_ms", "figure", "stage",  "coat", "found",        "on_at",  "on_pm_s",
    "place",   "temp_c", "rh_pct", "air",  "climate_from", "of",     "fields",
};

#define TEXT_OF(length) "printf('%.*c', " #length ", 'x')"

/* As SQL writes them. */
static const char *const values[] = {
    "NULL",
    "0",
    "1",
    "-1",
    "99",
    "100",
    "9223372036854775807",
    "(-9223372036854775807 - 1)",
    "281474976710656",
    "281474976710657",
    "9007199254740991",
    "9007199254740992",
    "253402300799999",
    "253402300800000",
    "-62135596800001",
    "0.0",
    "-0.0",
    "1.5",
    "1e308",
    "9e999",
    "-9e999",
    "''",
    "'x'",
    "'dry'",
    "'dry|wet'",
    "'still'",
    "'note'",
    "'checked'",
    "'unit_begun'",
    "' x'",
    "char(10)",
    "char(0x202e)",
    "char(0x1f980)",
    "char(0xfffe)",
    "CAST(x'ff' AS TEXT)",
    "CAST(x'61c0af' AS TEXT)",
    "CAST(x'eda080' AS TEXT)",
    "CAST(x'f4908080' AS TEXT)",
    "CAST(x'c3' AS TEXT)",
    "CAST(x'610062' AS TEXT)",
    "CAST(x'00' AS TEXT)",
    "x'00ff'",
    "x''",
    TEXT_OF(64),
    TEXT_OF(65),
    TEXT_OF(4096),
    TEXT_OF(4097),
    TEXT_OF(65537),
    TEXT_OF(524288),
    "replace(" TEXT_OF(4096) ", 'x', char(127))",
};

/* And for the JSON of the other fields. */
static const char *const jsons[] = {
    "'{'",
    "'{}'",
    "'[]'",
    "'null'",
    "' '",
    "'{\"text\":\"a\",\"text\":\"b\"}'",
    "'{\"x\":1,\"x\":1}'",
    "'{\"x\":1e999}'",
    "'{\"x\":-0}'",
    "'{\"x\":[ 1 , 2.50 ] }'",
    "'{\"x\":\"\\ud800\"}'",
    "'{\"x\":\"\\u0000\"}'",
    "'{\"x\":\"\\u202e\"}'",
    "'{\"\":1}'",
    "'{\"id\":\"z\"}'",
    "'{\"at\":\"2026-01-05T18:00:00Z\"}'",
    "'{\"event\":\"note\"}'",
    "'{\"unit\":\"u\"}'",
    "'{\"press\":\"q\"}'",
    "'{\"press\":null}'",
    "'{\"machine\":\"m\"}'",
    "'{\"seq\":1}'",
    "'{\"machine\":\"m\",\"seq\":1}'",
    "'{\"boot\":\"b\",\"boot_ms\":1}'",
    "'{\"figure\":1,\"stage\":1,\"coat\":1}'",
    "'{\"text\":null}'",
    "'{\"text\":5}'",
    "'{\"name\":\"n\",\"figures\":4,\"recipe\":\"\"}'",
    "'{\"figures\":[1,2]}'",
    "'{\"figures\":[1,1e10]}'",
    "'{\"films\":[{\"figure\":1,\"stage\":1,\"coat\":1}]}'",
    "'{\"films\":[{\"figure\":1}]}'",
    "'{\"minutes\":1e400}'",
    "'{\"minutes\":-1,\"name\":\"n\"}'",
    "'{\"pct\":80}'",
    "'{\"x\":' || replace(" TEXT_OF(2100) ", 'x', '[') || '1'"
                                          " || replace(" TEXT_OF(2100) ", 'x', ']') || '}'",
    "'{\"x\":' || replace(" TEXT_OF(2040) ", 'x', '[') || '1'"
                                          " || replace(" TEXT_OF(2040) ", 'x', ']') || '}'",
    "'{\"x\":\"' || replace(" TEXT_OF(100000) ", 'x', char(127)) || '\"}'",
    "'{\"x\":\"' || " TEXT_OF(520000) " || '\"}'",
    "'{\"x\":\"' || " TEXT_OF(524200) " || '\"}'",
    "'{\"text\":\"' || CAST(x'ff' AS TEXT) || '\"}'",
    "'{\"' || CAST(x'ff' AS TEXT) || '\":1}'",
    ("(WITH RECURSIVE n(v) AS (SELECT 1 UNION ALL SELECT v + 1 FROM n WHERE v < 80)"
     " SELECT '{' || group_concat('\"k' || v || '\":1') || '}' FROM n)"),
    "'{\"from\":\"2026-01-05T18:00:00Z\",\"to\":\"9999-12-31T23:59:59.999Z\"}'",
};

#define COUNT(list) (sizeof(list) / sizeof *(list))

struct hostile {
    sqlite3 *db;
    CB_VEC(const char *) ids; /* by row, from 1 */
    CB_VEC(bool) touched;
    struct cb_arena arena;
};

static void run(sqlite3 *db, const char *sql)
{
    if (sqlite3_exec(db, sql, NULL, NULL, NULL) != SQLITE_OK) {
        fail_msg("%s: %s", sql, sqlite3_errmsg(db));
    }
}

/* A log of so many random events; loose: no cell has a type any more, and an id may come twice. */
static void make_log(struct hostile *log, struct dice *dice, size_t events, bool loose)
{
    struct cb_store *store = NULL;
    *log = (struct hostile){0};
    assert_int_equal(make_folder(NULL), 0);
    assert_int_equal(cb_store_open(path, CB_STORE_APPEND, &store, NULL), CB_OK);
    for (size_t i = 0; i < events; i += 10) {
        const struct cb_event *press[10];
        const struct cb_event **stored;
        struct cb_err err = {0};
        for (size_t k = 0; k < 10; k++) {
            press[k] = dice_event(dice, &log->arena, dice_below(dice, 3) == 0);
        }
        if (cb_store_append(store, press, 10, &log->arena, &stored, &err) != CB_OK) {
            fail_msg("%s", err.text);
        }
        for (size_t k = 0; k < 10; k++) {
            cb_vec_push(&log->ids, stored[k]->id);
            cb_vec_push(&log->touched, false);
        }
    }
    cb_store_close(store);
    assert_int_equal(sqlite3_open(path, &log->db), SQLITE_OK);
    run(log->db, "PRAGMA synchronous=OFF");
    if (loose) {
        run(log->db, "PRAGMA writable_schema=ON;"
                     "UPDATE sqlite_schema SET sql = replace(replace(replace(sql, ') STRICT', ')'),"
                     " ' NOT NULL UNIQUE', ''), ' NOT NULL', '') WHERE name IN ('event', 'origin');"
                     "DELETE FROM sqlite_schema WHERE name = 'sqlite_autoindex_event_1'");
        assert_int_equal(sqlite3_close(log->db), SQLITE_OK);
        assert_int_equal(sqlite3_open(path, &log->db), SQLITE_OK);
        run(log->db, "PRAGMA synchronous=OFF");
    }
}

/* As if whoever wrote it there had meant it: each row's sum is that of what it says. */
static void sum_up(sqlite3 *db)
{
    assert_int_equal(cb_store_sum_functions(db), SQLITE_OK);
    run(db, "UPDATE event SET sum = row_sum(row, id, at, event, unit, press, origin, seq, boot_ms, "
            "figure,"
            " stage, coat, found, on_at, on_pm_s, place, temp_c, rh_pct, air, climate_from, of, "
            "fields);"
            "UPDATE origin SET sum = row_sum(origin, machine, boot)");
}

/* What SQLite refuses to hold there is no case. */
static bool spoil(struct hostile *log, size_t row, const char *column, const char *value)
{
    struct cb_str sql = {0};
    cb_str_addf(&sql, "UPDATE event SET %s = %s WHERE row = %zu", column, value, row);
    bool done = sqlite3_exec(log->db, cb_str_text(&sql), NULL, NULL, NULL) == SQLITE_OK;
    log->touched.items[row - 1] = log->touched.items[row - 1] || done;
    cb_str_fini(&sql);
    return done;
}

static void close_log(struct hostile *log)
{
    assert_int_equal(remove_folder(NULL), 0);
    cb_vec_free(&log->ids);
    cb_vec_free(&log->touched);
    cb_arena_fini(&log->arena);
}

static bool collect(void *context, const char *bytes, size_t length)
{
    cb_str_add_n(context, bytes, length);
    return true;
}

static size_t export_to(struct cb_store *store, enum cb_transfer_format format, struct cb_str *out,
                        struct cb_transfer_left *left, struct cb_arena *arena)
{
    struct cb_err err = {0};
    size_t count;
    if (cb_transfer_out(store, format, collect, out, arena, &count, left, &err) != CB_OK) {
        fail_msg("export: %s", err.text);
    }
    return count;
}

static void assert_all_untouched_there(const struct hostile *log, const struct cb_str *text)
{
    struct cb_index *there = cb_index_new();
    for (const char *line = cb_str_text(text); *line;) {
        struct cb_arena arena = {0};
        const struct cb_event *event;
        const char *end = strchr(line, '\n');
        assert_non_null(end);
        assert_int_equal(cb_jsonl_decode(line, (size_t)(end - line), &arena, &event, NULL), CB_OK);
        cb_index_set(there, event->id, 1);
        cb_arena_fini(&arena);
        line = end + 1;
    }
    for (size_t i = 0; i < log->ids.count; i++) {
        size_t found;
        if (!log->touched.items[i] && !cb_index_get(there, log->ids.items[i], &found)) {
            fail_msg("row %zu was never touched, and is left", i + 1);
        }
    }
    cb_index_free(there);
}

/* The claim itself. Returns how many were left. */
static size_t assert_export_comes_home(struct hostile *log)
{
    struct cb_arena arena = {0};
    struct cb_store *store = NULL;
    struct cb_store *home = NULL;
    struct cb_str out = {0}, again = {0}, table = {0};
    struct cb_transfer_left left, none;
    struct cb_err err = {0};
    sum_up(log->db);
    assert_int_equal(sqlite3_close(log->db), SQLITE_OK);
    if (cb_store_open(path, CB_STORE_READ, &store, &err) != CB_OK) {
        fail_msg("%s", err.text);
    }
    size_t count = export_to(store, CB_TRANSFER_JSONL, &out, &left, &arena);
    assert_true(cb_utf8_valid(cb_str_text(&out), out.length));
    assert_int_equal(count + left.count, log->ids.count);
    assert_int_equal(left.first.count, left.count < CB_ISSUES_MAX ? left.count : CB_ISSUES_MAX);
    for (size_t i = 0; i < left.first.count; i++) {
        assert_int_equal(strncmp(left.first.items[i].message, "row ", 4), 0);
    }
    assert_all_untouched_there(log, &out);
    assert_int_equal(export_to(store, CB_TRANSFER_CSV, &table, &none, &arena), count);
    assert_true(cb_utf8_valid(cb_str_text(&table), table.length));
    assert_int_equal(none.count, left.count);
    cb_store_close(store);

    struct cb_transfer_text text = {cb_str_text(&out), out.length};
    struct cb_transfer_in in = {.read = cb_transfer_read_text, .context = &text, .strict = true};
    struct cb_transfer_taken taken;
    assert_int_equal(cb_store_open(NULL, CB_STORE_APPEND, &home, NULL), CB_OK);
    if (cb_transfer_in(home, &in, &arena, &taken, &err) != CB_OK) {
        fail_msg("%s %d:%d %s", err.text, taken.left.first.items[0].line,
                 taken.left.first.items[0].column, taken.left.first.items[0].message);
    }
    assert_int_equal(taken.added, count);
    assert_int_equal(export_to(home, CB_TRANSFER_JSONL, &again, &none, &arena), count);
    assert_int_equal(none.count, 0);
    assert_int_equal(again.length, out.length);
    assert_int_equal(memcmp(cb_str_text(&again), cb_str_text(&out), out.length), 0);
    cb_store_close(home);
    cb_str_fini(&out);
    cb_str_fini(&again);
    cb_str_fini(&table);
    cb_arena_fini(&arena);
    return left.count;
}

/* Every value in every column, a row each. */
static void each_cell_spoilt_once(bool loose)
{
    struct dice dice = {SEED};
    struct hostile log;
    size_t spoilt = 0, row = 0;
    make_log(&log, &dice, 10 * (COUNT(columns) * COUNT(values) + 9 * COUNT(jsons)) / 9, loose);
    run(log.db, "BEGIN");
    for (size_t c = 0; c < COUNT(columns); c++) {
        for (size_t v = 0; v < COUNT(values); v++) {
            row += row % 10 == 8 ? 2 : 1; /* one in ten is let be */
            spoilt += (size_t)spoil(&log, row, columns[c], values[v]);
        }
    }
    for (size_t v = 0; v < COUNT(jsons); v++) {
        for (size_t k = 0; k < 8; k++) { /* in events of several kinds */
            row += row % 10 == 8 ? 2 : 1;
            spoilt += (size_t)spoil(&log, row, "fields", jsons[v]);
        }
    }
    run(log.db, "COMMIT");
    size_t left = assert_export_comes_home(&log);
    print_message("%zu events, %zu spoilt, %zu left\n", log.ids.count, spoilt, left);
    assert_true(spoilt > (loose ? 1200 : 700));
    assert_true(left > spoilt / 3 && left <= spoilt);
    close_log(&log);
}

static void each_cell_spoilt_once_within_its_type(void **state)
{
    (void)state;
    each_cell_spoilt_once(false);
}

static void each_cell_spoilt_once_by_any_type(void **state)
{
    (void)state;
    each_cell_spoilt_once(true);
}

static void random_cells_spoilt_at_random(void **state)
{
    (void)state;
    struct dice dice = {SEED + 1};
    for (int round = 0; round < ROUNDS; round++) {
        struct hostile log;
        make_log(&log, &dice, 60, round % 2 == 1);
        run(log.db, "BEGIN");
        for (uint64_t i = dice_below(&dice, 60); i > 0; i--) {
            const char *column = columns[dice_below(&dice, COUNT(columns))];
            const char *value = strcmp(column, "fields") == 0 && dice_below(&dice, 4) > 0
                                    ? jsons[dice_below(&dice, COUNT(jsons))]
                                    : values[dice_below(&dice, COUNT(values))];
            spoil(&log, 1 + (size_t)dice_below(&dice, 60), column, value);
        }
        run(log.db, "COMMIT");
        assert_export_comes_home(&log);
        close_log(&log);
    }
}

/* The table of machines and boots, whose one row stands for many events. */
static void origins_spoilt(void **state)
{
    (void)state;
    struct dice dice = {SEED + 12};
    size_t left = 0, all = 0;
    for (int round = 0; round < 6; round++) { /* of one log the events may lie in a few origins */
        struct hostile log;
        make_log(&log, &dice, 400, round % 2);
        run(log.db, "BEGIN");
        for (size_t v = 0; v < COUNT(values); v++) {
            for (int c = 0; c < 2; c++) {
                char sql[400];
                snprintf(sql, sizeof sql, "UPDATE origin SET %s = %s WHERE origin = %d",
                         c ? "machine" : "boot", values[v], 2 + (int)v * 2 + c);
                sqlite3_exec(log.db, sql, NULL, NULL, NULL);
            }
        }
        run(log.db, "DELETE FROM origin WHERE origin % 17 = 3; COMMIT");
        for (size_t i = 0; i < log.ids.count; i++) {
            log.touched.items[i] = true;
        }
        left += assert_export_comes_home(&log);
        all += log.ids.count;
        close_log(&log);
    }
    print_message("%zu of %zu left\n", left, all);
    assert_true(left > 60 && left < all / 2);
}

/* An id that came twice through a damaged index: the first of them goes out. */
static void an_id_comes_out_once(void **state)
{
    (void)state;
    struct dice dice = {SEED + 3};
    struct hostile log;
    make_log(&log, &dice, 40, true);
    run(log.db, "UPDATE event SET id = 'twice' WHERE row IN (7, 21, 30);"
                "UPDATE event SET at = 253402300799999 WHERE row = 21");
    log.touched.items[6] = log.touched.items[20] = log.touched.items[29] = true;
    assert_int_equal(assert_export_comes_home(&log), 2);
    close_log(&log);
}

/* Which row, which field, and what is wrong with it; also where a line could be made of the rest.
 */
static void what_is_left_is_named(void **state)
{
    (void)state;
    static const struct {
        const char *sql, *said;
    } rows[] = {
        {"SET id = NULL", "row 1, id unknown: id: missing, every event has it"},
        {"SET id = ''", "row 1, id : id: 0 bytes, it takes 1 to 64"},
        {"SET id = CAST(x'61ff' AS TEXT)", "row 1, id a?: id: no UTF-8"},
        {"SET id = 'a' || char(27) || '[2Jb'", NULL}, /* odd, and a line can hold it */
        {"SET id = x'61'", "row 1, id unknown: id: no text lies there"},
        {"SET id = CAST(x'610062' AS TEXT)", "row 1, id unknown: id: a NUL in the text"},
        {"SET at = 'noon'", "row 1, id a: at: no whole number lies there"},
        {"SET at = 253402300800000", "row 1, id a: at: outside the years 1 to 9999"},
        {"SET event = 'note'", "row 1, id a: figure: note has no such field"},
        {"SET event = 'odd'", "row 1, id a: figure: unknown has no such field"},
        {"SET event = NULL", "row 1, id a: event: missing, every event has it"},
        {"SET unit = NULL", "row 1, id a: unit: missing, coat_on belongs to a unit"},
        {"SET unit = CAST(x'750076' AS TEXT)", "row 1, id a: unit: a NUL in the text"},
        {"SET origin = 99", "row 1, id a: machine: the log no longer knows which"},
        {"SET origin = NULL", "row 1, id a: seq: it belongs to nothing"},
        {"SET origin = NULL, seq = NULL", "row 1, id a: boot_ms: it belongs to nothing"},
        {"SET seq = NULL", "row 1, id a: seq: no whole number lies there"},
        {"SET seq = -1", "row 1, id a: seq: -1, it takes 0 to 281474976710656"},
        {"SET boot_ms = 1.5", "row 1, id a: boot_ms: no whole number lies there"},
        {"SET figure = 1.5", "row 1, id a: figure: no whole number lies there"},
        {"SET figure = 100", "row 1, id a: figure: 100, it takes 0 to 99"},
        {"SET coat = NULL", "row 1, id a: coat: missing, coat_on needs it"},
        {"SET temp_c = 20", "row 1, id a: temp_c: coat_on has no such field"},
        {"SET on_pm_s = 9e999", "row 1, id a: on_pm_s: inf, it takes 0 to 2678400"},
        {"SET on_pm_s = 'x'", "row 1, id a: on_pm_s: no number lies there"},
        {"SET place = CAST(x'6100' AS TEXT)", "row 1, id a: place: a NUL in the text"},
        {"SET fields = '{'", "row 1, id a: fields: no JSON object: string or '}' expected near "
                             "end of file"},
        {"SET fields = CAST(x'7b7d00' AS TEXT)", "row 1, id a: fields: a NUL in the text"},
        {"SET fields = '{\"work_s\":\"5\"}'", "row 1, id a: fields: work_s: it takes a number"},
        {"SET fields = '{\"figure\":2}'",
         "row 1, id a: as a line: no JSON object: duplicate object key near "
         "'\"figure\"'"},
        {"SET origin = 2, seq = NULL, boot_ms = NULL,"
         " fields = '{\"seq\":1,\"machine\":\"m\"}'",
         "row 1, id a: as a line it would be another event"},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct hostile log;
        struct dice dice = {0};
        make_log(&log, &dice, 0, true);
        struct cb_arena arena = {0};
        struct cb_store *store = NULL;
        run(log.db,
            "INSERT INTO origin VALUES(1, 'm', 'b', 0), (2, NULL, NULL, 0);"
            "INSERT INTO event(row, id, at, event, unit, figure, stage, coat, origin, seq,"
            " boot_ms, sum) VALUES(1, 'a', 1767636000000, 'coat_on', 'u', 1, 1, 1, 1, 3, 4, 0)");
        char sql[300];
        snprintf(sql, sizeof sql, "UPDATE event %s", rows[i].sql);
        run(log.db, sql);
        sum_up(log.db);
        assert_int_equal(sqlite3_close(log.db), SQLITE_OK);
        struct cb_str out = {0};
        struct cb_transfer_left left;
        assert_int_equal(cb_store_open(path, CB_STORE_READ, &store, NULL), CB_OK);
        size_t count = export_to(store, CB_TRANSFER_JSONL, &out, &left, &arena);
        assert_int_equal(count, rows[i].said == NULL);
        assert_int_equal(left.count, rows[i].said != NULL);
        if (rows[i].said) {
            assert_string_equal(left.first.items[0].message, rows[i].said);
        }
        cb_store_close(store);
        cb_str_fini(&out);
        cb_arena_fini(&arena);
        close_log(&log);
    }
}

int main(void)
{
    print_message("seed %d\n", SEED);
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_cell_spoilt_once_within_its_type),
        cmocka_unit_test(each_cell_spoilt_once_by_any_type),
        cmocka_unit_test(random_cells_spoilt_at_random),
        cmocka_unit_test(origins_spoilt),
        cmocka_unit_test(an_id_comes_out_once),
        cmocka_unit_test(what_is_left_is_named),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
