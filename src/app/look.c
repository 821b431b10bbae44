/* SPDX-License-Identifier: MIT */
#include "app/look.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

#include "app/state.h"
#include "base/mem.h"

/* The scene holds for a step, the replay for a minute of a bench that does not move. */
struct cb_look_kept {
    const struct cb_scene *scene;
    struct cb_arena scene_arena;
    const struct cb_review *review;
    size_t unit;
    int64_t minute;
    struct cb_arena review_arena;
    const struct cb_review *suggested; /* that the suggestions are of; NULL: there are none yet */
    struct cb_suggestions suggestions;
};

const struct cb_look *cb_app_look(const struct cb_app *app)
{
    return &app->look;
}

void cb_app_flash(struct cb_app *app, const char *format, ...)
{
    va_list list;
    va_start(list, format);
    vsnprintf(app->look.flash, sizeof app->look.flash, format, list);
    va_end(list);
}

void cb_app_clear_flash(struct cb_app *app)
{
    app->look.flash[0] = '\0';
}

void cb_app_banner(struct cb_app *app, const char *text)
{
    snprintf(app->look.banner, sizeof app->look.banner, "%s", text);
}

void cb_app_size(struct cb_app *app, int rows, int columns)
{
    app->look.rows = rows;
    app->look.columns = columns;
}

uint64_t cb_app_generation(const struct cb_app *app)
{
    return app->look.generation;
}

void cb_app_changed(struct cb_app *app)
{
    app->look.generation++;
}

const struct cb_scene *cb_app_scene(const struct cb_app *app)
{
    struct cb_look_kept *kept = app->look.kept;
    if (!kept->scene) {
        cb_arena_fini(&kept->scene_arena);
        const struct cb_scene_at hand = {app->nav.at_figure, app->nav.at_stage, 0};
        const struct cb_road *road = cb_app_road(app);
        kept->scene =
            cb_scene_of(app->session.bench, app->session.learn, hand, app->offer.named,
                        road ? &road->next : NULL, cb_app_bench_now(app), &kept->scene_arena);
    }
    return kept->scene;
}

const struct cb_review *cb_app_review(const struct cb_app *app, size_t unit)
{
    struct cb_look_kept *kept = app->look.kept;
    const int64_t now_ms = cb_app_bench_now(app);
    if (!kept->review || kept->unit != unit || kept->minute != now_ms / CB_MS_PER_MIN) {
        const bool finished = cb_bench_unit(app->session.bench, unit)->finished;
        cb_arena_fini(&kept->review_arena);
        kept->suggested = NULL;
        kept->review = cb_review_unit(app->session.bench, unit, finished ? CB_TIME_NONE : now_ms,
                                      &kept->review_arena);
        kept->unit = unit;
        kept->minute = now_ms / CB_MS_PER_MIN;
    }
    return kept->review;
}

const struct cb_suggestions *cb_app_suggestions(const struct cb_app *app,
                                                const struct cb_review *review)
{
    struct cb_look_kept *kept = app->look.kept;
    if (kept->suggested != review) {
        kept->suggestions = cb_suggest(review, app->session.kinds);
        kept->suggested = review;
    }
    return &kept->suggestions;
}

void cb_look_step(struct cb_app *app)
{
    app->look.kept->scene = NULL;
}

void cb_look_forget(struct cb_app *app)
{
    app->look.kept->scene = NULL;
    app->look.kept->review = NULL;
    app->look.kept->suggested = NULL;
    cb_outlook_forget(app);
}

void cb_look_init(struct cb_app *app, int rows, int columns)
{
    app->look = (struct cb_look){.rows = rows, .columns = columns};
    app->look.kept = cb_mem_new(1, sizeof *app->look.kept);
}

void cb_look_fini(struct cb_app *app)
{
    cb_arena_fini(&app->look.kept->scene_arena);
    cb_arena_fini(&app->look.kept->review_arena);
    free(app->look.kept);
}
