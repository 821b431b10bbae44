/* SPDX-License-Identifier: MIT */
#include "app/lines.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/coats.h"
#include "app/edit.h"
#include "app/figures.h"
#include "app/films.h"
#include "app/state.h"
#include "base/str.h"
#include "base/utf8.h"
#include "core/recipe/amount.h"

#define NAME_LEAST 12 /* columns of a unit's name before less is said of it; own judgement */

void cb_lines_clock(const struct cb_app *app, int64_t bench_ms, char out[CB_CLOCK_SIZE])
{
    cb_time_clock(cb_bench_wall(app->session.bench, &app->session.now, bench_ms),
                  &app->session.zone, out);
}

const char *cb_lines_sign(const struct cb_app *app, const struct cb_drying *drying)
{
    bool exact = drying != NULL && drying->from == CB_TIME_WAIT;
    return app->session.history_due && !exact ? "~" : " ";
}

void cb_lines_due(const struct cb_app *app, const struct cb_drying *drying, int64_t bench_ms,
                  char out[CB_DUE_SIZE])
{
    char clock[CB_CLOCK_SIZE];
    cb_lines_clock(app, bench_ms, clock);
    snprintf(out, CB_DUE_SIZE, "%s%s", cb_lines_sign(app, drying), clock);
}

void cb_lines_span(const struct cb_app *app, int64_t left_ms, char out[32])
{
    if (app->session.config->quiet_clock && left_ms <= CB_MS_PER_MIN) {
        snprintf(out, 32, "%d min", left_ms > 0);
    } else if (left_ms >= 0 && left_ms <= CB_MS_PER_MIN) { /* two places, or what follows moves */
        snprintf(out, 32, "%2d s", (int)((left_ms + 999) / 1000));
    } else {
        cb_words_span(left_ms, out);
    }
}

const char *cb_lines_left(const struct cb_app *app, int64_t left_ms, char digits[16])
{
    if (app->session.config->quiet_clock && left_ms <= CB_MS_PER_MIN) {
        snprintf(digits, 16, "%d", left_ms > 0);
        return "min";
    }
    return cb_words_left(left_ms, digits);
}

void cb_lines_figure(const struct cb_scene *scene, char out[16])
{
    const struct cb_proposal *proposal = &scene->proposal;
    int last = proposal->figure_count - 1;
    snprintf(out, 16, "%d", proposal->figure);
    if (proposal->together && last > 0 && last < CB_FIGURES_MAX &&
        proposal->figures[last] - proposal->figures[0] == last) {
        snprintf(out, 16, "%d-%d", (int)(unsigned char)proposal->figures[0],
                 (int)(unsigned char)proposal->figures[last]);
    }
}

/* "figure 3", "figures 1 to 4" */
static char *space_figures(const struct cb_proposal *proposal, struct cb_arena *arena)
{
    const size_t count = proposal->together ? (size_t)proposal->figure_count : 1;
    return cb_arena_printf(arena, count == 1 ? "figure %s" : "figures %s",
                           cb_words_figures(arena, proposal->figures, count));
}

/* What the number typed makes of the press: on which figures, and from when they are dated. */
static char *counted(const struct cb_app *app, const struct cb_scene *scene, struct cb_arena *arena)
{
    struct cb_coats_meant meant;
    char from[CB_CLOCK_SIZE], to[CB_CLOCK_SIZE];
    cb_coats_meant(app, scene, false, &meant);
    char *text =
        cb_arena_printf(arena, "%s %s%s", cb_words_upon(scene->unit, scene->proposal.stage),
                        cb_words_figures(arena, meant.figures, meant.count),
                        !app->nav.minus && meant.count < meant.wanted ? ", no other figure" : "");
    if (app->nav.minus) {
        return cb_arena_printf(arena, "%s, %d min ago", text, app->nav.count);
    }
    cb_lines_clock(app, meant.dating[0].on_ms, from);
    cb_lines_clock(app, scene->now_ms, to);
    return strcmp(from, to) == 0 ? text : cb_arena_printf(arena, "%s, from %s", text, from);
}

/* What the press for all that are ready makes of them. */
static const char *rest(const struct cb_app *app, const struct cb_scene *scene,
                        struct cb_arena *arena)
{
    struct cb_coats_meant meant;
    char from[CB_CLOCK_SIZE];
    cb_coats_meant(app, scene, true, &meant);
    if (meant.count < 2 || scene->proposal.together) {
        return "";
    }
    cb_lines_clock(app, meant.dating[0].on_ms, from);
    return cb_arena_printf(arena, "; %s: on %s, from %s", cb_app_key(app, CB_ACTION_COAT_ON_REST),
                           cb_words_figures(arena, meant.figures, meant.count), from);
}

