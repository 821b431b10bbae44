/* SPDX-License-Identifier: MIT */
/* The review's evenings. */
#include "view/review_pen.h"

#include <string.h>

#include "base/utf8.h"

/* Columns of a session's strip: the longest session's fills the row. */
static int width_of(const struct cb_review_pen *pen, const struct cb_review_session *session)
{
    const int64_t span_ms = session->to_ms - session->from_ms;
    const int64_t room = pen->columns - 2;
    const int64_t width = room * span_ms / cb_review_longest_ms(pen->page->review);
    return (int)(width < 1 && span_ms > 0 && room > 0 ? 1 : width);
}

static void draw_strip(struct cb_review_pen *pen, size_t session)
{
    const struct cb_review *review = pen->page->review;
    const struct cb_review_session *row = &review->sessions[session];
    const int width = width_of(pen, row);
    const int64_t span_ms = row->to_ms - row->from_ms;
    if (width < 1) {
        return;
    }
    size_t first = 0; /* spans stand in the order of sessions */
    while (first < review->span_count && review->spans[first].session < (int)session) {
        first++;
    }
    for (int column = 0; column < width; column++) {
        const int64_t from = row->from_ms + span_ms * column / width;
        const int64_t to = row->from_ms + span_ms * (column + 1) / width;
        int64_t share[CB_SPENT_COUNT] = {0};
        for (size_t i = first; i < review->span_count; i++) {
            const struct cb_span *span = &review->spans[i];
            if (span->session != (int)session) {
                break;
            }
            if (span->to_ms <= from || span->from_ms >= to) {
                continue;
            }
            share[span->spent] += (span->to_ms < to ? span->to_ms : to) -
                                  (span->from_ms > from ? span->from_ms : from);
        }
        enum cb_spent most = CB_SPENT_HANDS_ON;
        for (enum cb_spent spent = 0; spent < CB_SPENT_COUNT; spent++) {
            most = share[spent] > share[most] ? spent : most;
        }
        if (share[most] == 0) {
            continue;
        }
        const struct cb_spent_row *kind = &cb_spent_rows[most];
        cb_grid_fill(pen->grid, pen->row, 1 + column, 1, 1, kind->role,
                     pen->grid->ascii ? kind->plain : kind->sign);
    }
    pen->row++;
}

/* Under the strip: when something was drying. */
static void draw_drying(struct cb_review_pen *pen, const struct cb_review_session *session)
{
    const struct cb_review *review = pen->page->review;
    const int width = width_of(pen, session);
    const int64_t span_ms = session->to_ms - session->from_ms;
    for (int column = 0; column < width; column++) {
        const int64_t from = session->from_ms + span_ms * column / width;
        const int64_t to = session->from_ms + span_ms * (column + 1) / width;
        if (2 * cb_review_drying_ms(review, from, to) > to - from) {
            cb_grid_fill(pen->grid, pen->row, 1 + column, 1, 1, CB_ROLE_WET, '~');
        }
    }
    pen->row++;
}

void cb_review_draw_evenings(struct cb_review_pen *pen)
{
    const struct cb_review *review = pen->page->review;
    char row[CB_HM_SIZE];
    cb_review_heading(pen, "Evenings");
    if (review->session_count > 1 && !pen->grid->plain) {
        cb_review_span(cb_review_longest_ms(review), row);
        cb_grid_putf(pen->grid, pen->row - 1, 10, 0, CB_ROLE_DIM, "the whole row is %s", row);
    }
    for (size_t i = 0; i < review->session_count; i++) {
        const struct cb_review_session *session = &review->sessions[i];
        char date[11];
        char from[CB_CLOCK_SIZE];
        char to[CB_CLOCK_SIZE];
        char hm[CB_HM_SIZE];
        const int64_t from_ms = cb_review_wall(pen->page, session->from_ms);
        cb_time_date(from_ms, pen->page->zone, date);
        cb_time_clock(from_ms, pen->page->zone, from);
        cb_time_clock(cb_review_wall(pen->page, session->to_ms), pen->page->zone, to);
        cb_review_span(session->spent_ms[CB_SPENT_HANDS_ON], hm);
        cb_grid_putf(pen->grid, pen->row++, 1, pen->columns - 1, CB_ROLE_PLAIN,
                     "%s  %s to %s  %s hands-on%s", date, from, to, hm,
                     cb_review_goes_on(pen->page, i) ? "  so far"
                     : session->cut_off              ? "  (cut off)"
                                                     : "");
        if (!pen->grid->plain) {
            draw_strip(pen, i);
        }
        if (session->drying_ms > 0 && !pen->grid->plain) {
            draw_drying(pen, session);
        }
    }
    if (pen->grid->plain) {
        return; /* what follows says the signs of the strips */
    }
    int column = 1;
    for (enum cb_spent spent = 0; spent < CB_SPENT_COUNT; spent++) {
        char sign[5];
        const struct cb_spent_row *kind = &cb_spent_rows[spent];
        if (review->spent_ms[spent] == 0) {
            continue;
        }
        cb_utf8_write(pen->grid->ascii ? kind->plain : kind->sign, sign);
        if (column + (int)strlen(kind->word) + 3 > pen->columns) {
            pen->row++;
            column = 1;
        }
        column +=
            cb_grid_putf(pen->grid, pen->row, column, 0, CB_ROLE_DIM, "%s %s  ", sign, kind->word);
    }
    if (review->drying_count > 0) {
        column = column + 11 > pen->columns ? 1 : column;
        pen->row += column == 1 ? 1 : 0;
        cb_grid_put(pen->grid, pen->row, column, 0, CB_ROLE_DIM, "~ drying");
    }
    pen->row++;
}
