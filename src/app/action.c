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

bool cb_action_takes_minutes(enum cb_action action)
{
    return action == CB_ACTION_COAT_ON || action == CB_ACTION_COAT_ON_REST;
}

bool cb_action_takes_count(enum cb_action action)
{
    static const bool takes[CB_ACTION_COUNT + 1] = {
        [CB_ACTION_COAT_ON] = true,     [CB_ACTION_COAT_ON_REST] = true,
        [CB_ACTION_DONE_BEFORE] = true, [CB_ACTION_DRY] = true,
        [CB_ACTION_WET] = true,         [CB_ACTION_LIFTED] = true,
        [CB_ACTION_TIDIED] = true,      [CB_ACTION_HELPED] = true,
        [CB_ACTION_COAT_ADD] = true,    [CB_ACTION_COAT_SPARE] = true,
        [CB_ACTION_EDIT] = true,        [CB_ACTION_LEAVE_OUT] = true,
        [CB_ACTION_PARK] = true,        [CB_ACTION_BROUGHT_IN] = true,
        [CB_ACTION_FIGURE_PREV] = true, [CB_ACTION_FIGURE_NEXT] = true,
        [CB_ACTION_STAGE_PREV] = true,  [CB_ACTION_STAGE_NEXT] = true,
        [CB_ACTION_PICTURE] = true,
    };
    return takes[action];
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
