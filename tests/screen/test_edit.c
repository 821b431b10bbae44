/* SPDX-License-Identifier: MIT */
/* The stage in hand as a form: what ENTER writes as one press, what it says of it, and what is
 * refused. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "core/bench/pots.h"
#include "core/recipe/revise.h"
#include "support/stage.h"

static const char wall[] =
    "coatbell: 1\n"
    "name: sample\n"
    "figures: 6\n"
    "paints:\n"
    "  mud: {name: Harbour mud, kind: acrylic, dry: 20}\n"
    "  green: {name: Oilskin green, kind: acrylic, dry: 20}\n"
    "  tar: {name: Tarred rope, kind: acrylic, dry: 20}\n"
    "areas: {oilskin: {}, rope: {}, boots: {}}\n"
    "stages:\n"
    "  - {name: Oilskins, technique: basecoat, paint: green, on: oilskin, coats: 2, minutes: 4}\n"
    "  - {name: Rope, technique: basecoat, paint: mud, on: rope, minutes: 4}\n"
    "  - {name: Boots, technique: basecoat, paint: mud, on: boots, minutes: 4}\n"
    "  - {name: Clean, technique: prepare, after: [Rope]}\n";

static const struct cb_unit *unit_of(struct stage *stage)
{
    return cb_bench_unit(stage_bench(stage), 0);
}

static const struct cb_stage *row(struct stage *stage, const char *name)
{
    const struct cb_recipe *recipe = unit_of(stage)->recipe;
    const int at = cb_recipe_stage(recipe, name);
    assert_true(at >= 0);
    return &recipe->stages[at];
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

static void keys(struct stage *stage, const char *name, int count)
{
    for (int i = 0; i < count; i++) {
        stage_key(stage, name);
    }
}

/* Blanks between a field and what stands in it are taken together. */
static bool shows(struct stage *stage, const char *wanted)
{
    const char *from = stage_text(stage);
    char *text = cb_arena_alloc(&stage->arena, strlen(from) + 1, 1);
    size_t length = 0;
    for (; *from; from++) {
        if (*from != ' ' || (length > 0 && text[length - 1] != ' ')) {
            text[length++] = *from;
        }
    }
    return strstr(text, wanted) != NULL;
}

/* From the first field on: paint, kind, stages (where it is), mix, coats, on, ... */
static void go_to(struct stage *stage, const char *label)
{
    const char *mark = cb_arena_printf(&stage->arena, "\u25B8%s", label);
    for (int i = 0; i < CB_REVISE_FIELDS && !shows(stage, mark); i++) {
        stage_key(stage, "DOWN");
    }
    assert_true(shows(stage, mark));
}

static void a_form_of_the_stage_in_hand(void **state)
{
    struct stage stage;
    (void)state;
    stage_init_text(&stage, wall, 6, 24, 80, CB_PING_OFF);
    const int stores = stage.stores;
    stage_key(&stage, "e");
    assert_true(shows(&stage, "Change Oilskins"));
    assert_true(shows(&stage, "still to mix for 6 figures, 12 coats: "));
    go_to(&stage, "coats");
    stage_type(&stage, "3"); /* takes the place of what stood there */
    assert_true(shows(&stage, "coats 3"));
    assert_true(shows(&stage, "6 figures, 18 coats"));
    stage_key(&stage, "ENTER");
    assert_true(shows(&stage, "Oilskins: 3 coats instead of 2; BKSP takes it back"));
    assert_int_equal(stage.stores, stores + 1);
    assert_int_equal(pressed(&stage, CB_EVENT_RECIPE_CHANGED), 1);
    assert_int_equal(row(&stage, "Oilskins")->coats, 3);
    stage_key(&stage, "BACKSPACE");
    assert_int_equal(row(&stage, "Oilskins")->coats, 2);
    stage_key(&stage, "r");
    assert_int_equal(row(&stage, "Oilskins")->coats, 3);
    stage_key(&stage, "R"); /* the file does not have it */
    assert_true(shows(&stage, "Oilskins: 2 coats instead of 3"));
    stage_fini(&stage);
}

