/* SPDX-License-Identifier: MIT */
/* `pots`: what has been learned of each paint, why, and whether pings are as sure as they say. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "base/vec.h"
#include "command/command.h"
#include "command/wrap.h"
#include "core/bench/calibration.h"
#include "core/learn/learn.h"
#include "core/bench/pots.h"
#include "core/bench/rows.h"
#include "shell/clock.h"
#include "shell/history.h"
#include "shell/json_write.h"
#include "shell/paths.h"
#include "shell/store.h"
#include "view/pot_plot.h"

#define NAME_COLUMNS  36
#define PLOT_COLUMNS  78
#define TABLE_COLUMNS 74 /* of a row; narrower, a pot takes two lines */
#define PLOT_ROWS     24

struct pots {
    const struct cb_args *args;
    const struct cb_kinds *kinds;
    struct cb_bench *bench;  /* the units under way */
    struct cb_taught taught; /* by them and the finished ones */
    struct cb_learn *learn;  /* taught's */
    struct cb_zone zone;
    double confidence;
    CB_VEC(struct cb_pot_stage) stages; /* of all units, in the order they were begun */
    CB_VEC(struct cb_row) lessons;      /* rows of the finished units */
    struct cb_calibration calibration;
    const struct cb_row *rows; /* of all */
    size_t row_count;
    const struct cb_pot_line *lines; /* those asked for */
    size_t count;
};

static void print_grid(const struct cb_grid *grid)
{
    struct cb_str out = {0};
    cb_grid_dump(grid, &out);
    cb_command_print(stdout, &out);
}

/* A text from the log, as far as this terminal may have it; padded to columns unless 0. */
static void print_text(const struct pots *pots, const char *text, int columns)
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

static const char *minutes(const struct pots *pots, double min)
{
    return cb_arena_printf(pots->args->arena, min < 9.95 ? "%.1f" : "%.0f", min);
}

/* Two lines for a pot, where a row of the table would not fit. */
static void print_narrow(const struct pots *pots)
{
    cb_command_wrap("minutes at 23 C, 50 %, still air; 10-90: eight films of ten", 0);
    for (size_t i = 0; i < pots->count; i++) {
        const struct cb_pot_line *line = &pots->lines[i];
        print_text(pots,
                   cb_arena_printf(pots->args->arena, "%s, %s", line->paint,
                                   cb_technique_name(line->technique)),
                   0);
        printf("\n");
        cb_command_wrap(cb_arena_printf(pots->args->arena,
                                        "median %s, %.0f %% by %s, 10-90 %s-%s, %zu film%s%s",
                                        minutes(pots, line->median_min), 100 * pots->confidence,
                                        minutes(pots, line->ping_min), minutes(pots, line->low_min),
                                        minutes(pots, line->high_min), line->films,
                                        line->films == 1 ? "" : "s",
                                        line->exact               ? ", wait, exact"
                                        : !isnan(line->floor_min) ? ", label"
                                                                  : ""),
                        2);
    }
}

static void print_rows(const struct pots *pots)
{
    printf("minutes at 23 C, 50 %%, still air; 10-90: eight films of ten\n");
    printf("%-*s %7s %7s %12s %6s\n", NAME_COLUMNS, "paint, technique", "median",
           cb_arena_printf(pots->args->arena, "%.0f %%", 100 * pots->confidence), "10-90", "films");
    for (size_t i = 0; i < pots->count; i++) {
        const struct cb_pot_line *line = &pots->lines[i];
        print_text(pots,
                   cb_arena_printf(pots->args->arena, "%s, %s", line->paint,
                                   cb_technique_name(line->technique)),
                   NAME_COLUMNS);
        printf(" %7s %7s %12s %6zu%s\n", minutes(pots, line->median_min),
               minutes(pots, line->ping_min),
               cb_arena_printf(pots->args->arena, "%s-%s", minutes(pots, line->low_min),
                               minutes(pots, line->high_min)),
               line->films,
               line->exact               ? "  wait, exact"
               : !isnan(line->floor_min) ? "  label"
                                         : "");
    }
}

static void print_table(const struct pots *pots)
{
    if (pots->count == 0) {
        printf("no paint yet; `coatbell begin RECIPE` brings some\n");
        return;
    }
    if (cb_command_columns() < TABLE_COLUMNS) {
        print_narrow(pots);
    } else {
        print_rows(pots);
    }
    cb_command_wrap(cb_pots_confidence_line(pots->confidence, false, pots->args->arena), 0);
    const char *bells = cb_calibration_sum_line(&pots->calibration, pots->args->arena);
    if (bells != NULL) {
        cb_command_wrap(bells, 0);
    }
    const char *ask = cb_calibration_ask_text(cb_calibration_ask(pots->bench));
    if (ask != NULL) {
        cb_command_wrap(ask, 0);
    }
}

