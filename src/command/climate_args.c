/* SPDX-License-Identifier: MIT */
#include "command/climate_args.h"

#include "core/bench/bench.h"
#include "shell/clock.h"
#include "shell/store.h"
#include "shell/yaml.h"

/* The last climate of the bench, where there is a log with one. */
static void climate_of_log(const struct cb_args *args, const struct cb_kinds *kinds,
                           struct cb_climate_args *air)
{
    struct cb_err err = {0};
    const char *log = cb_args_log(args, &err);
    struct cb_store *store = NULL;
    if (log == NULL || cb_store_open(log, CB_STORE_READ, &store, &err) != CB_OK) {
        return;
    }
    const struct cb_store_filter open_units = {.open_units = true};
    const struct cb_event **events = NULL;
    size_t count = 0;
    long long last = 0;
    if (cb_store_load(store, &open_units, args->arena, &events, &count, &last, &err) == CB_OK) {
        struct cb_bench *bench = cb_bench_new(kinds, cb_yaml_read);
        cb_bench_add(bench, events, count);
        const struct cb_moment now = cb_clock_now();
        const struct cb_reading reading = cb_bench_climate_at(bench, 0, cb_bench_time(bench, &now));
        if (reading.from != CB_FROM_DEFAULT && reading.at_ms != CB_TIME_NONE) {
            air->climate = reading.climate;
            air->assumed = false;
            air->log_ms = cb_bench_wall(bench, &now, reading.at_ms);
        }
        cb_bench_free(bench);
    }
    cb_store_close(store);
}

int cb_climate_args_read(const struct cb_args *args, const struct cb_kinds *kinds,
                         const struct cb_config *config, struct cb_climate_args *air)
{
    struct cb_err err = {0};
    const char *temp = cb_args_get(args, "--temp");
    const char *rh = cb_args_get(args, "--rh");
    const char *moves = cb_args_get(args, "--air");
    *air = (struct cb_climate_args){.climate = cb_climate_assumed,
                                    .assumed = temp == NULL && rh == NULL,
                                    .log_ms = CB_TIME_NONE,
                                    .now_ms = cb_clock_now().wall_ms};
    cb_clock_zone(air->now_ms, &air->zone);
    air->zone.half_days = config->half_days;
    if (air->assumed) {
        climate_of_log(args, kinds, air);
        temp = rh = NULL;
    }
    if ((temp == NULL) != (rh == NULL)) {
        return cb_command_failf(CB_USAGE, "%s is missing: give both, --temp 21 --rh 55",
                                temp == NULL ? "--temp" : "--rh");
    }
    if (temp != NULL && (cb_climate_parse_temp(temp, &air->climate.temp_c, &err) != CB_OK ||
                         cb_climate_parse_rh(rh, &air->climate.rh_pct, &err) != CB_OK)) {
        return cb_command_fail(&err);
    }
    if (moves != NULL && !cb_air_from_name(moves, &air->climate.air)) {
        return cb_command_failf(CB_USAGE, "unknown air: %s (--air still, draught, fan or dryer)",
                                moves);
    }
    return 0;
}

const char *cb_climate_args_text(const struct cb_args *args, const struct cb_climate_args *air)
{
    const struct cb_climate *c = &air->climate;
    const char *from = air->assumed ? " (assumed)" : "";
    if (!air->assumed && air->log_ms != CB_TIME_NONE) {
        char date[11], clock[CB_CLOCK_SIZE];
        cb_time_clock(air->log_ms, &air->zone, clock);
        cb_time_date(air->log_ms, &air->zone, date);
        from = air->now_ms - air->log_ms < 24 * 60 * CB_MS_PER_MIN
                   ? cb_arena_printf(args->arena, " (from your bench, %s)", clock)
                   : cb_arena_printf(args->arena, " (from your bench, %s %s)", date, clock);
    }
    return cb_arena_printf(args->arena, "%.4g C, %.4g %%, %s air%s", c->temp_c, c->rh_pct,
                           cb_air_name(c->air), from);
}
