/* SPDX-License-Identifier: MIT */
/* The review as it is looked at: of which unit, how sorted, and what it asks. */
#ifndef CB_APP_HINDSIGHT_H
#define CB_APP_HINDSIGHT_H

#include "app/app.h"
#include "core/learn/hours.h"
#include "core/review/review.h"

struct cb_hindsight {
    int sort;         /* of enum cb_review_sort (view) */
    int focus;        /* row of the stage table that is opened, from 0; -1: none */
    const char *unit; /* id of the one just finished, while its review is shown; or NULL */
};

const struct cb_hindsight *cb_app_hindsight(const struct cb_app *app);
/* The unit just finished, the one in front, else the last finished of those the bench still knows;
 * -1: neither, and the last one that was finished before is shown. */
int cb_hindsight_unit(const struct cb_app *app);
/* Its review, or that last one; NULL: nothing was ever painted. Until the next step. */
const struct cb_review *cb_hindsight_review(const struct cb_app *app);
/* Hands-on minutes as finished units taught them and, where it is none of them, that review's own
 * marks. Release with cb_hours_free. */
struct cb_hours *cb_hindsight_hours(const struct cb_app *app, const struct cb_review *review);
int cb_hindsight_stages(const struct cb_app *app); /* -1: no review */
void cb_hindsight_focus(struct cb_app *app, int focus);
void cb_hindsight_sort(struct cb_app *app, int sort);
/* While it is shown: that one, whichever is in front. NULL: no longer. */
void cb_hindsight_at(struct cb_app *app, const char *unit);
/* Yes or no to the first thing that it asks; false: it asks nothing. */
bool cb_hindsight_answer(struct cb_app *app, bool away);
/* Points at the review when the last session was cut off and its tail is asked about. Before
 * session_opened is written. */
void cb_hindsight_ask_tail(struct cb_app *app);

void cb_hindsight_init(struct cb_app *app);

#endif
