/* SPDX-License-Identifier: MIT */
#include "view/review_page.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/utf8.h"
#include "app/words.h"
#include "view/review_pen.h"

#define SLOW_TIMES    1.3
#define ENOUGH_MS     (60 * CB_MS_PER_MIN)
#define SAME_MS       CB_MS_PER_MIN /* the clock may be set by some seconds; own judgement */
#define SENTENCE_MAX  512
#define NAMED_COLUMNS 20  /* of a figure's name, a blank with it */
#define WORTH_SAYING  .05 /* learned against the start (own judgement) */

const struct cb_spent_row cb_spent_rows[CB_SPENT_COUNT] = {
    [CB_SPENT_HANDS_ON] = {"hands-on", 0x2588, '#', CB_ROLE_READY},
    [CB_SPENT_CHANGE] = {"paint change", 0x2592, '+', CB_ROLE_PAINT},
    [CB_SPENT_WAITING] = {"waiting", 0xB7, '.', CB_ROLE_WET},
    [CB_SPENT_CHORE] = {"chores", 'o', 'o', CB_ROLE_PLAIN},
    [CB_SPENT_TIDY] = {"tidying up", '%', '%', CB_ROLE_WARN},
    [CB_SPENT_PAUSE] = {"pause", '-', '-', CB_ROLE_DIM},
    [CB_SPENT_AWAY] = {"away", '_', '_', CB_ROLE_DIM},
};

const char *cb_spent_word(enum cb_spent spent)
{
    return cb_spent_rows[spent].word;
}

void cb_review_span(int64_t ms, char out[CB_HM_SIZE])
{
    const int64_t minutes = (ms + CB_MS_PER_MIN / 2) / CB_MS_PER_MIN;
    if (minutes < 60) {
        snprintf(out, CB_HM_SIZE, "%d min", (int)minutes);
    } else {
        const long long hours = (long long)(minutes / 60), rest = (long long)(minutes % 60);
        snprintf(out, CB_HM_SIZE, rest > 0 ? "%lld h %lld min" : "%lld h", hours, rest);
    }
}

int64_t cb_review_wall(const struct cb_review_page *page, int64_t bench_ms)
{
    return bench_ms + page->review->shift_ms;
}

bool cb_review_goes_on(const struct cb_review_page *page, size_t session)
{
    const struct cb_review_session *row = &page->review->sessions[session];
    return page->open && row->cut_off &&
           llabs(cb_review_wall(page, row->from_ms) - page->opened_ms) < SAME_MS;
}

static int by_ms(const void *a, const void *b)
{
    const int64_t x = *(const int64_t *)a;
    const int64_t y = *(const int64_t *)b;
    return (x > y) - (x < y);
}

int64_t cb_review_usual_figure_ms(const struct cb_review *review)
{
    int64_t sorted[CB_FIGURES_MAX];
    size_t count = 0;
    for (int figure = 1; figure <= review->figures; figure++) {
        if (review->figure_ms[figure] > 0) {
            sorted[count++] = review->figure_ms[figure];
        }
    }
    if (count == 0) {
        return 0;
    }
    qsort(sorted, count, sizeof *sorted, by_ms);
    return sorted[count / 2];
}

void cb_review_page_forecast(struct cb_review_page *page, const struct cb_hours *hours,
                             const struct cb_effort *habits)
{
    page->to_go = (struct cb_hours_sum){0};
    if (page->unit != NULL && !page->unit->finished) {
        page->to_go = cb_effort_to_go(hours, page->unit, page->kinds);
    }
    bool figures[CB_FIGURES_MAX + 1];
    page->next_figures = cb_effort_figures(page->review, page->unit, figures);
    page->next = cb_effort_next(hours, page->review->recipe, figures, page->kinds);
    /* From a handful of minutes nothing can be said of this painter's evenings. */
    const bool enough =
        habits->session_count > 0 || page->review->spent_ms[CB_SPENT_HANDS_ON] >= ENOUGH_MS;
    page->next_evenings = !enough ? 0 : cb_effort_evenings(page->next.median_min, habits);
}

