/* SPDX-License-Identifier: MIT */
/* Which moments hold, and what cues are judged by, read off the films and events of the log. */
#include "core/coach/coach.h"

#include <limits.h>
#include <math.h>
#include <string.h>

#include "base/time.h"
#include "base/utf8.h"
#include "base/vec.h"
#include "core/bench/forecast.h"
#include "core/recipe/drying_stage.h"

#define EVENING_STEP_MIN 3 /* the next two, once an evening ends; own judgement */

struct coach {
    const struct cb_bench *bench;
    const struct cb_learn *learn;
    const struct cb_coach_at *at;
    const struct cb_unit *unit;
    struct cb_arena *arena;
    struct cb_bench_facts facts;
    int64_t opened_ms;          /* of this session */
    int evenings;               /* earlier sessions with a coat */
    int of[CB_TECHNIQUE_COUNT]; /* of these, with that technique */
    int64_t begun_ms;           /* when a stage was begun last, in this session; INT64_MIN */
    int64_t shaken_ms, watered_ms, filled_ms; /* told as chores in this session; INT64_MIN */
    struct cb_coach_past *past;    /* stages of the unit begun in this session, in that order */
    int past_stage[CB_RECIPE_MAX]; /* their numbers, from 1 */
    size_t past_count;
    struct cb_coach_moment *out;
    size_t count;
};

static bool is_ours(const struct coach *coach, const struct cb_film *film)
{
    return film->stage > 0 && !film->before && film->pressed_ms >= coach->opened_ms;
}

static int bits(unsigned mask)
{
    int count = 0;
    for (; mask; mask &= mask - 1) {
        count++;
    }
    return count;
}

/* Earlier evenings, by technique: of the units that are under way as the log has them; of finished
 * ones one a unit, of what the unit was painted with. */
static void count_evenings(struct coach *coach)
{
    CB_VEC(int64_t) opened = {0};
    CB_VEC(unsigned) painted = {0}; /* bits of techniques, by session */
    size_t count;
    const struct cb_event *const *events = cb_bench_events(coach->bench, &count);
    for (size_t i = 0; i < count; i++) {
        if (events[i]->kind == CB_EVENT_SESSION_OPENED) {
            cb_vec_push(&opened, cb_bench_event_ms(coach->bench, i));
            cb_vec_push(&painted, 0U);
        }
    }
    for (size_t u = 0; u < cb_bench_unit_count(coach->bench); u++) {
        const struct cb_unit *unit = cb_bench_unit(coach->bench, u);
        size_t session = 0;
        for (size_t i = 0; i < unit->film_count; i++) {
            const struct cb_film *film = &unit->films[i];
            if (film->stage == 0 || film->before || film->pressed_ms >= coach->opened_ms) {
                continue;
            }
            while (session > 0 && opened.items[session - 1] > film->pressed_ms) {
                session--;
            }
            while (session < opened.count && opened.items[session] <= film->pressed_ms) {
                session++;
            }
            if (session > 0) {
                painted.items[session - 1] |= 1U << film->technique;
            }
        }
    }
    for (size_t s = 0; s < painted.count; s++) {
        coach->evenings += bits(painted.items[s]) > 0;
        for (size_t t = 0; t < CB_TECHNIQUE_COUNT; t++) {
            coach->of[t] += (int)(painted.items[s] >> t & 1);
        }
    }
    const struct cb_taught *taught = coach->at->taught;
    unsigned once = 0;
    for (size_t i = 0; taught && i < taught->stage_count; i++) {
        once |= 1U << taught->stages[i].technique;
    }
    const int units = taught && taught->unit_count < 1000 ? (int)taught->unit_count : 0;
    coach->evenings += units;
    for (size_t t = 0; t < CB_TECHNIQUE_COUNT; t++) {
        coach->of[t] += once >> t & 1 ? units : 0;
    }
    cb_vec_free(&opened);
    cb_vec_free(&painted);
}

