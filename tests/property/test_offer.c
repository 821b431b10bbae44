/* SPDX-License-Identifier: MIT */
/* What the bench has named is what a bare SPACE writes, whatever became ready meanwhile. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "app/key.h"
#include "app/look.h"
#include "app/offer.h"
#include "support/events.h"
#include "support/stage.h"

#define EVENINGS 300

/* Two paints whose films dry in turn: what is ready changes by itself. */
static const char two_paints[] = "coatbell: 1\n"
                                 "name: Two\n"
                                 "paints:\n"
                                 "  green: {name: Oilskin green, kind: acrylic, dry: 8}\n"
                                 "  brown: {name: Bilge leather, kind: acrylic, dry: 3}\n"
                                 "areas: {oilskin: {}, boots: {}, rope: {beside: [oilskin]}}\n"
                                 "stages:\n"
                                 "  - {name: Oilskins, technique: basecoat, paint: green, on:"
                                 " oilskin, coats: 2, after: []}\n"
                                 "  - {name: Boots, technique: basecoat, paint: brown, on: boots,"
                                 " coats: 3, after: []}\n"
                                 "  - {name: Rope, technique: basecoat, paint: brown, on: rope,"
                                 " coats: 2, after: []}\n";

static const struct cb_scene *scene_of(struct stage *stage)
{
    return cb_app_scene(cb_rehearse_app(stage->rehearse));
}

/* The coat last written; 0 without. */
static struct cb_film_key last_coat(struct stage *stage)
{
    size_t count;
    const struct cb_event *const *events = cb_bench_events(stage_bench(stage), &count);
    for (size_t i = count; i-- > 0;) {
        if (events[i]->kind == CB_EVENT_COAT_ON) {
            return (struct cb_film_key){(int)cb_event_int(events[i], CB_FIELD_FIGURE, 0),
                                        (int)cb_event_int(events[i], CB_FIELD_STAGE, 0),
                                        (int)cb_event_int(events[i], CB_FIELD_COAT, 0)};
        }
    }
    return (struct cb_film_key){0, 0, 0};
}

/* Green is on all, brown is named; then green is ready again, which would come first. */
static void the_named_coat_is_written(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, two_paints, 2, 24, 80, CB_PING_NEEDED);
    stage_key(&stage, "SPACE");
    stage_key(&stage, "SPACE");
    assert_true(stage_shows(&stage, "SPACE when Bilge leather is on figure 1, a change of paint"));
    stage_wait(&stage, 20);
    assert_true(stage_shows(&stage, "SPACE when Bilge leather is on figure 1"));
    assert_true(stage_shows(&stage, "ready too: Rope on 1 and 2, DOWN goes there"));
    stage_key(&stage, "F2");
    stage_key(&stage, "F1");
    stage_size(&stage, 50, 15);
    stage_key(&stage, "SPACE");
    const struct cb_film_key coat = last_coat(&stage);
    assert_int_equal(coat.figure, 1);
    assert_int_equal(coat.stage, 2);
    assert_int_equal(coat.coat, 1);
    stage_fini(&stage);
}

/* A change of paint is said also when the press may be a late one. */
static void a_change_of_paint_is_always_said(void **state)
{
    (void)state;
    static const int sizes[][2] = {{50, 15}, {80, 24}, {120, 40}};
    struct stage stage;
    stage_init_text(&stage, two_paints, 2, 24, 80, CB_PING_NEEDED);
    stage_key(&stage, "SPACE");
    stage_key(&stage, "SPACE");
    for (int i = 0; i < 2; i++) {
        for (size_t s = 0; s < sizeof sizes / sizeof *sizes; s++) {
            stage_size(&stage, sizes[s][0], sizes[s][1]);
            assert_true(stage_shows(&stage, "a change of paint") ||
                        stage_shows(&stage, ", change paint"));
        }
        stage_wait(&stage, 40); /* who comes back now has most likely painted it */
    }
    assert_true(stage_shows(&stage, "; -N SPACE: N min ago"));
    stage_key(&stage, "SPACE");
    assert_false(stage_shows(&stage, "change"));
    stage_fini(&stage);
}

