/* SPDX-License-Identifier: MIT */
#include "view/put.h"

#include <stdio.h>
#include <string.h>

#include "app/session.h"
#include "base/utf8.h"

#define GAP 2 /* columns between two keys */

void cb_put_sign(const struct cb_app *app, const struct cb_scene_film *film, struct cb_grid *grid,
                 int row, int column, enum cb_role role)
{
    const char *sign = film ? cb_lines_sign(app, film->film->drying) : " ";
    if (sign[0] != ' ') {
        cb_grid_put(grid, row, column - 1, 1, role, sign);
    }
}

void cb_put_film(const struct cb_app *app, const struct cb_scene *scene,
                 const struct cb_scene_film *film, struct cb_grid *grid, int row, int column,
                 int columns, enum cb_role role)
{
    struct cb_arena arena = {0};
    if (film->forecast.dry) {
        cb_put_sign(app, film, grid, row, column, role);
    }
    cb_grid_cut(grid, row, column, columns, role, cb_lines_film(app, scene, film, columns, &arena));
    cb_arena_fini(&arena);
}

void cb_put_focus(struct cb_grid *grid, int row, int column)
{
    grid->cursor_row = row;
    grid->cursor_column = column;
    grid->cursor_shown = false;
}

void cb_put_field(struct cb_grid *grid, int row, int column, const char *text, bool active)
{
    int width = grid->columns - column - 1;
    if (width < 4) {
        return;
    }
    while (*text && cb_utf8_text_width(text) > width - 1) {
        cb_utf8_next(&text);
    }
    int used = cb_grid_put(grid, row, column, width, active ? CB_ROLE_INPUT : CB_ROLE_STRONG, text);
    if (active) {
        cb_grid_fill(grid, row, column + used, 1, used < 12 ? 12 - used : 1, CB_ROLE_INPUT, ' ');
        cb_put_focus(grid, row, column + used < grid->columns ? column + used : grid->columns - 1);
        grid->cursor_shown = true;
    }
}

/* "UP DOWN stage", "p pause": the keys in names; "" where none is bound. The columns of it all. */
static int key_text(const struct cb_app *app, const struct cb_view_key *key,
                    char names[2 * CB_KEY_NAME_MAX], const char **word)
{
    const struct cb_keymap *keymap = &cb_app_session(app)->keymap;
    const char *first = cb_keymap_name(keymap, key->action);
    const char *second = cb_keymap_name(keymap, key->other);
    snprintf(names, 2 * CB_KEY_NAME_MAX, "%s%s%s", first, first[0] && second[0] ? " " : "", second);
    *word = key->word ? key->word : cb_action_footer(key->action);
    return names[0] ? cb_utf8_text_width(names) + 1 + cb_utf8_text_width(*word) : 0;
}

static bool is_kept(const struct cb_view_key *key)
{
    return key->action == CB_ACTION_HELP || key->action == CB_ACTION_QUIT;
}

void cb_put_keys(const struct cb_app *app, const struct cb_view_key *keys, struct cb_grid *grid,
                 int row, int column)
{
    char names[2 * CB_KEY_NAME_MAX];
    const char *word;
    int kept = 0; /* the columns that help and quit still need, blanks before them */
    for (const struct cb_view_key *key = keys; key->action != CB_ACTION_NONE; key++) {
        const int width = is_kept(key) ? key_text(app, key, names, &word) : 0;
        kept += width ? width + GAP : 0;
    }
    for (const struct cb_view_key *key = keys; key->action != CB_ACTION_NONE; key++) {
        const int width = key_text(app, key, names, &word);
        kept -= is_kept(key) && width ? width + GAP : 0;
        if (width == 0 || (!is_kept(key) && column + width + kept >= grid->columns)) {
            continue;
        }
        column += cb_grid_put(grid, row, column, 0, CB_ROLE_KEY, names) + 1;
        column += cb_grid_put(grid, row, column, 0, CB_ROLE_DIM, word) + GAP;
    }
}