static void hear_chores(struct coach *coach)
{
    static const char *const shaking[] = {"shake", "shaken", "stir"};
    static const char *const watering[] = {"water", "rinse"};
    size_t count;
    const struct cb_event *const *events = cb_bench_events(coach->bench, &count);
    coach->shaken_ms = coach->watered_ms = coach->filled_ms = INT64_MIN;
    for (size_t i = count; i-- > 0;) {
        const int64_t at_ms = cb_bench_event_ms(coach->bench, i);
        if (events[i]->kind == CB_EVENT_SESSION_OPENED) {
            break;
        }
        if (events[i]->kind != CB_EVENT_CHORE_DONE || !cb_bench_in_force(coach->bench, i)) {
            continue;
        }
        const char *name = cb_utf8_fold(coach->arena, cb_event_text(events[i], CB_FIELD_NAME, ""));
        for (size_t w = 0; w < sizeof shaking / sizeof *shaking; w++) {
            if (strstr(name, shaking[w]) && at_ms > coach->shaken_ms) {
                coach->shaken_ms = at_ms;
            }
        }
        for (size_t w = 0; w < sizeof watering / sizeof *watering; w++) {
            if (strstr(name, watering[w]) && at_ms > coach->watered_ms) {
                coach->watered_ms = at_ms;
            }
        }
        if (strstr(name, "palette") && at_ms > coach->filled_ms) {
            coach->filled_ms = at_ms;
        }
    }
}

/* The tone of what lies under the stage on that figure: its latest film there, else what the
 * recipe puts there before. */
static enum cb_tone tone_below(const struct coach *coach, int stage, int figure)
{
    const struct cb_unit *unit = coach->unit;
    const struct cb_recipe *used = cb_bench_used(unit);
    const struct cb_stage *own = &used->stages[stage - 1];
    for (size_t i = unit->film_count; i-- > 0;) {
        const struct cb_film *film = &unit->films[i];
        const int paint = film->stage > 0 ? cb_mix_paint(&used->stages[film->stage - 1].mix) : -1;
        if (film->figure == figure && film->stage != stage && paint >= 0 &&
            film->lifted_ms == CB_TIME_NONE &&
            cb_areas_meet(own->whole, own->on, film->whole, film->areas)) {
            return used->paints[paint].tone;
        }
    }
    for (int s = stage - 1; s > 0; s--) {
        const struct cb_stage *below = &used->stages[s - 1];
        const int paint = cb_mix_paint(&below->mix);
        if (paint >= 0 && cb_areas_meet(own->whole, own->on, below->whole, below->on)) {
            return used->paints[paint].tone;
        }
    }
    return CB_TONE_NONE;
}

static struct cb_cue_stage stage_of(const struct coach *coach, int stage, int figure)
{
    const struct cb_recipe *used = cb_bench_used(coach->unit);
    const struct cb_stage *own = &used->stages[stage - 1];
    const int paint = cb_mix_paint(&own->mix);
    struct cb_cue_stage out = {.any = true,
                               .technique = own->technique,
                               .kind = paint < 0 ? -1 : (int)used->paints[paint].kind,
                               .by = own->by,
                               .coats = cb_bench_coats(coach->unit, figure, stage),
                               .figures = coach->unit->figures,
                               .evenings = coach->of[own->technique]};
    if (paint < 0) {
        return out;
    }
    const struct cb_parts parts =
        cb_drying_parts_of_stage(cb_bench_kinds(coach->bench), used, (size_t)(stage - 1));
    out.mix = (parts.water > 0 ? CB_CUE_WATER : 0U) | (parts.medium > 0 ? CB_CUE_MEDIUM : 0U);
    out.mix = out.mix ? out.mix : CB_CUE_NEAT;
    const enum cb_tone tone = used->paints[paint].tone, below = tone_below(coach, stage, figure);
    if (tone != CB_TONE_NONE && below != CB_TONE_NONE) {
        out.tone = tone > below ? CB_CUE_LIGHTER : tone < below ? CB_CUE_DARKER : CB_CUE_SAME;
        out.tone |= tone == CB_TONE_LIGHT && below == CB_TONE_DARK ? CB_CUE_LIGHT_OVER_DARK : 0U;
    }
    return out;
}

static double minutes_since(const struct coach *coach, int64_t then_ms)
{
    return then_ms == INT64_MIN || then_ms == CB_TIME_NONE
               ? (double)INFINITY
               : (double)(coach->at->now_ms - then_ms) / (double)CB_MS_PER_MIN;
}

/* When the pot was taken up that has been on the brush since; INT64_MIN: it is not. */
static int64_t taken_up_ms(const struct coach *coach, int stage)
{
    const char *pot = cb_bench_stage_pot(coach->unit, stage);
    int64_t first_ms = INT64_MIN;
    for (size_t i = coach->unit->film_count; i-- > 0;) {
        const struct cb_film *film = &coach->unit->films[i];
        if (!is_ours(coach, film) || !pot || !film->pot || strcmp(film->pot, pot) != 0) {
            break;
        }
        first_ms = film->on_ms;
    }
    return first_ms;
}

