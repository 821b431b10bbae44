/* SPDX-License-Identifier: MIT */
/* A terminal that takes no output (a hung connection) stops nothing but the picture: films that
 * fall due are pinged and logged on time, keys reach the log, SIGTERM ends it; and once it is read
 * again the picture is whole. */
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
#include <sys/wait.h>
#include <termios.h>
#include <unistd.h>

#include <cmocka.h>

#include "shell/store.h"
#include "support/desk.h"
#include "support/events.h"
#include "support/seat.h"

#define LONG_MS  20000 /* nothing here takes so long */
#define LATE_MS  200   /* of a ping behind its film: what is asked of the program */
#define LEAVE_MS 500   /* from SIGTERM to its end: the same */
#define POTS     "minutes at 23 C"
#define BUSY_MS  1000 /* of the processor, in the 8 s or so that the terminal is not read */

struct world {
    struct desk desk;
    struct seat seat;
    struct termios found; /* the terminal's modes before the bench */
};

/* What the log says so far. */
struct told {
    int coats, notes;
    size_t pinged;     /* films */
    int64_t latest_ms; /* of a ping behind its film */
    enum cb_event_kind last;
};

static bool take_event(void *context, const struct cb_event *event)
{
    struct told *told = context;
    told->coats += event->kind == CB_EVENT_COAT_ON;
    told->notes += event->kind == CB_EVENT_NOTE;
    if (event->kind == CB_EVENT_PINGED) {
        int64_t late_ms = event->at_ms - cb_event_int(event, CB_FIELD_DUE_AT, 0);
        for (size_t i = 0; i < event->attr_count; i++) {
            told->pinged += event->attrs[i].field == CB_FIELD_FILMS ? event->attrs[i].n : 0;
        }
        told->latest_ms = late_ms > told->latest_ms ? late_ms : told->latest_ms;
    }
    told->last = event->kind;
    return true;
}

static struct told read_log(const struct world *world)
{
    struct told told = {0};
    struct cb_store *store = NULL;
    const char *path = desk_path(&world->desk, "home/.local/share/coatbell/log.db");
    assert_int_equal(cb_store_open(path, CB_STORE_READ, &store, NULL), CB_OK);
    assert_int_equal(cb_store_each(store, NULL, take_event, &told, NULL), CB_OK);
    cb_store_close(store);
    return told;
}

static void wait_log(const struct world *world, int coats, size_t pinged, int notes)
{
    struct told told;
    int64_t end = desk_now_ms() + LONG_MS;
    do {
        poll(NULL, 0, 20);
        told = read_log(world);
        if (desk_now_ms() > end) {
            fail_msg("not read: the log has %d of %d coats, %zu of %zu pings, %d of %d notes",
                     told.coats, coats, told.pinged, pinged, told.notes, notes);
        }
    } while (told.coats < coats || told.pinged < pinged || told.notes < notes);
}

static void write_file(const struct world *world, const char *name, const char *text)
{
    FILE *file = fopen(desk_path(&world->desk, name), "w");
    assert_non_null(file);
    assert_true(fputs(text, file) >= 0);
    assert_int_equal(fclose(file), 0);
}

