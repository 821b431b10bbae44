/* SPDX-License-Identifier: MIT */
/* Seeded evenings of forgotten presses: no coat that is dated back by itself lies before the ring
 * or the answer "dry" of what it lies on, nor before the session was opened; and numbers that are
 * no counts write nothing. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

#include "app/key.h"
#include "base/time.h"
#include "core/bench/forecast.h"
#include "support/events.h"
#include "support/stage.h"

static int evenings = 120; /* 300 in make sweep */

static const char recipe[] =
    "coatbell: 1\n"
    "name: Sea wall\n"
    "paints:\n"
    "  grey: {name: Eel grey, kind: acrylic}\n"
    "  green: {name: Oilskin green, kind: acrylic}\n"
    "  rope: {name: Tarred rope, kind: acrylic}\n"
    "  ebb: {name: Ebb wash, kind: wash}\n"
    "areas: {oilskin: {}, rope: {beside: [oilskin]}, base: {}}\n"
    "stages:\n"
    "  - {name: Undercoat, technique: undercoat, paint: grey, by: brush, minutes: 2}\n"
    "  - {name: Oilskins, technique: basecoat, paint: green, on: [oilskin], coats: 2}\n"
    "  - {name: Ropes, technique: basecoat, paint: rope, on: [rope], minutes: 2}\n"
    "  - {name: Recesses, technique: wash, paint: ebb, on: [oilskin, rope], minutes: 1}\n"
    "  - {name: Bases, technique: basecoat, paint: rope, on: [base], after: [], minutes: 1}\n";

/* What lay on a figure before the press, and when it counted as dry. */
struct lying {
    int figure;
    uint64_t areas;
    bool whole;
    int64_t dry_ms;
};

static size_t look(struct stage *stage, struct lying *lying)
{
    const struct cb_app *app = cb_rehearse_app(stage->rehearse);
    const struct cb_unit *unit = cb_bench_unit(stage_bench(stage), 0);
    const struct cb_moment now = cb_app_now(app);
    const int64_t now_ms = cb_bench_time(stage_bench(stage), &now);
    for (size_t i = 0; i < unit->film_count; i++) {
        const struct cb_film *film = &unit->films[i];
        int64_t dry_ms;
        const bool dry =
            cb_forecast_dry(stage_bench(stage), cb_app_learn(app), film, now_ms, &dry_ms);
        dry_ms = !dry || dry_ms == CB_TIME_NONE ? now_ms : dry_ms;
        if (film->check == CB_CHECK_DRY && film->dry_ms < dry_ms) {
            dry_ms = film->dry_ms;
        }
        if (film->next_ms != CB_TIME_NONE && film->next_ms < dry_ms) {
            dry_ms = film->next_ms; /* its next coat took it for dry */
        }
        lying[i] = (struct lying){film->figure, film->areas, film->whole,
                                  film->lifted_ms == CB_TIME_NONE ? dry_ms : CB_TIME_NONE};
    }
    return unit->film_count;
}

static void press(struct stage *stage, struct dice *dice, int *dated)
{
    struct lying lying[1024];
    const int64_t opened_ms = cb_bench_facts(stage_bench(stage)).session_opened_ms;
    if (dice_below(dice, 2)) {
        char digits[8];
        snprintf(digits, sizeof digits, "%d", 1 + (int)dice_below(dice, 9));
        stage_type(stage, digits);
    }
    const size_t before = look(stage, lying);
    stage_key(stage, dice_below(dice, 4) ? "SPACE" : "a");
    const struct cb_unit *unit = cb_bench_unit(stage_bench(stage), 0);
    const struct cb_recipe *read = unit->recipe;
    for (size_t i = before; i < unit->film_count; i++) {
        const struct cb_film *film = &unit->films[i];
        if (film->on_ms == film->pressed_ms) {
            continue;
        }
        (*dated)++;
        assert_true(film->on_ms < film->pressed_ms);
        assert_true(film->on_ms >= opened_ms && film->on_ms >= unit->begun_ms);
        for (size_t j = 0; j < before; j++) {
            bool meets = lying[j].whole || film->whole || (lying[j].areas & film->areas);
            for (size_t a = 0; a < read->area_count; a++) {
                meets =
                    meets || ((lying[j].areas >> a & 1) && (read->areas[a].beside & film->areas));
            }
            if (lying[j].figure == film->figure && meets && film->on_ms < lying[j].dry_ms) {
                fail_msg("stage %d on %d went on %lld ms too early", film->stage, film->figure,
                         (long long)(lying[j].dry_ms - film->on_ms));
            }
        }
    }
}

static void no_coat_is_dated_before_it_could_go_on(void **state)
{
    (void)state;
    int dated = 0;
    for (uint64_t seed = 1; seed <= (uint64_t)evenings; seed++) {
        struct dice dice = {seed * 7919};
        struct stage stage;
        struct cb_err err = {0};
        stage_init_text(&stage, recipe, 2 + (int)dice_below(&dice, 6), 24, 80, CB_PING_EVERY);
        for (int i = 0; i < 24; i++) {
            static const char *const others[] = {"d", "w", "p", "l", "LEFT", "RIGHT", "DOWN",
                                                 "x", "h", "u", "b", "ESC",  "t"};
            stage_wait(&stage, (double)dice_below(&dice, 3000) / 60);
            if (dice_below(&dice, 3) == 0) {
                stage_key(&stage, others[dice_below(&dice, sizeof others / sizeof *others)]);
            } else if (dice_below(&dice, 20) == 0) {
                assert_int_equal(cb_rehearse_reboot(stage.rehearse, &err), CB_OK);
            }
            if (cb_bench_front(stage_bench(&stage)) == 0) {
                press(&stage, &dice, &dated);
            }
        }
        stage_fini(&stage);
    }
    print_message("%d coats dated back\n", dated);
    assert_true(dated > evenings);
}

static void no_number_of_the_room_writes(void **state)
{
    (void)state;
    static const char *const points[] = {".", ",", "/", "\u00B0"};
    struct stage stage;
    stage_init_text(&stage, recipe, 5, 24, 80, CB_PING_OFF);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 60);
    const int stores = stage.stores;
    for (uint64_t seed = 1; seed <= (uint64_t)evenings; seed++) {
        struct dice dice = {seed * 104729};
        if (dice_below(&dice, 4) == 0) {
            stage_key(&stage, "-");
        }
        for (uint64_t left = 1 + dice_below(&dice, 4); left > 0; left--) {
            char digit[2] = {(char)('0' + dice_below(&dice, 10)), '\0'};
            stage_key(&stage, digit);
        }
        stage_type(&stage, points[dice_below(&dice, sizeof points / sizeof *points)]);
        for (uint64_t left = dice_below(&dice, 12); left > 0; left--) {
            cb_rehearse_feed(stage.rehearse,
                             (struct cb_input){.kind = CB_INPUT_KEY,
                                               .key = (uint32_t)(' ' + dice_below(&dice, 95))});
        }
        stage_key(&stage, "ENTER");
        if (stage.stores != stores) {
            fail_msg("seed %llu wrote something", (unsigned long long)seed);
        }
    }
    stage_fini(&stage);
}

int main(int argc, char **argv)
{
    evenings = argc > 1 ? atoi(argv[1]) : evenings;
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_coat_is_dated_before_it_could_go_on),
        cmocka_unit_test(no_number_of_the_room_writes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