const char *cb_lines_elsewhere(const struct cb_scene *scene, const struct cb_scene_film *row)
{
    if (row->unit == scene->unit) {
        return NULL;
    }
    bool same = scene->unit && strcmp(row->unit->name, scene->unit->name) == 0;
    return same ? "another unit" : row->unit->name;
}

/* The longest of what may be said that is not cut; the last where none fits. NULL: no such. */
static char *first_that_fits(int columns, char *whole, char *less, char *least)
{
    if (cb_utf8_text_width(whole) <= columns) {
        return whole;
    }
    return !least || cb_utf8_text_width(less) <= columns ? less : least;
}

/* The coat goes on or beside something wet: which, until when, and how likely it is dry already;
 * the shortest of what fits. */
static char *in_spite(const struct cb_app *app, const struct cb_scene *scene, const char *text,
                      const char *brief, int columns, struct cb_arena *arena)
{
    char clock[CB_DUE_SIZE] = "", chance[8];
    cb_words_chance(scene->proposal.chance, chance);
    if (!scene->below || scene->below_ms == CB_TIME_NONE) {
        return scene->proposal.thought_wet
                   ? cb_arena_printf(arena, "%s, chance dry %s", text, chance)
                   : cb_arena_printf(arena, "%s all the same", text);
    }
    const bool painted = cb_words_painted(scene->unit, scene->below->stage);
    const char *below = cb_words_paint(scene->unit, scene->below->stage);
    cb_lines_due(app, scene->below->drying, scene->below_ms, clock);
    const char *state = painted ? "wet" : "not done";
    char *full = cb_arena_printf(arena, "%s, though %s is %s until%s", text, below, state, clock);
    char *odds = cb_arena_printf(arena, "%s (chance dry %s)", full, chance);
    if (painted && scene->proposal.thought_wet && cb_utf8_text_width(odds) <= columns) {
        return odds;
    }
    full = first_that_fits(
        columns, full,
        cb_arena_printf(arena, "%s, though %s is %s until%s", brief, below, state, clock), NULL);
    return first_that_fits(
        columns, full,
        cb_arena_printf(arena, "%s, %s until%s", text, painted ? "wet" : "waits", clock),
        cb_arena_printf(arena, "%s, %s until%s", brief, painted ? "wet" : "waits", clock));
}

/* What is waited for, and how long. */
static char *in_a_while(const struct cb_app *app, const struct cb_scene *scene, const char *text,
                        const char *brief, int columns, struct cb_arena *arena)
{
    char span[32], clock[CB_DUE_SIZE];
    const char *dry = cb_words_dried(scene->unit, scene->below->stage);
    const char *sign = cb_lines_sign(app, scene->below->drying);
    cb_lines_span(app, scene->below_ms - scene->now_ms, span);
    cb_lines_due(app, scene->below->drying, scene->below_ms, clock);
    return first_that_fits(columns, cb_arena_printf(arena, "%s (%s in%s%s)", text, dry, sign, span),
                           cb_arena_printf(arena, "%s:%s%s", text, sign, span),
                           cb_arena_printf(arena, "%s (%s%s)", brief, dry, clock));
}

/* Where nobody is parked; one figure is a trial, or painted without a recipe. */
static char *every_coat(const struct cb_app *app, const struct cb_unit *unit, int columns,
                        struct cb_arena *arena)
{
    const char *finish = cb_app_key(app, CB_ACTION_FINISH);
    const char *quick = cb_app_key(app, CB_ACTION_QUICK);
    const char *edit = cb_app_key(app, CB_ACTION_EDIT);
    if (unit->figures > 1) {
        return cb_arena_printf(arena, "every coat is on; %s finishes the unit", finish);
    }
    return first_that_fits(columns,
                           cb_arena_printf(arena,
                                           "every coat is on; %s types a stage, %s brings more "
                                           "figures, %s finishes",
                                           quick, edit, finish),
                           cb_arena_printf(arena,
                                           "every coat is on; %s stage, %s figures, %s finishes",
                                           quick, edit, finish),
                           NULL);
}

