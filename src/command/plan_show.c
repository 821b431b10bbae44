/* SPDX-License-Identifier: MIT */
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "command/plan_internal.h"
#include "command/wrap.h"
#include "core/recipe/amount.h"
#include "view/finish_sentence.h"
#include "view/time_line.h"

#define NAME_COLUMNS 18
#define BAR_COLUMNS  30
#define TICK_COLUMNS 8 /* between two labels of the axis, at least */

const char *cb_plan_span(const struct cb_plan_call *call, double min)
{
    char span[32];
    cb_time_span(llround(min) * CB_MS_PER_MIN, span);
    return cb_arena_text(call->arena, span);
}

/* "90 s", "12 min", "3.5 min": what a stage takes. */
static const char *minutes_text(const struct cb_plan_call *call, double min)
{
    return min < 2    ? cb_arena_printf(call->arena, "%.0f s", min * 60)
           : min < 60 ? cb_arena_printf(call->arena, "%.3g min", round(min * 2) / 2)
                      : cb_plan_span(call, min);
}

static const char *changes_text(const struct cb_plan_call *call, int changes)
{
    return cb_arena_printf(call->arena, changes == 1 ? "%d change of paint" : "%d changes of paint",
                           changes);
}

/* What is left of the finish is the last film's. */
static void print_sum(const struct cb_plan_call *call)
{
    const struct cb_plan *plan = &call->plan;
    struct cb_arena *arena = call->arena;
    const double worked = plan->task_count > 0 ? plan->tasks[plan->task_count - 1].end_min : 0;
    const char *line = cb_arena_printf(
        arena, "Done after %s: %s hands-on, %s for %s, %s waiting, %s for the last film to dry",
        cb_plan_span(call, plan->finish_min), cb_plan_span(call, plan->work_min),
        cb_plan_span(call, plan->change_min), changes_text(call, plan->paint_changes),
        plan->idle_min < 0.5 ? "no"
                             : cb_arena_printf(arena, "%s of", cb_plan_span(call, plan->idle_min)),
        cb_plan_span(call, plan->finish_min - worked));
    const double unused = worked - plan->work_min - plan->change_min - plan->idle_min;
    if (unused >= 0.5) {
        line = cb_arena_printf(arena, "%s, %s left over at the ends of evenings", line,
                               cb_plan_span(call, unused));
    }
    cb_command_wrap(cb_arena_printf(arena, "%s.", line), 0);
}

static void print_evenings(const struct cb_plan_call *call)
{
    const struct cb_plan *plan = &call->plan;
    struct cb_arena *arena = call->arena;
    if (call->problem.evening_min > 0) {
        const char *length = cb_plan_span(call, call->problem.evening_min);
        const char *last = cb_plan_span(call, plan->last_evening_min);
        cb_command_wrap(plan->evenings == 1
                            ? cb_arena_printf(arena, "One evening of %s: %s of it.", length, last)
                            : cb_arena_printf(arena, "%d evenings of %s; the last takes %s.",
                                              plan->evenings, length, last),
                        0);
    } else if (call->usual_evenings > 0) {
        cb_command_wrap(cb_arena_printf(arena, "As you paint that is %d %s.", call->usual_evenings,
                                        call->usual_evenings == 1 ? "evening" : "evenings"),
                        0);
    }
}

static void print_finish(const struct cb_plan_call *call)
{
    const struct cb_finish *finish = &call->finish;
    struct cb_arena *arena = call->arena;
    const char *when = cb_finish_sentence(finish, call->air.now_ms, &call->air.zone, arena);
    if (when == NULL || finish->from == CB_FINISH_DRYING) {
        return;
    }
    cb_command_wrap(
        finish->from == CB_FINISH_LEARNED
            ? cb_arena_printf(arena, "Finished %s, by your last %s evenings.", when,
                              cb_amount_count((int)finish->known_evenings, arena))
            : cb_arena_printf(arena, "Finished %s, with an evening a day from today on.", when),
        0);
}

