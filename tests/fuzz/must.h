/* SPDX-License-Identifier: MIT */
/* What a fuzz target says has to hold. */
#ifndef CB_TESTS_MUST_H
#define CB_TESTS_MUST_H

#include <stdio.h>
#include <stdlib.h>

#define must(fine)                                                                                 \
    do {                                                                                           \
        if (!(fine)) {                                                                             \
            fprintf(stderr, "%s:%d: does not hold: %s\n", __FILE__, __LINE__, #fine);              \
            abort();                                                                               \
        }                                                                                          \
    } while (0)

#endif
