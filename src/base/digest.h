/* SPDX-License-Identifier: MIT */
/*
 * A number that stands for a run of bytes: FNV-1a, 64 bits (Fowler, Noll, Vo;
 * http://www.isthe.com/chongo/tech/comp/fnv/). Each step is one to one, so that a change within
 * one byte always changes it. Against decay and mix-ups, not against malice.
 */
#ifndef CB_BASE_DIGEST_H
#define CB_BASE_DIGEST_H

#include <stddef.h>
#include <stdint.h>

#define CB_DIGEST_BEGIN UINT64_C(14695981039346656037)

static inline uint64_t cb_digest_bytes(uint64_t digest, const void *bytes, size_t length)
{
    const unsigned char *at = bytes;
    for (size_t i = 0; i < length; i++) {
        digest = (digest ^ at[i]) * UINT64_C(1099511628211);
    }
    return digest;
}

/* The same on every machine: the lowest byte first. */
static inline uint64_t cb_digest_number(uint64_t digest, uint64_t number)
{
    unsigned char bytes[8];
    for (size_t i = 0; i < sizeof bytes; i++) {
        bytes[i] = (unsigned char)(number >> (8 * i));
    }
    return cb_digest_bytes(digest, bytes, sizeof bytes);
}

#endif
