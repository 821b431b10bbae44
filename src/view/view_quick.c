/* SPDX-License-Identifier: MIT */
/* Quick entry, over the view before: the line, the words that may come next, what is understood. */
#include "app/entry.h"
#include "app/session.h"
#include "base/utf8.h"
#include "view/put.h"

#define ROWS  6 /* a blank one first */
#define LINES 2 /* of what is understood */

static void draw_offers(const struct cb_entry *entry, struct cb_grid *grid, int row)
{
    const struct cb_quick *read = entry->read;
    int column = 1;
    /* The marked one is always seen: those before it give way. */
    size_t first = 0;
    for (int width = 0; first <= entry->mark; first++) {
        width = 0;
        for (size_t i = first; i <= entry->mark && i < read->offer_count; i++) {
            width += cb_utf8_text_width(read->offers[i].word) + 3;
        }
        if (width < grid->columns - 2) {
            break;
        }
    }
    for (size_t i = first; i < read->offer_count && column < grid->columns - 4; i++) {
        const bool marked = i == entry->mark;
        cb_grid_put(grid, row, column, 0, CB_ROLE_KEY, marked ? "\u25B8" : " ");
        column += 1 + cb_grid_cut(grid, row, column + 1, grid->columns - column - 2,
                                  marked ? CB_ROLE_STRONG : CB_ROLE_DIM, read->offers[i].word);
        column += 2;
    }
}

/* A key is named only where it does what it says. */
static void draw_keys(const struct cb_entry *entry, struct cb_grid *grid, int row)
{
    const struct cb_quick *read = entry->read;
    const bool asks = read->asks && entry->mark == 0;
    int at = 1;
    if (read->complete) {
        at += cb_grid_put(grid, row, at, 0, CB_ROLE_DIM,
                          read->asks ? "ENTER: no, it is new   " : "ENTER takes it   ");
    }
    if (asks) {
        at += cb_grid_put(grid, row, at, 0, CB_ROLE_DIM, "TAB: ");
        at += cb_grid_cut(grid, row, at, grid->columns - at - 2, CB_ROLE_DIM, read->offers[0].word);
        at += 3;
    } else {
        at += cb_grid_put(grid, row, at, 0, CB_ROLE_DIM,
                          read->offer_count > 0         ? "TAB the word \u25B8   "
                          : entry->line.text[0] != '\0' ? "Ctrl-U clears   "
                                                        : "");
    }
    cb_grid_cut(grid, row, at, 0, CB_ROLE_DIM, "ESC leaves");
}

static void draw(const struct cb_app *app, struct cb_grid *grid)
{
    const struct cb_entry *entry = cb_app_entry(app);
    const int last = grid->rows - 1, row = last - ROWS + 2;
    cb_grid_fill(grid, row - 1, 0, ROWS, grid->columns, CB_ROLE_PLAIN, ' ');
    const int used =
        cb_grid_put(grid, row, 1, 0, CB_ROLE_STRONG, entry->begins ? "Paint now" : "New stage");
    cb_put_field(grid, row, 2 + used, entry->line.text, true);
    const bool blank = entry->line.text[0] == '\0';
    if (blank && entry->read->offer_count == 0) {
        cb_grid_cut(grid, row + 1, 2, grid->columns - 3, CB_ROLE_DIM,
                    "such as oilskin green basecoat oilskin 2:1 x2");
    } else {
        draw_offers(entry, grid, row + 1);
    }
    const bool wrong = entry->line.error[0] != '\0';
    cb_grid_wrap(grid, row + 2, 1, grid->columns - 2, LINES, wrong ? CB_ROLE_WARN : CB_ROLE_DIM,
                 wrong ? entry->line.error : entry->read->sentence);
    draw_keys(entry, grid, last);
}

const struct cb_view cb_view_quick = {
    .name = "quick",
    .opens = CB_ACTION_QUICK,
    .flags = CB_VIEW_TYPES | CB_VIEW_OVER,
    .draw = draw,
    .open = cb_entry_open,
    .key = cb_entry_key,
};
