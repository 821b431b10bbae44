/* SPDX-License-Identifier: MIT */
#include "support/grid_check.h"

#include "base/utf8.h"

static const char *cell_fault(const struct cb_cell *cell, bool last)
{
    if (cell->role >= CB_ROLE_COUNT) {
        return "a role there is not";
    }
    if (!cb_utf8_is_safe(cell->cp)) {
        return "a character that no terminal may see";
    }
    if (cell->width != cb_utf8_width(cell->cp)) {
        return "a width that is not the character's";
    }
    return cell->width == 2 && (last || cell[1].cp != 0) ? "a wide character that is cut" : NULL;
}

/* In most themes the focus is a bar of light: on blanks alone it marks nothing. */
static bool marks_blanks(const struct cb_cell *cells, int columns)
{
    for (int column = 0; column < columns;) {
        const int start = column;
        bool blank = true;
        for (; column < columns && cells[column].role == CB_ROLE_FOCUS; column++) {
            blank = blank && cells[column].cp == ' ';
        }
        if (column > start && blank) {
            return true;
        }
        column += column == start;
    }
    return false;
}

const char *grid_fault(const struct cb_grid *grid)
{
    const char *fault = NULL;
    for (int row = 0; row < grid->rows; row++) {
        const struct cb_cell *cells = &grid->cells[row * grid->columns];
        for (int column = 0; column < grid->columns && !fault; column += cells[column].width) {
            fault = cell_fault(&cells[column], column == grid->columns - 1);
        }
        if (!fault && marks_blanks(cells, grid->columns)) {
            fault = "blanks in the role of the focus";
        }
    }
    if (grid->cursor_row >= grid->rows || grid->cursor_column >= grid->columns) {
        fault = "a cursor outside the screen";
    }
    return fault;
}
