/* SPDX-License-Identifier: MIT */
/* How the screens look whatever is on them: the time of day by half days, minutes alone with a quiet
 * clock. */
#include <ctype.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "support/stage.h"

#define COUNT(list) (sizeof(list) / sizeof *(list))

static const char *const views[] = {"bench", "rack", "road", "pots", "review", "glance", "help"};
static const struct {
    int columns, rows;
} sizes[] = {{50, 15}, {80, 24}, {120, 40}, {40, 12}};

/* An hour and more of the sample's evening, then a bench opened on it; three films are wet. */
static void begin(struct stage *stage, bool half_days, bool quiet)
{
    stage_init(stage, "night-watch.yaml", 10, 24, 80, CB_PING_OFF);
    for (int press = 0; press < 14; press++) {
        stage_key(stage, "SPACE");
        stage_wait(stage, 7);
    }
    stage->config.half_days = half_days;
    stage->config.quiet_clock = quiet;
    stage_reopen(stage, 10000);
    for (int press = 0; press < 3; press++) {
        stage_key(stage, "SPACE");
        stage_wait(stage, 3);
    }
}

static void assert_half_days(const char *view, const char *text)
{
    for (const char *at = text; (at = strchr(at, ':')) != NULL; at++) {
        if (at > text && isdigit((unsigned char)at[-1]) && isdigit((unsigned char)at[1]) &&
            isdigit((unsigned char)at[2]) && strncmp(at + 3, "am", 2) != 0 &&
            strncmp(at + 3, "pm", 2) != 0) {
            fail_msg("%s: %.12s\n%s", view, at - 2, text);
        }
    }
}

static void by_half_days(void **state)
{
    (void)state;
    struct stage stage;
    begin(&stage, true, false);
    bool any[COUNT(views)] = {false};
    for (size_t s = 0; s < COUNT(sizes); s++) {
        stage_size(&stage, sizes[s].columns, sizes[s].rows);
        for (size_t v = 0; v < COUNT(views); v++) {
            assert_true(cb_rehearse_show(stage.rehearse, views[v]));
            const char *text = stage_text(&stage);
            assert_half_days(views[v], text);
            any[v] = any[v] || strstr(text, "pm") != NULL;
        }
    }
    assert_true(any[0] && any[1] && any[2] && any[4] && any[5]);
    stage_fini(&stage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(by_half_days),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
