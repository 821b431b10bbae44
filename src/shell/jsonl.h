/* SPDX-License-Identifier: MIT */
/* Events as lines of JSON. Only jsonl.c knows jansson, which reads: it has no numbers in their
 * shortest digits, none as they were typed, and no escapes but of what is below a blank.
 * json_write.h writes. */
#ifndef CB_SHELL_JSONL_H
#define CB_SHELL_JSONL_H

#include <stddef.h>

#include "base/arena.h"
#include "base/err.h"
#include "base/str.h"
#include "core/log/event.h"

#define CB_JSONL_LINE_MAX (512 * 1024) /* a recipe of 64 KiB, every letter escaped */

/* One line to one validated event in the arena. CB_DATA: text says column and what is wrong. A
 * null is an absent field. */
enum cb_status cb_jsonl_decode(const char *line, size_t length, struct cb_arena *arena,
                               const struct cb_event **event, struct cb_err *err);
/* The same with the column (from 1, in characters) apart from the text. */
enum cb_status cb_jsonl_decode_at(const char *line, size_t length, struct cb_arena *arena,
                                  const struct cb_event **event, int *column, struct cb_err *err);
/* The column of a field in a line that decodes; 1 when it has none of that name. */
int cb_jsonl_column(const char *line, size_t length, const char *field);
/* The other way, one line without its newline; keys in a fixed order; decode(encode(e)) = e. */
void cb_jsonl_encode(const struct cb_event *event, struct cb_str *out);
/* The same, and proven: CB_DATA when decode would refuse the line or make another event of it. */
enum cb_status cb_jsonl_encode_sure(const struct cb_event *event, struct cb_arena *scratch,
                                    struct cb_str *out, struct cb_err *err);

/* Only the fields (not id, at, event, unit, press, ...) as one JSON object, for the store. */
void cb_jsonl_encode_fields(const struct cb_event *event, struct cb_str *out);
enum cb_status cb_jsonl_decode_fields(const char *json, size_t length, enum cb_event_kind kind,
                                      struct cb_arena *arena, const struct cb_attr **attrs,
                                      size_t *count, struct cb_err *err);

#endif
