/* SPDX-License-Identifier: MIT */
/* When it sounds, when a pop-up comes, and what the log says of it; and what the bench says back.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "app/session.h"
#include "core/bench/next.h"
#include "support/stage.h"
#include "view/grid.h"

/* Four of ten have the first stage; then there is another one for all. */
static const char four_and_ten[] =
    "coatbell: 1\nname: Four and ten\n"
    "groups: {four: [1, 2, 3, 4]}\n"
    "paints:\n  green: {name: Oilskin green, kind: acrylic, dry: 20}\n"
    "  rope: {name: Tarred rope, kind: acrylic, dry: 20}\n"
    "areas:\n  oilskin: {share: 50 %}\n  boots: {share: 50 %}\n"
    "stages:\n"
    "  - {name: Oilskins, technique: basecoat, paint: green, on: [oilskin], for: four, coats: 2,"
    " minutes: 4}\n"
    "  - {name: Boots, technique: basecoat, paint: rope, on: [boots], after: [], minutes: 4}\n";

#define POT(minutes, dry)                                                                          \
    "coatbell: 1\nname: One pot\n"                                                                 \
    "paints:\n  green: {name: Oilskin green, kind: acrylic, dry: " dry "}\n"                       \
    "stages:\n"                                                                                    \
    "  - {name: Oilskins, technique: basecoat, paint: green, coats: 2, minutes: " minutes "}\n"
static const char pot_of_four[] = POT("4", "20");
static const char slow_hand[] = POT("8", "20");
static const char quick_paint[] = POT("4", "4");
static const char slow_paint[] = POT("4", "200");

static const char one_pot[] = "coatbell: 1\n"
                              "name: One pot\n"
                              "paints:\n"
                              "  green: {name: Oilskin green, kind: acrylic, dry: 20}\n"
                              "stages:\n"
                              "  - {name: Oilskins, technique: basecoat, paint: green, coats: 3,"
                              " minutes: 4}\n";

static const struct cb_bench *bench_of(struct stage *stage)
{
    return cb_app_bench(cb_rehearse_app(stage->rehearse));
}

static const struct cb_film *film(struct stage *stage, int figure, int coat)
{
    return cb_bench_film(cb_bench_unit(bench_of(stage), 0), figure, 1, coat);
}

static int64_t now_ms(struct stage *stage)
{
    return cb_rehearse_now(stage->rehearse).wall_ms;
}

static int64_t due_ms(struct stage *stage, int figure, int coat)
{
    return cb_forecast_film(bench_of(stage), cb_app_learn(cb_rehearse_app(stage->rehearse)),
                            film(stage, figure, coat), now_ms(stage))
        .due_ms;
}

static size_t count_by(struct stage *stage, const char *by)
{
    size_t count, found = 0;
    const struct cb_event *const *events = cb_bench_events(bench_of(stage), &count);
    for (size_t i = 0; i < count; i++) {
        found += events[i]->kind == CB_EVENT_PINGED &&
                 strcmp(cb_event_text(events[i], CB_FIELD_BY, ""), by) == 0;
    }
    return found;
}

static size_t count_answers(struct stage *stage)
{
    size_t count, found = 0;
    const struct cb_event *const *events = cb_bench_events(bench_of(stage), &count);
    for (size_t i = 0; i < count; i++) {
        found += events[i]->kind == CB_EVENT_CHECKED;
    }
    return found;
}

static void put_on(struct stage *stage, int coats, double minutes)
{
    for (int i = 0; i < coats; i++) {
        stage_key(stage, "SPACE");
        stage_wait(stage, minutes);
    }
}

static void who_waits_is_rung_by_the_first(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, one_pot, 4, 24, 80, CB_PING_NEEDED);
    put_on(&stage, 4, 1);
    const int64_t first_ms = due_ms(&stage, 1, 1);
    stage_wait(&stage, 27); /* the first is dry, the second not */
    assert_int_equal(stage.sounds, 1);
    assert_true(stage.ping_at_ms >= first_ms && stage.ping_at_ms <= first_ms + 200);
    assert_string_equal(stage.title, "Oilskin green: figure 1 can take coat 2");
    const uint32_t id = cb_rehearse_last_ping(stage.rehearse);
    stage_wait(&stage, 30);
    assert_int_equal(stage.sounds, 1); /* once a wait */
    assert_int_equal(stage.pings, 2);  /* and quietly when all of them are dry, in its place */
    assert_int_equal(cb_rehearse_last_ping(stage.rehearse), id);
    assert_string_equal(stage.title, "Oilskin green: figures 1 to 4 can take coat 2");
    assert_int_equal(stage.pinged, 4); /* each is written, shown or not */
    assert_int_equal(count_by(&stage, "popup"), 2);
    assert_int_equal(count_by(&stage, "screen"), 2);
    put_on(&stage, 4, 1);
    assert_int_equal(stage.closes, 1);
    stage_wait(&stage, 60); /* the next wait */
    assert_int_equal(stage.sounds, 2);
    assert_int_equal(cb_rehearse_last_ping(stage.rehearse), id);
    stage_fini(&stage);
}

