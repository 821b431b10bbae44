/* SPDX-License-Identifier: MIT */
/* What a view's flags promise, on screens that draw nothing. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "app/key.h"
#include "app/look.h"
#include "app/nav.h"
#include "support/world.h"

static int typed, opened;

static bool take_key(struct cb_app *app, uint32_t key)
{
    (void)app;
    typed += key != CB_KEY_ESC;
    return true;
}

static void count_opening(struct cb_app *app)
{
    (void)app;
    opened++;
}

static int last_row(const struct cb_app *app)
{
    (void)app;
    return 30;
}

static const struct cb_view bench = {
    .name = "bench",
    .opens = CB_ACTION_VIEW_BENCH,
    .flags = CB_VIEW_TURNS | CB_VIEW_MARKS_COATS | CB_VIEW_NEEDS_UNIT,
};
static const struct cb_view side = {
    .name = "side", .opens = CB_ACTION_HELP, .flags = CB_VIEW_TOGGLES};
static const struct cb_view list = {
    .name = "list",
    .opens = CB_ACTION_VIEW_POTS,
    .flags = CB_VIEW_TURNS | CB_VIEW_HAS_LIST | CB_VIEW_SCROLLS | CB_VIEW_UNDOES_OWN,
    .last = last_row,
};
static const struct cb_view chooser = {
    .name = "open",
    .opens = CB_ACTION_OPEN,
    .flags = CB_VIEW_TAKES_UNDO,
    .open = count_opening,
};
static const struct cb_view line = {
    .name = "line",
    .opens = CB_ACTION_NOTE,
    .flags = CB_VIEW_TYPES | CB_VIEW_OVER,
    .key = take_key,
};
static const struct cb_view *const all[] = {&bench, &side, &list, &chooser, &line};

struct seat {
    struct world world;
    struct cb_app *app;
};

static void feed(struct seat *seat, struct cb_input input)
{
    input.now = seat->world.now;
    cb_app_step(seat->app, &input);
}

static void press(struct seat *seat, uint32_t key)
{
    feed(seat, (struct cb_input){.kind = CB_INPUT_KEY, .key = key});
}

static void sit_down(struct seat *seat, bool unit, bool writer)
{
    static const char recipe[] = "{coatbell: 1, name: A, paints: {g: {name: Green, kind: acrylic}},"
                                 " areas: {all: {}}, stages: [{name: Base, technique: basecoat,"
                                 " paint: g, on: all, coats: 2}]}";
    world_init(&seat->world);
    if (unit) {
        world_begin(&seat->world, "u", 3, recipe);
    }
    const struct cb_app_setup setup = {
        .views = {all, sizeof all / sizeof *all},
        .kinds = world_kinds(),
        .read = world_read,
        .rows = 15,
        .columns = 50,
        .writer = writer,
    };
    seat->app = cb_app_new(&setup, seat->world.now);
    feed(seat, (struct cb_input){.kind = CB_INPUT_EVENTS,
                                 .events = seat->world.log.items,
                                 .event_count = seat->world.log.count});
    typed = opened = 0;
}

static void stand_up(struct seat *seat)
{
    cb_app_free(seat->app);
    world_fini(&seat->world);
}

static void turns_and_toggles(void **state)
{
    (void)state;
    struct seat seat;
    sit_down(&seat, true, true);
    assert_ptr_equal(cb_app_shown(seat.app), &bench);
    press(&seat, CB_KEY_TAB);
    assert_ptr_equal(cb_app_shown(seat.app), &list); /* what takes no turns is passed by */
    press(&seat, '?');
    assert_ptr_equal(cb_app_shown(seat.app), &side);
    press(&seat, '?');
    assert_ptr_equal(cb_app_shown(seat.app), &list);
    press(&seat, CB_KEY_TAB);
    assert_ptr_equal(cb_app_shown(seat.app), &bench);
    press(&seat, 'o');
    assert_ptr_equal(cb_app_shown(seat.app), &chooser);
    assert_int_equal(opened, 1);
    press(&seat, '?');
    press(&seat, '?'); /* the way back opens nothing anew */
    assert_ptr_equal(cb_app_shown(seat.app), &chooser);
    assert_int_equal(opened, 1);
    press(&seat, CB_KEY_ESC);
    assert_ptr_equal(cb_app_shown(seat.app), &bench);
    stand_up(&seat);
}

static void without_a_unit_the_chooser_stands(void **state)
{
    (void)state;
    struct seat seat;
    sit_down(&seat, false, true);
    assert_ptr_equal(cb_app_shown(seat.app), &chooser);
    press(&seat, CB_KEY_F1 + 3);
    assert_ptr_equal(cb_app_shown(seat.app), &list); /* needs none */
    press(&seat, CB_KEY_F1);
    assert_ptr_equal(cb_app_shown(seat.app), &chooser);
    press(&seat, CB_KEY_SPACE);
    assert_string_equal(cb_app_look(seat.app)->flash, "no unit is on the bench");
    stand_up(&seat);
}

