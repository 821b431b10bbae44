/* SPDX-License-Identifier: MIT */
/*
 * An evening at the real bench, whose disk fails at one of its writes: the process is killed there,
 * a write is torn, the power goes and takes with it what was never synced, the disk is full, fsync
 * says no. Whatever the screen showed as done is in the log afterwards, whole and once, with at
 * most one press more, and the bench opened again shows what it shows after so many presses. With
 * NOT SAVED it goes on, and nothing of it is lost: neither when there is room again, nor when it is
 * left. Argument: every so manieth write (default 17; 1: all).
 */
#include <poll.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#include "support/desk.h"
#include "support/fault.h"

enum { LONG_MS = 8000, STATE_FROM = 8, STATE_TO = 13, HANGS = -1 };

/* Each step is one press, and shows what was not on the screen before. The first begins the unit,
 * a press more. */
static const struct step {
    const char *keys, *shows;
} evening[] = {
    {"", "Minutes you leave a thin coat"},
    {"\r", "SPACE when Oilskin green is on figure 1"},
    {" ", "SPACE when Oilskin green is on figure 2"},
    {" ", "SPACE when Oilskin green is on figure 3"},
    {" ", "SPACE when Oilskin green is on figure 4"},
    {"2 ", "SPACE when Oilskin green is on figure 6"},
    {"u", "taken back: Oilskin green"},
    {"r", "back again: Oilskin green"},
    {"nthe lamp smokes\r", "note at"},
    {" ", "SPACE when Oilskin green is on figure 7"},
    {"k", "7 is parked"},
    {"dd", "#has  #wet"},
    {"2 ", "SPACE when Oilskin green is on figure 10"},
    {"c21 55\r", "room: 21 C"},
    {" ", "SPACE when Oilskin green is on figure 11"},
    {"u", "taken back: Oilskin green on 10"},
    {" ", "Oilskin green on 10 at"},
    {"p", "paused since"},
    {"p", "end of the pause"},
    {" ", "SPACE when Oilskin green is on figure 12"},
    {" ", "Oilskin green on 12 at"},
    {" ", "Tarred rope on 1 at"},
    {"3 ", "Tarred rope on 2 to 4"},
    {"nthe lamp is out\r", "note at"},
};
enum { STEPS = sizeof evening / sizeof evening[0] };

static int every = 17;
static char recipe[192];

/* The evening without a fault. */
static struct fault_events all;
static size_t after_step[STEPS + 1];        /* events; [STEPS]: with the session closed */
static char *screens[FAULT_EVENTS_MAX + 1]; /* of a bench opened with so many events in its log */
static int point_count;
static char kinds[SHIM_POINTS_MAX];
static int before_bench; /* points until the first picture */

/* What of the picture is the bench's state, without what a clock moves: digits are one N, blanks
 * one; what is coached and what was said last stand below. */
static void masked(const struct vt52 *screen, char *text, size_t size)
{
    size_t used = 0;
    for (int row = STATE_FROM; row < STATE_TO; row++) {
        for (int column = 0; column <= VT52_COLUMNS && used < size - 2; column++) {
            char c = column == VT52_COLUMNS ? '\n' : screen->cells[row][column];
            c = c >= '0' && c <= '9' ? 'N' : c;
            if (used > 0 && (c == ' ' || c == 'N') && text[used - 1] == c) {
                continue;
            }
            text[used++] = c;
        }
    }
    text[used] = '\0';
}

static void picture(const struct vt52 *screen, char *text, size_t size)
{
    size_t used = 0;
    for (int row = 0; row < VT52_ROWS && used + 100 < size; row++) {
        used += (size_t)snprintf(text + used, size - used, "%s|\n", screen->cells[row]);
    }
}

static bool start(const struct fault *fault, struct seat *seat, bool again)
{
    const char *const first[] = {"begin", recipe,  "--temp",   "23", "--rh",
                                 "50",    "--log", fault->log, NULL};
    const char *const other[] = {"--log", fault->log, NULL};
    return seat_start(seat, fault->home, "vt52", again ? other : first);
}

static bool is_unsaved(const struct seat *seat)
{
    return strstr(seat->screen.cells[0], "NOT SAVED") != NULL;
}