void cb_review_bar(struct cb_review_pen *pen, int column, int width, double share,
                   enum cb_role role)
{
    if (width < 1 || !(share > 0)) {
        return;
    }
    const double eighths = share * width * 8.0;
    int whole = (int)(eighths / 8.0);
    const int rest = (int)(eighths - whole * 8.0);
    whole = whole < width ? whole : width;
    cb_grid_fill(pen->grid, pen->row, column, 1, whole, role, pen->grid->ascii ? '#' : 0x2588);
    if (whole < width && rest > 0 && !pen->grid->ascii) {
        cb_grid_fill(pen->grid, pen->row, column + whole, 1, 1, role, 0x2590 - (uint32_t)rest);
    }
}

void cb_review_heading(struct cb_review_pen *pen, const char *text)
{
    pen->row++;
    cb_grid_put(pen->grid, pen->row++, 0, pen->columns, CB_ROLE_TITLE, text);
}

static const char *state_of(const struct cb_review_page *page)
{
    return page->review->finished                   ? "finished"
           : page->unit != NULL && page->unit->left ? "put aside"
                                                    : "under way";
}

static void draw_totals(struct cb_review_pen *pen)
{
    const struct cb_review *review = pen->page->review;
    char hm[CB_HM_SIZE];
    char date[11];
    struct cb_str finding = {0};
    cb_review_finding(review, &finding);
    pen->row += cb_grid_wrap(pen->grid, pen->row, 0, pen->columns, 4, CB_ROLE_STRONG,
                             cb_str_text(&finding));
    cb_str_fini(&finding);
    cb_grid_put(pen->grid, pen->row++, 0, pen->columns, CB_ROLE_PLAIN, review->name);
    cb_review_span(review->session_ms, hm);
    cb_time_date(cb_review_wall(pen->page, review->begun_ms), pen->page->zone, date);
    cb_grid_putf(pen->grid, pen->row++, 0, pen->columns, CB_ROLE_PLAIN,
                 "%d figure%s, %s%s%s%s; %s in %zu session%s", review->figures,
                 review->figures == 1 ? "" : "s", pen->columns < 64 ? "" : "begun ",
                 pen->columns < 64 ? "" : date, pen->columns < 64 ? "" : ", ", state_of(pen->page),
                 hm, review->session_count, review->session_count == 1 ? "" : "s");
}

/* "hands-on a figure: 58, 52, now 49 min": there is a unit of the recipe before this one. */
static void draw_trend(struct cb_review_pen *pen)
{
    int64_t figure_ms[CB_REVIEW_TREND];
    const size_t count =
        cb_review_trend(pen->page->review, pen->page->sums, pen->page->sum_count, figure_ms);
    const char *now = pen->page->review->finished ? ", now " : ", so far ";
    int column = 1 + cb_grid_put(pen->grid, pen->row, 1, 0, CB_ROLE_DIM, "hands-on a figure: ");
    for (size_t i = 0; i < count; i++) {
        column += cb_grid_putf(pen->grid, pen->row, column, 0, CB_ROLE_DIM, "%s%.0f",
                               i + 1 == count ? now
                               : i > 0        ? ", "
                                              : "",
                               (double)figure_ms[i] / 60000.0);
    }
    cb_grid_put(pen->grid, pen->row++, column, 0, CB_ROLE_DIM, " min");
}

static void draw_before(struct cb_review_pen *pen)
{
    const struct cb_review *review = pen->page->review;
    const struct cb_review_sum *before = pen->before;
    char date[11];
    char figures[48] = "";
    cb_time_date(before->begun_ms, pen->page->zone, date);
    if (before->figures != review->figures) {
        snprintf(figures, sizeof figures, ", as if it had had %d", review->figures);
    }
    const int column =
        1 + cb_grid_putf(pen->grid, pen->row, 1, 0, CB_ROLE_DIM, "before: %s%s, ", date, figures);
    cb_grid_put(pen->grid, pen->row++, column, pen->columns - column, CB_ROLE_DIM, before->name);
    if (strcmp(before->recipe, review->recipe->name) == 0) {
        draw_trend(pen);
    }
}