static const char *said(const struct pots *pots, const struct cb_row *row)
{
    struct cb_arena *arena = pots->args->arena;
    if (row->kind == CB_ROW_WEAK) {
        return row->lo > 0
                   ? cb_arena_printf(arena, "wet at %s, next coat on, unasked, at %s",
                                     minutes(pots, row->lo), minutes(pots, row->hi))
                   : cb_arena_printf(arena, "next coat on, unasked, at %s", minutes(pots, row->hi));
    }
    if (isinf(row->hi)) {
        return cb_arena_printf(arena, "still wet at %s", minutes(pots, row->lo));
    }
    return row->lo > 0 ? cb_arena_printf(arena, "wet at %s, dry at %s", minutes(pots, row->lo),
                                         minutes(pots, row->hi))
                       : cb_arena_printf(arena, "dry at %s", minutes(pots, row->hi));
}

static void print_evidence(const struct pots *pots, const struct cb_pot_evidence *evidence,
                           size_t count)
{
    printf("  %-10s %-9s %-16s %s\n", "day", "film", "technique",
           cb_command_columns() < PLOT_COLUMNS - 10 ? "" : "what was seen, standard minutes");
    for (size_t i = 0; i < count; i++) {
        const struct cb_row *row = evidence[i].row;
        char day[11], film[48];
        cb_time_date(row->at_ms, &pots->zone, day);
        snprintf(film, sizeof film, "%d/%d/%d", row->figure, row->stage, row->coat);
        int used = printf("  %-10s %-9s %-16s ", day, film,
                          cb_technique_name((enum cb_technique)row->technique));
        const char *text = said(pots, row);
        if (evidence[i].looks_off) {
            text =
                cb_arena_printf(pots->args->arena, "%s  -- looks like the wrong key (%.0f in 100)",
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

static void print_why(const struct pots *pots)
{
    for (size_t i = 0; i < pots->count; i++) {
        const struct cb_pot_line *line = &pots->lines[i];
        size_t count;
        const struct cb_pot_evidence *evidence = cb_pots_why(
            pots->learn, pots->rows, pots->row_count, line->pot, 0, pots->args->arena, &count);
        if (i > 0) {
            printf("\n");
        }
        print_text(pots, line->paint, 0);
        int used = cb_utf8_text_width(line->paint);
        cb_command_wrap_after(
            cb_arena_printf(pots->args->arena,
                            " (%s), %s: median %s min, %.0f %% by %s min; the prior says %s min",
                            line->kind, cb_technique_name(line->technique),
                            minutes(pots, line->median_min), 100 * pots->confidence,
                            minutes(pots, line->ping_min), minutes(pots, line->prior_min)),
            used, 2);
        if (!isnan(line->floor_min)) {
            cb_command_wrap(cb_arena_printf(pots->args->arena,
                                            "not before the label's %s min, until five films "
                                            "were answered",
                                            minutes(pots, line->floor_min)),
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

static struct cb_calibration_band all_bands(const struct pots *pots)
{
    struct cb_calibration_band all = {0};
    for (int i = 0; i < CB_CALIBRATION_BANDS; i++) {
        all.answered += pots->calibration.bands[i].answered;
        all.dry += pots->calibration.bands[i].dry;
        all.confidence += pots->calibration.bands[i].confidence;
    }
    return all;
}

static void print_calibration(const struct pots *pots)
{
    const struct cb_calibration_band all = all_bands(pots);
    if (all.answered == 0) {
        printf("no ping was answered yet; Dry or Still wet on the pop-up, d or w at the bench\n");
        return;
    }
    printf("of the films pinged and then asked, how many were dry at the first answer\n");
    printf("%10s %9s %7s %9s   %s\n", "pinged at", "answered", "dry", "that is", "95 % interval");
    for (int i = 0; i <= CB_CALIBRATION_BANDS; i++) {
        const struct cb_calibration_band *band =
            i == CB_CALIBRATION_BANDS ? &all : &pots->calibration.bands[i];
        double low, high;
        if (band->answered == 0) {
            continue;
        }
        cb_calibration_wilson(band->dry, band->answered, &low, &high);
        double promised = band->confidence / (double)band->answered;
        char name[16];
        snprintf(name, sizeof name, "%.0f %%", 100 * promised);
        printf("%10s %9" PRIu64 " %7" PRIu64 " %7.1f %%   %.1f to %.1f %%: %s\n",
               band == &all ? "all" : name, band->answered, band->dry,
               100.0 * (double)band->dry / (double)band->answered, 100 * low, 100 * high,
               promised < low    ? "surer than said"
               : promised > high ? "less sure than said"
                                 : "as said");
    }
    printf("interval: Wilson 1927\n");
}

static void json_calibration(const struct pots *pots, struct cb_json *json)
{
    cb_json_list(json, "calibration");
    for (int i = 0; i < CB_CALIBRATION_BANDS; i++) {
        const struct cb_calibration_band *band = &pots->calibration.bands[i];
        double low, high;
        if (band->answered == 0) {
            continue;
        }
        cb_calibration_wilson(band->dry, band->answered, &low, &high);
        cb_json_object(json, NULL);
        cb_json_number(json, "confidence", band->confidence / (double)band->answered);
        cb_json_integer(json, "answered", (long long)band->answered);
        cb_json_integer(json, "dry", (long long)band->dry);
        cb_json_number(json, "low", low);
        cb_json_number(json, "high", high);
        cb_json_end(json);
    }
    cb_json_end(json);
}

static void json_evidence(const struct pots *pots, const struct cb_pot_line *line,
                          struct cb_json *json)
{
    size_t count;
    const struct cb_pot_evidence *evidence = cb_pots_why(pots->learn, pots->rows, pots->row_count,
                                                         line->pot, 0, pots->args->arena, &count);
    cb_json_list(json, "observations");
    for (size_t i = 0; i < count; i++) {
        const struct cb_row *row = evidence[i].row;
        char at[CB_RFC3339_SIZE];
        cb_time_format(row->at_ms, at);
        cb_json_object(json, NULL);
        cb_json_text(json, "at", at);
        cb_json_text(json, "unit", row->unit);
        cb_json_integer(json, "figure", row->figure);
        cb_json_integer(json, "stage", row->stage);
        cb_json_integer(json, "coat", row->coat);
        cb_json_text(json, "technique", cb_technique_name((enum cb_technique)row->technique));
        cb_json_number(json, "wet_min", row->lo > 0 ? row->lo : (double)NAN);
        cb_json_number(json, "dry_min", row->hi);
        cb_json_bool(json, "unasked", row->kind == CB_ROW_WEAK);
        cb_json_number(json, "mis_key", evidence[i].mis_key);
        cb_json_end(json);
    }
    cb_json_end(json);
}

static void print_json(const struct pots *pots)
{
    struct cb_json *json = cb_json_new();
    cb_json_number(json, "confidence", pots->confidence);
    cb_json_list(json, "pots");
    for (size_t i = 0; i < pots->count; i++) {
        const struct cb_pot_line *line = &pots->lines[i];
        cb_json_object(json, NULL);
        cb_json_text(json, "paint", line->paint);
        cb_json_text(json, "kind", line->kind);
        cb_json_text(json, "technique", cb_technique_name(line->technique));
        cb_json_integer(json, "films", (long long)line->films);
        cb_json_number(json, "median_min", line->median_min);
        cb_json_number(json, "ping_min", line->ping_min);
        cb_json_number(json, "low_min", line->low_min);
        cb_json_number(json, "high_min", line->high_min);
        cb_json_number(json, "floor_min", line->floor_min);
        if (cb_args_has(pots->args, "--why")) {
            json_evidence(pots, line, json);
        }
        cb_json_end(json);
    }
    cb_json_end(json);
    if (cb_args_has(pots->args, "--calibration")) {
        json_calibration(pots, json);
    }
    cb_command_print_json(json);
}

/* Keeps the paints of that name (folded): whole names first, else those that contain it. */
static bool keep_named(struct pots *pots, const char *name)
{
    struct cb_arena *arena = pots->args->arena;
    const char *wanted = cb_utf8_fold(arena, name);
    struct cb_pot_line *kept = cb_arena_alloc(arena, pots->count + 1, sizeof *kept);
    for (int whole = 1; whole >= 0; whole--) {
        size_t n = 0;
        for (size_t i = 0; i < pots->count; i++) {
            const char *has = cb_utf8_fold(arena, pots->lines[i].paint);
            if (whole ? strcmp(has, wanted) == 0 : strstr(has, wanted) != NULL) {
                kept[n++] = pots->lines[i];
            }
        }
        if (n > 0) {
            pots->lines = kept;
            pots->count = n;
            return true;
        }
    }
    return false;
}

static void add_stages(struct pots *pots, const struct cb_pot_stage *stages, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        cb_vec_push(&pots->stages, stages[i]);
    }
}

/* What is kept of the finished units, and the bench for the others. */
static enum cb_status add_units(struct pots *pots, struct cb_history *history, struct cb_err *err)
{
    struct cb_arena *arena = pots->args->arena;
    size_t count;
    const struct cb_store_unit *units = cb_history_units(history, &count);
    for (size_t i = 0; i < count; i++) {
        size_t stage_count;
        if (!units[i].finished) {
            const struct cb_pot_stage *stages =
                cb_pots_stages(pots->bench, units[i].id, arena, &stage_count);
            add_stages(pots, stages, stage_count);
            continue;
        }
        struct cb_lesson lesson;
        const enum cb_status status = cb_history_lesson(history, &units[i], arena, &lesson, err);
        if (status == CB_FAILED) {
            continue; /* what began it is damaged */
        }
        if (status != CB_OK) {
            return status;
        }
        add_stages(pots, lesson.stages, lesson.stage_count);
        cb_calibration_add(&pots->calibration, &lesson.calibration, arena);
        for (size_t r = 0; r < lesson.row_count; r++) {
            cb_vec_push(&pots->lessons, lesson.rows[r]);
        }
    }
    return CB_OK;
}

static void gather(struct pots *pots)
{
    struct cb_arena *arena = pots->args->arena;
    size_t own_count;
    const struct cb_row *own = cb_bench_rows(pots->bench, &own_count);
    const struct cb_calibration calibration = cb_calibration_of(pots->bench, NULL, arena);
    cb_calibration_add(&pots->calibration, &calibration, arena);
    cb_rows_sort(pots->lessons.items, pots->lessons.count);
    pots->rows = cb_rows_merge(pots->lessons.items, pots->lessons.count, own, own_count, arena,
                               &pots->row_count);
    pots->confidence = cb_bench_facts(pots->bench).confidence;
    pots->learn = pots->taught.learn;
    pots->lines = cb_pots_lines(pots->stages.items, pots->stages.count, pots->learn, pots->rows,
                                pots->row_count, pots->confidence, arena, &pots->count);
}

static enum cb_status load(struct pots *pots, struct cb_store *store, struct cb_err *err)
{
    static char progress[] = "pots";
    const struct cb_store_filter open_units = {.open_units = true};
    struct cb_history *history = NULL;
    enum cb_status status =
        cb_history_bench(store, &open_units, pots->kinds, &pots->bench, NULL, err);
    if (status == CB_OK) {
        status = cb_history_open(store, pots->kinds, &history, err);
    }
    if (status == CB_OK) {
        cb_history_tell(history, cb_command_progress, progress);
        status = cb_history_teach(history, pots->bench, &pots->taught, err);
    }
    if (status == CB_OK) {
        status = add_units(pots, history, err);
    }
    cb_command_progress_end();
    if (status == CB_OK) {
        gather(pots);
    }
    cb_history_close(history);
    return status;
}

static int show(struct pots *pots)
{
    const struct cb_args *args = pots->args;
    if (args->operand_count > 0 && !keep_named(pots, args->operands[0])) {
        return cb_command_failf(CB_FAILED,
                                "no paint of that name in the log: %s (`coatbell pots` lists them)",
                                args->operands[0]);
    }
    if (args->json) {
        print_json(pots);
    } else if (cb_args_has(args, "--calibration")) {
        print_calibration(pots);
    } else if (cb_args_has(args, "--why") || args->operand_count > 0) {
        print_why(pots);
    } else {
        print_table(pots);
    }
    return 0;
}

static int run(const struct cb_args *args)
{
    struct cb_err err = {0};
    struct cb_store *store = NULL;
    struct pots pots = {.args = args};
    const char *log = cb_args_log(args, &err);
    if (cb_paths_kinds(args->arena, &pots.kinds, &err) != CB_OK) {
        return cb_command_fail(&err);
    }
    if (log == NULL) {
        return cb_command_fail(&err);
    }
    cb_clock_zone(cb_clock_now().wall_ms, &pots.zone);
    enum cb_status status = cb_history_store(log, &store, &err);
    if (status == CB_OK) {
        status = load(&pots, store, &err);
    }
    const int code = status == CB_OK ? show(&pots) : cb_command_fail(&err);
    cb_taught_fini(&pots.taught);
    cb_bench_free(pots.bench);
    cb_vec_free(&pots.stages);
    cb_vec_free(&pots.lessons);
    return cb_command_close(store, code);
}

static const struct cb_option options[] = {
    {"--why", NULL, "what was observed, what each said, which look like the wrong key"},
    {"--calibration", NULL, "how many pings found a dry film"},
    {NULL, NULL, NULL},
};

const struct cb_command cb_command_pots = {
    .name = "pots",
    .operands = "[NAME]",
    .summary = "Show what was learned of each paint.",
    .options = options,
    .min_operands = 0,
    .max_operands = 1,
    .run = run,
};
