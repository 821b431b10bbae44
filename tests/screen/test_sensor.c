/* SPDX-License-Identifier: MIT */
/* When a sensor's word is written, what it is not, and that it is no press of the painter's. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <cmocka.h>

#include "support/stage.h"

static void open_stage(struct stage *stage)
{
    stage_init(stage, "night-watch.yaml", 10, 24, 80, CB_PING_OFF);
    cb_rehearse_sensor(stage->rehearse, "20 50", NULL);
    stage_key(stage, "c");
    stage_type(stage, "Sensor ");
    stage_key(stage, "ENTER");
}

static size_t written(struct stage *stage)
{
    return stage_events(stage, CB_EVENT_CLIMATE_SET);
}

static void hear(struct stage *stage, const char *line)
{
    cb_rehearse_sensor(stage->rehearse, line, NULL);
}

/* Half a degree or two percent, and five minutes; without either once an hour. */
static void moves(void **state)
{
    (void)state;
    struct stage stage;
    open_stage(&stage);
    const size_t before = written(&stage);
    stage_wait(&stage, 6);
    hear(&stage, "20.4 51.9");
    assert_int_equal(written(&stage), before);
    hear(&stage, "20.5 50");
    assert_int_equal(written(&stage), before + 1);
    hear(&stage, "20.5 58"); /* too soon */
    stage_wait(&stage, 4);
    assert_int_equal(written(&stage), before + 1);
    stage_wait(&stage, 2);
    assert_int_equal(written(&stage), before + 2);
    assert_true(stage_shows(&stage, "20.5C 58% sensor"));
    stage_wait(&stage, 58);
    assert_int_equal(written(&stage), before + 2);
    stage_wait(&stage, 3);
    assert_int_equal(written(&stage), before + 3);
    stage_fini(&stage);
}

/* Back and forth every minute of an evening: one event in five minutes at most. */
static void flickers(void **state)
{
    (void)state;
    struct stage stage;
    open_stage(&stage);
    const size_t before = written(&stage);
    for (int minute = 0; minute < 180; minute++) {
        hear(&stage, minute % 3 == 0 ? "12 30" : minute % 3 == 1 ? NULL : "28 80");
        stage_wait(&stage, 1);
    }
    const size_t count = written(&stage) - before;
    assert_true(count >= 20 && count <= 36);
    stage_fini(&stage);
}

static void is_no_answer(void **state)
{
    (void)state;
    static const char *const lines[] = {"",       "warm",   "20",      "20 50 60", "-11 50",
                                        "51 50",  "20 -3",  "20 101",  "85 62",    "20 50 \033[2J",
                                        "1e9 50", "51C 50", "-11C 50", "nan 50",   "0x14 50"};
    struct stage stage;
    open_stage(&stage);
    const size_t before = written(&stage);
    stage_wait(&stage, 6);
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        hear(&stage, lines[i]);
        stage_wait(&stage, 5);
        assert_int_equal(written(&stage), before);
        assert_true(stage_shows(&stage, "20C 50% sensor"));
    }
    assert_true(stage_shows(&stage, "no word from the sensor for 1 h 15 min"));
    hear(&stage, "-10 50"); /* the coldest that is */
    assert_int_equal(written(&stage), before + 1);
    assert_true(stage_shows(&stage, "-10C 50% sensor"));
    stage_fini(&stage);
}

/* It has not answered since the opening, and nobody has told the room. */
static void never(void **state)
{
    (void)state;
    struct stage stage;
    open_stage(&stage);
    stage_reopen(&stage, 20 * 60 * CB_MS_PER_MIN);
    assert_false(stage_shows(&stage, "no word"));
    hear(&stage, NULL);
    assert_true(stage_shows(&stage, "no word from the sensor; c tells the room"));
    assert_true(stage_shows(&stage, "20C 50%, 20 h ago"));
    hear(&stage, "20 50"); /* as it was, and old: told anew */
    assert_false(stage_shows(&stage, "no word"));
    assert_true(stage_shows(&stage, "20C 50% sensor"));
    stage_fini(&stage);
}

/* A bare number of a program is Celsius, whatever the painter types; shown in the painter's unit.
 */
static void fahrenheit(void **state)
{
    (void)state;
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 10, 24, 80, CB_PING_OFF);
    stage.config.fahrenheit = true;
    stage_reopen(&stage, CB_MS_PER_MIN);
    stage_key(&stage, "q");
    stage_reopen(&stage, CB_MS_PER_MIN);
    hear(&stage, "20 55");
    assert_true(stage_shows(&stage, "68F 55% sensor"));
    stage_wait(&stage, 6);
    hear(&stage, "59F 55%");
    assert_true(stage_shows(&stage, "59F 55% sensor"));
    stage_wait(&stage, 6);
    hear(&stage, "25.0C 55.0%");
    assert_true(stage_shows(&stage, "77F 55% sensor"));
    stage_fini(&stage);
}

