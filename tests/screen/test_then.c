/* SPDX-License-Identifier: MIT */
/* What the bench says of what comes next, of a wait, and of the end of the evening. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "app/then.h"
#include "support/stage.h"

static const char coats[] = "coatbell: 1\nname: Two\nchange: 90 s\n"
                            "paints:\n  green: {name: Oilskin green, dry: 20}\n"
                            "  ebb: {name: Ebb wash, kind: wash, dry: 20}\n"
                            "areas: {oilskin: {}, boots: {}}\n"
                            "stages:\n"
                            "  - {name: Oilskins, technique: basecoat, paint: green, on: oilskin, "
                            "minutes: 4}\n"
                            "  - {name: Boots, technique: basecoat, paint: green, on: boots, "
                            "minutes: 4}\n"
                            "  - {name: Shade, technique: wash, paint: ebb, mix: 1 paint + 1 "
                            "medium, on: [oilskin, boots], minutes: 3}\n";

/* The same paint for another stage, then a wait until it is dry, told to the minute. */
static void it_says_what_comes_and_why(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, coats, 2, 24, 80, CB_PING_OFF);
    assert_true(stage_shows(&stage, "then Boots on 1 and 2: ready, same paint on the brush"));
    stage_key(&stage, "DOWN"); /* elsewhere by hand: nothing is said of what comes */
    assert_false(stage_shows(&stage, "then "));
    stage_key(&stage, "ESC");
    stage_key(&stage, "SPACE");
    stage_key(&stage, "SPACE");
    assert_true(stage_shows(&stage, "SPACE when Oilskin green is on figure 1"));
    assert_true(stage_shows(&stage, "then Ebb wash on 1 and 2: dry at 18:"));
    assert_true(stage_shows(&stage, ", free from 18:08"));
    stage_key(&stage, "SPACE");
    stage_key(&stage, "SPACE");
    stage_fini(&stage);
}

/* Ready is that very coat, on all of them: not where the first coat is still to come. */
static void ready_is_said_of_that_coat(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage,
                    "{coatbell: 1, name: Two, paints: {green: {name: Oilskin green, dry: 5}}, "
                    "areas: {oilskin: {}}, stages: [{name: Oilskins, technique: basecoat, "
                    "paint: green, on: oilskin, coats: 2, minutes: 4}]}",
                    8, 24, 80, CB_PING_OFF);
    assert_true(stage_shows(&stage, "then coat 2 on 1 to 8: dry by then"));
    assert_false(stage_shows(&stage, ": ready"));
    stage_fini(&stage);
}

/* What fits into the wait, less what was done already; j writes it. */
static void a_wait_is_good_for_something(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, coats, 1, 24, 130, CB_PING_OFF);
    stage_key(&stage, "SPACE");
    stage_key(&stage, "SPACE");
    const char *line = strstr(stage_text(&stage), "free until 18:");
    assert_non_null(line);
    char until[CB_CLOCK_SIZE];
    memcpy(until, line + strlen("free until "), 5);
    until[5] = '\0';
    assert_true(stage_shows(&stage, ": mix Ebb wash, rinse the brush, fresh water, refresh the "
                                    "palette, glue the next bases; j when done"));
    assert_true(
        stage_shows(&stage, cb_arena_printf(&stage.arena, "nothing is ready until %s", until)));
    stage_key(&stage, "j");
    stage_type(&stage, "2 rinse");
    stage_key(&stage, "ENTER");
    assert_int_equal(stage_events(&stage, CB_EVENT_CHORE_DONE), 1);
    assert_true(stage_shows(&stage, ": mix Ebb wash, fresh water, refresh the palette"));
    stage_key(&stage, "u");
    assert_true(stage_shows(&stage, ": mix Ebb wash, rinse the brush"));
    while (!stage_shows(&stage, "SPACE when Ebb wash is on figure 1, a change of paint")) {
        assert_true(stage_shows(&stage, "SPACE when Ebb wash is on figure 1"));
        stage_wait(&stage, 1);
    }
    assert_false(stage_shows(&stage, "free until"));
    stage_fini(&stage);
}

static const char slow[] = "coatbell: 1\nname: Slow\nchange: 90 s\n"
                           "paints:\n  green: {name: Oilskin green, dry: 5}\n"
                           "  paste: {name: Tideline paste, kind: texture paste, dry: 120}\n"
                           "areas: {oilskin: {}, base: {}}\n"
                           "stages:\n"
                           "  - {name: Oilskins, technique: basecoat, paint: green, on: oilskin, "
                           "minutes: 4, coats: 9}\n"
                           "  - {name: Cobbles, technique: texture, paint: paste, on: base, "
                           "minutes: 3, after: []}\n";

/* In its last hour the evening has an end, and what dries long belongs there. */
static void the_evening_has_an_end(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, slow, 6, 24, 100, CB_PING_OFF);
    stage.config.evening_min = 120;
    stage_go(&stage, 1);
    stage_key(&stage, "SPACE");
    stage_key(&stage, "ESC");
    assert_false(stage_shows(&stage, "leave by"));
    bool told = false;
    for (int i = 0; i < 24; i++) {
        stage_wait(&stage, 4);
        stage_key(&stage, "SPACE");
        stage_wait(&stage, .2);
        const bool shown = stage_shows(&stage, "leave by 20:00: stop after ");
        told = told || shown;
        assert_false(shown && i < 12);
    }
    assert_true(told);
    stage_wait(&stage, 40); /* beyond it nobody is sent away */
    assert_false(stage_shows(&stage, "leave by"));
    stage_fini(&stage);
}

/* Another unit under way is of more use than a chore. */
static void another_unit_fills_a_wait(void **state)
{
    (void)state;
    struct stage stage;
    struct cb_err err;
    stage_init_text(&stage, coats, 1, 24, 100, CB_PING_OFF);
    stage_wait(&stage, 1);
    assert_int_equal(cb_rehearse_begin(stage.rehearse, "Second", 1, coats, &err), CB_OK);
    stage_key(&stage, "SPACE");
    stage_key(&stage, "SPACE");
    assert_true(stage_shows(&stage, ": Oilskin green on 1 of sample, o opens it"));
    assert_false(stage_shows(&stage, "fresh water"));
    stage_fini(&stage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(it_says_what_comes_and_why),
        cmocka_unit_test(ready_is_said_of_that_coat),
        cmocka_unit_test(a_wait_is_good_for_something),
        cmocka_unit_test(the_evening_has_an_end),
        cmocka_unit_test(another_unit_fills_a_wait),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
