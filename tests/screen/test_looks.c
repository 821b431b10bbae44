/* SPDX-License-Identifier: MIT */
/* How the screens look whatever is on them: the time of day by half days, minutes alone with a
 * quiet clock. */
#include <ctype.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "app/coats.h"
#include "app/lines.h"
#include "app/look.h"
#include "command/twin.h"
#include "base/utf8.h"
#include "support/stage.h"
#include "view/grid.h"
#include "view/screen.h"

#define COUNT(list) (sizeof(list) / sizeof *(list))

static const char *const views[] = {"bench", "rack", "road", "pots", "review", "glance", "help"};
static const struct {
    int columns, rows;
} sizes[] = {{50, 15}, {80, 24}, {120, 40}, {40, 12}};

/* An hour and more of the sample's evening, then a bench opened on it; three films are wet. */
static void begin(struct stage *stage, bool half_days, bool quiet)
{
    stage_init(stage, "night-watch.yaml", 10, 24, 80, CB_PING_OFF);
    for (int press = 0; press < 14; press++) {
        stage_key(stage, "SPACE");
        stage_wait(stage, 7);
    }
    stage->config.half_days = half_days;
    stage->config.quiet_clock = quiet;
    stage_reopen(stage, 10000);
    for (int press = 0; press < 3; press++) {
        stage_key(stage, "SPACE");
        stage_wait(stage, 3);
    }
}

static void assert_half_days(const char *view, const char *text)
{
    for (const char *at = text; (at = strchr(at, ':')) != NULL; at++) {
        if (at > text && isdigit((unsigned char)at[-1]) && isdigit((unsigned char)at[1]) &&
            isdigit((unsigned char)at[2]) && strncmp(at + 3, "am", 2) != 0 &&
            strncmp(at + 3, "pm", 2) != 0) {
            fail_msg("%s: %.12s\n%s", view, at - 2, text);
        }
    }
}

static void by_half_days(void **state)
{
    (void)state;
    struct stage stage;
    begin(&stage, true, false);
    bool any[COUNT(views)] = {false};
    for (size_t s = 0; s < COUNT(sizes); s++) {
        stage_size(&stage, sizes[s].columns, sizes[s].rows);
        for (size_t v = 0; v < COUNT(views); v++) {
            assert_true(cb_rehearse_show(stage.rehearse, views[v]));
            const char *text = stage_text(&stage);
            assert_half_days(views[v], text);
            any[v] = any[v] || strstr(text, "pm") != NULL;
        }
    }
    assert_true(any[0] && any[1] && any[2] && any[4] && any[5]);
    stage_fini(&stage);
}

/* With nothing but time going by: no second is shown, and no picture is asked for but when the
 * minute turns or a film is due. */
static void quiet(void **state)
{
    (void)state;
    struct stage stage;
    begin(&stage, false, true);
    const struct cb_app *app = cb_rehearse_app(stage.rehearse);
    stage_wait(&stage, 0.25); /* the line of the last press is gone */
    int pictures = 0, last_minute = 0;
    for (int second = 0; second < 25 * 60; second++) {
        const char *was = stage_text(&stage);
        const uint64_t before = cb_app_generation(app);
        const bool thinks = cb_app_has_idle_work(app); /* a plan that may be a better one */
        const int64_t minute = cb_rehearse_now(stage.rehearse).wall_ms / CB_MS_PER_MIN;
        const struct cb_scene *scene = cb_app_scene(app);
        const int64_t changes_ms = scene->changes_ms;
        const int64_t left_ms = scene->next ? scene->next->forecast.due_ms - scene->now_ms : -1;
        cb_rehearse_advance(stage.rehearse, 1000);
        last_minute += left_ms > 1000 && left_ms < 59000;
        scene = cb_app_scene(app);
        const bool moved = changes_ms != CB_TIME_NONE && changes_ms <= scene->now_ms;
        if (cb_app_generation(app) != before) {
            pictures++;
            if (!moved && !thinks &&
                cb_rehearse_now(stage.rehearse).wall_ms / CB_MS_PER_MIN == minute) {
                fail_msg("drawn at second %d\n%s%s", second, was, stage_text(&stage));
            }
        }
    }
    assert_in_range(pictures, 25, 40);
    assert_true(last_minute > 30);
    static const char *const seconds[] = {" s ", " s:", " s,", " s)", " s\n"};
    stage_reopen(&stage, 1000);
    stage_key(&stage, "SPACE");
    for (int minute = 0; minute < 30; minute++) {
        for (size_t v = 0; v < COUNT(views) - 1; v++) {
            assert_true(cb_rehearse_show(stage.rehearse, views[v]));
            const char *text = stage_text(&stage);
            for (size_t i = 0; i < COUNT(seconds); i++) {
                for (const char *at = text; (at = strstr(at, seconds[i])) != NULL; at++) {
                    if (at > text && isdigit((unsigned char)at[-1])) {
                        fail_msg("%s has seconds\n%s", views[v], text);
                    }
                }
            }
        }
        stage_wait(&stage, 0.37);
    }
    stage_fini(&stage);
}

