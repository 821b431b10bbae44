/* SPDX-License-Identifier: MIT */
/* Each advice with a recipe that gives it, and recipes that give none. That light over dark takes
 * three coats, that a wash comes after what it shades, that transfers want gloss under them and
 * metal goes before the matt beside it: common practice, no source. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <cmocka.h>

#include "core/review/advice.h"
#include "support/world.h"

static struct cb_arena session;

/* Those of the world, and two more. */
static const struct cb_kinds *more_kinds(void)
{
    static struct cb_kind list[CB_KINDS_MAX];
    static struct cb_kinds kinds;
    kinds = *world_kinds();
    memcpy(list, kinds.kinds, kinds.kind_count * sizeof *list);
    list[kinds.kind_count++] =
        (struct cb_kind){"metallic", CB_LAW_WATER, .33, 10, .30, false, false, true, "test"};
    list[kinds.kind_count++] =
        (struct cb_kind){"brush varnish", CB_LAW_WATER, .28, 10, .30, false, false, false, "test"};
    kinds.kinds = list;
    return &kinds;
}

static int unload(void **state)
{
    (void)state;
    cb_arena_fini(&session);
    return 0;
}

/* Every stage of these has its brush, so that what is asked for stands alone. */
static const struct cb_recipe *recipe_of(const char *stages)
{
    static const char head[] =
        "{coatbell: 1, name: r, figures: 4, groups: {one: [1], rest: [2, 3, 4]}, paints: {"
        "tar: {name: Tar, kind: acrylic, tone: dark}, fog: {name: Fog, kind: acrylic, tone: light},"
        "green: {name: Green, kind: acrylic, tone: mid}, ebb: {name: Ebb, kind: wash, tone: dark},"
        "brass: {name: Brass, kind: metallic, tone: mid}, quick: {name: Quick, kind: acrylic,"
        " tone: dark, dry: 1}, plain: {name: Plain, kind: acrylic},"
        "gloss: {name: Gloss, kind: brush varnish}, can: {name: Can, kind: spray undercoat}},"
        "areas: {coat: {beside: [lamp]}, lamp: {near: [face]}, face: {}, shield: {apart: yes, "
        "beside: [face]}},"
        "stages: [";
    struct cb_issues issues = {0};
    const char *text = cb_arena_printf(&session, "%s%s]}", head, stages);
    const struct cb_tree *tree = world_read(text, strlen(text), &session, &issues);
    const struct cb_recipe *recipe =
        tree == NULL ? NULL : cb_recipe_from_tree(tree, text, more_kinds(), &session, &issues);
    if (recipe == NULL) {
        fail_msg("%s in %s", issues.count > 0 ? issues.items[0].message : "no tree", text);
    }
    return recipe;
}

/* "id stage: text; act", one a line. */
static const char *said(const char *stages, const struct cb_advice_known *known)
{
    const struct cb_recipe *recipe = recipe_of(stages);
    size_t count;
    struct cb_advice_known all = known != NULL ? *known : (struct cb_advice_known){0};
    all.kinds = more_kinds();
    const struct cb_advice *list = cb_advice_of(recipe, &all, &session, &count);
    const char *out = "";
    for (size_t i = 0; i < count; i++) {
        assert_int_equal(list[i].line, recipe->stages[list[i].stage].line);
        assert_int_equal(list[i].column, recipe->stages[list[i].stage].column);
        out = cb_arena_printf(&session, "%s%s%s %s: %s; %s", out, i > 0 ? "\n" : "", list[i].id,
                              recipe->stages[list[i].stage].name, list[i].text, list[i].act);
    }
    return out;
}

#define UNDER "{name: U, technique: undercoat, paint: tar, by: airbrush},"
#define COAT  "technique: basecoat, brush: b"
#define WASH  "technique: wash, paint: ebb, brush: b"

