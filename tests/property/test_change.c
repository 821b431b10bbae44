/* SPDX-License-Identifier: MIT */
/*
 * An evening whose recipe is changed at every possible moment, by another text and by the form of
 * the stage in hand: stages inserted, left out, renamed, in another order, with other paints,
 * areas, more or fewer coats, with some figures of their own, for more or fewer figures; and
 * changed back later. No film is lost, no coat is offered twice, one undo leads back to the bench
 * before, and the log, in any order, folds to the same bench.
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
#include "shell/yaml.h"
#include "support/bench_equal.h"
#include "support/events.h"
#include "support/stage.h"
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

/* The events by JSON lines in any order, on an empty bench: is it the same one? */
static bool imports_alike(const struct cb_bench *bench, struct cb_bench *again,
                          const struct cb_event *const *log, size_t count, struct cb_arena *arena,
                          struct dice *dice)
{
    const struct cb_event **events = cb_arena_alloc(arena, count, sizeof *events);
    for (size_t i = 0; i < count; i++) {
        struct cb_str line = {0};
        struct cb_err err = {0};
        const size_t at = (size_t)dice_below(dice, i + 1);
        const struct cb_event *event = NULL;
        cb_jsonl_encode(log[i], &line);
        assert_int_equal(cb_jsonl_decode(cb_str_text(&line), line.length, arena, &event, &err),
                         CB_OK);
        events[i] = events[at];
        events[at] = event;
        cb_str_fini(&line);
    }
    cb_bench_add(again, events, count);
    struct cb_err err = {0};
    const bool alike = bench_equal(bench, again, &err);
    if (!alike) {
        fprintf(stderr, "%s\n", err.text);
    }
    cb_bench_free(again);
    return alike;
}

static void check_import(struct evening *evening, struct dice *dice)
{
    struct world *world = &evening->world;
    if (!imports_alike(world->bench, cb_bench_new(world_kinds(), world_read), world->log.items,
                       world->log.count, &world->arena, dice)) {
        wrong(evening, "an import shows another bench");
    }
}

/* With the brush in the hand: a first mark of a stage that is gone is no change of paint any more.
 */
static int64_t at_work(struct evening *evening)
{
    struct world *world = &evening->world;
    const struct cb_review *review =
        cb_review_unit(world->bench, 0, world_ms(world), &world->arena);
    return review->spent_ms[CB_SPENT_HANDS_ON] + review->spent_ms[CB_SPENT_CHANGE];
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
    const int64_t hours = at_work(&evening);
    const int presses = world->presses;
    take(&evening, &next);
    check_stages(&evening);
    if (at_work(&evening) != hours) {
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
            if ((moment + changes) % 2 == 0) {
                run(changes, moment, true, &dice);
            }
        }
    }
    assert_int_equal(moments, 20);
    assert_int_equal(changes, 7 * STAGES + 1 + 3);
}

/* The same at the app's keys: a form of the stage in hand. */

static const char wall[] =
    "coatbell: 1\n"
    "name: Sea wall\n"
    "figures: 3\n"
    "paints:\n"
    "  mud: {name: Harbour mud, kind: acrylic, dry: 12}\n"
    "  green: {name: Oilskin green, kind: acrylic, dry: 12}\n"
    "areas: {oilskin: {}, rope: {beside: [oilskin]}, boots: {}}\n"
    "stages:\n"
    "  - {name: Ground, technique: undercoat, paint: mud, by: brush}\n"
    "  - {name: Cloaks, technique: basecoat, paint: green, on: [oilskin], coats: 2}\n"
    "  - {name: Rope, technique: layer, paint: mud, on: [rope], after: [Ground]}\n";
#define WALL_COATS 12

