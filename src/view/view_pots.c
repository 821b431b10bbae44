/* SPDX-License-Identifier: MIT */
/* The pots: what the log has taught of each paint of the unit. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "view/app_state.h"
#include "view/bench_lines.h"
#include "view/scene.h"
#include "view/view.h"

static const char *pot_of(const struct cb_app *app, const struct cb_unit *unit, size_t stage,
                          struct cb_arena *arena)
{
    int paint = cb_mix_paint(&unit->recipe->stages[stage].mix);
    if (paint < 0) {
        return NULL;
    }
    size_t kind = unit->recipe->paints[paint].kind;
    return cb_pot_key(cb_words_paint(unit, (int)stage + 1), app->kinds->kinds[kind].name, arena);
}

/* One row for each paint and technique, where it comes first. */
static bool stands_before(const struct cb_app *app, const struct cb_unit *unit, size_t stage,
                          struct cb_arena *arena)
{
    const char *pot = pot_of(app, unit, stage, arena);
    for (size_t before = 0; before < stage; before++) {
        const char *other = pot_of(app, unit, before, arena);
        if (other && strcmp(other, pot) == 0 && unit->recipe->stages[before].technique ==
                                                    unit->recipe->stages[stage].technique) {
            return true;
        }
    }
    return false;
}

static void draw(const struct cb_app *app, struct cb_grid *grid)
{
    struct cb_arena arena = {0};
    const struct cb_unit *unit = cb_app_unit(app);
    double confidence = cb_bench_facts(app->bench).confidence;
    char odds[16];
    cb_lines_odds(confidence, odds);
    cb_grid_put(grid, 0, 1, 0, CB_ROLE_STRONG, "Pots");
    cb_words_put(grid, 0, 7, 0, CB_ROLE_TITLE, "dry times at 23 C, 50 %, still air");
    int times = grid->columns >= 60 ? 40 : grid->columns - 22;
    cb_grid_put(grid, 1, 1, times - 2, CB_ROLE_DIM, "PAINT, TECHNIQUE");
    cb_grid_putf(grid, 1, times, 0, CB_ROLE_DIM, "%5s %7s %6s", "HALF", odds, "FILMS");
    int row = 2;
    for (size_t s = 0; unit && s < unit->recipe->stage_count && row < grid->rows - 2; s++) {
        const char *pot = pot_of(app, unit, s, &arena);
        if (!pot || unit->drying[s].from == CB_TIME_ZERO || stands_before(app, unit, s, &arena)) {
            continue;
        }
        double half = cb_forecast_stage_min(app->bench, app->learn, unit, (int)s + 1, 0.5);
        double ping = cb_forecast_stage_min(app->bench, app->learn, unit, (int)s + 1, confidence);
        struct cb_learn_pot known = cb_learn_pot(app->learn, pot, unit->drying[s].pot_sd);
        char *name = cb_arena_printf(&arena, "%s, %s", cb_words_paint(unit, (int)s + 1),
                                     cb_technique_name(unit->recipe->stages[s].technique));
        cb_words_put(grid, row, 1, times - 2, CB_ROLE_PLAIN, name);
        cb_grid_putf(grid, row, times, 0, CB_ROLE_STRONG, "%5.0f %7.0f", half, ping);
        cb_grid_putf(grid, row, times + 14, 0, known.rows ? CB_ROLE_PLAIN : CB_ROLE_DIM, "%6zu",
                     known.rows);
        row++;
    }
    if (row == 2) {
        cb_grid_put(grid, 3, 1, 0, CB_ROLE_PLAIN, "No paint is in use.");
    }
    cb_words_put(grid, grid->rows - 1, 1, grid->columns - 2, CB_ROLE_DIM,
                 "minutes; HALF: as likely dry as not   TAB view   ? keys");
    cb_arena_fini(&arena);
}

const struct cb_view cb_view_pots = {"pots", draw, NULL};