static void print_head(const struct cb_plan_call *call)
{
    struct cb_arena *arena = call->arena;
    cb_command_wrap(cb_arena_printf(arena, "%s, %s %s, in %s",
                                    cb_utf8_clean(arena, call->in.recipe->name, 48),
                                    cb_amount_count(call->in.figures, arena),
                                    call->in.figures == 1 ? "figure" : "figures",
                                    cb_climate_args_text(call->args, &call->air)),
                    0);
    print_sum(call);
    print_evenings(call);
    print_finish(call);
    cb_command_wrap(cb_arena_printf(arena,
                                    "One stage after the other takes %s; no order takes less than "
                                    "%s.",
                                    cb_plan_span(call, call->strict.finish_min),
                                    cb_plan_span(call, call->bound_min)),
                    0);
    if (call->hours_learned) {
        cb_command_wrap(cb_arena_printf(arena, "By your own hours: likely %s to %s hands-on.",
                                        cb_plan_span(call, call->hours.low_min),
                                        cb_plan_span(call, call->hours.high_min)),
                        0);
    }
}

static bool begins_evening(const struct cb_plan_call *call, double place_min, int column)
{
    const double evening = call->problem.evening_min;
    return evening > 0 && column > 0 &&
           floor(column * place_min / evening) > floor((column - 1) * place_min / evening);
}

static void print_row(const struct cb_plan_call *call, const char *name, int name_columns,
                      const struct cb_time_place *row, double place_min, int columns)
{
    struct cb_str out = {0};
    const char *clean = cb_utf8_clean(call->arena, name, name_columns);
    size_t kept;
    cb_command_lines(&out, clean, call->args->ascii);
    out.text[--out.length] = '\0'; /* its newline */
    cb_str_addf(&out, "%*s", name_columns + 1 - cb_utf8_text_width(clean), "");
    kept = out.length;
    for (int c = 0; c < columns; c++) {
        enum cb_time_sign sign = cb_time_sign_of(&row[c], place_min);
        if (sign == CB_TIME_SIGN_FREE && begins_evening(call, place_min, c)) {
            sign = CB_TIME_SIGN_NIGHT;
        }
        cb_str_add(&out, cb_time_sign_text(sign, call->args->ascii));
        kept = sign != CB_TIME_SIGN_FREE ? out.length : kept;
    }
    printf("%.*s\n", (int)kept, cb_str_text(&out));
    cb_str_fini(&out);
}

static void print_axis(const struct cb_plan_call *call, int indent, double place_min, int columns)
{
    char line[128] = "";
    const bool evenings = call->problem.evening_min > 0;
    const double step =
        evenings ? call->problem.evening_min : cb_time_line_step(place_min, TICK_COLUMNS);
    memset(line, ' ', sizeof line - 1);
    size_t used = 0;
    for (int n = 0; n * step < columns * place_min; n++) {
        const size_t at = (size_t)indent + (size_t)ceil(n * step / place_min - 1e-9);
        const char *label = evenings    ? cb_arena_printf(call->arena, "%d", n + 1)
                            : n == 0    ? "0"
                            : step < 60 ? cb_arena_printf(call->arena, "%.0f", n * step)
                                        : cb_arena_printf(call->arena, "%.0f h", n * step / 60);
        if (at >= used + (used > 0 ? 1 : 0) &&
            at + strlen(label) <= (size_t)indent + (size_t)columns) {
            memcpy(line + at, label, strlen(label));
            used = at + strlen(label);
        }
    }
    line[used] = '\0';
    const char *what = evenings ? "evening" : step < 60 ? "min" : "";
    memcpy(line, what, strlen(what));
    printf("\n%s\n", line);
}