/* Until what was written last has been read. */
static void settle(struct seat *seat)
{
    seat_wait(seat, "no such text", 60);
}

/* The screen shows it; false: not, or the program is gone. */
static bool do_step(struct seat *seat, size_t i)
{
    seat_press(seat, evening[i].keys);
    return seat_wait(seat, evening[i].shows, LONG_MS);
}

static int end_of(struct seat *seat)
{
    int status = 0;
    for (int64_t end = desk_now_ms() + LONG_MS; !seat->closed && desk_now_ms() < end;) {
        seat_wait(seat, "no such text", 100);
    }
    if (!seat->closed) {
        return HANGS;
    }
    waitpid(seat->program, &status, 0);
    seat->program = 0;
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

/* q, until it is gone; q again where it asks. Its exit code. */
static int quit(struct seat *seat)
{
    const int64_t end = desk_now_ms() + LONG_MS;
    seat_press(seat, "q");
    while (!seat->closed && !is_unsaved(seat) && desk_now_ms() < end) {
        seat_wait(seat, "NOT SAVED", 100);
    }
    for (int i = 0; i < 3 && !seat->closed; i++) {
        seat_press(seat, "q");
        settle(seat);
    }
    return end_of(seat);
}

/* Everything there is to know of the evening without a fault. */
static int be_without_fault(void **state)
{
    static char said[FAULT_TEXT_MAX], copies[STEPS][256];
    struct fault fault;
    struct seat seat;
    (void)state;
    if (!fault_open(&fault)) {
        return -1;
    }
    snprintf(recipe, sizeof recipe, "%s.yaml", fault.folder);
    FILE *file = fopen(recipe, "w");
    fputs("coatbell: 1\nname: Lamp watch\nfigures: 12\nchange: 60 s\n"
          "paints:\n  rope: {name: Tarred rope, kind: acrylic}\n"
          "  green: {name: Oilskin green, kind: acrylic}\n"
          "areas:\n  oilskin: {share: 50 %}\n  rope: {share: 50 %}\n"
          "stages:\n"
          "  - {name: Ropes, technique: basecoat, paint: rope, on: [rope], dry: 40 min}\n"
          "  - {name: Oilskins, technique: layer, paint: green, on: [oilskin], dry: 50 min}\n",
          file);
    fclose(file);
    fault_arm(&fault, 0, "", 0);
    start(&fault, &seat, false);
    for (size_t i = 0; i < STEPS; i++) {
        static char text[4096];
        if (vt52_has(&seat.screen, evening[i].shows) || !do_step(&seat, i)) {
            picture(&seat.screen, text, sizeof text);
            printf("step %zu is seen before it is done, or never: %s\n%s", i, evening[i].shows,
                   text);
            return -1;
        }
        settle(&seat);
        if (i == 0) {
            before_bench = fault.shared->points;
        }
        snprintf(copies[i], sizeof copies[i], "%s/copy%zu", fault.folder, i);
        fault_copy_logs(&fault, fault.logs, copies[i]);
    }
    if (quit(&seat) != 0) {
        return -1;
    }
    seat_close(&seat);
    point_count = fault.shared->points;
    memcpy(kinds, fault.shared->kinds, sizeof kinds);
    fault_disarm();
    if (fault_export(&fault, &all, said) != 0) {
        return -1;
    }
    after_step[STEPS] = all.count;
    for (size_t i = 0; i < STEPS; i++) {
        struct fault_events so_far;
        static char text[4096];
        fault_clear(&fault);
        fault_copy_logs(&fault, copies[i], fault.logs);
        if (fault_export(&fault, &so_far, said) != 0 || !fault_is_prefix(&so_far, &all, said)) {
            printf("after step %zu: %s\n", i, said);
            return -1;
        }
        after_step[i] = so_far.count;
        start(&fault, &seat, true);
        seat_wait(&seat, "no such text", 400);
        masked(&seat.screen, text, sizeof text);
        screens[so_far.count] = strdup(text);
        seat_close(&seat);
    }
    fault_close(&fault);
    printf("%d points, %zu events, %d before the bench is open\n", point_count, all.count,
           before_bench);
    return 0;
}

/* The log opens, holds so many events at least, none half and none twice; the bench is as it is
 * after them. most: how many events there may be. */
static bool check_after(struct fault *fault, size_t least, size_t most, char why[2048])
{
    static char said[FAULT_TEXT_MAX], text[4096], shown[4096];
    struct fault_events events;
    struct seat seat;
    char lost[512] = "";
    const int code = fault_export(fault, &events, said);
    if (code != 0 && !(least == 0 && code == 74 && strstr(said, "coatbell begin RECIPE") != NULL)) {
        snprintf(why, 2048, "log export: %d, %.900s", code, said);
        return false;
    }
    if (!fault_is_prefix(&events, &all, lost) || events.count < least || events.count > most) {
        snprintf(why, 2048, "%zu events, not %zu to %zu: %s", events.count, least, most, lost);
        return false;
    }
    if (screens[events.count] == NULL) { /* the unit is begun and no bench was open yet */
        return true;
    }
    start(fault, &seat, true);
    bool same = false;
    for (int64_t end = desk_now_ms() + LONG_MS / 4; !same && desk_now_ms() < end;) {
        seat_wait(&seat, "no such text", 20);
        masked(&seat.screen, text, sizeof text);
        same = strcmp(text, screens[events.count]) == 0;
    }
    if (!same) {
        picture(&seat.screen, shown, sizeof shown);
        snprintf(why, 2048, "another bench after %zu events:\n%.1900s", events.count, shown);
    }
    seat_close(&seat);
    return same;
}

/* One press more may be there; before the first picture two, the unit and the session. */
static size_t press_more(size_t events)
{
    if (events == 0) {
        return after_step[0];
    }
    size_t more = events + 1;
    while (more < all.count &&
           strcmp(all.items[more].press, all.items[events < all.count ? events : 0].press) == 0) {
        more++;
    }
    return more > all.count ? all.count : more;
}

static const char *case_how;
static const char *case_kinds;
static int case_points[SHIM_POINTS_MAX];

/* Killed, torn, or without power. */
static bool one_end(struct fault *fault, size_t n, int *ended, char why[2048])
{
    static const int torn[] = {0, 1, 2048, 13, 4095};
    struct seat seat;
    size_t least = 0;
    fault_arm(fault, case_points[n], case_how,
              strcmp(case_how, "torn") == 0 ? torn[n % (sizeof torn / sizeof torn[0])] : (int)n);
    start(fault, &seat, false);
    for (size_t i = 0; i < STEPS && !seat.closed; i++) {
        if (do_step(&seat, i)) {
            least = after_step[i];
        } else if (!seat.closed) {
            picture(&seat.screen, why, 2048);
            return false;
        }
    }
    if (!seat.closed) {
        seat_press(&seat, "q");
    }
    const int code = end_of(&seat);
    seat_close(&seat);
    fault_disarm();
    *ended = code == 128 + SIGKILL ? 0 : 1;
    if (code == 0) {
        least = all.count;
    } else if (code != 128 + SIGKILL) {
        snprintf(why, 2048, "ended with %d", code);
        return false;
    }
    return check_after(fault, least, press_more(least), why);
}

static bool import_rescued(struct fault *fault, char why[2048])
{
    static char said[FAULT_TEXT_MAX];
    char path[512];
    fault_rescued(fault, path);
    for (int i = 0; i < 2 && path[0] != '\0'; i++) {
        const char *const arguments[] = {"log", "import", path, NULL};
        const int code = fault_run(fault, said, arguments);
        if (code != 0) {
            snprintf(why, 2048, "import of what was rescued: %d, %.900s", code, said);
            return false;
        }
    }
    return true;
}

/* The disk is full, or says no to fsync. By turns: it is well again some steps later; it stays so
 * until the bench is left; the bench is killed meanwhile. */
static bool one_unsaved(struct fault *fault, size_t n, int *ended, char why[2048])
{
    enum { AGAIN, LEFT, KILLED, REFUSED, UNHARMED };
    static char said[FAULT_TEXT_MAX];
    const int way = (int)(n % 3);
    struct seat seat;
    size_t least = 0, harmed = 0;
    bool healed = false;
    int code = 0;
    fault_arm(fault, case_points[n], case_how, way == AGAIN && n % 2 == 0 ? 1 : 0);
    start(fault, &seat, false);
    for (size_t i = 0; i < STEPS && !seat.closed; i++) {
        if (!do_step(&seat, i)) {
            if (!seat.closed) {
                picture(&seat.screen, why, 2048);
                return false;
            }
            break;
        }
        settle(&seat);
        if (!is_unsaved(&seat) && !harmed) {
            least = after_step[i];
        }
        harmed += harmed > 0 || is_unsaved(&seat);
        if (harmed >= 3 && way == KILLED) {
            seat_close(&seat);
            break;
        }
        if (harmed == 3 && way == AGAIN) {
            fault->shared->heal = 1;
            healed = true;
        }
    }
    if (seat.program != 0) {
        if (healed) { /* the last step's press took all others along */
            settle(&seat);
        }
        code = seat.closed ? end_of(&seat) : quit(&seat);
        seat_close(&seat);
    }
    fault_disarm();
    if (fault->shared->hits == 0) {
        *ended = UNHARMED;
        return code == 0 && check_after(fault, all.count, all.count, why);
    }
    *ended = least == 0 && harmed == 0 ? REFUSED : way;
    if (*ended == REFUSED) {
        if (code != 74) {
            snprintf(why, 2048, "refused with %d, not 74", code);
            return false;
        }
        return check_after(fault, 0, after_step[0], why);
    }
    if (way == KILLED && harmed >= 3) {
        return check_after(fault, least, all.count, why);
    }
    fault_rescued(fault, said);
    if (code != (said[0] == '\0' ? 0 : 74)) {
        snprintf(why, 2048, "left with %d, rescued %.500s", code, said);
        return false;
    }
    if (way == AGAIN && healed && said[0] != '\0') {
        snprintf(why, 2048, "not saved though there was room again");
        return false;
    }
    return import_rescued(fault, why) && check_after(fault, all.count, all.count, why);
}

static size_t choose(const char *how, const char *of)
{
    size_t count = 0;
    case_how = how;
    case_kinds = of;
    for (int i = 0, seen = 0; i < point_count; i++) {
        if (strchr(of, kinds[i]) != NULL && (seen++ % every == 0 || i == point_count - 1)) {
            case_points[count++] = i + 1;
        }
    }
    return count;
}

static void check_ends(const char *how, const char *of)
{
    int outcomes[FAULT_OUTCOMES];
    const size_t count = choose(how, of);
    assert_true(fault_sweep(count, one_end, outcomes));
    printf("%s at %zu of %d points: %d ended there, %d came through\n", how, count, point_count,
           outcomes[0], outcomes[1]);
}

static void check_unsaved(const char *how, const char *of)
{
    int outcomes[FAULT_OUTCOMES];
    const size_t count = choose(how, of);
    assert_true(fault_sweep(count, one_unsaved, outcomes));
    printf(
        "%s at %zu of %d points: %d saved when it was well again, %d left and imported, %d killed "
        "meanwhile, %d refused at the start, %d not harmed\n",
        how, count, point_count, outcomes[0], outcomes[1], outcomes[2], outcomes[3], outcomes[4]);
}

static void test_killed(void **state)
{
    (void)state;
    check_ends("kill", "wstru");
}

static void test_torn(void **state)
{
    (void)state;
    check_ends("torn", "w");
}

static void test_without_power(void **state)
{
    (void)state;
    check_ends("power", "wstru");
}

static void test_full(void **state)
{
    (void)state;
    check_unsaved("full", "wt");
}

static void test_unsynced(void **state)
{
    (void)state;
    check_unsaved("sync", "s");
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_killed),        cmocka_unit_test(test_torn),
        cmocka_unit_test(test_without_power), cmocka_unit_test(test_full),
        cmocka_unit_test(test_unsynced),
    };
    every = argc > 1 ? (int)strtol(argv[1], NULL, 10) : every;
    return cmocka_run_group_tests(tests, be_without_fault, NULL);
}
