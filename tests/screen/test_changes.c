/* SPDX-License-Identifier: MIT */
/* The recipe changed in the middle of an evening: what is shown before it is taken, what one press
 * writes, and that one undo takes all of it back. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "support/stage.h"

static const char wall[] =
    "coatbell: 1\n"
    "name: sample\n"
    "figures: 10\n"
    "paints:\n"
    "  mud: {name: Harbour mud, kind: acrylic, dry: 20}\n"
    "  green: {name: Oilskin green, kind: acrylic, dry: 20}\n"
    "stages:\n"
    "  - {name: Oilskins, technique: basecoat, paint: green, coats: 2, minutes: 4}\n"
    "  - {name: Rope, technique: basecoat, paint: mud, minutes: 4}\n";

static const struct cb_unit *unit_of(struct stage *stage)
{
    return cb_bench_unit(stage_bench(stage), 0);
}

/* The file is edited, one word for another, and read again. */
static void edit(struct stage *stage, const char *from, const char *to)
{
    const char *text = stage->recipe.text, *at = strstr(text, from);
    assert_non_null(at);
    stage->recipe.text =
        cb_arena_printf(&stage->arena, "%.*s%s%s", (int)(at - text), text, to, at + strlen(from));
    cb_rehearse_offer(stage->rehearse, &stage->recipe, 1);
    stage_key(stage, "R");
}

/* The events of the last press. */
static size_t pressed(struct stage *stage, enum cb_event_kind kind)
{
    size_t count, found = 0;
    const struct cb_event *const *events = cb_bench_events(stage_bench(stage), &count);
    for (size_t i = count;
         i-- > 0 && events[i]->press && strcmp(events[i]->press, events[count - 1]->press) == 0;) {
        found += events[i]->kind == kind;
    }
    return found;
}

static void shown_before_it_is_taken(void **state)
{
    struct stage stage;
    (void)state;
    stage_init_text(&stage, wall, 10, 24, 80, CB_PING_OFF);
    stage_key(&stage, "SPACE");
    const int stores = stage.stores;
    edit(&stage, "coats: 2", "coats: 3");
    assert_true(stage_shows(&stage, "Oilskins: 3 coats instead of 2"));
    assert_true(stage_shows(&stage, "What differs  sample.yaml"));
    stage_key(&stage, "ESC");
    assert_true(stage_shows(&stage, "the recipe stays as it was"));
    assert_int_equal(stage.stores, stores);
    assert_int_equal(unit_of(&stage)->recipe->stages[0].coats, 2);
    stage_key(&stage, "R");
    stage_key(&stage, "ENTER");
    assert_true(stage_shows(&stage, "Oilskins: 3 coats instead of 2; BKSP takes it back"));
    assert_int_equal(stage.stores, stores + 1);
    assert_int_equal(unit_of(&stage)->recipe->stages[0].coats, 3);
    assert_non_null(cb_bench_film(unit_of(&stage), 1, 1, 1));
    stage_key(&stage, "BACKSPACE");
    assert_int_equal(unit_of(&stage)->recipe->stages[0].coats, 2);
    stage_key(&stage, "r");
    assert_int_equal(unit_of(&stage)->recipe->stages[0].coats, 3);
    stage_key(&stage, "R");
    assert_true(stage_shows(&stage, "the recipe is as it was: sample.yaml"));
    stage_fini(&stage);
}

/* A file that says nothing of a recipe is named as such, with its first fault. */
static void what_is_no_recipe(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, wall, 10, 24, 80, CB_PING_OFF);
    struct cb_app_recipe other = {.path = "milk.yaml", .name = "milk.yaml"};
    other.fault = "milk.yaml:1:1: a recipe is a map";
    cb_rehearse_offer(stage.rehearse, &other, 1);
    stage_key(&stage, "R");
    assert_true(stage_shows(&stage, "that is no recipe: milk.yaml:1:1: a recipe is a map"));
    other.ours = true; /* broken, and another's: which one is not known */
    stage_key(&stage, "R");
    assert_true(stage_shows(&stage, "no recipe file of that name is found: sample"));
    cb_rehearse_offer(stage.rehearse, NULL, 0);
    stage_key(&stage, "R");
    assert_true(stage_shows(&stage, "no recipe file of that name is found: sample"));
    stage_fini(&stage);
}

/* What a stage that is left out had on stays in the log, and is there again after an undo. */
static void coats_of_a_stage_left_out(void **state)
{
    struct stage stage;
    (void)state;
    stage_init_text(&stage, wall, 10, 24, 80, CB_PING_OFF);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 4);
    stage_key(&stage, "SPACE");
    edit(&stage, "  - {name: Oilskins, technique: basecoat, paint: green, coats: 2, minutes: 4}\n",
         "");
    assert_true(stage_shows(&stage, "left out: Oilskins; its 2 coats stay in the log"));
    stage_key(&stage, "ENTER");
    assert_int_equal(unit_of(&stage)->film_count, 2);
    assert_int_equal(unit_of(&stage)->films[0].stage, 0);
    stage_key(&stage, "BACKSPACE");
    assert_non_null(cb_bench_film(unit_of(&stage), 2, 1, 1));
    stage_fini(&stage);
}

