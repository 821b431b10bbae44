/* SPDX-License-Identifier: MIT */
/* What tests of air and films share: the kinds of paint, and values held between bounds. */
#ifndef CB_TESTS_FILMS_H
#define CB_TESTS_FILMS_H

#include "core/paint/drying.h"
#include "core/paint/flux.h"
#include "shell/paths.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))

static struct cb_arena arena;
static const struct cb_kinds *kinds;

static inline int load(void **state)
{
    (void)state;
    struct cb_err err = {0};
    return cb_paths_kinds(&arena, &kinds, &err) == CB_OK ? 0 : -1;
}

static inline int unload(void **state)
{
    (void)state;
    cb_arena_fini(&arena);
    return 0;
}

static inline void between(const char *what, double got, double low, double high)
{
    if (!(got >= low && got <= high)) {
        print_error("%s: %.9g, wanted %.9g to %.9g\n", what, got, low, high);
    }
    assert_true(got >= low && got <= high);
}

static inline void near(const char *what, double got, double want, double tolerance)
{
    between(what, got, want - tolerance, want + tolerance);
}

static inline struct cb_flux flux(double temp_c, double rh_pct)
{
    const struct cb_exchange exchange =
        cb_flux_exchange(&(struct cb_climate){temp_c, rh_pct, CB_AIR_STILL});
    return cb_flux_through(&exchange, 0);
}

static inline double k(double temp_c, double rh_pct)
{
    return cb_drying_climate_factor(CB_LAW_WATER, temp_c, rh_pct);
}

#endif