/* Whatever stands in a field that was come to, turned or refused gives way to the first sign. */
static void what_is_typed_takes_the_place(void **state)
{
    struct stage stage;
    (void)state;
    stage_init_text(&stage, wall, 6, 24, 80, CB_PING_OFF);
    stage_key(&stage, "e");
    go_to(&stage, "mix");
    stage_type(&stage, "3:0");
    stage_key(&stage, "ENTER");
    stage_type(&stage, "2:1");
    assert_true(shows(&stage, "mix 2:1"));
    go_to(&stage, "kind");
    stage_key(&stage, "RIGHT");
    stage_type(&stage, "oil");
    assert_true(shows(&stage, "kind oil"));
    stage_key(&stage, "DOWN");
    stage_key(&stage, "UP");
    stage_type(&stage, "was");
    assert_true(shows(&stage, "kind was"));
    stage_key(&stage, "DOWN");
    stage_key(&stage, "UP");
    stage_key(&stage, "BACKSPACE");
    stage_type(&stage, "sh"); /* mends what stood there */
    assert_true(shows(&stage, "kind wash"));
    stage_fini(&stage);
}

/* What holds where no minutes are said stands there in grey. */
static void the_usual_minutes_in_grey(void **state)
{
    struct stage stage;
    (void)state;
    stage_init_text(&stage, wall, 6, 24, 80, CB_PING_OFF);
    stage_key(&stage, "e");
    go_to(&stage, "minutes");
    stage_key(&stage, "CTRL-U");
    stage_key(&stage, "UP");
    const double usual = stage.kinds->techniques[CB_TECHNIQUE_BASECOAT].minutes;
    assert_true(shows(&stage, cb_arena_printf(&stage.arena, "minutes %g", usual)));
    stage_fini(&stage);
}

static void nothing_typed_writes_nothing(void **state)
{
    struct stage stage;
    (void)state;
    stage_init_text(&stage, wall, 6, 24, 80, CB_PING_OFF);
    const int stores = stage.stores;
    stage_key(&stage, "e");
    keys(&stage, "ENTER", 30); /* goes round */
    assert_true(shows(&stage, "Change Oilskins"));
    go_to(&stage, "coats");
    stage_type(&stage, "3");
    stage_key(&stage, "ESC");
    assert_true(shows(&stage, "Bench"));
    stage_key(&stage, "e");
    go_to(&stage, "coats");
    stage_type(&stage, "4");
    stage_key(&stage, "BACKSPACE");
    stage_type(&stage, "2"); /* as it was */
    stage_key(&stage, "ENTER");
    stage_key(&stage, "ESC");
    assert_int_equal(stage.stores, stores);
    assert_int_equal(row(&stage, "Oilskins")->coats, 2);
    stage_fini(&stage);
}

/* A paint that stands for nothing else is swapped: it teaches its own pot from then on. */
static void a_swapped_paint_teaches_its_own_pot(void **state)
{
    struct stage stage;
    size_t rows, lines;
    (void)state;
    stage_init_text(&stage, wall, 2, 24, 80, CB_PING_OFF);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 30);
    stage_key(&stage, "d");
    stage_key(&stage, "RIGHT"); /* the next figure */
    stage_key(&stage, "e");
    stage_type(&stage, "Kelp");
    stage_size(&stage, 130, 40);
    stage_key(&stage, "ENTER");
    assert_true(shows(&stage,
                      "green: Kelp instead of Oilskin green, dry after what is usual instead "
                      "of 20 min, from here on"));
    stage_size(&stage, 80, 24);
    assert_int_equal(pressed(&stage, CB_EVENT_SWAPPED), 1);
    assert_int_equal(pressed(&stage, CB_EVENT_RECIPE_CHANGED), 0);
    stage_key(&stage, "u");
    assert_true(shows(&stage, "taken back: Kelp instead of Oilskin green; r redoes it"));
    stage_key(&stage, "r");
    stage_go(&stage, 1);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 8);
    stage_key(&stage, "d");
    assert_true(shows(&stage, "ready Oilskin green 1 of 2 dry")); /* in the table, each its own */
    assert_true(shows(&stage, "ready Kelp 1 of 2 dry"));
    assert_string_equal(unit_of(&stage)->films[0].paint, "Oilskin green");
    assert_string_equal(unit_of(&stage)->films[1].paint, "Kelp");
    const struct cb_row *list = cb_bench_rows(stage_bench(&stage), &rows);
    const struct cb_pot_line *pots =
        cb_pots_list(stage_bench(&stage), cb_app_learn(cb_rehearse_app(stage.rehearse)), list, rows,
                     .8, &stage.arena, &lines);
    assert_int_equal(rows, 2);
    size_t seen = 0;
    for (size_t i = 0; i < lines; i++) {
        if (strcmp(pots[i].paint, "Kelp") == 0 || strcmp(pots[i].paint, "Oilskin green") == 0) {
            assert_int_equal(pots[i].films, 1);
            seen++;
        }
    }
    assert_int_equal(seen, 2);
    stage_fini(&stage);
}

