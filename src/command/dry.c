/* SPDX-License-Identifier: MIT */
/* `dry`: how long until the next coat, for a kind of paint or each stage of a recipe. */
#include <math.h>
#include <string.h>

#include "base/str.h"
#include "base/utf8.h"
#include "command/dry_internal.h"
#include "command/recipe_args.h"
#include "core/paint/flux.h"
#include "core/recipe/drying_stage.h"
#include "core/air/psychro.h"

double cb_dry_minutes(const struct cb_dry_film *film, const struct cb_climate *climate, double p)
{
    double standard = cb_drying_prior_quantile(&film->drying, p);
    if (p > 0.5 && standard < film->drying.label_min) {
        standard = film->drying.label_min;
    }
    const double minutes = cb_drying_minutes(&film->drying, climate, standard);
    return isfinite(minutes) ? minutes : (double)NAN;
}

/* The numbers of the film for the air of the call. */
static void reckon(const struct cb_dry *dry, struct cb_dry_film *film)
{
    const struct cb_drying *d = &film->drying;
    const struct cb_climate *c = &dry->air.climate;
    bool dries = d->from == CB_TIME_MODEL || d->from == CB_TIME_DRY;
    film->climate_factor = dries ? cb_drying_climate_factor(d->law, c->temp_c, c->rh_pct) : 1;
    film->air_factor = dries ? cb_drying_air_factor(d->law, c) : 1;
    film->phases = cb_drying_phases(d, c);
    film->held = cb_drying_held(d, c);
    film->median_min = cb_dry_minutes(film, c, 0.5);
    film->ping_min = cb_dry_minutes(film, c, dry->config->confidence);
    film->floored = d->label_min > cb_drying_prior_quantile(d, dry->config->confidence);
}

static int usage(const char *problem, const char *value, const char *right)
{
    return cb_command_failf(CB_USAGE, "%s: %s (%s)", problem, value, right);
}

/* The technique a kind is mostly used for, when the call does not say. */
static enum cb_technique usual_technique(const struct cb_kinds *kinds, size_t kind)
{
    const struct cb_prior *first = NULL;
    for (size_t i = 0; i < kinds->prior_count; i++) {
        const struct cb_prior *row = &kinds->priors[i];
        if (row->kind == kind && row->technique == CB_TECHNIQUE_BASECOAT) {
            return row->technique;
        }
        if (row->kind == kind && first == NULL) {
            first = row;
        }
    }
    return first != NULL ? first->technique : CB_TECHNIQUE_BASECOAT;
}

/* A number above zero with a unit that may follow. */
static bool read_measure(const char *text, const char *unit, double *value)
{
    char digits[24];
    size_t n = strspn(text, "0123456789.");
    const char *rest = text + n + strspn(text + n, " ");
    if (n == 0 || n >= sizeof digits || (rest[0] != '\0' && strcmp(rest, unit) != 0)) {
        return false;
    }
    memcpy(digits, text, n);
    digits[n] = '\0';
    return cb_str_number(digits, value) && *value > 0;
}

static bool read_film_um(const char *text, double *um)
{
    bool mm = read_measure(text, "mm", um) && strchr(text, 'm') != NULL;
    if (mm) {
        *um *= 1000;
    }
    return (mm || read_measure(text, "um", um)) && *um >= 0.5 && *um <= 10000;
}

/* The options of a film that a recipe would say. 0 or an exit code. */
static int read_film(const struct cb_dry *dry, size_t kind, struct cb_dry_film *film)
{
    const struct cb_args *args = dry->args;
    const char *given = cb_args_get(args, "--technique");
    film->technique =
        dry->trade != NULL ? dry->trade->technique : usual_technique(dry->kinds, kind);
    if (given != NULL && !cb_technique_from_name(given, &film->technique)) {
        return usage("unknown technique", given,
                     "undercoat, basecoat, layer, drybrush, wash, recess shade, glaze, edge "
                     "highlight, texture or varnish");
    }
    if (!cb_technique_needs_paint(film->technique)) {
        return usage("a technique without paint", given, "time is for paint: basecoat, wash, ...");
    }
    given = cb_args_get(args, "--by");
    film->by = film->kind_row->sprayed ? CB_BY_CAN : CB_BY_BRUSH;
    if (given != NULL && !cb_by_from_name(given, &film->by)) {
        return usage("unknown tool", given, "--by brush, can, airbrush or sponge");
    }
    struct cb_parts parts = {0, 0, 0, 0};
    given = cb_args_get(args, "--mix");
    if (given != NULL && (!cb_kinds_parse_parts(given, &parts) || parts.paint <= 0)) {
        return usage("not a mix", given, "neat, or such as 2 paint + 1 water");
    }
    double film_um = NAN;
    given = cb_args_get(args, "--film");
    if (given != NULL && !read_film_um(given, &film_um)) {
        return usage("not a wet film", given, "0.5 to 10000 um, or such as 1 mm");
    }
    double solids = NAN;
    given = cb_args_get(args, "--solids");
    if (given != NULL && !(cb_str_number(given, &solids) && solids > 0 && solids <= 0.9)) {
        return usage("not a share of solids", given, "0.01 to 0.9 of the neat paint");
    }
    film->drying =
        cb_drying_of(dry->kinds, kind, film->technique, film->by, &parts, film_um, solids);
    if (parts.paint <= 0) {
        parts = cb_drying_usual(dry->kinds, kind, film->technique, film->by).parts;
    }
    film->mix = cb_kinds_parts_text(&parts, dry->arena);
    given = cb_args_get(args, "--dry");
    if (given != NULL) {
        double minutes;
        if (!cb_recipe_minutes(given, &minutes) || !(minutes > 0 && minutes <= 1e5)) {
            return usage("not a drying time", given, "minutes, or such as 90 s, 12 min, 2 h");
        }
        cb_drying_say(&film->drying, minutes);
    }
    return 0;
}

