/* SPDX-License-Identifier: MIT */
/* The room as people type it at the bench, and what is asked before it is believed. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/stage.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))

static void type(struct stage *stage, const char *text)
{
    stage_key(stage, "c");
    stage_type(stage, text);
    stage_key(stage, "ENTER");
}

static void forms(void **state)
{
    (void)state;
    static const struct {
        const char *typed, *shown;
    } rows[] = {
        {"19.5\xC2\xB0 62%", "19.5C 62%"},
        {"20 \xC2\xB0"
         "C 55 %",
         "20C 55%"},
        {"21/56", "21C 56%"},
        {"20C 55% RH", "20C 55%"},
        {"56% 21C", "21C 56%"},
        {"20 degrees 55 percent", "20C 55%"},
        {"19 62 open window", "19C 62% draught"},
        {"20 55 hair dryer", "20C 55% dryer"},
        {"19,5 62,5 still", "19.5C 62%"},
    };
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 10, 24, 80, CB_PING_OFF);
    for (size_t i = 0; i < COUNT(rows); i++) {
        const int stores = stage.stores;
        type(&stage, rows[i].typed);
        assert_true(stage_shows(&stage, rows[i].shown));
        assert_int_equal(stage.stores, stores + 1);
    }
    stage_fini(&stage);
}

/* The question writes nothing; ENTER, or the same typed again, is the yes; the edit of another is
 * a new reading. */
static void fahrenheit(void **state)
{
    (void)state;
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 10, 15, 50, CB_PING_OFF);
    const int stores = stage.stores;
    type(&stage, "68 55");
    assert_true(stage_shows(&stage, "68 F? ENTER: yes; write 68F 55% or 68C 55%"));
    assert_int_equal(stage.stores, stores);
    stage_key(&stage, "ENTER");
    assert_true(stage_shows(&stage, "20C 55%"));
    assert_int_equal(stage.stores, stores + 1);

    type(&stage, "77 40 fan");
    for (int i = 0; i < 9; i++) {
        stage_key(&stage, "BACKSPACE");
    }
    assert_false(stage_shows(&stage, "77 F?"));
    stage_type(&stage, "77 40 fan");
    stage_key(&stage, "ENTER");
    assert_true(stage_shows(&stage, "25C 40% fan"));

    type(&stage, "86 40");
    stage_key(&stage, "BACKSPACE");
    stage_type(&stage, "1");
    stage_key(&stage, "ENTER");
    assert_true(stage_shows(&stage, "86 F? ENTER: yes; write 86F 41% or 86C 41%"));
    stage_key(&stage, "ESC");
    assert_int_equal(stage.stores, stores + 2);

    type(&stage, "68 55"); /* asked anew at another opening of the line */
    assert_true(stage_shows(&stage, "68 F? ENTER: yes"));
    stage_key(&stage, "ESC");
    assert_int_equal(stage.stores, stores + 2);
    stage_fini(&stage);
}

/* The reply names the air that goes on from what was told before; what the screen says to type is
 * in the painter's unit. */
static void said(void **state)
{
    (void)state;
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 10, 24, 80, CB_PING_OFF);
    stage.config.fahrenheit = true;
    stage_key(&stage, "SPACE"); /* the caution */
    stage_type(&stage, "19.");
    assert_true(stage_shows(&stage, "c, then 67 62, tells the room"));
    stage_key(&stage, "ESC");
    type(&stage, "67 62");
    assert_true(stage_shows(&stage, "room: 67 F, 62 %; BKSP takes it back"));
    stage_key(&stage, "q");
    stage_reopen(&stage, 180 * CB_MS_PER_MIN);
    assert_true(stage_shows(&stage, "the room? c, then 67 62 (67F 62%, 3 h ago)"));
    stage.config.fahrenheit = false;
    type(&stage, "20 50 fan");
    assert_true(stage_shows(&stage, "room: 20 C, 50 %, fan; BKSP takes it back"));
    type(&stage, "21 50");
    assert_true(stage_shows(&stage, "room: 21 C, 50 %, fan; BKSP takes it back"));
    type(&stage, "21 50 still");
    assert_true(stage_shows(&stage, "room: 21 C, 50 %; BKSP takes it back"));
    stage_fini(&stage);
}

static void refusals(void **state)
{
    (void)state;
    static const char *const rows[][2] = {
        {"19", "and the humidity? write 19.5 62"},
        {"19,5", "and the humidity? write 19.5 62"},
        {"warm", "not understood: warm; write 19.5 62"},
        {"20 RH 55", "which is the humidity? write 19.5 62"},
        {"200 55", "too hot for a room: write 19.5 62"},
        {"20 155", "humidity is 0 to 100 %: write 19.5 62"},
        {"20 @ 55", "not understood: @ 55; write 19.5 62"},
    };
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 10, 15, 50, CB_PING_OFF);
    const int stores = stage.stores;
    for (size_t i = 0; i < COUNT(rows); i++) {
        type(&stage, rows[i][0]);
        assert_true(stage_shows(&stage, rows[i][1]));
        stage_key(&stage, "ENTER"); /* no second press makes it right */
        assert_true(stage_shows(&stage, rows[i][1]));
        stage_key(&stage, "ESC");
    }
    assert_int_equal(stage.stores, stores);
    stage_fini(&stage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(forms),
        cmocka_unit_test(fahrenheit),
        cmocka_unit_test(said),
        cmocka_unit_test(refusals),
    };
    return cmocka_run_group_tests_name("room", tests, NULL, NULL);
}