/* A paint that other stages have too is another one here alone, unless all is said. */
static void another_paint_here_or_everywhere(void **state)
{
    struct stage stage;
    (void)state;
    stage_init_text(&stage, wall, 6, 24, 80, CB_PING_OFF);
    stage_key(&stage, "DOWN");
    stage_key(&stage, "e");
    assert_true(shows(&stage, "Change Rope"));
    stage_type(&stage, "Kelp rope");
    stage_key(&stage, "ENTER");
    assert_true(shows(&stage, "Rope: Kelp rope instead of Harbour mud; BKSP takes it back"));
    assert_int_equal(pressed(&stage, CB_EVENT_RECIPE_CHANGED), 1);
    assert_string_equal(cb_bench_stage_paint(unit_of(&stage), 2), "Kelp rope");
    assert_string_equal(cb_bench_stage_paint(unit_of(&stage), 3), "Harbour mud");
    stage_key(&stage, "BACKSPACE");
    stage_key(&stage, "DOWN");
    stage_key(&stage, "e");
    stage_type(&stage, "Kelp rope");
    go_to(&stage, "stages");
    assert_true(shows(&stage, "another paint here alone; RIGHT, all: for Boots too"));
    stage_key(&stage, "RIGHT");
    stage_key(&stage, "ENTER");
    assert_int_equal(pressed(&stage, CB_EVENT_SWAPPED), 1);
    assert_string_equal(cb_bench_stage_paint(unit_of(&stage), 2), "Kelp rope");
    assert_string_equal(cb_bench_stage_paint(unit_of(&stage), 3), "Kelp rope");
    /* what is swapped is what the form shows, and stays so when something else is changed */
    stage_key(&stage, "e");
    assert_true(shows(&stage, "paint Kelp rope"));
    go_to(&stage, "minutes");
    stage_type(&stage, "5");
    stage_key(&stage, "ENTER");
    assert_true(shows(&stage, "Rope: work of 5 min instead of 4 min; BKSP"));
    assert_string_equal(cb_bench_stage_paint(unit_of(&stage), 3), "Kelp rope");
    stage_fini(&stage);
}

/* A swap with something else is a changed recipe, and both are so. */
static void a_swap_and_more(void **state)
{
    struct stage stage;
    (void)state;
    stage_init_text(&stage, wall, 6, 24, 80, CB_PING_OFF);
    stage_key(&stage, "e");
    stage_type(&stage, "Kelp");
    go_to(&stage, "coats");
    stage_type(&stage, "3");
    stage_key(&stage, "ENTER");
    assert_int_equal(pressed(&stage, CB_EVENT_SWAPPED), 0);
    assert_int_equal(pressed(&stage, CB_EVENT_RECIPE_CHANGED), 1);
    assert_true(shows(&stage, "Oilskins: 3 coats instead of 2, and 1 more"));
    assert_string_equal(cb_bench_stage_paint(unit_of(&stage), 1), "Kelp");
    assert_int_equal(row(&stage, "Oilskins")->coats, 3);
    stage_go(&stage, 1);
    stage_key(&stage, "e");
    stage_type(&stage, "Eel grey");
    go_to(&stage, "name of 1");
    stage_type(&stage, "Oake");
    stage_key(&stage, "ENTER");
    assert_int_equal(pressed(&stage, CB_EVENT_SWAPPED), 0);
    assert_string_equal(cb_bench_stage_paint(unit_of(&stage), 1), "Eel grey");
    assert_string_equal(unit_of(&stage)->recipe->names[1], "Oake");
    stage_fini(&stage);
}

