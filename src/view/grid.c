/* SPDX-License-Identifier: MIT */
#include "view/grid.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/utf8.h"

#define TEXT_MAX 1024 /* bytes of one cb_grid_putf */

static const struct cb_cell blank = {' ', 1, CB_ROLE_PLAIN};

void cb_grid_init(struct cb_grid *grid, int rows, int columns)
{
    grid->rows = rows < 1 ? 1 : rows;
    grid->columns = columns < 1 ? 1 : columns;
    grid->cells = cb_mem_new((size_t)grid->rows * (size_t)grid->columns, sizeof *grid->cells);
    grid->ascii = grid->plain = false;
    cb_grid_clear(grid);
}

void cb_grid_fini(struct cb_grid *grid)
{
    if (grid) {
        free(grid->cells);
        grid->cells = NULL;
        grid->rows = grid->columns = 0;
    }
}

void cb_grid_clear(struct cb_grid *grid)
{
    for (int i = 0; i < grid->rows * grid->columns; i++) {
        grid->cells[i] = blank;
    }
    grid->cursor_row = grid->cursor_column = -1;
    grid->cursor_shown = false;
}

static bool inside(const struct cb_grid *grid, int row, int column)
{
    return row >= 0 && row < grid->rows && column >= 0 && column < grid->columns;
}

static struct cb_cell *at(struct cb_grid *grid, int row, int column)
{
    return &grid->cells[row * grid->columns + column];
}

/* Half a wide character left alone would shift the row on the terminal. */
static void part_wide(struct cb_grid *grid, int row, int column)
{
    struct cb_cell *cell = at(grid, row, column);
    if (cell->cp == 0 && column > 0) {
        *at(grid, row, column - 1) = blank;
    } else if (cell->width == 2 && column + 1 < grid->columns) {
        *at(grid, row, column + 1) = blank;
    }
}

static void set(struct cb_grid *grid, int row, int column, uint32_t cp, int width,
                enum cb_role role)
{
    if (!inside(grid, row, column)) {
        return;
    }
    part_wide(grid, row, column);
    *at(grid, row, column) = (struct cb_cell){cp, (uint8_t)width, (uint8_t)role};
    if (width == 2) {
        part_wide(grid, row, column + 1);
        *at(grid, row, column + 1) = (struct cb_cell){0, 1, (uint8_t)role};
    }
}

/* Near signs in ASCII: symbols of state keep apart from each other. */
static const struct {
    uint32_t cp;
    char near;
} near_signs[] = {
    {0x2248, '~'},  {0x25B8, '>'}, {0x25CF, '*'}, {0x25CB, 'o'}, {0x2713, 'v'}, {0x2016, '!'},
    {0x00B7, '.'},  {0x2026, '.'}, {0x2500, '-'}, {0x2502, '|'}, {0x2588, '#'}, {0x2593, '#'},
    {0x2592, '='},  {0x2591, '-'}, {0x2013, '-'}, {0x2014, '-'}, {0x2212, '-'}, {0x2018, '\''},
    {0x2019, '\''}, {0x201C, '"'}, {0x201D, '"'}, {0x00D7, 'x'}, {0x00B1, '~'}, {0x00B0, 'o'},
    {0x00E4, 'a'},  {0x00F6, 'o'}, {0x00FC, 'u'}, {0x00E9, 'e'}, {0x00E8, 'e'}, {0x00E0, 'a'},
    {0x25A0, '#'},  {0x25A1, '.'}, {0x2192, '>'}, {0x2190, '<'}, {0x2191, '^'}, {0x2193, 'v'},
    {0x2581, '_'},  {0x2582, '_'}, {0x2583, '_'}, {0x2584, '='}, {0x2585, '='}, {0x2586, '='},
    {0x2587, '#'},  {0x258C, '#'}, {0x2590, '#'}, {0x2580, '#'}, {0x253C, '+'}, {0x2534, '+'},
    {0x252C, '+'},  {0x25C6, '*'}, {0x2022, '*'},
};

static uint32_t to_ascii(uint32_t cp)
{
    if (cp < 0x80) {
        return cp;
    }
    for (size_t i = 0; i < sizeof near_signs / sizeof *near_signs; i++) {
        if (near_signs[i].cp == cp) {
            return (uint32_t)near_signs[i].near;
        }
    }
    return '?';
}

/* Of the rules and blocks of Unicode (2500 to 259F), which are pictures and no text. */
static bool is_drawn(uint32_t cp)
{
    return cp >= 0x2500 && cp <= 0x259F;
}