/* It neither moves the coat named, nor stands as the last press, nor is taken back. */
static void no_press(void **state)
{
    (void)state;
    struct stage stage;
    open_stage(&stage);
    stage_key(&stage, "SPACE");
    assert_true(stage_shows(&stage, "takes it back"));
    const size_t coats = stage_events(&stage, CB_EVENT_COAT_ON);
    const char *named = strstr(stage_text(&stage), "SPACE when");
    char offer[40];
    snprintf(offer, sizeof offer, "%.39s", named);
    stage_wait(&stage, 6);
    hear(&stage, "27 30");
    assert_true(stage_shows(&stage, "27C 30% sensor"));
    assert_true(stage_shows(&stage, offer));
    assert_false(stage_shows(&stage, "takes it back"));
    stage_key(&stage, "F4"); /* what is stored while a view shows that undoes its own alone */
    stage_wait(&stage, 6);
    hear(&stage, "20 30");
    stage_key(&stage, "BACKSPACE");
    assert_int_equal(stage_events(&stage, CB_EVENT_UNDONE), 0);
    stage_key(&stage, "F1");
    stage_key(&stage, "BACKSPACE");
    assert_int_equal(stage_events(&stage, CB_EVENT_UNDONE), 1);
    assert_int_equal(stage_events(&stage, CB_EVENT_COAT_ON), coats);
    assert_true(stage_shows(&stage, "20C 30% sensor"));
    stage_fini(&stage);
}

/* What is typed wins, whatever it says; not any more once the session was closed. */
static void typed(void **state)
{
    (void)state;
    struct stage stage;
    open_stage(&stage);
    stage_key(&stage, "c");
    stage_type(&stage, "21 55");
    stage_key(&stage, "ENTER");
    const size_t before = written(&stage);
    hear(&stage, "27 30");
    stage_wait(&stage, 70);
    assert_int_equal(written(&stage), before);
    assert_true(stage_shows(&stage, "21C 55%"));
    stage_key(&stage, "BACKSPACE"); /* taken back, and the sensor's word counts again */
    stage_wait(&stage, 1);
    assert_int_equal(written(&stage), before + 1);
    assert_true(stage_shows(&stage, "27C 30% sensor"));
    stage_key(&stage, "c");
    stage_type(&stage, "21 55");
    stage_key(&stage, "ENTER");
    stage_wait(&stage, 1);
    stage_key(&stage, "q");
    stage_reopen(&stage, 10 * CB_MS_PER_MIN);
    hear(&stage, "27 30");
    assert_true(stage_shows(&stage, "27C 30% sensor"));
    stage_fini(&stage);
}

/* A bench that was killed never says that its session is over: the second opening since does. The
 * first may be the one for which `begin` took what was typed; and what another machine's log says
 * of its sessions is not about this room. */
static void cut_off(void **state)
{
    (void)state;
    struct stage stage;
    struct cb_arena arena = {0};
    struct cb_event_make make;
    const struct cb_event **stored = NULL;
    struct cb_err err = {0};
    open_stage(&stage);
    stage_key(&stage, "c");
    stage_type(&stage, "21 55");
    stage_key(&stage, "ENTER");
    stage_wait(&stage, 1);
    const struct cb_moment now = cb_rehearse_now(stage.rehearse);
    cb_event_begin(&make, &arena, CB_EVENT_SESSION_CLOSED, NULL, &now);
    struct cb_event other = *cb_event_take(&make);
    other.id = other.press = "elsewhere-1";
    other.machine = "elsewhere";
    const struct cb_event *const one[] = {&other};
    assert_int_equal(cb_store_append(stage.store, one, 1, &arena, &stored, &err), CB_OK);
    for (int opening = 1; opening <= 2; opening++) {
        stage_reopen(&stage, 10 * CB_MS_PER_MIN);
        hear(&stage, "27 30");
        assert_int_equal(stage_shows(&stage, "27C 30% sensor"), opening == 2);
    }
    cb_arena_fini(&arena);
    stage_fini(&stage);
}

/* Asleep nobody asks it: that is no silence of its own, unless it has no answer afterwards. */
static void asleep(void **state)
{
    (void)state;
    struct stage stage;
    open_stage(&stage);
    cb_rehearse_sleep(stage.rehearse, 8 * 60 * CB_MS_PER_MIN);
    assert_false(stage_shows(&stage, "no word"));
    hear(&stage, NULL);
    assert_true(stage_shows(&stage, "no word from the sensor for 8 h"));
    stage_fini(&stage);
}

/* Without one the word gives nothing back. */
static void no_sensor(void **state)
{
    (void)state;
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 10, 24, 80, CB_PING_OFF);
    const size_t before = written(&stage);
    stage_key(&stage, "c");
    stage_type(&stage, "sensor");
    stage_key(&stage, "ENTER");
    assert_true(stage_shows(&stage, "no sensor is set: sensor: in config.yaml"));
    assert_int_equal(written(&stage), before);
    stage_fini(&stage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(moves),     cmocka_unit_test(flickers),   cmocka_unit_test(is_no_answer),
        cmocka_unit_test(never),     cmocka_unit_test(fahrenheit), cmocka_unit_test(no_press),
        cmocka_unit_test(typed),     cmocka_unit_test(cut_off),    cmocka_unit_test(asleep),
        cmocka_unit_test(no_sensor),
    };
    return cmocka_run_group_tests_name("sensor", tests, NULL, NULL);
}