/* The form was of another recipe by now: it is closed, and writes nothing. */
static void the_recipe_has_changed_meanwhile(void **state)
{
    struct stage stage;
    (void)state;
    stage_init_text(&stage, wall, 6, 24, 80, CB_PING_OFF);
    stage_key(&stage, "e");
    go_to(&stage, "coats");
    stage_type(&stage, "3");
    stage_key(&stage, "ENTER");
    stage_key(&stage, "e");
    go_to(&stage, "minutes");
    stage_type(&stage, "9");
    stage_do(&stage, CB_ACTION_UNDO);
    const int stores = stage.stores;
    cb_rehearse_show(stage.rehearse, "edit");
    stage_key(&stage, "ENTER");
    assert_true(shows(&stage, "the recipe has changed meanwhile; nothing is done"));
    assert_int_equal(stage.stores, stores);
    assert_int_equal(row(&stage, "Oilskins")->coats, 2);
    stage_fini(&stage);
}

/* A name longer than a line is left as it is by whoever changes something else. */
static void a_long_name_stays(void **state)
{
    struct stage stage;
    char name[301], text[1024];
    (void)state;
    memset(name, 'K', 300);
    name[300] = '\0';
    snprintf(text, sizeof text,
             "coatbell: 1\nname: sample\npaints:\n  a: {name: %s, kind: acrylic}\n"
             "stages:\n  - {name: S, technique: basecoat, paint: a, coats: 2}\n",
             name);
    stage_init_text(&stage, text, 2, 24, 80, CB_PING_OFF);
    stage_key(&stage, "e");
    go_to(&stage, "coats");
    stage_type(&stage, "3");
    stage_key(&stage, "ENTER");
    assert_true(shows(&stage, "S: 3 coats instead of 2; BKSP takes it back"));
    assert_string_equal(cb_bench_stage_paint(unit_of(&stage), 1), name);
    stage_fini(&stage);
}

/* A number before it: so many figures get a stage of their own, with the coats they have. */
static void three_figures(void **state)
{
    struct stage stage;
    (void)state;
    stage_init_text(&stage, wall, 6, 24, 80, CB_PING_OFF);
    for (int i = 0; i < 3; i++) {
        stage_key(&stage, "SPACE");
        stage_wait(&stage, 4);
    }
    stage_key(&stage, "LEFT");
    stage_key(&stage, "LEFT");
    stage_key(&stage, "3");
    stage_key(&stage, "e");
    go_to(&stage, "change on");
    assert_true(shows(&stage, "change on 2 to 4"));
    assert_true(shows(&stage, "still to mix for 3 figures, 4 coats: "));
    go_to(&stage, "paint");
    stage_key(&stage, "LEFT");
    assert_true(shows(&stage, "paint Harbour mud"));
    stage_size(&stage, 120, 40);
    stage_key(&stage, "ENTER");
    assert_true(shows(
        &stage, "Oilskins on 2 to 4: Harbour mud instead of Oilskin green, from here on; BKSP"));
    const struct cb_unit *unit = unit_of(&stage);
    assert_string_equal(unit->recipe->stages[1].name, "Oilskins on 2 to 4");
    assert_non_null(cb_bench_film(unit, 1, 1, 1));
    assert_non_null(cb_bench_film(unit, 3, 2, 1));
    assert_null(cb_bench_film(unit, 3, 1, 1));
    assert_int_equal(cb_bench_coats(unit, 3, 2), 2);
    assert_int_equal(cb_bench_coats(unit, 3, 1), 0);
    assert_int_equal(cb_bench_coats(unit, 5, 1), 2);
    assert_string_equal(cb_bench_film(unit, 3, 2, 1)->paint, "Oilskin green");
    stage_key(&stage, "BACKSPACE");
    assert_non_null(cb_bench_film(unit_of(&stage), 3, 1, 1));
    stage_fini(&stage);
}

