/* SPDX-License-Identifier: MIT */
/* A program run beside the bench: what it is given, what it may answer, and how it is ended, by a
 * clock of our own. */
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <errno.h>
#include <poll.h>
#include <stdint.h>
#include <stdlib.h>
#include <stdio.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#include "base/time.h"
#include "shell/errand.h"

#define PATIENCE_MS 20000 /* of a machine with other work */

/* Turns at that moment until it is over. */
static struct cb_err finish(struct cb_errand *errand, int64_t now_ms)
{
    struct cb_err err = {0};
    for (int i = 0; i < PATIENCE_MS / 5; i++) {
        if (cb_errand_turn(errand, now_ms, &err)) {
            assert_int_equal(errand->pid, 0);
            assert_int_equal(cb_errand_fd(errand), -1);
            assert_int_equal(cb_errand_deadline(errand), CB_TIME_NONE);
            assert_false(cb_errand_turn(errand, now_ms, &err)); /* once */
            return err;
        }
        poll(NULL, 0, 5);
    }
    fail_msg("it never ends");
    return err;
}

static void run_script(struct cb_errand *errand, const char *script, const char *said)
{
    const char *const words[] = {"/bin/sh", "-c", script, NULL};
    assert_int_equal(cb_errand_start(errand, words, said, true, 1000, NULL), CB_OK);
    assert_int_equal(cb_errand_deadline(errand), 1000 + CB_ERRAND_MS);
}

static void answers(void **state)
{
    (void)state;
    static const struct {
        const char *script, *said, *answer, *fault;
    } rows[] = {
        {"echo 19.5 62", NULL, "19.5 62", ""},
        {"printf '19.5 62'", NULL, "19.5 62", ""},
        {"printf '19.5 62\\r\\n20 50\\n'", NULL, "19.5 62", ""},
        {":", NULL, "", ""},
        {"cat", "title\ntext\n", "title", ""},
        {"read a; read b; read c || echo end of $b", "title\ntext\n", "end of text", ""},
        {"cat", NULL, "", ""}, /* nothing to read, at once */
        {"echo no >&2", NULL, "", ""},
        {"printf 'a\\000b'", NULL, "", ""},
        {"echo 20 50; exit 3", NULL, "20 50", "ended with 3"},
        {"kill -9 $$", NULL, "", "ended by signal 9"},
        {"head -c 100000 /dev/zero", NULL, NULL, "said more than 256 bytes"},
        {"while :; do echo 20 50; done", NULL, NULL, "said more than 256 bytes"},
        {"printf '%0256d' 7", NULL, NULL, ""},
        {"printf '%0257d' 7", NULL, NULL, "said more than 256 bytes"},
        {"set -- $(cat /proc/$$/stat); [ $6 = $$ ] && echo its own session", NULL,
         "its own session", ""},
        {"sleep 600 & echo 20 50", NULL, "20 50", ""}, /* who keeps the pipe keeps nobody */
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct cb_errand errand;
        run_script(&errand, rows[i].script, rows[i].said);
        const pid_t group = errand.pid;
        const struct cb_err err = finish(&errand, 2000);
        assert_string_equal(err.text, rows[i].fault);
        if (rows[i].answer != NULL) {
            assert_string_equal(errand.answer, rows[i].answer);
        }
        kill(-group, SIGKILL); /* the one that sleeps */
    }
}

/* What is not asked for is dropped, and a text that nobody reads is no hindrance. */
static void drops(void **state)
{
    (void)state;
    static char text[3000];
    memset(text, 'x', sizeof text - 1);
    const char *const words[] = {"sh", "-c", "exec <&-; head -c 1000000 /dev/zero", NULL};
    struct cb_errand errand;
    assert_int_equal(cb_errand_start(&errand, words, text, false, 0, NULL), CB_OK);
    assert_int_equal(cb_errand_fd(&errand), -1);
    const struct cb_err err = finish(&errand, 0);
    assert_string_equal(err.text, "");
}

