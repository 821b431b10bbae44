/* SPDX-License-Identifier: MIT */
/*
 * What holds for any log: random painters press random keys (a seed each, printed on failure; the
 * log is then shrunk by dropping events). CB_SEED=n runs one seed, CB_SEEDS=n so many.
 */
#include <limits.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/mem.h"
#include "base/str.h"
#include "base/time.h"
#include "core/bench/forecast.h"
#include "core/bench/next.h"
#include "support/bench_equal.h"
#include "support/events.h"
#include "support/world.h"

static const char *const recipes[] = {
    "{coatbell: 1, name: Watch, figures: 4, groups: {serjeant: [1]},"
    " paints: {green: {name: Oilskin green, kind: acrylic, dry: 20, label: 60},"
    "          rope: {name: Tarred rope, kind: acrylic, label: 60}, grey: {name: Grey, kind: oil},"
    "          ebb: {name: Ebb wash, kind: wash, label: 50},"
    "          prime: {name: Prime, kind: spray undercoat}},"
    " areas: {oilskin: {}, rope: {beside: [oilskin]}, lantern: {near: [rope]}, base: {}},"
    " stages: [{name: Undercoat, technique: undercoat, paint: prime, place: shed, together: yes},"
    "          {name: Oilskins, technique: basecoat, paint: green, on: oilskin, coats: 2},"
    "          {name: Rope, technique: basecoat, paint: rope, on: rope},"
    "          {name: Sash, technique: layer, paint: green, on: lantern, for: serjeant,"
    "           optional: yes},"
    "          {name: Recesses, technique: wash, paint: ebb, on: [oilskin, rope, lantern]},"
    "          {name: Base, technique: wash, paint: grey, on: base, after: []},"
    "          {name: Decals, technique: transfer, on: base, wait: 20, together: 2}]}",
    "{coatbell: 1, name: Watch again, figures: 4,"
    " paints: {rope: {name: Tarred rope, kind: acrylic}, ebb: {name: Ebb wash, kind: wash},"
    "          paste: {name: Tideline paste, kind: texture paste}},"
    " areas: {boots: {}, rope: {}, oilskin: {beside: [boots]}},"
    " stages: [{name: Boots, technique: basecoat, paint: rope, on: boots},"
    "          {name: Undercoat, technique: undercoat, paint: rope, by: brush},"
    "          {name: Clean, technique: prepare},"
    "          {name: Recesses, technique: wash, paint: ebb, on: [oilskin, rope], coats: 2},"
    "          {name: Ground, technique: texture, paint: paste, on: boots}]}",
    "nonsense",
};

static int roll(struct dice *dice, int sides)
{
    return (int)dice_below(dice, (uint64_t)sides);
}

static const char *const units[] = {"u", "v", "w"};

static char *film_words(struct world *world, struct dice *dice)
{
    return cb_arena_printf(&world->arena, "figure=%d stage=%d coat=%d", 1 + roll(dice, 5),
                           1 + roll(dice, 8), 1 + roll(dice, 3));
}

/* The key that a painter presses most: what the bench offers. */
static void press_space(struct world *world, struct dice *dice)
{
    const int front = cb_bench_front(world->bench);
    if (front < 0) {
        return;
    }
    const struct cb_unit *unit = cb_bench_unit(world->bench, (size_t)front);
    const struct cb_proposal next = cb_next_propose(world->bench, world->learn, unit,
                                                    roll(dice, 4) == 0 ? 1 : 0, 0, world_ms(world));
    world->presses++;
    for (int i = 0; next.any && i < (next.together ? next.figure_count : 1); i++) {
        char *line = cb_arena_printf(&world->arena, "coat_on %s figure=%d stage=%d coat=%d",
                                     unit->id, next.figures[i], next.stage, next.coat);
        if (roll(dice, 4) == 0) {
            line = cb_arena_printf(&world->arena, "%s on_at=-%d on_pm_s=%d", line, roll(dice, 9),
                                   roll(dice, 90));
        }
        world_also(world, line);
        unit = cb_bench_unit(world->bench, (size_t)front);
    }
}

