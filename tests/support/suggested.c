/* SPDX-License-Identifier: MIT */
#include "support/suggested.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <cmocka.h>

#include "support/world.h"

/* One so steady is replayed as it was, but for what a ring is rounded by. */
#define REPLAY_SHARE .001

const char suggested_chain[] =
    "{coatbell: 1, name: r, change: 1.5, " SUGGESTED_PAINTS ", stages: ["
    "{name: Prime, technique: undercoat, paint: rope, together: yes, minutes: 6, wait: 20},"
    "{name: Oilskin, technique: basecoat, paint: green, coats: 2, minutes: 3, wait: 14},"
    "{name: Rope, technique: basecoat, paint: rope, minutes: 2, wait: 12},"
    "{name: Lantern, technique: layer, paint: brass, minutes: 2.5, wait: 10},"
    "{name: Shade, technique: wash, paint: ebb, minutes: 1, wait: 25},"
    "{name: Varnish, technique: layer, paint: green, together: yes, minutes: 5, wait: 20}]}";

const char suggested_quick[] =
    "{coatbell: 1, name: r, change: 1, " SUGGESTED_PAINTS ", stages: ["
    "{name: Oilskin, technique: basecoat, paint: green, coats: 2, minutes: 3, wait: 13},"
    "{name: Rope, technique: basecoat, paint: rope, minutes: 4, wait: 12},"
    "{name: Lantern, technique: layer, paint: brass, minutes: 3, wait: 11}]}";

const char suggested_dried[] =
    "{coatbell: 1, name: r, change: 1.5, " SUGGESTED_PAINTS ", stages: ["
    "{name: Oilskin, technique: basecoat, paint: green, coats: 2, minutes: 3},"
    "{name: Rope, technique: basecoat, paint: rope, minutes: 2},"
    "{name: Shade, technique: wash, paint: ebb, minutes: 1.5},"
    "{name: Lantern, technique: layer, paint: brass, minutes: 2.5}]}";

const char *suggested_apart(const char *wait, bool beside)
{
    static char text[2048];
    snprintf(text, sizeof text,
             "{coatbell: 1, name: r, change: 1.5, " SUGGESTED_PAINTS
             ", areas: {coat: {%s}, belt: {}}, stages: ["
             "{name: Oilskin, technique: basecoat, paint: green, on: coat, coats: 2, minutes: 3, "
             "wait: %s}, {name: Rope, technique: basecoat, paint: rope, on: belt, coats: 2, "
             "minutes: 3, wait: %s}]}",
             beside ? "beside: [belt]" : "", wait, wait);
    return text;
}

double suggested_min(int64_t ms)
{
    return (double)ms / 60000;
}

const struct cb_suggestion *suggested_find(const struct cb_suggestions *all, const char *choice)
{
    for (size_t i = 0; i < all->count; i++) {
        if (strcmp(all->items[i].choice, choice) == 0) {
            return &all->items[i];
        }
    }
    return NULL;
}

struct cb_suggestion suggested_found(const struct cb_suggestions *all, const char *choice)
{
    const struct cb_suggestion *one = suggested_find(all, choice);
    if (one == NULL) {
        fail_msg("no %s", choice);
        return (struct cb_suggestion){0};
    }
    return *one;
}

void suggested_within(double got, double wanted, double share)
{
    if (!(fabs(got - wanted) <= share * fabs(wanted) + 1e-6)) {
        fail_msg("%.3f, wanted %.3f", got, wanted);
    }
}

struct cb_suggestions suggested_by(const struct cb_review *review)
{
    const struct cb_suggestions all = cb_suggest(review, world_kinds());
    const double spent_min =
        suggested_min(review->spent_ms[CB_SPENT_HANDS_ON] + review->spent_ms[CB_SPENT_CHANGE] +
                      review->spent_ms[CB_SPENT_WAITING]);
    suggested_within(all.spent_min, spent_min, 0);
    suggested_within(all.replayed_min, spent_min, REPLAY_SHARE);
    double sum_min = 0;
    for (size_t i = 0; i < all.count; i++) {
        const struct cb_suggestion *one = &all.items[i];
        assert_true(one->saves_min >= CB_SUGGEST_MIN && one->saves_min < spent_min);
        assert_true(i == 0 || one->saves_min <= all.items[i - 1].saves_min);
        sum_min += one->saves_min;
    }
    if (all.count > 0) {
        assert_true(all.together_min >=
                    all.items[0].saves_min + CB_SUGGEST_MIN * (double)(all.count - 1));
        assert_true(all.together_min <= sum_min + SUGGESTED_SHARE * spent_min);
    }
    return all;
}
