/* SPDX-License-Identifier: MIT */
#include "app/then.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/lines.h"
#include "app/outlook.h"
#include "app/road.h"
#include "app/state.h"
#include "base/str.h"
#include "base/utf8.h"

/* All own judgement, minutes. */
#define SPARE_MIN    2.0   /* less is no while to do something in */
#define FREE_MIN     10.0  /* less is no tea */
#define FREE_IN_MIN  180.0 /* further off it may be otherwise by then */
#define LEAVE_IN_MIN 60.0  /* the end of the evening is no news before */
#define SLOW_MIN     45.0  /* a film that is worth a night */

static int by_number(const void *a, const void *b)
{
    return *(const int *)a - *(const int *)b;
}

/* The figures of the tasks from `at` on that are one coat in one evening; *at is moved past them.
 */
static struct cb_then_run run_from(const struct cb_app *app, const struct cb_road *road,
                                   const struct cb_plan *plan, size_t *at)
{
    struct cb_then_run run = {0};
    const int64_t late_ms = (int64_t)(cb_outlook_late_min(app, plan) * (double)CB_MS_PER_MIN);
    const struct cb_plan_task *first = &plan->tasks[*at];
    const double change_min = first->change ? road->problem->stages[first->stage].change_min : 0;
    double dry_min = 0;
    for (; *at < plan->task_count; (*at)++) {
        const struct cb_plan_task *task = &plan->tasks[*at];
        if (task->stage != first->stage || task->coat != first->coat ||
            task->evening != first->evening) {
            break;
        }
        for (size_t i = 0; i < task->member_count && run.count < CB_FIGURES_MAX; i++) {
            run.figures[run.count++] = task->members[i] + 1;
        }
        run.end_ms = road->from_ms + late_ms + (int64_t)(task->end_min * (double)CB_MS_PER_MIN);
        dry_min = fmax(dry_min, task->dry_min);
    }
    qsort(run.figures, run.count, sizeof *run.figures, by_number);
    run.stage = first->stage + 1;
    run.coat = first->coat;
    run.change = first->change;
    run.start_ms = road->from_ms + late_ms + (int64_t)(first->start_min * (double)CB_MS_PER_MIN);
    run.from_ms = run.start_ms - (int64_t)(change_min * (double)CB_MS_PER_MIN);
    run.dry_ms = isinf(dry_min)
                     ? CB_TIME_NONE
                     : road->from_ms + late_ms + (int64_t)(dry_min * (double)CB_MS_PER_MIN);
    return run;
}

/* The plan begins with what the scene names; not before what was learned has come. */
static const struct cb_road *road_of(const struct cb_app *app, const struct cb_scene *scene)
{
    const struct cb_road *road = cb_app_road(app);
    const bool same = road && !app->session.history_due && !scene->by_hand && scene->proposal.any &&
                      road->told.task_count > 0 &&
                      road->told.tasks[0].stage + 1 == scene->proposal.stage &&
                      road->told.tasks[0].coat == scene->proposal.coat;
    return same ? road : NULL;
}

/* Now and then what follows it; false: nothing does. */
static bool find_two(const struct cb_app *app, const struct cb_scene *scene,
                     struct cb_then_run *now, struct cb_then_run *then)
{
    const struct cb_road *road = road_of(app, scene);
    size_t at = 0;
    if (!road) {
        return false;
    }
    *now = run_from(app, road, &road->told, &at);
    if (at == road->told.task_count) {
        return false;
    }
    *then = run_from(app, road, &road->told, &at);
    return true;
}

struct cb_then_run cb_then_next(const struct cb_app *app, const struct cb_scene *scene)
{
    struct cb_then_run now, then;
    return find_two(app, scene, &now, &then) ? then : (struct cb_then_run){0};
}

static char *fits(int columns, char *whole, char *less)
{
    return cb_utf8_text_width(whole) <= columns ? whole : less;
}