static int set_up(void **state)
{
    static const char *const folders[] = {"home", "home/.config", "home/.config/coatbell"};
    struct world *world = calloc(1, sizeof *world);
    *state = world;
    if (!desk_open(&world->desk) || !desk_start_bus(&world->desk) ||
        !desk_start_daemon(&world->desk, "actions body-markup")) {
        return -1;
    }
    for (size_t i = 0; i < sizeof folders / sizeof folders[0]; i++) {
        mkdir(desk_path(&world->desk, folders[i]), 0700);
    }
    write_file(world, "home/.config/coatbell/config.yaml", "ping: every\nconfidence: 50 %\n");
    write_file(world, "quick.yaml",
               "coatbell: 1\nname: Quick watch\nfigures: 99\n"
               "paints:\n  rope: {name: Tarred rope, kind: acrylic}\n"
               "stages:\n  - name: Basecoat\n    technique: basecoat\n"
               "    paint: rope\n    dry: 6 s\n");
    const char *const arguments[] = {
        "begin", desk_path(&world->desk, "quick.yaml"), "--temp", "23", "--rh", "50", NULL};
    if (!seat_start(&world->seat, desk_path(&world->desk, "home"), "vt52", arguments) ||
        tcgetattr(world->seat.pty, &world->found) != 0 ||
        !seat_wait(&world->seat, "Minutes you leave a thin coat", LONG_MS)) {
        return -1;
    }
    seat_press(&world->seat, "\r");
    return seat_wait(&world->seat, "SPACE when", LONG_MS) ? 0 : -1;
}

static int tear_down(void **state)
{
    struct world *world = *state;
    seat_close(&world->seat);
    desk_close(&world->desk);
    free(world);
    return 0;
}

/* Nothing more fits between the program and who does not read. */
static bool is_full(int terminal)
{
    struct pollfd out = {.fd = terminal, .events = POLLOUT};
    return poll(&out, 1, 200) == 0;
}

/* From here on the terminal takes nothing. What fills it is NUL, which no terminal shows; so many
 * bytes. */
static size_t fill(const struct world *world)
{
    static const char nothing[4096];
    size_t filled = 0;
    ssize_t written;
    int fd = open(world->seat.terminal, O_WRONLY | O_NONBLOCK | O_NOCTTY);
    assert_true(fd >= 0);
    while (!is_full(fd)) {
        while ((written = write(fd, nothing, sizeof nothing)) > 0) {
            filled += (size_t)written;
        }
    }
    close(fd);
    return filled;
}

static void check_full(const struct world *world)
{
    int fd = open(world->seat.terminal, O_WRONLY | O_NONBLOCK | O_NOCTTY);
    assert_true(is_full(fd));
    close(fd);
}

/* The program has read all that was pressed, and had time for a picture of it. */
static void wait_taken(const struct world *world)
{
    int waiting = 1;
    int fd = open(world->seat.terminal, O_RDONLY | O_NONBLOCK | O_NOCTTY);
    for (int64_t end = desk_now_ms() + LONG_MS; waiting > 0 && desk_now_ms() < end;) {
        poll(NULL, 0, 3);
        assert_int_equal(ioctl(fd, FIONREAD, &waiting), 0);
    }
    close(fd);
    assert_int_equal(waiting, 0);
}

static long busy_ms(pid_t pid)
{
    char path[64], skipped[512];
    long user = 0, kernel = 0;
    snprintf(path, sizeof path, "/proc/%d/stat", (int)pid);
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    assert_int_equal(fscanf(file, "%511[^)]) %*c %*d %*d %*d %*d %*d %*u %*u %*u %*u %*u %ld %ld",
                            skipped, &user, &kernel),
                     3);
    fclose(file);
    return (user + kernel) * 1000 / sysconf(_SC_CLK_TCK);
}

static void print_screen(const struct vt52 *screen)
{
    for (int row = 0; row < VT52_ROWS; row++) {
        printf("%s|\n", screen->cells[row]);
    }
}

/* Reads in bites of odd sizes, so that the program's writes end wherever they may, within an
 * escape sequence or a character too. So many bytes. */
static size_t nibble(struct world *world, const char *until)
{
    struct dice dice = {52};
    size_t eaten = 0;
    int64_t end = desk_now_ms() + LONG_MS;
    while (!vt52_has(&world->seat.screen, until)) {
        eaten += seat_read(&world->seat, 1 + dice_below(&dice, 97));
        if (dice_below(&dice, 4) == 0) {
            poll(NULL, 0, 1);
        }
        if (desk_now_ms() > end) {
            print_screen(&world->seat.screen);
            fail_msg("the screen never shows: %s", until);
        }
    }
    return eaten;
}

