/* SPDX-License-Identifier: MIT */
/* The parent's side of the bell with stand-ins for the child: one that dies, again and again, that
 * talks without an end, that says half a line, that can't be started. No bus, no daemon. */
#include <poll.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "base/time.h"
#include "shell/bell.h"
#include "support/desk.h"

#define NEWS_MAX 100 /* told between two pictures of the screen */

static struct desk desk;

static int set_up(void **state)
{
    (void)state;
    return desk_open(&desk) ? 0 : -1;
}

static int tear_down(void **state)
{
    (void)state;
    desk_close(&desk);
    return 0;
}

/* A child that does that; $number says the how manieth of them it is, and what it is asked first.
 */
static const char *child_that(const char *does)
{
    const char *path = desk_path(&desk, "child");
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fprintf(file, "#!/bin/sh\nspawned=%s\necho >>$spawned\nnumber=$(wc -l <$spawned)\n%s\n",
            desk_path(&desk, "spawned"), does);
    fclose(file);
    chmod(path, 0700);
    unlink(desk_path(&desk, "spawned"));
    return path;
}

static int spawned(void)
{
    struct stat status;
    return stat(desk_path(&desk, "spawned"), &status) == 0 ? (int)status.st_size : 0;
}

/* What was told in that time, or until no child is left, as the loop hears it. */
struct heard {
    int buttons;
    enum cb_bell_state state;
    int64_t silent_ms; /* when it was first called silent; 0: never */
};

static struct heard turn_for(struct cb_bell *bell, int64_t for_ms)
{
    struct heard heard = {.state = CB_BELL_NONE};
    const int64_t end = desk_now_ms() + for_ms;
    while (desk_now_ms() < end && cb_bell_fd(bell) >= 0) {
        struct pollfd fd = {.fd = cb_bell_fd(bell), .events = cb_bell_events(bell)};
        poll(&fd, 1, 20);
        struct cb_bell_news news;
        int count = 0;
        while (cb_bell_turn(bell, desk_now_ms(), &news)) {
            assert_true(++count <= NEWS_MAX);
            heard.buttons += news.kind == CB_BELL_NEWS_BUTTON;
            if (news.kind == CB_BELL_NEWS_STATE) {
                heard.state = news.state;
                if (news.state == CB_BELL_SILENT && heard.silent_ms == 0) {
                    heard.silent_ms = desk_now_ms();
                }
            }
        }
    }
    return heard;
}

/* However it dies, and whatever it said before: three, and then a rest. */
static void test_dies_again_and_again(void **state)
{
    (void)state;
    static const char *const ways[] = {
        "exit 1",
        "kill -9 $$",
        "printf 'here\\t%d\\n' $number >&0",
        "printf 'here\\t%d\\nstate\\tok\\nshown\\t1\\n' $number >&0; exec sleep 0.1",
        "exec /nonexistent/program",
    };
    for (size_t i = 0; i < sizeof ways / sizeof ways[0]; i++) {
        struct cb_bell *bell = cb_bell_new(child_that(ways[i]));
        cb_bell_show(bell, 1, true, true, "t", "b", desk_now_ms());
        struct heard heard = turn_for(bell, 5000);
        assert_int_equal(heard.state, CB_BELL_SILENT);
        assert_int_equal(spawned(), 3);
        for (uint32_t id = 2; id < 20; id++) { /* pings go on, and start nobody in the rest */
            cb_bell_show(bell, id, true, true, "t", "b", desk_now_ms());
        }
        assert_int_equal(cb_bell_fd(bell), -1);
        assert_int_equal(cb_bell_deadline(bell), CB_TIME_NONE);
        assert_int_equal(spawned(), 3);
        cb_bell_show(bell, 1, true, true, "t", "b", desk_now_ms() + 61000); /* after it */
        assert_true(cb_bell_fd(bell) >= 0);
        cb_bell_free(bell);
    }
}

