/* SPDX-License-Identifier: MIT */
/* A terminal that goes where nobody says so, is stopped again and again, also while it takes no
 * output, and is of any size while keys come: what was pressed is in the log, the program ends when
 * its terminal has, and uses no processor to speak of meanwhile. Runs alone. */
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
#include <sys/resource.h>
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
#define LEAVE_MS 1000  /* from the end of its terminal to its own: own judgement */
#define BUSY_MS  1000  /* of the processor, in all of a run but the resizing */
#define SIZES    250

struct world {
    struct desk desk;
    struct seat seat;
    struct termios found;
    pid_t job; /* of a shell on the seat; 0: none */
};

struct told {
    int coats;
    enum cb_event_kind last;
};

static bool take_event(void *context, const struct cb_event *event)
{
    struct told *told = context;
    told->coats += event->kind == CB_EVENT_COAT_ON;
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

static void wait_coats(const struct world *world, int coats)
{
    for (int64_t end = desk_now_ms() + LONG_MS; read_log(world).coats < coats;) {
        assert_true(desk_now_ms() < end);
        poll(NULL, 0, 10);
    }
}

static int set_up(void **state)
{
    static const char recipe[] =
        "coatbell: 1\nname: Long watch\nfigures: 99\n"
        "paints:\n  rope: {name: Tarred rope, kind: acrylic}\n"
        "stages:\n  - {name: Basecoat, technique: basecoat, paint: rope}\n";
    static const char *const folders[] = {"home", "home/.config", "home/.config/coatbell"};
    struct world *world = calloc(1, sizeof *world);
    *state = world;
    if (!desk_open(&world->desk)) {
        return -1;
    }
    for (size_t i = 0; i < sizeof folders / sizeof folders[0]; i++) {
        mkdir(desk_path(&world->desk, folders[i]), 0700);
    }
    FILE *file = fopen(desk_path(&world->desk, "long.yaml"), "w");
    assert_non_null(file);
    assert_true(fputs(recipe, file) >= 0);
    assert_int_equal(fclose(file), 0);
    return 0;
}

static int tear_down(void **state)
{
    struct world *world = *state;
    if (world->job > 0 && !desk_is_gone(world->job)) {
        kill(world->job, SIGKILL);
    }
    seat_close(&world->seat);
    desk_close(&world->desk);
    free(world);
    return 0;
}

static void sit_down(struct world *world)
{
    const char *const arguments[] = {
        "begin", desk_path(&world->desk, "long.yaml"), "--temp", "23", "--rh", "50", NULL};
    assert_true(seat_start(&world->seat, desk_path(&world->desk, "home"), "vt52", arguments));
    assert_int_equal(tcgetattr(world->seat.pty, &world->found), 0);
    assert_true(seat_wait(&world->seat, "Minutes you leave a thin coat", LONG_MS));
    seat_press(&world->seat, "\r");
    assert_true(seat_wait(&world->seat, "SPACE when", LONG_MS));
}

/* How it ended; and it was not busy for long. */
static int end_of(struct world *world, int most_ms)
{
    int status = 0;
    struct rusage used;
    pid_t ended = 0;
    for (int64_t end = desk_now_ms() + most_ms; ended == 0 && desk_now_ms() < end;) {
        seat_wait(&world->seat, "no such text", 5);
        poll(NULL, 0, 5);
        ended = wait4(world->seat.program, &status, WNOHANG, &used);
    }
    if (ended == 0) {
        fail_msg("it lives on after %d ms", most_ms);
    }
    world->seat.program = 0;
    assert_in_range(used.ru_utime.tv_sec * 1000 + used.ru_utime.tv_usec / 1000, 0, BUSY_MS);
    return status;
}

/* A shell with jobs on the seat; what is typed there is what a painter types. */
static void sit_at_a_shell(struct world *world)
{
    struct seat *seat = &world->seat;
    *seat = (struct seat){.pty = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC)};
    const struct winsize size = {.ws_row = VT52_ROWS, .ws_col = VT52_COLUMNS};
    assert_true(seat->pty >= 0 && grantpt(seat->pty) == 0 && unlockpt(seat->pty) == 0);
    assert_int_equal(ptsname_r(seat->pty, seat->terminal, sizeof seat->terminal), 0);
    assert_int_equal(ioctl(seat->pty, TIOCSWINSZ, &size), 0);
    assert_int_equal(fcntl(seat->pty, F_SETFL, O_RDWR | O_NONBLOCK), 0);
    vt52_init(&seat->screen);
    fflush(stdout);
    seat->program = fork();
    if (seat->program == 0) {
        setenv("HOME", desk_path(&world->desk, "home"), 1);
        setenv("TERM", "vt52", 1);
        setenv("PS1", "shell> ", 1);
        setsid();
        const int fd = open(seat->terminal, O_RDWR);
        ioctl(fd, TIOCSCTTY, 0);
        dup2(fd, 0);
        dup2(fd, 1);
        dup2(fd, 2);
        execlp("bash", "bash", "--norc", "--noprofile", "--noediting", "-i", (char *)NULL);
        _exit(127);
    }
    assert_true(seat_wait(seat, "shell>", LONG_MS));
}