char *cb_lines_all_done(const struct cb_app *app, const struct cb_scene *scene, int columns,
                        struct cb_arena *arena)
{
    const int later = cb_figures_later(scene->unit);
    const char *finish = cb_app_key(app, CB_ACTION_FINISH);
    if (later > 0) {
        char *same = cb_arena_printf(arena, "the same for the other %s? ENTER",
                                     cb_amount_count(later, arena));
        return first_that_fits(
            columns, cb_arena_printf(arena, "%s: yes; %s finishes the unit", same, finish),
            cb_arena_printf(arena, "%s; %s finishes", same, finish), NULL);
    }
    int parked[CB_FIGURES_MAX];
    size_t count;
    bool none;
    if (cb_figures_lacking(scene->unit, parked, &count) == 0) {
        return every_coat(app, scene->unit, columns, arena);
    }
    char *done = cb_figures_done(scene->unit, false, arena, &none);
    if (none) {
        return cb_arena_printf(arena, "%s; %s%s brings it back", done,
                               cb_app_key(app, CB_ACTION_PARK), count > 1 ? " on one" : "");
    }
    return first_that_fits(
        columns, cb_arena_printf(arena, "%s; %s finishes the unit", done, finish),
        cb_arena_printf(arena, "%s; %s finishes", done, finish),
        cb_arena_printf(arena, "%s; %s finishes", cb_figures_done(scene->unit, true, arena, &none),
                        finish));
}

char *cb_lines_space(const struct cb_app *app, const struct cb_scene *scene, int columns,
                     struct cb_arena *arena, enum cb_role *role)
{
    const struct cb_proposal *proposal = &scene->proposal;
    if (!app->session.writer) {
        *role = CB_ROLE_WARN;
        return app->session.offer ? cb_arena_text(arena, "ENTER takes over")
                                  : cb_arena_printf(arena, "%s rests: another bench is painting",
                                                    cb_app_key(app, CB_ACTION_COAT_ON));
    }
    *role = CB_ROLE_PLAIN;
    if (!proposal->any) {
        if (cb_scene_parked(scene) > 0) {
            return cb_arena_printf(arena, "%d is parked: not offered until %s brings it back",
                                   scene->hand.figure, cb_app_key(app, CB_ACTION_PARK));
        }
        if (scene->all_done) {
            *role = CB_ROLE_DONE;
            return cb_lines_all_done(app, scene, columns, arena);
        }
        if (scene->by_hand) {
            return cb_arena_text(arena, "nothing to put on here; ESC leads back");
        }
        return scene->held_count > 0
                   ? cb_arena_printf(arena, "nothing dries, too cold or damp; %s tells the room",
                                     cb_app_key(app, CB_ACTION_CLIMATE))
                   : cb_arena_printf(arena, "nothing can go on now; %s looks further",
                                     cb_app_key(app, CB_ACTION_STAGE_NEXT));
    }
    if (cb_scene_unread(scene)) {
        *role = CB_ROLE_WARN;
        return cb_arena_text(arena, "when you have read the caution");
    }
    if (cb_bench_facts(app->session.bench).paused) {
        return cb_arena_text(arena, "when the pause is over");
    }
    const char *paint = cb_words_paint(scene->unit, proposal->stage);
    char *figures = space_figures(proposal, arena);
    const char *upon = cb_words_upon(scene->unit, proposal->stage);
    char *text = cb_arena_printf(arena, "when %s is %s %s", paint, upon, figures);
    /* what, stands beside the figure */
    char *brief = cb_arena_printf(arena, "when it is %s %s", upon, figures);
    if (app->nav.count > 0) {
        text = brief = counted(app, scene, arena);
    }
    int missing = cb_scene_missing(app->session.bench, app->session.learn, scene);
    if (missing > 0) {
        *role = CB_ROLE_WARN;
        const char *before =
            cb_words_coat(arena, scene->unit, missing,
                          cb_bench_coats_on(scene->unit, proposal->figure, missing) + 1);
        const char *on = cb_words_laid(scene->unit, missing);
        return first_that_fits(columns,
                               cb_arena_printf(arena, "%s, though %s is not %s", text, before, on),
                               cb_arena_printf(arena, "%s, though %s is not %s", brief, before, on),
                               cb_arena_printf(arena, "%s: no %s yet", brief, before));
    }
    if (scene->anyway && scene->below && scene->below_ms > scene->now_ms) {
        *role = CB_ROLE_WET;
        return in_a_while(app, scene, text, brief, columns, arena);
    }
    if (scene->anyway || proposal->thought_wet) {
        *role = CB_ROLE_WARN;
        return in_spite(app, scene, text, brief, columns, arena);
    }
    if (cb_nav_is_counting(app)) {
        return text;
    }
    if (proposal->change_paint && !proposal->brush_clean) {
        text = first_that_fits(columns, cb_arena_printf(arena, "%s, a change of paint", text),
                               cb_arena_printf(arena, "%s, a change of paint", brief),
                               cb_arena_printf(arena, "%s, change paint", brief));
    }
    if (cb_coats_may_be_late(app, scene)) {
        char *late = cb_arena_printf(arena, "%s; -N %s: N min ago", text,
                                     cb_app_key(app, CB_ACTION_COAT_ON));
        text = first_that_fits(
            columns, cb_arena_printf(arena, "%s%s", late, rest(app, scene, arena)), late, text);
    }
    return text;
}

