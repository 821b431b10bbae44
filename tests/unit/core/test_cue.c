/* SPDX-License-Identifier: MIT */
/* When a cue's condition holds, on which coat what goes by the air or an age is said, and how cues
 * fade. */
#include <limits.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "core/coach/cue.h"
#include "support/world.h"

#define COUNT(list) (sizeof(list) / sizeof *(list))
/* What is left out is not said. */
static struct cb_cue filled(struct cb_cue cue)
{
    int *const tops[] = {&cue.coat_to, &cue.coats_to, &cue.figures_to};
    double *const bounds[] = {&cue.temp_under,    &cue.temp_over,   &cue.humidity_under,
                              &cue.humidity_over, &cue.shaken_over, &cue.water_over,
                              &cue.palette_over};
    for (size_t i = 0; i < COUNT(tops); i++) {
        *tops[i] = *tops[i] ? *tops[i] : INT_MAX;
    }
    for (size_t i = 0; i < COUNT(bounds); i++) {
        *bounds[i] = *bounds[i] > 0 ? *bounds[i] : (double)NAN;
    }
    return cue;
}
#define WITH(...) filled((struct cb_cue){.id = "any", __VA_ARGS__})

static const struct cb_cue_stage wash = {.any = true,
                                         .technique = CB_TECHNIQUE_WASH,
                                         .kind = 1,
                                         .by = CB_BY_BRUSH,
                                         .mix = CB_CUE_WATER | CB_CUE_MEDIUM,
                                         .tone = CB_CUE_LIGHTER | CB_CUE_LIGHT_OVER_DARK,
                                         .coats = 2,
                                         .figures = 10};
static const struct cb_cue_now now = {.coat = 2,
                                      .climate = {12, 88, CB_AIR_STILL},
                                      .shaken_min = 40,
                                      .water_min = 70,
                                      .palette_min = 20,
                                      .mark_min = 5,
                                      .begin_min = 30};

static void fits(struct cb_cue cue, bool wanted, const char *says)
{
    struct cb_str why = {0};
    const bool fit =
        cb_cue_fits_stage(&cue, &wash, world_kinds(), &why) && cb_cue_fits_now(&cue, &now, &why);
    if (fit != wanted || strcmp(cb_str_text(&why), says) != 0) {
        fail_msg("%s, not: %s", cb_str_text(&why), says);
    }
    cb_str_fini(&why);
}

static void test_conditions(void **state)
{
    (void)state;
    fits(WITH(.weight = 1), true, "");
    fits(WITH(.techniques = UINT64_C(1) << CB_TECHNIQUE_WASH), true, "");
    fits(WITH(.techniques = UINT64_C(1) << CB_TECHNIQUE_GLAZE), false, "for the technique glaze");
    fits(WITH(.kinds = 2), true, "");
    fits(WITH(.kinds = 1), false, "for the kind acrylic");
    fits(WITH(.bys = 1U << CB_BY_CAN | 1U << CB_BY_AIRBRUSH), false, "for work by can, airbrush");
    fits(WITH(.mixes = CB_CUE_MEDIUM), true, "");
    fits(WITH(.mixes = CB_CUE_NEAT), false, "for a mix neat");
    fits(WITH(.tones = CB_CUE_LIGHTER), true, "");
    fits(WITH(.tones = CB_CUE_DARKER), false, "for paint darker than what is beneath");
    fits(WITH(.figures_from = 10), true, "");
    fits(WITH(.figures_from = 11), false, "for figures from 11");
    fits(WITH(.figures_to = 9), false, "for figures up to 9");
    fits(WITH(.coats_from = 3), false, "for stages of coats from 3");
    fits(WITH(.coat_from = 3), false, "for coats from 3");
    fits(WITH(.coat_to = 1), false, "for coats up to 1");
    fits(WITH(.temp_under = 14), true, "");
    fits(WITH(.temp_under = 12), false, "for air under 12 C");
    fits(WITH(.temp_over = 12), false, "for air over 12 C");
    fits(WITH(.humidity_over = 85), true, "");
    fits(WITH(.humidity_under = 35), false, "for air under 35 %");
    fits(WITH(.shaken_over = 39), true, "");
    fits(WITH(.shaken_over = 40), false, "for paint shaken over 40 min ago");
    fits(WITH(.water_over = 71), false, "for water over 71 min old");
    fits(WITH(.palette_over = 20), false, "for a palette over 20 min old");
}

