/* SPDX-License-Identifier: MIT */
/* The bell, parent and child together, against a private bus and a daemon of our own that can be
 * told to press buttons, to hang and to die. */
#include <fcntl.h>
#include <poll.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#include "base/arena.h"
#include "base/time.h"
#include "shell/bell.h"
#include "shell/paths.h"
#include "support/desk.h"

#define LONG_MS 10000 /* nothing here takes so long */

struct world {
    struct desk desk;
    struct cb_arena arena;
    const char *program;
};

static void nap(void)
{
    poll(NULL, 0, 5);
}

static void start_bus(struct world *world)
{
    assert_true(desk_start_bus(&world->desk));
}

static void start_daemon(struct world *world, const char *capabilities)
{
    assert_true(desk_start_daemon(&world->desk, capabilities));
}

static void wait_for_line(struct world *world, const char *part)
{
    int64_t end = desk_now_ms() + LONG_MS;
    while (strstr(desk_said(&world->desk), part) == NULL) {
        if (desk_now_ms() >= end) {
            fail_msg("no line with %s in:\n%s", part, desk_said(&world->desk));
        }
        nap();
    }
}

static int set_up(void **state)
{
    struct world *world = calloc(1, sizeof *world);
    *state = world;
    world->program = cb_paths_bell(&world->arena);
    return desk_open(&world->desk) && world->program != NULL ? 0 : -1;
}

static int tear_down(void **state)
{
    struct world *world = *state;
    desk_close(&world->desk);
    cb_arena_fini(&world->arena);
    free(world);
    return 0;
}

/* One turn as the loop makes it; fails when the bell takes longer than the screen may stand. */
static bool turn(struct cb_bell *bell, struct cb_bell_news *news)
{
    int64_t before = desk_now_ms();
    bool got = cb_bell_turn(bell, before, news);
    assert_true(desk_now_ms() - before < 50);
    return got;
}

static struct cb_bell_news wait_news(struct cb_bell *bell, int kind)
{
    int64_t end = desk_now_ms() + LONG_MS;
    for (;;) {
        struct cb_bell_news news;
        while (turn(bell, &news)) {
            if ((int)news.kind == kind) {
                return news;
            }
        }
        if (desk_now_ms() >= end) {
            fail_msg("the bell told nothing of kind %d", kind);
        }
        struct pollfd fd = {.fd = cb_bell_fd(bell), .events = cb_bell_events(bell)};
        poll(&fd, 1, 20);
    }
}

static void wait_state(struct cb_bell *bell, enum cb_bell_state state)
{
    while (wait_news(bell, CB_BELL_NEWS_STATE).state != state) {
    }
}

static void test_no_bus(void **state)
{
    struct world *world = *state;
    struct cb_bell *bell = cb_bell_new(world->program);
    assert_int_equal(cb_bell_start(bell, desk_now_ms(), NULL), CB_OK);
    wait_state(bell, CB_BELL_NO_BUS);
    /* A ping is dropped, the child stays and still answers. */
    cb_bell_show(bell, 1, true, true, "t", "b", desk_now_ms());
    int64_t end = desk_now_ms() + 2500;
    struct cb_bell_news news;
    while (desk_now_ms() < end) {
        while (turn(bell, &news)) {
            assert_false(news.kind == CB_BELL_NEWS_STATE && news.state == CB_BELL_SILENT);
        }
        nap();
    }
    cb_bell_free(bell);
    assert_int_equal(desk_bell_of(getpid()), 0);
}

static void test_no_daemon_then_one(void **state)
{
    struct world *world = *state;
    start_bus(world);
    struct cb_bell *bell = cb_bell_new(world->program);
    cb_bell_start(bell, desk_now_ms(), NULL);
    wait_state(bell, CB_BELL_NO_DAEMON);
    start_daemon(world, "actions");
    wait_state(bell, CB_BELL_OK);
    cb_bell_show(bell, 1, true, true, "t", "a < b & c", desk_now_ms());
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    /* It said no body-markup: nothing is escaped for it. */
    wait_for_line(world, "body=[a < b & c]");
    desk_stop(&world->desk.daemon);
    wait_state(bell, CB_BELL_NO_DAEMON);
    cb_bell_free(bell);
}

static void test_runtime_folder(void **state)
{
    struct world *world = *state;
    start_bus(world);
    unsetenv("DBUS_SESSION_BUS_ADDRESS");
    const char *bus = desk_path(&world->desk, "bus"); /* where a login session has it */
    assert_int_equal(rename(desk_path(&world->desk, "bus.socket"), bus), 0);
    struct cb_bell *bell = cb_bell_new(world->program);
    cb_bell_start(bell, desk_now_ms(), NULL);
    wait_state(bell, CB_BELL_NO_DAEMON);
    cb_bell_free(bell);
}

