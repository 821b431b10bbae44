/* SPDX-License-Identifier: MIT */
/*
 * An evening whose recipe is changed at every possible moment, by another text: stages inserted,
 * left out, renamed, in another order, with more or fewer coats, with some figures of their own,
 * for more or fewer figures; and changed back later. No film is lost, no coat is offered twice, one
 * undo leads back to the bench before, and the log, in any order, folds to the same bench.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/str.h"
#include "core/bench/next.h"
#include "core/review/review.h"
#include "shell/jsonl.h"
#include "support/bench_equal.h"
#include "support/events.h"
#include "support/world.h"

#define STAGES  4
#define FIGURES 4
#define MANY    8 /* stages of a version at most */

/* A stage of a version of the recipe. Whatever it is called, for whom and where it stands, its id
 * is what the painter means by it. */
struct row {
    int id;
    const char *name, *whom, *paint;
    int coats;
};

struct version {
    struct row rows[MANY];
    int count, figures;
};

static const struct version first = {
    {{0, "Undercoat", NULL, "grey", 1},
     {1, "Cloaks", NULL, "green", 2},
     {2, "Rope", NULL, "rope", 1},
     {3, "Shade", NULL, "green", 1}},
    STAGES,
    FIGURES,
};

/* What a stage does beside its name: no two are alike but for it. */
static const char *const bodies[] = {
    "technique: undercoat, by: brush",
    "technique: basecoat, on: cloak, minutes: 3",
    "technique: layer, on: rope",
    "technique: wash, on: [cloak, rope]",
    "technique: layer, on: lantern, minutes: 5",
};

static const char *text_of(const struct version *version, struct cb_arena *arena)
{
    struct cb_str out = {0};
    cb_str_addf(&out, "{coatbell: 1, name: Watch, figures: %d, groups: {pair: [2-3], rest: [1",
                version->figures);
    for (int figure = 4; figure <= version->figures; figure++) {
        cb_str_addf(&out, ", %d", figure);
    }
    cb_str_add(&out,
               "]}, paints: {grey: {name: Eel grey, kind: acrylic}, rope: {name: Tarred rope, kind:"
               " acrylic}, green: {name: Oilskin green, kind: acrylic}},"
               " areas: {cloak: {}, rope: {beside: [cloak]}, lantern: {}}, stages: [");
    for (int i = 0; i < version->count; i++) {
        const struct row *row = &version->rows[i];
        cb_str_addf(&out, "{name: %s, %s, paint: %s, coats: %d%s%s}, ", row->name, bodies[row->id],
                    row->paint, row->coats, row->whom ? ", for: " : "", row->whom ? row->whom : "");
    }
    cb_str_add(&out, "]}");
    const char *text = cb_arena_text(arena, cb_str_text(&out));
    cb_str_fini(&out);
    return text;
}

/* The changes, one a number; false: there are no more. */
static bool change(struct version *version, int number)
{
    static const char *const names[] = {"Grounds", "Coats", "Ropes", "Shades"};
    const int n = version->count;
    if (number < n + 1) { /* inserted */
        memmove(&version->rows[number + 1], &version->rows[number],
                (size_t)(n - number) * sizeof *version->rows);
        version->rows[number] = (struct row){4, "Lanterns", NULL, "grey", 1};
        version->count++;
        return true;
    }
    number -= n + 1;
    if (number < n) { /* left out */
        memmove(&version->rows[number], &version->rows[number + 1],
                (size_t)(n - number - 1) * sizeof *version->rows);
        version->count--;
        return true;
    }
    number -= n;
    if (number < n) {
        version->rows[number].name = names[number];
        return true;
    }
    number -= n;
    if (number < n) { /* the other way round with the next, and renamed as well */
        const struct row row = version->rows[number];
        version->rows[number] = version->rows[(number + 1) % n];
        version->rows[(number + 1) % n] = row;
        version->rows[number].name = names[version->rows[number].id];
        return true;
    }
    number -= n;
    if (number < n) {
        version->rows[number].coats++;
        return true;
    }
    number -= n;
    if (number < n) {
        version->rows[number].coats = 1;
        version->rows[number].paint = "rope";
        return true;
    }
    number -= n;
    if (number < n) { /* two figures have a stage of their own */
        memmove(&version->rows[number + 1], &version->rows[number],
                (size_t)(n - number) * sizeof *version->rows);
        version->rows[number].whom = "rest";
        version->rows[number + 1].whom = "pair";
        version->rows[number + 1].name = "Own";
        version->rows[number + 1].paint = "rope";
        version->rows[number + 1].coats++;
        version->count++;
        return true;
    }
    number -= n;
    if (number < 2) {
        version->figures += number == 0 ? 2 : -1;
        return true;
    }
    if (number == 2) { /* all at once */
        change(version, 2 * n + 1);
        change(version, 3 * n + 2);
        change(version, 4 * n + 1 + 3);
        change(version, 6 * n + 1 + 2);
        return true;
    }
    return false;
}

