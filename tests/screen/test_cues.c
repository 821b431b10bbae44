/* SPDX-License-Identifier: MIT */
/* What is said at which moment: a recipe with every technique played through on a fake clock, what
 * is timed within a film, what is muted, and what fades. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "app/coach.h"
#include "app/look.h"
#include "app/session.h"
#include "base/vec.h"
#include "support/events.h"
#include "support/stage.h"
#include "view/grid.h"

/* Every technique there is, some with two coats; a join for what is apart. */
static const char every[] =
    "coatbell: 1\nname: Every technique\n"
    "paints:\n"
    "  rope: {name: Tarred rope, kind: acrylic, tone: dark}\n"
    "  wick: {name: Wick white, kind: acrylic, tone: light}\n"
    "  brass: {name: Lantern brass, kind: metallic}\n"
    "  ebb: {name: Ebb wash, kind: wash, tone: dark}\n"
    "  tide: {name: Tideline paste, kind: texture paste}\n"
    "  seal: {name: Storm seal, kind: brush varnish}\n"
    "areas:\n  cloak: {share: 50 %}\n  lantern: {share: 10 %}\n  base: {disc: 32 mm}\n"
    "  shield: {share: 10 %, apart: yes}\n"
    "stages:\n"
    "  - {name: Clean, technique: prepare, minutes: 3}\n"
    "  - {name: Undercoat, technique: undercoat, paint: rope, minutes: 3}\n"
    "  - {name: Cloaks, technique: basecoat, paint: wick, on: cloak, coats: 2, minutes: 3}\n"
    "  - {name: Lanterns, technique: basecoat, paint: brass, on: lantern, minutes: 3}\n"
    "  - {name: Layers, technique: layer, paint: wick, on: cloak, minutes: 3}\n"
    "  - {name: Wash, technique: wash, paint: ebb, on: cloak, minutes: 1}\n"
    "  - {name: Seams, technique: recess shade, paint: ebb, on: lantern, minutes: 1}\n"
    "  - {name: Glow, technique: glaze, paint: wick, on: cloak, minutes: 2}\n"
    "  - {name: Edges, technique: edge highlight, paint: wick, on: cloak, minutes: 3}\n"
    "  - {name: Dust, technique: drybrush, paint: wick, on: lantern, minutes: 2}\n"
    "  - {name: Cobbles, technique: texture, paint: tide, on: base, minutes: 3}\n"
    "  - {name: Badge, technique: transfer, on: shield, minutes: 3}\n"
    "  - {name: Mask, technique: mask, on: lantern, minutes: 2}\n"
    "  - {name: Unmask, technique: unmask, on: lantern, minutes: 1}\n"
    "  - {name: Shields on, technique: join, on: shield, minutes: 2, wait: 15 min}\n"
    "  - {name: Varnish, technique: varnish, paint: seal, minutes: 2}\n";

static const char washes[] =
    "coatbell: 1\nname: Washes\n"
    "paints:\n  ebb: {name: Ebb wash, kind: wash}\n  wick: {name: Wick white, kind: acrylic}\n"
    "stages:\n"
    "  - {name: Wash, technique: wash, paint: ebb, minutes: 1}\n"
    "  - {name: Layers, technique: layer, paint: wick, minutes: 3}\n";

/* A cue as it was said: of which stage, figures and press. */
struct said {
    const char *cue, *text;
    enum cb_cue_moment moment;
    int stage;
    size_t press; /* after so many coats */
    double share;
};

struct play {
    struct stage *stage;
    CB_VEC(struct said) said;
    bool loud; /* printed as it is said */
};

static size_t coats(struct stage *stage)
{
    return stage_events(stage, CB_EVENT_COAT_ON);
}

static size_t lines_now(struct stage *stage, struct cb_coach_line lines[CB_COACH_LINES])
{
    const struct cb_app *app = cb_rehearse_app(stage->rehearse);
    return cb_coach_lines(app, cb_app_scene(app), &stage->arena, lines);
}

