/* SPDX-License-Identifier: MIT */
#include <math.h>
#include <stdio.h>

#include "base/arena.h"
#include "base/utf8.h"
#include "command/findings.h"
#include "command/markup.h"
#include "command/review_files.h"

/* Colours after Okabe & Ito's palette for colour-blind readers (Color Universal Design, 2008,
 * from memory); each piece also has a title and stands in the table beside the picture. */
static const char *const spent_class[CB_SPENT_COUNT] = {
    [CB_SPENT_HANDS_ON] = "hands", [CB_SPENT_CHANGE] = "change", [CB_SPENT_WAITING] = "waiting",
    [CB_SPENT_CHORE] = "chore",    [CB_SPENT_TIDY] = "tidy",     [CB_SPENT_PAUSE] = "pause",
    [CB_SPENT_AWAY] = "away",
};

static const char style[] =
    ":root{--bg:#fff;--fg:#1b1b1b;--soft:#5a5a5a;--line:#c9c9c9;--hands:#0072b2;--change:#e69f00;"
    "--waiting:#b9c4cc;--chore:#009e73;--tidy:#d55e00;--pause:#cc79a7;--away:#e4e4e4;"
    "--drying:#f0e442}"
    "@media(prefers-color-scheme:dark){:root{--bg:#161819;--fg:#ececec;--soft:#b0b0b0;"
    "--line:#4a4a4a;--hands:#56b4e9;--change:#e69f00;--waiting:#5b6870;--chore:#2fbf95;"
    "--tidy:#f0803c;--pause:#d99abf;--away:#3a3a3a;--drying:#f0e442}}"
    "@media print{:root{--bg:#fff;--fg:#000;--soft:#333;--line:#999}"
    ".wide{overflow:visible}.wide svg{min-width:0}svg,tr{break-inside:avoid}"
    "h2,h3{break-after:avoid}rect{print-color-adjust:exact}}"
    "body{background:var(--bg);color:var(--fg);font:1rem/1.5 system-ui,sans-serif;margin:0 auto;"
    "padding:1rem;max-width:60rem;overflow-wrap:anywhere}"
    "h1{font-size:1.6rem;line-height:1.2}h2{font-size:1.2rem;margin-top:2rem}"
    "h3{font-size:1rem;margin:1rem 0 .3rem}"
    ".wide{overflow-x:auto}"
    "table{border-collapse:collapse;width:100%;font-variant-numeric:tabular-nums}"
    "th,td{padding:.2rem .4rem;border-bottom:1px solid var(--line);text-align:right;"
    "overflow-wrap:normal}"
    "th:first-child,td:first-child{text-align:left;min-width:7rem}"
    ".wide svg{min-width:38rem}"
    "svg{display:block;width:100%;height:auto;margin:.4rem 0}"
    ".hands{fill:var(--hands)}.change{fill:var(--change)}.waiting{fill:var(--waiting)}"
    ".chore{fill:var(--chore)}.tidy{fill:var(--tidy)}.pause{fill:var(--pause)}"
    ".away{fill:var(--away)}.drying{fill:var(--drying)}.plan{stroke:var(--fg);stroke-width:2}"
    ".finding{font-size:1.2rem;font-weight:600}"
    "text{fill:var(--fg);font:14px system-ui,sans-serif}.soft{color:var(--soft)}";

/* Whole minutes: nobody paints by the tenth of one. */
static void cell_ms(struct cb_str *out, int64_t ms)
{
    cb_str_addf(out, "<td>%.0f</td>", (double)ms / 60000.0);
}

/* Which parts a table has: those that come to anything in one of its rows. */
struct parts {
    bool shown[CB_SPENT_COUNT];
};

static void show_parts(struct parts *parts, const int64_t spent_ms[CB_SPENT_COUNT])
{
    int64_t shown_ms[CB_SPENT_COUNT];
    cb_review_rounded(spent_ms, shown_ms);
    for (enum cb_spent spent = 0; spent < CB_SPENT_COUNT; spent++) {
        parts->shown[spent] |= shown_ms[spent] > 0;
    }
}

