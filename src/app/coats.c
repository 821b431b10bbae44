/* SPDX-License-Identifier: MIT */
#include "app/coats.h"

#include <string.h>

#include "app/figures.h"
#include "app/lines.h"
#include "app/state.h"
#include "base/vec.h"
#include "core/recipe/amount.h"

#define LATE_TIMES      3 /* of the work of the coat; both own judgement */
#define LATE_MS         (10 * CB_MS_PER_MIN)
#define CORRECTION_PM_S 30.0 /* "-6" is a whole number of minutes: half of one */

static const struct cb_event *coat_event(struct cb_app *app, const struct cb_scene *scene,
                                         int figure, const struct cb_dating *dating)
{
    struct cb_event_make make;
    const int64_t back_ms = scene->now_ms - dating->on_ms;
    cb_event_begin(&make, &app->frame, CB_EVENT_COAT_ON, scene->unit->id, &app->session.now);
    cb_event_add_int(&make, CB_FIELD_FIGURE, figure);
    cb_event_add_int(&make, CB_FIELD_STAGE, scene->proposal.stage);
    cb_event_add_int(&make, CB_FIELD_COAT, scene->proposal.coat);
    if (back_ms > 0) {
        cb_event_add_time(&make, CB_FIELD_ON_AT, app->session.now.wall_ms - back_ms);
    }
    if (dating->pm_s > 0) {
        cb_event_add_number(&make, CB_FIELD_ON_PM_S, dating->pm_s);
    }
    if (scene->stage->place) {
        cb_event_add_text(&make, CB_FIELD_PLACE, scene->stage->place);
    }
    return cb_event_take(&make);
}

/* Figures for a count beyond those that are ready: the next that want this very coat. */
static size_t pick_figures(const struct cb_app *app, const struct cb_scene *scene, size_t wanted,
                           int figures[CB_FIGURES_MAX])
{
    const struct cb_proposal *proposal = &scene->proposal;
    size_t count = 0;
    for (int i = 0; i < proposal->figure_count && count < wanted; i++) {
        figures[count++] = proposal->figures[i];
    }
    for (int i = 0; i < scene->unit->figures && count < wanted; i++) {
        int figure = (proposal->figure - 1 + i) % scene->unit->figures + 1;
        bool have = false;
        for (size_t k = 0; k < count; k++) {
            have = have || figures[k] == figure;
        }
        struct cb_slot slot = cb_next_slot(app->session.bench, app->session.learn, scene->unit,
                                           figure, proposal->stage, scene->now_ms);
        if (!have && slot.coat == proposal->coat &&
            (slot.state == CB_SLOT_READY || slot.state == CB_SLOT_WET ||
             slot.state == CB_SLOT_BESIDE || slot.state == CB_SLOT_TOGETHER)) {
            figures[count++] = figure;
        }
    }
    return count;
}

/* Hands-on time of one coat of the stage on one figure: learned of finished units, else the
 * recipe's. */
static int64_t work_ms(const struct cb_app *app, const struct cb_stage *stage)
{
    const struct cb_taught *taught = &app->session.taught;
    double minutes = cb_stage_minutes(stage, app->session.kinds);
    if (taught->hours && taught->unit_count > 0 && minutes > 0) {
        const struct cb_hours_cell cell = {(size_t)stage->technique, minutes, 1};
        struct cb_hours *hours = cb_hours_copy(taught->hours);
        cb_hours_new_unit(hours);
        minutes = cb_hours_to_go(hours, &cell, 1, 0).median_min;
        cb_hours_free(hours);
    }
    return (int64_t)(minutes * (double)CB_MS_PER_MIN);
}

void cb_coats_meant(const struct cb_app *app, const struct cb_scene *scene, bool rest,
                    struct cb_coats_meant *meant)
{
    const struct cb_proposal *proposal = &scene->proposal;
    const int back_min = app->nav.minus ? app->nav.count : 0;
    const int64_t last_ms = scene->now_ms - back_min * CB_MS_PER_MIN;
    size_t wanted = rest || proposal->together ? (size_t)proposal->figure_count : 1;
    if (app->nav.count > 0 && !app->nav.minus) {
        wanted = (size_t)app->nav.count;
    }
    *meant = (struct cb_coats_meant){.wanted = wanted < 1 ? 1 : wanted};
    wanted = meant->wanted > CB_FIGURES_MAX ? CB_FIGURES_MAX : meant->wanted;
    meant->count = pick_figures(app, scene, wanted, meant->figures);
    if (proposal->together) { /* one go has one moment */
        for (size_t i = 0; i < meant->count; i++) {
            meant->dating[i] = (struct cb_dating){last_ms, 0};
        }
    } else {
        cb_dating_count(app->session.bench, app->session.learn, scene->unit, proposal->stage,
                        meant->figures, meant->count, work_ms(app, scene->stage), last_ms,
                        scene->now_ms, meant->dating);
    }
    for (size_t i = 0; i < meant->count && back_min > 0; i++) {
        meant->dating[i].pm_s += CORRECTION_PM_S;
    }
}

