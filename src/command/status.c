/* SPDX-License-Identifier: MIT */
/* `status`: one line for a status bar; beside a running bench. */
#include <stdio.h>

#include "base/utf8.h"
#include "command/command.h"
#include "core/bench/forecast.h"
#include "shell/clock.h"
#include "shell/history.h"
#include "shell/json_write.h"
#include "shell/paths.h"
#include "shell/store.h"
#include "shell/yaml.h"
#include "app/app.h"
#include "app/scene.h"

struct status {
    const struct cb_args *args;
    struct cb_bench *bench;
    const struct cb_kinds *kinds;
    struct cb_taught taught;
    struct cb_moment now;
    struct cb_zone zone;
};

static void print_line(const struct status *status, const char *text)
{
    struct cb_str out = {0};
    cb_command_lines(&out, text, status->args->ascii);
    cb_command_print(stdout, &out);
}

/* Every film that may still be wet, one a line. */
static void print_films(const struct status *status, const struct cb_scene *scene)
{
    for (size_t i = 0; i < scene->film_count; i++) {
        const struct cb_scene_film *film = &scene->films[i];
        char by[6] = "held", chance[8];
        if (!film->forecast.held && film->forecast.due_ms != CB_TIME_NONE) {
            cb_time_clock(cb_bench_wall(status->bench, &status->now, film->forecast.due_ms),
                          &status->zone, by);
        }
        cb_words_chance(film->forecast.chance, chance);
        print_line(status, cb_arena_printf(status->args->arena, "%s  %s  figure %d  %s  %s",
                                           film->forecast.held  ? "held"
                                           : film->forecast.dry ? "dry"
                                                                : "wet",
                                           by, film->film->figure,
                                           cb_words_paint(film->unit, film->film->stage), chance));
    }
}

static void print_json(const struct status *status, const struct cb_scene *scene, const char *line)
{
    struct cb_json *json = cb_json_new();
    cb_json_text(json, "line", line);
    cb_json_text(json, "unit", scene->unit ? scene->unit->id : NULL);
    cb_json_bool(json, "ready", scene->proposal.any && !scene->anyway);
    cb_json_text(json, "paint",
                 scene->proposal.any ? cb_words_paint(scene->unit, scene->proposal.stage) : NULL);
    cb_json_list(json, "films");
    for (size_t i = 0; i < scene->film_count; i++) {
        const struct cb_scene_film *film = &scene->films[i];
        cb_json_object(json, NULL);
        cb_json_text(json, "unit", film->unit->id);
        cb_json_integer(json, "figure", film->film->figure);
        cb_json_integer(json, "stage", film->film->stage);
        cb_json_integer(json, "coat", film->film->coat);
        cb_json_text(json, "state",
                     film->forecast.held  ? "held"
                     : film->forecast.dry ? "dry"
                                          : "wet");
        cb_json_number(json, "chance", film->forecast.chance);
        char due[CB_RFC3339_SIZE];
        bool timed = !film->forecast.held && film->forecast.due_ms != CB_TIME_NONE;
        if (timed) {
            cb_time_format(cb_bench_wall(status->bench, &status->now, film->forecast.due_ms), due);
        }
        cb_json_text(json, "due_at", timed ? due : NULL);
        cb_json_end(json);
    }
    cb_json_end(json);
    cb_command_print_json(json);
}

static void print(const struct status *status)
{
    struct cb_arena *arena = status->args->arena;
    const struct cb_scene *scene = cb_scene_of(status->bench, status->taught.learn, 0, 0,
                                               cb_bench_time(status->bench, &status->now), arena);
    char *line =
        cb_app_status_line(status->bench, status->taught.learn, &status->now, &status->zone, arena);
    if (status->args->json) {
        print_json(status, scene, line);
        return;
    }
    print_line(status, line);
    if (cb_args_has(status->args, "--all")) {
        print_films(status, scene);
    }
}

static enum cb_status load(struct status *status, const char *log, struct cb_store **opened,
                           struct cb_err *err)
{
    struct cb_history *history = NULL;
    enum cb_status result = cb_history_store(log, opened, err);
    struct cb_store *store = *opened;
    if (result == CB_IO && !cb_file_is_there(log)) { /* nobody has painted yet */
        return CB_OK;
    }
    if (result != CB_OK) {
        return result;
    }
    struct cb_store_filter open_units = {.open_units = true};
    const struct cb_event **events = NULL;
    size_t count = 0;
    long long last_row;
    result =
        cb_store_load(store, &open_units, status->args->arena, &events, &count, &last_row, err);
    if (result == CB_OK) { /* the times shown are those of the bench: finished units teach too */
        cb_bench_own(status->bench, cb_store_machine(store));
        cb_bench_add(status->bench, events, count);
        result = cb_history_open(store, status->kinds, &history, err);
    }
    if (result == CB_OK) {
        result = cb_history_teach(history, status->bench, &status->taught, err);
    }
    cb_history_close(history);
    return result;
}

static int run(const struct cb_args *args)
{
    struct cb_err err = {0};
    const struct cb_kinds *kinds = NULL;
    const char *log = NULL;
    if (cb_args_settings(args, &kinds, NULL, &err) != CB_OK ||
        (log = cb_args_log(args, &err)) == NULL) {
        return cb_command_fail(&err);
    }
    struct status status = {
        .args = args,
        .bench = cb_bench_new(kinds, cb_yaml_read),
        .kinds = kinds,
        .now = cb_clock_now(),
    };
    struct cb_store *store = NULL;
    cb_clock_zone(status.now.wall_ms, &status.zone);
    enum cb_status result = load(&status, log, &store, &err);
    if (result == CB_OK) {
        if (!status.taught.learn) { /* no log yet */
            cb_taught_begin(&status.taught);
        }
        print(&status);
    }
    cb_taught_fini(&status.taught);
    cb_bench_free(status.bench);
    return cb_command_close(store, result == CB_OK ? 0 : cb_command_fail(&err));
}

static const struct cb_option options[] = {
    {"--all", NULL, "every film that may still be wet as well"},
    {NULL, NULL, NULL},
};

const struct cb_command cb_command_status = {
    .name = "status",
    .operands = "",
    .summary = "Print one line: what goes on next and when the next film is dry.",
    .options = options,
    .max_operands = 0,
    .run = run,
};
