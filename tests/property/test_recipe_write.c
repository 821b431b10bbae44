/* SPDX-License-Identifier: MIT */
/* What is written of a recipe reads back as the same recipe: those of the tree, those that
 * fuzzing has left, and drafts by chance with the worst texts a reader takes. */
#include <dirent.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "core/recipe/draft.h"
#include "core/recipe/recipe_write.h"
#include "shell/paths.h"
#include "shell/yaml.h"
#include "support/recipe_equal.h"

enum { SEED = 113, ROUNDS = 3000, SAMPLES = 5 };

static struct cb_arena kinds_arena;
static const struct cb_kinds *kinds;

static int read_kinds(void **state)
{
    (void)state;
    struct cb_err err = {0};
    return cb_paths_kinds(&kinds_arena, &kinds, &err) == CB_OK ? 0 : -1;
}

static int drop_kinds(void **state)
{
    (void)state;
    cb_arena_fini(&kinds_arena);
    return 0;
}

static const struct cb_recipe *read_text(const char *text, size_t length, struct cb_arena *arena,
                                         struct cb_issues *issues)
{
    const struct cb_tree *tree = cb_yaml_read(text, length, arena, issues);
    return tree ? cb_recipe_from_tree(tree, text, kinds, arena, issues) : NULL;
}

static void check_back(const struct cb_recipe *recipe, const char *what)
{
    struct cb_arena arena = {0};
    struct cb_issues issues = {0};
    const char *text = cb_recipe_write(recipe, kinds, NULL, &arena);
    const struct cb_recipe *back = read_text(text, strlen(text), &arena, &issues);
    if (back == NULL) {
        fail_msg("%s: written, refused: %d:%d: %s\n%s", what, issues.items[0].line,
                 issues.items[0].column, issues.items[0].message, text);
    }
    const char *difference = recipe_difference(recipe, back, &arena);
    if (difference != NULL) {
        fail_msg("%s: another %s\n%s", what, difference, text);
    }
    assert_string_equal(text, cb_recipe_write(back, kinds, NULL, &arena));
    cb_arena_fini(&arena);
}

/* How many files of the folder are recipes. */
static int check_folder(const char *folder)
{
    int read = 0;
    DIR *list = opendir(folder);
    assert_non_null(list);
    for (const struct dirent *entry = readdir(list); entry != NULL; entry = readdir(list)) {
        struct cb_arena arena = {0};
        struct cb_issues issues = {0};
        struct cb_err err = {0};
        char path[512], *text = NULL;
        size_t length = 0;
        snprintf(path, sizeof path, "%s/%.255s", folder, entry->d_name);
        if (cb_file_read(path, 1 << 20, &arena, &text, &length, &err) == CB_OK) {
            const struct cb_recipe *recipe = read_text(text, length, &arena, &issues);
            read += recipe != NULL;
            if (recipe != NULL) {
                check_back(recipe, path);
            }
        }
        cb_arena_fini(&arena);
    }
    closedir(list);
    return read;
}

static void test_of_the_tree(void **state)
{
    (void)state;
    assert_true(check_folder("recipes") + check_folder("tests/screen") >= SAMPLES);
    assert_true(check_folder("tests/fuzz/corpus/recipe") >= 5);
}

static uint64_t chance;

static uint32_t roll(uint32_t below)
{
    chance = chance * 6364136223846793005U + 1442695040888963407U;
    return (uint32_t)(chance >> 33) % below;
}

static bool often(void)
{
    return roll(2) == 0;
}

static const char *any_text(struct cb_arena *arena)
{
    static const char *const pieces[] = {
        "rope",   "#",      ": ",    ":",   " #",    "'",     "\"", "\\",  "[",
        "]",      "{",      "}",     ",",   "- ",    "-",     "?",  "? ",  "&a",
        "*a",     "!t",     "|",     ">",   "%",     "@",     "`",  "~",   "yes",
        "null",   "1",      "2.",    "---", "...",   "=",     "Öl", "漆",  "e\u0301",
        "\u00A0", "\u3000", "whole", "all", "paint", "water", "+",  "<<",  "0x1F",
        "1e3",    ".5",     "\\n",   "\\",  "$",     "(",     ")",  "a b", "\U0001F58C",
    };
    char *text = cb_arena_text(arena, "");
    const uint32_t count = roll(40) == 0 ? 700 : 1 + roll(5);
    for (uint32_t i = 0; i < count; i++) {
        text = cb_arena_printf(arena, "%s%s%s", text, roll(4) == 0 ? " " : "",
                               pieces[roll(sizeof pieces / sizeof *pieces)]);
    }
    return text;
}

/* As the reader leaves every value. */
static const char *any_line(struct cb_arena *arena)
{
    struct cb_draft *draft = cb_arena_alloc(arena, 1, sizeof *draft);
    cb_draft_begin(draft, "", 0);
    return cb_draft_stage_name(draft, any_text(arena), arena);
}

static const char *maybe_line(struct cb_arena *arena)
{
    return often() ? any_line(arena) : NULL;
}

