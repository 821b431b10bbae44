/* SPDX-License-Identifier: MIT */
#include "command/dry_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "command/recipe_args.h"
#include "command/wrap.h"
#include "core/air/psychro.h"
#include "core/paint/flux.h"

#define PLOT_COLUMNS 60
#define PLOT_ROWS    10

static const char *const from_words[] = {"model", "dry", "wait", "none"};

/* "40 s", "8.9 min", "3 h 10 min": minutes below a hundred keep a decimal. */
static const char *minutes_text(const struct cb_dry *dry, double minutes)
{
    char span[32];
    if (isnan(minutes)) {
        return "--";
    }
    if (minutes < 2) {
        return cb_arena_printf(dry->arena, "%.0f s", minutes * 60);
    }
    if (minutes < 100) {
        return cb_arena_printf(dry->arena, "%.1f min", minutes);
    }
    cb_time_span(llround(minutes) * CB_MS_PER_MIN, span);
    return cb_arena_text(dry->arena, span);
}

void cb_dry_print_air(const struct cb_dry *dry)
{
    const struct cb_climate *c = &dry->air.climate;
    double dew = cb_psychro_dew_point_c(c->temp_c, c->rh_pct);
    const char *point = isinf(dew) ? "none" : cb_arena_printf(dry->arena, "%.1f C", dew);
    cb_command_wrap(cb_arena_printf(dry->arena, "%s: dew point %s, wet bulb %.1f C",
                                    cb_climate_args_text(dry->args, &dry->air), point,
                                    cb_psychro_wet_bulb_c(c->temp_c, c->rh_pct, CB_PRESSURE_PA)),
                    0);
}

/* What the median is made of, here. */
static void print_phases(const struct cb_dry *dry, const struct cb_dry_film *film)
{
    const struct cb_phases *p = &film->phases;
    if (isfinite(p->leave_min)) {
        const int used = printf("  phases            ");
        cb_command_wrap_after(
            cb_arena_printf(dry->arena, "water leaves %s, skin %s, forms %s",
                            minutes_text(dry, p->leave_min), minutes_text(dry, p->through_min),
                            isinf(p->form_min) ? "not: too cold" : minutes_text(dry, p->form_min)),
            used, used);
    }
}

static void print_times(const struct cb_dry *dry, const struct cb_dry_film *film)
{
    static const char *const of[] = {
        [CB_TIME_MODEL] = "by the model",
        [CB_TIME_DRY] = "as said by dry",
        [CB_TIME_WAIT] = "wait: exact, in any air",
        [CB_TIME_ZERO] = "nothing dries",
    };
    const struct cb_drying *d = &film->drying;
    if (d->from == CB_TIME_WAIT) {
        printf("  %s (%s)\n", minutes_text(dry, d->standard_min), of[d->from]);
        return;
    }
    bool given = d->from == CB_TIME_MODEL && d->law != CB_LAW_WATER;
    printf("  at 23 C, 50 %%     %s (%s)\n", minutes_text(dry, d->standard_min),
           given ? "as the table of priors has it" : of[d->from]);
    const char *times = "";
    if (film->median_min > 0 && d->standard_min > 0) {
        double ratio = film->median_min / d->standard_min;
        times = fabs(ratio - 1) < .05 ? ": here just as long"
                                      : cb_arena_printf(dry->arena, ": here %.*f times as long",
                                                        ratio < 10 ? 1 : 0, ratio);
    }
    int used = printf("  factors           ");
    cb_command_wrap_after(cb_arena_printf(dry->arena, "climate %.3f, air %.3f%s",
                                          film->climate_factor, film->air_factor, times),
                          used, used);
    print_phases(dry, film);
    if (film->held) {
        printf("  here              waits: it does not dry in this air\n");
        return;
    }
    printf("  here, as a rule   %s\n", minutes_text(dry, film->median_min));
    printf("  ping at %2.0f %%      %s%s\n", 100 * dry->config->confidence,
           minutes_text(dry, film->ping_min),
           film->floored ? " (the label's time, until five films were answered)" : "");
}

static size_t room_of(const struct cb_dry *dry, const struct cb_dry_film *film,
                      struct cb_room_tool tools[CB_ROOM_MAX])
{
    return cb_gate_room(&film->drying, cb_technique_name(film->technique),
                        cb_drying_prior_quantile(&film->drying, dry->config->confidence),
                        &dry->air.climate, dry->air.now_ms, &dry->air.zone, dry->arena, tools,
                        CB_ROOM_MAX);
}

