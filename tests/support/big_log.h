/* SPDX-License-Identifier: MIT */
/* A heavy painter's years as a log: seeded, valid by the schema, its coats those of the sample
 * recipes in their order. Invented data, for measuring only. */
#ifndef CB_TESTS_BIG_LOG_H
#define CB_TESTS_BIG_LOG_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/err.h"

struct big_log {
    size_t events, units; /* some 1e6 and 300 are fourteen years */
    uint64_t seed;
    const char *recipes; /* folder of the sample recipes */
    bool lived;          /* with what a bench works out in its idle time, as after years of use */
};
/* Writes a new log at path; the last two units stay open. *last_unit: its id, 32 bytes. */
enum cb_status big_log_make(const struct big_log *plan, const char *path, char last_unit[32],
                            struct cb_err *err);

#endif
