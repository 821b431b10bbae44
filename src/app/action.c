/* SPDX-License-Identifier: MIT */
#include "app/action.h"

#include <string.h>

static const struct {
    bool marks;
    const char *name, *keys, *footer, *help;
} rows[] = {
#define X(id, marks, name, keys, footer, help) {marks, name, keys, footer, help},
    CB_ACTIONS(X)
#undef X
};

const char *cb_action_name(enum cb_action action)
{
    return action < CB_ACTION_COUNT ? rows[action].name : "";
}

const char *cb_action_keys(enum cb_action action)
{
    return action < CB_ACTION_COUNT ? rows[action].keys : "";
}

const char *cb_action_footer(enum cb_action action)
{
    return action < CB_ACTION_COUNT ? rows[action].footer : "";
}

const char *cb_action_help(enum cb_action action)
{
    return action < CB_ACTION_COUNT ? rows[action].help : "";
}

bool cb_action_marks_coats(enum cb_action action)
{
    return action < CB_ACTION_COUNT && rows[action].marks;
}

bool cb_action_is_there(enum cb_action action)
{
    return action != CB_ACTION_QUICK && action != CB_ACTION_VIEW_ROAD;
}

bool cb_action_from_name(const char *name, enum cb_action *action)
{
    for (size_t i = 0; i < CB_ACTION_COUNT; i++) {
        if (strcmp(name, rows[i].name) == 0) {
            *action = (enum cb_action)i;
            return true;
        }
    }
    return false;
}