/* A decimal of some places, as somebody may have typed it. */
static double any_number(double low, double high)
{
    char text[40];
    double number = low + (high - low) * (roll(10001) / 1e4);
    snprintf(text, sizeof text, "%.*f", (int)roll(9), number);
    sscanf(text, "%lf", &number);
    return number < low ? low : number > high ? high : number;
}

static double maybe_minutes(double low)
{
    const double minutes = any_number(low, roll(3) == 0 ? 1440 : 9);
    return often() ? NAN : roll(3) > 0 ? minutes : minutes < 1 ? 1 : (double)(int)minutes / 60 + 1;
}

static uint64_t some_of(size_t count)
{
    uint64_t mask = 0;
    for (size_t i = 0; i < count; i++) {
        mask |= roll(3) == 0 ? UINT64_C(1) << i : 0;
    }
    return mask;
}

static void add_paints(struct cb_draft *draft, struct cb_arena *arena)
{
    for (uint32_t i = roll(6); i-- > 0;) {
        const int at =
            cb_draft_paint(draft, any_text(arena), roll((uint32_t)kinds->kind_count), arena);
        if (at >= 0) {
            struct cb_paint *paint = &draft->paints[at];
            paint->tone = (enum cb_tone)roll(4);
            paint->film_um = often() ? NAN : any_number(1, 5000);
            paint->solids = often() ? NAN : any_number(1, 95) / 100;
            paint->dry_min = maybe_minutes(0.1);
            paint->label_min = maybe_minutes(0.1);
            paint->drops_per_ml = often() ? NAN : any_number(5, 200);
            paint->instead = maybe_line(arena);
        }
    }
}

static void add_areas(struct cb_draft *draft, struct cb_arena *arena)
{
    double left = 100;
    for (uint32_t i = roll(7); i-- > 0;) {
        const int at = cb_draft_area(draft, any_text(arena), arena);
        if (at >= 0 && often()) {
            struct cb_area *area = &draft->areas[at];
            area->share_said = roll(3) > 0;
            area->share_pct = any_number(0, left / 3);
            left -= area->share_said ? area->share_pct : 0;
            area->disc_mm = area->share_said ? NAN : any_number(5, 200);
            area->apart = often();
        }
    }
    (void)cb_draft_area(draft, "the rest", arena); /* it splits what is left */
    for (size_t i = 0; i < draft->recipe.area_count; i++) {
        draft->areas[i].near = some_of(draft->recipe.area_count) & ~(UINT64_C(1) << i);
        for (size_t other = 0; other < i; other++) {
            if (roll(4) == 0) {
                draft->areas[i].beside |= UINT64_C(1) << other;
                draft->areas[other].beside |= UINT64_C(1) << i;
            }
        }
    }
}

static void add_groups(struct cb_draft *draft, struct cb_arena *arena)
{
    const int figures = draft->recipe.figures > 0 ? draft->recipe.figures : CB_FIGURES_MAX;
    for (uint32_t i = roll(4); i-- > 0;) {
        uint64_t members[2] = {0};
        for (int figure = 1; figure <= figures; figure++) {
            members[(figure - 1) / 64] |= often() ? UINT64_C(1) << (figure - 1) % 64 : 0;
        }
        if (roll(3) == 0) { /* and all from one on */
            for (int figure = 1 + (int)roll((uint32_t)figures); figure <= CB_FIGURES_MAX;
                 figure++) {
                members[(figure - 1) / 64] |= UINT64_C(1) << (figure - 1) % 64;
            }
        }
        members[0] |= members[0] == 0 && members[1] == 0;
        (void)cb_draft_group(draft, members, any_text(arena), arena);
    }
}

static void add_figure_names(struct cb_draft *draft, struct cb_arena *arena)
{
    const int figures = draft->recipe.figures > 0 ? draft->recipe.figures : CB_FIGURES_MAX;
    for (int figure = 1; figure <= figures; figure++) {
        if (roll(20) == 0) { /* no two figures share a name */
            draft->recipe.names[figure] = cb_arena_printf(arena, "%s %d", any_line(arena), figure);
        }
    }
}

static void any_mix(struct cb_stage *stage, size_t paints)
{
    const size_t first = roll((uint32_t)paints), second = roll((uint32_t)paints);
    struct cb_mix *mix = &stage->mix;
    mix->parts[mix->count++] = (struct cb_mix_part){CB_MIX_PAINT, (int)first, 1};
    stage->mix_said = often();
    if (!stage->mix_said) {
        return;
    }
    mix->parts[0].parts = roll(3) == 0 ? 1 : any_number(0.01, 100);
    if (first != second) {
        mix->parts[mix->count++] =
            (struct cb_mix_part){CB_MIX_PAINT, (int)second, any_number(0.01, 100)};
    }
    for (enum cb_mix_what what = CB_MIX_MEDIUM; what <= CB_MIX_WATER; what++) {
        if (often()) {
            mix->parts[mix->count++] = (struct cb_mix_part){what, -1, any_number(0.01, 100)};
        }
    }
}

