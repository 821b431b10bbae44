/* SPDX-License-Identifier: MIT */
/* Whoever moves the keys reads the new ones everywhere: with every action on a key of its own, no
 * screen, line or question names a default key that does nothing any more. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "app/action.h"
#include "base/utf8.h"
#include "support/events.h"
#include "support/stage.h"

#define FIRST_LETTER 0x3B1 /* Greek: letters that no text of ours has */

static struct cb_config_key rows[CB_ACTION_COUNT];
static char letters[CB_ACTION_COUNT][5];

static void move_keys(struct stage *stage)
{
    for (uint32_t i = 0; i < CB_ACTION_COUNT; i++) {
        size_t n = cb_utf8_write(i < 24 ? FIRST_LETTER + i : 0x410 + i, letters[i]);
        letters[i][n] = '\0';
        rows[i] = (struct cb_config_key){cb_action_name((enum cb_action)i), letters[i], 1, 1};
    }
    stage->config.keys = rows;
    stage->config.key_count = CB_ACTION_COUNT;
    stage_reopen(stage, 1000);
}

/* Keys that are no action's: lists and lines have them whatever the user's keys are. */
static bool is_fixed(const char *line, const char *word)
{
    static const char *const by_line[][2] = {
        {"ENTER begin", "ENTER"},   {"UP DOWN choose", "UP"},      {"UP DOWN choose", "DOWN"},
        {"ENTER goes on", "ENTER"}, {"ENTER:", "ENTER"},           {"; ENTER", "ENTER"},
        {"ENTER writes", "ENTER"},  {"ENTER takes over", "ENTER"}, {"ENTER yes", "ENTER"},
        {"ENTER writes", "UP"},     {"ENTER writes", "DOWN"},      {"ENTER writes", "LEFT"},
        {"ENTER writes", "RIGHT"},  {"pot; RIGHT", "RIGHT"},       {"RIGHT shows", "RIGHT"},
        {"RIGHT, all", "RIGHT"},    {"LEFT earlier", "LEFT"},      {"LEFT earlier", "RIGHT"},
        {"RIGHT turns", "RIGHT"},   {"ENTER again", "ENTER"},      {"ENTER takes it", "ENTER"},
        {"TAB the word", "TAB"},    {"or ENTER joins", "ENTER"},   {"ENTER open", "ENTER"},
    };
    for (size_t i = 0; i < sizeof by_line / sizeof *by_line; i++) {
        if (strstr(line, by_line[i][0]) && strcmp(by_line[i][1], word) == 0) {
            return true;
        }
    }
    return false;
}

/* A word of the screen that is the name of a default key. "a", the h of hours and
 * WHAT IS LEFT are no keys. */
static bool names_a_default(const char *word, const char *before)
{
    static const char *const names[] = {
        "SPACE", "PAGEDOWN", "PGDN", "ENTER", "BKSP", "BACKSPACE", "LEFT", "RIGHT", "UP",
        "DOWN",  "TAB",      "F1",   "F2",    "F3",   "F4",        "F5",   "?",     "_",
        "d",     "w",        "l",    "t",     "h",    "x",         "p",    "c",     "n",
        "j",     "i",        "o",    "R",     "u",    "r",         "g",    "f",     "q",
    };
    if (strcmp(word, "h") == 0 && before[0] != '\0') {
        return false; /* hours */
    }
    if (strcmp(word, "LEFT") == 0 && strcmp(before, "IS") == 0) {
        return false; /* WHAT IS LEFT */
    }
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        if (strcmp(word, names[i]) == 0) {
            return true;
        }
    }
    return false;
}

static void check_screen(struct stage *stage, const char *where)
{
    char *text = cb_arena_text(&stage->arena, stage_text(stage));
    char *lines = NULL;
    for (char *line = strtok_r(text, "\n", &lines); line; line = strtok_r(NULL, "\n", &lines)) {
        char *whole = cb_arena_text(&stage->arena, line), *words = NULL;
        const char *before = "";
        if (strstr(line, "hands-on")) {
            continue; /* the signs of the review's time line */
        }
        assert_null(strstr(line, "+ new bottle")); /* else a plus is part of a mix */
        assert_null(strstr(line, "+ coat more"));
        for (char *word = strtok_r(line, " ", &words); word; word = strtok_r(NULL, " ", &words)) {
            size_t length = strlen(word);
            while (length > 1 && strchr(",;.:", word[length - 1])) {
                word[--length] = '\0';
            }
            if (names_a_default(word, before) && !is_fixed(whole, word)) {
                fail_msg("%s: '%s' in: %s", where, word, whole);
            }
            before = word;
        }
    }
}

static void check_sizes(struct stage *stage, const char *where)
{
    static const int sizes[][2] = {{50, 15}, {80, 24}, {120, 40}};
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        stage_size(stage, sizes[i][0], sizes[i][1]);
        check_screen(stage, where);
    }
}

static void press(struct stage *stage, enum cb_action action)
{
    stage_key(stage, letters[action]);
}

/* Every action by its moved key, in every view, in a long evening, two units, cold air and
 * questions. */
