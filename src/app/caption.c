/* SPDX-License-Identifier: MIT */
#include "app/caption.h"

#include "app/state.h"

char *cb_app_caption(const struct cb_app *app, struct cb_arena *arena)
{
    const struct cb_scene_film *next = app->session.loaded ? cb_app_scene(app)->next : NULL;
    if (!next || next->forecast.due_ms == CB_TIME_NONE) {
        return cb_arena_text(arena, "coatbell");
    }
    /* Under every other policy whether this one is heard is up to what else happens until then. */
    const bool rings = app->session.writer && app->session.config->ping == CB_PING_EVERY;
    char clock[16];
    cb_lines_clock(app, next->forecast.due_ms, clock);
    return cb_arena_printf(arena, "%s %s: %s on %d - coatbell", rings ? "rings" : "dry", clock,
                           cb_words_film(next->unit, next->film), next->film->figure);
}
