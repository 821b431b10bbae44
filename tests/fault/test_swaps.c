/* SPDX-License-Identifier: MIT */
/*
 * `log restore --yes` and `log check --mend` put another log in the place of one whose last events
 * lie in its -wal alone. Killed, or by a power cut, at any point: the log opens, it is the old one
 * or the new one, and all that was in the old one is in it or in the file beside it that is named
 * as kept, whole and once; the same command again ends well and leaves nothing half made behind.
 * Refused by a full disk: the old log stays, and a copy that stays is named.
 * And against an import, each stopped at any point while the other runs: what was said to be
 * imported is in the log, or in the file that was named. Argument: every so manieth point (default
 * 29; 1: all).
 */
#include <dirent.h>
#include <fcntl.h>
#include <setjmp.h>
#include <signal.h>
#include <sqlite3.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

#include "base/arena.h"
#include "core/log/event.h"
#include "shell/store.h"
#include "support/fault.h"

enum { NOTES = 12, LINES = 3, MORE = 100, KEPT_MAX = 8, SPOILT = 100 };

static char box[128], recipe[192], lines[192], more[192], backup[192];
static char whole[192], broken[192], summed[192]; /* folders of a log each */
static const char *const begin[] = {"begin", recipe, "--temp", "23", "--rh", "50", NULL};
static const char *const import[] = {"log", "import", lines, NULL};
static const char *const import_more[] = {"log", "import", more, NULL};
static const char *const make_backup[] = {"log", "backup", backup, NULL};
static const char *const restore[] = {"log", "restore", backup, "--yes", NULL};
static const char *const mend[] = {"log", "check", "--mend", NULL};

static struct fault_events old, small, short_of; /* of the logs, and of the backup */

static const struct command {
    const char *name, *from; /* from: the folder of the log before */
    const char *const *arguments;
    const struct fault_events *old; /* what is in it */
    const char *kept;
    bool to_backup;  /* the new log is the backup, else all that was there */
    bool sweep_only; /* at all points or none */
} commands[] = {
    {"log restore --yes", whole, restore, &old, "log.db.replaced", true, false},
    {"log restore --yes, over a broken log", broken, restore, &small, "log.db.replaced", true,
     true},
    {"log check --mend", broken, mend, &small, "log.db.damaged", false, false},
    {"log check --mend, in place", summed, mend, &small, "log.db.before-mend", false, false},
};

static int every = 29;
static const struct command *running;
static const char *how;
static int points[SHIM_POINTS_MAX], bytes[SHIM_POINTS_MAX];

static bool holds(const struct fault_events *events, const struct fault_events *all)
{
    char why[512];
    return events->count == all->count && fault_is_prefix(events, all, why);
}

/* The files that are named as kept, without their companions. */
static size_t find_kept(const struct fault *fault, const char *name, char found[KEPT_MAX][400])
{
    size_t count = 0;
    DIR *dir = opendir(fault->logs);
    for (struct dirent *entry; dir != NULL && (entry = readdir(dir)) != NULL;) {
        const char *rest = entry->d_name + strlen(name);
        if (strncmp(entry->d_name, name, strlen(name)) == 0 && strchr(rest, 'w') == NULL &&
            strchr(rest, 's') == NULL && strchr(rest, 'j') == NULL && count < KEPT_MAX) {
            snprintf(found[count++], 400, "%.180s/%.180s", fault->logs, entry->d_name);
        }
    }
    closedir(dir);
    return count;
}

static const char *left_over(const struct fault *fault)
{
    static const char *const names[] = {".new.part", ".new.part-wal", ".new.whole", ".old.part",
                                        "-wal"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        char path[256];
        snprintf(path, sizeof path, "%s%s", fault->log, names[i]);
        if (access(path, F_OK) == 0) {
            return names[i];
        }
    }
    return NULL;
}

static int export_of(const struct fault *fault, const char *path, struct fault_events *events,
                     char said[FAULT_TEXT_MAX])
{
    struct fault other = *fault;
    snprintf(other.log, sizeof other.log, "%.180s", path);
    return fault_export(&other, events, said);
}

