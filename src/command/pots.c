/* SPDX-License-Identifier: MIT */
/* `pots`: what has been learned of each paint, why, and whether pings are as sure as they say. */
#include <string.h>

#include "base/utf8.h"
#include "command/pots_internal.h"
#include "core/learn/learn.h"
#include "shell/yaml.h"

/* The line is of the paint by that name, joined ones too. */
static bool is_named(const struct cb_pots *pots, const struct cb_pot_line *line, const char *wanted)
{
    struct cb_arena *arena = pots->args->arena;
    const char *pot = cb_pot_key(wanted, line->kind, arena);
    return strcmp(cb_utf8_fold(arena, line->paint), wanted) == 0 ||
           strcmp(cb_bench_joined(pots->log.bench, pot, arena), line->pot) == 0;
}

/* Keeps the paints of that name (folded): whole names first, else those that contain it. */
static bool keep_named(struct cb_pots *pots, const char *name)
{
    struct cb_arena *arena = pots->args->arena;
    const char *wanted = cb_utf8_fold(arena, name);
    struct cb_pot_line *kept = cb_arena_alloc(arena, pots->count + 1, sizeof *kept);
    for (int whole = 1; whole >= 0; whole--) {
        size_t n = 0;
        for (size_t i = 0; i < pots->count; i++) {
            const char *has = cb_utf8_fold(arena, pots->lines[i].paint);
            if (whole ? is_named(pots, &pots->lines[i], wanted) : strstr(has, wanted) != NULL) {
                kept[n++] = pots->lines[i];
            }
        }
        if (n > 0) {
            pots->lines = kept;
            pots->count = n;
            return true;
        }
    }
    return false;
}

static void add_stages(struct cb_pots *pots, const struct cb_pot_stage *stages, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        cb_vec_push(&pots->stages, stages[i]);
    }
}

static void add_covers(struct cb_pots *pots, const struct cb_cover *covers, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        cb_vec_push(&pots->covers, covers[i]);
        struct cb_cover *cover = &pots->covers.items[pots->covers.count - 1];
        cover->pot = cb_bench_joined(pots->log.bench, cover->pot, pots->args->arena);
    }
}

/* What is kept of the finished units, and the bench for the others. */
static enum cb_status add_units(struct cb_pots *pots, struct cb_err *err)
{
    struct cb_history *history = pots->log.history;
    struct cb_arena *arena = pots->args->arena;
    size_t count;
    const struct cb_store_unit *units = cb_history_units(history, &count);
    for (size_t i = 0; i < count; i++) {
        size_t stage_count, cover_count;
        if (!units[i].finished) {
            const struct cb_pot_stage *stages =
                cb_pots_stages(pots->log.bench, units[i].id, arena, &stage_count);
            add_stages(pots, stages, stage_count);
            const struct cb_cover *covers =
                cb_coverage_of(pots->log.bench, units[i].id, arena, &cover_count);
            add_covers(pots, covers, cover_count);
            continue;
        }
        struct cb_lesson lesson;
        const enum cb_status status = cb_history_lesson(history, &units[i], arena, &lesson, err);
        if (status == CB_FAILED) {
            continue; /* what began it is damaged */
        }
        if (status != CB_OK) {
            return status;
        }
        add_stages(pots, lesson.stages, lesson.stage_count);
        add_covers(pots, lesson.covers, lesson.cover_count);
        cb_calibration_add(&pots->calibration, &lesson.calibration, arena);
        for (size_t r = 0; r < lesson.row_count; r++) {
            cb_vec_push(&pots->lessons, lesson.rows[r]);
        }
    }
    return CB_OK;
}

static void gather(struct cb_pots *pots)
{
    struct cb_arena *arena = pots->args->arena;
    size_t own_count;
    const struct cb_row *own = cb_bench_rows(pots->log.bench, &own_count);
    const struct cb_calibration calibration = cb_calibration_of(pots->log.bench, NULL, arena);
    cb_calibration_add(&pots->calibration, &calibration, arena);
    cb_rows_sort(pots->lessons.items, pots->lessons.count);
    pots->rows = cb_rows_merge(pots->lessons.items, pots->lessons.count, own, own_count, arena,
                               &pots->row_count);
    pots->confidence = cb_bench_facts(pots->log.bench).confidence;
    pots->learn = pots->log.taught.learn;
    pots->lines = cb_pots_lines(pots->stages.items, pots->stages.count, pots->learn, pots->rows,
                                pots->row_count, pots->confidence, arena, &pots->count);
}

