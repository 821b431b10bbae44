/* SPDX-License-Identifier: MIT */
#include "view/pot_sentence.h"

#include <math.h>
#include <stdio.h>

#include "core/bench/pot_share.h"

#define MINUTES_FROM 2 /* below it seconds */
#define DAY_MS       (24 * 60 * CB_MS_PER_MIN)

/* How many midnights lie between. */
static int64_t days_between(int64_t at_ms, int64_t now_ms, const struct cb_zone *zone)
{
    const struct cb_civil at = cb_time_civil(at_ms, zone), now = cb_time_civil(now_ms, zone);
    const int64_t at_day_ms = (at.hour * 60 + at.minute) * CB_MS_PER_MIN;
    const int64_t now_day_ms = (now.hour * 60 + now.minute) * CB_MS_PER_MIN;
    return llround((double)((now_ms - now_day_ms) - (at_ms - at_day_ms)) / (double)DAY_MS);
}

void cb_pot_day(int64_t at_ms, int64_t now_ms, const struct cb_zone *zone,
                char out[CB_POT_DAY_SIZE])
{
    const int64_t days = days_between(at_ms, now_ms, zone);
    char date[11];
    if (days == 0 || days == 1) {
        snprintf(out, CB_POT_DAY_SIZE, "%s", days == 0 ? "today" : "yesterday");
    } else if (days > 1 && days < 7) {
        snprintf(out, CB_POT_DAY_SIZE, "on %s",
                 cb_time_weekday(cb_time_civil(at_ms, zone).weekday));
    } else {
        cb_time_date(at_ms, zone, date);
        snprintf(out, CB_POT_DAY_SIZE, "on %s", date);
    }
}

static const char *time_text(double minutes, struct cb_arena *arena)
{
    return minutes < MINUTES_FROM ? cb_arena_printf(arena, "%.0f s", 60 * minutes)
                                  : cb_arena_printf(arena, "%.0f min", minutes);
}

/* "7 min as a rule, by 10 it rings": the unit once, where it is the same. */
static const char *times_text(const struct cb_pot_line *line, struct cb_arena *arena)
{
    const bool same = line->median_min >= MINUTES_FROM;
    const char *ring =
        same ? cb_arena_printf(arena, "%.0f", line->ping_min) : time_text(line->ping_min, arena);
    return cb_arena_printf(arena, "dry within %s as a rule, by %s it rings",
                           time_text(line->median_min, arena), ring);
}

const char *cb_pot_given_text(const struct cb_row *rows, size_t row_count, const char *pot,
                              struct cb_arena *arena)
{
    static const char *const words[] = {"none", "one", "two", "three"};
    _Static_assert(sizeof words / sizeof *words == CB_GIVEN_COATS + 1, "a word for every count");
    size_t count;
    const struct cb_row *const *given = cb_pots_given(rows, row_count, pot, arena, &count);
    double coats = 0;
    for (size_t i = 0; i < count; i++) {
        coats += given[i]->value;
    }
    const char *as = words[coats < CB_GIVEN_COATS ? (int)coats : CB_GIVEN_COATS];
    return count == 0  ? NULL
           : count > 1 ? cb_arena_printf(arena, "other painters' %.0f coats count as %s", coats, as)
                       : cb_arena_printf(arena, "another painter's %.0f coat%s as %s", coats,
                                         coats > 1 ? "s count" : " counts", as);
}

const char *cb_pot_sentence(const struct cb_pot_line *line, const struct cb_pot_seen *seen,
                            int64_t now_ms, const struct cb_zone *zone, struct cb_arena *arena)
{
    const char *name = line->paint;
    if (seen->technique) {
        name = cb_arena_printf(arena, "%s, %s", name, cb_technique_name(line->technique));
    }
    if (line->exact) {
        return cb_arena_printf(arena, "%s: the recipe's wait, %s, exact in any air", name,
                               time_text(line->median_min, arena));
    }
    const char *times = times_text(line, arena);
    const char *label = "";
    if (!isnan(line->floor_min) && line->floor_min >= line->ping_min) {
        label = ", as the pot says";
    }
    if (seen->count == 0 && seen->given) {
        return cb_arena_printf(arena, "%s: %s%s; no coat of yours yet, %s", name, times, label,
                               seen->given);
    }
    if (seen->count == 0) {
        return cb_arena_printf(arena, "%s: %s%s; no coat of it was seen yet", name, times, label);
    }
    char day[CB_POT_DAY_SIZE];
    cb_pot_day(seen->last_ms, now_ms, zone, day);
    const char *from = seen->count == 1
                           ? cb_arena_printf(arena, "from 1 coat, %s", day)
                           : cb_arena_printf(arena, "from %zu coats%s, last %s", seen->count,
                                             seen->technique ? " of the paint" : "", day);
    const char *off = seen->off == 0 ? ""
                      : seen->off == 1
                          ? "; 1 answer does not fit"
                          : cb_arena_printf(arena, "; %zu answers do not fit", seen->off);
    return cb_arena_printf(arena, "%s: %s%s; %s%s%s%s", name, times, label, from, off,
                           seen->given ? "; " : "", seen->given ? seen->given : "");
}
