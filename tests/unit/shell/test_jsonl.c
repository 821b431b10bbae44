/* SPDX-License-Identifier: MIT */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/utf8.h"
#include "shell/json_write.h"
#include "shell/jsonl.h"
#include "support/events.h"

static void assert_safe(const char *text)
{
    while (*text) {
        uint32_t cp = cb_utf8_next(&text);
        if (!cb_utf8_is_safe(cp)) {
            fail_msg("U+%04X reached the line", (unsigned)cp);
        }
    }
}

/* Property: decode(encode(e)) = e, and what is encoded is safe for a terminal. */
static void random_events_come_back_the_same(void **state)
{
    (void)state;
    struct dice dice = {2026};
    for (int round = 0; round < 4000; round++) {
        struct cb_arena arena = {0};
        struct cb_err err = {0};
        struct cb_str line = {0};
        struct cb_str again = {0};
        const struct cb_event *event = dice_event(&dice, &arena, true);
        const struct cb_event *back = NULL;
        cb_jsonl_encode(event, &line);
        assert_safe(cb_str_text(&line));
        if (cb_jsonl_decode(line.text, line.length, &arena, &back, &err) != CB_OK) {
            fail_msg("round %d: %s: %s", round, line.text, err.text);
        }
        cb_jsonl_encode(back, &again);
        assert_string_equal(line.text, again.text);
        /* an unknown value is kept in its safe spelling, so compare through one more turn */
        const struct cb_event *third = NULL;
        assert_int_equal(cb_jsonl_decode(again.text, again.length, &arena, &third, &err), CB_OK);
        assert_true(cb_event_equal(back, third));
        assert_true(cb_event_equal(event, back));
        cb_str_fini(&line);
        cb_str_fini(&again);
        cb_arena_fini(&arena);
    }
}

static void fields_alone_come_back_the_same(void **state)
{
    (void)state;
    struct dice dice = {5};
    for (int round = 0; round < 500; round++) {
        struct cb_arena arena = {0};
        struct cb_str line = {0};
        const struct cb_event *event = dice_event(&dice, &arena, false);
        struct cb_event back = *event;
        cb_jsonl_encode_fields(event, &line);
        assert_int_equal(cb_jsonl_decode_fields(line.text, line.length, event->kind, &arena,
                                                &back.attrs, &back.attr_count, NULL),
                         CB_OK);
        assert_true(cb_event_equal(event, &back));
        cb_str_fini(&line);
        cb_arena_fini(&arena);
    }
}

#define HEAD "{\"id\":\"a\",\"at\":\"2026-01-05T18:00:00Z\",\"event\":"