/* An answer about a film that is there. */
static void press_answer(struct world *world, struct dice *dice)
{
    const size_t count = cb_bench_unit_count(world->bench);
    const struct cb_unit *unit =
        count ? cb_bench_unit(world->bench, dice_below(dice, count)) : NULL;
    if (!unit || unit->film_count == 0) {
        return;
    }
    const struct cb_film *film = &unit->films[dice_below(dice, unit->film_count)];
    static const char *const names[] = {"checked", "checked", "lifted", "helped"};
    static const char *const ends[] = {" found=dry", " found=wet", "", " air=dryer seconds=40"};
    const int way = roll(dice, 10);
    const int what = way < 5 ? 0 : way < 8 ? 1 : way < 9 ? 2 : 3;
    char *line =
        cb_arena_printf(&world->arena, "%s %s figure=%d stage=%d coat=%d%s", names[what], unit->id,
                        film->figure, film->stage > 0 ? film->stage : 1, film->coat, ends[what]);
    if (what < 2 && roll(dice, 3) == 0) {
        line = cb_arena_printf(&world->arena, "%s seen_at=-%d", line, roll(dice, 9));
    }
    world_do(world, line);
}

static void press_any(struct world *world, struct dice *dice)
{
    struct cb_arena *arena = &world->arena;
    const char *unit = units[roll(dice, 3)];
    const int figure = 1 + roll(dice, 5);
    const int stage = 1 + roll(dice, 8);
    static const char *const places[] = {"", " place=shed", " place=loft"};
    static const char *const airs[] = {"", " air=still", " air=fan", " air=draught"};
    static const char *const plain[] = {
        "pause_begun -",
        "pause_ended -",
        "note - text=tea",
        "chore_done - name=rinse minutes=3",
        "cue_muted - cue=shake",
        "caution_read - caution=dust",
        "evidence_forgotten -",
        "bottle_new - paint='Oilskin green'",
        "evidence_forgotten - paint='Ebb wash'",
        "paint_joined - from='Tarred rope' to='Oilskin green'",
        "prior_given - paint='Oilskin green' kind=acrylic technique=basecoat median_min=30 "
        "low_min=28"
        " high_min=33 coats=14",
        "prior_given - paint='Ebb wash' kind=wash technique=wash median_min=30 low_min=8 "
        "high_min=33"
        " coats=2",
        "answered - question=" CB_QUESTION_FIRST " value=10",
        "confidence_set - pct=90",
        "session_closed -",
        "session_opened -",
        "session_opened - front=u",
        "session_opened - front=no",
    };
    switch (roll(dice, 16)) {
    case 0:
    case 1:
        world_do(world, cb_arena_printf(arena, "climate_set - temp_c=%d rh_pct=%d%s%s%s",
                                        roll(dice, 35), roll(dice, 101), places[roll(dice, 3)],
                                        airs[roll(dice, 4)], roll(dice, 3) ? "" : " from=sensor"));
        break;
    case 2:
        world_begin(world, unit, 1 + roll(dice, 4), recipes[roll(dice, 8) % 3 % 2]);
        break;
    case 3:
        world_do(world, cb_arena_printf(arena, "recipe_changed %s recipe='%s'", unit,
                                        recipes[roll(dice, 3)]));
        break;
    case 4:
        world_do(world,
                 cb_arena_printf(arena, "%s %s figure=%d",
                                 roll(dice, 2) ? "figure_parked" : "figure_back", unit, figure));
        break;
    case 5:
        world_do(world, cb_arena_printf(arena, "%s %s figure=%d stage=%d",
                                        roll(dice, 2) ? "coat_added" : "coat_spared", unit, figure,
                                        stage));
        break;
    case 6:
        world_do(world, cb_arena_printf(arena,
                                        roll(dice, 2) ? "stage_left_out %s stage=%d"
                                                      : "tidied %s figure=1 stage=%d",
                                        unit, stage));
        break;
    case 7:
        world_do(world, cb_arena_printf(arena, "swapped %s paint=rope name='Eel grey' kind=%s",
                                        unit, roll(dice, 2) ? "acrylic" : "oil"));
        break;
    case 8:
        world_do(world, cb_arena_printf(arena, "coat_on %s %s%s", unit, film_words(world, dice),
                                        roll(dice, 4) ? "" : " before=true"));
        break;
    case 9:
        world_do(world, cb_arena_printf(arena, "pinged %s films=1/2/1,2/2/1 due_at=-1", unit));
        break;
    case 12:
        world_do(world,
                 cb_arena_printf(arena,
                                 roll(dice, 2) ? "coat_on %s figure=0 stage=%d coat=%d"
                                               : "checked %s figure=0 stage=%d coat=%d found=dry",
                                 unit, stage, 1 + roll(dice, 3)));
        break;
    case 13:
        world_do(world, cb_arena_printf(arena, "moved %s figure=%d coat=%d coat_id=%s", unit,
                                        figure, 1 + roll(dice, 3),
                                        world->log.items[dice_below(dice, world->log.count)]->id));
        break;
    case 10:
        world_do(world, cb_arena_printf(arena, "brought_in %s figures=1,2,3", unit));
        break;
    case 11:
        world_do(world, cb_arena_printf(arena,
                                        roll(dice, 6) == 0   ? "unit_finished %s"
                                        : roll(dice, 5) == 0 ? "unit_finished %s left=true"
                                        : roll(dice, 2) == 0 ? "figure_joined %s"
                                                             : "unit_opened %s",
                                        unit));
        break;
    default:
        world_do(world, plain[roll(dice, (int)(sizeof plain / sizeof *plain))]);
        break;
    }
}

