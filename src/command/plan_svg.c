/* SPDX-License-Identifier: MIT */
#include <math.h>

#include "base/utf8.h"
#include "command/markup.h"
#include "command/plan_internal.h"

#define WIDTH  1000
#define LEFT   200 /* for the names */
#define RIGHT  990
#define TOP    40
#define ROW    24
#define BOTTOM 34

/* Colours after Okabe & Ito's palette for colour-blind readers (Color Universal Design, 2008, from
 * memory). */
static const char style[] =
    "<style>text{font:13px system-ui,sans-serif;fill:#1b1b1b}.soft{fill:#5a5a5a}"
    ".hands{fill:#0072b2}.change{fill:#e69f00}.drying{fill:#b9c4cc}"
    ".grid{stroke:#c9c9c9}.night{stroke:#1b1b1b;stroke-dasharray:4 3}</style>";

static double x_of(const struct cb_plan_call *call, double min)
{
    const double all = call->plan.finish_min > 0 ? call->plan.finish_min : 1;
    return LEFT + (RIGHT - LEFT) * min / all;
}

static void rectangle(const struct cb_plan_call *call, struct cb_str *out, const char *what,
                      double from_min, double to_min, double y, double height)
{
    const double x = x_of(call, from_min);
    cb_str_addf(out, "<rect class=\"%s\" x=\"%.2f\" y=\"%.1f\" width=\"%.2f\" height=\"%.1f\"/>",
                what, x, y, x_of(call, to_min) - x, height);
}

static void stroke(const struct cb_plan_call *call, struct cb_str *out, const char *what,
                   const char *label, double min, double bottom)
{
    const double x = x_of(call, min);
    cb_str_addf(out,
                "<line class=\"%s\" x1=\"%.2f\" x2=\"%.2f\" y1=\"%d\" y2=\"%.1f\"/>"
                "<text class=\"soft\" x=\"%.2f\" y=\"%d\">%s</text>",
                what, x, x, TOP - 6, bottom, x + 3, TOP - 8, label);
}

static void axis(const struct cb_plan_call *call, struct cb_str *out, double bottom)
{
    const double evening_min = call->problem.evening_min;
    const double finish_min = call->plan.finish_min;
    const double hours = ceil(finish_min / 60 / 10);
    for (int n = 0; evening_min <= 0 && n * hours * 60 < finish_min; n++) {
        stroke(call, out, "grid", cb_arena_printf(call->arena, "%.0f h", n * hours), n * hours * 60,
               bottom);
    }
    for (int n = 0; evening_min > 0 && n * evening_min < finish_min; n++) {
        stroke(call, out, "night", cb_arena_printf(call->arena, "evening %d", n + 1),
               n * evening_min, bottom);
    }
}

static void task_of(const struct cb_plan_call *call, struct cb_str *out, size_t i, double y)
{
    const struct cb_plan_task *task = &call->plan.tasks[i];
    cb_str_add(out, "<g><title>");
    cb_markup_text(out, call->in.recipe->stages[task->stage].name);
    cb_str_addf(out, ", coat %d, ", task->coat);
    if (task->figure < 0) {
        cb_str_addf(out, "%zu figures together", task->member_count);
    } else {
        cb_str_addf(out, "figure %d", task->figure + 1);
    }
    cb_str_addf(out, ": %s to %s, dry %s</title>", cb_plan_span(call, task->start_min),
                cb_plan_span(call, task->end_min), cb_plan_span(call, task->dry_min));
    if (task->change) {
        const double change_min = call->problem.stages[task->stage].change_min;
        rectangle(call, out, "change", task->start_min - change_min, task->start_min, y, 14);
    }
    rectangle(call, out, "hands", task->start_min, task->end_min, y, 14);
    cb_str_add(out, "</g>");
}

void cb_plan_svg(const struct cb_plan_call *call, struct cb_str *out)
{
    const struct cb_recipe *recipe = call->in.recipe;
    size_t rows = 0;
    for (size_t s = 0; s < recipe->stage_count; s++) {
        rows += cb_recipe_args_figures(&call->in, s) > 0 ? 1 : 0;
    }
    const double bottom = TOP + (double)rows * ROW;
    cb_str_addf(out,
                "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %d %.0f\" role=\"img\">"
                "<title>",
                WIDTH, bottom + BOTTOM);
    cb_markup_text(out, recipe->name);
    cb_str_addf(out, ": done after %s</title>%s<rect width=\"%d\" height=\"%.0f\" fill=\"#fff\"/>",
                cb_plan_span(call, call->plan.finish_min), style, WIDTH, bottom + BOTTOM);
    axis(call, out, bottom);
    double y = TOP;
    for (size_t s = 0; s < recipe->stage_count; s++) {
        if (cb_recipe_args_figures(&call->in, s) == 0) {
            continue;
        }
        cb_str_addf(out, "<text x=\"4\" y=\"%.1f\">", y + 13);
        cb_markup_text(out, cb_utf8_clean(call->arena, recipe->stages[s].name, 28));
        cb_str_add(out, "</text>");
        for (size_t i = 0; i < call->plan.task_count; i++) {
            const struct cb_plan_task *task = &call->plan.tasks[i];
            if (task->stage == (int)s && task->dry_min > task->end_min) {
                rectangle(call, out, "drying", task->end_min, task->dry_min, y + 15, 5);
            }
        }
        for (size_t i = 0; i < call->plan.task_count; i++) {
            if (call->plan.tasks[i].stage == (int)s) {
                task_of(call, out, i, y);
            }
        }
        y += ROW;
    }
    cb_str_addf(out,
                "<rect class=\"hands\" x=\"%d\" y=\"%.1f\" width=\"14\" height=\"12\"/>"
                "<text class=\"soft\" x=\"%d\" y=\"%.1f\">hands-on</text>"
                "<rect class=\"change\" x=\"%d\" y=\"%.1f\" width=\"14\" height=\"12\"/>"
                "<text class=\"soft\" x=\"%d\" y=\"%.1f\">change of paint</text>"
                "<rect class=\"drying\" x=\"%d\" y=\"%.1f\" width=\"14\" height=\"12\"/>"
                "<text class=\"soft\" x=\"%d\" y=\"%.1f\">drying</text></svg>\n",
                LEFT, bottom + 12, LEFT + 20, bottom + 23, LEFT + 110, bottom + 12, LEFT + 130,
                bottom + 23, LEFT + 260, bottom + 12, LEFT + 280, bottom + 23);
}
