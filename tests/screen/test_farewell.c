/* SPDX-License-Identifier: MIT */
/* What finished units say of their painter stands in the review at every size, and one finding is
 * said when an evening with a coat ends. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "app/farewell.h"
#include "support/planted.h"
#include "support/stage.h"

#define UNITS 3

static const struct {
    int columns, rows;
} sizes[] = {{50, 15}, {80, 24}, {120, 40}};

static void begin(struct stage *stage, struct planted_painter *painter, enum planted planted)
{
    struct cb_taught taught;
    stage_init(stage, "night-watch.yaml", 12, 24, 80, CB_PING_NEEDED);
    planted_begin(painter, planted, 2);
    for (int unit = 0; unit < UNITS; unit++) {
        planted_unit(painter);
    }
    cb_taught_begin(&taught);
    while (cb_taught_step(&taught)) {
    }
    taught.trails = painter->trails; /* outlive the app */
    taught.trail_count = (size_t)painter->units;
    cb_rehearse_feed(stage->rehearse,
                     (struct cb_input){.kind = CB_INPUT_HISTORY, .taught = &taught});
    cb_taught_fini(&taught);
}

static void end(struct stage *stage, struct planted_painter *painter)
{
    stage_fini(stage);
    planted_end(painter);
}

static void put_on(struct stage *stage)
{
    stage_wait(stage, 6);
    stage_key(stage, "SPACE"); /* the caution */
    stage_key(stage, "SPACE");
    assert_true(stage_events(stage, CB_EVENT_COAT_ON) > 0);
}

static bool scrolls_to(struct stage *stage, const char *text)
{
    stage_key(stage, "HOME");
    for (int i = 0; i < 40 && !stage_shows(stage, text); i++) {
        stage_key(stage, "PAGEDOWN");
    }
    return stage_shows(stage, text);
}

static void the_review_says_it(void **state)
{
    (void)state;
    struct stage stage;
    struct planted_painter painter;
    begin(&stage, &painter, PLANTED_TIRED);
    put_on(&stage);
    assert_true(cb_rehearse_show(stage.rehearse, "review"));
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        stage_size(&stage, sizes[i].columns, sizes[i].rows);
        assert_true(scrolls_to(&stage, "What the log says of you, from 3 units"));
        assert_true(scrolls_to(&stage, "of a row the first 8 figures take you"));
        assert_true(scrolls_to(&stage, "take 7 in a row, then something else"));
    }
    end(&stage, &painter);
}

static void says_one_at_the_end(void **state)
{
    (void)state;
    struct stage stage;
    struct planted_painter painter;
    begin(&stage, &painter, PLANTED_TIRED);
    assert_null(cb_app_farewell(cb_rehearse_app(stage.rehearse), &stage.arena));
    put_on(&stage);
    const char *said = cb_app_farewell(cb_rehearse_app(stage.rehearse), &stage.arena);
    assert_non_null(said);
    assert_ptr_equal(strstr(said, "your log says: of a row the first 8 figures take you"), said);
    assert_string_equal(said + strlen(said) - 43, "), so take 7 in a row, then something else.");
    end(&stage, &painter);
}

static void says_nothing_where_there_is_nothing(void **state)
{
    (void)state;
    struct stage stage;
    struct planted_painter painter;
    begin(&stage, &painter, PLANTED_NONE);
    put_on(&stage);
    assert_null(cb_app_farewell(cb_rehearse_app(stage.rehearse), &stage.arena));
    end(&stage, &painter);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_review_says_it),
        cmocka_unit_test(says_one_at_the_end),
        cmocka_unit_test(says_nothing_where_there_is_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