/* What happens to clocks and machines. */
static void shake(struct world *world, struct dice *dice)
{
    switch (roll(dice, 7)) {
    case 6: /* one boot, brought back as it was */
        world->now.boot_ms -= roll(dice, (int)(world->now.boot_ms / 2 % INT_MAX) + 1);
        world_do(world, "session_opened -");
        break;
    case 0: /* somebody sets the wall clock */
        world->now.wall_ms += (roll(dice, 240) - 120) * CB_MS_PER_MIN;
        break;
    case 1: /* off and on again */
        world->now.boot = cb_arena_printf(&world->arena, "boot%d", world->events);
        world->now.boot_ms = 4000 + roll(dice, 4000);
        world_do(world, "session_opened -");
        break;
    case 2: { /* a line from elsewhere */
        const char *own = world->machine;
        world->machine = roll(dice, 2) ? NULL : "z";
        const char *unit = units[roll(dice, 3)];
        switch (roll(dice, 5)) {
        case 0:
            world_do(world, cb_arena_printf(&world->arena, "unit_opened %s", unit));
            break;
        case 1:
            world_do(world, cb_arena_printf(&world->arena,
                                            "unit_begun %s name=z figures=2 %s"
                                            " recipe='%s'",
                                            unit, roll(dice, 2) ? "front=no" : "", recipes[0]));
            break;
        default:
            world_do(world, cb_arena_printf(&world->arena, "coat_on %s %s", unit,
                                            film_words(world, dice)));
            break;
        }
        world->machine = own;
        break;
    }
    default:
        break;
    }
}

static void check_offer(struct world *world);
static void check_slots(const struct world *world);
static void check_labels(const struct world *world);

static void paint(struct world *world, struct dice *dice, int steps)
{
    world_do(world, "session_opened -");
    world_do(world, "climate_set - temp_c=20 rh_pct=55 air=still from=typed");
    world_begin(world, "u", 4, recipes[0]);
    for (int i = 0; i < steps; i++) {
        const int way = roll(dice, 100);
        if (cb_bench_front(world->bench) < 0) {
            world_begin(world, units[roll(dice, 3)], 3, recipes[0]);
        }
        if (way < 35) {
            press_space(world, dice);
        } else if (way < 55) {
            press_answer(world, dice);
        } else if (way < 75) {
            press_any(world, dice);
        } else if (way < 83) {
            world_undo(world);
        } else if (way < 88) {
            world_redo(world);
        } else if (way < 92) {
            shake(world, dice);
        }
        if (roll(dice, 3)) {
            world_wait(world, roll(dice, 8) ? roll(dice, 9) : roll(dice, 700));
        }
        if (i % 8 == 0) {
            world_learn(world);
            check_offer(world);
            check_slots(world);
            check_labels(world);
        }
    }
    world_learn(world);
}