/* more: columns before the parts, or "". */
static void table_head(struct cb_str *out, const char *first, const char *more,
                       const struct parts *parts)
{
    cb_str_addf(out, "<div class=\"wide\"><table><thead><tr><th scope=\"col\">%s</th>%s", first,
                more);
    for (enum cb_spent spent = 0; spent < CB_SPENT_COUNT; spent++) {
        if (parts->shown[spent]) {
            cb_str_addf(out, "<th scope=\"col\">%s</th>", cb_spent_word(spent));
        }
    }
    cb_str_add(out, "</tr></thead><tbody>");
}

static void row_name(struct cb_str *out, const char *name)
{
    cb_str_add(out, "<tr><th scope=\"row\">");
    cb_markup_text(out, name);
    cb_str_add(out, "</th>");
}

static void row_parts(struct cb_str *out, const int64_t spent_ms[CB_SPENT_COUNT],
                      const struct parts *parts)
{
    int64_t shown_ms[CB_SPENT_COUNT];
    cb_review_rounded(spent_ms, shown_ms);
    for (enum cb_spent spent = 0; spent < CB_SPENT_COUNT; spent++) {
        if (parts->shown[spent]) {
            cell_ms(out, shown_ms[spent]);
        }
    }
    cb_str_add(out, "</tr>");
}

static void table_row(struct cb_str *out, const char *name, const int64_t spent_ms[CB_SPENT_COUNT],
                      const struct parts *parts)
{
    row_name(out, name);
    row_parts(out, spent_ms, parts);
}

/* "8 min", and of less than half of one that it is. */
static void short_span(int64_t ms, char out[CB_HM_SIZE])
{
    if (cb_review_is_nothing(ms)) {
        snprintf(out, CB_HM_SIZE, "under a minute");
    } else {
        cb_review_span(ms, out);
    }
}

/* longest_ms: what the width of the picture is. */
static void evening(struct cb_str *out, const struct cb_review_page *page, size_t number,
                    double longest_ms)
{
    const struct cb_review *review = page->review;
    const struct cb_review_session *session = &review->sessions[number];
    char date[11];
    char from[CB_CLOCK_SIZE];
    char to[CB_CLOCK_SIZE];
    const int64_t from_ms = cb_review_wall(page, session->from_ms);
    cb_time_date(from_ms, page->zone, date);
    cb_time_clock(from_ms, page->zone, from);
    cb_time_clock(cb_review_wall(page, session->to_ms), page->zone, to);
    cb_str_addf(out, "<h3>%s, %s to %s%s</h3>", date, from, to,
                cb_review_goes_on(page, number) ? " so far"
                : session->cut_off              ? " (cut off: closed at its last event)"
                                                : "");
    cb_str_addf(out,
                "<svg viewBox=\"0 0 1000 50\" role=\"img\" aria-label=\"Time line of %s; the table "
                "below gives its minutes\">",
                date);
    for (size_t i = 0; i < review->span_count; i++) {
        const struct cb_span *piece = &review->spans[i];
        if (piece->session != (int)number) {
            continue;
        }
        const double x = (double)(piece->from_ms - session->from_ms) / longest_ms * 1000.0;
        const double width = (double)(piece->to_ms - piece->from_ms) / longest_ms * 1000.0;
        char clock[CB_CLOCK_SIZE], took[CB_HM_SIZE];
        cb_time_clock(cb_review_wall(page, piece->from_ms), page->zone, clock);
        short_span(piece->to_ms - piece->from_ms, took);
        cb_str_addf(out,
                    "<rect class=\"%s\" x=\"%.2f\" y=\"4\" width=\"%.2f\" height=\"32\"><title>%s "
                    "%s, %s",
                    spent_class[piece->spent], x, width, clock, cb_spent_word(piece->spent), took);
        if (piece->stage >= 1) {
            cb_str_add(out, ": ");
            cb_markup_text(out, review->recipe->stages[piece->stage - 1].name);
        }
        if (piece->figure >= 1) {
            cb_str_addf(out, ", figure %d", piece->figure);
        }
        cb_str_add(out, "</title></rect>");
    }
    for (size_t i = 0; i < review->drying_count; i++) {
        const struct cb_review_drying part =
            cb_review_drying_in(review, i, session->from_ms, session->to_ms);
        if (part.to_ms > part.from_ms) {
            char took[CB_HM_SIZE];
            short_span(part.to_ms - part.from_ms, took);
            cb_str_addf(out,
                        "<rect class=\"drying\" x=\"%.2f\" y=\"42\" width=\"%.2f\" height=\"6\">"
                        "<title>drying, %s</title></rect>",
                        (double)(part.from_ms - session->from_ms) / longest_ms * 1000.0,
                        (double)(part.to_ms - part.from_ms) / longest_ms * 1000.0, took);
        }
    }
    cb_str_addf(out, "</svg><p class=\"soft\">A film was drying in %.0f of these minutes.</p>",
                (double)session->drying_ms / 60000.0);
}