static struct cb_cue_now now_of(const struct coach *coach, int stage, int coat)
{
    const char *place = stage > 0 ? cb_bench_used(coach->unit)->stages[stage - 1].place : NULL;
    size_t at = 0;
    for (size_t i = 1; place && i < cb_bench_place_count(coach->bench); i++) {
        if (strcmp(cb_bench_place_name(coach->bench, (int)i), place) == 0) {
            at = i;
        }
    }
    const int64_t up_ms = stage > 0 ? taken_up_ms(coach, stage) : INT64_MIN;
    const int64_t shaken_ms = up_ms > coach->shaken_ms ? up_ms : coach->shaken_ms;
    const int64_t filled_ms = up_ms > coach->filled_ms ? up_ms : coach->filled_ms;
    const int64_t watered_ms =
        coach->watered_ms > coach->opened_ms ? coach->watered_ms : coach->opened_ms;
    return (struct cb_cue_now){
        .coat = coat,
        .climate = cb_bench_climate_at(coach->bench, (int)at, coach->at->now_ms).climate,
        .shaken_min = minutes_since(coach, shaken_ms),
        .water_min = minutes_since(coach, watered_ms),
        .palette_min =
            up_ms != INT64_MIN ? minutes_since(coach, filled_ms) : 0, /* not filled yet */
        .begin_min = minutes_since(coach, coach->begun_ms),
        .mark_min = minutes_since(coach, coach->facts.last_mark_ms >= coach->opened_ms
                                             ? coach->facts.last_mark_ms
                                             : INT64_MIN)};
}

/* One figure, or all in one go. */
static bool is_alone(const struct coach *coach, int stage)
{
    return coach->unit->figures == 1 ||
           cb_bench_used(coach->unit)->stages[stage - 1].together == CB_TOGETHER_ALL;
}

static void add(struct coach *coach, struct cb_coach_moment moment)
{
    if (coach->count < CB_COACH_MOMENTS_MAX) {
        moment.past = coach->past;
        while (moment.past_count < coach->past_count &&
               coach->past_stage[moment.past_count] != moment.stage_number) {
            moment.past_count++;
        }
        moment.alone = moment.stage_number > 0 && is_alone(coach, moment.stage_number);
        coach->out[coach->count++] = moment;
    }
}

/* Presses of this session that put a coat of the stage on, first ones or further ones. */
static size_t presses(const struct coach *coach, int stage, bool first)
{
    size_t count = 0;
    const char *last = NULL;
    for (size_t i = 0; i < coach->unit->film_count; i++) {
        const struct cb_film *film = &coach->unit->films[i];
        if (film->stage == stage && is_ours(coach, film) && (film->coat == 1) == first) {
            count += !last || !film->on_press || strcmp(last, film->on_press) != 0;
            last = film->on_press;
        }
    }
    return count;
}

static bool began_before(const struct coach *coach, int stage)
{
    for (size_t i = 0; i < coach->unit->film_count; i++) {
        if (coach->unit->films[i].stage == stage && !is_ours(coach, &coach->unit->films[i])) {
            return true;
        }
    }
    return false;
}

/* Has each figure that wants that coat of the stage got it? */
static bool is_through(const struct coach *coach, int stage, int coat)
{
    for (int figure = 1; figure <= coach->unit->figures; figure++) {
        const int wanted = cb_bench_coats(coach->unit, figure, stage);
        if (!coach->unit->figure[figure].parked &&
            cb_bench_coats_on(coach->unit, figure, stage) < (wanted < coat ? wanted : coat)) {
            return false;
        }
    }
    return true;
}

