/* SPDX-License-Identifier: MIT */
/* The demo's guide: a line at a time, gone when it is done or read, and never in the way. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "app/session.h"
#include "support/stage.h"

static const char *const recipe =
    "coatbell: 1\nname: Guide\nfigures: 3\n"
    "paints: {green: {name: Oilskin green, kind: acrylic}}\n"
    "stages:\n  - {name: Coats, technique: basecoat, paint: green, coats: 2, minutes: 1}\n";

#define SECOND (1.0 / 60)

static const char *const lines[] = {
    "SPACE does what stands under the big number, the figure",
    "what dries counts down, and rings: d says dry, w still wet",
    "F3 is the road: what is left, and when it is finished",
    "F1 is the bench again; at 120x40 its board says who has what",
    "a line after a dot is a cue, said at its moment; m mutes it",
    "s: a stroke on a scrap, which you may touch; then dry or wet",
    "q closes; `coatbell demo --resume` goes on with it",
};
#define LINES (sizeof lines / sizeof *lines)

static void begin(struct stage *stage, bool guided)
{
    stage_init_text(stage, recipe, 3, 24, 80, CB_PING_NEEDED);
    if (guided) {
        cb_rehearse_guide(stage->rehearse, true);
    }
}

/* The one that is shown; LINES: none, and never two. */
static size_t shown(struct stage *stage)
{
    size_t at = LINES;
    for (size_t i = 0; i < LINES; i++) {
        if (stage_shows(stage, lines[i])) {
            assert_int_equal(at, LINES);
            at = i;
        }
    }
    return at;
}

static void test_each_key_leads_on(void **state)
{
    (void)state;
    static const struct {
        const char *key;
        size_t next;
        double wait_s; /* until the answer to the key is gone */
    } steps[] = {{"SPACE", 1, 6}, {"w", 2, 11}, {"TAB", 2, 0}, {"F3", 3, 0},
                 {"F1", 4, 0},    {"m", 5, 0},  {"s", 6, 11}};
    struct stage stage;
    begin(&stage, true);
    assert_int_equal(shown(&stage), 0);
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
        stage_key(&stage, steps[i].key);
        if (shown(&stage) == LINES) { /* a key's own answer goes first */
            stage_key(&stage, "ESC");
        }
        if (shown(&stage) == LINES) {
            stage_wait(&stage, steps[i].wait_s * SECOND);
        }
        assert_int_equal(shown(&stage), steps[i].next);
    }
    stage_fini(&stage);
}

/* Who only reads is led on by the time that it takes, and through all of it in a minute or so. */
static void test_read(void **state)
{
    (void)state;
    struct stage stage;
    size_t last = 0;
    int seconds = 0;
    begin(&stage, true);
    for (; shown(&stage) < LINES; seconds++) {
        assert_true(shown(&stage) >= last);
        last = shown(&stage);
        stage_wait(&stage, SECOND);
        assert_true(seconds < 90);
    }
    assert_int_equal(last, LINES - 1);
    assert_true(seconds > 45);
    assert_false(stage_shows(&stage, "ends this"));
    stage_fini(&stage);
}

/* Nobody is sent to go on with a demo that is not kept. */
static void test_not_kept(void **state)
{
    (void)state;
    struct stage stage;
    begin(&stage, false);
    cb_rehearse_guide(stage.rehearse, false);
    assert_int_equal(shown(&stage), 0);
    for (int seconds = 0; seconds < 90; seconds++) {
        assert_int_not_equal(shown(&stage), LINES - 1);
        stage_wait(&stage, SECOND);
    }
    assert_int_equal(shown(&stage), LINES);
    stage_fini(&stage);
}

static void test_ends_for_good(void **state)
{
    (void)state;
    struct stage stage;
    begin(&stage, true);
    assert_true(stage_shows(&stage, "(F9 ends this)"));
    stage_key(&stage, "F9");
    assert_true(stage_shows(&stage, "the guide is over; ? shows all keys"));
    stage_key(&stage, "ESC");
    assert_int_equal(shown(&stage), LINES);
    stage_wait(&stage, 5);
    assert_int_equal(shown(&stage), LINES);
    stage_key(&stage, "F9"); /* and is a key like others again */
    assert_true(stage_shows(&stage, "F9 does nothing"));
    stage_fini(&stage);
}

/* The key that ends it is one that the painter has given no meaning. */
static void test_takes_no_key(void **state)
{
    (void)state;
    static const struct cb_config_key keys[] = {
        {"dry", "F9", 1, 1}, {"wet", "F7", 1, 1}, {"lifted", "F8", 1, 1}, {"tidied", "F6", 1, 1}};
    struct stage stage;
    for (size_t count = 0; count <= 4; count++) {
        static const char *const ends[] = {"(F9 ends", "(F8 ends", "(F8 ends", "(F6 ends", NULL};
        begin(&stage, false);
        stage.config.keys = keys;
        stage.config.key_count = count;
        stage_reopen(&stage, 1000);
        cb_rehearse_guide(stage.rehearse, true);
        assert_int_equal(stage_shows(&stage, "ends this"), ends[count] != NULL);
        assert_true(ends[count] == NULL || stage_shows(&stage, ends[count]));
        if (count == 1) { /* and the line names the painter's own key */
            stage_key(&stage, "SPACE");
            stage_wait(&stage, 6 * SECOND);
            assert_true(stage_shows(&stage, "and rings: F9 says dry, w still wet (F8 ends this)"));
        }
        stage_fini(&stage);
    }
}

