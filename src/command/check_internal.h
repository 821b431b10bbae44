/* SPDX-License-Identifier: MIT */
/* `check` in its parts. */
#ifndef CB_COMMAND_CHECK_INTERNAL_H
#define CB_COMMAND_CHECK_INTERNAL_H

#include "command/command.h"
#include "core/air/climate.h"
#include "core/paint/kinds.h"
#include "shell/json_write.h"
#include "shell/recipe_file.h"

struct cb_check {
    const struct cb_args *args;
    const struct cb_kinds *kinds;
    const struct cb_climate *climate; /* NULL: not asked for */
    struct cb_json *json;             /* NULL: plain text */
    int code;
};

/* Advice on those that were read, by the log where there is one: lines, or the list `advice`. The
 * code is CB_DATA with --strict where any is given. */
void cb_check_advice(struct cb_check *check, const struct cb_recipe_file *files);

#endif