/* The one child of that shell, proc(5). */
static pid_t job_of(pid_t shell)
{
    char path[64];
    int job = 0;
    snprintf(path, sizeof path, "/proc/%d/task/%d/children", (int)shell, (int)shell);
    FILE *file = fopen(path, "r");
    if (file == NULL || fscanf(file, "%d", &job) != 1) {
        job = 0;
    }
    if (file != NULL) {
        fclose(file);
    }
    return job;
}

static void open_from_shell(struct world *world)
{
    char line[1200], program[SEAT_PATH_SIZE];
    seat_program(program);
    snprintf(line, sizeof line, "%s begin %s --temp 23 --rh 50\r", program,
             desk_path(&world->desk, "long.yaml"));
    seat_press(&world->seat, line);
    assert_true(seat_wait(&world->seat, "Minutes you leave a thin coat", LONG_MS));
    seat_press(&world->seat, "\r");
    assert_true(seat_wait(&world->seat, "SPACE when", LONG_MS));
    world->job = job_of(world->seat.program);
    assert_true(world->job > 0);
}

/* A connection that breaks without a word: the shell in front ignores SIGHUP, so that its jobs get
 * none, and all there is to see is that the terminal hung up. */
static void hang_up_untold(void **state)
{
    struct world *world = *state;
    sit_at_a_shell(world);
    seat_press(&world->seat, "trap '' HUP\r");
    open_from_shell(world);
    seat_press(&world->seat, "   ");
    wait_coats(world, 3);
    close(world->seat.pty);
    world->seat.pty = open("/dev/null", O_RDWR | O_CLOEXEC);
    (void)end_of(world, LEAVE_MS);
    assert_true(desk_is_gone(world->job));
    assert_int_equal(read_log(world).coats, 3);
    assert_int_equal(read_log(world).last, CB_EVENT_SESSION_CLOSED);
}

/* Ignored or not (nohup), SIGHUP is heard. */
static void hang_up_ignored(void **state)
{
    struct world *world = *state;
    signal(SIGHUP, SIG_IGN); /* inherited */
    sit_down(world);
    signal(SIGHUP, SIG_DFL);
    seat_press(&world->seat, "   ");
    wait_coats(world, 3);
    close(world->seat.pty);
    world->seat.pty = open("/dev/null", O_RDWR | O_CLOEXEC);
    const int status = end_of(world, LEAVE_MS);
    assert_true(WIFEXITED(status));
    assert_int_equal(WEXITSTATUS(status), 0);
    assert_int_equal(read_log(world).coats, 3);
    assert_int_equal(read_log(world).last, CB_EVENT_SESSION_CLOSED);
}

