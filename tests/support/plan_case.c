/* SPDX-License-Identifier: MIT */
#include "support/plan_case.h"

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static double number(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    return json_is_number(value) ? json_number_value(value) : (double)NAN;
}

static int whole(const json_t *object, const char *key)
{
    const double value = number(object, key);
    return isnan(value) ? -1 : (int)lround(value);
}

static uint64_t stages_in(const json_t *list)
{
    uint64_t mask = 0;
    for (size_t i = 0; i < json_array_size(list); i++) {
        mask |= UINT64_C(1) << json_integer_value(json_array_get(list, i));
    }
    return mask;
}

static int paint_number(char names[][64], int *count, const char *name)
{
    int i = 0;
    while (i < *count && strcmp(names[i], name) != 0) {
        i++;
    }
    if (i == *count) {
        snprintf(names[(*count)++], 64, "%s", name);
    }
    return i;
}

bool plan_case_read(struct plan_case *plan, const char *path)
{
    char paints[PLAN_STAGES][64];
    json_t *root = json_load_file(path, 0, NULL);
    const json_t *stages = json_object_get(root, "stages");
    memset(plan, 0, sizeof *plan);
    if (!json_is_array(stages)) {
        fprintf(stderr, "%s: no instance\n", path);
        json_decref(root);
        return false;
    }
    snprintf(plan->name, sizeof plan->name, "%s", json_string_value(json_object_get(root, "name")));
    plan->figures = whole(root, "figures");
    plan->change_min = number(root, "setup_min");
    plan->optimum_min = number(root, "optimum_min");
    plan->strict_min = number(root, "strict_order_min");
    plan->stage_count = plan->area_count = (int)json_array_size(stages);
    for (int s = 0; s < plan->stage_count; s++) {
        const json_t *from = json_array_get(stages, (size_t)s);
        struct plan_case_stage *stage = &plan->stages[s];
        snprintf(stage->name, sizeof stage->name, "%s",
                 json_string_value(json_object_get(from, "name")));
        stage->paint = paint_number(paints, &plan->paint_count,
                                    json_string_value(json_object_get(from, "paint")));
        stage->coats = whole(from, "coats");
        stage->work_min = number(from, "work_min");
        stage->dry_min = number(from, "dry_min");
        stage->together = json_is_true(json_object_get(from, "batch")) ? PLAN_FIGURES : 0;
        stage->on = UINT64_C(1) << s;
        stage->has_after = true;
        stage->after = stages_in(json_object_get(from, "needs"));
        plan->beside[s] = stages_in(json_object_get(from, "touches"));
    }
    json_decref(root);
    return true;
}

static uint64_t dice;

static double chance(void)
{
    /* The constants of Knuth's MMIX generator (The Art of Computer Programming, vol. 2). */
    dice = dice * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (double)(dice >> 11) / 9007199254740992.0;
}

static int between(int low, int high)
{
    return low + (int)(chance() * (high - low + 1));
}

static double halves(double low, double high)
{
    return round((low + chance() * (high - low)) * 2) / 2;
}

/* What a stage is takes and dries, as the kinds do: own judgement. */
static void random_stage(struct plan_case *plan, int s)
{
    struct plan_case_stage *stage = &plan->stages[s];
    const bool last = s == plan->stage_count - 1;
    const double what = chance();
    snprintf(stage->name, sizeof stage->name, "stage %d", s + 1);
    stage->coats = 1;
    stage->paint = between(0, plan->paint_count - 1);
    stage->on = UINT64_C(1) << between(0, plan->area_count - 1);
    if ((s == 0 || last) && chance() < 0.6) { /* undercoat, varnish */
        stage->whole = true;
        stage->together = chance() < 0.8 ? PLAN_FIGURES : between(2, 10);
        stage->work_min = halves(3, 8);
        stage->dry_min = halves(30, 120);
        return;
    }
    stage->work_min = halves(1, what < 0.5 ? 12 : 4);
    stage->dry_min = halves(5, what < 0.7 ? 25 : 45);
    stage->coats = what < 0.5 ? between(1, 3) : 1;
    if (what > 0.96) {
        stage->paint = -1;
    } else if (what > 0.9) { /* a go in the middle */
        stage->together = chance() < 0.5 ? PLAN_FIGURES : between(2, 10);
    }
    for (int more = chance() < 0.3 ? between(1, 2) : 0; more > 0; more--) {
        stage->on |= UINT64_C(1) << between(0, plan->area_count - 1);
    }
    stage->some = chance() < 0.07;
    if (s > 0 && chance() < 0.12) {
        stage->has_after = true;
        stage->after = chance() < 0.7 ? UINT64_C(1) << between(0, s - 1) : 0;
    }
}

