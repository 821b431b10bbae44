/* SPDX-License-Identifier: MIT */
/*
 * One run of a program that the painter has named: started without a shell, in a session of its
 * own, and never waited for but at the end. It is given a little text and may answer a little; what
 * takes too long or talks too much is ended. Of ours it has nothing but standard input and output
 * and the environment.
 */
#ifndef CB_SHELL_ERRAND_H
#define CB_SHELL_ERRAND_H

#include <stdbool.h>
#include <stdint.h>
#include <sys/types.h>

#include "base/err.h"

#define CB_ERRAND_MS     10000 /* then it is asked to end (SIGTERM) */
#define CB_ERRAND_END_MS 1000  /* and so much later it is ended (SIGKILL) */
#define CB_ERRAND_BYTES  256   /* of an answer; who says more is ended at once */

/* Zeroed is idle. */
struct cb_errand {
    pid_t pid; /* 0: nothing runs */
    int out;   /* its standard output, where it runs and is asked for an answer */
    bool asked, asked_to_end, too_much;
    int64_t deadline_ms;              /* monotonic, while it runs */
    char answer[CB_ERRAND_BYTES + 1]; /* once it is over: its first line, without the end of it */
    size_t length;
};

/* Nothing runs yet. words: the program, by its path or as the PATH finds it, and its arguments,
 * ended by a NULL. said: on its standard input, of which it may read nothing; NULL: that is empty.
 * asked: is its standard output an answer? Else that is dropped, as all its errors are. CB_FAILED:
 * it can't be started, and a few words say why. */
enum cb_status cb_errand_start(struct cb_errand *errand, const char *const *words, const char *said,
                               bool asked, int64_t now_ms, struct cb_err *err);
/* Reads, ends, takes leave; true once: it is over. Then CB_OK and the first line of its answer
 * stands, or a few words say why not ("ended with 3", "took longer than 10 s"). */
bool cb_errand_turn(struct cb_errand *errand, int64_t now_ms, struct cb_err *err);
int cb_errand_fd(const struct cb_errand *errand);           /* to be waited on with POLLIN; -1 */
int64_t cb_errand_deadline(const struct cb_errand *errand); /* of the next turn; CB_TIME_NONE */
/* Asks what runs to end, and ends it 200 ms later. */
void cb_errand_fini(struct cb_errand *errand);

#endif