/* Every file that has such a name holds all of the old log. */
static bool check_kept(const struct fault *fault, size_t *count, char why[2048])
{
    static char said[FAULT_TEXT_MAX];
    char found[KEPT_MAX][400];
    struct fault_events events;
    *count = find_kept(fault, running->kept, found);
    for (size_t i = 0; i < *count; i++) {
        const int code = export_of(fault, found[i], &events, said);
        if ((code != 0 && code != 1) || !holds(&events, running->old)) {
            snprintf(why, 2048, "%.300s holds %zu events of %zu: %d, %.900s", found[i],
                     events.count, running->old->count, code, said);
            return false;
        }
    }
    return true;
}

static bool prepare(struct fault *fault)
{
    fault_clear(fault);
    return fault_copy_logs(fault, running->from, fault->logs);
}

static bool one_case(struct fault *fault, size_t n, int *ended, char why[2048])
{
    enum { KEPT_ON, SWAPPED, DONE };
    static char said[FAULT_TEXT_MAX], out[FAULT_TEXT_MAX];
    const struct fault_events *wanted = running->to_backup ? &short_of : running->old;
    struct fault_events events;
    size_t kept;
    if (!prepare(fault)) {
        snprintf(why, 2048, "can't be prepared");
        return false;
    }
    fault_arm(fault, points[n], how, bytes[n]);
    const int code = fault_run(fault, said, running->arguments);
    fault_disarm();
    if (code != 128 + SIGKILL && code != 0) {
        snprintf(why, 2048, "ended with %d: %.900s", code, said);
        return false;
    }
    const int export = fault_export(fault, &events, out);
    if (export != 0 && !(export == 1 && running->from == broken)) {
        snprintf(why, 2048, "log export: %d, %.900s", export, out);
        return false;
    }
    if (!check_kept(fault, &kept, why)) {
        return false;
    }
    const bool is_new = export == 0 && holds(&events, wanted) && kept > 0;
    if (!is_new && (code == 0 || !holds(&events, running->old))) {
        snprintf(why, 2048, "exit code %d, %zu events, %zu kept files", code, events.count, kept);
        return false;
    }
    *ended = code == 0 ? DONE : is_new ? SWAPPED : KEPT_ON;
    if (fault_run(fault, said, running->arguments) != 0 || fault_export(fault, &events, out) != 0 ||
        !holds(&events, wanted)) {
        snprintf(why, 2048, "a second time: %.900s", said);
        return false;
    }
    if (left_over(fault) != NULL) {
        snprintf(why, 2048, "log.db%s is left", left_over(fault));
        return false;
    }
    return running->to_backup && is_new ? true : check_kept(fault, &kept, why) && kept > 0;
}

/* Points of those kinds of the last run: every so manieth, the last, and all that change a name,
 * these in each way in which the disk may forget names. */
static size_t choose(const struct fault *fault, const char *kinds)
{
    static const int ways[] = {0, 1, 3};
    size_t count = 0;
    int seen = 0;
    for (int i = 0; i < fault->shared->points; i++) {
        if (strchr(kinds, fault->shared->kinds[i]) != NULL &&
            (seen++ % every == 0 || strchr("rudo", fault->shared->kinds[i]) != NULL ||
             i == fault->shared->points - 1)) {
            const bool all = strcmp(how, "power") == 0 &&
                             (every == 1 || strchr("rud", fault->shared->kinds[i]) != NULL);
            for (size_t way = 0; way < (all ? 3 : 1) && count < SHIM_POINTS_MAX; way++) {
                bytes[count] = ways[(all ? way : count) % 3];
                points[count++] = i + 1;
            }
        }
    }
    return count;
}

