/* SPDX-License-Identifier: MIT */
/* What another painter's coats say of a pot. */
#include "core/bench/bench_internal.h"

#include <math.h>

#include "core/bench/pot_share.h"

void cb_bench_give(struct cb_bench *bench, const struct cb_event *event)
{
    struct cb_arena arena = {0};
    const struct cb_pot_given given = cb_pot_given_of(event);
    struct cb_row row;
    if (cb_pot_given_row(&given, bench->kinds, &arena, &row)) {
        row.pot = cb_bench_pot_of(bench, cb_bench_intern(bench, row.pot));
        row.at_ms = event->at_ms;
        cb_bench_add_row(bench, &row);
    }
    cb_arena_fini(&arena);
}

void cb_bench_given_now(const struct cb_bench *bench, struct cb_row *row)
{
    if (row->kind != CB_ROW_GIVEN) {
        return;
    }
    row->waits = true;
    for (size_t u = 0; u < bench->units.count; u++) {
        const struct cb_bench_unit *unit = bench->units.items[u];
        for (size_t s = 0; !unit->unit.finished && s < unit->unit.recipe->stage_count; s++) {
            if (unit->pot[s] != row->pot) {
                continue;
            }
            row->waits = false;
            /* Films are measured by what the recipe says, and so is this. */
            const struct cb_drying *drying = &unit->unit.drying[s];
            if (drying->from == CB_TIME_DRY && drying->standard_min > 0 &&
                (int)unit->unit.recipe->stages[s].technique == row->technique) {
                row->median_min = drying->standard_min;
            }
        }
    }
}