static void stage_bars(struct cb_str *out, const struct cb_review *review, const size_t *order,
                       size_t count)
{
    double most = 1e-9;
    for (size_t i = 0; i < count; i++) {
        const struct cb_review_stage *stage = &review->stages[order[i]];
        const double took = (double)stage->spent_ms[CB_SPENT_HANDS_ON] / 60000.0;
        most = took > most ? took : most;
        most = stage->planned_min > most ? stage->planned_min : most;
    }
    cb_str_addf(out,
                "<div class=\"wide\"><svg viewBox=\"0 0 1000 %zu\" role=\"img\" "
                "aria-label=\"Hands-on minutes of each "
                "stage, a stroke where the recipe planned it; the table below gives them\">",
                count * 30 + 4);
    for (size_t i = 0; i < count; i++) {
        const struct cb_review_stage *stage = &review->stages[order[i]];
        const int64_t took_ms = stage->spent_ms[CB_SPENT_HANDS_ON];
        const size_t y = i * 30;
        char took[CB_HM_SIZE];
        short_span(took_ms, took);
        cb_str_addf(out, "<text x=\"0\" y=\"%zu\">", y + 19);
        struct cb_arena arena = {0};
        cb_markup_text(out,
                       cb_utf8_clean(&arena, review->recipe->stages[stage->stage - 1].name, 30));
        cb_arena_fini(&arena);
        cb_str_addf(out,
                    "</text><rect class=\"hands\" x=\"280\" y=\"%zu\" width=\"%.2f\" height=\"18\">"
                    "<title>%s</title></rect>",
                    y + 5, (double)took_ms / 60000.0 / most * 700.0, took);
        if (!isnan(stage->planned_min)) {
            const double x = 280.0 + stage->planned_min / most * 700.0;
            cb_str_addf(out, "<line class=\"plan\" x1=\"%.2f\" x2=\"%.2f\" y1=\"%zu\" y2=\"%zu\"/>",
                        x, x, y + 2, y + 26);
        }
    }
    cb_str_add(out, "</svg></div>");
}

/* What each stage took beside the plan and the unit before. */
static void stage_table(struct cb_str *out, const struct cb_review_page *page)
{
    const struct cb_review *review = page->review;
    const struct cb_review_sum *before = cb_review_before(review, page->sums, page->sum_count);
    struct parts parts = {0};
    size_t order[CB_RECIPE_MAX];
    const size_t count = cb_review_stage_order(review, CB_REVIEW_BY_RECIPE, order);
    bool beside = false;
    for (size_t i = 0; i < count; i++) {
        const struct cb_review_stage *stage = &review->stages[order[i]];
        const char *name = review->recipe->stages[stage->stage - 1].name;
        show_parts(&parts, stage->spent_ms);
        beside |= before != NULL && cb_review_stage_before(review, before, name) >= 0;
    }
    if (count == 0) {
        return;
    }
    cb_str_add(out, "<h3>Stages</h3>");
    stage_bars(out, review, order, count);
    table_head(out, "Stage",
               beside ? "<th scope=\"col\">planned</th><th scope=\"col\">took before</th>"
                      : "<th scope=\"col\">planned</th>",
               &parts);
    for (size_t i = 0; i < count; i++) {
        const struct cb_review_stage *stage = &review->stages[order[i]];
        const char *name = review->recipe->stages[stage->stage - 1].name;
        const int64_t before_ms = beside ? cb_review_stage_before(review, before, name) : -1;
        row_name(out, name);
        if (isnan(stage->planned_min)) {
            cb_str_add(out, "<td>not said</td>");
        } else {
            cb_str_addf(out, "<td>%.0f</td>", stage->planned_min);
        }
        if (before_ms >= 0) {
            cell_ms(out, before_ms);
        } else if (beside) {
            cb_str_add(out, "<td>-</td>");
        }
        row_parts(out, stage->spent_ms, &parts);
    }
    cb_str_add(out, "</tbody></table></div>");
}

