/* SPDX-License-Identifier: MIT */
/* `log check`: what is wrong with the log, and what would mend it. */
#include <stdio.h>

#include "base/str.h"
#include "base/utf8.h"
#include "command/log_internal.h"
#include "core/bench/doubts.h"
#include "shell/clock.h"
#include "shell/history.h"
#include "shell/json_write.h"
#include "shell/store_check.h"
#include "shell/yaml.h"

/* "3 events of a unit that was never begun"; what it came to is the same for all. */
static const struct {
    const char *one, *many;
} words[] = {
    [CB_DOUBT_NO_UNIT] = {"event of a unit that was never begun",
                          "events of units that were never begun"},
    [CB_DOUBT_NO_RECIPE] = {"recipe that can't be read", "recipes that can't be read"},
    [CB_DOUBT_NO_STAGE] = {"event of a stage that the recipe in force has not",
                           "events of stages that the recipe in force has not"},
    [CB_DOUBT_NO_FIGURE] = {"event of a figure that its unit has not",
                            "events of figures that their unit has not"},
    [CB_DOUBT_ON_ALREADY] = {"coat put on that was on already",
                             "coats put on that were on already"},
    [CB_DOUBT_NOT_ON] = {"event of a film that was not on", "events of films that were not on"},
    [CB_DOUBT_NO_TARGET] = {"event that undoes or moves what is not there",
                            "events that undo or move what is not there"},
    [CB_DOUBT_SET_BACK] = {"time the clock on the wall was set back",
                           "times the clock on the wall was set back"},
    [CB_DOUBT_APART] = {"time the clock on the wall was set while the machine was on",
                        "times the clock on the wall was set while the machine was on"},
    [CB_DOUBT_BOOT_BACK] = {"event before another of its boot that was written earlier",
                            "events before others of their boot that were written earlier"},
    [CB_DOUBT_GAP] = {"gap of more than a year", "gaps of more than a year"},
    [CB_DOUBT_FUTURE] = {"event later than now", "events later than now"},
};
_Static_assert(sizeof words / sizeof *words == CB_DOUBT_COUNT, "words for every doubt");

static const char *doubt_line(const struct cb_doubt *doubt, enum cb_doubt_kind kind,
                              const struct cb_zone *zone, struct cb_arena *arena)
{
    char date[11];
    char clock[CB_CLOCK_SIZE];
    char most[32];
    struct cb_str text = {0};
    cb_time_date(doubt->first->at_ms, zone, date);
    cb_time_clock(doubt->first->at_ms, zone, clock);
    cb_str_addf(&text, "%zu %s", doubt->count,
                doubt->count == 1 ? words[kind].one : words[kind].many);
    if (doubt->most_ms > 0) {
        cb_time_span(doubt->most_ms, most);
        cb_str_addf(&text, " (%s%s)", doubt->count == 1 ? "" : "at most ", most);
    }
    cb_str_addf(&text, ": %s%s of %s %s", doubt->count == 1 ? "" : "the first is ",
                cb_utf8_clean(arena, doubt->first->name, 40), date, clock);
    const char *line = cb_arena_text(arena, cb_str_text(&text));
    cb_str_fini(&text);
    return line;
}

static enum cb_status look_at_fold(struct cb_store *store, const struct cb_kinds *kinds,
                                   struct cb_arena *arena, struct cb_flaws *flaws,
                                   struct cb_err *err)
{
    struct cb_doubts doubts;
    struct cb_zone zone = {0};
    const int64_t now_ms = cb_clock_now().wall_ms;
    const struct cb_event **events;
    size_t count;
    struct cb_arena loaded = {0};
    struct cb_bench *bench = cb_bench_new(kinds, cb_yaml_read);
    cb_bench_own(bench, cb_store_machine(store));
    cb_bench_watch_doubts(bench);
    const enum cb_status status = cb_store_load(store, NULL, &loaded, &events, &count, NULL, err);
    if (status == CB_OK) {
        cb_bench_add(bench, events, count);
        cb_bench_doubts(bench, now_ms, &doubts);
        cb_clock_zone(now_ms, &zone);
        for (int kind = 0; kind < CB_DOUBT_COUNT; kind++) {
            if (doubts.of[kind].count > 0) {
                cb_flaws_add(flaws, CB_MEND_NOTHING,
                             doubt_line(&doubts.of[kind], (enum cb_doubt_kind)kind, &zone, arena));
            }
        }
    }
    cb_arena_fini(&loaded);
    cb_bench_free(bench);
    return status;
}

