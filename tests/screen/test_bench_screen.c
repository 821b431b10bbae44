/* SPDX-License-Identifier: MIT */
/* The bench as a painter uses it: keys in, sentences and events out. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "core/bench/next.h"
#include "core/bench/painter.h"
#include "support/stage.h"
#include "app/words.h"
#include "view/grid.h"

static const char one_pot[] = "coatbell: 1\n"
                              "name: One pot\n"
                              "paints:\n"
                              "  green: {name: Oilskin green, kind: acrylic, dry: 20}\n"
                              "stages:\n"
                              "  - {name: Oilskins, technique: basecoat, paint: green, coats: 2,"
                              " minutes: 4}\n"
                              "  - {name: Folds, technique: layer, paint: green, minutes: 4}\n";

static const struct cb_film *film(struct stage *stage, int figure, int coat)
{
    return cb_bench_film(cb_bench_unit(stage_bench(stage), 0), figure, 1, coat);
}

static void space_says_what_it_does_and_does_it(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, one_pot, 4, 24, 80, CB_PING_NEEDED);
    assert_true(stage_shows(&stage, "SPACE when Oilskin green is on figure 1\n"));
    stage_key(&stage, "SPACE");
    assert_non_null(film(&stage, 1, 1));
    assert_true(stage_shows(&stage, "Oilskin green on 1 at 18:00, BKSP takes it back"));
    stage_wait(&stage, 0.15);
    assert_true(stage_shows(&stage, "BKSP takes it back"));
    stage_wait(&stage, 0.05); /* ten seconds are over */
    assert_false(stage_shows(&stage, "BKSP takes it back"));
    stage_key(&stage, "PAGEDOWN");
    assert_non_null(film(&stage, 2, 1));
    stage_key(&stage, "BACKSPACE");
    assert_null(film(&stage, 2, 1));
    assert_true(stage_shows(&stage, "taken back: Oilskin green on 2; r redoes it"));
    stage_key(&stage, "r");
    assert_non_null(film(&stage, 2, 1));
    stage_fini(&stage);
}

static void a_count_is_dated_back_by_the_work_between(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, one_pot, 10, 24, 80, CB_PING_NEEDED);
    stage_key(&stage, "SPACE");
    int64_t first = film(&stage, 1, 1)->on_ms;
    stage_wait(&stage, 20);
    stage_key(&stage, "4");
    assert_true(stage_shows(&stage, "4 SPACE: on 2 to 5, from 18:08"));
    stage_key(&stage, "SPACE");
    for (int figure = 2; figure <= 5; figure++) {
        assert_int_equal(film(&stage, figure, 1)->on_ms - first,
                         (20 - (5 - figure) * 4) * CB_MS_PER_MIN);
        assert_true(film(&stage, figure, 1)->on_pm_s <= 120);
    }
    stage_key(&stage, "-");
    stage_key(&stage, "6");
    assert_true(stage_shows(&stage, "-6 SPACE: on 6, 6 min ago"));
    stage_key(&stage, "SPACE");
    assert_int_equal(film(&stage, 6, 1)->on_ms - first, 14 * CB_MS_PER_MIN);
    assert_true(stage_shows(&stage, "Oilskin green on 6 at 18:14, BKSP takes it back"));
    stage_key(&stage, "9"); /* a count that is taken back is none */
    stage_key(&stage, "BACKSPACE");
    assert_non_null(film(&stage, 6, 1));
    stage_key(&stage, "a");
    for (int figure = 7; figure <= 10; figure++) {
        assert_non_null(film(&stage, figure, 1));
    }
    stage_fini(&stage);
}

static void a_film_thought_wet_is_taken_at_once(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, one_pot, 1, 24, 80, CB_PING_NEEDED);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 16);
    assert_true(stage_shows(&stage, "nothing is ready until 18:3"));
    stage_key(&stage, "SPACE");
    assert_non_null(film(&stage, 1, 2));
    assert_true(stage_shows(&stage, "thought still wet: "));
    stage_fini(&stage);
    /* gone to by hand */
    stage_init_text(&stage, one_pot, 3, 24, 80, CB_PING_NEEDED);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 10);
    stage_key(&stage, "LEFT");
    assert_true(stage_shows(&stage, "on figure 1, though Oilskin green is wet until 18:"));
    stage_key(&stage, "SPACE");
    assert_non_null(film(&stage, 1, 2));
    stage_fini(&stage);
}

static void nothing_to_act_on_writes_nothing(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, one_pot, 1, 24, 80, CB_PING_NEEDED);
    int before = stage.stores;
    static const enum cb_action idle[] = {CB_ACTION_DRY,    CB_ACTION_WET,  CB_ACTION_LIFTED,
                                          CB_ACTION_HELPED, CB_ACTION_REDO, CB_ACTION_QUICK,
                                          CB_ACTION_RELOAD};
    for (size_t i = 0; i < sizeof idle / sizeof *idle; i++) {
        stage_do(&stage, idle[i]);
    }
    assert_int_equal(stage.stores, before);
    stage_fini(&stage);
}

