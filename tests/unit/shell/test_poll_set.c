/* SPDX-License-Identifier: MIT */
#include <poll.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <sys/resource.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

#include "shell/poll_set.h"

#define PIPES 3

struct desk {
    struct cb_poll_set set;
    struct pipe {
        struct desk *desk;
        int in, out;     /* read from, written to */
        int calls, turn; /* how often, and as which of all calls */
        int drops;       /* the pipe that the handler takes out; -1: none */
        int moves_to;    /* the pipe that it watches from then on; -1: none */
    } pipes[PIPES];
    int calls;
};

static void on_ready(void *data)
{
    struct pipe *pipe = data;
    struct desk *desk = pipe->desk;
    char byte;
    pipe->calls++;
    pipe->turn = ++desk->calls;
    assert_true(read(pipe->in, &byte, 1) >= 0);
    if (pipe->drops >= 0) {
        cb_poll_set_watch(&desk->set, -1, POLLIN, on_ready, &desk->pipes[pipe->drops]);
    }
    if (pipe->moves_to >= 0) {
        cb_poll_set_watch(&desk->set, desk->pipes[pipe->moves_to].in, POLLIN, on_ready, pipe);
    }
}

static void desk_init(struct desk *desk)
{
    *desk = (struct desk){.calls = 0};
    for (int i = 0; i < PIPES; i++) {
        int ends[2];
        assert_int_equal(pipe(ends), 0);
        desk->pipes[i] =
            (struct pipe){.desk = desk, .in = ends[0], .out = ends[1], .drops = -1, .moves_to = -1};
        cb_poll_set_watch(&desk->set, ends[0], POLLIN, on_ready, &desk->pipes[i]);
    }
}

static void desk_fini(struct desk *desk)
{
    for (int i = 0; i < PIPES; i++) {
        close(desk->pipes[i].in);
        close(desk->pipes[i].out);
    }
    cb_poll_set_fini(&desk->set);
}

static void write_to(struct desk *desk, int pipe)
{
    assert_int_equal(write(desk->pipes[pipe].out, "x", 1), 1);
}

static int turn(struct desk *desk)
{
    const int ready = cb_poll_set_wait(&desk->set, 0);
    cb_poll_set_call(&desk->set);
    return ready;
}

static void check_calls(const struct desk *desk, int first, int second, int third)
{
    assert_int_equal(desk->pipes[0].calls, first);
    assert_int_equal(desk->pipes[1].calls, second);
    assert_int_equal(desk->pipes[2].calls, third);
}

static void only_what_is_ready_is_called_in_order(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk);
    assert_int_equal(turn(&desk), 0);
    check_calls(&desk, 0, 0, 0);
    write_to(&desk, 2);
    write_to(&desk, 0);
    assert_int_equal(turn(&desk), 2);
    check_calls(&desk, 1, 0, 1);
    assert_int_equal(desk.pipes[0].turn, 1);
    assert_int_equal(desk.pipes[2].turn, 2);
    assert_int_equal(turn(&desk), 0);
    check_calls(&desk, 1, 0, 1);
    desk_fini(&desk);
}

static void one_taken_out_is_not_called_until_it_is_back(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk);
    cb_poll_set_watch(&desk.set, -1, POLLIN, on_ready, &desk.pipes[1]);
    write_to(&desk, 1);
    assert_int_equal(turn(&desk), 0);
    check_calls(&desk, 0, 0, 0);
    cb_poll_set_watch(&desk.set, desk.pipes[1].in, POLLIN, on_ready, &desk.pipes[1]);
    assert_int_equal(turn(&desk), 1);
    check_calls(&desk, 0, 1, 0);
    assert_int_equal(desk.set.watchers.count, PIPES);
    desk_fini(&desk);
}

static void a_handler_takes_out_itself_and_one_that_was_ready(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk);
    desk.pipes[0].drops = 1;
    desk.pipes[2].drops = 2;
    for (int i = 0; i < PIPES; i++) {
        write_to(&desk, i);
        write_to(&desk, i);
    }
    assert_int_equal(turn(&desk), 3);
    check_calls(&desk, 1, 0, 1);
    assert_int_equal(turn(&desk), 1);
    check_calls(&desk, 2, 0, 1);
    desk_fini(&desk);
}

