/* SPDX-License-Identifier: MIT */
#include "core/plan/suggest_choice.h"

#include <ctype.h>
#include <math.h>

#include "base/time.h"
#include "core/recipe/amount.h"

void cb_suggest_add_span(double minutes, struct cb_str *out)
{
    char span[32];
    cb_time_span(llround(minutes) * CB_MS_PER_MIN, span);
    cb_str_add(out, span);
}

static void add_count(int count, struct cb_str *out)
{
    struct cb_arena arena = {0};
    cb_str_add(out, cb_amount_count(count, &arena));
    cb_arena_fini(&arena);
}

/* " would have saved 34 min: 21 min less waiting, nine fewer changes of paint" */
static void add_saving(const struct cb_suggestion *suggestion, struct cb_str *out)
{
    const double waiting_min = suggestion->waiting_min;
    const int changes = suggestion->paint_changes;
    cb_str_add(out, " would have saved ");
    cb_suggest_add_span(suggestion->saves_min, out);
    if (changes == 0) {
        cb_str_add(out, " of waiting");
        return;
    }
    cb_str_add(out, ": ");
    if (fabs(waiting_min) >= 0.5) {
        cb_suggest_add_span(fabs(waiting_min), out);
        cb_str_add(out, waiting_min > 0 ? " less waiting, " : " more waiting, ");
    }
    add_count(changes > 0 ? changes : -changes, out);
    cb_str_addf(out, " %s change%s of paint", changes > 0 ? "fewer" : "more",
                changes == 1 || changes == -1 ? "" : "s");
}

static bool make_batch(struct cb_suggest_log *log, struct cb_suggest_try *try)
{
    try->batch = cb_suggest_advised(log);
    try->simulations = 1;
    return try->batch != log->batch;
}

static void tell_batch(struct cb_suggest_log *log, const struct cb_suggest_try *try,
                       struct cb_suggestion *out)
{
    out->figures = try->batch;
    out->instead_of = log->batch;
}

static void say_batch(const struct cb_suggestion *suggestion, const struct cb_recipe *recipe,
                      struct cb_str *out)
{
    (void)recipe;
    struct cb_arena arena = {0};
    char *count = cb_arena_text(&arena, cb_amount_count(suggestion->figures, &arena));
    count[0] = (char)toupper((unsigned char)count[0]);
    cb_str_addf(out, "%s at a time instead of ", count);
    add_count(suggestion->instead_of, out);
    add_saving(suggestion, out);
    cb_arena_fini(&arena);
}

static bool make_order(struct cb_suggest_log *log, struct cb_suggest_try *try)
{
    try->batch = try->batch > 0 ? try->batch : log->batch;
    try->simulations = cb_suggest_simulations(log);
    return true;
}

/* How often one went over to the other and came back, of two stages. */
struct turns {
    int count[CB_RECIPE_MAX][CB_RECIPE_MAX];
};

static int back_and_forth(const struct turns *turns, int a, int b)
{
    const int to = turns->count[a][b], from = turns->count[b][a];
    return to < from ? to : from;
}

/* The stages that the plan takes in turn, and the log did not. */
static void tell_order(struct cb_suggest_log *log, const struct cb_suggest_try *try,
                       struct cb_suggestion *out)
{
    struct cb_arena arena = {0};
    struct turns *planned = cb_arena_alloc(&arena, 1, sizeof *planned);
    struct turns *painted = cb_arena_alloc(&arena, 1, sizeof *painted);
    const struct cb_plan plan = cb_suggest_plan(log, try, &arena);
    for (size_t i = 1; i < plan.task_count; i++) {
        planned->count[plan.tasks[i - 1].stage][plan.tasks[i].stage]++;
    }
    for (size_t i = 1; i < log->mark_count; i++) {
        painted->count[log->marks[i - 1].stage][log->marks[i].stage]++;
    }
    for (size_t pair = 0; pair < CB_SUGGEST_PAIRS; pair++) {
        int most = 0;
        for (int b = 1; b < (int)log->problem.stage_count; b++) {
            for (int a = 0; a < b; a++) {
                const int more = back_and_forth(planned, a, b) - back_and_forth(painted, a, b);
                if (more > most) {
                    most = more;
                    out->stages[pair][0] = a + 1;
                    out->stages[pair][1] = b + 1;
                }
            }
        }
        if (most > 0) { /* named: not again */
            const int a = out->stages[pair][0] - 1, b = out->stages[pair][1] - 1;
            planned->count[a][b] = 0;
        }
    }
    cb_arena_fini(&arena);
}

static void say_order(const struct cb_suggestion *suggestion, const struct cb_recipe *recipe,
                      struct cb_str *out)
{
    size_t pairs = 0;
    for (; pairs < CB_SUGGEST_PAIRS && suggestion->stages[pairs][0] > 0; pairs++) {
        const int *pair = suggestion->stages[pairs];
        cb_str_addf(out, "%s%s and %s", pairs > 0 ? ", " : "", recipe->stages[pair[0] - 1].name,
                    recipe->stages[pair[1] - 1].name);
    }
    cb_str_add(out, pairs > 0 ? " in turn" : "The order of the plan");
    add_saving(suggestion, out);
}

static bool make_fan(struct cb_suggest_log *log, struct cb_suggest_try *try)
{
    bool helps = false;
    for (size_t s = 0; s < log->problem.stage_count; s++) {
        helps |= log->fan_dry_min[s] < log->model.stage[s].dry_min;
    }
    try->fan = true;
    return helps;
}

/* The stage whose films alone would have gained most. */
static void tell_fan(struct cb_suggest_log *log, const struct cb_suggest_try *try,
                     struct cb_suggestion *out)
{
    double least_min = INFINITY;
    for (size_t s = 0; s < log->problem.stage_count; s++) {
        const double dry_min = log->model.stage[s].dry_min;
        if (!(log->fan_dry_min[s] < dry_min)) {
            continue;
        }
        const struct cb_suggest_lost lost = cb_suggest_replay(log, try, true, (int)s);
        if (cb_suggest_sum(&lost) < least_min) {
            least_min = cb_suggest_sum(&lost);
            out->stage = (int)s + 1;
            out->ring_min = dry_min;
            out->fan_ring_min = log->fan_dry_min[s];
        }
    }
}

static void say_fan(const struct cb_suggestion *suggestion, const struct cb_recipe *recipe,
                    struct cb_str *out)
{
    cb_str_add(out, "A fan on the films");
    add_saving(suggestion, out);
    if (suggestion->stage > 0) {
        cb_str_addf(out, "; %s dry after ", recipe->stages[suggestion->stage - 1].name);
        cb_suggest_add_span(suggestion->fan_ring_min, out);
        cb_str_add(out, ", not ");
        cb_suggest_add_span(suggestion->ring_min, out);
    }
}

static bool make_stay(struct cb_suggest_log *log, struct cb_suggest_try *try)
{
    (void)log;
    try->stay = true;
    return true;
}

static void say_stay(const struct cb_suggestion *suggestion, const struct cb_recipe *recipe,
                     struct cb_str *out)
{
    (void)recipe;
    cb_str_add(out, "Staying with a paint while more of it could go on");
    add_saving(suggestion, out);
}

const struct cb_suggest_choice cb_suggest_choices[CB_SUGGEST_CHOICES] = {
    {"batch", make_batch, tell_batch, say_batch}, /* another number of figures at a time */
    {"stay", make_stay, NULL, say_stay},          /* fewer changes of paint */
    {"order", make_order, tell_order, say_order}, /* the plan's order, as many at a time */
    {"fan", make_fan, tell_fan, say_fan},         /* where the air was still */
};
