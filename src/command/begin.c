/* SPDX-License-Identifier: MIT */
/* `begin`: a recipe becomes a unit in the log. */
#include <stdio.h>
#include <string.h>

#include "base/str.h"
#include "base/utf8.h"
#include "base/vec.h"
#include "command/recipe_args.h"
#include "core/air/climate.h"
#include "core/log/event.h"
#include "core/recipe/drying_stage.h"
#include "core/recipe/schema.h"
#include "shell/clock.h"
#include "shell/console.h"
#include "shell/json_write.h"
#include "shell/paths.h"
#include "shell/store.h"
#include "shell/term.h"
#include "app/coats.h"
#include "app/figures.h"
#include "app/keymap.h"

struct begin {
    const struct cb_args *args;
    const struct cb_kinds *kinds;
    const struct cb_config *config;
    struct cb_recipe_file file;
    struct cb_moment now;
    const char *unit, *name;
    int figures, first; /* first: as many are painted before the others; 0: all at once */
    bool behind;        /* a bench is open on the log: what its painter has in front stays there */
    CB_VEC(const struct cb_event *) events;
};

/* A name without a folder may be one of the recipes that lie in the usual places. */
static enum cb_status read_recipe(struct begin *begin, struct cb_err *err)
{
    struct cb_arena *arena = begin->args->arena;
    const char *given = begin->args->operands[0];
    enum cb_status status = cb_recipe_file_read(given, begin->kinds, arena, &begin->file, err);
    if (status != CB_IO || strchr(given, '/') != NULL) {
        return status;
    }
    const char *folders[3];
    size_t count = cb_paths_recipes(arena, folders);
    for (size_t i = 0; i < count; i++) {
        for (int suffix = 0; suffix < 2; suffix++) {
            const char *path =
                cb_arena_printf(arena, "%s/%s%s", folders[i], given, suffix == 1 ? ".yaml" : "");
            struct cb_err other = {0};
            status = cb_recipe_file_read(path, begin->kinds, arena, &begin->file, &other);
            if (status != CB_IO) {
                *err = other;
                return status;
            }
        }
    }
    return err->status;
}

static enum cb_status read_figures(struct begin *begin, struct cb_err *err)
{
    const char *given = cb_args_get(begin->args, "-n");
    long long figures = begin->file.recipe->figures;
    if (given == NULL && figures == 0) {
        return cb_err_set(err, CB_USAGE, "the recipe does not say how many figures; say -n 10");
    }
    if (given != NULL &&
        (!cb_str_integer(given, &figures) || figures < 1 || figures > CB_FIGURES_MAX)) {
        return cb_err_set(err, CB_USAGE, "-n %s: figures are a whole number, 1 to %d", given,
                          CB_FIGURES_MAX);
    }
    begin->figures = (int)figures;
    const char *first_given = cb_args_get(begin->args, "--first");
    long long first = 0;
    if (first_given != NULL &&
        (!cb_str_integer(first_given, &first) || first < 1 || first > figures)) {
        return cb_err_set(err, CB_USAGE,
                          "--first %s: a whole number, 1 to the %d figures there are", first_given,
                          begin->figures);
    }
    begin->first = (int)first;
    return CB_OK;
}

static void add_event(struct begin *begin, struct cb_event_make *make)
{
    cb_vec_push(&begin->events, cb_event_take(make));
}

static void add_unit(struct begin *begin)
{
    struct cb_event_make make;
    const char *name = cb_args_get(begin->args, "--name");
    begin->name = name != NULL ? name : begin->file.recipe->name;
    /* Opaque; two machines would have to begin at the same millisecond of both their clocks. */
    begin->unit = cb_arena_printf(begin->args->arena, "u%012llx%08llx",
                                  (unsigned long long)begin->now.wall_ms,
                                  (unsigned long long)begin->now.boot_ms & 0xFFFFFFFFULL);
    cb_event_begin(&make, begin->args->arena, CB_EVENT_UNIT_BEGUN, begin->unit, &begin->now);
    cb_event_add_text(&make, CB_FIELD_NAME, begin->name);
    cb_event_add_int(&make, CB_FIELD_FIGURES, begin->figures);
    cb_event_add_text(&make, CB_FIELD_RECIPE, begin->file.text);
    if (begin->behind) {
        cb_event_add_text(&make, CB_FIELD_FRONT, CB_FRONT_NONE);
    }
    add_event(begin, &make);
    for (int figure = begin->first + 1; begin->first > 0 && figure <= begin->figures; figure++) {
        cb_vec_push(&begin->events,
                    cb_figures_park_event(begin->args->arena, begin->unit, figure, &begin->now));
    }
}