/* The same paint for another stage or coat would read as what is named already. */
static const char *name_of(const struct cb_unit *unit, const struct cb_then_run *now,
                           const struct cb_then_run *then, struct cb_arena *arena)
{
    if (now->stage == then->stage) {
        return cb_arena_printf(arena, "coat %d", then->coat);
    }
    const char *paint = cb_words_paint(unit, then->stage);
    return strcmp(paint, cb_words_paint(unit, now->stage)) == 0
               ? unit->recipe->stages[then->stage - 1].name
               : paint;
}

/* That very coat, now, on all of them. */
static bool all_ready(const struct cb_app *app, const struct cb_scene *scene,
                      const struct cb_then_run *run)
{
    bool ready = true;
    for (size_t i = 0; i < run->count && ready; i++) {
        const struct cb_slot slot =
            cb_next_slot(app->session.bench, app->session.learn, scene->unit, run->figures[i],
                         run->stage, scene->now_ms);
        ready = slot.state == CB_SLOT_READY && slot.coat == run->coat;
    }
    return ready;
}

char *cb_then_line(const struct cb_app *app, const struct cb_scene *scene, int columns,
                   struct cb_arena *arena)
{
    struct cb_then_run now, then;
    if (!find_two(app, scene, &now, &then)) {
        return NULL;
    }
    const struct cb_unit *unit = scene->unit;
    char *what = cb_arena_printf(arena, "then %s %s %s", name_of(unit, &now, &then, arena),
                                 cb_words_upon(unit, then.stage),
                                 cb_words_figures(arena, then.figures, then.count));
    const bool waits = (double)(then.from_ms - now.end_ms) >= SPARE_MIN * (double)CB_MS_PER_MIN;
    const char *why = all_ready(app, scene, &then) ? "ready" : "dry by then";
    const char *paint = !cb_words_painted(unit, then.stage) ? ""
                        : then.change                       ? ", a change of paint"
                                                            : ", same paint on the brush";
    if (waits) {
        char from[CB_CLOCK_SIZE], until[CB_CLOCK_SIZE];
        cb_lines_clock(app, now.end_ms, from);
        cb_lines_clock(app, then.start_ms, until);
        why = cb_arena_printf(arena, "dry at %s, free from %s", until, from);
    }
    char *full = cb_arena_printf(arena, "%s: %s%s", what, why, paint);
    return fits(columns, full, fits(columns, cb_arena_printf(arena, "%s: %s", what, why), what));
}

/* Was it written since the last coat? key: the word that stands for it. */
static bool is_done(const struct cb_app *app, const char *key)
{
    size_t count;
    const struct cb_event *const *events = cb_bench_events(app->session.bench, &count);
    for (size_t i = count; i-- > 0 && events[i]->kind != CB_EVENT_COAT_ON;) {
        if (events[i]->kind == CB_EVENT_CHORE_DONE && cb_bench_in_force(app->session.bench, i) &&
            strstr(cb_event_text(events[i], CB_FIELD_NAME, ""), key)) {
            return true;
        }
    }
    return false;
}

/* What is mixed of more than one thing, or only shaken. */
static bool is_mixed(const struct cb_app *app, const struct cb_scene *scene, struct cb_arena *arena)
{
    return strchr(cb_words_mix(arena, app->session.kinds, scene->unit, scene->proposal.stage),
                  '+') != NULL;
}

/* Another unit under way of which a coat can go on now, and that coat; NULL: there is none. */
static const struct cb_unit *other_unit(const struct cb_app *app, const struct cb_scene *scene,
                                        struct cb_proposal *next)
{
    const struct cb_bench *bench = app->session.bench;
    for (size_t u = 0; u < cb_bench_unit_count(bench); u++) {
        const struct cb_unit *unit = cb_bench_unit(bench, u);
        if (unit != scene->unit && !unit->finished) {
            *next = cb_next_propose(bench, app->session.learn, unit, 0, 0, scene->now_ms);
            if (next->any) {
                return unit;
            }
        }
    }
    return NULL;
}

