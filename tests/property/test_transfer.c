/* SPDX-License-Identifier: MIT */
/* Export and import are inverse to each other, and merging is a function of the set of events:
 * random logs of hostile events, some shared, some of several machines. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/str.h"
#include "base/utf8.h"
#include "shell/transfer.h"
#include "support/events.h"

enum { ROUNDS = 60, SEED = 7 };

static struct cb_store *memory(void)
{
    struct cb_store *store = NULL;
    assert_int_equal(cb_store_open(NULL, CB_STORE_APPEND, &store, NULL), CB_OK);
    return store;
}

static bool collect(void *context, const char *bytes, size_t length)
{
    cb_str_add_n(context, bytes, length);
    return true;
}

static void export_to(struct cb_store *store, enum cb_transfer_format format, struct cb_str *out)
{
    size_t count;
    struct cb_err err = {0};
    if (cb_transfer_out(store, format, collect, out, &count, &err) != CB_OK) {
        fail_msg("%s", err.text);
    }
}

static size_t import_from(struct cb_store *store, const struct cb_str *text)
{
    struct cb_arena arena = {0};
    struct cb_issues issues = {0};
    struct cb_err err = {0};
    size_t found, added = 0;
    if (cb_transfer_check(cb_str_text(text), text->length, &arena, &issues, &found) != CB_OK) {
        fail_msg("%d:%d: %s", issues.items[0].line, issues.items[0].column,
                 issues.items[0].message);
    }
    if (cb_transfer_in(store, cb_str_text(text), text->length, &added, &err) != CB_OK) {
        fail_msg("%s", err.text);
    }
    cb_arena_fini(&arena);
    return added;
}

static void random_log(struct dice *dice, struct cb_store *store)
{
    for (uint64_t presses = dice_below(dice, 30); presses > 0; presses--) {
        struct cb_arena arena = {0};
        struct cb_err err = {0};
        const struct cb_event *event = dice_event(dice, &arena, dice_below(dice, 2) == 0);
        const struct cb_event **stored;
        if (cb_store_append(store, &event, 1, &arena, &stored, &err) != CB_OK) {
            fail_msg("%s", err.text);
        }
        cb_arena_fini(&arena);
    }
}

static void export_and_import_are_inverse(void **state)
{
    (void)state;
    struct dice dice = {SEED};
    for (int round = 0; round < ROUNDS; round++) {
        struct cb_store *first = memory();
        struct cb_store *second = memory();
        struct cb_str out = {0};
        struct cb_str again = {0};
        random_log(&dice, first);
        export_to(first, CB_TRANSFER_JSONL, &out);
        size_t added = import_from(second, &out);
        export_to(second, CB_TRANSFER_JSONL, &again);
        assert_string_equal(cb_str_text(&out), cb_str_text(&again));
        /* and once more adds nothing, not an event of its own either */
        assert_int_equal(import_from(second, &out), 0);
        cb_str_clear(&again);
        export_to(second, CB_TRANSFER_JSONL, &again);
        assert_string_equal(cb_str_text(&out), cb_str_text(&again));
        (void)added;
        cb_store_close(first);
        cb_store_close(second);
        cb_str_fini(&out);
        cb_str_fini(&again);
    }
}

