/* SPDX-License-Identifier: MIT */
#include "command/review_files.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/time.h"
#include "command/recipe_args.h"
#include "shell/csv.h"

#define X(id, word) [CB_SPENT_##id] = (word),
static const char *const spent_keys[CB_SPENT_COUNT] = {CB_SPENTS(X)};
#undef X

static double minutes(int64_t ms)
{
    return (double)ms / 60000.0;
}

static void json_spent(struct cb_json *json, const int64_t spent_ms[CB_SPENT_COUNT])
{
    for (enum cb_spent spent = 0; spent < CB_SPENT_COUNT; spent++) {
        cb_json_number(json, spent_keys[spent], minutes(spent_ms[spent]));
    }
}

static int64_t sum_ms(const int64_t spent_ms[CB_SPENT_COUNT])
{
    int64_t sum = 0;
    for (enum cb_spent spent = 0; spent < CB_SPENT_COUNT; spent++) {
        sum += spent_ms[spent];
    }
    return sum;
}

static void json_hours(struct cb_json *json, const char *key, const struct cb_hours_sum *sum)
{
    cb_json_object(json, key);
    cb_json_number(json, "median_min", sum->median_min);
    cb_json_number(json, "low_min", sum->low_min);
    cb_json_number(json, "high_min", sum->high_min);
    cb_json_number(json, "mean_min", sum->mean_min);
    cb_json_end(json);
}

static void json_moment(struct cb_json *json, const char *key, const struct cb_review_page *page,
                        int64_t bench_ms)
{
    cb_json_time(json, key, cb_review_wall(page, bench_ms));
}

/* The unit before, as it was (not scaled), and the hands-on of a figure through the last units of
 * the recipe. */
static void json_before(struct cb_json *json, const struct cb_review_page *page)
{
    const struct cb_review_sum *before =
        cb_review_before(page->review, page->sums, page->sum_count);
    int64_t trend_ms[CB_REVIEW_TREND];
    const size_t count = cb_review_trend(page->review, page->sums, page->sum_count, trend_ms);
    if (before != NULL) {
        cb_json_object(json, "before");
        cb_json_text(json, "unit", before->unit);
        cb_json_text(json, "name", before->name);
        cb_json_integer(json, "figures", before->figures);
        json_spent(json, before->spent_ms);
        cb_json_list(json, "stages");
        for (size_t i = 0; i < before->stage_count; i++) {
            cb_json_object(json, NULL);
            cb_json_text(json, "name", before->stages[i].name);
            cb_json_number(json, "took_min", minutes(before->stages[i].took_ms));
            cb_json_end(json);
        }
        cb_json_end(json);
        cb_json_end(json);
    }
    cb_json_list(json, "figure_trend_min");
    for (size_t i = 0; i < count; i++) {
        cb_json_number(json, NULL, minutes(trend_ms[i]));
    }
    cb_json_end(json);
}

static void json_stages(struct cb_json *json, const struct cb_suggestion *suggestion,
                        const struct cb_recipe *recipe)
{
    cb_json_list(json, "in_turn");
    for (size_t i = 0; i < CB_SUGGEST_PAIRS && suggestion->stages[i][0] > 0; i++) {
        cb_json_list(json, NULL);
        cb_json_text(json, NULL, recipe->stages[suggestion->stages[i][0] - 1].name);
        cb_json_text(json, NULL, recipe->stages[suggestion->stages[i][1] - 1].name);
        cb_json_end(json);
    }
    cb_json_end(json);
}

static void json_suggestion(struct cb_json *json, const struct cb_suggestion *suggestion,
                            const struct cb_recipe *recipe)
{
    struct cb_str text = {0};
    cb_suggest_say(suggestion, recipe, &text);
    cb_json_object(json, NULL);
    cb_json_text(json, "text", cb_str_text(&text));
    cb_json_number(json, "saves_min", suggestion->saves_min);
    cb_json_text(json, "choice", suggestion->choice);
    cb_json_number(json, "waiting_min", suggestion->waiting_min);
    cb_json_integer(json, "paint_changes", suggestion->paint_changes);
    if (suggestion->figures > 0) {
        cb_json_integer(json, "figures", suggestion->figures);
        cb_json_integer(json, "instead_of", suggestion->instead_of);
    }
    if (suggestion->stages[0][0] > 0) {
        json_stages(json, suggestion, recipe);
    }
    if (suggestion->stage > 0) {
        cb_json_text(json, "stage", recipe->stages[suggestion->stage - 1].name);
        cb_json_number(json, "ring_min", suggestion->ring_min);
        cb_json_number(json, "fan_ring_min", suggestion->fan_ring_min);
    }
    cb_json_end(json);
    cb_str_fini(&text);
}