static void test_each(void **state)
{
    (void)state;
    static const struct {
        const char *stages, *wanted;
    } rows[] = {
        /* coats */
        {UNDER "{name: A, " COAT ", paint: fog, on: coat, coats: 2}",
         "coats A: light over dark in 2 coats: what is under it may show; say `coats: 3`"},
        {UNDER "{name: A, " COAT ", paint: green, on: coat}",
         "coats A: mid over dark in 1 coat: what is under it may show; say `coats: 2`"},
        {UNDER "{name: A, " COAT ", paint: fog, on: coat, coats: 3}", ""},
        {UNDER "{name: A, " COAT ", paint: green, on: coat, coats: 2},"
               "{name: B, " COAT ", paint: fog, on: coat, coats: 2}",
         ""},
        {UNDER "{name: A, " COAT ", paint: plain, on: coat}", ""},
        {UNDER "{name: A, technique: layer, brush: b, paint: fog, on: coat}", ""},
        {"{name: A, " COAT ", paint: fog, on: coat}", ""},
        /* on some of its figures dark is under it */
        {UNDER "{name: A, " COAT ", paint: green, on: coat, coats: 2, for: one},"
               "{name: B, " COAT ", paint: fog, on: coat, coats: 2}",
         "coats B: light over dark in 2 coats: what is under it may show; say `coats: 3`"},
        /* wash-early */
        {"{name: W, " WASH ", on: [coat, face]}, {name: A, " COAT ", paint: tar, on: coat},"
         "{name: B, " COAT ", paint: tar, on: face}",
         "wash-early W: B goes over it later and hides what it shades; put it after B"},
        {"{name: W, technique: recess shade, paint: ebb, brush: b}, {name: A, " COAT ", paint: tar,"
         " on: coat}",
         "wash-early W: A goes over it later and hides what it shades; put it after A"},
        {"{name: A, " COAT ", paint: tar, on: coat}, {name: W, " WASH ", on: coat},"
         "{name: H, technique: layer, paint: green, brush: b, on: coat},"
         "{name: B, " COAT ", paint: tar, on: face}",
         ""},
        {"{name: W, " WASH ", on: coat, for: one}, {name: A, " COAT ", paint: tar, on: coat,"
         " for: rest}",
         ""},
        {"{name: W, " WASH "}, {name: S, " COAT ", paint: tar, on: shield},"
         "{name: J, technique: join, on: shield}",
         ""}, /* the shield was not on yet */
        /* transfer */
        {"{name: A, " COAT ", paint: tar}, {name: T, technique: transfer, on: shield}",
         "transfer T: no varnish under it: on matt paint the film shows; put a gloss varnish "
         "before "
         "it"},
        {"{name: G, technique: varnish, paint: gloss, brush: b, on: coat},"
         "{name: T, technique: transfer, on: shield}",
         "transfer T: no varnish under it: on matt paint the film shows; put a gloss varnish "
         "before "
         "it"},
        {"{name: G, technique: varnish, paint: gloss, brush: b, on: shield},"
         "{name: T, technique: transfer, on: shield}",
         ""},
        {"{name: G, technique: varnish, paint: gloss, brush: b}, {name: T, technique: transfer,"
         " on: shield}",
         ""},
        {"{name: G, technique: varnish, paint: gloss, brush: b, for: one},"
         "{name: T, technique: transfer, on: shield, for: rest}",
         "transfer T: no varnish under it: on matt paint the film shows; put a gloss varnish "
         "before "
         "it"},
        /* dry: a thin basecoat takes 6.3 min, one film in a hundred 1.9 */
        {"{name: A, " COAT ", paint: quick, on: coat}",
         "dry A: `dry: 1` is shorter than such a film would ever take; as a rule it is 6.3 min; "
         "leave `dry` out until you have timed it"},
        {"{name: A, " COAT ", paint: tar, on: coat, dry: 1.5}",
         "dry A: `dry: 1.5` is shorter than such a film would ever take; as a rule it is 6.3 min; "
         "leave `dry` out until you have timed it"},
        {"{name: A, " COAT ", paint: tar, on: coat, dry: 2.5}", ""},
        {"{name: A, " COAT ", paint: quick, on: coat, dry: 9}", ""},
        {"{name: A, " COAT ", paint: tar, on: coat, wait: 1}", ""},
        /* brush */
        {"{name: A, technique: glaze, paint: tar, on: coat}",
         "brush A: no brush is named for it; name one, such as `brush: small round`"},
        {"{name: A, technique: glaze, paint: tar, on: coat, by: sponge},"
         "{name: B, technique: prepare}, {name: C, technique: undercoat, paint: can}",
         ""},
        /* metal */
        {"{name: A, " COAT ", paint: tar, on: coat}, {name: M, " COAT ", paint: brass, on: lamp}",
         "metal M: metal after A, which it will splash; put it before A"},
        {"{name: A, " COAT ", paint: tar, on: face}, {name: M, technique: drybrush, brush: b,"
         " paint: brass, on: lamp}",
         "metal M: metal after A, which it will splash; put it before A"},
        {"{name: A, " COAT ", paint: tar, on: face}, {name: M, " COAT ", paint: brass, on: lamp}",
         ""}, /* near is not beside */
        {"{name: A, " COAT ", paint: tar, on: lamp}, {name: M, technique: drybrush, brush: b,"
         " paint: brass, on: face}",
         "metal M: metal after A, which it will splash; put it before A"},
        {"{name: A, " WASH ", on: coat}, {name: M, " COAT ", paint: brass, on: lamp}", ""},
        {"{name: A, " COAT ", paint: tar, on: [coat, lamp]}, {name: M, " COAT ", paint: brass,"
         " on: lamp, coats: 2}",
         ""}, /* it goes over it */
        {"{name: A, " COAT ", paint: tar, on: face}, {name: M, " COAT ", paint: brass, on: shield},"
         "{name: J, technique: join, on: shield}",
         ""}, /* not on the same piece yet */
        {"{name: J, technique: join, on: shield}, {name: A, " COAT ", paint: tar, on: face},"
         "{name: M, " COAT ", paint: brass, on: shield}",
         "metal M: metal after A, which it will splash; put it before A"},
        {"{name: M, " COAT ", paint: brass, on: lamp}, {name: A, " COAT ", paint: tar, on: coat}",
         ""},
        {"{name: A, " COAT ", paint: tar, on: coat}, {name: M, " COAT ", paint: brass, on: lamp,"
         " tidy_with: [tar]}",
         ""},
        {"{name: A, " COAT ", paint: brass, on: coat}, {name: M, " COAT ", paint: brass, on: lamp}",
         ""},
        {"{name: A, " COAT ", paint: tar, on: coat, for: one}, {name: M, " COAT ", paint: brass,"
         " on: lamp, for: rest}",
         ""},
        {"{name: A, " COAT ", paint: tar, on: coat}, {name: M, technique: edge highlight, brush: b,"
         " paint: brass, on: lamp}",
         ""},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        assert_string_equal(said(rows[i].stages, NULL), rows[i].wanted);
    }
}