static void every_film_is_announced_once(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, one_pot, 5, 24, 80, CB_PING_EVERY);
    for (int i = 0; i < 5; i++) {
        stage_key(&stage, "SPACE");
        stage_wait(&stage, 1);
    }
    assert_int_equal(stage.bell_ready, 0);
    stage_wait(&stage, 60);
    assert_int_equal(stage.pings, 5);
    assert_int_equal(stage.sounds, 5);
    assert_int_equal(stage.pinged, 5);
    assert_int_equal(stage.beeps, 0);
    assert_true(stage.bell_ready >= 1);
    assert_string_equal(stage.title, "Oilskin green: figures 1 to 5 can take coat 2");
    stage_fini(&stage);
}

/* A name is somebody's text: a pop-up of it stays a few words. */
static void a_popup_keeps_a_long_name_short(void **state)
{
    (void)state;
    char text[8192], name[3001];
    memset(name, 87, sizeof name - 1);
    name[sizeof name - 1] = 0;
    snprintf(text, sizeof text,
             "coatbell: 1\nname: %s\npaints:\n  a: {name: %s, kind: acrylic}\n"
             "stages:\n  - {name: S, technique: basecoat, paint: a, coats: 2}\n",
             name, name);
    struct stage stage;
    stage_init_text(&stage, text, 3, 24, 80, CB_PING_EVERY);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 60);
    assert_true(stage.pings > 0);
    assert_true(strlen(stage.title) < 100);
    assert_non_null(strstr(stage.title, ": figure 1 can take coat 2"));
    assert_true(strlen(stage.body) < 200);
    stage_fini(&stage);
}

static void by_default_ten_films_make_one_popup(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, one_pot, 10, 24, 80, CB_PING_NEEDED);
    for (int i = 0; i < 10; i++) {
        stage_key(&stage, "SPACE");
        stage_wait(&stage, 1);
    }
    stage_wait(&stage, 23);
    uint32_t id = cb_rehearse_last_ping(stage.rehearse);
    assert_true(id != 0);
    stage_wait(&stage, 30);
    assert_int_equal(cb_rehearse_last_ping(stage.rehearse), id);
    assert_int_equal(stage.pinged, 10);
    /* the first with sound, when nothing else could be painted; the last quietly */
    assert_int_equal(stage.sounds, 1);
    assert_int_equal(stage.pings, 2);
    assert_string_equal(stage.title, "Oilskin green: figures 1 to 10 can take coat 2");
    /* each ping is an event with its due and its real time */
    size_t count;
    const struct cb_event *const *events = cb_bench_events(stage_bench(&stage), &count);
    for (size_t i = 0; i < count; i++) {
        if (events[i]->kind == CB_EVENT_PINGED) {
            int64_t due = cb_event_int(events[i], CB_FIELD_DUE_AT, 0);
            assert_true(events[i]->at_ms >= due && events[i]->at_ms - due <= 200);
        }
    }
    stage_fini(&stage);
}

static void a_button_answers_for_the_oldest(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, one_pot, 3, 24, 80, CB_PING_EVERY);
    for (int i = 0; i < 3; i++) {
        stage_key(&stage, "SPACE");
    }
    stage_wait(&stage, 34);
    assert_int_equal(stage.pinged, 1); /* all three at one moment are one ping */
    uint32_t id = cb_rehearse_last_ping(stage.rehearse);
    cb_rehearse_feed(stage.rehearse, (struct cb_input){.kind = CB_INPUT_BUTTON, .ping_id = id});
    assert_int_equal(film(&stage, 1, 1)->check, CB_CHECK_WET);
    assert_int_equal(film(&stage, 2, 1)->check, CB_CHECK_NONE);
    assert_true(stage.closes >= 1);
    int pinged = stage.pinged;
    stage_wait(&stage, 60); /* timed anew, and announced anew */
    assert_true(stage.pinged > pinged);
    id = cb_rehearse_last_ping(stage.rehearse);
    cb_rehearse_feed(stage.rehearse,
                     (struct cb_input){.kind = CB_INPUT_BUTTON, .ping_id = id, .button_dry = true});
    assert_int_equal(stage_events(&stage, CB_EVENT_CHECKED), 2);
    stage_fini(&stage);
}

