/* SPDX-License-Identifier: MIT */
#include "app/coach.h"

#include <string.h>

#include "app/state.h"
#include "base/utf8.h"

#define POPUP_AT     0.5 /* of the time that the cue has; own judgement */
#define BODY_COLUMNS 60
#define SAY_COLUMNS  48
#define LOOK_BACK_MS (180 * CB_MS_PER_MIN) /* longer ago nothing is timed; own judgement */

struct cb_coach_at cb_coach_at_of(const struct cb_scene *scene, const struct cb_taught *taught,
                                  double evening_min)
{
    return (struct cb_coach_at){.unit = scene->unit,
                                .proposal = &scene->proposal,
                                .waits = scene->anyway || !scene->proposal.any,
                                .all_done = scene->all_done,
                                .caution = cb_scene_unread(scene),
                                .now_ms = scene->now_ms,
                                .evening_min = evening_min,
                                .taught = taught};
}

static size_t moments_now(const struct cb_app *app, const struct cb_scene *scene,
                          struct cb_arena *arena,
                          struct cb_coach_moment moments[CB_COACH_MOMENTS_MAX])
{
    const struct cb_coach_at at =
        cb_coach_at_of(scene, &app->session.taught, cb_roads_evening_min(app));
    return cb_coach_moments(app->session.bench, app->session.learn, &at, arena, moments);
}

size_t cb_coach_lines(const struct cb_app *app, const struct cb_scene *scene,
                      struct cb_arena *arena, struct cb_coach_line lines[CB_COACH_LINES])
{
    if (app->session.cues->count == 0) {
        return 0;
    }
    struct cb_coach_moment *moments = cb_arena_alloc(arena, CB_COACH_MOMENTS_MAX, sizeof *moments);
    const size_t count = moments_now(app, scene, arena, moments);
    return cb_coach_pick(app->session.cues, app->session.bench, moments, count, arena, lines);
}

const char *cb_coach_say(const struct cb_scene *scene)
{
    const char *say = scene->stage && scene->stage_begins ? scene->stage->say : NULL;
    return say && cb_utf8_text_width(say) <= SAY_COLUMNS ? say : NULL;
}

void cb_coach_mute(struct cb_app *app)
{
    struct cb_coach_line lines[CB_COACH_LINES];
    if (app->nav.view->opens != CB_ACTION_VIEW_BENCH ||
        cb_coach_lines(app, cb_app_scene(app), &app->frame, lines) == 0) {
        cb_app_flash(app, "no cue stands on the bench");
        return;
    }
    struct cb_event_make make;
    cb_event_begin(&make, &app->frame, CB_EVENT_CUE_MUTED, NULL, &app->session.now);
    cb_event_add_text(&make, CB_FIELD_CUE, lines[0].cue->id);
    cb_app_flash(app, "cue %s is muted; %s takes it back", lines[0].cue->id,
                 cb_app_key(app, CB_ACTION_UNDO));
    cb_app_store_one(app, &make);
}

/* What is timed within the film just put on, and whether it was the last of its row. NULL: nothing.
 */
static const struct cb_coach_line *timed(const struct cb_app *app, struct cb_arena *arena,
                                         bool *last)
{
    const struct cb_bench_facts facts = cb_bench_facts(app->session.bench);
    const struct cb_scene *scene = cb_app_scene(app);
    if (!scene->unit || app->session.cues->count == 0 || facts.last_mark_ms == CB_TIME_NONE ||
        scene->now_ms - facts.last_mark_ms > LOOK_BACK_MS) {
        return NULL;
    }
    struct cb_coach_moment *moments = cb_arena_alloc(arena, CB_COACH_MOMENTS_MAX, sizeof *moments);
    const size_t count = moments_now(app, scene, arena, moments);
    const struct cb_proposal *next = &scene->proposal;
    *last = !next->any || next->stage != facts.last_stage || next->coat != facts.last_coat;
    for (size_t i = 0; i < count; i++) {
        struct cb_coach_line *lines = cb_arena_alloc(arena, CB_COACH_LINES, sizeof *lines);
        if (moments[i].moment == CB_CUE_AFTER_COAT &&
            cb_coach_pick(app->session.cues, app->session.bench, &moments[i], 1, arena, lines) >
                0) {
            return lines;
        }
    }
    return NULL;
}

static int64_t at_share(const struct cb_coach_line *line, double share)
{
    return line->moment->film->on_ms + (int64_t)(share * line->moment->drying_ms);
}

static bool is_for_popup(const struct cb_app *app, const struct cb_coach_line *line, bool last)
{
    return last && line->cue->until < 1 && app->session.writer &&
           app->session.config->ping != CB_PING_OFF;
}

int64_t cb_coach_next(const struct cb_app *app)
{
    struct cb_arena arena = {0};
    bool last;
    int64_t next_ms = CB_TIME_NONE;
    const int64_t now_ms = cb_app_bench_now(app);
    const struct cb_coach_line *line = timed(app, &arena, &last);
    if (line) {
        const int64_t popup_ms = at_share(line, POPUP_AT * line->cue->until);
        const int64_t end_ms = at_share(line, line->cue->until) + 1;
        next_ms = is_for_popup(app, line, last) && popup_ms > now_ms ? popup_ms
                  : end_ms > now_ms                                  ? end_ms
                                                                     : CB_TIME_NONE;
    }
    cb_arena_fini(&arena);
    return next_ms;
}

void cb_coach_due(struct cb_app *app)
{
    bool last;
    const struct cb_coach_line *line = timed(app, &app->frame, &last);
    const bool stands = line && is_for_popup(app, line, last) &&
                        cb_app_bench_now(app) >= at_share(line, POPUP_AT * line->cue->until);
    const char *press = line ? line->moment->film->on_press : NULL;
    if (app->coach.popup != 0 && !(stands && cb_str_same(press, app->coach.said_of))) {
        cb_app_effect(app, CB_EFFECT_PING_CLOSE)->ping_id = app->coach.popup;
        app->coach.popup = 0;
    }
    if (stands && press && !cb_str_same(press, app->coach.said_of)) {
        const char *body = cb_words_paint(cb_app_unit(app), line->moment->stage_number);
        app->coach.popup =
            cb_ping_quiet(app, line->text, cb_utf8_clean(&app->frame, body, BODY_COLUMNS));
        app->coach.said_of = cb_arena_text(&app->arena, press);
    }
}
