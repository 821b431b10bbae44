/* SPDX-License-Identifier: MIT */
/* Any line as a climate, a temperature, a duration. */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "core/air/climate.h"
#include "core/recipe/recipe.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void check(enum cb_status status, const struct cb_climate *climate, const struct cb_err *err)
{
    if (status == CB_OK) {
        if (!(climate->temp_c >= -20 && climate->temp_c <= 60) ||
            !(climate->rh_pct >= 0 && climate->rh_pct <= 100) || climate->air >= CB_AIR_COUNT) {
            abort();
        }
    } else if (status != CB_USAGE || err->text[0] == '\0' || strchr(err->text, '\n') != NULL) {
        abort();
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct cb_arena arena = {0};
    char *text = cb_arena_text_n(&arena, (const char *)data, size);
    for (char *at = text; *at != '\0'; at++) {
        *at = *at == '\n' ? ' ' : *at; /* one line is what a painter types */
    }
    for (int bare_f = 0; bare_f < 2; bare_f++) {
        struct cb_climate climate = cb_climate_standard;
        struct cb_err err = {0};
        check(cb_climate_parse(text, bare_f == 1, &climate, &err), &climate, &err);
    }
    struct cb_climate climate = cb_climate_standard;
    struct cb_err err = {0};
    check(cb_climate_parse_temp(text, &climate.temp_c, &err), &climate, &err);
    err = (struct cb_err){0};
    check(cb_climate_parse_rh(text, &climate.rh_pct, &err), &climate, &err);
    double minutes = 0;
    if (cb_recipe_minutes(text, &minutes) && !(minutes >= 0)) {
        abort();
    }
    cb_arena_fini(&arena);
    return 0;
}
