/* SPDX-License-Identifier: MIT */
#include "app/guide.h"

#include <math.h>
#include <string.h>

#include "app/state.h"

#define NONE CB_ACTION_NONE

/* What is said, the keys that it names in their order, and for how long there is time to read it
 * (seconds, own judgement); the first of those keys, or the other, fulfils it. A view's key does so
 * by whatever way the view is reached. NULL: the line of a demo that paints by itself, as long as
 * it does. */
static const struct {
    const char *says;
    enum cb_action key, other;
    double read_s;
} steps[] = {
    {NULL, CB_ACTION_COAT_ON, NONE, 0},
    {"%s does what stands under the big number, the figure", CB_ACTION_COAT_ON, NONE, 10},
    {"what dries counts down, and rings: %s says dry, %s still wet", CB_ACTION_DRY, CB_ACTION_WET,
     20},
    {"%s is the road: what is left, and when it is finished", CB_ACTION_VIEW_ROAD, NONE, 10},
    {"%s is the bench again; at 120x40 its board says who has what", CB_ACTION_VIEW_BENCH, NONE, 8},
    {"a line after a dot is a cue, said at its moment; %s mutes it", CB_ACTION_MUTE, NONE, 8},
    {"%s: a stroke on a scrap, which you may touch; then dry or wet", CB_ACTION_SCRAP, NONE, 10},
    {"%s closes; `coatbell demo --resume` goes on with it", CB_ACTION_QUIT, NONE, 12},
};
#define STEPS (sizeof steps / sizeof *steps)

void cb_app_guide(struct cb_app *app, double speed, bool kept)
{
    app->guide = (struct cb_guide){.speed = speed,
                                   .end = kept ? STEPS : STEPS - 1, /* the last tells how */
                                   .step = app->session.pilot ? 0 : 1,
                                   .since_ms = app->session.now.wall_ms};
    cb_app_changed(app);
}

static bool is_on(const struct cb_app *app)
{
    return app->guide.speed > 0 && app->session.loaded && !app->session.closing;
}

/* A line of it is to be read. */
static bool leads(const struct cb_app *app)
{
    return is_on(app) && steps[app->guide.step].says != NULL;
}

/* The first that nobody has given a meaning; CB_KEY_NONE: they all have one. */
static uint32_t end_key(const struct cb_app *app)
{
    static const uint32_t keys[] = {CB_KEY_F1 + 8, CB_KEY_F1 + 7, CB_KEY_F1 + 6, CB_KEY_F1 + 5};
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        if (cb_keymap_action(&app->session.keymap, keys[i]) == CB_ACTION_NONE) {
            return keys[i];
        }
    }
    return CB_KEY_NONE;
}

static int64_t read_ms(const struct cb_guide *guide)
{
    return guide->covered_ms + (int64_t)llround(CB_GUIDE_OTHER_MS * guide->speed);
}

static int64_t until_ms(const struct cb_app *app)
{
    const struct cb_guide *guide = &app->guide;
    return guide->since_ms + (int64_t)llround(steps[guide->step].read_s * 1000 * guide->speed);
}

/* Is what the line sends to in sight? */
static bool is_there(const struct cb_app *app)
{
    const enum cb_action key = steps[app->guide.step].key;
    return key != NONE && cb_app_shown(app)->opens == key;
}

static void go_on(struct cb_app *app)
{
    struct cb_guide *guide = &app->guide;
    guide->since_ms = app->session.now.wall_ms;
    do {
        guide->step++;
    } while (guide->step < guide->end && is_there(app));
    if (guide->step == guide->end) {
        *guide = (struct cb_guide){0};
    }
    cb_app_changed(app);
}

char *cb_guide_line(const struct cb_app *app, struct cb_arena *arena)
{
    const size_t at = app->guide.step;
    if (!leads(app)) {
        return NULL;
    }
    const char *other = steps[at].other == NONE ? "" : cb_app_key(app, steps[at].other);
    const char *key = cb_app_key(app, steps[at].key);
    /* The sentence names one key, or two: what is not asked for is not read. */
    const char *hole = strstr(steps[at].says, "%s");
    const char *second = strstr(hole + 2, "%s");
    const int before = (int)(hole - steps[at].says);
    char *line = second == NULL
                     ? cb_arena_printf(arena, "%.*s%s%s", before, steps[at].says, key, hole + 2)
                     : cb_arena_printf(arena, "%.*s%s%.*s%s%s", before, steps[at].says, key,
                                       (int)(second - hole - 2), hole + 2, other, second + 2);
    char name[CB_KEY_NAME_MAX];
    const uint32_t end = end_key(app);
    return end == CB_KEY_NONE
               ? line
               : cb_arena_printf(arena, "%s (%s ends this)", line, cb_key_name(end, name));
}

bool cb_guide_key(struct cb_app *app, uint32_t key)
{
    if (!is_on(app) || key != end_key(app) || key == CB_KEY_NONE) {
        return false;
    }
    app->guide = (struct cb_guide){0};
    cb_app_flash(app, "the guide is over; %s shows all keys", cb_app_key(app, CB_ACTION_HELP));
    return true;
}

void cb_guide_did(struct cb_app *app, enum cb_action action)
{
    if (!is_on(app)) {
        return;
    }
    app->guide.covered = false; /* what a key answers has just come */
    const bool did = action != NONE && (action == steps[app->guide.step].key ||
                                        action == steps[app->guide.step].other);
    if (did || is_there(app)) {
        go_on(app);
    }
}

static bool is_covered(const struct cb_app *app)
{
    return app->look.flash[0] != '\0' || app->look.banner[0] != '\0';
}

bool cb_guide_outlasts(const struct cb_app *app)
{
    const struct cb_guide *guide = &app->guide;
    const bool asks = app->ask.sure != NONE || app->ask.asked != NONE;
    return leads(app) && guide->covered && !asks && app->session.now.wall_ms >= read_ms(guide);
}

/* A caution, the last press, the answer to a key or a ring stands in the line's place: nobody has
 * read it then. */
static bool is_hidden(const struct cb_app *app)
{
    return (is_covered(app) && !cb_guide_outlasts(app)) || cb_lines_pressed(app) ||
           cb_scene_unread(cb_app_scene(app));
}

void cb_guide_read(struct cb_app *app)
{
    if (!leads(app)) {
        return;
    }
    const bool covered = is_covered(app);
    if (covered && !app->guide.covered) {
        app->guide.covered_ms = app->session.now.wall_ms;
    }
    app->guide.covered = covered;
    const bool hidden = is_hidden(app);
    if (hidden || app->guide.hidden) { /* its time begins when it is seen */
        app->guide.since_ms = app->session.now.wall_ms;
    } else if (app->session.now.wall_ms >= until_ms(app)) {
        go_on(app);
    }
    app->guide.hidden = hidden;
}

int64_t cb_guide_next(const struct cb_app *app)
{
    const struct cb_guide *guide = &app->guide;
    if (!leads(app)) {
        return CB_TIME_NONE;
    }
    const bool reads = guide->covered && !cb_guide_outlasts(app);
    return reads && read_ms(guide) < until_ms(app) ? read_ms(guide) : until_ms(app);
}