static void any_stage(struct cb_draft *draft, struct cb_arena *arena)
{
    const struct cb_recipe *recipe = &draft->recipe;
    const uint32_t at = roll((uint32_t)recipe->stage_count + 1);
    const uint32_t technique = recipe->paint_count > 0 ? roll(CB_TECHNIQUE_JOIN) : 11 + roll(3);
    struct cb_stage stage = cb_draft_stage(cb_draft_stage_name(draft, any_text(arena), arena),
                                           (enum cb_technique)technique);
    if (cb_technique_needs_paint(stage.technique)) {
        any_mix(&stage, recipe->paint_count);
    }
    stage.on = some_of(recipe->area_count);
    stage.whole = stage.on == 0;
    stage.groups = roll(3) == 0 ? some_of(recipe->group_count) : 0;
    stage.by = (enum cb_by)roll(CB_BY_COUNT);
    stage.place = maybe_line(arena);
    stage.coats = 1 + (int)roll(CB_COATS_MAX);
    stage.work_min = maybe_minutes(0);
    stage.dry_min = maybe_minutes(0.1);
    stage.wait_min = maybe_minutes(0);
    stage.brush = maybe_line(arena);
    stage.tidy_with = some_of(recipe->paint_count);
    stage.together = often() ? 0 : often() ? CB_TOGETHER_ALL : 2 + (int)roll(98);
    stage.optional = often();
    stage.say = maybe_line(arena);
    if (stage.place != NULL) {
        const char **pictures = cb_arena_alloc(arena, 2, sizeof *pictures);
        pictures[0] = stage.place;
        pictures[1] = stage.say;
        stage.pictures = pictures;
        stage.picture_count = stage.say != NULL ? 2 : 1;
    }
    assert_true(cb_draft_insert(draft, &stage, at));
}

/* `after` only backwards, so that there is no ring. */
static void order(struct cb_draft *draft)
{
    for (size_t i = 0; i < draft->recipe.stage_count; i++) {
        draft->stages[i].has_after = roll(3) == 0;
        draft->stages[i].after = draft->stages[i].has_after ? some_of(i) : 0;
    }
}

static void test_by_chance(void **state)
{
    (void)state;
    for (uint32_t round = 0; round < ROUNDS; round++) {
        struct cb_arena arena = {0};
        struct cb_draft *draft = cb_arena_alloc(&arena, 1, sizeof *draft);
        chance = SEED + round;
        cb_draft_begin(draft, any_line(&arena), (int)roll(3) * (int)roll(50));
        draft->recipe.about = maybe_line(&arena);
        draft->recipe.height_mm = often() ? draft->recipe.height_mm : any_number(5, 500);
        draft->recipe.change_min = often() ? draft->recipe.change_min : any_number(0, 60);
        add_paints(draft, &arena);
        add_areas(draft, &arena);
        add_groups(draft, &arena);
        add_figure_names(draft, &arena);
        for (uint32_t i = 1 + roll(6); i-- > 0;) {
            any_stage(draft, &arena);
        }
        order(draft);
        char what[40];
        snprintf(what, sizeof what, "seed %u", SEED + round);
        check_back(&draft->recipe, what);
        struct cb_draft *again = cb_arena_alloc(&arena, 1, sizeof *again);
        cb_draft_of(again, &draft->recipe);
        assert_null(recipe_difference(&draft->recipe, &again->recipe, &arena));
        cb_arena_fini(&arena);
    }
}

/* Names that only a file can give: a key is taken as it stands there. */
static void test_keys(void **state)
{
    (void)state;
    static const char text[] =
        "coatbell: 1\nname: Keys\ngroups: {\" a\": [2], \"\": [3], \"a\\nb\": [4]}\n"
        "paints: {\"rope \": {}, \":9\": {}, green: {}, \"it's: \\\"so\\\"\": {name: \" x\"}}\n"
        "areas:\n  \" lead\": {beside: [rope]}\n  rope: {}\n  \"two  blanks\": {near: [rope]}\n"
        "  \"\": {beside: [rope], share: 12.5}\n"
        "stages:\n  - {name: One, technique: layer, mix: \":9 + 2 green\"}\n"
        "  - {name: Two, technique: layer, mix: \"2 green + 3 :9\", minutes: 100 s, dry: 10s}\n"
        "  - {name: Three, technique: mask, minutes: 0.00000000000000001 s, after: []}\n";
    struct cb_arena arena = {0};
    struct cb_issues issues = {0};
    const struct cb_recipe *recipe = read_text(text, sizeof text - 1, &arena, &issues);
    assert_true(recipe != NULL && recipe->areas[0].beside == 2);
    check_back(recipe, "keys");
    cb_arena_fini(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_of_the_tree),
        cmocka_unit_test(test_by_chance),
        cmocka_unit_test(test_keys),
    };
    return cmocka_run_group_tests(tests, read_kinds, drop_kinds);
}
