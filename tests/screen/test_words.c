/* SPDX-License-Identifier: MIT */
/* The words a painter reads: a blend by its parts, the room as it was told, what can't be done. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "support/stage.h"

static const char blend[] =
    "coatbell: 1\n"
    "name: Two in one\n"
    "paints:\n"
    "  blue: {name: Cloth blue, kind: acrylic, dry: 20}\n"
    "  skin: {name: Skin, kind: acrylic, dry: 20}\n"
    "stages:\n"
    "  - {name: Highlight, technique: layer, mix: 1 blue + 2 skin + 1 water,"
    " minutes: 4}\n"
    "  - {name: Coat, technique: layer, paint: blue, minutes: 4}\n";

static void a_blend_is_named_by_its_parts(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, blend, 2, 24, 80, CB_PING_NEEDED);
    assert_true(stage_shows(&stage, "Cloth blue + Skin"));
    assert_true(stage_shows(&stage, "1 Cloth blue + 2 Skin + 1 water"));
    stage_key(&stage, "SPACE");
    assert_true(stage_shows(&stage, "Cloth blue + Skin on 1 at 18:00"));
    stage_key(&stage, "F2");
    assert_true(stage_shows(&stage, " 1 \u2248 Cloth blue + Skin"));
    stage_key(&stage, "F1");
    stage_key(&stage, "BACKSPACE");
    assert_true(stage_shows(&stage, "taken back: Cloth blue + Skin on 1; r redoes it"));
    stage_key(&stage, "SPACE");
    stage_wait(&stage, 60);
    assert_non_null(strstr(stage.title, "Cloth blue + Skin: figure 1"));
    stage_fini(&stage);
}

static void room(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, blend, 2, 24, 80, CB_PING_OFF);
    stage_key(&stage, "c");
    stage_type(&stage, "20.5 55");
    stage_key(&stage, "ENTER");
    assert_true(stage_shows(&stage, "room: 20.5 C, 55 %; BKSP takes it back"));
    stage_wait(&stage, 89);
    assert_false(stage_shows(&stage, " h ago"));
    stage_wait(&stage, 2);
    assert_true(stage_shows(&stage, "20.5C 55%, 2 h ago"));
    stage_size(&stage, 50, 15);
    assert_true(stage_shows(&stage, "19:31 room 2 h ago"));
    stage_wait(&stage, 60 * 47);
    assert_true(stage_shows(&stage, "room 2 d ago"));
    stage_fini(&stage);
}

static void a_coat_that_waits_says_for_what(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, blend, 1, 24, 80, CB_PING_OFF);
    stage_key(&stage, "SPACE");
    static const char *const rows[][2] = {
        {"8 50", "waits: too cold"}, {"20 98", "waits: too damp"}, {"8 98", "waits: too cold"}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        stage_key(&stage, "c");
        stage_type(&stage, rows[i][0]);
        stage_key(&stage, "ENTER");
        stage_key(&stage, "F2");
        assert_true(stage_shows(&stage, rows[i][1]));
        stage_key(&stage, "F1");
    }
    stage_fini(&stage);
}

static void what_is_not_there(void **state)
{
    (void)state;
    struct stage stage;
    stage_init_text(&stage, blend, 2, 24, 80, CB_PING_OFF);
    assert_true(stage_shows(&stage, "nothing yet"));
    stage_key(&stage, "r");
    assert_true(stage_shows(&stage, "nothing to redo"));
    stage_key(&stage, "w");
    assert_true(stage_shows(&stage, "no coat here to answer for"));
    stage_key(&stage, "h");
    assert_true(stage_shows(&stage, "no wet coat here to dry"));
    stage_key(&stage, "f");
    assert_true(stage_shows(&stage, "4 coats still to do: f again calls it done"));
    stage_fini(&stage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_blend_is_named_by_its_parts),
        cmocka_unit_test(room),
        cmocka_unit_test(a_coat_that_waits_says_for_what),
        cmocka_unit_test(what_is_not_there),
    };
    return cmocka_run_group_tests_name("words", tests, NULL, NULL);
}