static void is_not_there(void **state)
{
    (void)state;
    static const char *const cases[][2] = {
        {"/no/such/program", "is not there"},
        {"no-such-program-of-ours", "is not there"},
        {"/etc/passwd", "may not be run"},
        {"/etc", "may not be run"},
    };
    const char *preload = getenv("LD_PRELOAD");
    if (preload != NULL && strstr(preload, "vgpreload")) {
        skip(); /* valgrind forks for posix_spawn, which then can't tell that exec failed */
    }
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct cb_errand errand = {0};
        struct cb_err err = {0};
        const char *const words[] = {cases[i][0], NULL};
        assert_int_equal(cb_errand_start(&errand, words, "text", true, 0, &err), CB_FAILED);
        assert_string_equal(err.text, cases[i][1]);
        assert_int_equal(errand.pid, 0);
        assert_false(cb_errand_turn(&errand, 0, &err));
        cb_errand_fini(&errand);
    }
    assert_int_equal(waitpid(-1, NULL, WNOHANG), -1); /* no child is left of any of them */
    assert_int_equal(errno, ECHILD);
}

/* Asked to end after ten seconds and not before, ended a second later, with what it started. */
static void takes_long(void **state)
{
    (void)state;
    struct cb_err err = {0};
    struct cb_errand errand;
    run_script(&errand, "exec sleep 600", NULL);
    assert_false(cb_errand_turn(&errand, 1000 + CB_ERRAND_MS - 1, &err));
    assert_false(errand.asked_to_end);
    assert_false(cb_errand_turn(&errand, 1000 + CB_ERRAND_MS, &err));
    assert_true(errand.asked_to_end);
    err = finish(&errand, 1000 + CB_ERRAND_MS + 1); /* it hears the question */
    assert_string_equal(err.text, "took longer than 10 s");

    run_script(&errand, "trap '' TERM; sleep 600 & echo deaf; wait; sleep 600", NULL);
    while (errand.length == 0) { /* until it is deaf */
        assert_false(cb_errand_turn(&errand, 1000, &err));
        poll(NULL, 0, 5);
    }
    int64_t now_ms = 1000 + CB_ERRAND_MS;
    assert_false(cb_errand_turn(&errand, now_ms, &err));
    assert_int_equal(cb_errand_deadline(&errand), now_ms + CB_ERRAND_END_MS);
    for (int i = 0; i < 20; i++) {
        assert_false(cb_errand_turn(&errand, now_ms + CB_ERRAND_END_MS - 1, &err));
        poll(NULL, 0, 5);
    }
    err = finish(&errand, now_ms + CB_ERRAND_END_MS);
    assert_string_equal(err.text, "took longer than 10 s");
}

static void is_left(void **state)
{
    (void)state;
    struct cb_errand errand;
    run_script(&errand, "trap '' TERM; sleep 600; sleep 600", NULL);
    cb_errand_fini(&errand);
    assert_int_equal(errand.pid, 0);
    cb_errand_fini(&errand);
    assert_int_equal(waitpid(-1, NULL, WNOHANG), -1);
    /* One that listens ends in its own way first. */
    int ends[2];
    char word[8] = "";
    char script[64];
    assert_int_equal(pipe(ends), 0);
    snprintf(script, sizeof script, "trap 'echo bye >&%d; exit' TERM; echo; sleep 5 & wait",
             ends[1]);
    run_script(&errand, script, NULL);
    struct pollfd out = {.fd = cb_errand_fd(&errand), .events = POLLIN};
    assert_int_equal(poll(&out, 1, PATIENCE_MS), 1); /* the trap is set */
    cb_errand_fini(&errand);
    close(ends[1]);
    assert_int_equal(read(ends[0], word, sizeof word), 4);
    assert_string_equal(word, "bye\n");
    close(ends[0]);
}

int main(void)
{
    signal(SIGPIPE, SIG_IGN); /* as cb_console_start does */
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(answers),    cmocka_unit_test(drops),   cmocka_unit_test(is_not_there),
        cmocka_unit_test(takes_long), cmocka_unit_test(is_left),
    };
    return cmocka_run_group_tests_name("errand", tests, NULL, NULL);
}
