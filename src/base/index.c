/* SPDX-License-Identifier: MIT */
#include "base/index.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/digest.h"
#include "base/mem.h"

struct slot {
    char *key; /* NULL: free */
    uint64_t hash;
    size_t value;
};

struct cb_index {
    struct slot *slots;
    size_t size; /* a power of two, at least a quarter of it free */
    size_t count;
};

static uint64_t hash_of(const char *key)
{
    return cb_digest_bytes(CB_DIGEST_BEGIN, key, strlen(key));
}

/* The slot that holds key, or the free one where it would go. */
static struct slot *find(struct slot *slots, size_t size, const char *key, uint64_t hash)
{
    size_t at = (size_t)hash & (size - 1);
    while (slots[at].key && (slots[at].hash != hash || strcmp(slots[at].key, key) != 0)) {
        at = (at + 1) & (size - 1);
    }
    return &slots[at];
}

struct cb_index *cb_index_new(void)
{
    struct cb_index *index = cb_mem_new(1, sizeof *index);
    index->size = 16;
    index->slots = cb_mem_new(index->size, sizeof *index->slots);
    return index;
}

void cb_index_free(struct cb_index *index)
{
    if (!index) {
        return;
    }
    for (size_t i = 0; i < index->size; i++) {
        free(index->slots[i].key);
    }
    free(index->slots);
    free(index);
}

static void grow(struct cb_index *index)
{
    size_t size = index->size * 2;
    struct slot *slots = cb_mem_new(size, sizeof *slots);
    for (size_t i = 0; i < index->size; i++) {
        const struct slot *old = &index->slots[i];
        if (old->key) {
            *find(slots, size, old->key, old->hash) = *old;
        }
    }
    free(index->slots);
    index->slots = slots;
    index->size = size;
}

void cb_index_set(struct cb_index *index, const char *key, size_t value)
{
    uint64_t hash = hash_of(key);
    struct slot *slot = find(index->slots, index->size, key, hash);
    if (slot->key) {
        slot->value = value;
        return;
    }
    if (index->count >= index->size / 4 * 3) {
        grow(index);
        slot = find(index->slots, index->size, key, hash);
    }
    *slot = (struct slot){cb_mem_copy_text(key), hash, value};
    index->count++;
}

bool cb_index_get(const struct cb_index *index, const char *key, size_t *value)
{
    const struct slot *slot = find(index->slots, index->size, key, hash_of(key));
    if (!slot->key) {
        return false;
    }
    *value = slot->value;
    return true;
}

size_t cb_index_count(const struct cb_index *index)
{
    return index->count;
}
