/* SPDX-License-Identifier: MIT */
/* Whatever is pressed at whatever size: nothing is written outside the grid, nothing wet is ever
 * offered, and undo and redo bring the same screen back to the cell. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "core/bench/next.h"
#include "support/events.h"
#include "support/grid_check.h"
#include "support/operate.h"
#include "support/stage.h"
#include "app/key.h"
#include "view/grid.h"

static const char *const recipes[] = {"night-watch.yaml", "marsh-troll.yaml",
                                      "league-pikemen.yaml"};
static const char *const views[] = {"bench",  "rack", "road",    "pots", "review",
                                    "glance", "help", "changes", "edit"};

static uint64_t seed_of(uint64_t otherwise)
{
    const char *given = getenv("SEED");
    return given ? strtoull(given, NULL, 10) : otherwise;
}

static void check_grid(struct stage *stage)
{
    const char *fault = grid_fault(cb_rehearse_grid(stage->rehearse));
    if (fault) {
        fail_msg("%s", fault);
    }
}

/* No film below or beside a coat that is offered is thought wet. */
static void check_offer(struct stage *stage)
{
    const struct cb_app *app = cb_rehearse_app(stage->rehearse);
    const struct cb_bench *bench = cb_app_bench(app);
    int front = cb_bench_front(bench);
    if (front < 0) {
        return;
    }
    struct cb_moment now = cb_app_now(app);
    const struct cb_unit *unit = cb_bench_unit(bench, (size_t)front);
    int64_t now_ms = cb_bench_time(bench, &now);
    struct cb_proposal proposal = cb_next_propose(bench, cb_app_learn(app), unit, 0, 0, now_ms);
    if (proposal.any) {
        assert_false(proposal.thought_wet);
        struct cb_slot slot =
            cb_next_slot(bench, cb_app_learn(app), unit, proposal.figure, proposal.stage, now_ms);
        assert_int_equal(slot.state, CB_SLOT_READY);
    }
}

static void random_key(struct stage *stage, struct dice *dice)
{
    static const uint32_t keys[] = {
        CB_KEY_SPACE,    CB_KEY_SPACE, CB_KEY_SPACE, CB_KEY_SPACE,  CB_KEY_ENTER,  CB_KEY_BACKSPACE,
        CB_KEY_TAB,      CB_KEY_ESC,   CB_KEY_LEFT,  CB_KEY_RIGHT,  CB_KEY_UP,     CB_KEY_DOWN,
        CB_KEY_PAGEDOWN, CB_KEY_HOME,  CB_KEY_F1,    CB_KEY_F1 + 1, CB_KEY_F1 + 3,
    };
    uint64_t pick = dice_below(dice, 40);
    uint32_t key =
        pick < sizeof keys / sizeof *keys ? keys[pick] : (uint32_t)(' ' + dice_below(dice, 95));
    cb_rehearse_feed(stage->rehearse, (struct cb_input){.kind = CB_INPUT_KEY, .key = key});
}

static void any_sequence_at_any_size(void **state)
{
    (void)state;
    uint64_t seed = seed_of(1);
    printf("SEED=%llu\n", (unsigned long long)seed);
    for (int run = 0; run < 6; run++) {
        struct dice dice = {seed * 1000 + (uint64_t)run};
        struct stage stage;
        stage_init(&stage, recipes[run % 3], 1 + (int)dice_below(&dice, 12), 24, 80,
                   (enum cb_ping_policy)(run % CB_PING_COUNT));
        for (int i = 0; i < 120; i++) {
            switch (dice_below(&dice, 8)) {
            case 0:
                stage_wait(&stage, (double)dice_below(&dice, 40));
                break;
            case 1:
                stage_do(&stage, (enum cb_action)dice_below(&dice, CB_ACTION_COUNT));
                break;
            case 2:
                stage_size(&stage, 1 + (int)dice_below(&dice, 200), 1 + (int)dice_below(&dice, 60));
                break;
            case 3:
                cb_rehearse_show(stage.rehearse,
                                 views[dice_below(&dice, sizeof views / sizeof *views)]);
                break;
            default:
                random_key(&stage, &dice);
            }
            check_grid(&stage);
            check_offer(&stage);
        }
        stage_fini(&stage);
    }
}

/* What a fuzzer tries for longer, at random: also a disk that says no, other boots and clocks, what
 * others write. */