int cb_grid_put(struct cb_grid *grid, int row, int column, int max, enum cb_role role,
                const char *text)
{
    int limit = grid->columns - column;
    if (max > 0 && max < limit) {
        limit = max;
    }
    if (row < 0 || row >= grid->rows || limit <= 0 || !text) {
        return 0;
    }
    int used = 0;
    for (uint32_t cp = cb_utf8_next(&text); cp != 0; cp = cb_utf8_next(&text)) {
        int width = cb_utf8_width(cp);
        if (!cb_utf8_is_safe(cp) || width < 1) {
            cp = '?';
            width = 1;
        }
        if (grid->plain && is_drawn(cp)) {
            cp = ' ';
        }
        if (grid->ascii) {
            cp = to_ascii(cp);
            width = 1;
        }
        if (used + width > limit) {
            break;
        }
        if (column + used >= 0) {
            set(grid, row, column + used, cp, width, role);
        }
        used += width;
    }
    return used;
}

int cb_grid_putf(struct cb_grid *grid, int row, int column, int max, enum cb_role role,
                 const char *format, ...)
{
    char text[TEXT_MAX];
    va_list list;
    va_start(list, format);
    vsnprintf(text, sizeof text, format, list);
    va_end(list);
    return cb_grid_put(grid, row, column, max, role, text);
}

void cb_grid_fill(struct cb_grid *grid, int row, int column, int rows, int columns,
                  enum cb_role role, uint32_t cp)
{
    if (!cb_utf8_is_safe(cp) || cb_utf8_width(cp) != 1) {
        cp = '?';
    }
    if (grid->plain && is_drawn(cp)) {
        cp = ' ';
    }
    if (grid->ascii) {
        cp = to_ascii(cp);
    }
    int row_end = row + rows < grid->rows ? row + rows : grid->rows;
    int column_end = column + columns < grid->columns ? column + columns : grid->columns;
    for (int r = row < 0 ? 0 : row; r < row_end; r++) {
        for (int c = column < 0 ? 0 : column; c < column_end; c++) {
            set(grid, r, c, cp, 1, role);
        }
    }
}

void cb_grid_style(struct cb_grid *grid, int row, int column, int columns, enum cb_role role)
{
    for (int c = column; c < column + columns; c++) {
        if (inside(grid, row, c)) {
            at(grid, row, c)->role = (uint8_t)role;
        }
    }
}

/* Four columns by five rows, a bit a cell, the left one highest. */
static const struct {
    char sign;
    uint8_t rows[CB_GRID_BIG_ROWS];
} glyphs[] = {
    {'0', {0xF, 0x9, 0x9, 0x9, 0xF}}, {'1', {0x2, 0x6, 0x2, 0x2, 0x7}},
    {'2', {0xF, 0x1, 0xF, 0x8, 0xF}}, {'3', {0xF, 0x1, 0x7, 0x1, 0xF}},
    {'4', {0x9, 0x9, 0xF, 0x1, 0x1}}, {'5', {0xF, 0x8, 0xF, 0x1, 0xF}},
    {'6', {0xF, 0x8, 0xF, 0x9, 0xF}}, {'7', {0xF, 0x1, 0x2, 0x4, 0x4}},
    {'8', {0xF, 0x9, 0xF, 0x9, 0xF}}, {'9', {0xF, 0x9, 0xF, 0x1, 0xF}},
    {':', {0x0, 0x6, 0x0, 0x6, 0x0}}, {'-', {0x0, 0x0, 0xF, 0x0, 0x0}},
    {' ', {0x0, 0x0, 0x0, 0x0, 0x0}},
};

int cb_grid_scaled(struct cb_grid *grid, int row, int column, int scale, enum cb_role role,
                   const char *text)
{
    int used = 0;
    if (grid->plain) {
        cb_grid_put(grid, row, column, 0, role, text);
        return ((int)strlen(text) * (CB_GRID_BIG_COLUMNS + 1) - 1) * scale;
    }
    for (; *text; text++) {
        for (size_t g = 0; g < sizeof glyphs / sizeof *glyphs; g++) {
            if (glyphs[g].sign != *text) {
                continue;
            }
            for (int r = 0; r < CB_GRID_BIG_ROWS; r++) {
                for (int c = 0; c < CB_GRID_BIG_COLUMNS; c++) {
                    if (glyphs[g].rows[r] & (8 >> c)) {
                        cb_grid_fill(grid, row + r * scale, column + used + c * scale, scale, scale,
                                     role, 0x2588);
                    }
                }
            }
            used += (CB_GRID_BIG_COLUMNS + 1) * scale;
            break;
        }
    }
    return used > 0 ? used - scale : 0;
}

