/* SPDX-License-Identifier: MIT */
/*
 * What large and hostile inputs cost each parser: depth, length, width, a million lines, all that a
 * stranger would send to keep it busy, just within its bound and far over it. A line for each
 * parser, its dearest input in processor time; an input over 64 KiB is to take less than 200 ms.
 * With --judge it fails where that is passed ten times over, which no busy machine makes of a sound
 * parser.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "app/keymap.h"
#include "base/str.h"
#include "command/play_line.h"
#include "core/bench/pot_share.h"
#include "core/air/climate.h"
#include "core/coach/cue.h"
#include "core/paint/kinds.h"
#include "core/recipe/config.h"
#include "core/recipe/quick.h"
#include "core/recipe/recipe.h"
#include "shell/jsonl.h"
#include "shell/paths.h"
#include "shell/transfer.h"
#include "shell/yaml.h"

#define WANTED_MS 200
#define JUDGED_MS 2000

static struct cb_arena kept; /* lives as long as the program */
static const struct cb_kinds *kinds;
static const struct cb_tree *kinds_tree;

static void read_recipe(const char *text, size_t length, struct cb_arena *arena)
{
    struct cb_issues issues = {0};
    struct cb_str out = {0};
    const struct cb_tree *tree = cb_yaml_read(text, length, arena, &issues);
    if (tree != NULL) {
        (void)cb_recipe_from_tree(tree, text, kinds, arena, &issues);
    }
    cb_issues_print(&issues, "hostile", text, &out);
    cb_str_fini(&out);
}

static void read_config(const char *text, size_t length, struct cb_arena *arena)
{
    struct cb_issues issues = {0};
    struct cb_err err = {0};
    const struct cb_tree *tree = cb_yaml_read(text, length, arena, &issues);
    const struct cb_config *config =
        tree != NULL ? cb_config_from_tree(tree, arena, &issues) : NULL;
    if (config != NULL) {
        (void)cb_keymap_init(cb_arena_alloc(arena, 1, sizeof(struct cb_keymap)), config, &err);
    }
}

static void read_kinds(const char *text, size_t length, struct cb_arena *arena)
{
    struct cb_issues issues = {0}, none = {0};
    const struct cb_tree *tree = cb_yaml_read(text, length, arena, &issues);
    if (tree != NULL) {
        (void)cb_kinds_from_tree(kinds_tree, tree, arena, &none, &issues);
    }
}

static void read_cues(const char *text, size_t length, struct cb_arena *arena)
{
    struct cb_issues issues = {0}, none = {0};
    const struct cb_tree *tree = cb_yaml_read(text, length, arena, &issues);
    if (tree != NULL) {
        (void)cb_cues_from_tree(NULL, tree, kinds, arena, &none, &issues);
    }
}

static void read_pots(const char *text, size_t length, struct cb_arena *arena)
{
    struct cb_issues issues = {0};
    size_t count;
    const struct cb_tree *tree = cb_yaml_read(text, length, arena, &issues);
    if (tree != NULL) {
        (void)cb_pot_share_read(tree, arena, &issues, &count);
    }
}

static void read_import(const char *text, size_t length, struct cb_arena *arena)
{
    struct cb_store *store = NULL;
    struct cb_transfer_text source = {text, length};
    struct cb_transfer_in in = {.read = cb_transfer_read_text, .context = &source};
    struct cb_transfer_taken taken;
    if (cb_store_open(NULL, CB_STORE_APPEND, &store, NULL) == CB_OK) {
        (void)cb_transfer_in(store, &in, arena, &taken, NULL);
        cb_store_close(store);
    }
}

static void read_line(const char *text, size_t length, struct cb_arena *arena)
{
    const struct cb_event *event;
    struct cb_err err = {0};
    (void)cb_jsonl_decode(text, length, arena, &event, &err);
}

static void read_quick(const char *text, size_t length, struct cb_arena *arena)
{
    const struct cb_quick_known known = {kinds, NULL, NULL, 0, true};
    (void)length;
    cb_quick_read(&known, text, arena, cb_arena_alloc(arena, 1, sizeof(struct cb_quick)));
}

