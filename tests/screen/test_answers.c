/* SPDX-License-Identifier: MIT */
/* Which film d and w are about: what is waited for, what a coat gone to would lie on, what rang. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "app/look.h"
#include "support/stage.h"

/* The sails meet the ropes, so that a film of either holds up the other; the hull meets neither. */
static const char barge[] =
    "coatbell: 1\n"
    "name: Eel barge\n"
    "paints:\n"
    "  tar: {name: Caulker's tar, kind: acrylic, dry: 20}\n"
    "  red: {name: Sail red, kind: acrylic, dry: 60}\n"
    "  rope: {name: Tarred rope, kind: acrylic, dry: 20}\n"
    "areas:\n"
    "  hull: {share: 40 %}\n"
    "  sail: {share: 40 %}\n"
    "  ropes: {share: 10 %, beside: [sail]}\n"
    "stages:\n"
    "  - {name: Hull, technique: basecoat, paint: tar, on: [hull], minutes: 2}\n"
    "  - {name: Sail, technique: basecoat, paint: red, on: [sail], minutes: 2, after: []}\n"
    "  - {name: Hull again, technique: layer, paint: tar, on: [hull], minutes: 2, after: [Hull]}\n"
    "  - {name: Ropes, technique: basecoat, paint: rope, on: [ropes], minutes: 2, after: [Sail]}\n";

static const struct cb_film *film(struct stage *stage, int figure, int on)
{
    return cb_bench_film(cb_bench_unit(stage_bench(stage), 0), figure, on, 1);
}

static const struct cb_scene *scene(struct stage *stage)
{
    return cb_app_scene(cb_rehearse_app(stage->rehearse));
}

static void a_stage_gone_to_asks_of_what_it_would_lie_on(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, barge, 1, 24, 80, CB_PING_OFF);
    stage_go(&stage, 2);
    stage_wait(&stage, 2);
    stage_key(&stage, "SPACE");
    stage_go(&stage, 1);
    stage_wait(&stage, 2);
    stage_key(&stage, "SPACE"); /* the last film */
    stage_wait(&stage, 240);    /* all have rung */
    stage_key(&stage, "RIGHT");
    assert_true(stage_shows(&stage, "d = Caulker's tar on 1 is dry"));
    stage_go(&stage, 4);
    stage_key(&stage, "DOWN");
    stage_go(&stage, 4);
    assert_int_equal(scene(&stage)->hand.stage, 4);
    assert_true(stage_shows(&stage, "d = Sail red on 1 is dry; w still wet"));
    stage_key(&stage, "w");
    assert_int_equal(film(&stage, 1, 2)->check, CB_CHECK_WET);
    assert_int_equal(film(&stage, 1, 1)->check, CB_CHECK_NONE);
    stage_go(&stage, 3);
    assert_true(stage_shows(&stage, "d = Caulker's tar on 1 is dry; w still wet"));
    stage_key(&stage, "d");
    assert_int_equal(film(&stage, 1, 1)->check, CB_CHECK_DRY);
    stage_fini(&stage);
}

static void while_one_waits_it_is_what_is_waited_for(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, barge, 1, 24, 80, CB_PING_OFF);
    for (int coats = 0; coats < 3; coats++) {
        stage_wait(&stage, 2);
        if (!scene(&stage)->anyway) {
            stage_key(&stage, "SPACE");
        }
    }
    for (int i = 0; i < 100 && !scene(&stage)->all_done; i++) {
        stage_wait(&stage, 2);
        if (scene(&stage)->anyway) {
            assert_non_null(scene(&stage)->below);
            assert_ptr_equal(scene(&stage)->focus->film, scene(&stage)->below);
        } else {
            stage_key(&stage, "SPACE");
        }
    }
    assert_true(scene(&stage)->all_done);
    stage_fini(&stage);
}

static const char punt[] =
    "coatbell: 1\n"
    "name: Punt\n"
    "figures: 3\n"
    "paints:\n"
    "  tar: {name: Caulker's tar, kind: acrylic, dry: 20}\n"
    "  red: {name: Sail red, kind: acrylic, dry: 20}\n"
    "areas: {hull: {}}\n"
    "stages:\n"
    "  - {name: Tar, technique: undercoat, paint: tar, together: yes, minutes: 2}\n"
    "  - {name: Hull, technique: basecoat, paint: red, on: [hull], minutes: 2}\n";

static void otherwise_what_rang_last(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, punt, 3, 24, 80, CB_PING_OFF);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 90);
    assert_true(stage_shows(&stage, "d = Caulker's tar on 1 is dry"));
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 3);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 2); /* neither has rung, so that of the third, not passed on yet, is asked */
    assert_true(stage_shows(&stage, "d = Caulker's tar on 3 is dry"));
    stage_wait(&stage, 90);
    assert_true(stage_shows(&stage, "d = Sail red on 1 is dry; w still wet"));
    stage_key(&stage, "d");
    assert_int_equal(film(&stage, 1, 2)->check, CB_CHECK_DRY);
    assert_true(stage_shows(&stage, "d = Sail red on 2 is dry; w still wet"));
    stage_key(&stage, "d");
    assert_true(stage_shows(&stage, "d = Caulker's tar on 3 is dry"));
    stage_fini(&stage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_stage_gone_to_asks_of_what_it_would_lie_on),
        cmocka_unit_test(while_one_waits_it_is_what_is_waited_for),
        cmocka_unit_test(otherwise_what_rang_last),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