static void what_was_ready_before_a_move_is_not_what_is_watched_now(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk);
    cb_poll_set_watch(&desk.set, -1, POLLIN, on_ready, &desk.pipes[2]);
    desk.pipes[0].moves_to = 2; /* nothing is there to be read */
    write_to(&desk, 0);
    write_to(&desk, 0);
    assert_int_equal(turn(&desk), 1);
    assert_int_equal(turn(&desk), 0);
    check_calls(&desk, 1, 0, 0);
    desk_fini(&desk);
}

static void a_hang_up_is_told(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk);
    close(desk.pipes[1].out);
    desk.pipes[1].drops = 1;
    assert_int_equal(turn(&desk), 1);
    assert_int_equal(turn(&desk), 0);
    check_calls(&desk, 0, 1, 0);
    desk.pipes[1].out = dup(desk.pipes[0].out);
    desk_fini(&desk);
}

static void a_wait_that_failed_calls_nobody(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk);
    write_to(&desk, 0);
    assert_int_equal(cb_poll_set_wait(&desk.set, 0), 1);
    struct rlimit usual, few;
    getrlimit(RLIMIT_NOFILE, &usual);
    few = usual;
    few.rlim_cur = PIPES - 1; /* poll(2): EINVAL when there are more */
    setrlimit(RLIMIT_NOFILE, &few);
    struct pollfd many[PIPES] = {{.fd = -1}};
    if (poll(many, PIPES, 0) == 0) { /* valgrind keeps that limit to itself */
        setrlimit(RLIMIT_NOFILE, &usual);
        desk_fini(&desk);
        skip();
    }
    assert_int_equal(cb_poll_set_wait(&desk.set, 0), -1);
    setrlimit(RLIMIT_NOFILE, &usual);
    cb_poll_set_call(&desk.set);
    check_calls(&desk, 0, 0, 0);
    desk_fini(&desk);
}

/* The kernel says by which clock a timer goes: timerfd_create(2), "/proc/pid/fdinfo". */
static int timers_of_boottime(void)
{
    int count = 0;
    for (int fd = 0; fd < 64; fd++) {
        char path[64], line[64];
        snprintf(path, sizeof path, "/proc/self/fdinfo/%d", fd);
        FILE *file = fopen(path, "r");
        while (file && fgets(line, sizeof line, file)) {
            int clock;
            count += sscanf(line, "clockid: %d", &clock) == 1 && clock == CLOCK_BOOTTIME;
        }
        if (file) {
            fclose(file);
        }
    }
    return count;
}

static void a_wait_goes_on_while_the_machine_sleeps(void **state)
{
    (void)state;
    struct desk desk;
    desk_init(&desk);
    assert_int_equal(timers_of_boottime(), 0);
    for (int i = 0; i < 3; i++) { /* the timer of before is no longer ready */
        struct timespec from, to;
        clock_gettime(CLOCK_BOOTTIME, &from);
        assert_int_equal(cb_poll_set_wait(&desk.set, 20), 0);
        clock_gettime(CLOCK_BOOTTIME, &to);
        assert_true((to.tv_sec - from.tv_sec) * 1000000000L + to.tv_nsec - from.tv_nsec >=
                    20000000L);
        assert_int_equal(timers_of_boottime(), 1);
    }
    write_to(&desk, 1);
    assert_int_equal(cb_poll_set_wait(&desk.set, 60000), 1);
    cb_poll_set_call(&desk.set);
    check_calls(&desk, 0, 1, 0);
    desk_fini(&desk);
    assert_int_equal(timers_of_boottime(), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(only_what_is_ready_is_called_in_order),
        cmocka_unit_test(one_taken_out_is_not_called_until_it_is_back),
        cmocka_unit_test(a_handler_takes_out_itself_and_one_that_was_ready),
        cmocka_unit_test(what_was_ready_before_a_move_is_not_what_is_watched_now),
        cmocka_unit_test(a_hang_up_is_told),
        cmocka_unit_test(a_wait_that_failed_calls_nobody),
        cmocka_unit_test(a_wait_goes_on_while_the_machine_sleeps),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