static void test_cut_off(void **state)
{
    (void)state;
    static const char *const ways[] = {"kill", "power"};
    static char said[FAULT_TEXT_MAX];
    for (size_t c = 0; c < sizeof commands / sizeof commands[0]; c++) {
        struct fault fault;
        running = &commands[c];
        if (running->from == summed || (running->sweep_only && every > 1)) {
            continue;
        }
        assert_true(fault_open(&fault));
        assert_true(prepare(&fault));
        fault_arm(&fault, 0, "", 0);
        assert_int_equal(fault_run(&fault, said, running->arguments), 0);
        fault_disarm();
        for (size_t w = 0; w < sizeof ways / sizeof ways[0]; w++) {
            int outcomes[FAULT_OUTCOMES];
            how = ways[w];
            const size_t count = choose(&fault, "wstruld");
            assert_true(fault_sweep(count, one_case, outcomes));
            printf("%s, %s at %zu of %d points: %d times the old log, %d the new one, %d done\n",
                   running->name, how, count, fault.shared->points, outcomes[0], outcomes[1],
                   outcomes[2]);
            assert_true(outcomes[0] > 0 && outcomes[1] > 0);
        }
        fault_close(&fault);
    }
}

/* The disk is full: all is as it was, or the copy that stays is named. */
static bool one_refused(struct fault *fault, size_t n, int *ended, char why[2048])
{
    static char said[FAULT_TEXT_MAX], out[FAULT_TEXT_MAX];
    char found[KEPT_MAX][400];
    struct fault_events events;
    if (!prepare(fault)) {
        snprintf(why, 2048, "can't be prepared");
        return false;
    }
    fault_arm(fault, points[n], how, bytes[n]);
    const int code = fault_run(fault, said, running->arguments);
    fault_disarm();
    const int export = fault_export(fault, &events, out);
    const size_t kept = find_kept(fault, running->kept, found);
    *ended = code == 0 ? 2 : kept > 0 ? 1 : 0;
    if (code != 0 &&
        (code != 74 || (export != 0 && export != 1) || !holds(&events, running->old))) {
        snprintf(why, 2048, "ended with %d, %zu events: %.900s", code, events.count, said);
        return false;
    }
    if (kept > 0 && strstr(said, running->kept) == NULL) {
        snprintf(why, 2048, "it does not name %.300s: %.900s", found[0], said);
        return false;
    }
    if (left_over(fault) != NULL && running->from != broken) {
        snprintf(why, 2048, "log.db%s is left: %.900s", left_over(fault), said);
        return false;
    }
    return true;
}

static void test_refused(void **state)
{
    (void)state;
    static char said[FAULT_TEXT_MAX];
    how = "full";
    for (size_t c = 0; c < sizeof commands / sizeof commands[0]; c++) {
        struct fault fault;
        int outcomes[FAULT_OUTCOMES];
        running = &commands[c];
        if (running->from == broken && running->to_backup) {
            continue;
        }
        assert_true(fault_open(&fault));
        assert_true(prepare(&fault));
        fault_arm(&fault, 0, "", 0);
        assert_int_equal(fault_run(&fault, said, running->arguments), 0);
        fault_disarm();
        const int usual = every;
        every = running->from == summed && every > 2 ? 2 : every;
        const size_t count = choose(&fault, "wt");
        every = usual;
        assert_true(fault_sweep(count, one_refused, outcomes));
        printf("%s, disk full at %zu points: %d refused, %d of them with a copy, %d done\n",
               running->name, count, outcomes[0] + outcomes[1], outcomes[1], outcomes[2]);
        assert_true(outcomes[0] > 0 && (outcomes[1] > 0) == (running->from == summed));
        fault_close(&fault);
    }
}

/* ---- two at a time ---- */

static pid_t start(const struct fault *fault, const char *const *arguments, const char *said_in)
{
    static char said[FAULT_TEXT_MAX];
    fflush(stdout);
    const pid_t child = fork();
    if (child == 0) {
        const int code = fault_run(fault, said, arguments);
        FILE *file = fopen(said_in, "w");
        if (file != NULL) {
            fputs(said, file);
            fclose(file);
        }
        _exit(code > 0 ? code : code == 0 ? 0 : 99);
    }
    return child;
}

static void nap(void)
{
    nanosleep(&(struct timespec){0, 2000000}, NULL);
}

static bool has_ended(pid_t child, int *code, bool wait)
{
    int status;
    if (*code < 0 && waitpid(child, &status, wait ? 0 : WNOHANG) == child) {
        *code = WIFEXITED(status) ? WEXITSTATUS(status) : 99;
    }
    return *code >= 0;
}