static void merging_knows_no_order(void **state)
{
    (void)state;
    struct dice dice = {SEED + 1};
    for (int round = 0; round < ROUNDS; round++) {
        struct cb_store *stores[3] = {memory(), memory(), memory()};
        struct cb_str texts[3] = {0};
        struct cb_str merged[2] = {0};
        random_log(&dice, stores[0]);
        random_log(&dice, stores[1]);
        export_to(stores[0], CB_TRANSFER_JSONL, &texts[0]);
        import_from(stores[1], &texts[0]); /* B holds some of A's */
        random_log(&dice, stores[1]);
        random_log(&dice, stores[0]);
        for (int i = 0; i < 2; i++) {
            cb_str_clear(&texts[i]);
            export_to(stores[i], CB_TRANSFER_JSONL, &texts[i]);
        }
        import_from(stores[0], &texts[1]); /* A + B */
        import_from(stores[2], &texts[1]); /* B + A, each twice */
        import_from(stores[2], &texts[0]);
        import_from(stores[2], &texts[1]);
        import_from(stores[2], &texts[0]);
        export_to(stores[0], CB_TRANSFER_JSONL, &merged[0]);
        export_to(stores[2], CB_TRANSFER_JSONL, &merged[1]);
        assert_string_equal(cb_str_text(&merged[0]), cb_str_text(&merged[1]));
        for (int i = 0; i < 3; i++) {
            cb_store_close(stores[i]);
            cb_str_fini(&texts[i]);
        }
        cb_str_fini(&merged[0]);
        cb_str_fini(&merged[1]);
    }
}

/* RFC 4180: every record has as many fields as the first; no field starts a formula. */
static void csv_has_whole_records_and_no_formulas(void **state)
{
    (void)state;
    struct dice dice = {SEED + 2};
    for (int round = 0; round < ROUNDS; round++) {
        struct cb_store *store = memory();
        struct cb_str out = {0};
        random_log(&dice, store);
        export_to(store, CB_TRANSFER_CSV, &out);
        size_t fields = 1, wanted = 0;
        bool quoted = false, fresh = true;
        const char *at = cb_str_text(&out);
        assert_true(cb_utf8_valid(at, out.length));
        for (; *at; at++) {
            if (fresh && (*at == '=' || *at == '+' || *at == '@')) {
                fail_msg("a field starts with %c", *at);
            }
            fresh = false;
            if (*at == '"') {
                fresh = !quoted && (at == out.text || at[-1] == ',' || at[-1] == '\n');
                quoted = !quoted;
            } else if (!quoted && *at == ',') {
                fields++;
                fresh = true;
            } else if (!quoted && *at == '\n') {
                assert_int_equal(at[-1], '\r');
                wanted = wanted ? wanted : fields;
                assert_int_equal(fields, wanted);
                fields = 1;
                fresh = true;
            }
        }
        assert_false(quoted);
        cb_store_close(store);
        cb_str_fini(&out);
    }
}

static void one_bad_line_keeps_all_out(void **state)
{
    (void)state;
    static const char text[] =
        "\xef\xbb\xbf{\"id\":\"a\",\"at\":\"2026-01-05T18:00:00Z\",\"event\":\"session_opened\"}\r\n"
        "  \n"
        "{\"id\":\"b\",\"at\":\"2026-01-05T18:00:00Z\",\"event\":\"note\",\"text\":7.5e999}\n"
        "{\"id\":\"c\",\"at\":\"2026-01-05T18:00:00Z\",\"event\":\"confidence_set\",\"pct\":20}";
    struct cb_arena arena = {0};
    struct cb_issues issues = {0};
    size_t found;
    assert_int_equal(cb_transfer_check(text, sizeof text - 1, &arena, &issues, &found), CB_DATA);
    assert_int_equal(issues.count, 2);
    assert_int_equal(issues.items[0].line, 3);
    assert_int_equal(issues.items[1].line, 4);
    assert_int_equal(issues.items[1].column, 70);
    assert_string_equal(issues.items[1].message, "pct: 20, it takes 50 to 95");
    struct cb_store *store = memory();
    size_t added;
    assert_int_equal(cb_transfer_in(store, text, sizeof text - 1, &added, NULL), CB_DATA);
    struct cb_str out = {0};
    export_to(store, CB_TRANSFER_JSONL, &out);
    assert_string_equal(cb_str_text(&out), "");
    cb_str_fini(&out);
    cb_store_close(store);
    cb_arena_fini(&arena);
}

int main(void)
{
    print_message("seed %d\n", SEED);
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(export_and_import_are_inverse),
        cmocka_unit_test(merging_knows_no_order),
        cmocka_unit_test(csv_has_whole_records_and_no_formulas),
        cmocka_unit_test(one_bad_line_keeps_all_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
