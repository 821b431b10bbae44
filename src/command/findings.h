/* SPDX-License-Identifier: MIT */
/* What the log says of its painter, for the commands that print it. */
#ifndef CB_COMMAND_FINDINGS_H
#define CB_COMMAND_FINDINGS_H

#include "base/str.h"
#include "command/log_read.h"
#include "core/finding/finding.h"
#include "shell/json_write.h"

/* Once the log's history was asked (cb_history_taught or cb_history_teach). In the arena. */
struct cb_findings cb_findings_read(const struct cb_log_read *log, struct cb_arena *arena);

/* A list `findings` into the object that is open. */
void cb_findings_json(struct cb_json *json, const struct cb_findings *findings);
/* As a part of the review's page; nothing where there is none. */
void cb_findings_html(struct cb_str *out, const struct cb_findings *findings);

/* The whole of `coatbell cues --mine`: opens the log of the arguments, prints the findings as lines
 * or, with --json, as an object, and returns the exit code. */
int cb_findings_run(const struct cb_args *args);

#endif