static void hours_line(struct cb_str *out, const char *what, const struct cb_hours_sum *sum)
{
    char about[CB_REVIEW_ABOUT_SIZE];
    cb_review_about(sum, about);
    cb_str_addf(out, "<p>%s, hands-on: %s.</p>", what, about);
}

/* The whole unit, and the one before, brought to this one's figures. */
static void unit_table(struct cb_str *out, const struct cb_review_page *page)
{
    const struct cb_review *review = page->review;
    const struct cb_review_sum *before = cb_review_before(review, page->sums, page->sum_count);
    int64_t before_ms[CB_SPENT_COUNT];
    struct parts parts = {0};
    show_parts(&parts, review->spent_ms);
    for (enum cb_spent spent = 0; before != NULL && spent < CB_SPENT_COUNT; spent++) {
        before_ms[spent] = cb_review_scaled(review, before, before->spent_ms[spent]);
    }
    if (before != NULL) {
        show_parts(&parts, before_ms);
    }
    table_head(out, "Minutes", "", &parts);
    table_row(out, "whole unit", review->spent_ms, &parts);
    if (before != NULL) {
        struct cb_str name = {0};
        cb_str_addf(&name, "before: %s", before->name);
        if (before->figures != review->figures) {
            cb_str_addf(&name, ", as if it had had %d", review->figures);
        }
        table_row(out, cb_str_text(&name), before_ms, &parts);
        cb_str_fini(&name);
    }
    cb_str_add(out, "</tbody></table></div>");
}

/* "54, 52 min": hands-on a figure through the last units of the recipe. */
static void trend_line(struct cb_str *out, const struct cb_review_page *page)
{
    int64_t figure_ms[CB_REVIEW_TREND];
    const size_t count = cb_review_trend(page->review, page->sums, page->sum_count, figure_ms);
    if (count < 2) {
        return;
    }
    cb_str_add(out, "<p>Hands-on a figure by this recipe: ");
    for (size_t i = 0; i < count; i++) {
        cb_str_addf(out, "%s%.0f",
                    i + 1 < count            ? i > 0 ? ", " : ""
                    : page->review->finished ? ", now "
                                             : ", so far ",
                    (double)figure_ms[i] / 60000.0);
    }
    cb_str_add(out, " min.</p>");
}

static void suggestions(struct cb_str *out, const struct cb_review_page *page)
{
    const struct cb_suggestions *all = page->suggestions;
    struct cb_str text = {0};
    if (all->count == 0) {
        return;
    }
    cb_str_add(out, "<h3>What would have saved time</h3><ul>");
    for (size_t i = 0; i < all->count; i++) {
        cb_str_clear(&text);
        cb_suggest_say(&all->items[i], page->review->recipe, &text);
        cb_str_add(out, "<li>");
        cb_markup_text(out, cb_str_text(&text));
        cb_str_add(out, ".</li>");
    }
    cb_str_add(out, "</ul>");
    cb_str_clear(&text);
    cb_suggest_say_together(all, &text);
    if (text.length > 0) {
        cb_str_addf(out, "<p class=\"soft\">%s.</p>", cb_str_text(&text));
    }
    cb_str_fini(&text);
}