static const char *const *stopping, *const *other;
static int cuts[SHIM_POINTS_MAX]; /* where the other is killed; none: nowhere */
static size_t cut_count;

/* Beside one that has a fault already. */
static pid_t start_cut(const struct fault *fault, int at, const char *said_in)
{
    struct fault second;
    if (!fault_open(&second)) {
        return -1;
    }
    memcpy(second.logs, fault->logs, sizeof second.logs);
    memcpy(second.log, fault->log, sizeof second.log);
    fault_arm(&second, at, "kill", 0);
    const pid_t child = start(&second, other, said_in);
    fault_disarm();
    int code = -1;
    for (int i = 0; i < 500 && second.shared->hits == 0 && !has_ended(child, &code, false); i++) {
        nap();
    }
    fault_close(&second);
    return child;
}

/* The lines that are there. */
static size_t count_lines(const struct fault_events *events)
{
    size_t count = 0;
    for (size_t i = 0; i < events->count; i++) {
        count += strncmp(events->items[i].id, "line", 4) == 0;
    }
    return count;
}

/* One stops, the other goes on for a tenth of a second or to its end, then the first goes on. */
static bool one_race(struct fault *fault, size_t n, int *ended, char why[2048])
{
    static char out[FAULT_TEXT_MAX];
    char found[KEPT_MAX][400], first_said[256], second_said[256];
    struct fault_events events;
    int first = -1, second = -1;
    const size_t cut = cut_count;
    const int point = points[cut > 0 ? n / cut : n];
    snprintf(first_said, sizeof first_said, "%s/first", fault->folder);
    snprintf(second_said, sizeof second_said, "%s/second", fault->folder);
    if (!prepare(fault)) {
        snprintf(why, 2048, "can't be prepared");
        return false;
    }
    fault_arm(fault, point, how, 0);
    const pid_t a = start(fault, stopping, first_said);
    fault_disarm();
    while (__atomic_load_n(&fault->shared->stopped, __ATOMIC_SEQ_CST) == 0 &&
           !has_ended(a, &first, false)) {
        nap();
    }
    const pid_t b =
        cut > 0 ? start_cut(fault, cuts[n % cut], second_said) : start(fault, other, second_said);
    for (int i = 0; i < 50 && !has_ended(b, &second, false); i++) {
        nap();
    }
    for (int i = 0; i < 2000 && !has_ended(a, &first, false); i++) {
        if (fault->shared->stopped > 0) { /* it says so before it stops */
            kill(fault->shared->stopped, SIGCONT);
        }
        nap();
    }
    has_ended(a, &first, true);
    has_ended(b, &second, true);
    const int imported = stopping == import ? first : second;
    const int restored = stopping == import ? second : first;
    const int export = fault_export(fault, &events, out);
    if (export != 0 || (imported != 0 && imported != 74) ||
        (restored != 0 && restored != 1 && cut == 0)) {
        snprintf(why, 2048, "point %d: import %d, restore %d, export %d: %.900s", point, imported,
                 restored, export, out);
        return false;
    }
    size_t there = count_lines(&events), kept = find_kept(fault, "log.db.replaced", found);
    const bool both = there > 0;
    for (size_t i = 0; i < kept; i++) {
        if (export_of(fault, found[i], &events, out) != 0) {
            snprintf(why, 2048, "point %d: %.300s is no whole log", point, found[i]);
            return false;
        }
        there += count_lines(&events);
    }
    *ended = imported != 0 ? 0 : restored != 0 ? 1 : both ? 2 : 3;
    if (there != (imported == 0 ? LINES : 0) || (cut == 0 && (restored == 0) != (kept > 0))) {
        snprintf(why, 2048, "point %d: import %d, restore %d, %zu lines are there, %zu kept files",
                 point, imported, restored, there, kept);
        return false;
    }
    return cut > 0 || left_over(fault) == NULL;
}

