/* SPDX-License-Identifier: MIT */
#include "core/finding/finding_kind.h"

#include <math.h>
#include <string.h>

#include "base/digest.h"

#define X(name) &cb_finding_##name,
static const struct cb_finding_kind *const kinds[] = {CB_FINDING_KINDS(X)};
#undef X
#define KINDS            (sizeof kinds / sizeof *kinds)
#define TENTHS_BELOW_MIN 9.95

const char *cb_finding_span(double minutes, struct cb_arena *arena)
{
    char text[32];
    if (minutes < TENTHS_BELOW_MIN) {
        return cb_arena_printf(arena, "%.1f min", minutes);
    }
    cb_time_span(llround(minutes) * CB_MS_PER_MIN, text);
    return cb_arena_text(arena, text);
}

/* How sure a kind is, against its share. */
static double odds(const struct cb_finding *asked, size_t i)
{
    return asked[i].chance / kinds[i]->share;
}

/* Holm: the surest is held against alpha by its share of all, the next by its share of those that
 * are left, until one fails; so fails whoever is less sure. */
static bool is_chance(const struct cb_finding *asked, size_t one)
{
    for (size_t i = 0; i < KINDS; i++) {
        double left = 0;
        for (size_t k = 0; k < KINDS; k++) {
            const bool surer =
                odds(asked, k) < odds(asked, i) || (k < i && !(odds(asked, k) > odds(asked, i)));
            left += surer ? 0 : kinds[k]->share;
        }
        if (odds(asked, i) <= odds(asked, one) &&
            asked[i].chance > CB_FINDING_ALPHA * kinds[i]->share / left) {
            return true;
        }
    }
    return false;
}

static void insert(struct cb_findings *found, const struct cb_finding *finding)
{
    size_t at = found->count;
    while (at > 0 && found->items[at - 1].minutes < finding->minutes) {
        at--;
    }
    if (at == CB_FINDINGS) {
        return;
    }
    found->count += found->count < CB_FINDINGS ? 1 : 0;
    memmove(&found->items[at + 1], &found->items[at],
            (found->count - 1 - at) * sizeof *found->items);
    found->items[at] = *finding;
}

struct cb_findings cb_findings_of(const struct cb_finding_log *log, struct cb_arena *arena)
{
    struct cb_finding asked[KINDS];
    struct cb_finding_log last = *log;
    size_t coats = 0, units = 0;
    while (units < log->count && (units == 0 || coats < CB_FINDING_COATS)) {
        coats += log->trails[log->count - 1 - units++].coat_count;
    }
    last.trails = log->trails + (log->count - units);
    last.count = units;
    struct cb_findings found = {.units = units};
    for (size_t i = 0; i < KINDS; i++) {
        const uint64_t seed =
            cb_digest_bytes(CB_DIGEST_BEGIN, kinds[i]->word, strlen(kinds[i]->word));
        asked[i] = (struct cb_finding){.chance = 1};
        if (!kinds[i]->look(&last, arena, seed, &asked[i])) {
            asked[i] = (struct cb_finding){.chance = 1};
        }
        asked[i].kind = kinds[i]->word;
    }
    for (size_t i = 0; i < KINDS; i++) {
        if (asked[i].minutes >= CB_FINDING_MIN && !is_chance(asked, i)) {
            insert(&found, &asked[i]);
        }
    }
    return found;
}

const char *cb_finding_size(const struct cb_finding *finding, struct cb_arena *arena)
{
    const double logs = 1 / finding->chance;
    const double step = logs < 100 ? 1 : logs < 1000 ? 10 : 100; /* as roundly as it is known */
    return cb_arena_printf(arena, "%s a unit; by chance in 1 log of %.0f",
                           cb_finding_span(finding->minutes, arena), floor(logs / step) * step);
}