/* What the colours below stand for. */
static void colours(struct cb_str *out, const struct cb_review *review)
{
    struct parts parts = {0};
    show_parts(&parts, review->spent_ms);
    cb_str_add(out, "<p class=\"soft\">Key: ");
    for (enum cb_spent spent = 0; spent < CB_SPENT_COUNT; spent++) {
        if (!parts.shown[spent]) {
            continue;
        }
        cb_str_addf(
            out,
            "<svg viewBox=\"0 0 14 14\" aria-hidden=\"true\" style=\"display:inline-block;"
            "width:.8em;margin:0\"><rect class=\"%s\" width=\"14\" height=\"14\"/></svg> %s, ",
            spent_class[spent], cb_spent_word(spent));
    }
    cb_str_add(out,
               "<svg viewBox=\"0 0 14 14\" aria-hidden=\"true\" style=\"display:inline-block;"
               "width:.8em;margin:0\"><rect class=\"drying\" y=\"5\" width=\"14\" height=\"5\"/>"
               "</svg> a film drying.</p>");
}

/* All on one scale of time, so that a long evening is a long one. */
static void evenings(struct cb_str *out, const struct cb_review_page *page)
{
    const struct cb_review *review = page->review;
    const int64_t longest_ms = cb_review_longest_ms(review);
    struct parts parts = {0};
    cb_str_add(out, "<h3>Evenings</h3>");
    colours(out, review);
    if (review->session_count > 1) {
        char width[CB_HM_SIZE];
        cb_review_span(longest_ms, width);
        cb_str_addf(out, "<p class=\"soft\">The whole width is %s.</p>", width);
    }
    for (size_t i = 0; i < review->session_count; i++) {
        evening(out, page, i, (double)longest_ms);
        show_parts(&parts, review->sessions[i].spent_ms);
    }
    table_head(out, "Session", "", &parts);
    for (size_t i = 0; i < review->session_count; i++) {
        const int64_t from_ms = cb_review_wall(page, review->sessions[i].from_ms);
        char date[11];
        char clock[CB_CLOCK_SIZE];
        char from[20];
        cb_time_date(from_ms, page->zone, date);
        cb_time_clock(from_ms, page->zone, clock);
        snprintf(from, sizeof from, "%s, %s", date, clock);
        table_row(out, from, review->sessions[i].spent_ms, &parts);
    }
    cb_str_add(out, "</tbody></table></div>");
}

static void figures(struct cb_str *out, const struct cb_review *review)
{
    bool head = false;
    for (int figure = 1; figure <= review->figures; figure++) {
        if (review->figure_ms[figure] == 0) {
            continue;
        }
        if (!head) {
            cb_str_add(out, "<h3>Figures</h3><div class=\"wide\"><table><thead><tr>"
                            "<th scope=\"col\">Figure</th><th scope=\"col\">hands-on</th></tr>"
                            "</thead><tbody>");
        }
        head = true;
        cb_str_addf(out, "<tr><th scope=\"row\">%d", figure);
        if (review->recipe->names[figure] != NULL) {
            cb_str_add(out, " ");
            cb_markup_text(out, review->recipe->names[figure]);
        }
        cb_str_add(out, "</th>");
        cell_ms(out, review->figure_ms[figure]);
        cb_str_add(out, "</tr>");
    }
    cb_str_add(out, head ? "</tbody></table></div>" : "");
}

