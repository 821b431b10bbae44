/* SPDX-License-Identifier: MIT */
#include "command/svg_screen.h"

#include <string.h>

#include "base/utf8.h"
#include "command/markup.h"

#define CELL_WIDTH                                                                                 \
    9 /* pixels; 0.6 of the size of the letters, as most fonts of one width have it */
#define CELL_HEIGHT 18
#define LETTERS     15
#define BASELINE    14 /* of the letters, below the top of a cell */
#define MARGIN      12

/* A terminal's own colours, which a theme leaves alone: nearly white on nearly black. */
#define OWN_FG 254
#define OWN_BG 233

/* The colours that xterm gives to 16 to 255: a cube of six levels each, then 24 greys (xterm,
 * 256colres.pl). The first sixteen are each terminal's own, and no theme of 256 uses them but black
 * and white. */
static unsigned rgb_of(int colour)
{
    static const unsigned levels[] = {0x00, 0x5f, 0x87, 0xaf, 0xd7, 0xff};
    if (colour >= 232) {
        const unsigned grey = 8 + 10 * (unsigned)(colour - 232);
        return grey << 16 | grey << 8 | grey;
    }
    if (colour >= 16) {
        const int place = colour - 16;
        return levels[place / 36] << 16 | levels[place / 6 % 6] << 8 | levels[place % 6];
    }
    return colour == 0 ? 0x000000 : 0xffffff;
}

struct look {
    int fg, bg; /* of 256; bg OWN_BG: none is painted */
    bool bold, dim, underline;
};

static struct look look_of(const struct cb_style *style)
{
    const int fg = style->fg256 >= 0 ? style->fg256 : OWN_FG;
    const int bg = style->bg256 >= 0 ? style->bg256 : OWN_BG;
    return (struct look){
        .fg = style->reverse ? bg : fg,
        .bg = style->reverse ? fg : bg,
        .bold = style->bold,
        .dim = style->dim,
        .underline = style->underline,
    };
}

static bool same_look(const struct look *a, const struct look *b)
{
    return a->fg == b->fg && a->bg == b->bg && a->bold == b->bold && a->dim == b->dim &&
           a->underline == b->underline;
}

/* What is drawn of a cell instead of being written, in eighths of it. */
struct shape {
    int left, top, right, bottom;
    int opacity; /* per cent */
};

static bool shape_of(uint32_t cp, struct shape *shape)
{
    static const struct {
        uint32_t cp;
        struct shape shape;
    } others[] = {
        {0x2580, {0, 0, 8, 4, 100}}, /* upper half */
        {0x2590, {4, 0, 8, 8, 100}}, /* right half */
        {0x2591, {0, 0, 8, 8, 25}},  {0x2592, {0, 0, 8, 8, 50}}, {0x2593, {0, 0, 8, 8, 75}},
    };
    if (cp >= 0x2581 && cp <= 0x2588) {
        *shape = (struct shape){0, 8 - (int)(cp - 0x2580), 8, 8, 100};
        return true;
    }
    if (cp >= 0x2589 && cp <= 0x258F) {
        *shape = (struct shape){0, 0, (int)(0x2590 - cp), 8, 100};
        return true;
    }
    for (size_t i = 0; i < sizeof others / sizeof *others; i++) {
        if (others[i].cp == cp) {
            *shape = others[i].shape;
            return true;
        }
    }
    return false;
}

/* The arms of a thin line, as bits: left 1, up 2, right 4, down 8; 0: it is none. */
static unsigned arms_of(uint32_t cp)
{
    static const struct {
        uint32_t cp;
        unsigned arms;
    } lines[] = {
        {0x2500, 1 | 4},     {0x2502, 2 | 8},     {0x250C, 4 | 8},         {0x2510, 1 | 8},
        {0x2514, 2 | 4},     {0x2518, 1 | 2},     {0x251C, 2 | 4 | 8},     {0x2524, 1 | 2 | 8},
        {0x252C, 1 | 4 | 8}, {0x2534, 1 | 2 | 4}, {0x253C, 1 | 2 | 4 | 8},
    };
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        if (lines[i].cp == cp) {
            return lines[i].arms;
        }
    }
    return 0;
}

static bool is_drawn(uint32_t cp)
{
    struct shape shape;
    return arms_of(cp) != 0 || shape_of(cp, &shape);
}

struct pen {
    const struct cb_grid *grid;
    struct cb_str *out;
    struct look looks[CB_ROLE_COUNT];
    int first[CB_ROLE_COUNT]; /* the first role that looks as this one */
    bool used[CB_ROLE_COUNT]; /* by a cell */
};

static const struct cb_cell *cell_at(const struct pen *pen, int row, int column)
{
    return &pen->grid->cells[row * pen->grid->columns + column];
}

static int role_at(const struct pen *pen, int row, int column)
{
    return pen->first[cell_at(pen, row, column)->role];
}

static void rectangle(struct cb_str *path, double x, double y, double width, double height)
{
    cb_str_addf(path, "M%g %gh%gv%gh%gz", x, y, width, height, -width);
}