static void print_line(const struct cb_plan_call *call)
{
    const struct cb_recipe *recipe = call->in.recipe;
    struct cb_time_place row[128];
    int name_columns = 7;
    for (size_t s = 0; s < recipe->stage_count; s++) {
        const int width = cb_utf8_text_width(recipe->stages[s].name);
        name_columns = width > name_columns ? width : name_columns;
    }
    name_columns = name_columns < NAME_COLUMNS ? name_columns : NAME_COLUMNS;
    const int columns = cb_command_columns() - name_columns - 1;
    const double place_min = call->plan.finish_min / columns;
    if (columns < TICK_COLUMNS || !(place_min > 0)) {
        return;
    }
    print_axis(call, name_columns + 1, place_min, columns);
    for (size_t s = 0; s < recipe->stage_count; s++) {
        if (cb_recipe_args_figures(&call->in, s) > 0) {
            memset(row, 0, (size_t)columns * sizeof *row);
            cb_time_line_fill(&call->plan, (int)s, 0, place_min, columns, row);
            print_row(call, recipe->stages[s].name, name_columns, row, place_min, columns);
        }
    }
    const bool ascii = call->args->ascii;
    printf("%*s%s hands-on, %s for a part, %s drying; a column is %s\n", name_columns + 1, "",
           cb_time_sign_text(CB_TIME_SIGN_WORK, ascii), cb_time_sign_text(CB_TIME_SIGN_SOME, ascii),
           cb_time_sign_text(CB_TIME_SIGN_DRIES, ascii), minutes_text(call, place_min));
}

/* Enough of the sizes to see where it levels. */
static bool is_shown(const struct cb_plan_call *call, int figures)
{
    return figures <= 6 || figures == call->advised || figures == call->in.figures ||
           figures % 5 == 0;
}

static void print_batches(const struct cb_plan_call *call)
{
    const int count = call->in.figures;
    struct cb_arena *arena = call->arena;
    double most = 1e-9;
    if (count < 2) {
        return;
    }
    for (int i = 0; i < count; i++) {
        most = call->batches[i].idle_min > most ? call->batches[i].idle_min : most;
    }
    printf("\nHow many at once: waiting, and done after\n");
    for (int figures = 1; figures <= count; figures++) {
        const struct cb_plan_batch *batch = &call->batches[figures - 1];
        if (!is_shown(call, figures)) {
            continue;
        }
        printf("%4d %c %-13s %-13s", figures, figures == call->advised ? '*' : ' ',
               cb_plan_span(call, batch->idle_min), cb_plan_span(call, batch->finish_min));
        const int bar = (int)lround(batch->idle_min / most * BAR_COLUMNS);
        for (int i = 0; i < bar; i++) {
            printf("%s", cb_time_sign_text(CB_TIME_SIGN_WORK, call->args->ascii));
        }
        printf("\n");
    }
    char *advice =
        cb_arena_printf(arena, "%s at a time: %s.", cb_amount_count(call->advised, arena),
                        call->advised == count ? "fewer wait longer"
                                               : "more save less than 1 % of the time in waiting");
    advice[0] = (char)toupper((unsigned char)advice[0]);
    const struct cb_plan_row row = cb_plan_longest_row(&call->problem, call->advised);
    if (row.stage >= 0) {
        advice = cb_arena_printf(
            arena,
            "%s %s: dry in %s%s, %s a figure, so with %s in a row the first is dry when the last "
            "is done.",
            advice, cb_utf8_clean(arena, call->in.recipe->stages[row.stage].name, 40),
            minutes_text(call, row.dry_min),
            row.change_min > 0 ? cb_arena_printf(arena, " (%s of it for the next paint)",
                                                 minutes_text(call, row.change_min))
                               : "",
            minutes_text(call, row.work_min), cb_amount_count(row.figures, arena));
    }
    cb_command_wrap(advice, 0);
}

static void print_beside(const char *what, double plan, double strict)
{
    printf("%-18s %10.0f %10.0f\n", what, plan, strict);
}

static void print_comparison(const struct cb_plan_call *call)
{
    const struct cb_plan *plan = &call->plan;
    const struct cb_plan *strict = &call->strict;
    printf("\n%-18s %10s %10s\n", "minutes", "plan", "in order");
    print_beside("done after", plan->finish_min, strict->finish_min);
    print_beside("hands-on", plan->work_min, strict->work_min);
    print_beside("changes of paint", plan->change_min, strict->change_min);
    print_beside("waiting", plan->idle_min, strict->idle_min);
    printf("\n");
    print_beside("changes, how many", plan->paint_changes, strict->paint_changes);
    cb_command_wrap("In order: every coat on all figures before the next one, stage after stage.",
                    0);
}

void cb_plan_print(const struct cb_plan_call *call)
{
    print_head(call);
    print_line(call);
    print_batches(call);
    if (cb_args_has(call->args, "--compare")) {
        print_comparison(call);
    }
}