struct evening {
    struct world world;
    struct version version;                       /* of the recipe in force */
    bool on[FIGURES + 3][MANY][CB_COATS_MAX + 1]; /* figure, id, coat */
    const char *what;
    int moment;
};

static const struct cb_unit *unit_of(const struct evening *evening)
{
    return cb_bench_unit(evening->world.bench, 0);
}

static void wrong(const struct evening *evening, const char *what)
{
    fail_msg("%s: %s, changed after %d coats", what, evening->what, evening->moment);
}

static const char *told(struct evening *evening, bool stages);
/* Puts on what the bench offers, as soon as it does; false: nothing is left to put on. */
static bool put_on(struct evening *evening)
{
    struct world *world = &evening->world;
    for (int waits = 0; waits < 400; waits++) {
        const struct cb_unit *unit = unit_of(evening);
        const struct cb_proposal next =
            cb_next_propose(world->bench, world->learn, unit, 0, 0, world_ms(world));
        if (cb_next_all_done(unit)) {
            return false;
        }
        if (!next.any) {
            world_wait(world, 15);
            continue;
        }
        const int id = evening->version.rows[next.stage - 1].id;
        if (unit->figure[next.figure].parked || next.figure > unit->figures) {
            wrong(evening, "a figure that is not there has a coat offered");
        }
        if (evening->on[next.figure][id][next.coat]) {
            wrong(evening, "a coat is offered twice");
        }
        evening->on[next.figure][id][next.coat] = true;
        world_do(world, cb_arena_printf(&world->arena, "coat_on u figure=%d stage=%d coat=%d",
                                        next.figure, next.stage, next.coat));
        world_wait(world, 2);
        return true;
    }
    fprintf(stderr, "%s", told(evening, true));
    wrong(evening, "something never becomes ready");
    return false;
}

/* What is on, whatever it is called now, and what the figures are. */
static const char *told(struct evening *evening, bool stages)
{
    const struct cb_unit *unit = unit_of(evening);
    struct cb_str out = {0};
    for (size_t i = 0; i < unit->film_count; i++) {
        const struct cb_film *film = &unit->films[i];
        cb_str_addf(&out, "%d/%d at %lld of %s, %a, %lld\n", film->figure, film->coat,
                    (long long)film->on_ms, film->paint, film->drying->standard_min,
                    (long long)film->next_ms);
        if (stages) {
            cb_str_addf(&out, "is %d\n", film->stage);
        }
    }
    for (int f = 1; stages && f <= unit->figures; f++) {
        for (int s = 1; s <= (int)unit->recipe->stage_count; s++) {
            cb_str_addf(&out, "%d of %d, ", cb_bench_coats_on(unit, f, s),
                        cb_bench_coats(unit, f, s));
        }
        cb_str_addf(&out, "%d\n", unit->figure[f].parked);
    }
    const char *text = cb_arena_text(&evening->world.arena, cb_str_text(&out));
    cb_str_fini(&out);
    return text;
}

/* As the R key writes it: one press, figures with it. */
static void take(struct evening *evening, const struct version *version)
{
    struct world *world = &evening->world;
    const int figures = unit_of(evening)->figures, before = evening->version.figures;
    const char *films = told(evening, false);
    world_do(world, cb_arena_printf(&world->arena, "recipe_changed u recipe='%s'",
                                    text_of(version, &world->arena)));
    for (int f = 1; f <= figures || f <= version->figures; f++) {
        if (f > figures) {
            world_also(world, "figure_joined u");
        } else if (f > version->figures && f <= before) {
            world_also(world, cb_arena_printf(&world->arena, "figure_parked u figure=%d", f));
        } else if (f <= version->figures && f > before) {
            world_also(world, cb_arena_printf(&world->arena, "figure_back u figure=%d", f));
        }
    }
    evening->version = *version;
    assert_int_equal(unit_of(evening)->recipe->stage_count, version->count);
    if (strcmp(films, told(evening, false)) != 0) {
        wrong(evening, "a film is another than it was");
    }
}

