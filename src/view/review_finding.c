/* SPDX-License-Identifier: MIT */
/* What a review comes to, in a sentence, and numbers as roundly as they are known. */
#include <math.h>
#include <stdio.h>

#include "view/review_page.h"

/* Own judgement. */
#define NEARLY_ALL    .8
#define MOST          .5
#define HOURS_FROM    150 /* minutes: from here on whole hours */
#define TENS_FROM     60
#define FIVES_FROM    20
#define WAITED_STAGES (CB_RECIPE_MAX + 1)

bool cb_review_is_nothing(int64_t ms)
{
    return ms < CB_MS_PER_MIN / 2;
}

void cb_review_rounded(const int64_t spent_ms[CB_SPENT_COUNT], int64_t shown_ms[CB_SPENT_COUNT])
{
    int64_t left_ms = CB_MS_PER_MIN / 2;
    for (enum cb_spent spent = 0; spent < CB_SPENT_COUNT; spent++) {
        shown_ms[spent] = spent_ms[spent] / CB_MS_PER_MIN * CB_MS_PER_MIN;
        left_ms += spent_ms[spent] - shown_ms[spent];
    }
    for (; left_ms >= CB_MS_PER_MIN; left_ms -= CB_MS_PER_MIN) {
        enum cb_spent most = 0;
        for (enum cb_spent spent = 0; spent < CB_SPENT_COUNT; spent++) {
            most =
                spent_ms[spent] - shown_ms[spent] > spent_ms[most] - shown_ms[most] ? spent : most;
        }
        shown_ms[most] += CB_MS_PER_MIN;
    }
}

/* Waiting, by the stage that had been painted last before it; 0: none yet. */
static int waited_after(const struct cb_review *review, int64_t *ms)
{
    int64_t waited_ms[WAITED_STAGES] = {0};
    int last = 0, most = 0;
    for (size_t i = 0; i < review->span_count; i++) {
        const struct cb_span *span = &review->spans[i];
        if (span->spent == CB_SPENT_WAITING) {
            waited_ms[last] += span->to_ms - span->from_ms;
        } else if (span->spent == CB_SPENT_HANDS_ON && span->stage > 0) {
            last = span->stage;
        }
    }
    for (int stage = 1; stage < WAITED_STAGES; stage++) {
        most = waited_ms[stage] > waited_ms[most] ? stage : most;
    }
    *ms = waited_ms[most];
    return most;
}

void cb_review_finding(const struct cb_review *review, struct cb_str *out)
{
    const int64_t waiting_ms = review->spent_ms[CB_SPENT_WAITING];
    int64_t shown_ms[CB_SPENT_COUNT];
    char all[CB_HM_SIZE], painting[CB_HM_SIZE], waiting[CB_HM_SIZE];
    if (review->session_ms <= 0) {
        cb_str_add(out, "no time at the bench yet");
        return;
    }
    cb_review_span(review->session_ms, all);
    cb_review_rounded(review->spent_ms, shown_ms);
    cb_review_span(shown_ms[CB_SPENT_HANDS_ON], painting);
    cb_review_span(shown_ms[CB_SPENT_WAITING], waiting);
    cb_str_addf(out, "%s%s, of it %s painting; ", review->finished ? "" : "so far ", all, painting);
    if (shown_ms[CB_SPENT_WAITING] == 0) {
        cb_str_add(out, "no waiting");
        return;
    }
    int64_t after_ms;
    const int stage = waited_after(review, &after_ms);
    cb_str_addf(out, "%s waiting", waiting);
    if ((double)after_ms < MOST * (double)waiting_ms) {
        return;
    }
    cb_str_add(out, (double)after_ms < NEARLY_ALL * (double)waiting_ms ? ", most of it "
                                                                       : ", nearly all ");
    if (stage > 0) {
        cb_str_addf(out, "after %s", review->recipe->stages[stage - 1].name);
    } else {
        cb_str_add(out, "before the first coat");
    }
}

void cb_review_pings(const struct cb_review *review, struct cb_str *out)
{
    const struct {
        size_t count;
        const char *before, *after;
    } parts[] = {
        {review->ping_answered, ", ", " answered"},
        {review->ping_dry, ": ", " dry"},
        {review->ping_wet, review->ping_dry > 0 ? ", " : ": ", " still wet"},
        {review->ping_late, "; ", " shown late"},
    };
    cb_str_addf(out, "%zu ping%s", review->ping_count, review->ping_count == 1 ? "" : "s");
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        if (parts[i].count > 0) {
            cb_str_addf(out, "%s%zu%s", parts[i].before, parts[i].count, parts[i].after);
        }
    }
}

void cb_review_about(const struct cb_hours_sum *sum, char out[CB_REVIEW_ABOUT_SIZE])
{
    const double step = sum->median_min >= HOURS_FROM   ? 60
                        : sum->median_min >= TENS_FROM  ? 10
                        : sum->median_min >= FIVES_FROM ? 5
                                                        : 1;
    const double unit = step > 10 ? 60 : 1;
    snprintf(out, CB_REVIEW_ABOUT_SIZE, "about %.0f %s, likely %.0f to %.0f",
             round(sum->median_min / step) * step / unit, unit > 1 ? "h" : "min",
             fmax(1, round(sum->low_min / step)) * step / unit,
             round(sum->high_min / step) * step / unit);
}

int64_t cb_review_longest_ms(const struct cb_review *review)
{
    int64_t most_ms = 1;
    for (size_t i = 0; i < review->session_count; i++) {
        const int64_t ms = review->sessions[i].to_ms - review->sessions[i].from_ms;
        most_ms = ms > most_ms ? ms : most_ms;
    }
    return most_ms;
}
