/* SPDX-License-Identifier: MIT */
#include "command/findings.h"

#include <stdio.h>

#include "base/utf8.h"
#include "command/markup.h"
#include "command/wrap.h"

struct cb_findings cb_findings_read(const struct cb_log_read *log, struct cb_arena *arena)
{
    size_t told_count;
    const struct cb_row *told = cb_bench_rows(log->bench, &told_count);
    const struct cb_finding_log from = {.trails = log->taught.trails,
                                        .count = log->taught.trail_count,
                                        .told = told,
                                        .told_count = told_count,
                                        .zone = &log->zone};
    return cb_findings_of(&from, arena);
}

void cb_findings_json(struct cb_json *json, const struct cb_findings *findings)
{
    cb_json_list(json, "findings");
    for (size_t i = 0; i < findings->count; i++) {
        const struct cb_finding *one = &findings->items[i];
        cb_json_object(json, NULL);
        cb_json_text(json, "finding", one->kind);
        cb_json_text(json, "text", one->text);
        cb_json_text(json, "advice", one->advice);
        cb_json_number(json, "minutes", one->minutes);
        cb_json_number(json, "coats", one->coats);
        cb_json_number(json, "chance", one->chance);
        cb_json_integer(json, "units", (long long)one->units);
        cb_json_end(json);
    }
    cb_json_end(json);
}

void cb_findings_html(struct cb_str *out, const struct cb_findings *findings)
{
    struct cb_arena arena = {0};
    if (findings->count == 0) {
        return;
    }
    cb_str_addf(out,
                "<section><h2>What the log says of you</h2><p class=\"soft\">From the last %zu "
                "units.</p><ul>",
                findings->units);
    for (size_t i = 0; i < findings->count; i++) {
        cb_str_add(out, "<li>");
        cb_markup_text(out, findings->items[i].text);
        cb_str_add(out, ": ");
        cb_markup_text(out, cb_finding_size(&findings->items[i], &arena));
        cb_str_add(out, ".<br><strong>");
        cb_markup_text(out, findings->items[i].advice);
        cb_str_add(out, ".</strong></li>");
    }
    cb_str_add(out, "</ul></section>");
    cb_arena_fini(&arena);
}

static void print_text(const struct cb_args *args, const struct cb_findings *findings)
{
    struct cb_arena *arena = args->arena;
    if (findings->count == 0) {
        printf("nothing that chance does not explain, in %zu unit%s\n", findings->units,
               findings->units == 1 ? "" : "s");
    }
    for (size_t i = 0; i < findings->count; i++) {
        const struct cb_finding *one = &findings->items[i];
        const char *text = cb_arena_printf(arena, "%s: %s", one->text, cb_finding_size(one, arena));
        cb_command_wrap(cb_utf8_clean(arena, text, 0), 0);
        cb_command_wrap(cb_utf8_clean(arena, one->advice, 0), 2);
    }
}

int cb_findings_run(const struct cb_args *args)
{
    struct cb_err err = {0};
    struct cb_log_read log;
    enum cb_status status = cb_log_read_open(&log, args, &err);
    if (status == CB_OK) {
        status = cb_history_teach(log.history, log.bench, &log.taught, &err);
    }
    if (status == CB_OK) {
        const struct cb_findings findings = cb_findings_read(&log, args->arena);
        if (args->json) {
            struct cb_str out = {0};
            struct cb_json *json = cb_json_new();
            cb_json_integer(json, "units", (long long)findings.units);
            cb_findings_json(json, &findings);
            cb_json_take(json, &out);
            cb_str_add(&out, "\n");
            cb_command_print(stdout, &out);
        } else {
            print_text(args, &findings);
        }
    }
    return cb_log_read_close(&log, status, &err);
}