/* A caution is read by a press of its own, which marks no coat, and says so before. */
static void a_caution_takes_a_press_of_its_own(void **state)
{
    (void)state;
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 3, 24, 80, CB_PING_NEEDED);
    static const char *const keys[] = {"SPACE", "a", "2 SPACE"};
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        assert_true(stage_shows(&stage, "SPACE when you have read the caution"));
        if (keys[i][0] == '2') {
            stage_key(&stage, "2");
        }
        stage_key(&stage, keys[i][0] == '2' ? "SPACE" : keys[i]);
        assert_int_equal(stage_events(&stage, CB_EVENT_CAUTION_READ), i + 1);
        assert_int_equal(stage_events(&stage, CB_EVENT_COAT_ON), 0);
        assert_true(stage_shows(&stage, "SPACE when Tarred rope is on figures 1 to 3"));
        stage_key(&stage, "BACKSPACE"); /* unread again */
    }
    stage_fini(&stage);
}

/* "rings" stands only where one waits for it: while something is ready it may come silently. */
static void a_ring_is_promised_to_who_waits_alone(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, two_paints, 2, 15, 50, CB_PING_NEEDED);
    stage_key(&stage, "SPACE");
    assert_false(scene_of(&stage)->anyway);
    assert_true(stage_shows(&stage, "all well"));
    assert_false(stage_shows(&stage, "rings 18:"));
    while (!scene_of(&stage)->anyway) {
        stage_key(&stage, "SPACE");
    }
    assert_true(stage_shows(&stage, "rings 18:"));
    const int sounds = stage.sounds;
    stage_wait(&stage, 30);
    assert_true(stage.sounds > sounds);
    stage_fini(&stage);
}

/* DOWN goes where the line says. */
static void ready_too_is_where_down_leads(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, two_paints, 4, 24, 120, CB_PING_NEEDED);
    stage_key(&stage, "SPACE");
    int seen = 0;
    for (int i = 0; i < 40; i++) {
        const struct cb_app *app = cb_rehearse_app(stage.rehearse);
        const struct cb_offer_too too = cb_offer_ready_too(app, scene_of(&stage));
        bool ready = false; /* any other stage */
        for (int other = 1; other <= (int)scene_of(&stage)->unit->recipe->stage_count; other++) {
            for (int figure = 1; figure <= scene_of(&stage)->unit->figures; figure++) {
                ready = ready ||
                        (other != scene_of(&stage)->proposal.stage &&
                         cb_next_slot(cb_app_bench(app), cb_app_learn(app), scene_of(&stage)->unit,
                                      figure, other, scene_of(&stage)->now_ms)
                                 .state == CB_SLOT_READY);
            }
        }
        assert_int_equal(too.stage > 0, ready && scene_of(&stage)->proposal.any);
        if (too.stage > 0) {
            seen++;
            assert_true(too.count > 0);
            stage_key(&stage, too.step > 0 ? "DOWN" : "UP");
            assert_int_equal(scene_of(&stage)->proposal.stage, too.stage);
            assert_false(scene_of(&stage)->proposal.thought_wet);
            stage_key(&stage, "ESC");
        }
        stage_key(&stage, "SPACE");
        stage_wait(&stage, i % 5);
    }
    assert_true(seen > 3);
    stage_fini(&stage);
}

/* What can't be any more is said, and only then another coat is named. */
static void what_is_lost_is_said(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, two_paints, 1, 24, 80, CB_PING_EVERY);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 16); /* it rang */
    stage_key(&stage, "UP");
    stage_key(&stage, "UP");
    stage_key(&stage, "UP");
    stage_key(&stage, "ESC");
    while (scene_of(&stage)->proposal.stage != 1) {
        stage_key(&stage, "UP");
    }
    assert_false(scene_of(&stage)->proposal.thought_wet);
    const uint32_t ping = cb_rehearse_last_ping(stage.rehearse);
    cb_rehearse_feed(stage.rehearse, (struct cb_input){.kind = CB_INPUT_BUTTON, .ping_id = ping});
    assert_true(stage_shows(&stage, "waits after all: Oilskin green is wet until"));
    stage_fini(&stage);
}