static void any_bytes_as_an_evening(void **state)
{
    (void)state;
    uint64_t seed = seed_of(1);
    for (int run = 0; run < 40; run++) {
        struct dice dice = {seed * 1000 + (uint64_t)run};
        struct cb_arena arena = {0};
        uint8_t bytes[OPERATE_BYTES_MAX];
        for (size_t i = 0; i < sizeof bytes; i++) {
            bytes[i] = (uint8_t)dice_next(&dice);
        }
        const char *fault = operate(bytes, sizeof bytes, &arena);
        if (fault) {
            fail_msg("run %d of seed %llu: %s", run, (unsigned long long)seed, fault);
        }
        cb_arena_fini(&arena);
    }
}

/* Every size there is, at a moment with something in every state. */
static void every_size(void **state)
{
    (void)state;
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 12, 24, 80, CB_PING_NEEDED);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 30);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 4);
    for (int rows = 1; rows <= 60; rows += rows < 16 ? 2 : 11) {
        for (int columns = 1; columns <= 200; columns += columns < 60 ? 5 : 37) {
            stage_size(&stage, columns, rows);
            for (size_t v = 0; v < sizeof views / sizeof *views; v++) {
                cb_rehearse_show(stage.rehearse, views[v]);
                check_grid(&stage);
            }
        }
    }
    stage_fini(&stage);
}

static void copy_grid(struct stage *stage, struct cb_grid *copy)
{
    const struct cb_grid *grid = cb_rehearse_grid(stage->rehearse);
    cb_grid_init(copy, grid->rows, grid->columns);
    memcpy(copy->cells, grid->cells,
           (size_t)grid->rows * (size_t)grid->columns * sizeof *copy->cells);
    copy->cursor_row = grid->cursor_row;
    copy->cursor_column = grid->cursor_column;
    copy->cursor_shown = grid->cursor_shown;
}

static void undo_to_the_empty_bench_and_redo(void **state)
{
    (void)state;
    uint64_t seed = seed_of(7);
    for (int run = 0; run < 3; run++) {
        struct dice dice = {seed * 100 + (uint64_t)run};
        struct stage stage;
        struct cb_arena arena = {0};
        static const enum cb_action writing[] = {
            CB_ACTION_COAT_ON, CB_ACTION_COAT_ON,     CB_ACTION_COAT_ON,    CB_ACTION_COAT_ON_REST,
            CB_ACTION_DRY,     CB_ACTION_WET,         CB_ACTION_LIFTED,     CB_ACTION_TIDIED,
            CB_ACTION_HELPED,  CB_ACTION_COAT_ADD,    CB_ACTION_COAT_SPARE, CB_ACTION_LEAVE_OUT,
            CB_ACTION_PAUSE,   CB_ACTION_FIGURE_NEXT, CB_ACTION_STAGE_NEXT, CB_ACTION_UNDO,
            CB_ACTION_REDO,
        };
        stage_init(&stage, recipes[run], 6, 40, 120, CB_PING_OFF);
        for (int i = 0; i < 200; i++) {
            if (dice_below(&dice, 3) == 0) {
                stage_wait(&stage, (double)dice_below(&dice, 25));
            }
            stage_do(&stage, writing[dice_below(&dice, sizeof writing / sizeof *writing)]);
        }
        const struct cb_bench *bench = cb_app_bench(cb_rehearse_app(stage.rehearse));
        while (cb_bench_redoable(bench, &arena, NULL)) {
            stage_do(&stage, CB_ACTION_REDO);
        }
        stage_key(&stage, "ESC"); /* what was gone to by hand is no part of the log */
        struct cb_grid before;
        copy_grid(&stage, &before);
        int undone = 0, redone = 0;
        while (cb_bench_undoable(bench, &arena, NULL)) {
            stage_do(&stage, CB_ACTION_UNDO);
            check_grid(&stage);
            undone++;
        }
        assert_true(undone > 50);
        assert_int_equal(cb_bench_front(bench), -1);
        while (cb_bench_redoable(bench, &arena, NULL)) {
            stage_do(&stage, CB_ACTION_REDO);
            redone++;
        }
        stage_key(&stage, "ESC");
        assert_int_equal(undone, redone);
        /* the line that says what the last key did is no part of the log either */
        const struct cb_grid *after = cb_rehearse_grid(stage.rehearse);
        const size_t said = (size_t)(before.rows - 2) * (size_t)before.columns;
        memcpy(before.cells + said, after->cells + said,
               (size_t)before.columns * sizeof *before.cells);
        if (!cb_grid_equal(&before, cb_rehearse_grid(stage.rehearse))) {
            struct cb_str text = {0};
            cb_grid_dump(&before, &text);
            cb_grid_dump(cb_rehearse_grid(stage.rehearse), &text);
            fail_msg("run %d of seed %llu:\n%s", run, (unsigned long long)seed, cb_str_text(&text));
        }
        cb_grid_fini(&before);
        cb_arena_fini(&arena);
        stage_fini(&stage);
    }
}

