/* SPDX-License-Identifier: MIT */
/* The terminal is asked for its background: the first screen does not wait for the answer, a light
 * one makes another picture, and whatever comes of it, late and in pieces, is no key, nor is a key
 * lost. */
#include <fcntl.h>
#include <poll.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <termios.h>
#include <unistd.h>

#include <cmocka.h>

#include "base/str.h"
#include "shell/ground.h"
#include "shell/store.h"
#include "support/desk.h"
#include "support/seat.h"

#define LONG_MS       20000 /* nothing here takes so long */
#define GREY_ON_DARK  "38;5;248"
#define GREY_ON_LIGHT "38;5;240"

struct world {
    struct desk desk;
    struct seat seat;
    struct cb_str said; /* all that the program wrote */
    size_t looked;      /* of that: what follows is new */
};

/* Reads until the text has come since the last one waited for. */
static bool comes(struct world *world, const char *text, int most_ms)
{
    const int64_t end = desk_now_ms() + most_ms;
    for (;;) {
        char bytes[4096];
        const ssize_t got = read(world->seat.pty, bytes, sizeof bytes);
        if (got > 0) {
            cb_str_add_n(&world->said, bytes, (size_t)got);
        }
        const char *found = strstr(cb_str_text(&world->said) + world->looked, text);
        if (found != NULL) {
            world->looked = (size_t)(found - cb_str_text(&world->said)) + strlen(text);
            return true;
        }
        if (desk_now_ms() > end) {
            return false;
        }
        poll(NULL, 0, 5);
    }
}

static void start(struct world *world, const char *type, const char *settings)
{
    FILE *file = fopen(desk_path(&world->desk, "home/.config/coatbell/config.yaml"), "w");
    assert_non_null(file);
    assert_true(fprintf(file, "bell: no\n%s", settings) > 0);
    assert_int_equal(fclose(file), 0);
    char path[SEAT_PATH_SIZE];
    seat_program(path);
    const char *const arguments[] = {"begin", "night-watch", "--temp", "23", "--rh", "50", NULL};
    assert_true(seat_start(&world->seat, desk_path(&world->desk, "home"), type, arguments));
}

static int set_up(void **state)
{
    static const char *const folders[] = {"home", "home/.config", "home/.config/coatbell"};
    struct world *world = calloc(1, sizeof *world);
    *state = world;
    if (!desk_open(&world->desk)) {
        return -1;
    }
    for (size_t i = 0; i < sizeof folders / sizeof folders[0]; i++) {
        mkdir(desk_path(&world->desk, folders[i]), 0700);
    }
    return 0;
}

static int tear_down(void **state)
{
    struct world *world = *state;
    seat_close(&world->seat);
    desk_close(&world->desk);
    cb_str_fini(&world->said);
    free(world);
    return 0;
}

static bool take_note(void *context, const struct cb_event *event)
{
    if (event->kind == CB_EVENT_NOTE) {
        snprintf(context, 64, "%s", cb_event_text(event, CB_FIELD_TEXT, ""));
    }
    return true;
}

/* The note that came to the log. */
static void check_note(const struct world *world, const char *text)
{
    char note[64] = "";
    const char *path = desk_path(&world->desk, "home/.local/share/coatbell/log.db");
    for (const int64_t end = desk_now_ms() + LONG_MS; note[0] == '\0' && desk_now_ms() < end;) {
        struct cb_store *store = NULL;
        poll(NULL, 0, 20);
        assert_int_equal(cb_store_open(path, CB_STORE_READ, &store, NULL), CB_OK);
        assert_int_equal(cb_store_each(store, NULL, take_note, note, NULL), CB_OK);
        cb_store_close(store);
    }
    assert_string_equal(note, text);
}

static void press(const struct world *world, const char *keys, int then_ms)
{
    seat_press(&world->seat, keys);
    poll(NULL, 0, then_ms);
}