/* What takes the place of a question withdraws it: the key asks again. */
static void what_is_not_in_sight_is_not_asked(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, two_paints, 1, 24, 80, CB_PING_EVERY);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 16);
    stage_key(&stage, "ESC");
    while (scene_of(&stage)->proposal.stage != 1) {
        stage_key(&stage, "UP");
    }
    stage_key(&stage, "f");
    assert_true(stage_shows(&stage, "f again calls it done"));
    const uint32_t ping = cb_rehearse_last_ping(stage.rehearse);
    cb_rehearse_feed(stage.rehearse, (struct cb_input){.kind = CB_INPUT_BUTTON, .ping_id = ping});
    assert_false(stage_shows(&stage, "f again calls it done"));
    stage_key(&stage, "f");
    assert_int_equal(stage_events(&stage, CB_EVENT_UNIT_FINISHED), 0);
    assert_true(stage_shows(&stage, "f again calls it done"));
    stage_wait(&stage, 1);
    stage_key(&stage, "f");
    assert_int_equal(stage_events(&stage, CB_EVENT_UNIT_FINISHED), 1);
    stage_fini(&stage);
}

static void press(struct stage *stage, struct dice *dice)
{
    static const char *const keys[] = {"F1",        "F2", "F4", "F5",   "TAB",   "g", "?",
                                       "ESC",       "w",  "d",  "DOWN", "UP",    "x", "+",
                                       "BACKSPACE", "r",  "a",  "LEFT", "RIGHT", "t"};
    stage_key(stage, keys[dice_below(dice, sizeof keys / sizeof *keys)]);
}

/* Keys that only show another view. */
static bool only_shows(const char *key)
{
    return strcmp(key, "F2") == 0 || strcmp(key, "F4") == 0 || strcmp(key, "F5") == 0;
}

/* Whatever was pressed and however long it took: named as ready after the last key, written by a
 * bare SPACE; or a line said why not; or nothing was named as ready. */
static void a_bare_space_writes_what_was_named(void **state)
{
    (void)state;
    struct dice dice = {5};
    int written = 0, followed = 0;
    for (int evening = 0; evening < EVENINGS; evening++) {
        struct stage stage;
        stage_init_text(&stage, two_paints, 1 + (int)dice_below(&dice, 4), 24, 80, CB_PING_NEEDED);
        const int steps = 5 + (int)dice_below(&dice, 20);
        for (int i = 0; i < steps; i++) {
            press(&stage, &dice);
            if (dice_below(&dice, 3) == 0) {
                stage_key(&stage, "F1");
                stage_key(&stage, "SPACE");
            }
            stage_wait(&stage, (double)dice_below(&dice, 6));
        }
        stage_key(&stage, "ESC"); /* a key that moves: here the choice is free */
        struct cb_scene_at named = {0}, waited = {0};
        const int waits = (int)dice_below(&dice, 12);
        bool said = false;
        for (int i = 0; i < waits; i++) {
            const struct cb_scene *scene = scene_of(&stage);
            if (named.coat == 0 && scene->unit && scene->proposal.any && !scene->anyway) {
                named = (struct cb_scene_at){scene->proposal.figure, scene->proposal.stage,
                                             scene->proposal.coat};
                if (waited.figure > 0) { /* what was waited for is what is named then */
                    followed++;
                    assert_int_equal(named.figure, waited.figure);
                    assert_int_equal(named.stage, waited.stage);
                }
            }
            waited = (struct cb_scene_at){0};
            if (scene->anyway && scene->below && scene->below_ms > scene->now_ms) {
                waited = (struct cb_scene_at){scene->proposal.figure, scene->proposal.stage, 1};
            }
            const char *view = i % 3 == 0 ? "F2" : i % 3 == 1 ? "F5" : "F4";
            assert_true(only_shows(view));
            if (dice_below(&dice, 3) == 0) {
                stage_key(&stage, view);
                stage_key(&stage, "F1");
            }
            stage_wait(&stage, (double)dice_below(&dice, 5));
            said = said || stage_shows(&stage, "waits after all") || stage_shows(&stage, "no more");
        }
        const size_t before = stage_events(&stage, CB_EVENT_COAT_ON);
        stage_key(&stage, "F1");
        stage_key(&stage, "SPACE");
        if (stage_events(&stage, CB_EVENT_COAT_ON) > before && named.coat > 0 && !said) {
            const struct cb_film_key coat = last_coat(&stage);
            written++;
            assert_int_equal(coat.figure, named.figure);
            assert_int_equal(coat.stage, named.stage);
            assert_int_equal(coat.coat, named.coat);
        }
        stage_fini(&stage);
    }
    assert_true(written > EVENINGS / 3);
    assert_true(followed > EVENINGS / 30);
}