/* Everything that a bench shows, as one text: the numbers to the bit. */
static void tell(const struct world *world, const struct cb_bench *bench, struct cb_str *out)
{
    cb_str_clear(out);
    const int64_t now_ms = cb_bench_time(bench, &world->now);
    struct cb_learn *learn = cb_learn_new(NULL);
    size_t count;
    const struct cb_row *rows = cb_bench_rows(bench, &count);
    cb_learn_sync(learn, rows, count);
    for (size_t i = 0; i < count; i++) {
        cb_str_addf(out, "row %d %s %a %a %a %a %d/%d/%d\n", (int)rows[i].kind,
                    rows[i].pot ? rows[i].pot : "", rows[i].median_min, rows[i].lo, rows[i].hi,
                    rows[i].value, rows[i].figure, rows[i].stage, rows[i].coat);
    }
    for (size_t u = 0; u < cb_bench_unit_count(bench); u++) {
        const struct cb_unit *unit = cb_bench_unit(bench, u);
        cb_str_addf(out, "unit %s %s %d %d %d %lld\n", unit->id, unit->recipe->name, unit->figures,
                    unit->finished, unit->left, (long long)unit->last_ms);
        for (int f = 1; f <= unit->figures; f++) {
            for (int s = 1; s <= (int)unit->recipe->stage_count; s++) {
                const struct cb_slot slot = cb_next_slot(bench, learn, unit, f, s, now_ms);
                cb_str_addf(out, "%d/%d/%d %d %lld ", f, s, slot.coat, (int)slot.state,
                            (long long)slot.until_ms);
            }
            cb_str_addf(out, "parked %d\n", unit->figure[f].parked);
        }
        for (size_t i = 0; i < unit->film_count + unit->stroke_count; i++) {
            const struct cb_film *film =
                i < unit->film_count ? &unit->films[i] : &unit->strokes[i - unit->film_count];
            const struct cb_forecast cast = cb_forecast_film(bench, learn, film, now_ms);
            cb_str_addf(out, "film %d/%d/%d %lld %s %s %d %lld %lld %lld %lld %d%d%d%d%d%d %a %a\n",
                        film->figure, film->stage, film->coat, (long long)film->on_ms,
                        film->paint ? film->paint : "", film->pot ? film->pot : "",
                        (int)film->check, (long long)film->next_ms, (long long)film->lifted_ms,
                        (long long)cast.due_ms, (long long)cast.median_ms, film->helped,
                        film->suspect, film->across_boot, film->brought_in, film->tidied,
                        film->before, cast.chance, cb_bench_progress(bench, film, now_ms));
        }
        const struct cb_proposal next = cb_next_propose(bench, learn, unit, 0, 0, now_ms);
        cb_str_addf(out, "next %d %d/%d/%d of %d\n", next.any, next.figure, next.stage, next.coat,
                    next.figure_count);
    }
    const struct cb_bench_facts facts = cb_bench_facts(bench);
    cb_str_addf(out, "front %d %a %d %d %d %lld %d/%d/%d deadline %lld\n", cb_bench_front(bench),
                facts.confidence, facts.session_open, facts.paused, facts.first_question_answered,
                (long long)facts.last_mark_ms, facts.last_figure, facts.last_stage, facts.last_coat,
                (long long)cb_forecast_next_deadline(bench, learn, now_ms));
    cb_learn_free(learn);
}

typedef const struct cb_event *const *events;

/* Five ways to the same bench: one by one, all at once, shuffled with repeats, in lumps, again. */
static bool folds_alike(events log, size_t count, uint64_t seed, struct cb_err *err)
{
    struct dice dice = {seed ^ 99};
    struct cb_bench *ways[5];
    for (int i = 0; i < 4; i++) {
        ways[i] = cb_bench_new(world_kinds(), world_read);
        if (seed % 2 == 0) {
            cb_bench_own(ways[i], "m");
        }
    }
    const struct cb_event **mixed = cb_mem_new(count + 1, sizeof *mixed);
    for (size_t i = 0; i < count; i++) {
        const size_t j = dice_below(&dice, i + 1);
        mixed[i] = mixed[j];
        mixed[j] = log[i];
        cb_bench_add(ways[0], &log[i], 1);
    }
    cb_bench_add(ways[1], log, count);
    for (size_t i = 0; i < count;) {
        size_t n = 1 + dice_below(&dice, 40);
        n = n > count - i ? count - i : n;
        cb_bench_add(ways[2], mixed + i, n);
        cb_bench_add(ways[2], mixed + dice_below(&dice, i + 1), 1);
        i += n;
    }
    for (size_t i = 0; i < count;) {
        size_t n = 1 + dice_below(&dice, 9);
        n = n > count - i ? count - i : n;
        cb_bench_add(ways[3], log + i, n);
        size_t rows;
        cb_bench_rows(ways[3], &rows); /* what was worked out on the way must not stick */
        i += n;
    }
    ways[4] = cb_bench_again(ways[0]);
    for (size_t i = 0; i < count; i++) {
        cb_bench_repeat(ways[4], i);
    }
    bool alike = true;
    for (int i = 1; i < 5 && alike; i++) {
        alike = bench_equal(ways[0], ways[i], err);
    }
    for (int i = 4; i >= 0; i--) {
        cb_bench_free(ways[i]);
    }
    free(mixed);
    return alike;
}

static void print_event(const struct cb_event *event)
{
    fprintf(stderr, "  %s %s at %lld %s %s", event->id, event->name, (long long)event->at_ms,
            event->unit ? event->unit : "-", event->press ? event->press : "-");
    for (size_t i = 0; i < event->attr_count; i++) {
        const struct cb_attr *attr = &event->attrs[i];
        if (attr->type == CB_TYPE_TEXT) {
            fprintf(stderr, " %s=%.20s", cb_field_name(attr->field), attr->s);
        } else if (attr->type == CB_TYPE_NUMBER) {
            fprintf(stderr, " %s=%g", cb_field_name(attr->field), attr->d);
        } else if (attr->type == CB_TYPE_INT || attr->type == CB_TYPE_TIME) {
            fprintf(stderr, " %s=%lld", cb_field_name(attr->field), (long long)attr->i);
        }
    }
    fprintf(stderr, "\n");
}