/* What is pressed does the same with it and without: all keys but the one that ends it. */
static void test_same_presses(void **state)
{
    (void)state;
    static const char *const keys[] = {
        "SPACE", "SPACE", "2", "SPACE", "d", "w",   "s",  "F3", "F1",  "m", "BACKSPACE", "r",
        "TAB",   "ESC",   "k", "k",     "f", "ESC", "F5", "F2", "ESC", "p", "p",         "SPACE"};
    struct stage with, without;
    begin(&with, true);
    begin(&without, false);
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        stage_key(&with, keys[i]);
        stage_key(&without, keys[i]);
        stage_wait(&with, .2);
        stage_wait(&without, .2);
        for (int kind = 0; kind < CB_EVENT_COUNT; kind++) {
            assert_int_equal(stage_events(&with, (enum cb_event_kind)kind),
                             stage_events(&without, (enum cb_event_kind)kind));
        }
    }
    stage_fini(&with);
    stage_fini(&without);
}

/* What a key answers or asks stands in its place, and it waits until that is gone. */
static void test_never_in_the_way(void **state)
{
    (void)state;
    struct stage stage;
    begin(&stage, true);
    stage_key(&stage, "f");
    assert_true(stage_shows(&stage, "f again"));
    assert_int_equal(shown(&stage), LINES);
    stage_wait(&stage, 2);
    assert_true(stage_shows(&stage, "f again"));
    stage_key(&stage, "ESC");
    assert_int_equal(shown(&stage), 0);
    stage_key(&stage, "n"); /* a line that is typed is the painter's */
    stage_type(&stage, "tea");
    assert_true(stage_shows(&stage, "tea"));
    stage_key(&stage, "ENTER");
    assert_int_equal(stage_events(&stage, CB_EVENT_NOTE), 1);
    stage_fini(&stage);
}

/* What asks nothing stands for five seconds, then the guide goes on. */
static void test_answer_is_read(void **state)
{
    (void)state;
    struct stage stage;
    begin(&stage, true);
    stage_key(&stage, "F12");
    assert_true(stage_shows(&stage, "F12 does nothing"));
    for (int twice = 0; twice < 2; twice++) { /* and the next one as long again */
        for (int second = 1; second < 5; second++) {
            stage_wait(&stage, SECOND);
            assert_int_equal(shown(&stage), LINES);
        }
        stage_key(&stage, "F11");
        assert_true(stage_shows(&stage, "F11 does nothing"));
    }
    stage_wait(&stage, 6 * SECOND);
    assert_true(shown(&stage) < LINES);
    stage_fini(&stage);
}

/* The demo's bench, a second as a minute, which paints by itself. */
static void begin_demo(struct stage *stage)
{
    begin(stage, false);
    stage->pilot = true;
    stage->speed = 60;
    stage_reopen(stage, 1000);
    cb_rehearse_guide(stage->rehearse, true);
}

static void test_paints_by_itself_until_space(void **state)
{
    (void)state;
    struct stage stage;
    begin_demo(&stage);
    for (int coat = 1; coat <= 3; coat++) {
        stage_wait(&stage, 10);
        stage_do(&stage, CB_ACTION_COAT_ON); /* as the demo does it */
        assert_int_equal(stage_events(&stage, CB_EVENT_COAT_ON), coat);
        assert_true(stage_shows(&stage, "it paints by itself"));
        assert_false(stage_shows(&stage, "takes it back"));
        assert_int_equal(shown(&stage), LINES);
    }
    stage_key(&stage, "n"); /* a blank that is typed takes no brush */
    stage_type(&stage, "a b");
    stage_key(&stage, "ENTER");
    assert_true(cb_app_session(cb_rehearse_app(stage.rehearse))->pilot);
    stage_key(&stage, "4");
    stage_key(&stage, "SPACE"); /* takes the brush, and no coat is on by that */
    assert_true(stage_shows(&stage, "the brush is yours"));
    assert_false(cb_app_session(cb_rehearse_app(stage.rehearse))->pilot);
    assert_int_equal(stage_events(&stage, CB_EVENT_COAT_ON), 3);
    stage_wait(&stage, 6);
    assert_int_equal(shown(&stage), 0);
    stage_key(&stage, "SPACE");
    assert_int_equal(stage_events(&stage, CB_EVENT_COAT_ON), 4);
    assert_true(stage_shows(&stage, "takes it back"));
    stage_fini(&stage);
}

/* What a press did stands for as long as it takes to read, by the reader's clock; shorter where a
 * guide is to go on. */
static void test_reply_is_read(void **state)
{
    (void)state;
    struct stage stage;
    for (int guided = 0; guided < 2; guided++) {
        begin_demo(&stage);
        stage_key(&stage, "SPACE");
        if (!guided) {
            stage_key(&stage, "F9");
        }
        stage_key(&stage, "SPACE");
        stage_key(&stage, "w");
        assert_true(stage_shows(&stage, "still wet on 1"));
        stage_wait(&stage, guided ? 4.9 : 9.9); /* a minute is a second */
        assert_true(stage_shows(&stage, "still wet on 1"));
        stage_wait(&stage, .3);
        assert_false(stage_shows(&stage, "still wet on 1"));
        stage_fini(&stage);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_each_key_leads_on),
        cmocka_unit_test(test_read),
        cmocka_unit_test(test_not_kept),
        cmocka_unit_test(test_ends_for_good),
        cmocka_unit_test(test_takes_no_key),
        cmocka_unit_test(test_same_presses),
        cmocka_unit_test(test_never_in_the_way),
        cmocka_unit_test(test_answer_is_read),
        cmocka_unit_test(test_paints_by_itself_until_space),
        cmocka_unit_test(test_reply_is_read),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
