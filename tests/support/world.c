/* SPDX-License-Identifier: MIT */
#include "support/world.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/time.h"
#include "core/bench/bench_internal.h"
#include "core/bench/forecast.h"
#include "support/events.h"

/* Rows of the table of priors that the tests need; values as in shared/kinds.yaml. */
static const struct cb_kind kinds[] = {
    {"acrylic", CB_LAW_WATER, .33, 10, .30, false, false, true, "test"},
    {"wash", CB_LAW_WATER, .08, 10, .30, false, false, true, "test"},
    {"texture paste", CB_LAW_WATER, .55, 10, .55, false, false, false, "test"},
    {"spray undercoat", CB_LAW_SOLVENT, NAN, NAN, .30, true, true, true, "test"},
    {"oil", CB_LAW_OIL, NAN, NAN, .50, false, true, false, "test"},
};
static const struct cb_prior priors[] = {
    {0, CB_TECHNIQUE_UNDERCOAT, CB_BY_BRUSH, 45, .28, 1, 1.6, 1, 0, 0, NAN, "test"},
    {0, CB_TECHNIQUE_BASECOAT, -1, 25, .22, 1, 1.25, 2, 0, 1, NAN, "test"},
    {0, CB_TECHNIQUE_LAYER, -1, 15, .22, 1, 1.2, 1, 0, 1, NAN, "test"},
    {1, CB_TECHNIQUE_WASH, -1, 45, .08, .9, 1.25, 1, 0, 0, NAN, "test"},
    {2, CB_TECHNIQUE_TEXTURE, -1, 500, .55, .9, 1.1, 1, 0, 0, NAN, "test"},
    {3, CB_TECHNIQUE_UNDERCOAT, -1, NAN, NAN, NAN, 4, 1, 0, 0, 60, "test"},
    {4, CB_TECHNIQUE_WASH, -1, NAN, NAN, NAN, 3, 1, 0, 0, 2160, "test"},
};

const struct cb_kinds *world_kinds(void)
{
    static struct cb_kinds table = {.kind_count = sizeof kinds / sizeof *kinds,
                                    .kinds = kinds,
                                    .prior_count = sizeof priors / sizeof *priors,
                                    .priors = priors,
                                    .medium_solids = .02,
                                    .retarder_solids = .02,
                                    .retarder_slows = 2,
                                    .edition = "test"};
    for (size_t i = 0; i < CB_TECHNIQUE_COUNT; i++) {
        table.techniques[i] = (struct cb_technique_row){20, 1, 1, 0, 0, 4, 2, "test"};
    }
    return &table;
}

struct flow {
    const char *at;
    struct cb_arena *arena;
    const char *counted; /* line and column are those of this */
    int line, column;
};

/* A node where the flow stands. */
static struct cb_tree place(struct flow *flow, enum cb_tree_type type)
{
    for (; flow->counted < flow->at; flow->counted++) {
        const bool newline = *flow->counted == '\n';
        flow->line += newline;
        flow->column = newline ? 1 : flow->column + 1;
    }
    return (struct cb_tree){.type = type, .line = flow->line, .column = flow->column};
}

static void skip(struct flow *flow)
{
    while (*flow->at && (isspace((unsigned char)*flow->at) || *flow->at == ',')) {
        flow->at++;
    }
}

static struct cb_tree read_word(struct flow *flow)
{
    const char *from = flow->at;
    struct cb_tree word = place(flow, CB_TREE_TEXT);
    while (*flow->at && !strchr(",:{}[]", *flow->at)) {
        flow->at++;
    }
    const char *to = flow->at;
    while (to > from && isspace((unsigned char)to[-1])) {
        to--;
    }
    word.text = cb_arena_text_n(flow->arena, from, (size_t)(to - from));
    return word;
}

static struct cb_tree read_flow(struct flow *flow)
{
    skip(flow);
    const char open = *flow->at;
    if (open != '{' && open != '[') {
        return read_word(flow);
    }
    struct cb_tree tree = place(flow, open == '{' ? CB_TREE_MAP : CB_TREE_LIST);
    struct cb_tree *keys = cb_arena_alloc(flow->arena, CB_RECIPE_MAX + 1, sizeof *keys);
    struct cb_tree *items = cb_arena_alloc(flow->arena, CB_RECIPE_MAX + 1, sizeof *items);
    flow->at++;
    for (skip(flow); *flow->at && !strchr("}]", *flow->at) && tree.count <= CB_RECIPE_MAX;
         skip(flow)) {
        if (open == '{') {
            keys[tree.count] = read_word(flow);
            flow->at += *flow->at == ':';
        }
        items[tree.count++] = read_flow(flow);
    }
    flow->at += *flow->at != '\0';
    tree.keys = open == '{' ? keys : NULL;
    tree.items = items;
    return tree;
}

const struct cb_tree *world_read(const char *text, size_t length, struct cb_arena *arena,
                                 struct cb_issues *issues)
{
    if (length == 0 || text[0] != '{') {
        cb_issues_add(issues, arena, 1, 1, "no flow text: it begins with {");
        return NULL;
    }
    struct flow flow = {.at = cb_arena_text_n(arena, text, length), .arena = arena};
    flow.counted = flow.at;
    flow.line = flow.column = 1;
    struct cb_tree *tree = cb_arena_alloc(arena, 1, sizeof *tree);
    *tree = read_flow(&flow);
    return tree;
}

void world_init(struct world *world)
{
    *world = (struct world){.machine = "m"};
    world->bench = cb_bench_new(world_kinds(), world_read);
    world->learn = cb_learn_new(NULL);
    world->now = (struct cb_moment){INT64_C(1767636000000), 1000000, "b"};
}