void cb_review_json(struct cb_json *json, const struct cb_review_page *page)
{
    const struct cb_review *review = page->review;
    const struct cb_recipe *recipe = review->recipe;
    cb_json_text(json, "unit", review->unit);
    cb_json_text(json, "name", review->name);
    cb_json_integer(json, "figures", review->figures);
    cb_json_bool(json, "finished", review->finished);
    cb_json_number(json, "session_min", minutes(review->session_ms));
    json_spent(json, review->spent_ms);
    cb_json_list(json, "stages");
    for (size_t i = 0; i < review->stage_count; i++) {
        const struct cb_review_stage *stage = &review->stages[i];
        cb_json_object(json, NULL);
        cb_json_integer(json, "stage", stage->stage);
        cb_json_text(json, "name", recipe->stages[stage->stage - 1].name);
        cb_json_text(json, "technique",
                     cb_technique_name(recipe->stages[stage->stage - 1].technique));
        cb_json_integer(json, "coats", stage->coats);
        cb_json_number(json, "planned_min", stage->planned_min);
        json_spent(json, stage->spent_ms);
        cb_json_end(json);
    }
    cb_json_end(json);
    cb_json_list(json, "figures_min");
    for (int figure = 1; figure <= review->figures; figure++) {
        cb_json_number(json, NULL, minutes(review->figure_ms[figure]));
    }
    cb_json_end(json);
    cb_recipe_args_json_names(json, recipe, review->figures);
    cb_json_list(json, "sessions");
    for (size_t i = 0; i < review->session_count; i++) {
        const struct cb_review_session *session = &review->sessions[i];
        cb_json_object(json, NULL);
        json_moment(json, "from", page, session->from_ms);
        json_moment(json, "to", page, session->to_ms);
        const bool open = cb_review_goes_on(page, i);
        cb_json_bool(json, "cut_off", session->cut_off && !open);
        cb_json_bool(json, "open", open);
        cb_json_number(json, "session_min", minutes(sum_ms(session->spent_ms)));
        json_spent(json, session->spent_ms);
        cb_json_end(json);
    }
    cb_json_end(json);
    cb_json_list(json, "questions");
    for (size_t i = 0; i < review->question_count; i++) {
        cb_json_object(json, NULL);
        json_moment(json, "from", page, review->questions[i].from_ms);
        json_moment(json, "to", page, review->questions[i].to_ms);
        cb_json_end(json);
    }
    cb_json_end(json);
    cb_json_object(json, "pings");
    cb_json_integer(json, "pings", (long long)review->ping_count);
    cb_json_integer(json, "answered", (long long)review->ping_answered);
    cb_json_integer(json, "dry", (long long)review->ping_dry);
    cb_json_integer(json, "wet", (long long)review->ping_wet);
    cb_json_integer(json, "late", (long long)review->ping_late);
    cb_json_end(json);
    cb_json_object(json, "drying");
    cb_json_number(json, "films_min", minutes(review->film_drying_ms));
    cb_json_list(json, "sessions_min");
    for (size_t i = 0; i < review->session_count; i++) {
        cb_json_number(json, NULL, minutes(review->sessions[i].drying_ms));
    }
    cb_json_end(json);
    cb_json_end(json);
    json_before(json, page);
    json_hours(json, "to_go", &page->to_go);
    json_hours(json, "next", &page->next);
    cb_json_integer(json, "next_figures", page->next_figures);
    cb_json_integer(json, "next_evenings", page->next_evenings);
    cb_json_list(json, "suggestions");
    for (size_t i = 0; i < page->suggestions->count; i++) {
        json_suggestion(json, &page->suggestions->items[i], recipe);
    }
    cb_json_end(json);
    cb_json_number(json, "suggestions_together_min", page->suggestions->together_min);
}

static void csv_row(struct cb_str *out, const struct cb_review_page *page, const char *scope,
                    const char *name, double planned_min, const int64_t spent_ms[CB_SPENT_COUNT])
{
    cb_csv_cell(out, page->review->name);
    cb_str_addf(out, ",%s,", scope);
    cb_csv_cell(out, name);
    if (isnan(planned_min)) {
        cb_str_add(out, ",");
    } else {
        cb_str_addf(out, ",%.3f", planned_min);
    }
    cb_str_addf(out, ",%.6f", minutes(sum_ms(spent_ms)));
    for (enum cb_spent spent = 0; spent < CB_SPENT_COUNT; spent++) {
        cb_str_addf(out, ",%.6f", minutes(spent_ms[spent]));
    }
    cb_str_add(out, "\r\n");
}

void cb_review_csv(struct cb_str *out, const struct cb_review_page *page, bool head)
{
    const struct cb_review *review = page->review;
    if (head) {
        cb_str_add(out, "unit,scope,name,planned_min,session_min");
        for (enum cb_spent spent = 0; spent < CB_SPENT_COUNT; spent++) {
            cb_str_addf(out, ",%s", spent_keys[spent]);
        }
        cb_str_add(out, "\r\n");
    }
    csv_row(out, page, "unit", review->name, (double)NAN, review->spent_ms);
    int64_t elsewhere[CB_SPENT_COUNT];
    memcpy(elsewhere, review->spent_ms, sizeof elsewhere);
    for (size_t i = 0; i < review->stage_count; i++) {
        const struct cb_review_stage *stage = &review->stages[i];
        csv_row(out, page, "stage", review->recipe->stages[stage->stage - 1].name,
                stage->planned_min, stage->spent_ms);
        for (enum cb_spent spent = 0; spent < CB_SPENT_COUNT; spent++) {
            elsewhere[spent] -= stage->spent_ms[spent];
        }
    }
    csv_row(out, page, "stage", "no stage", (double)NAN, elsewhere);
    for (size_t i = 0; i < review->session_count; i++) {
        char from[CB_RFC3339_SIZE];
        cb_time_format(cb_review_wall(page, review->sessions[i].from_ms), from);
        csv_row(out, page, "session", from, (double)NAN, review->sessions[i].spent_ms);
    }
    for (int figure = 1; figure <= review->figures; figure++) {
        char name[16];
        snprintf(name, sizeof name, "%d", figure);
        int64_t spent_ms[CB_SPENT_COUNT] = {0};
        spent_ms[CB_SPENT_HANDS_ON] = review->figure_ms[figure];
        csv_row(out, page, "figure", name, (double)NAN, spent_ms);
    }
}