static void a_go_that_is_dry_meanwhile_is_told_quietly(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, four_and_ten, 10, 24, 80, CB_PING_NEEDED);
    put_on(&stage, 4, 1);
    const int64_t first_ms = due_ms(&stage, 1, 1), last_ms = due_ms(&stage, 4, 1);
    put_on(&stage, 6, 4);
    stage_wait(&stage, (double)(first_ms - now_ms(&stage)) / (double)CB_MS_PER_MIN + .1);
    assert_int_equal(stage.pinged, 1);
    assert_int_equal(stage.pings, 0);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 4);
    assert_int_equal(stage.sounds, 0);
    assert_int_equal(stage.pings, 1);
    assert_true(stage.ping_at_ms >= last_ms && stage.ping_at_ms <= last_ms + 200);
    assert_string_equal(stage.title, "Oilskin green: figures 1 to 4 can take coat 2");
    stage_fini(&stage);
}

static void rung_from_tea(const char *recipe, double until_min)
{
    struct stage stage;
    stage_init_text(&stage, recipe, 10, 24, 80, CB_PING_NEEDED);
    put_on(&stage, 3, 1);
    stage_key(&stage, "SPACE");
    const int64_t tea_ms = now_ms(&stage);
    const int64_t dry_ms = due_ms(&stage, 4, 1);
    stage_wait(&stage, 90);
    assert_int_equal(stage.sounds, 1);
    const int64_t away_ms = tea_ms + (int64_t)(until_min * (double)CB_MS_PER_MIN);
    const int64_t ring_ms = dry_ms > away_ms ? dry_ms : away_ms;
    assert_true(stage.ping_at_ms >= ring_ms && stage.ping_at_ms <= ring_ms + 200);
    assert_string_equal(stage.title, "Oilskin green: figures 1 to 4 can take coat 2");
    assert_int_equal(stage.pings, 1);
    assert_int_equal(stage.pinged, 4);
    stage_fini(&stage);
}

static void four_of_ten_and_no_key_after_ring_once(void **state)
{
    (void)state;
    rung_from_tea(pot_of_four, 12); /* when the fourth is dry */
    rung_from_tea(slow_hand, 24);   /* three times eight minutes */
    rung_from_tea(quick_paint, 12); /* dry before it could be known that somebody waits */
}

/* The same in the demo's unit, after its undercoat. */
static void four_of_the_watch_ring_once(void **state)
{
    (void)state;
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 10, 24, 80, CB_PING_NEEDED);
    stage_key(&stage, "SPACE"); /* the caution of the airbrush, where that is a press of its own */
    if (cb_bench_unit(bench_of(&stage), 0)->film_count == 0) {
        stage_key(&stage, "SPACE");
    }
    stage_wait(&stage, 60);
    assert_int_equal(stage.sounds, 1);
    stage_go(&stage, 2);
    for (int i = 0; i < 4; i++) {
        stage_key(&stage, "SPACE");
        stage_wait(&stage, i < 3 ? 4 : 0);
    }
    const struct cb_unit *unit = cb_bench_unit(bench_of(&stage), 0);
    const struct cb_film *fourth = &unit->films[unit->film_count - 1];
    const int64_t dry_ms =
        cb_forecast_film(bench_of(&stage), cb_app_learn(cb_rehearse_app(stage.rehearse)), fourth,
                         now_ms(&stage))
            .due_ms;
    /* three times its four minutes: before, nobody could know that somebody waits */
    const int64_t away_ms = now_ms(&stage) + 12 * CB_MS_PER_MIN;
    const int64_t ring_ms = dry_ms > away_ms ? dry_ms : away_ms;
    stage_wait(&stage, 12 * 60);
    assert_int_equal(stage.sounds, 2);
    assert_true(stage.ping_at_ms >= ring_ms && stage.ping_at_ms <= ring_ms + 200);
    assert_string_equal(stage.title, "Oilskin green: figures 1 to 4 can take coat 2");
    stage_fini(&stage);
}