char *cb_lines_ready_too(const struct cb_app *app, const struct cb_scene *scene,
                         struct cb_arena *arena)
{
    const struct cb_offer_too too = cb_offer_ready_too(app, scene);
    if (too.stage == 0) {
        return NULL;
    }
    /* The same paint for another stage would read as what is named already. */
    const char *paint = cb_words_paint(scene->unit, too.stage);
    const bool same = strcmp(paint, cb_words_paint(scene->unit, scene->proposal.stage)) == 0;
    const char *name = same ? scene->unit->recipe->stages[too.stage - 1].name : paint;
    const char *list = cb_words_figures(arena, too.figures, too.count);
    const char *key = cb_app_key(app, too.step > 0 ? CB_ACTION_STAGE_NEXT : CB_ACTION_STAGE_PREV);
    char *line = cb_arena_printf(arena, "ready too: %s on %s, %s goes there", name, list, key);
    char *more = too.more == 0 ? line
                               : cb_arena_printf(arena, "%s; %d stage%s more", line, too.more,
                                                 too.more == 1 ? "" : "s");
    return first_that_fits(app->look.columns - 2, more, line,
                           cb_arena_printf(arena, "%s, ready too: %s on %s", key, name, list));
}

char *cb_lines_same_brush(const struct cb_app *app, const struct cb_scene *scene,
                          struct cb_arena *arena)
{
    const struct cb_same same = cb_same_brush(app, scene);
    if (!same.unit) {
        return NULL;
    }
    const int columns = app->look.columns - 2;
    const char *key = cb_app_key(app, CB_ACTION_UNIT_NEXT);
    const char *list = cb_words_figures(arena, same.figures, same.count);
    const char *name =
        strcmp(same.unit->name, scene->unit->name) == 0 ? "another unit" : same.unit->name;
    return first_that_fits(
        columns, cb_arena_printf(arena, "same brush: %s of %s too, %s goes there", list, name, key),
        cb_arena_printf(arena, "%s, same brush: %s of %s", key, list, name),
        cb_arena_printf(arena, "%s, same brush: %s of %s", key, list,
                        cb_utf8_clean(arena, name, NAME_LEAST)));
}

char *cb_lines_answer(const struct cb_app *app, const struct cb_scene *scene,
                      struct cb_arena *arena)
{
    if (cb_films_asked(app, scene) == &scene->stroke) {
        return cb_arena_printf(arena, "%s on the scrap is dry",
                               cb_words_film(scene->unit, scene->stroke.film));
    }
    if (!scene->focus || app->thanks.asked) { /* then the key answers that */
        return NULL;
    }
    const struct cb_film *film = scene->focus->film;
    const struct cb_unit *unit = scene->focus->unit;
    const char *elsewhere = cb_lines_elsewhere(scene, scene->focus);
    if (app->nav.count > 1 && !app->nav.minus) {
        int figures[CB_FIGURES_MAX];
        bool all;
        const size_t count = cb_films_meant(app, scene, figures, &all);
        const char *paint = cb_words_film(unit, film);
        const char *dry = cb_words_dried(unit, film->stage);
        return all && count == 2  ? cb_arena_printf(arena, "both %s are %s", paint, dry)
               : all && count > 2 ? cb_arena_printf(arena, "all %s %s are %s",
                                                    cb_amount_count((int)count, arena), paint, dry)
                                  : cb_arena_printf(arena, "%s on %s: %s", paint,
                                                    cb_words_figures(arena, figures, count), dry);
    }
    return cb_arena_printf(arena, "%s on %d%s%s is %s", cb_words_film(unit, film), film->figure,
                           elsewhere ? ", " : "", elsewhere ? elsewhere : "",
                           cb_words_dried(unit, film->stage));
}

