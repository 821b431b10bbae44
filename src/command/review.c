/* SPDX-License-Identifier: MIT */
#include <stdio.h>
#include <string.h>

#include "command/findings.h"
#include "command/log_read.h"
#include "command/review_files.h"
#include "base/utf8.h"
#include "core/bench/rows.h"
#include "core/review/effort.h"
#include "shell/clock.h"
#include "shell/out_file.h"
#include "shell/json_write.h"

#define TEXT_COLUMNS 78

/* Everything one call works with. */
struct job {
    const struct cb_args *args;
    struct cb_log_read log;
    const struct cb_store_unit *units;
    size_t unit_count;
    size_t page_count;
    struct cb_review_page *pages;
    struct cb_findings findings;
    bool open; /* as in a page */
    int64_t opened_ms;
    struct cb_bench **benches; /* of pages of units under way, else NULL */
};

/* A unit under way is folded; *review and the bench it leans on. */
static enum cb_status review_open(struct job *job, const struct cb_store_unit *unit,
                                  struct cb_review_page *page, struct cb_err *err)
{
    const struct cb_store_filter filter = {.unit = unit->id};
    struct cb_bench **bench = &job->benches[job->page_count];
    const enum cb_status status =
        cb_history_bench(job->log.store, &filter, job->log.kinds, bench, NULL, err);
    if (status != CB_OK) {
        return status;
    }
    const int number = cb_bench_find_unit(*bench, unit->id);
    if (number < 0) {
        return cb_err_set(err, CB_FAILED, "unit %s can't be folded", unit->id);
    }
    page->unit = cb_bench_unit(*bench, (size_t)number);
    page->review = cb_review_unit(*bench, (size_t)number, CB_TIME_NONE, job->args->arena);
    return CB_OK;
}

/* A session that nobody closed goes on while a bench holds the log. */
static void find_open_session(struct job *job)
{
    const struct cb_bench_facts facts = cb_bench_facts(job->log.bench);
    const struct cb_moment now = cb_clock_now();
    job->open = facts.session_open && cb_store_is_held(job->log.store);
    job->opened_ms = cb_bench_wall(job->log.bench, &now, facts.session_opened_ms);
}

static enum cb_status add_page(struct job *job, const struct cb_store_unit *unit,
                               struct cb_err *err)
{
    struct cb_arena *arena = job->args->arena;
    struct cb_review_page *page = &job->pages[job->page_count];
    *page = (struct cb_review_page){.kinds = job->log.kinds,
                                    .learn = job->log.taught.learn,
                                    .sums = job->log.taught.sums,
                                    .sum_count = job->log.taught.unit_count,
                                    .zone = &job->log.zone,
                                    .open = job->open,
                                    .opened_ms = job->opened_ms,
                                    .focus = -1};
    const enum cb_status status =
        unit->finished ? cb_history_review(job->log.history, unit, arena, &page->review, err)
                       : review_open(job, unit, page, err);
    job->page_count++;
    if (status != CB_OK) {
        return status;
    }
    struct cb_suggestions *suggestions = cb_arena_alloc(arena, 1, sizeof *suggestions);
    *suggestions = cb_suggest(page->review, job->log.kinds);
    page->suggestions = suggestions;
    struct cb_hours *hours = cb_hours_copy(job->log.taught.hours);
    if (!unit->finished) {
        const struct cb_effort own = cb_effort_of(page->review, job->log.kinds, arena);
        cb_effort_learn(hours, &own);
    }
    cb_review_page_forecast(page, hours, &job->log.taught.habits);
    cb_hours_free(hours);
    return CB_OK;
}