/* The columns from there on that are alike in sign and look. */
static int alike(const struct pen *pen, int row, int column)
{
    int count = 1;
    while (column + count < pen->grid->columns &&
           cell_at(pen, row, column + count)->cp == cell_at(pen, row, column)->cp &&
           role_at(pen, row, column + count) == role_at(pen, row, column)) {
        count++;
    }
    return count;
}

/* What is alike and touches is one rectangle, so that no seam shows between cells. */
static void add_shape(struct cb_str *path, const struct shape *shape, int row, int column,
                      int count)
{
    const double x = column * CELL_WIDTH + shape->left * CELL_WIDTH / 8.0;
    const double y = row * CELL_HEIGHT + shape->top * CELL_HEIGHT / 8.0;
    const double height = (shape->bottom - shape->top) * CELL_HEIGHT / 8.0;
    if (shape->left == 0 && shape->right == 8) {
        rectangle(path, x, y, count * CELL_WIDTH, height);
        return;
    }
    for (int n = 0; n < count; n++) {
        rectangle(path, x + n * CELL_WIDTH, y, (shape->right - shape->left) * CELL_WIDTH / 8.0,
                  height);
    }
}

static void add_arms(struct cb_str *path, unsigned arms, int row, int column, int count)
{
    const int middle_x = CELL_WIDTH / 2, middle_y = CELL_HEIGHT / 2;
    if (arms == (1 | 4)) {
        rectangle(path, column * CELL_WIDTH, row * CELL_HEIGHT + middle_y, count * CELL_WIDTH, 1);
        return;
    }
    for (int n = 0; n < count; n++) {
        const int x = (column + n) * CELL_WIDTH, y = row * CELL_HEIGHT;
        const int left = arms & 1 ? 0 : middle_x, right = arms & 4 ? CELL_WIDTH : middle_x + 1;
        const int top = arms & 2 ? 0 : middle_y, bottom = arms & 8 ? CELL_HEIGHT : middle_y + 1;
        if (arms & (1 | 4)) {
            rectangle(path, x + left, y + middle_y, right - left, 1);
        }
        if (arms & (2 | 8)) {
            rectangle(path, x + middle_x, y + top, 1, bottom - top);
        }
    }
}

static void flush(struct pen *pen, struct cb_str *path, const char *attributes)
{
    if (path->length > 0) {
        cb_str_addf(pen->out, "<path %s d=\"%s\"/>\n", attributes, cb_str_text(path));
    }
    cb_str_clear(path);
}

/* The grounds of a role's cells, then its blocks and lines. */
static void draw_role(struct pen *pen, int role, struct cb_str *path, struct cb_str *attributes)
{
    static const int opacities[] = {100, 75, 50, 25};
    const struct cb_grid *grid = pen->grid;
    const struct look *look = &pen->looks[role];
    for (size_t pass = 0; pass <= sizeof opacities / sizeof *opacities; pass++) {
        const bool grounds = pass == 0;
        for (int row = 0; row < grid->rows; row++) {
            for (int column = 0, count; column < grid->columns; column += count) {
                count = alike(pen, row, column);
                if (role_at(pen, row, column) != role) {
                    continue;
                }
                if (grounds) {
                    while (column + count < grid->columns &&
                           role_at(pen, row, column + count) == role) {
                        count++;
                    }
                    rectangle(path, column * CELL_WIDTH, row * CELL_HEIGHT, count * CELL_WIDTH,
                              CELL_HEIGHT);
                    continue;
                }
                const uint32_t cp = cell_at(pen, row, column)->cp;
                const int opacity = opacities[pass - 1];
                struct shape shape;
                if (shape_of(cp, &shape) && shape.opacity == opacity) {
                    add_shape(path, &shape, row, column, count);
                }
                if (opacity == 100) {
                    add_arms(path, arms_of(cp), row, column, count);
                }
                if (opacity == 100 && look->underline) {
                    rectangle(path, column * CELL_WIDTH, row * CELL_HEIGHT + BASELINE + 2,
                              count * CELL_WIDTH, 1);
                }
            }
        }
        if (grounds && look->bg == OWN_BG) {
            cb_str_clear(path);
            continue;
        }
        cb_str_clear(attributes);
        cb_str_addf(attributes, "fill=\"#%06x\"", rgb_of(grounds ? look->bg : look->fg));
        if (!grounds && opacities[pass - 1] < 100) {
            cb_str_addf(attributes, " opacity=\"%g\"", opacities[pass - 1] / 100.0);
        }
        flush(pen, path, cb_str_text(attributes));
    }
}

static bool is_written(const struct cb_cell *cell)
{
    return cell->cp != 0 && cell->cp != ' ' && !is_drawn(cell->cp);
}

static void add_cp(struct cb_str *text, uint32_t cp)
{
    char bytes[5];
    cb_str_add_n(text, bytes, cb_utf8_write(cp, bytes));
}

/* Words of one look with single blanks between them. A wide sign stands alone, since textLength
 * spreads its columns evenly over what it holds. */