void cb_dry_print(const struct cb_dry *dry, const struct cb_dry_film *film)
{
    const char *what = cb_utf8_clean(dry->arena, film->what, 48);
    if (film->stage != NULL) {
        printf("\n%s: ", cb_utf8_clean(dry->arena, film->stage, 48));
    }
    if (film->kind_row == NULL) {
        printf("%s\n", what);
    } else {
        printf("%s, %s by %s, %s\n", what, cb_technique_name(film->technique), cb_by_name(film->by),
               cb_utf8_clean(dry->arena, film->mix, 60));
    }
    if (film->drying.from == CB_TIME_ZERO) {
        printf("  nothing dries\n");
    } else {
        print_times(dry, film);
    }
    for (size_t i = 0; i < film->gates.count; i++) {
        cb_command_wrap(cb_arena_printf(dry->arena, "%s: %s",
                                        cb_recipe_args_level(&film->gates.items[i]),
                                        film->gates.items[i].text),
                        2);
    }
    struct cb_room_tool tools[CB_ROOM_MAX];
    const size_t count = room_of(dry, film, tools);
    for (size_t i = 0; i < count; i++) {
        cb_command_wrap(tools[i].text, 2);
    }
    for (size_t i = 0; i < film->caution_count; i++) {
        cb_command_wrap(film->cautions[i].text, 2);
    }
}

static const double table_rh[] = {20, 30, 40, 50, 60, 70, 80, 90};
#define TABLE_RH_COUNT (sizeof table_rh / sizeof *table_rh)
#define TABLE_LOW_C    5
#define TABLE_HIGH_C   40
#define TABLE_STEP_C   5

void cb_dry_print_table(const struct cb_dry *dry, const struct cb_dry_film *film)
{
    if (film->drying.from == CB_TIME_WAIT || film->drying.from == CB_TIME_ZERO) {
        return;
    }
    printf("\nMinutes to the ping (%.0f %%), %s air; -- does not dry\n      ",
           100 * dry->config->confidence, cb_air_name(dry->air.climate.air));
    for (size_t i = 0; i < TABLE_RH_COUNT; i++) {
        printf(" %5.0f%%", table_rh[i]);
    }
    printf("\n");
    for (int t = TABLE_LOW_C; t <= TABLE_HIGH_C; t += TABLE_STEP_C) {
        printf("%3d C ", t);
        for (size_t i = 0; i < TABLE_RH_COUNT; i++) {
            struct cb_climate c = {t, table_rh[i], dry->air.climate.air};
            double minutes = cb_dry_minutes(film, &c, dry->config->confidence);
            if (isnan(minutes)) {
                printf("     --");
            } else {
                printf(" %6.*f", minutes < 10 ? 1 : 0, minutes);
            }
        }
        printf("\n");
    }
}

/* Eighths of a cell from the bottom up; in ASCII a cell is full, half or empty. */
static const char *block(const struct cb_dry *dry, double height)
{
    static const char *const blocks[] = {" ",      "\u2581", "\u2582", "\u2583", "\u2584",
                                         "\u2585", "\u2586", "\u2587", "\u2588"};
    int eighths = (int)lround(fmin(fmax(height, 0), 1) * 8);
    if (dry->args->ascii) {
        return eighths >= 6 ? "#" : eighths >= 2 ? "." : " ";
    }
    return blocks[eighths];
}

void cb_dry_print_plot(const struct cb_dry *dry, const struct cb_dry_film *film)
{
    if (isnan(cb_drying_water_left(&film->drying, &dry->air.climate, 0)) || !(film->ping_min > 0)) {
        printf("\n%s\n", film->held ? "No curve: it does not dry in this air."
                                    : "No curve: only water-borne films have one in the model.");
        return;
    }
    double span = film->ping_min * 1.1;
    const struct cb_phases *p = &film->phases;
    int ping = (int)(film->ping_min / span * PLOT_COLUMNS);
    int median = (int)(film->median_min / span * PLOT_COLUMNS);
    printf("\nShare of the water left\n");
    for (int row = 0; row < PLOT_ROWS; row++) {
        int percent = 100 - row * 100 / PLOT_ROWS;
        printf("%4d%% ", percent);
        char line[PLOT_COLUMNS * 4 + 1] = "";
        size_t used = 0;
        size_t kept = 0;
        for (int column = 0; column < PLOT_COLUMNS; column++) {
            double minutes = span * (column + .5) / PLOT_COLUMNS;
            double left = cb_drying_water_left(&film->drying, &dry->air.climate, minutes);
            const char *cell = block(dry, left * PLOT_ROWS - (PLOT_ROWS - 1 - row));
            if (cell[0] == ' ' && column == ping) {
                cell = dry->args->ascii ? "|" : "\u2502";
            }
            size_t length = strlen(cell);
            memcpy(line + used, cell, length + 1);
            used += length;
            kept = cell[0] != ' ' ? used : kept;
        }
        line[kept] = '\0';
        printf("%s\n", line);
    }
    printf("      ");
    for (int column = 0; column <= ping; column++) {
        const double minutes = span * (column + .5) / PLOT_COLUMNS;
        putchar(column == ping                             ? 'P'
                : column == median                         ? 'm'
                : column > median                          ? '-'
                : minutes <= p->leave_min                  ? '='
                : minutes <= p->leave_min + p->through_min ? '~'
                                                           : 'f');
    }
    printf("\n      0 to %s; m: dry as a rule, %s; P: ping, %s\n", minutes_text(dry, span),
           minutes_text(dry, film->median_min), minutes_text(dry, film->ping_min));
    printf("      ");
    cb_command_wrap_after(cb_arena_printf(dry->arena,
                                          "= water leaves %s, ~ the last through the skin %s, "
                                          "f the film forms %s",
                                          minutes_text(dry, p->leave_min),
                                          minutes_text(dry, p->through_min),
                                          minutes_text(dry, p->form_min)),
                          6, 6);
}

