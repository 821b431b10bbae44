/* SPDX-License-Identifier: MIT */
/* A stage in one typed line: without a recipe, and in the middle of one. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "core/bench/bench.h"
#include "support/stage.h"

static const char small[] = "{coatbell: 1, name: sample, paints: {green: {name: Oilskin green}, "
                            "rope: {name: Tarred rope}}, areas: {oilskin: {}, rope: {}}, stages: "
                            "[{name: Oilskins, technique: basecoat, paint: green, on: oilskin}, "
                            "{name: Ropes, technique: basecoat, paint: rope, on: rope}]}";

static const struct cb_unit *front(struct stage *stage)
{
    const int unit = cb_bench_front(stage_bench(stage));
    return unit < 0 ? NULL : cb_bench_unit(stage_bench(stage), (size_t)unit);
}

/* "Oilskins, Ropes" */
static const char *stages(struct stage *stage)
{
    const struct cb_recipe *recipe = front(stage)->recipe;
    const char *all = "";
    for (size_t i = 0; i < recipe->stage_count; i++) {
        all = cb_arena_printf(&stage->arena, "%s%s%s", all, i > 0 ? ", " : "",
                              recipe->stages[i].name);
    }
    return all;
}

static void type_stage(struct stage *stage, const char *line)
{
    stage_key(stage, "i");
    stage_type(stage, line);
    stage_key(stage, "ENTER");
}

/* The stage in hand wants a coat more: what is typed is for later. Gone to by hand, it says for
 * what it waits, once and in its place: no line of its own hides what a key answers or asks. */
static void the_stage_in_hand_stays_in_front(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, small, 0, 24, 80, CB_PING_OFF);
    type_stage(&stage, "oilskin green basecoat oilskin x2");
    stage_key(&stage, "SPACE");
    type_stage(&stage, "tarred rope wash oilskin");
    assert_true(stage_shows(&stage, "stage 2 is now"));
    stage_key(&stage, "ESC");
    stage_wait(&stage, 1);
    assert_false(stage_shows(&stage, "SPACE when Tarred rope"));
    stage_key(&stage, "UP");
    for (int i = 0; i < 4 && !stage_shows(&stage, "SPACE when Tarred rope"); i++) {
        stage_key(&stage, "UP");
    }
    assert_true(stage_shows(&stage, "though coat 2 of Oilskin green is not on"));
    stage_wait(&stage, .1);
    assert_false(stage_shows(&stage, "waits after all"));
    stage_key(&stage, "z");
    stage_wait(&stage, .1);
    assert_true(stage_shows(&stage, "z does nothing"));
    stage_key(&stage, "f");
    for (int i = 0; i < 20; i++) {
        stage_wait(&stage, .5);
        assert_true(stage_shows(&stage, "2 coats still to do: f again calls it done"));
    }
    stage_key(&stage, "F2");
    stage_wait(&stage, .1);
    assert_false(stage_shows(&stage, "waits after all"));
    stage_key(&stage, "F1");
    stage_key(&stage, "SPACE");
    assert_true(stage_shows(&stage, "on 1, though coat 2 of Oilskin green is not on; BKSP"));
    stage_fini(&stage);
}

static void nothing_was_ever_begun(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, small, 0, 24, 80, CB_PING_OFF);
    assert_true(stage_shows(&stage, " \u25B8 paint now, the recipe writes itself  i"));
    stage_key(&stage, "ENTER");
    assert_true(stage_shows(&stage, "such as oilskin green basecoat oilskin 2:1 x2"));
    assert_true(stage_shows(&stage, "PAINT TECHNIQUE [AREA ...] [N:M] [xN] [by TOOL]"));
    stage_key(&stage, "ESC");
    assert_true(stage_shows(&stage, "BEGIN NEW"));
    stage_key(&stage, "i");
    stage_type(&stage, "oilskin green basecoat");
    assert_true(stage_shows(&stage, " Oilskin green, acrylic, basecoat all over, 2 paint + 1 "
                                    "water, by brush"));
    stage_key(&stage, "ENTER");
    /* no question stands before it: the room is assumed, and asked for beside the first coat */
    assert_true(stage_shows(&stage, "SPACE when Oilskin green is on figure 1"));
    assert_true(stage_shows(&stage, "the room? c, then 19.5 62 (20C 50% assumed)"));
    assert_true(stage_shows(&stage, "begun: 5 January, one figure; i types the next stage"));
    assert_false(cb_bench_facts(stage_bench(&stage)).first_question_answered);
    assert_string_equal(front(&stage)->name, "5 January");
    assert_int_equal(front(&stage)->figures, 1);
    stage_key(&stage, "SPACE");
    assert_int_equal(front(&stage)->film_count, 1);
    /* with every coat on the line says how it goes on */
    assert_true(stage_shows(
        &stage, "every coat is on; i types a stage, e brings more figures, f finishes"));
    stage_size(&stage, 50, 15);
    assert_true(stage_shows(&stage, "every coat is on; i stage, e figures, f finishes"));
    stage_size(&stage, 80, 24);
    stage_key(&stage, "e");
    assert_true(stage_shows(&stage, "figures     1"));
    stage_key(&stage, "ESC");
    stage_key(&stage, "u");
    stage_key(&stage, "u"); /* the whole unit, on a second press */
    stage_key(&stage, "u");
    assert_null(front(&stage));
    stage_fini(&stage);
}

