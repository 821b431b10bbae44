/* SPDX-License-Identifier: MIT */
#include "shell/json_write.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/time.h"
#include "base/utf8.h"

static void write_unit(struct cb_str *out, uint32_t unit)
{
    cb_str_addf(out, "\\u%04x", (unsigned)unit);
}

static void write_escaped(struct cb_str *out, uint32_t cp)
{
    if (cp < 0x10000) {
        write_unit(out, cp);
        return;
    }
    write_unit(out, 0xd800 + ((cp - 0x10000) >> 10)); /* RFC 8259 section 7 */
    write_unit(out, 0xdc00 + ((cp - 0x10000) & 0x3ff));
}

/* One character of a text; the quote and the backslash are the caller's. */
static const char *write_character(struct cb_str *out, const char *text)
{
    const char *next = text;
    if ((unsigned char)*text >= 0x20 && (unsigned char)*text < 0x7f) {
        next++;
        cb_str_add_n(out, text, 1);
        return next;
    }
    uint32_t cp = cb_utf8_next(&next);
    if (cb_utf8_is_safe(cp)) {
        char bytes[5]; /* not as they came: a name of a file may be no UTF-8 */
        cb_str_add_n(out, bytes, cb_utf8_write(cp, bytes));
    } else {
        write_escaped(out, cp);
    }
    return next;
}

static void write_text(struct cb_str *out, const char *text)
{
    cb_str_add_n(out, "\"", 1);
    while (*text) {
        const char *plain = text;
        while ((unsigned char)*text >= 0x20 && (unsigned char)*text < 0x7f && *text != '"' &&
               *text != '\\') {
            text++;
        }
        cb_str_add_n(out, plain, (size_t)(text - plain));
        switch (*text) {
        case '\0':
            break;
        case '"':
        case '\\':
            cb_str_addf(out, "\\%c", *text++);
            break;
        case '\n':
            cb_str_add(out, "\\n");
            text++;
            break;
        case '\t':
            cb_str_add(out, "\\t");
            text++;
            break;
        default:
            text = write_character(out, text);
        }
    }
    cb_str_add_n(out, "\"", 1);
}

void cb_json_write_number(struct cb_str *out, double value)
{
    if (!isfinite(value)) {
        cb_str_add(out, "null");
        return;
    }
    char digits[40];
    for (int precision = 15; precision <= 17; precision++) {
        snprintf(digits, sizeof digits, "%.*g", precision, value);
        if (strtod(digits, NULL) == value) {
            break;
        }
    }
    cb_str_add(out, digits);
}

void cb_json_write_raw(struct cb_str *out, const char *json, size_t length)
{
    const char *end = json + length;
    bool inside = false;
    while (json < end) {
        if (!inside) {
            inside = *json == '"';
            if (!strchr(" \t\r\n", *json)) {
                cb_str_add_n(out, json, 1);
            }
            json++;
        } else if (*json == '\\' && end - json > 1) {
            cb_str_add_n(out, json, 2);
            json += 2;
        } else if (*json == '"') {
            inside = false;
            cb_str_add_n(out, json, 1);
            json++;
        } else {
            json = write_character(out, json);
        }
    }
}

struct cb_json {
    struct cb_str out;
    uint64_t lists; /* a bit a level, the innermost the lowest: closed by ] */
    int depth;
};

/* A comma, unless it is the first of its level, and the key. */
static struct cb_str *lead(struct cb_json *json, const char *key)
{
    struct cb_str *out = &json->out;
    const char last = out->length > 0 ? out->text[out->length - 1] : '[';
    if (last != '{' && last != '[') {
        cb_str_add_n(out, ",", 1);
    }
    if (key != NULL) {
        write_text(out, key);
        cb_str_add_n(out, ":", 1);
    }
    return out;
}

static void open_level(struct cb_json *json, const char *key, bool list)
{
    cb_str_add_n(lead(json, key), list ? "[" : "{", 1);
    json->lists = json->lists << 1 | (list ? 1 : 0);
    json->depth++;
}

struct cb_json *cb_json_new(void)
{
    struct cb_json *json = cb_mem_new(1, sizeof *json);
    open_level(json, NULL, false);
    return json;
}

void cb_json_object(struct cb_json *json, const char *key)
{
    open_level(json, key, false);
}

void cb_json_list(struct cb_json *json, const char *key)
{
    open_level(json, key, true);
}

void cb_json_end(struct cb_json *json)
{
    cb_str_add_n(&json->out, (json->lists & 1) != 0 ? "]" : "}", 1);
    json->lists >>= 1;
    json->depth--;
}

void cb_json_text(struct cb_json *json, const char *key, const char *value)
{
    struct cb_str *out = lead(json, key);
    if (value != NULL) {
        write_text(out, value);
    } else {
        cb_str_add(out, "null");
    }
}

void cb_json_number(struct cb_json *json, const char *key, double value)
{
    cb_json_write_number(lead(json, key), value);
}

void cb_json_integer(struct cb_json *json, const char *key, long long value)
{
    cb_str_addf(lead(json, key), "%lld", value);
}

void cb_json_time(struct cb_json *json, const char *key, int64_t at_ms)
{
    char text[CB_RFC3339_SIZE];
    cb_time_format(at_ms, text);
    cb_json_text(json, key, text);
}

void cb_json_bool(struct cb_json *json, const char *key, bool value)
{
    cb_str_add(lead(json, key), value ? "true" : "false");
}

void cb_json_raw(struct cb_json *json, const char *key, const char *value)
{
    cb_str_add(lead(json, key), value);
}

void cb_json_take(struct cb_json *json, struct cb_str *out)
{
    while (json->depth > 0) {
        cb_json_end(json);
    }
    cb_str_add_n(out, json->out.text, json->out.length);
    cb_str_fini(&json->out);
    free(json);
}
