/* SPDX-License-Identifier: MIT */
/*
 * How long the screen stands while what shows notifications fails. The real bench runs on a
 * pseudo-terminal, coats fall due every few seconds, and every write is stamped; each second that
 * had to appear is compared with the moment it was due, which the log knows to the millisecond.
 * Keys are measured too: from the press of SPACE, which stores a coat, until the screen says that
 * it is on. First everything runs, and once without a bell: so much is not the bell's doing. Then
 * each fault comes twice, the first time just before the first ping. Keys and pings wait for the
 * disk, and nothing else: so what the disk takes for a page of our own is measured beside it. With
 * TMPDIR=/dev/shm there is no disk. Arguments: seconds of each fault (5), and a part of the names
 * of the faults to measure (all).
 */
#include <fcntl.h>
#include <math.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "base/err.h"
#include "base/str.h"
#include "base/vec.h"
#include "shell/store.h"
#include "support/desk.h"
#include "support/seat.h"

#define STAGGER_MS  2700 /* between two coats, and so between two pings; no whole seconds */
#define COATS_MAX   95   /* in one run */
#define RUNNING_MS  6000 /* between the two stops */
#define TAIL_MS     4000 /* after the second */
#define DISK_MS     500  /* between two tries of the disk */
#define BEAT_MS     100  /* of this program, to see how late it is woken itself */
#define EARLY_MS    3    /* two clocks are compared, one of them in whole ms */
#define STALL_MS    50   /* what no tick may be late by */
#define PATIENCE_MS 15000

enum who {
    NOBODY,
    BELL_OFF,
    DAEMON_STOPPED,
    DAEMON_KILLED,
    DAEMON_LATE,
    DAEMON_ABSENT,
    BUS_STOPPED,
    BUS_KILLED,
    BUS_ABSENT,
    BELL_STOPPED,
    BELL_KILLED,
    BELL_DYING,
    BELL_EXITS,
    BELL_READS_NOTHING,
    BELL_HALF_A_LINE,
    BELL_GARBAGE,
    BELL_STATES,
    BELL_BUTTONS,
    BELL_MISSING,
    WHO_COUNT
};

/* stand_in: a shell script in the place of the bell. */
static const struct {
    const char *name, *stand_in;
} faults[] = {
    {"everything runs", NULL},
    {"bell off", NULL},
    {"daemon stopped", NULL},
    {"daemon killed", NULL},
    {"daemon late", NULL},
    {"no daemon", NULL},
    {"bus stopped", NULL},
    {"bus killed", NULL},
    {"no bus", NULL},
    {"bell stopped", NULL},
    {"bell killed", NULL},
    {"bell killed often", NULL},
    {"bell exits", "exit 1"},
    {"bell reads nothing", "exec sleep 1000"},
    {"bell: half a line", "printf 'here\\t' >&0; exec sleep 1000"},
    {"bell: garbage", "while :; do cat /dev/urandom >&0; done"},
    {"bell: states", "while :; do yes \"$(printf 'state\\tok\\nstate\\tno-bus')\" >&0; done"},
    {"bell: buttons", "while :; do yes \"$(printf 'button\\t2\\twet\\t1')\" >&0; done"},
    {"bell missing", ""},
};
_Static_assert(sizeof faults / sizeof faults[0] == WHO_COUNT, "each has its name");

/* What the headline said after a write; -1: no number. */
struct seen {
    double at_ms; /* CLOCK_REALTIME, as the bench's own deadlines are */
    int left_s;
};

struct run {
    enum who who;
    double stop_ms; /* of each of the two stops */
    struct desk desk;
    struct seat seat;
    pid_t stopped;   /* 0: nobody */
    bool fails;      /* one of the two is on */
    double begin_ms; /* what is measured begins, CLOCK_REALTIME */
    CB_VEC(struct seen) seen;
    CB_VEC(double) dues; /* of the pings, in order, CLOCK_REALTIME */
    int coats;           /* put on so far */
    double pressed_ms;   /* the last of them, while the screen does not say it; else 0 */
    CB_VEC(double) keys_ms;
    pid_t disk;  /* the process that tries the disk; 0: none */
    int disk_fd; /* what it found comes here, a double each time */
    CB_VEC(double) disk_ms;
    double own_worst_ms; /* by which this program was woken late */
    double leaving_ms;
    bool was_ready, said_silent, left_behind;
};

