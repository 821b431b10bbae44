/* SPDX-License-Identifier: MIT */
#include "view/road_line.h"

#include <math.h>
#include <string.h>

#include "app/outlook.h"
#include "app/road.h"
#include "app/session.h"

#define EVENINGS_MOST 400 /* more are no forecast */
#define CLOCK_COLUMNS 8   /* between two labels of the clock, at least */
#define EPSILON_MIN   1e-6

static struct cb_road_row row_of(const struct cb_road_line *line, int stage, bool *dries)
{
    const struct cb_plan_problem *problem = line->road->problem;
    struct cb_road_row row = {.stage = stage};
    *dries = false;
    for (size_t f = 0; f < problem->figure_count; f++) {
        const struct cb_plan_slot *slot =
            &problem->slots[(size_t)stage * problem->figure_count + f];
        row.left += slot->coats - slot->on;
        *dries = *dries || slot->dry_min > line->evenings[0].from_min + line->late_min;
    }
    for (size_t i = 0; i < line->plan->task_count; i++) {
        const struct cb_plan_task *task = &line->plan->tasks[i];
        if (task->stage == stage) {
            row.planned += (int)task->member_count;
            row.work_min += task->end_min - task->start_min;
        }
    }
    return row;
}

/* Where the line begins, in the plan's minutes: now, but the first coat is seen whole. */
static double begin_of(const struct cb_plan *plan, double gone_min)
{
    if (plan->task_count == 0) {
        return gone_min;
    }
    return gone_min < plan->tasks[0].start_min ? gone_min : plan->tasks[0].start_min;
}

/* What stands still has no end: as far as there is work. */
static double end_of(const struct cb_road_line *line, double from_min)
{
    const struct cb_plan *plan = line->plan;
    double end_min = plan->finish_min;
    if (!isfinite(end_min)) {
        end_min = plan->task_count > 0 ? plan->tasks[plan->task_count - 1].end_min : 0;
    }
    const double wet_min = cb_outlook_wet_min(line->road) - line->late_min;
    if (plan->evenings <= 1 && isfinite(wet_min) && wet_min > end_min) {
        end_min = wet_min;
    }
    return end_min > from_min ? end_min : from_min;
}

/* The last ends with its brush work and what dries after it, as far as the evening goes. */
static void find_evenings(const struct cb_app *app, struct cb_road_line *line, double from_min,
                          bool by_evenings, struct cb_arena *arena)
{
    const struct cb_plan *plan = line->plan;
    const double end_min = end_of(line, from_min);
    double evening_min, tonight_min;
    cb_roads_nights(app, &evening_min, &tonight_min);
    const bool many = by_evenings && evening_min > 0 && plan->evenings > 1;
    line->evening_count = !many                            ? 1
                          : plan->evenings > EVENINGS_MOST ? EVENINGS_MOST
                                                           : plan->evenings;
    line->evenings = cb_arena_alloc(arena, (size_t)line->evening_count, sizeof *line->evenings);
    line->evenings[0] = (struct cb_road_evening){.from_min = from_min, .to_min = end_min};
    for (int i = 1; i < line->evening_count; i++) {
        const double begins_min = tonight_min + (i - 1) * evening_min;
        line->evenings[i - 1].to_min = fmax(begins_min, line->evenings[i - 1].from_min);
        line->evenings[i] =
            (struct cb_road_evening){.from_min = begins_min, .to_min = begins_min + evening_min};
    }
    if (many && plan->task_count > 0) {
        struct cb_road_evening *last = &line->evenings[line->evening_count - 1];
        const double worked_min = plan->tasks[plan->task_count - 1].end_min;
        last->to_min = fmax(worked_min, fmin(end_min, last->to_min));
    }
}

struct cb_road_line cb_road_line_of(const struct cb_app *app, bool by_evenings,
                                    struct cb_arena *arena)
{
    struct cb_road_line line = {.road = cb_app_road(app)};
    line.plan = by_evenings ? &line.road->nights : &line.road->plan;
    line.late_min = cb_outlook_late_min(app, line.plan);
    find_evenings(app, &line, begin_of(line.plan, cb_outlook_gone_min(app) - line.late_min),
                  by_evenings, arena);
    const int stages = (int)line.road->problem->stage_count;
    line.rows = cb_arena_alloc(arena, (size_t)stages + 1, sizeof *line.rows);
    for (int stage = 0; stage < stages; stage++) {
        bool dries;
        const struct cb_road_row row = row_of(&line, stage, &dries);
        if (row.left > 0 || dries) {
            line.rows[line.row_count++] = row;
        }
    }
    return line;
}