/* The stages of the unit that this session has begun, and what was said of them by then. */
static void look_back(struct coach *coach)
{
    coach->begun_ms = INT64_MIN;
    coach->past = cb_arena_alloc(coach->arena, CB_RECIPE_MAX, sizeof *coach->past);
    for (size_t i = 0; i < coach->unit->film_count; i++) {
        const struct cb_film *film = &coach->unit->films[i];
        bool known = !is_ours(coach, film) || coach->past_count == CB_RECIPE_MAX;
        for (size_t k = 0; k < coach->past_count && !known; k++) {
            known = coach->past_stage[k] == film->stage;
        }
        if (known) {
            continue;
        }
        const bool before = began_before(coach, film->stage);
        const size_t firsts = presses(coach, film->stage, true);
        struct cb_coach_past *past = &coach->past[coach->past_count];
        past->stage = stage_of(coach, film->stage, film->figure);
        past->alone = is_alone(coach, film->stage);
        past->had[CB_CUE_BEFORE_STAGE] = !before;
        past->had[CB_CUE_FIRST_COAT] = before || firsts == 0 ? firsts : firsts - 1;
        past->had[CB_CUE_BETWEEN_COATS] = presses(coach, film->stage, false);
        while ((int)past->had[CB_CUE_WHILE_DRYING] < past->stage.coats &&
               is_through(coach, film->stage, (int)past->had[CB_CUE_WHILE_DRYING] + 1)) {
            past->had[CB_CUE_WHILE_DRYING]++;
        }
        past->had[CB_CUE_WHEN_DRY] = past->had[CB_CUE_WHILE_DRYING];
        past->had[CB_CUE_STAGE_END] = is_through(coach, film->stage, INT_MAX);
        coach->begun_ms =
            !before && film->pressed_ms > coach->begun_ms ? film->pressed_ms : coach->begun_ms;
        coach->past_stage[coach->past_count++] = film->stage;
    }
}

static void before_a_coat(struct coach *coach)
{
    const struct cb_proposal *next = coach->at->proposal;
    if (!next->any) {
        return;
    }
    struct cb_coach_moment moment = {.stage = stage_of(coach, next->stage, next->figure),
                                     .now = now_of(coach, next->stage, next->coat),
                                     .stage_number = next->stage};
    const size_t firsts = presses(coach, next->stage, true);
    const bool before = began_before(coach, next->stage);
    if (next->coat > 1) {
        moment.moment = CB_CUE_BETWEEN_COATS;
        moment.step = presses(coach, next->stage, false);
        add(coach, moment);
    } else if (firsts == 0 && !before) {
        moment.moment = CB_CUE_BEFORE_STAGE;
        add(coach, moment);
    } else {
        moment.moment = CB_CUE_FIRST_COAT;
        moment.step = before || firsts == 0 ? firsts : firsts - 1;
        add(coach, moment);
    }
}

/* Did the last press put it on, and has its figure no earlier one of the stage from this session?
 */
static bool is_just_on(const struct coach *coach, const struct cb_film *film,
                       const struct cb_film *last)
{
    if (film->stage != last->stage || !is_ours(coach, film) || film->lifted_ms != CB_TIME_NONE ||
        !film->on_press || !last->on_press || strcmp(film->on_press, last->on_press) != 0) {
        return false;
    }
    for (const struct cb_film *other = coach->unit->films; other < film; other++) {
        if (other->figure == film->figure && other->stage == film->stage && is_ours(coach, other)) {
            return false;
        }
    }
    return true;
}

/* Of a count, which is dated back, each figure has its own share of the drying. */
static void after_the_coat(struct coach *coach, const struct cb_film *last)
{
    int *figures = cb_arena_alloc(coach->arena, CB_FIGURES_MAX, sizeof *figures);
    double *shares = cb_arena_alloc(coach->arena, CB_FIGURES_MAX, sizeof *shares);
    size_t count = 0;
    const struct cb_film *newest = NULL;
    for (size_t i = 0; i < coach->unit->film_count; i++) {
        const struct cb_film *film = &coach->unit->films[i];
        newest = is_just_on(coach, film, last) && (!newest || film->on_ms > newest->on_ms) ? film
                                                                                           : newest;
    }
    if (!newest) {
        return;
    }
    const struct cb_forecast forecast =
        cb_forecast_film(coach->bench, coach->learn, newest, coach->at->now_ms);
    const int64_t dry_ms =
        forecast.median_ms != CB_TIME_NONE && forecast.median_ms < forecast.due_ms
            ? forecast.median_ms
            : forecast.due_ms;
    if (forecast.dry || dry_ms == CB_TIME_NONE || dry_ms <= newest->on_ms) {
        return;
    }
    const double drying_ms = (double)(dry_ms - newest->on_ms);
    for (int figure = 1; figure <= coach->unit->figures; figure++) {
        const struct cb_film *film = cb_bench_film(coach->unit, figure, last->stage, last->coat);
        if (film && is_just_on(coach, film, last)) {
            figures[count] = figure;
            shares[count++] = (double)(coach->at->now_ms - film->on_ms) / drying_ms;
        }
    }
    add(coach,
        (struct cb_coach_moment){.moment = CB_CUE_AFTER_COAT,
                                 .stage = stage_of(coach, last->stage, newest->figure),
                                 .now = now_of(coach, last->stage, last->coat),
                                 .stage_number = last->stage,
                                 .share = (double)(coach->at->now_ms - newest->on_ms) / drying_ms,
                                 .drying_ms = drying_ms,
                                 .film = newest,
                                 .figure_count = count,
                                 .figures = figures,
                                 .shares = shares});
}