static void draw_parts(struct cb_review_pen *pen)
{
    const struct cb_review *review = pen->page->review;
    const int column = pen->before == NULL ? 33 : 46;
    char hm[CB_HM_SIZE];
    int64_t shown_ms[CB_SPENT_COUNT];
    cb_review_rounded(review->spent_ms, shown_ms);
    cb_review_heading(pen, "Where the hours went");
    if (pen->before != NULL) {
        cb_grid_put(pen->grid, pen->row - 1, 38, 0, CB_ROLE_DIM, "before");
    }
    for (enum cb_spent spent = 0; spent < CB_SPENT_COUNT; spent++) {
        const int64_t ms = review->spent_ms[spent];
        const double share = review->session_ms > 0 ? (double)ms / (double)review->session_ms : 0;
        const int64_t before_ms =
            pen->before == NULL
                ? 0
                : cb_review_scaled(review, pen->before, pen->before->spent_ms[spent]);
        if (shown_ms[spent] == 0 && cb_review_is_nothing(before_ms)) {
            continue;
        }
        cb_review_span(shown_ms[spent], hm);
        cb_grid_putf(pen->grid, pen->row, 1, pen->columns, CB_ROLE_PLAIN, "%-12s %11s %3.0f %%",
                     cb_spent_rows[spent].word, hm, share * 100.0);
        if (pen->before != NULL) {
            cb_review_span(before_ms, hm);
            cb_grid_putf(pen->grid, pen->row, 33, 0, CB_ROLE_DIM, "%11s", hm);
        }
        cb_review_bar(pen, column, pen->columns - column - 1, share, cb_spent_rows[spent].role);
        pen->row++;
    }
    if (pen->before != NULL) {
        draw_before(pen);
    }
}

static void draw_figures(struct cb_review_pen *pen)
{
    const struct cb_review *review = pen->page->review;
    const int64_t usual = cb_review_usual_figure_ms(review);
    if (usual == 0) {
        return;
    }
    int64_t most = 1;
    for (int figure = 1; figure <= review->figures; figure++) {
        most = review->figure_ms[figure] > most ? review->figure_ms[figure] : most;
    }
    int named = 0; /* columns of the names */
    for (int figure = 1; figure <= review->figures; figure++) {
        const char *name = review->figure_ms[figure] > 0 ? review->recipe->names[figure] : NULL;
        const int columns = name ? 1 + cb_utf8_text_width(name) : 0;
        named = columns > named ? columns : named;
    }
    named = named > NAMED_COLUMNS ? NAMED_COLUMNS : named;
    cb_review_heading(pen, "Figures, hands-on minutes");
    for (int figure = 1; figure <= review->figures; figure++) {
        const int64_t ms = review->figure_ms[figure];
        if (ms == 0) {
            continue;
        }
        /* On the way some are simply further than others. */
        const bool slow = review->finished && (double)ms > SLOW_TIMES * (double)usual;
        cb_grid_putf(pen->grid, pen->row, 1, 0, CB_ROLE_PLAIN, "%2d", figure);
        if (review->recipe->names[figure]) {
            cb_grid_cut(pen->grid, pen->row, 4, named - 1, CB_ROLE_PLAIN,
                        review->recipe->names[figure]);
        }
        cb_grid_putf(pen->grid, pen->row, 4 + named, 0, CB_ROLE_PLAIN, "%7.0f %s",
                     (double)ms / 60000.0, slow ? "slow" : "");
        cb_review_bar(pen, 17 + named, pen->columns - 18 - named, (double)ms / (double)most,
                      slow ? CB_ROLE_WARN : CB_ROLE_READY);
        pen->row++;
    }
}