int cb_grid_big(struct cb_grid *grid, int row, int column, enum cb_role role, const char *text)
{
    return cb_grid_scaled(grid, row, column, 1, role, text);
}

void cb_grid_window(struct cb_grid *grid, int row, int column, int rows, const struct cb_grid *tall,
                    int top)
{
    const int room = grid->columns - column;
    const int columns = tall->columns < room ? tall->columns : room;
    for (int i = 0; i < rows && row + i < grid->rows && top + i < tall->rows && columns > 0; i++) {
        memcpy(&grid->cells[(size_t)(row + i) * (size_t)grid->columns + (size_t)column],
               &tall->cells[(size_t)(top + i) * (size_t)tall->columns],
               (size_t)columns * sizeof *tall->cells);
    }
}

bool cb_grid_equal(const struct cb_grid *a, const struct cb_grid *b)
{
    if (a->rows != b->rows || a->columns != b->columns || a->cursor_row != b->cursor_row ||
        a->cursor_column != b->cursor_column || a->cursor_shown != b->cursor_shown) {
        return false;
    }
    for (int i = 0; i < a->rows * a->columns; i++) {
        if (a->cells[i].cp != b->cells[i].cp || a->cells[i].width != b->cells[i].width ||
            a->cells[i].role != b->cells[i].role) {
            return false;
        }
    }
    return true;
}

void cb_grid_dump(const struct cb_grid *grid, struct cb_str *out)
{
    for (int r = 0; r < grid->rows; r++) {
        const struct cb_cell *row = &grid->cells[r * grid->columns];
        int end = grid->columns;
        while (end > 0 && row[end - 1].cp == ' ') {
            end--;
        }
        for (int c = 0; c < end; c++) {
            char bytes[5];
            if (row[c].cp != 0) {
                cb_str_add_n(out, bytes, cb_utf8_write(row[c].cp, bytes));
            }
        }
        cb_str_add(out, "\n");
    }
}

/* A number stays with its unit. */
static bool breaks(const char *text, const char *at)
{
    return *at == ' ' && !(at > text && at[-1] >= '0' && at[-1] <= '9');
}

int cb_grid_wrap(struct cb_grid *grid, int row, int column, int columns, int max_rows,
                 enum cb_role role, const char *text)
{
    int rows = 0;
    while (*text && rows < max_rows && columns > 0) {
        const char *end = text, *walk = text, *gap = NULL;
        int width = 0;
        while (*walk) {
            const char *before = walk;
            int w = cb_utf8_width(cb_utf8_next(&walk));
            width += w < 1 ? 1 : w;
            if (width > columns) {
                walk = before;
                break;
            }
            if (breaks(text, before)) {
                gap = before;
            }
            end = walk;
        }
        if (*walk && !breaks(text, walk) && gap && gap > text) {
            end = gap;
        }
        if (*end && rows == max_rows - 1) {
            cb_grid_cut(grid, row + rows, column, columns, role, text);
            return rows + 1;
        }
        if (end == text) {
            cb_utf8_next(&end);
        }
        struct cb_str line = {0};
        cb_str_add_n(&line, text, (size_t)(end - text));
        cb_grid_put(grid, row + rows, column, columns, role, cb_str_text(&line));
        cb_str_fini(&line);
        rows++;
        text = end;
        while (*text == ' ') {
            text++;
        }
    }
    return rows;
}

int cb_grid_rows_of(const char *text, int columns)
{
    struct cb_grid grid;
    cb_grid_init(&grid, 8, columns < 1 ? 1 : columns);
    int rows = cb_grid_wrap(&grid, 0, 0, grid.columns, 8, CB_ROLE_PLAIN, text);
    cb_grid_fini(&grid);
    return rows;
}

int cb_grid_cut(struct cb_grid *grid, int row, int column, int max, enum cb_role role,
                const char *text)
{
    int limit = grid->columns - column;
    if (max > 0 && max < limit) {
        limit = max;
    }
    if (limit <= 0) {
        return 0;
    }
    if (cb_utf8_text_width(text) <= limit) {
        return cb_grid_put(grid, row, column, limit, role, text);
    }
    struct cb_arena arena = {0};
    int used = cb_grid_put(grid, row, column, limit, role, cb_utf8_clean(&arena, text, limit));
    cb_arena_fini(&arena);
    return used;
}