/* It is told a bit at a time, so that the screen is drawn between, and soon not at all. */
static void test_talks_without_end(void **state)
{
    (void)state;
    static const char *const ways[] = {
        "exec cat /dev/zero >&0",
        "exec cat /dev/urandom >&0",
        "exec yes closed >&0",
        "exec yes \"$(printf 'state\\tok\\nstate\\tno-bus')\" >&0",
        "exec yes \"$(printf 'state\\tok\\nshown\\t1')\" >&0",
        "exec yes \"$(printf 'button\\t1\\tdry\\t1')\" >&0",
        "while :; do yes \"$(printf 'here\\t%d' $number)\" >&0; done", /* also when it is full */
    };
    for (size_t i = 0; i < sizeof ways / sizeof ways[0]; i++) {
        struct cb_bell *bell = cb_bell_new(child_that(ways[i]));
        cb_bell_show(bell, 1, true, true, "t", "b", desk_now_ms());
        struct heard heard = turn_for(bell, 5000);
        assert_int_equal(heard.state, CB_BELL_SILENT);
        assert_int_equal(spawned(), 3);
        assert_int_equal(cb_bell_fd(bell), -1);
        cb_bell_free(bell);
    }
}

/* A line begun is no answer; what comes before its end, and bytes that are no text, are let be. */
static void test_half_a_line(void **state)
{
    (void)state;
    struct cb_bell *bell = cb_bell_new(child_that(
        "printf 'button\\t7\\tdry\\t5\\n\\000button\\t8\\tdry\\t5\\nbutton\\t-1\\tdry\\t5\\n' >&0\n"
        "printf 'button\\t99999999999\\tdry\\t5\\nbutton\\t9\\tdamp\\t5\\nbutton\\t9\\tdry\\n' "
        ">&0\n"
        "printf 'button\\t9\\twet\\t0\\nbutton\\t9\\twet\\tx\\nbutton\\nhere\\nhere\\t' >&0\n"
        "exec sleep 20"));
    const int64_t begun = desk_now_ms();
    cb_bell_show(bell, 1, true, true, "t", "b", begun);
    struct heard heard = turn_for(bell, 2300);
    assert_in_range(heard.silent_ms - begun, 1990, 3000);
    assert_int_equal(spawned(), 2);
    assert_int_equal(heard.buttons, 2); /* of 7, by each of the two */
    cb_bell_free(bell);
}

/* More than any line has, and no end of it: no need to wait whether one comes. */
static void test_too_long_a_line(void **state)
{
    (void)state;
    struct cb_bell *bell =
        cb_bell_new(child_that("printf '%02000d' 0 >&0; [ $number -gt 2 ] || exec sleep 20"));
    const int64_t begun = desk_now_ms();
    cb_bell_show(bell, 1, true, true, "t", "b", begun);
    struct heard heard = turn_for(bell, 1500);
    assert_true(heard.silent_ms != 0);
    assert_int_equal(spawned(), 3);
    cb_bell_free(bell);
}

/* What the first did not show the second is asked for. */
static void test_wish_outlives_its_child(void **state)
{
    (void)state;
    struct cb_bell *bell = cb_bell_new(
        child_that("read -r line; [ $number -eq 2 ] || exit 1\n"
                   "case $line in show*body) printf 'shown\\t1\\nhere\\t2\\n' >&0 ;; esac\n"
                   "exec sleep 20"));
    cb_bell_show(bell, 1, true, true, "t", "body", desk_now_ms());
    struct heard heard = turn_for(bell, 500);
    assert_int_equal(heard.state, CB_BELL_OK);
    assert_int_equal(spawned(), 2);
    cb_bell_free(bell);
}

/* Said once a ping, and tried again with the next: it may have come back. */
static void test_can_not_be_started(void **state)
{
    (void)state;
    const char *path = child_that("exec sleep 20");
    const char *const programs[] = {"/nonexistent/coatbell-bell", "/dev/null", desk.folder, path};
    chmod(path, 0600);
    for (size_t i = 0; i < sizeof programs / sizeof programs[0]; i++) {
        struct cb_bell *bell = cb_bell_new(programs[i]);
        struct cb_err err = {0};
        assert_int_equal(cb_bell_start(bell, desk_now_ms(), &err), CB_IO);
        assert_non_null(strstr(err.text, "can't be started"));
        cb_bell_show(bell, 1, true, true, "t", "b", desk_now_ms());
        assert_int_equal(cb_bell_fd(bell), -1);
        assert_int_equal(cb_bell_deadline(bell), CB_TIME_NONE);
        turn_for(bell, 50);
        if (programs[i] == path) {
            chmod(path, 0700);
            cb_bell_show(bell, 2, true, true, "t", "b", desk_now_ms());
            assert_true(cb_bell_fd(bell) >= 0);
        }
        cb_bell_free(bell);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_dies_again_and_again, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_talks_without_end, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_half_a_line, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_too_long_a_line, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_wish_outlives_its_child, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_can_not_be_started, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