bool cb_coats_may_be_late(const struct cb_app *app, const struct cb_scene *scene)
{
    const int64_t most_ms = LATE_TIMES * work_ms(app, scene->stage);
    const int64_t since_ms =
        cb_dating_since_ms(app->session.bench, app->session.learn, scene->unit,
                           scene->proposal.figure, scene->proposal.stage, scene->now_ms);
    return scene->now_ms - since_ms >= (most_ms > LATE_MS ? most_ms : LATE_MS);
}

/* A coat can't have gone on before its unit was begun or the film beneath it was on: says so, and
 * what is meant by one that did. */
static bool is_too_early(struct cb_app *app, const struct cb_scene *scene, int figure, int back_min)
{
    const struct cb_unit *unit = scene->unit;
    const int64_t on_ms = scene->now_ms - back_min * CB_MS_PER_MIN;
    const uint64_t covers = cb_recipe_covers(unit->recipe, (size_t)scene->proposal.stage - 1);
    const struct cb_film *over = NULL;
    char clock[CB_CLOCK_SIZE];
    for (size_t i = 0; i < unit->film_count; i++) {
        const struct cb_film *film = &unit->films[i];
        const bool beneath = cb_areas_meet(film->whole, film->areas, scene->stage->whole, covers);
        if (film->figure == figure && film->stage > 0 && film->lifted_ms == CB_TIME_NONE &&
            beneath && film->on_ms >= on_ms && (!over || film->on_ms > over->on_ms)) {
            over = film;
        }
    }
    int64_t since_ms = over ? over->on_ms : unit->begun_ms;
    if (back_min == 0 || (!over && on_ms >= unit->begun_ms)) {
        return false;
    }
    cb_time_clock(cb_bench_wall(app->session.bench, &app->session.now, since_ms),
                  &app->session.zone, clock);
    if (over && !over->before) {
        cb_app_flash(app, "%d min ago is before %s was %s %d, %s; nothing is written", back_min,
                     cb_words_paint(unit, over->stage), cb_words_upon(unit, over->stage), figure,
                     clock);
    } else {
        cb_app_flash(app, "%d min ago is before the unit was begun, %s; %s: done before", back_min,
                     clock, cb_app_key(app, CB_ACTION_DONE_BEFORE));
    }
    return true;
}

/* A caution is read by a press of its own; the coat wants the next. */
static void read_cautions(struct cb_app *app, const struct cb_scene *scene)
{
    const struct cb_event *events[sizeof scene->cautions / sizeof *scene->cautions];
    size_t count = 0;
    for (size_t i = 0; i < scene->caution_count; i++) {
        if (!scene->caution_read[i]) {
            struct cb_event_make make;
            cb_event_begin(&make, &app->frame, CB_EVENT_CAUTION_READ, NULL, &app->session.now);
            cb_event_add_text(&make, CB_FIELD_CAUTION, scene->cautions[i].id);
            events[count++] = cb_event_take(&make);
        }
    }
    cb_app_store(app, events, count);
}