static void policies(void **state)
{
    (void)state;
    static const struct {
        enum cb_ping_policy policy;
        int sounds, pinged;
    } cases[] = {
        {CB_PING_EVERY, 4, 4},
        {CB_PING_FIRST, 1, 4},
        {CB_PING_WHOLE, 1, 4},
        {CB_PING_OFF, 0, 0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct stage stage;
        stage_init_text(&stage, one_pot, 4, 24, 80, cases[i].policy);
        for (int k = 0; k < 4; k++) {
            stage_key(&stage, "SPACE");
            stage_wait(&stage, 1);
        }
        stage_wait(&stage, 60);
        assert_int_equal(stage.sounds, cases[i].sounds);
        assert_int_equal(stage.pinged, cases[i].pinged);
        stage_fini(&stage);
    }
}

static void the_chooser_asks_three_things(void **state)
{
    (void)state;
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 0, 15, 50, CB_PING_NEEDED);
    assert_true(stage_shows(&stage, "Salt-marsh night watch"));
    stage_key(&stage, "DOWN");
    stage_key(&stage, "ENTER");
    stage_type(&stage, "0");
    stage_key(&stage, "ENTER");
    assert_true(stage_shows(&stage, "a whole number from 1 to 99"));
    stage_key(&stage, "BACKSPACE");
    stage_type(&stage, "7");
    stage_key(&stage, "ENTER");
    assert_true(stage_shows(&stage, "ENTER: nothing; RIGHT: Undercoat / Oilskins"));
    stage_type(&stage, "gold");
    stage_key(&stage, "ENTER");
    assert_true(stage_shows(&stage, "no such stage: gold; RIGHT shows them"));
    stage_key(&stage, "RIGHT"); /* the first of them */
    stage_key(&stage, "RIGHT");
    stage_key(&stage, "LEFT");
    stage_key(&stage, "ENTER");
    stage_type(&stage, "soon");
    stage_key(&stage, "ENTER");
    assert_true(stage_shows(&stage, "minutes, such as 10"));
    for (int i = 0; i < 4; i++) {
        stage_key(&stage, "BACKSPACE");
    }
    stage_key(&stage, "ENTER");
    const struct cb_unit *unit = cb_bench_unit(stage_bench(&stage), 0);
    assert_int_equal(unit->figures, 7);
    assert_true(cb_bench_facts(stage_bench(&stage)).first_question_answered);
    for (int figure = 1; figure <= 7; figure++) { /* an undercoat is no gold */
        assert_true(film(&stage, figure, 1)->before);
        assert_null(cb_bench_film(unit, figure, 2, 1));
    }
    assert_false(stage_shows(&stage, "done before, BKSP")); /* the unit was begun, no more */
    /* the room is asked for beside the first coat, not before it */
    assert_true(stage_shows(&stage, "SPACE when Oilskin green is on figure 1"));
    assert_true(stage_shows(&stage, "the room? c, then 19.5 62"));
    /* one press, taken back whole, when it is meant */
    stage_key(&stage, "u");
    assert_true(stage_shows(&stage, "BKSP again takes back the whole unit"));
    assert_int_equal(cb_bench_front(stage_bench(&stage)), 0);
    stage_key(&stage, "u");
    assert_int_equal(cb_bench_front(stage_bench(&stage)), -1);
    assert_true(stage_shows(&stage, "taken back: unit begun; r redoes it"));
    stage_key(&stage, "r");
    assert_int_equal(cb_bench_front(stage_bench(&stage)), 0);
    stage_fini(&stage);
}

/* f says what it did and how to take it back, and the hours of what was finished can be looked at.
 */
static void a_finished_unit_can_be_looked_at_and_brought_back(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, one_pot, 3, 24, 80, CB_PING_NEEDED);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 5);
    stage_key(&stage, "f");
    assert_int_equal(cb_bench_front(stage_bench(&stage)), 0);
    assert_true(stage_shows(&stage, "8 coats still to do: f again calls it done"));
    stage_key(&stage, "LEFT"); /* another key, and it was not meant */
    stage_key(&stage, "f");
    assert_int_equal(cb_bench_front(stage_bench(&stage)), 0);
    stage_key(&stage, "f");
    assert_int_equal(cb_bench_front(stage_bench(&stage)), -1);
    assert_true(stage_shows(&stage, "sample is finished; BKSP takes it back"));
    assert_true(stage_shows(&stage, "Where the hours went"));
    stage_key(&stage, "BACKSPACE");
    assert_int_equal(cb_bench_front(stage_bench(&stage)), 0);
    assert_true(stage_shows(&stage, "FIGURE"));
    stage_do(&stage, CB_ACTION_FINISH);
    assert_int_equal(cb_bench_front(stage_bench(&stage)), -1);
    stage_key(&stage, "F2");
    stage_key(&stage, "F5");
    assert_true(stage_shows(&stage, "Where the hours went"));
    stage_key(&stage, "F1");
    stage_key(&stage, "BACKSPACE");
    assert_int_equal(cb_bench_front(stage_bench(&stage)), 0);
    assert_true(stage_shows(&stage, "taken back: unit finished"));
    stage_fini(&stage);
}