/* What is to be mixed is for those that the stage is for, that are not parked and still lack it. */
static void mixed_for_those_to_come(void **state)
{
    static const char pair[] =
        "coatbell: 1\nname: sample\ngroups: {pair: [2, 3]}\n"
        "paints:\n  red: {name: Sash red, kind: acrylic}\n"
        "stages:\n  - {name: Sash, technique: basecoat, paint: red, coats: 2, for: pair}\n"
        "  - {name: Cloak, technique: basecoat, paint: red, coats: 2}\n";
    struct stage stage;
    (void)state;
    stage_init_text(&stage, pair, 9, 24, 80, CB_PING_OFF);
    keys(&stage, "DOWN", 1);
    for (int i = 0; i < 2 && !shows(&stage, "stage 1 of 2, Sash"); i++) {
        stage_key(&stage, "DOWN");
    }
    assert_true(shows(&stage, "for two figures"));
    stage_key(&stage, "DOWN");
    assert_true(shows(&stage, "for nine figures"));
    stage_key(&stage, "e");
    go_to(&stage, "figures");
    stage_type(&stage, "5");
    assert_true(shows(&stage, "still to mix for 5 figures, 10 coats: "));
    stage_key(&stage, "CTRL-U");
    stage_type(&stage, "11");
    assert_true(shows(&stage, "still to mix for 11 figures, 22 coats: "));
    stage_key(&stage, "CTRL-U");
    stage_type(&stage, "5");
    stage_key(&stage, "ENTER");
    keys(&stage, "DOWN", 1);
    for (int i = 0; i < 2 && !shows(&stage, "stage 2 of 2, Cloak"); i++) {
        stage_key(&stage, "DOWN");
    }
    assert_true(shows(&stage, "for five figures"));
    stage_key(&stage, "e");
    go_to(&stage, "figures");
    stage_type(&stage, "7"); /* two come back */
    assert_true(shows(&stage, "still to mix for 7 figures, 14 coats: "));
    stage_fini(&stage);
}

/* All is done, and one joins: it is mixed for that one. */
static void mixed_for_one_that_joins(void **state)
{
    static const char one[] = "coatbell: 1\nname: sample\n"
                              "paints:\n  red: {name: Sash red, kind: acrylic}\n"
                              "stages:\n  - {name: Sash, technique: basecoat, paint: red}\n";
    struct stage stage;
    (void)state;
    stage_init_text(&stage, one, 2, 24, 80, CB_PING_OFF);
    for (int i = 0; i < 2; i++) {
        stage_key(&stage, "SPACE");
        stage_wait(&stage, 5);
    }
    stage_key(&stage, "e");
    assert_false(shows(&stage, "still to mix"));
    go_to(&stage, "figures");
    stage_type(&stage, "3");
    assert_true(shows(&stage, "still to mix for 1 figure: "));
    stage_fini(&stage);
}

/* A recipe for fewer figures than the unit has: what is done is told, not that number. */
static void more_figures_than_the_recipe_says(void **state)
{
    struct stage stage;
    (void)state;
    stage_init_text(&stage, wall, 9, 24, 80, CB_PING_OFF);
    stage_key(&stage, "3");
    stage_key(&stage, "e");
    stage_type(&stage, "Kelp");
    stage_key(&stage, "ENTER");
    assert_true(
        shows(&stage, "Oilskins on 1 to 3: Kelp instead of Oilskin green; BKSP takes it back"));
    stage_fini(&stage);
}

