/* SPDX-License-Identifier: MIT */
#include "support/steady.h"

#include <math.h>
#include <string.h>

#include "core/bench/forecast.h"
#include "core/bench/next.h"

#define TASKS_MAX 8000

static const struct cb_unit *unit_of(const struct steady *steady)
{
    return cb_bench_unit(steady->world.bench, 0);
}

void steady_begin(struct steady *steady, const char *recipe, int figures)
{
    *steady = (struct steady){.slow = 1, .change_min = -1};
    world_init(&steady->world);
    steady->start_ms = steady->world.now.wall_ms;
    world_do(&steady->world, "session_opened -");
    world_do(&steady->world, "climate_set - temp_c=23 rh_pct=50 air=still");
    world_begin(&steady->world, "u", figures, recipe);
}

void steady_end(struct steady *steady)
{
    cb_vec_free(&steady->unrung);
    world_fini(&steady->world);
}

static int64_t due_ms(const struct steady *steady, const struct cb_film_key *key)
{
    const struct cb_film *film = cb_bench_film(unit_of(steady), key->figure, key->stage, key->coat);
    int64_t due = CB_TIME_NONE;
    if (film && film->drying->from != CB_TIME_ZERO) {
        (void)cb_forecast_dry(steady->world.bench, steady->world.learn, film, film->on_ms, &due);
    }
    return due;
}

static void wait_until(struct steady *steady, int64_t at_ms)
{
    world_wait(&steady->world, (double)(at_ms - world_ms(&steady->world)) / 60000);
}

/* Time goes on, with the pings that fall due meanwhile. */
static void go_to(struct steady *steady, int64_t at_ms)
{
    while (true) {
        size_t first = steady->unrung.count;
        int64_t first_ms = at_ms;
        for (size_t i = 0; i < steady->unrung.count; i++) {
            const int64_t due = due_ms(steady, &steady->unrung.items[i]);
            if (due != CB_TIME_NONE && due <= first_ms) {
                first = i;
                first_ms = due;
            }
        }
        if (first == steady->unrung.count) {
            break;
        }
        const struct cb_film_key key = steady->unrung.items[first];
        steady->unrung.items[first] = steady->unrung.items[--steady->unrung.count];
        wait_until(steady, first_ms);
        world_do(&steady->world,
                 cb_arena_printf(&steady->world.arena, "pinged u films=%d/%d/%d due_at=0 by=test",
                                 key.figure, key.stage, key.coat));
    }
    wait_until(steady, at_ms);
}

/* When the bench calls the slot dry for its next coat, by now at the earliest. */
static int64_t ready_ms(const struct steady *steady, int figure, int stage)
{
    int64_t at_ms = world_ms(&steady->world);
    while (true) {
        const struct cb_slot slot = cb_next_slot(steady->world.bench, steady->world.learn,
                                                 unit_of(steady), figure, stage, at_ms);
        if ((slot.state != CB_SLOT_WET && slot.state != CB_SLOT_BESIDE) ||
            slot.until_ms == CB_TIME_NONE) {
            return at_ms;
        }
        at_ms = slot.until_ms;
    }
}

/* The coat's own: by the sum of twelve even numbers less six, hashed from what coat it is. */
static double slowness(const struct steady *steady, struct steady_task task, int coat)
{
    uint64_t z = (uint64_t)(task.stage * 10000 + task.figure * 100 + coat);
    double normal = -6;
    for (int i = 0; i < 12; i++) {
        z = z * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
        normal += (double)(z >> 11) / 9007199254740992.0;
    }
    return exp(steady->noise * normal - steady->noise * steady->noise / 2);
}

void steady_put(struct steady *steady, struct steady_task task)
{
    const struct cb_unit *unit = unit_of(steady);
    const struct cb_stage *stage = &unit->recipe->stages[task.stage - 1];
    const char *pot = cb_bench_stage_pot(unit, task.stage);
    const int from = task.figure > 0 ? task.figure : 1;
    const int to = task.figure > 0 ? task.figure : unit->figures;
    int64_t start_ms = world_ms(&steady->world);
    if (task.figure > 0 && unit->figure[task.figure].parked) {
        return;
    }
    if (pot && (!steady->brush || strcmp(pot, steady->brush) != 0)) {
        const double change_min =
            steady->change_min < 0 ? unit->recipe->change_min : steady->change_min;
        start_ms += llround(change_min * 60000);
        steady->worked_min += change_min;
        steady->brush = pot;
    }
    for (int figure = from; figure <= to; figure++) {
        const int64_t ready = ready_ms(steady, figure, task.stage);
        start_ms = ready > start_ms ? ready : start_ms;
    }
    const int next = cb_bench_coats_on(unit, from, task.stage) + 1;
    const double work_min =
        cb_stage_minutes(stage, world_kinds()) * steady->slow * slowness(steady, task, next);
    steady->worked_min += work_min;
    go_to(steady, start_ms + llround(work_min * 60000));
    steady->world.presses++;
    for (int figure = from; figure <= to; figure++) {
        if (unit_of(steady)->figure[figure].parked) {
            continue;
        }
        const int coat = cb_bench_coats_on(unit_of(steady), figure, task.stage) + 1;
        world_also(&steady->world,
                   cb_arena_printf(&steady->world.arena, "coat_on u figure=%d stage=%d coat=%d",
                                   figure, task.stage, coat));
        cb_vec_push(&steady->unrung, ((struct cb_film_key){figure, task.stage, coat}));
    }
}

