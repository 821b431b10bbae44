/* SPDX-License-Identifier: MIT */
/* `log export` and `log import` as they are called: exit codes, what is said, where it goes. */
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

#include "command/command.h"
#include "shell/store_sum.h"

static char folder[64];
static char said[8192], grumbled[8192]; /* standard output and error of the last call */

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
    snprintf(folder, sizeof folder, "%.40s/cb-log-XXXXXX", base && *base ? base : "/tmp");
    return mkdtemp(folder) ? 0 : -1;
}

static int remove_folder(void **state)
{
    (void)state;
    return nftw(folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
}

static const char *in_folder(const char *name)
{
    static char paths[8][160];
    static int turn;
    char *path = paths[turn++ % 8];
    snprintf(path, sizeof paths[0], "%s/%s", folder, name);
    return path;
}

static void put(const char *name, const char *text, size_t length)
{
    FILE *file = fopen(in_folder(name), "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(text, 1, length, file), length);
    assert_int_equal(fclose(file), 0);
}

static void get(const char *name, char *text, size_t size)
{
    FILE *file = fopen(in_folder(name), "rb");
    assert_non_null(file);
    text[fread(text, 1, size - 1, file)] = '\0';
    fclose(file);
}

static int redirect(int fd, const char *name, int flags)
{
    int kept = dup(fd);
    int file = open(in_folder(name), flags, 0600);
    assert_true(kept >= 0 && file >= 0);
    assert_true(dup2(file, fd) == fd);
    close(file);
    return kept;
}

static void put_back(int fd, int kept)
{
    assert_true(dup2(kept, fd) == fd);
    close(kept);
}

/* coatbell log WORDS... on the log of that name. */
static int call(const char *log, const char *first, const char *second, const char *third,
                const char *fourth)
{
    const char *words[] = {"coatbell", "log",  "--log", in_folder(log),
                           first,      second, third,   fourth};
    int count = 4;
    char *argv[9];
    while (count < 8 && words[count]) {
        count++;
    }
    for (int i = 0; i < count; i++) {
        argv[i] = strdup(words[i]);
    }
    argv[count] = NULL;
    fflush(NULL);
    int out = redirect(STDOUT_FILENO, "out", O_WRONLY | O_CREAT | O_TRUNC);
    int err = redirect(STDERR_FILENO, "err", O_WRONLY | O_CREAT | O_TRUNC);
    int code = cb_command_main(count, argv);
    fflush(NULL);
    put_back(STDOUT_FILENO, out);
    put_back(STDERR_FILENO, err);
    for (int i = 0; i < count; i++) {
        free(argv[i]);
    }
    get("out", said, sizeof said);
    get("err", grumbled, sizeof grumbled);
    return code;
}

static void assert_holds(const char *text, const char *part)
{
    if (!strstr(text, part)) {
        fail_msg("no \"%s\" in: %s", part, text);
    }
}

#define NOTE(id, text)                                                                             \
    "{\"id\":\"" id "\",\"at\":\"2026-01-05T18:00:00.000Z\",\"event\":\"note\","                   \
    "\"text\":\"" text "\"}\n"

static void take(const char *log, const char *lines)
{
    put("lines", lines, strlen(lines));
    if (call(log, "import", in_folder("lines"), NULL, NULL) != 0) {
        fail_msg("%s", grumbled);
    }
}

/* The third of four is spoilt in its JSON, the second in a column; the rest is a backup. */
static void a_bad_row_is_said_and_the_rest_is_exported(void **state)
{
    (void)state;
    take("log.db",
         NOTE("a", "one") "{\"id\":\"b\",\"at\":\"2026-01-05T18:00:00Z\",\"event\":"
                          "\"climate_set\",\"temp_c\":20,\"rh_pct\":50,\"place\":\"shed\"}\n" NOTE(
                              "c", "three") NOTE("d", "four"));
    sqlite3 *db;
    assert_int_equal(sqlite3_open(in_folder("log.db"), &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db,
                                  "UPDATE event SET place = CAST(x'61ff' AS TEXT) WHERE id = 'b';"
                                  "UPDATE event SET fields = '{\"text\":' WHERE id = 'c'",
                                  NULL, NULL, NULL),
                     SQLITE_OK);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
    /* their sums say that they have changed: the disk has lost them */
    assert_int_equal(call("log.db", "export", NULL, NULL, NULL), 1);
    assert_string_equal(said, NOTE("a", "one") NOTE("d", "four"));
    assert_holds(grumbled, "2 events are damaged");
    assert_holds(grumbled, "2 of 4 events saved");
    /* and with sums that fit, somebody has put them there */
    assert_int_equal(sqlite3_open(in_folder("log.db"), &db), SQLITE_OK);
    assert_int_equal(cb_store_sum_functions(db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db,
                                  "UPDATE event SET sum = row_sum(row, id, at, event, unit, press, "
                                  "origin, seq, boot_ms, figure,"
                                  " stage, coat, found, on_at, on_pm_s, place, temp_c, rh_pct, "
                                  "air, climate_from, of, fields);"
                                  "UPDATE origin SET sum = row_sum(origin, machine, boot)",
                                  NULL, NULL, NULL),
                     SQLITE_OK);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);

    assert_int_equal(call("log.db", "export", NULL, NULL, NULL), 65);
    assert_string_equal(said, NOTE("a", "one") NOTE("d", "four"));
    assert_holds(grumbled, "log.db: row 2, id b: place: no UTF-8\n");
    assert_holds(grumbled, "log.db: row 3, id c: fields: no JSON object");
    assert_holds(grumbled, "log.db: 2 of 4 events left out");

    assert_int_equal(call("log.db", "export", in_folder("copy"), "--json", NULL), 65);
    assert_holds(said, "\"events\":2,\"left\":2,\"errors\":[{\"file\":");
    assert_holds(said, "\"message\":\"row 2, id b: place: no UTF-8\"}");
    char copy[1000];
    get("copy", copy, sizeof copy);
    assert_string_equal(copy, NOTE("a", "one") NOTE("d", "four"));
    assert_int_equal(call("other.db", "import", in_folder("copy"), "--strict", NULL), 0);

    assert_int_equal(call("log.db", "export", "--csv", NULL, NULL), 65);
    assert_holds(said, "\r\na,");
    assert_holds(said, "\r\nd,");
    assert_null(strstr(said, "\r\nb,"));
}

static void good_lines_are_taken_and_bad_ones_named(void **state)
{
    (void)state;
    static const char lines[] =
        NOTE("a", "one") "no line\n" NOTE("", "no id") NOTE("b", "\xff") NOTE("c", "three");
    put("lines", lines, sizeof lines - 1);
    assert_int_equal(call("log.db", "import", in_folder("lines"), NULL, NULL), 65);
    assert_string_equal(said, "imported 2 events, 0 there already\n");
    assert_holds(grumbled, "lines:2:2: no JSON object");
    assert_holds(grumbled, "lines:3:7: id: 0 bytes, it takes 1 to 64\n");
    assert_holds(grumbled, "lines:4:");
    assert_holds(grumbled, "lines: 3 lines left, all others are in the log");
    assert_null(strstr(grumbled, "more"));
    assert_int_equal(call("log.db", "export", NULL, NULL, NULL), 0);
    assert_string_equal(said, NOTE("a", "one") NOTE("c", "three"));
    assert_string_equal(grumbled, "");

    /* once more nothing is taken twice, and the answer is JSON */
    assert_int_equal(call("log.db", "import", in_folder("lines"), "--json", NULL), 65);
    assert_holds(said, "{\"imported\":0,\"known\":2,\"left\":3,\"errors\":[{\"file\":");
    assert_holds(said, "\"line\":3,\"col\":7,\"message\":\"id: 0 bytes, it takes 1 to 64\"}");
    assert_null(strstr(grumbled, ":3:7:"));
}

static void strict_takes_all_or_nothing(void **state)
{
    (void)state;
    static const char lines[] = NOTE("a", "one") "no line\n" NOTE("c", "three");
    put("lines", lines, sizeof lines - 1);
    assert_int_equal(call("log.db", "import", "--strict", in_folder("lines"), NULL), 65);
    assert_string_equal(said, "");
    assert_holds(grumbled, "lines:2:2: no JSON object");
    assert_holds(grumbled, "nothing was imported");
    assert_int_equal(call("log.db", "import", "--strict", in_folder("lines"), "--json"), 65);
    assert_holds(said, "{\"imported\":0,\"known\":0,\"left\":1,\"errors\":[{\"file\":");
    assert_int_equal(call("log.db", "export", NULL, NULL, NULL), 0);
    assert_string_equal(said, "");
    assert_int_equal(call("log.db", "export", "--strict", NULL, NULL), 2);
    assert_holds(grumbled, "--strict goes with import");
}

static void ten_are_named_and_the_rest_counted(void **state)
{
    (void)state;
    char lines[400] = "";
    for (int i = 0; i < 33; i++) {
        memcpy(lines + strlen(lines), "no line\n", 9);
    }
    put("lines", lines, strlen(lines));
    assert_int_equal(call("log.db", "import", in_folder("lines"), NULL, NULL), 65);
    assert_holds(grumbled, "lines:10:2: ");
    assert_null(strstr(grumbled, "lines:11:"));
    assert_holds(grumbled, "lines: and 23 more\n");
    assert_holds(grumbled, "lines: 33 lines left");
}

/* A line in this log's own name, far ahead: what is pressed later can still be exported. */
static void a_line_in_our_name_far_ahead_is_left(void **state)
{
    (void)state;
    take("log.db", NOTE("a", "one"));
    sqlite3 *db;
    sqlite3_stmt *stmt;
    char line[400];
    assert_int_equal(sqlite3_open(in_folder("log.db"), &db), SQLITE_OK);
    assert_int_equal(
        sqlite3_prepare_v2(db, "SELECT value FROM meta WHERE name = 'machine'", -1, &stmt, NULL),
        SQLITE_OK);
    assert_int_equal(sqlite3_step(stmt), SQLITE_ROW);
    snprintf(line, sizeof line,
             "{\"id\":\"z\",\"at\":\"2026-01-05T18:00:00Z\",\"event\":\"session_closed\","
             "\"machine\":\"%s\",\"seq\":281474976710656}\n",
             (const char *)sqlite3_column_text(stmt, 0));
    sqlite3_finalize(stmt);
    sqlite3_close(db);
    put("lines", line, strlen(line));
    assert_int_equal(call("log.db", "import", in_folder("lines"), NULL, NULL), 65);
    assert_holds(grumbled, "lines:1:99: seq: 281474976710656 in the name of this very log");
    assert_int_equal(call("other.db", "import", in_folder("lines"), NULL, NULL), 0);
}

/* What is no file at all makes no log. */
static void a_file_that_is_not_there_makes_no_log(void **state)
{
    (void)state;
    assert_int_equal(call("log.db", "import", in_folder("nowhere"), NULL, NULL), 74);
    assert_int_equal(access(in_folder("log.db"), F_OK), -1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_bad_row_is_said_and_the_rest_is_exported, make_folder,
                                        remove_folder),
        cmocka_unit_test_setup_teardown(good_lines_are_taken_and_bad_ones_named, make_folder,
                                        remove_folder),
        cmocka_unit_test_setup_teardown(strict_takes_all_or_nothing, make_folder, remove_folder),
        cmocka_unit_test_setup_teardown(ten_are_named_and_the_rest_counted, make_folder,
                                        remove_folder),
        cmocka_unit_test_setup_teardown(a_line_in_our_name_far_ahead_is_left, make_folder,
                                        remove_folder),
        cmocka_unit_test_setup_teardown(a_file_that_is_not_there_makes_no_log, make_folder,
                                        remove_folder),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
