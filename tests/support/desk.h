/* SPDX-License-Identifier: MIT */
/*
 * A desktop for tests and measurements: a session bus that knows no service it could start but what
 * a test puts into the folder services, and on it a notification daemon of our own
 * (tools/mock_notify) that can be told to press buttons, to hang and to die. Sets XDG_RUNTIME_DIR
 * and DBUS_SESSION_BUS_ADDRESS of this process.
 */
#ifndef CB_TESTS_DESK_H
#define CB_TESTS_DESK_H

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <sys/types.h>

struct desk {
    char folder[256];
    pid_t bus, daemon; /* 0: none */
    FILE *daemon_in;   /* its standard input, see mock_notify.c */
};

bool desk_open(struct desk *desk);  /* a new folder under TMPDIR; neither bus nor daemon yet */
void desk_close(struct desk *desk); /* ends both and takes the folder away with all in it */
bool desk_start_bus(struct desk *desk);
bool desk_spawn_daemon(struct desk *desk, const char *capabilities); /* waits for nothing */
bool desk_start_daemon(struct desk *desk, const char *capabilities); /* true once it is ready */
const char *desk_mock(void); /* where the daemon's program lies, beside this one */
void desk_stop(pid_t *pid);  /* SIGKILL, waited for; *pid is 0 then */

/* A path in the folder; good until the sixteenth call after this one. */
const char *desk_path(const struct desk *desk, const char *name);
const char *desk_said(const struct desk *desk); /* all lines of the daemon, until the next call */
int desk_count(const struct desk *desk, const char *part); /* how often that stands in them */
/* What the daemon has on its screen now, "1=[BODY] 3=[BODY]"; "" is an empty screen. */
const char *desk_stands(const struct desk *desk);
/* A command to the daemon, see mock_notify.c; true once it has heard it. */
bool desk_tell(struct desk *desk, const char *command);

/* The program of this build (CB_BUILD) installed into the folder of that name, with a shell script
 * as its bell; what CB_BUILD is to be so that it is run. NULL: it can't be written. */
const char *desk_install(const struct desk *desk, const char *name, const char *script,
                         bool runnable);

int64_t desk_now_ms(void);        /* CLOCK_MONOTONIC */
pid_t desk_bell_of(pid_t parent); /* a child of that process by its name; 0: none */
bool desk_is_gone(pid_t pid);     /* or only its parent has still to wait for it */

#endif
