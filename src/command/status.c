/* SPDX-License-Identifier: MIT */
/* `status`: one line for a status bar; beside a running bench. */
#include <stdio.h>

#include "command/log_scene.h"
#include "command/twin.h"
#include "command/wrap.h"
#include "core/bench/forecast.h"
#include "shell/clock.h"
#include "shell/json_write.h"
#include "shell/yaml.h"
#include "app/app.h"
#include "app/scene.h"

struct status {
    const struct cb_args *args;
    struct cb_log_read log;
    struct cb_moment now;
};

/* Every film that may still be wet, one a line. */
static void print_films(const struct status *status, const struct cb_scene *scene)
{
    for (size_t i = 0; i < scene->film_count; i++) {
        const struct cb_scene_film *film = &scene->films[i];
        char by[CB_CLOCK_SIZE] = "waits", chance[8];
        if (!film->forecast.held && film->forecast.due_ms != CB_TIME_NONE) {
            cb_time_clock(cb_bench_wall(status->log.bench, &status->now, film->forecast.due_ms),
                          &status->log.zone, by);
        }
        cb_words_chance(film->forecast.chance, chance);
        const bool behind = film->unit != scene->unit;
        cb_args_print(status->args,
                      cb_arena_printf(status->args->arena, "%s  %s  figure %d%s%s  %s  %s",
                                      film->forecast.held  ? "waits"
                                      : film->forecast.dry ? "dry"
                                                           : "wet",
                                      by, film->film->figure, behind ? " of " : "",
                                      behind ? film->unit->name : "",
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
        if (film->forecast.held || film->forecast.due_ms == CB_TIME_NONE) {
            cb_json_text(json, "due_at", NULL);
        } else {
            cb_json_time(json, "due_at",
                         cb_bench_wall(status->log.bench, &status->now, film->forecast.due_ms));
        }
        cb_json_end(json);
    }
    cb_json_end(json);
    cb_command_print_json(json);
}

static enum cb_status print(struct status *status, struct cb_err *err)
{
    struct cb_arena *arena = status->args->arena;
    struct cb_road_kept *road = cb_road_new();
    const struct cb_scene *scene = cb_log_scene(&status->log, &status->now, road);
    char *line =
        cb_app_status_line(status->log.bench, scene, &status->now, &status->log.zone, arena);
    cb_road_free(road);
    if (status->args->json) {
        print_json(status, scene, line);
        return CB_OK;
    }
    cb_args_print(status->args, line);
    if (cb_args_has(status->args, "--all")) {
        struct cb_str out = {0};
        print_films(status, scene);
        const enum cb_status result =
            cb_twin_all(&status->log, &status->now, cb_command_columns(), &out, err);
        cb_args_print(status->args, cb_str_text(&out));
        cb_str_fini(&out);
        return result;
    }
    return CB_OK;
}

static int run(const struct cb_args *args)
{
    struct cb_err err = {0};
    struct status status = {.args = args, .now = cb_clock_now()};
    struct cb_log_read *log = &status.log;
    enum cb_status result = cb_log_read_open(log, args, &err);
    if (result == CB_OK) { /* the times shown are those of the bench: finished units teach too */
        cb_history_tell(log->history, NULL, NULL); /* one line is all that is said */
        result = cb_history_teach(log->history, log->bench, &log->taught, &err);
    } else if (result == CB_IO && log->path != NULL && !cb_file_is_there(log->path)) {
        result = CB_OK; /* nobody has painted yet */
        log->bench = cb_bench_new(log->kinds, cb_yaml_read);
        cb_taught_begin(&log->taught);
    }
    if (result == CB_OK) {
        result = print(&status, &err);
    }
    return cb_log_read_close(log, result, &err);
}

static const struct cb_option options[] = {
    {"--all", NULL, "every film that may still be wet, and every screen as plain text"},
    {0},
};

const struct cb_command cb_command_status = {
    .name = "status",
    .operands = "",
    .summary = "Print one line: what goes on next and when the next film is dry.",
    .options = options,
    .run = run,
};
