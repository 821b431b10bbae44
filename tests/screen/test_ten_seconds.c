/* SPDX-License-Identifier: MIT */
/* The ten-second test: a stranger at one metre can say which figure; which paint and where; how
 * thinned; which key; when the next film is dry; that nothing is wrong. All of it lies in the first
 * 12 rows at 80x24 and the first 11 at 50x15; the figure is the one big white number, and a
 * countdown is as big only where it is what one waits for, in the colour of wet. The glance tells
 * the same from two metres. What it looks like is kept in ten-seconds.play.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "support/stage.h"
#include "app/lines.h"
#include "app/look.h"
#include "app/scene.h"
#include "view/grid.h"

static const struct {
    const char *view;
    int columns, rows, facts;
} looks[] = {
    {"bench", 50, 15, 11},  {"bench", 80, 24, 12},  {"bench", 120, 40, 15},
    {"glance", 50, 15, 15}, {"glance", 80, 24, 24}, {"glance", 120, 40, 40},
};

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

static const struct cb_cell *cell(const struct cb_grid *grid, int row, int column)
{
    return &grid->cells[row * grid->columns + column];
}

/* The cells of big digits in that role. */
static int count_big(const struct cb_grid *grid, enum cb_role role)
{
    int count = 0;
    for (int i = 0; i < grid->rows * grid->columns; i++) {
        count += grid->cells[i].cp == 0x2588 && grid->cells[i].role == role;
    }
    return count;
}

static int count_role(const struct cb_grid *grid, int rows, enum cb_role role)
{
    int count = 0;
    for (int i = 0; i < rows * grid->columns; i++) {
        count += grid->cells[i].role == role && grid->cells[i].cp != ' ';
    }
    return count;
}

/* Does the face of that number stand in the first rows, cell for cell, and nothing else that is
 * big in its role? The scale it is drawn at, 0: no. */
static int shows_big(const struct cb_grid *grid, int rows, enum cb_role role, const char *number)
{
    for (int scale = 1; scale * CB_GRID_BIG_ROWS <= rows; scale++) {
        struct cb_grid face;
        cb_grid_init(&face, CB_GRID_BIG_ROWS * scale, 40 * scale);
        const int used = cb_grid_scaled(&face, 0, 0, scale, role, number);
        bool found = false;
        for (int row = 0; row + face.rows <= rows && !found; row++) {
            for (int column = 0; column + used <= grid->columns && !found; column++) {
                found = true;
                for (int r = 0; r < face.rows && found; r++) {
                    for (int c = 0; c < used && found; c++) {
                        found = (cell(&face, r, c)->cp == 0x2588) ==
                                (cell(grid, row + r, column + c)->cp == 0x2588);
                    }
                }
            }
        }
        const bool alone = count_big(grid, role) == count_big(&face, role);
        cb_grid_fini(&face);
        if (found && alone) {
            return scale;
        }
    }
    return 0;
}

/* The line of the text that has both; NULL: none. */
static const char *line_with(struct stage *stage, const char *text, const char *one,
                             const char *other)
{
    while (*text) {
        const size_t length = strcspn(text, "\n");
        const char *line = cb_arena_text_n(&stage->arena, text, length);
        if (strstr(line, one) && strstr(line, other)) {
            return line;
        }
        text += length + (text[length] == '\n');
    }
    return NULL;
}

/* Is anything of the line written in that role? */
static bool has_role(const struct cb_grid *grid, int row, enum cb_role role)
{
    for (int column = 0; column < grid->columns; column++) {
        if (cell(grid, row, column)->role == role && cell(grid, row, column)->cp != ' ') {
            return true;
        }
    }
    return false;
}

static void check_next(struct stage *stage, const struct cb_scene *scene,
                       const struct cb_grid *grid, size_t look, const char *top)
{
    const int facts = looks[look].facts;
    const bool glance = strcmp(looks[look].view, "glance") == 0;
    char digits[16], span[32];
    if (scene->anyway) { /* what one waits for is as large as the figure */
        cb_words_left(scene->ready_ms - scene->now_ms, digits);
        assert_true(shows_big(grid, facts, CB_ROLE_WET, digits) > 0);
        assert_non_null(strstr(top, glance ? "DRY IN" : "NEXT DRY"));
    } else if (scene->next) {
        cb_words_left(scene->next->forecast.due_ms - scene->now_ms, digits);
        cb_words_span(scene->next->forecast.due_ms - scene->now_ms, span);
        if (glance) {
            char figure[16];
            cb_lines_figure(scene, figure);
            assert_true(shows_big(grid, facts, CB_ROLE_WET, digits) <
                            shows_big(grid, facts, CB_ROLE_BIG, figure) ||
                        shows_big(grid, facts, CB_ROLE_WET, digits) == 1);
        } else {
            assert_int_equal(count_big(grid, CB_ROLE_WET), 0);
            assert_non_null(line_with(stage, top,
                                      cb_arena_printf(&stage->arena, "next dry in %s", span),
                                      cb_words_paint(scene->next->unit, scene->next->film->stage)));
        }
    } else { /* nothing is wet: nothing there, no dash */
        assert_int_equal(count_role(grid, facts, CB_ROLE_WET), 0);
        assert_null(strstr(top, "NEXT DRY"));
        assert_null(strstr(top, "next dry"));
    }
}