static void listen(struct play *play)
{
    struct cb_coach_line lines[CB_COACH_LINES];
    const struct cb_app *app = cb_rehearse_app(play->stage->rehearse);
    const size_t count = lines_now(play->stage, lines);
    assert_true(count <= 2);
    assert_true(count == 0 || !cb_scene_unread(cb_app_scene(app)));
    assert_true(count < 2 || lines[0].cue->weight >= lines[1].cue->weight);
    for (size_t i = 0; i < count; i++) {
        const struct said said = {.cue = lines[i].cue->id,
                                  .text = lines[i].text,
                                  .moment = lines[i].cue->moment,
                                  .stage = lines[i].moment->stage_number,
                                  .press = coats(play->stage),
                                  .share = lines[i].moment->share};
        bool known = false;
        for (size_t k = 0; k < play->said.count; k++) {
            const struct said *before = &play->said.items[k];
            const bool same = strcmp(before->cue, said.cue) == 0 && before->stage == said.stage;
            if (same && before->press != said.press && said.moment != CB_CUE_AFTER_COAT) {
                fail_msg("%s is said again of stage %d", said.cue, said.stage);
            }
            known = known || (same && before->press == said.press);
        }
        if (!known) {
            cb_vec_push(&play->said, said);
            if (play->loud) {
                printf("stage %2d, coat %2zu: %s\n", said.stage, said.press, said.text);
            }
        }
    }
}

/* Cautions are read, coats go on as they are named, and while none can, time goes by. */
static void play_through(struct play *play)
{
    for (int turn = 0; turn < 4000; turn++) {
        const struct cb_app *app = cb_rehearse_app(play->stage->rehearse);
        const struct cb_scene *scene = cb_app_scene(app);
        listen(play);
        if (scene->all_done) {
            return;
        }
        if (cb_scene_unread(scene)) {
            stage_key(play->stage, "SPACE");
            continue;
        }
        const double work_min =
            scene->stage ? cb_stage_minutes(scene->stage, play->stage->kinds) : 1;
        if (!scene->proposal.any || scene->anyway) {
            stage_wait(play->stage, 0.5);
            continue;
        }
        for (double min = 0; min < work_min; min += 0.25) {
            stage_wait(play->stage, 0.25);
            listen(play);
        }
        stage_key(play->stage, "SPACE");
        if (stage_shows(play->stage, "again")) {
            stage_key(play->stage, "SPACE");
        }
    }
    fail_msg("it is never done");
}

static bool has(const struct play *play, int stage, enum cb_cue_moment moment)
{
    for (size_t i = 0; i < play->said.count; i++) {
        if (play->said.items[i].stage == stage && play->said.items[i].moment == moment) {
            return true;
        }
    }
    return false;
}

static void test_every_technique(void **state)
{
    (void)state;
    struct stage stage;
    struct play play = {.stage = &stage, .loud = getenv("CB_CUES_SHOWN") != NULL};
    stage_init_coached(&stage, every, 3, 24, 80);
    play_through(&play);
    const struct cb_unit *unit = cb_bench_unit(stage_bench(&stage), 0);
    assert_int_equal(unit->recipe->stage_count, 16);
    bool technique[CB_TECHNIQUE_COUNT] = {0};
    for (size_t s = 0; s < unit->recipe->stage_count; s++) {
        const struct cb_stage *own = &unit->recipe->stages[s];
        technique[own->technique] = true;
        if (!has(&play, (int)s + 1, CB_CUE_BEFORE_STAGE)) {
            fail_msg("nothing is said before %s", own->name);
        }
    }
    for (size_t t = 0; t < CB_TECHNIQUE_COUNT; t++) {
        assert_true(technique[t]);
    }
    assert_true(has(&play, 3, CB_CUE_BETWEEN_COATS));
    assert_true(has(&play, 6, CB_CUE_AFTER_COAT));
    assert_true(has(&play, 7, CB_CUE_AFTER_COAT));
    assert_true(has(&play, 11, CB_CUE_AFTER_COAT));
    assert_true(has(&play, 12, CB_CUE_AFTER_COAT));
    assert_true(has(&play, 6, CB_CUE_WHILE_DRYING));
    size_t pools = 0;
    for (size_t i = 0; i < play.said.count; i++) {
        const struct said *said = &play.said.items[i];
        if (strcmp(said->cue, "wash-pools") == 0) {
            char wanted[64];
            snprintf(wanted, sizeof wanted, "Look back at %zu: pools? Soak them up.", ++pools);
            assert_string_equal(said->text, wanted);
            assert_true(said->share <= 0.06);
        }
    }
    assert_int_equal(pools, 3); /* once a figure */
    cb_vec_free(&play.said);
    stage_fini(&stage);
}