/* What is said of one figure alone makes no stage of its own for it. */
static void a_name_alone_splits_nothing(void **state)
{
    struct stage stage;
    (void)state;
    stage_init_text(&stage, wall, 6, 24, 80, CB_PING_OFF);
    stage_key(&stage, "3");
    stage_key(&stage, "e");
    go_to(&stage, "name of 1");
    stage_type(&stage, "Oake");
    stage_key(&stage, "ENTER");
    assert_true(shows(&stage, "figure 1: Oake instead of no name; BKSP takes it back"));
    assert_int_equal(unit_of(&stage)->recipe->stage_count, 4);
    stage_fini(&stage);
}

/* A stage that is to come is the one shown after it was edited, so that it can be edited again. */
static void it_stays_at_what_was_edited(void **state)
{
    struct stage stage;
    (void)state;
    stage_init_text(&stage, wall, 6, 24, 80, CB_PING_OFF);
    keys(&stage, "DOWN", 1);
    stage_key(&stage, "e");
    assert_true(shows(&stage, "Change Rope"));
    go_to(&stage, "coats");
    stage_type(&stage, "2");
    stage_key(&stage, "ENTER");
    assert_true(shows(&stage, "Bench"));
    assert_true(shows(&stage, "stage 2 of 4, Rope"));
    stage_key(&stage, "3");
    stage_key(&stage, "e");
    assert_true(shows(&stage, "Change Rope"));
    go_to(&stage, "coats");
    stage_type(&stage, "1");
    stage_key(&stage, "ENTER");
    assert_true(shows(&stage, "stage 3 of 5, Rope on 1 to 3"));
    stage_key(&stage, "BACKSPACE");
    stage_key(&stage, "e"); /* whichever is left to be offered */
    assert_true(shows(&stage, "Change "));
    stage_fini(&stage);
}

static const char named[] =
    "coatbell: 1\nname: sample\n"
    "paints:\n  green: {name: Green, kind: acrylic}\n  red: {name: Red, kind: acrylic}\n"
    "areas: {coat: {}, belt: {}}\n"
    "stages:\n  - {name: Green basecoat, technique: basecoat, paint: green, on: coat, coats: 2}\n"
    "  - {name: Red layer, technique: layer, paint: red, on: coat}\n"
    "  - {name: Red basecoat, technique: basecoat, paint: red, on: belt}\n";

/* A stage that is called by its paint is called by the one it has now, and keeps its coats. */
static void the_name_follows_the_paint(void **state)
{
    struct stage stage;
    (void)state;
    stage_init_text(&stage, named, 2, 24, 80, CB_PING_OFF);
    stage_key(&stage, "SPACE");
    stage_key(&stage, "e");
    stage_type(&stage, "Black");
    stage_key(&stage, "ENTER");
    assert_true(shows(&stage, "green: Black instead of Green, from here on, and 1 more; BKSP"));
    assert_true(shows(&stage, "stage 1 of 3, Black basecoat"));
    assert_non_null(cb_bench_film(unit_of(&stage), 1, 1, 1));
    for (int i = 0; i < 3 && !shows(&stage, "stage 3 of 3"); i++) {
        stage_key(&stage, "DOWN");
    }
    stage_key(&stage, "e");
    assert_true(shows(&stage, "Change Red basecoat"));
    stage_type(&stage, "Tan"); /* red stays for the layer */
    go_to(&stage, "coats");
    stage_type(&stage, "3");
    stage_key(&stage, "ENTER");
    assert_true(shows(&stage, "Red basecoat: renamed Tan basecoat, Tan instead of Red, "));
    assert_true(shows(&stage, "stage 3 of 3, Tan basecoat"));
    assert_int_equal(unit_of(&stage)->recipe->stage_count, 3);
    stage_fini(&stage);
}

static void the_order(void **state)
{
    struct stage stage;
    (void)state;
    stage_init_text(&stage, wall, 6, 24, 80, CB_PING_OFF);
    stage_key(&stage, "e");
    go_to(&stage, "order");
    assert_true(shows(&stage, "order first"));
    stage_key(&stage, "RIGHT");
    assert_true(shows(&stage, "order after Rope"));
    stage_key(&stage, "ENTER");
    assert_true(shows(&stage, "Oilskins: now after Rope; BKSP"));
    assert_string_equal(unit_of(&stage)->recipe->stages[1].name, "Oilskins");
    /* what would wait for itself can't be read again */
    stage_key(&stage, "DOWN");
    stage_fini(&stage);
}

