/* SPDX-License-Identifier: MIT */
#include "base/time.h"
#include "core/bench/slots.h"

/* Announced, and nobody has found it wet since. */
static bool was_told(const struct cb_film *film)
{
    return film->pinged_ms != CB_TIME_NONE && film->wet_like_ms < film->pinged_ms &&
           !(film->check == CB_CHECK_WET && film->wet_ms >= film->pinged_ms);
}

/* The same film in the bench that has the whole log: both hold them in the order they went on. */
static const struct cb_film *later_film(const struct cb_unit *later, const struct cb_film *film,
                                        size_t at)
{
    const struct cb_film *same = later && at < later->film_count ? &later->films[at] : NULL;
    return same && same->figure == film->figure && same->coat == film->coat &&
                   same->on_ms == film->on_ms
               ? same
               : NULL;
}

/* Was an open film dry, as the bench showed it? *due_ms when not. What was going to be announced
 * was wet until then, whatever is known by now. */
static bool was_dry(const struct cb_slots *slots, const struct cb_unit *later, size_t at,
                    int64_t *due_ms)
{
    const struct cb_film *film = &slots->unit->unit.films[at];
    if (was_told(film)) {
        return true;
    }
    const struct cb_film *whole = later_film(later, film, at);
    if (whole && whole->pinged_ms != CB_TIME_NONE && whole->pinged_ms > slots->now_ms) {
        *due_ms = whole->pinged_due_ms;
        return *due_ms <= slots->now_ms;
    }
    return cb_forecast_dry(slots->bench, slots->learn, film, slots->now_ms, due_ms);
}

/* What an open film was, wet or dry. What is due after until_ms is wet for good. */
static void add(struct cb_slots *slots, const struct cb_unit *later, size_t at, int64_t until_ms)
{
    const struct cb_film *film = &slots->unit->unit.films[at];
    int64_t due_ms;
    if (cb_bench_film_open(film) && !was_dry(slots, later, at, &due_ms)) {
        cb_slots_add_wet(slots, film, due_ms > until_ms ? CB_TIME_NONE : due_ms);
    }
}

static void add_all(struct cb_slots *slots, const struct cb_unit *later, int64_t until_ms)
{
    for (size_t at = 0; at < slots->unit->unit.film_count; at++) {
        add(slots, later, at, until_ms);
    }
}

bool cb_next_was_ready(const struct cb_bench *bench, const struct cb_look_back *back,
                       const struct cb_unit *unit, int figure, int stage, int64_t now_ms)
{
    struct cb_slots *slots = cb_slots_past(bench, back->learn, unit, now_ms);
    if (unit->recipe->stages[stage - 1].together != 0) {
        add_all(slots, back->later, now_ms);
    } else {
        for (size_t at = slots->unit->newest[figure]; at > 0;
             at = unit->films[at - 1].more->older) {
            add(slots, back->later, at - 1, now_ms);
        }
    }
    return cb_slots_slot(slots, figure, stage).state == CB_SLOT_READY;
}

int64_t cb_next_ready_by(const struct cb_bench *bench, const struct cb_look_back *back,
                         const struct cb_unit *unit, int64_t now_ms, int64_t until_ms)
{
    struct cb_slot slot, by;
    struct cb_slots *slots = cb_slots_past(bench, back->learn, unit, now_ms);
    add_all(slots, back->later, until_ms);
    const int64_t first = cb_slots_first_ms(slots, &slot, &by);
    return first == INT64_MAX ? CB_TIME_NONE : first < now_ms ? now_ms : first;
}
