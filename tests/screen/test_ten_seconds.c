/* SPDX-License-Identifier: MIT */
/* The ten-second test: a stranger at one metre can say which figure; which paint and where; how
 * thinned; which key; when the next film is dry; that nothing is wrong. All of it lies in the first
 * 12 rows at 80x24 and the first 11 at 50x15; two numbers are five rows high and nothing else is.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "support/stage.h"
#include "app/scene.h"
#include "view/grid.h"

static const struct {
    int columns, rows, facts;
} sizes[] = {{50, 15, 11}, {80, 24, 12}, {120, 40, 12}};

/* The first rows of the screen as one text. */
static char *top_of(struct stage *stage, const struct cb_grid *grid, int rows)
{
    struct cb_grid top = *grid;
    struct cb_str out = {0};
    top.rows = rows;
    cb_grid_dump(&top, &out);
    char *text = cb_arena_text(&stage->arena, cb_str_text(&out));
    cb_str_fini(&out);
    return text;
}

/* Does the face of that number stand somewhere in the first rows, cell for cell? */
static bool shows_big(const struct cb_grid *grid, int rows, const char *number)
{
    struct cb_grid face;
    cb_grid_init(&face, CB_GRID_BIG_ROWS, 40);
    int used = cb_grid_big(&face, 0, 0, CB_ROLE_BIG, number);
    bool found = false;
    for (int row = 0; row + CB_GRID_BIG_ROWS <= rows && !found; row++) {
        for (int column = 0; column + used <= grid->columns && !found; column++) {
            bool same = true;
            for (int r = 0; r < CB_GRID_BIG_ROWS && same; r++) {
                for (int c = 0; c < used && same; c++) {
                    same = grid->cells[(row + r) * grid->columns + column + c].cp ==
                           face.cells[r * face.columns + c].cp;
                }
            }
            found = same;
        }
    }
    cb_grid_fini(&face);
    return found;
}

static void check_height(const struct cb_grid *grid)
{
    int first = grid->rows, last = -1;
    for (int i = 0; i < grid->rows * grid->columns; i++) {
        if (grid->cells[i].cp == 0x2588) {
            int row = i / grid->columns;
            first = row < first ? row : first;
            last = row > last ? row : last;
        }
    }
    assert_int_equal(last - first + 1, CB_GRID_BIG_ROWS);
}

static void check_facts(struct stage *stage)
{
    const struct cb_app *app = cb_rehearse_app(stage->rehearse);
    struct cb_moment now = cb_app_now(app);
    const struct cb_scene *scene =
        cb_scene_of(cb_app_bench(app), cb_app_learn(app), cb_scene_free, cb_scene_free,
                    cb_bench_time(cb_app_bench(app), &now), &stage->arena);
    assert_true(scene->proposal.any);
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        stage_size(stage, sizes[i].columns, sizes[i].rows);
        const struct cb_grid *grid = cb_rehearse_grid(stage->rehearse);
        char *top = top_of(stage, grid, sizes[i].facts);
        char number[16];
        check_height(grid);
        snprintf(number, sizeof number, "%d", scene->proposal.figure);
        assert_true(shows_big(grid, sizes[i].facts, number));
        const char *paint = cb_words_paint(scene->unit, scene->proposal.stage);
        assert_non_null(strstr(top, paint));
        assert_non_null(
            strstr(top, cb_words_areas(&stage->arena, scene->unit->recipe, scene->stage)));
        assert_non_null(strstr(
            top, cb_words_mix(&stage->arena, stage->kinds, scene->unit, scene->proposal.stage)));
        assert_non_null(strstr(top, cb_arena_printf(&stage->arena, "SPACE when %s is on", paint)));
        if (scene->next) {
            cb_words_left(scene->next->forecast.due_ms - scene->now_ms, number);
            assert_true(shows_big(grid, sizes[i].facts, number));
            assert_non_null(
                strstr(top, cb_words_left(scene->next->forecast.due_ms - scene->now_ms, number)));
        } else {
            assert_non_null(strstr(top, "nothing is wet"));
        }
        assert_true(strstr(top, "all well") || strstr(top, "ready too: "));
        if (sizes[i].facts > 11) { /* no cut text among the facts */
            assert_null(strstr(top, "\u2026"));
        }
    }
}

static void an_evening(void **state)
{
    (void)state;
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 10, 24, 80, CB_PING_NEEDED);
    stage_key(&stage, "SPACE"); /* the caution */
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 5);
    check_facts(&stage); /* all wet: nothing is ready */
    stage_wait(&stage, 30);
    check_facts(&stage); /* nothing wet */
    for (int i = 0; i < 40; i++) {
        stage_key(&stage, "SPACE");
        stage_wait(&stage, 3.7);
        check_facts(&stage);
    }
    stage_fini(&stage);
}

static void one_large_figure(void **state)
{
    (void)state;
    struct stage stage;
    stage_init(&stage, "marsh-troll.yaml", 1, 24, 80, CB_PING_NEEDED);
    for (int i = 0; i < 6; i++) {
        stage_key(&stage, "SPACE");
        stage_wait(&stage, 400);
    }
    assert_true(stage_shows(&stage, "SPACE when "));
    stage_fini(&stage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_evening),
        cmocka_unit_test(one_large_figure),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