/* Of what is told late, the screen says when, and refuses what can't have been. */
static void told_late(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, one_pot, 10, 24, 80, CB_PING_NEEDED);
    stage_wait(&stage, 3);
    stage_key(&stage, "-");
    stage_key(&stage, "6");
    stage_key(&stage, "SPACE");
    assert_null(film(&stage, 1, 1));
    assert_true(stage_shows(&stage, "6 min ago is before the unit was begun, 18:00"));
    stage_key(&stage, "SPACE");
    stage_key(&stage, "LEFT"); /* to 1, whose first coat is a moment old */
    stage_wait(&stage, 2);
    stage_key(&stage, "-");
    stage_key(&stage, "4");
    stage_key(&stage, "SPACE");
    assert_null(film(&stage, 1, 2));
    assert_true(stage_shows(&stage, "4 min ago is before Oilskin green was on 1, 18:03"));
    stage_key(&stage, "ESC");
    stage_wait(&stage, 600); /* brush work, not the night */
    stage_type(&stage, "4");
    stage_key(&stage, "SPACE");
    assert_true(stage_shows(&stage, "Oilskin green on 2 to 5, 03:53 to 04:05; dry now: 1, BKSP"));
    stage_wait(&stage, 30);
    stage_key(&stage, "p");
    stage_wait(&stage, 14);
    assert_true(stage_shows(&stage, "SPACE when the pause is over"));
    stage_key(&stage, "SPACE");
    assert_true(stage_shows(&stage, "the pause is over (04:35 to 04:49); SPACE marks a coat"));
    assert_null(film(&stage, 6, 1));
    assert_false(cb_bench_facts(stage_bench(&stage)).paused);
    stage_key(&stage, "SPACE");
    assert_true(stage_shows(&stage, "Oilskin green on 6 at 04:49, BKSP"));
    stage_type(&stage, "99"); /* most likely the room, or a slip */
    const int stores = stage.stores;
    stage_key(&stage, "SPACE");
    assert_true(stage_shows(
        &stage, "there are 10 figures: nothing is written; c first for the room; ESC ends this"));
    assert_int_equal(stage.stores, stores);
    stage_key(&stage, "ESC");
    stage_type(&stage, "9");
    stage_key(&stage, "SPACE");
    assert_true(stage_shows(&stage, "on 7 to 10; no other figure wants it"));
    stage_fini(&stage);
}

/* What is done to a figure is done to the one in brackets, and the answer says to which. */
static void keys_mean_the_figure_in_brackets(void **state)
{
    (void)state;
    static const struct {
        const char *key, *answer;
    } rows[] = {
        {"t", "a slip tidied up: Oilskins on 2; BKSP takes it back"},
        {"+", "a coat more: Oilskins on 2; BKSP takes it back"},
        {"_", "a coat less: Oilskins on 2; BKSP takes it back"},
        {"x", "left out: Oilskins on 2; BKSP takes it back"},
        {"l", "the next coat lifted it, redo it: Oilskin green on 2; BKSP takes it back"},
        {"h", "warm air: Oilskin green on 2; BKSP takes it back"},
    };
    struct stage stage;
    stage_init_text(&stage, one_pot, 4, 24, 80, CB_PING_NEEDED);
    stage_key(&stage, "l");
    assert_true(stage_shows(&stage, "no coat on 1 that could have been lifted"));
    for (int figure = 1; figure <= 3; figure++) {
        stage_key(&stage, "SPACE");
        stage_wait(&stage, 2);
    }
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        stage_key(&stage, "ESC");
        stage_key(&stage, "LEFT");
        stage_key(&stage, "LEFT");
        assert_true(stage_shows(&stage, "[2]"));
        stage_key(&stage, rows[i].key);
        if (!stage_shows(&stage, rows[i].answer)) {
            fail_msg("%s: not answered with \"%s\":\n%s", rows[i].key, rows[i].answer,
                     stage_text(&stage));
        }
        stage_key(&stage, "BACKSPACE");
    }
    stage_fini(&stage);
}

/* What a coat gone to by hand would skip is named, before and after. */
static void what_is_skipped_is_named(void **state)
{
    (void)state;
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 4, 24, 80, CB_PING_NEEDED);
    stage_key(&stage, "SPACE"); /* the caution */
    stage_key(&stage, "SPACE");
    stage_key(&stage, "DOWN");
    assert_true(stage_shows(&stage, "on figure 1, though Tarred rope is wet until 18:13"));
    stage_key(&stage, "DOWN");
    stage_key(&stage, "DOWN");
    stage_key(&stage, "DOWN");
    stage_key(&stage, "DOWN");
    stage_key(&stage, "DOWN");
    assert_true(stage_shows(&stage, "Ebb wash is on figure 1, though Oilskin green is not on"));
    stage_key(&stage, "SPACE");
    assert_true(stage_shows(&stage, "is not on; BKSP takes it back"));
    stage_fini(&stage);
}

