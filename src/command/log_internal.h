/* SPDX-License-Identifier: MIT */
/* The words of `log` that have a file of their own; an exit code each. */
#ifndef CB_COMMAND_LOG_INTERNAL_H
#define CB_COMMAND_LOG_INTERNAL_H

#include "command/command.h"

int cb_log_check(const struct cb_args *args);
int cb_log_backup(const struct cb_args *args);
int cb_log_restore(const struct cb_args *args);

#endif
