/* SPDX-License-Identifier: MIT */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "base/coder.h"

struct thing {
    uint64_t count;
    int64_t before;
    int figure;
    bool cut;
    double minutes;
    const char *name, *none;
    size_t length;
};

static void code_thing(struct cb_coder *coder, struct thing *thing)
{
    cb_code_count(coder, &thing->count, UINT64_MAX);
    cb_code_signed(coder, &thing->before);
    cb_code_int(coder, &thing->figure, 1, 127);
    cb_code_bool(coder, &thing->cut);
    cb_code_double(coder, &thing->minutes);
    cb_code_text(coder, &thing->name);
    cb_code_text(coder, &thing->none);
    cb_code_length(coder, &thing->length, 1000);
    for (size_t i = 0; i < thing->length; i++) {
        uint64_t item = i;
        cb_code_count(coder, &item, thing->length);
    }
}

static void test_there_and_back(void **state)
{
    (void)state;
    static const int64_t numbers[] = {0, 1, -1, 63, -64, 64, 127, 128, 300, INT64_MAX, INT64_MIN};
    for (size_t n = 0; n < sizeof numbers / sizeof *numbers; n++) {
        struct cb_arena arena = {0};
        struct cb_str out = {0};
        struct thing thing = {(uint64_t)numbers[n], numbers[n], 127, true, 0.1, "rope", NULL, 3};
        struct cb_coder coder = cb_coder_writer(&out, &arena);
        code_thing(&coder, &thing);
        struct thing back = {0};
        coder = cb_coder_reader(out.text, out.length, &arena);
        code_thing(&coder, &back);
        assert_true(cb_coder_done(&coder));
        assert_true(back.count == thing.count && back.before == thing.before);
        assert_int_equal(back.figure, 127);
        assert_true(back.cut);
        assert_memory_equal(&back.minutes, &thing.minutes, sizeof back.minutes);
        assert_string_equal(back.name, "rope");
        assert_string_equal(back.none, "");
        assert_int_equal(back.length, 3);
        for (size_t cut = 0; cut < out.length; cut++) {
            char *piece = cb_arena_alloc(&arena, cut + 1, 1);
            memcpy(piece, out.text, cut);
            coder = cb_coder_reader(piece, cut, &arena);
            code_thing(&coder, &back);
            assert_false(cb_coder_done(&coder));
        }
        cb_str_fini(&out);
        cb_arena_fini(&arena);
    }
}

static void test_what_is_too_great_is_refused(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    const unsigned char huge[] = {0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0x01};
    uint64_t count;
    struct cb_coder coder = cb_coder_reader(huge, sizeof huge, &arena);
    cb_code_count(&coder, &count, UINT64_MAX);
    assert_true(coder.good && count == UINT64_MAX);
    coder = cb_coder_reader(huge, sizeof huge, &arena);
    cb_code_count(&coder, &count, 5);
    assert_true(!coder.good && count == 0);
    double number = 5;
    cb_code_double(&coder, &number); /* nothing comes back after a fault */
    assert_true(number < 1);
    size_t length;
    coder = cb_coder_reader(huge, sizeof huge, &arena);
    cb_code_length(&coder, &length, SIZE_MAX);
    assert_true(!coder.good && length == 0);
    int figure;
    coder = cb_coder_reader(huge, sizeof huge, &arena);
    cb_code_int(&coder, &figure, 1, 127);
    assert_true(!coder.good && figure == 1);
    const unsigned char endless[12] = {0xff, 0xff, 0xff, 0xff, 0xff, 0xff,
                                       0xff, 0xff, 0xff, 0xff, 0xff, 0xff};
    coder = cb_coder_reader(endless, sizeof endless, &arena);
    cb_code_count(&coder, &count, UINT64_MAX);
    assert_false(coder.good);
    const char *text;
    coder = cb_coder_reader(NULL, 0, &arena);
    cb_code_text(&coder, &text);
    assert_false(coder.good);
    assert_string_equal(text, "");
    cb_arena_fini(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_there_and_back),
        cmocka_unit_test(test_what_is_too_great_is_refused),
    };
    return cmocka_run_group_tests_name("coder", tests, NULL, NULL);
}