static void shrink(events log, size_t count, uint64_t seed)
{
    const struct cb_event **left = cb_mem_new(count + 1, sizeof *left);
    const struct cb_event **fewer = cb_mem_new(count + 1, sizeof *fewer);
    memcpy(left, log, count * sizeof *left);
    struct cb_err err = {0};
    for (size_t i = 0; i < count;) {
        memcpy(fewer, left, i * sizeof *left);
        memcpy(fewer + i, left + i + 1, (count - i - 1) * sizeof *left);
        if (folds_alike(fewer, count - 1, seed, &err)) {
            i++;
        } else {
            memcpy(left, fewer, --count * sizeof *left);
        }
    }
    for (size_t i = 0; i < count; i++) {
        print_event(left[i]);
    }
    free(left);
    free(fewer);
}

static uint64_t seed_now;

static void fail_seed(const char *what)
{
    fail_msg("%s (CB_SEED=%llu)", what, (unsigned long long)seed_now);
}

/* Judged from the recipe alone: no film thought wet on or beside the areas of what is offered. */
/* Coats of the figure's stage, film by film. */
static int count_coats(const struct cb_unit *unit, int figure, int stage)
{
    int coats = 0;
    while (cb_bench_film(unit, figure, stage, coats + 1)) {
        coats++;
    }
    return coats;
}

/* The stage that the figure has to have done before, by the recipe and the films alone; 0: none. */
static int first_before(const struct cb_unit *unit, int figure, int stage)
{
    const uint64_t waits = cb_recipe_waits_for(unit->recipe, (size_t)stage - 1);
    for (int before = 1; before <= (int)unit->recipe->stage_count; before++) {
        if (before != stage && ((waits >> (before - 1)) & 1) &&
            !unit->recipe->stages[before - 1].optional &&
            cb_bench_coats(unit, figure, before) > count_coats(unit, figure, before)) {
            return before;
        }
    }
    return 0;
}

static void check_slots(const struct world *world)
{
    for (size_t u = 0; u < cb_bench_unit_count(world->bench); u++) {
        const struct cb_unit *unit = cb_bench_unit(world->bench, u);
        for (int figure = 1; figure <= unit->figures; figure++) {
            for (int stage = 1; stage <= (int)unit->recipe->stage_count; stage++) {
                const struct cb_slot slot =
                    cb_next_slot(world->bench, world->learn, unit, figure, stage, world_ms(world));
                const int wanted = cb_bench_coats(unit, figure, stage);
                const int on = count_coats(unit, figure, stage);
                const int before = first_before(unit, figure, stage);
                const bool waits = slot.state == CB_SLOT_WAITS;
                if (cb_bench_coats_on(unit, figure, stage) != on) {
                    fail_seed("coats are counted that are not on");
                }
                if (wanted <= on ? slot.state != (wanted == 0 ? CB_SLOT_NONE : CB_SLOT_DONE)
                                 : slot.coat != on + 1) {
                    fail_seed("a slot is done that is not, or not done that is");
                }
                if (wanted > on && !unit->figure[figure].parked &&
                    (waits != (before > 0) || (waits && slot.by_stage != before))) {
                    fail_seed("a slot waits for another stage than the recipe says");
                }
            }
        }
    }
}

/* The label's floor holds until five films of the pot and technique were answered. */
static void check_labels(const struct world *world)
{
    for (size_t u = 0; u < cb_bench_unit_count(world->bench); u++) {
        const struct cb_unit *unit = cb_bench_unit(world->bench, u);
        for (int stage = 1; stage <= (int)unit->recipe->stage_count; stage++) {
            const struct cb_drying *drying = &unit->drying[stage - 1];
            const char *pot = cb_bench_stage_pot(unit, stage);
            int answered = 0;
            for (size_t v = 0; v < cb_bench_unit_count(world->bench); v++) {
                const struct cb_unit *other = cb_bench_unit(world->bench, v);
                for (size_t i = 0; i < other->film_count; i++) {
                    const struct cb_film *film = &other->films[i];
                    answered += pot && film->pot && strcmp(film->pot, pot) == 0 &&
                                film->technique == unit->recipe->stages[stage - 1].technique &&
                                (film->check != CB_CHECK_NONE || film->lifted_ms != CB_TIME_NONE);
                }
            }
            const double min = world_ring_min(world, unit, stage, .5);
            if (drying->label_min > 0 && pot) {
                const double learned = cb_learn_quantile(world->learn, pot, drying->pot_sd,
                                                         drying->standard_min, .5, 0);
                if (fabs(min - (answered < 5 ? fmax(learned, drying->label_min) : learned)) > 0) {
                    fail_seed("a label holds too long or not long enough");
                }
            }
        }
    }
}

