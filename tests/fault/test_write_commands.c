/* SPDX-License-Identifier: MIT */
/*
 * As test_writes.c, of what writes without a bench: `begin` and `log import`, into a log, into none
 * yet, and into one of an older version, which is brought up to date first. Killed or refused, the
 * log is as it was or as it should become; what was said to be done is done; and the same command
 * again ends well. Argument: every so manieth write (default 7; 1: all).
 */
#include <dirent.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <signal.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "shell/migrate.h"
#include "shell/store_sum.h"
#include "support/fault.h"

enum { LINES = 200, OLD_EVENTS = 40 };

enum before { NOTHING, LOG, OLD };

static char recipe[192], lines[192], box[128];
static const char *const begin[] = {"begin", recipe, "--temp", "23", "--rh", "50", NULL};
static const char *const import[] = {"log", "import", lines, NULL};

static const struct command {
    const char *name;
    enum before before;
    const char *const *arguments;
    bool once; /* again, it adds nothing */
} commands[] = {
    {"begin, and the log is made", NOTHING, begin, false},
    {"begin", LOG, begin, false},
    {"log import, and the log is made", NOTHING, import, true},
    {"log import", LOG, import, true},
    {"log import, and the log is brought up to date", OLD, import, true},
};

static int every = 7;
static struct fault_events all[sizeof commands / sizeof commands[0]];
static size_t base[sizeof commands / sizeof commands[0]];
static const struct command *running;
static const char *how;
static int points[SHIM_POINTS_MAX];

/* A log as the first version made it. */
static bool make_old(const char *path)
{
    sqlite3 *db = NULL;
    const bool good =
        sqlite3_open(path, &db) == SQLITE_OK && cb_store_sum_functions(db) == SQLITE_OK &&
        cb_migrate(db, path, path, true, cb_migrate_steps, 1, NULL) == CB_OK &&
        sqlite3_exec(
            db,
            "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 40)"
            " INSERT INTO event(row, id, at, event, press, fields)"
            " SELECT i, 'old' || i, i, 'note', 'old' || i, '{\"text\":\"old ' || i || '\"}'"
            " FROM n",
            NULL, NULL, NULL) == SQLITE_OK;
    return sqlite3_close(db) == SQLITE_OK && good;
}

static bool prepare(struct fault *fault, enum before before)
{
    static char said[FAULT_TEXT_MAX];
    fault_clear(fault);
    return before == NOTHING ? true
           : before == OLD   ? make_old(fault->log)
                             : fault_run(fault, said, begin) == 0;
}

/* One line that says what is wrong. */
static bool is_clear(const char *said)
{
    return strncmp(said, "coatbell: ", 10) == 0 && strlen(said) > 30 &&
           strchr(said, '\n') == said + strlen(said) - 1;
}

/* The backup that the older log left behind is a whole log. */
static bool check_backup(struct fault *fault, char why[2048])
{
    static char said[FAULT_TEXT_MAX];
    struct fault_events events;
    char path[512] = "";
    DIR *dir = opendir(fault->logs);
    for (struct dirent *entry; (entry = readdir(dir)) != NULL;) {
        if (strncmp(entry->d_name, "log.db.backup-v1", 16) == 0 &&
            strstr(entry->d_name, ".part-") == NULL) {
            snprintf(path, sizeof path, "%.200s/%.200s", fault->logs, entry->d_name);
        }
    }
    closedir(dir);
    if (path[0] == '\0') {
        snprintf(why, 2048, "brought up to date without a backup");
        return false;
    }
    char wal[256];
    snprintf(wal, sizeof wal, "%s-wal", fault->log);
    unlink(wal);
    if (rename(path, fault->log) != 0 || fault_run(fault, said, import) != 0 ||
        fault_export(fault, &events, said) != 0 || events.count != OLD_EVENTS + LINES) {
        snprintf(why, 2048, "the backup %s is no whole log: %.900s", path, said);
        return false;
    }
    return true;
}

