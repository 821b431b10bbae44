/* SPDX-License-Identifier: MIT */
/*
 * One page of what the program promises of itself, each figure beside something public that was
 * measured in the same run: the real program on a pseudo-terminal, a bus and a daemon of its own.
 * Times of a start are the least of several, the two programs by turns; the idle minute is the same
 * for all.
 * bench_page [TABLES [quick]]: TABLES is what the other measuring programs printed, of which the
 * page tells the sums; quick is a smaller log, a shorter minute and fewer pings.
 */
#include <fcntl.h>
#include <math.h>
#include <poll.h>
#include <pty.h>
#include <sched.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "base/vec.h"
#include "shell/store.h"
#include "support/bench.h"
#include "support/desk.h"
#include "support/seat.h"
#include "support/stage.h"

#define ROUNDS      15
#define PATIENCE_MS 15000
#define SETTLE_MS   12000 /* the line of the last press is gone, and the learned times are there */
#define PRESS_MS    100   /* between two coats, and so between two pings */
#define DRAWS       400

struct page {
    bool quick;
    int idle_s, pings;
    const char *tables; /* "": none */
    struct desk desk;
    double true_ms;
    int missed;
};

/* ---- The page itself ---- */

static void head(void)
{
    printf("\n%-29s%9s  %-16s%8s  %-7s\n", "what", "ours", "beside it", "ratio", "aim");
}

/* ratio NAN: none; aim "": nothing is promised. */
static void row(struct page *page, const char *what, const char *ours, const char *beside,
                double ratio, const char *aim, bool met)
{
    char times[16] = "";
    if (!isnan(ratio)) {
        snprintf(times, sizeof times, "%.2f", ratio);
    }
    printf("%-30s %11s %-17s %6s %-8s %s\n", what, ours, beside, times, aim,
           aim[0] == '\0' ? ""
           : met          ? "met"
                          : "MISSED");
    page->missed += aim[0] != '\0' && !met;
    fflush(stdout);
}

static const char *text(char out[32], int places, double value, const char *unit)
{
    snprintf(out, 32, "%.*f%s%s", places, value, unit[0] != '\0' ? " " : "", unit);
    return out;
}

static int by_size(const void *left, const void *right)
{
    const double a = *(const double *)left;
    const double b = *(const double *)right;
    return (a > b) - (a < b);
}

/* Of what other work on the machine can only lengthen. */
static double least(const double *values, size_t count)
{
    double found = values[0];
    for (size_t i = 1; i < count; i++) {
        found = !(values[i] >= found) ? values[i] : found;
    }
    return found;
}

static double median(double *values, size_t count)
{
    qsort(values, count, sizeof *values, by_size);
    return count > 0 ? values[count / 2] : NAN;
}

/* ---- Start ---- */

static void hang_up(struct seat *seat)
{
    close(seat->pty); /* it closes its session and goes */
    seat->pty = 0;
    waitpid(seat->program, NULL, 0);
    seat->program = 0;
}

static double first_screen_ms(const char *home, const char *log, const char *words)
{
    const char *const arguments[] = {"--log", log, NULL};
    struct seat seat;
    const double start = bench_now_ms();
    if (!seat_start(&seat, home, "vt52", arguments)) {
        return NAN;
    }
    const bool seen = seat_wait(&seat, words, PATIENCE_MS);
    const double took_ms = bench_now_ms() - start;
    hang_up(&seat);
    return seen ? took_ms : NAN;
}

