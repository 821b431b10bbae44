/* SPDX-License-Identifier: MIT */
/* Whatever becomes of the bell: every ping is on the screen and in the log, keys are taken, and an
 * answer that was given counts once. A bench for each fault, all of them side by side. */
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "shell/store.h"
#include "support/desk.h"
#include "support/seat.h"

#define LONG_MS 60000 /* on a machine with other work */

/* stand_in: a script in the place of the bell. bus: there is one, and a daemon on it. */
static const struct fault {
    const char *name, *stand_in;
    bool runnable, bus;
    size_t found_wet; /* checked events */
} faults[] = {
    {"no-bus", NULL, true, false, 0},
    {"missing", "", false, true, 0},
    {"exits", "exit 1", true, true, 0},
    {"reads-nothing", "exec sleep 100", true, true, 0},
    {"half-a-line", "printf 'here\\t' >&0; exec sleep 100", true, true, 0},
    {"garbage", "exec cat /dev/urandom >&0", true, true, 0},
    {"states", "exec yes \"$(printf 'state\\tok\\nstate\\tno-bus')\" >&0", true, true, 0},
    /* of the first film that is asked about; and of what never was */
    {"buttons",
     "while :; do\n"
     "    read -r word rest || sleep 0.1\n"
     "    case $word in\n"
     "        are-you-there) printf 'here\\t%s\\n' \"$rest\" >&0 ;;\n"
     "        show) exec yes \"$(printf 'button\\t2\\twet\\t1\\nbutton\\t2\\tdry\\t99')\" >&0 ;;\n"
     "    esac\n"
     "    word=\n"
     "done",
     true, true, 1},
};
enum { FAULTS = sizeof faults / sizeof faults[0], COATS = 2 };

static struct desk desk;
static struct seat seats[FAULTS];

static int set_up(void **state)
{
    (void)state;
    return desk_open(&desk) ? 0 : -1;
}

static int tear_down(void **state)
{
    (void)state;
    for (size_t i = 0; i < FAULTS; i++) {
        seat_close(&seats[i]);
    }
    desk_close(&desk);
    return 0;
}

static const char *home_path(size_t i, const char *name)
{
    char path[200];
    snprintf(path, sizeof path, "%s.home%s", faults[i].name, name);
    return desk_path(&desk, path);
}

static void write_text(const char *path, const char *text)
{
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fputs(text, file);
    fclose(file);
}

static void open_bench(size_t i)
{
    static const char *const folders[] = {"", "/.config", "/.config/coatbell"};
    const char *const arguments[] = {
        "begin", desk_path(&desk, "quick.yaml"), "--temp", "23", "--rh", "50", NULL};
    for (size_t k = 0; k < sizeof folders / sizeof folders[0]; k++) {
        mkdir(home_path(i, folders[k]), 0700);
    }
    write_text(home_path(i, "/.config/coatbell/config.yaml"), "ping: every\nconfidence: 50 %\n");
    char *build = getenv("CB_BUILD") != NULL ? strdup(getenv("CB_BUILD")) : NULL;
    char *bus = getenv("DBUS_SESSION_BUS_ADDRESS") != NULL
                    ? strdup(getenv("DBUS_SESSION_BUS_ADDRESS"))
                    : NULL;
    if (faults[i].stand_in != NULL) {
        const char *set =
            desk_install(&desk, faults[i].name, faults[i].stand_in, faults[i].runnable);
        assert_non_null(set);
        setenv("CB_BUILD", set, 1);
    }
    if (!faults[i].bus) {
        unsetenv("DBUS_SESSION_BUS_ADDRESS");
    }
    assert_true(seat_start(&seats[i], home_path(i, ""), "vt52", arguments));
    build != NULL ? setenv("CB_BUILD", build, 1) : unsetenv("CB_BUILD");
    bus != NULL ? setenv("DBUS_SESSION_BUS_ADDRESS", bus, 1) : 0;
    free(build);
    free(bus);
}