/* The film that dries is colder than the air: it may be too cold where the air is not. */
static void note_cold_film(const struct cb_dry *dry, struct cb_dry_film *film)
{
    const double limit_c = film->drying.min_film_c;
    const struct cb_exchange exchange = cb_flux_exchange(&dry->air.climate);
    const double film_c = cb_flux_through(&exchange, 0).film_c;
    const bool exact = film->drying.from == CB_TIME_WAIT || film->drying.from == CB_TIME_ZERO;
    if (!exact && film_c < limit_c && film->gates.count < CB_GATES_MAX &&
        !cb_drying_too_cold(&film->drying, &dry->air.climate)) {
        film->gates.items[film->gates.count++] = (struct cb_gate){
            "wet-film",
            CB_GATE_NOTE,
            film_c,
            limit_c,
            "C",
            cb_arena_printf(dry->arena,
                            "the wet film is at %.1f C, under %.3g C: it sets as it warms up dry",
                            film_c, limit_c)};
    }
}

static void gates_and_cautions(const struct cb_dry *dry, struct cb_dry_film *film)
{
    bool spraying = film->by == CB_BY_CAN || film->by == CB_BY_AIRBRUSH;
    cb_gate_check(&film->drying, film->technique, spraying && film->kind_row != NULL,
                  &dry->air.climate, dry->arena, &film->gates);
    note_cold_film(dry, film);
    film->caution_count =
        cb_gate_cautions_of(film->kind_row, film->technique, film->by, dry->air.climate.air,
                            film->cautions, sizeof film->cautions / sizeof *film->cautions);
}

static void film_of_stage(const struct cb_dry *dry, const struct cb_recipe *recipe, size_t stage,
                          struct cb_dry_film *film)
{
    const struct cb_stage *s = &recipe->stages[stage];
    int paint = cb_mix_paint(&s->mix);
    *film = (struct cb_dry_film){.stage = s->name,
                                 .what = cb_technique_name(s->technique),
                                 .technique = s->technique,
                                 .by = s->by,
                                 .mix = "",
                                 .drying = cb_drying_of_stage(dry->kinds, recipe, stage)};
    if (paint >= 0) {
        struct cb_parts parts = cb_drying_parts_of_stage(dry->kinds, recipe, stage);
        film->what = recipe->paints[paint].name;
        film->kind_row = &dry->kinds->kinds[recipe->paints[paint].kind];
        film->kind = film->kind_row->name;
        film->mix = s->mix_said ? cb_mix_text(recipe, &s->mix, true, dry->arena)
                                : cb_kinds_parts_text(&parts, dry->arena);
    }
    gates_and_cautions(dry, film);
    reckon(dry, film);
}

static void print_film(const struct cb_dry *dry, const struct cb_dry_film *film)
{
    cb_dry_print(dry, film);
    if (cb_args_has(dry->args, "--table")) {
        cb_dry_print_table(dry, film);
    }
    if (cb_args_has(dry->args, "--plot")) {
        cb_dry_print_plot(dry, film);
    }
}

static int answer_recipe(const struct cb_dry *dry, const struct cb_recipe *recipe)
{
    struct cb_dry_film film;
    struct cb_json *json = NULL;
    if (dry->args->json) {
        json = cb_json_new();
        cb_json_text(json, "recipe", recipe->name);
        cb_dry_json_air(dry, json);
        cb_json_list(json, "stages");
    } else {
        cb_dry_print_air(dry);
    }
    for (size_t i = 0; i < recipe->stage_count; i++) {
        film_of_stage(dry, recipe, i, &film);
        if (json != NULL) {
            cb_json_object(json, NULL);
            cb_dry_json(dry, &film, json);
            cb_json_end(json);
        } else {
            print_film(dry, &film);
        }
    }
    if (json != NULL) {
        cb_json_end(json);
        cb_command_print_json(json);
    }
    return 0;
}

