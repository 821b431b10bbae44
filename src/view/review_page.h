/* SPDX-License-Identifier: MIT */
/*
 * The review as a page of cells, as long as it needs to be: the review view shows a window of it,
 * `coatbell review` prints it whole. Nothing here knows where it will be shown.
 */
#ifndef CB_VIEW_REVIEW_PAGE_H
#define CB_VIEW_REVIEW_PAGE_H

#include "base/str.h"
#include "base/time.h"
#include "core/review/effort.h"
#include "core/learn/learn.h"
#include "core/finding/finding.h"
#include "core/plan/suggest.h"
#include "core/review/review.h"
#include "core/review/review_sum.h"
#include "view/grid.h"

enum cb_review_sort { CB_REVIEW_BY_RECIPE, CB_REVIEW_BY_TIME, CB_REVIEW_BY_OVER, CB_REVIEW_SORTS };

struct cb_review_page {
    const struct cb_kinds *kinds;
    const struct cb_learn *learn;
    const struct cb_review *review;
    const struct cb_suggestions *suggestions; /* of it; NULL: not asked for */
    const struct cb_findings *findings;       /* of its painter; NULL: not asked for */
    const struct cb_unit *unit;       /* what is still to go; NULL: nothing, it is finished */
    const struct cb_review_sum *sums; /* of the finished units, to compare with */
    size_t sum_count;
    const struct cb_zone *zone;
    const char *yes, *no; /* the keys that answer what is asked; NULL: it can't be answered here */
    struct cb_hours_sum to_go; /* mean_min 0: nothing left */
    struct cb_hours_sum next;  /* the figures that were painted, or are to be, once more */
    int next_figures;          /* how many those are */
    int next_evenings;         /* 0: can't be told */
    enum cb_review_sort sort;
    bool open; /* a bench runs on the log, its session since opened_ms of the wall clock */
    int64_t opened_ms;
    int focus; /* row of the stage table that is opened, from 0; -1: none */
};

/* Fills to_go and all that begins with next from what the units before this one taught; habits as
 * cb_taught has them. */
void cb_review_page_forecast(struct cb_review_page *page, const struct cb_hours *hours,
                             const struct cb_effort *habits);

/* Draws the whole page into grid, which is given columns columns and as many rows as needed.
 * *focus_row: row of the opened stage, may be NULL. */
void cb_review_page_draw(const struct cb_review_page *page, int columns, struct cb_grid *grid,
                         int *focus_row);

/* Shared by page, view and files. */
const char *cb_spent_word(enum cb_spent spent); /* "hands-on", "paint change", ... */
#define CB_HM_SIZE 32
/* In a sentence: "3 min", from an hour on "2 h 5 min". */
void cb_review_span(int64_t ms, char out[CB_HM_SIZE]);
/* The parts in whole minutes that add up to the whole as it is shown: those with most of a minute
 * left are rounded up. */
void cb_review_rounded(const int64_t spent_ms[CB_SPENT_COUNT], int64_t shown_ms[CB_SPENT_COUNT]);
/* What there is to say of it first, in one sentence: "2:53 h, of it 2:10 h painting; 16 min
 * waiting, nearly all after Undercoat". Added to out. */
void cb_review_finding(const struct cb_review *review, struct cb_str *out);
/* "3 pings, 2 answered: 1 dry, 1 still wet; 1 shown late", without what is none. */
void cb_review_pings(const struct cb_review *review, struct cb_str *out);
/* "about 9 h, likely 6 to 13": the middle and eight chances of ten, as roundly as they are known.
 */
#define CB_REVIEW_ABOUT_SIZE 64
void cb_review_about(const struct cb_hours_sum *sum, char out[CB_REVIEW_ABOUT_SIZE]);
/* Less than half a minute: not shown. */
bool cb_review_is_nothing(int64_t ms);
/* The session that lasted longest: one scale for the pictures of all. */
int64_t cb_review_longest_ms(const struct cb_review *review);
/* The session at the bench that runs: it is not cut off, whatever the log still lacks. */
bool cb_review_goes_on(const struct cb_review_page *page, size_t session);
/* Wall time of a bench time of this review, as the clock then showed it. */
int64_t cb_review_wall(const struct cb_review_page *page, int64_t bench_ms);
/* Middle of the figures' hands-on; a figure is slow over 1.3 times it (own judgement). */
int64_t cb_review_usual_figure_ms(const struct cb_review *review);
/* Stage order of the table: indices into review->stages; returns how many were begun: the others
 * are not shown. */
size_t cb_review_stage_order(const struct cb_review *review, enum cb_review_sort sort,
                             size_t order[CB_RECIPE_MAX]);

#endif