void cb_road_line_cut(struct cb_road_line *line, double place_min)
{
    line->place_min = place_min;
    line->columns = 0;
    for (int i = 0; i < line->evening_count; i++) {
        struct cb_road_evening *evening = &line->evenings[i];
        line->columns += i > 0 ? 1 : 0;
        evening->column = line->columns;
        evening->columns =
            (int)ceil((evening->to_min - evening->from_min) / place_min - EPSILON_MIN);
        evening->columns = evening->columns < 1 ? 1 : evening->columns;
        line->columns += evening->columns;
    }
}

static void put_sign(struct cb_grid *grid, int row, int column, enum cb_time_sign sign)
{
    static const enum cb_role roles[] = {CB_ROLE_STRONG, CB_ROLE_STRONG, CB_ROLE_WET, CB_ROLE_PLAIN,
                                         CB_ROLE_RULE};
    cb_grid_put(grid, row, column, 1, roles[sign], cb_time_sign_text(sign, grid->ascii));
}

/* The dividers that are in sight. */
static void put_nights(const struct cb_road_line *line, int left, struct cb_grid *grid, int row,
                       int column, int columns)
{
    for (int i = 1; i < line->evening_count; i++) {
        const int at = line->evenings[i].column - 1 - left;
        if (at >= 0 && at < columns) {
            put_sign(grid, row, column + at, CB_TIME_SIGN_NIGHT);
        }
    }
}

static double wet_of(const struct cb_road_line *line, int stage)
{
    const struct cb_plan_problem *problem = line->road->problem;
    double wet_min = 0;
    for (size_t f = 0; f < problem->figure_count; f++) {
        const struct cb_plan_slot *slot =
            &problem->slots[(size_t)stage * problem->figure_count + f];
        wet_min = fmax(wet_min, slot->dry_min);
    }
    return wet_min;
}

void cb_road_line_draw(const struct cb_road_line *line, int stage, int left, struct cb_grid *grid,
                       int row, int column, int columns)
{
    struct cb_arena arena = {0};
    for (int i = 0; i < line->evening_count; i++) {
        const struct cb_road_evening *evening = &line->evenings[i];
        const int skip = left > evening->column ? left - evening->column : 0;
        const int at = evening->column + skip - left; /* in the window */
        int count = evening->columns - skip;
        count = count > columns - at ? columns - at : count;
        if (count <= 0) {
            continue;
        }
        struct cb_time_place *places = cb_arena_alloc(&arena, (size_t)count, sizeof *places);
        const double from_min = evening->from_min + skip * line->place_min;
        cb_time_line_fill(line->plan, stage, from_min, line->place_min, count, places);
        if (i == 0) {
            cb_time_line_dry(wet_of(line, stage) - line->late_min, from_min, line->place_min, count,
                             places);
        }
        for (int k = 0; k < count; k++) {
            put_sign(grid, row, column + at + k, cb_time_sign_of(&places[k], line->place_min));
        }
    }
    put_nights(line, left, grid, row, column, columns);
    cb_arena_fini(&arena);
}

void cb_road_line_clock(const struct cb_app *app, const struct cb_road_line *line, int left,
                        struct cb_grid *grid, int row, int column, int columns)
{
    const struct cb_session *session = cb_app_session(app);
    const struct cb_road_evening *tonight = &line->evenings[0];
    const int64_t from_ms = line->road->from_ms +
                            (int64_t)((tonight->from_min + line->late_min) * (double)CB_MS_PER_MIN);
    const int64_t wall_ms = cb_bench_wall(session->bench, &session->now, from_ms);
    const int64_t local_min = cb_time_local(wall_ms, &session->zone) / CB_MS_PER_MIN;
    const int64_t step = (int64_t)cb_time_line_step(line->place_min, CLOCK_COLUMNS);
    int free = 0; /* the first column that no label has taken */
    put_nights(line, left, grid, row, column, columns);
    for (int64_t tick = local_min; free < tonight->columns; tick += step - tick % step) {
        char clock[CB_CLOCK_SIZE];
        const int at = (int)((double)(tick - local_min) / line->place_min);
        if (at >= tonight->columns) {
            break;
        }
        cb_time_clock(wall_ms + (tick - local_min) * CB_MS_PER_MIN, &session->zone, clock);
        const int width = (int)strlen(clock);
        if (at >= free && at + width <= tonight->columns && at - left >= 0 &&
            at - left + width <= columns) {
            cb_grid_put(grid, row, column + at - left, 0, CB_ROLE_DIM, clock);
        }
        free = at >= free ? at + width + 1 : free;
    }
}
