/* SPDX-License-Identifier: MIT */
/* bench_backup [EVENTS]: the bench's backup of a log of years, piece by piece: how many pieces, how
 * long all of them take and the longest one. */
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "base/str.h"
#include "shell/store.h"
#include "shell/store_backup.h"
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
    char path[64], copy[64], last[32];
    long long events = 300000;
    struct cb_err err = {0};
    struct cb_store *store;
    struct cb_backup *backup = NULL;
    struct stat status;
    if (argc > 1) {
        (void)cb_str_integer(argv[1], &events);
    }
    if (!mkdtemp(folder)) {
        return 1;
    }
    snprintf(path, sizeof path, "%s/log.db", folder);
    snprintf(copy, sizeof copy, "%s/copy.db", folder);
    const struct big_log plan = {
        .events = (size_t)events, .units = 100, .seed = 1, .recipes = "recipes"};
    if (big_log_make(&plan, path, last, &err) != CB_OK ||
        cb_store_open(path, CB_STORE_APPEND, &store, &err) != CB_OK) {
        fprintf(stderr, "%s\n", err.text);
        return 1;
    }
    double longest = 0;
    size_t pieces = 0, worst = 0;
    bool more = true;
    const double begun = now_ms();
    enum cb_status done = cb_backup_begin(store, copy, &backup, &err);
    const double first = now_ms() - begun;
    while (done == CB_OK && more) {
        const double at = now_ms();
        done = cb_backup_step(backup, &more, &err);
        const double took = now_ms() - at;
        pieces++;
        worst = took > longest ? pieces : worst;
        longest = took > longest ? took : longest;
    }
    const double all = now_ms() - begun;
    cb_backup_end(backup);
    cb_store_close(store);
    if (done != CB_OK || stat(copy, &status) != 0) {
        fprintf(stderr, "%s\n", err.text);
        return 1;
    }
    printf("backup of %lld events, %.1f MB: %zu pieces in %.0f ms; begun in %.1f ms, longest piece "
           "%.1f ms (number %zu)\n",
           events, (double)status.st_size / 1e6, pieces, all, first, longest, worst);
    unlink(copy);
    unlink(path);
    return rmdir(folder);
}