void world_fini(struct world *world)
{
    cb_bench_free(world->bench);
    cb_learn_free(world->learn);
    cb_vec_free(&world->log);
    cb_arena_fini(&world->arena);
}

void world_wait(struct world *world, double minutes)
{
    const int64_t ms = (int64_t)llround(minutes * 60000);
    world->now.wall_ms += ms;
    world->now.boot_ms += ms;
}

int64_t world_ms(const struct world *world)
{
    return cb_bench_time(world->bench, &world->now);
}

static char *word_of(struct world *world, const char **line)
{
    while (**line == ' ') {
        (*line)++;
    }
    const char *from = *line;
    bool quoted = false;
    while (**line && (quoted || **line != ' ')) {
        quoted ^= **line == '\'';
        (*line)++;
    }
    char *word = cb_arena_text_n(&world->arena, from, (size_t)(*line - from));
    size_t kept = 0;
    for (size_t i = 0; word[i]; i++) {
        if (word[i] != '\'') {
            word[kept++] = word[i];
        }
    }
    word[kept] = '\0';
    return word;
}

static void add_lists(struct cb_event_make *make, const struct cb_event_field *row, char *value)
{
    struct cb_film_key films[CB_FIGURES_MAX];
    int figures[CB_FIGURES_MAX];
    size_t n = 0;
    for (char *at = value; *at && n < CB_FIGURES_MAX; n++) {
        films[n] = (struct cb_film_key){(int)strtol(at, &at, 10), 0, 0};
        figures[n] = films[n].figure;
        if (*at == '/') {
            films[n].stage = (int)strtol(at + 1, &at, 10);
            films[n].coat = (int)strtol(at + 1, &at, 10);
        }
        at += *at == ',';
    }
    if (row->type == CB_TYPE_FILMS) {
        cb_event_add_films(make, films, n);
    } else {
        events_add_figures(make, figures, n);
    }
}

static void add_field(struct world *world, struct cb_event_make *make, enum cb_event_kind kind,
                      char *word)
{
    size_t count;
    const struct cb_event_field *schema = cb_event_schema(kind, &count);
    char *value = strchr(word, '=');
    *value++ = '\0';
    size_t i = 0;
    while (i < count && strcmp(cb_field_name(schema[i].field), word) != 0) {
        i++;
    }
    if (i == count) {
        fprintf(stderr, "no such field: %s\n", word);
        abort();
    }
    switch (schema[i].type) {
    case CB_TYPE_INT:
        cb_event_add_int(make, schema[i].field, strtol(value, NULL, 10));
        break;
    case CB_TYPE_NUMBER:
        cb_event_add_number(make, schema[i].field, strtod(value, NULL));
        break;
    case CB_TYPE_TIME:
        cb_event_add_time(make, schema[i].field,
                          world->now.wall_ms + llround(strtod(value, NULL) * 60000));
        break;
    case CB_TYPE_TEXT:
    case CB_TYPE_RAW:
        cb_event_add_text(make, schema[i].field, value);
        break;
    case CB_TYPE_BOOL:
        cb_event_add_bool(make, schema[i].field, strcmp(value, "true") == 0);
        break;
    case CB_TYPE_FILMS:
    case CB_TYPE_FIGURES:
        add_lists(make, &schema[i], value);
        break;
    }
}

const char *world_also(struct world *world, const char *line)
{
    const char *name = word_of(world, &line);
    const char *unit = word_of(world, &line);
    const enum cb_event_kind kind = cb_event_kind_of(name);
    struct cb_event_make make;
    cb_event_begin(&make, &world->arena, kind, strcmp(unit, "-") == 0 ? NULL : unit, &world->now);
    for (char *word = word_of(world, &line); word[0]; word = word_of(world, &line)) {
        add_field(world, &make, kind, word);
    }
    world->events++;
    make.event.id = cb_arena_printf(&world->arena, "%s%06d", world->machine ? world->machine : "x",
                                    world->events);
    if (world->machine) {
        make.event.machine = world->machine;
        make.event.seq = world->events;
        make.event.press = cb_arena_printf(&world->arena, "p%d", world->presses);
    } else {
        make.event.boot = NULL;
        make.event.boot_ms = 0;
    }
    const struct cb_event *event = cb_event_take(&make);
    cb_vec_push(&world->log, event);
    if (!world->hold) {
        cb_bench_add(world->bench, &event, 1);
    }
    return event->press;
}

const char *world_do(struct world *world, const char *line)
{
    world->presses++;
    return world_also(world, line);
}

void world_begin(struct world *world, const char *unit, int figures, const char *recipe)
{
    world_do(world, cb_arena_printf(&world->arena, "unit_begun %s name=%s figures=%d recipe='%s'",
                                    unit, unit, figures, recipe));
}

void world_undo(struct world *world)
{
    const char *press = cb_bench_undoable(world->bench, NULL, NULL);
    if (press) {
        world_do(world, cb_arena_printf(&world->arena, "undone - of=%s", press));
    }
}

void world_redo(struct world *world)
{
    const char *press = cb_bench_redoable(world->bench, NULL, NULL);
    if (press) {
        world_do(world, cb_arena_printf(&world->arena, "undone - of=%s", press));
    }
}

void world_learn(struct world *world)
{
    size_t count;
    const struct cb_row *rows = cb_bench_rows(world->bench, &count);
    cb_learn_sync(world->learn, rows, count);
}

double world_ring_min(const struct world *world, const struct cb_unit *unit, int stage, double p)
{
    const char *pot = cb_bench_stage_pot(unit, stage);
    return cb_forecast_ring_min(
        &unit->drying[stage - 1], world->learn, pot,
        cb_bench_answered(world->bench, pot, unit->recipe->stages[stage - 1].technique), p);
}
