/* SPDX-License-Identifier: MIT */
#include "shell/tty.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <poll.h>
#include <signal.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <termios.h>
#include <unistd.h>

#include "base/mem.h"
#include "base/str.h"
#include "shell/clock.h"

/* Holds most pictures at once; where it is refused, they are gathered in smaller pieces. */
#define PIPE_BYTES (256 * 1024)

struct cb_tty {
    int out;     /* the terminal */
    bool shared; /* out is standard output itself, which may wait */
    int pipe[2]; /* -1: none; its first end does not wait */
    FILE *stream;
    struct cb_str waiting;
    size_t sent; /* of what waits */
};

/* What a crash needs, prepared beforehand: poll(2), write(2) and tcsetattr(3) are safe then. */
static struct {
    struct termios modes; /* as they were found */
    bool has_modes;
    int out;
    char bytes[256];
    size_t length;
    volatile sig_atomic_t active;
} rescue;

static const int crash_signals[] = {SIGSEGV, SIGBUS, SIGFPE, SIGILL, SIGABRT};
#define CRASH_SIGNAL_COUNT (sizeof crash_signals / sizeof crash_signals[0])

static bool takes_more(int fd, int wait_ms)
{
    struct pollfd out = {.fd = fd, .events = POLLOUT};
    return poll(&out, 1, wait_ms) > 0;
}

static void on_crash(int number)
{
    if (rescue.active) {
        if (takes_more(rescue.out, 0)) {
            ssize_t written = write(rescue.out, rescue.bytes, rescue.length);
            (void)written;
        }
        if (rescue.has_modes) {
            tcsetattr(STDIN_FILENO, TCSANOW, &rescue.modes);
        }
    }
    raise(number); /* SA_RESETHAND: now the default, with its core file */
}

void cb_tty_guard(struct cb_tty *tty, const char *bytes, size_t length)
{
    rescue.length = length < sizeof rescue.bytes ? length : sizeof rescue.bytes;
    memcpy(rescue.bytes, bytes, rescue.length);
    rescue.out = tty->out;
    for (size_t i = 0; i < CRASH_SIGNAL_COUNT; i++) {
        struct sigaction old;
        /* A sanitizer's own handler says more than ours could. */
        if (sigaction(crash_signals[i], NULL, &old) == 0 && old.sa_handler == SIG_DFL) {
            struct sigaction action = {.sa_handler = on_crash};
            action.sa_flags = (int)SA_RESETHAND | SA_NODEFER;
            sigemptyset(&action.sa_mask);
            sigaction(crash_signals[i], &action, NULL);
        }
    }
    rescue.active = 1;
}

static void end_guard(void)
{
    rescue.active = 0;
    for (size_t i = 0; i < CRASH_SIGNAL_COUNT; i++) {
        struct sigaction old;
        if (sigaction(crash_signals[i], NULL, &old) == 0 && old.sa_handler == on_crash) {
            signal(crash_signals[i], SIG_DFL);
        }
    }
}

enum cb_status cb_tty_open(struct cb_tty **out, struct cb_err *err)
{
    *out = NULL;
    struct cb_tty *tty = cb_mem_new(1, sizeof *tty);
    /* That a write never waits is a trait of the open terminal, which we share with the shell and
     * whoever else writes there: ours is opened anew. */
    tty->out = open("/proc/self/fd/1", O_WRONLY | O_NONBLOCK | O_NOCTTY | O_CLOEXEC);
    if (tty->out < 0) { /* somebody else's terminal (su), no /proc */
        tty->out = STDOUT_FILENO;
        tty->shared = true;
    }
    int seen = fcntl(tty->out, F_DUPFD_CLOEXEC, 0);
    tty->stream = seen >= 0 ? fdopen(seen, "w") : NULL;
    tty->pipe[0] = tty->pipe[1] = -1;
    if (tty->stream == NULL || pipe2(tty->pipe, O_CLOEXEC) != 0 ||
        fcntl(tty->pipe[0], F_SETFL, O_NONBLOCK) != 0) {
        int why = errno;
        if (tty->stream == NULL && seen >= 0) {
            close(seen);
        }
        cb_tty_close(tty);
        return cb_err_set(err, CB_IO, "the terminal can't be opened: %s", strerror(why));
    }
    (void)fcntl(tty->pipe[1], F_SETPIPE_SZ, PIPE_BYTES);
    rescue.has_modes = tcgetattr(STDIN_FILENO, &rescue.modes) == 0;
    *out = tty;
    return CB_OK;
}

