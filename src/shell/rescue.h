/* SPDX-License-Identifier: MIT */
/* The last way out for presses that the log would not take: a file of JSON Lines elsewhere, which
 * `coatbell log import` takes when the disk is well again. */
#ifndef CB_SHELL_RESCUE_H
#define CB_SHELL_RESCUE_H

#include <stddef.h>
#include <stdint.h>

#include "base/err.h"
#include "core/log/event.h"

struct cb_rescue;
/* In the run-time, temporary or home folder, whichever takes it. */
struct cb_rescue *cb_rescue_open(int64_t wall_ms);
void cb_rescue_add(struct cb_rescue *rescue, const struct cb_event *const *events, size_t count);
/* Always CB_IO: err says what was not saved and where it stands now. */
enum cb_status cb_rescue_close(struct cb_rescue *rescue, const char *log_path, struct cb_err *err);

#endif
