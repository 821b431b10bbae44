/* SPDX-License-Identifier: MIT */
/*
 * From a recipe to a film: which time holds (wait over dry over the model), what a blend, a mix,
 * film and solids do, and how many drops are mixed. Also the user's own kinds.yaml.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <string.h>

#include "core/recipe/amount.h"
#include "core/paint/drying.h"
#include "core/recipe/drying_stage.h"
#include "core/recipe/gate.h"
#include "shell/paths.h"
#include "shell/yaml.h"

static struct cb_arena arena;
static const struct cb_kinds *kinds;

static int load(void **state)
{
    (void)state;
    struct cb_err err = {0};
    return cb_paths_kinds(&arena, &kinds, &err) == CB_OK ? 0 : -1;
}

static int unload(void **state)
{
    (void)state;
    cb_arena_fini(&arena);
    return 0;
}

static void near(double got, double want, double tolerance)
{
    if (!(fabs(got - want) <= tolerance)) {
        print_error("%.9g, wanted %.9g within %g\n", got, want, tolerance);
    }
    assert_true(fabs(got - want) <= tolerance);
}

static const char paints[] = "coatbell: 1\n"
                             "name: Night watch\n"
                             "figures: 10\n"
                             "height: 32 mm\n"
                             "groups: {serjeant: [1]}\n"
                             "paints:\n"
                             "  green: {name: Oilskin green, kind: acrylic}\n"
                             "  rope:  {name: Tarred rope, kind: acrylic}\n"
                             "  brass: {name: Lantern brass, kind: metallic}\n"
                             "  ebb:   {name: Ebb wash, kind: wash}\n"
                             "  slow:  {name: Slow green, kind: acrylic, dry: 30}\n"
                             "  floor: {name: Labelled green, kind: acrylic, label: 60}\n"
                             "  thick: {name: Thick green, kind: acrylic, film: 50, solids: .45}\n"
                             "  mud:   {name: Tideline paste, kind: texture paste, film: 1000}\n"
                             "  thin:  {name: Thin green, kind: acrylic, drops: 20}\n"
                             "  spray: {name: Chalk undercoat, kind: spray undercoat}\n"
                             "areas:\n"
                             "  oilskin: {share: 45 %}\n"
                             "  rope:    {share: 5 %}\n"
                             "stages:\n";

static const struct cb_recipe *recipe_of(const char *stages)
{
    const char *text = cb_arena_printf(&arena, "%s%s", paints, stages);
    struct cb_issues issues = {0};
    const struct cb_tree *tree = cb_yaml_read(text, strlen(text), &arena, &issues);
    const struct cb_recipe *recipe =
        tree != NULL ? cb_recipe_from_tree(tree, text, kinds, &arena, &issues) : NULL;
    if (recipe == NULL) {
        print_error("%d:%d: %s\n%s", issues.items[0].line, issues.items[0].column,
                    issues.items[0].message, stages);
    }
    assert_non_null(recipe);
    return recipe;
}

static double kind_time(const char *kind, enum cb_technique technique, double paint, double medium,
                        double water, double film, double solids)
{
    size_t index;
    assert_true(cb_kinds_find(kinds, kind, &index));
    return cb_drying_of(kinds, index, technique, CB_BY_BRUSH,
                        &(struct cb_parts){paint, medium, 0, water}, film, solids)
        .standard_min;
}

static void which_time_holds(void **state)
{
    (void)state;
    static const struct {
        const char *stage;
        enum cb_time_from from;
        double minutes; /* NAN: from the model */
        double label;   /* NAN: none */
    } rows[] = {
        {"technique: basecoat\n    paint: green\n", CB_TIME_MODEL, NAN, NAN},
        {"technique: basecoat\n    paint: green\n    dry: 12\n", CB_TIME_DRY, 12, NAN},
        {"technique: basecoat\n    paint: slow\n", CB_TIME_DRY, 30, NAN},
        {"technique: basecoat\n    paint: slow\n    dry: 12\n", CB_TIME_DRY, 12, NAN},
        {"technique: basecoat\n    paint: slow\n    wait: 7\n", CB_TIME_WAIT, 7, NAN},
        {"technique: basecoat\n    paint: floor\n", CB_TIME_MODEL, NAN, 60},
        {"technique: basecoat\n    paint: floor\n    dry: 12\n", CB_TIME_DRY, 12, 60},
        {"technique: basecoat\n    mix: 2 green + 3 slow\n", CB_TIME_DRY, 30, NAN},
        {"technique: transfer\n", CB_TIME_WAIT, 20, NAN}, /* own judgement */
        {"technique: transfer\n    wait: 5\n", CB_TIME_WAIT, 5, NAN},
        {"technique: transfer\n    dry: 9\n", CB_TIME_DRY, 9, NAN},
        {"technique: prepare\n", CB_TIME_ZERO, 0, NAN},
        {"technique: prepare\n    wait: 4 h\n", CB_TIME_WAIT, 240, NAN},
        {"technique: mask\n", CB_TIME_ZERO, 0, NAN},
        {"technique: unmask\n", CB_TIME_ZERO, 0, NAN},
        {"technique: unmask\n    dry: 15\n", CB_TIME_DRY, 15, NAN},
        {"technique: undercoat\n    paint: spray\n", CB_TIME_MODEL, 30, NAN},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const struct cb_recipe *recipe =
            recipe_of(cb_arena_printf(&arena, "  - name: Coat\n    %s", rows[i].stage));
        struct cb_drying d = cb_drying_of_stage(kinds, recipe, 0);
        if (d.from != rows[i].from) {
            print_error("%s: %d, wanted %d\n", rows[i].stage, d.from, rows[i].from);
        }
        assert_int_equal(d.from, rows[i].from);
        near(d.standard_min,
             isnan(rows[i].minutes) ? kind_time("acrylic", CB_TECHNIQUE_BASECOAT, 0, 0, 0, NAN, NAN)
                                    : rows[i].minutes,
             1e-9);
        assert_true(isnan(rows[i].label) ? isnan(d.label_min) : d.label_min == rows[i].label);
        /* wait is exact and unscaled, in any air; nothing else goes on at 5 C and 99 % */
        struct cb_climate bad = {5, 99, CB_AIR_STILL};
        bool exact = rows[i].from == CB_TIME_WAIT || rows[i].from == CB_TIME_ZERO;
        if (exact) {
            near(cb_drying_rate(&d, &bad), 1, 0);
        }
        assert_false(exact && cb_drying_held(&d, &bad));
    }
}

