/* SPDX-License-Identifier: MIT */
#include "support/seat.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include "support/desk.h"

enum { ARGUMENTS_MAX = 16 };

void seat_program(char path[SEAT_PATH_SIZE])
{
    const char *build = getenv("CB_BUILD");
    char self[500];
    ssize_t length = readlink("/proc/self/exe", self, sizeof self - 1);
    self[length > 0 ? length : 0] = '\0';
    for (int up = 0; up < 3 && strrchr(self, '/') != NULL; up++) {
        *strrchr(self, '/') = '\0'; /* tests/FOLDER/test */
    }
    snprintf(path, SEAT_PATH_SIZE, "%.500s/coatbell", build != NULL ? build : self);
}

static void be_the_program(const struct seat *seat, const char *home, const char *type,
                           const char *const *arguments)
{
    char path[SEAT_PATH_SIZE];
    const char *argv[ARGUMENTS_MAX + 2] = {path};
    seat_program(path);
    for (int i = 0; i < ARGUMENTS_MAX && arguments[i] != NULL; i++) {
        argv[i + 1] = arguments[i];
    }
    setenv("HOME", home, 1);
    setenv("TERM", type, 1);
    setenv("LC_ALL", "C.UTF-8", 1);
    unsetenv("XDG_DATA_HOME");
    unsetenv("XDG_CONFIG_HOME");
    const char *preload = getenv("CB_FAULT_PRELOAD"); /* fault.h: for the program alone */
    if (preload != NULL) {
        setenv("LD_PRELOAD", preload, 1);
    }
    setsid();
    int fd = open(seat->terminal, O_RDWR);
    ioctl(fd, TIOCSCTTY, 0);
    dup2(fd, 0);
    dup2(fd, 1);
    dup2(fd, 2);
    execv(path, (char *const *)(uintptr_t)argv);
    _exit(127);
}

bool seat_start(struct seat *seat, const char *home, const char *type, const char *const *arguments)
{
    *seat = (struct seat){.pty = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC)};
    struct winsize size = {.ws_row = VT52_ROWS, .ws_col = VT52_COLUMNS};
    if (seat->pty < 0 || grantpt(seat->pty) != 0 || unlockpt(seat->pty) != 0 ||
        ptsname_r(seat->pty, seat->terminal, sizeof seat->terminal) != 0 ||
        ioctl(seat->pty, TIOCSWINSZ, &size) != 0 ||
        fcntl(seat->pty, F_SETFL, O_RDWR | O_NONBLOCK) != 0) {
        return false;
    }
    vt52_init(&seat->screen);
    fflush(stdout);
    seat->program = fork();
    if (seat->program == 0) {
        be_the_program(seat, home, type, arguments);
    }
    return seat->program > 0;
}

void seat_press(const struct seat *seat, const char *keys)
{
    ssize_t written = write(seat->pty, keys, strlen(keys));
    (void)written;
}

size_t seat_read(struct seat *seat, size_t most)
{
    char bytes[8192];
    ssize_t got = read(seat->pty, bytes, most < sizeof bytes ? most : sizeof bytes);
    if (got <= 0) {
        seat->closed = got == 0 || (errno != EAGAIN && errno != EINTR);
        return 0;
    }
    vt52_feed(&seat->screen, bytes, (size_t)got);
    return (size_t)got;
}

bool seat_wait(struct seat *seat, const char *text, int most_ms)
{
    int64_t end = desk_now_ms() + most_ms;
    while (!vt52_has(&seat->screen, text) && !seat->closed && desk_now_ms() < end) {
        struct pollfd out = {.fd = seat->pty, .events = POLLIN};
        if (poll(&out, 1, 10) > 0) {
            seat_read(seat, SIZE_MAX);
        }
    }
    return vt52_has(&seat->screen, text);
}

void seat_close(struct seat *seat)
{
    desk_stop(&seat->program);
    if (seat->pty > 0) {
        close(seat->pty);
        seat->pty = 0;
    }
}