/* The evening of the sample unit, from its first figure to its last: CB_CUES_SHOWN=1 prints it. */
static void test_sample_evening(void **state)
{
    (void)state;
    struct stage sample, stage;
    struct play play = {.stage = &stage, .loud = getenv("CB_CUES_SHOWN") != NULL};
    stage_init(&sample, "night-watch.yaml", 0, 24, 80, CB_PING_NEEDED);
    stage_init_coached(&stage, sample.recipe.text, 4, 24, 80);
    play_through(&play);
    size_t pools = 0;
    for (size_t i = 0; i < play.said.count; i++) {
        for (size_t k = 0; k < i; k++) { /* nothing is obvious twice */
            const struct said *a = &play.said.items[i], *b = &play.said.items[k];
            if (strcmp(a->cue, b->cue) == 0 && a->press != b->press &&
                strcmp(a->cue, "fresh-water") != 0 && strcmp(a->cue, "fresh-palette") != 0 &&
                a->moment != CB_CUE_AFTER_COAT && a->moment != CB_CUE_EVENING_END) {
                fail_msg("%s is said twice: of stage %d, of stage %d", a->cue, b->stage, a->stage);
            }
        }
        pools += strcmp(play.said.items[i].cue, "wash-pools") == 0;
    }
    assert_int_equal(pools, 4); /* none is missing at the wash */
    cb_vec_free(&play.said);
    stage_fini(&stage);
    stage_fini(&sample);
}

/* The screen itself, at its three sizes: at the press, and gone after 6 % of the drying. */
static void test_pool_check(void **state)
{
    (void)state;
    static const int sizes[][2] = {{50, 15}, {80, 24}, {120, 40}};
    for (size_t i = 0; i < 3; i++) {
        struct stage stage;
        stage_init_coached(&stage, washes, 2, sizes[i][1], sizes[i][0]);
        stage_key(&stage, "SPACE");
        assert_true(stage_shows(&stage, "Look back at 1: pools?"));
        /* 14.8 min at the standard climate: 53 s are 6 % of it */
        stage_wait(&stage, 50.0 / 60);
        assert_true(stage_shows(&stage, "Look back at 1: pools?"));
        assert_int_equal(stage.pings, 0); /* the row goes on */
        stage_wait(&stage, 6.0 / 60);
        assert_false(stage_shows(&stage, "pools?"));
        stage_key(&stage, "SPACE");
        assert_true(stage_shows(&stage, "Look back at 2: pools?"));
        assert_false(stage_shows(&stage, "Look back at 1"));
        stage_fini(&stage);
    }
}

/* Of a count, which lies back, it is the figure just done. */
static void test_pool_check_of_a_count(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_coached(&stage, washes, 4, 24, 80);
    stage_wait(&stage, 10);
    stage_type(&stage, "3");
    stage_key(&stage, "SPACE");
    assert_int_equal(coats(&stage), 3);
    assert_true(stage_shows(&stage, "Look back at 3: pools?"));
    stage_fini(&stage);
}

/* The last of the row has a pop-up, silent, before 6 % of the drying, and it goes by itself. */
static void test_popup(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_coached(&stage, washes, 2, 24, 80);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 1);
    stage_key(&stage, "SPACE");
    const int64_t on_ms = cb_rehearse_now(stage.rehearse).wall_ms;
    assert_int_equal(stage.pings, 0);
    stage_wait(&stage, 40.0 / 60);
    assert_int_equal(stage.pings, 1);
    assert_int_equal(stage.sounds, 0);
    assert_int_equal(stage.beeps, 0);
    assert_string_equal(stage.title, "Look back at 2: pools? Soak them up.");
    assert_string_equal(stage.body, "Ebb wash");
    assert_true((double)(stage.ping_at_ms - on_ms) < 0.06 * 14.8 * 60000);
    assert_int_equal(stage_events(&stage, CB_EVENT_PINGED), 0);
    stage_wait(&stage, 20.0 / 60);
    assert_int_equal(stage.closes, 1);
    stage_wait(&stage, 1);
    assert_int_equal(stage.pings, 1);
    stage_fini(&stage);
}

static void test_no_popup_when_off(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_coached(&stage, washes, 1, 24, 80);
    stage.config.ping = CB_PING_OFF;
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 2);
    assert_int_equal(stage.pings, 0);
    stage_fini(&stage);
}

