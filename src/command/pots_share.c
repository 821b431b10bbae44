/* SPDX-License-Identifier: MIT */
/* `pots export` and `pots import`: what was learned, for another bench. */
#include <stdio.h>
#include <string.h>

#include "base/index.h"
#include "base/utf8.h"
#include "command/pots_internal.h"
#include "core/bench/pot_share.h"
#include "shell/clock.h"
#include "shell/json_write.h"
#include "shell/out_file.h"
#include "shell/yaml.h"

static const char *path_of(const struct cb_pots *pots)
{
    return pots->args->operands[1];
}

enum cb_status cb_pots_export(const struct cb_pots *pots, struct cb_err *err)
{
    struct cb_out_file *file = NULL;
    struct cb_str text = {0};
    size_t count;
    const struct cb_pot_given *given = cb_pot_share_of(pots->lines, pots->count, pots->log.kinds,
                                                       pots->learn, pots->args->arena, &count);
    const size_t written = cb_pot_share_write(given, count, CB_YAML_BYTES_MAX, &text);
    enum cb_status status = cb_out_file_open(path_of(pots), pots->log.path, &file, err);
    if (status == CB_OK) {
        cb_out_file_write(file, cb_str_text(&text), text.length);
        status = cb_out_file_close(file, true, err);
    }
    cb_str_fini(&text);
    if (status == CB_OK && strcmp(path_of(pots), "-") != 0) {
        if (pots->args->json) {
            struct cb_json *json = cb_json_new();
            cb_json_text(json, "file", path_of(pots));
            cb_json_integer(json, "paints", (long long)written);
            cb_command_print_json(json);
        } else {
            printf("exported %zu paint%s\n", written, written == 1 ? "" : "s");
        }
    }
    return status == CB_OK && written < count
               ? cb_err_set(err, CB_FAILED, "%s: %zu of %zu paints fit into a table of %d bytes",
                            path_of(pots), written, count, CB_YAML_BYTES_MAX)
               : status;
}

/* What there is of an entry already, in the log or further up in its table. */
enum known {
    NEW,
    POOLED, /* another entry of the pot */
    THERE,
    UNKNOWN, /* a kind that this bench has not: it could teach nothing */
    KNOWN_COUNT
};

struct taking {
    struct cb_row *rows; /* that are taken */
    const struct cb_event **events;
    size_t count;
    size_t found[KNOWN_COUNT];
};

static enum known known_of(const struct cb_pots *pots, const struct taking *taking,
                           const struct cb_pot_given *given, struct cb_row *row)
{
    struct cb_arena *arena = pots->args->arena;
    if (!cb_pot_given_row(given, pots->log.kinds, arena, row)) {
        return UNKNOWN;
    }
    row->pot = cb_bench_joined(pots->log.bench, row->pot, arena);
    size_t count;
    const struct cb_row *const *before =
        cb_pots_given(pots->rows, pots->row_count, row->pot, arena, &count);
    enum known known = count > 0 ? POOLED : NEW;
    for (size_t i = 0; i < count; i++) {
        known = cb_pot_given_is_same(before[i], row) ? THERE : known;
    }
    for (size_t i = 0; i < taking->count && known != THERE; i++) {
        if (strcmp(taking->rows[i].pot, row->pot) == 0) {
            known = cb_pot_given_is_same(&taking->rows[i], row) ? THERE : POOLED;
        }
    }
    return known;
}

static void print_issues(const struct cb_pots *pots, const struct cb_issues *issues)
{
    struct cb_str text = {0};
    struct cb_str out = {0};
    for (size_t i = 0; i < issues->count; i++) {
        const struct cb_issue *issue = &issues->items[i];
        cb_str_addf(&text, "%s:%d:%d: %s\n", path_of(pots), issue->line, issue->column,
                    issue->message);
    }
    cb_command_lines(&out, cb_str_text(&text), pots->args->ascii);
    cb_str_fini(&text);
    cb_command_print(stderr, &out);
}

static enum cb_status append(struct cb_pots *pots, const struct cb_event *const *events,
                             size_t count, struct cb_err *err)
{
    struct cb_store *store = NULL;
    const struct cb_event **stored = NULL;
    enum cb_status status = cb_store_open(pots->log.path, CB_STORE_APPEND, &store, err);
    if (status == CB_OK) {
        status = cb_store_append(store, events, count, pots->args->arena, &stored, err);
    }
    cb_store_close(store);
    return status;
}