void plan_case_random(struct plan_case *plan, uint64_t seed, int figures)
{
    memset(plan, 0, sizeof *plan);
    dice = seed;
    for (int i = 0; i < 8; i++) {
        (void)chance();
    }
    snprintf(plan->name, sizeof plan->name, "seed %llu", (unsigned long long)seed);
    plan->figures = between(1, 40);
    plan->figures = figures > 0 ? figures : plan->figures;
    plan->stage_count = between(1, 20);
    plan->area_count = between(1, 8);
    plan->paint_count = between(1, plan->stage_count);
    plan->change_min = halves(0.5, 2.5);
    for (int f = 0; f < PLAN_FIGURES; f++) {
        plan->group[f] = f == 0 || chance() < 0.4;
    }
    for (int a = 1; a < plan->area_count; a++) {
        if (chance() < 0.25) {
            plan->beside[a] = UINT64_C(1) << between(0, a - 1);
        }
    }
    for (int s = 0; s < plan->stage_count; s++) {
        random_stage(plan, s);
    }
}

void plan_case_small(struct plan_case *plan, uint64_t seed)
{
    memset(plan, 0, sizeof *plan);
    dice = seed;
    for (int i = 0; i < 8; i++) {
        (void)chance();
    }
    snprintf(plan->name, sizeof plan->name, "m%llu", (unsigned long long)seed);
    plan->figures = between(1, 3);
    plan->stage_count = plan->area_count = between(3, 8);
    plan->paint_count = between(2, plan->stage_count);
    plan->change_min = halves(0.5, 2);
    for (int s = 0; s < plan->stage_count; s++) {
        struct plan_case_stage *stage = &plan->stages[s];
        random_stage(plan, s);
        stage->paint = stage->paint < 0 ? 0 : stage->paint;
        stage->together = stage->together > 0 ? PLAN_FIGURES : 0;
        stage->whole = stage->some = false;
        stage->on = UINT64_C(1) << s;
        stage->has_after = true;
        stage->after = 0;
        for (int t = 0; t < s; t++) {
            const double what = chance();
            if (what < 0.4) {
                stage->after |= UINT64_C(1) << t;
            } else if (what < 0.5) {
                plan->beside[s] |= UINT64_C(1) << t;
            }
        }
    }
}

/* "[a, b]" of the marked ones, each a letter and a number, or a stage's name. */
static void write_list(FILE *file, const char *key, uint64_t mask, const char *letter,
                       const struct plan_case *names)
{
    fprintf(file, "    %s: [", key);
    for (int i = 0, n = 0; i < PLAN_STAGES; i++) {
        if (mask >> i & 1) {
            if (names != NULL) {
                fprintf(file, "%s%s", n++ > 0 ? ", " : "", names->stages[i].name);
            } else {
                fprintf(file, "%s%s%d", n++ > 0 ? ", " : "", letter, i);
            }
        }
    }
    fprintf(file, "]\n");
}

static void write_stage(FILE *file, const struct plan_case *plan,
                        const struct plan_case_stage *stage)
{
    fprintf(file, "  - name: %s\n    technique: %s\n    coats: %d\n    minutes: %g\n", stage->name,
            stage->paint >= 0 ? "basecoat" : "prepare", stage->coats, stage->work_min);
    if (stage->paint >= 0) {
        fprintf(file, "    paint: p%d\n    dry: %g\n", stage->paint, stage->dry_min);
    } else {
        fprintf(file, "    wait: %g\n", stage->dry_min);
    }
    if (stage->whole) {
        fprintf(file, "    on: whole\n");
    } else {
        write_list(file, "on", stage->on, "a", NULL);
    }
    if (stage->together >= PLAN_FIGURES) {
        fprintf(file, "    together: yes\n");
    } else if (stage->together > 0) {
        fprintf(file, "    together: %d\n", stage->together);
    }
    if (stage->has_after) {
        write_list(file, "after", stage->after, "", plan);
    }
    if (stage->some) {
        fprintf(file, "    for: some\n");
    }
}