/* 12 C and 88 % is outside the window of ISO 8502-4, 21 C and 50 % is inside. */
static void test_spray(void **state)
{
    (void)state;
    static const struct cb_climate damp = {12, 88, CB_AIR_STILL}, good = {21, 50, CB_AIR_STILL},
                                   cold = {3, 50, CB_AIR_STILL}, dew = {20, 84, CB_AIR_STILL},
                                   hot = {42, 30, CB_AIR_STILL};
    static const char stages[] = "{name: C, technique: undercoat, paint: can, together: yes},"
                                 "{name: A, " COAT ", paint: tar, on: coat}";
    const struct cb_climate *airs[] = {&damp, &damp};
    struct cb_advice_known known = {.airs = airs, .usual = true};
    assert_string_equal(said(stages, &known),
                        "spray C: your usual air of 12 C and 88 % is not for spraying: 88 %, the "
                        "limit is 85; name a warmer or drier `place`, or wait for a better day");
    known.usual = false;
    airs[0] = &cold;
    assert_string_equal(said(stages, &known),
                        "spray C: air of 3 C and 50 % is not for spraying: 3 C, the limit is 5; "
                        "name a warmer or drier `place`, or wait for a better day");
    airs[0] = &dew;
    assert_string_equal(said(stages, &known),
                        "spray C: air of 20 C and 84 % is not for spraying: 2.79 K above the dew "
                        "point, the limit is 3; name a warmer or drier `place`, or wait for a "
                        "better day");
    airs[0] = &hot;
    assert_string_equal(said(stages, &known),
                        "spray C: air of 42 C and 30 % is not for spraying: 42 C, the limit is 40; "
                        "name a cooler `place`, or wait for a cooler day");
    airs[0] = &good;
    assert_string_equal(said(stages, &known), "");
    airs[0] = NULL; /* not known; the basecoat is brushed on */
    assert_string_equal(said(stages, &known), "");
}

