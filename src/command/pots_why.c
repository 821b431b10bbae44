/* SPDX-License-Identifier: MIT */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "command/pots_internal.h"
#include "command/wrap.h"
#include "shell/clock.h"
#include "view/pot_plot.h"
#include "view/pot_sentence.h"

#define PLOT_COLUMNS 78
#define PLOT_ROWS    24
#define MOVED        .03 /* of the middle: worth a sentence (own judgement) */
/* Older films of a pot weigh nothing any more (core/learn: each fades by a twentieth). */
#define WEIGHING_FILMS 400

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

/* "Tuesday, figure 3, coat 2": the day, and which film it was. */
static const char *film_text(const struct cb_pots *pots, const struct cb_row *row)
{
    char day[CB_POT_DAY_SIZE];
    cb_pot_day(row->at_ms, cb_clock_now().wall_ms, &pots->log.zone, day);
    const char *when = strncmp(day, "on ", 3) == 0 ? day + 3 : day;
    return row->coat > 1 ? cb_arena_printf(pots->args->arena, "%s, figure %d, coat %d", when,
                                           row->figure, row->coat)
                         : cb_arena_printf(pots->args->arena, "%s, figure %d", when, row->figure);
}

/* How far the answer moved the middle of the pot, by its own films alone: what the bench's other
 * paints say stands beside it and moves with all of them. */
static double moved_by(struct cb_learn *alone, const struct cb_row *rows, size_t at)
{
    const struct cb_row *row = &rows[at];
    cb_learn_sync(alone, rows, at);
    const double before = cb_learn_quantile(alone, row->pot, row->pot_sd, row->median_min, .5, 0);
    cb_learn_sync(alone, rows, at + 1);
    return cb_learn_quantile(alone, row->pot, row->pot_sd, row->median_min, .5, 0) / before;
}

/* A sentence for each answer that moved it, or that does not fit; returns how many. */
static size_t print_answers(const struct cb_pots *pots, const struct cb_pot_evidence *evidence,
                            size_t count)
{
    struct cb_arena *arena = pots->args->arena;
    struct cb_row *rows = cb_arena_alloc(arena, count + 1, sizeof *rows);
    struct cb_learn *alone = cb_learn_new(NULL);
    const size_t first = count > WEIGHING_FILMS ? count - WEIGHING_FILMS : 0;
    size_t said_count = 0;
    for (size_t i = first; i < count; i++) {
        rows[i - first] = *evidence[i].row;
    }
    for (size_t i = first; i < count; i++) {
        const struct cb_row *row = evidence[i].row;
        if (row->kind == CB_ROW_WEAK) {
            continue;
        }
        const double moved = moved_by(alone, rows, i - first);
        if (!evidence[i].looks_off && fabs(moved - 1) < MOVED) {
            continue;
        }
        said_count++;
        const char *what = evidence[i].looks_off ? "this answer does not fit, and counts little"
                           : moved > 1           ? "slower than was thought"
                           : row->lo > 0         ? "faster than was thought"
                                                 : "no slower than that";
        cb_command_wrap(
            cb_arena_printf(arena, "%s: %s min: %s", film_text(pots, row), said(pots, row), what),
            2);
    }
    cb_learn_free(alone);
    return said_count;
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

static void print_sentence(const struct cb_pots *pots, const struct cb_pot_line *line,
                           const struct cb_pot_evidence *evidence, size_t count)
{
    struct cb_pot_seen seen = {
        .count = count,
        .given = cb_pot_given_text(pots->rows, pots->row_count, line->pot, pots->args->arena)};
    for (size_t i = 0; i < count; i++) {
        seen.off += evidence[i].looks_off;
        seen.last_ms = evidence[i].row->at_ms;
    }
    for (size_t i = 0; i < pots->count; i++) {
        seen.technique |= &pots->lines[i] != line && strcmp(pots->lines[i].pot, line->pot) == 0;
    }
    struct cb_str shown = {0};
    const char *text =
        cb_pot_sentence(line, &seen, cb_clock_now().wall_ms, &pots->log.zone, pots->args->arena);
    cb_command_lines(&shown, cb_utf8_clean(pots->args->arena, text, 0), pots->args->ascii);
    cb_command_wrap(
        cb_arena_text_n(pots->args->arena, cb_str_text(&shown), strcspn(cb_str_text(&shown), "\n")),
        0);
    cb_str_fini(&shown);
}

/* What another painter's table says of it, a line each, under the technique that it tells of. */
static void print_given(const struct cb_pots *pots, const struct cb_pot_line *line,
                        const struct cb_row *const *given, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const char *low = cb_pots_minutes(pots, given[i]->lo);
        const char *high = cb_pots_minutes(pots, given[i]->hi);
        if (given[i]->technique == (int)line->technique) {
            cb_command_wrap(cb_arena_printf(pots->args->arena,
                                            "of another painter: %.0f coat%s, each as if found wet "
                                            "at %s, dry at %s min",
                                            given[i]->value, given[i]->value > 1 ? "s" : "", low,
                                            high),
                            2);
        }
    }
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
        print_sentence(pots, line, evidence, count);
        const char *coats = cb_coverage_texts(pots->covers.items, pots->covers.count, line->pot,
                                              line->technique, true, false, pots->args->arena);
        if (coats != NULL) {
            cb_command_wrap(coats, 2);
        }
        size_t given_count;
        const struct cb_row *const *given =
            cb_pots_given(pots->rows, pots->row_count, line->pot, pots->args->arena, &given_count);
        print_given(pots, line, given, given_count);
        if (line->exact ||
            count + given_count == 0) { /* two equal curves say less than the sentence */
            continue;
        }
        struct cb_grid grid;
        int columns = cb_command_columns() < PLOT_COLUMNS ? cb_command_columns() : PLOT_COLUMNS;
        cb_grid_init(&grid, PLOT_ROWS, columns);
        grid.ascii = pots->args->ascii;
        const int used =
            cb_pot_plot(&grid, 0, 2, PLOT_ROWS, columns - 2, pots->learn, line, evidence, count);
        struct cb_grid shown = grid;
        shown.rows = used > 0 ? used : 1;
        print_grid(&shown);
        cb_grid_fini(&grid);
        /* the observations are the pot's: once, under its last technique */
        bool last = true;
        for (size_t j = i + 1; j < pots->count; j++) {
            last = last && strcmp(pots->lines[j].pot, line->pot) != 0;
        }
        if (last && cb_args_has(pots->args, "--all")) {
            print_evidence(pots, evidence, count);
        } else if (last) {
            const size_t more = count - print_answers(pots, evidence, count);
            if (more > 0) {
                printf("  --why --all lists %zu more that hardly moved it\n", more);
            }
        }
    }
}