static void check_offer(struct world *world)
{
    const int64_t now_ms = world_ms(world);
    for (size_t u = 0; u < cb_bench_unit_count(world->bench); u++) {
        const struct cb_unit *unit = cb_bench_unit(world->bench, u);
        const struct cb_proposal next =
            cb_next_propose(world->bench, world->learn, unit, 0, 0, now_ms);
        for (int i = 0; i < next.figure_count; i++) {
            const struct cb_stage *stage = &unit->recipe->stages[next.stage - 1];
            for (size_t f = 0; f < unit->film_count; f++) {
                const struct cb_film *film = &unit->films[f];
                if (film->figure != next.figures[i] || film->lifted_ms != CB_TIME_NONE ||
                    film->stage == 0 ||
                    cb_forecast_film(world->bench, world->learn, film, now_ms).dry) {
                    continue;
                }
                const struct cb_stage *below = &unit->recipe->stages[film->stage - 1];
                if (stage->whole || below->whole || (stage->on & below->on) ||
                    cb_recipe_touch(unit->recipe, (size_t)next.stage - 1,
                                    (size_t)film->stage - 1)) {
                    fail_seed("a coat is offered on or beside a wet film");
                }
            }
            if (unit->figure[next.figures[i]].parked ||
                cb_bench_film(unit, next.figures[i], next.stage, next.coat)) {
                fail_seed("a parked figure, or a coat that is on, is offered");
            }
        }
    }
}

static void check_folds(struct world *world)
{
    struct cb_err err = {0};
    if (!folds_alike(world->log.items, world->log.count, seed_now, &err)) {
        fprintf(stderr, "%s\n", err.text);
        shrink(world->log.items, world->log.count, seed_now);
        fail_seed("the fold depends on how the events came");
    }
    struct cb_bench *again = cb_bench_new(world_kinds(), world_read);
    cb_bench_add(again, world->log.items, world->log.count);
    struct cb_str texts[2] = {{0}};
    tell(world, world->bench, &texts[0]);
    tell(world, again, &texts[1]);
    if (strcmp(texts[0].text, texts[1].text) != 0) {
        fail_seed("a replay shows another bench");
    }
    cb_str_fini(&texts[0]);
    cb_str_fini(&texts[1]);
    cb_bench_free(again);
}

/* What was undone was never there: all that is left of it is that the clocks stood so then. */
static void check_in_force(struct world *world)
{
    struct cb_bench *other = cb_bench_new(world_kinds(), world_read);
    size_t count;
    events log = cb_bench_events(world->bench, &count);
    for (size_t i = 0; i < count; i++) {
        struct cb_event moment = *log[i];
        const struct cb_event *event = &moment;
        if (!cb_bench_in_force(world->bench, i) || log[i]->kind == CB_EVENT_UNDONE) {
            moment.kind = CB_EVENT_UNKNOWN;
            moment.name = "gone";
            moment.attr_count = 0;
        }
        cb_bench_add(other, &event, 1);
    }
    struct cb_str texts[2] = {{0}};
    tell(world, world->bench, &texts[0]);
    tell(world, other, &texts[1]);
    if (strcmp(texts[0].text, texts[1].text) != 0) {
        fprintf(stderr, "%s\n---\n%s\n", texts[0].text, texts[1].text);
        fail_seed("an undone press left a trace");
    }
    cb_str_fini(&texts[0]);
    cb_str_fini(&texts[1]);
    cb_bench_free(other);
}

static void check_undo(struct world *world)
{
    struct cb_str before = {0};
    struct cb_str after = {0};
    while (cb_bench_redoable(world->bench, NULL, NULL)) {
        world_redo(world);
    }
    tell(world, world->bench, &before);
    while (cb_bench_undoable(world->bench, NULL, NULL)) {
        world_undo(world);
    }
    size_t count;
    events log = cb_bench_events(world->bench, &count);
    for (size_t i = 0; i < count; i++) {
        if (cb_bench_in_force(world->bench, i) && log[i]->machine &&
            strcmp(log[i]->machine, world->machine) == 0 && log[i]->unit &&
            log[i]->kind != CB_EVENT_PINGED) {
            fail_seed("undo to the end leaves a press");
        }
    }
    while (cb_bench_redoable(world->bench, NULL, NULL)) {
        world_redo(world);
    }
    tell(world, world->bench, &after);
    if (strcmp(before.text, after.text) != 0) {
        fprintf(stderr, "%s\n---\n%s\n", before.text, after.text);
        fail_seed("undo and redo of everything changed the bench");
    }
    cb_str_fini(&before);
    cb_str_fini(&after);
}

