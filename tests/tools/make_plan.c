/* SPDX-License-Identifier: MIT */
/* Fresh instances for a solver, and what it proved of them; see tests/reference/make_plan.sh.
 *   make_plan data SEED FOLDER    FOLDER/plan.dzn; prints tasks and our finish
 *   make_plan keep SEED FOLDER OPTIMUM    FOLDER/mSEED.json */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/plan_case.h"

static struct plan_case instance;
static struct plan_answer answer;

int main(int argc, char **argv)
{
    static const char *const nothing_more[] = {NULL};
    char path[512];
    if (argc < 4 || (strcmp(argv[1], "keep") == 0) != (argc == 5)) {
        fprintf(stderr, "usage: make_plan data SEED FOLDER | keep SEED FOLDER OPTIMUM\n");
        return 2;
    }
    plan_case_small(&instance, strtoull(argv[2], NULL, 10));
    snprintf(path, sizeof path, "%s/plan.yaml", argv[3]);
    if (!plan_case_write(&instance, path) || !plan_ask(path, nothing_more, &answer)) {
        return 1;
    }
    const char *fault = plan_fault(&instance, &answer, 0);
    if (fault != NULL) {
        fprintf(stderr, "%s: %s\n", instance.name, fault);
        return 1;
    }
    if (argc == 5) {
        snprintf(path, sizeof path, "%s/%s.json", argv[3], instance.name);
        return plan_case_write_instance(&instance, path, strtod(argv[4], NULL), answer.bound_min,
                                        answer.strict_min,
                                        "MiniZinc with gecode, tests/reference/plan.mzn")
                   ? 0
                   : 1;
    }
    snprintf(path, sizeof path, "%s/plan.dzn", argv[3]);
    /* The solver is told neither our bound nor our finish as true: half and twice. */
    if (!plan_case_write_data(&instance, path, answer.bound_min / 2, answer.strict_min)) {
        return 1;
    }
    printf("%d %g %g %g\n", plan_case_tasks(&instance), answer.finish_min, answer.bound_min,
           answer.strict_min);
    return 0;
}