/* Another one on that day has a name of its own, and one begun from the chooser leaves the unit in
 * front as it is. */
static void twice_on_a_day(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, small, 2, 24, 80, CB_PING_OFF);
    stage_key(&stage, "o");
    type_stage(&stage, "red layer");
    assert_string_equal(front(&stage)->name, "5 January");
    stage_key(&stage, "o");
    stage_key(&stage, "UP");
    stage_key(&stage, "UP"); /* the recipe, then the row for it */
    stage_key(&stage, "ENTER");
    assert_true(stage_shows(&stage, "Paint now"));
    stage_type(&stage, "oil");
    assert_true(stage_shows(&stage, "\u25B8Oilskin green")); /* a word of another unit */
    stage_key(&stage, "TAB");
    stage_type(&stage, "wash");
    stage_key(&stage, "ENTER");
    assert_string_equal(front(&stage)->name, "5 January, 2");
    assert_int_equal(cb_bench_unit(stage_bench(&stage), 0)->recipe->stage_count, 2);
    stage_fini(&stage);
}

/* It comes after the stage painted last, and is what SPACE is about at once. */
static void in_the_middle_of_a_recipe(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, small, 2, 24, 80, CB_PING_OFF);
    stage_key(&stage, "SPACE");
    stage_key(&stage, "i");
    assert_true(stage_shows(&stage, "New stage"));
    stage_type(&stage, "tar");
    stage_key(&stage, "TAB");
    stage_type(&stage, "wash ro");
    stage_key(&stage, "TAB");
    stage_type(&stage, "1:4");
    assert_true(
        stage_shows(&stage, "Tarred rope, acrylic, wash on rope, 1 paint + 4 water, by brush"));
    stage_key(&stage, "ENTER");
    assert_string_equal(stages(&stage), "Oilskins, Tarred rope wash, Ropes");
    assert_true(stage_shows(&stage, "stage 2 is now Tarred rope wash; BKSP takes it back"));
    assert_true(stage_shows(&stage, "SPACE when Tarred rope is on figure 1"));
    assert_true(stage_shows(&stage, "stage 2 of 3, Tarred rope wash"));
    stage_key(&stage, "SPACE");
    const struct cb_film *film = &front(&stage)->films[front(&stage)->film_count - 1];
    assert_int_equal(film->stage, 2);
    assert_int_equal(film->technique, CB_TECHNIQUE_WASH);
    /* the coat first, then the stage, by name */
    stage_key(&stage, "u");
    assert_true(stage_shows(&stage, "taken back: Tarred rope on 1"));
    assert_string_equal(stages(&stage), "Oilskins, Tarred rope wash, Ropes");
    stage_key(&stage, "u");
    assert_string_equal(stages(&stage), "Oilskins, Ropes");
    assert_true(stage_shows(&stage, "taken back: new: Tarred rope wash after Oilskins; r "));
    assert_int_equal(front(&stage)->film_count, 1);
    stage_key(&stage, "r");
    assert_string_equal(stages(&stage), "Oilskins, Tarred rope wash, Ropes");
    stage_fini(&stage);
}