/* One sentence, on as many rows as it needs. */
static void say(struct cb_review_pen *pen, enum cb_role role, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
static void say(struct cb_review_pen *pen, enum cb_role role, const char *format, ...)
{
    char text[SENTENCE_MAX];
    va_list list;
    va_start(list, format);
    vsnprintf(text, sizeof text, format, list);
    va_end(list);
    pen->row += cb_grid_wrap(pen->grid, pen->row, 1, pen->columns - 1, 4, role, text);
}

static void draw_films(struct cb_review_pen *pen)
{
    const struct cb_review *review = pen->page->review;
    int64_t beside_ms = 0;
    for (size_t i = 0; i < review->session_count; i++) {
        beside_ms += review->sessions[i].drying_ms;
    }
    if (review->film_drying_ms > 0) {
        char all[CB_HM_SIZE];
        char beside[CB_HM_SIZE];
        cb_review_span(review->film_drying_ms, all);
        cb_review_span(beside_ms, beside);
        say(pen, CB_ROLE_PLAIN, "films dried %s in all; %s of the sessions had one drying", all,
            beside);
    }
}

static void draw_learned(struct cb_review_pen *pen)
{
    const struct cb_review *review = pen->page->review;
    cb_review_heading(pen, "Pings and drying");
    if (review->ping_count > 0) {
        struct cb_str pings = {0};
        cb_review_pings(review, &pings);
        say(pen, CB_ROLE_PLAIN, "%s", cb_str_text(&pings));
        cb_str_fini(&pings);
    }
    draw_films(pen);
    bool said = false;
    size_t rows = 0;
    for (size_t i = 0; i < review->paint_count; i++) {
        const struct cb_review_paint *paint = &review->paints[i];
        const struct cb_learn_pot pot = cb_learn_pot(pen->page->learn, paint->pot, paint->pot_sd);
        const double prior = paint->standard_min;
        const double now =
            cb_learn_quantile(pen->page->learn, paint->pot, paint->pot_sd, prior, .5, 0);
        rows += pot.rows;
        if (pot.rows == 0 || fabs(now - prior) < WORTH_SAYING * prior) {
            continue;
        }
        said = true;
        char against[48];
        if (llround(now) == llround(prior)) {
            snprintf(against, sizeof against, "%.0f %% %s than was thought",
                     100 * fabs(now / prior - 1), now > prior ? "longer" : "shorter");
        } else {
            snprintf(against, sizeof against, "not %.0f", prior);
        }
        say(pen, CB_ROLE_PLAIN, "%s, %s: %.0f min, %s, from the last %zu coat%s", paint->name,
            cb_technique_name(paint->technique), now, against, pot.rows, pot.rows == 1 ? "" : "s");
    }
    say(pen, CB_ROLE_DIM, "%s",
        said       ? "middle dry time at 23 C and 50 %, learned against the start"
        : rows > 0 ? "every paint dries within 5 % of the time it began with"
                   : "nothing learned yet");
}

static void draw_suggestions(struct cb_review_pen *pen)
{
    const struct cb_suggestions *all = pen->page->suggestions;
    struct cb_str text = {0};
    if (all == NULL || all->count == 0) {
        return;
    }
    cb_review_heading(pen, "What would have saved time");
    for (size_t i = 0; i < all->count; i++) {
        cb_str_clear(&text);
        cb_suggest_say(&all->items[i], pen->page->review->recipe, &text);
        say(pen, CB_ROLE_PLAIN, "%s", cb_str_text(&text));
    }
    cb_str_clear(&text);
    cb_suggest_say_together(all, &text);
    if (text.length > 0) {
        say(pen, CB_ROLE_DIM, "%s", cb_str_text(&text));
    }
    cb_str_fini(&text);
}

/* Not of this unit alone, but of the painter's last ones. */
static void draw_findings(struct cb_review_pen *pen)
{
    const struct cb_findings *all = pen->page->findings;
    struct cb_arena arena = {0};
    if (all == NULL || all->count == 0) {
        return;
    }
    pen->row++;
    cb_grid_putf(pen->grid, pen->row++, 0, pen->columns, CB_ROLE_TITLE,
                 "What the log says of you, from %zu units", all->units);
    for (size_t i = 0; i < all->count; i++) {
        const struct cb_finding *one = &all->items[i];
        say(pen, CB_ROLE_PLAIN, "%s: %s", one->text, cb_finding_size(one, &arena));
        say(pen, CB_ROLE_STRONG, "%s", one->advice);
    }
    cb_arena_fini(&arena);
}

static void draw_hours(struct cb_review_pen *pen, const struct cb_hours_sum *sum)
{
    char about[CB_REVIEW_ABOUT_SIZE];
    cb_review_about(sum, about);
    cb_grid_putf(pen->grid, pen->row++, 1, pen->columns - 1, CB_ROLE_PLAIN, "hands-on: %s", about);
}

static void draw_forecast(struct cb_review_pen *pen)
{
    const struct cb_review_page *page = pen->page;
    if (page->to_go.mean_min > 0) {
        cb_review_heading(pen, "Still to go");
        draw_hours(pen, &page->to_go);
    }
    if (page->next.mean_min > 0) {
        pen->row++;
        cb_grid_putf(pen->grid, pen->row++, 0, 0, CB_ROLE_TITLE, "The next %d", page->next_figures);
        draw_hours(pen, &page->next);
        if (page->next_evenings > 0) {
            cb_grid_putf(pen->grid, pen->row++, 1, pen->columns - 1, CB_ROLE_PLAIN, "%d evening%s",
                         page->next_evenings, page->next_evenings == 1 ? "" : "s");
        }
    }
}

static void draw_questions(struct cb_review_pen *pen)
{
    const struct cb_review *review = pen->page->review;
    if (review->question_count == 0) {
        return;
    }
    cb_review_heading(pen, "Asked once");
    for (size_t i = 0; i < review->question_count; i++) {
        char date[11];
        char from[CB_CLOCK_SIZE];
        char to[CB_CLOCK_SIZE];
        const int64_t from_ms = cb_review_wall(pen->page, review->questions[i].from_ms);
        cb_time_date(from_ms, pen->page->zone, date);
        cb_time_clock(from_ms, pen->page->zone, from);
        cb_time_clock(cb_review_wall(pen->page, review->questions[i].to_ms), pen->page->zone, to);
        char keys[64] = "";
        if (i == 0 && pen->page->yes && pen->page->no) {
            snprintf(keys, sizeof keys, " %s yes, %s no", pen->page->yes, pen->page->no);
        }
        cb_grid_putf(pen->grid, pen->row++, 1, pen->columns - 1, CB_ROLE_WARN,
                     pen->columns < 60 ? "away %s %s to %s?%s" : "%s: were you away %s to %s?%s",
                     date, from, to, keys);
    }
}

static int rows_needed(const struct cb_review_page *page)
{
    const struct cb_review *review = page->review;
    return 80 + 12 * (int)review->stage_count + 3 * (int)review->session_count + review->figures +
           (int)review->question_count;
}

void cb_review_page_draw(const struct cb_review_page *page, int columns, struct cb_grid *grid,
                         int *focus_row)
{
    const bool ascii = grid->ascii, plain = grid->plain;
    cb_grid_fini(grid);
    cb_grid_init(grid, rows_needed(page), columns);
    grid->ascii = ascii;
    grid->plain = plain;
    const struct cb_review_sum *before =
        cb_review_before(page->review, page->sums, page->sum_count);
    struct cb_review_pen pen = {page, before, grid, 0, columns};
    draw_totals(&pen);
    draw_questions(&pen);
    if (page->review->session_ms > 0) {
        draw_parts(&pen);
    }
    draw_suggestions(&pen);
    draw_findings(&pen);
    draw_forecast(&pen);
    cb_review_draw_stages(&pen, focus_row);
    if (page->review->session_ms > 0) {
        cb_review_draw_evenings(&pen);
    }
    draw_figures(&pen);
    draw_learned(&pen);
    grid->rows = pen.row < grid->rows ? pen.row : grid->rows;
}