/* What is typed in the form, field by field: "LABEL=TEXT", or a key by its name. */
static const char *const forms[][3] = {
    {"paint=Kelp"},
    {"paint=Kelp", "stages=all"},
    {"paint=Harbour mud"},
    {"kind=wash"},
    {"mix=1 paint + 1 medium"},
    {"mix=2 Harbour mud + 1 Oilskin green"},
    {"coats=1"},
    {"coats=3"},
    {"on=all over"},
    {"on=boots"},
    {"on=oilskin, sash"}, /* asked about, and added */
    {"minutes=9"},
    {"order=first"},
    {"order=last"},
    {"change on=2", "coats=3"},
    {"change on=1 and 3", "paint=Kelp"},
    {"change on=2-3", "mix=neat", "figures=5"},
    {"figures=5"},
    {"figures=2"},
    {"name of=Oake"},
    {"coats=3", "order=last", "figures=4"},
    {"paint=Kelp", "order=first", "name of=Oake"},
};

struct sitting {
    struct stage stage;
    /* figure, and how often each coat of a stage went on, by the name it has for all */
    const char *names[8];
    bool on[8][8][CB_COATS_MAX + 1];
    size_t seen;
    const char *what;
    int moment;
};

static const struct cb_unit *unit_at(struct sitting *sitting)
{
    return cb_bench_unit(stage_bench(&sitting->stage), 0);
}

static void wrong_at(const struct sitting *sitting, const char *what)
{
    fail_msg("%s: %s, changed after %d coats", what, sitting->what, sitting->moment);
}

/* "Rope on 1 and 3" is Rope. */
static size_t id_of(struct sitting *sitting, const char *name)
{
    const char *tail = strstr(name, " on ");
    const size_t length = tail ? (size_t)(tail - name) : strlen(name);
    for (size_t i = 0; i < 8; i++) {
        if (!sitting->names[i]) {
            sitting->names[i] = cb_arena_text_n(&sitting->stage.arena, name, length);
        }
        if (strlen(sitting->names[i]) == length && strncmp(sitting->names[i], name, length) == 0) {
            return i;
        }
    }
    abort();
}

/* SPACE, as soon as something is offered; false: nothing is left to put on. */
static bool press_space(struct sitting *sitting)
{
    struct stage *stage = &sitting->stage;
    for (int waits = 0; waits < 200; waits++) {
        const struct cb_unit *unit = unit_at(sitting);
        const size_t before = unit->film_count;
        if (cb_next_all_done(unit)) {
            return false;
        }
        if (!cb_app_offer(cb_rehearse_app(stage->rehearse)).any) {
            stage_wait(stage, 30);
            stage_key(stage, "DOWN"); /* from the stage that was edited to another one */
            continue;
        }
        stage_key(stage, "SPACE"); /* or a caution is read */
        unit = unit_at(sitting);
        for (size_t i = before; i < unit->film_count; i++) {
            const struct cb_film *film = &unit->films[i];
            const size_t id = id_of(sitting, unit->recipe->stages[film->stage - 1].name);
            if (sitting->on[film->figure][id][film->coat]) {
                wrong_at(sitting, "a coat is offered twice");
            }
            sitting->on[film->figure][id][film->coat] = true;
        }
        if (unit->film_count > before) {
            stage_wait(stage, 2);
            return true;
        }
    }
    wrong_at(sitting, "something never becomes ready");
    return false;
}

static const char *told_at(struct sitting *sitting)
{
    const struct cb_unit *unit = unit_at(sitting);
    struct cb_str out = {0};
    cb_str_addf(&out, "%s\n", unit->recipe->text);
    for (size_t i = 0; i < unit->film_count; i++) {
        const struct cb_film *film = &unit->films[i];
        cb_str_addf(&out, "%d/%d/%d at %lld of %s, %a, %lld\n", film->figure, film->stage,
                    film->coat, (long long)film->on_ms, film->paint, film->drying->standard_min,
                    (long long)film->next_ms);
    }
    for (int f = 1; f <= unit->figures; f++) {
        for (int s = 1; s <= (int)unit->recipe->stage_count; s++) {
            cb_str_addf(&out, "%d of %d %s, ", cb_bench_coats_on(unit, f, s),
                        cb_bench_coats(unit, f, s), cb_bench_stage_blend(unit, s));
        }
        cb_str_addf(&out, "%d\n", unit->figure[f].parked);
    }
    const char *text = cb_arena_text(&sitting->stage.arena, cb_str_text(&out));
    cb_str_fini(&out);
    return text;
}