/* A view that shows no bench lets no key mark a coat unseen. */
static void keys_rest_where_no_coat_is_seen(void **state)
{
    (void)state;
    static const char *const views[] = {"?", "F4", "F5"};
    static const char *const keys[] = {"SPACE",     "PAGEDOWN", "a", "d",     "w",   "l",
                                       "t",         "h",        "+", "_",     "x",   "u",
                                       "BACKSPACE", "r",        "f", "RIGHT", "DOWN"};
    struct stage stage;
    stage_init_text(&stage, one_pot, 3, 15, 50, CB_PING_NEEDED);
    stage_key(&stage, "SPACE");
    for (size_t v = 0; v < sizeof views / sizeof *views; v++) {
        stage_key(&stage, views[v]);
        for (size_t k = 0; k < sizeof keys / sizeof *keys; k++) {
            bool own = v == 1 && (strcmp(keys[k], "+") == 0 || strcmp(keys[k], "x") == 0);
            size_t before = cb_bench_facts(stage_bench(&stage)).event_count;
            if (!own) {
                stage_key(&stage, keys[k]);
                assert_int_equal(cb_bench_facts(stage_bench(&stage)).event_count, before);
            }
        }
        stage_key(&stage, "SPACE");
        assert_true(stage_shows(&stage, "coats are marked on the bench: F1"));
        stage_key(&stage, "F1");
        assert_true(stage_shows(&stage, "SPACE when Oilskin green is on figure 2"));
    }
    stage_key(&stage, "?");
    assert_true(stage_shows(&stage, "SPACE PAGEDOWN"));
    stage_key(&stage, "END");
    assert_false(stage_shows(&stage, "SPACE PAGEDOWN"));
    assert_true(stage_shows(&stage, "The unit is finished."));
    stage_key(&stage, "PAGEUP");
    assert_false(stage_shows(&stage, "The unit is finished."));
    stage_key(&stage, "HOME");
    assert_true(stage_shows(&stage, "SPACE PAGEDOWN"));
    stage_key(&stage, "?");
    stage_key(&stage, "F4"); /* what a view does is taken back in it */
    stage_key(&stage, "+");
    size_t before = cb_bench_facts(stage_bench(&stage)).undone_count;
    stage_key(&stage, "BACKSPACE");
    assert_int_equal(cb_bench_facts(stage_bench(&stage)).undone_count, before + 1);
    stage_key(&stage, "BACKSPACE");
    assert_int_equal(cb_bench_facts(stage_bench(&stage)).undone_count, before + 1);
    stage_fini(&stage);
}

/* The unit itself, and what an earlier sitting did, go on a second press alone. */
static void undo_asks_before_it_goes_far(void **state)
{
    (void)state;
    struct stage stage;
    struct cb_err err = {0};
    stage_init_text(&stage, one_pot, 3, 24, 80, CB_PING_NEEDED);
    stage_key(&stage, "SPACE");
    stage_key(&stage, "SPACE");
    stage_key(&stage, "q");
    stage_wait(&stage, 600);
    assert_int_equal(cb_rehearse_reboot(stage.rehearse, &err), CB_OK);
    stage_key(&stage, "SPACE");
    stage_key(&stage, "BACKSPACE");
    assert_null(film(&stage, 3, 1));
    stage_key(&stage, "BACKSPACE");
    assert_non_null(film(&stage, 2, 1));
    assert_true(stage_shows(&stage, "BKSP again takes back what was done before this sitting: "
                                    "Oilskin green on 2"));
    stage_key(&stage, "BACKSPACE");
    assert_null(film(&stage, 2, 1));
    stage_key(&stage, "BACKSPACE");
    assert_null(film(&stage, 1, 1));
    stage_fini(&stage);
}

static void unsaved_takes_the_top_row(void **state)
{
    (void)state;
    static const int sizes[][2] = {{80, 24}, {50, 15}, {120, 40}, {12, 3}};
    struct stage stage;
    stage_init_text(&stage, one_pot, 3, 24, 80, CB_PING_NEEDED);
    cb_rehearse_feed(stage.rehearse, (struct cb_input){.kind = CB_INPUT_UNSAVED,
                                                       .text = "the disk is full: log.db"});
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        stage_size(&stage, sizes[i][0], sizes[i][1]);
        const struct cb_grid *grid = cb_rehearse_grid(stage.rehearse);
        for (int column = 0; column < grid->columns; column++) {
            assert_int_equal(grid->cells[column].role, CB_ROLE_ALARM);
        }
        assert_true(stage_shows(&stage, "NOT SAVED"));
        assert_false(stage_shows(&stage, "all well"));
    }
    stage_size(&stage, 80, 24);
    stage_key(&stage, "g");
    assert_true(stage_shows(&stage, "NOT SAVED"));
    assert_false(stage_shows(&stage, "all well"));
    stage_key(&stage, "g");
    stage_size(&stage, 80, 24);
    stage_key(&stage, "SPACE"); /* goes through again */
    assert_false(stage_shows(&stage, "NOT SAVED"));
    assert_true(stage_shows(&stage, "all well"));
    stage_key(&stage, "a");
    cb_rehearse_feed(stage.rehearse, (struct cb_input){.kind = CB_INPUT_UNSAVED, .text = "full"});
    assert_true(stage_shows(&stage, "nothing is ready until"));
    assert_false(stage_shows(&stage, "all well"));
    stage_size(&stage, 50, 15);
    assert_true(stage_shows(&stage, "rings 18:"));
    assert_false(stage_shows(&stage, "all well"));
    stage_fini(&stage);
}