/* --use KEY="NAME": another pot in the place of the recipe's, of the same kind and tone; or water
 * in the place of medium. */
static enum cb_status add_swap(struct begin *begin, const char *use, struct cb_err *err)
{
    const struct cb_recipe *recipe = begin->file.recipe;
    struct cb_arena *arena = begin->args->arena;
    const char *name = NULL;
    int found = 0;
    if (cb_recipe_args_use(recipe, use, arena, &found, &name, err) != CB_OK) {
        return err->status;
    }
    struct cb_event_make make;
    const struct cb_paint *paint = found >= 0 ? &recipe->paints[found] : NULL;
    cb_event_begin(&make, arena, CB_EVENT_SWAPPED, begin->unit, &begin->now);
    cb_event_add_text(&make, CB_FIELD_PAINT, paint != NULL ? paint->key : CB_MEDIUM);
    cb_event_add_text(&make, CB_FIELD_NAME, name);
    if (paint != NULL) {
        cb_event_add_text(&make, CB_FIELD_KIND, begin->kinds->kinds[paint->kind].name);
    }
    if (paint != NULL && paint->tone != CB_TONE_NONE) {
        cb_event_add_text(&make, CB_FIELD_TONE, cb_tone_name(paint->tone));
    }
    add_event(begin, &make);
    return CB_OK;
}

/* --done STAGE: all its coats were on before. */
static enum cb_status add_done(struct begin *begin, const char *name, struct cb_err *err)
{
    const struct cb_recipe *recipe = begin->file.recipe;
    struct cb_arena *arena = begin->args->arena;
    const int stage = cb_recipe_stage(recipe, name);
    if (stage < 0) {
        const char *names[CB_RECIPE_MAX];
        struct cb_issues none = {0};
        struct cb_schema schema = {arena, &none};
        for (size_t i = 0; i < recipe->stage_count; i++) {
            names[i] = recipe->stages[i].name;
        }
        return cb_err_set(err, CB_USAGE, "--done %s: the recipe has no such stage%s", name,
                          cb_schema_hint(&schema, name, names, recipe->stage_count));
    }
    for (int figure = 1; figure <= begin->figures; figure++) {
        const int coats =
            cb_recipe_applies(recipe, (size_t)stage, figure) ? recipe->stages[stage].coats : 0;
        for (int coat = 1; coat <= coats; coat++) {
            cb_vec_push(&begin->events, cb_coats_before_event(arena, begin->unit, figure, stage + 1,
                                                              coat, &begin->now));
        }
    }
    return CB_OK;
}

static enum cb_status add_climate(struct begin *begin, struct cb_err *err)
{
    const char *temp = cb_args_get(begin->args, "--temp");
    const char *rh = cb_args_get(begin->args, "--rh");
    struct cb_climate climate = cb_climate_assumed;
    if (temp == NULL && rh == NULL) {
        return CB_OK;
    }
    if (temp == NULL || rh == NULL) {
        return cb_err_set(err, CB_USAGE, "--temp and --rh go together; say --temp %s --rh 62",
                          begin->config->fahrenheit ? "67" : "19.5");
    }
    size_t length = strlen(temp);
    if (begin->config->fahrenheit && strchr("0123456789.", temp[length - 1]) != NULL) {
        temp = cb_arena_printf(begin->args->arena, "%sF", temp);
    }
    enum cb_status status = cb_climate_parse_temp(temp, &climate.temp_c, err);
    if (status == CB_OK) {
        status = cb_climate_parse_rh(rh, &climate.rh_pct, err);
    }
    if (status != CB_OK) {
        return status;
    }
    struct cb_event_make make;
    cb_event_begin(&make, begin->args->arena, CB_EVENT_CLIMATE_SET, NULL, &begin->now);
    cb_event_add_number(&make, CB_FIELD_TEMP_C, climate.temp_c);
    cb_event_add_number(&make, CB_FIELD_RH_PCT, climate.rh_pct);
    cb_event_add_text(&make, CB_FIELD_AIR, cb_air_name(climate.air));
    cb_event_add_text(&make, CB_FIELD_FROM, "typed");
    add_event(begin, &make);
    return CB_OK;
}

