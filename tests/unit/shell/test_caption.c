/* SPDX-License-Identifier: MIT */
/* Which terminals are told a title and a pop-up, in which bytes, and that no text gets out of them.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "shell/caption.h"

static void terminals(void **state)
{
    (void)state;
    static const struct {
        const char *type, *program;
        bool title;
        enum cb_caption_pop_up pop_up;
    } rows[] = {
        {"xterm", NULL, true, CB_POP_UP_NONE},
        {"xterm-256color", NULL, true, CB_POP_UP_NONE},
        {"xterm-256color", "iTerm.app", true, CB_POP_UP_OSC9},
        {"xterm-256color", "WezTerm", true, CB_POP_UP_OSC777},
        {"xterm-256color", "WezTermLike", true, CB_POP_UP_NONE},
        {"xterm-kitty", NULL, true, CB_POP_UP_OSC99},
        {"xterm-kitty", "tmux", true, CB_POP_UP_NONE},
        {"xterm-ghostty", NULL, true, CB_POP_UP_OSC9},
        {"foot-direct", NULL, true, CB_POP_UP_OSC777},
        {"wezterm", NULL, true, CB_POP_UP_OSC777},
        {"tmux-256color", "iTerm.app", true, CB_POP_UP_NONE},
        {"screen.xterm-256color", "iTerm.app", false, CB_POP_UP_NONE},
        {"linux", NULL, false, CB_POP_UP_NONE},
        {"dumb", NULL, false, CB_POP_UP_NONE},
        {"vt220", NULL, false, CB_POP_UP_NONE},
        {"stv52", NULL, false, CB_POP_UP_NONE}, /* an older one than st */
        {"no-such", NULL, false, CB_POP_UP_NONE},
        {"", "", false, CB_POP_UP_NONE},
        {NULL, NULL, false, CB_POP_UP_NONE},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const struct cb_caption caption = cb_caption_of(rows[i].type, rows[i].program);
        assert_int_equal(caption.title, rows[i].title);
        assert_int_equal(caption.pop_up, rows[i].pop_up);
    }
}

#define HOSTILE "a;b\033]0;x\007\033\\\xC2\x9C\n4;\xE2\x80\xAE\xC3\xA9"

/* What is written for that title on a terminal that takes it as xterm does, where another stands.
 */
static void check_title(const char *text, bool ascii, const char *bytes)
{
    struct cb_caption caption = {.title = true};
    struct cb_str out = {0};
    cb_caption_title(&caption, &out, "before", 200, ascii);
    cb_str_clear(&out);
    cb_caption_title(&caption, &out, text, 200, ascii);
    assert_string_equal(cb_str_text(&out), bytes);
    cb_str_fini(&out);
    cb_caption_fini(&caption);
}

static void titles(void **state)
{
    (void)state;
    check_title("rings 20:58: Rou\xC3\xA9 on 1", false,
                "\033]2;rings 20:58: Rou\xC3\xA9 on 1\033\\");
    check_title("rings 20:58: Rou\xC3\xA9 on 1", true, "\033]2;rings 20:58: Rou? on 1\033\\");
    check_title(HOSTILE, false, "\033]2;a;b?]0;x??\\??4;?\xC3\xA9\033\\");
    check_title("before", false, "");
    char long_text[3000], cut[100] = "\033]2;";
    memset(long_text, 'x', sizeof long_text - 1);
    long_text[sizeof long_text - 1] = '\0';
    memset(cut + 4, 'x', 79);
    memcpy(cut + 83, "?\033\\", 3);
    check_title(long_text, true, cut);
}

/* The old title is kept aside once, and comes back while one of ours stands. */
static void old_title(void **state)
{
    (void)state;
    struct cb_caption caption = {.title = true};
    struct cb_str out = {0};
    assert_string_equal(cb_caption_back(&caption), "");
    cb_caption_title(&caption, &out, "", 80, false);
    assert_string_equal(cb_str_text(&out), "");
    cb_caption_title(&caption, &out, "one", 80, false);
    cb_caption_title(&caption, &out, "two", 80, false);
    assert_string_equal(out.text, "\033[22;2t\033]2;one\033\\\033]2;two\033\\");
    assert_string_equal(cb_caption_back(&caption), "\033]2;\033\\\033[23;2t");
    cb_str_clear(&caption.stands);
    assert_string_equal(cb_caption_back(&caption), "");
    cb_str_fini(&out);
    cb_caption_fini(&caption);
}

/* By terminfo: what it has, as wide as the terminal; nothing where it can't be ended. */
static void own_way(void **state)
{
    (void)state;
    struct cb_caption caption = {.to_title = strdup("<"), .from_title = strdup(">")};
    struct cb_str out = {0};
    cb_caption_title(&caption, &out, "rings 20:58", 5, true);
    assert_string_equal(out.text, "<ring?>");
    assert_string_equal(cb_caption_back(&caption), "");
    caption.end_title = strdup("!");
    assert_string_equal(cb_caption_back(&caption), "!");
    cb_caption_fini(&caption);
    caption = (struct cb_caption){.to_title = strdup("<")};
    cb_str_clear(&out);
    cb_caption_title(&caption, &out, "rings 20:58", 5, true);
    assert_string_equal(cb_str_text(&out), "");
    cb_caption_fini(&caption);
    cb_str_fini(&out);
}

static void pop_ups(void **state)
{
    (void)state;
    static const struct {
        enum cb_caption_pop_up way;
        const char *bytes, *hostile;
    } rows[] = {
        {CB_POP_UP_OSC9, "\033]9;coatbell: Rope: figure 1 is dry. Next: Green on 1, neat\033\\",
         "\033]9;coatbell: a,b?]0,x??\\?, 4,?\xC3\xA9. 9,4\033\\"},
        {CB_POP_UP_OSC777, "\033]777;notify;Rope: figure 1 is dry;Next: Green on 1, neat\033\\",
         "\033]777;notify;a,b?]0,x??\\?, 4,?\xC3\xA9;9,4\033\\"},
        {CB_POP_UP_OSC99,
         "\033]99;i=coatbell-7:d=0;Rope: figure 1 is dry\033\\"
         "\033]99;i=coatbell-7:p=body;Next: Green on 1, neat\033\\",
         "\033]99;i=coatbell-7:d=0;a,b?]0,x??\\?, 4,?\xC3\xA9\033\\"
         "\033]99;i=coatbell-7:p=body;9,4\033\\"},
        {CB_POP_UP_NONE, "", ""},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct cb_str out = {0};
        cb_caption_pop_up(&out, rows[i].way, 7, "Rope: figure 1 is dry", "Next: Green on 1\nneat",
                          false);
        assert_string_equal(cb_str_text(&out), rows[i].bytes);
        cb_str_clear(&out);
        cb_caption_pop_up(&out, rows[i].way, 7, HOSTILE, "9;4", false);
        assert_string_equal(cb_str_text(&out), rows[i].hostile);
        cb_str_fini(&out);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(terminals), cmocka_unit_test(titles),  cmocka_unit_test(old_title),
        cmocka_unit_test(own_way),   cmocka_unit_test(pop_ups),
    };
    return cmocka_run_group_tests_name("caption", tests, NULL, NULL);
}
