/* SPDX-License-Identifier: MIT */
/* `cues`: which there are, and which would be said now. */
#include <string.h>

#include "app/coach.h"
#include "base/utf8.h"
#include "command/findings.h"
#include "command/log_scene.h"
#include "core/coach/coach.h"
#include "shell/clock.h"
#include "shell/json_write.h"
#include "shell/yaml.h"

#define LINE_COLUMNS 100

struct cues {
    const struct cb_args *args;
    const struct cb_cues *cues;
    bool why;
    /* with --why: the bench as it stands */
    struct cb_log_read log;
    struct cb_coach_moment moments[CB_COACH_MOMENTS_MAX];
    size_t moment_count;
    bool caution;
};

/* Every word of the call is in its name, its moment or its text. */
static bool is_meant(const struct cues *cues, const struct cb_cue *cue)
{
    struct cb_arena *arena = cues->args->arena;
    const char *all =
        cb_utf8_fold(arena, cb_arena_printf(arena, "%s %s %s", cue->id,
                                            cb_cue_moment_name(cue->moment), cue->text));
    for (int i = 0; i < cues->args->operand_count; i++) {
        if (!strstr(all, cb_utf8_fold(arena, cues->args->operands[i]))) {
            return false;
        }
    }
    return true;
}

static const char *why(const struct cues *cues, size_t place, bool *shows)
{
    return cb_coach_why(cues->cues, place, cues->log.bench, cues->moments, cues->moment_count,
                        cues->caution, cues->args->arena, shows);
}

static void print_lines(const struct cues *cues)
{
    struct cb_str text = {0};
    int widest = 0;
    for (size_t i = 0; i < cues->cues->count; i++) {
        const int width = (int)strlen(cues->cues->cues[i].id);
        widest = is_meant(cues, &cues->cues->cues[i]) && width > widest ? width : widest;
    }
    for (size_t i = 0; i < cues->cues->count; i++) {
        const struct cb_cue *cue = &cues->cues->cues[i];
        if (!is_meant(cues, cue)) {
            continue;
        }
        cb_str_addf(&text, "%-*s  %-13s  %s\n", widest, cue->id, cb_cue_moment_name(cue->moment),
                    cue->text);
        if (cues->why) {
            bool shows;
            const char *said = why(cues, i, &shows);
            cb_str_addf(&text, "  %s %s\n", shows ? ">" : "-",
                        cb_utf8_clean(cues->args->arena, said, LINE_COLUMNS - 4));
        }
    }
    cb_args_print(cues->args, cb_str_text(&text));
    cb_str_fini(&text);
}

static void print_json(const struct cues *cues)
{
    struct cb_json *json = cb_json_new();
    cb_json_list(json, "cues");
    for (size_t i = 0; i < cues->cues->count; i++) {
        const struct cb_cue *cue = &cues->cues->cues[i];
        if (!is_meant(cues, cue)) {
            continue;
        }
        cb_json_object(json, NULL);
        cb_json_text(json, "cue", cue->id);
        cb_json_text(json, "moment", cb_cue_moment_name(cue->moment));
        cb_json_text(json, "text", cue->text);
        cb_json_text(json, "source", cue->source);
        cb_json_integer(json, "weight", cue->weight);
        cb_json_bool(json, "own", cue->own);
        if (cues->why) {
            bool shows;
            const char *said = why(cues, i, &shows);
            cb_json_bool(json, "shows", shows);
            cb_json_text(json, "why", said);
        }
        cb_json_end(json);
    }
    cb_json_end(json);
    cb_command_print_json(json);
}

static void print(const struct cues *cues)
{
    if (cues->args->json) {
        print_json(cues);
    } else {
        print_lines(cues);
    }
}

/* The log as the bench would show it now; where there is none yet, nobody has a moment. */
static int print_why(struct cues *cues)
{
    struct cb_err err = {0};
    struct cb_log_read *log = &cues->log;
    const struct cb_moment now = cb_clock_now();
    enum cb_status status = cb_log_read_open(log, cues->args, &err);
    if (status == CB_OK) {
        cb_history_tell(log->history, NULL, NULL);
        status = cb_history_teach(log->history, log->bench, &log->taught, &err);
    } else if (status == CB_IO && log->path != NULL && !cb_file_is_there(log->path)) {
        status = CB_OK; /* nobody has painted yet */
        log->bench = cb_bench_new(log->kinds, cb_yaml_read);
        cb_taught_begin(&log->taught);
    }
    if (status == CB_OK) {
        struct cb_road_kept *road = cb_road_new();
        const struct cb_scene *scene = cb_log_scene(log, &now, road);
        const struct cb_coach_at at = cb_coach_at_of(scene, &log->taught, 0);
        cues->caution = at.caution;
        cues->moment_count =
            cb_coach_moments(log->bench, log->taught.learn, &at, cues->args->arena, cues->moments);
        print(cues);
        cb_road_free(road);
    }
    return cb_log_read_close(log, status, &err);
}

static int run(const struct cb_args *args)
{
    struct cb_err err = {0};
    struct cues cues = {.args = args, .why = cb_args_has(args, "--why")};
    const struct cb_kinds *kinds = NULL;
    if (cb_args_has(args, "--mine")) {
        return cb_findings_run(args);
    }
    if (cb_args_settings(args, &kinds, NULL, &err) != CB_OK ||
        cb_args_cues(args, kinds, &cues.cues, &err) != CB_OK) {
        return cb_command_fail(&err);
    }
    if (cues.why) {
        return print_why(&cues);
    }
    print(&cues);
    return 0;
}

static const struct cb_option options[] = {
    {"--why", NULL, "of each, why it would be said now, or would not"},
    {"--mine", NULL, "what the log says of your own painting, instead"},
    {0},
};

const struct cb_command cb_command_cues = {
    .name = "cues",
    .operands = "[WORD...]",
    .summary = "List the cues, or those with all these words.",
    .options = options,
    .max_operands = -1,
    .run = run,
};