/* Every film as it is, beside where it stands. */
static const char *films_at(struct sitting *sitting)
{
    const struct cb_unit *unit = unit_at(sitting);
    const char *text = "";
    for (size_t i = 0; i < unit->film_count; i++) {
        const struct cb_film *film = &unit->films[i];
        text = cb_arena_printf(&sitting->stage.arena, "%s%d/%d at %lld of %s, %a\n", text,
                               film->figure, film->coat, (long long)film->on_ms, film->paint,
                               film->drying->standard_min);
    }
    return text;
}

/* Types it all and writes; false: that stage has no such field. */
static bool fill_in(struct sitting *sitting, const char *const typed[3])
{
    struct stage *stage = &sitting->stage;
    stage_key(stage, "e");
    for (int i = 0; i < 3 && typed[i]; i++) {
        const char *text = strchr(typed[i], '=');
        const char *mark =
            cb_arena_printf(&stage->arena, "\u25B8%.*s ", (int)(text - typed[i]), typed[i]);
        int steps = 0;
        while (!stage_shows(stage, mark) && steps++ < 12) {
            stage_key(stage, "DOWN");
        }
        if (steps > 12) {
            stage_key(stage, "ESC");
            return false;
        }
        stage_type(stage, text + 1);
    }
    stage_key(stage, "ENTER");
    if (stage_shows(stage, "ENTER again")) {
        stage_key(stage, "ENTER");
    }
    if (stage_shows(stage, "ENTER writes")) { /* nothing differs, or that can't be */
        stage_key(stage, "ESC");
        return false;
    }
    return true;
}

static bool imports_alike_at(struct sitting *sitting, struct dice *dice)
{
    size_t count;
    const struct cb_bench *bench = stage_bench(&sitting->stage);
    const struct cb_event *const *events = cb_bench_events(bench, &count);
    struct cb_bench *again = cb_bench_new(sitting->stage.kinds, cb_yaml_read);
    cb_bench_own(again, events[0]->machine);
    return imports_alike(bench, again, events, count, &sitting->stage.arena, dice);
}

static bool run_form(const char *const typed[3], int moment, struct dice *dice)
{
    struct sitting sitting = {.what = typed[0], .moment = moment};
    struct stage *stage = &sitting.stage;
    stage_init_text(stage, wall, 3, 24, 80, CB_PING_OFF);
    for (int i = 0; i < moment; i++) {
        press_space(&sitting);
    }
    const char *before = told_at(&sitting), *films = films_at(&sitting);
    const int stores = stage->stores;
    const bool changed = fill_in(&sitting, typed);
    if (strcmp(films, films_at(&sitting)) != 0) {
        wrong_at(&sitting, "a film is another than it was");
    }
    if (stage->stores != stores + changed) {
        wrong_at(&sitting, "not one press");
    }
    while (press_space(&sitting)) {
    }
    if (!imports_alike_at(&sitting, dice)) {
        wrong_at(&sitting, "an import shows another bench");
    }
    for (int presses = stage->stores - stores; presses > 0; presses--) {
        stage_do(stage, CB_ACTION_UNDO);
    }
    if (strcmp(before, told_at(&sitting)) != 0) {
        fprintf(stderr, "%s---\n%s", before, told_at(&sitting));
        wrong_at(&sitting, "an undo leads elsewhere");
    }
    if (!imports_alike_at(&sitting, dice)) {
        wrong_at(&sitting, "an import shows another bench");
    }
    stage_fini(stage);
    return changed;
}

static void test_any_form(void **state)
{
    struct dice dice = {2};
    int changed = 0;
    (void)state;
    for (int moment = 0; moment <= WALL_COATS; moment++) {
        for (size_t i = 0; i < sizeof forms / sizeof *forms; i++) {
            changed += run_form(forms[i], moment, &dice);
        }
    }
    assert_true(changed > WALL_COATS * (int)(sizeof forms / sizeof *forms) * 3 / 4);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_any_moment),
        cmocka_unit_test(test_any_form),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