/* Each dry before the next is on: no pop-up while the hand is at it. */
static void a_go_is_not_told_while_the_hand_is_at_it(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, quick_paint, 4, 24, 80, CB_PING_NEEDED);
    put_on(&stage, 3, 9);
    assert_int_equal(stage.pinged, 3);
    assert_int_equal(stage.pings, 0);
    put_on(&stage, 1, 9);
    assert_int_equal(stage.pings, 1);
    assert_int_equal(stage.sounds, 0); /* the others could take their second coat all the while */
    assert_string_equal(stage.title, "Oilskin green: figures 1 to 4 can take coat 2");
    stage_fini(&stage);
}

/* No pop-up can be had: who waits hears a beep and sees the banner. */
static void without_a_bell_it_beeps_to_who_waits(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, one_pot, 4, 24, 80, CB_PING_NEEDED);
    put_on(&stage, 4, 1);
    stage_wait(&stage, 26); /* within two minutes of the first */
    cb_rehearse_feed(stage.rehearse,
                     (struct cb_input){.kind = CB_INPUT_BELL, .bell_state = CB_BELL_NO_BUS});
    stage_wait(&stage, 30);
    assert_int_equal(stage.beeps, 1);
    assert_true(stage_shows(&stage, "Oilskin green: figure 1 can take coat 2\n"));
    assert_int_equal(count_by(&stage, "beep"), 1);
    assert_int_equal(count_by(&stage, "screen"), 3);
    stage_fini(&stage);
}

static void a_key_says_that_nobody_waits(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, quick_paint, 10, 24, 80, CB_PING_NEEDED);
    put_on(&stage, 4, 1);
    for (int i = 0; i < 12; i++) {
        stage_wait(&stage, 9);
        stage_key(&stage, i % 2 ? "TAB" : "F1");
    }
    assert_int_equal(stage.sounds, 0);
    assert_int_equal(stage.pinged, 4);
    stage_fini(&stage);
}

static void found_wet_it_rings_again(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, one_pot, 1, 24, 80, CB_PING_NEEDED);
    put_on(&stage, 1, 60);
    assert_int_equal(stage.sounds, 1);
    const uint32_t id = cb_rehearse_last_ping(stage.rehearse);
    cb_rehearse_feed(stage.rehearse, (struct cb_input){.kind = CB_INPUT_BUTTON, .ping_id = id});
    stage_wait(&stage, 120);
    assert_int_equal(stage.sounds, 2);
    assert_int_equal(cb_rehearse_last_ping(stage.rehearse), id);
    stage_fini(&stage);
}

static void press(struct stage *stage, uint32_t ping_id, uint32_t answer, bool dry)
{
    cb_rehearse_feed(stage->rehearse, (struct cb_input){.kind = CB_INPUT_BUTTON,
                                                        .ping_id = ping_id,
                                                        .answer = answer,
                                                        .button_dry = dry});
}

/* One pop-up stands for the unit: an answer that comes late is not for the coat it names by now. */
static void a_late_answer_is_for_its_own_film(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, one_pot, 1, 24, 80, CB_PING_NEEDED);
    put_on(&stage, 1, 60);
    const uint32_t id = cb_rehearse_last_ping(stage.rehearse), first = stage.answer;
    assert_int_not_equal(first, 0);
    put_on(&stage, 1, 60);
    assert_int_equal(cb_rehearse_last_ping(stage.rehearse), id);
    const uint32_t second = stage.answer;
    assert_int_not_equal(second, first);
    press(&stage, id, first, false);     /* coated over since */
    press(&stage, id, second + 1, true); /* never asked */
    press(&stage, id + 7, second, true); /* never shown */
    press(&stage, id, UINT32_MAX, true);
    assert_int_equal(stage_events(&stage, CB_EVENT_CHECKED), 0);
    press(&stage, id, second, true);
    press(&stage, id, second, true); /* twice */
    press(&stage, id, second, false);
    press(&stage, id, 0, false);
    assert_int_equal(stage_events(&stage, CB_EVENT_CHECKED), 1);
    assert_int_equal(film(&stage, 1, 1)->check, CB_CHECK_NONE);
    assert_int_equal(film(&stage, 1, 2)->check, CB_CHECK_DRY);
    stage_fini(&stage);
}

