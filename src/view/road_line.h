/* SPDX-License-Identifier: MIT */
/*
 * What is left of the unit in front as a time line: a row a stage, evening beside evening, moved
 * along with a painter who is late. Laid out for a width; drawn by view_road.c and the bench.
 */
#ifndef CB_VIEW_ROAD_LINE_H
#define CB_VIEW_ROAD_LINE_H

#include "app/app.h"
#include "core/plan/road.h"
#include "view/grid.h"
#include "view/time_line.h"

struct cb_road_row {
    int stage;       /* from 0 */
    int left;        /* coats that it still wants of figures that are not parked */
    int planned;     /* those of them that the plan puts on */
    double work_min; /* that they take */
};

struct cb_road_evening {
    double from_min, to_min; /* of the plan */
    int column, columns;     /* in the line, from 0; a divider lies before the second and on */
};

struct cb_road_line {
    const struct cb_road *road;
    const struct cb_plan *plan;
    double late_min; /* by so much the clock is ahead of the plan's minutes */
    int row_count;
    struct cb_road_row *rows; /* stages with something to do or to dry, as in the recipe */
    int evening_count;
    struct cb_road_evening *evenings;
    int columns; /* of it all */
    double place_min;
};

/* The stages with something to do, and the evenings, one where their length is not known; in the
 * arena. by_evenings: the plan over evenings, else that of one long one. With a road. */
struct cb_road_line cb_road_line_of(const struct cb_app *app, bool by_evenings,
                                    struct cb_arena *arena);
/* Cuts it into places of that length. */
void cb_road_line_cut(struct cb_road_line *line, double place_min);
/* The row of a stage, its columns from left on, into those of the grid. */
void cb_road_line_draw(const struct cb_road_line *line, int stage, int left, struct cb_grid *grid,
                       int row, int column, int columns);
/* The clock of the first evening, its dividers too, the same way. */
void cb_road_line_clock(const struct cb_app *app, const struct cb_road_line *line, int left,
                        struct cb_grid *grid, int row, int column, int columns);

#endif