static void test_show_replace_button_close(void **state)
{
    struct world *world = *state;
    start_bus(world);
    start_daemon(world, "actions body-markup");
    struct cb_bell *bell = cb_bell_new(world->program);
    /* Without a start before it: the ping starts the child itself. */
    cb_bell_show(bell, 7, true, true, "Oilskin green", "figures <1> & 4\tcan\ntake coat 2",
                 desk_now_ms());
    assert_int_equal(wait_news(bell, CB_BELL_NEWS_SHOWN).id, 7);
    wait_for_line(world, "notify 1 replaces=0 sound=message-new-instant entry=coatbell "
                         "actions=dry,Dry,wet,Still wet title=[Oilskin green] "
                         "body=[figures &lt;1&gt; &amp; 4 can|take coat 2]");
    cb_bell_show(bell, 7, false, true, "Oilskin green", "figures 1 to 5", desk_now_ms());
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    wait_for_line(world, "notify 1 replaces=1 sound=- ");
    fprintf(world->desk.daemon_in, "press 1 wet\n");
    fflush(world->desk.daemon_in);
    struct cb_bell_news news = wait_news(bell, CB_BELL_NEWS_BUTTON);
    assert_int_equal(news.id, 7);
    assert_false(news.dry);
    cb_bell_show(bell, 8, false, true, "Ebb wash", "figure 1", desk_now_ms());
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    fprintf(world->desk.daemon_in, "press 2 dry\n");
    fflush(world->desk.daemon_in);
    news = wait_news(bell, CB_BELL_NEWS_BUTTON);
    assert_int_equal(news.id, 8);
    assert_true(news.dry);
    cb_bell_show(bell, 9, false, false, "Wick white", "figure 2", desk_now_ms());
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    wait_for_line(world, "notify 3 replaces=0 sound=- entry=coatbell actions= ");
    cb_bell_close(bell, 9);
    wait_for_line(world, "close 3");
    cb_bell_show(bell, 10, false, true, "Wick white", "figure 3", desk_now_ms());
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    cb_bell_free(bell);
    wait_for_line(world, "close 4"); /* its buttons would be dead; without any it may stand */
    assert_int_equal(desk_bell_of(getpid()), 0);
}

/* Whatever the daemon says of itself: some take a title for markup. */
static void test_a_title_is_no_markup(void **state)
{
    struct world *world = *state;
    static const char *const says[] = {"actions body-markup", "actions"};
    start_bus(world);
    for (size_t i = 0; i < 2; i++) {
        start_daemon(world, says[i]);
        struct cb_bell *bell = cb_bell_new(world->program);
        cb_bell_show(bell, 1, true, true, "<b>Rope & tar</b> &amp; \"ash\"", "body",
                     desk_now_ms());
        wait_news(bell, CB_BELL_NEWS_SHOWN);
        wait_for_line(world, "title=[\u2039b\u203ARope + tar\u2039/b\u203A +amp; \"ash\"] ");
        assert_int_equal(desk_count(&world->desk, "title=[<"), 0);
        cb_bell_free(bell);
        desk_stop(&world->desk.daemon);
    }
}

static void test_daemon_hangs(void **state)
{
    struct world *world = *state;
    start_bus(world);
    start_daemon(world, "actions body-markup");
    struct cb_bell *bell = cb_bell_new(world->program);
    cb_bell_start(bell, desk_now_ms(), NULL);
    wait_state(bell, CB_BELL_OK);
    kill(world->desk.daemon, SIGSTOP);
    int64_t asked = desk_now_ms();
    cb_bell_show(bell, 1, true, true, "t", "first", desk_now_ms());
    wait_state(bell, CB_BELL_SILENT);
    assert_in_range(desk_now_ms() - asked, 1990, 3000);
    cb_bell_show(bell, 1, true, true, "t", "second", desk_now_ms());
    cb_bell_show(bell, 1, true, true, "t", "third", desk_now_ms());
    kill(world->desk.daemon, SIGCONT);
    wait_state(bell, CB_BELL_OK);
    wait_for_line(world, "body=[third]");
    /* One pop-up, brought up to date; what was outdated meanwhile was never sent. */
    assert_int_equal(desk_count(&world->desk, "replaces=0"), 1);
    assert_int_equal(desk_count(&world->desk, "second"), 0);
    cb_bell_free(bell);
}

static void test_child_dies_or_hangs(void **state)
{
    struct world *world = *state;
    start_bus(world);
    start_daemon(world, "actions body-markup");
    struct cb_bell *bell = cb_bell_new(world->program);
    cb_bell_start(bell, desk_now_ms(), NULL);
    wait_state(bell, CB_BELL_OK);
    pid_t first = desk_bell_of(getpid());
    assert_true(first > 0);
    kill(first, SIGKILL);
    wait_state(bell, CB_BELL_SILENT);
    wait_state(bell, CB_BELL_OK);
    pid_t second = desk_bell_of(getpid());
    assert_true(second > 0 && second != first);
    kill(second, SIGSTOP);
    int64_t asked = desk_now_ms();
    cb_bell_show(bell, 1, true, true, "t", "kept", desk_now_ms());
    assert_true(cb_bell_deadline(bell) - asked <= 2000);
    wait_state(bell, CB_BELL_SILENT);
    assert_in_range(desk_now_ms() - asked, 1990, 3000);
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    assert_int_equal(desk_count(&world->desk, "body=[kept]"), 1);
    assert_int_not_equal(desk_bell_of(getpid()), second);
    cb_bell_free(bell);
    assert_int_equal(desk_bell_of(getpid()), 0);
}