static void check_look(struct stage *stage, size_t look)
{
    const int facts = looks[look].facts;
    stage_size(stage, looks[look].columns, looks[look].rows);
    assert_true(cb_rehearse_show(stage->rehearse, looks[look].view));
    const struct cb_scene *scene = cb_app_scene(cb_rehearse_app(stage->rehearse));
    const struct cb_grid *grid = cb_rehearse_grid(stage->rehearse);
    const char *top = top_of(stage, grid, facts);
    char figure[16];
    cb_lines_figure(scene, figure);
    assert_true(shows_big(grid, facts, CB_ROLE_BIG, figure) > 0);
    assert_non_null(strstr(top, "FIGURE"));
    const char *paint = cb_words_paint(scene->unit, scene->proposal.stage);
    assert_non_null(strstr(top, paint));
    assert_non_null(strstr(top, cb_words_areas(&stage->arena, scene->unit->recipe, scene->stage)));
    assert_non_null(
        strstr(top, cb_words_mix(&stage->arena, stage->kinds, scene->unit, scene->proposal.stage)));
    assert_true(
        line_with(stage, top, "SPACE", paint) || /* where it fits, else its place is named */
        line_with(stage, top, "SPACE", "when it is on figure"));
    char clock[CB_CLOCK_SIZE];
    cb_time_clock(cb_app_now(cb_rehearse_app(stage->rehearse)).wall_ms, &(struct cb_zone){0},
                  clock);
    assert_non_null(strstr(top, clock));
    check_next(stage, scene, grid, look, top);
    for (int row = 0; row < grid->rows; row++) { /* nothing is wrong */
        if (!scene->anyway) {
            assert_false(has_role(grid, row, CB_ROLE_WARN));
        }
        assert_false(has_role(grid, row, CB_ROLE_ALARM));
        assert_false(has_role(grid, row, CB_ROLE_HELD));
    }
    if (strstr(top, "\u2026")) {
        fail_msg("cut text among the facts:\n%s", top);
    }
}

static void check_facts(struct stage *stage)
{
    const struct cb_app *app = cb_rehearse_app(stage->rehearse);
    for (size_t i = 0; i < sizeof looks / sizeof *looks; i++) {
        assert_true(cb_app_scene(app)->proposal.any);
        check_look(stage, i);
    }
    assert_true(cb_rehearse_show(stage->rehearse, "bench"));
}

/* A caution is no fact of a coat, and read by a press of its own. */
static void read_caution(struct stage *stage)
{
    if (stage_shows(stage, "you have read the caution")) {
        stage_key(stage, "SPACE");
    }
}

static void an_evening(void **state)
{
    (void)state;
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 10, 24, 80, CB_PING_NEEDED);
    read_caution(&stage);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 5);
    check_facts(&stage); /* all wet: nothing is ready */
    stage_wait(&stage, 30);
    check_facts(&stage); /* nothing wet */
    for (int i = 0; i < 40; i++) {
        stage_key(&stage, "SPACE");
        read_caution(&stage);
        stage_wait(&stage, 3.7);
        if (i % 15 == 14) { /* while paste dries, an old reading is asked for again */
            stage_key(&stage, "c");
            stage_type(&stage, "23 50");
            stage_key(&stage, "ENTER");
            stage_wait(&stage, 0.2); /* its answer has gone */
        }
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
    assert_true(stage_shows(&stage, "SPACE"));
    stage_fini(&stage);
}

static const char two_areas[] =
    "coatbell: 1\n"
    "name: Ferry hands\n"
    "paints:\n"
    "  skin: {name: Wind-raw skin, kind: acrylic}\n"
    "  rope: {name: Tarred rope, kind: acrylic}\n"
    "areas:\n"
    "  face: {share: 20 %}\n"
    "  coat: {share: 60 %}\n"
    "stages:\n"
    "  - {name: Faces, technique: basecoat, paint: skin, on: [face], minutes: 3, coats: 2}\n"
    "  - {name: Coats, technique: basecoat, paint: rope, on: [coat], minutes: 3, coats: 2}\n";

/* Equal rows of the table are one; none says ready and when it is dry without what is wet. */
static void the_table_says_what_is_wet(void **state)
{
    (void)state;
    static const int sizes[][2] = {{80, 24}, {120, 40}};
    struct stage stage;
    stage_init_text(&stage, two_areas, 10, 24, 80, CB_PING_NEEDED);
    for (size_t i = 0; i < 2; i++) {
        stage_size(&stage, sizes[i][0], sizes[i][1]);
        assert_true(stage_shows(&stage, "1-10  \u25B8 ready"));
    }
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 3);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 1);
    stage_key(&stage, "DOWN");
    for (size_t i = 0; i < 2; i++) {
        stage_size(&stage, sizes[i][0], sizes[i][1]);
        assert_true(stage_shows(&stage, " 1     \u25B8 ready, mind the face: wet"));
        assert_true(stage_shows(&stage, " 3-10  \u25B8 ready"));
        const char *text = stage_text(&stage); /* above the board */
        text = cb_arena_text_n(&stage.arena, text,
                               (size_t)(strstr(text, i ? " STAGE " : "BKSP") - text));
        assert_null(line_with(&stage, text, "\u25B8 ready  ", " min"));
    }
    stage_fini(&stage);
}

