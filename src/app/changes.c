/* SPDX-License-Identifier: MIT */
#include "app/changes.h"

#include <string.h>

#include "app/key.h"
#include "app/state.h"
#include "base/str.h"

const struct cb_changes *cb_app_changes(const struct cb_app *app)
{
    return &app->changes;
}

static void set_figure(uint64_t mask[2], int figure)
{
    mask[(figure - 1) / 64] |= UINT64_C(1) << ((figure - 1) % 64);
}

static bool has_figure(const uint64_t mask[2], int figure)
{
    return mask[(figure - 1) / 64] >> ((figure - 1) % 64) & 1;
}

struct cb_changes_figures cb_changes_figures(const struct cb_unit *unit, int figures, int before)
{
    struct cb_changes_figures out = {0};
    for (int figure = 1; figure <= CB_FIGURES_MAX; figure++) {
        const bool there = figure <= unit->figures;
        const bool parked = there && unit->figure[figure].parked;
        if (figure <= figures && !there) {
            set_figure(out.join, figure);
        } else if (figure <= figures && parked && before > 0 && figure > before) {
            set_figure(out.back, figure);
        } else if (figure > figures && there && !parked) {
            set_figure(out.park, figure);
        }
    }
    return out;
}

/* "11 and 12 join", "3 is parked". */
static void add_figures(struct cb_str *out, const uint64_t mask[2], const char *one,
                        const char *more, struct cb_arena *arena)
{
    int count = 0;
    for (int figure = 1; figure <= CB_FIGURES_MAX; figure++) {
        count += has_figure(mask, figure);
    }
    if (count > 0) {
        cb_str_addf(out, "%s%s %s", out->length ? ", " : "", cb_diff_figures(mask, arena),
                    count == 1 ? one : more);
    }
}

char *cb_changes_figures_text(const struct cb_changes_figures *figures, struct cb_arena *arena)
{
    struct cb_str out = {0};
    add_figures(&out, figures->join, "joins", "join", arena);
    add_figures(&out, figures->back, "comes back", "come back", arena);
    add_figures(&out, figures->park, "is parked", "are parked", arena);
    char *text = cb_arena_text(arena, cb_str_text(&out));
    cb_str_fini(&out);
    return text;
}

size_t cb_changes_figures_events(struct cb_app *app, const struct cb_unit *unit,
                                 const struct cb_changes_figures *figures,
                                 const struct cb_event **events)
{
    size_t count = 0;
    for (int figure = 1; figure <= CB_FIGURES_MAX; figure++) {
        const bool joins = has_figure(figures->join, figure);
        const bool parks = has_figure(figures->park, figure);
        if (!joins && !parks && !has_figure(figures->back, figure)) {
            continue;
        }
        struct cb_event_make make;
        cb_event_begin(&make, &app->frame,
                       joins   ? CB_EVENT_FIGURE_JOINED
                       : parks ? CB_EVENT_FIGURE_PARKED
                               : CB_EVENT_FIGURE_BACK,
                       unit->id, &app->session.now);
        if (!joins) {
            cb_event_add_int(&make, CB_FIELD_FIGURE, figure);
        }
        events[count++] = cb_event_take(&make);
    }
    return count;
}

/* Who comes and goes by a number of figures that was changed in the recipe. */
static struct cb_changes_figures figures_of(const struct cb_unit *unit,
                                            const struct cb_recipe *next)
{
    const int before = unit->recipe->figures;
    return next->figures > 0 && next->figures != before
               ? cb_changes_figures(unit, next->figures, before)
               : (struct cb_changes_figures){0};
}

static int coats_of(const struct cb_unit *unit, int stage)
{
    int count = 0;
    for (size_t i = 0; i < unit->film_count; i++) {
        count += unit->films[i].stage == stage && unit->films[i].lifted_ms == CB_TIME_NONE;
    }
    return count;
}