static void test_beside_an_import(void **state)
{
    (void)state;
    static const char *const *const orders[][2] = {{restore, import}, {import, restore}};
    static char said[FAULT_TEXT_MAX];
    running = &commands[0];
    how = "stop";
    for (size_t i = 0; i < sizeof orders / sizeof orders[0]; i++) {
        struct fault fault;
        int outcomes[FAULT_OUTCOMES];
        stopping = orders[i][0];
        other = orders[i][1];
        assert_true(fault_open(&fault));
        assert_true(prepare(&fault));
        fault_arm(&fault, 0, how, 0);
        assert_int_equal(fault_run(&fault, said, stopping), 0);
        fault_disarm();
        const size_t count = choose(&fault, every == 1 ? "wstruldo" : "rudo");
        assert_true(fault_sweep(count, one_race, outcomes));
        printf("%s stopped at %zu of %d points: %d imports refused, %d restores, %d lines into the "
               "new log, %d into the kept one\n",
               stopping[1], count, fault.shared->points, outcomes[0], outcomes[1], outcomes[2],
               outcomes[3]);
        /* a tenth of a second is no reason to refuse */
        assert_true((size_t)outcomes[0] * 2 < count);
        fault_close(&fault);
    }
}

/* The import has looked at what lies there, and opens it; meanwhile a restore is killed. */
static void test_beside_a_cut(void **state)
{
    (void)state;
    static char said[FAULT_TEXT_MAX];
    struct fault fault;
    int outcomes[FAULT_OUTCOMES];
    running = &commands[0];
    assert_true(fault_open(&fault));
    assert_true(prepare(&fault));
    fault_arm(&fault, 0, "", 0);
    assert_int_equal(fault_run(&fault, said, restore), 0);
    fault_disarm();
    for (int i = fault.shared->points; i > 0 && cut_count < 5; i--) {
        if (strchr("rud", fault.shared->kinds[i - 1]) != NULL) {
            cuts[cut_count++] = i;
        }
    }
    how = "stop";
    stopping = import;
    other = restore;
    assert_true(prepare(&fault));
    fault_arm(&fault, 0, how, 0);
    assert_int_equal(fault_run(&fault, said, stopping), 0);
    fault_disarm();
    const size_t count = choose(&fault, "o") * cut_count;
    assert_true(fault_sweep(count, one_race, outcomes));
    printf("an import beside a restore that is killed, %zu times: %d refused, %d lines in the log, "
           "%d in the kept one\n",
           count, outcomes[0], outcomes[1] + outcomes[2], outcomes[3]);
    cut_count = 0;
    fault_close(&fault);
}

/* A bench that watches holds no lock of its own, and goes on with what it has. */
static void test_beside_a_reader(void **state)
{
    (void)state;
    static char said[FAULT_TEXT_MAX];
    for (size_t c = 0; c < sizeof commands / sizeof commands[0]; c++) {
        struct fault fault;
        struct cb_store *store = NULL;
        struct fault_events events;
        running = &commands[c];
        if (running->from != whole) {
            continue;
        }
        assert_true(fault_open(&fault));
        assert_true(prepare(&fault));
        assert_int_equal(cb_store_open(fault.log, CB_STORE_READ, &store, NULL), CB_OK);
        assert_int_equal(fault_run(&fault, said, running->arguments), 1);
        assert_non_null(strstr(said, "another program has this log open"));
        cb_store_close(store);
        assert_int_equal(fault_export(&fault, &events, said), 0);
        assert_true(holds(&events, running->old));
        char found[KEPT_MAX][400];
        assert_int_equal(find_kept(&fault, running->kept, found), 0);
        assert_int_equal(fault_run(&fault, said, running->arguments), 0);
        fault_close(&fault);
    }
}

static void spoil(const char *path)
{
    const char rubbish[SPOILT] = {7, 7, 7};
    const int fd = open(path, O_WRONLY | O_CLOEXEC);
    assert_true(pwrite(fd, rubbish, sizeof rubbish, 0) == sizeof rubbish);
    close(fd);
}

