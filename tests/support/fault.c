/* SPDX-License-Identifier: MIT */
#include "support/fault.h"

#include <dirent.h>
#include <fcntl.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

enum { WORKERS = 2, TOLD_MAX = 5 };

static int remove_one(const char *name, const struct stat *status, int type, struct FTW *walk)
{
    (void)status;
    (void)type;
    (void)walk;
    return remove(name);
}

static bool write_text(const char *path, const char *text)
{
    FILE *file = fopen(path, "w");
    return file != NULL && fputs(text, file) >= 0 && fclose(file) == 0;
}

bool fault_open(struct fault *fault)
{
    const char *tmp = getenv("TMPDIR"), *build = getenv("CB_BUILD");
    char path[256];
    *fault = (struct fault){0};
    snprintf(fault->folder, sizeof fault->folder, "%.100s/fault-XXXXXX", tmp ? tmp : "/tmp");
    if (build == NULL || mkdtemp(fault->folder) == NULL) {
        return false;
    }
    snprintf(fault->home, sizeof fault->home, "%s/home", fault->folder);
    snprintf(fault->logs, sizeof fault->logs, "%s/logs", fault->folder);
    snprintf(fault->log, sizeof fault->log, "%s/log.db", fault->logs);
    snprintf(fault->shim, sizeof fault->shim, "%.500s/tests/fault/shim.so", build);
    mkdir(fault->home, 0700);
    mkdir(fault->logs, 0700);
    static const char *const folders[] = {".config", ".config/coatbell"};
    for (size_t i = 0; i < sizeof folders / sizeof folders[0]; i++) {
        snprintf(path, sizeof path, "%s/%s", fault->home, folders[i]);
        mkdir(path, 0700);
    }
    snprintf(path, sizeof path, "%s/.config/coatbell/config.yaml", fault->home);
    if (access(fault->shim, R_OK) != 0 || !write_text(path, "bell: no\n")) {
        return false;
    }
    snprintf(path, sizeof path, "%s/shared", fault->folder);
    const int fd = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0600);
    if (fd < 0 || ftruncate(fd, sizeof *fault->shared) != 0) {
        return false;
    }
    void *map = mmap(NULL, sizeof *fault->shared, PROT_READ | PROT_WRITE, MAP_SHARED, fd, 0);
    close(fd);
    fault->shared = map == MAP_FAILED ? NULL : map;
    return fault->shared != NULL;
}

