/* SPDX-License-Identifier: MIT */
#include "support/desk.h"

#include <dirent.h>
#include <fcntl.h>
#include <ftw.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

extern char **environ;

#define PATIENCE_MS 10000 /* neither takes so long to come up */

int64_t desk_now_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

const char *desk_path(const struct desk *desk, const char *name)
{
    static char paths[16][512];
    static size_t next;
    char *path = paths[next++ % 16];
    snprintf(path, sizeof paths[0], "%s/%s", desk->folder, name);
    return path;
}

static const char *file_text(const char *path)
{
    static char text[262144];
    FILE *file = fopen(path, "r");
    size_t got = file != NULL ? fread(text, 1, sizeof text - 1, file) : 0;
    text[got] = '\0';
    if (file != NULL) {
        fclose(file);
    }
    return text;
}

static bool wait_for(const char *path, const char *part)
{
    int64_t end = desk_now_ms() + PATIENCE_MS;
    while (strstr(file_text(path), part) == NULL) {
        if (desk_now_ms() >= end) {
            return false;
        }
        poll(NULL, 0, 5);
    }
    return true;
}

static pid_t spawn_to(const char *out_path, int in, bool quiet, char *const argv[])
{
    posix_spawn_file_actions_t files;
    posix_spawn_file_actions_init(&files);
    posix_spawn_file_actions_addopen(&files, 1, out_path, O_WRONLY | O_CREAT | O_TRUNC, 0600);
    if (in >= 0) {
        posix_spawn_file_actions_adddup2(&files, in, 0);
    }
    if (quiet) {
        posix_spawn_file_actions_addopen(&files, 2, "/dev/null", O_WRONLY, 0);
    }
    pid_t pid;
    bool good = posix_spawnp(&pid, argv[0], &files, NULL, argv, environ) == 0;
    posix_spawn_file_actions_destroy(&files);
    return good ? pid : 0;
}

bool desk_open(struct desk *desk)
{
    const char *tmp = getenv("TMPDIR");
    *desk = (struct desk){0};
    snprintf(desk->folder, sizeof desk->folder, "%s/desk.XXXXXX", tmp != NULL ? tmp : "/tmp");
    if (mkdtemp(desk->folder) == NULL) {
        desk->folder[0] = '\0';
        return false;
    }
    setenv("XDG_RUNTIME_DIR", desk->folder, 1);
    unsetenv("DBUS_SESSION_BUS_ADDRESS");
    return true;
}

static int remove_one(const char *name, const struct stat *status, int type, struct FTW *walk)
{
    (void)status;
    (void)type;
    (void)walk;
    return remove(name);
}

