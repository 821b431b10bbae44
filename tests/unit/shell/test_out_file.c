/* SPDX-License-Identifier: MIT */
/* A file that is written whole has its name on the disk too: the folder is synced after it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "shell/out_file.h"

static const char *named;         /* whose folder is looked for */
static bool synced, named_before; /* the folder was; and after the file had its name */

int fsync(int fd)
{
    struct stat folder, status;
    if (stat(".", &folder) == 0 && fstat(fd, &status) == 0 && folder.st_ino == status.st_ino) {
        synced = true;
        named_before = access(named, F_OK) == 0;
    }
    return 0;
}

static void the_name_is_on_the_disk(void **state)
{
    (void)state;
    char folder[64], full[96];
    const char *base = getenv("TMPDIR");
    snprintf(folder, sizeof folder, "%.40s/cb-out-XXXXXX", base && *base ? base : "/tmp");
    assert_non_null(mkdtemp(folder));
    assert_int_equal(chdir(folder), 0);
    snprintf(full, sizeof full, "%s/full.jsonl", folder);
    const char *const names[] = {"export.jsonl", full};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        struct cb_out_file *file;
        named = names[i];
        synced = named_before = false;
        assert_int_equal(cb_out_file_open(named, NULL, &file, NULL), CB_OK);
        assert_true(cb_out_file_write(file, "{}\n", 3));
        assert_int_equal(cb_out_file_close(file, true, NULL), CB_OK);
        assert_true(synced && named_before);
        assert_int_equal(unlink(named), 0);
    }
    assert_int_equal(chdir("/"), 0);
    assert_int_equal(rmdir(folder), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(the_name_is_on_the_disk)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