static void no_screen_names_a_key_that_was_moved(void **state)
{
    (void)state;
    static const enum cb_action views[] = {
        CB_ACTION_VIEW_BENCH,  CB_ACTION_VIEW_RACK, CB_ACTION_VIEW_ROAD, CB_ACTION_VIEW_POTS,
        CB_ACTION_VIEW_REVIEW, CB_ACTION_GLANCE,    CB_ACTION_HELP};
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 4, 24, 80, CB_PING_NEEDED);
    move_keys(&stage);
    check_sizes(&stage, "opened");
    struct dice dice = {7};
    for (int round = 0; round < 120; round++) {
        for (size_t v = 0; v < sizeof views / sizeof *views; v++) {
            press(&stage, views[v]);
            check_sizes(&stage, cb_action_name(views[v]));
        }
        press(&stage, CB_ACTION_VIEW_BENCH);
        enum cb_action action = (enum cb_action)(dice_below(&dice, CB_ACTION_COUNT));
        action = round % 3 ? CB_ACTION_COAT_ON : action == CB_ACTION_QUIT ? CB_ACTION_DRY : action;
        press(&stage, action);
        check_sizes(&stage, cb_action_name(action));
        if (action == CB_ACTION_CLIMATE && round % 2) {
            stage_type(&stage, "6 80");
            stage_key(&stage, "ENTER");
        }
        stage_key(&stage, "ESC");
        stage_key(&stage, "ESC");
        check_sizes(&stage, "after ESC");
        stage_wait(&stage, round % 7 == 0 ? 95 : round % 4);
        check_sizes(&stage, "later");
    }
    stage_fini(&stage);
}

static void nor_one_of_the_rarer_lines(void **state)
{
    (void)state;
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 3, 24, 80, CB_PING_NEEDED);
    move_keys(&stage);
    stage_key(&stage, "SPACE");
    assert_true(stage_shows(&stage, "SPACE does nothing"));
    stage_key(&stage, "ESC");
    check_sizes(&stage, "an unbound key");
    press(&stage, CB_ACTION_PAUSE);
    check_sizes(&stage, "paused");
    press(&stage, CB_ACTION_PAUSE);
    press(&stage, CB_ACTION_STAGE_NEXT);
    press(&stage, CB_ACTION_STAGE_NEXT);
    check_sizes(&stage, "gone to by hand");
    press(&stage, CB_ACTION_COAT_ON);
    check_sizes(&stage, "a stage skipped");
    press(&stage, CB_ACTION_UNDO);
    press(&stage, CB_ACTION_UNDO);
    check_sizes(&stage, "undo asked about the unit");
    press(&stage, CB_ACTION_REDO);
    check_sizes(&stage, "redo");
    press(&stage, CB_ACTION_VIEW_POTS);
    press(&stage, CB_ACTION_COAT_ADD);
    check_sizes(&stage, "a new bottle");
    press(&stage, CB_ACTION_BOTTLE_NEW);
    check_sizes(&stage, "another bottle");
    press(&stage, CB_ACTION_PAINT_JOIN);
    check_sizes(&stage, "one with which other");
    for (int i = 0; i < 5; i++) {
        press(&stage, CB_ACTION_STAGE_NEXT);
        check_sizes(&stage, "one with this");
    }
    press(&stage, CB_ACTION_PAINT_JOIN);
    check_sizes(&stage, "joined");
    press(&stage, CB_ACTION_LEAVE_OUT);
    check_sizes(&stage, "forgotten");
    press(&stage, CB_ACTION_COAT_ON);
    check_sizes(&stage, "no coats here");
    cb_rehearse_set_wall(stage.rehearse, 50 * CB_MS_PER_MIN);
    press(&stage, CB_ACTION_VIEW_BENCH);
    check_sizes(&stage, "the clock was set");
    stage_wait(&stage, 200);
    check_sizes(&stage, "an old climate");
    cb_rehearse_feed(stage.rehearse, (struct cb_input){.kind = CB_INPUT_ROLE});
    check_sizes(&stage, "looking on");
    press(&stage, CB_ACTION_COAT_ON);
    check_sizes(&stage, "looking on, a press");
    cb_rehearse_feed(stage.rehearse, (struct cb_input){.kind = CB_INPUT_ROLE, .offer = true});
    check_sizes(&stage, "the other is gone");
    cb_rehearse_feed(stage.rehearse, (struct cb_input){.kind = CB_INPUT_ROLE, .writer = true});
    press(&stage, CB_ACTION_FINISH);
    check_sizes(&stage, "finish asked");
    press(&stage, CB_ACTION_FINISH);
    check_sizes(&stage, "finished");
    stage_key(&stage, "ESC");
    check_sizes(&stage, "the chooser");
    press(&stage, CB_ACTION_UNDO);
    press(&stage, CB_ACTION_UNDO);
    check_sizes(&stage, "the finish taken back");
    stage_fini(&stage);
}

/* An action that no key does is named itself. */
static void a_sentence_stays_whole_without_a_key(void **state)
{
    (void)state;
    static const struct cb_config_key taken[] = {{"note", "BACKSPACE", 1, 1}, {"note", "u", 1, 1}};
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 3, 24, 80, CB_PING_NEEDED);
    stage.config.keys = taken;
    stage.config.key_count = 2;
    stage_reopen(&stage, 1000);
    stage_key(&stage, "SPACE");
    assert_true(stage_shows(&stage, "undo takes it back"));
    stage_fini(&stage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_screen_names_a_key_that_was_moved),
        cmocka_unit_test(nor_one_of_the_rarer_lines),
        cmocka_unit_test(a_sentence_stays_whole_without_a_key),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
