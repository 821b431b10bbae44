/* SPDX-License-Identifier: MIT */
#include <stdlib.h>
#include <string.h>

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

/* Does the cue have a place in this session at that moment? */
static bool has_place(const struct cb_cues *cues, size_t place, const struct cb_bench *bench,
                      const struct cb_coach_moment *moment)
{
    const struct cb_cue *cue = &cues->cues[place];
    return cue->moment == moment->moment &&
           cb_cue_fits_stage(cue, &moment->stage, cb_bench_kinds(bench), NULL) &&
           cb_cue_has_turn(cue, place, moment->stage.evenings) && !was_muted(bench, cue->id);
}

/* How many stand before it. */
static size_t rank_of(const struct cb_cues *cues, size_t place, const struct cb_bench *bench,
                      const struct cb_coach_moment *moment)
{
    const int weight = cues->cues[place].weight;
    size_t rank = 0;
    for (size_t i = 0; i < cues->count; i++) {
        const int other = cues->cues[i].weight;
        rank += i != place && (other > weight || (other == weight && i < place)) &&
                has_place(cues, i, bench, moment);
    }
    return rank;
}

static bool is_open(const struct cb_cue *cue, const struct cb_coach_moment *moment)
{
    return cue->moment != CB_CUE_AFTER_COAT || moment->share <= cue->until;
}

static bool is_candidate(const struct cb_cues *cues, size_t place, const struct cb_bench *bench,
                         const struct cb_coach_moment *moment)
{
    const struct cb_cue *cue = &cues->cues[place];
    return has_place(cues, place, bench, moment) && !cb_bench_muted(bench, cue->id) &&
           is_open(cue, moment) && cb_cue_fits_now(cue, &moment->now, NULL) &&
           rank_of(cues, place, bench, moment) / CB_COACH_LINES == moment->step;
}

/* The text with its figures. */
static const char *text_of(const struct cb_cue *cue, const struct cb_coach_moment *moment,
                           struct cb_arena *arena)
{
    const char *hole = strstr(cue->text, CB_CUE_FIGURE);
    if (!hole) {
        return cue->text;
    }
    return cb_arena_printf(arena, "%.*s%s%s", (int)(hole - cue->text), cue->text,
                           moment->figures ? moment->figures : "",
                           hole + strlen(CB_CUE_FIGURE));
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
    for (size_t m = 0; m < count; m++) {
        for (size_t i = 0; i < cues->count; i++) {
            if (is_candidate(cues, i, bench, &moments[m])) {
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
        const size_t step = rank_of(cues, place, bench, moment) / CB_COACH_LINES;
        text = step < moment->step   ? "said already on this stage"
               : step > moment->step ? "comes with a later coat of this stage"
                                     : NULL;
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
        if (moments[m].moment == cue->moment) {
            why = obstacle(cues, place, bench, &moments[m], arena);
            if (!why) {
                return "two of more use stand before it";
            }
        }
    }
    return why[0] ? why : cb_arena_printf(arena, "not at this moment: %s",
                                          cb_cue_moment_name(cue->moment));
}
