/* SPDX-License-Identifier: MIT */
/* The review as files: JSON fields of the contract, CSV after RFC 4180, one HTML page. Text from
 * the log is escaped for each. Minutes are numbers with three decimals or more. */
#ifndef CB_COMMAND_REVIEW_FILES_H
#define CB_COMMAND_REVIEW_FILES_H

#include <stddef.h>

#include "base/str.h"
#include "core/bench/calibration.h"
#include "shell/json_write.h"
#include "view/review_page.h"

/* Into the object that is open. */
void cb_review_json(struct cb_json *json, const struct cb_review_page *page);

/* head: with the line of column names. Rows: the unit, its stages, its sessions, its figures; the
 * minutes of each group of rows but figures add up to those of the unit. */
void cb_review_csv(struct cb_str *out, const struct cb_review_page *page, bool head);

/* A whole page for the reviews, each with its pictures and a table beside each picture. */
void cb_review_html(struct cb_str *out, const struct cb_review_page *pages, size_t count,
                    const struct cb_rings *rings, const struct cb_findings *findings);

#endif
