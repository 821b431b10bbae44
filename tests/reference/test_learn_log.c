/* SPDX-License-Identifier: MIT */
/*
 * The figures of the learner once more, from a log: learn_h1_log.jsonl holds the observations of
 * learn_h1.csv on paints with `dry: 20` at the standard climate (make_learn_h1_log.sh), so `pots`
 * must show 20 times the table "with fading". test_pots.sh does the same through the program.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/bench/calibration.h"
#include "core/bench/pots.h"
#include "shell/jsonl.h"
#include "shell/paths.h"
#include "shell/yaml.h"

struct bed {
    struct cb_arena arena;
    struct cb_bench *bench;
    struct cb_learn *learn;
    const struct cb_row *rows;
    size_t row_count;
};

static void bed_open(struct bed *bed, const char *path)
{
    struct cb_err err = {0};
    const struct cb_kinds *kinds = NULL;
    char *text = NULL;
    size_t length = 0;
    *bed = (struct bed){0};
    assert_int_equal(cb_paths_kinds(&bed->arena, &kinds, &err), CB_OK);
    assert_int_equal(cb_file_read(path, 1 << 20, &bed->arena, &text, &length, &err), CB_OK);
    bed->bench = cb_bench_new(kinds, cb_yaml_read);
    bed->learn = cb_learn_new(NULL);
    for (char *line = text; *line != '\0';) {
        size_t n = strcspn(line, "\n");
        const struct cb_event *event = NULL;
        enum cb_status status = cb_jsonl_decode(line, n, &bed->arena, &event, &err);
        if (status != CB_OK) {
            print_error("%s\n", err.text);
        }
        assert_int_equal(status, CB_OK);
        cb_bench_add(bed->bench, &event, 1);
        line += line[n] == '\n' ? n + 1 : n;
    }
    bed->rows = cb_bench_rows(bed->bench, &bed->row_count);
    cb_learn_sync(bed->learn, bed->rows, bed->row_count);
}

static void bed_close(struct bed *bed)
{
    cb_learn_free(bed->learn);
    cb_bench_free(bed->bench);
    cb_arena_fini(&bed->arena);
}

static void medians_and_pings(void **state)
{
    (void)state;
    static const struct {
        const char *paint;
        double q50, q80;
        size_t films;
    } want[] = {
        {"Tarred rope", 1.25699, 1.50118, 6},
        {"Oilskin green", .82051, .99150, 4},
        {"Wick white", 1.39343, 1.72532, 2},
        {"Mud brown", 1.09703, 1.53528, 0},
    };
    struct bed bed;
    bed_open(&bed, "tests/reference/learn_h1_log.jsonl");
    size_t count;
    const struct cb_pot_line *lines =
        cb_pots_list(bed.bench, bed.learn, bed.rows, bed.row_count, .80, &bed.arena, &count);
    assert_int_equal(count, 4);
    for (size_t i = 0; i < count; i++) {
        assert_string_equal(lines[i].paint, want[i].paint);
        assert_int_equal(lines[i].films, want[i].films);
        assert_true(fabs(lines[i].median_min / (20 * want[i].q50) - 1) < 5e-3);
        assert_true(fabs(lines[i].ping_min / (20 * want[i].q80) - 1) < 5e-3);
        /* the learner's own tolerance, since nothing lies between */
        assert_true(fabs(lines[i].median_min / 20 - want[i].q50) < 2e-4);
        assert_true(fabs(lines[i].ping_min / 20 - want[i].q80) < 2e-4);
        assert_true(lines[i].low_min < lines[i].median_min);
        assert_true(lines[i].ping_min < lines[i].high_min);
        assert_true(isnan(lines[i].floor_min));
    }
    bed_close(&bed);
}

static void evidence(void **state)
{
    (void)state;
    struct bed bed;
    bed_open(&bed, "tests/reference/learn_h1_log.jsonl");
    size_t lines_count, count;
    const struct cb_pot_line *lines =
        cb_pots_list(bed.bench, bed.learn, bed.rows, bed.row_count, .80, &bed.arena, &lines_count);
    const struct cb_pot_evidence *why =
        cb_pots_why(bed.learn, bed.rows, bed.row_count, lines[0].pot, 0, &bed.arena, &count);
    assert_int_equal(count, 6);
    assert_true(fabs(why[1].row->lo - 21) < 1e-6 && fabs(why[1].row->hi - 25) < 1e-6);
    assert_true(isinf(why[5].row->hi));
    for (size_t i = 0; i < count; i++) {
        assert_true(why[i].mis_key >= 0 && why[i].mis_key < .5 && !why[i].looks_off);
    }
    assert_null(cb_calibration_line(bed.bench, &bed.arena));
    bed_close(&bed);
}

/* prop.test(33, 40, correct = FALSE) of R 4.2.2 and its like. */
static void wilson(void **state)
{
    (void)state;
    double low, high;
    cb_calibration_wilson(33, 40, &low, &high);
    assert_true(fabs(low - .6805) < 5e-4);
    assert_true(fabs(high - .9125) < 5e-4);
    cb_calibration_wilson(0, 0, &low, &high);
    assert_true(low <= 0 && high >= 1);
    cb_calibration_wilson(0, 10, &low, &high);
    assert_true(low <= 0 && fabs(high - .2775) < 5e-4);
    cb_calibration_wilson(10, 10, &low, &high);
    assert_true(high >= 1 && fabs(low - .7225) < 5e-4);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(medians_and_pings),
        cmocka_unit_test(evidence),
        cmocka_unit_test(wilson),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