static void figures_and_their_names(void **state)
{
    struct stage stage;
    (void)state;
    stage_init_text(&stage, wall, 6, 24, 80, CB_PING_OFF);
    stage_key(&stage, "e");
    go_to(&stage, "figures");
    stage_type(&stage, "8");
    assert_true(shows(&stage, "7 and 8 join"));
    stage_key(&stage, "ENTER");
    assert_true(shows(&stage, "figures: 7 and 8 join; BKSP takes it back"));
    assert_int_equal(unit_of(&stage)->figures, 8);
    assert_int_equal(pressed(&stage, CB_EVENT_FIGURE_JOINED), 2);
    assert_int_equal(pressed(&stage, CB_EVENT_RECIPE_CHANGED), 0);
    stage_key(&stage, "e");
    go_to(&stage, "figures");
    stage_type(&stage, "5");
    assert_true(shows(&stage, "6 to 8 are parked"));
    stage_key(&stage, "ENTER");
    assert_true(unit_of(&stage)->figure[6].parked);
    stage_key(&stage, "e");
    go_to(&stage, "figures");
    assert_true(shows(&stage, "figures 5"));
    keys(&stage, "RIGHT", 2);
    assert_true(shows(&stage, "6 and 7 come back"));
    go_to(&stage, "name of 1");
    stage_type(&stage, "Serjeant Oake");
    stage_key(&stage, "ENTER");
    assert_true(shows(&stage, "figure 1: Serjeant Oake instead of no name, and 1 more"));
    assert_false(unit_of(&stage)->figure[7].parked);
    assert_true(unit_of(&stage)->figure[8].parked);
    assert_string_equal(unit_of(&stage)->recipe->names[1], "Serjeant Oake");
    stage_key(&stage, "BACKSPACE");
    assert_null(unit_of(&stage)->recipe->names[1]);
    assert_true(unit_of(&stage)->figure[7].parked);
    stage_fini(&stage);
}

/* Wrong input is answered where it stands, and writes nothing. */
static void each_wrong_input(void **state)
{
    static const struct {
        const char *label, *text, *fault;
    } rows[] = {
        {"kind", "wsh", "unknown kind: wsh; did you mean wash?"},
        {"mix", "2 paint + 1 soot",
         "no paint soot; there is Harbour mud, Oilskin green, Tarred rope;"},
        {"coats", "10", "10: coats are a whole number, 1 to 9"},
        {"on", "sash", "no area sash; there is oilskin, rope, boots; ENTER again adds it"},
        {"minutes", "soon", "soon: minutes, such as 4 or 90 s, a day at most; blank: what"},
        {"order", "after Sash", "no other stage Sash; RIGHT and LEFT show them"},
        {"change on", "12", "figure 12 of 6; the unit has 1 to 6"},
        {"figures", "100", "100: figures are a whole number, 1 to 99"},
    };
    struct stage stage;
    (void)state;
    stage_init_text(&stage, wall, 6, 24, 80, CB_PING_OFF);
    const int stores = stage.stores;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        stage_key(&stage, "e");
        go_to(&stage, rows[i].label);
        stage_type(&stage, rows[i].text);
        stage_key(&stage, "UP"); /* wherever ENTER is pressed */
        stage_key(&stage, "ENTER");
        assert_true(shows(&stage, rows[i].fault));
        assert_true(shows(
            &stage, cb_arena_printf(&stage.arena, "\u25B8%s %s", rows[i].label, rows[i].text)));
        stage_key(&stage, "ESC");
    }
    assert_int_equal(stage.stores, stores);
    stage_key(&stage, "e");
    go_to(&stage, "on");
    stage_type(&stage, "oilskin, sash");
    keys(&stage, "ENTER", 2);
    assert_true(shows(&stage, "Oilskins: on oilskin, sash instead of oilskin; BKSP"));
    assert_int_equal(unit_of(&stage)->recipe->area_count, 4);
    stage_fini(&stage);
}