static enum cb_status collect(struct job *job, struct cb_err *err)
{
    const struct cb_args *args = job->args;
    const bool all = cb_args_has(args, "--all");
    const size_t most = all ? job->unit_count : (size_t)args->operand_count + 1;
    job->pages = cb_arena_alloc(args->arena, most + 1, sizeof *job->pages);
    job->benches = cb_arena_alloc(args->arena, most + 1, sizeof *job->benches);
    if (all && job->unit_count == 0) {
        return cb_err_set(err, CB_FAILED, "the log has no unit yet; begin one first");
    }
    const int named = all || args->operand_count > 0 ? args->operand_count : 1;
    for (size_t i = 0; all && i < job->unit_count; i++) {
        if (i % 10 == 0) {
            cb_command_progress(job->log.progress, i, job->unit_count);
        }
        const enum cb_status status = cb_log_read_is_left(&job->log, &job->units[i])
                                          ? CB_OK
                                          : add_page(job, &job->units[i], err);
        if (status != CB_OK) {
            return status;
        }
    }
    if (all && job->page_count == 0) {
        return cb_err_set(err, CB_FAILED, "every unit of the log is put aside; name one");
    }
    for (int i = 0; !all && i < named; i++) {
        const struct cb_store_unit *unit = NULL;
        enum cb_status status = cb_log_read_unit(
            &job->log, args->operand_count > 0 ? args->operands[i] : NULL, &unit, err);
        status = status == CB_OK ? add_page(job, unit, err) : status;
        if (status != CB_OK) {
            return status;
        }
    }
    return CB_OK;
}

/* They are the painter's, not a unit's: they stand once, in the last page. */
static void find(struct job *job)
{
    job->findings = cb_findings_read(&job->log, job->args->arena);
    job->pages[job->page_count - 1].findings = &job->findings;
}

static int64_t per_figure(const struct cb_review *review, enum cb_spent spent)
{
    return review->spent_ms[spent] / (review->figures > 0 ? review->figures : 1);
}

/* Units side by side: minutes a figure, by part and by stage of the same name. */
static void print_comparison(const struct job *job, struct cb_str *out)
{
    const size_t shown = job->page_count < 6 ? job->page_count : 6;
    const size_t first = job->page_count - shown;
    cb_str_addf(out, "Side by side, minutes a figure%s\n",
                shown < job->page_count ? " (the last six)" : "");
    cb_str_addf(out, "%-24s", "");
    for (size_t i = first; i < job->page_count; i++) {
        char date[11];
        const struct cb_review_page *page = &job->pages[i];
        cb_time_date(cb_review_wall(page, page->review->begun_ms), page->zone, date);
        cb_str_addf(out, " %10s", date);
    }
    cb_str_add(out, "\n");
    for (enum cb_spent spent = 0; spent < CB_SPENT_COUNT; spent++) {
        bool any = false;
        for (size_t i = first; i < job->page_count; i++) {
            any |= !cb_review_is_nothing(per_figure(job->pages[i].review, spent));
        }
        if (!any) {
            continue;
        }
        cb_str_addf(out, "%-24s", cb_spent_word(spent));
        for (size_t i = first; i < job->page_count; i++) {
            cb_str_addf(out, " %10.0f", (double)per_figure(job->pages[i].review, spent) / 60000.0);
        }
        cb_str_add(out, "\n");
    }
    const struct cb_review *last = job->pages[job->page_count - 1].review;
    size_t order[CB_RECIPE_MAX];
    const size_t begun = cb_review_stage_order(last, CB_REVIEW_BY_RECIPE, order);
    for (size_t s = 0; s < begun; s++) {
        const char *name = last->recipe->stages[order[s]].name;
        char *clean = cb_utf8_clean(job->args->arena, name, 24);
        cb_str_addf(out, "%s%*s", clean, 24 - cb_utf8_text_width(clean), "");
        for (size_t i = first; i < job->page_count; i++) {
            const struct cb_review *review = job->pages[i].review;
            const int stage = cb_recipe_stage(review->recipe, name);
            if (stage < 0 || review->figures < 1) {
                cb_str_addf(out, " %10s", "-");
                continue;
            }
            cb_str_addf(out, " %10.0f",
                        (double)review->stages[stage].spent_ms[CB_SPENT_HANDS_ON] / 60000.0 /
                            review->figures);
        }
        cb_str_add(out, "\n");
    }
}

/* "per figure: 58, 52, 49 min", the oldest first, of the units that follow the last one's recipe.
 */
static void print_trend(const struct job *job, struct cb_str *out)
{
    const struct cb_review *last = job->pages[job->page_count - 1].review;
    size_t shown = 0;
    struct cb_str line = {0};
    for (size_t i = 0; i < job->page_count; i++) {
        const struct cb_review *review = job->pages[i].review;
        if (review->figures > 0 && strcmp(review->recipe->name, last->recipe->name) == 0) {
            cb_str_addf(&line, "%s%.0f", shown++ > 0 ? ", " : "",
                        (double)per_figure(review, CB_SPENT_HANDS_ON) / 60000.0);
        }
    }
    if (shown > 1) {
        cb_str_addf(out, "\n%s, hands-on per figure: %s min\n",
                    cb_utf8_clean(job->args->arena, last->recipe->name, 40), cb_str_text(&line));
    }
    cb_str_fini(&line);
}