static void start_on(struct page *page, const char *what, const char *log, const char *unit,
                     const char *words)
{
    double ours[ROUNDS], shell[ROUNDS];
    char sqlite[] = "sqlite3", path[256], sql[128], ours_text[32], shell_text[32];
    const char *home = desk_path(&page->desk, "start");
    mkdir(home, 0700);
    snprintf(path, sizeof path, "%s", log);
    snprintf(sql, sizeof sql, "select * from event where unit='%s'", unit);
    for (int i = -1; i < ROUNDS; i++) { /* the first is for the page cache */
        const double screen_ms = first_screen_ms(home, log, words);
        const double shell_ms = bench_run((char *[]){sqlite, path, sql, NULL});
        if (i >= 0) {
            ours[i] = screen_ms;
            shell[i] = shell_ms;
        }
    }
    const double ms = least(ours, ROUNDS), shell_ms = least(shell, ROUNDS);
    text(ours_text, 1, ms, "ms");
    snprintf(shell_text, sizeof shell_text, "sqlite3 %.1f ms", shell_ms);
    row(page, what, ours_text, shell_text, ms / shell_ms, "10", ms <= 10 * shell_ms);
    row(page, "", ours_text, "", NAN, "100 ms", ms <= 100);
}

/* The demo's two finished units and a third begun. */
static bool make_demo_log(const char *log)
{
    char program[SEAT_PATH_SIZE], demo[] = "demo", history[] = "--history", begin[] = "begin",
                                  recipe[] = "recipes/night-watch.yaml", option[] = "--log";
    char path[512];
    seat_program(program);
    snprintf(path, sizeof path, "%s", log);
    return bench_run((char *[]){program, demo, history, path, NULL}) >= 0 &&
           bench_run((char *[]){program, begin, recipe, option, path, NULL}) >= 0;
}

static bool first_id(void *context, const struct cb_event *event)
{
    if (event->kind == CB_EVENT_UNIT_BEGUN) {
        snprintf(context, 80, "%s", event->unit);
    }
    return true;
}

static void last_unit(const char *log, char id[80])
{
    struct cb_store *store = NULL;
    if (cb_store_open(log, CB_STORE_READ, &store, NULL) == CB_OK) {
        cb_store_each(store, NULL, first_id, id, NULL);
    }
    cb_store_close(store);
}

/* Before all other programs, as on a quiet machine, where we may; what is started is so too. */
static bool go_first(bool first)
{
    const struct sched_param one = {.sched_priority = first ? 1 : 0};
    return sched_setscheduler(0, first ? SCHED_RR : SCHED_OTHER, &one) == 0;
}

static void starts(struct page *page)
{
    char unit[80] = "", events[32];
    const char *empty = desk_path(&page->desk, "empty.db");
    const char *demo = desk_path(&page->desk, "demo.db");
    char *few[] = {NULL, events};
    struct bench_log log;
    snprintf(events, sizeof events, "%d", page->quick ? 100000 : 1000000);
    if (bench_log_make(&log, 2, few, true) == CB_OK) {
        printf("starts: least of %d%s\n", ROUNDS,
               go_first(true) ? ", before all other programs on this machine" : "");
        head();
        char program[SEAT_PATH_SIZE], version[] = "--version", ours_text[32], true_text[32];
        double ours[ROUNDS];
        seat_program(program);
        for (int i = 0; i < ROUNDS; i++) {
            ours[i] = bench_run((char *[]){program, version, NULL});
        }
        const double ms = least(ours, ROUNDS);
        snprintf(true_text, sizeof true_text, "true %.1f ms", page->true_ms);
        row(page, "exec, coatbell --version", text(ours_text, 1, ms, "ms"), true_text,
            ms / page->true_ms, "", true);
        start_on(page, "first screen, empty log", empty, unit, "ENTER begin");
        if (make_demo_log(demo)) {
            last_unit(demo, unit);
            start_on(page, "first screen, the demo's log", demo, unit, "SPACE");
        }
        start_on(page, page->quick ? "first screen, 1e5 events" : "first screen, 1e6 events",
                 log.path, log.last, "SPACE");
        go_first(false);
        bench_log_remove(&log);
    }
}

/* ---- Idle, and what is held meanwhile ---- */

/* Of a process and all threads of it; children of those it has waited for count. */
struct use {
    double cpu_ms;
    long wakes;
};