static void a_line_lies_over_and_takes_every_key(void **state)
{
    (void)state;
    struct seat seat;
    sit_down(&seat, true, true);
    press(&seat, CB_KEY_F1 + 3);
    press(&seat, 'n');
    assert_ptr_equal(cb_app_shown(seat.app), &line);
    assert_ptr_equal(cb_app_shown_under(seat.app), &list);
    press(&seat, CB_KEY_SPACE);
    press(&seat, 'q');
    press(&seat, '7');
    assert_int_equal(typed, 3);
    assert_int_equal(cb_app_nav(seat.app)->count, 0);
    stand_up(&seat);
    sit_down(&seat, true, false); /* who only looks on types nothing */
    press(&seat, 'n');
    assert_ptr_equal(cb_app_shown(seat.app), &bench);
    assert_string_equal(cb_app_look(seat.app)->flash, "looking on: another bench writes this log");
    stand_up(&seat);
}

static void lists_move_within_their_bounds(void **state)
{
    (void)state;
    static const struct {
        uint32_t key;
        int top;
    } cases[] = {
        {CB_KEY_UP, 0},        {CB_KEY_DOWN, 1},      {CB_KEY_DOWN, 2},      {CB_KEY_UP, 1},
        {CB_KEY_PAGEDOWN, 11}, {CB_KEY_PAGEDOWN, 21}, {CB_KEY_PAGEDOWN, 30}, {CB_KEY_DOWN, 30},
        {CB_KEY_PAGEUP, 20},   {CB_KEY_HOME, 0},      {CB_KEY_PAGEUP, 0},    {CB_KEY_END, 30},
    };
    struct seat seat;
    sit_down(&seat, true, true);
    press(&seat, CB_KEY_F1 + 3);
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        press(&seat, cases[i].key);
        assert_int_equal(cb_app_nav(seat.app)->top, cases[i].top);
    }
    press(&seat, CB_KEY_F1);
    assert_int_equal(cb_app_nav(seat.app)->top, 0);
    stand_up(&seat);
}

static void coats_are_marked_where_they_are_seen(void **state)
{
    (void)state;
    struct seat seat;
    sit_down(&seat, true, true);
    assert_true(cb_nav_lets(seat.app, CB_ACTION_COAT_ON));
    press(&seat, CB_KEY_F1 + 3);
    assert_true(cb_nav_lets(seat.app, CB_ACTION_PAUSE)); /* no coat */
    assert_false(cb_nav_lets(seat.app, CB_ACTION_COAT_ON));
    assert_string_equal(cb_app_look(seat.app)->flash, "coats are marked on the bench: F1");
    assert_false(cb_nav_lets(seat.app, CB_ACTION_UNDO));
    cb_nav_stored(seat.app, 1); /* what was done here is taken back here */
    assert_true(cb_nav_lets(seat.app, CB_ACTION_UNDO));
    assert_false(cb_nav_lets(seat.app, CB_ACTION_REDO));
    press(&seat, 'o');
    assert_false(cb_nav_lets(seat.app, CB_ACTION_COAT_ON));
    assert_true(cb_nav_lets(seat.app, CB_ACTION_UNDO) && cb_nav_lets(seat.app, CB_ACTION_REDO));
    stand_up(&seat);
}

static void counts(void **state)
{
    (void)state;
    static const struct {
        const char *keys;
        int count;
        bool minus;
    } cases[] = {
        {"3", 3, false},      {"12", 12, false},   {"0", 0, false},          {"05", 5, false},
        {"1234", 999, false}, {"-", 0, true},      {"-6", 6, true},          {"6-", 0, false},
        {"12\x7f", 1, false}, {"-6\x7f", 0, true}, {"-6\x7f\x7f", 0, false}, {"12\x1b", 0, false},
    };
    struct seat seat;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        sit_down(&seat, true, true);
        for (const char *key = cases[i].keys; *key; key++) {
            press(&seat, (unsigned char)*key);
        }
        assert_int_equal(cb_app_nav(seat.app)->count, cases[i].count);
        assert_int_equal(cb_app_nav(seat.app)->minus, cases[i].minus);
        press(&seat, CB_KEY_TAB); /* an action takes it */
        assert_int_equal(cb_app_nav(seat.app)->count, 0);
        stand_up(&seat);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(turns_and_toggles),
        cmocka_unit_test(without_a_unit_the_chooser_stands),
        cmocka_unit_test(a_line_lies_over_and_takes_every_key),
        cmocka_unit_test(lists_move_within_their_bounds),
        cmocka_unit_test(coats_are_marked_where_they_are_seen),
        cmocka_unit_test(counts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