/* The plug pulled at any moment: the same bench comes up, to the cell. */
static void pulling_the_plug_changes_nothing(void **state)
{
    (void)state;
    struct dice dice = {seed_of(3)};
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 8, 40, 120, CB_PING_NEEDED);
    stage_key(&stage, "SPACE"); /* a caution, which every opening shows anew */
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 30);
    for (int i = 0; i < 25; i++) {
        stage_key(&stage, dice_below(&dice, 4) == 0 ? "a" : "SPACE");
        stage_wait(&stage, (double)dice_below(&dice, 15));
        stage_key(&stage, "ESC");
        struct cb_grid before;
        struct cb_err err = {0};
        copy_grid(&stage, &before);
        assert_int_equal(cb_rehearse_reboot(stage.rehearse, &err), CB_OK);
        stage_key(&stage, "ESC"); /* the question about the tail, asked until a key */
        const struct cb_grid *after = cb_rehearse_grid(stage.rehearse);
        /* The bell is a process of its own and starts anew: its word may differ. */
        for (int row = 0; row < after->rows; row++) {
            for (int column = 0; column < after->columns; column++) {
                int at = row * after->columns + column;
                if (row == 13 && before.cells[at].cp == ';' && before.cells[at + 2].cp == 'a') {
                    break; /* dated back to the opening at the most, and that was now */
                }
                if (row != 15 && before.cells[at].cp != after->cells[at].cp) {
                    fail_msg("row %d differs:\n%s", row, stage_text(&stage));
                }
            }
        }
        cb_grid_fini(&before);
    }
    stage_fini(&stage);
}

static void paste(struct stage *stage, const char *text)
{
    cb_rehearse_feed(stage->rehearse, (struct cb_input){.kind = CB_INPUT_TEXT, .text = text});
}

/* In no view is pasted text a row of keys, whatever was pressed before it. */
static void pasted_text_writes_nothing(void **state)
{
    (void)state;
    static const char *const texts[] = {"    ", "a quick wax\ndflux q", "4 ", "\r\r", "u"};
    struct stage stage;
    stage_init(&stage, "night-watch.yaml", 8, 24, 80, CB_PING_OFF);
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 40);
    const int stores = stage.stores;
    for (int wide = 0; wide < 2; wide++) {
        stage_size(&stage, wide ? 80 : 50, wide ? 24 : 15);
        for (size_t v = 0; v < sizeof views / sizeof *views; v++) {
            cb_rehearse_show(stage.rehearse, views[v]);
            for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
                stage_key(&stage, "4");
                paste(&stage, texts[i]);
                assert_int_equal(stage.stores, stores);
                if (!stage_shows(&stage, "pasted text left out; keys are typed here")) {
                    fail_msg("%s does not say so:\n%s", views[v], stage_text(&stage));
                }
            }
        }
    }
    cb_rehearse_show(stage.rehearse, "bench");
    stage_key(&stage, "o"); /* the chooser */
    paste(&stage, "\r\n");
    assert_true(stage_shows(&stage, "pasted text left out"));
    stage_key(&stage, "ESC");
    stage_key(&stage, "n");
    paste(&stage, "\nrope\t\tand \033[31mwax\r\nand more\n");
    assert_true(stage_shows(&stage, "Note rope and [31mwax"));
    assert_int_equal(stage.stores, stores);
    stage_type(&stage, "!");
    assert_true(stage_shows(&stage, "Note rope and [31mwax!"));
    stage_key(&stage, "ENTER");
    assert_int_equal(stage.stores, stores + 1);
    stage_fini(&stage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(any_sequence_at_any_size),
        cmocka_unit_test(any_bytes_as_an_evening),
        cmocka_unit_test(every_size),
        cmocka_unit_test(undo_to_the_empty_bench_and_redo),
        cmocka_unit_test(pulling_the_plug_changes_nothing),
        cmocka_unit_test(pasted_text_writes_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