void desk_close(struct desk *desk)
{
    if (desk->daemon_in != NULL) {
        fclose(desk->daemon_in);
        desk->daemon_in = NULL;
    }
    desk_stop(&desk->daemon);
    desk_stop(&desk->bus);
    if (desk->folder[0] != '\0') {
        nftw(desk->folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
    }
}

bool desk_start_bus(struct desk *desk)
{
    FILE *file = fopen(desk_path(desk, "bus.conf"), "w");
    if (file == NULL) {
        return false;
    }
    fprintf(file,
            "<busconfig><type>session</type><listen>unix:path=%s/bus.socket</listen>"
            "<servicedir>%s/services</servicedir>"
            "<policy context='default'><allow send_destination='*' eavesdrop='true'/>"
            "<allow eavesdrop='true'/><allow own='*'/></policy></busconfig>",
            desk->folder, desk->folder);
    fclose(file);
    char name[] = "dbus-daemon", nofork[] = "--nofork", print[] = "--print-address=1";
    char config[600], address[600];
    snprintf(config, sizeof config, "--config-file=%s", desk_path(desk, "bus.conf"));
    char *argv[] = {name, config, nofork, print, NULL};
    desk->bus = spawn_to(desk_path(desk, "bus.out"), -1, true, argv);
    if (desk->bus == 0 || !wait_for(desk_path(desk, "bus.out"), "unix:")) {
        return false;
    }
    snprintf(address, sizeof address, "unix:path=%s", desk_path(desk, "bus.socket"));
    setenv("DBUS_SESSION_BUS_ADDRESS", address, 1);
    return true;
}

const char *desk_mock(void)
{
    static char program[600];
    char self[500];
    ssize_t length = readlink("/proc/self/exe", self, sizeof self - 1);
    self[length > 0 ? length : 0] = '\0';
    char *slash = strrchr(self, '/');
    if (slash != NULL) {
        *slash = '\0';
    }
    snprintf(program, sizeof program, "%s/../tools/mock_notify", self);
    return program;
}

bool desk_spawn_daemon(struct desk *desk, const char *capabilities)
{
    char program[600], *words = strdup(capabilities);
    int ends[2];
    if (pipe2(ends, O_CLOEXEC) != 0) {
        free(words);
        return false;
    }
    snprintf(program, sizeof program, "%s", desk_mock());
    char *argv[] = {program, words, NULL};
    desk->daemon = spawn_to(desk_path(desk, "daemon.out"), ends[0], false, argv);
    close(ends[0]);
    free(words);
    if (desk->daemon_in != NULL) {
        fclose(desk->daemon_in);
    }
    desk->daemon_in = fdopen(ends[1], "w");
    return desk->daemon != 0;
}

bool desk_start_daemon(struct desk *desk, const char *capabilities)
{
    return desk_spawn_daemon(desk, capabilities) &&
           wait_for(desk_path(desk, "daemon.out"), "ready");
}

static bool write_file(const char *path, const char *text, size_t length)
{
    FILE *file = fopen(path, "w");
    bool good = file != NULL && fwrite(text, 1, length, file) == length;
    return file != NULL && fclose(file) == 0 && good;
}

static bool copy_program(const char *from, const char *to)
{
    char bytes[65536];
    size_t got;
    FILE *in = fopen(from, "r");
    FILE *out = fopen(to, "w");
    while (in != NULL && out != NULL && (got = fread(bytes, 1, sizeof bytes, in)) > 0) {
        fwrite(bytes, 1, got, out);
    }
    bool good = in != NULL && out != NULL && ferror(in) == 0;
    good = in != NULL && fclose(in) == 0 && good;
    return out != NULL && fclose(out) == 0 && good && chmod(to, 0700) == 0;
}

const char *desk_install(const struct desk *desk, const char *name, const char *script,
                         bool runnable)
{
    static const char *const folders[] = {"", "/bin", "/share", "/libexec", "/libexec/coatbell"};
    const char *root = getenv("CB_ROOT");
    const char *build = getenv("CB_BUILD");
    char set[400], path[480], from[512], text[512];
    snprintf(set, sizeof set, "%s", desk_path(desk, name));
    for (size_t i = 0; i < sizeof folders / sizeof folders[0]; i++) {
        snprintf(path, sizeof path, "%s%s", set, folders[i]);
        mkdir(path, 0700);
    }
    snprintf(from, sizeof from, "%s/shared", root != NULL ? root : getenv("PWD"));
    snprintf(path, sizeof path, "%s/share/coatbell", set);
    bool good = symlink(from, path) == 0;
    snprintf(from, sizeof from, "%s/coatbell", build != NULL ? build : "build/release");
    snprintf(path, sizeof path, "%s/bin/coatbell", set);
    good = copy_program(from, path) && good;
    int length = snprintf(text, sizeof text, "#!/bin/sh\n%s\n", script);
    snprintf(path, sizeof path, "%s/libexec/coatbell/coatbell-bell", set);
    good =
        write_file(path, text, (size_t)length) && chmod(path, runnable ? 0700 : 0600) == 0 && good;
    char bin[200];
    snprintf(bin, sizeof bin, "%s/bin", name);
    return good ? desk_path(desk, bin) : NULL;
}

void desk_stop(pid_t *pid)
{
    if (*pid > 0) {
        kill(*pid, SIGKILL);
        waitpid(*pid, NULL, 0);
        *pid = 0;
    }
}

const char *desk_said(const struct desk *desk)
{
    return file_text(desk_path(desk, "daemon.out"));
}

int desk_count(const struct desk *desk, const char *part)
{
    int count = 0;
    const char *at = desk_said(desk);
    while ((at = strstr(at, part)) != NULL) {
        count++;
        at++;
    }
    return count;
}

const char *desk_stands(const struct desk *desk)
{
    static char text[4096];
    const char *last = NULL;
    for (const char *at = desk_said(desk); (at = strstr(at, " stands")) != NULL;) {
        at += strlen(" stands");
        last = at;
    }
    size_t length = last != NULL ? strcspn(last, "\n") : 0;
    snprintf(text, sizeof text, "%.*s", (int)length, last != NULL ? last : "");
    return text[0] == ' ' ? text + 1 : text;
}

bool desk_tell(struct desk *desk, const char *command)
{
    char heard[300];
    snprintf(heard, sizeof heard, "heard: %s\n", command);
    int before = desk_count(desk, heard);
    fprintf(desk->daemon_in, "%s\n", command);
    fflush(desk->daemon_in);
    int64_t end = desk_now_ms() + PATIENCE_MS;
    while (desk_count(desk, heard) == before) {
        if (desk_now_ms() >= end) {
            return false;
        }
        poll(NULL, 0, 5);
    }
    return true;
}

pid_t desk_bell_of(pid_t parent)
{
    pid_t found = 0;
    DIR *proc = opendir("/proc");
    for (struct dirent *entry; found == 0 && (entry = readdir(proc)) != NULL;) {
        char path[300], name[64] = "";
        int pid, ppid;
        char status;
        snprintf(path, sizeof path, "/proc/%s/stat", entry->d_name);
        FILE *file = fopen(path, "r");
        if (file != NULL) {
            if (fscanf(file, "%d (%63[^)]) %c %d", &pid, name, &status, &ppid) == 4 &&
                ppid == parent && strcmp(name, "coatbell-bell") == 0 && status != 'Z') {
                found = pid;
            }
            fclose(file);
        }
    }
    closedir(proc);
    return found;
}

bool desk_is_gone(pid_t pid)
{
    char path[64];
    snprintf(path, sizeof path, "/proc/%d/stat", (int)pid);
    const char *text = file_text(path);
    return text[0] == '\0' || strstr(text, ") Z ") != NULL;
}
