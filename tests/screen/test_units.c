/* SPDX-License-Identifier: MIT */
/* Two units under way on one bench: the same brush for both, a key from one to the other, and pings
 * and answers of the one behind. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "app/session.h"
#include "core/review/review.h"
#include "support/stage.h"

#define RECIPE(name, stages)                                                                       \
    "coatbell: 1\nname: " name "\n"                                                                \
    "paints:\n  green: {name: Oilskin green, kind: acrylic, dry: 20}\n"                            \
    "  mud: {name: Harbour mud, kind: acrylic, dry: 20}\n"                                         \
    "areas:\n  coat: {share: 50 %}\n  boots: {share: 50 %}\n"                                      \
    "stages:\n" stages
#define COATS "  - {name: Coats, technique: basecoat, paint: green, on: [coat], minutes: 4}\n"
#define BOOTS                                                                                      \
    "  - {name: Boots, technique: basecoat, paint: mud, on: [boots], after: [], minutes: 4}\n"
#define CLOTH                                                                                      \
    "  - {name: Cloth, technique: basecoat, paint: green, on: [coat], after: [], minutes: 4}\n"
static const char gate[] = RECIPE("Gate wardens", COATS);
static const char orchard[] = RECIPE("Orchard wardens", COATS);
static const char muddy[] = RECIPE("Muddy wardens", BOOTS CLOTH);

static const struct cb_bench *bench_of(struct stage *stage)
{
    return cb_app_bench(cb_rehearse_app(stage->rehearse));
}

static const char *front_of(struct stage *stage)
{
    return cb_bench_unit(bench_of(stage), (size_t)cb_bench_front(bench_of(stage)))->name;
}

/* The first is begun, then the other, and the first is in front again. */
static void sit_at_two(struct stage *stage, const char *first, const char *other, const char *name,
                       int columns)
{
    struct cb_err err = {0};
    stage_init_text(stage, first, 3, 24, columns, CB_PING_NEEDED);
    stage_wait(stage, 1);
    assert_int_equal(cb_rehearse_begin(stage->rehearse, name, 5, other, &err), CB_OK);
    assert_string_equal(front_of(stage), name);
    stage_key(stage, "O");
    assert_string_equal(front_of(stage), "sample");
    stage_wait(stage, 1);
}

static void the_same_brush_paints_both(void **state)
{
    (void)state;
    struct stage stage;
    sit_at_two(&stage, gate, orchard, "Orchard wardens", 80);
    stage_key(&stage, "SPACE");
    assert_false(stage_shows(&stage, "same brush")); /* the last press stands first */
    stage_wait(&stage, 2);
    assert_true(stage_shows(&stage, "same brush: 1 to 5 of Orchard wardens too, O goes there"));
    stage_key(&stage, "O");
    assert_true(stage_shows(&stage, "Orchard wardens"));
    assert_true(stage_shows(&stage, "unit opened at 18:04, BKSP takes it back"));
    assert_true(stage_shows(&stage, "SPACE when Oilskin green is on figure 1"));
    assert_false(stage_shows(&stage, "change of paint"));
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 2);
    assert_true(stage_shows(&stage, "same brush: 2 and 3 of sample too, O goes there"));
    stage_type(&stage, "3");
    stage_key(&stage, "SPACE"); /* so that 1 to 4 have it */
    stage_key(&stage, "O");
    stage_wait(&stage, 2);
    assert_true(stage_shows(&stage, "same brush: 5 of Orchard wardens too, O goes there"));
    stage_size(&stage, 50, 15);
    assert_true(stage_shows(&stage, "O, same brush: 5 of Orchard wardens"));
    stage_size(&stage, 36, 12);
    assert_true(stage_shows(&stage, "O, same brush: 5 of Orchard war"));
    stage_size(&stage, 80, 24);
    stage_key(&stage, "BACKSPACE"); /* a press like any other */
    assert_string_equal(front_of(&stage), "Orchard wardens");
    stage_fini(&stage);
}

/* Before the first coat of the evening the paint that is named counts; it is gone to, though the
 * other unit would begin with another stage. */
static void the_paint_named_is_ready_elsewhere(void **state)
{
    (void)state;
    struct stage stage;
    sit_at_two(&stage, gate, muddy, "Muddy wardens", 80);
    assert_true(stage_shows(&stage, "same brush: 1 to 5 of Muddy wardens too, O goes there"));
    stage_key(&stage, "O");
    assert_true(stage_shows(&stage, "SPACE when Oilskin green is on figure 1"));
    stage_key(&stage, "ESC");
    assert_true(stage_shows(&stage, "SPACE when Harbour mud is on figure 1"));
    /* mud is on the brush: no coat of the other unit wants it, but green, were it named */
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 2);
    assert_true(stage_shows(&stage, "SPACE when Harbour mud is on figure 2"));
    assert_false(stage_shows(&stage, "same brush"));
    stage_fini(&stage);
}

static void both_lines_stand_where_there_is_room(void **state)
{
    (void)state;
    struct stage stage;
    sit_at_two(&stage, gate, muddy, "Muddy wardens", 80);
    stage_key(&stage, "SPACE");
    stage_key(&stage, "O");
    stage_key(&stage, "ESC");
    stage_wait(&stage, 2);
    assert_true(stage_shows(&stage, "same brush: 2 and 3 of sample too, O goes there"));
    assert_false(stage_shows(&stage, "ready too"));
    stage_size(&stage, 120, 40);
    assert_true(stage_shows(&stage, "O goes there; ready too: Harbour mud on 1 to 5"));
    stage_fini(&stage);
}

