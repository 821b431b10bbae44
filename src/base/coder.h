/* SPDX-License-Identifier: MIT */
/*
 * Things as bytes, to be kept and read again. One function describes a thing, and writes or reads
 * it as the coder says, so that the two can't part. Reading trusts nothing. Whole numbers take
 * seven bits a byte, the lowest first, and no more bytes than they need.
 */
#ifndef CB_BASE_CODER_H
#define CB_BASE_CODER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/str.h"

struct cb_coder {
    struct cb_str *out; /* written to; NULL: reading */
    const char *at, *end;
    bool good; /* reading: turns false, for good, at the first thing that is not there or too great;
                  what is read then is zero, empty or the lowest that may be */
    struct cb_arena *arena; /* where lists go, and reading texts too */
};
/* Writing changes nothing in what is described but its lists, which become copies in the arena:
 * give a copy of a thing. */
struct cb_coder cb_coder_writer(struct cb_str *out, struct cb_arena *arena);
struct cb_coder cb_coder_reader(const void *bytes, size_t length, struct cb_arena *arena);
/* All was there, and nothing more. */
bool cb_coder_done(const struct cb_coder *coder);

void cb_code_count(struct cb_coder *coder, uint64_t *number, uint64_t most);
void cb_code_signed(struct cb_coder *coder, int64_t *number);
void cb_code_int(struct cb_coder *coder, int *number, int low, int high);
void cb_code_bool(struct cb_coder *coder, bool *value);
void cb_code_double(struct cb_coder *coder, double *number);  /* to the bit, on this machine */
void cb_code_text(struct cb_coder *coder, const char **text); /* NULL as "" */
/* Of a list whose things take a byte each or more; most: of what may follow. */
void cb_code_length(struct cb_coder *coder, size_t *count, size_t most);
/* So many things of size bytes, in the arena: reading, a zeroed list; writing, a copy of this one,
 * for describing wants things that may be changed. */
void *cb_code_list(struct cb_coder *coder, const void *items, size_t count, size_t size);

#endif
