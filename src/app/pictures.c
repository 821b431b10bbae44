/* SPDX-License-Identifier: MIT */
#include "app/pictures.h"

#include <string.h>

#include "app/state.h"
#include "base/utf8.h"

#define NAME_COLUMNS 40

static const struct cb_stage *stage_of(const struct cb_scene *scene)
{
    return scene->stage            ? scene->stage
           : scene->hand.stage > 0 ? &scene->unit->recipe->stages[scene->hand.stage - 1]
                                   : NULL;
}

size_t cb_pictures_count(const struct cb_scene *scene)
{
    if (!scene->unit) {
        return 0;
    }
    const struct cb_stage *stage = stage_of(scene);
    return (stage ? stage->picture_count : 0) + scene->unit->recipe->picture_count;
}

/* From 1, one that there is. */
static const char *nth(const struct cb_scene *scene, size_t number)
{
    const struct cb_stage *stage = stage_of(scene);
    const size_t own = stage ? stage->picture_count : 0;
    return stage && number <= own ? stage->pictures[number - 1]
                                  : scene->unit->recipe->pictures[number - own - 1];
}

char *cb_pictures_line(const struct cb_app *app, const struct cb_scene *scene,
                       struct cb_arena *arena)
{
    const size_t count = cb_pictures_count(scene);
    const char *key = cb_app_key(app, CB_ACTION_PICTURE);
    return count == 0   ? cb_arena_text(arena, "")
           : count == 1 ? cb_arena_printf(arena, "picture: %s", key)
                        : cb_arena_printf(arena, "%zu pictures: %s", count, key);
}

void cb_pictures_open(struct cb_app *app)
{
    const struct cb_scene *scene = cb_app_scene(app);
    const size_t count = cb_pictures_count(scene);
    const size_t number = app->nav.count > 0 ? (size_t)app->nav.count : 1;
    if (count == 0) {
        cb_app_flash(app, "no picture: neither this stage nor the recipe names one");
        return;
    }
    if (number > count) {
        cb_app_flash(app, count == 1 ? "there is %zu picture" : "there are %zu pictures", count);
        return;
    }
    const char *picture = nth(scene, number);
    const char *beside = cb_start_source(app, scene->unit->id);
    const char *shown = cb_utf8_clean(&app->frame, picture, NAME_COLUMNS);
    if (strstr(picture, "://")) {
        cb_app_flash(app, "an address, and only files are opened: %s", shown);
    } else if (picture[0] != '/' && !beside) {
        cb_app_flash(app, "where the recipe's file lies is not known here: %s looks for it",
                     cb_app_key(app, CB_ACTION_RELOAD));
    } else {
        struct cb_effect *effect = cb_app_effect(app, CB_EFFECT_PICTURE);
        effect->path = cb_arena_text(&app->frame, picture);
        effect->beside = beside;
        cb_app_flash(app, "picture %zu of %zu: %s", number, count, shown);
    }
}