static bool is_dry(const struct coach *coach, const struct cb_film *film)
{
    return cb_forecast_dry(coach->bench, coach->learn, film, coach->at->now_ms, NULL);
}

/* Once the row is through, and until the next press: what was painted last dries, or can be looked
 * at. */
static void after_the_row(struct coach *coach, const struct cb_film *last)
{
    const struct cb_proposal *next = coach->at->proposal;
    if (!is_through(coach, last->stage, last->coat)) {
        return;
    }
    struct cb_coach_moment moment = {.moment = CB_CUE_WHILE_DRYING,
                                     .stage = stage_of(coach, last->stage, last->figure),
                                     .now = now_of(coach, last->stage, last->coat),
                                     .step = (size_t)(last->coat - 1),
                                     .stage_number = last->stage};
    if (!is_dry(coach, last)) {
        add(coach, moment);
    }
    const struct cb_film *under =
        next->any ? cb_bench_film(coach->unit, next->figure, last->stage, last->coat) : NULL;
    if (under && !coach->at->waits && under->drying && under->drying->from != CB_TIME_ZERO &&
        is_dry(coach, under)) {
        moment.moment = CB_CUE_WHEN_DRY;
        add(coach, moment);
    }
    if (is_through(coach, last->stage, INT_MAX)) {
        moment.moment = CB_CUE_STAGE_END;
        moment.step = 0;
        add(coach, moment);
    }
}

static void around_the_evening(struct coach *coach, const struct cb_film *last)
{
    const struct cb_coach_at *at = coach->at;
    struct cb_coach_moment moment = {
        .moment = CB_CUE_OPENING,
        .stage = {.kind = -1, .figures = coach->unit->figures, .evenings = coach->evenings},
        .now = now_of(coach, 0, 0)};
    if (coach->facts.last_mark_ms == CB_TIME_NONE || coach->facts.last_mark_ms < coach->opened_ms) {
        add(coach, moment);
        return;
    }
    int64_t end_ms = at->evening_min > 0
                         ? coach->opened_ms + (int64_t)(at->evening_min * (double)CB_MS_PER_MIN)
                         : INT64_MAX;
    if (at->all_done && coach->facts.last_mark_ms < end_ms) {
        end_ms = coach->facts.last_mark_ms;
    }
    if (at->now_ms >= end_ms) {
        moment.moment = CB_CUE_EVENING_END;
        moment.stage = last ? stage_of(coach, last->stage, last->figure) : moment.stage;
        moment.stage.evenings = coach->evenings;
        moment.step = (size_t)((at->now_ms - end_ms) / (EVENING_STEP_MIN * CB_MS_PER_MIN));
        add(coach, moment);
    }
}

size_t cb_coach_moments(const struct cb_bench *bench, const struct cb_learn *learn,
                        const struct cb_coach_at *at, struct cb_arena *arena,
                        struct cb_coach_moment moments[CB_COACH_MOMENTS_MAX])
{
    struct coach coach = {.bench = bench,
                          .learn = learn,
                          .at = at,
                          .unit = at->unit,
                          .arena = arena,
                          .facts = cb_bench_facts(bench),
                          .out = moments};
    coach.opened_ms = coach.facts.session_opened_ms;
    if (at->caution || !at->unit || coach.opened_ms == CB_TIME_NONE) {
        return 0;
    }
    count_evenings(&coach);
    hear_chores(&coach);
    look_back(&coach);
    const int front = cb_bench_front(bench);
    const struct cb_film *last = NULL;
    if (coach.facts.last_mark_ms != CB_TIME_NONE && coach.facts.last_unit == front &&
        coach.facts.last_stage > 0) {
        last = cb_bench_film(at->unit, coach.facts.last_figure, coach.facts.last_stage,
                             coach.facts.last_coat);
        last = last && is_ours(&coach, last) ? last : NULL;
    }
    if (last) {
        after_the_coat(&coach, last);
    }
    before_a_coat(&coach);
    if (last) {
        after_the_row(&coach, last);
    }
    around_the_evening(&coach, last);
    return coach.count;
}