static void mixes(void **state)
{
    (void)state;
    static const struct {
        const char *stage;
        const char *kind;
        enum cb_technique technique;
        double paint, medium, water, film, solids;
    } rows[] = {
        {"technique: basecoat\n    mix: 2 green + 1 water", "acrylic", CB_TECHNIQUE_BASECOAT, 2, 0,
         1, NAN, NAN},
        {"technique: basecoat\n    mix: 2 green + 1 rope + 3 water", "acrylic",
         CB_TECHNIQUE_BASECOAT, 3, 0, 3, NAN, NAN},
        {"technique: recess shade\n    mix: 1 ebb + 1 medium", "wash", CB_TECHNIQUE_RECESS_SHADE, 1,
         1, 0, NAN, NAN},
        /* acrylic .33 and brass .3333 in equal parts, under the first named of the larger */
        {"technique: basecoat\n    mix: 2 green + 1 brass + 1 water", "acrylic",
         CB_TECHNIQUE_BASECOAT, 3, 0, 1, NAN, (2 * .33 + .25 * 4 / 3) / 3},
        {"technique: basecoat\n    mix: 2 thick + 1 water", "acrylic", CB_TECHNIQUE_BASECOAT, 2, 0,
         1, 50, .45},
        {"technique: basecoat\n    paint: thick", "acrylic", CB_TECHNIQUE_BASECOAT, 2, 0, 1, 50,
         .45},
        {"technique: texture\n    paint: mud", "texture paste", CB_TECHNIQUE_TEXTURE, 1, 0, 0, 1000,
         NAN},
        /* no row: the technique's film, exposure and usual mix, the kind's solids, m 1.25 */
        {"technique: layer\n    paint: brass", "metallic", CB_TECHNIQUE_LAYER, 1, 0, 1, NAN, NAN},
        {"technique: wash\n    mix: 1 green + 4 water", "acrylic", CB_TECHNIQUE_WASH, 1, 0, 4, NAN,
         NAN},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const struct cb_recipe *recipe =
            recipe_of(cb_arena_printf(&arena, "  - name: Coat\n    %s\n", rows[i].stage));
        struct cb_drying d = cb_drying_of_stage(kinds, recipe, 0);
        near(d.standard_min,
             kind_time(rows[i].kind, rows[i].technique, rows[i].paint, rows[i].medium,
                       rows[i].water, rows[i].film, rows[i].solids),
             1e-9);
    }
    /* own arithmetic for such a fallback: metallic layer, W0 = 15 (1 - .3333/2) = 12.5 g/m2 */
    near(kind_time("metallic", CB_TECHNIQUE_LAYER, 0, 0, 0, NAN, NAN), 1.25 * 12.5 / 3.90, .05);
}

