/* SPDX-License-Identifier: MIT */
/* `sensor`: what a sensor says of the room now, as the bench hears it. */
#include <poll.h>
#include <stdio.h>

#include "app/sensor.h"
#include "base/utf8.h"
#include "command/command.h"
#include "core/air/climate.h"
#include "core/recipe/config.h"
#include "shell/clock.h"
#include "shell/errand.h"
#include "shell/json_write.h"
#include "shell/sensor.h"

#define LOOK_MS 20 /* how soon it is seen that a program has ended; own judgement */

static void add_json(struct cb_json *json, const struct cb_sensor_reading *reading)
{
    cb_json_object(json, NULL);
    cb_json_text(json, "name", reading->name);
    cb_json_number(json, "temp_c", reading->temp_c);
    cb_json_number(json, "rh_pct", reading->rh_pct);
    cb_json_end(json);
}

static void print(const struct cb_args *args, const struct cb_sensor_reading *readings,
                  size_t count)
{
    if (args->json) {
        struct cb_json *json = cb_json_new();
        cb_json_list(json, "sensors");
        for (size_t i = 0; i < count; i++) {
            add_json(json, &readings[i]);
        }
        cb_json_end(json);
        cb_command_print_json(json);
        return;
    }
    const bool all = cb_args_has(args, "--all");
    for (size_t i = 0; i < count; i++) {
        const char *line = cb_sensor_line(&readings[i], args->arena);
        cb_args_print(args,
                      all ? cb_arena_printf(args->arena, "%s  %s", readings[i].name, line) : line);
    }
}

/* Of a program the answer is its own; what the bench makes of it is shown. */
static enum cb_status run_program(const struct cb_args *args, const struct cb_config *config,
                                  struct cb_sensor_reading *reading, struct cb_err *err)
{
    const char *const *words = config->sensor_program.words;
    struct cb_errand errand = {0};
    struct cb_climate climate = cb_climate_standard;
    struct cb_err why = {0};
    if (cb_errand_start(&errand, words, NULL, true, cb_clock_monotonic_ms(), &why) == CB_OK) {
        while (!cb_errand_turn(&errand, cb_clock_monotonic_ms(), &why)) {
            struct pollfd out = {.fd = cb_errand_fd(&errand), .events = POLLIN};
            poll(&out, 1, LOOK_MS);
        }
    }
    if (why.status == CB_OK) {
        (void)cb_sensor_parse(errand.answer, &climate, &why);
    }
    if (why.status != CB_OK) {
        return cb_err_set(err, CB_FAILED, "%.200s: %.200s", words[0], why.text);
    }
    *reading = (struct cb_sensor_reading){.name = cb_utf8_clean(args->arena, words[0], 0),
                                          .temp_c = climate.temp_c,
                                          .rh_pct = climate.rh_pct};
    return CB_OK;
}

/* The devices of this machine, then the program that is set; one that is silent is said apart. */
static int list_all(const struct cb_args *args, const struct cb_config *config)
{
    size_t count;
    const struct cb_sensor_reading *found = cb_sensor_list(CB_SENSOR_ROOT, args->arena, &count);
    struct cb_sensor_reading *all = cb_arena_alloc(args->arena, count + 1, sizeof *all);
    for (size_t i = 0; i < count; i++) {
        all[i] = found[i];
    }
    struct cb_err err = {0};
    if (config->sensor_program.count > 0 && run_program(args, config, &all[count], &err) == CB_OK) {
        count++;
    }
    if (count > 0 || args->json) {
        print(args, all, count);
    }
    if (err.status != CB_OK) {
        return cb_command_fail(&err);
    }
    if (count == 0 && !args->json) { /* which is an answer, too */
        fprintf(stderr, "coatbell: no device here gives temperature and humidity\n");
    }
    return 0;
}

static int run(const struct cb_args *args)
{
    struct cb_err err = {0};
    struct cb_sensor_reading reading = {0};
    const bool list = cb_args_has(args, "--all");
    const char *name = args->operand_count > 0 ? args->operands[0] : NULL;
    const struct cb_config *config = &cb_config_default;
    const struct cb_kinds *kinds = NULL;
    if ((list || name == NULL) && cb_args_settings(args, &kinds, &config, &err) != CB_OK) {
        return cb_command_fail(&err);
    }
    if (list) {
        return list_all(args, config);
    }
    enum cb_status status;
    if (name == NULL && config->sensor_program.count > 0) {
        status = run_program(args, config, &reading, &err);
    } else if (name != NULL || config->sensor != NULL) {
        status = cb_sensor_read(CB_SENSOR_ROOT, name != NULL ? name : config->sensor, args->arena,
                                &reading, &err);
    } else {
        status = cb_err_set(&err, CB_FAILED,
                            "no sensor is set: write sensor: any in config.yaml, or ask for one: "
                            "coatbell sensor any");
    }
    if (status == CB_OK) {
        print(args, &reading, 1);
    }
    return status == CB_OK ? 0 : cb_command_fail(&err);
}

static const struct cb_option options[] = {
    {"--all", NULL, "every sensor of this machine and your program, with its name"},
    {0},
};

const struct cb_command cb_command_sensor = {
    .name = "sensor",
    .operands = "[NAME]",
    .summary = "Print what the sensor says of the room now.",
    .options = options,
    .max_operands = 1,
    .run = run,
};
