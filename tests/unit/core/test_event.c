/* SPDX-License-Identifier: MIT */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "base/time.h"
#include "core/log/event.h"
#include "support/events.h"

static const struct cb_moment noon = {INT64_C(1767614400000), 5000, "boot"};

static void names_and_kinds_agree(void **state)
{
    (void)state;
    for (int i = 0; i < CB_EVENT_COUNT; i++) {
        enum cb_event_kind kind = (enum cb_event_kind)i;
        assert_int_equal(cb_event_kind_of(cb_event_name(kind)), kind);
        size_t count;
        const struct cb_event_field *schema = cb_event_schema(kind, &count);
        for (size_t k = 0; k < count; k++) {
            for (size_t before = 0; before < k; before++) {
                assert_int_not_equal(schema[before].field, schema[k].field);
                assert_string_not_equal(cb_field_name(schema[before].field),
                                        cb_field_name(schema[k].field));
            }
        }
    }
    assert_int_equal(cb_event_kind_of("coat_off"), CB_EVENT_UNKNOWN);
    assert_int_equal(cb_event_kind_of(""), CB_EVENT_UNKNOWN);
    assert_true(cb_event_is_bench(CB_EVENT_UNDONE));
    assert_false(cb_event_is_bench(CB_EVENT_TIDIED));
    size_t count;
    assert_null(cb_event_schema(CB_EVENT_UNKNOWN, &count));
    assert_int_equal(count, 0);
}

static void made_events_hold_what_was_added(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_event_make make;
    char place[] = "garage";
    cb_event_begin(&make, &arena, CB_EVENT_COAT_ON, "u1", &noon);
    cb_event_add_text(&make, CB_FIELD_PLACE, place);
    cb_event_add_int(&make, CB_FIELD_COAT, 2);
    cb_event_add_int(&make, CB_FIELD_FIGURE, 4);
    cb_event_add_number(&make, CB_FIELD_ON_PM_S, 12.5);
    cb_event_add_time(&make, CB_FIELD_ON_AT, noon.wall_ms - 1);
    cb_event_add_int(&make, CB_FIELD_STAGE, 3);
    const struct cb_event *event = cb_event_take(&make);
    place[0] = 'X';
    assert_int_equal(cb_event_validate(event, NULL), CB_OK);
    assert_string_equal(event->name, "coat_on");
    assert_null(event->id);
    assert_int_equal(event->boot_ms, 5000);
    assert_int_equal(cb_event_int(event, CB_FIELD_FIGURE, 0), 4);
    assert_int_equal(cb_event_int(event, CB_FIELD_ON_AT, 0), noon.wall_ms - 1);
    assert_true(cb_event_number(event, CB_FIELD_ON_PM_S, 0) == 12.5);
    assert_string_equal(cb_event_text(event, CB_FIELD_PLACE, ""), "garage");
    assert_true(cb_event_number(event, CB_FIELD_WORK_S, -1) == -1);
    assert_int_equal(cb_event_int(event, CB_FIELD_PLACE, 7), 7);
    assert_string_equal(cb_event_text(event, CB_FIELD_FIGURE, "none"), "none");
    /* the order of the schema, whatever the order of adding */
    assert_int_equal(event->attrs[0].field, CB_FIELD_FIGURE);
    assert_int_equal(event->attrs[3].field, CB_FIELD_ON_AT);
    assert_int_equal(event->attrs[5].field, CB_FIELD_PLACE);

    cb_event_begin(&make, &arena, CB_EVENT_ANSWERED, NULL, &noon);
    cb_event_add_text(&make, CB_FIELD_QUESTION, "thin_basecoat_min");
    cb_event_add_text(&make, CB_FIELD_VALUE, "15");
    event = cb_event_take(&make);
    assert_true(cb_event_number(event, CB_FIELD_VALUE, 0) == 15);
    assert_true(cb_event_number(event, CB_FIELD_QUESTION, -1) == -1);
    cb_arena_fini(&arena);
}