static void retarder_slows(void **state)
{
    (void)state;
    const struct cb_recipe *recipe =
        recipe_of("  - {name: A, technique: basecoat, mix: 2 green + 1 water}\n"
                  "  - {name: B, technique: basecoat, mix: 2 green + .5 retarder + 1 water}\n"
                  "  - {name: C, technique: basecoat, mix: 2 green + .5 medium + 1 water}\n");
    double plain = cb_drying_of_stage(kinds, recipe, 0).standard_min;
    double slow = cb_drying_of_stage(kinds, recipe, 1).standard_min;
    double medium = cb_drying_of_stage(kinds, recipe, 2).standard_min;
    assert_true(slow > 1.4 * plain);
    assert_true(fabs(medium - plain) < .15 * plain);
}

/* Design figures (estimate): 15 cm2 at 32 mm, waste 2, 30 drops a millilitre. 10 figures, 25 um
 * all over: 15 x 25e-4 x 2 x 10 x ... = .75 ml = 22.5 drops; 7.5 a part, so 8. */
static void amounts(void **state)
{
    (void)state;
    const struct cb_recipe *recipe =
        recipe_of("  - {name: A, technique: basecoat, mix: 2 green + 1 water}\n"
                  "  - {name: B, technique: basecoat, paint: green, on: oilskin}\n"
                  "  - {name: C, technique: basecoat, mix: 2 green + 1 rope + 1 water}\n"
                  "  - {name: D, technique: basecoat, mix: 2 thin + 1 water}\n"
                  "  - {name: E, technique: undercoat, paint: spray}\n"
                  "  - {name: F, technique: mask}\n"
                  "  - {name: G, technique: recess shade, mix: 1 ebb + 1.5 medium}\n");
    struct cb_amount a = cb_amount_of(kinds, recipe, 0, 10, NAN);
    near(a.ml, .75, 1e-12);
    near(a.drops_needed, 22.5, 1e-9);
    near(a.drops[0], 16, 0);
    near(a.drops[1], 8, 0);
    assert_string_equal(cb_amount_line(kinds, recipe, 0, 10, NAN, &arena),
                        "mix 16 drops of paint and 8 of water for ten figures");
    struct cb_amount b = cb_amount_of(kinds, recipe, 1, 10, NAN);
    near(b.drops_needed, 22.5 * .45, 1e-9);
    near(b.totals.paint, 8, 0); /* the usual 2 + 1: 10.125 / 3 = 3.375, so 4 a part */
    near(b.totals.water, 4, 0);
    assert_string_equal(
        cb_amount_line(kinds, recipe, 2, 1, NAN, &arena),
        "mix 2 drops of Oilskin green, 1 of Tarred rope and 1 of water for one figure");
    near(cb_amount_of(kinds, recipe, 3, 10, NAN).drops_needed, 15, 1e-9); /* its own 20 drops */
    near(cb_amount_of(kinds, recipe, 0, 10, 40).drops_needed, 30, 1e-9);
    assert_null(cb_amount_line(kinds, recipe, 4, 10, NAN, &arena));
    assert_null(cb_amount_line(kinds, recipe, 5, 10, NAN, &arena));
    assert_true(cb_amount_of(kinds, recipe, 5, 10, NAN).ml == 0);
    for (size_t stage = 0; stage < recipe->stage_count; stage++) {
        const struct cb_mix *mix = &recipe->stages[stage].mix;
        for (int figures = 1; figures <= 40 && mix->count > 0; figures++) {
            struct cb_amount d = cb_amount_of(kinds, recipe, stage, figures, NAN);
            double sum = 0;
            for (size_t i = 0; i < mix->count && recipe->stages[stage].mix_said; i++) {
                sum += d.drops[i];
                assert_true(d.drops[i] == floor(d.drops[i]) && d.drops[i] >= 1);
                for (size_t j = 0; j < mix->count; j++) { /* the ratio, to within a drop */
                    near(d.drops[i], d.drops[j] * mix->parts[i].parts / mix->parts[j].parts,
                         fmax(1, mix->parts[i].parts / mix->parts[j].parts));
                }
            }
            assert_true(!recipe->stages[stage].mix_said || sum >= d.drops_needed - 1e-9);
        }
    }
}