/* And where that film still lies bare, it counts for it. */
static void a_late_answer_counts_for_a_film_that_lies_bare(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, four_and_ten, 10, 24, 80, CB_PING_NEEDED);
    stage_go(&stage, 1);
    put_on(&stage, 1, 60);
    const uint32_t id = cb_rehearse_last_ping(stage.rehearse), first = stage.answer;
    stage_go(&stage, 2);
    put_on(&stage, 1, 60);
    assert_int_equal(cb_rehearse_last_ping(stage.rehearse), id);
    assert_int_not_equal(stage.answer, first);
    const int closes = stage.closes;
    press(&stage, id, first, true);
    assert_int_equal(film(&stage, 1, 1)->check, CB_CHECK_DRY);
    assert_int_equal(stage_events(&stage, CB_EVENT_CHECKED), 1);
    assert_int_equal(stage.closes, closes); /* what it names now is still asked */
    press(&stage, id, stage.answer, true);
    assert_int_equal(stage_events(&stage, CB_EVENT_CHECKED), 2);
    assert_int_equal(stage.closes, closes + 1);
    stage_fini(&stage);
}

/* Taken back and put on anew, it is another film. */
static void an_answer_is_not_for_the_film_put_on_instead(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, one_pot, 1, 24, 80, CB_PING_NEEDED);
    put_on(&stage, 1, 60);
    const uint32_t id = cb_rehearse_last_ping(stage.rehearse), first = stage.answer;
    stage_key(&stage, "BACKSPACE");
    put_on(&stage, 1, 1);
    assert_int_equal(stage_events(&stage, CB_EVENT_COAT_ON), 2);
    press(&stage, id, first, true);
    assert_int_equal(stage_events(&stage, CB_EVENT_CHECKED), 0);
    stage_fini(&stage);
}

/* Found wet and rung again, it is another question. */
static void an_answer_counts_once_however_often_it_rings(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, one_pot, 1, 24, 80, CB_PING_NEEDED);
    put_on(&stage, 1, 60);
    const uint32_t id = cb_rehearse_last_ping(stage.rehearse), first = stage.answer;
    press(&stage, id, first, false);
    stage_wait(&stage, 120);
    assert_int_not_equal(stage.answer, first);
    press(&stage, id, first, true);
    assert_int_equal(film(&stage, 1, 1)->check, CB_CHECK_WET);
    press(&stage, id, stage.answer, true);
    assert_int_equal(film(&stage, 1, 1)->check, CB_CHECK_DRY);
    stage_fini(&stage);
}

/* Nothing can go on after the last coat: that it is dry is told, and not rung. */
static void the_last_coat_is_told_quietly(void **state)
{
    (void)state;
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 1, 24, 80, CB_PING_NEEDED);
    int sounds = 0, pings = 0;
    for (int i = 0; i < 200 && !cb_next_all_done(cb_bench_unit(bench_of(&stage), 0)); i++) {
        stage_wait(&stage, 60);
        stage_key(&stage, "SPACE");
        sounds = stage.sounds;
        pings = stage.pings;
    }
    assert_true(cb_next_all_done(cb_bench_unit(bench_of(&stage), 0)));
    stage_wait(&stage, 24 * 60);
    assert_int_equal(stage.sounds, sounds);
    assert_int_equal(stage.pings - pings, 1);
    stage_fini(&stage);
}

/* Dry before the press that told of it: the painter knows. */
static void what_was_dry_when_it_was_told_is_not_rung(void **state)
{
    (void)state;
    static const enum cb_ping_policy policies[] = {CB_PING_NEEDED, CB_PING_EVERY, CB_PING_FIRST,
                                                   CB_PING_WHOLE};
    for (size_t i = 0; i < sizeof policies / sizeof *policies; i++) {
        struct stage stage;
        stage_init_text(&stage, one_pot, 1, 24, 80, policies[i]);
        stage_wait(&stage, 60);
        stage_key(&stage, "-");
        stage_type(&stage, "50");
        stage_key(&stage, "SPACE");
        stage_wait(&stage, 1);
        assert_int_equal(stage.pings, 0);
        assert_int_equal(count_by(&stage, "screen"), 1);
        stage_fini(&stage);
    }
}

