/* SPDX-License-Identifier: MIT */
#include "base/coder.h"

#include <string.h>

struct cb_coder cb_coder_writer(struct cb_str *out, struct cb_arena *arena)
{
    return (struct cb_coder){.out = out, .good = true, .arena = arena};
}

struct cb_coder cb_coder_reader(const void *bytes, size_t length, struct cb_arena *arena)
{
    const char *at = bytes;
    return (struct cb_coder){
        .at = at, .end = at == NULL ? at : at + length, .good = true, .arena = arena};
}

static size_t left(const struct cb_coder *coder)
{
    return (size_t)(coder->end - coder->at);
}

bool cb_coder_done(const struct cb_coder *coder)
{
    return coder->good && left(coder) == 0;
}

static void write_count(struct cb_str *out, uint64_t number)
{
    char bytes[10];
    size_t length = 0;
    for (; number >= 0x80; number >>= 7) {
        bytes[length++] = (char)(unsigned char)(0x80 | (number & 0x7f));
    }
    bytes[length++] = (char)(unsigned char)number;
    cb_str_add_n(out, bytes, length);
}

static uint64_t read_count(struct cb_coder *coder)
{
    uint64_t number = 0;
    for (unsigned shift = 0; coder->good && shift < 64; shift += 7) {
        if (coder->at == coder->end) {
            break;
        }
        const unsigned char byte = (unsigned char)*coder->at++;
        number |= (uint64_t)(byte & 0x7f) << shift;
        if (byte < 0x80) {
            return number;
        }
    }
    coder->good = false;
    return 0;
}

void cb_code_count(struct cb_coder *coder, uint64_t *number, uint64_t most)
{
    if (coder->out != NULL) {
        write_count(coder->out, *number);
        return;
    }
    *number = read_count(coder);
    coder->good = coder->good && *number <= most;
    *number = coder->good ? *number : 0;
}

/* The sign goes into the lowest bit, so that small numbers stay small. */
void cb_code_signed(struct cb_coder *coder, int64_t *number)
{
    if (coder->out != NULL) {
        write_count(coder->out, (uint64_t)*number << 1 ^ (*number < 0 ? UINT64_MAX : 0));
        return;
    }
    const uint64_t turned = read_count(coder);
    *number = (int64_t)(turned >> 1 ^ (0 - (turned & 1)));
}

void cb_code_int(struct cb_coder *coder, int *number, int low, int high)
{
    int64_t wide = *number;
    cb_code_signed(coder, &wide);
    coder->good = coder->good && wide >= low && wide <= high;
    *number = coder->good ? (int)wide : low;
}

void cb_code_bool(struct cb_coder *coder, bool *value)
{
    uint64_t number = *value;
    cb_code_count(coder, &number, 1);
    *value = number == 1;
}

void cb_code_double(struct cb_coder *coder, double *number)
{
    if (coder->out != NULL) {
        cb_str_add_n(coder->out, (const char *)number, sizeof *number);
        return;
    }
    coder->good = coder->good && left(coder) >= sizeof *number;
    *number = 0;
    if (coder->good) {
        memcpy(number, coder->at, sizeof *number);
        coder->at += sizeof *number;
    }
}

void cb_code_text(struct cb_coder *coder, const char **text)
{
    if (coder->out != NULL) {
        const char *given = *text == NULL ? "" : *text;
        cb_str_add_n(coder->out, given, strlen(given) + 1);
        return;
    }
    const char *end = coder->good && left(coder) > 0 ? memchr(coder->at, 0, left(coder)) : NULL;
    coder->good = end != NULL;
    *text = "";
    if (end != NULL) {
        *text = cb_arena_text_n(coder->arena, coder->at, (size_t)(end - coder->at));
        coder->at = end + 1;
    }
}

void cb_code_length(struct cb_coder *coder, size_t *count, size_t most)
{
    uint64_t number = *count;
    cb_code_count(coder, &number, most);
    coder->good = coder->good && (coder->out != NULL || number <= left(coder));
    *count = coder->good ? (size_t)number : 0;
}

void *cb_code_list(struct cb_coder *coder, const void *items, size_t count, size_t size)
{
    void *list = cb_arena_alloc(coder->arena, count + 1, size);
    if (coder->out != NULL && count > 0) {
        memcpy(list, items, count * size);
    }
    return list;
}