bool plan_case_write(const struct plan_case *plan, const char *path)
{
    FILE *file = fopen(path, "w");
    if (file == NULL) {
        return false;
    }
    fprintf(file, "coatbell: 1\nname: %s\nfigures: %d\nchange: %g\n", plan->name, plan->figures,
            plan->change_min);
    fprintf(file, "groups: {some: [");
    for (int f = 0, n = 0; f < plan->figures; f++) {
        if (plan->group[f] || (f == 0 && n == 0)) {
            fprintf(file, "%s%d", n++ > 0 ? ", " : "", f + 1);
        }
    }
    fprintf(file, "]}\npaints:\n");
    for (int p = 0; p < plan->paint_count; p++) {
        fprintf(file, "  p%d: {name: Paint %d, kind: acrylic}\n", p, p);
    }
    fprintf(file, "areas:\n");
    for (int a = 0; a < plan->area_count; a++) {
        fprintf(file, "  a%d:\n", a);
        write_list(file, "beside", plan->beside[a], "a", NULL);
    }
    fprintf(file, "stages:\n");
    for (int s = 0; s < plan->stage_count; s++) {
        write_stage(file, plan, &plan->stages[s]);
    }
    return fclose(file) == 0;
}

static bool read_tasks(const json_t *list, struct plan_answer *answer)
{
    const size_t count = json_array_size(list);
    if (!json_is_array(list) || count > PLAN_TASKS) {
        return false;
    }
    for (size_t i = 0; i < count; i++) {
        const json_t *from = json_array_get(list, i);
        const json_t *members = json_object_get(from, "figures");
        struct plan_answer_task *task = &answer->tasks[answer->task_count++];
        *task = (struct plan_answer_task){.figure = whole(from, "figure"),
                                          .stage = whole(from, "stage"),
                                          .coat = whole(from, "coat"),
                                          .start_min = number(from, "start_min"),
                                          .end_min = number(from, "end_min"),
                                          .dry_min = number(from, "dry_min"),
                                          .evening = whole(from, "evening")};
        if (task->figure > 0) {
            task->members[task->member_count++] = task->figure;
        }
        for (size_t k = 0; k < json_array_size(members) && task->figure == 0 && k < PLAN_FIGURES;
             k++) {
            task->members[task->member_count++] =
                (int)json_integer_value(json_array_get(members, k));
        }
    }
    return true;
}

static bool read_answer(const json_t *root, struct plan_answer *answer)
{
    const json_t *batch = json_object_get(root, "batch");
    const json_t *table = json_object_get(batch, "table");
    const json_t *hours = json_object_get(root, "hours");
    memset(answer, 0, sizeof *answer);
    answer->work_min = number(root, "work_min");
    answer->finish_min = number(root, "finish_min");
    answer->idle_min = number(root, "idle_min");
    answer->bound_min = number(root, "lower_bound_min");
    answer->strict_min = number(root, "strict_order_min");
    answer->paint_changes = whole(root, "paint_changes");
    answer->advised = whole(batch, "advised");
    answer->batch_count = (int)json_array_size(table);
    for (int i = 0; i < answer->batch_count && i < PLAN_FIGURES; i++) {
        const json_t *row = json_array_get(table, (size_t)i);
        answer->batch_idle_min[i] = number(row, "idle_min");
        answer->batch_finish_min[i] = number(row, "finish_min");
        if (whole(row, "figures") != i + 1) {
            return false;
        }
    }
    return whole(root, "figures") > 0 && answer->batch_count == whole(root, "figures") &&
           number(hours, "low_h") <= number(hours, "median_h") &&
           number(hours, "median_h") <= number(hours, "high_h") &&
           read_tasks(json_object_get(root, "tasks"), answer);
}

bool plan_ask(const char *recipe, const char *const *more, struct plan_answer *answer)
{
    const char *build = getenv("CB_BUILD");
    char line[1024];
    int length = snprintf(line, sizeof line, "'%s/coatbell' plan '%s' --temp 23 --rh 50 --json",
                          build != NULL ? build : "build/release", recipe);
    for (; *more != NULL; more++) {
        length += snprintf(line + length, sizeof line - (size_t)length, " '%s'", *more);
    }
    FILE *pipe = popen(line, "r");
    json_error_t error;
    json_t *root = pipe != NULL ? json_loadf(pipe, 0, &error) : NULL;
    const int code = pipe != NULL ? pclose(pipe) : -1;
    const bool good = root != NULL && code == 0 && read_answer(root, answer);
    if (!good) {
        fprintf(stderr, "%s: exit %d, %s\n", line, code,
                root == NULL ? error.text : "not as the contract has it");
    }
    json_decref(root);
    return good;
}
