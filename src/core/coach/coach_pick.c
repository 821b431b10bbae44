/* SPDX-License-Identifier: MIT */
#include <stdint.h>
#include <string.h>

#include "base/utf8.h"
#include "core/coach/coach.h"

/* Muted before this session: as if it were not there. What is muted in it leaves its place empty,
 * so that no other cue moves to where it was said before. */
static bool was_muted(const struct cb_bench *bench, const char *cue)
{
    if (!cb_bench_muted(bench, cue)) {
        return false;
    }
    const int64_t opened_ms = cb_bench_facts(bench).session_opened_ms;
    size_t count;
    const struct cb_event *const *events = cb_bench_events(bench, &count);
    for (size_t i = 0; i < count; i++) {
        if (events[i]->kind == CB_EVENT_CUE_MUTED && cb_bench_in_force(bench, i) &&
            strcmp(cb_event_text(events[i], CB_FIELD_CUE, ""), cue) == 0 &&
            cb_bench_event_ms(bench, i) < opened_ms) {
            return true;
        }
    }
    return false;
}

#define NO_STEP SIZE_MAX
#define SAID    (SIZE_MAX - 1) /* an earlier stage of this session has had it */

struct places {
    const struct cb_cues *cues;
    const struct cb_bench *bench;
    size_t step[2 * CB_CUES_MAX]; /* on which of the moment's coats each is said */
};

static bool is_of(const struct cb_cue *cue, enum cb_cue_moment moment, bool alone)
{
    return cue->moment == moment ||
           (alone && moment == CB_CUE_BEFORE_STAGE && cue->moment == CB_CUE_FIRST_COAT);
}

/* Gives those of the stage that have none yet their steps, two by two in the order of their weight.
 */
static void give_steps(struct places *places, enum cb_cue_moment moment, bool alone,
                       const struct cb_cue_stage *stage)
{
    const struct cb_cues *cues = places->cues;
    bool meant[2 * CB_CUES_MAX] = {0};
    for (size_t i = 0; i < cues->count; i++) {
        const struct cb_cue *cue = &cues->cues[i];
        meant[i] = places->step[i] == NO_STEP && is_of(cue, moment, alone) && !cb_cue_by_age(cue) &&
                   cb_cue_fits_stage(cue, stage, cb_bench_kinds(places->bench), NULL) &&
                   cb_cue_has_turn(cue, i, stage->evenings) && !was_muted(places->bench, cue->id);
    }
    for (size_t i = 0; i < cues->count; i++) {
        size_t rank = 0;
        for (size_t k = 0; meant[i] && k < cues->count; k++) {
            const int other = cues->cues[k].weight, own = cues->cues[i].weight;
            rank += meant[k] && !cb_cue_by_air(&cues->cues[k]) &&
                    (other > own || (other == own && k < i));
        }
        if (meant[i]) {
            places->step[i] = cb_cue_by_air(&cues->cues[i]) ? 0 : rank / CB_COACH_LINES;
        }
    }
}

/* Can a cue be of both? */
static bool share_cues(enum cb_cue_moment a, enum cb_cue_moment b)
{
    const bool starts = (a == CB_CUE_BEFORE_STAGE || a == CB_CUE_FIRST_COAT) &&
                        (b == CB_CUE_BEFORE_STAGE || b == CB_CUE_FIRST_COAT);
    return (a == b && a != CB_CUE_AFTER_COAT) || starts;
}

/* What earlier stages have had is not said again; what they never came to is free. */
static void find_places(struct places *places, const struct cb_cues *cues,
                        const struct cb_bench *bench, const struct cb_coach_moment *moment)
{
    places->cues = cues;
    places->bench = bench;
    for (size_t i = 0; i < cues->count; i++) {
        places->step[i] = NO_STEP;
    }
    for (size_t p = 0; p < moment->past_count; p++) {
        const struct cb_coach_past *past = &moment->past[p];
        for (int m = 0; m < CB_CUE_MOMENT_COUNT; m++) {
            if (past->had[m] == 0 || !share_cues((enum cb_cue_moment)m, moment->moment)) {
                continue;
            }
            give_steps(places, (enum cb_cue_moment)m, past->alone, &past->stage);
            for (size_t i = 0; i < cues->count; i++) {
                const size_t step = places->step[i];
                places->step[i] = step == SAID || step < past->had[m] ? SAID : NO_STEP;
            }
        }
    }
    give_steps(places, moment->moment, moment->alone, &moment->stage);
}

static bool is_open(const struct cb_cue *cue, const struct cb_coach_moment *moment)
{
    return cue->moment != CB_CUE_AFTER_COAT || moment->share <= cue->until;
}

/* Is this the coat on which it is said? */
static bool is_its_coat(const struct places *places, size_t place,
                        const struct cb_coach_moment *moment)
{
    const struct cb_cue *cue = &places->cues->cues[place];
    bool first = moment->step == 0;
    for (size_t p = 0; p < moment->past_count; p++) {
        const struct cb_coach_past *past = &moment->past[p];
        first =
            first && !(past->had[cue->moment] > 0 &&
                       cb_cue_fits_stage(cue, &past->stage, cb_bench_kinds(places->bench), NULL));
    }
    return cb_cue_by_age(cue) ? cb_cue_is_due(cue, &moment->now, first)
                              : places->step[place] == moment->step;
}

