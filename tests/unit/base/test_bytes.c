/* SPDX-License-Identifier: MIT */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "base/bytes.h"

static const char *written(struct cb_arena *arena, size_t *length)
{
    struct cb_str out = {0};
    const int32_t number = 7;
    const double list[] = {1.5, 2.5};
    cb_bytes_put(&out, &number, sizeof number);
    cb_bytes_put_text(&out, "rope");
    cb_bytes_put_text(&out, NULL);
    cb_bytes_put(&out, list, sizeof list);
    cb_bytes_put_piece(&out, "tail", 4);
    cb_bytes_put_piece(&out, NULL, 0);
    return cb_bytes_done(&out, arena, length);
}

/* Reads it all; how far it came is left in the arena's hands. */
static bool read_all(struct cb_bytes *in, struct cb_arena *arena)
{
    int32_t number;
    cb_bytes_take(in, &number, sizeof number);
    const char *rope = cb_bytes_take_text(in);
    const char *none = cb_bytes_take_text(in);
    const double *list = cb_bytes_take_list(in, 2, sizeof *list, arena);
    struct cb_bytes tail = cb_bytes_take_piece(in);
    struct cb_bytes empty = cb_bytes_take_piece(in);
    if (!cb_bytes_end(in)) {
        return false;
    }
    assert_int_equal(number, 7);
    assert_string_equal(rope, "rope");
    assert_string_equal(none, "");
    assert_true(list[0] > 1.4 && list[1] > 2.4);
    assert_int_equal(cb_bytes_left(&tail), 4);
    assert_memory_equal(tail.at, "tail", 4);
    assert_int_equal(cb_bytes_left(&empty), 0);
    return true;
}

static void test_there_and_back(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    size_t length;
    const char *bytes = written(&arena, &length);
    struct cb_bytes in = cb_bytes_of(bytes, length);
    assert_true(read_all(&in, &arena));
    for (size_t cut = 0; cut < length; cut++) {
        char *piece = cb_arena_alloc(&arena, cut + 1, 1);
        memcpy(piece, bytes, cut);
        in = cb_bytes_of(piece, cut);
        assert_false(read_all(&in, &arena));
        assert_false(in.good && cb_bytes_left(&in) > 0);
    }
    cb_arena_fini(&arena);
}

static void test_counts_that_are_too_great(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    const uint64_t huge = UINT64_MAX;
    struct cb_bytes in = cb_bytes_of(&huge, sizeof huge);
    const double *list = cb_bytes_take_list(&in, UINT64_MAX / 4, sizeof *list, &arena);
    assert_non_null(list);
    assert_false(in.good);
    in = cb_bytes_of(&huge, sizeof huge);
    struct cb_bytes piece = cb_bytes_take_piece(&in);
    assert_false(in.good || piece.good);
    assert_int_equal(cb_bytes_left(&piece), 0);
    int32_t number = 5;
    cb_bytes_take(&in, &number, sizeof number); /* nothing comes back after a fault */
    assert_int_equal(number, 0);
    cb_arena_fini(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_there_and_back),
        cmocka_unit_test(test_counts_that_are_too_great),
    };
    return cmocka_run_group_tests_name("bytes", tests, NULL, NULL);
}