/* Lines in a row stand in the order they were typed, and the offer waits for the first of them. */
static void a_plan_before_the_brush(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, small, 0, 24, 80, CB_PING_OFF);
    type_stage(&stage, "grey undercoat");
    type_stage(&stage, "green basecoat oilskin x2");
    type_stage(&stage, "green basecoat rope");
    type_stage(&stage, "mask rope");
    assert_string_equal(stages(&stage), "Grey undercoat, Green basecoat, Green basecoat 2, Mask");
    assert_true(stage_shows(&stage, "SPACE when Grey is on figure 1"));
    stage_key(&stage, "SPACE");
    type_stage(&stage, "blue layer cloak");
    assert_string_equal(stages(&stage), "Grey undercoat, Blue layer, Green basecoat, "
                                        "Green basecoat 2, Mask");
    assert_true(stage_shows(&stage, "SPACE when Blue is on figure 1"));
    stage_fini(&stage);
}

/* ENTER on what is not understood says why and writes nothing; the line stays to be mended. */
static void what_is_not_understood(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, small, 1, 15, 50, CB_PING_OFF);
    const int before = stage.stores;
    type_stage(&stage, "green basecaot rope");
    assert_true(stage_shows(&stage, "New stage green basecaot rope"));
    assert_true(stage_shows(&stage, "not taken yet; basecaot: did you mean basecoat?"));
    assert_true(stage_shows(&stage, " TAB: basecoat   ESC leaves"));
    stage_key(&stage, "TAB");
    assert_true(stage_shows(&stage, "New stage green basecoat rope"));
    assert_true(stage_shows(&stage, " ENTER takes it   Ctrl-U clears   ESC leaves"));
    stage_key(&stage, "CTRL-U");
    stage_type(&stage, "green");
    assert_false(stage_shows(&stage, "ENTER"));
    stage_key(&stage, "ENTER");
    assert_true(stage_shows(&stage, "not taken yet; then the technique: undercoat,"));
    stage_key(&stage, "CTRL-U");
    stage_key(&stage, "ENTER"); /* nothing typed: it leaves */
    assert_false(stage_shows(&stage, "New stage"));
    assert_int_equal(stage.stores, before);
    stage_key(&stage, "i");
    for (int i = 0; i < 300; i++) {
        stage_type(&stage, "x");
    }
    assert_true(stage_shows(&stage, "the line is full"));
    stage_fini(&stage);
}

/* A new name that is nearly a known one: each key says what it answers. */
static void a_question_stands(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, small, 1, 15, 50, CB_PING_OFF);
    stage_key(&stage, "i");
    assert_false(stage_shows(&stage, "ENTER"));
    stage_type(&stage, "oilskn green");
    assert_true(stage_shows(&stage, "then the technique: undercoat, basecoat,"));
    stage_type(&stage, " layer rope 1:2");
    assert_true(stage_shows(&stage, "oilskn green is new,"));
    assert_true(stage_shows(&stage, " ENTER: no, it is new   TAB: Oilskin green"));
    stage_key(&stage, "TAB");
    assert_true(stage_shows(&stage, "New stage Oilskin green layer rope 1:2"));
    assert_true(stage_shows(&stage, " ENTER takes it "));
    stage_key(&stage, "CTRL-U");
    stage_type(&stage, "oilskn green layer rope");
    stage_key(&stage, "ENTER");
    assert_string_equal(front(&stage)->recipe->stages[0].name, "Oilskn green layer");
    stage_fini(&stage);
}

static void paste(struct stage *stage, const char *text)
{
    cb_rehearse_feed(stage->rehearse, (struct cb_input){.kind = CB_INPUT_TEXT, .text = text});
}

/* Several lines are no stage of all their words. */
static void lines_are_pasted(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, small, 1, 24, 80, CB_PING_OFF);
    stage_key(&stage, "i");
    paste(&stage, "\nred layer\trope\r\nblue layer hem\nebb wash");
    assert_true(stage_shows(&stage, "New stage red layer rope"));
    assert_false(stage_shows(&stage, "blue"));
    assert_true(stage_shows(&stage, " only the first line was taken"));
    stage_type(&stage, ",");
    assert_false(stage_shows(&stage, "only the first line"));
    stage_key(&stage, "CTRL-U");
    paste(&stage, "red layer rope\n \n");
    assert_true(stage_shows(&stage, " Red, acrylic, layer on rope"));
    stage_fini(&stage);
}