static void test_in_pieces(void **state)
{
    struct world *world = *state;
    start(world, "xterm-256color", "");
    assert_true(comes(world, CB_GROUND_ASK, LONG_MS));
    assert_true(comes(world, "Minutes you leave", LONG_MS)); /* nobody has answered */
    seat_press(&world->seat, "\r");
    assert_true(comes(world, GREY_ON_DARK, LONG_MS));
    seat_press(&world->seat, "n");
    poll(NULL, 0, 1200); /* an answer so late that nobody waits for it */
    /* Its ESC so far ahead that it is the key: this leaves the note, and none of the rest is one.
     */
    press(world, "\033", 200);
    press(world, CB_GROUND_REST "rgb:0000/0000/0000\a", 60);
    press(world, "n", 60);
    press(world, "a1" CB_GROUND_BEGIN "rgb:ffff", 60);
    press(world, "/ffff/ff", 60);
    press(world, "ff\033", 60);
    press(world, "\\b2", 0);
    assert_true(comes(world, GREY_ON_LIGHT, LONG_MS));
    press(world, CB_GROUND_BEGIN "rgb:00", 1200); /* its end is lost */
    press(world, "c3", 60);
    press(world, CB_GROUND_BEGIN "rgb:00 d4", 60);
    press(world, CB_GROUND_BEGIN "mauve\a", 60);
    press(world, "\r", 0);
    check_note(world, "a1b2c3 d4mauve");
}

/* Bytes on the way to the program that it has not read. */
static int unread(const struct world *world)
{
    struct termios modes;
    int waiting = -1;
    const int fd = open(world->seat.terminal, O_RDONLY | O_NONBLOCK | O_NOCTTY);
    assert_true(fd >= 0);
    assert_int_equal(tcgetattr(fd, &modes), 0);
    modes.c_lflag &= ~(tcflag_t)ICANON; /* else a line that is not ended does not count */
    assert_int_equal(tcsetattr(fd, TCSANOW, &modes), 0);
    assert_int_equal(ioctl(fd, FIONREAD, &waiting), 0);
    close(fd);
    return waiting;
}

/* It is left before the answer has come: nothing of that is left to the shell. Where the machine is
 * so busy that the answer comes late, once more. */
static void test_left_at_once(void **state)
{
    struct world *world = *state;
    int left = 1;
    for (int attempt = 0; attempt < 3 && left > 0; attempt++) {
        start(world, "xterm-256color", "");
        assert_true(comes(world, CB_GROUND_ASK, LONG_MS));
        kill(world->seat.program, SIGTERM);
        poll(NULL, 0, 60); /* of the tenth of a second that it waits at most */
        seat_press(&world->seat, CB_GROUND_BEGIN "rgb:ffff/ffff/ffff\033\\");
        const int64_t end = desk_now_ms() + LONG_MS;
        while (!desk_is_gone(world->seat.program) && desk_now_ms() < end) {
            (void)comes(world, "never", 5);
        }
        assert_true(desk_is_gone(world->seat.program));
        left = unread(world);
        seat_close(&world->seat);
        world->looked = world->said.length;
    }
    assert_int_equal(left, 0);
}

static void test_not_asked(void **state)
{
    struct world *world = *state;
    start(world, "xterm-256color", "theme: light\n");
    assert_true(comes(world, "Minutes you leave", LONG_MS));
    seat_press(&world->seat, "\r");
    assert_true(comes(world, GREY_ON_LIGHT, LONG_MS));
    world->looked = 0;
    assert_false(comes(world, CB_GROUND_ASK, 0));
}

static void test_console(void **state)
{
    struct world *world = *state;
    start(world, "linux", "");
    assert_true(comes(world, "Minutes you leave", LONG_MS));
    world->looked = 0;
    assert_false(comes(world, "\033]11", 0));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_in_pieces, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_left_at_once, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_not_asked, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_console, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