static unsigned roll(uint64_t *random, unsigned sides)
{
    *random = *random * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (unsigned)(*random >> 33) % sides;
}

/* Less time than that without a key, and nobody waits while a coat is ready. */
#define PATIENCE_MS (10 * CB_MS_PER_MIN)

/* An evening of the demo's unit: at most one sound a wait, none while a coat is ready and keys
 * come, one pop-up, and every film that comes due in the log. */
static void an_evening(uint64_t seed)
{
    struct stage stage;
    uint64_t random = seed;
    stage_init(&stage, "night-watch.yaml", 10, 24, 80, CB_PING_NEEDED);
    const int64_t end_ms = now_ms(&stage) + 300 * CB_MS_PER_MIN;
    int64_t key_ms = now_ms(&stage);
    int rung = 0;
    uint32_t id = 0;
    while (now_ms(&stage) < end_ms) {
        const double wait_min =
            roll(&random, 12) == 0 ? 5 + roll(&random, 40) : 1 + roll(&random, 5);
        for (double waited = 0; waited < wait_min; waited += .5) {
            const struct cb_proposal offer = cb_app_offer(cb_rehearse_app(stage.rehearse));
            const bool ready = offer.any && !offer.thought_wet;
            const int sounds = stage.sounds;
            stage_wait(&stage, .5);
            if (stage.sounds > sounds) {
                rung += stage.sounds - sounds;
                if (ready && stage.ping_at_ms - key_ms < PATIENCE_MS) {
                    fail_msg("seed %llu: rung while a coat was ready and keys came",
                             (unsigned long long)seed);
                }
            }
            if (rung > 1) {
                fail_msg("seed %llu: %d sounds in one wait", (unsigned long long)seed, rung);
            }
            const uint32_t last = cb_rehearse_last_ping(stage.rehearse);
            assert_true(id == 0 || last == id);
            id = last;
        }
        static const char *const keys[] = {"SPACE", "SPACE", "SPACE", "SPACE", "SPACE",
                                           "TAB",   "DOWN",  "RIGHT", "d",     "w"};
        stage_key(&stage, keys[roll(&random, sizeof keys / sizeof *keys)]);
        key_ms = now_ms(&stage);
        rung = 0;
    }
    const struct cb_unit *unit = cb_bench_unit(bench_of(&stage), 0);
    for (size_t i = 0; i < unit->film_count; i++) {
        const struct cb_film *row = &unit->films[i];
        int64_t due;
        if (row->next_ms == CB_TIME_NONE && row->check == CB_CHECK_NONE &&
            row->lifted_ms == CB_TIME_NONE && row->drying->from != CB_TIME_ZERO &&
            cb_forecast_dry(bench_of(&stage), cb_app_learn(cb_rehearse_app(stage.rehearse)), row,
                            now_ms(&stage), &due)) {
            assert_true(row->pinged_ms != CB_TIME_NONE);
        }
    }
    stage_fini(&stage);
}

static void evenings(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 12; seed++) {
        an_evening(seed);
    }
}

static void what_became_dry_is_said_at_the_next_press(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, four_and_ten, 10, 24, 80, CB_PING_NEEDED);
    put_on(&stage, 4, 1);
    put_on(&stage, 7, 4);
    put_on(&stage, 1, 0);
    assert_true(
        stage_shows(&stage, "Tarred rope on 8 at 18:32; dry now: Oilskin green on 1 and 2\n"));
    stage_key(&stage, "SPACE");
    assert_false(stage_shows(&stage, "dry now")); /* said once */
    stage_fini(&stage);
    /* of the same paint the figures are enough */
    stage_init_text(&stage, pot_of_four, 10, 15, 50, CB_PING_NEEDED);
    put_on(&stage, 2, 20);
    stage_key(&stage, "SPACE");
    assert_true(stage_shows(&stage, "Oilskin green on 3 at 18:40; dry now: 1\n"));
    stage_fini(&stage);
}