/* The file, and where it is whole what it says. */
static enum cb_status look(const struct cb_args *args, const char *path,
                           const struct cb_kinds *kinds, struct cb_flaws *flaws, struct cb_err *err)
{
    struct cb_store *store = NULL;
    struct cb_history *history = NULL;
    enum cb_status status = cb_store_check(path, args->arena, flaws, err);
    if (status != CB_OK || cb_flaws_need_fresh(flaws)) {
        return status;
    }
    status = cb_store_open(path, CB_STORE_READ, &store, err);
    if (status == CB_OK) {
        status = cb_history_open(store, kinds, &history, err);
    }
    if (status == CB_OK) {
        cb_store_check_kept(history, args->arena, flaws);
        status = look_at_fold(store, kinds, args->arena, flaws, err);
    }
    cb_history_close(history);
    cb_store_close(store);
    return status;
}

static void print_flaws(const struct cb_args *args, const struct cb_flaws *flaws)
{
    struct cb_str text = {0};
    for (size_t i = 0; i < flaws->list.count; i++) {
        const struct cb_flaw *flaw = &flaws->list.items[i];
        if (flaw->mend == CB_MEND_NOTHING) {
            cb_str_addf(&text, "notice: %s\n", flaw->text);
        } else {
            cb_str_addf(&text, "%s; to mend it, %s\n", flaw->text, cb_mend_says(flaw->mend));
        }
    }
    cb_args_print(args, cb_str_text(&text));
    cb_str_fini(&text);
}

static void json_flaws(struct cb_json *json, const char *key, const struct cb_flaws *flaws,
                       bool notices)
{
    cb_json_list(json, key);
    for (size_t i = 0; i < flaws->list.count; i++) {
        const struct cb_flaw *flaw = &flaws->list.items[i];
        if ((flaw->mend == CB_MEND_NOTHING) == notices) {
            cb_json_object(json, NULL);
            cb_json_text(json, "text", flaw->text);
            if (!notices) {
                cb_json_text(json, "mend", cb_mend_says(flaw->mend));
            }
            cb_json_end(json);
        }
    }
    cb_json_end(json);
}

struct checked {
    struct cb_flaws found, left; /* before and after mending */
    const char *kept;            /* NULL: nothing was mended */
};

static void print(const struct cb_args *args, const struct checked *checked)
{
    const size_t found = cb_flaws_to_mend(&checked->found);
    const size_t left = checked->kept ? cb_flaws_to_mend(&checked->left) : found;
    if (args->json) {
        struct cb_json *json = cb_json_new();
        cb_json_integer(json, "to_mend", (long long)left);
        json_flaws(json, "flaws", &checked->found, false);
        json_flaws(json, "notices", &checked->found, true);
        cb_json_integer(json, "mended", (long long)(found - left < found ? found - left : found));
        cb_json_text(json, "kept", checked->kept);
        cb_command_print_json(json);
        return;
    }
    print_flaws(args, &checked->found);
    if (checked->kept) {
        cb_args_print(args, cb_arena_printf(args->arena, "mended; the log as it was is kept: %s\n",
                                            cb_utf8_clean(args->arena, checked->kept, 0)));
        print_flaws(args, &checked->left);
    }
    if (left == 0) {
        puts("nothing to mend");
    } else {
        printf("%zu thing%s to mend%s\n", left, left == 1 ? "" : "s",
               checked->kept ? "" : ": `coatbell log check --mend`, which keeps the log as it was");
    }
}

int cb_log_check(const struct cb_args *args)
{
    struct cb_err err = {0};
    struct checked checked = {0};
    const struct cb_kinds *kinds = NULL;
    const char *path = cb_args_log(args, &err);
    enum cb_status status = cb_args_settings(args, &kinds, NULL, &err);
    if (args->operand_count != 1) {
        return cb_command_failf(CB_USAGE, "log check: unknown word: %s", args->operands[1]);
    }
    if (status == CB_OK) {
        status = look(args, path, kinds, &checked.found, &err);
    }
    if (status == CB_OK && cb_args_has(args, "--mend") && cb_flaws_to_mend(&checked.found) > 0) {
        status = cb_store_mend(path, &checked.found, args->arena, &checked.kept, &err);
        if (status == CB_OK) {
            status = look(args, path, kinds, &checked.left, &err);
        }
    }
    if (status == CB_OK) {
        print(args, &checked);
        status =
            cb_flaws_to_mend(checked.kept ? &checked.left : &checked.found) == 0 ? CB_OK : CB_DATA;
    } else {
        if (!args->json) {
            print_flaws(args, &checked.found);
            fflush(stdout);
        }
        cb_command_fail(&err);
    }
    cb_flaws_fini(&checked.found);
    cb_flaws_fini(&checked.left);
    return (int)status;
}