/* What another command writes while a bench is open. */
static void write_elsewhere(struct stage *stage, struct cb_event_make *make, struct cb_arena *arena)
{
    const struct cb_event *event = cb_event_take(make);
    const struct cb_event **stored;
    struct cb_err err = {0};
    assert_int_equal(cb_store_append(stage->store, &event, 1, arena, &stored, &err), CB_OK);
    cb_rehearse_feed(
        stage->rehearse,
        (struct cb_input){.kind = CB_INPUT_EVENTS, .events = stored, .event_count = 1});
    cb_arena_fini(arena);
}

static void begin_elsewhere(struct stage *stage, const char *name)
{
    struct cb_arena arena = {0};
    struct cb_event_make make;
    const struct cb_moment now = cb_rehearse_now(stage->rehearse);
    cb_event_begin(&make, &arena, CB_EVENT_UNIT_BEGUN, name, &now);
    cb_event_add_text(&make, CB_FIELD_NAME, name);
    cb_event_add_int(&make, CB_FIELD_FIGURES, 2);
    cb_event_add_text(&make, CB_FIELD_RECIPE, one_pot);
    cb_event_add_text(&make, CB_FIELD_FRONT, CB_FRONT_NONE);
    write_elsewhere(stage, &make, &arena);
}

/* Who wants to be surer after a ping is rung again when that comes over a minute later. */
static void what_is_put_off_is_announced_anew(void **state)
{
    (void)state;
    static const struct {
        int pct, pings;
    } cases[] = {{81, 1}, {82, 2}}; /* some 36 and 72 seconds later */
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct stage stage;
        struct cb_arena arena = {0};
        struct cb_event_make make;
        stage_init_text(&stage, one_pot, 1, 24, 80, CB_PING_EVERY);
        stage_key(&stage, "SPACE");
        while (stage.pings == 0) {
            cb_rehearse_advance(stage.rehearse, 1000);
        }
        const struct cb_moment now = cb_rehearse_now(stage.rehearse);
        cb_event_begin(&make, &arena, CB_EVENT_CONFIDENCE_SET, NULL, &now);
        cb_event_add_number(&make, CB_FIELD_PCT, cases[i].pct);
        write_elsewhere(&stage, &make, &arena);
        stage_wait(&stage, 30);
        assert_int_equal(stage.pings, cases[i].pings);
        stage_fini(&stage);
    }
}

static void begun_elsewhere_is_told_and_stays_behind(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, one_pot, 3, 24, 80, CB_PING_NEEDED);
    begin_elsewhere(&stage, "Orchard wardens");
    assert_true(stage_shows(&stage, "begun elsewhere: Orchard wardens, o opens it"));
    stage_size(&stage, 50, 15);
    assert_true(stage_shows(&stage, "begun elsewhere: Orchard wardens, o opens it"));
    stage_key(&stage, "SPACE");
    assert_non_null(film(&stage, 1, 1));
    assert_false(stage_shows(&stage, "begun elsewhere"));
    stage_key(&stage, "n"); /* while something is typed, the line waits */
    begin_elsewhere(&stage, "Ferry");
    stage_type(&stage, "tea");
    stage_key(&stage, "ENTER");
    assert_true(stage_shows(&stage, "begun elsewhere: Ferry, o opens it"));
    stage_key(&stage, "o");
    assert_true(stage_shows(&stage, "Orchard wardens"));
    stage_key(&stage, "DOWN");
    stage_key(&stage, "ENTER");
    assert_int_equal(cb_bench_front(stage_bench(&stage)), 1);
    stage_fini(&stage);
}

/* Of a name forty columns are told. */
static void begun_elsewhere_by_a_long_name(void **state)
{
    (void)state;
    for (size_t letters = 40; letters <= 41; letters++) {
        struct stage stage;
        char name[64];
        memset(name, 'u', sizeof name);
        name[letters] = 0;
        stage_init_text(&stage, one_pot, 3, 24, 80, CB_PING_NEEDED);
        begin_elsewhere(&stage, name);
        assert_true(stage_shows(&stage, "begun elsewhere: uuu"));
        assert_int_equal(stage_shows(&stage, name), letters == 40);
        stage_fini(&stage);
    }
}