const char *cb_lines_held(const struct cb_app *app, const struct cb_scene *scene,
                          const struct cb_film *film)
{
    for (size_t i = 0; i < scene->film_count && !film; i++) {
        film = scene->films[i].forecast.held ? scene->films[i].film : NULL;
    }
    if (!film) {
        return "";
    }
    const int64_t now_ms = cb_app_bench_now(app);
    const struct cb_climate climate =
        cb_bench_climate_at(app->session.bench, film->place, now_ms).climate;
    return film->drying && climate.temp_c < film->drying->min_film_c ? "waits: too cold"
                                                                     : "waits: too damp";
}

char *cb_lines_film(const struct cb_app *app, const struct cb_scene *scene,
                    const struct cb_scene_film *row, int columns, struct cb_arena *arena)
{
    const struct cb_forecast *forecast = &row->forecast;
    const struct cb_drying *drying = row->film->drying;
    char usually[CB_DUE_SIZE], by[CB_DUE_SIZE], span[32];
    bool painted = cb_words_painted(row->unit, row->film->stage);
    const char *dry = painted ? "dry" : "done";
    if (forecast->held) {
        return cb_arena_text(arena, cb_lines_held(app, scene, row->film));
    }
    if (forecast->due_ms == CB_TIME_NONE) {
        return cb_arena_text(arena, "");
    }
    if (forecast->dry) {
        cb_words_since(scene->now_ms - forecast->due_ms, span);
        return scene->now_ms - forecast->due_ms < CB_MS_PER_MIN
                   ? cb_arena_printf(arena, "%s now", dry)
                   : cb_arena_printf(arena, "%s for %s", dry, span);
    }
    cb_lines_due(app, drying, forecast->due_ms, by);
    if (forecast->from == CB_DUE_WAIT || !painted) {
        return cb_arena_printf(arena, "waits until%s", by);
    }
    char *rings = cb_arena_printf(arena, "rings%s", by);
    if (forecast->median_ms == CB_TIME_NONE || forecast->median_ms <= scene->now_ms) {
        char chance[8];
        cb_words_chance(forecast->chance, chance);
        return first_that_fits(columns, cb_arena_printf(arena, "chance dry %s, %s", chance, rings),
                               rings, NULL);
    }
    cb_lines_due(app, drying, forecast->median_ms, usually);
    return first_that_fits(columns, cb_arena_printf(arena, "usually dry%s, %s", usually, rings),
                           rings, NULL);
}

char *cb_lines_room(const struct cb_app *app, const struct cb_scene *scene, struct cb_arena *arena)
{
    if (!scene->next || scene->ready_ms == CB_TIME_NONE || app->session.history_due) {
        return NULL;
    }
    const struct cb_film *film = scene->next->film;
    const struct cb_forecast *forecast = &scene->next->forecast;
    const struct cb_climate climate =
        cb_bench_climate_at(app->session.bench, film->place, scene->now_ms).climate;
    struct cb_room_tool tools[CB_ROOM_MAX];
    size_t count =
        cb_gate_room(film->drying, cb_words_film(scene->next->unit, film),
                     forecast->standard_due_min - forecast->standard_now_min, &climate,
                     app->session.now.wall_ms, &app->session.zone, arena, tools, CB_ROOM_MAX);
    for (size_t i = 0; i < count; i++) {
        if (tools[i].saved_min >= CB_ROOM_GAIN_MIN) {
            return cb_arena_text(arena, tools[i].text);
        }
    }
    return NULL;
}

char *cb_lines_coat(const struct cb_scene *scene, struct cb_arena *arena)
{
    if (scene->coats <= 1) {
        return cb_arena_text(arena, "one coat");
    }
    return cb_arena_printf(arena, "coat %d of %d", scene->proposal.coat, scene->coats);
}