static void print_text(const struct job *job, struct cb_str *out)
{
    for (size_t i = 0; i < job->page_count; i++) {
        struct cb_grid grid;
        cb_grid_init(&grid, 1, TEXT_COLUMNS);
        grid.ascii = job->args->ascii;
        cb_review_page_draw(&job->pages[i], TEXT_COLUMNS, &grid, NULL);
        if (i > 0) {
            cb_str_add(out, "\n");
        }
        cb_grid_dump(&grid, out);
        cb_grid_fini(&grid);
    }
    if (job->page_count > 1) {
        struct cb_str text = {0};
        cb_str_add(&text, "\n");
        print_comparison(job, &text);
        print_trend(job, &text);
        cb_command_lines(out, cb_str_text(&text), job->args->ascii);
        cb_str_fini(&text);
    }
}

static enum cb_status write_out(const struct job *job, struct cb_err *err)
{
    struct cb_str out = {0};
    const char *html = cb_args_get(job->args, "--html");
    enum cb_status status = CB_OK;
    if (html != NULL) {
        size_t own_count, row_count;
        const struct cb_row *own = cb_bench_rows(job->log.bench, &own_count);
        const struct cb_row *rows = cb_rows_merge(job->log.taught.rows, job->log.taught.row_count,
                                                  own, own_count, job->args->arena, &row_count);
        const struct cb_rings rings = cb_calibration_rings(rows, row_count, job->args->arena);
        cb_review_html(&out, job->pages, job->page_count, &rings, &job->findings);
        struct cb_out_file *file;
        status = cb_out_file_open(html, job->log.path, &file, err);
        if (status == CB_OK) {
            const bool written = cb_out_file_write(file, cb_str_text(&out), out.length);
            status = cb_out_file_close(file, written, err);
        }
        cb_str_clear(&out);
    }
    if (job->args->json) {
        struct cb_json *json = cb_json_new();
        if (job->page_count == 1) {
            cb_review_json(json, &job->pages[0]);
        } else {
            cb_json_list(json, "units");
            for (size_t i = 0; i < job->page_count; i++) {
                cb_json_object(json, NULL);
                cb_review_json(json, &job->pages[i]);
                cb_json_end(json);
            }
            cb_json_end(json);
        }
        cb_findings_json(json, &job->findings);
        cb_json_take(json, &out);
        cb_str_add(&out, "\n");
    } else if (cb_args_has(job->args, "--csv")) {
        for (size_t i = 0; i < job->page_count; i++) {
            cb_review_csv(&out, &job->pages[i], i == 0);
        }
    } else if (html == NULL) {
        print_text(job, &out);
    }
    cb_command_print(stdout, &out);
    return status;
}

static int run(const struct cb_args *args)
{
    if (args->json && cb_args_has(args, "--csv")) {
        return cb_command_failf(CB_USAGE, "review: --json or --csv, not both");
    }
    struct cb_err err = {0};
    struct job job = {.args = args};
    struct cb_log_read *log = &job.log;
    enum cb_status status = cb_log_read_open(log, args, &err);
    if (status == CB_OK) {
        find_open_session(&job);
        job.units = cb_history_units(log->history, &job.unit_count);
        status = cb_history_teach(log->history, log->bench, &log->taught, &err);
    }
    if (status == CB_OK) {
        status = collect(&job, &err);
    }
    cb_command_progress_end();
    if (status == CB_OK) {
        find(&job);
        status = write_out(&job, &err);
    }
    for (size_t i = 0; i < job.page_count; i++) {
        cb_bench_free(job.benches[i]);
    }
    return cb_log_read_close(log, status, &err);
}

static const struct cb_option options[] = {
    {"--all", NULL, "every unit of the log but those put aside"},
    {"--csv", NULL, "as comma-separated values"},
    {"--html", "FILE", "as one page with pictures, into FILE"},
    {0},
};

const struct cb_command cb_command_review = {
    .name = "review",
    .operands = "[UNIT...]",
    .summary = "Show where the hours went, and what the next unit will take.",
    .options = options,
    .max_operands = -1,
    .run = run,
};
