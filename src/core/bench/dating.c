/* SPDX-License-Identifier: MIT */
#include "core/bench/dating.h"

#include "base/time.h"
#include "core/bench/forecast.h"
#include "core/bench/slots.h"

static int64_t later(int64_t a, int64_t b)
{
    return a > b ? a : b; /* CB_TIME_NONE is the least */
}

int64_t cb_dating_could_ms(const struct cb_bench *bench, const struct cb_learn *learn,
                           const struct cb_unit *unit, int figure, int stage, int64_t now_ms)
{
    const struct cb_slots *slots = cb_slots_now(bench, learn, unit, now_ms);
    int64_t could_ms = unit->begun_ms;
    for (size_t i = 0; i < unit->film_count; i++) {
        const struct cb_film *film = &unit->films[i];
        if (film->figure != figure || film->lifted_ms != CB_TIME_NONE ||
            cb_slots_meet(slots, film, stage) < CB_MEET_BESIDE) {
            continue;
        }
        int64_t dry_ms;
        if (!cb_forecast_dry(bench, learn, film, now_ms, &dry_ms)) {
            return now_ms;
        }
        /* Answered or painted over before its ring, that is when it counted as dry. */
        const int64_t said_ms = film->check == CB_CHECK_DRY ? film->dry_ms : film->next_ms;
        if (said_ms != CB_TIME_NONE && (dry_ms == CB_TIME_NONE || said_ms < dry_ms)) {
            dry_ms = said_ms;
        }
        could_ms = later(could_ms, later(dry_ms, film->on_ms));
    }
    return could_ms < now_ms ? could_ms : now_ms;
}

static int64_t free_ms(const struct cb_bench *bench, const struct cb_unit *unit)
{
    const struct cb_bench_facts facts = cb_bench_facts(bench);
    return later(later(unit->begun_ms, facts.last_mark_ms), facts.pause_ended_ms);
}

int64_t cb_dating_since_ms(const struct cb_bench *bench, const struct cb_learn *learn,
                           const struct cb_unit *unit, int figure, int stage, int64_t now_ms)
{
    return later(free_ms(bench, unit),
                 cb_dating_could_ms(bench, learn, unit, figure, stage, now_ms));
}

void cb_dating_count(const struct cb_bench *bench, const struct cb_learn *learn,
                     const struct cb_unit *unit, int stage, const int *figures, size_t count,
                     int64_t work_ms, int64_t last_ms, int64_t now_ms, struct cb_dating *dating)
{
    const struct cb_bench_facts facts = cb_bench_facts(bench);
    int64_t since_ms = free_ms(bench, unit);
    since_ms = facts.session_open ? later(since_ms, facts.session_opened_ms) : since_ms;
    bool squeezed = false;
    for (size_t i = 0; i < count; i++) {
        const int64_t left = (int64_t)(count - i);
        const int64_t could_ms = cb_dating_could_ms(bench, learn, unit, figures[i], stage, now_ms);
        int64_t from_ms = later(since_ms, could_ms);
        from_ms = from_ms < last_ms ? from_ms : last_ms;
        const int64_t wanted_ms = last_ms - (left - 1) * work_ms;
        squeezed = squeezed || wanted_ms < from_ms;
        dating[i].on_ms = squeezed ? last_ms - (last_ms - from_ms) * (left - 1) / left : wanted_ms;
        dating[i].pm_s = 0;
        if (i > 0) {
            dating[i - 1].pm_s = (double)(dating[i].on_ms - dating[i - 1].on_ms) / 2000.0;
        }
        since_ms = squeezed ? dating[i].on_ms : since_ms;
    }
}
