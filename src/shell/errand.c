/* SPDX-License-Identifier: MIT */
#include "shell/errand.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/time.h"
#include "shell/spawn.h"

/* One that was killed is gone by then, unless a driver holds it; one that is asked has so long to
 * end. Estimate. */
#define REAP_MS    200
#define REAP_STEPS 20
#define READS_MAX  16 /* a turn; the screen does not wait for who talks on */

struct ends {
    int in[2], out[2]; /* -1: none */
};

static void close_fd(int *fd)
{
    if (*fd >= 0) {
        close(*fd);
        *fd = -1;
    }
}

static void close_ends(struct ends *ends)
{
    for (int i = 0; i < 2; i++) {
        close_fd(&ends->in[i]);
        close_fd(&ends->out[i]);
    }
}

enum cb_status cb_errand_start(struct cb_errand *errand, const char *const *words, const char *said,
                               bool asked, int64_t now_ms, struct cb_err *err)
{
    struct ends ends = {{-1, -1}, {-1, -1}};
    *errand = (struct cb_errand){.out = -1};
    if ((said != NULL && pipe2(ends.in, O_CLOEXEC) != 0) ||
        (asked && pipe2(ends.out, O_CLOEXEC) != 0)) {
        const int why = errno;
        close_ends(&ends);
        return cb_err_set(err, CB_FAILED, "can't be started: %s", strerror(why));
    }
    pid_t pid = 0;
    const int fault = cb_spawn(&pid, words, ends.in[0], ends.out[1], true);
    if (fault == 0 && said != NULL) {
        /* Less than a pipe holds, so that nobody has to read it. */
        fcntl(ends.in[1], F_SETFL, O_NONBLOCK);
        const ssize_t written = write(ends.in[1], said, strlen(said));
        (void)written;
    }
    if (fault == 0 && asked) {
        fcntl(ends.out[0], F_SETFL, O_NONBLOCK);
        errand->out = ends.out[0];
        ends.out[0] = -1;
    }
    close_ends(&ends);
    if (fault != 0) {
        return fault == ENOENT ? cb_err_set(err, CB_FAILED, "is not there")
               : fault == EACCES
                   ? cb_err_set(err, CB_FAILED, "may not be run")
                   : cb_err_set(err, CB_FAILED, "can't be started: %s", strerror(fault));
    }
    errand->pid = pid;
    errand->asked = asked;
    errand->deadline_ms = now_ms + CB_ERRAND_MS;
    return CB_OK;
}

static void end_group(const struct cb_errand *errand, int signal)
{
    kill(-errand->pid, signal);
}

static void read_answer(struct cb_errand *errand)
{
    char more[CB_ERRAND_BYTES];
    for (int i = 0; i < READS_MAX && errand->out >= 0; i++) {
        const ssize_t got = read(errand->out, more, sizeof more);
        if (got < 0) {
            return; /* nothing there now */
        }
        if (got == 0) {
            close_fd(&errand->out);
            return;
        }
        const size_t room = CB_ERRAND_BYTES - errand->length;
        const size_t taken = (size_t)got < room ? (size_t)got : room;
        memcpy(errand->answer + errand->length, more, taken);
        errand->length += taken;
        if ((size_t)got > room) {
            errand->too_much = true;
            close_fd(&errand->out);
            end_group(errand, SIGKILL);
        }
    }
}

static enum cb_status judge(const struct cb_errand *errand, bool known, int how, struct cb_err *err)
{
    if (errand->too_much) {
        return cb_err_set(err, CB_FAILED, "said more than %d bytes", CB_ERRAND_BYTES);
    }
    if (errand->asked_to_end) {
        return cb_err_set(err, CB_FAILED, "took longer than %d s", CB_ERRAND_MS / 1000);
    }
    if (known && WIFSIGNALED(how)) {
        return cb_err_set(err, CB_FAILED, "ended by signal %d", WTERMSIG(how));
    }
    if (known && WIFEXITED(how) && WEXITSTATUS(how) != 0) {
        return cb_err_set(err, CB_FAILED, "ended with %d", WEXITSTATUS(how));
    }
    return CB_OK;
}

bool cb_errand_turn(struct cb_errand *errand, int64_t now_ms, struct cb_err *err)
{
    if (errand->pid == 0) {
        return false;
    }
    int how = 0;
    const pid_t gone = waitpid(errand->pid, &how, WNOHANG);
    read_answer(errand); /* after it: what it said last is there */
    if (gone == 0) {
        if (now_ms >= errand->deadline_ms) {
            end_group(errand, errand->asked_to_end ? SIGKILL : SIGTERM);
            errand->asked_to_end = true;
            errand->deadline_ms = now_ms + CB_ERRAND_END_MS;
        }
        return false;
    }
    if (errand->asked_to_end) {
        end_group(errand, SIGKILL); /* what it has started, and did not hear of it */
    }
    /* What it leaves behind in its group may hold the pipe, and is not waited for. */
    close_fd(&errand->out);
    errand->pid = 0;
    errand->answer[errand->length] = '\0';
    if (memchr(errand->answer, '\0', errand->length) != NULL) {
        errand->answer[0] = '\0'; /* no text */
    }
    errand->answer[strcspn(errand->answer, "\r\n")] = '\0';
    *err = (struct cb_err){0};
    (void)judge(errand, gone > 0, how, err);
    return true;
}

int cb_errand_fd(const struct cb_errand *errand)
{
    return errand->pid != 0 && errand->asked ? errand->out : -1;
}

int64_t cb_errand_deadline(const struct cb_errand *errand)
{
    return errand->pid != 0 ? errand->deadline_ms : CB_TIME_NONE;
}

static bool is_reaped(const struct cb_errand *errand)
{
    for (int i = 0; i < REAP_STEPS; i++) {
        if (waitpid(errand->pid, NULL, WNOHANG) != 0) {
            return true;
        }
        poll(NULL, 0, REAP_MS / REAP_STEPS);
    }
    return false;
}

void cb_errand_fini(struct cb_errand *errand)
{
    if (errand->pid == 0) {
        return;
    }
    end_group(errand, SIGTERM);
    const bool ended = is_reaped(errand);
    end_group(errand, SIGKILL); /* what it has started, too */
    if (!ended) {
        (void)is_reaped(errand); /* one that a driver holds is left to init */
    }
    close_fd(&errand->out);
    errand->pid = 0;
}