static void cautions(void **state)
{
    (void)state;
    const struct cb_recipe *recipe =
        recipe_of("  - {name: A, technique: undercoat, paint: spray}\n"
                  "  - {name: B, technique: undercoat, paint: green, by: airbrush}\n"
                  "  - {name: C, technique: prepare}\n"
                  "  - {name: D, technique: mask}\n"
                  "  - {name: E, technique: basecoat, paint: green}\n");
    static const char *const want[][2] = {
        {"spray-can", NULL}, {"airbrush", NULL}, {"dust", "blade"}, {"blade", NULL}, {NULL, NULL}};
    struct cb_caution found[8];
    for (size_t stage = 0; stage < 5; stage++) {
        size_t count = cb_gate_cautions(kinds, recipe, stage, CB_AIR_STILL, found, 8);
        size_t wanted = want[stage][0] == NULL ? 0 : want[stage][1] == NULL ? 1 : 2;
        assert_int_equal(count, wanted);
        for (size_t i = 0; i < count; i++) {
            assert_string_equal(found[i].id, want[stage][i]);
            assert_true(strlen(found[i].text) <= 240 && strlen(found[i].brief) <= 48);
        }
    }
    assert_int_equal(cb_gate_cautions(kinds, recipe, 4, CB_AIR_DRYER, found, 8), 1);
    assert_string_equal(found[0].id, "dryer");
    size_t oil;
    assert_true(cb_kinds_find(kinds, "oil", &oil));
    assert_int_equal(cb_gate_cautions_of(&kinds->kinds[oil], CB_TECHNIQUE_WASH, CB_BY_BRUSH,
                                         CB_AIR_STILL, found, 8),
                     1);
    assert_string_equal(found[0].id, "solvent");
    assert_true(strlen(found[0].text) <= 240 && strlen(found[0].brief) <= 48);
}