static double field_of(const char *path, const char *name)
{
    char line[256];
    double value = 0;
    FILE *file = fopen(path, "r");
    while (file != NULL && fgets(line, sizeof line, file) != NULL) {
        if (strncmp(line, name, strlen(name)) == 0) {
            value = strtod(line + strlen(name), NULL);
        }
    }
    if (file != NULL) {
        fclose(file);
    }
    return value;
}

static struct use use_of(pid_t pid)
{
    struct use use = {0};
    char path[64], line[1024] = "";
    unsigned long parts[4] = {0};
    snprintf(path, sizeof path, "/proc/%d/stat", (int)pid);
    FILE *file = fopen(path, "r");
    if (file != NULL) {
        const char *rest = fgets(line, sizeof line, file) != NULL ? strrchr(line, ')') : NULL;
        if (rest != NULL && /* proc(5): utime, stime, cutime, cstime are 14 to 17 */
            sscanf(rest + 1, " %*c %*d %*d %*d %*d %*d %*u %*u %*u %*u %*u %lu %lu %lu %lu",
                   &parts[0], &parts[1], &parts[2], &parts[3]) == 4) {
            use.cpu_ms = (double)(parts[0] + parts[1] + parts[2] + parts[3]) * 1e3 /
                         (double)sysconf(_SC_CLK_TCK);
        }
        fclose(file);
    }
    /* finer where it is known, for who has no children */
    snprintf(path, sizeof path, "/proc/%d/schedstat", (int)pid);
    file = fopen(path, "r");
    double ran_ns = 0;
    if (file != NULL && parts[2] + parts[3] == 0 && fscanf(file, "%lf", &ran_ns) == 1) {
        use.cpu_ms = ran_ns / 1e6;
    }
    if (file != NULL) {
        fclose(file);
    }
    snprintf(path, sizeof path, "/proc/%d/status", (int)pid);
    use.wakes = (long)field_of(path, "voluntary_ctxt_switches:");
    return use;
}

static bool write_text(const char *path, const char *words)
{
    FILE *file = fopen(path, "w");
    return file != NULL && fputs(words, file) >= 0 && fclose(file) == 0;
}

/* A home with the demo's log in it. */
static bool make_home(const struct page *page, const char *name, const char *config)
{
    char path[512];
    static const char *const folders[] = {"",        "/.config",      "/.config/coatbell",
                                          "/.local", "/.local/share", "/.local/share/coatbell"};
    for (size_t i = 0; i < sizeof folders / sizeof *folders; i++) {
        snprintf(path, sizeof path, "%s%s", desk_path(&page->desk, name), folders[i]);
        mkdir(path, 0700);
    }
    snprintf(path, sizeof path, "%s/.config/coatbell/config.yaml", desk_path(&page->desk, name));
    return write_text(path, config);
}

static const char *log_of(const struct page *page, const char *name)
{
    char part[128];
    snprintf(part, sizeof part, "%s/.local/share/coatbell/log.db", name);
    return desk_path(&page->desk, part);
}

/* A unit of a recipe, begun on a terminal; the question of the first opening is answered. */
static bool begin_unit(const struct page *page, struct seat *seat, const char *home,
                       const char *recipe)
{
    const char *const arguments[] = {
        "begin", desk_path(&page->desk, recipe), "--temp", "23", "--rh", "50", NULL};
    if (!seat_start(seat, desk_path(&page->desk, home), "vt52", arguments)) {
        return false;
    }
    if (!seat_wait(seat, "SPACE when", 1500) && vt52_has(&seat->screen, "thin coat")) {
        seat_press(seat, "\r");
    }
    return seat_wait(seat, "SPACE when", PATIENCE_MS);
}

static pid_t start_watch(int *terminal)
{
    struct winsize size = {.ws_row = VT52_ROWS, .ws_col = VT52_COLUMNS};
    const pid_t pid = forkpty(terminal, NULL, NULL, &size);
    if (pid == 0) {
        setenv("TERM", "vt52", 1);
        execlp("watch", "watch", "-n1", "date", (char *)NULL);
        _exit(127);
    }
    return pid;
}