static void an_answer_is_thanked(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, one_pot, 4, 24, 80, CB_PING_OFF);
    put_on(&stage, 4, 1);
    stage_wait(&stage, 5);
    stage_key(&stage, "d"); /* long before it was thought so: asked once more */
    assert_false(stage_shows(&stage, "learned"));
    stage_key(&stage, "d");
    assert_true(stage_shows(&stage, "learned: Oilskin green usually "));
    assert_true(stage_shows(&stage, " min here, not "));
    stage_key(&stage, "TAB");
    stage_key(&stage, "F1");
    assert_false(stage_shows(&stage, "learned:"));
    stage_fini(&stage);
    /* as it was thought: not worth a line */
    stage_init_text(&stage, one_pot, 1, 24, 80, CB_PING_OFF);
    put_on(&stage, 1, 60);
    stage_key(&stage, "d");
    assert_int_equal(count_answers(&stage), 1);
    assert_false(stage_shows(&stage, "learned:"));
    stage_fini(&stage);
    stage_init_text(&stage, slow_paint, 1, 24, 80, CB_PING_OFF);
    put_on(&stage, 1, 330); /* of two hundred minutes it is some, and no tenth */
    stage_key(&stage, "d");
    assert_int_equal(count_answers(&stage), 1);
    assert_false(stage_shows(&stage, "learned:"));
    stage_fini(&stage);
    stage_init_text(&stage, one_pot, 1, 24, 80, CB_PING_OFF);
    put_on(&stage, 1, 60);
    stage_key(&stage, "w");
    assert_true(stage_shows(&stage, "learned: Oilskin green usually "));
    stage_fini(&stage);
}

static bool asks(struct stage *stage)
{
    char question[128];
    snprintf(question, sizeof question,
             "you paint before it rings: were they dry? %s: ring sooner\n",
             cb_app_key(cb_rehearse_app(stage->rehearse), CB_ACTION_DRY));
    return stage_shows(stage, question);
}

static void who_paints_before_the_ring_is_asked_once(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, one_pot, 8, 24, 80, CB_PING_NEEDED);
    put_on(&stage, 8, 1);
    put_on(&stage, 2, 1);
    assert_false(asks(&stage));
    stage_key(&stage, "SPACE");
    assert_true(asks(&stage));
    const int64_t ring_ms = due_ms(&stage, 7, 1) - film(&stage, 7, 1)->on_ms;
    stage_wait(&stage, 1);
    stage_key(&stage, "d");
    size_t count, answers = 0;
    const struct cb_event *const *events = cb_bench_events(bench_of(&stage), &count);
    for (size_t i = 0; i < count; i++) {
        if (events[i]->kind == CB_EVENT_CHECKED) {
            const int figure = (int)cb_event_int(events[i], CB_FIELD_FIGURE, 0);
            assert_int_equal(figure, ++answers);
            assert_int_equal(cb_event_int(events[i], CB_FIELD_SEEN_AT, 0),
                             film(&stage, figure, 2)->on_ms);
            assert_int_equal(film(&stage, figure, 1)->check, CB_CHECK_DRY);
        }
    }
    assert_int_equal(answers, 3);
    assert_true(due_ms(&stage, 7, 1) - film(&stage, 7, 1)->on_ms < ring_ms); /* sooner */
    assert_true(stage_shows(&stage, "learned: Oilskin green usually "));
    stage_key(&stage, "BACKSPACE"); /* one press */
    assert_int_equal(film(&stage, 1, 1)->check, CB_CHECK_NONE);
    stage_fini(&stage);
    /* any other key is no answer, and it is not asked again at every coat */
    stage_init_text(&stage, one_pot, 8, 24, 80, CB_PING_NEEDED);
    put_on(&stage, 8, 1);
    static const bool asked[] = {false, false, true, false, false, true, false};
    for (size_t i = 0; i < sizeof asked / sizeof *asked; i++) {
        stage_key(&stage, "SPACE");
        assert_int_equal(asks(&stage), asked[i]);
        stage_wait(&stage, 1);
    }
    stage_key(&stage, "d"); /* one film, as ever, and asked once more since it is hardly likely */
    stage_key(&stage, "d");
    assert_int_equal(count_answers(&stage), 1);
    stage_fini(&stage);
    /* who waits for the ring, or speaks, is not asked */
    stage_init_text(&stage, one_pot, 3, 24, 80, CB_PING_NEEDED);
    put_on(&stage, 3, 60);
    put_on(&stage, 3, 1);
    assert_false(asks(&stage));
    stage_fini(&stage);
    stage_init_text(&stage, one_pot, 8, 24, 80, CB_PING_NEEDED);
    put_on(&stage, 8, 1);
    put_on(&stage, 2, 1);
    stage_key(&stage, "LEFT"); /* a word of another film */
    stage_key(&stage, "w");
    stage_key(&stage, "ESC");
    assert_int_equal(count_answers(&stage), 1);
    stage_wait(&stage, 1);
    for (int i = 0; i < 3; i++) {
        stage_key(&stage, "SPACE");
        assert_int_equal(asks(&stage), i == 2);
        stage_wait(&stage, 1);
    }
    stage_fini(&stage);
    /* nor for what another sitting did */
    stage_init_text(&stage, one_pot, 8, 24, 80, CB_PING_NEEDED);
    put_on(&stage, 8, .1);
    put_on(&stage, 2, .1);
    stage_reopen(&stage, CB_MS_PER_MIN);
    put_on(&stage, 1, 0);
    assert_non_null(film(&stage, 3, 2));
    assert_false(asks(&stage));
    stage_fini(&stage);
}

