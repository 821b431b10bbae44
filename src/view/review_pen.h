/* SPDX-License-Identifier: MIT */
/* What the files that draw the page of the review share; nobody else includes it. */
#ifndef CB_VIEW_REVIEW_PEN_H
#define CB_VIEW_REVIEW_PEN_H

#include "view/review_page.h"

/* A cursor that walks down a grid that grows. */
struct cb_review_pen {
    const struct cb_review_page *page;
    const struct cb_review_sum *before; /* NULL: nothing to compare with */
    struct cb_grid *grid;
    int row, columns;
};

extern const struct cb_spent_row {
    const char *word;
    uint32_t sign, plain; /* in the strip of an evening; in ASCII */
    enum cb_role role;
} cb_spent_rows[CB_SPENT_COUNT];

/* A line of its own, after an empty one. */
void cb_review_heading(struct cb_review_pen *pen, const char *text);

/* The sessions as strips of time, all on one scale, and what their signs mean. */
void cb_review_draw_evenings(struct cb_review_pen *pen);

#endif