/* After an undo, a redo and an opening the offer goes by the log alone. */
static void undo_leads_back_to_the_offer_of_the_log(void **state)
{
    (void)state;
    struct dice dice = {11};
    for (int evening = 0; evening < EVENINGS / 5; evening++) {
        struct stage stage;
        stage_init_text(&stage, two_paints, 2 + (int)dice_below(&dice, 3), 24, 80, CB_PING_OFF);
        const int steps = 5 + (int)dice_below(&dice, 15);
        for (int i = 0; i < steps; i++) {
            press(&stage, &dice);
            stage_key(&stage, "F1");
            stage_key(&stage, i % 2 ? "SPACE" : "ESC");
            stage_wait(&stage, (double)dice_below(&dice, 6));
        }
        stage_key(&stage, "F1");
        stage_key(&stage, "BACKSPACE");
        if (dice_below(&dice, 2)) {
            stage_key(&stage, "r");
        }
        const struct cb_proposal live = scene_of(&stage)->proposal;
        const bool anyway = scene_of(&stage)->anyway;
        stage_reopen(&stage, 0);
        const struct cb_proposal opened = scene_of(&stage)->proposal;
        assert_int_equal(opened.any, live.any);
        assert_int_equal(scene_of(&stage)->anyway, anyway);
        assert_int_equal(opened.figure, live.figure);
        assert_int_equal(opened.stage, live.stage);
        assert_int_equal(opened.coat, live.coat);
        stage_fini(&stage);
    }
}

/* The sentence of a wait is that of the ring: two stages that one film lets go on at once, the
 * first of another paint. */
static void what_is_waited_for_is_offered_then(void **state)
{
    (void)state;
    static const char swap[] =
        "coatbell: 1\nname: Swap\n"
        "paints:\n  green: {name: Cloak green, kind: acrylic, dry: 12}\n"
        "  skin: {name: Skin, kind: acrylic, dry: 12}\n"
        "areas:\n  cloak: {share: 50 %}\n  face: {beside: [cloak]}\n  hood: {beside: [cloak]}\n"
        "stages:\n"
        "  - {name: Cloaks, technique: basecoat, paint: green, on: [cloak], minutes: 2}\n"
        "  - {name: Faces, technique: basecoat, paint: skin, on: [face], minutes: 2}\n"
        "  - {name: Hoods, technique: basecoat, paint: green, on: [hood], minutes: 2}\n";
    struct stage stage;
    stage_init_text(&stage, swap, 1, 24, 80, CB_PING_NEEDED);
    stage_key(&stage, "SPACE");
    assert_true(scene_of(&stage)->anyway);
    assert_true(stage_shows(&stage, "SPACE when Cloak green is on figure 1 (dry in"));
    stage_wait(&stage, 60);
    assert_true(stage_shows(&stage, "SPACE when Cloak green is on figure 1"));
    stage_key(&stage, "SPACE");
    assert_int_equal(last_coat(&stage).stage, 3);
    assert_int_equal(last_coat(&stage).figure, 1);
    stage_fini(&stage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_named_coat_is_written),
        cmocka_unit_test(a_change_of_paint_is_always_said),
        cmocka_unit_test(a_caution_takes_a_press_of_its_own),
        cmocka_unit_test(a_ring_is_promised_to_who_waits_alone),
        cmocka_unit_test(ready_too_is_where_down_leads),
        cmocka_unit_test(what_is_lost_is_said),
        cmocka_unit_test(what_is_not_in_sight_is_not_asked),
        cmocka_unit_test(a_bare_space_writes_what_was_named),
        cmocka_unit_test(undo_leads_back_to_the_offer_of_the_log),
        cmocka_unit_test(what_is_waited_for_is_offered_then),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