static void figures_join_and_are_parked(void **state)
{
    struct stage stage;
    (void)state;
    stage_init_text(&stage, wall, 10, 24, 80, CB_PING_OFF);
    edit(&stage, "figures: 10", "figures: 12");
    assert_true(stage_shows(&stage, "figures: 12 instead of 10: 11 and 12 join"));
    stage_key(&stage, "ENTER");
    assert_int_equal(unit_of(&stage)->figures, 12);
    assert_int_equal(pressed(&stage, CB_EVENT_FIGURE_JOINED), 2);
    assert_int_equal(pressed(&stage, CB_EVENT_RECIPE_CHANGED), 1);
    stage_key(&stage, "BACKSPACE");
    assert_int_equal(unit_of(&stage)->figures, 10);
    assert_int_equal(unit_of(&stage)->recipe->figures, 10);
    edit(&stage, "figures: 12", "figures: 9");
    assert_true(stage_shows(&stage, "figures: 9 instead of 10: 10 is parked"));
    stage_key(&stage, "ENTER");
    assert_int_equal(pressed(&stage, CB_EVENT_FIGURE_PARKED), 1);
    assert_true(unit_of(&stage)->figure[10].parked);
    assert_false(unit_of(&stage)->figure[9].parked);
    edit(&stage, "figures: 9", "figures: 11");
    assert_true(stage_shows(&stage, "figures: 11 instead of 9: 11 joins, 10 comes back"));
    stage_key(&stage, "ENTER");
    assert_false(unit_of(&stage)->figure[10].parked);
    assert_int_equal(unit_of(&stage)->figures, 11);
    stage_fini(&stage);
}

/* A figure that was parked by hand stays so, whatever the file says of how many there are. */
static void a_broken_figure_stays_parked(void **state)
{
    struct stage stage;
    (void)state;
    stage_init_text(&stage, wall, 10, 24, 80, CB_PING_OFF);
    edit(&stage, "figures: 10\n", "");
    stage_key(&stage, "ENTER");
    stage_key(&stage, "k");
    assert_true(unit_of(&stage)->figure[1].parked);
    edit(&stage, "name: sample\n", "name: sample\nfigures: 11\n");
    assert_true(stage_shows(&stage, "figures: 11: 11 joins"));
    stage_key(&stage, "ENTER");
    assert_true(unit_of(&stage)->figure[1].parked);
    edit(&stage, "figures: 11", "figures: 12");
    stage_key(&stage, "ENTER");
    assert_true(unit_of(&stage)->figure[1].parked);
    assert_int_equal(unit_of(&stage)->figures, 12);
    stage_fini(&stage);
}

/* The unit has as many as it was begun with until `figures` is another in the file. */
static void figures_as_begun_stay(void **state)
{
    struct stage stage;
    (void)state;
    stage_init_text(&stage, wall, 8, 24, 80, CB_PING_OFF);
    edit(&stage, "coats: 2", "coats: 3");
    stage_key(&stage, "ENTER");
    assert_int_equal(unit_of(&stage)->figures, 8);
    edit(&stage, "figures: 10", "figures: 8");
    assert_true(stage_shows(&stage, "figures: 8 instead of 10"));
    assert_false(stage_shows(&stage, "parked"));
    stage_key(&stage, "ENTER");
    assert_int_equal(pressed(&stage, CB_EVENT_FIGURE_PARKED), 0);
    assert_int_equal(unit_of(&stage)->figures, 8);
    stage_fini(&stage);
}

/* What differs in comments alone is said to be so, and taken all the same. */
static void only_the_writing_differs(void **state)
{
    struct stage stage;
    (void)state;
    stage_init_text(&stage, wall, 10, 24, 80, CB_PING_OFF);
    edit(&stage, "figures: 10", "figures: 10 # lamplighters");
    assert_true(stage_shows(&stage, "no stage differs: only how it is written"));
    stage_key(&stage, "ENTER");
    assert_true(stage_shows(&stage, "the recipe is written in another way; BKSP takes it back"));
    assert_non_null(strstr(unit_of(&stage)->recipe->text, "# lamplighters"));
    stage_fini(&stage);
}

/* What was shown was of the unit that was in front. */
static void another_unit_comes_to_the_front(void **state)
{
    struct stage stage;
    struct cb_err err = {0};
    (void)state;
    stage_init_text(&stage, wall, 10, 24, 80, CB_PING_OFF);
    edit(&stage, "coats: 2", "coats: 3");
    const int stores = stage.stores;
    assert_true(stage_shows(&stage, "What differs"));
    stage_wait(&stage, 1);
    assert_true(stage_shows(&stage, "What differs"));
    assert_int_equal(cb_rehearse_begin(stage.rehearse, "Other", 2, wall, &err), CB_OK);
    assert_int_equal(cb_bench_front(stage_bench(&stage)), 1);
    assert_false(stage_shows(&stage, "What differs"));
    stage_key(&stage, "ENTER");
    assert_int_equal(stage.stores, stores);
    stage_fini(&stage);
}

/* Keys that mark coats do nothing while it is shown. */
static void no_coat_is_marked_there(void **state)
{
    struct stage stage;
    (void)state;
    stage_init_text(&stage, wall, 10, 24, 80, CB_PING_OFF);
    edit(&stage, "coats: 2", "coats: 3");
    stage_key(&stage, "SPACE");
    stage_key(&stage, "BACKSPACE");
    stage_key(&stage, "3");
    stage_key(&stage, "ENTER");
    assert_int_equal(stage_events(&stage, CB_EVENT_COAT_ON), 0);
    assert_int_equal(stage_events(&stage, CB_EVENT_RECIPE_CHANGED), 0);
    assert_true(stage_shows(&stage, "3 before ENTER means nothing"));
    stage_fini(&stage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(shown_before_it_is_taken),
        cmocka_unit_test(what_is_no_recipe),
        cmocka_unit_test(coats_of_a_stage_left_out),
        cmocka_unit_test(figures_join_and_are_parked),
        cmocka_unit_test(a_broken_figure_stays_parked),
        cmocka_unit_test(figures_as_begun_stay),
        cmocka_unit_test(only_the_writing_differs),
        cmocka_unit_test(another_unit_comes_to_the_front),
        cmocka_unit_test(no_coat_is_marked_there),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
