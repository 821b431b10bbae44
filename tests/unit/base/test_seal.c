/* SPDX-License-Identifier: MIT */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <string.h>

#include "base/seal.h"

/* Begun at one more than the length, over two words and a rest of none. */
static void sums_by_hand(void **state)
{
    (void)state;
    unsigned char bytes[8 + CB_SEAL_SIZE];
    const uint32_t words[] = {3, 500};
    memcpy(bytes, words, 8);
    cb_seal_put(bytes, sizeof bytes);
    const uint64_t expected[] = {9 + 3 + 500 + 0, (9 + 3) + (9 + 503) + (9 + 503)};
    assert_memory_equal(bytes + 8, expected, CB_SEAL_SIZE);
    assert_memory_equal(bytes, words, 8);
}

/* Every length from nothing on, every bit of it, every cut. */
static void sees_what_changed(void **state)
{
    (void)state;
    for (size_t size = 0; size < 40; size++) {
        unsigned char bytes[40 + CB_SEAL_SIZE + 1] = {0};
        for (size_t i = 0; i < size; i++) {
            bytes[i] = (unsigned char)(i * 97 + size);
        }
        const size_t length = size + CB_SEAL_SIZE;
        assert_false(cb_seal_holds(bytes, length));
        cb_seal_put(bytes, length);
        assert_true(cb_seal_holds(bytes, length));
        for (size_t bit = 0; bit < length * 8; bit++) {
            bytes[bit / 8] ^= (unsigned char)(1U << bit % 8);
            assert_false(cb_seal_holds(bytes, length));
            bytes[bit / 8] ^= (unsigned char)(1U << bit % 8);
        }
        for (size_t cut = 0; cut < length; cut++) {
            assert_false(cb_seal_holds(bytes, cut));
        }
        assert_false(cb_seal_holds(bytes, length + 1));
    }
}

static void zeros_are_not_sealed(void **state)
{
    (void)state;
    static const unsigned char zeros[4096];
    for (size_t length = 0; length <= sizeof zeros; length++) {
        assert_false(cb_seal_holds(zeros, length));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sums_by_hand),
        cmocka_unit_test(sees_what_changed),
        cmocka_unit_test(zeros_are_not_sealed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
