/* SPDX-License-Identifier: MIT */
/* What the road says above its line: when the unit is finished, or why that can't be said; what is
 * to go; what the rule of the brush costs; which units are not in it. */
#ifndef CB_VIEW_ROAD_SAID_H
#define CB_VIEW_ROAD_SAID_H

#include "app/app.h"
#include "app/role.h"

#define CB_ROAD_SENTENCES 5

struct cb_road_said {
    struct {
        enum cb_role role;
        const char *text;
    } sentences[CB_ROAD_SENTENCES];
    int count;
};

/* roomy: over how many evenings too. In the arena. */
struct cb_road_said cb_road_say(const struct cb_app *app, bool roomy, struct cb_arena *arena);

#endif