char *cb_then_gap_line(const struct cb_app *app, const struct cb_scene *scene, int columns,
                       struct cb_arena *arena)
{
    if (!scene->anyway || scene->ready_ms == CB_TIME_NONE) {
        return NULL;
    }
    const double left_min = (double)(scene->ready_ms - scene->now_ms) / (double)CB_MS_PER_MIN;
    const bool painted = cb_words_painted(scene->unit, scene->proposal.stage);
    const bool mixed = painted && scene->stage_begins && is_mixed(app, scene, arena);
    const char *paint = cb_words_paint(scene->unit, scene->proposal.stage);
    const bool pasty = scene->stage->technique == CB_TECHNIQUE_TEXTURE;
    /* Common practice, no source; the minutes that they want are own judgement. */
    const struct {
        const char *key, *text;
        double least_min;
        bool wanted;
    } chores[] = {
        {"mix", cb_arena_printf(arena, "mix %s", paint), SPARE_MIN, mixed},
        {"shake", cb_arena_printf(arena, "%s %s", pasty ? "stir" : "shake", paint), SPARE_MIN,
         painted && !mixed},
        {"rinse", "rinse the brush", SPARE_MIN,
         scene->proposal.change_paint && !scene->proposal.brush_clean},
        {"water", "fresh water", 5, true},
        {"palette", "refresh the palette", 10, true},
        {"glue", "glue the next bases", 20, true},
    };
    if (left_min < SPARE_MIN) {
        return NULL;
    }
    char until[CB_DUE_SIZE];
    cb_lines_due(app, scene->ready_by ? scene->ready_by->drying : NULL, scene->ready_ms, until);
    const char *key = cb_app_key(app, CB_ACTION_CHORE);
    struct cb_proposal next;
    const struct cb_unit *other = other_unit(app, scene, &next);
    if (other) {
        char *coat = cb_arena_printf(arena, "free until%s: %s %s %d", until,
                                     cb_words_paint(other, next.stage),
                                     cb_words_upon(other, next.stage), next.figure);
        const char *open = cb_app_key(app, CB_ACTION_OPEN);
        return fits(columns,
                    cb_arena_printf(arena, "%s of %s, %s opens it", coat, other->name, open),
                    cb_arena_printf(arena, "%s of another unit, %s", coat, open));
    }
    char *line = NULL;
    char *list = NULL;
    for (size_t i = 0; i < sizeof chores / sizeof *chores; i++) {
        if (!chores[i].wanted || left_min < chores[i].least_min || is_done(app, chores[i].key)) {
            continue;
        }
        list = list ? cb_arena_printf(arena, "%s, %s", list, chores[i].text)
                    : cb_arena_text(arena, chores[i].text);
        char *longer = cb_arena_printf(arena, "free until%s: %s; %s when done", until, list, key);
        if (line && cb_utf8_text_width(longer) > columns) {
            break;
        }
        line = longer;
    }
    return line ? line : cb_arena_printf(arena, "free until%s: nothing to do", until);
}

/* The first while in which no coat can go on, from a hand that is free until brush work; that
 * before what comes next has been said. */
