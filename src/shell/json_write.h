/* SPDX-License-Identifier: MIT */
/* JSON as it is written: the lines of events and the answers of --json. */
#ifndef CB_SHELL_JSON_WRITE_H
#define CB_SHELL_JSON_WRITE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/str.h"

/* One object. Keys NULL inside lists. At most 64 levels. Of texts, whatever a terminal should not
 * see is written as \uXXXX, which reads back as the same. */
struct cb_json;
struct cb_json *cb_json_new(void); /* opens the outer object */
void cb_json_object(struct cb_json *json, const char *key);
void cb_json_list(struct cb_json *json, const char *key);
void cb_json_end(struct cb_json *json); /* closes the innermost object or list */
void cb_json_text(struct cb_json *json, const char *key, const char *value); /* NULL: null */
void cb_json_number(struct cb_json *json, const char *key, double value);
void cb_json_integer(struct cb_json *json, const char *key, long long value);
void cb_json_time(struct cb_json *json, const char *key, int64_t at_ms); /* RFC 3339 */
void cb_json_bool(struct cb_json *json, const char *key, bool value);
void cb_json_raw(struct cb_json *json, const char *key, const char *value); /* JSON, as it is */
/* Closes what is open, appends the whole and frees json. */
void cb_json_take(struct cb_json *json, struct cb_str *out);

/* The shortest digits that read back as the same number; null for NAN and infinities. */
void cb_json_write_number(struct cb_str *out, double value);
/* A valid JSON value with the blanks outside its texts dropped and its texts made safe. */
void cb_json_write_raw(struct cb_str *out, const char *json, size_t length);

#endif