/* What is asked for, as the events of one press. */
static enum cb_status make_events(struct begin *begin, struct cb_err *err)
{
    enum cb_status status = read_figures(begin, err);
    if (status != CB_OK) {
        return status;
    }
    begin->events.count = 0;
    add_unit(begin);
    for (int i = 0; i < begin->args->option_count && status == CB_OK; i++) {
        if (strcmp(begin->args->given[i].name, "--use") == 0) {
            status = add_swap(begin, begin->args->given[i].value, err);
        } else if (strcmp(begin->args->given[i].name, "--done") == 0) {
            status = add_done(begin, begin->args->given[i].value, err);
        }
    }
    if (status == CB_OK) {
        status = add_climate(begin, err);
    }
    for (size_t i = 0; i < begin->events.count && status == CB_OK; i++) {
        if (cb_event_validate(begin->events.items[i], err) != CB_OK) {
            return err->status = CB_USAGE; /* the recipe was sound: a word of the call is not */
        }
    }
    return status;
}

static enum cb_status append(struct begin *begin, struct cb_err *err)
{
    const char *log = cb_args_log(begin->args, err);
    struct cb_store *store = NULL;
    const struct cb_event **stored = NULL;
    if (log == NULL) {
        return err->status;
    }
    enum cb_status status = cb_store_open(log, CB_STORE_APPEND, &store, err);
    begin->behind = status == CB_OK && cb_store_is_held(store);
    if (begin->behind) {
        status = make_events(begin, err);
    }
    if (status == CB_OK) {
        status = cb_store_append(store, begin->events.items, begin->events.count,
                                 begin->args->arena, &stored, err);
    }
    cb_store_close(store);
    return status;
}

static void print_answer(const struct begin *begin)
{
    const struct cb_recipe *recipe = begin->file.recipe;
    if (begin->args->json) {
        struct cb_json *json = cb_json_new();
        cb_json_text(json, "unit", begin->unit);
        cb_json_text(json, "name", begin->name);
        cb_json_integer(json, "figures", begin->figures);
        cb_json_integer(json, "stages", (long long)recipe->stage_count);
        cb_json_bool(json, "in_front", !begin->behind);
        cb_command_print_json(json);
        return;
    }
    printf("begun: %s, %d figure%s, %zu stage%s", cb_utf8_clean(begin->args->arena, begin->name, 0),
           begin->figures, begin->figures == 1 ? "" : "s", recipe->stage_count,
           recipe->stage_count == 1 ? "" : "s");
    if (begin->first > 0 && begin->first < begin->figures) {
        printf(begin->first == 1 ? "; figure 1 first" : "; figures 1 to %d first", begin->first);
    }
    if (begin->behind) {
        struct cb_keymap keymap;
        cb_keymap_init(&keymap, begin->config, NULL);
        const char *opens = cb_keymap_name(&keymap, CB_ACTION_OPEN);
        printf("; not in front: %s in the bench opens it", opens[0] ? opens : "the chooser");
    }
    printf("\n");
}

static int run(const struct cb_args *args)
{
    struct cb_err err = {0};
    struct begin begin = {.args = args, .now = cb_clock_now()};
    const struct cb_cues *cues; /* the bench's; where they are wrong nothing is begun */
    if (cb_args_settings(args, &begin.kinds, &begin.config, &err) != CB_OK ||
        cb_args_cues(args, begin.kinds, &cues, &err) != CB_OK) {
        return cb_command_fail(&err);
    }
    if (read_recipe(&begin, &err) != CB_OK) {
        return cb_recipe_args_fail(args, &begin.file, &err);
    }
    const bool opens = !args->json && cb_console_is_terminal();
    const bool begun = make_events(&begin, &err) == CB_OK &&
                       (!opens || cb_term_check(&err) == CB_OK) && append(&begin, &err) == CB_OK;
    cb_vec_free(&begin.events);
    if (!begun) {
        return cb_command_fail(&err);
    }
    print_answer(&begin);
    if (!opens) {
        return 0;
    }
    fflush(stdout);
    const bool typed = strcmp(args->operands[0], "-") == 0;
    return cb_command_open_bench(args, begin.unit, typed ? NULL : begin.file.path);
}

static const struct cb_option options[] = {
    {"-n", "FIGURES", "how many figures; without it as the recipe says"},
    {"--first", "N", "so many figures first, the others when all their coats are on"},
    {"--name", "TEXT", "the unit's name; without it the recipe's"},
    {"--use", "KEY=\"NAME\"", "another pot for the recipe's paint KEY; or medium=water"},
    {"--done", "STAGE", "a stage that was done before; as often as there are"},
    {"--temp", "C|F", "the air now: 19.5, 67F"},
    {"--rh", "PCT", "the air now: relative humidity"},
    {0},
};

const struct cb_command cb_command_begin = {
    .name = "begin",
    .operands = "RECIPE",
    .summary = "Begin a unit by a recipe and, on a terminal, open the bench.",
    .options = options,
    .min_operands = 1,
    .max_operands = 1,
    .run = run,
};