/* Every word of the screens stands in their plain text, and the big numbers as numbers. Only what
 * names the signs of a picture goes with the picture. */
static void plain_twin(void **state)
{
    for (size_t v = 0; v < cb_screens.count; v++) {
        const struct cb_view *view = cb_screens.items[v];
        const bool chooses = strcmp(view->name, "open") == 0; /* what may be begun, not what is */
        const bool shows = view->opens != CB_ACTION_NONE && !(view->flags & CB_VIEW_TYPES);
        assert_int_equal((view->flags & CB_VIEW_READ_OUT) != 0, shows && !chooses);
    }
    (void)state;
    static const char *const pictures[] = {
        "hands-on", "in",      "part",  "drying", "column", "is", "tonight", "evening",
        "before",   "now",     "films", "rings",  "rows",   "to", "of",      "stages",
        "bar",      "tidying", "marks", "the",    "whole",  "row"};
    struct stage stage;
    begin(&stage, false, false);
    for (size_t v = 0; v < COUNT(views); v++) {
        if (strcmp(views[v], "glance") == 0) {
            continue; /* the bench in large digits */
        }
        stage_size(&stage, 79, 24);
        assert_true(cb_rehearse_show(stage.rehearse, views[v]));
        const char *seen = stage_text(&stage);
        stage_size(&stage, 79, CB_TWIN_ROWS);
        struct cb_str twin = {0};
        cb_twin_view(cb_rehearse_app(stage.rehearse), &twin);
        const char *text = cb_str_text(&twin);
        assert_null(strstr(text, "\n\n\n"));
        assert_null(strstr(text, "\u2588"));
        assert_null(strstr(text, "\u2500"));
        size_t words = 0;
        for (const char *at = seen; *at != '\0';) {
            char word[32];
            size_t length = strspn(at, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ-");
            if (length >= 2 && length < sizeof word) {
                snprintf(word, sizeof word, "%.*s", (int)length, at);
                bool known = strstr(text, word) != NULL;
                for (size_t i = 0; i < COUNT(pictures); i++) {
                    known = known || strcmp(word, pictures[i]) == 0;
                }
                if (!known) {
                    fail_msg("%s has no %s\n%s", views[v], word, text);
                }
                words++;
            }
            at += length > 0 ? length : 1;
        }
        assert_true(words > 10);
        if (v == 0) {
            char figure[16];
            cb_lines_figure(cb_app_scene(cb_rehearse_app(stage.rehearse)), figure);
            char line[32];
            snprintf(line, sizeof line, "\n %s ", figure);
            assert_non_null(strstr(text, line));
        }
        cb_str_fini(&twin);
    }
    stage_fini(&stage);
}

/* The mark of the focus stands at one row, and no blank is drawn in its reverse. */
static void one_focus(void **state)
{
    (void)state;
    struct stage stage;
    begin(&stage, false, false);
    for (size_t s = 0; s < COUNT(sizes); s++) {
        stage_size(&stage, sizes[s].columns, sizes[s].rows);
        for (size_t v = 0; v < COUNT(views); v++) {
            assert_true(cb_rehearse_show(stage.rehearse, views[v]));
            const struct cb_grid *grid = cb_rehearse_grid(stage.rehearse);
            for (int row = 0; row < grid->rows; row++) {
                const struct cb_cell *cell = &grid->cells[row * grid->columns];
                for (int column = 0; column < 2; column++) {
                    if (cell[column].cp == ' ' && cell[column].role == CB_ROLE_FOCUS &&
                        cell[column + 1].role != CB_ROLE_FOCUS) {
                        fail_msg("%s, row %d: a blank in the reverse", views[v], row);
                    }
                }
                if (cell[0].role == CB_ROLE_FOCUS && grid->cursor_row != row) {
                    fail_msg("%s: the cursor is in row %d, the focus in %d", views[v],
                             grid->cursor_row, row);
                }
            }
        }
    }
    stage_fini(&stage);
}

/* The table of figures is whole, with its last column, at every width that shows it. */
static void the_table_is_whole(void **state)
{
    (void)state;
    for (int half = 0; half < 2; half++) {
        struct stage stage;
        begin(&stage, half, false);
        const struct cb_app *app = cb_rehearse_app(stage.rehearse);
        char due[CB_CLOCK_SIZE];
        assert_non_null(cb_app_scene(app)->next);
        cb_lines_clock(app, cb_app_scene(app)->next->forecast.due_ms, due);
        const char *row = cb_arena_printf(&stage.arena, "%s\n", due);
        for (int columns = 76; columns < 130; columns++) {
            stage_size(&stage, columns, 32);
            if (!stage_shows(&stage, " RINGS") || !stage_shows(&stage, row)) {
                fail_msg("%d columns\n%s", columns, stage_text(&stage));
            }
        }
        stage_fini(&stage);
    }
}

/* The widest label of the glance beside the widest clock. */
static void the_clock_has_room(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(
        &stage,
        "coatbell: 1\nname: Putty\npaints:\n  green: {name: Oilskin green, kind: acrylic}\n"
        "stages:\n  - {name: Gaps, technique: prepare, wait: 40}\n"
        "  - {name: Coats, technique: basecoat, paint: green}\n",
        1, 15, 50, CB_PING_OFF);
    stage.config.half_days = true;
    stage_reopen(&stage, 4 * 60 * CB_MS_PER_MIN + 1000); /* ten in the evening */
    stage_key(&stage, "SPACE");                          /* the caution is read */
    stage_key(&stage, "SPACE");
    assert_true(cb_rehearse_show(stage.rehearse, "glance"));
    if (!stage_shows(&stage, "DONE IN, min 10:00pm\n")) {
        fail_msg("%s", stage_text(&stage));
    }
    stage_fini(&stage);
}

static bool is_digit(const struct cb_cell *cell)
{
    return cell->cp >= '0' && cell->cp <= '9';
}

static bool is_big(const struct cb_cell *cell)
{
    return cell->cp == 0x2588 || cell->cp == ' ';
}

/* A row without its numbers, the width of its gaps and what is drawn to scale; counts_s: it has
 * seconds. */
static void words_of(const struct cb_grid *grid, int row, struct cb_str *out, bool *counts_s)
{
    uint32_t last = ' ', before = ' ';
    *counts_s = false;
    for (int column = 0; column < grid->columns; column++) {
        const struct cb_cell *cell = &grid->cells[row * grid->columns + column];
        char bytes[5];
        *counts_s = *counts_s || (cell->cp == 's' && last == ' ' && before >= '0' && before <= '9');
        const bool drawn = cell->cp >= 0x2500 && cell->cp <= 0x259F;
        if (cell->cp != ' ' && !is_digit(cell) && cell->cp != 0 && !drawn) {
            cb_str_add_n(out, bytes, cb_utf8_write(cell->cp, bytes));
        }
        before = last;
        last = cell->cp;
    }
}

/* Two seconds of a screen in which nothing happened. What counts minutes from a moment of its own
 * may become a digit longer or shorter, once in ten minutes, and a time line rolls on with the
 * minutes; seconds never move anything. */
static void assert_still(const char *what, const struct cb_grid *a, const struct cb_grid *b)
{
    bool still = a->cursor_row == b->cursor_row && a->cursor_column == b->cursor_column;
    for (int row = 0; row < a->rows && still; row++) {
        bool same = true, counts_s[2];
        for (int i = row * a->columns; i < (row + 1) * a->columns && same; i++) {
            const struct cb_cell *x = &a->cells[i], *y = &b->cells[i];
            same = (x->cp == y->cp && x->role == y->role) || (is_digit(x) && is_digit(y)) ||
                   (is_digit(x) && y->cp == ' ') || (is_big(x) && is_big(y));
        }
        if (!same) {
            struct cb_str before = {0}, after = {0};
            words_of(a, row, &before, &counts_s[0]);
            words_of(b, row, &after, &counts_s[1]);
            const bool ends = strstr(cb_str_text(&before), "drynow") != NULL ||
                              strstr(cb_str_text(&before), "dryfor") != NULL;
            still = !counts_s[0] && !counts_s[1] && /* "dry now", "dry for 59 min", "dry for 1 h" */
                    (ends || strcmp(cb_str_text(&before), cb_str_text(&after)) == 0);
            cb_str_fini(&before);
            cb_str_fini(&after);
        }
    }
    if (!still) {
        struct cb_str before = {0}, after = {0};
        cb_grid_dump(a, &before);
        cb_grid_dump(b, &after);
        fprintf(stderr, "%s%s", cb_str_text(&before), cb_str_text(&after));
        fail_msg("%s moves", what);
    }
}

static void nothing_moves_but_digits(void **state)
{
    (void)state;
    for (size_t s = 0; s < COUNT(sizes); s++) {
        struct stage stage;
        begin(&stage, s % 2 == 1, false);
        stage_size(&stage, sizes[s].columns, sizes[s].rows);
        struct cb_grid was[COUNT(views)];
        int seconds = 0;
        for (size_t v = 0; v < COUNT(views); v++) {
            cb_grid_init(&was[v], sizes[s].rows, sizes[s].columns);
        }
        stage_wait(&stage, 0.25);
        bool idle = false;
        for (int second = 0; second < 12 * 60; second++) {
            const struct cb_app *app = cb_rehearse_app(stage.rehearse);
            const bool thinks = cb_app_has_idle_work(app);
            const struct cb_scene *scene = cb_app_scene(app);
            const int64_t changes_ms = scene->changes_ms;
            const int64_t minute = cb_rehearse_now(stage.rehearse).wall_ms / CB_MS_PER_MIN;
            const int64_t due_ms = scene->next ? scene->next->forecast.due_ms : CB_TIME_NONE;
            const int64_t left = due_ms == CB_TIME_NONE ? 0 : (due_ms - scene->now_ms - 1) / 60000;
            const bool late = cb_coats_may_be_late(app, scene);
            cb_rehearse_advance(stage.rehearse, 1000);
            scene = cb_app_scene(app);
            const bool happened = thinks || late != cb_coats_may_be_late(app, scene) ||
                                  (changes_ms != CB_TIME_NONE && changes_ms <= scene->now_ms);
            const bool turned =
                minute != cb_rehearse_now(stage.rehearse).wall_ms / CB_MS_PER_MIN ||
                (due_ms != CB_TIME_NONE && left != (due_ms - scene->now_ms - 1) / 60000);
            for (size_t v = 0; v < COUNT(views); v++) {
                assert_true(cb_rehearse_show(stage.rehearse, views[v]));
                const struct cb_grid *now = cb_rehearse_grid(stage.rehearse);
                if (idle && !happened && !turned) {
                    char what[64];
                    snprintf(what, sizeof what, "%s at %dx%d, second %d", views[v],
                             sizes[s].columns, sizes[s].rows, second);
                    assert_still(what, &was[v], now);
                    seconds++;
                }
                memcpy(was[v].cells, now->cells,
                       (size_t)now->rows * (size_t)now->columns * sizeof *now->cells);
                was[v].cursor_row = now->cursor_row;
                was[v].cursor_column = now->cursor_column;
            }
            idle = true;
        }
        assert_true(seconds > 1000);
        for (size_t v = 0; v < COUNT(views); v++) {
            cb_grid_fini(&was[v]);
        }
        stage_fini(&stage);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(by_half_days),
        cmocka_unit_test(quiet),
        cmocka_unit_test(plain_twin),
        cmocka_unit_test(the_clock_has_room),
        cmocka_unit_test(one_focus),
        cmocka_unit_test(the_table_is_whole),
        cmocka_unit_test(nothing_moves_but_digits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