/* What only reading the recipe again finds wrong is said too: here a ring. */
static void a_ring_is_refused(void **state)
{
    static const char ring[] = "coatbell: 1\n"
                               "name: sample\n"
                               "paints: {tar: {name: Tarred rope, kind: acrylic}}\n"
                               "areas: {rope: {}, boots: {}}\n"
                               "stages:\n"
                               "  - {name: A, technique: layer, paint: tar, on: rope, after: [B]}\n"
                               "  - {name: B, technique: layer, paint: tar, on: boots}\n";
    struct stage stage;
    (void)state;
    stage_init_text(&stage, ring, 2, 24, 80, CB_PING_OFF);
    const int stores = stage.stores;
    stage_key(&stage, "e");
    assert_true(shows(&stage, "Change B"));
    go_to(&stage, "on");
    stage_type(&stage, "rope, boots");
    stage_key(&stage, "ENTER");
    assert_true(shows(&stage, "Change B"));
    assert_true(shows(&stage, "waits for itself in a ring of `after`"));
    assert_int_equal(stage.stores, stores);
    stage_fini(&stage);
}

static void work_without_paint_has_no_paint_to_change(void **state)
{
    struct stage stage;
    (void)state;
    stage_init_text(&stage, "{coatbell: 1, name: sample, stages: [{name: A, technique: prepare}]}",
                    2, 24, 80, CB_PING_OFF);
    stage_key(&stage, "e");
    assert_true(shows(&stage, "Change A"));
    assert_false(shows(&stage, "paint"));
    assert_false(shows(&stage, "still to mix"));
    stage_fini(&stage);
}

static void a_viewer_changes_nothing(void **state)
{
    struct stage stage;
    const struct cb_input looks_on = {.kind = CB_INPUT_ROLE, .writer = false};
    (void)state;
    stage_init_text(&stage, wall, 6, 24, 80, CB_PING_OFF);
    cb_rehearse_feed(stage.rehearse, looks_on);
    stage_key(&stage, "e");
    assert_false(shows(&stage, "Change Oilskins"));
    assert_true(shows(&stage, "looking on: another bench writes this log"));
    stage_key(&stage, "R");
    assert_true(shows(&stage, "looking on: another bench writes this log"));
    stage_fini(&stage);
    stage_init_text(&stage, wall, 6, 24, 80, CB_PING_OFF);
    const int stores = stage.stores; /* nor where the form stood open before */
    stage_key(&stage, "e");
    go_to(&stage, "coats");
    stage_type(&stage, "3");
    cb_rehearse_feed(stage.rehearse, looks_on);
    stage_key(&stage, "ENTER");
    assert_int_equal(stage.stores, stores);
    assert_int_equal(row(&stage, "Oilskins")->coats, 2);
    stage_fini(&stage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_form_of_the_stage_in_hand),
        cmocka_unit_test(what_is_typed_takes_the_place),
        cmocka_unit_test(the_usual_minutes_in_grey),
        cmocka_unit_test(nothing_typed_writes_nothing),
        cmocka_unit_test(a_swapped_paint_teaches_its_own_pot),
        cmocka_unit_test(another_paint_here_or_everywhere),
        cmocka_unit_test(a_swap_and_more),
        cmocka_unit_test(the_recipe_has_changed_meanwhile),
        cmocka_unit_test(a_long_name_stays),
        cmocka_unit_test(three_figures),
        cmocka_unit_test(mixed_for_those_to_come),
        cmocka_unit_test(mixed_for_one_that_joins),
        cmocka_unit_test(more_figures_than_the_recipe_says),
        cmocka_unit_test(a_name_alone_splits_nothing),
        cmocka_unit_test(it_stays_at_what_was_edited),
        cmocka_unit_test(the_name_follows_the_paint),
        cmocka_unit_test(the_order),
        cmocka_unit_test(figures_and_their_names),
        cmocka_unit_test(each_wrong_input),
        cmocka_unit_test(a_ring_is_refused),
        cmocka_unit_test(work_without_paint_has_no_paint_to_change),
        cmocka_unit_test(a_viewer_changes_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
