/* SPDX-License-Identifier: MIT */
/* Any bytes as what happens at a bench: see support/operate.h. */
#include <stdio.h>
#include <stdlib.h>

#include "support/operate.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size > OPERATE_BYTES_MAX) {
        return -1; /* the rest would not be looked at */
    }
    struct cb_arena arena = {0};
    const char *fault = operate(data, size, &arena);
    if (fault != NULL) {
        fprintf(stderr, "%s\n", fault);
        abort();
    }
    cb_arena_fini(&arena);
    return 0;
}
