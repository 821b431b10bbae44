/* SPDX-License-Identifier: MIT */
/* From a text to a number: an open-addressed hash table that copies its keys. */
#ifndef CB_BASE_INDEX_H
#define CB_BASE_INDEX_H

#include <stdbool.h>
#include <stddef.h>

struct cb_index;
struct cb_index *cb_index_new(void);
void cb_index_free(struct cb_index *index);
/* Sets or replaces. */
void cb_index_set(struct cb_index *index, const char *key, size_t value);
bool cb_index_get(const struct cb_index *index, const char *key, size_t *value);
size_t cb_index_count(const struct cb_index *index);

#endif