static bool one_case(struct fault *fault, size_t n, int *ended, char why[2048])
{
    enum { KILLED, REFUSED, DONE };
    static const int torn[] = {0, 1, 2048, 13, 4095};
    static char said[FAULT_TEXT_MAX], out[FAULT_TEXT_MAX];
    const size_t which = (size_t)(running - commands);
    struct fault_events events;
    char lost[512] = "";
    if (!prepare(fault, running->before)) {
        snprintf(why, 2048, "can't be prepared");
        return false;
    }
    fault_arm(fault, points[n], how,
              strcmp(how, "torn") == 0 ? torn[n % (sizeof torn / sizeof torn[0])] : (int)(n % 2));
    const int code = fault_run(fault, said, running->arguments);
    fault_disarm();
    *ended = code == 128 + SIGKILL ? KILLED : code == 0 ? DONE : REFUSED;
    if (*ended == REFUSED && (code != 74 || !is_clear(said))) {
        snprintf(why, 2048, "ended with %d: %.900s", code, said);
        return false;
    }
    const int export = fault_export(fault, &events, out);
    const bool none = export == 74 && strstr(out, "coatbell begin RECIPE") != NULL;
    const bool old = export == 65 && strstr(out, "open the bench on it once") != NULL;
    if (export != 0 && !(none && running->before == NOTHING) && !(old && running->before == OLD)) {
        snprintf(why, 2048, "log export: %d, %.900s", export, out);
        return false;
    }
    if (!old &&
        (!fault_is_prefix(&events, &all[which], lost) ||
         !(events.count == all[which].count || (code != 0 && events.count == base[which])))) {
        snprintf(why, 2048, "%zu events after exit code %d: %s", events.count, code, lost);
        return false;
    }
    const size_t had = old ? base[which] : events.count;
    const size_t more = running->once ? all[which].count : had + all[which].count - base[which];
    if (fault_run(fault, said, running->arguments) != 0) {
        snprintf(why, 2048, "a second time: %.900s", said);
        return false;
    }
    if (fault_export(fault, &events, out) != 0 || events.count != more) {
        snprintf(why, 2048, "%zu events after a second time, not %zu", events.count, more);
        return false;
    }
    return running->before != OLD || check_backup(fault, why);
}

static int set_up(void **state)
{
    (void)state;
    snprintf(box, sizeof box, "%.100s", getenv("TMPDIR") ? getenv("TMPDIR") : "/tmp");
    snprintf(recipe, sizeof recipe, "%s/commands.yaml", box);
    snprintf(lines, sizeof lines, "%s/lines.jsonl", box);
    FILE *file = fopen(recipe, "w");
    fputs("coatbell: 1\nname: Lamp watch\nfigures: 3\npaints:\n"
          "  rope: {name: Tarred rope, kind: acrylic}\n"
          "stages:\n  - {name: Ropes, technique: basecoat, paint: rope}\n",
          file);
    fclose(file);
    file = fopen(lines, "w");
    for (int i = 0; i < LINES; i++) {
        fprintf(file,
                "{\"id\":\"line%d\",\"at\":\"2036-01-05T18:00:00Z\",\"event\":\"note\","
                "\"text\":\"lamp %d\",\"press\":\"lines\"}\n",
                i, i);
    }
    return fclose(file);
}

static void check(const struct command *command)
{
    static const struct {
        const char *how, *of;
    } ways[] = {
        {"kill", "wstru"}, {"torn", "w"}, {"power", "wstru"}, {"full", "wt"}, {"sync", "s"}};
    static char said[FAULT_TEXT_MAX];
    const size_t which = (size_t)(command - commands);
    struct fault fault;
    running = command;
    assert_true(fault_open(&fault));
    assert_true(prepare(&fault, command->before));
    base[which] = 0;
    if (command->before == LOG) {
        assert_int_equal(fault_export(&fault, &all[which], said), 0);
        base[which] = all[which].count;
    } else if (command->before == OLD) {
        base[which] = OLD_EVENTS;
    }
    fault_arm(&fault, 0, "", 0);
    assert_int_equal(fault_run(&fault, said, command->arguments), 0);
    fault_disarm();
    assert_int_equal(fault_export(&fault, &all[which], said), 0);
    for (size_t w = 0; w < sizeof ways / sizeof ways[0]; w++) {
        int outcomes[FAULT_OUTCOMES], seen = 0;
        size_t count = 0;
        for (int i = 0; i < fault.shared->points; i++) {
            if (strchr(ways[w].of, fault.shared->kinds[i]) != NULL &&
                (seen++ % every == 0 || i == fault.shared->points - 1)) {
                points[count++] = i + 1;
            }
        }
        how = ways[w].how;
        assert_true(fault_sweep(count, one_case, outcomes));
        printf("%s, %s at %zu of %d points: %d ended there, %d refused, %d done\n", command->name,
               how, count, fault.shared->points, outcomes[0], outcomes[1], outcomes[2]);
    }
    fault_close(&fault);
}

static void test_begin(void **state)
{
    (void)state;
    check(&commands[0]);
    check(&commands[1]);
}

static void test_import(void **state)
{
    (void)state;
    check(&commands[2]);
    check(&commands[3]);
}

static void test_older(void **state)
{
    (void)state;
    check(&commands[4]);
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_begin),
        cmocka_unit_test(test_import),
        cmocka_unit_test(test_older),
    };
    every = argc > 1 ? (int)strtol(argv[1], NULL, 10) : every;
    return cmocka_run_group_tests(tests, set_up, NULL);
}
