/* SPDX-License-Identifier: MIT */
/* What is on and wet while the marks of a log are gone through in some order. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "core/plan/suggest_internal.h"

void cb_suggest_board_init(struct cb_suggest_board *board, const struct cb_plan_model *m)
{
    const size_t slots = m->stages * m->figures;
    board->on = cb_mem_new(slots + 1, sizeof *board->on);
    board->lacking = cb_mem_new(slots + 1, sizeof *board->lacking);
    board->ready_min = cb_mem_new(slots + 1, sizeof *board->ready_min);
    memcpy(board->lacking, m->lacking, slots * sizeof *board->lacking);
}

void cb_suggest_board_fini(struct cb_suggest_board *board)
{
    free(board->on);
    free(board->lacking);
    free(board->ready_min);
    *board = (struct cb_suggest_board){0};
}

static size_t figure_of(const struct cb_suggest_log *log, const struct cb_suggest_mark *mark,
                        size_t member)
{
    return (size_t)log->members[mark->first + member];
}

static size_t slot_of(const struct cb_suggest_log *log, int stage, size_t figure)
{
    return (size_t)stage * log->model.figures + figure;
}

double cb_suggest_board_ready(const struct cb_suggest_board *board,
                              const struct cb_suggest_log *log, const struct cb_suggest_mark *mark)
{
    double ready = 0;
    for (size_t k = 0; k < mark->count; k++) {
        const size_t slot = slot_of(log, mark->stage, figure_of(log, mark, k));
        ready = fmax(ready, board->ready_min[slot]);
    }
    return ready;
}

bool cb_suggest_board_is_next(const struct cb_suggest_board *board,
                              const struct cb_suggest_log *log, const struct cb_suggest_mark *mark)
{
    for (size_t k = 0; k < mark->count; k++) {
        const size_t slot = slot_of(log, mark->stage, figure_of(log, mark, k));
        if (board->lacking[slot] > 0 || board->on[slot] != mark->coat) {
            return false;
        }
    }
    return true;
}

void cb_suggest_board_put(struct cb_suggest_board *board, const struct cb_suggest_log *log,
                          const struct cb_suggest_mark *mark, double dry_min)
{
    const struct cb_plan_model *m = &log->model;
    for (size_t k = 0; k < mark->count; k++) {
        const size_t figure = figure_of(log, mark, k);
        const size_t own = slot_of(log, mark->stage, figure);
        board->on[own]++;
        board->ready_min[own] = fmax(board->ready_min[own], dry_min);
        for (int i = m->first_follower[mark->stage]; i < m->first_follower[mark->stage + 1]; i++) {
            const size_t next = slot_of(log, m->followers[i], figure);
            board->ready_min[next] = fmax(board->ready_min[next], dry_min);
            board->lacking[next] -= board->on[own] == m->wanted[own] ? 1 : 0;
        }
        for (int i = m->first_touching[mark->stage]; i < m->first_touching[mark->stage + 1]; i++) {
            const size_t beside = slot_of(log, m->touching[i], figure);
            board->ready_min[beside] = fmax(board->ready_min[beside], dry_min);
        }
    }
}