/* All of them are read, so that none waits for its terminal. */
static void wait_text(size_t i, const char *text)
{
    const int64_t end = desk_now_ms() + LONG_MS;
    while (!vt52_has(&seats[i].screen, text)) {
        for (size_t k = 0; k < FAULTS; k++) {
            seat_wait(&seats[k], text, k == i ? 20 : 0);
        }
        if (seats[i].closed || desk_now_ms() >= end) {
            fail_msg("%s: the screen never said %s; its first row is %s", faults[i].name, text,
                     seats[i].screen.cells[0]);
        }
    }
}

static bool count_kind(void *context, const struct cb_event *event)
{
    size_t *counts = context;
    counts[event->kind]++;
    return true;
}

/* How many such events are in the log by now. */
static size_t in_log(size_t i, enum cb_event_kind kind)
{
    size_t counts[CB_EVENT_COUNT + 1] = {0};
    struct cb_store *store = NULL;
    struct cb_err err = {0};
    if (cb_store_open(home_path(i, "/.local/share/coatbell/log.db"), CB_STORE_READ, &store, &err) !=
            CB_OK ||
        cb_store_each(store, NULL, count_kind, counts, &err) != CB_OK) {
        fail_msg("%s: %s", faults[i].name, err.text);
    }
    cb_store_close(store);
    return counts[kind];
}

static void wait_log(size_t i, enum cb_event_kind kind, size_t count)
{
    const int64_t end = desk_now_ms() + LONG_MS;
    while (in_log(i, kind) < count) {
        for (size_t k = 0; k < FAULTS; k++) {
            seat_wait(&seats[k], "never on a screen", k == i ? 20 : 0);
        }
        if (seats[i].closed || desk_now_ms() >= end) {
            fail_msg("%s: %zu of %zu events of kind %d", faults[i].name, in_log(i, kind), count,
                     (int)kind);
        }
    }
}

static void test_every_ping_whatever_fails(void **state)
{
    (void)state;
    assert_true(desk_start_bus(&desk) && desk_start_daemon(&desk, "actions body-markup"));
    write_text(
        desk_path(&desk, "quick.yaml"),
        "coatbell: 1\nname: Quick watch\nfigures: 9\n"
        "paints:\n  rope: {name: Tarred rope, kind: acrylic}\n"
        "stages:\n  - name: Basecoat\n    technique: basecoat\n    paint: rope\n    dry: 6 s\n");
    for (size_t i = 0; i < FAULTS; i++) {
        open_bench(i);
    }
    for (size_t i = 0; i < FAULTS; i++) {
        wait_text(i, "Minutes you leave a thin coat");
        seat_press(&seats[i], "\r");
        wait_text(i, "SPACE when");
        seat_press(&seats[i], " ");
        wait_log(i, CB_EVENT_COAT_ON,
                 1); /* its line may make room at once for what the bell does */
    }
    for (size_t i = 0; i < FAULTS; i++) {
        wait_log(i, CB_EVENT_PINGED, 1);
        if (faults[i].found_wet > 0) {
            wait_log(i, CB_EVENT_CHECKED,
                     faults[i].found_wet); /* an answer takes the banner away */
        } else {
            wait_text(i, "Tarred rope: figure 1 "); /* the banner: nothing else has rung */
        }
        seat_press(&seats[i], " ");
        wait_log(i, CB_EVENT_COAT_ON, 2);
    }
    for (size_t i = 0; i < FAULTS; i++) {
        wait_log(i, CB_EVENT_PINGED, COATS);
        seat_press(&seats[i], "nstill here\r");
        wait_log(i, CB_EVENT_NOTE, 1);
        assert_int_equal(in_log(i, CB_EVENT_COAT_ON), COATS);
        if (in_log(i, CB_EVENT_CHECKED) != faults[i].found_wet) {
            fail_msg("%s: answered %zu times", faults[i].name, in_log(i, CB_EVENT_CHECKED));
        }
    }
    assert_int_equal(desk_count(&desk, " notify "), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_every_ping_whatever_fails, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
