/* SPDX-License-Identifier: MIT */
/* A screen as a picture: well-formed whatever stands on it, each text in its cells, each block a
 * rectangle, each role in the theme's colour. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/utf8.h"
#include "command/svg_screen.h"

/* What XML 1.0 asks of a document as plain as these: every tag is closed in its order, attributes
 * are quoted and have no '<', and '&' begins one of the five entities or a number. */
static bool well_formed(const char *at)
{
    char open[32][16];
    size_t depth = 0, roots = 0;
    while (*at) {
        if (*at == '&') {
            const size_t length = 1 + strcspn(at + 1, "; \n<&");
            static const char *const known[] = {"&amp", "&lt", "&gt", "&quot", "&#39"};
            bool found = false;
            for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
                found = found || (strlen(known[i]) == length && !strncmp(at, known[i], length));
            }
            if (!found || at[length] != ';') {
                return false;
            }
        }
        if (*at != '<') {
            if (depth == 0 && *at != '\n') {
                return false;
            }
            at++;
            continue;
        }
        const bool closes = at[1] == '/';
        at += 1 + closes;
        const size_t name = strspn(at, "abcdefghijklmnopqrstuvwxyz");
        if (name == 0 || name >= sizeof open[0]) {
            return false;
        }
        if (closes) {
            if (depth == 0 || strncmp(open[--depth], at, name) != 0 || open[depth][name] ||
                at[name] != '>') {
                return false;
            }
            at += name + 1;
            continue;
        }
        if (depth >= 32 || (depth == 0 && roots++ > 0)) {
            return false;
        }
        snprintf(open[depth++], sizeof open[0], "%.*s", (int)name, at);
        at += name;
        while (*at == ' ') {
            at += 1 + strcspn(at + 1, "=<> ");
            if (at[0] != '=' || at[1] != '"') {
                return false;
            }
            at += 2 + strcspn(at + 2, "\"<");
            if (*at++ != '"') {
                return false;
            }
        }
        if (at[0] == '/' && at[1] == '>') {
            depth--;
            at++;
        }
        if (*at++ != '>') {
            return false;
        }
    }
    return depth == 0 && roots == 1;
}

static size_t count(const char *text, const char *wanted)
{
    size_t found = 0;
    for (const char *at = text; (at = strstr(at, wanted)) != NULL; at++) {
        found++;
    }
    return found;
}

static struct cb_grid grid;
static struct cb_str svg;

static int blank(void **state)
{
    (void)state;
    cb_grid_init(&grid, 6, 40);
    return 0;
}

static int clear(void **state)
{
    (void)state;
    cb_grid_fini(&grid);
    cb_str_fini(&svg);
    return 0;
}

static const char *drawn(void)
{
    cb_str_clear(&svg);
    cb_svg_screen(&grid, cb_theme_dark, "coatbell: the bench", &svg);
    assert_true(well_formed(cb_str_text(&svg)));
    return cb_str_text(&svg);
}

static void shows(const char *wanted)
{
    const char *text = drawn();
    if (!strstr(text, wanted)) {
        fail_msg("not in the picture: %s\n%s", wanted, text);
    }
}

static void knows_what_is_not_well_formed(void **state)
{
    (void)state;
    assert_true(well_formed("<svg a=\"1\"><text>a &amp; b</text><path d=\"M0\"/></svg>\n"));
    assert_false(well_formed("<svg><text></svg></text>"));
    assert_false(well_formed("<svg><text>a & b</text></svg>"));
    assert_false(well_formed("<svg><text>a < b</text></svg>"));
    assert_false(well_formed("<svg a=\"<\"></svg>"));
    assert_false(well_formed("<svg></svg><svg></svg>"));
    assert_false(well_formed("<svg>"));
}