/* Reads all of them for so long; how many bytes each wrote. */
static void drain(const int *terminals, size_t count, double ms, size_t *bytes)
{
    struct pollfd set[4];
    char buffer[8192];
    const double end = bench_now_ms() + ms;
    for (size_t i = 0; i < count; i++) {
        set[i] = (struct pollfd){.fd = terminals[i], .events = POLLIN};
        bytes[i] = 0;
    }
    for (double now; (now = bench_now_ms()) < end;) {
        if (poll(set, count, (int)(end - now) + 1) < 1) {
            continue;
        }
        for (size_t i = 0; i < count; i++) {
            const ssize_t got = set[i].revents != 0 ? read(set[i].fd, buffer, sizeof buffer) : 0;
            bytes[i] += got > 0 ? (size_t)got : 0;
            set[i].fd = set[i].revents != 0 && got <= 0 ? -1 : set[i].fd;
        }
    }
}

struct held {
    double rss_mb, pss_mb, own_mb;
};

static struct held held_by(pid_t pid)
{
    char path[64];
    snprintf(path, sizeof path, "/proc/%d/smaps_rollup", (int)pid);
    return (struct held){field_of(path, "Rss:") / 1024, field_of(path, "Pss:") / 1024,
                         field_of(path, "Anonymous:") / 1024};
}

/* One pop-up by the library alone; rss 0: it can't be had. */
static struct held bare_notify(void)
{
    char program[SEAT_PATH_SIZE + 32], line[32] = "";
    char *slash;
    snprintf(program, sizeof program, "%s", desk_mock());
    slash = strrchr(program, '/');
    snprintf(slash, 32, "/bare_notify");
    int in[2], out[2];
    struct held held = {0};
    if (pipe2(in, O_CLOEXEC) != 0 || pipe2(out, O_CLOEXEC) != 0) {
        return held;
    }
    const pid_t pid = fork();
    if (pid == 0) {
        dup2(in[0], 0);
        dup2(out[1], 1);
        execl(program, program, (char *)NULL);
        _exit(127);
    }
    close(out[1]);
    if (read(out[0], line, sizeof line - 1) > 0) {
        held = held_by(pid);
    }
    close(in[0]);
    close(in[1]);
    close(out[0]);
    waitpid(pid, NULL, 0);
    return held;
}

static void memory(struct page *page, const struct seat *seat)
{
    char ours[32], beside[32], what[64];
    const pid_t bell = desk_bell_of(seat->program);
    const struct held bench = held_by(seat->program);
    const struct held child = bell > 0 ? held_by(bell) : (struct held){NAN, NAN, NAN};
    const struct held bare = bare_notify();
    const double both = bench.rss_mb + child.rss_mb;
    snprintf(beside, sizeof beside, "libnotify %.1f", bare.rss_mb);
    row(page, "resident, bench and bell", text(ours, 1, both, "MB"), beside, both / bare.rss_mb,
        "15 MB", both > 1 && both < 15); /* 0: the kernel does not tell */
    snprintf(what, sizeof what, "  bench %.1f, bell %.1f", bench.rss_mb, child.rss_mb);
    row(page, what, "", "", NAN, "", true);
    snprintf(beside, sizeof beside, "libnotify %.1f", bare.pss_mb);
    row(page, "  shared pages shared out (PSS)", text(ours, 1, bench.pss_mb + child.pss_mb, "MB"),
        beside, (bench.pss_mb + child.pss_mb) / bare.pss_mb, "", true);
    snprintf(beside, sizeof beside, "libnotify %.1f", bare.own_mb);
    row(page, "  neither code nor files", text(ours, 1, bench.own_mb + child.own_mb, "MB"), beside,
        (bench.own_mb + child.own_mb) / bare.own_mb, "", true);
}

