/* SPDX-License-Identifier: MIT */
#include <math.h>

#include "command/dry_internal.h"
#include "shell/paths.h"
#include "shell/ring.h"

int cb_dry_ring(const struct cb_dry *dry, const struct cb_dry_film *film)
{
    if (film->held || isnan(film->ping_min)) {
        return cb_command_failf(CB_FAILED, "no time to ring at: it does not dry in this air");
    }
    struct cb_err err = {0};
    const char *name =
        cb_arena_printf(dry->arena, "%s, %s", film->what, cb_technique_name(film->technique));
    struct cb_ring ring = {
        .bell = dry->config->bell ? cb_paths_bell(dry->arena) : NULL,
        .what = name,
        .title = cb_arena_printf(dry->arena, "Dry to recoat: %s", name),
        .body = cb_arena_printf(dry->arena, "the next coat can go on, %.0f %% sure",
                                100 * dry->config->confidence),
        .wait_ms = llround(film->ping_min * (double)CB_MS_PER_MIN),
        .zone = &dry->air.zone,
    };
    return cb_ring_run(&ring, &err) == CB_OK ? 0 : cb_command_fail(&err);
}