static void unit_part(struct cb_str *out, const struct cb_review_page *page)
{
    const struct cb_review *review = page->review;
    char hm[CB_HM_SIZE];
    struct cb_str finding = {0};
    cb_review_span(review->session_ms, hm);
    cb_review_finding(review, &finding);
    cb_str_add(out, "<section><p class=\"finding\">");
    cb_markup_text(out, cb_str_text(&finding));
    cb_str_fini(&finding);
    cb_str_add(out, "</p><h2>");
    cb_markup_text(out, review->name);
    cb_str_addf(out, "</h2><p>%d figure%s, %s in %zu session%s.</p>", review->figures,
                review->figures == 1 ? "" : "s", hm, review->session_count,
                review->session_count == 1 ? "" : "s");
    if (page->to_go.mean_min > 0) {
        hours_line(out, "Still to go", &page->to_go);
    }
    if (page->next.mean_min > 0) {
        snprintf(hm, sizeof hm, "The next %d", review->figures);
        hours_line(out, hm, &page->next);
    }
    unit_table(out, page);
    trend_line(out, page);
    suggestions(out, page);
    if (review->session_count > 0) {
        evenings(out, page);
    }
    stage_table(out, page);
    figures(out, review);
    if (review->ping_count > 0) {
        cb_str_add(out, "<p>");
        cb_review_pings(review, out);
        cb_str_add(out, ".</p>");
    }
    cb_str_add(out, "</section>");
}

/* Are the rings as sure as they say? The share found dry with its interval, and what was promised.
 */
static void ring_part(struct cb_str *out, const struct cb_rings *rings)
{
    if (rings->count == 0) {
        return;
    }
    cb_str_addf(
        out,
        "<section><h2>Are the rings as sure as they say?</h2><p>Of the films that rang: how "
        "many were found dry, with the 95 %% interval, beside what was promised. Silent: "
        "painted over without a word, and %zu of them came up.</p><div "
        "class=\"wide\"><table><thead><tr>"
        "<th scope=\"col\">Rung</th><th scope=\"col\">answered</th>"
        "<th scope=\"col\">dry</th><th scope=\"col\">silent</th>"
        "<th scope=\"col\">0 to 100 %%</th></tr></thead><tbody>",
        rings->came_up);
    for (size_t i = 0; i < rings->count; i++) {
        const struct cb_ring_tally *tally = &rings->tallies[i];
        double low, high;
        cb_calibration_wilson(tally->dry, tally->answered, &low, &high);
        cb_str_add(out, "<tr><th scope=\"row\">");
        if (tally->paint) {
            cb_markup_text(out, tally->paint);
        } else {
            cb_str_addf(out, "at %.0f %%", 100 * tally->confidence);
        }
        cb_str_addf(out, "</th><td>%zu</td><td>%zu</td><td>%zu</td><td>", tally->answered,
                    tally->dry, tally->silent);
        if (tally->answered > 0) {
            const double share = (double)tally->dry / (double)tally->answered;
            cb_str_addf(out,
                        "<svg viewBox=\"0 0 200 14\" width=\"200\" height=\"14\" role=\"img\" "
                        "aria-label=\"%.0f %%, likely %.0f to %.0f\"><line x1=\"%.0f\" y1=\"7\" "
                        "x2=\"%.0f\" y2=\"7\" stroke=\"currentColor\" stroke-width=\"2\"/>"
                        "<circle cx=\"%.0f\" cy=\"7\" r=\"4\" fill=\"currentColor\"/>",
                        100 * share, 100 * low, 100 * high, 200 * low, 200 * high, 200 * share);
            if (tally->confidence > 0) {
                cb_str_addf(out,
                            "<line x1=\"%.0f\" y1=\"0\" x2=\"%.0f\" y2=\"14\" "
                            "stroke=\"currentColor\"/>",
                            200 * tally->confidence, 200 * tally->confidence);
            }
            cb_str_add(out, "</svg>");
        }
        cb_str_add(out, "</td></tr>");
    }
    cb_str_add(out, "</tbody></table></div></section>");
}

void cb_review_html(struct cb_str *out, const struct cb_review_page *pages, size_t count,
                    const struct cb_rings *rings, const struct cb_findings *findings)
{
    cb_str_add(out, "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">"
                    "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">"
                    "<meta name=\"color-scheme\" content=\"light dark\">"
                    "<title>Where the hours went</title><style>");
    cb_str_add(out, style);
    cb_str_add(out, "</style></head><body><main><h1>Where the hours went</h1>");
    for (size_t i = 0; i < count; i++) {
        unit_part(out, &pages[i]);
    }
    cb_findings_html(out, findings);
    ring_part(out, rings);
    cb_str_add(out, "</main></body></html>\n");
}