static struct cb_cover cover(uint64_t figures, int said_coats, uint64_t added, uint64_t spared)
{
    struct cb_cover out = {.pot = cb_pot_key("Fog", "acrylic", &session),
                           .technique = CB_TECHNIQUE_BASECOAT,
                           .under = CB_TONE_DARK};
    out.said[said_coats] = figures;
    out.added[3] = added;
    out.spared[said_coats] = spared;
    return out;
}

/* What the log has counted outvotes the rule. */
static void test_log_coats(void **state)
{
    (void)state;
    static const char two[] = UNDER "{name: A, " COAT ", paint: fog, on: coat, coats: 2}",
                      three[] = UNDER "{name: A, " COAT ", paint: fog, on: coat, coats: 3}";
    struct cb_cover covers[1] = {cover(10, 2, 9, 0)};
    const struct cb_advice_known known = {.covers = covers, .cover_count = 1};
    assert_string_equal(
        said(two, &known),
        "log-coats A: your log has a third coat on 9 of 10 figures over dark (60 to "
        "98 %); say `coats: 3`");
    assert_string_equal(said(three, &known), "");
    covers[0] = cover(10, 2, 0, 0); /* two were enough */
    assert_string_equal(said(two, &known), "");
    covers[0] = cover(2, 2, 0, 0); /* too few to say */
    assert_string_equal(said(two, &known), "coats A: light over dark in 2 coats: what is under it "
                                           "may show; say `coats: 3`");
    covers[0] = cover(8, 3, 0, 8);
    assert_string_equal(said(three, &known),
                        "log-coats A: your log has a third coat spared on 8 of 8 figures over dark "
                        "(68 to 100 %); say `coats: 2`");
    covers[0] = cover(10, 2, 9, 0);
    covers[0].under = CB_TONE_LIGHT; /* another ground */
    assert_string_equal(said(three, &known), "");
}

static void test_log_dry(void **state)
{
    (void)state;
    static const char five[] = "{name: A, " COAT ", paint: tar, on: coat, dry: 5}",
                      short_one[] = "{name: A, " COAT ", paint: quick, on: coat}";
    struct cb_pot_line lines[2] = {{.pot = cb_pot_key("Tar", "acrylic", &session),
                                    .technique = CB_TECHNIQUE_BASECOAT,
                                    .told = 5,
                                    .median_min = 121,
                                    .low_min = 80,
                                    .high_min = 180}};
    lines[1] = lines[0];
    lines[1].pot = cb_pot_key("Quick", "acrylic", &session);
    lines[1].median_min = 1.1;
    lines[1].low_min = .8;
    lines[1].high_min = 1.8;
    const struct cb_advice_known known = {.lines = lines, .line_count = 2};
    assert_string_equal(said(five, &known), "log-dry A: `dry: 5`, and your log has 121 min as a "
                                            "rule, from 5 films; say `dry: 121`");
    assert_string_equal(said(short_one, &known), ""); /* the log outvotes the model */
    assert_string_equal(said("{name: A, " COAT ", paint: tar, on: coat, dry: 90}", &known), "");
    assert_string_equal(said("{name: A, " COAT ", paint: tar, on: coat}", &known), "");
    assert_string_equal(said("{name: A, technique: layer, brush: b, paint: tar, dry: 5}", &known),
                        "");
    lines[0].told = 4;
    assert_string_equal(said(five, &known), "");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_each),
        cmocka_unit_test(test_spray),
        cmocka_unit_test(test_log_coats),
        cmocka_unit_test(test_log_dry),
    };
    return cmocka_run_group_tests_name("advice", tests, NULL, unload);
}
