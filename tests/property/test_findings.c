/* SPDX-License-Identifier: MIT */
/* Whatever a painter is like: findings are few, worth a word, no chance, and the same when asked
 * again. How often they are right: test_findings.sh. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "support/planted.h"

#define UNITS 4

static void check(struct planted_painter *painter, size_t *said)
{
    const struct cb_findings findings = planted_findings(painter);
    const struct cb_findings again = planted_findings(painter);
    assert_true(findings.count <= CB_FINDINGS && findings.count == again.count);
    *said += findings.count;
    for (size_t i = 0; i < findings.count; i++) {
        const struct cb_finding *one = &findings.items[i];
        assert_true(one->minutes >= CB_FINDING_MIN);
        assert_true(i == 0 || one->minutes <= findings.items[i - 1].minutes);
        assert_true(one->chance > 0 && one->chance <= CB_FINDING_ALPHA);
        assert_true(one->coats > 0 && one->units <= findings.units);
        assert_true(one->text[0] && one->advice[0]);
        assert_string_equal(one->text, again.items[i].text);
        assert_memory_equal(&one->chance, &again.items[i].chance, sizeof one->chance);
        for (size_t k = 0; k < i; k++) {
            assert_string_not_equal(one->kind, findings.items[k].kind);
        }
    }
}

static void findings_are_sound(void **state)
{
    (void)state;
    size_t said = 0;
    for (enum planted planted = 0; planted < PLANTED_COUNT; planted++) {
        struct planted_painter painter;
        planted_begin(&painter, planted, 7);
        for (int unit = 0; unit < UNITS; unit++) {
            planted_unit(&painter);
            check(&painter, &said);
        }
        planted_end(&painter);
    }
    assert_true(said > 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(findings_are_sound)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