/* The row that ENTER is about stays that one while the list grows, also under the form. */
static void the_choice_stays_while_units_come(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, one_pot, 0, 24, 80, CB_PING_NEEDED);
    stage_key(&stage, "DOWN");
    begin_elsewhere(&stage, "Orchard wardens");
    assert_true(stage_shows(&stage, " \u25B8 sample"));
    stage_key(&stage, "ENTER");
    begin_elsewhere(&stage, "Ferry");
    stage_type(&stage, "3");
    stage_key(&stage, "ENTER");
    stage_key(&stage, "ENTER");
    stage_key(&stage, "ENTER");
    assert_int_equal(cb_bench_unit_count(stage_bench(&stage)), 3);
    assert_int_equal(cb_bench_front(stage_bench(&stage)), 2);
    assert_string_equal(cb_bench_unit(stage_bench(&stage), 2)->name, "sample");
    stage_key(&stage, "o");
    stage_key(&stage, "DOWN");
    assert_true(stage_shows(&stage, "\u25B8 Ferry"));
    begin_elsewhere(&stage, "Gate");
    assert_true(stage_shows(&stage, "\u25B8 Ferry"));
    stage_fini(&stage);
}

static void a_viewer_writes_nothing(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, one_pot, 3, 24, 80, CB_PING_NEEDED);
    cb_rehearse_feed(stage.rehearse, (struct cb_input){.kind = CB_INPUT_ROLE});
    int before = stage.stores;
    stage_key(&stage, "SPACE");
    stage_key(&stage, "u");
    stage_key(&stage, "c");
    stage_wait(&stage, 60);
    assert_int_equal(stage.stores, before);
    assert_true(stage_shows(&stage, "looking on"));
    cb_rehearse_feed(stage.rehearse, (struct cb_input){.kind = CB_INPUT_ROLE, .offer = true});
    assert_true(stage_shows(&stage, "ENTER takes over"));
    stage_key(&stage, "ENTER");
    stage_key(&stage, "SPACE");
    assert_non_null(film(&stage, 1, 1));
    stage_fini(&stage);
}

static void wakes_seldom(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, one_pot, 3, 24, 80, CB_PING_NEEDED);
    stage_wait(&stage, 1);
    int wakes = 0;
    const struct cb_app *app = cb_rehearse_app(stage.rehearse);
    for (int64_t end = cb_app_now(app).wall_ms + 10 * CB_MS_PER_MIN; cb_app_now(app).wall_ms < end;
         wakes++) {
        int64_t step = cb_app_next_deadline(app) - cb_app_now(app).wall_ms;
        assert_true(step > 0);
        cb_rehearse_advance(stage.rehearse, step);
    }
    assert_true(wakes <= 11); /* nothing wet: at most one a minute */
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 29.5);
    wakes = 0;
    for (int64_t end = cb_app_now(app).wall_ms + CB_MS_PER_MIN; cb_app_now(app).wall_ms < end;
         wakes++) {
        cb_rehearse_advance(stage.rehearse, cb_app_next_deadline(app) - cb_app_now(app).wall_ms);
    }
    assert_true(wakes >= 30 && wakes <= 66); /* seconds show: about one a second */
    stage_fini(&stage);
}

/* The screen without what follows the countdown: a chance in per cent may wait for its second. */
static const char *countdown_of(struct stage *stage)
{
    const char *text = stage_text(stage);
    return cb_arena_text_n(&stage->arena, text, strcspn(text, "="));
}

/* Drawn is what has a new generation: no second of the countdown may be without one, wherever the
 * seconds of the wall clock fall and however short before it a key was pressed. */
static void draws_every_second(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, one_pot, 3, 24, 80, CB_PING_NEEDED);
    const struct cb_app *app = cb_rehearse_app(stage.rehearse);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 29.9); /* the last minute is counted by seconds */
    int changes = 0;
    for (int turn = 0; turn < 600; turn++) {
        if (turn % 7 == 0) {
            stage_key(&stage, "UP");
        }
        const char *before = countdown_of(&stage);
        uint64_t drawn = cb_app_generation(app);
        int64_t left_ms = cb_app_next_deadline(app) - cb_app_now(app).wall_ms;
        cb_rehearse_sleep(stage.rehearse, left_ms < 137 ? left_ms : 137);
        bool changed = strcmp(before, countdown_of(&stage)) != 0;
        assert_true(!changed || cb_app_generation(app) != drawn);
        changes += changed;
    }
    assert_true(changes > 60);
    stage_fini(&stage);
}

/* The figures of one go are drawn big where they have room, else the first: the label has them. */
static void a_wide_range_is_not_drawn_over(void **state)
{
    (void)state;
    struct stage stage;
    stage_init(&stage, "league-pikemen.yaml", 20, 24, 80, CB_PING_NEEDED);
    stage_wait(&stage, 5);
    stage_key(&stage, "a"); /* a caution, here and below */
    stage_key(&stage, "a");
    assert_true(stage_shows(&stage, "FIGURES "));
    assert_false(stage_shows(&stage, "FIGURES 1-"));
    stage_wait(&stage, 5);
    stage_key(&stage, "SPACE"); /* the caution */
    stage_key(&stage, "SPACE");
    assert_true(stage_shows(&stage, " FIGURES  "));
    assert_true(stage_shows(&stage, "   \u2588    \u2588       \u2588\u2588\u2588\u2588 "
                                    "\u2588\u2588\u2588\u2588   all over"));
    stage_size(&stage, 39, 15);
    assert_true(stage_shows(&stage, "FIGURES 11-20"));
    stage_fini(&stage);
}

