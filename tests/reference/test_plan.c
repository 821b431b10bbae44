/* SPDX-License-Identifier: MIT */
/* Plans against proven optima: the instances of tests/reference/plan, each with its source in it,
 * as recipes through `coatbell plan --json`. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/plan_case.h"

#define FOLDER "tests/reference/plan"

static struct plan_case instance;
static struct plan_answer answer;
static const char *const nothing_more[] = {NULL};

struct gaps {
    int count;
    double sum_pct, worst_pct;
};

static void ask(const char *file)
{
    char path[512], recipe[512];
    snprintf(path, sizeof path, FOLDER "/%s", file);
    snprintf(recipe, sizeof recipe, "%s/%s.yaml", getenv("TMPDIR"), file);
    assert_true(plan_case_read(&instance, path));
    assert_true(plan_case_write(&instance, recipe));
    assert_true(plan_ask(recipe, nothing_more, &answer));
}

/* The instances whose names begin with that letter. */
static struct gaps judge(char letter)
{
    struct gaps gaps = {0};
    DIR *folder = opendir(FOLDER);
    assert_non_null(folder);
    for (const struct dirent *entry; (entry = readdir(folder)) != NULL;) {
        if (entry->d_name[0] != letter || strstr(entry->d_name, ".json") == NULL) {
            continue;
        }
        ask(entry->d_name);
        const char *fault = plan_fault(&instance, &answer, 0);
        if (fault != NULL) {
            fail_msg("%s: %s", entry->d_name, fault);
        }
        const double gap_pct = 100 * (answer.finish_min / instance.optimum_min - 1);
        print_message("%s: finish %g, optimum %g (+%.2f %%), bound %g, in order %g\n",
                      entry->d_name, answer.finish_min, instance.optimum_min, gap_pct,
                      answer.bound_min, answer.strict_min);
        assert_true(answer.finish_min >= instance.optimum_min - 1e-6);
        assert_true(answer.bound_min <= instance.optimum_min + 1e-6);
        assert_true(answer.finish_min <= answer.strict_min + 1e-6);
        assert_true(answer.finish_min <= instance.strict_min + 1e-6);
        gaps.count++;
        gaps.sum_pct += gap_pct;
        gaps.worst_pct = gap_pct > gaps.worst_pct ? gap_pct : gaps.worst_pct;
    }
    closedir(folder);
    return gaps;
}

static void plans_come_near_the_optimum(void **state)
{
    (void)state;
    const struct gaps gaps = judge('o');
    assert_int_equal(gaps.count, 6);
    assert_true(gaps.sum_pct / gaps.count <= 0.3);
    assert_true(gaps.worst_pct <= 1.0);
}

/* Small ones of any shape, proved by make_plan.sh. */
static void so_do_plans_of_small_instances(void **state)
{
    (void)state;
    const struct gaps gaps = judge('m');
    assert_true(gaps.count >= 30);
    assert_true(gaps.sum_pct / gaps.count <= 0.3);
    assert_true(gaps.worst_pct <= 1.5);
}

/* Strict order is what the instances say it is: their figures and ours are two programs'. */
static void strict_order_is_as_published(void **state)
{
    (void)state;
    static const char *const files[] = {"o1_2s-touch.json", "o2_3s-free.json",
                                        "o3_4s-touch.json", "o4_4s-free.json",
                                        "o5_5s-touch.json", "o6_10m-bound.json"};
    for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
        ask(files[i]);
        assert_true(answer.strict_min < instance.strict_min + 1e-6);
        assert_true(answer.strict_min > instance.strict_min - 1e-6);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(plans_come_near_the_optimum),
        cmocka_unit_test(so_do_plans_of_small_instances),
        cmocka_unit_test(strict_order_is_as_published),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
