/* SPDX-License-Identifier: MIT */
#include "shell/ring.h"

#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "shell/bell.h"
#include "shell/clock.h"

#define NEAR_MS  5000 /* the child is started when the ping is near */
#define SHOWN_MS 3000 /* then the terminal's bell has to do */
#define TICK_MS  1000

static volatile sig_atomic_t stopped;

static void stop(int signal)
{
    (void)signal;
    stopped = 1;
}

/* The line on the terminal; written only when it reads differently. */
static void show_left(const struct cb_ring *ring, int64_t left_ms, char shown[128])
{
    char clock[CB_CLOCK_SIZE];
    char span[32];
    char line[128];
    int64_t step = left_ms > 2 * CB_MS_PER_MIN ? CB_MS_PER_MIN : 1000;
    cb_time_span((left_ms + step - 1) / step * step, span);
    cb_time_clock(cb_clock_now().wall_ms + left_ms, ring->zone, clock);
    snprintf(line, sizeof line, "%.60s: %s, rings %s", ring->what, span, clock);
    if (strcmp(line, shown) != 0) {
        printf("\r%-72s\r%s", "", line);
        fflush(stdout);
        memcpy(shown, line, sizeof line);
    }
}

/* Waits a while on the bell's socket; true once the notification stands. */
static bool turn(struct cb_bell *bell, int64_t wait_ms)
{
    struct pollfd fd = {.fd = cb_bell_fd(bell), .events = cb_bell_events(bell)};
    bool shown = false;
    poll(&fd, fd.fd >= 0 ? 1 : 0, (int)wait_ms);
    struct cb_bell_news news;
    while (cb_bell_turn(bell, cb_clock_now().boot_ms, &news)) {
        shown = shown || news.kind == CB_BELL_NEWS_SHOWN;
    }
    return shown;
}

static int64_t at_most(int64_t value, int64_t limit)
{
    return value < limit ? value : limit;
}

enum cb_status cb_ring_run(const struct cb_ring *ring, struct cb_err *err)
{
    struct sigaction action = {.sa_handler = stop};
    struct sigaction old_int, old_term;
    struct cb_bell *bell = cb_bell_new(ring->bell);
    int64_t due = cb_clock_now().boot_ms + ring->wait_ms;
    bool terminal = isatty(STDOUT_FILENO) == 1;
    bool started = false;
    char shown[128] = "";
    stopped = 0;
    sigemptyset(&action.sa_mask);
    sigaction(SIGINT, &action, &old_int);
    sigaction(SIGTERM, &action, &old_term);
    for (;;) {
        int64_t left = due - cb_clock_now().boot_ms;
        if (left <= 0 || stopped) {
            break;
        }
        if (terminal) {
            show_left(ring, left, shown);
        }
        if (!started && left <= NEAR_MS) {
            struct cb_err quiet = {0};
            cb_bell_start(bell, cb_clock_now().boot_ms, &quiet);
            started = true;
        }
        turn(bell, at_most(left, TICK_MS));
    }
    bool rung = false;
    if (!stopped) {
        int64_t now = cb_clock_now().boot_ms;
        if (!started) {
            struct cb_err quiet = {0};
            cb_bell_start(bell, now, &quiet);
        }
        if (cb_bell_fd(bell) >= 0) {
            cb_bell_show(bell, 1, true, false, ring->title, ring->body, now);
        }
        /* The line and the terminal's bell need nobody: they come first. */
        printf("%s%s: %s\n", terminal ? "\r\a\033[K" : "", ring->title, ring->body);
        fflush(stdout);
        while (!rung && !stopped && cb_bell_fd(bell) >= 0 &&
               cb_clock_now().boot_ms - now < SHOWN_MS) {
            rung = turn(bell, 100);
        }
    } else if (terminal) {
        printf("\n");
    }
    sigaction(SIGINT, &old_int, NULL);
    sigaction(SIGTERM, &old_term, NULL);
    cb_bell_free(bell);
    return stopped ? cb_err_set(err, CB_FAILED, "stopped before the ping") : CB_OK;
}