static void bad_lines_name_column_and_cure(void **state)
{
    (void)state;
    static const struct {
        const char *line, *fault;
    } rows[] = {
        {"", "column 1: no JSON object: '[' or '{' expected near end of file"},
        {"[]", "column 1: no JSON object: every line is one, in { }"},
        {"{\"id\":\"a\"", "column 9: no JSON object: '}' expected near end of file"},
        {"{\"id\":\"a\",\"id\":\"b\"}",
         "column 14: no JSON object: duplicate object key near '\"id\"'"},
        {"{\"at\":1}", "column 1: id: missing, every event has it"},
        {"{\"id\":1}", "column 7: id: it takes a text"},
        {"{\"id\":\"\",\"event\":\"note\",\"at\":\"2026-01-05T18:00:00Z\",\"text\":\"\"}",
         "column 7: id: 0 bytes, it takes 1 to 64"},
        {"{\"id\":\"a\",\"event\":\"note\"}", "column 1: at: missing, every event has it"},
        {"{\"id\":\"\xc3\xa9\",\"event\":\"note\",\"at\":\"yesterday\"}",
         "column 31: at: it takes an RFC 3339 time as 2026-01-05T18:00:00.000Z"},
        {HEAD "\"note\"}", "column 1: text: missing, note needs it"},
        {HEAD "\"note\",\"text\":[]}", "column 61: text: it takes a text"},
        {HEAD "\"coat_on\",\"figure\":1,\"stage\":1,\"coat\":1}",
         "column 1: unit: missing, coat_on belongs to a unit"},
        {HEAD "\"lifted\",\"unit\":\"u\",\"figure\":0,\"stage\":1,\"coat\":1}",
         "column 76: figure: 0, it takes 1 to 99"},
        {HEAD "\"coat_on\",\"unit\":\"u\",\"figure\":-1,\"stage\":1,\"coat\":1}",
         "column 77: figure: -1, it takes 0 to 99"},
        {HEAD "\"coat_on\",\"unit\":\"u\",\"figure\":1.5,\"stage\":1,\"coat\":1}",
         "column 77: figure: it takes a whole number"},
        {HEAD "\"checked\",\"unit\":\"u\",\"figure\":1,\"stage\":1,\"coat\":1,\"found\":\"damp\"}",
         "column 106: found: an unknown word, it takes dry|wet"},
        {HEAD "\"climate_set\",\"temp_c\":\"19\",\"rh_pct\":50}",
         "column 70: temp_c: it takes a number"},
        {HEAD "\"climate_set\",\"temp_c\":19,\"rh_pct\":101}",
         "column 82: rh_pct: 101, it takes 0 to 100"},
        {HEAD "\"pinged\",\"films\":[{\"figure\":1}]}",
         "column 64: films: it takes a list of {\"figure\":1,\"stage\":1,\"coat\":1}"},
        {HEAD "\"brought_in\",\"unit\":\"u\",\"figures\":[1,\"2\"]}",
         "column 81: figures: it takes a list of whole numbers"},
        {HEAD "\"undone\",\"of\":\"p\",\"machine\":\"m\",\"seq\":-1}",
         "column 85: seq: it takes a whole number, 0 to 281474976710656"},
        {HEAD "\"undone\",\"of\":\"p\",\"machine\":\"m\",\"seq\":281474976710657}",
         "column 85: seq: it takes a whole number, 0 to 281474976710656"},
        {HEAD "\"undone\",\"of\":\"p\",\"boot\":\"b\",\"boot_ms\":9007199254740992}",
         "column 86: boot_ms: it takes a whole number, 0 to 9007199254740991"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct cb_arena arena = {0};
        struct cb_err err = {0};
        const struct cb_event *event;
        assert_int_equal(cb_jsonl_decode(rows[i].line, strlen(rows[i].line), &arena, &event, &err),
                         CB_DATA);
        assert_string_equal(err.text, rows[i].fault);
        assert_null(event);
        cb_arena_fini(&arena);
    }
}

static void foreign_lines_are_taken_as_they_are(void **state)
{
    (void)state;
    static const struct {
        const char *in, *out;
    } rows[] = {
        /* blanks and the order of keys are ours, unknown values keep their digits */
        {" { \"event\" : \"moon_rose\", \"at\":\"2026-01-05T19:00:00+01:00\", \"z\": [ 1.10, "
         "{\"figure\": 1e0}], \"id\":\"x\", \"big\":123456789012345678901234567890 }\r",
         "{\"id\":\"x\",\"at\":\"2026-01-05T18:00:00.000Z\",\"event\":\"moon_rose\","
         "\"z\":[1.10,{\"figure\":1e0}],\"big\":123456789012345678901234567890}"},
        /* half of a pair is an unknown field; null is absent; 3.0 is whole */
        {"{\"id\":\"x\",\"at\":\"2026-01-05T18:00:00Z\",\"event\":\"figure_parked\",\"unit\":\"u\","
         "\"seq\":4,\"boot\":null,\"press\":null,\"figure\":3.0}",
         "{\"id\":\"x\",\"at\":\"2026-01-05T18:00:00.000Z\",\"event\":\"figure_parked\","
         "\"unit\":\"u\",\"figure\":3,\"seq\":4,\"boot\":null}"},
        /* a bare number where a text may hold one */
        {"{\"id\":\"x\",\"at\":\"2026-01-05T18:00:00Z\",\"event\":\"answered\",\"question\":\"q\","
         "\"value\":15}",
         "{\"id\":\"x\",\"at\":\"2026-01-05T18:00:00.000Z\",\"event\":\"answered\","
         "\"question\":\"q\",\"value\":\"15\"}"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct cb_arena arena = {0};
        struct cb_err err = {0};
        struct cb_str out = {0};
        const struct cb_event *event;
        if (cb_jsonl_decode(rows[i].in, strlen(rows[i].in), &arena, &event, &err) != CB_OK) {
            fail_msg("%s", err.text);
        }
        cb_jsonl_encode(event, &out);
        assert_string_equal(cb_str_text(&out), rows[i].out);
        cb_str_fini(&out);
        cb_arena_fini(&arena);
    }
}

static void answers_are_json(void **state)
{
    (void)state;
    struct cb_json *json = cb_json_new();
    struct cb_str out = {0};
    cb_json_text(json, "name", "a\"b\\c\x1b\xe2\x80\xae\xf0\x9f\xa6\x80\n");
    cb_json_text(json, "none", NULL);
    cb_json_list(json, "rows");
    cb_json_number(json, NULL, 0.1);
    cb_json_number(json, NULL, NAN);
    cb_json_number(json, NULL, (double)INFINITY);
    cb_json_number(json, NULL, 1.0 / 3.0);
    cb_json_object(json, NULL);
    cb_json_integer(json, "n", -5);
    cb_json_bool(json, "yes", true);
    cb_json_end(json);
    cb_json_list(json, NULL);
    cb_json_end(json);
    cb_json_end(json);
    cb_json_take(json, &out);
    assert_string_equal(cb_str_text(&out),
                        "{\"name\":\"a\\\"b\\\\c\\u001b\\u202e\xf0\x9f\xa6\x80\\n\",\"none\":null,"
                        "\"rows\":[0.1,null,null,0.3333333333333333,{\"n\":-5,\"yes\":true},[]]}");
    cb_str_fini(&out);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(random_events_come_back_the_same),
        cmocka_unit_test(fields_alone_come_back_the_same),
        cmocka_unit_test(bad_lines_name_column_and_cure),
        cmocka_unit_test(foreign_lines_are_taken_as_they_are),
        cmocka_unit_test(answers_are_json),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