/* The pots, which show no time, look as on a terminal that is drawn to for the first time. */
static void check_whole(struct world *world)
{
    seat_wait(&world->seat, "no such text", 300); /* the rest of the picture */
    struct vt52 was = world->seat.screen;
    vt52_init(&world->seat.screen);
    seat_press(&world->seat, "\f"); /* Ctrl-L */
    int64_t end = desk_now_ms() + LONG_MS / 4;
    while (memcmp(was.cells, world->seat.screen.cells, sizeof was.cells) != 0) {
        seat_wait(&world->seat, "no such text", 20);
        if (desk_now_ms() > end) {
            print_screen(&was);
            print_screen(&world->seat.screen);
            fail_msg("the picture was not whole: as it was, and as drawn anew");
        }
    }
}

static void test_unread(void **state)
{
    enum { COATS = 4, UNSEEN = 60 };
    struct world *world = *state;
    seat_press(&world->seat, " ");
    assert_true(seat_wait(&world->seat, "pop-ups work", LONG_MS));
    int shown = desk_count(&world->desk, " notify ");
    size_t filled = fill(world);
    const long before_ms = busy_ms(world->seat.program);
    for (int coat = 2; coat <= COATS; coat++) {
        seat_press(&world->seat, " ");
        wait_log(world, coat, 0, 0);
    }
    seat_press(&world->seat, "ntyped unseen\r");
    wait_log(world, COATS, COATS, 1);
    check_full(world);
    assert_true(desk_count(&world->desk, " notify ") > shown);
    struct told told = read_log(world);
    assert_in_range(told.latest_ms, 0, LATE_MS);
    assert_in_range(busy_ms(world->seat.program) - before_ms, 0, BUSY_MS);
    for (int i = 0; i < UNSEEN; i++) {
        seat_press(&world->seat, i % 2 == 0 ? "\033OP" : "\t"); /* pictures that nobody sees */
        wait_taken(world);
    }
    seat_press(&world->seat, "nseen all keys\r\t\t");
    wait_log(world, COATS, COATS, 2);
    size_t eaten = nibble(world, POTS);
    assert_in_range(eaten, filled, filled + 8000); /* some two pictures */
    check_whole(world);
    fill(world); /* again, so that whole pictures come in pieces, each on what the last left */
    seat_press(&world->seat, "\033OP");
    nibble(world, "SPACE when");
    fill(world);
    seat_press(&world->seat, "\t\t\t");
    nibble(world, POTS);
    check_whole(world);
    seat_press(&world->seat, "q");
    while (!world->seat.closed) {
        assert_true(seat_wait(&world->seat, "no such text", LONG_MS) || world->seat.closed);
    }
}

static void test_sigterm(void **state)
{
    struct world *world = *state;
    fill(world);
    seat_press(&world->seat, "  ");
    wait_log(world, 2, 0, 0);
    int64_t asked_ms = desk_now_ms();
    kill(world->seat.program, SIGTERM);
    while (!desk_is_gone(world->seat.program)) {
        if (desk_now_ms() - asked_ms > LEAVE_MS) {
            fail_msg("it lives on %d ms after SIGTERM", LEAVE_MS);
        }
        poll(NULL, 0, 1);
    }
    check_full(world);
    assert_int_equal(read_log(world).last, CB_EVENT_SESSION_CLOSED);
    int status;
    assert_int_equal(waitpid(world->seat.program, &status, 0), world->seat.program);
    world->seat.program = 0;
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    struct termios modes;
    assert_int_equal(tcgetattr(world->seat.pty, &modes), 0);
    assert_int_equal(modes.c_lflag, world->found.c_lflag);
    assert_int_equal(modes.c_iflag, world->found.c_iflag);
    assert_int_equal(modes.c_oflag, world->found.c_oflag);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_unread, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_sigterm, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
