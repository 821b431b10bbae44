/* SPDX-License-Identifier: MIT */
#include "core/review/lesson.h"

#include <string.h>

#include "base/coder.h"
#include "core/bench/rows.h"

struct cb_lesson cb_lesson_of(const struct cb_bench *bench, const struct cb_review *review,
                              struct cb_arena *arena)
{
    size_t count;
    const struct cb_row *all = cb_bench_rows(bench, &count);
    struct cb_row *rows = cb_arena_alloc(arena, count + 1, sizeof *rows);
    struct cb_lesson lesson = {.rows = rows, .sum = cb_review_sum_of(review, arena)};
    for (size_t i = 0; i < count; i++) {
        if (all[i].unit != NULL && strcmp(all[i].unit, review->unit) == 0) {
            rows[lesson.row_count++] = all[i];
        }
    }
    lesson.effort = cb_effort_of(review, cb_bench_kinds(bench), arena);
    lesson.effort.evenings = cb_evenings_of(bench, arena, &lesson.effort.evening_count);
    lesson.stages = cb_pots_stages(bench, review->unit, arena, &lesson.stage_count);
    lesson.covers = cb_coverage_of(bench, review->unit, arena, &lesson.cover_count);
    lesson.calibration = cb_calibration_of(bench, review->unit, arena);
    return lesson;
}

static void code(struct cb_coder *coder, struct cb_lesson *lesson)
{
    cb_review_sum_code(coder, &lesson->sum);
    cb_rows_code(coder, &lesson->rows, &lesson->row_count, lesson->sum.unit);
    cb_effort_code(coder, &lesson->effort);
    cb_calibration_code(coder, &lesson->calibration);
    cb_code_length(coder, &lesson->stage_count, CB_RECIPE_MAX);
    struct cb_pot_stage *stages =
        cb_code_list(coder, lesson->stages, lesson->stage_count, sizeof *stages);
    for (size_t i = 0; i < lesson->stage_count; i++) {
        cb_pots_code_stage(coder, &stages[i]);
    }
    lesson->stages = stages;
    cb_code_length(coder, &lesson->cover_count, CB_FIGURES_MAX * CB_RECIPE_MAX);
    struct cb_cover *covers =
        cb_code_list(coder, lesson->covers, lesson->cover_count, sizeof *covers);
    for (size_t i = 0; i < lesson->cover_count; i++) {
        cb_coverage_code(coder, &covers[i]);
    }
    lesson->covers = covers;
}

void cb_lesson_pack(const struct cb_lesson *lesson, struct cb_str *out)
{
    struct cb_arena arena = {0};
    struct cb_coder coder = cb_coder_writer(out, &arena);
    struct cb_lesson copy = *lesson;
    code(&coder, &copy);
    cb_arena_fini(&arena);
}

bool cb_lesson_unpack(const void *bytes, size_t length, struct cb_arena *arena,
                      struct cb_lesson *lesson)
{
    struct cb_coder coder = cb_coder_reader(bytes, length, arena);
    *lesson = (struct cb_lesson){0};
    code(&coder, lesson);
    return cb_coder_done(&coder);
}
