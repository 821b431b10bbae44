/* SPDX-License-Identifier: MIT */
/* Instances as a solver and a reader of JSON want them. */
#include <math.h>
#include <stdio.h>

#include "support/plan_case.h"

int plan_case_tasks(const struct plan_case *plan)
{
    int tasks = 0;
    for (int s = 0; s < plan->stage_count; s++) {
        tasks += plan->stages[s].coats * (plan->stages[s].together > 0 ? 1 : plan->figures);
    }
    return tasks;
}

static void write_mask(FILE *file, const char *key, uint64_t mask)
{
    fprintf(file, "\"%s\": [", key);
    for (int i = 0, n = 0; i < PLAN_STAGES; i++) {
        if (mask >> i & 1) {
            fprintf(file, "%s%d", n++ > 0 ? ", " : "", i);
        }
    }
    fprintf(file, "]");
}

bool plan_case_write_instance(const struct plan_case *plan, const char *path, double optimum_min,
                              double bound_min, double strict_min, const char *proof)
{
    FILE *file = fopen(path, "w");
    if (file == NULL) {
        return false;
    }
    fprintf(file,
            "{\n \"name\": \"%s\",\n \"figures\": %d,\n \"setup_min\": %g,\n \"tasks\": %d,\n"
            " \"optimum_min\": %g,\n \"lower_bound_min\": %g,\n \"proof\": \"%s\",\n"
            " \"strict_order_min\": %g,\n \"stages\": [\n",
            plan->name, plan->figures, plan->change_min, plan_case_tasks(plan), optimum_min,
            bound_min, proof, strict_min);
    for (int s = 0; s < plan->stage_count; s++) {
        const struct plan_case_stage *stage = &plan->stages[s];
        fprintf(file,
                "  {\"name\": \"%s\", \"paint\": \"paint %d\", \"coats\": %d, \"work_min\": %g, "
                "\"dry_min\": %g, \"batch\": %s, ",
                stage->name, stage->paint, stage->coats, stage->work_min, stage->dry_min,
                stage->together > 0 ? "true" : "false");
        write_mask(file, "needs", stage->after);
        fprintf(file, ", ");
        write_mask(file, "touches", plan->beside[s]);
        fprintf(file, "}%s\n", s + 1 < plan->stage_count ? "," : "");
    }
    fprintf(file, " ]\n}\n");
    return fclose(file) == 0;
}

/* Tasks by stage, coat and figure, from 1; a go is one for all figures. */
static int task_of(const struct plan_case *plan, int stage, int coat, int figure)
{
    int task = 1;
    for (int s = 0; s < stage; s++) {
        task += plan->stages[s].coats * (plan->stages[s].together > 0 ? 1 : plan->figures);
    }
    return task + (plan->stages[stage].together > 0 ? coat : coat * plan->figures + figure);
}

static void write_list(FILE *file, const char *key, const int *list, int count)
{
    fprintf(file, "%s = [", key);
    for (int i = 0; i < count; i++) {
        fprintf(file, "%s%d", i > 0 ? ", " : "", list[i]);
    }
    fprintf(file, "];\n");
}

enum { PAIRS = 20000 };
struct pairs {
    int count;
    int a[PAIRS], b[PAIRS];
};

static void pair(struct pairs *pairs, int a, int b)
{
    if (a != b && pairs->count < PAIRS) {
        pairs->a[pairs->count] = a;
        pairs->b[pairs->count++] = b;
    }
}

static void write_pairs(FILE *file, const char *count, const char *a, const char *b,
                        const struct pairs *pairs)
{
    fprintf(file, "%s = %d;\n", count, pairs->count);
    write_list(file, a, pairs->a, pairs->count);
    write_list(file, b, pairs->b, pairs->count);
}

/* What one stage's coats are to another's, on every figure. */
static void all_coats(const struct plan_case *plan, struct pairs *pairs, int from, int to)
{
    for (int f = 0; f < plan->figures; f++) {
        for (int c = 0; c < plan->stages[from].coats; c++) {
            for (int d = 0; d < plan->stages[to].coats; d++) {
                pair(pairs, task_of(plan, from, c, f), task_of(plan, to, d, f));
            }
        }
    }
}

bool plan_case_write_data(const struct plan_case *plan, const char *path, double least_min,
                          double most_min)
{
    static struct pairs after, touch;
    FILE *file = fopen(path, "w");
    int work[PLAN_TASKS], dry[PLAN_TASKS], paint[PLAN_TASKS], count = 0;
    if (file == NULL) {
        return false;
    }
    after.count = touch.count = 0;
    for (int s = 0; s < plan->stage_count; s++) {
        const struct plan_case_stage *stage = &plan->stages[s];
        for (int i = 0; i < stage->coats * (stage->together > 0 ? 1 : plan->figures); i++) {
            work[count] = (int)lround(2 * stage->work_min);
            dry[count] = (int)lround(2 * stage->dry_min);
            paint[count++] = stage->paint;
        }
        for (int f = 0; f < plan->figures; f++) {
            for (int c = 0; c + 1 < stage->coats; c++) {
                pair(&after, task_of(plan, s, c, f), task_of(plan, s, c + 1, f));
            }
        }
        for (int t = 0; t < plan->stage_count; t++) {
            if (stage->after >> t & 1) {
                all_coats(plan, &after, t, s);
            }
            if (plan->beside[s] >> t & 1) {
                all_coats(plan, &touch, s, t);
            }
        }
    }
    fprintf(file, "n = %d;\nchange = %d;\nleast = %d;\nmost = %d;\n", count,
            (int)lround(2 * plan->change_min), (int)ceil(2 * least_min - 1e-6),
            (int)lround(2 * most_min));
    write_list(file, "work", work, count);
    write_list(file, "dry", dry, count);
    write_list(file, "paint", paint, count);
    write_pairs(file, "afters", "before", "after", &after);
    write_pairs(file, "touches", "one", "other", &touch);
    return fclose(file) == 0;
}