static void markup_is_text(void **state)
{
    (void)state;
    cb_grid_put(&grid, 0, 0, 0, CB_ROLE_PLAIN, "</text><script>evil('&\"')</script>");
    cb_grid_put(&grid, 1, 0, 0, CB_ROLE_WARN, "<![CDATA[ ]]> <!-- &evil; \033[2J \xEF\xBF\xBE");
    const char *text = drawn();
    assert_null(strstr(text, "<script"));
    assert_null(strstr(text, "<!"));
    assert_null(strchr(text, '\033'));
    assert_null(strstr(text, "\xEF\xBF\xBE")); /* U+FFFE may stand in no XML */
    assert_non_null(strstr(text, "&lt;script&gt;evil(&#39;&amp;&quot;&#39;)"));
    cb_str_clear(&svg);
    cb_svg_screen(&grid, cb_theme_dark, "a </title><b> & \"c\"", &svg);
    assert_true(well_formed(cb_str_text(&svg)));
}

/* Each text begins in its column and is as wide as its columns, in a font of any width. */
static void texts_keep_their_cells(void **state)
{
    (void)state;
    cb_grid_put(&grid, 2, 3, 0, CB_ROLE_PLAIN, "two words   apart");
    shows("<text x=\"27\" y=\"50\" textLength=\"81\">two words</text>");
    shows("<text x=\"135\" y=\"50\" textLength=\"45\">apart</text>");
    cb_grid_put(&grid, 3, 0, 0, CB_ROLE_PLAIN, "a\xE5\xA1\x97 b"); /* a wide sign */
    shows("<text x=\"0\" y=\"68\" textLength=\"9\">a</text>");
    shows("<text x=\"9\" y=\"68\" textLength=\"18\">\xE5\xA1\x97</text>");
    shows("<text x=\"36\" y=\"68\" textLength=\"9\">b</text>");
    cb_grid_put(&grid, 4, 0, 0, CB_ROLE_PLAIN, "e\xCC\x81t"); /* a combining one has no cell */
    shows("textLength=\"27\">e?t</text>");
}

/* Read back from the picture, it is the screen. */
static void nothing_is_lost(void **state)
{
    (void)state;
    cb_grid_put(&grid, 0, 0, 0, CB_ROLE_STRONG, "Bench  Salt-marsh");
    cb_grid_put(&grid, 0, 11, 0, CB_ROLE_DIM, "x y");
    cb_grid_put(&grid, 1, 0, 0, CB_ROLE_WET,
                "\xE2\x89\x88 wet \xE2\x94\x80\xE2\x94\x80 \xE2\x96\x88");
    cb_grid_put(&grid, 5, 37, 0, CB_ROLE_KEY, "end");
    char wanted[6][41], found[6][41];
    memset(found, ' ', sizeof found);
    for (int row = 0; row < 6; row++) {
        for (int column = 0; column < 40; column++) {
            const uint32_t cp = grid.cells[row * 40 + column].cp;
            wanted[row][column] = cp < 0x80 ? (char)cp : cp == 0x2248 ? '~' : ' ';
        }
        wanted[row][40] = found[row][40] = '\0';
    }
    for (const char *at = drawn(); (at = strstr(at, "<text ")) != NULL;) {
        int x, y;
        at = strstr(at, " x=\"");
        assert_int_equal(sscanf(at, " x=\"%d\" y=\"%d\"", &x, &y), 2);
        at = strchr(at, '>') + 1;
        for (int column = x / 9; *at != '<'; column++) {
            const uint32_t cp = cb_utf8_next(&at);
            found[y / 18][column] = cp < 0x80 ? (char)cp : '~';
        }
    }
    for (int row = 0; row < 6; row++) {
        assert_string_equal(found[row], wanted[row]);
    }
}