/* The board tells of every figure who has what, also of as many as may be, and what is left. */
static void the_board_holds_many_figures(void **state)
{
    (void)state;
    static const int figures[] = {10, 20, 40, 80};
    for (size_t i = 0; i < sizeof figures / sizeof *figures; i++) {
        struct stage stage;
        char work[32];
        stage_init_text(&stage, two_areas, figures[i], 40, 120, CB_PING_NEEDED);
        stage_key(&stage, "SPACE");
        stage_wait(&stage, 1);
        const struct cb_grid *grid = cb_rehearse_grid(stage.rehearse);
        int row = 0, wet = 0, ready = 0;
        while (row < grid->rows &&
               !(cell(grid, row, 1)->cp == '>' && cell(grid, row, 3)->cp == 'F')) {
            row++;
        }
        assert_true(row < grid->rows);
        for (int column = 24; column < grid->columns; column++) {
            wet += cell(grid, row, column)->cp == 0x2248;
            ready += cell(grid, row, column)->cp == 0x25B8;
        }
        assert_int_equal(wet, 1);
        assert_int_equal(ready, figures[i] - 1);
        cb_time_span((int64_t)(figures[i] * 2 - 1) * 3 * CB_MS_PER_MIN, work);
        assert_non_null(line_with(&stage, stage_text(&stage), "> Faces", work));
        stage_fini(&stage);
    }
}

/* Two units: the countdown is this unit's, or names the other. */
static void the_next_of_another_unit_is_named(void **state)
{
    (void)state;
    struct stage stage;
    struct cb_err err = {0};
    stage_init_text(&stage, two_areas, 2, 15, 50, CB_PING_NEEDED);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 1);
    assert_int_equal(cb_rehearse_begin(stage.rehearse, "Gate", 2, two_areas, &err), CB_OK);
    for (int wide = 0; wide < 2; wide++) {
        stage_size(&stage, wide ? 80 : 50, wide ? 24 : 15);
        assert_non_null(line_with(&stage, stage_text(&stage), "next dry in", " of sample"));
        assert_int_equal(count_big(cb_rehearse_grid(stage.rehearse), CB_ROLE_WET), 0);
    }
    stage_key(&stage, "g");
    assert_true(stage_shows(&stage, "sample"));
    stage_fini(&stage);
}

/* Where every coat is on there is no figure to name, and no dash in its place. */
static void nothing_left_is_no_dash(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, two_areas, 1, 24, 80, CB_PING_NEEDED);
    for (int i = 0; i < 4; i++) {
        stage_key(&stage, "SPACE");
        stage_wait(&stage, 200);
    }
    for (size_t i = 0; i < sizeof looks / sizeof *looks; i++) {
        stage_size(&stage, looks[i].columns, looks[i].rows);
        assert_true(cb_rehearse_show(stage.rehearse, looks[i].view));
        assert_true(stage_shows(&stage, "every coat is on"));
        assert_false(stage_shows(&stage, "FIGURE"));
        assert_int_equal(count_big(cb_rehearse_grid(stage.rehearse), CB_ROLE_BIG), 0);
        assert_int_equal(count_big(cb_rehearse_grid(stage.rehearse), CB_ROLE_WET), 0);
    }
    stage_fini(&stage);
}

/* The chooser tells apart what goes on and what begins. */
static void the_chooser_has_two_headings(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, two_areas, 3, 15, 50, CB_PING_NEEDED);
    stage_key(&stage, "o");
    const char *under_way = strstr(stage_text(&stage), "UNDER WAY\n \u25B8 sample");
    assert_non_null(under_way);
    assert_non_null(
        strstr(under_way, "\n\n BEGIN NEW\n   paint now, the recipe writes itself  i\n   sample"));
    stage_fini(&stage);
    stage_init_text(&stage, two_areas, 0, 15, 50, CB_PING_NEEDED);
    assert_false(stage_shows(&stage, "UNDER WAY"));
    assert_true(stage_shows(
        &stage, "BEGIN NEW\n \u25B8 paint now, the recipe writes itself  i\n   sample"));
    stage_fini(&stage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_evening),
        cmocka_unit_test(one_large_figure),
        cmocka_unit_test(the_table_says_what_is_wet),
        cmocka_unit_test(the_board_holds_many_figures),
        cmocka_unit_test(the_next_of_another_unit_is_named),
        cmocka_unit_test(nothing_left_is_no_dash),
        cmocka_unit_test(the_chooser_has_two_headings),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
