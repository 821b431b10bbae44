/* SPDX-License-Identifier: MIT */
#include "shell/spawn.h"

#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <stdint.h>
#include <unistd.h>

extern char **environ;

int cb_spawn(pid_t *pid, const char *const *words, int in, int out, bool away)
{
    posix_spawn_file_actions_t files;
    posix_spawnattr_t attr;
    sigset_t none, all;
    sigemptyset(&none);
    sigfillset(&all);
    posix_spawn_file_actions_init(&files);
    posix_spawnattr_init(&attr);
    if (in >= 0) {
        posix_spawn_file_actions_adddup2(&files, in, STDIN_FILENO);
    } else {
        posix_spawn_file_actions_addopen(&files, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
    }
    if (out >= 0) {
        posix_spawn_file_actions_adddup2(&files, out, STDOUT_FILENO);
    } else {
        posix_spawn_file_actions_addopen(&files, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
    }
    posix_spawn_file_actions_addopen(&files, STDERR_FILENO, "/dev/null", O_WRONLY, 0);
    posix_spawnattr_setsigmask(&attr, &none);
    posix_spawnattr_setsigdefault(&attr, &all);
    posix_spawnattr_setpgroup(&attr, 0);
    const int apart = away ? POSIX_SPAWN_SETSID : POSIX_SPAWN_SETPGROUP;
    posix_spawnattr_setflags(&attr,
                             (short)(POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETSIGDEF | apart));
    const int fault =
        posix_spawnp(pid, words[0], &files, &attr, (char *const *)(uintptr_t)words, environ);
    posix_spawnattr_destroy(&attr);
    posix_spawn_file_actions_destroy(&files);
    return fault;
}