void cb_coats_on(struct cb_app *app, bool rest)
{
    const struct cb_scene *scene = cb_app_scene(app);
    if (cb_scene_parked(scene) > 0) {
        cb_app_flash(app, "%d is parked: %s brings it back first", scene->hand.figure,
                     cb_app_key(app, CB_ACTION_PARK));
        return;
    }
    const int later = scene->unit && scene->all_done ? cb_figures_later(scene->unit) : 0;
    if (later > 0) {
        cb_app_flash(app, "all coats of the first are on; ENTER: the same for the other %s",
                     cb_amount_count(later, &app->frame));
        return;
    }
    if (!scene->unit || !scene->proposal.any) {
        cb_app_flash(app, "%s",
                     scene->all_done
                         ? cb_lines_all_done(app, scene, app->look.columns - 2, &app->frame)
                         : "nothing to put on");
        return;
    }
    if (app->nav.count > scene->unit->figures && !app->nav.minus) { /* most likely the room */
        cb_app_flash(
            app, "there are %d figures: nothing is written; %s first for the room; ESC ends this",
            scene->unit->figures, cb_app_key(app, CB_ACTION_CLIMATE));
        cb_nav_begin_stray(app);
        return;
    }
    if (cb_scene_unread(scene)) {
        read_cautions(app, scene);
        return;
    }
    const struct cb_event *events[CB_FIGURES_MAX + 8];
    size_t event_count = 0;
    struct cb_coats_meant meant;
    cb_coats_meant(app, scene, rest, &meant);
    for (size_t i = 0; i < meant.count; i++) {
        if (is_too_early(app, scene, meant.figures[i], app->nav.minus ? app->nav.count : 0)) {
            return;
        }
        events[event_count++] = coat_event(app, scene, meant.figures[i], &meant.dating[i]);
    }
    if (meant.count < meant.wanted && app->nav.count > 0) {
        cb_app_flash(app, "%s %s; no other figure wants it",
                     cb_words_upon(scene->unit, scene->proposal.stage),
                     cb_words_figures(&app->frame, meant.figures, meant.count));
    }
    int missing = cb_scene_missing(app->session.bench, app->session.learn, scene);
    if (missing > 0) {
        cb_app_flash(app, "%s %s %s, though %s is not %s; %s takes it back",
                     cb_words_paint(scene->unit, scene->proposal.stage),
                     cb_words_upon(scene->unit, scene->proposal.stage),
                     cb_words_figures(&app->frame, meant.figures, meant.count),
                     cb_words_coat(&app->frame, scene->unit, missing,
                                   cb_bench_coats_on(scene->unit, meant.figures[0], missing) + 1),
                     cb_words_laid(scene->unit, missing), cb_app_key(app, CB_ACTION_UNDO));
    }
    cb_nav_go(app, 0, 0);
    cb_app_store(app, events, event_count);
}

const struct cb_event *cb_coats_before_event(struct cb_arena *arena, const char *unit, int figure,
                                             int stage, int coat, const struct cb_moment *now)
{
    struct cb_event_make make;
    cb_event_begin(&make, arena, CB_EVENT_COAT_ON, unit, now);
    cb_event_add_int(&make, CB_FIELD_FIGURE, figure);
    cb_event_add_int(&make, CB_FIELD_STAGE, stage);
    cb_event_add_int(&make, CB_FIELD_COAT, coat);
    cb_event_add_bool(&make, CB_FIELD_BEFORE, true);
    return cb_event_take(&make);
}

void cb_coats_before(struct cb_app *app)
{
    const struct cb_scene *scene = cb_app_scene(app);
    const struct cb_unit *unit = scene->unit;
    const int stage = app->nav.at_stage ? app->nav.at_stage : scene->proposal.stage;
    if (!unit || stage < 1) {
        cb_app_flash(app, "no stage is meant; nothing is written");
        return;
    }
    const int from = app->nav.at_figure ? app->nav.at_figure : scene->proposal.figure;
    const int wanted = app->nav.count > 0 ? app->nav.count : unit->figures;
    CB_VEC(const struct cb_event *) events = {0};
    int figures = 0;
    for (int i = 0; i < unit->figures && figures < wanted; i++) {
        const int first = app->nav.count > 0 && from > 0 ? from : 1;
        const int figure = (first - 1 + i) % unit->figures + 1;
        const size_t before = events.count;
        for (int coat = 1; coat <= cb_bench_coats(unit, figure, stage); coat++) {
            if (!cb_bench_film(unit, figure, stage, coat)) {
                cb_vec_push(&events, cb_coats_before_event(&app->frame, unit->id, figure, stage,
                                                           coat, &app->session.now));
            }
        }
        figures += events.count > before;
    }
    const char *name = unit->recipe->stages[stage - 1].name;
    if (events.count == 0) {
        cb_app_flash(app, "%.80s is %s already, wherever it is wanted", name,
                     cb_words_laid(unit, stage));
    } else if (figures < app->nav.count) {
        cb_app_flash(app, "%.80s: done before on %d; no other figure wants it", name, figures);
    }
    cb_nav_go(app, 0, 0);
    cb_app_store(app, events.items, events.count);
    cb_vec_free(&events);
}
