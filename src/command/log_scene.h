/* SPDX-License-Identifier: MIT */
/* What the bench would show of a log, for commands that answer beside it. */
#ifndef CB_COMMAND_LOG_SCENE_H
#define CB_COMMAND_LOG_SCENE_H

#include "app/scene.h"
#include "command/log_read.h"
#include "core/plan/road.h"

/* As the bench would name it on being opened now; lives in the arena of the call. */
const struct cb_scene *cb_log_scene(const struct cb_log_read *log, const struct cb_moment *now,
                                    struct cb_road_kept *road);

#endif
