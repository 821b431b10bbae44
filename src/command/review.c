/* SPDX-License-Identifier: MIT */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "command/command.h"
#include "command/review_files.h"
#include "base/utf8.h"
#include "core/review/effort.h"
#include "shell/clock.h"
#include "shell/out_file.h"
#include "shell/history.h"
#include "shell/json_write.h"
#include "shell/store.h"

#define TEXT_COLUMNS 78

static char progress[] = "review";

/* Everything one call works with. */
struct job {
    const struct cb_args *args;
    const char *log_path;
    struct cb_store *store;
    const struct cb_kinds *kinds;
    struct cb_bench *open; /* the units under way */
    struct cb_history *history;
    struct cb_taught taught;
    struct cb_zone zone;
    const struct cb_store_unit *units;
    size_t unit_count;
    size_t page_count;
    struct cb_review_page *pages;
    struct cb_bench **benches; /* of pages of units under way, else NULL */
};

static const struct cb_store_unit *find_unit(const struct job *job, const char *name)
{
    const struct cb_store_unit *found = NULL;
    for (size_t i = 0; i < job->unit_count; i++) {
        if (strcmp(job->units[i].id, name) == 0) {
            return &job->units[i];
        }
        if (job->units[i].name != NULL && strcmp(job->units[i].name, name) == 0) {
            found = &job->units[i]; /* the latest of that name */
        }
    }
    return found;
}

/* The unit in front, else the last finished. */
static const struct cb_store_unit *usual_unit(const struct job *job)
{
    const int front = cb_bench_front(job->open);
    if (front >= 0) {
        const struct cb_unit *unit = cb_bench_unit(job->open, (size_t)front);
        return find_unit(job, unit->id);
    }
    const struct cb_store_unit *last = NULL;
    for (size_t i = 0; i < job->unit_count; i++) {
        if (job->units[i].finished && (last == NULL || job->units[i].last_ms >= last->last_ms)) {
            last = &job->units[i];
        }
    }
    return last;
}