void fault_close(struct fault *fault)
{
    fault_disarm();
    if (fault->shared != NULL) {
        munmap(fault->shared, sizeof *fault->shared);
    }
    if (fault->folder[0] != '\0') {
        nftw(fault->folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
    }
}

void fault_clear(struct fault *fault)
{
    char path[512];
    nftw(fault->logs, remove_one, 8, FTW_DEPTH | FTW_PHYS);
    mkdir(fault->logs, 0700);
    for (fault_rescued(fault, path); path[0] != '\0'; fault_rescued(fault, path)) {
        unlink(path);
    }
}

void fault_arm(struct fault *fault, int at, const char *how, int bytes)
{
    char path[256], number[16];
    memset(fault->shared, 0, sizeof *fault->shared);
    fault->shared->bytes = bytes;
    snprintf(path, sizeof path, "%s/shared", fault->folder);
    snprintf(number, sizeof number, "%d", at);
    setenv("CB_FAULT_SHARED", path, 1);
    setenv("CB_FAULT_FOLDER", fault->logs, 1);
    setenv("CB_FAULT_AT", number, 1);
    setenv("CB_FAULT_HOW", how, 1);
    setenv("CB_FAULT_PRELOAD", fault->shim, 1);
}

void fault_disarm(void)
{
    unsetenv("CB_FAULT_PRELOAD");
    unsetenv("CB_FAULT_AT");
}

static void be_the_program(const struct fault *fault, const char *const *arguments)
{
    char program[600];
    const char *argv[16] = {program};
    size_t count = 1;
    snprintf(program, sizeof program, "%.500s/coatbell", getenv("CB_BUILD"));
    while (count < 13 && arguments[count - 1] != NULL) {
        argv[count] = arguments[count - 1];
        count++;
    }
    argv[count] = "--log";
    argv[count + 1] = fault->log;
    setenv("HOME", fault->home, 1);
    const char *preload = getenv("CB_FAULT_PRELOAD");
    if (preload != NULL) {
        setenv("LD_PRELOAD", preload, 1);
    }
    execv(program, (char *const *)(size_t)argv);
    _exit(127);
}

int fault_run(const struct fault *fault, char said[FAULT_TEXT_MAX], const char *const *arguments)
{
    int ends[2], status = 0;
    size_t length = 0;
    said[0] = '\0';
    if (pipe(ends) != 0) {
        return -1;
    }
    fflush(stdout);
    const pid_t child = fork();
    if (child == 0) {
        const int nothing = open("/dev/null", O_RDONLY);
        dup2(nothing, 0);
        dup2(ends[1], 1);
        dup2(ends[1], 2);
        close(ends[0]);
        close(ends[1]);
        be_the_program(fault, arguments);
    }
    close(ends[1]);
    ssize_t got;
    char bytes[4096];
    while ((got = read(ends[0], bytes, sizeof bytes)) > 0) {
        const size_t room = FAULT_TEXT_MAX - 1 - length;
        const size_t more = (size_t)got < room ? (size_t)got : room;
        memcpy(said + length, bytes, more);
        length += more;
    }
    said[length] = '\0';
    close(ends[0]);
    waitpid(child, &status, 0);
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

/* The plain value of a field of a line of JSON; "": none. */
static void field(const char *line, const char *name, char *value, size_t size)
{
    char start[40];
    const int length = snprintf(start, sizeof start, "\"%s\":", name);
    const char *at = strstr(line, start);
    size_t used = 0;
    if (at != NULL) {
        at += length + (at[length] == '"');
        while (used < size - 1 && *at != '\0' && strchr("\",}\n", *at) == NULL) {
            value[used++] = *at++;
        }
    }
    value[used] = '\0';
}

static void read_event(const char *line, struct fault_event *event)
{
    static const char *const names[] = {"event", "name",   "figure", "stage", "coat",   "text",
                                        "value", "temp_c", "rh_pct", "found", "minutes"};
    size_t used = 0;
    field(line, "id", event->id, sizeof event->id);
    field(line, "press", event->press, sizeof event->press);
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        char value[40];
        field(line, names[i], value, sizeof value);
        used += (size_t)snprintf(event->says + used, sizeof event->says - used, "%s ", value);
    }
}

int fault_export(const struct fault *fault, struct fault_events *events, char said[FAULT_TEXT_MAX])
{
    char path[256], *line = NULL;
    size_t room = 0;
    snprintf(path, sizeof path, "%s/exported.jsonl", fault->folder);
    unlink(path);
    const char *const arguments[] = {"log", "export", path, NULL};
    const int code = fault_run(fault, said, arguments);
    events->count = 0;
    FILE *file = fopen(path, "r");
    while (file != NULL && events->count < FAULT_EVENTS_MAX && getline(&line, &room, file) > 0) {
        read_event(line, &events->items[events->count++]);
    }
    free(line);
    if (file != NULL) {
        fclose(file);
    }
    return code;
}

void fault_rescued(const struct fault *fault, char path[512])
{
    DIR *dir = opendir(fault->home);
    path[0] = '\0';
    for (struct dirent *entry; dir != NULL && (entry = readdir(dir)) != NULL;) {
        if (strncmp(entry->d_name, "coatbell-unsaved-", 17) == 0) {
            snprintf(path, 512, "%s/%s", fault->home, entry->d_name);
        }
    }
    if (dir != NULL) {
        closedir(dir);
    }
}

static bool copy_file(const char *from, const char *to)
{
    char bytes[65536];
    ssize_t got = -1;
    const int in = open(from, O_RDONLY | O_CLOEXEC);
    const int out = open(to, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    while (in >= 0 && out >= 0 && (got = read(in, bytes, sizeof bytes)) > 0) {
        if (write(out, bytes, (size_t)got) != got) {
            got = -1;
            break;
        }
    }
    close(in);
    close(out);
    return got == 0;
}

bool fault_copy_logs(const struct fault *fault, const char *from, const char *to)
{
    (void)fault;
    static const char *const names[] = {"log.db", "log.db-wal"};
    char source[512], target[512];
    mkdir(to, 0700);
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        snprintf(source, sizeof source, "%s/%s", from, names[i]);
        snprintf(target, sizeof target, "%s/%s", to, names[i]);
        if (access(source, F_OK) == 0 && !copy_file(source, target)) {
            return false;
        }
    }
    return true;
}

bool fault_is_prefix(const struct fault_events *events, const struct fault_events *all,
                     char why[512])
{
    const size_t count = events->count;
    for (size_t i = 0; i < count; i++) {
        for (size_t j = 0; j < i; j++) {
            if (strcmp(events->items[i].id, events->items[j].id) == 0) {
                snprintf(why, 512, "event %zu is there twice: %s", i, events->items[i].says);
                return false;
            }
        }
        if (i >= all->count || strcmp(events->items[i].says, all->items[i].says) != 0) {
            snprintf(why, 512, "event %zu of %zu is %s, not %s", i, count, events->items[i].says,
                     i < all->count ? all->items[i].says : "none");
            return false;
        }
    }
    if (count > 0 && count < all->count &&
        strcmp(all->items[count - 1].press, all->items[count].press) == 0) {
        snprintf(why, 512, "half a press, %zu events, the last %s", count,
                 all->items[count - 1].says);
        return false;
    }
    return true;
}

struct shared_sweep {
    int next, failed, outcomes[FAULT_OUTCOMES];
};

static void work(struct shared_sweep *sweep, size_t count, fault_case *one)
{
    struct fault fault;
    if (!fault_open(&fault)) {
        printf("no folder, or no %s\n", fault.shim);
        __sync_fetch_and_add(&sweep->failed, 1);
        return;
    }
    for (size_t i; (i = (size_t)__sync_fetch_and_add(&sweep->next, 1)) < count;) {
        char why[2048] = "";
        int ended = 0;
        fault_clear(&fault);
        const bool good = one(&fault, i, &ended, why);
        fault_disarm();
        __sync_fetch_and_add(&sweep->outcomes[ended], 1);
        if (!good && __sync_fetch_and_add(&sweep->failed, 1) < TOLD_MAX) {
            printf("case %zu: %s\n", i, why);
            fflush(stdout);
        }
    }
    fault_close(&fault);
}

bool fault_sweep(size_t count, fault_case *one, int outcomes[FAULT_OUTCOMES])
{
    struct shared_sweep *sweep =
        mmap(NULL, sizeof *sweep, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    pid_t workers[WORKERS];
    if (sweep == MAP_FAILED) {
        return false;
    }
    fflush(stdout);
    for (int i = 0; i < WORKERS; i++) {
        workers[i] = fork();
        if (workers[i] == 0) {
            work(sweep, count, one);
            fflush(stdout);
            _exit(0);
        }
    }
    for (int i = 0; i < WORKERS; i++) {
        int status = 0;
        waitpid(workers[i], &status, 0);
        sweep->failed += status != 0;
    }
    memcpy(outcomes, sweep->outcomes, sizeof sweep->outcomes);
    const int failed = sweep->failed;
    munmap(sweep, sizeof *sweep);
    if (failed > 0) {
        printf("%d of %zu cases failed\n", failed, count);
    }
    return failed == 0;
}
