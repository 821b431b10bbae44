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
#include <sys/socket.h>
#include <sys/stat.h>
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

static void tell(struct world *world, const char *command)
{
    assert_true(desk_tell(&world->desk, command));
}

static void wait_stands(struct world *world, const char *text)
{
    int64_t end = desk_now_ms() + LONG_MS;
    while (strcmp(desk_stands(&world->desk), text) != 0) {
        if (desk_now_ms() >= end) {
            fail_msg("on the screen is %s and not %s:\n%s", desk_stands(&world->desk), text,
                     desk_said(&world->desk));
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

/* The bell goes on for that long, and so tells nothing of that kind. */
static void refuse_state(struct cb_bell *bell, enum cb_bell_state state, int64_t for_ms)
{
    int64_t end = desk_now_ms() + for_ms;
    while (desk_now_ms() < end) {
        struct cb_bell_news news;
        while (turn(bell, &news)) {
            assert_false(news.kind == CB_BELL_NEWS_STATE && news.state == state);
        }
        nap();
    }
}

static void show(struct cb_bell *bell, uint32_t id, const char *body)
{
    cb_bell_show(bell, id, true, true, "t", body, desk_now_ms());
}

static void test_no_bus(void **state)
{
    struct world *world = *state;
    struct cb_bell *bell = cb_bell_new(world->program);
    assert_int_equal(cb_bell_start(bell, desk_now_ms(), NULL), CB_OK);
    wait_state(bell, CB_BELL_NO_BUS);
    /* A ping is dropped, the child stays and still answers. */
    cb_bell_show(bell, 1, true, true, "t", "b", desk_now_ms());
    refuse_state(bell, CB_BELL_SILENT, 2500);
    cb_bell_free(bell);
    assert_int_equal(desk_bell_of(getpid()), 0);
}

/* An address at which a library would start a bus of its own is none. */
static void test_never_autolaunch(void **state)
{
    struct world *world = *state;
    static const char *const addresses[] = {"autolaunch:", "unix:path=/nonexistent;autolaunch:"};
    for (size_t i = 0; i < sizeof addresses / sizeof addresses[0]; i++) {
        setenv("DBUS_SESSION_BUS_ADDRESS", addresses[i], 1);
        /* What it would call to start one says that it was called. */
        FILE *launch = fopen(desk_path(&world->desk, "dbus-launch"), "w");
        fprintf(launch, "#!/bin/sh\n: >%s\n", desk_path(&world->desk, "launched"));
        fclose(launch);
        chmod(desk_path(&world->desk, "dbus-launch"), 0700);
        char *path = strdup(getenv("PATH"));
        setenv("PATH", cb_arena_printf(&world->arena, "%s:%s", world->desk.folder, path), 1);
        setenv("DISPLAY", ":99", 1);
        struct cb_bell *bell = cb_bell_new(world->program);
        cb_bell_start(bell, desk_now_ms(), NULL);
        wait_state(bell, CB_BELL_NO_BUS);
        show(bell, 1, "b");
        refuse_state(bell, CB_BELL_SILENT, 2200);
        cb_bell_free(bell);
        setenv("PATH", path, 1);
        free(path);
        unsetenv("DISPLAY");
        assert_int_not_equal(access(desk_path(&world->desk, "launched"), F_OK), 0);
    }
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

static void write_text(const char *path, const char *text)
{
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fputs(text, file);
    fclose(file);
    chmod(path, 0700);
}

/* A desktop may have left it to its bus to start the daemon with the first notification. It is the
 * bus that does, and nothing else of the desktop is woken. */
static void test_bus_starts_its_daemon(void **state)
{
    static const char *const names[] = {"org.freedesktop.Notifications",
                                        "org.freedesktop.portal.Desktop",
                                        "org.gtk.vfs.Daemon",
                                        "org.gtk.Notifications",
                                        "org.a11y.Bus",
                                        "ca.desrt.dconf",
                                        "org.freedesktop.secrets",
                                        "org.freedesktop.systemd1"};
    struct world *world = *state;
    const char *start = desk_path(&world->desk, "start");
    mkdir(desk_path(&world->desk, "services"), 0700);
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        const char *name = cb_arena_printf(&world->arena, "services/%s.service", names[i]);
        write_text(desk_path(&world->desk, name),
                   cb_arena_printf(&world->arena, "[D-BUS Service]\nName=%s\nExec=%s %s\n",
                                   names[i], start, names[i]));
    }
    write_text(start, cb_arena_printf(&world->arena,
                                      "#!/bin/sh\necho $1 $PPID >>%s/started\nmkfifo %s/fifo\n"
                                      "[ $1 = %s ] && exec %s <>%s/fifo >%s/daemon.out\nexit 1\n",
                                      world->desk.folder, world->desk.folder, names[0], desk_mock(),
                                      world->desk.folder, world->desk.folder));
    start_bus(world);
    struct cb_bell *bell = cb_bell_new(world->program);
    assert_int_not_equal(access(desk_path(&world->desk, "started"), F_OK), 0);
    show(bell, 1, "b");
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    wait_stands(world, "1=[b]");
    FILE *file = fopen(desk_path(&world->desk, "started"), "r");
    char name[64], more[64];
    int parent;
    assert_non_null(file);
    assert_int_equal(fscanf(file, "%63s %d %63s", name, &parent, more), 2);
    fclose(file);
    assert_string_equal(name, names[0]);
    assert_int_not_equal(parent, getpid());
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
    wait_for_line(world, cb_arena_printf(&world->arena, " tag=coatbell-%d-7\n", (int)getpid()));
    tell(world, "press 1 wet");
    struct cb_bell_news news = wait_news(bell, CB_BELL_NEWS_BUTTON);
    assert_int_equal(news.id, 7);
    assert_false(news.dry);
    cb_bell_show(bell, 8, false, true, "Ebb wash", "figure 1", desk_now_ms());
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    tell(world, "press 2 dry");
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
        cb_bell_show(bell, 1, true, true, "<b>Rope & tar</b> &amp; \"ash\"", "body", desk_now_ms());
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

/* It answers after 3 s: what stands then is what was asked for last, and its buttons work. */
static void test_daemon_answers_late(void **state)
{
    struct world *world = *state;
    start_bus(world);
    start_daemon(world, "actions body-markup");
    struct cb_bell *bell = cb_bell_new(world->program);
    cb_bell_start(bell, desk_now_ms(), NULL);
    wait_state(bell, CB_BELL_OK);
    tell(world, "late 3000");
    int64_t asked = desk_now_ms();
    show(bell, 1, "first");
    wait_state(bell, CB_BELL_SILENT);
    assert_in_range(desk_now_ms() - asked, 1990, 3000);
    show(bell, 1, "second");
    show(bell, 1, "third");
    tell(world, "late 0");
    wait_state(bell, CB_BELL_OK);
    wait_stands(world, "1=[third]");
    assert_int_equal(desk_count(&world->desk, "replaces=0"), 1);
    assert_int_equal(desk_count(&world->desk, "second"), 0);
    tell(world, "press 1 dry");
    struct cb_bell_news news = wait_news(bell, CB_BELL_NEWS_BUTTON);
    assert_int_equal(news.id, 1);
    assert_true(news.dry);
    /* Pressed while the call still waits: it is on the screen already. */
    tell(world, "late 1000");
    show(bell, 2, "pressed early");
    wait_stands(world, "2=[pressed early]");
    tell(world, "press 2 wet");
    news = wait_news(bell, CB_BELL_NEWS_BUTTON);
    assert_int_equal(news.id, 2);
    assert_false(news.dry);
    /* Closed while the call still waits. */
    tell(world, "late 2500");
    show(bell, 3, "closed early");
    wait_stands(world, "3=[closed early]");
    cb_bell_close(bell, 3);
    show(bell, 4, "after it");
    tell(world, "late 0");
    wait_stands(world, "4=[after it]");
    assert_int_equal(desk_count(&world->desk, " close "), 1);
    cb_bell_free(bell);
}

/* Stopped for longer than the library waits: the number of the first pop-up is never told. */
static void test_daemon_stopped_long(void **state)
{
    enum { LIBRARY_MS = 25000 };
    struct world *world = *state;
    start_bus(world);
    start_daemon(world, "actions body-markup x-dunst-stack-tag");
    struct cb_bell *bell = cb_bell_new(world->program);
    cb_bell_start(bell, desk_now_ms(), NULL);
    wait_state(bell, CB_BELL_OK);
    pid_t child = desk_bell_of(getpid());
    struct cb_bell *other = cb_bell_new(world->program);
    cb_bell_start(other, desk_now_ms(), NULL);
    wait_state(other, CB_BELL_OK);
    kill(world->desk.daemon, SIGSTOP);
    show(bell, 1, "first");
    show(bell, 2, "never sent");
    show(other, 9, "no longer wanted");
    wait_state(bell, CB_BELL_SILENT);
    wait_state(other, CB_BELL_SILENT);
    cb_bell_close(bell, 2);
    show(bell, 1, "second");
    cb_bell_close(other, 9);
    refuse_state(bell, CB_BELL_OK, LIBRARY_MS);
    show(bell, 1, "third");
    refuse_state(bell, CB_BELL_OK, 500);
    kill(world->desk.daemon, SIGCONT);
    wait_state(bell, CB_BELL_OK);
    wait_state(other, CB_BELL_OK); /* though it has nothing to show */
    /* In the place of "first" by its tag; what took the place of 9 is closed. */
    const char *stands = "";
    for (int64_t end = desk_now_ms() + LONG_MS;
         strcmp(stands + strcspn(stands, "="), "=[third]") != 0; nap()) {
        stands = desk_stands(&world->desk);
        assert_true(desk_now_ms() < end);
    }
    assert_int_equal(desk_count(&world->desk, "body=[first]"), 1);
    assert_int_equal(desk_count(&world->desk, "body=[second]"), 0);
    assert_int_equal(desk_count(&world->desk, "body=[never sent]"), 0);
    const int digits = (int)strcspn(stands, "=");
    tell(world, cb_arena_printf(&world->arena, "press %.*s dry", digits, stands));
    assert_int_equal(wait_news(bell, CB_BELL_NEWS_BUTTON).id, 1);
    wait_stands(world, "");
    assert_false(desk_is_gone(child));
    cb_bell_free(other);
    cb_bell_free(bell);
}

/* A pop-up whose number is never told is asked for once more, and may then stand twice where the
 * daemon knows no tags. Who answers everything but that is not asked for ever. */
static void test_answer_lost(void **state)
{
    static const struct {
        const char *can, *again, *closed;
    } cases[] = {{"actions body-markup x-dunst-stack-tag", "2=[b]", "2=[b]"},
                 {"actions body-markup", "1=[b] 2=[b]", "1=[b] 2=[b] 3=[c] 4=[c]"}};
    struct world *world = *state;
    start_bus(world);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        start_daemon(world, cases[i].can);
        struct cb_bell *bell = cb_bell_new(world->program);
        cb_bell_start(bell, desk_now_ms(), NULL);
        wait_state(bell, CB_BELL_OK);
        tell(world, "fail 1 org.freedesktop.DBus.Error.NoReply");
        show(bell, 1, "b");
        wait_news(bell, CB_BELL_NEWS_SHOWN);
        wait_stands(world, cases[i].again);
        tell(world, "fail 2 org.freedesktop.DBus.Error.Timeout");
        int64_t asked = desk_now_ms();
        show(bell, 2, "c");
        wait_state(bell, CB_BELL_SILENT);
        assert_true(desk_now_ms() - asked < 1500); /* it is told, not found out */
        assert_int_equal(desk_count(&world->desk, " notify "), 4);
        cb_bell_close(bell, 2); /* takes its place to learn its number, where that can be */
        wait_stands(world, cases[i].closed);
        show(bell, 1, "d");
        wait_state(bell, CB_BELL_OK);
        cb_bell_free(bell);
        desk_stop(&world->desk.daemon);
    }
}

static void test_daemon_refuses(void **state)
{
    struct world *world = *state;
    start_bus(world);
    start_daemon(world, "actions body-markup");
    struct cb_bell *bell = cb_bell_new(world->program);
    cb_bell_start(bell, desk_now_ms(), NULL);
    wait_state(bell, CB_BELL_OK);
    tell(world, "refuse 1 org.example.Error.Full");
    int64_t asked = desk_now_ms();
    show(bell, 1, "refused");
    wait_state(bell, CB_BELL_SILENT);
    assert_true(desk_now_ms() - asked < 1500);
    show(bell, 2, "taken");
    wait_state(bell, CB_BELL_OK);
    refuse_state(bell, CB_BELL_SILENT, 2500); /* the one that was refused is not waited for */
    wait_stands(world, "2=[taken]");
    cb_bell_free(bell);
}

static void show_for(struct cb_bell *bell, uint32_t answer, const char *body)
{
    cb_bell_show(bell, 1, true, answer, "t", body, desk_now_ms());
}

/* Until the bell has read all that the daemon has said by now: it answers a ping of its own. */
static void refuse_buttons(struct world *world, struct cb_bell *bell)
{
    show(bell, 99, "asked for last");
    int64_t end = desk_now_ms() + LONG_MS;
    for (bool shown = false; !shown;) {
        struct cb_bell_news news;
        while (turn(bell, &news)) {
            assert_int_not_equal(news.kind, CB_BELL_NEWS_BUTTON);
            shown = shown || (news.kind == CB_BELL_NEWS_SHOWN && news.id == 99);
        }
        assert_true(desk_now_ms() < end);
        nap();
    }
    assert_true(desk_count(&world->desk, "body=[asked for last]") > 0);
}

/* A button answers for what stood on the screen when it was pressed, and once. */
static void test_answer_is_of_what_stood_there(void **state)
{
    struct world *world = *state;
    start_bus(world);
    start_daemon(world, "actions body-markup");
    struct cb_bell *bell = cb_bell_new(world->program);
    show_for(bell, 5, "first");
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    show_for(bell, 6, "second");
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    tell(world, "act 1 dry");
    assert_int_equal(wait_news(bell, CB_BELL_NEWS_BUTTON).answer, 6);
    tell(world, "act 1 wet"); /* twice, and once more when it is gone */
    tell(world, "dismiss 1");
    tell(world, "act 1 dry");
    refuse_buttons(world, bell);
    /* The daemon shows the next at once and says so late: which of both was pressed? */
    show_for(bell, 7, "third");
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    wait_stands(world, "2=[asked for last] 3=[third]");
    tell(world, "late 500");
    show_for(bell, 8, "fourth");
    wait_stands(world, "2=[asked for last] 3=[fourth]");
    tell(world, "press 3 dry");
    tell(world, "late 0");
    refuse_buttons(world, bell);
    /* The same question in other words is the same question. */
    show_for(bell, 9, "fifth");
    wait_stands(world, "2=[asked for last] 4=[fifth]");
    tell(world, "late 500");
    show_for(bell, 9, "sixth");
    wait_stands(world, "2=[asked for last] 4=[sixth]");
    tell(world, "press 4 dry");
    tell(world, "late 0");
    assert_int_equal(wait_news(bell, CB_BELL_NEWS_BUTTON).answer, 9);
    cb_bell_free(bell);
}

static void test_daemon_raves(void **state)
{
    struct world *world = *state;
    start_bus(world);
    start_daemon(world, "actions body-markup");
    struct cb_bell *bell = cb_bell_new(world->program);
    show_for(bell, 5, "b");
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    pid_t child = desk_bell_of(getpid());
    tell(world, "rave 1");
    tell(world, "rave 77");
    tell(world, "end 77"); /* never ours */
    tell(world, "act 77 dry");
    tell(world, "act 1 damp");
    refuse_buttons(world, bell);
    tell(world, "press 1 wet");
    struct cb_bell_news news = wait_news(bell, CB_BELL_NEWS_BUTTON);
    assert_int_equal(news.answer, 5);
    assert_false(news.dry);
    assert_int_equal(desk_bell_of(getpid()), child);
    cb_bell_free(bell);
}

/* Each bench hears of its own pop-ups, though both number them from 1. */
static void test_two_on_one_bus(void **state)
{
    struct world *world = *state;
    start_bus(world);
    start_daemon(world, "actions body-markup");
    struct cb_bell *bells[2] = {cb_bell_new(world->program), cb_bell_new(world->program)};
    for (uint32_t i = 0; i < 2; i++) {
        show_for(bells[i], 11 + i, i == 0 ? "mine" : "yours");
        wait_news(bells[i], CB_BELL_NEWS_SHOWN);
    }
    wait_stands(world, "1=[mine] 2=[yours]");
    tell(world, "press 2 dry");
    assert_int_equal(wait_news(bells[1], CB_BELL_NEWS_BUTTON).answer, 12);
    refuse_buttons(world, bells[0]);
    tell(world, "press 1 wet");
    assert_int_equal(wait_news(bells[0], CB_BELL_NEWS_BUTTON).answer, 11);
    refuse_buttons(world, bells[1]);
    cb_bell_free(bells[0]);
    cb_bell_free(bells[1]);
}

static void test_daemon_dies_and_returns(void **state)
{
    struct world *world = *state;
    start_bus(world);
    start_daemon(world, "actions body-markup");
    struct cb_bell *bell = cb_bell_new(world->program);
    show(bell, 1, "before");
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    pid_t child = desk_bell_of(getpid());
    kill(world->desk.daemon, SIGSTOP);
    show(bell, 1, "never seen");
    wait_state(bell, CB_BELL_SILENT);
    desk_stop(&world->desk.daemon); /* while a call waits for it */
    wait_state(bell, CB_BELL_NO_DAEMON);
    start_daemon(world, "actions body-markup");
    wait_state(bell, CB_BELL_OK);
    show(bell, 1, "after");
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    /* Its number in the old daemon may be another program's pop-up in the new one. */
    wait_for_line(world, "replaces=0 ");
    wait_stands(world, "1=[after]");
    tell(world, "press 1 dry");
    assert_int_equal(wait_news(bell, CB_BELL_NEWS_BUTTON).id, 1);
    assert_int_equal(desk_bell_of(getpid()), child);
    cb_bell_free(bell);
}

static void test_close_what_is_gone(void **state)
{
    struct world *world = *state;
    start_bus(world);
    start_daemon(world, "actions body-markup");
    struct cb_bell *bell = cb_bell_new(world->program);
    cb_bell_close(bell, 5); /* never was */
    show(bell, 1, "a");
    show(bell, 2, "b");
    wait_stands(world, "1=[a] 2=[b]");
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    tell(world, "lose 2");
    tell(world, "press 1 dry"); /* and so it is closed */
    wait_news(bell, CB_BELL_NEWS_BUTTON);
    cb_bell_close(bell, 1);
    cb_bell_close(bell, 2);
    wait_for_line(world, " close 2"); /* answered with an error */
    show(bell, 1, "c");
    show(bell, 2, "d");
    wait_stands(world, "3=[c] 4=[d]");
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    assert_int_equal(desk_count(&world->desk, " close 5"), 0);
    for (int i = 0; i < 2; i++) { /* again and again of the same id */
        tell(world, i == 0 ? "dismiss 3" : "dismiss 5");
        tell(world, i == 0 ? "press 4 dry" : "press 6 dry"); /* heard after it */
        wait_news(bell, CB_BELL_NEWS_BUTTON);
        show(bell, 1, "e");
        show(bell, 2, "f");
        wait_stands(world, i == 0 ? "5=[e] 6=[f]" : "7=[e] 8=[f]");
        wait_news(bell, CB_BELL_NEWS_SHOWN);
        wait_news(bell, CB_BELL_NEWS_SHOWN);
    }
    cb_bell_free(bell);
}

static void test_child_dies_or_hangs(void **state)
{
    struct world *world = *state;
    start_bus(world);
    start_daemon(world, "actions body-markup x-dunst-stack-tag");
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
    show(bell, 1, "left behind");
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    kill(second, SIGSTOP);
    int64_t asked = desk_now_ms();
    cb_bell_show(bell, 1, true, true, "t", "kept", desk_now_ms());
    assert_true(cb_bell_deadline(bell) - asked <= 2000);
    wait_state(bell, CB_BELL_SILENT);
    assert_in_range(desk_now_ms() - asked, 1990, 3000);
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    assert_int_equal(desk_count(&world->desk, "body=[kept]"), 1);
    wait_stands(world, "2=[kept]"); /* by its tag in the place of what the other one left */
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

/* Who leaves while a call of the child waits for the daemon does not wait with it. */
static void test_leaving_while_it_waits(void **state)
{
    struct world *world = *state;
    start_bus(world);
    start_daemon(world, "actions body-markup");
    struct cb_bell *bell = cb_bell_new(world->program);
    show(bell, 1, "b");
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    pid_t child = desk_bell_of(getpid());
    kill(world->desk.daemon, SIGSTOP);
    show(bell, 1, "c");
    wait_state(bell, CB_BELL_SILENT);
    int64_t asked = desk_now_ms();
    cb_bell_free(bell);
    assert_true(desk_now_ms() - asked < 500); /* at once; it is waited for 1 s */
    assert_true(desk_is_gone(child));
}

/* It ends of itself, with all its threads, and under a sanitizer without a word. */
static void test_child_ends_cleanly(void **state)
{
    static const char wishes[] = "show\t1\t1\t1\tt\tb\nshow\t2\t0\t0\tt\tb\nclose\t2\n"
                                 "show\t3\t0\t1\tt\tb\n";
    struct world *world = *state;
    start_bus(world);
    start_daemon(world, "actions body-markup");
    for (int round = 0; round < 3; round++) {
        int ends[2];
        assert_int_equal(socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, ends), 0);
        pid_t child = fork();
        assert_true(child >= 0);
        if (child == 0) {
            dup2(ends[1], STDIN_FILENO);
            execl(world->program, world->program, (char *)NULL);
            _exit(127);
        }
        close(ends[1]);
        assert_int_equal(write(ends[0], wishes, sizeof wishes - 1), (ssize_t)sizeof wishes - 1);
        char said[4096];
        for (size_t length = 0; length == 0 || strstr(said, "shown\t3\n") == NULL;) {
            ssize_t got = read(ends[0], said + length, sizeof said - 1 - length);
            assert_true(got > 0);
            length += (size_t)got;
            said[length] = '\0';
        }
        if (round == 2) {
            desk_stop(&world->desk.bus);
            char word[64];
            assert_true(read(ends[0], word, sizeof word) > 0);
        }
        shutdown(ends[0], SHUT_WR);
        int status;
        assert_int_equal(waitpid(child, &status, 0), child);
        assert_true(WIFEXITED(status));
        assert_int_equal(WEXITSTATUS(status), 0);
        close(ends[0]);
        if (round < 2) {
            wait_stands(world, "");
        }
    }
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
    /* Another one at the same address is found by the next ping. */
    desk_stop(&world->desk.daemon);
    assert_int_equal(unlink(desk_path(&world->desk, "bus.socket")), 0);
    start_bus(world);
    start_daemon(world, "actions body-markup");
    show(bell, 1, "on the new one");
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    wait_stands(world, "1=[on the new one]");
    assert_int_equal(desk_bell_of(getpid()), child);
    cb_bell_free(bell);
    assert_int_equal(desk_bell_of(getpid()), 0);
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
        cmocka_unit_test_setup_teardown(test_never_autolaunch, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_no_daemon_then_one, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_bus_starts_its_daemon, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_runtime_folder, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_show_replace_button_close, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_a_title_is_no_markup, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_daemon_hangs, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_daemon_answers_late, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_daemon_stopped_long, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_answer_lost, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_daemon_refuses, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_answer_is_of_what_stood_there, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_daemon_raves, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_two_on_one_bus, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_daemon_dies_and_returns, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_close_what_is_gone, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_child_dies_or_hangs, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_child_stopped_socket_full, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_leaving_while_it_waits, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_child_ends_cleanly, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_leaving_a_stopped_child, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_bus_dies, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_parent_killed, set_up, tear_down),
        cmocka_unit_test(test_program_missing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
