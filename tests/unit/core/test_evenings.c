/* SPDX-License-Identifier: MIT */
/* When somebody sat at the bench: sessions with a coat in them, joined over tea and parted over
 * night, by the clock on the wall. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "core/review/evenings.h"
#include "core/review/lesson.h"
#include "support/world.h"

#define COUNT(list) (sizeof(list) / sizeof *(list))

static const char *const recipe =
    "{coatbell: 1, name: r, paints: {rope: {name: Tarred rope, kind: acrylic}}, stages: ["
    "{name: Base, technique: basecoat, paint: rope, minutes: 4}]}";

/* "MINUTE event..;" from 18:00 on: "on F" is a coat on that figure, "wall M" sets the clock. */
static void play(struct world *world, const char *script)
{
    char text[512], *rest = NULL;
    double at_min = 0;
    world_init(world);
    world_begin(world, "u", 9, recipe);
    snprintf(text, sizeof text, "%s", script);
    for (char *line = strtok_r(text, ";", &rest); line; line = strtok_r(NULL, ";", &rest)) {
        const double minute = strtod(line, &line);
        const char *word = line + strspn(line, " ");
        world_wait(world, minute - at_min);
        at_min = minute;
        if (strncmp(word, "on ", 3) == 0) {
            world_do(world, cb_arena_printf(&world->arena, "coat_on u figure=%s stage=1 coat=1",
                                            word + 3));
        } else if (strncmp(word, "wall ", 5) == 0) {
            world->now.wall_ms += (int64_t)(strtod(word + 5, NULL) * 60000);
        } else if (strcmp(word, "undo") == 0) {
            world_undo(world);
        } else {
            world_do(world, word);
        }
    }
}

static const char *told(const struct cb_evening *evenings, size_t count, struct cb_arena *arena)
{
    const char *text = "";
    for (size_t i = 0; i < count; i++) {
        const int64_t start_ms = INT64_C(1767636000000); /* 2026-01-05T18:00:00Z */
        text = cb_arena_printf(arena, "%s%s%g-%g", text, i > 0 ? " " : "",
                               (double)(evenings[i].from_ms - start_ms) / 60000,
                               (double)(evenings[i].to_ms - start_ms) / 60000);
    }
    return text;
}

static void test_sessions(void **state)
{
    (void)state;
    static const struct {
        const char *script, *told;
    } cases[] = {
        {"", ""},
        {"0 session_opened -;5 on 1;90 session_closed -", "0-90"},
        /* nothing was painted */
        {"0 session_opened -;90 session_closed -", ""},
        {"0 session_opened -;5 on 1;6 undo;90 session_closed -", ""},
        /* before it was opened, after it was closed */
        {"5 on 1;10 session_opened -;20 session_closed -;30 on 2", ""},
        /* cut off: to its last event; under way: the same */
        {"0 session_opened -;5 on 1;50 on 2;1500 session_opened -;1510 on 3", "0-50 1500-1510"},
        /* tea; no tea */
        {"0 session_opened -;5 on 1;60 session_closed -;119 session_opened -;125 on 2;"
         "150 session_closed -",
         "0-150"},
        {"0 session_opened -;5 on 1;60 session_closed -;120 session_opened -;125 on 2;"
         "150 session_closed -",
         "0-60 120-150"},
        /* a film of four hours; left open over night, and closed without a coat */
        {"0 session_opened -;5 on 1;245 on 2;250 session_closed -", "0-250"},
        {"0 session_opened -;5 on 1;246 on 2;250 session_closed -", "0-5 246-250"},
        {"0 session_opened -;5 on 1;900 session_closed -", "0-5"},
        /* nobody is there when it rings or the air is told */
        {"0 session_opened -;5 on 1;150 pinged - films=1/1/1 due_at=0 by=desktop;"
         "200 climate_set - temp_c=20 rh_pct=50 air=still from=sensor;300 session_closed -",
         "0-5"},
        /* as the clock stood in the end */
        {"0 session_opened -;5 on 1;10 wall -60;60 on 2;60 session_closed -", "-60-0"},
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        struct world world;
        size_t count;
        play(&world, cases[i].script);
        const struct cb_evening *evenings = cb_evenings_of(world.bench, &world.arena, &count);
        const char *said = told(evenings, count, &world.arena);
        if (strcmp(said, cases[i].told) != 0) {
            fail_msg("%s: %s, wanted %s", cases[i].script, said, cases[i].told);
        }
        world_fini(&world);
    }
}

static void test_both(void **state)
{
    (void)state;
    static const struct cb_evening a[] = {{600000000, 606000000}, {0, 6000000}};
    static const struct cb_evening b[] = {
        {0, 6000000}, {9599999, 9600000}, {602000000, 603000000}, {13200000, 13300000}};
    struct cb_arena arena = {0};
    size_t count;
    const struct cb_evening *both = cb_evenings_both(a, 2, b, 4, &arena, &count);
    static const struct cb_evening wanted[] = {
        {0, 9600000}, {13200000, 13300000}, {600000000, 606000000}};
    assert_int_equal(count, COUNT(wanted));
    assert_memory_equal(both, wanted, sizeof wanted);
    cb_evenings_both(NULL, 0, NULL, 0, &arena, &count);
    assert_int_equal(count, 0);
    cb_arena_fini(&arena);
}

/* With the lesson of the unit, also when that was kept. */
static void test_lesson(void **state)
{
    (void)state;
    struct world world;
    play(&world, "0 session_opened -;5 on 1;30 on 2;90 session_closed -;1440 session_opened -;"
                 "1450 on 3;1500 session_closed -");
    const struct cb_review *review = cb_review_unit(world.bench, 0, CB_TIME_NONE, &world.arena);
    const struct cb_lesson lesson = cb_lesson_of(world.bench, review, &world.arena);
    assert_int_equal(lesson.effort.evening_count, 2);
    struct cb_str bytes = {0};
    struct cb_lesson kept;
    cb_lesson_pack(&lesson, &bytes);
    assert_true(cb_lesson_unpack(bytes.text, bytes.length, &world.arena, &kept));
    assert_string_equal(told(kept.effort.evenings, kept.effort.evening_count, &world.arena),
                        "0-90 1440-1500");
    assert_memory_equal(&kept.effort.change_min, &lesson.effort.change_min, sizeof(double));
    assert_memory_equal(&kept.effort.waiting_min, &lesson.effort.waiting_min, sizeof(double));
    assert_true(lesson.effort.change_min + lesson.effort.waiting_min > 0);
    cb_str_fini(&bytes);
    world_fini(&world);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_sessions), cmocka_unit_test(test_both),
                                       cmocka_unit_test(test_lesson)};
    return cmocka_run_group_tests_name("evenings", tests, NULL, NULL);
}
