/* SPDX-License-Identifier: MIT */
#include "base/bytes.h"

#include <string.h>

void cb_bytes_put(struct cb_str *out, const void *bytes, size_t length)
{
    if (length > 0) {
        cb_str_add_n(out, bytes, length);
    }
}

void cb_bytes_put_text(struct cb_str *out, const char *text)
{
    const char *given = text == NULL ? "" : text;
    cb_str_add_n(out, given, strlen(given) + 1);
}

void cb_bytes_put_piece(struct cb_str *out, const void *bytes, size_t length)
{
    const uint64_t size = length;
    cb_bytes_put(out, &size, sizeof size);
    cb_bytes_put(out, bytes, length);
}

const void *cb_bytes_done(struct cb_str *out, struct cb_arena *arena, size_t *length)
{
    const char *copy = cb_arena_text_n(arena, cb_str_text(out), out->length);
    *length = out->length;
    cb_str_fini(out);
    return copy;
}

struct cb_bytes cb_bytes_of(const void *bytes, size_t length)
{
    return (struct cb_bytes){bytes, (const char *)bytes + length, true};
}

size_t cb_bytes_left(const struct cb_bytes *in)
{
    return (size_t)(in->end - in->at);
}

bool cb_bytes_end(const struct cb_bytes *in)
{
    return in->good && in->at == in->end;
}

void cb_bytes_take(struct cb_bytes *in, void *into, size_t length)
{
    in->good = in->good && length <= cb_bytes_left(in);
    if (!in->good) {
        memset(into, 0, length);
    } else if (length > 0) {
        memcpy(into, in->at, length);
        in->at += length;
    }
}

void *cb_bytes_take_list(struct cb_bytes *in, uint64_t count, size_t size, struct cb_arena *arena)
{
    in->good = in->good && count <= cb_bytes_left(in) / size;
    const size_t there = in->good ? (size_t)count : 0;
    void *list = cb_arena_alloc(arena, there + 1, size);
    cb_bytes_take(in, list, there * size);
    return list;
}

const char *cb_bytes_take_text(struct cb_bytes *in)
{
    const char *text = in->at;
    const char *end = in->good ? memchr(text, 0, cb_bytes_left(in)) : NULL;
    in->good = end != NULL;
    if (end == NULL) {
        return "";
    }
    in->at = end + 1;
    return text;
}

struct cb_bytes cb_bytes_take_piece(struct cb_bytes *in)
{
    uint64_t size;
    cb_bytes_take(in, &size, sizeof size);
    in->good = in->good && size <= cb_bytes_left(in);
    const struct cb_bytes piece = {in->at, in->at + (in->good ? size : 0), in->good};
    in->at = piece.end;
    return piece;
}