static void lines_and_blocks_are_drawn(void **state)
{
    (void)state;
    cb_grid_fill(&grid, 0, 1, 1, 3, CB_ROLE_PLAIN, 0x2588);
    shows("M9 0h27v18h-27z"); /* three full blocks, one rectangle */
    cb_grid_fill(&grid, 1, 0, 1, 2, CB_ROLE_PLAIN, 0x2584);
    shows("M0 27h18v9h-18z"); /* lower halves */
    cb_grid_fill(&grid, 2, 0, 1, 2, CB_ROLE_PLAIN, 0x258C);
    shows("M0 36h4.5v18h-4.5zM9 36h4.5v18h-4.5z"); /* left halves, each for itself */
    cb_grid_fill(&grid, 3, 0, 1, 40, CB_ROLE_RULE, 0x2500);
    shows("M0 63h360v1h-360z"); /* a rule from edge to edge */
    cb_grid_fill(&grid, 4, 0, 1, 2, CB_ROLE_WET, 0x2591);
    shows("<path fill=\"#87d7ff\" opacity=\"0.25\" d=\"M0 72h18v18h-18z\"/>");
    assert_int_equal(count(drawn(), "<text"), 0);
}

/* Every sign that is drawn, alone in the first cell, 9 by 18. */
static void each_sign_has_its_shape(void **state)
{
    (void)state;
    static const struct {
        uint32_t cp;
        const char *path;
    } signs[] = {
        {0x2580, "M0 0h9v9h-9z"},
        {0x2581, "M0 15.75h9v2.25h-9z"},
        {0x2587, "M0 2.25h9v15.75h-9z"},
        {0x2589, "M0 0h7.875v18h-7.875z"},
        {0x258F, "M0 0h1.125v18h-1.125z"},
        {0x2590, "M4.5 0h4.5v18h-4.5z"},
        {0x2502, "M4 0h1v18h-1z"},
        {0x250C, "M4 9h5v1h-5zM4 9h1v9h-1z"},
        {0x2510, "M0 9h5v1h-5zM4 9h1v9h-1z"},
        {0x2514, "M4 9h5v1h-5zM4 0h1v10h-1z"},
        {0x2518, "M0 9h5v1h-5zM4 0h1v10h-1z"},
        {0x251C, "M4 9h5v1h-5zM4 0h1v18h-1z"},
        {0x2524, "M0 9h5v1h-5zM4 0h1v18h-1z"},
        {0x252C, "M0 9h9v1h-9zM4 9h1v9h-1z"},
        {0x2534, "M0 9h9v1h-9zM4 0h1v10h-1z"},
        {0x253C, "M0 9h9v1h-9zM4 0h1v18h-1z"},
    };
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++) {
        char wanted[64];
        cb_grid_fill(&grid, 0, 0, 1, 1, CB_ROLE_PLAIN, signs[i].cp);
        snprintf(wanted, sizeof wanted, " d=\"%s\"/>", signs[i].path);
        shows(wanted);
    }
}

/* Alike signs of two roles are two shapes; underlined, bold and dim are seen. */
static void looks_are_kept_apart(void **state)
{
    (void)state;
    cb_grid_fill(&grid, 0, 0, 1, 2, CB_ROLE_READY, 0x2588);
    cb_grid_fill(&grid, 0, 2, 1, 3, CB_ROLE_WET, 0x2588);
    shows("<path fill=\"#5fd787\" d=\"M0 0h18v18h-18z\"/>");
    shows("<path fill=\"#87d7ff\" d=\"M18 0h27v18h-27z\"/>");
    cb_grid_put(&grid, 2, 1, 0, CB_ROLE_KEY, "TAB");
    shows("M9 52h9v1h-9zM18 52h9v1h-9zM27 52h9v1h-9z");
    char wanted[64];
    snprintf(wanted, sizeof wanted, ".r%d{fill:#e4e4e4;font-weight:bold}", (int)CB_ROLE_KEY);
    shows(wanted);
    struct cb_style theme[CB_ROLE_COUNT];
    memcpy(theme, cb_theme_dark, sizeof theme);
    theme[CB_ROLE_KEY].dim = true;
    cb_str_clear(&svg);
    cb_svg_screen(&grid, theme, "t", &svg);
    assert_non_null(strstr(cb_str_text(&svg), ";font-weight:bold;opacity:.6}"));
}