/* m is for good, in the log, and can be taken back. */
static void test_mute(void **state)
{
    (void)state;
    struct stage stage;
    struct cb_coach_line lines[CB_COACH_LINES];
    stage_init_coached(&stage, washes, 2, 24, 80);
    assert_int_equal(lines_now(&stage, lines), 2);
    const char *first = lines[0].cue->id, *text = lines[0].text, *second = lines[1].cue->id;
    assert_true(stage_shows(&stage, text));
    stage_key(&stage, "m");
    assert_int_equal(stage_events(&stage, CB_EVENT_CUE_MUTED), 1);
    assert_true(cb_bench_muted(stage_bench(&stage), first));
    assert_true(stage_shows(&stage, "is muted; BKSP takes it back"));
    assert_true(stage_shows(&stage, first));
    assert_false(stage_shows(&stage, text));
    assert_true(lines_now(&stage, lines) > 0);
    assert_string_equal(lines[0].cue->id, second);
    stage_key(&stage, "BACKSPACE");
    assert_true(stage_shows(&stage, text));
    stage_key(&stage, "r");
    assert_false(stage_shows(&stage, text));
    stage_reopen(&stage, 3600000); /* and on another evening, where another takes its place */
    const size_t count = lines_now(&stage, lines);
    for (size_t i = 0; i < count; i++) {
        assert_string_not_equal(lines[i].cue->id, first);
    }
    stage_fini(&stage);
}

/* However full the screen is: what is due stands on it, the second where the recipe says nothing.
 */
static void what_is_due_stands_on_a_full_screen(void **state)
{
    static const int sizes[][2] = {{80, 24}, {120, 40}};
    (void)state;
    for (size_t i = 0; i < 2; i++) {
        struct stage stage, sample;
        size_t said = 0;
        stage_init(&sample, "night-watch.yaml", 0, 24, 80, CB_PING_NEEDED);
        stage_init_coached(&stage, sample.recipe.text, 10, sizes[i][1], sizes[i][0]);
        for (int press = 0; press < 70; press++) {
            struct cb_coach_line lines[CB_COACH_LINES];
            const size_t count = lines_now(&stage, lines);
            const struct cb_stage *own = cb_app_scene(cb_rehearse_app(stage.rehearse))->stage;
            for (size_t k = 0; k < count && (k == 0 || !own || !own->say); k++) {
                assert_true(stage_shows(&stage, lines[k].text));
                said++;
            }
            stage_wait(&stage, 3);
            stage_key(&stage, "SPACE");
        }
        assert_true(said > 15);
        stage_fini(&stage);
        stage_fini(&sample);
    }
}

/* A pot that is not on the brush yet has no old paint on the palette. */
static void a_palette_grows_old_by_its_own_paint(void **state)
{
    static const char two[] = "coatbell: 1\nname: Two paints\n"
                              "paints:\n  tar: {name: Caulker's tar, kind: acrylic}\n  wick: "
                              "{name: Wick white, kind: acrylic}\n"
                              "areas:\n  hull: {share: 50 %}\n  sail: {share: 50 %}\n"
                              "stages:\n"
                              "  - {name: Hull, technique: basecoat, paint: tar, on: hull, coats: "
                              "2, minutes: 2, after: []}\n"
                              "  - {name: Sail, technique: basecoat, paint: wick, on: sail, coats: "
                              "2, minutes: 2, after: []}\n";
    (void)state;
    struct stage stage;
    stage_init_coached(&stage, two, 1, 24, 80);
    for (int press = 0; press < 12; press++) {
        assert_false(stage_shows(&stage, "Freshen the palette"));
        stage_wait(&stage, 2);
        if (coats(&stage) < 3) {
            stage_key(&stage, "SPACE");
        }
    }
    stage_fini(&stage);
}

static void test_mute_where_none_stands(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, washes, 2, 24, 80, CB_PING_NEEDED);
    stage_key(&stage, "m");
    assert_int_equal(stage_events(&stage, CB_EVENT_CUE_MUTED), 0);
    assert_true(stage_shows(&stage, "no cue stands on the bench"));
    stage_fini(&stage);
}

static const char sprayed[] =
    "coatbell: 1\nname: Sprayed\n"
    "paints:\n  under: {name: Quay grey, kind: spray undercoat}\n"
    "stages:\n  - {name: Undercoat, technique: undercoat, paint: under, together: yes}\n";

/* At 12 C and 88 % the number, its limit and what to do stand there before the stage; at 21 C and
 * 50 % nothing but the caution, which wants a key of its own in both. ISO 8502-4, ISO 12944-7: no
 * more than 85 %, and 3 K above the dew point. */