struct tick_stats {
    int count, stalls;
    double median_ms, worst_ms, worst_at_ping_ms, best_ms, worst_gap_ms;
};

static double clock_ms(clockid_t clock)
{
    struct timespec now;
    clock_gettime(clock, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec / 1e6;
}

static double now_ms(void)
{
    return clock_ms(CLOCK_MONOTONIC);
}

/* Monotonic stamps are moved to the wall clock of the log: whoever sets it spoils a run. */
static double wall_ahead_ms(void)
{
    return clock_ms(CLOCK_REALTIME) - now_ms();
}

static void take(struct run *run, double at_ms)
{
    if (seat_read(&run->seat, SIZE_MAX) == 0) {
        return;
    }
    struct seen seen = {.at_ms = at_ms + wall_ahead_ms(),
                        .left_s = vt52_number(&run->seat.screen, "next dry in")};
    cb_vec_push(&run->seen, seen);
    char on[32];
    snprintf(on, sizeof on, "rope on %d at", run->coats);
    if (run->pressed_ms > 0 && vt52_has(&run->seat.screen, on)) {
        cb_vec_push(&run->keys_ms, at_ms - run->pressed_ms);
        run->pressed_ms = 0;
    }
    run->said_silent =
        run->said_silent || (run->fails && vt52_has(&run->seat.screen, "pop-ups do not answer"));
}

/* Reads what the bench writes until that moment, CLOCK_MONOTONIC. */
static void pump(struct run *run, double until_ms)
{
    for (double now; !run->seat.closed && (now = now_ms()) < until_ms;) {
        double left_ms = until_ms - now < BEAT_MS ? until_ms - now : BEAT_MS;
        struct timespec wait = {.tv_nsec = (long)(left_ms * 1e6)};
        struct pollfd fd = {.fd = run->seat.pty, .events = POLLIN};
        int ready = ppoll(&fd, 1, &wait, NULL);
        double at_ms = now_ms();
        if (ready > 0) {
            take(run, at_ms);
        } else if (at_ms - now - left_ms > run->own_worst_ms) {
            run->own_worst_ms = at_ms - now - left_ms;
        }
    }
}

static bool wait_text(struct run *run, const char *text)
{
    double end_ms = now_ms() + PATIENCE_MS;
    while (!vt52_has(&run->seat.screen, text) && !run->seat.closed && now_ms() < end_ms) {
        pump(run, now_ms() + 10);
    }
    return vt52_has(&run->seat.screen, text);
}

/* A key that never comes to the screen before the next counts as what it took until then. */
static void put_on(struct run *run)
{
    if (run->pressed_ms > 0) {
        cb_vec_push(&run->keys_ms, now_ms() - run->pressed_ms);
    }
    run->coats++;
    run->pressed_ms = now_ms();
    seat_press(&run->seat, " ");
}

static bool write_file(const struct run *run, const char *name, const char *text)
{
    FILE *file = fopen(desk_path(&run->desk, name), "w");
    return file != NULL && fputs(text, file) >= 0 && fclose(file) == 0;
}

static bool make_home(const struct run *run)
{
    static const char *const folders[] = {"home", "home/.config", "home/.config/coatbell"};
    for (size_t i = 0; i < sizeof folders / sizeof folders[0]; i++) {
        mkdir(desk_path(&run->desk, folders[i]), 0700);
    }
    return write_file(run, "home/.config/coatbell/config.yaml",
                      run->who == BELL_OFF ? "bell: no\nping: every\nconfidence: 50 %\n"
                                           : "ping: every\nconfidence: 50 %\n") &&
           write_file(run, "quick.yaml",
                      "coatbell: 1\nname: Quick watch\nfigures: 99\n"
                      "paints:\n  rope: {name: Tarred rope, kind: acrylic}\n"
                      "stages:\n  - name: Basecoat\n    technique: basecoat\n"
                      "    paint: rope\n    dry: 6 s\n");
}

static bool start_bench(struct run *run)
{
    const char *const arguments[] = {
        "begin", desk_path(&run->desk, "quick.yaml"), "--temp", "23", "--rh", "50", NULL};
    if (!seat_start(&run->seat, desk_path(&run->desk, "home"), "vt52", arguments) ||
        !wait_text(run, "Minutes you leave a thin coat")) {
        return false;
    }
    seat_press(&run->seat, "\r");
    return wait_text(run, "SPACE when");
}

static void be_the_disk(const char *path, int out)
{
    static const char page[4096]; /* what SQLite writes at a time */
    int fd = open(path, O_WRONLY | O_CREAT | O_APPEND, 0600);
    for (;;) {
        double from_ms = now_ms();
        if (write(fd, page, sizeof page) != (ssize_t)sizeof page || fdatasync(fd) != 0) {
            _exit(1);
        }
        double took_ms = now_ms() - from_ms;
        if (write(out, &took_ms, sizeof took_ms) != (ssize_t)sizeof took_ms) {
            _exit(1);
        }
        poll(NULL, 0, DISK_MS);
    }
}

static void start_disk(struct run *run)
{
    int ends[2];
    if (pipe2(ends, O_CLOEXEC | O_NONBLOCK) != 0) {
        return;
    }
    run->disk_fd = ends[0];
    run->disk = fork();
    if (run->disk == 0) {
        be_the_disk(desk_path(&run->desk, "page"), ends[1]);
    }
    close(ends[1]);
}

static void end_disk(struct run *run)
{
    if (run->disk > 0) {
        desk_stop(&run->disk);
        double took_ms;
        while (read(run->disk_fd, &took_ms, sizeof took_ms) == (ssize_t)sizeof took_ms) {
            cb_vec_push(&run->disk_ms, took_ms);
        }
        close(run->disk_fd);
    }
}

static void stop_it(struct run *run)
{
    run->fails = true;
    switch (run->who) {
    case DAEMON_STOPPED:
        run->stopped = run->desk.daemon;
        break;
    case BUS_STOPPED:
        run->stopped = run->desk.bus;
        break;
    case BELL_STOPPED:
        run->stopped = desk_bell_of(run->seat.program);
        break;
    case DAEMON_KILLED:
        desk_stop(&run->desk.daemon);
        break;
    case DAEMON_LATE:
        fputs("late 3000\n", run->desk.daemon_in);
        fflush(run->desk.daemon_in);
        break;
    case BUS_KILLED:
        desk_stop(&run->desk.bus);
        break;
    case BELL_KILLED:
    case BELL_DYING: {
        pid_t bell = desk_bell_of(run->seat.program);
        if (bell > 0) {
            kill(bell, SIGKILL);
        }
        break;
    }
    case NOBODY:
    case BELL_OFF:
    case DAEMON_ABSENT:
    case BUS_ABSENT:
    case BELL_EXITS:
    case BELL_READS_NOTHING:
    case BELL_HALF_A_LINE:
    case BELL_GARBAGE:
    case BELL_STATES:
    case BELL_BUTTONS:
    case BELL_MISSING:
    case WHO_COUNT:
        break;
    }
    if (run->stopped > 0) {
        kill(run->stopped, SIGSTOP);
    }
}

static void resume_it(struct run *run)
{
    if (run->stopped > 0) {
        kill(run->stopped, SIGCONT); /* a bell may have been replaced: then nobody hears it */
    }
    if (run->who == DAEMON_KILLED) {
        desk_spawn_daemon(&run->desk, "actions body-markup");
    }
    if (run->who == DAEMON_LATE) {
        fputs("late 0\n", run->desk.daemon_in);
        fflush(run->desk.daemon_in);
    }
    run->stopped = 0;
    run->fails = false;
}

/* The first coat goes on; when will it be due? CLOCK_MONOTONIC, to the second. 0: it never said. */
static double first_due_ms(struct run *run)
{
    put_on(run);
    if (!wait_text(run, "next dry in")) {
        return 0;
    }
    const bool works = faults[run->who].stand_in == NULL && run->who != BELL_OFF &&
                       run->who != DAEMON_ABSENT && run->who != BUS_ABSENT;
    if (works && !wait_text(run, "pop-ups work")) {
        return 0;
    }
    run->was_ready = works;
    int left_s;
    double end_ms = now_ms() + PATIENCE_MS;
    while ((left_s = vt52_number(&run->seat.screen, "next dry in")) < 0 && now_ms() < end_ms) {
        pump(run, now_ms() + 1); /* the words were written, and not yet the number */
    }
    return left_s > 2 ? now_ms() + left_s * 1e3 : 0;
}

/* Coats go on, one every few seconds, and it is stopped and goes on as planned. */
static bool paint(struct run *run)
{
    double due_ms = first_due_ms(run);
    const double turns_ms[] = {due_ms - 1000, due_ms - 1000 + run->stop_ms,
                               due_ms - 1000 + run->stop_ms + RUNNING_MS,
                               due_ms - 1000 + 2 * run->stop_ms + RUNNING_MS};
    enum { TURNS = 4 };
    const double end_ms = turns_ms[TURNS - 1] + TAIL_MS;
    double stagger_ms = (end_ms - now_ms()) / COATS_MAX;
    stagger_ms = stagger_ms > STAGGER_MS ? stagger_ms : STAGGER_MS;
    double next_press_ms = now_ms() + stagger_ms;
    int turn = 0;
    while (due_ms > 0 && !run->seat.closed && now_ms() < end_ms) {
        double next_ms =
            turn < TURNS && turns_ms[turn] < next_press_ms ? turns_ms[turn] : next_press_ms;
        pump(run, next_ms < now_ms() + BEAT_MS ? next_ms : now_ms() + BEAT_MS);
        if (now_ms() >= next_press_ms) {
            put_on(run);
            next_press_ms += stagger_ms;
        }
        if (turn < TURNS && now_ms() >= turns_ms[turn]) {
            run->begin_ms = turn == 0 ? now_ms() + wall_ahead_ms() : run->begin_ms;
            turn % 2 == 0 ? stop_it(run) : resume_it(run);
            turn++;
        }
        if (turn == TURNS - 1 &&
            (run->who == BELL_DYING || (run->who == BELL_STOPPED && desk_is_gone(run->stopped)))) {
            stop_it(run); /* the second time, whoever replaces it too */
        }
    }
    return turn == TURNS;
}

static void leave(struct run *run)
{
    pid_t bell = desk_bell_of(run->seat.program);
    double asked_ms = now_ms();
    seat_press(&run->seat, "q");
    while (!run->seat.closed && now_ms() < asked_ms + PATIENCE_MS) {
        pump(run, now_ms() + 10);
    }
    waitpid(run->seat.program, NULL, 0);
    run->seat.program = 0;
    run->leaving_ms = now_ms() - asked_ms;
    double end_ms = now_ms() + 2000;
    while (bell > 0 && !desk_is_gone(bell) && now_ms() < end_ms) {
        pump(run, now_ms() + 10);
    }
    run->left_behind = bell > 0 && !desk_is_gone(bell);
}

static bool take_due(void *context, const struct cb_event *event)
{
    struct run *run = context;
    if (event->kind == CB_EVENT_PINGED) {
        cb_vec_push(&run->dues, (double)cb_event_int(event, CB_FIELD_DUE_AT, 0));
    }
    return true;
}

static enum cb_status read_dues(struct run *run, struct cb_err *err)
{
    struct cb_store *store = NULL;
    const char *path = desk_path(&run->desk, "home/.local/share/coatbell/log.db");
    enum cb_status status = cb_store_open(path, CB_STORE_READ, &store, err);
    if (status == CB_OK) {
        status = cb_store_each(store, NULL, take_due, run, err);
    }
    cb_store_close(store);
    return status;
}

/* What the headline has to say at that moment: the film that is due next counts. */
static int wanted_at(const struct run *run, double at_ms)
{
    for (size_t i = 0; i < run->dues.count; i++) {
        if (run->dues.items[i] > at_ms) {
            return (int)ceil((run->dues.items[i] - at_ms) / 1e3);
        }
    }
    return -1;
}

/* By how much the second that was due at that moment came late. */
static double late_by(const struct run *run, double due_ms)
{
    const int wanted = wanted_at(run, due_ms + 0.5);
    for (size_t i = 0; i < run->seen.count; i++) {
        const struct seen *seen = &run->seen.items[i];
        if (seen->at_ms >= due_ms - EARLY_MS &&
            (seen->left_s == wanted || seen->left_s == wanted_at(run, seen->at_ms))) {
            return seen->at_ms - due_ms;
        }
    }
    return NAN; /* it never came: counts as the worst there is */
}

static int by_size(const void *left, const void *right)
{
    double a = *(const double *)left;
    double b = *(const double *)right;
    return (a > b) - (a < b);
}

static void add_tick(struct tick_stats *stats, double *lates, double late_ms, double before_ms,
                     bool at_ping)
{
    late_ms = isnan(late_ms) ? 1e6 : late_ms;
    lates[stats->count++] = late_ms;
    stats->stalls += late_ms > STALL_MS;
    if (!isnan(before_ms)) {
        stats->worst_gap_ms = fmax(stats->worst_gap_ms, late_ms - before_ms);
    }
    if (at_ping) {
        stats->worst_at_ping_ms = fmax(stats->worst_at_ping_ms, late_ms);
    }
}

/* Each second of each film from the moment it is the next, and the moment it falls due. */
static struct tick_stats ticks(const struct run *run)
{
    enum { TICKS_MAX = 20000 };
    static double lates[TICKS_MAX];
    struct tick_stats stats = {0};
    for (size_t i = 0; i < run->dues.count; i++) {
        double due_ms = run->dues.items[i];
        double from_ms = i > 0 && run->dues.items[i - 1] > run->begin_ms ? run->dues.items[i - 1]
                                                                         : run->begin_ms;
        double before_ms = NAN;
        int first_s = (int)ceil((due_ms - from_ms) / 1e3) - 1;
        for (int left_s = first_s; left_s >= 1 && stats.count < TICKS_MAX - 1; left_s--) {
            double late_ms = late_by(run, due_ms - left_s * 1e3);
            add_tick(&stats, lates, late_ms, before_ms, false);
            before_ms = late_ms;
        }
        if (i + 1 < run->dues.count && due_ms > run->begin_ms) {
            add_tick(&stats, lates, late_by(run, due_ms), before_ms, true);
        }
    }
    qsort(lates, (size_t)stats.count, sizeof *lates, by_size);
    if (stats.count > 0) {
        stats.median_ms = lates[stats.count / 2];
        stats.best_ms = lates[0];
        stats.worst_ms = lates[stats.count - 1];
    }
    return stats;
}

static void report_waits(const char *what, double *waits_ms, size_t count)
{
    int stalls = 0;
    qsort(waits_ms, count, sizeof *waits_ms, by_size);
    for (size_t i = 0; i < count; i++) {
        stalls += waits_ms[i] > STALL_MS;
    }
    printf("%s %zu, median %.1f, worst %.1f ms, over 50: %d", what, count,
           count > 0 ? waits_ms[count / 2] : NAN, count > 0 ? waits_ms[count - 1] : NAN, stalls);
}

static void report(const struct run *run, const struct tick_stats *stats,
                   const struct tick_stats *running)
{
    printf("%-18s %5d %8.1f %8.1f %8.1f %8.1f %8.1f %7d %8.1f", faults[run->who].name, stats->count,
           stats->median_ms, stats->worst_ms, stats->worst_at_ping_ms,
           stats->worst_ms - stats->best_ms, stats->worst_gap_ms, stats->stalls, run->own_worst_ms);
    if (run->who != NOBODY) {
        printf("   %.2f %.2f", stats->median_ms / running->median_ms,
               stats->worst_ms / running->worst_ms);
    }
    printf("\n%18s coats %d, pings %zu; pop-ups opened %d, brought up to date %d; %s%sleft in %.0f "
           "ms%s\n",
           "", run->coats, run->dues.count, desk_count(&run->desk, " replaces=0 "),
           desk_count(&run->desk, " notify ") - desk_count(&run->desk, " replaces=0 "),
           run->was_ready ? "" : "pop-ups never worked; ",
           run->said_silent ? "said \"pop-ups do not answer\"; " : "", run->leaving_ms,
           run->left_behind ? "; A BELL IS LEFT" : "");
}

static enum cb_status measure(struct run *run, struct tick_stats *stats, struct cb_err *err)
{
    if (!desk_open(&run->desk) || !make_home(run) ||
        (run->who != BUS_ABSENT && !desk_start_bus(&run->desk)) ||
        (run->who != BUS_ABSENT && run->who != DAEMON_ABSENT &&
         !desk_start_daemon(&run->desk, "actions body-markup"))) {
        return cb_err_set(err, CB_FAILED, "no dbus-daemon, or it does not start: not measured");
    }
    const char *build = getenv("CB_BUILD");
    char *old = build != NULL ? strdup(build) : NULL;
    if (faults[run->who].stand_in != NULL) {
        const char *set =
            desk_install(&run->desk, "set", faults[run->who].stand_in, run->who != BELL_MISSING);
        if (set == NULL) {
            free(old);
            return cb_err_set(err, CB_FAILED, "no stand-in for the bell: not measured");
        }
        setenv("CB_BUILD", set, 1);
    }
    start_disk(run);
    bool started = start_bench(run);
    old != NULL ? setenv("CB_BUILD", old, 1) : unsetenv("CB_BUILD");
    free(old);
    if (!started || !paint(run)) {
        return cb_err_set(err, CB_FAILED, "not measured: the bench %s; it says: %.78s / %.78s",
                          run->seat.closed ? "has left"
                          : started        ? "has no coat that dries in a moment, or no bell"
                                           : "does not open",
                          run->seat.screen.cells[0], run->seat.screen.cells[VT52_ROWS - 1]);
    }
    leave(run);
    end_disk(run);
    enum cb_status status = read_dues(run, err);
    if (status == CB_OK) {
        *stats = ticks(run);
    }
    return status;
}

static void clean_up(struct run *run)
{
    resume_it(run);
    end_disk(run);
    seat_close(&run->seat);
    desk_close(&run->desk);
    cb_vec_free(&run->seen);
    cb_vec_free(&run->dues);
    cb_vec_free(&run->keys_ms);
    cb_vec_free(&run->disk_ms);
}

static double stall_ms(const struct run *run, const struct tick_stats *stats)
{
    double worst_ms = stats->worst_ms;
    for (size_t i = 0; i < run->keys_ms.count; i++) {
        worst_ms = fmax(worst_ms, run->keys_ms.items[i]);
    }
    return worst_ms;
}

int main(int argc, char **argv)
{
    long long stop_s = 5;
    if (argc > 3 ||
        (argc > 1 && (!cb_str_integer(argv[1], &stop_s) || stop_s < 5 || stop_s > 300))) {
        fputs("bench_stall [SECONDS of each fault, 5 to 300 [PART of a name]]\n", stderr);
        return CB_USAGE;
    }
    double load = 0;
    getloadavg(&load, 1);
    printf("load %.2f; each run %lld s; in ms behind the due moment of each second shown:\n", load,
           2 * stop_s + (RUNNING_MS + TAIL_MS) / 1000);
    printf("%-18s %5s %8s %8s %8s %8s %8s %7s %8s   %s\n", "", "ticks", "median", "worst",
           "at ping", "spread", "gap", "over 50", "own", "ratio: median, worst");
    struct tick_stats running = {0};
    double longest_ms[3] = {0}; /* everything runs; the bell is off; all faults */
    enum who longest = NOBODY;
    for (enum who who = NOBODY; who < WHO_COUNT; who++) {
        if (who > BELL_OFF && argc > 2 && strstr(faults[who].name, argv[2]) == NULL) {
            continue;
        }
        struct run run = {.who = who, .stop_ms = (double)stop_s * 1e3};
        struct tick_stats stats = {0};
        struct cb_err err = {0};
        enum cb_status status = measure(&run, &stats, &err);
        if (status == CB_OK) {
            running = who == NOBODY ? stats : running;
            report(&run, &stats, &running);
            printf("%18s ", "");
            report_waits("keys", run.keys_ms.items, run.keys_ms.count);
            report_waits("; the disk itself", run.disk_ms.items, run.disk_ms.count);
            double worst_ms = stall_ms(&run, &stats);
            printf("\n%18s longest stall %.1f ms\n", "", worst_ms);
            size_t row = who < BELL_OFF + 1 ? (size_t)who : 2;
            longest = row == 2 && worst_ms > longest_ms[row] ? who : longest;
            longest_ms[row] = fmax(longest_ms[row], worst_ms);
            fflush(stdout);
        } else {
            printf("%s: %s\n", faults[who].name, err.text);
        }
        clean_up(&run);
    }
    printf("longest stall over all faults %.1f ms (%s); where everything runs %.1f ms, with the "
           "bell off %.1f ms\n",
           longest_ms[2], faults[longest].name, longest_ms[0], longest_ms[1]);
    return 0;
}