/* The room as a tool: only where it is worth five minutes. */
static void room(void **state)
{
    (void)state;
    const struct cb_recipe *recipe =
        recipe_of("  - {name: A, technique: wash, paint: ebb}\n"
                  "  - {name: B, technique: drybrush, paint: green}\n");
    struct cb_zone utc = {0};
    struct cb_climate c = {20, 50, CB_AIR_STILL};
    struct cb_room_tool tools[CB_ROOM_MAX];
    struct cb_drying wash = cb_drying_of_stage(kinds, recipe, 0);
    int64_t eight = INT64_C(20) * 60 * CB_MS_PER_MIN; /* 20:00 */
    size_t count = cb_gate_room(&wash, "wash", 30, &c, eight, &utc, &arena, tools, CB_ROOM_MAX);
    assert_true(count >= 2);
    assert_string_equal(tools[0].text, "fan: wash dry 20:16 instead of 20:33");
    struct cb_climate fan = {20, 50, CB_AIR_FAN};
    near(tools[0].saved_min, 30 / cb_drying_rate(&wash, &c) - 30 / cb_drying_rate(&wash, &fan),
         1e-12);
    struct cb_drying touch = cb_drying_of_stage(kinds, recipe, 1);
    assert_int_equal(
        cb_gate_room(&touch, "drybrush", 1, &c, eight, &utc, &arena, tools, CB_ROOM_MAX), 0);
    /* held: going on at all is worth it */
    struct cb_climate cold = {8, 50, CB_AIR_STILL};
    count = cb_gate_room(&wash, "wash", 30, &cold, eight, &utc, &arena, tools, CB_ROOM_MAX);
    assert_true(count == 3 && isinf(tools[2].saved_min));
    assert_non_null(strstr(tools[2].text, "; as it is, never"));
    /* an oil film gains nothing from moving air */
    size_t oil;
    assert_true(cb_kinds_find(kinds, "oil", &oil));
    struct cb_drying slow =
        cb_drying_of(kinds, oil, CB_TECHNIQUE_WASH, CB_BY_BRUSH, &(struct cb_parts){0}, NAN, NAN);
    assert_true(cb_drying_rate(&slow, &fan) == cb_drying_rate(&slow, &c));
    /* warmer air holding the same vapour */
    struct cb_climate warm = cb_gate_warmer(&c, 5);
    near(warm.temp_c, 25, 0);
    near(warm.rh_pct, 50 * 2339.2 / 3169.7, .1); /* IAPWS-95 and ASHRAE, as in test_physics */
}

static const struct cb_kinds *kinds_with(const char *own, struct cb_issues *issues)
{
    static const char ours[] = "coatbell-kinds: 1\n"
                               "kinds:\n"
                               "  acrylic: {law: water, solids: .33, min_film: 10, source: test}\n"
                               "  oil: {law: oil, source: test}\n"
                               "techniques:\n";
    const char *text = ours;
    for (int t = 0; t < CB_TECHNIQUE_COUNT; t++) {
        text = cb_arena_printf(&arena,
                               "%s  %s: {film: 20, a: 1, mix: neat, minutes: 1, waste: 2, "
                               "source: test}\n",
                               text, cb_technique_name((enum cb_technique)t));
    }
    text = cb_arena_printf(&arena,
                           "%spriors:\n"
                           "  - {kind: oil, technique: wash, minutes: 99, source: test}\n",
                           text);
    struct cb_issues first = {0};
    const struct cb_tree *tree = cb_yaml_read(text, strlen(text), &arena, &first);
    assert_non_null(tree);
    const struct cb_tree *more =
        own != NULL ? cb_yaml_read(own, strlen(own), &arena, issues) : NULL;
    assert_true((own != NULL) == (more != NULL));
    const struct cb_kinds *found = cb_kinds_from_tree(tree, more, &arena, &first, issues);
    assert_int_equal(first.count, 0);
    return found;
}