/* One minute of three programs at once: a countdown in seconds, a bench with nothing wet, watch. */
static void idle(struct page *page)
{
    enum { WET, DRY, WATCH, COUNT };
    struct seat seats[2];
    char recipe[512], ours[32], beside[48];
    size_t bytes[COUNT];
    int terminals[COUNT];
    pid_t pids[COUNT];
    struct use before[COUNT], after[COUNT];
    const char *config = "ping: every\nconfidence: 50 %\n";
    snprintf(recipe, sizeof recipe,
             "coatbell: 1\nname: Slow watch\nfigures: 2\n"
             "paints:\n  rope: {name: Tarred cordage, kind: acrylic}\n"
             "stages:\n  - name: Basecoat\n    technique: basecoat\n"
             "    paint: rope\n    dry: %d s\n",
             page->idle_s + SETTLE_MS / 1000 + 15);
    if (!write_text(desk_path(&page->desk, "slow.yaml"), recipe) ||
        !make_home(page, "wet", config) || !make_home(page, "dry", config) ||
        !make_demo_log(log_of(page, "wet")) || !make_demo_log(log_of(page, "dry")) ||
        !begin_unit(page, &seats[WET], "wet", "slow.yaml") ||
        !begin_unit(page, &seats[DRY], "dry", "slow.yaml")) {
        printf("idle: the bench did not start\n");
        return;
    }
    seat_press(&seats[WET], " ");
    if (!seat_wait(&seats[WET], "on 1 at", PATIENCE_MS)) {
        printf("idle: no coat went on\n");
    }
    pids[WATCH] = start_watch(&terminals[WATCH]);
    for (int i = WET; i <= DRY; i++) {
        terminals[i] = seats[i].pty;
        pids[i] = seats[i].program;
    }
    drain(terminals, COUNT, SETTLE_MS, bytes);
    for (int i = 0; i < COUNT; i++) {
        before[i] = use_of(pids[i]);
    }
    drain(terminals, COUNT, page->idle_s * 1e3, bytes);
    for (int i = 0; i < COUNT; i++) {
        after[i] = use_of(pids[i]);
        after[i].cpu_ms -= before[i].cpu_ms;
        after[i].wakes -= before[i].wakes;
    }
    const double minutes = page->idle_s / 60.0;
    static const char *const names[] = {"idle a minute, films running", "idle a minute, none wet"};
    for (int i = WET; i <= DRY; i++) {
        snprintf(beside, sizeof beside, "watch %.0f ms", after[WATCH].cpu_ms / minutes);
        row(page, names[i], text(ours, 1, after[i].cpu_ms / minutes, "ms"), beside,
            after[i].cpu_ms / after[WATCH].cpu_ms, "1", after[i].cpu_ms <= after[WATCH].cpu_ms);
        snprintf(beside, sizeof beside, "watch %.0f", (double)after[WATCH].wakes / minutes);
        row(page, "  wake-ups", text(ours, 0, (double)after[i].wakes / minutes, ""), beside,
            (double)after[i].wakes / (double)after[WATCH].wakes, "", true);
        snprintf(beside, sizeof beside, "watch %.0f", (double)bytes[WATCH] / minutes);
        row(page, "  bytes to the terminal", text(ours, 0, (double)bytes[i] / minutes, ""), beside,
            (double)bytes[i] / (double)bytes[WATCH], "", true);
    }
    close(terminals[WATCH]);
    kill(pids[WATCH], SIGTERM);
    waitpid(pids[WATCH], NULL, 0);
    hang_up(&seats[DRY]);
    const double end = bench_now_ms() + 60000; /* until the film has rung, and the pop-up stands */
    while (desk_stands(&page->desk)[0] == '\0' && bench_now_ms() < end) {
        drain(terminals, 1, 100, bytes);
    }
    drain(terminals, 1, 1000, bytes);
    memory(page, &seats[WET]);
    hang_up(&seats[WET]);
}

/* ---- Pings ---- */

struct ping {
    double due_ms, at_ms; /* wall; at: when the bench took it up */
};

