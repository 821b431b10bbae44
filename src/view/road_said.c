/* SPDX-License-Identifier: MIT */
#include "view/road_said.h"

#include <math.h>

#include "app/outlook.h"
#include "app/road.h"
#include "app/session.h"
#include "app/words.h"
#include "view/finish_sentence.h"
#include "view/review_page.h"

#define RULE_LEAST 0.5 /* minutes that the rule of the brush costs: less is not said */

static void say(struct cb_road_said *head, enum cb_role role, const char *text)
{
    head->sentences[head->count].role = role;
    head->sentences[head->count++].text = text;
}

static bool lacks_parked(const struct cb_unit *unit)
{
    for (int figure = 1; figure <= unit->figures; figure++) {
        for (int stage = 1; unit->figure[figure].parked && stage <= (int)unit->recipe->stage_count;
             stage++) {
            if (cb_bench_coats(unit, figure, stage) > cb_bench_coats_on(unit, figure, stage)) {
                return true;
            }
        }
    }
    return false;
}

static const char *when(const struct cb_app *app, const struct cb_finish *finish,
                        struct cb_arena *arena)
{
    const struct cb_session *session = cb_app_session(app);
    return cb_finish_sentence(finish, session->now.wall_ms, &session->zone, arena);
}

/* When the last film is dry. */
static void say_finish(const struct cb_app *app, struct cb_road_said *head, struct cb_arena *arena)
{
    const struct cb_session *session = cb_app_session(app);
    const struct cb_road *road = cb_app_road(app);
    const struct cb_finish *finish = cb_app_finish(app);
    const char *said = when(app, finish, arena);
    const int still = cb_outlook_still(road);
    if (still >= 0) {
        say(head, CB_ROLE_HELD,
            cb_arena_printf(arena, "No end in sight: %s stands still, too cold or too damp",
                            cb_app_unit(app)->recipe->stages[still].name));
    } else if (road->nights.task_count == 0) {
        say(head, CB_ROLE_STRONG,
            finish->median_ms > session->now.wall_ms
                ? cb_arena_printf(arena, "Every coat is on; dry %s", said)
            : lacks_parked(cb_app_unit(app))
                ? "Nothing is left but what parked figures lack"
                : cb_arena_printf(arena, "Every coat is on and dry; %s finishes the unit",
                                  cb_app_key(app, CB_ACTION_FINISH)));
    } else if (said) {
        say(head, CB_ROLE_STRONG, cb_arena_printf(arena, "Finished %s", said));
    } else {
        const double late_min = cb_outlook_late_min(app, &road->nights);
        const double end_min = fmax(road->nights.finish_min + late_min, cb_outlook_wet_min(road));
        const struct cb_finish dry = {
            .from = CB_FINISH_DRYING,
            .median_ms = cb_bench_wall(session->bench, &session->now,
                                       road->from_ms + (int64_t)(end_min * (double)CB_MS_PER_MIN))};
        say(head, CB_ROLE_STRONG,
            cb_arena_printf(arena, "Without a break finished %s", when(app, &dry, arena)));
    }
}

static void say_to_go(const struct cb_app *app, struct cb_road_said *head, bool roomy,
                      struct cb_arena *arena)
{
    const struct cb_hours_sum *to_go = cb_app_to_go(app);
    const struct cb_finish *finish = cb_app_finish(app);
    if (!(to_go->mean_min > 0)) {
        return;
    }
    char about[CB_REVIEW_ABOUT_SIZE];
    cb_review_about(to_go, about);
    const char *said = cb_arena_printf(arena, "Hands-on to go: %s", about);
    if (finish->evenings_high > 1 && roomy) {
        said = finish->evenings_low < finish->evenings_high
                   ? cb_arena_printf(arena, "%s; %d to %d evenings", said, finish->evenings_low,
                                     finish->evenings_high)
                   : cb_arena_printf(arena, "%s; %d evenings", said, finish->evenings);
        said =
            finish->from == CB_FINISH_GIVEN ? cb_arena_printf(arena, "%s, one a day", said) : said;
    }
    say(head, CB_ROLE_PLAIN, said);
    if (finish->from == CB_FINISH_UNKNOWN && cb_outlook_still(cb_app_road(app)) < 0 &&
        finish->known_evenings < CB_FINISH_EVENINGS_MIN) {
        say(head, CB_ROLE_DIM,
            cb_arena_printf(arena, "The day is named once %d evenings are on record",
                            CB_FINISH_EVENINGS_MIN));
    }
}

static void say_rule(const struct cb_app *app, struct cb_road_said *head, struct cb_arena *arena)
{
    const struct cb_road *road = cb_app_road(app);
    if (road->rule_min > RULE_LEAST) {
        say(head, CB_ROLE_DIM,
            cb_arena_printf(arena, "Keeping to brush and recipe order ends %.0f min later",
                            fmax(1, round(road->rule_min))));
    }
}

static void say_others(const struct cb_app *app, struct cb_road_said *head, struct cb_arena *arena)
{
    const size_t open = cb_app_open_units(app);
    const struct cb_unit *other = NULL;
    for (size_t row = 0; row < open; row++) {
        const struct cb_unit *unit =
            cb_bench_unit(cb_app_session(app)->bench, cb_app_open_unit(app, row));
        other = unit == cb_app_unit(app) || other ? other : unit;
    }
    if (other && open == 2) {
        say(head, CB_ROLE_DIM,
            cb_arena_printf(arena, "%s waits as well: not in this", other->name));
    } else if (other) {
        say(head, CB_ROLE_DIM,
            cb_arena_printf(arena, "%s and %zu more wait as well: not in this", other->name,
                            open - 2));
    }
}

struct cb_road_said cb_road_say(const struct cb_app *app, bool roomy, struct cb_arena *arena)
{
    struct cb_road_said head = {0};
    if (!cb_app_unit(app)) {
        say(&head, CB_ROLE_PLAIN,
            cb_arena_printf(arena, "No unit is on the bench; %s begins one",
                            cb_app_key(app, CB_ACTION_OPEN)));
    } else if (!cb_app_road(app)) {
        say(&head, CB_ROLE_PLAIN,
            cb_arena_printf(arena, "The unit has no stage yet; %s types one",
                            cb_app_key(app, CB_ACTION_QUICK)));
    } else {
        say_finish(app, &head, arena);
        say_to_go(app, &head, roomy, arena);
        say_rule(app, &head, arena);
        say_others(app, &head, arena);
    }
    return head;
}