static void own_kinds(void **state)
{
    (void)state;
    struct cb_issues issues = {0};
    const struct cb_kinds *plain = kinds_with(NULL, &issues);
    const struct cb_kinds *own =
        kinds_with("coatbell-kinds: 1\n"
                   "kinds:\n"
                   "  egg tempera: {law: water, solids: .5}\n"
                   "  acrylic: {law: water, solids: .4, min_film: 4}\n"
                   "priors:\n"
                   "  - {kind: egg tempera, technique: layer, film: 10, solids: .2, a: 1, m: 1, "
                   "mix: 1 paint + 1 water}\n"
                   "  - {kind: oil, technique: wash, minutes: 77}\n",
                   &issues);
    assert_non_null(plain);
    assert_non_null(own);
    size_t tempera, oil, acrylic;
    assert_false(cb_kinds_find(plain, "egg tempera", &tempera));
    assert_true(cb_kinds_find(own, "egg tempera", &tempera));
    assert_true(cb_kinds_find(own, "oil", &oil));
    assert_true(cb_kinds_find(own, "acrylic", &acrylic));
    near(own->kinds[acrylic].min_film_c, 4, 0);
    assert_int_equal(own->prior_count, 2);
    near(cb_drying_of(own, oil, CB_TECHNIQUE_GLAZE, CB_BY_BRUSH, &(struct cb_parts){0}, NAN, NAN)
             .standard_min,
         77, 0);
    assert_string_not_equal(plain->edition, own->edition);
    assert_string_equal(plain->edition, kinds_with(NULL, &issues)->edition);
}

static void broken_kinds(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        int line;
        const char *message;
    } rows[] = {
        {"kinds: {x: {law: water}}\n", 1, "coatbell-kinds: 1"},
        {"coatbell-kinds: 1\nkinds:\n  x: {law: wind, solids: .3}\n", 3, "no law"},
        {"coatbell-kinds: 1\nkinds:\n  x: {law: water}\n", 3, "no solids"},
        {"coatbell-kinds: 1\nkinds:\n  x: {law: water, solid: .3}\n", 3, "did you mean solids?"},
        {"coatbell-kinds: 1\nkinds:\n  x: {law: oil}\n", 1, "row of priors with minutes"},
        {"coatbell-kinds: 1\nkinds: none\n", 2, "not a map"},
        {"coatbell-kinds: 1\npriors: none\n", 2, "not a list"},
        {"coatbell-kinds: 1\npriors:\n  - {kind: acrylic, technique: stir}\n", 3, "stir"},
        {"coatbell-kinds: 1\npriors:\n  - {kind: tar, technique: wash}\n", 3, "unknown kind: tar"},
        {"coatbell-kinds: 1\npriors:\n  - {kind: acrylic, technique: wash, film: 20}\n", 3,
         "lacks film, solids, a or m"},
        {"coatbell-kinds: 1\npriors:\n  - {kind: acrylic, technique: wash, mix: lots}\n", 3,
         "mix: lots"},
        {"coatbell-kinds: 1\ntechniques:\n  wash: {film: nan}\n", 3, "a number from"},
        {"coatbell-kinds: 1\npriors:\n  - wash\n", 3, "not a map"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct cb_issues issues = {0};
        assert_null(kinds_with(rows[i].text, &issues));
        assert_true(issues.count >= 1);
        bool found = false;
        for (size_t k = 0; k < issues.count; k++) {
            found = found || (issues.items[k].line == rows[i].line &&
                              strstr(issues.items[k].message, rows[i].message) != NULL);
        }
        if (!found) {
            print_error("%s: %d: %s\n", rows[i].text, issues.items[0].line,
                        issues.items[0].message);
        }
        assert_true(found);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(which_time_holds), cmocka_unit_test(mixes),
        cmocka_unit_test(retarder_slows),   cmocka_unit_test(amounts),
        cmocka_unit_test(cautions),         cmocka_unit_test(room),
        cmocka_unit_test(own_kinds),        cmocka_unit_test(broken_kinds),
    };
    return cmocka_run_group_tests_name("stage", tests, load, unload);
}
