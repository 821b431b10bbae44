/* SPDX-License-Identifier: MIT */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "command/pots_internal.h"
#include "command/wrap.h"
#include "view/grid.h"

#define NAME_COLUMNS  36
#define TABLE_COLUMNS 74 /* of a row; narrower, a pot takes two lines */

void cb_pots_print_text(const struct cb_pots *pots, const char *text, int columns)
{
    struct cb_grid grid;
    struct cb_str out = {0};
    int width = cb_utf8_text_width(text);
    cb_grid_init(&grid, 1, columns > 0 ? columns : width < 1 ? 1 : width);
    grid.ascii = pots->args->ascii;
    cb_grid_put(&grid, 0, 0, 0, CB_ROLE_PLAIN,
                columns > 0 ? cb_utf8_clean(pots->args->arena, text, columns) : text);
    cb_grid_dump(&grid, &out);
    size_t length = strcspn(cb_str_text(&out), "\n");
    char *shown = cb_arena_text_n(pots->args->arena, cb_str_text(&out), length);
    printf("%s%*s", shown, columns > 0 ? columns - cb_utf8_text_width(shown) : 0, "");
    cb_str_fini(&out);
    cb_grid_fini(&grid);
}

const char *cb_pots_minutes(const struct cb_pots *pots, double min)
{
    return cb_arena_printf(pots->args->arena, min < 9.95 ? "%.1f" : "%.0f", min);
}

static void print_name(const struct cb_pots *pots, const struct cb_pot_line *line, int columns)
{
    const char *technique = cb_technique_name(line->technique);
    cb_pots_print_text(pots, cb_arena_printf(pots->args->arena, "%s, %s", line->paint, technique),
                       columns);
}

/* Under a paint that took other coats than its recipes have. */
static void print_coats(const struct cb_pots *pots, const struct cb_pot_line *line)
{
    const char *text = cb_coverage_texts(pots->covers.items, pots->covers.count, line->pot,
                                         line->technique, false, false, pots->args->arena);
    if (text != NULL) {
        cb_command_wrap(text, 2);
    }
}

/* Two lines for a pot, where a row of the table would not fit. */
static void print_narrow(const struct cb_pots *pots)
{
    cb_command_wrap("minutes at 23 C, 50 %, still air; 10-90: eight films of ten", 0);
    for (size_t i = 0; i < pots->count; i++) {
        const struct cb_pot_line *line = &pots->lines[i];
        print_name(pots, line, 0);
        printf("\n");
        cb_command_wrap(
            cb_arena_printf(
                pots->args->arena, "median %s, %.0f %% by %s, 10-90 %s-%s, %zu film%s%s",
                cb_pots_minutes(pots, line->median_min), 100 * pots->confidence,
                cb_pots_minutes(pots, line->ping_min), cb_pots_minutes(pots, line->low_min),
                cb_pots_minutes(pots, line->high_min), line->films, line->films == 1 ? "" : "s",
                line->exact               ? ", wait, exact"
                : !isnan(line->floor_min) ? ", label"
                                          : ""),
            2);
        print_coats(pots, line);
    }
}

static void print_rows(const struct cb_pots *pots)
{
    printf("minutes at 23 C, 50 %%, still air; 10-90: eight films of ten\n");
    printf("%-*s %7s %7s %12s %6s\n", NAME_COLUMNS, "paint, technique", "median",
           cb_arena_printf(pots->args->arena, "%.0f %%", 100 * pots->confidence), "10-90", "films");
    for (size_t i = 0; i < pots->count; i++) {
        const struct cb_pot_line *line = &pots->lines[i];
        print_name(pots, line, NAME_COLUMNS);
        printf(" %7s %7s %12s %6zu%s\n", cb_pots_minutes(pots, line->median_min),
               cb_pots_minutes(pots, line->ping_min),
               cb_arena_printf(pots->args->arena, "%s-%s", cb_pots_minutes(pots, line->low_min),
                               cb_pots_minutes(pots, line->high_min)),
               line->films,
               line->exact               ? "  wait, exact"
               : !isnan(line->floor_min) ? "  label"
                                         : "");
        print_coats(pots, line);
    }
}

static void print_waiting(const struct cb_pots *pots)
{
    struct cb_arena *arena = pots->args->arena;
    const char *names = cb_pots_waiting(pots, "");
    if (names != NULL) {
        struct cb_str shown = {0};
        cb_command_lines(&shown, cb_utf8_clean(arena, names, 0), pots->args->ascii);
        cb_command_wrap(cb_arena_printf(arena, "from another painter, until a unit has it: %s",
                                        cb_str_text(&shown)),
                        0);
        cb_str_fini(&shown);
    }
}

void cb_pots_print_table(const struct cb_pots *pots)
{
    if (pots->count == 0) {
        printf("no paint yet; `coatbell begin RECIPE` brings some\n");
        print_waiting(pots);
        return;
    }
    if (cb_command_columns() < TABLE_COLUMNS) {
        print_narrow(pots);
    } else {
        print_rows(pots);
    }
    print_waiting(pots);
    cb_command_wrap(cb_pots_confidence_line(pots->confidence, false, pots->args->arena), 0);
    const char *bells = cb_calibration_sum_line(&pots->calibration, pots->args->arena);
    if (bells != NULL) {
        cb_command_wrap(bells, 0);
    }
}
