/* SPDX-License-Identifier: MIT */
#include "app/look.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/state.h"
#include "base/mem.h"
#include "core/review/lesson.h"

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
    bool found;
    struct cb_findings findings;
    struct cb_arena findings_arena;
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
    app->look.flashes++;
}

void cb_app_clear_flash(struct cb_app *app)
{
    app->look.flash[0] = '\0';
}

void cb_app_banner(struct cb_app *app, const char *text)
{
    snprintf(app->look.banner, sizeof app->look.banner, "%s", text);
}

void cb_app_notice(struct cb_app *app, const char *text)
{
    snprintf(app->look.notice, sizeof app->look.notice, "%s", text);
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

static bool has_trail(const struct cb_trail *trails, size_t count, const char *unit)
{
    bool has = false;
    for (size_t i = 0; i < count && !has; i++) {
        has = strcmp(trails[i].unit, unit) == 0;
    }
    return has;
}

/* Of a unit finished in this sitting, which the history did not have yet. */
static struct cb_trail own_trail(const struct cb_app *app, size_t unit, struct cb_arena *arena)
{
    const struct cb_review *review = cb_review_unit(app->session.bench, unit, CB_TIME_NONE, arena);
    const struct cb_lesson lesson = cb_lesson_of(app->session.bench, review, arena);
    return cb_trail_of(review, lesson.rows, lesson.row_count, arena);
}

static void find(const struct cb_app *app, struct cb_look_kept *kept)
{
    const struct cb_bench *bench = app->session.bench;
    const struct cb_taught *taught = &app->session.taught;
    /* A bench that is given no history has the whole log (app/hindsight.c). */
    const bool whole = !app->session.history_due && taught->unit_count == 0;
    struct cb_arena arena = {0};
    size_t count = taught->trail_count, told_count;
    struct cb_trail *trails =
        cb_arena_alloc(&arena, count + cb_bench_unit_count(bench) + 1, sizeof *trails);
    for (size_t i = 0; i < count; i++) {
        trails[i] = taught->trails[i];
    }
    for (size_t i = 0; i < cb_bench_unit_count(bench); i++) {
        const struct cb_unit *unit = cb_bench_unit(bench, i);
        if (unit->finished && !unit->left && (whole || unit->last_ms >= app->session.opened_ms) &&
            !has_trail(taught->trails, taught->trail_count, unit->id)) {
            trails[count++] = own_trail(app, i, &arena);
        }
    }
    const size_t late = count > CB_TRAIL_UNITS ? count - CB_TRAIL_UNITS : 0;
    const struct cb_row *told = cb_bench_rows(bench, &told_count);
    const struct cb_finding_log log = {.trails = trails + late,
                                       .count = count - late,
                                       .told = told,
                                       .told_count = told_count,
                                       .zone = &app->session.zone};
    cb_arena_fini(&kept->findings_arena);
    kept->findings = cb_findings_of(&log, &kept->findings_arena);
    kept->found = true;
    cb_arena_fini(&arena);
}

const struct cb_findings *cb_app_findings(const struct cb_app *app)
{
    struct cb_look_kept *kept = app->look.kept;
    if (!kept->found) {
        find(app, kept);
    }
    return &kept->findings;
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
    app->look.kept->found = false;
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
    cb_arena_fini(&app->look.kept->findings_arena);
    free(app->look.kept);
}