static void copies_are_deep_and_equal(void **state)
{
    (void)state;
    struct cb_arena first = {0};
    struct cb_arena second = {0};
    struct dice dice = {7};
    for (int i = 0; i < 500; i++) {
        struct dice again = dice;
        const struct cb_event *event = dice_event(&dice, &first, true);
        struct cb_err err = {0};
        if (cb_event_validate(event, &err) != CB_OK) {
            fail_msg("round %d: %s: %s", i, event->name, err.text);
        }
        const struct cb_event *copy = cb_event_copy(&second, event);
        cb_arena_fini(&first);
        event = dice_event(&again, &first, true);
        assert_true(cb_event_equal(event, copy));
    }
    cb_arena_fini(&first);
    cb_arena_fini(&second);
}

struct wrong {
    enum cb_event_kind kind;
    const char *unit;
    enum cb_field field;
    enum cb_type type;
    int64_t i;
    double d;
    const char *s;
    const char *expected;
};

static void bad_events_are_named(void **state)
{
    (void)state;
    static const struct wrong rows[] = {
        {CB_EVENT_UNIT_FINISHED, NULL, CB_FIELD_OTHER, CB_TYPE_RAW, 0, 0, "1",
         "unit: missing, unit_finished belongs to a unit"},
        {CB_EVENT_UNIT_FINISHED, "", CB_FIELD_OTHER, CB_TYPE_RAW, 0, 0, "1",
         "unit: 0 bytes, it takes 1 to 64"},
        {CB_EVENT_FIGURE_PARKED, "u", CB_FIELD_OTHER, CB_TYPE_RAW, 0, 0, "1",
         "figure: missing, figure_parked needs it"},
        {CB_EVENT_FIGURE_PARKED, "u", CB_FIELD_FIGURE, CB_TYPE_INT, 0, 0, NULL,
         "figure: 0, it takes 1 to 99"},
        {CB_EVENT_FIGURE_PARKED, "u", CB_FIELD_FIGURE, CB_TYPE_NUMBER, 0, 1, NULL,
         "figure: it takes a whole number"},
        {CB_EVENT_FIGURE_PARKED, "u", CB_FIELD_STAGE, CB_TYPE_INT, 1, 0, NULL,
         "stage: figure_parked has no such field"},
        {CB_EVENT_CONFIDENCE_SET, NULL, CB_FIELD_PCT, CB_TYPE_NUMBER, 0, 96, NULL,
         "pct: 96, it takes 50 to 95"},
        {CB_EVENT_UNDONE, NULL, CB_FIELD_OF, CB_TYPE_TEXT, 0, 0, "",
         "of: 0 bytes, it takes 1 to 64"},
        {CB_EVENT_NOTE, NULL, CB_FIELD_TEXT, CB_TYPE_TEXT, 0, 0, "\xff", "text: no UTF-8"},
        {CB_EVENT_AWAY, NULL, CB_FIELD_FROM, CB_TYPE_TIME, INT64_MIN, 0, NULL,
         "from: outside the years 1 to 9999"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct cb_attr attr = {.field = rows[i].field, .type = rows[i].type, .name = "extra"};
        if (rows[i].type == CB_TYPE_NUMBER) {
            attr.d = rows[i].d;
        } else if (rows[i].s) {
            attr.s = rows[i].s;
        } else {
            attr.i = rows[i].i;
        }
        struct cb_event event = {.kind = rows[i].kind,
                                 .name = cb_event_name(rows[i].kind),
                                 .unit = rows[i].unit,
                                 .at_ms = noon.wall_ms,
                                 .attr_count = 1,
                                 .attrs = &attr};
        struct cb_err err = {0};
        assert_int_equal(cb_event_validate(&event, &err), CB_DATA);
        assert_string_equal(err.text, rows[i].expected);
    }
}

static void clocks_and_counts_have_bounds(void **state)
{
    (void)state;
    static const struct {
        int64_t seq, boot_ms;
        const char *expected;
    } rows[] = {
        {0, 0, ""},
        {CB_EVENT_SEQ_MAX, CB_EVENT_WHOLE_MAX, ""},
        {-1, 0, "seq: -1, it takes 0 to 281474976710656"},
        {CB_EVENT_SEQ_MAX + 1, 0, "seq: 281474976710657, it takes 0 to 281474976710656"},
        {INT64_MAX, 0, "seq: 9223372036854775807, it takes 0 to 281474976710656"},
        {1, -1, "boot_ms: -1, it takes milliseconds since the start, 0 to 9007199254740991"},
        {1, INT64_MAX,
         "boot_ms: 9223372036854775807, it takes milliseconds since the start, 0 to "
         "9007199254740991"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct cb_event event = {.kind = CB_EVENT_SESSION_CLOSED,
                                 .name = "session_closed",
                                 .machine = "m",
                                 .seq = rows[i].seq,
                                 .boot = "b",
                                 .boot_ms = rows[i].boot_ms};
        struct cb_err err = {0};
        assert_int_equal(cb_event_validate(&event, &err), rows[i].expected[0] ? CB_DATA : CB_OK);
        assert_string_equal(err.text, rows[i].expected);
        event.machine = event.boot = NULL; /* alone they are nobody's */
        assert_int_equal(cb_event_validate(&event, NULL), CB_OK);
    }
}

static void closed_words_are_closed(void **state)
{
    (void)state;
    static const struct {
        const char *word;
        enum cb_status status;
    } rows[] = {
        {"dry", CB_OK},       {"wet", CB_OK},   {"dr", CB_DATA}, {"", CB_DATA},
        {"dry|wet", CB_DATA}, {"Dry", CB_DATA}, {"|", CB_DATA},
    };
    struct cb_arena arena = {0};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct cb_event_make make;
        cb_event_begin(&make, &arena, CB_EVENT_CHECKED, "u", &noon);
        cb_event_add_int(&make, CB_FIELD_FIGURE, 1);
        cb_event_add_int(&make, CB_FIELD_STAGE, 1);
        cb_event_add_int(&make, CB_FIELD_COAT, 1);
        cb_event_add_text(&make, CB_FIELD_FOUND, rows[i].word);
        assert_int_equal(cb_event_validate(cb_event_take(&make), NULL), rows[i].status);
    }
    cb_arena_fini(&arena);
}

/* id, machine, seq, at; listed in the order that they must come out in */
static void fold_order_follows_the_machine_not_its_clock(void **state)
{
    (void)state;
    static const struct cb_event sorted[] = {
        {.id = "f1", .at_ms = 10},
        {.id = "f2", .at_ms = 10},
        {.id = "a1", .machine = "a", .seq = 1, .at_ms = 10},
        {.id = "b1", .machine = "b", .seq = 1, .at_ms = 50},
        {.id = "a2", .machine = "a", .seq = 2, .at_ms = 100},
        {.id = "a3", .machine = "a", .seq = 3, .at_ms = 40}, /* the clock was set back */
        {.id = "a4", .machine = "a", .seq = 4, .at_ms = 100},
        {.id = "b2", .machine = "b", .seq = 2, .at_ms = 100},
        {.id = "f3", .at_ms = 101},
        {.id = "b3", .machine = "b", .seq = 3, .at_ms = 101},
        {.id = "c1", .machine = "c", .seq = 7, .at_ms = 200},
        {.id = "c2", .machine = "c", .seq = 7, .at_ms = 200}, /* a log copied and written on */
    };
    enum { COUNT = sizeof sorted / sizeof *sorted };
    struct dice dice = {11};
    for (int round = 0; round < 200; round++) {
        const struct cb_event *events[COUNT];
        for (size_t i = 0; i < COUNT; i++) {
            size_t at = (size_t)dice_below(&dice, i + 1);
            events[i] = events[at];
            events[at] = &sorted[i];
        }
        cb_event_sort(events, COUNT);
        for (size_t i = 0; i < COUNT; i++) {
            assert_string_equal(events[i]->id, sorted[i].id);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(names_and_kinds_agree),
        cmocka_unit_test(made_events_hold_what_was_added),
        cmocka_unit_test(copies_are_deep_and_equal),
        cmocka_unit_test(bad_events_are_named),
        cmocka_unit_test(clocks_and_counts_have_bounds),
        cmocka_unit_test(closed_words_are_closed),
        cmocka_unit_test(fold_order_follows_the_machine_not_its_clock),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