/* TAB takes the word marked, the arrows mark another. */
static void words_are_completed(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, small, 1, 24, 80, CB_PING_OFF);
    stage_key(&stage, "i");
    assert_true(stage_shows(&stage, " \u25B8Oilskin green   Tarred rope"));
    stage_key(&stage, "DOWN");
    assert_true(stage_shows(&stage, "  Oilskin green  \u25B8Tarred rope"));
    stage_key(&stage, "DOWN");
    stage_key(&stage, "UP");
    stage_key(&stage, "TAB");
    assert_true(stage_shows(&stage, "New stage Tarred rope"));
    stage_type(&stage, "edge");
    stage_key(&stage, "TAB");
    stage_key(&stage, "RIGHT");
    stage_key(&stage, "TAB");
    assert_true(stage_shows(&stage, "New stage Tarred rope edge highlight rope"));
    stage_type(&stage, "by s");
    stage_key(&stage, "TAB");
    assert_true(stage_shows(&stage, "Tarred rope, acrylic, edge highlight on rope, 3 paint + 1 "
                                    "water, by sponge"));
    stage_key(&stage, "TAB"); /* the areas that are not there yet */
    assert_true(stage_shows(&stage, "New stage Tarred rope edge highlight rope by sponge "
                                    "oilskin"));
    stage_fini(&stage);
}

/* The paints of units that were finished long ago are known too, with their kinds. */
static void what_finished_units_used(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, small, 0, 24, 80, CB_PING_OFF);
    const struct cb_pot_stage pots[] = {
        {.paint = "Kelp ink", .kind = "ink", .pot = "kelp ink\nink"},
        {.paint = "Gone", .kind = "a kind no more", .pot = "gone\nno more"},
    };
    const struct cb_lesson lesson = {
        .stages = pots, .stage_count = 2, .sum = {.unit = "before", .name = "", .recipe = ""}};
    struct cb_taught taught;
    cb_taught_begin(&taught);
    cb_taught_add(&taught, &lesson);
    while (cb_taught_step(&taught)) {
    }
    cb_rehearse_feed(stage.rehearse,
                     (struct cb_input){.kind = CB_INPUT_HISTORY, .taught = &taught});
    cb_taught_fini(&taught);
    stage_key(&stage, "i");
    assert_true(stage_shows(&stage, " \u25B8Kelp ink"));
    assert_false(stage_shows(&stage, "Gone"));
    stage_key(&stage, "TAB");
    stage_type(&stage, "glaze");
    assert_true(stage_shows(&stage, "Kelp ink, ink, glaze all over, 1 paint + 3 medium, by brush"));
    stage_fini(&stage);
}

/* Where `after` of another would make a ring of it, it comes last. */
static void never_a_ring(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage,
                    "{coatbell: 1, name: sample, paints: {a: {}}, areas: {x: {}, y: {}}, stages: "
                    "[{name: One, technique: layer, paint: a, on: x, after: [Two]}, "
                    "{name: Two, technique: layer, paint: a, on: y}]}",
                    1, 24, 80, CB_PING_OFF);
    stage_key(&stage, "SPACE"); /* Two */
    stage_key(&stage, "SPACE"); /* One */
    type_stage(&stage, "a glaze whole");
    assert_string_equal(stages(&stage), "One, Two, a glaze");
    stage_fini(&stage);
}

static void a_viewer_types_no_stage(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, small, 1, 24, 80, CB_PING_OFF);
    cb_rehearse_feed(stage.rehearse, (struct cb_input){.kind = CB_INPUT_ROLE, .writer = false});
    stage_key(&stage, "i");
    assert_false(stage_shows(&stage, "New stage"));
    assert_true(stage_shows(&stage, "looking on: another bench writes this log"));
    stage_fini(&stage);
    stage_init_text(&stage, small, 1, 24, 80, CB_PING_OFF);
    const int stores = stage.stores; /* nor on a line that stood open before */
    stage_key(&stage, "i");
    stage_type(&stage, "prepare");
    cb_rehearse_feed(stage.rehearse, (struct cb_input){.kind = CB_INPUT_ROLE, .writer = false});
    stage_key(&stage, "ENTER");
    assert_int_equal(stage.stores, stores);
    stage_fini(&stage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_was_ever_begun),
        cmocka_unit_test(the_stage_in_hand_stays_in_front),
        cmocka_unit_test(twice_on_a_day),
        cmocka_unit_test(in_the_middle_of_a_recipe),
        cmocka_unit_test(a_plan_before_the_brush),
        cmocka_unit_test(what_is_not_understood),
        cmocka_unit_test(a_question_stands),
        cmocka_unit_test(lines_are_pasted),
        cmocka_unit_test(words_are_completed),
        cmocka_unit_test(what_finished_units_used),
        cmocka_unit_test(never_a_ring),
        cmocka_unit_test(a_viewer_types_no_stage),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