struct pings {
    CB_VEC(struct ping) rung;
    CB_VEC(double) shown_ms; /* the daemon's calls, wall */
    CB_VEC(double) late_ms, beat_ms;
};

static bool take_ping(void *context, const struct cb_event *event)
{
    struct pings *pings = context;
    if (event->kind == CB_EVENT_PINGED) {
        const struct ping ping = {(double)cb_event_int(event, CB_FIELD_DUE_AT, 0),
                                  (double)event->at_ms};
        cb_vec_push(&pings->rung, ping);
    }
    return true;
}

/* Of a ping, from the moment it was due until the daemon was asked to show it, or what came later
 * and says the same. */
static void match(struct pings *pings)
{
    size_t call = 0;
    for (size_t i = 0; i < pings->rung.count; i++) {
        const struct ping *ping = &pings->rung.items[i];
        while (call < pings->shown_ms.count && pings->shown_ms.items[call] < ping->at_ms) {
            call++;
        }
        const double late_ms =
            call < pings->shown_ms.count ? pings->shown_ms.items[call] - ping->due_ms : 1e6;
        cb_vec_push(&pings->late_ms, late_ms);
    }
}

static void read_calls(const struct desk *desk, struct pings *pings)
{
    char line[4096];
    FILE *file = fopen(desk_path(desk, "daemon.out"), "r");
    while (file != NULL && fgets(line, sizeof line, file) != NULL) {
        if (strstr(line, " notify ") != NULL) {
            const double at_ms = strtod(line, NULL);
            cb_vec_push(&pings->shown_ms, at_ms);
        }
    }
    if (file != NULL) {
        fclose(file);
    }
}

static bool write_quick(const struct page *page)
{
    FILE *file = fopen(desk_path(&page->desk, "quick.yaml"), "w");
    if (file == NULL) {
        return false;
    }
    fputs("coatbell: 1\nname: Quick watch\nfigures: 99\npaints:\n"
          "  rope: {name: Tarred rope, kind: acrylic}\nstages:\n",
          file);
    for (int i = 1; i <= 12; i++) {
        fprintf(file,
                "  - {name: Stage %d, technique: basecoat, paint: rope, dry: 6 s, after: []}\n", i);
    }
    return fclose(file) == 0;
}

static void ping_lateness(struct page *page)
{
    struct seat seat;
    struct pings pings = {0};
    struct cb_store *store = NULL;
    char ours[32], beside[32];
    if (!make_home(page, "pings", "ping: every\nconfidence: 50 %\n") || !write_quick(page) ||
        !begin_unit(page, &seat, "pings", "quick.yaml")) {
        printf("pings: the bench did not start\n");
        return;
    }
    size_t bytes;
    double next_ms = bench_now_ms();
    for (int i = 0; i < page->pings; i++) {
        seat_press(&seat, " ");
        next_ms += PRESS_MS;
        drain(&seat.pty, 1, next_ms - bench_now_ms(), &bytes);
        const double beat_ms = bench_now_ms() - next_ms;
        cb_vec_push(&pings.beat_ms, beat_ms);
    }
    drain(&seat.pty, 1, SETTLE_MS, &bytes);
    hang_up(&seat);
    if (cb_store_open(log_of(page, "pings"), CB_STORE_READ, &store, NULL) == CB_OK) {
        cb_store_each(store, NULL, take_ping, &pings, NULL);
    }
    cb_store_close(store);
    read_calls(&page->desk, &pings);
    match(&pings);
    const size_t count = pings.late_ms.count, beats = pings.beat_ms.count;
    if (count > 0) {
        char what[64];
        const double usual = median(pings.late_ms.items, count);
        const double own = median(pings.beat_ms.items, beats);
        const double worst = pings.late_ms.items[count - 1];
        snprintf(what, sizeof what, "%zu pings, late by (median)", count);
        snprintf(beside, sizeof beside, "a timer %.1f ms", own);
        row(page, what, text(ours, 0, usual, "ms"), beside, NAN, "50 ms", usual <= 50);
        snprintf(beside, sizeof beside, "a timer %.1f ms", pings.beat_ms.items[beats - 1]);
        row(page, "  at worst", text(ours, 0, worst, "ms"), beside, NAN, "200 ms", worst <= 200);
    } else {
        row(page, "pings late by", "none rang", "", NAN, "50 ms", false);
    }
    cb_vec_free(&pings.rung);
    cb_vec_free(&pings.shown_ms);
    cb_vec_free(&pings.late_ms);
    cb_vec_free(&pings.beat_ms);
}