static void write_lines(const char *path, const char *id, int count)
{
    FILE *file = fopen(path, "w");
    for (int i = 0; i < count; i++) {
        fprintf(file,
                "{\"id\":\"%s%d\",\"at\":\"2036-01-05T18:00:00Z\",\"event\":\"note\","
                "\"text\":\"lamp %d\",\"press\":\"lines\"}\n",
                id, i, i);
    }
    fclose(file);
}

/* Into the -wal alone, as a kill leaves it in that folder. */
static bool add_notes(const struct fault *fault, const char *folder)
{
    struct cb_store *store = NULL;
    struct cb_arena arena = {0};
    bool good = cb_store_open(fault->log, CB_STORE_APPEND, &store, NULL) == CB_OK;
    for (int i = 0; good && i < NOTES; i++) {
        struct cb_event_make make;
        const struct cb_event **stored;
        const struct cb_moment at = {INT64_C(2080000000000) + i, i, "boot"};
        cb_event_begin(&make, &arena, CB_EVENT_NOTE, NULL, &at);
        cb_event_add_text(&make, CB_FIELD_TEXT, cb_arena_printf(&arena, "lamp %d is lit", i));
        const struct cb_event *event = cb_event_take(&make);
        good = cb_store_append(store, &event, 1, &arena, &stored, NULL) == CB_OK;
    }
    good = good && fault_copy_logs(fault, fault->logs, folder);
    cb_store_close(store);
    cb_arena_fini(&arena);
    return good;
}

/* A log that was killed: in the file more than the backup has, so that a page of the one means
 * nothing in the other, and the notes in its -wal alone. */
static int set_up(void **state)
{
    (void)state;
    static char said[FAULT_TEXT_MAX];
    struct fault fault;
    sqlite3 *db = NULL;
    snprintf(box, sizeof box, "%.100s", getenv("TMPDIR") ? getenv("TMPDIR") : "/tmp");
    snprintf(recipe, sizeof recipe, "%s/swaps.yaml", box);
    snprintf(lines, sizeof lines, "%s/lines.jsonl", box);
    snprintf(more, sizeof more, "%s/more.jsonl", box);
    snprintf(backup, sizeof backup, "%s/backup.db", box);
    snprintf(whole, sizeof whole, "%s/whole", box);
    snprintf(broken, sizeof broken, "%s/broken", box);
    snprintf(summed, sizeof summed, "%s/summed", box);
    FILE *file = fopen(recipe, "w");
    fputs("coatbell: 1\nname: Lamp watch\nfigures: 3\npaints:\n"
          "  rope: {name: Tarred rope, kind: acrylic}\n"
          "stages:\n  - {name: Ropes, technique: basecoat, paint: rope}\n",
          file);
    fclose(file);
    write_lines(lines, "line", LINES);
    write_lines(more, "more", MORE);
    bool good =
        fault_open(&fault) && fault_run(&fault, said, begin) == 0 &&
        fault_run(&fault, said, make_backup) == 0 && fault_export(&fault, &short_of, said) == 0 &&
        add_notes(&fault, broken) && fault_export(&fault, &small, said) == 0 &&
        fault_copy_logs(&fault, fault.logs, summed) && fault_run(&fault, said, import_more) == 0 &&
        add_notes(&fault, whole) && fault_export(&fault, &old, said) == 0 &&
        small.count == short_of.count + NOTES && old.count == small.count + MORE + NOTES;
    char path[256];
    snprintf(path, sizeof path, "%s/log.db", broken);
    spoil(path);
    snprintf(path, sizeof path, "%s/log.db", summed);
    good = good && sqlite3_open(path, &db) == SQLITE_OK &&
           sqlite3_exec(db, "DELETE FROM unit_sum", NULL, NULL, NULL) == SQLITE_OK;
    sqlite3_close(db);
    fault_close(&fault);
    return good ? 0 : -1;
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_cut_off),          cmocka_unit_test(test_refused),
        cmocka_unit_test(test_beside_an_import), cmocka_unit_test(test_beside_a_cut),
        cmocka_unit_test(test_beside_a_reader),
    };
    every = argc > 1 ? (int)strtol(argv[1], NULL, 10) : every;
    return cmocka_run_group_tests(tests, set_up, NULL);
}
