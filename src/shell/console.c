/* SPDX-License-Identifier: MIT */
#include "shell/console.h"

#include <errno.h>
#include <fcntl.h>
#include <langinfo.h>
#include <locale.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

void cb_console_start(void)
{
    /* A closed standard stream would hand its number to the log, and a message would then be
     * printed into the database. */
    int fd;
    do {
        fd = open("/dev/null", O_RDWR);
    } while (fd >= 0 && fd <= 2);
    if (fd > 2) {
        close(fd);
    }
    setlocale(LC_CTYPE, "");
    signal(SIGPIPE, SIG_IGN);
    signal(SIGXFSZ, SIG_IGN); /* a limit on files is a full disk, not the end */
}

bool cb_console_is_utf8(void)
{
    return strcmp(nl_langinfo(CODESET), "UTF-8") == 0;
}

bool cb_console_is_terminal(void)
{
    return isatty(STDIN_FILENO) && isatty(STDOUT_FILENO);
}

bool cb_console_err_is_terminal(void)
{
    return isatty(STDERR_FILENO) != 0;
}

int cb_console_columns(void)
{
    struct winsize size;
    bool known = ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0;
    return known ? size.ws_col : 80;
}

enum cb_status cb_console_finish(struct cb_err *err)
{
    static bool told;
    bool had_error = ferror(stdout) != 0;
    errno = 0;
    bool failed = fflush(stdout) != 0;
    int why = errno;
    if (!had_error && !failed) {
        return CB_OK;
    }
    if (why == EPIPE || told) {
        return cb_err_set(err, CB_IO, "%s", "");
    }
    told = true;
    return cb_err_set(err, CB_IO, "standard output could not be written: %s",
                      why != 0 ? strerror(why) : "an earlier write failed");
}