/* ---- What it costs to think, and what the tables say ---- */

static void screens(struct page *page)
{
    struct stage stage;
    char ours[32], beside[32];
    double times[DRAWS];
    setenv("CB_ROOT", ".", 0);
    stage_init(&stage, "night-watch.yaml", 10, 24, 80, CB_PING_NEEDED);
    for (int i = 0; i < DRAWS; i++) {
        if (i % 40 == 0) {
            stage_key(&stage, "SPACE");
        }
        stage_wait(&stage, 1.0 / 60);
        const double start = bench_now_ms();
        (void)cb_rehearse_grid(stage.rehearse);
        times[i] = bench_now_ms() - start;
    }
    stage_fini(&stage);
    const double ms = median(times, DRAWS);
    snprintf(beside, sizeof beside, "true %.1f ms", page->true_ms);
    row(page, "a screen of the bench", text(ours, 2, ms, "ms"), beside, ms / page->true_ms, "",
        true);
}

/* The number that stands after the words in a line that begins so; NAN: it is not there. */
static double told(const struct page *page, const char *line, const char *words)
{
    char start[128];
    snprintf(start, sizeof start, "\n%s", line);
    const char *at = strstr(page->tables, start);
    const char *end = at != NULL ? strchr(at + 1, '\n') : NULL;
    at = at != NULL ? strstr(at + 1, words) : NULL;
    return at != NULL && (end == NULL || at < end) ? strtod(at + strlen(words), NULL) : NAN;
}

static void cost(struct page *page, const char *what, double ms, double aim_ms)
{
    char ours[32], beside[32], aim[32] = "";
    if (isnan(ms)) {
        row(page, what, "not run", "", NAN, "", true);
        return;
    }
    if (aim_ms > 0) {
        snprintf(aim, sizeof aim, "%.0f ms", aim_ms);
    }
    snprintf(beside, sizeof beside, "true %.1f ms", page->true_ms);
    row(page, what, text(ours, 2, ms, "ms"), beside, ms / page->true_ms, aim, ms <= aim_ms);
}

static int count_of(const char *where, const char *words)
{
    int count = 0;
    for (const char *at = where; (at = strstr(at, words)) != NULL; at++) {
        count++;
    }
    return count;
}

/* Of the lines that name a time and an aim for it: how many there are, and those that miss it. */
static int timed_aims(const char *tables, int *missed, char *names, size_t size)
{
    int count = 0;
    *missed = 0;
    for (const char *line = tables; line != NULL; line = strchr(line + 1, '\n')) {
        char copy[256], unit[4] = "";
        snprintf(copy, sizeof copy, "%.*s", (int)strcspn(line + 1, "\n"), line + 1);
        const char *median_at = strstr(copy, " median "), *aim_at = strstr(copy, "aim: ");
        double aim = 0;
        if (median_at == NULL || aim_at == NULL ||
            sscanf(aim_at, "aim: %lf %3[a-z]", &aim, unit) != 2) {
            continue;
        }
        const double took = strtod(median_at + strlen(" median "), NULL);
        count++;
        aim *= strcmp(unit, "s") == 0 ? 1000 : 1;
        if (took > aim) {
            const size_t used = strlen(names);
            size_t length = (size_t)(median_at - copy);
            while (length > 0 && copy[length - 1] == ' ') {
                length--;
            }
            snprintf(names + used, size - used, "    %-40.*s %5.0f ms, aim %.0f ms\n", (int)length,
                     copy, took, aim);
            ++*missed;
        }
    }
    return count;
}

