/* SPDX-License-Identifier: MIT */
/* bench_backup [EVENTS]: the bench's backups of a log of years, that of the day and that of the
 * month, piece by piece: how many pieces, how long all of them take, the longest one, and the
 * longest of those that give a finished copy its name, which wait for the disk. */
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "base/str.h"
#include "shell/keeper.h"
#include "shell/store.h"
#include "support/big_log.h"

static double now_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec * 1000 + (double)now.tv_nsec / 1e6;
}

int main(int argc, char **argv)
{
    char folder[] = "/tmp/cb-backup-XXXXXX";
    char path[64], copy[96], month[96], last[32];
    long long events = 300000;
    struct cb_err err = {0};
    struct cb_store *store;
    struct stat status;
    if (argc > 1) {
        (void)cb_str_integer(argv[1], &events);
    }
    if (!mkdtemp(folder)) {
        return 1;
    }
    snprintf(path, sizeof path, "%s/log.db", folder);
    snprintf(copy, sizeof copy, "%s.daily-1970-01-01", path);
    snprintf(month, sizeof month, "%s.monthly-1970-01", path);
    const struct big_log plan = {
        .events = (size_t)events, .units = 100, .seed = 1, .recipes = "recipes"};
    if (big_log_make(&plan, path, last, &err) != CB_OK ||
        cb_store_open(path, CB_STORE_APPEND, &store, &err) != CB_OK) {
        fprintf(stderr, "%s\n", err.text);
        return 1;
    }
    const struct cb_zone utc = {0};
    struct cb_arena arena = {0};
    struct cb_keeper keeper = {.store = store, .zone = &utc};
    double longest = 0, naming = 0, all = 0;
    size_t pieces = 0, worst = 0;
    const char *line = cb_store_lock(store, &err) == CB_OK ? NULL : err.text;
    while (!line && cb_keeper_is_due(&keeper, 0)) {
        const double at = now_ms();
        line = cb_keeper_step(&keeper, 0, &arena);
        const double took = now_ms() - at;
        double *most = keeper.made ? &naming : &longest;
        pieces++;
        all += took;
        worst = most == &longest && took > longest ? pieces : worst;
        *most = took > *most ? took : *most;
    }
    cb_keeper_fini(&keeper);
    cb_store_close(store);
    cb_arena_fini(&arena);
    if (line || stat(copy, &status) != 0) {
        fprintf(stderr, "%s\n", line ? line : copy);
        return 1;
    }
    printf("backups of %lld events, %.1f MB each: %zu pieces in %.0f ms; longest piece %.1f ms "
           "(number %zu), but %.1f ms for a name\n",
           events, (double)status.st_size / 1e6, pieces, all, longest, worst, naming);
    unlink(copy);
    unlink(month);
    snprintf(copy, sizeof copy, "%s.lock", path);
    unlink(copy);
    unlink(path);
    return rmdir(folder);
}
