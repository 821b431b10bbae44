/* SPDX-License-Identifier: MIT */
/* Killed at any moment: whatever an append acknowledged is in the log afterwards, whole, once and
 * in order, and at most one press more. (A kill does not test the disk: that an fsync stands
 * between is seen with strace.) */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <ftw.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

#include "base/arena.h"
#include "base/str.h"
#include "shell/store.h"
#include "shell/transfer.h"
#include "support/events.h"

enum { ROUNDS = 25, SEED = 20260105 };

static char folder[64];
static char path[128];

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
    snprintf(folder, sizeof folder, "/tmp/cb-kill-XXXXXX");
    if (!mkdtemp(folder)) {
        return -1;
    }
    snprintf(path, sizeof path, "%s/log.db", folder);
    return 0;
}

static int remove_folder(void **state)
{
    (void)state;
    return nftw(folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
}

/* Appends presses of two events until it is killed; each acknowledged press goes to the pipe. */
static void painter(int pipe_fd)
{
    struct cb_store *store = NULL;
    if (cb_store_open(path, CB_STORE_APPEND, &store, NULL) != CB_OK ||
        cb_store_lock(store, NULL) != CB_OK) {
        _exit(1);
    }
    for (int64_t at = 1;; at++) {
        struct cb_arena arena = {0};
        const struct cb_event *press[2];
        for (int i = 0; i < 2; i++) {
            struct cb_event_make make;
            struct cb_moment moment = {at, at, "boot"};
            cb_event_begin(&make, &arena, CB_EVENT_NOTE, NULL, &moment);
            cb_event_add_text(&make, CB_FIELD_TEXT, "rope is on");
            press[i] = cb_event_take(&make);
        }
        const struct cb_event **stored;
        if (cb_store_append(store, press, 2, &arena, &stored, NULL) != CB_OK) {
            _exit(2);
        }
        int64_t said = stored[1]->seq;
        if (write(pipe_fd, &said, sizeof said) != (ssize_t)sizeof said) {
            _exit(3);
        }
        cb_arena_fini(&arena);
    }
}

static void check_log(int64_t acknowledged)
{
    struct cb_arena arena = {0};
    struct cb_store *store = NULL;
    struct cb_err err = {0};
    const struct cb_event **events;
    size_t count;
    if (cb_store_open(path, CB_STORE_APPEND, &store, &err) != CB_OK) {
        fail_msg("after the kill: %s", err.text);
    }
    assert_int_equal(cb_store_lock(store, &err), CB_OK); /* the dead one holds nothing */
    assert_int_equal(cb_store_load(store, NULL, &arena, &events, &count, NULL, &err), CB_OK);
    assert_int_equal(count % 2, 0); /* no half press */
    assert_true((int64_t)count >= acknowledged);
    assert_true((int64_t)count <= acknowledged + 2);
    for (size_t i = 0; i < count; i++) {
        assert_int_equal(events[i]->seq, (int64_t)i + 1);
        assert_string_equal(events[i]->press, events[i - i % 2]->id);
    }
    cb_store_close(store);
    cb_arena_fini(&arena);
}

static void no_acknowledged_press_is_lost(void **state)
{
    (void)state;
    struct dice dice = {SEED};
    int64_t acknowledged = 0;
    print_message("seed %d\n", SEED);
    for (int round = 0; round < ROUNDS; round++) {
        int ends[2];
        assert_int_equal(pipe(ends), 0);
        pid_t child = fork();
        assert_true(child >= 0);
        if (child == 0) {
            close(ends[0]);
            painter(ends[1]);
        }
        close(ends[1]);
        /* some presses in, then at a random moment of the next ones */
        uint64_t presses = dice_below(&dice, 12);
        int64_t said = 0;
        for (uint64_t i = 0; i < presses; i++) {
            if (read(ends[0], &said, sizeof said) == (ssize_t)sizeof said) {
                acknowledged = said;
            }
        }
        struct timespec moment = {0, (long)dice_below(&dice, 3000000)};
        nanosleep(&moment, NULL);
        assert_int_equal(kill(child, SIGKILL), 0);
        int status;
        assert_int_equal(waitpid(child, &status, 0), child);
        assert_true(WIFSIGNALED(status));
        while (read(ends[0], &said, sizeof said) == (ssize_t)sizeof said) {
            acknowledged = said;
        }
        close(ends[0]);
        check_log(acknowledged);
        /* the press that was on its way may be there: it counts from now on */
        struct cb_store *store = NULL;
        struct cb_arena arena = {0};
        const struct cb_event **events;
        size_t count = 0;
        assert_int_equal(cb_store_open(path, CB_STORE_READ, &store, NULL), CB_OK);
        assert_int_equal(cb_store_load(store, NULL, &arena, &events, &count, NULL, NULL), CB_OK);
        acknowledged = (int64_t)count;
        cb_store_close(store);
        cb_arena_fini(&arena);
    }
    print_message("%d kills, %lld events kept\n", ROUNDS, (long long)acknowledged);
}

struct halfway {
    int pipe_fd;
    size_t at; /* lines: there it stands still and waits for the kill */
};

static void stand_still(void *context, size_t lines)
{
    const struct halfway *halfway = context;
    if (lines >= halfway->at) {
        char said = 'x';
        if (write(halfway->pipe_fd, &said, 1) == 1) {
            pause();
        }
        _exit(3);
    }
}

static enum cb_status import_text(struct cb_store *store, const struct cb_str *text,
                                  struct halfway *halfway, size_t *added)
{
    struct cb_arena arena = {0};
    struct cb_transfer_text source = {text->text, text->length};
    struct cb_transfer_in in = {.read = cb_transfer_read_text,
                                .context = &source,
                                .tell = halfway ? stand_still : NULL,
                                .told = halfway};
    struct cb_transfer_taken taken;
    enum cb_status status = cb_transfer_in(store, &in, &arena, &taken, NULL);
    *added = taken.added;
    cb_arena_fini(&arena);
    return status;
}

/* Killed in the middle of an import, the log is as it was; the next import takes all of it. */
static void an_import_is_whole_or_nothing(void **state)
{
    (void)state;
    enum { LINES = 30500 };
    struct cb_str text = {0};
    for (int i = 0; i < LINES; i++) {
        cb_str_addf(&text,
                    "{\"id\":\"%d\",\"at\":\"2026-01-05T18:00:00Z\",\"event\":\"pause_begun\"}\n",
                    i);
    }
    struct cb_store *store = NULL;
    size_t added, count;
    for (size_t at = 10000; at <= 30000; at += 10000) {
        int ends[2];
        assert_int_equal(pipe(ends), 0);
        pid_t child = fork();
        assert_true(child >= 0);
        if (child == 0) {
            struct halfway halfway = {ends[1], at};
            if (cb_store_open(path, CB_STORE_APPEND, &store, NULL) == CB_OK) {
                import_text(store, &text, &halfway, &added);
            }
            _exit(2);
        }
        close(ends[1]);
        char said;
        assert_int_equal(read(ends[0], &said, 1), 1);
        assert_int_equal(kill(child, SIGKILL), 0);
        int status;
        assert_int_equal(waitpid(child, &status, 0), child);
        assert_true(WIFSIGNALED(status));
        close(ends[0]);
        struct cb_arena arena = {0};
        const struct cb_event **events;
        assert_int_equal(cb_store_open(path, CB_STORE_READ, &store, NULL), CB_OK);
        assert_int_equal(cb_store_load(store, NULL, &arena, &events, &count, NULL, NULL), CB_OK);
        assert_int_equal(count, 0);
        cb_store_close(store);
        cb_arena_fini(&arena);
    }
    assert_int_equal(cb_store_open(path, CB_STORE_APPEND, &store, NULL), CB_OK);
    assert_int_equal(import_text(store, &text, NULL, &added), CB_OK);
    assert_int_equal(added, LINES);
    cb_store_close(store);
    cb_str_fini(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(no_acknowledged_press_is_lost, make_folder, remove_folder),
        cmocka_unit_test_setup_teardown(an_import_is_whole_or_nothing, make_folder, remove_folder),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