static void read_climate(const char *text, size_t length, struct cb_arena *arena)
{
    struct cb_climate climate = cb_climate_standard;
    struct cb_err err = {0};
    double minutes;
    (void)length, (void)arena;
    (void)cb_climate_parse(text, false, &climate, &err);
    (void)cb_recipe_minutes(text, &minutes);
}

static void read_play(const char *text, size_t length, struct cb_arena *arena)
{
    char *line = cb_arena_text_n(arena, text, length);
    while (line != NULL) {
        struct cb_play_line read;
        struct cb_err err = {0};
        char *end = strchr(line, '\n');
        if (end != NULL) {
            *end++ = '\0';
        }
        (void)cb_play_line_read(line, &read, &err);
        line = end;
    }
}

static const struct {
    const char *name;
    void (*read)(const char *text, size_t length, struct cb_arena *arena);
    size_t sizes[2];
} parsers[] = {
    {"recipe", read_recipe, {65536, 1 << 20}},  {"config", read_config, {65536, 1 << 20}},
    {"kinds", read_kinds, {65536, 1 << 20}},    {"cues", read_cues, {65536, 1 << 20}},
    {"pots", read_pots, {65536, 1 << 20}},      {"import", read_import, {65536, 1 << 20}},
    {"event", read_line, {65536, 512 * 1024}},  {"quick", read_quick, {4096, 65536}},
    {"climate", read_climate, {4096, 1 << 20}}, {"play", read_play, {65536, 1 << 20}},
};

/* Head, then body over and over until it is full; "%d" of the body is its number. */
static const struct {
    const char *head, *body;
} shapes[] = {
    {"", "["},
    {"", "{"},
    {"", "{a: "},
    {"", "- "},
    {"", "? "},
    {"", "\n"},
    {"", "\r\n"},
    {"", "\t"},
    {"", " "},
    {"", "a"},
    {"\"", "a"},
    {"'", "''"},
    {"\"", "\\u202e"},
    {"", "\""},
    {"", "'"},
    {"", "#"},
    {"", "# remark\n"},
    {"", "&a "},
    {"", "*a "},
    {"", "!t "},
    {"", "--- a\n"},
    {"a: |\n", "  text\n"},
    {"a: >\n", "  text\n\n"},
    {"", "k%d: v\n"},
    {"", "k: v\n"},
    {"a: [", "x, "},
    {"a: {", "k%d: x, "},
    {"", "\xcc\x81"},
    {"", "\xe5\xa4\x9c"},
    {"", "\xf0\x9f\xa6\x80"},
    {"", "\xff"},
    {"", "\x1b[2J"},
    {"", "9"},
    {"", "1."},
    {"", "1 h "},
    {"", "20 50 "},
    {"", "1 green + "},
    {"coatbell: 1\nname: x\nstages:\n", "  - {name: s%d, technique: prepare}\n"},
    {"coatbell: 1\nname: x\nstages:\n", "  - {name: s, technique: prepare}\n"},
    {"coatbell: 1\nname: x\npaints:\n", "  p%d: {name: n%d}\n"},
    {"coatbell: 1\nname: x\nareas:\n", "  a%d: {beside: [a1]}\n"},
    {"coatbell: 1\nname: x\npaints: {p: {name: n}}\nstages:\n  - {name: s, technique: wash, mix: ",
     "1 p + "},
    {"coatbell: 1\nname: x\nstages:\n  - {name: s, technique: prepare, on: [", "whole, "},
    {"coatbell: 1\nname: x\nstages:\n  - {name: s, technique: prepare, say: ", "words "},
    {"coatbell: 1\nname: x\ngroups:\n  g: [", "1, "},
    {"keys: {", "coat-on: [a, b], "},
    {"keys: {coat-on: [", "a, "},
    {"coatbell-kinds: 1\nkinds:\n", "  k%d: {law: water, solids: 0.4, source: x}\n"},
    {"coatbell-cues: 1\ncues:\n", "  - {id: c%d, say: x}\n"},
    {"coatbell pots: 1\npaints:\n",
     "  - {paint: p%d, kind: acrylic, technique: layer, median_min: 5, low_min: 4, high_min: 6,"
     " coats: 2}\n"},
    {"", "{\"id\":\"i%d\",\"at\":\"2026-01-05T18:00:00Z\",\"event\":\"note\",\"text\":\"x\"}\n"},
    {"", "{\"id\":\"i\",\"at\":\"2026-01-05T18:00:00Z\",\"event\":\"session_opened\"}\n"},
    {"{\"id\":\"i\",\"at\":\"2026-01-05T18:00:00Z\",\"event\":\"note\",\"text\":\"", "x"},
    {"{\"id\":\"i\",\"at\":\"2026-01-05T18:00:00Z\",\"event\":\"note\",\"text\":\"", "\\u202e"},
    {"{\"id\":\"i\",\"at\":\"2026-01-05T18:00:00Z\",\"event\":\"odd\"", ",\"k%d\":1"},
    {"{\"id\":\"i\",\"at\":\"2026-01-05T18:00:00Z\",\"event\":\"odd\",\"k\":", "[1,"},
    {"{\"id\":\"i\",\"at\":\"2026-01-05T18:00:00Z\",\"event\":\"odd\",\"k\":[", "1,"},
    {"", "{\"a\":"},
    {"", "key SPACE\n"},
    {"at +", "1h"},
    {"begin x", " -n 1"},
};