const char *cb_lines_usual(const struct cb_app *app, const struct cb_scene *scene, bool brief,
                           struct cb_arena *arena)
{
    const struct cb_proposal *proposal = &scene->proposal;
    const struct cb_recipe *recipe = cb_bench_used(scene->unit);
    const char *pot = cb_bench_stage_pot(scene->unit, proposal->stage);
    if (!scene->stage || !pot || !cb_tone_hides(scene->stage->technique) ||
        cb_mix_is_blend(&scene->stage->mix)) {
        return NULL;
    }
    size_t count;
    const struct cb_cover *covers = cb_app_covers(app, &count);
    uint64_t areas[CB_RECIPE_MAX];
    cb_recipe_covers_all(recipe, areas);
    const uint64_t left_out =
        scene->unit->left_out | scene->unit->figure[proposal->figure].left_out;
    const enum cb_tone under =
        cb_tone_under(recipe, areas, (size_t)proposal->stage - 1, proposal->figure, left_out);
    const struct cb_cover cover =
        cb_coverage_find(covers, count, pot, scene->stage->technique, under);
    const int usual = cb_coverage_usual(&cover, scene->stage->coats);
    if (usual > scene->coats && proposal->coat == scene->coats) {
        return cb_arena_printf(arena, brief ? "%s is usual" : "%s coat is usual here",
                               cb_coverage_a(proposal->coat + 1));
    }
    return usual < scene->stage->coats && proposal->coat > usual
               ? (brief ? "usually spared" : "you usually spare it here")
               : NULL;
}

char *cb_lines_tools(const struct cb_app *app, const struct cb_scene *scene, int columns,
                     struct cb_arena *arena)
{
    const struct cb_recipe *recipe = cb_bench_used(scene->unit);
    if (scene->stage_begins) {
        const int stage = scene->proposal.stage;
        int figures;
        (void)cb_edit_coats_to_do(scene->unit, stage, 0, NULL, NULL, &figures);
        const char *line = cb_amount_line(app->session.kinds, recipe, (size_t)(stage - 1), figures,
                                          app->session.config->drops_per_ml, arena);
        if (line) {
            char *text = cb_arena_text(arena, line);
            char *whom = strstr(text, " for "); /* goes first where room is short */
            if (whom && cb_utf8_text_width(text) > columns) {
                *whom = '\0';
            }
            return text;
        }
    }
    struct cb_str out = {0};
    if (scene->stage->brush) {
        cb_str_add(&out, scene->stage->brush);
    } else if (scene->stage->by != CB_BY_BRUSH) {
        cb_str_add(&out, cb_by_name(scene->stage->by));
    }
    bool first = true;
    for (size_t i = 0; i < recipe->paint_count; i++) {
        if (scene->stage->tidy_with >> i & 1) {
            cb_str_addf(&out, "%s%s",
                        !first       ? ", "
                        : out.length ? "   tidy up: "
                                     : "tidy up: ",
                        recipe->paints[i].name);
            first = false;
        }
    }
    char *text = cb_arena_text(arena, cb_str_text(&out));
    cb_str_fini(&out);
    return text;
}

char *cb_app_status_line(const struct cb_bench *bench, const struct cb_scene *scene,
                         const struct cb_moment *now, const struct cb_zone *zone,
                         struct cb_arena *arena)
{
    char *put_on = cb_arena_text(arena, "nothing on the bench");
    if (scene->unit && scene->all_done) {
        bool none;
        put_on = cb_figures_done(scene->unit, false, arena, &none);
    } else if (scene->unit && (!scene->proposal.any || scene->anyway)) {
        put_on = cb_arena_text(arena, "nothing is ready");
    } else if (scene->unit) {
        const struct cb_proposal *proposal = &scene->proposal;
        size_t count = proposal->together ? (size_t)proposal->figure_count : 1;
        put_on = cb_arena_printf(arena, "%s on %s", cb_words_paint(scene->unit, proposal->stage),
                                 cb_words_figures(arena, proposal->figures, count));
        if (scene->coats > 1) {
            put_on =
                cb_arena_printf(arena, "%s, coat %d of %d", put_on, proposal->coat, scene->coats);
        }
    }
    if (!scene->next) {
        return cb_arena_printf(arena, "%s \u00B7 %s", put_on,
                               scene->held_count > 0 ? "waits: too cold or damp"
                                                     : "nothing is wet");
    }
    char span[32], by[CB_CLOCK_SIZE];
    const char *elsewhere = cb_lines_elsewhere(scene, scene->next);
    bool painted = cb_words_painted(scene->next->unit, scene->next->film->stage);
    cb_words_span(scene->next->forecast.due_ms - scene->now_ms, span);
    cb_time_clock(cb_bench_wall(bench, now, scene->next->forecast.due_ms), zone, by);
    return cb_arena_printf(arena, "%s \u00B7 %s on %d%s%s %s in %s, %s", put_on,
                           cb_words_film(scene->next->unit, scene->next->film),
                           scene->next->film->figure, elsewhere ? ", " : "",
                           elsewhere ? elsewhere : "", painted ? "dry" : "done", span, by);
}
