/* SPDX-License-Identifier: MIT */
/* The stage in hand as a form; below it, in grey, what is still to mix. */
#include "app/edit.h"
#include "app/session.h"
#include "app/look.h"
#include "view/put.h"

#define LABEL_COLUMNS 12
#define HINT_ROWS     2 /* of a hint or a fault at most */
#define LEFT_ROWS     2

static int hint_rows(const struct cb_app *app, int columns, struct cb_arena *arena)
{
    const struct cb_edit *edit = cb_app_edit(app);
    const struct cb_typed *field = &edit->fields[edit->field];
    const int rows = cb_grid_rows_of(
        field->error[0] ? field->error : cb_edit_hint(app, edit->field, arena), columns);
    return rows < 1 ? 1 : rows > HINT_ROWS ? HINT_ROWS : rows;
}

/* All fields on a grid as tall as they are; where the one typed in stands. */
static int draw_fields(const struct cb_app *app, struct cb_grid *tall, struct cb_arena *arena)
{
    const struct cb_edit *edit = cb_app_edit(app);
    int row = 0, active_row = 0;
    for (int i = 0; i < CB_REVISE_FIELDS; i++) {
        const struct cb_typed *field = &edit->fields[i];
        const bool active = i == edit->field;
        if (!edit->there[i]) {
            continue;
        }
        if (active) {
            active_row = row;
            cb_grid_put(tall, row, 0, 0, CB_ROLE_KEY, "\u25B8");
        }
        cb_grid_cut(tall, row, 1, LABEL_COLUMNS - 1, active ? CB_ROLE_STRONG : CB_ROLE_DIM,
                    cb_edit_label(app, i, arena));
        cb_put_field(tall, row, 1 + LABEL_COLUMNS, field->text, active);
        if (field->text[0] == '\0') {
            cb_grid_put(tall, row, 1 + LABEL_COLUMNS, 0, CB_ROLE_DIM,
                        cb_edit_unsaid(app, i, arena));
        }
        row++;
        if (active) {
            const char *text = field->error[0] ? field->error : cb_edit_hint(app, i, arena);
            const int columns = tall->columns - LABEL_COLUMNS - 2;
            cb_grid_wrap(tall, row, 1 + LABEL_COLUMNS, columns, HINT_ROWS,
                         field->error[0] ? CB_ROLE_WARN : CB_ROLE_DIM, text);
            row += hint_rows(app, columns, arena);
        }
    }
    return active_row;
}

static int field_rows(const struct cb_app *app, int columns, struct cb_arena *arena)
{
    int rows = hint_rows(app, columns - LABEL_COLUMNS - 2, arena);
    for (int i = 0; i < CB_REVISE_FIELDS; i++) {
        rows += cb_app_edit(app)->there[i];
    }
    return rows;
}

static void draw_keys(struct cb_grid *grid, int row)
{
    static const struct {
        const char *key, *word;
    } keys[] = {
        {"ENTER", "writes"}, {"UP DOWN", "field"}, {"LEFT RIGHT", "turn"}, {"ESC", "leaves"}};
    int column = 1;
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        column += cb_grid_put(grid, row, column, 0, CB_ROLE_KEY, keys[i].key) + 1;
        if (grid->columns >= 60 || i == 0) {
            column += cb_grid_put(grid, row, column, 0, CB_ROLE_DIM, keys[i].word) + 2;
        } else {
            column++;
        }
    }
}

static void draw(const struct cb_app *app, struct cb_grid *grid)
{
    const struct cb_edit *edit = cb_app_edit(app);
    struct cb_arena arena = {0};
    if (!edit->from) { /* shown by its name alone: nothing is in hand */
        cb_grid_put(grid, 0, 1, 0, CB_ROLE_DIM, "no stage is in hand");
        return;
    }
    const int used = cb_grid_put(grid, 0, 1, 0, CB_ROLE_STRONG, "Change");
    const struct cb_stage *stage = &edit->revise.recipe->stages[edit->revise.stage];
    cb_grid_cut(grid, 0, 2 + used, 0, CB_ROLE_PAINT, stage->name);
    const char *left = cb_edit_left(app, &arena);
    int left_rows = left ? cb_grid_rows_of(left, grid->columns - 2) : 0;
    left_rows = left_rows > LEFT_ROWS ? LEFT_ROWS : left_rows;
    const int room = grid->rows - 2 - left_rows;
    struct cb_grid tall;
    const int rows = field_rows(app, grid->columns, &arena);
    cb_grid_init(&tall, rows, grid->columns);
    tall.ascii = grid->ascii;
    const int active = draw_fields(app, &tall, &arena);
    int top = active + 3 - room; /* its hint in sight too */
    top = top > rows - room ? rows - room : top;
    top = top < 0 ? 0 : top;
    cb_grid_window(grid, 1, 0, room, &tall, top);
    cb_put_focus(grid, 1 + (tall.cursor_row < 0 ? active : tall.cursor_row) - top,
                 tall.cursor_row < 0 ? 1 : tall.cursor_column);
    grid->cursor_shown = tall.cursor_shown;
    cb_grid_fini(&tall);
    if (left) {
        cb_grid_wrap(grid, grid->rows - 1 - left_rows, 1, grid->columns - 2, LEFT_ROWS, CB_ROLE_DIM,
                     left);
    }
    draw_keys(grid, grid->rows - 1);
    cb_arena_fini(&arena);
}

const struct cb_view cb_view_edit = {
    .name = "edit",
    .opens = CB_ACTION_NONE,
    .flags = CB_VIEW_TYPES | CB_VIEW_NEEDS_UNIT | CB_VIEW_OF_UNIT,
    .draw = draw,
    .key = cb_edit_key,
};