/* A unit under way is folded; *review and the bench it leans on. */
static enum cb_status review_open(struct job *job, const struct cb_store_unit *unit,
                                  struct cb_review_page *page, struct cb_err *err)
{
    const struct cb_store_filter filter = {.unit = unit->id};
    struct cb_bench **bench = &job->benches[job->page_count];
    const enum cb_status status =
        cb_history_bench(job->store, &filter, job->kinds, bench, NULL, err);
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

static enum cb_status add_page(struct job *job, const struct cb_store_unit *unit,
                               struct cb_err *err)
{
    struct cb_arena *arena = job->args->arena;
    struct cb_review_page *page = &job->pages[job->page_count];
    *page = (struct cb_review_page){.kinds = job->kinds,
                                    .learn = job->taught.learn,
                                    .sums = job->taught.sums,
                                    .sum_count = job->taught.unit_count,
                                    .zone = &job->zone,
                                    .focus = -1};
    const enum cb_status status =
        unit->finished ? cb_history_review(job->history, unit, arena, &page->review, err)
                       : review_open(job, unit, page, err);
    job->page_count++;
    if (status != CB_OK) {
        return status;
    }
    struct cb_hours *hours = cb_hours_copy(job->taught.hours);
    if (!unit->finished) {
        const struct cb_effort own = cb_effort_of(page->review, job->kinds, arena);
        cb_effort_learn(hours, &own);
    }
    cb_review_page_forecast(page, hours, &job->taught.habits);
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
    if (job->unit_count == 0) {
        return cb_err_set(err, CB_FAILED, "the log has no unit yet; begin one first");
    }
    if (!all && args->operand_count == 0) {
        const struct cb_store_unit *unit = usual_unit(job);
        return add_page(job, unit == NULL ? &job->units[job->unit_count - 1] : unit, err);
    }
    for (size_t i = 0; all && i < job->unit_count; i++) {
        if (i % 10 == 0) {
            cb_command_progress(progress, i, job->unit_count);
        }
        const enum cb_status status = add_page(job, &job->units[i], err);
        if (status != CB_OK) {
            return status;
        }
    }
    for (int i = 0; !all && i < args->operand_count; i++) {
        const struct cb_store_unit *unit = find_unit(job, args->operands[i]);
        if (unit == NULL) {
            return cb_err_set(err, CB_FAILED, "no unit %s in the log; `coatbell units` lists them",
                              args->operands[i]);
        }
        const enum cb_status status = add_page(job, unit, err);
        if (status != CB_OK) {
            return status;
        }
    }
    return CB_OK;
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
        cb_str_addf(out, "%-24s", cb_spent_word(spent));
        for (size_t i = first; i < job->page_count; i++) {
            cb_str_addf(out, " %10.1f", (double)per_figure(job->pages[i].review, spent) / 60000.0);
        }
        cb_str_add(out, "\n");
    }
    const struct cb_review *last = job->pages[job->page_count - 1].review;
    for (size_t s = 0; s < last->stage_count; s++) {
        const char *name = last->recipe->stages[s].name;
        char *clean = cb_utf8_clean(job->args->arena, name, 24);
        cb_str_addf(out, "%s%*s", clean, 24 - cb_utf8_text_width(clean), "");
        for (size_t i = first; i < job->page_count; i++) {
            const struct cb_review *review = job->pages[i].review;
            const int stage = cb_recipe_stage(review->recipe, name);
            if (stage < 0 || review->figures < 1) {
                cb_str_addf(out, " %10s", "-");
                continue;
            }
            cb_str_addf(out, " %10.1f",
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
        cb_review_html(&out, job->pages, job->page_count);
        struct cb_out_file *file;
        status = cb_out_file_open(html, job->log_path, &file, err);
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
        cb_json_take(json, &out);
        cb_str_add(&out, "\n");
    } else if (cb_args_has(job->args, "--csv")) {
        for (size_t i = 0; i < job->page_count; i++) {
            cb_review_csv(&out, &job->pages[i], i == 0);
        }
    } else if (html == NULL) {
        print_text(job, &out);
    }
    fwrite(cb_str_text(&out), 1, out.length, stdout);
    cb_str_fini(&out);
    return status;
}

static enum cb_status review(struct job *job, struct cb_err *err)
{
    job->log_path = cb_args_log(job->args, err);
    if (job->log_path == NULL) {
        return err->status;
    }
    enum cb_status status = cb_args_settings(job->args, &job->kinds, NULL, err);
    if (status == CB_OK) {
        status = cb_history_store(job->log_path, &job->store, err);
    }
    const struct cb_store_filter filter = {.open_units = true};
    if (status == CB_OK) {
        status = cb_history_bench(job->store, &filter, job->kinds, &job->open, NULL, err);
    }
    if (status == CB_OK) {
        status = cb_history_open(job->store, job->kinds, &job->history, err);
    }
    if (status == CB_OK) {
        job->units = cb_history_units(job->history, &job->unit_count);
        cb_history_tell(job->history, cb_command_progress, progress);
        status = cb_history_teach(job->history, job->open, &job->taught, err);
    }
    if (status == CB_OK) {
        cb_clock_zone(cb_clock_now().wall_ms, &job->zone);
        status = collect(job, err);
    }
    cb_command_progress_end();
    return status == CB_OK ? write_out(job, err) : status;
}

static int run(const struct cb_args *args)
{
    if (args->json && cb_args_has(args, "--csv")) {
        return cb_command_failf(CB_USAGE, "review: --json or --csv, not both");
    }
    struct cb_err err = {0};
    struct job job = {.args = args};
    const enum cb_status status = review(&job, &err);
    for (size_t i = 0; i < job.page_count; i++) {
        cb_bench_free(job.benches[i]);
    }
    cb_taught_fini(&job.taught);
    cb_history_close(job.history);
    cb_bench_free(job.open);
    return cb_command_close(job.store, status == CB_OK ? 0 : cb_command_fail(&err));
}

static const struct cb_option options[] = {
    {"--all", NULL, "every unit of the log"},
    {"--csv", NULL, "as comma-separated values"},
    {"--html", "FILE", "as one page with pictures, into FILE"},
    {0},
};

const struct cb_command cb_command_review = {
    .name = "review",
    .operands = "[UNIT...]",
    .summary = "Show where the hours went, and what the next unit will take.",
    .options = options,
    .min_operands = 0,
    .max_operands = -1,
    .run = run,
};
