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

static size_t export_left(struct cb_store *store, enum cb_transfer_format format,
                          struct cb_str *out, struct cb_transfer_left *left, struct cb_arena *arena)
{
    size_t count;
    struct cb_err err = {0};
    if (cb_transfer_out(store, format, collect, out, arena, &count, left, &err) != CB_OK) {
        fail_msg("%s", err.text);
    }
    return count;
}

static void export_to(struct cb_store *store, enum cb_transfer_format format, struct cb_str *out)
{
    struct cb_arena arena = {0};
    struct cb_transfer_left left;
    export_left(store, format, out, &left, &arena);
    if (left.count > 0) {
        fail_msg("left: %s", left.first.items[0].message);
    }
    cb_arena_fini(&arena);
}

static enum cb_status import_text(struct cb_store *store, const char *text, size_t length,
                                  bool strict, struct cb_arena *arena,
                                  struct cb_transfer_taken *taken, struct cb_err *err)
{
    struct cb_transfer_text source = {text, length};
    struct cb_transfer_in in = {
        .read = cb_transfer_read_text, .context = &source, .strict = strict};
    return cb_transfer_in(store, &in, arena, taken, err);
}

static size_t import_from(struct cb_store *store, const struct cb_str *text)
{
    struct cb_arena arena = {0};
    struct cb_transfer_taken taken;
    struct cb_err err = {0};
    if (import_text(store, cb_str_text(text), text->length, true, &arena, &taken, &err) != CB_OK) {
        const struct cb_issue *first = taken.left.first.items;
        fail_msg("%s %d:%d: %s", err.text, first->line, first->column,
                 first->message ? first->message : "");
    }
    cb_arena_fini(&arena);
    return taken.added;
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

static const char two_bad_lines[] =
    "\xef\xbb\xbf{\"id\":\"a\",\"at\":\"2026-01-05T18:00:00Z\",\"event\":\"session_opened\"}\r\n"
    "  \n"
    "{\"id\":\"b\",\"at\":\"2026-01-05T18:00:00Z\",\"event\":\"note\",\"text\":7.5e999}\n"
    "{\"id\":\"c\",\"at\":\"2026-01-05T18:00:00Z\",\"event\":\"confidence_set\",\"pct\":20}\n"
    "{\"id\":\"d\",\"at\":\"2026-01-05T18:00:00Z\",\"event\":\"session_closed\"}";

static void assert_two_bad_lines(const struct cb_transfer_left *left)
{
    assert_int_equal(left->count, 2);
    assert_int_equal(left->first.count, 2);
    assert_int_equal(left->first.items[0].line, 3);
    assert_int_equal(left->first.items[1].line, 4);
    assert_int_equal(left->first.items[1].column, 70);
    assert_string_equal(left->first.items[1].message, "pct: 20, it takes 50 to 95");
}

static void bad_lines_are_left_and_said(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_transfer_taken taken;
    struct cb_str out = {0};
    struct cb_store *store = memory();
    for (int round = 0; round < 2; round++) {
        assert_int_equal(import_text(store, two_bad_lines, sizeof two_bad_lines - 1, false, &arena,
                                     &taken, NULL),
                         CB_OK);
        assert_int_equal(taken.lines, 4);
        assert_int_equal(taken.added, round == 0 ? 2 : 0);
        assert_two_bad_lines(&taken.left);
    }
    export_to(store, CB_TRANSFER_JSONL, &out);
    assert_string_equal(
        cb_str_text(&out),
        "{\"id\":\"a\",\"at\":\"2026-01-05T18:00:00.000Z\",\"event\":\"session_opened\"}\n"
        "{\"id\":\"d\",\"at\":\"2026-01-05T18:00:00.000Z\",\"event\":\"session_closed\"}\n");
    cb_str_fini(&out);
    cb_store_close(store);
    cb_arena_fini(&arena);
}

static void one_bad_line_keeps_all_out_when_strict(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_transfer_taken taken;
    struct cb_err err = {0};
    struct cb_str out = {0};
    struct cb_store *store = memory();
    assert_int_equal(
        import_text(store, two_bad_lines, sizeof two_bad_lines - 1, true, &arena, &taken, &err),
        CB_DATA);
    assert_non_null(strstr(err.text, "nothing was imported"));
    assert_int_equal(taken.lines, 4);
    assert_int_equal(taken.added, 0);
    assert_two_bad_lines(&taken.left);
    export_to(store, CB_TRANSFER_JSONL, &out);
    assert_string_equal(cb_str_text(&out), "");
    cb_str_fini(&out);
    cb_store_close(store);
    cb_arena_fini(&arena);
}

struct dribble {
    struct cb_transfer_text text;
    struct dice dice;
    bool breaks; /* at the end it is not the end, but a disk that would not */
};

static long dribble(void *context, char *bytes, size_t size, struct cb_err *err)
{
    struct dribble *in = context;
    static const size_t parts[] = {1, 2, 7, 100, 4096, 65536};
    size_t part = parts[dice_below(&in->dice, sizeof parts / sizeof *parts)];
    if (in->breaks && in->text.left == 0) {
        cb_err_set(err, CB_IO, "the disk would not");
        return -1;
    }
    return cb_transfer_read_text(&in->text, bytes, part < size ? part : size, err);
}

/* Lines come in parts of any size; one beyond all bounds is let go without its bytes being kept. */
static void lines_come_in_any_parts(void **state)
{
    (void)state;
    static const char good[] =
        "{\"id\":\"%zu\",\"at\":\"2026-01-05T18:00:00Z\",\"event\":\"odd\"}%s";
    for (size_t round = 0; round < 40; round++) {
        struct cb_arena arena = {0};
        struct cb_transfer_taken taken;
        struct cb_err err = {0};
        struct cb_str text = {0};
        struct cb_store *store = memory();
        size_t long_line = round % 4 == 0 ? 524289 : round % 4 == 1 ? 2000000 : 300 * round;
        for (size_t i = 0; i < 20; i++) {
            cb_str_addf(&text, good, i, round % 3 ? "\n" : "\r\n\n");
        }
        char *filler = cb_arena_alloc(&arena, long_line + 1, 1);
        memset(filler, 'x', long_line);
        cb_str_addf(&text, "%s\n", filler);
        cb_str_addf(&text, good, (size_t)20, round % 2 ? "" : "\n");
        struct dribble in = {
            .text = {text.text, text.length}, .dice = {round}, .breaks = round % 8 == 7};
        struct cb_transfer_in how = {.read = dribble, .context = &in};
        enum cb_status status = cb_transfer_in(store, &how, &arena, &taken, &err);
        if (in.breaks) { /* and nothing of what came before is taken */
            assert_int_equal(status, CB_IO);
            assert_string_equal(err.text, "the disk would not");
            struct cb_str out = {0};
            export_to(store, CB_TRANSFER_JSONL, &out);
            assert_string_equal(cb_str_text(&out), "");
            cb_str_fini(&out);
        } else {
            assert_int_equal(status, CB_OK);
            assert_int_equal(taken.added, 21);
            assert_int_equal(taken.left.count, long_line > 0);
            if (long_line > 524288) {
                assert_int_equal(taken.left.first.items[0].line, round % 3 ? 21 : 41);
                assert_int_equal(strtoul(taken.left.first.items[0].message + 10, NULL, 10),
                                 long_line);
            }
        }
        cb_store_close(store);
        cb_str_fini(&text);
        cb_arena_fini(&arena);
    }
}

/* A line that import takes and that would be too long once written is refused at once. */
static void what_grows_too_long_is_refused_at_import(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_transfer_taken taken;
    struct cb_str text = {0};
    struct cb_str out = {0};
    for (int i = 0; i < 2; i++) {
        cb_str_addf(&text,
                    "{\"id\":\"%d\",\"at\":\"2026-01-05T18:00:00Z\",\"event\":\"odd\",\"x\":\"", i);
        for (int k = 0; k < (i ? 87500 : 87300); k++) {
            cb_str_add_n(&text, "\x7f", 1); /* six bytes each, written out */
        }
        cb_str_add(&text, "\"}\n");
    }
    struct cb_store *store = memory();
    assert_int_equal(import_text(store, text.text, text.length, false, &arena, &taken, NULL),
                     CB_OK);
    assert_int_equal(taken.added, 1);
    assert_int_equal(taken.left.count, 1);
    assert_int_equal(taken.left.first.items[0].line, 2);
    assert_non_null(strstr(taken.left.first.items[0].message, "when written out"));
    export_to(store, CB_TRANSFER_JSONL, &out);
    cb_str_fini(&out);
    cb_str_fini(&text);
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
        cmocka_unit_test(bad_lines_are_left_and_said),
        cmocka_unit_test(one_bad_line_keeps_all_out_when_strict),
        cmocka_unit_test(lines_come_in_any_parts),
        cmocka_unit_test(what_grows_too_long_is_refused_at_import),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
