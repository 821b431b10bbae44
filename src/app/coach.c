/* SPDX-License-Identifier: MIT */
#include "app/coach.h"

#include "app/state.h"

struct cb_coach_at cb_coach_at_of(const struct cb_scene *scene, const struct cb_taught *taught,
                                  double evening_min)
{
    return (struct cb_coach_at){.unit = scene->unit,
                                .proposal = &scene->proposal,
                                .waits = scene->anyway || !scene->proposal.any,
                                .all_done = scene->all_done,
                                .caution = cb_scene_unread(scene),
                                .now_ms = scene->now_ms,
                                .evening_min = evening_min,
                                .taught = taught};
}

size_t cb_coach_lines(const struct cb_app *app, const struct cb_scene *scene,
                      struct cb_arena *arena, struct cb_coach_line lines[CB_COACH_LINES])
{
    struct cb_coach_moment *moments =
        cb_arena_alloc(arena, CB_COACH_MOMENTS_MAX, sizeof *moments);
    const struct cb_coach_at at =
        cb_coach_at_of(scene, &app->session.taught, cb_roads_evening_min(app));
    const size_t count =
        cb_coach_moments(app->session.bench, app->session.learn, &at, arena, moments);
    return cb_coach_pick(app->session.cues, app->session.bench, moments, count, arena, lines);
}