/* A terminal that can shows what the bell can't: not what the bell shows or may show yet, and
 * nothing where pop-ups are not wanted; what the status line says of it. */
static void by_terminal(void **state)
{
    (void)state;
    static const struct {
        enum cb_bell_state bell;
        bool can, terminal, pops_up, by_terminal;
        const char *says;
    } rows[] = {
        {CB_BELL_NO_BUS, true, true, true, true, "the terminal shows pop-ups"},
        {CB_BELL_NO_DAEMON, true, true, true, true, "the terminal shows pop-ups"},
        {CB_BELL_NONE, true, true, true, true, "all well"},
        {CB_BELL_OK, true, true, true, false, "pop-ups work"},
        {CB_BELL_SILENT, true, true, true, false, "pop-ups do not answer: it beeps"},
        {CB_BELL_NO_BUS, false, true, true, false, "no pop-ups on this machine: it beeps"},
        {CB_BELL_NO_BUS, true, false, true, false, "no pop-ups on this machine: it beeps"},
        {CB_BELL_OFF, true, true, false, false, "pop-ups are off: it beeps"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct stage stage;
        stage_init_text(&stage, quick_paint, 3, 24, 80, CB_PING_EVERY);
        stage.config.pop_ups = rows[i].terminal;
        stage.config.bell = rows[i].pops_up;
        stage.terminal_pops_up = rows[i].can;
        stage_reopen(&stage, CB_MS_PER_MIN);
        stage_key(&stage, "SPACE");
        const struct cb_input bell = {.kind = CB_INPUT_BELL, .bell_state = rows[i].bell};
        for (int minute = 0; minute < 20 && stage.pings == 0; minute++) {
            cb_rehearse_feed(stage.rehearse, bell);
            stage_wait(&stage, 1);
        }
        assert_int_equal(stage.pings, 1);
        if (rows[i].bell != CB_BELL_NONE) { /* the bell of a rehearsal works once it is asked for */
            assert_int_equal(stage.by_terminal, rows[i].by_terminal);
        }
        cb_rehearse_feed(stage.rehearse, bell);
        stage_key(&stage, "d");
        stage_wait(&stage, 1);
        assert_true(stage_shows(&stage, rows[i].says));
        stage_fini(&stage);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(who_waits_is_rung_by_the_first),
        cmocka_unit_test(a_go_that_is_dry_meanwhile_is_told_quietly),
        cmocka_unit_test(four_of_ten_and_no_key_after_ring_once),
        cmocka_unit_test(four_of_the_watch_ring_once),
        cmocka_unit_test(a_go_is_not_told_while_the_hand_is_at_it),
        cmocka_unit_test(without_a_bell_it_beeps_to_who_waits),
        cmocka_unit_test(a_key_says_that_nobody_waits),
        cmocka_unit_test(found_wet_it_rings_again),
        cmocka_unit_test(a_late_answer_is_for_its_own_film),
        cmocka_unit_test(an_answer_is_not_for_the_film_put_on_instead),
        cmocka_unit_test(an_answer_counts_once_however_often_it_rings),
        cmocka_unit_test(a_late_answer_counts_for_a_film_that_lies_bare),
        cmocka_unit_test(the_last_coat_is_told_quietly),
        cmocka_unit_test(what_was_dry_when_it_was_told_is_not_rung),
        cmocka_unit_test(evenings),
        cmocka_unit_test(what_became_dry_is_said_at_the_next_press),
        cmocka_unit_test(an_answer_is_thanked),
        cmocka_unit_test(who_paints_before_the_ring_is_asked_once),
        cmocka_unit_test(by_terminal),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