void cb_dry_json_air(const struct cb_dry *dry, struct cb_json *json)
{
    const struct cb_climate *c = &dry->air.climate;
    const struct cb_exchange exchange = cb_flux_exchange(c);
    const struct cb_flux wet = cb_flux_through(&exchange, 0);
    cb_json_number(json, "confidence", dry->config->confidence);
    cb_json_number(json, "temp_c", c->temp_c);
    cb_json_number(json, "rh_pct", c->rh_pct);
    cb_json_text(json, "air", cb_air_name(c->air));
    cb_json_bool(json, "assumed", dry->air.assumed);
    cb_json_number(json, "dew_point_c", cb_psychro_dew_point_c(c->temp_c, c->rh_pct));
    cb_json_number(json, "wet_bulb_c", cb_psychro_wet_bulb_c(c->temp_c, c->rh_pct, CB_PRESSURE_PA));
    cb_json_number(json, "film_c", wet.film_c);
    cb_json_number(json, "flux_g_m2_min", wet.g_m2_min);
    cb_json_number(json, "svp_pa", cb_psychro_svp_pa(c->temp_c));
}

/* null: not known, or it stands still. */
static void json_phase(struct cb_json *json, const char *name, double minutes)
{
    cb_json_number(json, name, isinf(minutes) ? (double)NAN : minutes);
}

void cb_dry_json(const struct cb_dry *dry, const struct cb_dry_film *film, struct cb_json *json)
{
    if (film->stage != NULL) {
        cb_json_text(json, "stage", film->stage);
        cb_json_text(json, "paint", film->kind_row != NULL ? film->what : NULL);
    }
    cb_json_text(json, "kind", film->kind);
    cb_json_text(json, "technique", cb_technique_name(film->technique));
    cb_json_text(json, "by", cb_by_name(film->by));
    cb_json_text(json, "mix", film->mix);
    cb_json_number(json, "standard_min", film->drying.standard_min);
    cb_json_text(json, "from", from_words[film->drying.from]);
    cb_json_number(json, "label_min", film->drying.label_min);
    json_phase(json, "leave_min", film->phases.leave_min);
    json_phase(json, "through_min", film->phases.through_min);
    json_phase(json, "form_min", film->phases.form_min);
    cb_json_number(json, "climate_factor", film->climate_factor);
    cb_json_number(json, "air_factor", film->air_factor);
    cb_json_number(json, "median_min", film->median_min);
    cb_json_number(json, "ping_min", film->ping_min);
    cb_json_bool(json, "held", film->held);
    cb_json_list(json, "warnings");
    for (size_t i = 0; i < film->gates.count; i++) {
        cb_json_object(json, NULL);
        cb_recipe_args_json_gate(json, &film->gates.items[i]);
        cb_json_end(json);
    }
    cb_json_end(json);
    cb_recipe_args_json_cautions(json, film->cautions, film->caution_count);
    struct cb_room_tool tools[CB_ROOM_MAX];
    const size_t count = room_of(dry, film, tools);
    cb_json_list(json, "room");
    for (size_t i = 0; i < count; i++) {
        cb_json_object(json, NULL);
        cb_json_text(json, "tool", tools[i].id);
        cb_json_number(json, "saved_min", tools[i].saved_min);
        cb_json_text(json, "text", tools[i].text);
        cb_json_end(json);
    }
    cb_json_end(json);
}

void cb_dry_json_table(const struct cb_dry *dry, const struct cb_dry_film *film,
                       struct cb_json *json)
{
    cb_json_list(json, "table");
    for (int t = TABLE_LOW_C; t <= TABLE_HIGH_C; t += TABLE_STEP_C) {
        for (size_t i = 0; i < TABLE_RH_COUNT; i++) {
            struct cb_climate c = {t, table_rh[i], dry->air.climate.air};
            cb_json_object(json, NULL);
            cb_json_number(json, "temp_c", t);
            cb_json_number(json, "rh_pct", table_rh[i]);
            cb_json_number(json, "median_min", cb_dry_minutes(film, &c, 0.5));
            cb_json_number(json, "ping_min", cb_dry_minutes(film, &c, dry->config->confidence));
            cb_json_end(json);
        }
    }
    cb_json_end(json);
}
