/* SPDX-License-Identifier: MIT */
/* The parts of the bench's screen that have files of their own; see view_bench.c. */
#ifndef CB_VIEW_BENCH_PARTS_H
#define CB_VIEW_BENCH_PARTS_H

#include "app/app.h"
#include "app/scene.h"
#include "view/grid.h"

struct cb_bench_look {
    const struct cb_app *app;
    struct cb_grid *grid;
    const struct cb_scene *scene; /* with a unit in front */
    struct cb_arena *arena;
};

/* What the offered coat waits for. */
struct cb_bench_hold {
    const struct cb_film *film; /* of the unit in front */
    int64_t due_ms;             /* bench time */
};
/* false: nothing holds it up. */
bool cb_bench_held_up(const struct cb_scene *scene, struct cb_bench_hold *hold);

/* FIGURE as large as the screen bears up to `scale`, its paint beside it, with more than one scale
 * also what the recipe says of the stage, and the countdown where it is what one waits for. From
 * that row on, as far as column `right`; the rows used. */
int cb_bench_draw_facts(struct cb_bench_look *look, int row, int right, int scale);
/* One line on the next film to be dry: what is waited for, else what dries meanwhile. Nothing where
 * nothing is wet. */
void cb_bench_draw_next(struct cb_bench_look *look, int row);

/* All figures in two rows: number, and state as symbol, word and colour. Where there are too many,
 * equal ones that stand side by side are joined, else all that are equal. */
void cb_bench_draw_strip(struct cb_bench_look *look, int row);
/* A row for each figure, equal ones joined: state and when it is dry; roomy: the last coat too.
 * From that column on to the edge, 48 columns or, roomy, 73. */
void cb_bench_draw_table(struct cb_bench_look *look, int row, int column, int rows, bool roomy);
/* Figures by stages: who has what, and the minutes that each stage still takes. */
void cb_bench_draw_board(struct cb_bench_look *look, int row, int rows);

#endif