/* The colours that xterm gives the numbers (256colres.h, from memory). */
static void colours_are_those_of_the_theme(void **state)
{
    (void)state;
    static const struct {
        enum cb_role role;
        int number;
        const char *colour;
    } known[] = {
        {CB_ROLE_DIM, 247, "#9e9e9e"},  {CB_ROLE_WET, 117, "#87d7ff"},
        {CB_ROLE_READY, 78, "#5fd787"}, {CB_ROLE_WARN, 214, "#ffaf00"},
        {CB_ROLE_DONE, 245, "#8a8a8a"}, {CB_ROLE_ALARM, 231, "#ffffff"},
    };
    struct cb_style theme[CB_ROLE_COUNT];
    memcpy(theme, cb_theme_dark, sizeof theme);
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        char wanted[64];
        theme[known[i].role].fg256 = (int16_t)known[i].number;
        cb_grid_put(&grid, (int)i, 0, 0, known[i].role, "x");
        cb_str_clear(&svg);
        cb_svg_screen(&grid, theme, "t", &svg);
        snprintf(wanted, sizeof wanted, "{fill:%s", known[i].colour);
        assert_non_null(strstr(cb_str_text(&svg), wanted));
    }
    theme[CB_ROLE_ALARM].bg256 = 124;
    cb_grid_put(&grid, 0, 0, 0, CB_ROLE_ALARM, "NOT SAVED");
    cb_str_clear(&svg);
    cb_svg_screen(&grid, theme, "t", &svg);
    assert_non_null(strstr(cb_str_text(&svg), "<path fill=\"#af0000\" d=\"M0 0h81v18h-81z"));
}

/* Reversed: the ground is of the letters' colour, and the letters of the ground's. */
static void the_focus_is_a_bar_of_light(void **state)
{
    (void)state;
    cb_grid_put(&grid, 1, 2, 0, CB_ROLE_FOCUS, "[4]");
    shows("<path fill=\"#e4e4e4\" d=\"M18 18h27v18h-27z\"/>");
    char wanted[64];
    snprintf(wanted, sizeof wanted, ".r%d{fill:#121212", (int)CB_ROLE_FOCUS);
    shows(wanted);
}

static void who_hears_it_gets_the_words(void **state)
{
    (void)state;
    cb_grid_put(&grid, 0, 0, 0, CB_ROLE_PLAIN,
                "FIG \xE2\x94\x80\xE2\x94\x80 STATE   \xE2\x96\x88\xE2\x96\x88");
    cb_grid_put(&grid, 3, 5, 0, CB_ROLE_WET, "\xE2\x89\x88 wet");
    shows("<title id=\"title\">coatbell: the bench</title>\n"
          "<desc id=\"desc\">FIG STATE\n\xE2\x89\x88 wet\n</desc>");
    shows("role=\"img\" aria-labelledby=\"title desc\"");
}

int main(void)
{
    static const struct CMUnitTest tests[] = {
        cmocka_unit_test(knows_what_is_not_well_formed),
        cmocka_unit_test_setup_teardown(markup_is_text, blank, clear),
        cmocka_unit_test_setup_teardown(texts_keep_their_cells, blank, clear),
        cmocka_unit_test_setup_teardown(nothing_is_lost, blank, clear),
        cmocka_unit_test_setup_teardown(lines_and_blocks_are_drawn, blank, clear),
        cmocka_unit_test_setup_teardown(each_sign_has_its_shape, blank, clear),
        cmocka_unit_test_setup_teardown(looks_are_kept_apart, blank, clear),
        cmocka_unit_test_setup_teardown(colours_are_those_of_the_theme, blank, clear),
        cmocka_unit_test_setup_teardown(the_focus_is_a_bar_of_light, blank, clear),
        cmocka_unit_test_setup_teardown(who_hears_it_gets_the_words, blank, clear),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