/* The line of all instances, as bench_plan prints it. */
static void tell_planning(const char *line)
{
    static const char *const ways[] = {
        "in order", "first ready", "longest tail", "26 simulations", "56 of them", "300", "3000"};
    printf("planning (bench_plan above): %% above the proven optimum, mean / worst\n ");
    for (size_t i = 0; i < sizeof ways / sizeof *ways; i++) {
        double mean, worst;
        int length = 0;
        if (sscanf(line, " %lf / %lf%n", &mean, &worst, &length) != 2) {
            break;
        }
        line += length;
        printf("%s%s %.1f / %.1f", i == 0 ? " " : i == 3 ? ",\n  " : ", ", ways[i], mean, worst);
    }
    printf("\n");
}

static void thoughts(struct page *page)
{
    char names[1024] = "";
    int missed;
    cost(page, "a coat more to learn from", told(page, "  one new coat", "them"), 0);
    cost(page, "a refit of 1e5 rows", told(page, "  refit of 1e5", "paints"), 0);
    cost(page, "what next, 2400 coats to go", told(page, "a decision on the bench", "median"), 5);
    cost(page, "when finished, 2400 coats", told(page, "a forecast", "median"), 2);
    screens(page);
    if (page->tables[0] == '\0') {
        printf("The tables of learning and planning were not made: make bench makes them.\n");
        return;
    }
    const int held = count_of(page->tables, ": held"), lost = count_of(page->tables, ": MISSED");
    printf("\nlearning (bench_learn above): %d of %d aims held\n", held, held + lost);
    const char *all = strstr(page->tables, "\nabove the proven optimum");
    all = all != NULL ? strstr(all, "\nall ") : NULL;
    if (all != NULL) {
        tell_planning(all + strlen("\nall "));
    }
    const int aims = timed_aims(page->tables, &missed, names, sizeof names);
    printf("times with an aim in the tables above: %d, of which %d missed%s\n%s", aims, missed,
           missed > 0 ? ":" : "", names);
}

/* Who else works here: what is beside a figure was measured at the same time. */
static void say_load(void)
{
    double load = 0;
    getloadavg(&load, 1);
    printf("%ld processors, %.1f programs at work on them\n", sysconf(_SC_NPROCESSORS_ONLN), load);
}

static char *read_tables(const char *path)
{
    FILE *file = path != NULL ? fopen(path, "r") : NULL;
    char *tables = calloc(1, 1 << 20);
    if (tables == NULL) {
        exit(1);
    }
    if (file != NULL) {
        const size_t got = fread(tables, 1, (1 << 20) - 1, file);
        tables[got] = '\0';
        fclose(file);
    }
    return tables;
}

int main(int argc, char **argv)
{
    struct page page = {.quick = argc > 2 && strcmp(argv[2], "quick") == 0};
    char *tables = read_tables(argc > 1 ? argv[1] : NULL);
    char program[] = "true";
    double times[ROUNDS];
    page.tables = tables;
    page.idle_s = page.quick ? 20 : 60;
    page.pings = page.quick ? 100 : 1000;
    go_first(true);
    for (int i = 0; i < ROUNDS; i++) {
        times[i] = bench_run((char *[]){program, NULL});
    }
    go_first(false);
    page.true_ms = least(times, ROUNDS);
    if (!desk_open(&page.desk) || !desk_start_bus(&page.desk) ||
        !desk_start_daemon(&page.desk, "actions body-markup")) {
        fprintf(stderr, "bench_page: no dbus-daemon, or it does not start\n");
        desk_close(&page.desk);
        return 1;
    }
    say_load();
    starts(&page);
    idle(&page);
    ping_lateness(&page);
    thoughts(&page);
    printf("\n%d promise%s missed\n", page.missed, page.missed == 1 ? "" : "s");
    say_load();
    desk_close(&page.desk);
    free(tables);
    return 0;
}