static void test_spraying_in_damp_air(void **state)
{
    (void)state;
    static const int sizes[][2] = {{50, 15}, {80, 24}, {120, 40}};
    for (size_t i = 0; i < 6; i++) {
        const bool damp = i < 3;
        struct stage stage;
        stage_init_coached(&stage, sprayed, 2, sizes[i % 3][1], sizes[i % 3][0]);
        stage_key(&stage, "c");
        stage_type(&stage, damp ? "12 88" : "21 50");
        stage_key(&stage, "ENTER");
        assert_true(stage_shows(&stage, "you have read the caution"));
        assert_true(stage_shows(&stage, "Spray can: outdoors"));
        assert_int_equal(stage_shows(&stage, "air 88 %, over 85 %: do not spray"),
                         damp && sizes[i % 3][0] > 50);
        stage_key(&stage, "SPACE");
        assert_int_equal(stage_events(&stage, CB_EVENT_CAUTION_READ), 1);
        assert_int_equal(coats(&stage), 0);
        assert_false(stage_shows(&stage, "you have read the caution"));
        assert_true(stage_shows(&stage, "Can: outdoors, respirator, no flame or spark"));
        assert_int_equal(stage_shows(&stage, "air 88 %, over 85 %: do not spray"), damp);
        assert_int_equal(stage_shows(&stage, "do not spray"), damp);
        assert_int_equal(stage_shows(&stage, "may turn white"), damp && sizes[i % 3][0] > 50);
        stage_fini(&stage);
    }
}

/* A caution has the screen for itself. */
static void test_none_beside_a_caution(void **state)
{
    (void)state;
    struct stage stage;
    struct cb_coach_line lines[CB_COACH_LINES];
    stage_init_coached(&stage, sprayed, 2, 24, 80);
    assert_int_equal(lines_now(&stage, lines), 0);
    assert_false(stage_shows(&stage, "Shake the can"));
    stage_key(&stage, "SPACE");
    assert_int_equal(stage_events(&stage, CB_EVENT_CAUTION_READ), 1);
    assert_int_equal(coats(&stage), 0);
    assert_int_equal(lines_now(&stage, lines), 2);
    assert_true(stage_shows(&stage, "Shake the can two minutes after it rattles."));
    stage_fini(&stage);
}

/* The same log at the same moment says the same, whatever the bench showed meanwhile. */
static void test_from_the_log_alone(void **state)
{
    (void)state;
    struct stage a, b;
    struct cb_coach_line one[CB_COACH_LINES], two[CB_COACH_LINES];
    stage_init_coached(&a, every, 3, 24, 80);
    stage_init_coached(&b, every, 3, 24, 80);
    for (int i = 0; i < 12; i++) {
        stage_key(&a, "TAB");
        stage_wait(&a, 2);
        stage_key(&a, "F1");
        stage_wait(&b, 2);
        const size_t count = lines_now(&a, one);
        assert_int_equal(count, lines_now(&b, two));
        for (size_t k = 0; k < count; k++) {
            assert_string_equal(one[k].text, two[k].text);
        }
        stage_key(&a, "SPACE");
        stage_key(&b, "SPACE");
    }
    stage_fini(&a);
    stage_fini(&b);
}

/* Whatever is pressed, and at whatever size, two at most are said, and each fits its line. */
static void test_any_keys(void **state)
{
    (void)state;
    struct stage stage;
    struct dice dice = {11};
    stage_init_coached(&stage, every, 3, 24, 80);
    for (int round = 0; round < 400; round++) {
        struct cb_coach_line lines[CB_COACH_LINES];
        enum cb_action action = (enum cb_action)dice_below(&dice, CB_ACTION_COUNT);
        action = action == CB_ACTION_QUIT || round % 2 ? CB_ACTION_COAT_ON : action;
        stage_do(&stage, action);
        stage_key(&stage, "ESC");
        stage_wait(&stage, (double)dice_below(&dice, 40) / 4);
        stage_size(&stage, 1 + (int)dice_below(&dice, 130), 1 + (int)dice_below(&dice, 45));
        const size_t count = lines_now(&stage, lines);
        assert_true(count <= 2);
        for (size_t i = 0; i < count; i++) {
            assert_true(strlen(lines[i].text) <= 48);
            assert_false(cb_bench_muted(stage_bench(&stage), lines[i].cue->id));
        }
    }
    stage_fini(&stage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_technique),
        cmocka_unit_test(test_sample_evening),
        cmocka_unit_test(test_pool_check),
        cmocka_unit_test(test_pool_check_of_a_count),
        cmocka_unit_test(test_popup),
        cmocka_unit_test(test_no_popup_when_off),
        cmocka_unit_test(test_mute),
        cmocka_unit_test(what_is_due_stands_on_a_full_screen),
        cmocka_unit_test(a_palette_grows_old_by_its_own_paint),
        cmocka_unit_test(test_mute_where_none_stands),
        cmocka_unit_test(test_spraying_in_damp_air),
        cmocka_unit_test(test_none_beside_a_caution),
        cmocka_unit_test(test_from_the_log_alone),
        cmocka_unit_test(test_any_keys),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