static enum cb_status show(struct cb_pots *pots, struct cb_err *err)
{
    const struct cb_args *args = pots->args;
    if (args->operand_count > 0 && !keep_named(pots, args->operands[0])) {
        const char *waiting = cb_pots_waiting(pots, cb_utf8_fold(args->arena, args->operands[0]));
        return waiting != NULL
                   ? cb_err_set(err, CB_FAILED,
                                "from another painter, and not used here yet: %s; it counts once "
                                "a unit has it",
                                cb_utf8_clean(args->arena, waiting, 60))
                   : cb_err_set(err, CB_FAILED,
                                "no paint of that name in the log: %s (`coatbell pots` lists them)",
                                args->operands[0]);
    }
    if (args->json) {
        cb_pots_print_json(pots);
    } else if (cb_args_has(args, "--calibration")) {
        cb_pots_print_calibration(pots);
    } else if (cb_args_has(args, "--why") || args->operand_count > 0) {
        cb_pots_print_why(pots);
    } else {
        cb_pots_print_table(pots);
    }
    return CB_OK;
}

enum use { SHOW, EXPORT, IMPORT };

static enum use use_of(const struct cb_args *args)
{
    const char *word = args->operand_count > 0 ? args->operands[0] : "";
    return strcmp(word, "export") == 0 ? EXPORT : strcmp(word, "import") == 0 ? IMPORT : SHOW;
}

/* 0: the call can be done. */
static int refuse(const struct cb_args *args, enum use use)
{
    if (use == SHOW && args->operand_count > 1) {
        return cb_command_failf(CB_USAGE, "pots: one NAME, or export FILE, or import FILE");
    }
    if (use != SHOW && args->operand_count != 2) {
        return cb_command_failf(CB_USAGE, "pots %s: it takes one FILE, - is standard %s",
                                args->operands[0], use == EXPORT ? "output" : "input");
    }
    if (use != SHOW && args->option_count > 0) {
        return cb_command_failf(CB_USAGE, "pots %s: %s does not go with it", args->operands[0],
                                args->given[0].name);
    }
    if (cb_args_has(args, "--all") && !cb_args_has(args, "--why")) {
        return cb_command_failf(CB_USAGE, "--all goes with --why");
    }
    return 0;
}

/* A log that is not there yet is made, so that what was given waits in it. */
static enum cb_status make_log(const struct cb_args *args, struct cb_err *err)
{
    struct cb_store *store = NULL;
    const char *path = cb_args_log(args, err);
    if (path == NULL) {
        return err->status;
    }
    const enum cb_status status =
        cb_file_is_there(path) ? CB_OK : cb_store_open(path, CB_STORE_APPEND, &store, err);
    cb_store_close(store);
    return status;
}

static int run(const struct cb_args *args)
{
    const enum use use = use_of(args);
    const int refused = refuse(args, use);
    if (refused != 0) {
        return refused;
    }
    struct cb_err err = {0};
    struct cb_pots pots = {.args = args};
    struct cb_log_read *log = &pots.log;
    enum cb_status status = use == IMPORT ? cb_pots_read_given(&pots, &err) : CB_OK;
    if (status == CB_OK && use == IMPORT) {
        status = make_log(args, &err);
    }
    if (status != CB_OK) {
        return err.text[0] ? cb_command_fail(&err) : (int)status; /* else it is said already */
    }
    status = cb_log_read_open(log, args, &err);
    if (status == CB_OK) {
        status = cb_history_teach(log->history, log->bench, &log->taught, &err);
    }
    if (status == CB_OK) {
        status = add_units(&pots, &err);
    }
    cb_command_progress_end();
    if (status == CB_OK) {
        gather(&pots);
        status = use == SHOW     ? show(&pots, &err)
                 : use == EXPORT ? cb_pots_export(&pots, &err)
                                 : cb_pots_import(&pots, &err);
    }
    cb_vec_free(&pots.stages);
    cb_vec_free(&pots.covers);
    cb_vec_free(&pots.lessons);
    return cb_log_read_close(log, status, &err);
}

static const struct cb_option options[] = {
    {"--why", NULL, "a picture of each paint, and a sentence for each answer that moved it"},
    {"--all", NULL, "with --why: every coat that was seen, whether it moved it or not"},
    {"--calibration", NULL, "how many pings found a dry film"},
    {0},
};

const struct cb_command cb_command_pots = {
    .name = "pots",
    .operands = "[NAME] | export FILE | import FILE",
    .summary = "Show what was learned of each paint, pass it on, or take in another painter's.",
    .options = options,
    .max_operands = 2,
    .run = run,
};