/* Every coat that stands at a stage stands at the one the painter means. */
static void check_stages(const struct evening *evening)
{
    const struct cb_unit *unit = unit_of(evening);
    for (int f = 1; f <= FIGURES; f++) {
        for (int i = 0; i < evening->version.count; i++) {
            const struct row *row = &evening->version.rows[i];
            const bool own = cb_recipe_applies(unit->recipe, (size_t)i, f);
            for (int coat = 1; coat <= CB_COATS_MAX; coat++) {
                const bool is_on = cb_bench_film(unit, f, i + 1, coat) != NULL;
                if (own && is_on != evening->on[f][row->id][coat]) {
                    wrong(evening, "a coat stands at another stage");
                }
            }
        }
    }
}

/* The same by JSON lines in any order. */
static void check_import(struct evening *evening, struct dice *dice)
{
    struct world *world = &evening->world;
    struct cb_bench *again = cb_bench_new(world_kinds(), world_read);
    const size_t count = world->log.count;
    const struct cb_event **events = cb_arena_alloc(&world->arena, count, sizeof *events);
    for (size_t i = 0; i < count; i++) {
        struct cb_str line = {0};
        struct cb_err err = {0};
        const size_t at = (size_t)dice_below(dice, i + 1);
        const struct cb_event *event = NULL;
        cb_jsonl_encode(world->log.items[i], &line);
        assert_int_equal(
            cb_jsonl_decode(cb_str_text(&line), line.length, &world->arena, &event, &err), CB_OK);
        events[i] = events[at];
        events[at] = event;
        cb_str_fini(&line);
    }
    cb_bench_add(again, events, count);
    struct cb_err err = {0};
    if (!bench_equal(world->bench, again, &err)) {
        fprintf(stderr, "%s\n", err.text);
        wrong(evening, "an import shows another bench");
    }
    cb_bench_free(again);
}

static int64_t hands_on(struct evening *evening)
{
    struct world *world = &evening->world;
    const struct cb_review *review =
        cb_review_unit(world->bench, 0, world_ms(world), &world->arena);
    int64_t sum = review->session_ms;
    for (int f = 1; f <= FIGURES; f++) {
        sum += review->figure_ms[f] > 0;
    }
    return sum;
}

static void undo_to(struct evening *evening, size_t undone)
{
    for (size_t i = 0; i < undone; i++) {
        world_undo(&evening->world);
    }
}

/* That change after so many coats; changed back after three more, where it is. */
static bool run(int number, int moment, bool back, struct dice *dice)
{
    struct evening evening = {.version = first, .moment = moment};
    struct world *world = &evening.world;
    struct version next = first;
    if (!change(&next, number)) {
        return false;
    }
    world_init(world);
    world_do(world, "session_opened -");
    world_do(world, "climate_set - temp_c=23 rh_pct=50 air=still");
    world_begin(world, "u", FIGURES, text_of(&first, &world->arena));
    evening.what = cb_arena_printf(&world->arena, "change %d%s", number, back ? " and back" : "");
    for (int i = 0; i < moment; i++) {
        put_on(&evening);
    }
    const char *before = told(&evening, true);
    const int64_t hours = hands_on(&evening);
    const int presses = world->presses;
    take(&evening, &next);
    check_stages(&evening);
    if (hands_on(&evening) != hours) {
        wrong(&evening, "an hour is lost");
    }
    for (int i = 0; back && i < 3; i++) {
        put_on(&evening);
    }
    if (back) {
        take(&evening, &first);
        check_stages(&evening);
    }
    while (put_on(&evening)) {
    }
    check_stages(&evening);
    check_import(&evening, dice);
    undo_to(&evening, (size_t)(world->presses - presses));
    if (strcmp(before, told(&evening, true)) != 0) {
        fprintf(stderr, "%s---\n%s", before, told(&evening, true));
        wrong(&evening, "an undo leads elsewhere");
    }
    check_import(&evening, dice);
    world_fini(world);
    return true;
}

static void test_any_moment(void **state)
{
    struct dice dice = {1};
    int moments = 0, changes = 0;
    (void)state;
    for (int i = 0; i < STAGES; i++) {
        moments += first.rows[i].coats * FIGURES;
    }
    for (int moment = 0; moment <= moments; moment++) {
        for (changes = 0; run(changes, moment, false, &dice); changes++) {
            run(changes, moment, true, &dice);
        }
    }
    assert_int_equal(moments, 20);
    assert_int_equal(changes, 7 * STAGES + 1 + 3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_any_moment),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