/* What a line means for this unit. */
static const char *extend(const struct cb_unit *unit, const struct cb_recipe *next,
                          const struct cb_diff_line *line, struct cb_arena *arena)
{
    if (line->kind == CB_DIFF_FIGURES) {
        const struct cb_changes_figures figures = figures_of(unit, next);
        const char *text = cb_changes_figures_text(&figures, arena);
        return text[0] ? cb_arena_printf(arena, "%s: %s", line->text, text) : line->text;
    }
    const int coats = line->kind == CB_DIFF_GONE ? coats_of(unit, line->was + 1) : 0;
    return coats > 0 ? cb_arena_printf(arena, "%s; its %d coat%s in the log", line->text, coats,
                                       coats == 1 ? " stays" : "s stay")
                     : line->text;
}

struct cb_recipe_diff cb_changes_lines(const struct cb_app *app, struct cb_arena *arena)
{
    const struct cb_unit *unit = cb_app_unit(app);
    const struct cb_recipe *next = app->changes.next;
    if (!unit || !next) {
        return (struct cb_recipe_diff){0};
    }
    struct cb_recipe_match match;
    cb_bench_match(unit, next, &match);
    const struct cb_recipe_diff diff =
        cb_recipe_diff(unit->recipe, next, &match, app->session.kinds, arena);
    struct cb_diff_line *lines = cb_arena_alloc(arena, diff.count, sizeof *lines);
    for (size_t i = 0; i < diff.count; i++) {
        lines[i] = diff.lines[i];
        lines[i].text = extend(unit, next, &diff.lines[i], arena);
    }
    return (struct cb_recipe_diff){diff.count, lines};
}

void cb_changes_open(struct cb_app *app, const struct cb_app_recipe *recipe)
{
    struct cb_changes *changes = &app->changes;
    struct cb_issues issues = {0};
    cb_arena_fini(&changes->arena);
    const struct cb_tree *tree =
        app->session.read(recipe->text, strlen(recipe->text), &changes->arena, &issues);
    const char *slash = strrchr(recipe->path, '/');
    changes->file = cb_arena_text(&changes->arena, slash ? slash + 1 : recipe->path);
    changes->next =
        tree ? cb_recipe_from_tree(tree, recipe->text, app->session.kinds, &changes->arena, &issues)
             : NULL;
    if (changes->next) {
        cb_nav_show(app, "changes");
    }
}

/* One press, whatever it changes, so that one undo takes all of it back. */
static void take(struct cb_app *app)
{
    const struct cb_unit *unit = cb_app_unit(app);
    const struct cb_recipe *next = app->changes.next;
    const struct cb_event *events[CB_FIGURES_MAX + 1];
    struct cb_event_make make;
    if (!unit || !next || !cb_app_may_write(app)) {
        return;
    }
    const struct cb_recipe_diff diff = cb_changes_lines(app, &app->frame);
    const struct cb_changes_figures figures = figures_of(unit, next);
    cb_event_begin(&make, &app->frame, CB_EVENT_RECIPE_CHANGED, unit->id, &app->session.now);
    cb_event_add_text(&make, CB_FIELD_RECIPE, next->text);
    events[0] = cb_event_take(&make);
    const size_t count = 1 + cb_changes_figures_events(app, unit, &figures, events + 1);
    const char *undo = cb_app_key(app, CB_ACTION_UNDO);
    if (diff.count > 1) {
        cb_app_flash(app, "%zu changes are taken; %s takes them back", diff.count, undo);
    } else {
        cb_app_flash(app, "%.160s; %s takes it back",
                     diff.count == 1 ? diff.lines[0].text : "the recipe is written in another way",
                     undo);
    }
    cb_nav_home(app);
    cb_app_store(app, events, count);
}

bool cb_changes_key(struct cb_app *app, uint32_t key)
{
    if (key == CB_KEY_ENTER) {
        take(app);
        return true;
    }
    if (key == CB_KEY_ESC) {
        cb_nav_home(app);
        cb_app_flash(app, "the recipe stays as it was");
        return true;
    }
    return false;
}

void cb_changes_fini(struct cb_app *app)
{
    cb_arena_fini(&app->changes.arena);
}