/* Drier or warmer air from now on: no film is due later. */
static void check_air(struct world *world, struct dice *dice)
{
    const int temp_c = roll(dice, 34);
    const int rh_pct = 3 + roll(dice, 97);
    int64_t due_ms[2][400];
    size_t counts[2] = {0, 0};
    for (int way = 0; way < 2; way++) {
        struct cb_bench *bench = cb_bench_new(world_kinds(), world_read);
        cb_bench_add(bench, world->log.items, world->log.count);
        struct cb_event_make make;
        struct cb_moment now = world->now;
        cb_event_begin(&make, &world->arena, CB_EVENT_CLIMATE_SET, NULL, &now);
        cb_event_add_number(&make, CB_FIELD_TEMP_C, temp_c + (way ? 1 : 0));
        cb_event_add_number(&make, CB_FIELD_RH_PCT, rh_pct - (way ? 3 : 0));
        cb_event_add_text(&make, CB_FIELD_AIR, "still");
        make.event.id = "air";
        make.event.machine = world->machine;
        make.event.seq = world->events + 1;
        const struct cb_event *event = cb_event_take(&make);
        cb_bench_add(bench, &event, 1);
        for (size_t u = 0; u < cb_bench_unit_count(bench); u++) {
            const struct cb_unit *unit = cb_bench_unit(bench, u);
            for (size_t i = 0; i < unit->film_count && counts[way] < 400; i++) {
                due_ms[way][counts[way]++] =
                    cb_bench_reaches(bench, &unit->films[i], unit->films[i].drying->standard_min);
            }
        }
        cb_bench_free(bench);
    }
    assert_int_equal(counts[0], counts[1]);
    for (size_t i = 0; i < counts[0]; i++) {
        if (due_ms[0][i] != CB_TIME_NONE &&
            (due_ms[1][i] == CB_TIME_NONE || due_ms[1][i] > due_ms[0][i] + 1)) {
            fail_seed("drier and warmer air lengthens a wait");
        }
    }
}

static void run_seed(uint64_t seed, int steps)
{
    struct world world;
    struct dice dice = {seed};
    seed_now = seed;
    world_init(&world);
    paint(&world, &dice, steps);
    check_folds(&world);
    check_in_force(&world);
    check_air(&world, &dice);
    check_undo(&world);
    check_folds(&world);
    world_fini(&world);
}

static void test_any_log(void **state)
{
    (void)state;
    const char *one = getenv("CB_SEED");
    const char *many = getenv("CB_SEEDS");
    if (one) {
        run_seed(strtoull(one, NULL, 10), 200);
        return;
    }
    const uint64_t seeds = many ? strtoull(many, NULL, 10) : 24;
    for (uint64_t seed = 1; seed <= seeds; seed++) {
        run_seed(seed, seed % 4 == 0 ? 200 : 60);
    }
}

/* Two benches that painted apart, joined in any order and twice. */
static void test_merge(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 10; seed++) {
        struct world a;
        struct world b;
        struct dice dice = {seed};
        seed_now = seed;
        world_init(&a);
        world_init(&b);
        b.machine = "n";
        b.now.boot = "elsewhere";
        paint(&a, &dice, 60);
        paint(&b, &dice, 60);
        struct cb_bench *ways[3];
        for (int i = 0; i < 3; i++) {
            ways[i] = cb_bench_new(world_kinds(), world_read);
            const struct world *first = i == 0 ? &a : &b;
            const struct world *second = i == 0 ? &b : &a;
            cb_bench_add(ways[i], first->log.items, first->log.count);
            cb_bench_add(ways[i], second->log.items, second->log.count);
        }
        cb_bench_add(ways[2], a.log.items, a.log.count);
        struct cb_err err = {0};
        if (!bench_equal(ways[0], ways[1], &err) || !bench_equal(ways[0], ways[2], &err)) {
            fprintf(stderr, "%s\n", err.text);
            fail_seed("the order of merging shows");
        }
        for (int i = 0; i < 3; i++) {
            cb_bench_free(ways[i]);
        }
        world_fini(&a);
        world_fini(&b);
    }
}

