/* SPDX-License-Identifier: MIT */
/* The letters of JSON, as the event lines and the answers both write them. */
#ifndef CB_SHELL_JSON_WRITE_H
#define CB_SHELL_JSON_WRITE_H

#include <stddef.h>

#include "base/str.h"

/* In quotes. Whatever a terminal should not see is written as \uXXXX, which reads back as the
 * same text. */
void cb_json_write_text(struct cb_str *out, const char *text);
/* The shortest digits that read back as the same number; null for NAN and infinities. */
void cb_json_write_number(struct cb_str *out, double value);
/* A valid JSON value with the blanks outside its texts dropped and its texts made safe. */
void cb_json_write_raw(struct cb_str *out, const char *json, size_t length);

#endif