void cb_tty_close(struct cb_tty *tty)
{
    if (tty == NULL) {
        return;
    }
    end_guard();
    if (tty->stream != NULL) {
        fclose(tty->stream);
    }
    for (int end = 0; end < 2; end++) {
        if (tty->pipe[end] >= 0) {
            close(tty->pipe[end]);
        }
    }
    if (!tty->shared) {
        close(tty->out);
    }
    cb_str_fini(&tty->waiting);
    free(tty);
}

FILE *cb_tty_stream(struct cb_tty *tty)
{
    return tty->stream;
}

void cb_tty_catch(struct cb_tty *tty)
{
    dup3(tty->pipe[1], fileno(tty->stream), O_CLOEXEC);
}

size_t cb_tty_room(const struct cb_tty *tty)
{
    int bytes = fcntl(tty->pipe[1], F_GETPIPE_SZ);
    /* pipe(7): whole pages. A write that does not fit into the last one begins another, so that
     * half of the room may lie idle. */
    return (bytes > 0 ? (size_t)bytes : PIPE_BUF) / 2;
}

void cb_tty_gather(struct cb_tty *tty)
{
    char bytes[4096];
    ssize_t got;
    while ((got = read(tty->pipe[0], bytes, sizeof bytes)) > 0) {
        cb_str_add_n(&tty->waiting, bytes, (size_t)got);
    }
}

/* TCSANOW in both: another wish would wait until the terminal has taken everything. */
void cb_tty_raw(struct cb_tty *tty)
{
    (void)tty;
    if (!rescue.has_modes) {
        return;
    }
    struct termios modes = rescue.modes;
    modes.c_iflag &= ~(tcflag_t)(BRKINT | PARMRK | IXON | ICRNL | INLCR | IGNCR);
    modes.c_oflag &= ~(tcflag_t)OPOST;
    modes.c_lflag &= ~(tcflag_t)(ECHO | ECHONL | ICANON | ISIG | IEXTEN);
    modes.c_cc[VMIN] = 1;
    modes.c_cc[VTIME] = 0;
    tcsetattr(STDIN_FILENO, TCSANOW, &modes);
}

void cb_tty_back(struct cb_tty *tty)
{
    (void)tty;
    if (rescue.has_modes) {
        tcsetattr(STDIN_FILENO, TCSANOW, &rescue.modes);
    }
}

bool cb_tty_size(const struct cb_tty *tty, int *rows, int *columns)
{
    struct winsize size;
    if (ioctl(tty->out, TIOCGWINSZ, &size) != 0 || size.ws_row == 0 || size.ws_col == 0) {
        return false;
    }
    *rows = size.ws_row;
    *columns = size.ws_col;
    return true;
}

void cb_tty_add(struct cb_tty *tty, const char *bytes)
{
    cb_tty_gather(tty);
    cb_str_add(&tty->waiting, bytes);
}

static bool waits(const struct cb_tty *tty)
{
    return tty->sent < tty->waiting.length;
}

bool cb_tty_send(struct cb_tty *tty)
{
    bool kept = true;
    cb_tty_gather(tty);
    while (waits(tty)) {
        size_t length = tty->waiting.length - tty->sent;
        if (tty->shared) {
            /* Such a write sleeps until all its bytes fit; of what poll says nothing more is known
             * than that one does. */
            if (!takes_more(tty->out, 0)) {
                break;
            }
            length = 1;
        }
        ssize_t written = write(tty->out, tty->waiting.text + tty->sent, length);
        if (written > 0) {
            tty->sent += (size_t)written;
        } else if (written == 0 || errno == EAGAIN) {
            break;
        } else if (errno != EINTR) {
            kept = false;
            break;
        }
    }
    if (!kept || !waits(tty)) {
        cb_str_clear(&tty->waiting);
        tty->sent = 0;
    }
    return kept;
}

int cb_tty_out_fd(const struct cb_tty *tty)
{
    return waits(tty) ? tty->out : -1;
}

void cb_tty_drain(struct cb_tty *tty, int most_ms)
{
    int64_t end = cb_clock_monotonic_ms() + most_ms;
    int64_t left;
    cb_tty_send(tty);
    while (waits(tty) && (left = end - cb_clock_monotonic_ms()) > 0) {
        if (takes_more(tty->out, (int)left)) {
            cb_tty_send(tty);
        }
    }
}