/* What is in front, by its id; "-": nothing. */
static const char *front_of(const struct cb_bench *bench)
{
    const int front = cb_bench_front(bench);
    return front < 0 ? "-" : cb_bench_unit(bench, (size_t)front)->id;
}

/* A bench writes what it found in front. */
static void sit_down(struct world *world)
{
    const char *front = front_of(world->bench);
    world_do(world, cb_arena_printf(&world->arena, "session_opened - front=%s",
                                    front[0] == '-' ? CB_FRONT_NONE : front));
}

/* Somebody moves units to the front and away, sits down and gets up, or is cut off. */
static void move_units(struct world *world, struct dice *dice, const char *const ids[3], int steps,
                       bool sits)
{
    struct cb_arena *arena = &world->arena;
    for (int i = 0; i < steps; i++) {
        const char *unit = ids[roll(dice, 3)];
        switch (roll(dice, 7)) {
        case 0:
            if (sits) {
                sit_down(world);
            }
            break;
        case 1:
            if (sits && roll(dice, 2)) {
                world_do(world, "session_closed -");
            }
            break;
        case 2:
            world_do(world, cb_arena_printf(arena, "unit_begun %s name=x figures=2%s recipe='%s'",
                                            unit, roll(dice, 3) ? "" : " front=no", recipes[1]));
            break;
        case 3:
            world_do(world,
                     cb_arena_printf(arena, roll(dice, 3) ? "unit_opened %s" : "unit_finished %s",
                                     unit));
            break;
        case 4:
            world_do(world, cb_arena_printf(arena, "unit_opened %s", unit));
            world_undo(world);
            if (roll(dice, 2)) {
                world_redo(world);
            }
            break;
        default:
            world_do(world, "note - text=tea");
            break;
        }
        world_wait(world, roll(dice, 40));
    }
}

/* While somebody sits at the bench, what others begin and open on machines of their own changes
 * nothing of what is in front there, however and whenever it comes in. */
static void test_front_is_own(void **state)
{
    static const char *const ours[] = {"u", "v", "w"};
    static const char *const theirs[] = {"x", "y", "z"};
    int held = 0, moved = 0;
    (void)state;
    for (uint64_t seed = 1; seed <= 400; seed++) {
        struct dice dice = {seed};
        struct world a, b;
        seed_now = seed;
        world_init(&a);
        world_init(&b);
        const bool sits = roll(&dice, 2) == 0;
        b.machine = roll(&dice, 4) ? "n" : NULL;
        b.now.boot = "elsewhere";
        b.events = 1000;
        world_wait(&b, roll(&dice, 200) - 100);
        sit_down(&a);
        move_units(&a, &dice, ours, 12, true);
        move_units(&b, &dice, theirs, 12, sits);
        /* The bench of this log; and nobody's in particular, where the others do not sit down. */
        for (int way = 0; way < (sits ? 1 : 2); way++) {
            struct cb_bench *merged[3];
            for (int i = 0; i < 3; i++) {
                merged[i] = cb_bench_new(world_kinds(), world_read);
                if (way == 0) {
                    cb_bench_own(merged[i], "m");
                }
                const struct world *first = i == 0 ? &a : &b, *second = i == 0 ? &b : &a;
                for (size_t k = 0; i == 2 && k < a.log.count; k += 3) {
                    cb_bench_add(merged[i], &a.log.items[k], 1);
                }
                cb_bench_add(merged[i], first->log.items, first->log.count);
                cb_bench_add(merged[i], second->log.items, second->log.count);
            }
            struct cb_err err = {0};
            if (!bench_equal(merged[0], merged[1], &err) ||
                !bench_equal(merged[0], merged[2], &err)) {
                fprintf(stderr, "%s\n", err.text);
                fail_seed("the order of merging shows");
            }
            const bool same = strcmp(front_of(merged[0]), front_of(a.bench)) == 0;
            const bool open = cb_bench_facts(a.bench).session_open;
            if (open && !same) {
                fprintf(stderr, "%s, not %s\n", front_of(merged[0]), front_of(a.bench));
                fail_seed("somebody else has changed what is in front");
            }
            held += open;
            moved += !same;
            for (int i = 0; i < 3; i++) {
                cb_bench_free(merged[i]);
            }
        }
        world_fini(&a);
        world_fini(&b);
    }
    assert_true(held > 100);
    assert_true(moved > 20); /* where nobody sits, it does change */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_any_log),
        cmocka_unit_test(test_merge),
        cmocka_unit_test(test_front_is_own),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
