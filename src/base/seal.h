/* SPDX-License-Identifier: MIT */
/*
 * A sum at the end of bytes that are kept, to tell whether they are still those that were
 * written. Against decay and bytes cut short, not against malice: who reads them checks counts.
 */
#ifndef CB_BASE_SEAL_H
#define CB_BASE_SEAL_H

#include <stdbool.h>
#include <stddef.h>

#define CB_SEAL_SIZE 16
/* Of everything before, into the last CB_SEAL_SIZE of length bytes; length is at least that. */
void cb_seal_put(void *bytes, size_t length);
bool cb_seal_holds(const void *bytes, size_t length); /* any length */

#endif
