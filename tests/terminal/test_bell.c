/* SPDX-License-Identifier: MIT */
/* The bell, parent and child together, against a private bus and a daemon of our own that can be
 * told to press buttons, to hang and to die. */
#include <dirent.h>
#include <fcntl.h>
#include <poll.h>
#include <setjmp.h>
#include <signal.h>
#include <spawn.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

#include "base/arena.h"
#include "base/time.h"
#include "shell/bell.h"
#include "shell/paths.h"

extern char **environ;

#define LONG_MS 10000 /* nothing here takes so long */

struct world {
    char folder[256];
    pid_t bus, daemon;
    FILE *daemon_in;
    struct cb_arena arena;
    const char *program;
};

static int64_t now_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static void nap(void)
{
    poll(NULL, 0, 5);
}

static char *file_text(const char *path)
{
    static char text[65536];
    FILE *file = fopen(path, "r");
    size_t got = file != NULL ? fread(text, 1, sizeof text - 1, file) : 0;
    text[got] = '\0';
    if (file != NULL) {
        fclose(file);
    }
    return text;
}

static pid_t spawn_to(const char *out_path, int in, char *const argv[])
{
    posix_spawn_file_actions_t files;
    posix_spawn_file_actions_init(&files);
    posix_spawn_file_actions_addopen(&files, 1, out_path, O_WRONLY | O_CREAT | O_TRUNC, 0600);
    if (in >= 0) {
        posix_spawn_file_actions_adddup2(&files, in, 0);
    }
    pid_t pid;
    assert_int_equal(posix_spawnp(&pid, argv[0], &files, NULL, argv, environ), 0);
    posix_spawn_file_actions_destroy(&files);
    return pid;
}

static const char *in_folder(struct world *world, const char *name)
{
    return cb_arena_printf(&world->arena, "%s/%s", world->folder, name);
}

/* A session bus that knows no service it could start. */
static void start_bus(struct world *world)
{
    const char *config = in_folder(world, "bus.conf");
    FILE *file = fopen(config, "w");
    assert_non_null(file);
    fprintf(file,
            "<busconfig><type>session</type><listen>unix:path=%s/bus.socket</listen>"
            "<policy context='default'><allow send_destination='*' eavesdrop='true'/>"
            "<allow eavesdrop='true'/><allow own='*'/></policy></busconfig>",
            world->folder);
    fclose(file);
    char name[] = "dbus-daemon", nofork[] = "--nofork", print[] = "--print-address=1";
    char *argv[] = {name, cb_arena_printf(&world->arena, "--config-file=%s", config), nofork, print,
                    NULL};
    const char *out = in_folder(world, "bus.out");
    world->bus = spawn_to(out, -1, argv);
    int64_t end = now_ms() + LONG_MS;
    while (strstr(file_text(out), "unix:") == NULL) {
        assert_true(now_ms() < end);
        nap();
    }
    setenv("DBUS_SESSION_BUS_ADDRESS",
           cb_arena_printf(&world->arena, "unix:path=%s/bus.socket", world->folder), 1);
}

static void wait_for_line(struct world *world, const char *part)
{
    int64_t end = now_ms() + LONG_MS;
    while (strstr(file_text(in_folder(world, "daemon.out")), part) == NULL) {
        if (now_ms() >= end) {
            fail_msg("no line with %s in:\n%s", part, file_text(in_folder(world, "daemon.out")));
        }
        nap();
    }
}

static void start_daemon(struct world *world, const char *capabilities)
{
    char self[512];
    ssize_t length = readlink("/proc/self/exe", self, sizeof self - 1);
    assert_true(length > 0);
    self[length] = '\0';
    *strrchr(self, '/') = '\0';
    char *argv[] = {cb_arena_printf(&world->arena, "%s/../tools/mock_notify", self),
                    cb_arena_text(&world->arena, capabilities), NULL};
    int ends[2];
    assert_int_equal(pipe2(ends, O_CLOEXEC), 0);
    world->daemon = spawn_to(in_folder(world, "daemon.out"), ends[0], argv);
    close(ends[0]);
    world->daemon_in = fdopen(ends[1], "w");
    wait_for_line(world, "ready");
}

static void stop(pid_t *pid)
{
    if (*pid > 0) {
        kill(*pid, SIGKILL);
        waitpid(*pid, NULL, 0);
        *pid = 0;
    }
}

static int set_up(void **state)
{
    struct world *world = calloc(1, sizeof *world);
    const char *tmp = getenv("TMPDIR") != NULL ? getenv("TMPDIR") : "/tmp";
    snprintf(world->folder, sizeof world->folder, "%s/bell.XXXXXX", tmp);
    if (mkdtemp(world->folder) == NULL) {
        return -1;
    }
    world->program = cb_paths_bell(&world->arena);
    setenv("XDG_RUNTIME_DIR", world->folder, 1);
    unsetenv("DBUS_SESSION_BUS_ADDRESS");
    *state = world;
    return world->program != NULL ? 0 : -1;
}