static int run_recipe(const struct cb_dry *dry)
{
    static const char *const of_kind[] = {"--technique", "--by",     "--mix", "--dry",
                                          "--film",      "--solids", "--ring"};
    for (size_t i = 0; i < sizeof of_kind / sizeof *of_kind; i++) {
        if (cb_args_has(dry->args, of_kind[i])) {
            return cb_command_failf(CB_USAGE, "%s goes with a kind of paint; a recipe says it all",
                                    of_kind[i]);
        }
    }
    struct cb_recipe_file file;
    struct cb_err err = {0};
    return cb_recipe_file_read(dry->args->operands[0], dry->kinds, dry->arena, &file, &err) == CB_OK
               ? answer_recipe(dry, file.recipe)
               : cb_recipe_args_fail(dry->args, &file, &err);
}

static int run_kind(const struct cb_dry *dry, size_t kind)
{
    struct cb_dry_film film = {.kind_row = &dry->kinds->kinds[kind]};
    film.kind = film.what = film.kind_row->name;
    int code = read_film(dry, kind, &film);
    if (code != 0) {
        return code;
    }
    gates_and_cautions(dry, &film);
    reckon(dry, &film);
    if (dry->args->json) {
        struct cb_json *json = cb_json_new();
        cb_dry_json(dry, &film, json);
        cb_dry_json_air(dry, json);
        if (cb_args_has(dry->args, "--table")) {
            cb_dry_json_table(dry, &film, json);
        }
        cb_command_print_json(json);
    } else {
        cb_dry_print_air(dry);
        print_film(dry, &film);
    }
    return cb_args_has(dry->args, "--ring") ? cb_dry_ring(dry, &film) : 0;
}

/* Is the word meant as a file? */
static bool is_path(const char *word)
{
    return strcmp(word, "-") == 0 || strchr(word, '/') != NULL || strchr(word, '.') != NULL;
}

static int unknown_kind(const struct cb_dry *dry, const char *word)
{
    const char *list = "";
    const char *nearest = NULL;
    int best = 3;
    for (size_t i = 0; i < dry->kinds->kind_count; i++) {
        const char *name = dry->kinds->kinds[i].name;
        int distance = cb_utf8_distance(word, name, 3);
        if (distance < best) {
            best = distance;
            nearest = name;
        }
        list = cb_arena_printf(dry->arena, "%s%s%s", list, i > 0 ? ", " : "", name);
    }
    if (nearest != NULL) {
        return cb_command_failf(CB_USAGE, "unknown kind: %s, did you mean %s?", word, nearest);
    }
    return cb_command_failf(CB_USAGE, "unknown kind: %s (%s; or a recipe file)", word, list);
}

static int run(const struct cb_args *args)
{
    struct cb_dry dry = {.args = args, .arena = args->arena};
    struct cb_err err = {0};
    size_t kind;
    if (cb_args_settings(args, &dry.kinds, &dry.config, &err) != CB_OK) {
        return cb_command_fail(&err);
    }
    int code = cb_climate_args_read(args, dry.kinds, dry.config, &dry.air);
    if (code != 0) {
        return code;
    }
    const char *word = args->operands[0];
    if (cb_kinds_find(dry.kinds, word, &kind)) {
        return run_kind(&dry, kind);
    }
    dry.trade = cb_trade_word(word);
    if (dry.trade != NULL && cb_kinds_find(dry.kinds, dry.trade->kind, &kind)) {
        return run_kind(&dry, kind);
    }
    return is_path(word) ? run_recipe(&dry) : unknown_kind(&dry, word);
}

static const struct cb_option options[] = {
    {"--technique", "T", "what the hand does; without it what the kind is mostly used for"},
    {"--by", "B", "brush, can, airbrush or sponge"},
    {"--mix", "MIX", "such as \"2 paint + 1 water\"; without it the usual mix"},
    {"--dry", "MIN", "your own median at 23 C and 50 %, instead of the model's"},
    {"--film", "UM", "wet film, such as 25 or \"1 mm\""},
    {"--solids", "SHARE", "volume solids of the neat paint, 0 to 1"},
    {"--temp", "C|F",
     "air temperature, such as 21 or 70F; without both that of your bench, else 20 C, 50 %"},
    {"--rh", "PCT", "relative humidity"},
    {"--air", "AIR", "still, draught, fan or dryer"},
    {"--ring", NULL, "start the timer at once and ring when it is dry"},
    {"--table", NULL, "minutes to the ping over temperature and humidity"},
    {"--plot", NULL, "the drying curve"},
    {0},
};

const struct cb_command cb_command_dry = {
    .name = "dry",
    .operands = "KIND|RECIPE",
    .summary = "How long until the next coat can go on, in this air.",
    .options = options,
    .min_operands = 1,
    .max_operands = 1,
    .run = run,
};
