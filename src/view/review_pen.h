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

/* In the row at hand, share (0 to 1) of width columns from column on; nothing of no share. */
void cb_review_bar(struct cb_review_pen *pen, int column, int width, double share,
                   enum cb_role role);

/* The table of the stages that were begun, in the page's order. *focus_row: the opened one's row,
 * left as it was when none is; may be NULL. */
void cb_review_draw_stages(struct cb_review_pen *pen, int *focus_row);

/* The sessions as strips of time, all on one scale, and what their signs mean. */
void cb_review_draw_evenings(struct cb_review_pen *pen);

#endif