static void print_taken(const struct cb_pots *pots, const struct taking *taking)
{
    const size_t taken = taking->count;
    const size_t known = taking->found[THERE];
    const size_t pooled = taking->found[POOLED];
    const size_t unknown = taking->found[UNKNOWN];
    if (pots->args->json) {
        struct cb_json *json = cb_json_new();
        cb_json_integer(json, "imported", (long long)taken);
        cb_json_integer(json, "known", (long long)known);
        cb_json_integer(json, "pooled", (long long)pooled);
        cb_json_integer(json, "unknown", (long long)unknown);
        cb_command_print_json(json);
        return;
    }
    printf("imported %zu paint%s, %zu there already", taken, taken == 1 ? "" : "s", known);
    if (unknown > 0) {
        printf(", %zu of a kind unknown here left", unknown);
    }
    if (taken > 0) {
        printf("; each counts as %d coats at most, before your own, once a unit has the paint",
               CB_GIVEN_COATS);
    }
    if (pooled > 0) {
        printf("; %zu pooled with what was given before", pooled);
    }
    printf("\n");
}

const char *cb_pots_waiting(const struct cb_pots *pots, const char *wanted)
{
    struct cb_arena *arena = pots->args->arena;
    struct cb_index *known = cb_index_new();
    struct cb_str names = {0};
    for (size_t i = 0; i < pots->count; i++) {
        cb_index_set(known, pots->lines[i].pot, 0);
    }
    for (size_t i = 0; i < pots->row_count; i++) {
        const struct cb_row *row = &pots->rows[i];
        size_t at;
        if (row->kind == CB_ROW_FORGET && row->pot == NULL) {
            names.length = 0;
        } else if (row->kind == CB_ROW_GIVEN && !cb_index_get(known, row->pot, &at)) {
            cb_index_set(known, row->pot, 0);
            if (strstr(cb_utf8_fold(arena, row->paint), wanted) != NULL) {
                cb_str_addf(&names, "%s%s", names.length > 0 ? ", " : "", row->paint);
            }
        }
    }
    const char *text =
        names.length > 0 ? cb_arena_text_n(arena, cb_str_text(&names), names.length) : NULL;
    cb_index_free(known);
    cb_str_fini(&names);
    return text;
}

enum cb_status cb_pots_read_given(struct cb_pots *pots, struct cb_err *err)
{
    struct cb_arena *arena = pots->args->arena;
    struct cb_issues issues = {0};
    char *text;
    size_t length;
    const enum cb_status status =
        cb_file_read_head(path_of(pots), CB_YAML_BYTES_MAX + 1, arena, &text, &length, err);
    if (status != CB_OK) {
        return status;
    }
    const struct cb_tree *tree = cb_yaml_read(text, length, arena, &issues);
    pots->given = tree ? cb_pot_share_read(tree, arena, &issues, &pots->given_count) : NULL;
    if (pots->given == NULL) {
        print_issues(pots, &issues);
        return CB_DATA;
    }
    return CB_OK;
}

enum cb_status cb_pots_import(struct cb_pots *pots, struct cb_err *err)
{
    struct cb_arena *arena = pots->args->arena;
    const struct cb_moment now = cb_clock_now();
    struct taking taking = {
        .rows = cb_arena_alloc(arena, pots->given_count + 1, sizeof *taking.rows),
        .events = cb_arena_alloc(arena, pots->given_count + 1, sizeof(struct cb_event *)),
    };
    for (size_t i = 0; i < pots->given_count; i++) {
        struct cb_event_make make;
        const enum known known =
            known_of(pots, &taking, &pots->given[i], &taking.rows[taking.count]);
        taking.found[known]++;
        if (known == NEW || known == POOLED) {
            cb_pot_given_event(&pots->given[i], arena, &now, &make);
            taking.events[taking.count++] = cb_event_take(&make);
        }
    }
    const enum cb_status status =
        taking.count > 0 ? append(pots, taking.events, taking.count, err) : CB_OK;
    if (status == CB_OK) {
        print_taken(pots, &taking);
    }
    return status;
}
