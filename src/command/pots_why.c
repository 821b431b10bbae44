/* SPDX-License-Identifier: MIT */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "command/pots_internal.h"
#include "command/wrap.h"
#include "view/pot_plot.h"

#define PLOT_COLUMNS 78
#define PLOT_ROWS    24

static void print_grid(const struct cb_grid *grid)
{
    struct cb_str out = {0};
    cb_grid_dump(grid, &out);
    cb_command_print(stdout, &out);
}

static const char *said(const struct cb_pots *pots, const struct cb_row *row)
{
    struct cb_arena *arena = pots->args->arena;
    if (row->kind == CB_ROW_WEAK) {
        return row->lo > 0
                   ? cb_arena_printf(arena, "wet at %s, next coat on, unasked, at %s",
                                     cb_pots_minutes(pots, row->lo), cb_pots_minutes(pots, row->hi))
                   : cb_arena_printf(arena, "next coat on, unasked, at %s",
                                     cb_pots_minutes(pots, row->hi));
    }
    if (isinf(row->hi)) {
        return cb_arena_printf(arena, "still wet at %s", cb_pots_minutes(pots, row->lo));
    }
    return row->lo > 0
               ? cb_arena_printf(arena, "wet at %s, dry at %s", cb_pots_minutes(pots, row->lo),
                                 cb_pots_minutes(pots, row->hi))
               : cb_arena_printf(arena, "dry at %s", cb_pots_minutes(pots, row->hi));
}

static void print_evidence(const struct cb_pots *pots, const struct cb_pot_evidence *evidence,
                           size_t count)
{
    printf("  %-10s %-9s %-16s %s\n", "day", "film", "technique",
           cb_command_columns() < PLOT_COLUMNS - 10 ? "" : "what was seen, standard minutes");
    for (size_t i = 0; i < count; i++) {
        const struct cb_row *row = evidence[i].row;
        char day[11], film[48];
        cb_time_date(row->at_ms, &pots->log.zone, day);
        snprintf(film, sizeof film, "%d/%d/%d", row->figure, row->stage, row->coat);
        int used = printf("  %-10s %-9s %-16s ", day, film,
                          cb_technique_name((enum cb_technique)row->technique));
        const char *text = said(pots, row);
        if (evidence[i].looks_off) {
            text =
                cb_arena_printf(pots->args->arena, "%s  -- this answer does not fit (%.0f in 100)",
                                text, 100 * evidence[i].mis_key);
        }
        bool narrow = cb_command_columns() < PLOT_COLUMNS - 10;
        if (narrow) {
            printf("\n%*s", 4, "");
        }
        cb_command_wrap_after(text, narrow ? 4 : used, narrow ? 6 : used);
    }
    printf("  film: figure/stage/coat\n");
}

void cb_pots_print_why(const struct cb_pots *pots)
{
    for (size_t i = 0; i < pots->count; i++) {
        const struct cb_pot_line *line = &pots->lines[i];
        size_t count;
        const struct cb_pot_evidence *evidence = cb_pots_why(
            pots->learn, pots->rows, pots->row_count, line->pot, 0, pots->args->arena, &count);
        if (i > 0) {
            printf("\n");
        }
        cb_pots_print_text(pots, line->paint, 0);
        int used = cb_utf8_text_width(line->paint);
        cb_command_wrap_after(
            cb_arena_printf(pots->args->arena,
                            " (%s), %s: median %s min, %.0f %% by %s min; the prior says %s min",
                            line->kind, cb_technique_name(line->technique),
                            cb_pots_minutes(pots, line->median_min), 100 * pots->confidence,
                            cb_pots_minutes(pots, line->ping_min),
                            cb_pots_minutes(pots, line->prior_min)),
            used, 2);
        if (!isnan(line->floor_min)) {
            cb_command_wrap(cb_arena_printf(pots->args->arena,
                                            "not before the label's %s min, until five films "
                                            "were answered",
                                            cb_pots_minutes(pots, line->floor_min)),
                            2);
        }
        if (line->exact) {
            printf("  `wait` is exact: nothing is learned\n");
            continue;
        }
        if (count == 0) { /* two equal curves say less than a sentence */
            cb_command_wrap("nothing was seen of this paint yet: these are the times of the prior "
                            "and of what the bench's other paints taught",
                            2);
            continue;
        }
        struct cb_grid grid;
        int columns = cb_command_columns() < PLOT_COLUMNS ? cb_command_columns() : PLOT_COLUMNS;
        cb_grid_init(&grid, PLOT_ROWS, columns);
        grid.ascii = pots->args->ascii;
        used = cb_pot_plot(&grid, 0, 2, PLOT_ROWS, columns - 2, pots->learn, line, evidence, count);
        struct cb_grid shown = grid;
        shown.rows = used > 0 ? used : 1;
        print_grid(&shown);
        cb_grid_fini(&grid);
        /* the observations are the pot's: once, under its last technique */
        bool last = true;
        for (size_t j = i + 1; j < pots->count; j++) {
            last = last && strcmp(pots->lines[j].pot, line->pot) != 0;
        }
        if (last) {
            print_evidence(pots, evidence, count);
        }
    }
}
