/* SPDX-License-Identifier: MIT */
/*
 * A screen as a value: cells of character, width and style role. Views draw into it and nothing
 * else; the terminal edge and the tests read it. Nothing can be written outside it, and no
 * unsafe code point gets in (see cb_utf8_is_safe).
 */
#ifndef CB_VIEW_GRID_H
#define CB_VIEW_GRID_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "app/role.h"
#include "base/str.h"

#define CB_GRID_BIG_ROWS    5
#define CB_GRID_BIG_COLUMNS 4 /* of one digit; one blank between */

struct cb_cell {
    uint32_t cp;   /* ' ' when empty; 0: right half of a wide one */
    uint8_t width; /* 1 or 2 */
    uint8_t role;
};

struct cb_grid {
    int rows, columns;
    struct cb_cell *cells;         /* rows * columns, row after row */
    int cursor_row, cursor_column; /* where the focus is, for braille and voice; -1: nowhere */
    bool cursor_shown;             /* text is typed there; else it is placed unseen */
    bool ascii; /* cb_grid_put replaces what is not ASCII by a near sign or '?' */
    bool plain; /* to be read aloud: big digits are digits, rules and blocks are blank */
};

void cb_grid_init(struct cb_grid *grid, int rows, int columns); /* at least 1x1; blank */
void cb_grid_fini(struct cb_grid *grid);
void cb_grid_clear(struct cb_grid *grid);
/* Writes text from the column on, clipped at max columns (0: to the edge) and at the grid; the
 * columns used. Unsafe code points become '?'. */
int cb_grid_put(struct cb_grid *grid, int row, int column, int max, enum cb_role role,
                const char *text);
int cb_grid_putf(struct cb_grid *grid, int row, int column, int max, enum cb_role role,
                 const char *format, ...) __attribute__((format(printf, 6, 7)));
void cb_grid_fill(struct cb_grid *grid, int row, int column, int rows, int columns,
                  enum cb_role role, uint32_t cp);
/* Restyles what is there. */
void cb_grid_style(struct cb_grid *grid, int row, int column, int columns, enum cb_role role);
/* Big digits, 5 rows high, 4 columns each and one between: 0-9, ':', '-', ' '. Columns used. */
int cb_grid_big(struct cb_grid *grid, int row, int column, enum cb_role role, const char *text);
/* The same with each of its cells scale times as wide and high. */
int cb_grid_scaled(struct cb_grid *grid, int row, int column, int scale, enum cb_role role,
                   const char *text);
/* Puts text over at most max_rows rows, broken at blanks; the rows used. */
int cb_grid_wrap(struct cb_grid *grid, int row, int column, int columns, int max_rows,
                 enum cb_role role, const char *text);
/* The rows that text would take. */
int cb_grid_rows_of(const char *text, int columns);
/* Puts text cut to max columns with an ellipsis; the columns used. */
int cb_grid_cut(struct cb_grid *grid, int row, int column, int max, enum cb_role role,
                const char *text);

/* Copies rows of tall, from its row `top` on, to that place; as far as both reach. */
void cb_grid_window(struct cb_grid *grid, int row, int column, int rows, const struct cb_grid *tall,
                    int top);
bool cb_grid_equal(const struct cb_grid *a, const struct cb_grid *b);
/* As text: exactly rows lines, blanks at the end of a line cut. */
void cb_grid_dump(const struct cb_grid *grid, struct cb_str *out);

#endif