static char *free_line(const struct cb_app *app, const struct cb_road *road, struct cb_arena *arena)
{
    const double late_min = cb_outlook_late_min(app, &road->told);
    size_t next = 0;
    (void)run_from(app, road, &road->told, &next);
    if (next == road->told.task_count) {
        return NULL;
    }
    double free_min = road->told.tasks[next].end_min;
    for (size_t i = next + 1; i < road->told.task_count && free_min < FREE_IN_MIN; i++) {
        const struct cb_plan_task *task = &road->told.tasks[i];
        const double change_min = task->change ? road->problem->stages[task->stage].change_min : 0;
        if (task->start_min - change_min - free_min >= FREE_MIN) {
            char from[CB_CLOCK_SIZE], to[CB_CLOCK_SIZE];
            const double until_min = task->start_min - change_min + late_min;
            cb_lines_clock(app,
                           road->from_ms + (int64_t)((free_min + late_min) * (double)CB_MS_PER_MIN),
                           from);
            cb_lines_clock(app, road->from_ms + (int64_t)(until_min * (double)CB_MS_PER_MIN), to);
            return cb_arena_printf(arena, "free %s to %s: nothing to do", from, to);
        }
        free_min = task->end_min;
    }
    return NULL;
}

/* A stage that dries so long that a night is well spent on it, could go on now, and is not among
 * tonight's; from 1, 0: none. */
static int slow_stage(const struct cb_app *app, const struct cb_scene *scene,
                      const struct cb_road *road, size_t tonight)
{
    for (size_t s = 0; s < road->problem->stage_count; s++) {
        const double dry_min = road->problem->stages[s].dry_min;
        bool planned = (int)s + 1 == scene->proposal.stage;
        for (size_t i = 0; i < tonight; i++) {
            planned = planned || road->nights.tasks[i].stage == (int)s;
        }
        for (int f = 1; f <= scene->unit->figures && !planned && dry_min >= SLOW_MIN &&
                        cb_words_painted(scene->unit, (int)s + 1);
             f++) {
            if (cb_next_slot(app->session.bench, app->session.learn, scene->unit, f, (int)s + 1,
                             scene->now_ms)
                    .state == CB_SLOT_READY) {
                return (int)s + 1;
            }
        }
    }
    return 0;
}

char *cb_then_evening_line(const struct cb_app *app, const struct cb_scene *scene, int columns,
                           struct cb_arena *arena)
{
    const struct cb_road *road = road_of(app, scene);
    const struct cb_bench_facts facts = cb_bench_facts(app->session.bench);
    const double evening_min = cb_roads_evening_min(app);
    if (!road || scene->anyway) {
        return NULL;
    }
    const int64_t end_ms = facts.session_opened_ms + (int64_t)(evening_min * (double)CB_MS_PER_MIN);
    const double left_min = (double)(end_ms - scene->now_ms) / (double)CB_MS_PER_MIN;
    const struct cb_plan *nights = &road->nights;
    size_t tonight = 0;
    while (tonight < nights->task_count && nights->tasks[tonight].evening == 0) {
        tonight++;
    }
    if (evening_min <= 0 || !facts.session_open || left_min < 0 || left_min > LEAVE_IN_MIN ||
        tonight == 0) {
        return free_line(app, road, arena);
    }
    char by[CB_CLOCK_SIZE];
    cb_lines_clock(app, end_ms, by);
    const struct cb_plan_task *last = &nights->tasks[tonight - 1];
    int figures[CB_FIGURES_MAX];
    for (size_t i = 0; i < last->member_count; i++) {
        figures[i] = last->members[i] + 1;
    }
    char *stop = cb_arena_printf(arena, "leave by %s: stop after %s %s %s", by,
                                 cb_words_paint(scene->unit, last->stage + 1),
                                 cb_words_upon(scene->unit, last->stage + 1),
                                 cb_words_figures(arena, figures, last->member_count));
    const int slow = slow_stage(app, scene, road, tonight);
    if (road->problem->stages[last->stage].dry_min >= SLOW_MIN) {
        return fits(columns, cb_arena_printf(arena, "%s, which dries over night", stop), stop);
    }
    if (slow > 0) {
        const char *paint = cb_words_paint(scene->unit, slow);
        return fits(columns,
                    cb_arena_printf(arena, "%s, then %s, which dries over night", stop, paint),
                    fits(columns, cb_arena_printf(arena, "%s, then %s", stop, paint), stop));
    }
    return stop;
}