static void fill(struct cb_str *out, size_t shape, size_t size)
{
    cb_str_clear(out);
    cb_str_add(out, shapes[shape].head);
    for (int i = 1; out->length < size; i++) {
        for (const char *at = shapes[shape].body; *at != '\0'; at++) {
            if (at[0] == '%' && at[1] == 'd') {
                cb_str_addf(out, "%d", i);
                at++;
            } else {
                cb_str_add_n(out, at, 1);
            }
        }
    }
}

/* Of the processor, ms. */
static double take(size_t parser, const struct cb_str *text)
{
    struct cb_arena arena = {0};
    const clock_t before = clock();
    parsers[parser].read(cb_str_text(text), text->length, &arena);
    const double ms = (double)(clock() - before) * 1000 / CLOCKS_PER_SEC;
    cb_arena_fini(&arena);
    return ms;
}

static void load_kinds(void)
{
    struct cb_issues issues = {0};
    struct cb_err err = {0};
    char *text = NULL;
    size_t length = 0;
    const char *path = cb_paths_data(&kept, "kinds.yaml");
    if (path == NULL || cb_paths_kinds(&kept, &kinds, &err) != CB_OK ||
        cb_file_read(path, CB_YAML_BYTES_MAX, &kept, &text, &length, &err) != CB_OK) {
        fprintf(stderr, "%s\n", err.text);
        exit(1);
    }
    kinds_tree = cb_yaml_read(text, length, &kept, &issues);
}

int main(int argc, char **argv)
{
    const bool judge = argc > 1 && strcmp(argv[1], "--judge") == 0;
    struct cb_str text = {0};
    int over = 0;
    load_kinds();
    setvbuf(stdout, NULL, _IOLBF, 0);
    for (size_t p = 0; p < sizeof parsers / sizeof *parsers; p++) {
        double worst = 0;
        size_t worst_shape = 0, worst_size = 0;
        for (size_t k = 0; k < 2; k++) {
            for (size_t shape = 0; shape < sizeof shapes / sizeof *shapes; shape++) {
                fill(&text, shape, parsers[p].sizes[k]);
                const double ms = take(p, &text);
                if (ms > worst) {
                    worst = ms;
                    worst_shape = shape;
                    worst_size = text.length;
                }
            }
        }
        const char *body = shapes[worst_shape].body;
        printf("%-8s at most %6.1f ms: %zu bytes of %s%.*s%s\n", parsers[p].name, worst, worst_size,
               shapes[worst_shape].head[0] != '\0' ? "... " : "", (int)strcspn(body, "\n"), body,
               worst > WANTED_MS ? "   over 200 ms" : "");
        over += worst > JUDGED_MS;
    }
    cb_str_fini(&text);
    cb_arena_fini(&kept);
    return judge && over > 0;
}
