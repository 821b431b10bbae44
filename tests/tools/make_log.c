/* SPDX-License-Identifier: MIT */
/* make_log FILE [EVENTS [UNITS [SEED]]]: writes a heavy painter's log for measuring, as
 * years of use leave it. */
#include <stdio.h>
#include <stdlib.h>

#include "base/str.h"
#include "support/big_log.h"

static long long number(int argc, char **argv, int at, long long otherwise)
{
    long long value = otherwise;
    return at < argc && cb_str_integer(argv[at], &value) && value > 0 ? value : otherwise;
}

int main(int argc, char **argv)
{
    char last[32];
    struct cb_err err = {0};
    if (argc < 2) {
        fputs("make_log FILE [EVENTS [UNITS [SEED]]]\n", stderr);
        return CB_USAGE;
    }
    struct big_log plan = {
        .events = (size_t)number(argc, argv, 2, 1000000),
        .units = (size_t)number(argc, argv, 3, 300),
        .seed = (uint64_t)number(argc, argv, 4, 1),
        .recipes = "recipes",
        .lived = true,
    };
    if (big_log_make(&plan, argv[1], last, &err) != CB_OK) {
        fprintf(stderr, "make_log: %s\n", err.text);
        return (int)err.status;
    }
    printf("%s: the last unit is %s\n", argv[1], last);
    return 0;
}