static int end_of_words(const struct pen *pen, int row, int column)
{
    const int role = role_at(pen, row, column);
    if (cell_at(pen, row, column)->width == 2) {
        return column + 2;
    }
    int end = column + 1;
    for (int at = end; at < pen->grid->columns && role_at(pen, row, at) == role; at++) {
        const struct cb_cell *cell = cell_at(pen, row, at);
        if (is_written(cell) && cell->width == 1) {
            end = at + 1;
        } else if (cell->cp != ' ' || at > end) {
            break;
        }
    }
    return end;
}

static void write_words(struct pen *pen, struct cb_str *text)
{
    for (int row = 0; row < pen->grid->rows; row++) {
        for (int column = 0, end; column < pen->grid->columns; column = end) {
            end = column + 1;
            if (!is_written(cell_at(pen, row, column))) {
                continue;
            }
            end = end_of_words(pen, row, column);
            cb_str_clear(text);
            for (int at = column; at < end; at++) {
                if (cell_at(pen, row, at)->cp != 0) {
                    add_cp(text, cell_at(pen, row, at)->cp);
                }
            }
            cb_str_add(pen->out, "<text");
            if (role_at(pen, row, column) != CB_ROLE_PLAIN) {
                cb_str_addf(pen->out, " class=\"r%d\"", role_at(pen, row, column));
            }
            cb_str_addf(pen->out, " x=\"%d\" y=\"%d\" textLength=\"%d\">", column * CELL_WIDTH,
                        row * CELL_HEIGHT + BASELINE, (end - column) * CELL_WIDTH);
            cb_markup_text(pen->out, cb_str_text(text));
            cb_str_add(pen->out, "</text>\n");
        }
    }
}

/* The words of the screen for who hears it: a row a line, without what is drawn. */
static void describe(struct pen *pen, struct cb_str *text)
{
    for (int row = 0; row < pen->grid->rows; row++) {
        cb_str_clear(text);
        bool gap = false;
        for (int column = 0; column < pen->grid->columns; column++) {
            const struct cb_cell *cell = cell_at(pen, row, column);
            if (is_written(cell)) {
                cb_str_add(text, gap && text->length > 0 ? " " : "");
                add_cp(text, cell->cp);
                gap = false;
            } else {
                gap = gap || cell->cp != 0;
            }
        }
        if (text->length > 0) {
            cb_markup_text(pen->out, cb_str_text(text));
            cb_str_add(pen->out, "\n");
        }
    }
}

static void write_style(struct pen *pen)
{
    cb_str_addf(pen->out, "<style>text{font:%dpx monospace;fill:#%06x}", LETTERS,
                rgb_of(pen->looks[CB_ROLE_PLAIN].fg));
    for (int role = 0; role < CB_ROLE_COUNT; role++) {
        const struct look *look = &pen->looks[role];
        if (pen->used[role] && role != CB_ROLE_PLAIN) {
            cb_str_addf(pen->out, ".r%d{fill:#%06x%s%s}", role, rgb_of(look->fg),
                        look->bold ? ";font-weight:bold" : "", look->dim ? ";opacity:.6" : "");
        }
    }
    cb_str_add(pen->out, "</style>\n");
}

void cb_svg_screen(const struct cb_grid *grid, const struct cb_style theme[CB_ROLE_COUNT],
                   const char *title, struct cb_str *out)
{
    struct pen pen = {.grid = grid, .out = out};
    for (int role = 0; role < CB_ROLE_COUNT; role++) {
        pen.looks[role] = look_of(&theme[role]);
        pen.first[role] = role;
        for (int other = role - 1; other >= 0; other--) {
            pen.first[role] =
                same_look(&pen.looks[role], &pen.looks[other]) ? other : pen.first[role];
        }
    }
    for (int cell = 0; cell < grid->rows * grid->columns; cell++) {
        pen.used[pen.first[grid->cells[cell].role]] = true;
    }
    const int width = grid->columns * CELL_WIDTH + 2 * MARGIN;
    const int height = grid->rows * CELL_HEIGHT + 2 * MARGIN;
    struct cb_str text = {0}, other = {0};
    cb_str_addf(out,
                "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%d\" height=\"%d\" "
                "viewBox=\"0 0 %d %d\" role=\"img\" aria-labelledby=\"title desc\">\n"
                "<title id=\"title\">",
                width, height, width, height);
    cb_markup_text(out, title);
    cb_str_add(out, "</title>\n<desc id=\"desc\">");
    describe(&pen, &text);
    cb_str_add(out, "</desc>\n");
    write_style(&pen);
    cb_str_addf(out, "<rect width=\"%d\" height=\"%d\" rx=\"8\" fill=\"#%06x\"/>\n", width, height,
                rgb_of(OWN_BG));
    cb_str_addf(out, "<g transform=\"translate(%d %d)\">\n", MARGIN, MARGIN);
    for (int role = 0; role < CB_ROLE_COUNT; role++) {
        if (pen.used[role]) {
            draw_role(&pen, role, &text, &other);
        }
    }
    write_words(&pen, &text);
    cb_str_add(out, "</g>\n</svg>\n");
    cb_str_fini(&text);
    cb_str_fini(&other);
}