const struct cb_review *steady_review(struct steady *steady)
{
    world_do(&steady->world, "session_closed -");
    return cb_review_unit(steady->world.bench, 0, CB_TIME_NONE, &steady->world.arena);
}

void steady_sit(struct steady *steady, double minutes)
{
    go_to(steady, world_ms(&steady->world) + llround(minutes * 60000));
}

void steady_night(struct steady *steady, double minutes)
{
    world_do(&steady->world, "session_closed -");
    wait_until(steady, world_ms(&steady->world) + llround(minutes * 60000));
    world_do(&steady->world, "session_opened -");
    steady->brush = NULL;
    go_to(steady, world_ms(&steady->world));
}

void steady_disturb(struct steady *steady, const char *what)
{
    struct world *world = &steady->world;
    if (strcmp(what, "pause") == 0) {
        world_do(world, "pause_begun -");
        steady_sit(steady, 9);
        world_do(world, "pause_ended -");
    } else if (strcmp(what, "chore") == 0) {
        steady_sit(steady, 4);
        world_do(world, "chore_done - name=rinse minutes=4");
    } else if (strcmp(what, "other") == 0) {
        world_begin(world, "v", 1,
                    "{coatbell: 1, name: v, stages: [{name: A, technique: prepare}]}");
        steady_sit(steady, 7);
        world_do(world, "coat_on v figure=1 stage=1 coat=1");
        world_do(world, "unit_opened u");
        steady->brush = NULL;
    } else if (strcmp(what, "undone") == 0) {
        world_do(world, "coat_on u figure=9 stage=2 coat=1");
        world_undo(world);
    } else if (strcmp(what, "parked") == 0) {
        world_do(world, cb_arena_printf(&world->arena, "figure_parked u figure=%d",
                                        unit_of(steady)->figures));
    } else if (strcmp(what, "lifted") == 0) {
        const struct cb_unit *unit = unit_of(steady);
        const struct cb_film film = unit->films[unit->film_count - 1];
        world_do(world, cb_arena_printf(&world->arena, "lifted u figure=%d stage=%d coat=%d",
                                        film.figure, film.stage, film.coat));
        steady_put(steady, (struct steady_task){film.stage, film.figure});
    }
}

size_t steady_batches(const struct cb_recipe *recipe, int figures, int batch,
                      struct steady_task *tasks, size_t most)
{
    size_t count = 0;
    for (int first = 0; first < (int)recipe->stage_count;) {
        int end = first;
        while (end < (int)recipe->stage_count && recipe->stages[end].together == 0) {
            end++;
        }
        for (int from = 1; from <= figures && end > first; from += batch) {
            for (int stage = first; stage < end; stage++) {
                for (int coat = 0; coat < recipe->stages[stage].coats; coat++) {
                    for (int f = from; f < from + batch && f <= figures && count < most; f++) {
                        tasks[count++] = (struct steady_task){stage + 1, f};
                    }
                }
            }
        }
        if (end < (int)recipe->stage_count && count < most) {
            tasks[count++] = (struct steady_task){end + 1, 0};
        }
        first = end + 1;
    }
    return count;
}

const struct cb_review *steady_paint(struct steady *steady, const char *recipe, int figures,
                                     int batch)
{
    return steady_paint_in(steady, recipe, figures, batch, "still");
}

const struct cb_review *steady_paint_in(struct steady *steady, const char *recipe, int figures,
                                        int batch, const char *air)
{
    static struct steady_task tasks[TASKS_MAX];
    steady_begin(steady, recipe, figures);
    world_do(&steady->world, cb_arena_printf(&steady->world.arena,
                                             "climate_set - temp_c=23 rh_pct=50 air=%s", air));
    const size_t count = steady_batches(unit_of(steady)->recipe, figures, batch, tasks, TASKS_MAX);
    for (size_t i = 0; i < count; i++) {
        steady_put(steady, tasks[i]);
    }
    return steady_review(steady);
}