/* A bus that is gone is said where else "(rings)" stands, not only when it should have rung. */
static void who_waits_knows_that_it_beeps(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, one_pot, 1, 24, 80, CB_PING_NEEDED);
    stage_key(&stage, "SPACE");
    assert_true(stage_shows(&stage, "(rings)"));
    cb_rehearse_feed(stage.rehearse,
                     (struct cb_input){.kind = CB_INPUT_BELL, .bell_state = CB_BELL_NO_BUS});
    assert_false(stage_shows(&stage, "(rings)"));
    assert_true(stage_shows(&stage, "nothing is ready until 18:"));
    assert_true(stage_shows(&stage, "; no pop-ups on this machine: it beeps"));
    stage_size(&stage, 50, 15);
    assert_true(stage_shows(&stage, "no pop-ups on this machine: it beeps"));
    assert_true(stage_shows(&stage, "at 18:"));
    stage_fini(&stage);
}

static void an_evening_flies_by_itself(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, one_pot, 3, 24, 80, CB_PING_NEEDED);
    const struct cb_app *app = cb_rehearse_app(stage.rehearse);
    for (int turn = 0; turn < 200; turn++) {
        struct cb_moment now = cb_app_now(app);
        int64_t now_ms = cb_bench_time(cb_app_bench(app), &now);
        bool press = false;
        const struct cb_proposal next = cb_app_offer(app);
        int64_t next_ms =
            cb_painter_steady(cb_app_bench(app), cb_app_learn(app), &next, now_ms, &press);
        if (next_ms == CB_TIME_NONE) {
            break;
        }
        if (press) {
            stage_do(&stage, CB_ACTION_COAT_ON);
        } else {
            cb_rehearse_advance(stage.rehearse, next_ms > now_ms ? next_ms - now_ms : 1);
        }
    }
    assert_true(cb_next_all_done(cb_bench_unit(stage_bench(&stage), 0)));
    assert_true(stage_shows(&stage, "every coat is on; f finishes the unit"));
    stage_key(&stage, "f");
    assert_int_equal(cb_bench_front(stage_bench(&stage)), -1);
    stage_fini(&stage);
}

/* What fell due while the bench was closed is shown, not rung. */
static void old_news_is_not_rung(void **state)
{
    (void)state;
    struct stage stage;
    struct cb_err err = {0};
    stage_init_text(&stage, one_pot, 1, 24, 80, CB_PING_EVERY);
    stage_key(&stage, "SPACE");
    stage_key(&stage, "q");
    assert_true(cb_rehearse_has_quit(stage.rehearse));
    stage_wait(&stage, 56);
    assert_int_equal(stage.pings, 0);
    assert_int_equal(cb_rehearse_reboot(stage.rehearse, &err), CB_OK);
    assert_int_equal(stage.pings, 0);
    assert_int_equal(stage.pinged, 1);
    assert_true(stage_shows(&stage, "dry for 2"));
    stage_fini(&stage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(space_says_what_it_does_and_does_it),
        cmocka_unit_test(a_count_is_dated_back_by_the_work_between),
        cmocka_unit_test(a_film_thought_wet_is_taken_at_once),
        cmocka_unit_test(nothing_to_act_on_writes_nothing),
        cmocka_unit_test(every_film_is_announced_once),
        cmocka_unit_test(a_popup_keeps_a_long_name_short),
        cmocka_unit_test(by_default_ten_films_make_one_popup),
        cmocka_unit_test(a_button_answers_for_the_oldest),
        cmocka_unit_test(policies),
        cmocka_unit_test(the_chooser_asks_three_things),
        cmocka_unit_test(a_finished_unit_can_be_looked_at_and_brought_back),
        cmocka_unit_test(told_late),
        cmocka_unit_test(what_is_skipped_is_named),
        cmocka_unit_test(keys_mean_the_figure_in_brackets),
        cmocka_unit_test(keys_rest_where_no_coat_is_seen),
        cmocka_unit_test(undo_asks_before_it_goes_far),
        cmocka_unit_test(unsaved_takes_the_top_row),
        cmocka_unit_test(what_is_put_off_is_announced_anew),
        cmocka_unit_test(begun_elsewhere_is_told_and_stays_behind),
        cmocka_unit_test(begun_elsewhere_by_a_long_name),
        cmocka_unit_test(the_choice_stays_while_units_come),
        cmocka_unit_test(a_viewer_writes_nothing),
        cmocka_unit_test(wakes_seldom),
        cmocka_unit_test(draws_every_second),
        cmocka_unit_test(a_wide_range_is_not_drawn_over),
        cmocka_unit_test(who_waits_knows_that_it_beeps),
        cmocka_unit_test(an_evening_flies_by_itself),
        cmocka_unit_test(old_news_is_not_rung),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