/* The same with keys that it has not read yet, and with a picture nobody takes. */
static void hang_up_among_keys(void **state)
{
    struct world *world = *state;
    sit_down(world);
    seat_press(&world->seat, "  ");
    wait_coats(world, 2);
    kill(world->seat.program, SIGSTOP);
    seat_press(&world->seat, "   \t\t\t\t");
    close(world->seat.pty);
    world->seat.pty = open("/dev/null", O_RDWR | O_CLOEXEC);
    kill(world->seat.program, SIGCONT);
    const int status = end_of(world, LEAVE_MS);
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    assert_in_range(read_log(world).coats, 2, 5);
    assert_int_equal(read_log(world).last, CB_EVENT_SESSION_CLOSED);
}

/* Each way in which a signal ends it: what was acknowledged is there, the modes are back. */
static void ended_by_a_signal(void **state)
{
    static const struct {
        int number;
        bool crash; /* and so ends by that very signal */
    } ways[] = {{SIGTERM, false}, {SIGINT, false}, {SIGQUIT, false},
                {SIGHUP, false},  {SIGSEGV, true}, {SIGBUS, true},
                {SIGFPE, true},   {SIGILL, true},  {SIGABRT, true}};
    struct world *world = *state;
    const struct rlimit no_core = {0, 0};
    setrlimit(RLIMIT_CORE, &no_core);
    for (size_t i = 0; i < sizeof ways / sizeof ways[0]; i++) {
        (void)remove(desk_path(&world->desk, "home/.local/share/coatbell/log.db"));
        (void)remove(desk_path(&world->desk, "home/.local/share/coatbell/log.db-wal"));
        (void)remove(desk_path(&world->desk, "home/.local/share/coatbell/log.db-shm"));
        sit_down(world);
        seat_press(&world->seat, "  ");
        assert_true(seat_wait(&world->seat, "rope on 2 at", LONG_MS)); /* acknowledged */
        kill(world->seat.program, ways[i].number);
        const int status = end_of(world, LEAVE_MS);
        if (ways[i].crash) {
            assert_true(WIFSIGNALED(status));
            assert_int_equal(WTERMSIG(status), ways[i].number);
        } else {
            assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
            assert_int_equal(read_log(world).last, CB_EVENT_SESSION_CLOSED);
        }
        assert_int_equal(read_log(world).coats, 2);
        struct termios modes;
        assert_int_equal(tcgetattr(world->seat.pty, &modes), 0);
        assert_int_equal(modes.c_lflag, world->found.c_lflag);
        assert_int_equal(modes.c_iflag, world->found.c_iflag);
        assert_int_equal(modes.c_oflag, world->found.c_oflag);
        seat_close(&world->seat);
    }
}

/* Any size, 1x1 among them, between any keys that write nothing but coats. */
static void resized_among_keys(void **state)
{
    static const char *const keys[] = {" ", "\t", "\033A", "\033B", "?", "g", "\033OP", "?", " "};
    struct world *world = *state;
    struct dice dice = {20260105};
    sit_down(world);
    for (int i = 0; i < SIZES; i++) {
        const bool dot = dice_below(&dice, 3) == 0;
        const struct winsize size = {
            .ws_row = (unsigned short)(dot ? 1 : 1 + dice_below(&dice, 70)),
            .ws_col = (unsigned short)(dot ? 1 : 1 + dice_below(&dice, 250))};
        assert_int_equal(ioctl(world->seat.pty, TIOCSWINSZ, &size), 0);
        seat_press(&world->seat, keys[dice_below(&dice, sizeof keys / sizeof keys[0])]);
        if (dice_below(&dice, 2) == 0) {
            seat_wait(&world->seat, "no such text", 5);
        }
        assert_false(world->seat.closed);
    }
    const struct winsize last = {.ws_row = VT52_ROWS, .ws_col = VT52_COLUMNS};
    assert_int_equal(ioctl(world->seat.pty, TIOCSWINSZ, &last), 0);
    seat_wait(&world->seat, "no such text", 200);
    const int before = read_log(world).coats;
    seat_press(&world->seat, "\033\033OP"); /* out of whatever is open, to the bench */
    seat_wait(&world->seat, "no such text", 600);
    vt52_init(&world->seat.screen);
    seat_press(&world->seat, "\f");
    assert_true(seat_wait(&world->seat, "SPACE when", LONG_MS));
    seat_press(&world->seat, " ");
    wait_coats(world, before + 1);
    seat_press(&world->seat, "q");
    int status;
    while (!world->seat.closed) {
        seat_wait(&world->seat, "no such text", 20);
    }
    assert_int_equal(waitpid(world->seat.program, &status, 0), world->seat.program);
    world->seat.program = 0;
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
}