/* Common practice, no source: a light colour over a dark undercoat may need three coats; over a
 * middle tone, and of a middle one, nothing is said of it. */
static void test_tone_rule(void **state)
{
    (void)state;
    const struct cb_cue cue = WITH(.tones = CB_CUE_LIGHT_OVER_DARK);
    struct cb_cue_stage stage = wash;
    assert_true(cb_cue_fits_stage(&cue, &stage, world_kinds(), NULL));
    stage.tone = CB_CUE_LIGHTER;
    assert_false(cb_cue_fits_stage(&cue, &stage, world_kinds(), NULL));
    stage.tone = 0; /* not known */
    assert_false(cb_cue_fits_stage(&cue, &stage, world_kinds(), NULL));
}

/* What is about no stage: nothing that wants one. */
static void test_no_stage(void **state)
{
    (void)state;
    const struct cb_cue_stage none = {.kind = -1, .figures = 10};
    const struct cb_cue any = WITH(.weight = 1);
    const struct cb_cue technique = WITH(.techniques = 1), kind = WITH(.kinds = 1);
    assert_true(cb_cue_fits_stage(&any, &none, world_kinds(), NULL));
    assert_false(cb_cue_fits_stage(&technique, &none, world_kinds(), NULL));
    assert_false(cb_cue_fits_stage(&kind, &none, world_kinds(), NULL));
}

static void test_ages(void **state)
{
    (void)state;
    const struct cb_cue any = WITH(.weight = 1);
    const struct cb_cue air = WITH(.temp_under = 14),
                        stirred = WITH(.moment = CB_CUE_FIRST_COAT, .shaken_over = 30);
    const struct cb_cue lately = WITH(.moment = CB_CUE_FIRST_COAT, .shaken_over = 36),
                        water = WITH(.moment = CB_CUE_FIRST_COAT, .water_over = 60);
    assert_true(cb_cue_by_air(&air) && !cb_cue_by_age(&air));
    assert_true(cb_cue_by_age(&stirred) && !cb_cue_by_air(&stirred));
    assert_false(cb_cue_by_air(&any) || cb_cue_by_age(&any));
    assert_true(cb_cue_is_due(&stirred, &now, true));
    assert_false(cb_cue_is_due(&stirred, &now, false)); /* 35 min at the last coat: said then */
    assert_true(cb_cue_is_due(&lately, &now, false));   /* it has come since */
    struct cb_cue_now later = now;
    assert_false(cb_cue_is_due(&water, &later, true)); /* at the last coat it was 65 min old */
    later.mark_min = 15;
    assert_true(cb_cue_is_due(&water, &later, false));
    later.water_min = 125;
    later.mark_min = 4;
    assert_false(cb_cue_is_due(&water, &later, false));
    later.mark_min = 6; /* once more, an hour on */
    assert_true(cb_cue_is_due(&water, &later, false));
    struct cb_cue before = water; /* a stage: since the one before was begun */
    before.moment = CB_CUE_BEFORE_STAGE;
    assert_true(cb_cue_is_due(&before, &later, false));
    later.mark_min = (double)INFINITY;
    assert_true(cb_cue_is_due(&water, &later, false));
}

/* Each evening fewer, and in turn all of them. */
static void test_fading(void **state)
{
    (void)state;
    const struct cb_cue any = WITH(.weight = 1);
    static const size_t shown[] = {40, 20, 20, 10, 10, 10, 10, 5};
    bool ever[40] = {0};
    for (int evening = 0; evening < (int)COUNT(shown); evening++) {
        size_t count = 0;
        for (size_t place = 0; place < COUNT(ever); place++) {
            const bool turn = cb_cue_has_turn(&any, place, evening);
            count += turn;
            ever[place] = ever[place] || (evening > 2 && turn);
        }
        assert_int_equal(count, shown[evening]);
    }
    for (size_t place = 0; place < COUNT(ever); place++) {
        assert_true(ever[place]); /* within four evenings that show a quarter each */
    }
    const struct cb_cue timed = WITH(.moment = CB_CUE_AFTER_COAT);
    assert_true(cb_cue_has_turn(&timed, 3, 1000));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_conditions), cmocka_unit_test(test_tone_rule),
        cmocka_unit_test(test_no_stage),   cmocka_unit_test(test_ages),
        cmocka_unit_test(test_fading),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