static bool is_candidate(const struct places *places, size_t place,
                         const struct cb_coach_moment *moment)
{
    const struct cb_cue *cue = &places->cues->cues[place];
    return is_of(cue, moment->moment, moment->alone) && !cb_bench_muted(places->bench, cue->id) &&
           is_open(cue, moment) && cb_cue_has_turn(cue, place, moment->stage.evenings) &&
           cb_cue_fits_stage(cue, &moment->stage, cb_bench_kinds(places->bench), NULL) &&
           cb_cue_fits_now(cue, &moment->now, NULL) && is_its_coat(places, place, moment);
}

/* The text with those of its figures whose time is not over. */
static const char *text_of(const struct cb_cue *cue, const struct cb_coach_moment *moment,
                           struct cb_arena *arena)
{
    const char *hole = strstr(cue->text, CB_CUE_FIGURE);
    if (!hole) {
        return cue->text;
    }
    int figures[CB_FIGURES_MAX];
    size_t count = 0;
    for (size_t i = 0; i < moment->figure_count; i++) {
        if (moment->shares[i] <= cue->until) {
            figures[count++] = moment->figures[i];
        }
    }
    struct cb_str names = {0};
    cb_str_add_numbers(&names, figures, count);
    const bool few = cb_utf8_text_width(cb_str_text(&names)) <= (int)strlen(CB_CUE_FIGURE);
    const char *text =
        cb_arena_printf(arena, "%.*s%s%s", (int)(hole - cue->text), cue->text,
                        few ? cb_str_text(&names) : "them all", hole + strlen(CB_CUE_FIGURE));
    cb_str_fini(&names);
    return text;
}

static void insert(struct cb_coach_line lines[CB_COACH_LINES], size_t *count,
                   struct cb_coach_line line)
{
    size_t at = *count;
    while (at > 0 && lines[at - 1].cue->weight < line.cue->weight) {
        at--;
    }
    if (at == CB_COACH_LINES) {
        return;
    }
    *count += *count < CB_COACH_LINES;
    for (size_t i = *count - 1; i > at; i--) {
        lines[i] = lines[i - 1];
    }
    lines[at] = line;
}

size_t cb_coach_pick(const struct cb_cues *cues, const struct cb_bench *bench,
                     const struct cb_coach_moment *moments, size_t count, struct cb_arena *arena,
                     struct cb_coach_line lines[CB_COACH_LINES])
{
    size_t said = 0;
    struct places *places = cb_arena_alloc(arena, 1, sizeof *places);
    for (size_t m = 0; m < count; m++) {
        find_places(places, cues, bench, &moments[m]);
        for (size_t i = 0; i < cues->count; i++) {
            if (is_candidate(places, i, &moments[m])) {
                insert(lines, &said, (struct cb_coach_line){&cues->cues[i], &moments[m], NULL});
            }
        }
    }
    for (size_t i = 0; i < said; i++) {
        lines[i].text = text_of(lines[i].cue, lines[i].moment, arena);
    }
    return said;
}

/* What keeps it from that moment, or NULL. */
static const char *obstacle(const struct cb_cues *cues, size_t place, const struct cb_bench *bench,
                            const struct cb_coach_moment *moment, struct cb_arena *arena)
{
    const struct cb_cue *cue = &cues->cues[place];
    struct cb_str why = {0};
    const char *text = NULL;
    if (!cb_cue_fits_stage(cue, &moment->stage, cb_bench_kinds(bench), &why) ||
        !cb_cue_fits_now(cue, &moment->now, &why)) {
        text = cb_arena_text(arena, cb_str_text(&why));
    } else if (!cb_cue_has_turn(cue, place, moment->stage.evenings)) {
        text = cb_arena_printf(arena, "seen: rests this evening, after %d with this technique",
                               moment->stage.evenings);
    } else if (!is_open(cue, moment)) {
        text = cb_arena_printf(arena, "its time in the drying is over, %.0f %%", cue->until * 100);
    } else {
        struct places *places = cb_arena_alloc(arena, 1, sizeof *places);
        find_places(places, cues, bench, moment);
        const size_t step = places->step[place];
        text = is_its_coat(places, place, moment) ? NULL
               : cb_cue_by_age(cue) || step == SAID || step < moment->step
                   ? "said already this session"
                   : "comes with a later coat of this stage";
    }
    cb_str_fini(&why);
    return text;
}

const char *cb_coach_why(const struct cb_cues *cues, size_t place, const struct cb_bench *bench,
                         const struct cb_coach_moment *moments, size_t count, bool caution,
                         struct cb_arena *arena, bool *shows)
{
    const struct cb_cue *cue = &cues->cues[place];
    struct cb_coach_line lines[CB_COACH_LINES];
    const size_t said = cb_coach_pick(cues, bench, moments, count, arena, lines);
    *shows = false;
    for (size_t i = 0; i < said; i++) {
        if (lines[i].cue == cue) {
            *shows = true;
            return "shows now";
        }
    }
    if (cb_bench_muted(bench, cue->id)) {
        return "muted";
    }
    if (caution) {
        return "a caution waits for its press";
    }
    const char *why = "";
    for (size_t m = 0; m < count; m++) {
        if (is_of(cue, moments[m].moment, moments[m].alone)) {
            why = obstacle(cues, place, bench, &moments[m], arena);
            if (!why) {
                return "two of more use stand before it";
            }
        }
    }
    return why[0]
               ? why
               : cb_arena_printf(arena, "not at this moment: %s", cb_cue_moment_name(cue->moment));
}