static void one_unit_has_no_other(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, gate, 3, 24, 80, CB_PING_NEEDED);
    stage_key(&stage, "O");
    assert_true(stage_shows(&stage, "no other unit is under way; o begins one"));
    assert_int_equal(stage_events(&stage, CB_EVENT_UNIT_OPENED), 0);
    stage_fini(&stage);
}

/* What is put aside is not under way. */
static void the_key_goes_round(void **state)
{
    (void)state;
    struct stage stage;
    struct cb_err err = {0};
    sit_at_two(&stage, RECIPE("Gate wardens", BOOTS), orchard, "Orchard wardens", 80);
    assert_int_equal(cb_rehearse_begin(stage.rehearse, "Third wardens", 2, orchard, &err), CB_OK);
    assert_string_equal(front_of(&stage), "Third wardens");
    stage_key(&stage, "SPACE"); /* green on the brush: to the other unit with green */
    stage_key(&stage, "O");
    assert_string_equal(front_of(&stage), "Orchard wardens");
    stage_key(&stage, "o");
    stage_key(&stage, "DOWN");
    stage_key(&stage, "DOWN");
    stage_key(&stage, "x"); /* a coat is on it */
    stage_key(&stage, "x");
    stage_key(&stage, "ESC");
    assert_string_equal(front_of(&stage), "Orchard wardens");
    stage_key(&stage, "O");
    assert_string_equal(front_of(&stage), "sample");
    stage_key(&stage, "O");
    assert_string_equal(front_of(&stage), "Orchard wardens");
    stage_fini(&stage);
}

static const struct cb_event *last_check(struct stage *stage)
{
    size_t count;
    const struct cb_event *found = NULL;
    const struct cb_event *const *events = cb_bench_events(bench_of(stage), &count);
    for (size_t i = 0; i < count; i++) {
        found = events[i]->kind == CB_EVENT_CHECKED ? events[i] : found;
    }
    return found;
}

/* Rack, pings and the button are of all units: here of the one behind. */
static void the_unit_behind_rings_and_is_answered_for(void **state)
{
    (void)state;
    struct stage stage;
    sit_at_two(&stage, gate, muddy, "Muddy wardens", 80);
    for (int i = 0; i < 3; i++) {
        stage_key(&stage, "SPACE");
        stage_wait(&stage, 1);
    }
    stage_key(&stage, "O"); /* nothing of green is ready there: the next unit */
    assert_string_equal(front_of(&stage), "Muddy wardens");
    assert_true(stage_shows(&stage, "of sample"));
    stage_key(&stage, "F2");
    assert_true(stage_shows(&stage, "sample"));
    stage_key(&stage, "F1");
    stage_wait(&stage, 60); /* nobody presses a key */
    assert_int_equal(stage.sounds, 1);
    assert_int_equal(stage.pinged, 3);
    assert_string_equal(stage.title, "Oilskin green: figures 1 to 3 are dry");
    assert_string_equal(stage.body, "sample");
    const uint32_t id = cb_rehearse_last_ping(stage.rehearse);
    cb_rehearse_feed(stage.rehearse,
                     (struct cb_input){.kind = CB_INPUT_BUTTON, .ping_id = id, .button_dry = true});
    const struct cb_event *check = last_check(&stage);
    assert_non_null(check);
    assert_string_equal(check->unit, cb_bench_unit(bench_of(&stage), 0)->id);
    assert_int_equal(cb_bench_film(cb_bench_unit(bench_of(&stage), 0), 1, 1, 1)->check,
                     CB_CHECK_DRY);
    assert_string_equal(front_of(&stage), "Muddy wardens"); /* an answer moves nothing */
    stage_fini(&stage);
}

/* Painted in turns with one brush: the minutes of each are its own, and the paint has changed once.
 */
static void minutes_in_turns(void **state)
{
    (void)state;
    struct stage stage;
    sit_at_two(&stage, gate, orchard, "Orchard wardens", 80);
    for (int i = 0; i < 3; i++) {
        stage_wait(&stage, 4);
        stage_key(&stage, "SPACE");
        stage_key(&stage, "O");
    }
    stage_key(&stage, "q");
    const struct cb_review *first = cb_review_unit(bench_of(&stage), 0, CB_TIME_NONE, &stage.arena);
    const struct cb_review *other = cb_review_unit(bench_of(&stage), 1, CB_TIME_NONE, &stage.arena);
    assert_true(first->spent_ms[CB_SPENT_CHANGE] > 0);
    assert_true(other->spent_ms[CB_SPENT_CHANGE] == 0);
    assert_true(first->session_ms + other->session_ms == 14 * CB_MS_PER_MIN);
    assert_true(other->session_ms == 4 * CB_MS_PER_MIN);
    stage_fini(&stage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_same_brush_paints_both),
        cmocka_unit_test(the_paint_named_is_ready_elsewhere),
        cmocka_unit_test(both_lines_stand_where_there_is_room),
        cmocka_unit_test(one_unit_has_no_other),
        cmocka_unit_test(the_key_goes_round),
        cmocka_unit_test(the_unit_behind_rings_and_is_answered_for),
        cmocka_unit_test(minutes_in_turns),
    };
    return cmocka_run_group_tests_name("units", tests, NULL, NULL);
}
