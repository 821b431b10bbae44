/* SPDX-License-Identifier: MIT */
#include "app/road.h"

#include <stdlib.h>
#include <string.h>

#include "app/state.h"
#include "base/mem.h"
#include "core/review/effort.h"

#define SITTINGS_LEAST 3 /* before a usual length is said of them; own judgement */
#define TONIGHT_LEAST                                                                              \
    10 /* minutes: who sits on beyond the usual goes on a little; own judgement                    \
        */
#define HOURS_AGAIN_MS (10 * CB_MS_PER_MIN) /* marks say little new before; own judgement */

struct cb_roads_kept {
    struct cb_road_kept *road;
    struct cb_hours *taught; /* by finished units; NULL: none */
    struct cb_hours *own;    /* with the marks of that unit; NULL: not looked at */
    char *unit;              /* its id */
    int64_t own_ms;          /* when they were looked at */
};

static int by_length(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

double cb_roads_evening_min(const struct cb_app *app)
{
    const struct cb_effort *habits = &app->session.taught.habits;
    if (app->session.config->evening_min > 0) {
        return app->session.config->evening_min;
    }
    if (habits->session_count < SITTINGS_LEAST) {
        return 0;
    }
    double *sorted = cb_mem_new(habits->session_count, sizeof *sorted);
    for (size_t i = 0; i < habits->session_count; i++) {
        sorted[i] = habits->session_min[i];
    }
    qsort(sorted, habits->session_count, sizeof *sorted, by_length);
    const double usual = sorted[habits->session_count / 2];
    free(sorted);
    return usual;
}

double cb_roads_tonight_min(const struct cb_app *app)
{
    const struct cb_bench_facts facts = cb_bench_facts(app->session.bench);
    const double evening = cb_roads_evening_min(app);
    if (evening <= 0 || !facts.session_open) {
        return evening;
    }
    const double gone =
        (double)(cb_app_bench_now(app) - facts.session_opened_ms) / (double)CB_MS_PER_MIN;
    return evening - gone > TONIGHT_LEAST ? evening - gone : TONIGHT_LEAST;
}

static void forget_own(struct cb_roads_kept *kept)
{
    cb_hours_free(kept->own);
    free(kept->unit);
    kept->own = NULL;
    kept->unit = NULL;
}

const struct cb_road *cb_app_road(const struct cb_app *app)
{
    struct cb_roads_kept *kept = app->roads.kept;
    const struct cb_unit *unit = app->session.loaded ? cb_app_unit(app) : NULL;
    if (!unit || unit->recipe->stage_count == 0) {
        return NULL;
    }
    if (!cb_road_get(kept->road)) {
        const struct cb_road_from from = {.bench = app->session.bench,
                                          .learn = app->session.learn,
                                          .hours = app->roads.kept->taught,
                                          .unit = unit,
                                          .now_ms = cb_app_bench_now(app),
                                          .calm = app->session.config->calm,
                                          .evening_min = cb_roads_evening_min(app),
                                          .tonight_min = cb_roads_tonight_min(app)};
        cb_road_replan(kept->road, &from);
    }
    return cb_road_get(kept->road);
}

void cb_roads_forget(struct cb_app *app)
{
    cb_road_forget(app->roads.kept->road);
}

void cb_roads_move_on(struct cb_app *app)
{
    const struct cb_road *road = cb_road_get(app->roads.kept->road);
    if (road && road->from_ms != cb_app_bench_now(app)) {
        cb_roads_forget(app);
    }
}

void cb_roads_taught(struct cb_app *app)
{
    struct cb_roads_kept *kept = app->roads.kept;
    cb_hours_free(kept->taught);
    kept->taught = NULL;
    if (app->session.taught.unit_count > 0) {
        kept->taught = cb_hours_copy(app->session.taught.hours);
        cb_hours_new_unit(kept->taught);
    }
    forget_own(kept);
    cb_roads_forget(app);
}

bool cb_app_has_idle_work(const struct cb_app *app)
{
    return app->session.loaded && !app->session.closing && cb_road_is_open(app->roads.kept->road);
}

/* What this unit's own marks say of this painter's hand. */
static void learn_own(struct cb_app *app, const struct cb_unit *unit)
{
    struct cb_roads_kept *kept = app->roads.kept;
    const struct cb_taught *taught = &app->session.taught;
    const size_t front = (size_t)cb_bench_front(app->session.bench);
    struct cb_arena arena = {0};
    const struct cb_effort effort =
        cb_effort_of(cb_app_review(app, front), app->session.kinds, &arena);
    forget_own(kept);
    if (effort.sitting_count > 0) {
        kept->own = taught->hours ? cb_hours_copy(taught->hours) : cb_effort_new();
        cb_effort_learn(kept->own, &effort);
    }
    kept->unit = cb_mem_copy_text(unit->id);
    kept->own_ms = cb_app_bench_now(app);
    cb_arena_fini(&arena);
}

void cb_roads_think(struct cb_app *app)
{
    struct cb_roads_kept *kept = app->roads.kept;
    const struct cb_unit *unit = cb_app_unit(app);
    if (!cb_app_road(app)) {
        return;
    }
    if (!kept->unit || strcmp(kept->unit, unit->id) != 0 ||
        cb_app_bench_now(app) - kept->own_ms >= HOURS_AGAIN_MS) {
        learn_own(app, unit);
    }
    if (cb_road_think(kept->road, unit, kept->own ? kept->own : kept->taught)) {
        cb_app_changed(app);
    }
}

void cb_roads_init(struct cb_app *app)
{
    app->roads.kept = cb_mem_new(1, sizeof *app->roads.kept);
    app->roads.kept->road = cb_road_new();
}

void cb_roads_fini(struct cb_app *app)
{
    if (app->roads.kept) {
        cb_road_free(app->roads.kept->road);
        forget_own(app->roads.kept);
        cb_hours_free(app->roads.kept->taught);
        free(app->roads.kept);
    }
}

void cb_roads_nights(const struct cb_app *app, double *evening_min, double *tonight_min)
{
    cb_road_evenings(app->roads.kept->road, evening_min, tonight_min);
}