/* A socket that takes no more is written to later or never, and the child behind it is replaced. */
static void test_child_stopped_socket_full(void **state)
{
    enum { LONG_BYTES = 60000, WISHES = 20 }; /* several times what a socket holds */
    struct world *world = *state;
    start_bus(world);
    start_daemon(world, "actions body-markup");
    struct cb_bell *bell = cb_bell_new(world->program);
    cb_bell_start(bell, desk_now_ms(), NULL);
    wait_state(bell, CB_BELL_OK);
    assert_true((fcntl(cb_bell_fd(bell), F_GETFL) & O_NONBLOCK) != 0);
    pid_t stopped = desk_bell_of(getpid());
    kill(stopped, SIGSTOP);
    char *body = cb_arena_alloc(&world->arena, LONG_BYTES + 1, 1);
    memset(body, 'x', LONG_BYTES);
    for (int i = 0; i < WISHES; i++) {
        cb_bell_show(bell, 1, true, true, "t", body, desk_now_ms());
    }
    cb_bell_show(bell, 1, true, true, "t", "the last", desk_now_ms());
    assert_int_equal(cb_bell_events(bell), POLLIN | POLLOUT); /* full: it waits in poll, not here */
    wait_state(bell, CB_BELL_SILENT);
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    assert_int_equal(desk_count(&world->desk, " notify "), 1);
    assert_int_equal(desk_count(&world->desk, "body=[the last]"), 1);
    assert_true(desk_is_gone(stopped));
    cb_bell_free(bell);
}

/* Who leaves while the child is stopped waits for it 1 s at most and leaves nobody behind. */
static void test_leaving_a_stopped_child(void **state)
{
    struct world *world = *state;
    start_bus(world);
    start_daemon(world, "actions body-markup");
    struct cb_bell *bell = cb_bell_new(world->program);
    cb_bell_show(bell, 1, true, true, "t", "b", desk_now_ms());
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    pid_t child = desk_bell_of(getpid());
    kill(child, SIGSTOP);
    cb_bell_free(bell);
    assert_true(desk_is_gone(child));
}

static void test_bus_dies(void **state)
{
    struct world *world = *state;
    start_bus(world);
    start_daemon(world, "actions body-markup");
    struct cb_bell *bell = cb_bell_new(world->program);
    cb_bell_show(bell, 1, true, true, "t", "b", desk_now_ms());
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    pid_t child = desk_bell_of(getpid());
    desk_stop(&world->desk.bus);
    wait_state(bell, CB_BELL_NO_BUS);
    assert_int_equal(desk_bell_of(getpid()), child);
    cb_bell_free(bell);
}

static void test_parent_killed(void **state)
{
    struct world *world = *state;
    start_bus(world);
    start_daemon(world, "actions body-markup");
    pid_t parent = fork();
    assert_true(parent >= 0);
    if (parent == 0) {
        struct cb_bell *bell = cb_bell_new(world->program);
        cb_bell_start(bell, desk_now_ms(), NULL);
        for (;;) {
            pause();
        }
    }
    int64_t end = desk_now_ms() + LONG_MS;
    pid_t child;
    while ((child = desk_bell_of(parent)) == 0) {
        assert_true(desk_now_ms() < end);
        nap();
    }
    kill(parent, SIGKILL);
    waitpid(parent, NULL, 0);
    end = desk_now_ms() + 2000; /* it is gone 2 s after the bench, however that went */
    while (!desk_is_gone(child)) {
        assert_true(desk_now_ms() < end);
        nap();
    }
}

static void test_program_missing(void **state)
{
    (void)state;
    struct cb_bell *bell = cb_bell_new("/nonexistent/coatbell-bell");
    struct cb_err err = {0};
    assert_int_equal(cb_bell_start(bell, desk_now_ms(), &err), CB_IO);
    assert_non_null(strstr(err.text, "can't be started"));
    cb_bell_free(bell);
    bell = cb_bell_new(NULL);
    assert_int_equal(cb_bell_start(bell, desk_now_ms(), NULL), CB_OK);
    cb_bell_show(bell, 1, true, true, "t", "b", desk_now_ms());
    assert_int_equal(cb_bell_fd(bell), -1);
    cb_bell_free(bell);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_no_bus, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_no_daemon_then_one, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_runtime_folder, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_show_replace_button_close, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_a_title_is_no_markup, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_daemon_hangs, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_child_dies_or_hangs, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_child_stopped_socket_full, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_leaving_a_stopped_child, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_bus_dies, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_parent_killed, set_up, tear_down),
        cmocka_unit_test(test_program_missing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