static int tear_down(void **state)
{
    struct world *world = *state;
    if (world->daemon_in != NULL) {
        fclose(world->daemon_in);
    }
    stop(&world->daemon);
    stop(&world->bus);
    static const char *const names[] = {"bus.conf", "bus.out", "bus.socket", "daemon.out", "bus"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        unlink(in_folder(world, names[i]));
    }
    rmdir(world->folder);
    cb_arena_fini(&world->arena);
    free(world);
    return 0;
}

/* One turn as the loop makes it; fails when the bell takes longer than the screen may stand. */
static bool turn(struct cb_bell *bell, struct cb_bell_news *news)
{
    int64_t before = now_ms();
    bool got = cb_bell_turn(bell, before, news);
    assert_true(now_ms() - before < 50);
    return got;
}

static struct cb_bell_news wait_news(struct cb_bell *bell, int kind)
{
    int64_t end = now_ms() + LONG_MS;
    for (;;) {
        struct cb_bell_news news;
        while (turn(bell, &news)) {
            if ((int)news.kind == kind) {
                return news;
            }
        }
        if (now_ms() >= end) {
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

/* A child of that process by its name; 0: none. */
static pid_t bell_of(pid_t parent)
{
    pid_t found = 0;
    DIR *proc = opendir("/proc");
    for (struct dirent *entry; found == 0 && (entry = readdir(proc)) != NULL;) {
        char path[300], name[64] = "";
        int pid, ppid;
        char status;
        snprintf(path, sizeof path, "/proc/%s/stat", entry->d_name);
        FILE *file = fopen(path, "r");
        if (file != NULL) {
            if (fscanf(file, "%d (%63[^)]) %c %d", &pid, name, &status, &ppid) == 4 &&
                ppid == parent && strcmp(name, "coatbell-bell") == 0 && status != 'Z') {
                found = pid;
            }
            fclose(file);
        }
    }
    closedir(proc);
    return found;
}

static int count_lines(struct world *world, const char *part)
{
    int count = 0;
    const char *at = file_text(in_folder(world, "daemon.out"));
    while ((at = strstr(at, part)) != NULL) {
        count++;
        at++;
    }
    return count;
}

static void test_no_bus(void **state)
{
    struct world *world = *state;
    struct cb_bell *bell = cb_bell_new(world->program);
    assert_int_equal(cb_bell_start(bell, now_ms(), NULL), CB_OK);
    wait_state(bell, CB_BELL_NO_BUS);
    /* A ping is dropped, the child stays and still answers. */
    cb_bell_show(bell, 1, true, true, "t", "b", now_ms());
    int64_t end = now_ms() + 2500;
    struct cb_bell_news news;
    while (now_ms() < end) {
        while (turn(bell, &news)) {
            assert_false(news.kind == CB_BELL_NEWS_STATE && news.state == CB_BELL_SILENT);
        }
        nap();
    }
    cb_bell_free(bell);
    assert_int_equal(bell_of(getpid()), 0);
}

static void test_no_daemon_then_one(void **state)
{
    struct world *world = *state;
    start_bus(world);
    struct cb_bell *bell = cb_bell_new(world->program);
    cb_bell_start(bell, now_ms(), NULL);
    wait_state(bell, CB_BELL_NO_DAEMON);
    start_daemon(world, "actions");
    wait_state(bell, CB_BELL_OK);
    cb_bell_show(bell, 1, true, true, "t", "a < b & c", now_ms());
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    /* It said no body-markup: nothing is escaped for it. */
    wait_for_line(world, "body=[a < b & c]");
    stop(&world->daemon);
    wait_state(bell, CB_BELL_NO_DAEMON);
    cb_bell_free(bell);
}

static void test_runtime_folder(void **state)
{
    struct world *world = *state;
    start_bus(world);
    unsetenv("DBUS_SESSION_BUS_ADDRESS");
    assert_int_equal(rename(in_folder(world, "bus.socket"), in_folder(world, "bus")), 0);
    struct cb_bell *bell = cb_bell_new(world->program);
    cb_bell_start(bell, now_ms(), NULL);
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
                 now_ms());
    assert_int_equal(wait_news(bell, CB_BELL_NEWS_SHOWN).id, 7);
    wait_for_line(world, "notify 1 replaces=0 sound=message-new-instant entry=coatbell "
                         "actions=dry,Dry,wet,Still wet title=[Oilskin green] "
                         "body=[figures &lt;1&gt; &amp; 4 can|take coat 2]");
    cb_bell_show(bell, 7, false, true, "Oilskin green", "figures 1 to 5", now_ms());
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    wait_for_line(world, "notify 1 replaces=1 sound=- ");
    fprintf(world->daemon_in, "press 1 wet\n");
    fflush(world->daemon_in);
    struct cb_bell_news news = wait_news(bell, CB_BELL_NEWS_BUTTON);
    assert_int_equal(news.id, 7);
    assert_false(news.dry);
    cb_bell_show(bell, 8, false, true, "Ebb wash", "figure 1", now_ms());
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    fprintf(world->daemon_in, "press 2 dry\n");
    fflush(world->daemon_in);
    news = wait_news(bell, CB_BELL_NEWS_BUTTON);
    assert_int_equal(news.id, 8);
    assert_true(news.dry);
    cb_bell_show(bell, 9, false, false, "Wick white", "figure 2", now_ms());
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    wait_for_line(world, "notify 3 replaces=0 sound=- entry=coatbell actions= ");
    cb_bell_close(bell, 9);
    wait_for_line(world, "close 3");
    cb_bell_show(bell, 10, false, true, "Wick white", "figure 3", now_ms());
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    cb_bell_free(bell);
    wait_for_line(world, "close 4"); /* its buttons would be dead; without any it may stand */
    assert_int_equal(bell_of(getpid()), 0);
}

static void test_daemon_hangs(void **state)
{
    struct world *world = *state;
    start_bus(world);
    start_daemon(world, "actions body-markup");
    struct cb_bell *bell = cb_bell_new(world->program);
    cb_bell_start(bell, now_ms(), NULL);
    wait_state(bell, CB_BELL_OK);
    kill(world->daemon, SIGSTOP);
    int64_t asked = now_ms();
    cb_bell_show(bell, 1, true, true, "t", "first", now_ms());
    wait_state(bell, CB_BELL_SILENT);
    assert_in_range(now_ms() - asked, 1990, 3000);
    cb_bell_show(bell, 1, true, true, "t", "second", now_ms());
    cb_bell_show(bell, 1, true, true, "t", "third", now_ms());
    kill(world->daemon, SIGCONT);
    wait_state(bell, CB_BELL_OK);
    wait_for_line(world, "body=[third]");
    /* One pop-up, brought up to date; what was outdated meanwhile was never sent. */
    assert_int_equal(count_lines(world, "replaces=0"), 1);
    assert_int_equal(count_lines(world, "second"), 0);
    cb_bell_free(bell);
}

static void test_child_dies_or_hangs(void **state)
{
    struct world *world = *state;
    start_bus(world);
    start_daemon(world, "actions body-markup");
    struct cb_bell *bell = cb_bell_new(world->program);
    cb_bell_start(bell, now_ms(), NULL);
    wait_state(bell, CB_BELL_OK);
    pid_t first = bell_of(getpid());
    assert_true(first > 0);
    kill(first, SIGKILL);
    wait_state(bell, CB_BELL_SILENT);
    wait_state(bell, CB_BELL_OK);
    pid_t second = bell_of(getpid());
    assert_true(second > 0 && second != first);
    kill(second, SIGSTOP);
    int64_t asked = now_ms();
    cb_bell_show(bell, 1, true, true, "t", "kept", now_ms());
    assert_true(cb_bell_deadline(bell) - asked <= 2000);
    wait_state(bell, CB_BELL_SILENT);
    assert_in_range(now_ms() - asked, 1990, 3000);
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    assert_int_equal(count_lines(world, "body=[kept]"), 1);
    assert_int_not_equal(bell_of(getpid()), second);
    cb_bell_free(bell);
    assert_int_equal(bell_of(getpid()), 0);
}

static void test_bus_dies(void **state)
{
    struct world *world = *state;
    start_bus(world);
    start_daemon(world, "actions body-markup");
    struct cb_bell *bell = cb_bell_new(world->program);
    cb_bell_show(bell, 1, true, true, "t", "b", now_ms());
    wait_news(bell, CB_BELL_NEWS_SHOWN);
    pid_t child = bell_of(getpid());
    stop(&world->bus);
    wait_state(bell, CB_BELL_NO_BUS);
    assert_int_equal(bell_of(getpid()), child);
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
        cb_bell_start(bell, now_ms(), NULL);
        for (;;) {
            pause();
        }
    }
    int64_t end = now_ms() + LONG_MS;
    pid_t child;
    while ((child = bell_of(parent)) == 0) {
        assert_true(now_ms() < end);
        nap();
    }
    kill(parent, SIGKILL);
    waitpid(parent, NULL, 0);
    end = now_ms() + 2000; /* it is gone 2 s after the bench, however that went */
    while (kill(child, 0) == 0) {
        char path[64];
        snprintf(path, sizeof path, "/proc/%d/stat", (int)child);
        if (strstr(file_text(path), ") Z ") != NULL) {
            break; /* nobody's to wait for but init's */
        }
        assert_true(now_ms() < end);
        nap();
    }
}

static void test_program_missing(void **state)
{
    (void)state;
    struct cb_bell *bell = cb_bell_new("/nonexistent/coatbell-bell");
    struct cb_err err = {0};
    assert_int_equal(cb_bell_start(bell, now_ms(), &err), CB_IO);
    assert_non_null(strstr(err.text, "can't be started"));
    cb_bell_free(bell);
    bell = cb_bell_new(NULL);
    assert_int_equal(cb_bell_start(bell, now_ms(), NULL), CB_OK);
    cb_bell_show(bell, 1, true, true, "t", "b", now_ms());
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
        cmocka_unit_test_setup_teardown(test_daemon_hangs, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_child_dies_or_hangs, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_bus_dies, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_parent_killed, set_up, tear_down),
        cmocka_unit_test(test_program_missing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