static void wait_stopped(pid_t pid)
{
    char path[64], state = '?';
    snprintf(path, sizeof path, "/proc/%d/stat", (int)pid);
    for (int64_t end = desk_now_ms() + LEAVE_MS; state != 'T' && desk_now_ms() < end;) {
        FILE *file = fopen(path, "r");
        assert_non_null(file);
        assert_int_equal(fscanf(file, "%*d %*[^)]) %c", &state), 1);
        fclose(file);
        poll(NULL, 0, 5);
    }
    assert_int_equal(state, 'T');
}

/* What fills it is NUL, which no terminal shows. */
static void fill(const struct world *world)
{
    static const char nothing[4096];
    const int fd = open(world->seat.terminal, O_WRONLY | O_NONBLOCK | O_NOCTTY);
    struct pollfd out = {.fd = fd, .events = POLLOUT};
    assert_true(fd >= 0);
    while (poll(&out, 1, 200) > 0) {
        while (write(fd, nothing, sizeof nothing) > 0) {
        }
    }
    close(fd);
}

static void again(struct world *world)
{
    assert_true(seat_wait(&world->seat, "Stopped", LONG_MS));
    vt52_init(&world->seat.screen);
    seat_press(&world->seat, "fg\r");
    assert_true(seat_wait(&world->seat, "SPACE when", LONG_MS));
}

static void stopped_and_woken(void **state)
{
    struct world *world = *state;
    sit_at_a_shell(world);
    open_from_shell(world);
    const pid_t job = world->job;

    seat_press(&world->seat, " ");
    wait_coats(world, 1);
    seat_press(&world->seat, "\032\032"); /* Ctrl-Z twice at once, and again when it is back */
    wait_stopped(job);
    again(world);
    seat_press(&world->seat, "\032");
    wait_stopped(job);
    again(world);

    seat_wait(&world->seat, "no such text", 100);
    fill(world); /* it can't even say goodbye */
    seat_press(&world->seat, " ");
    wait_coats(world, 2);
    seat_press(&world->seat, "\032");
    wait_stopped(job);
    again(world);
    seat_press(&world->seat, " ");
    wait_coats(world, 3);
    assert_true(seat_wait(&world->seat, "rope on 3 at", LONG_MS));
    seat_press(&world->seat, "q");
    assert_true(seat_wait(&world->seat, "shell>", LONG_MS));
    assert_int_equal(read_log(world).last, CB_EVENT_SESSION_CLOSED);
    seat_press(&world->seat, "exit\r");
    (void)end_of(world, LONG_MS);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(hang_up_untold, set_up, tear_down),
        cmocka_unit_test_setup_teardown(hang_up_ignored, set_up, tear_down),
        cmocka_unit_test_setup_teardown(hang_up_among_keys, set_up, tear_down),
        cmocka_unit_test_setup_teardown(ended_by_a_signal, set_up, tear_down),
        cmocka_unit_test_setup_teardown(stopped_and_woken, set_up, tear_down),
        cmocka_unit_test_setup_teardown(resized_among_keys, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
