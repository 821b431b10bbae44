/* SPDX-License-Identifier: MIT */
#include "app/edit.h"

#include <stdio.h>
#include <string.h>

#include "app/changes.h"
#include "app/films.h"
#include "app/key.h"
#include "app/scene.h"
#include "app/state.h"
#include "base/str.h"
#include "core/recipe/recipe_diff.h"
#include "core/recipe/recipe_write.h"

const struct cb_edit *cb_app_edit(const struct cb_app *app)
{
    return &app->edit;
}

static uint64_t stages_to_do(const struct cb_unit *unit)
{
    uint64_t mask = 0;
    int figures;
    for (int stage = 1; stage <= (int)unit->recipe->stage_count; stage++) {
        mask |= cb_edit_coats_to_do(unit, stage, 0, NULL, NULL, &figures) > 0
                    ? UINT64_C(1) << (stage - 1)
                    : 0;
    }
    return mask;
}

static int counted(const struct cb_unit *unit)
{
    int last = unit->figures;
    while (last > 0 && unit->figure[last].parked) {
        last--;
    }
    return last > 0 ? last : unit->figures;
}

/* The figure and the next ones that have the stage, as many as the number typed. */
static void find_these(const struct cb_app *app, const struct cb_unit *unit, int stage, int figure,
                       uint64_t these[2])
{
    int left = app->nav.count;
    for (int i = 0; i < unit->figures && left > 0; i++) {
        const int other = (figure - 1 + i) % unit->figures + 1;
        if (cb_recipe_applies(unit->recipe, (size_t)stage - 1, other)) {
            these[(other - 1) / 64] |= UINT64_C(1) << ((other - 1) % 64);
            left--;
        }
    }
}

static void set_text(struct cb_typed *field, const char *text)
{
    snprintf(field->text, sizeof field->text, "%s", text);
    field->error[0] = '\0';
}

static void go_to_field(struct cb_edit *edit, int field)
{
    edit->field = field;
    edit->fresh = true;
}

static void fill(struct cb_edit *edit)
{
    const char *texts[CB_REVISE_FIELDS];
    cb_revise_begin(&edit->revise, texts, &edit->arena);
    for (int i = 0; i < CB_REVISE_FIELDS; i++) {
        edit->there[i] = texts[i] != NULL;
        edit->touched[i] = false;
        edit->fields[i] = (struct cb_typed){.text = ""};
        if (texts[i]) {
            set_text(&edit->fields[i], texts[i]);
        }
    }
    go_to_field(edit, edit->there[CB_REVISE_PAINT] ? CB_REVISE_PAINT : CB_REVISE_COATS);
}

void cb_edit_open(struct cb_app *app)
{
    struct cb_edit *edit = &app->edit;
    const struct cb_scene *scene = cb_app_scene(app);
    int figure, stage;
    if (!cb_films_place(app, scene, false, &figure, &stage)) {
        cb_app_flash(app, "go to a stage first");
        return;
    }
    const struct cb_unit *unit = scene->unit;
    cb_arena_fini(&edit->arena);
    struct cb_draft *draft = cb_arena_alloc(&edit->arena, 1, sizeof *draft);
    const char **known = cb_arena_alloc(&edit->arena, CB_RECIPE_MAX, sizeof *known);
    cb_bench_draft(unit, draft);
    edit->unit = cb_arena_text(&edit->arena, unit->id);
    edit->from = unit->recipe;
    edit->revise = (struct cb_revise){
        .kinds = app->session.kinds,
        .recipe = &draft->recipe,
        .stage = (size_t)stage - 1,
        .to_do = stages_to_do(unit),
        .figures = unit->figures,
        .counted = counted(unit),
        .figure = figure,
        .known = known,
        .known_count = cb_bench_old_stages(unit, known, CB_RECIPE_MAX),
    };
    find_these(app, unit, stage, figure, edit->revise.these);
    fill(edit);
    cb_nav_show(app, "edit");
}

static void set_fault(struct cb_edit *edit, int field, const char *fault, bool asks)
{
    struct cb_typed *typed = &edit->fields[field];
    go_to_field(edit, field);
    snprintf(typed->error, sizeof typed->error, "%.250s", fault);
    snprintf(typed->asked, sizeof typed->asked, "%s", asks ? typed->text : "");
}

/* The text of the changed recipe; NULL: it can't be read again, and the field is told why. */
static const char *text_of(struct cb_app *app, const struct cb_revised *revised)
{
    struct cb_edit *edit = &app->edit;
    struct cb_issues issues = {0};
    const char *text =
        cb_recipe_write(&revised->draft->recipe, app->session.kinds, NULL, &app->frame);
    const struct cb_tree *tree = app->session.read(text, strlen(text), &app->frame, &issues);
    if (tree && cb_recipe_from_tree(tree, text, app->session.kinds, &app->frame, &issues)) {
        return text;
    }
    const int field = edit->touched[CB_REVISE_ORDER]   ? CB_REVISE_ORDER
                      : edit->touched[CB_REVISE_AREAS] ? CB_REVISE_AREAS
                                                       : edit->field;
    set_fault(edit, field, issues.count > 0 ? issues.items[0].message : "the recipe is too long",
              false);
    return NULL;
}

/* One paint for another and nothing else is a swap; all else is another recipe. NULL: a fault. */
static const struct cb_event *change_event(struct cb_app *app, const struct cb_revised *revised,
                                           const struct cb_recipe_diff *diff)
{
    struct cb_event_make make;
    if (revised->swapped >= 0 && diff->count == 1 && diff->lines[0].kind == CB_DIFF_PAINT) {
        const struct cb_paint *paint = &revised->draft->paints[revised->swapped];
        cb_event_begin(&make, &app->frame, CB_EVENT_SWAPPED, app->edit.unit, &app->session.now);
        cb_event_add_text(&make, CB_FIELD_PAINT, paint->key);
        cb_event_add_text(&make, CB_FIELD_NAME, paint->name);
        cb_event_add_text(&make, CB_FIELD_KIND, app->session.kinds->kinds[paint->kind].name);
        return cb_event_take(&make);
    }
    const char *text = text_of(app, revised);
    if (!text) {
        return NULL;
    }
    cb_event_begin(&make, &app->frame, CB_EVENT_RECIPE_CHANGED, app->edit.unit, &app->session.now);
    cb_event_add_text(&make, CB_FIELD_RECIPE, text);
    return cb_event_take(&make);
}

static bool has_films(const struct cb_unit *unit, int stage, const uint64_t figures[2])
{
    bool found = false;
    for (size_t i = 0; i < unit->film_count; i++) {
        const struct cb_film *film = &unit->films[i];
        found |= film->stage == stage && film->lifted_ms == CB_TIME_NONE && film->figure > 0 &&
                 (figures[(film->figure - 1) / 64] >> ((film->figure - 1) % 64) & 1) != 0;
    }
    return found;
}

/* Does a line tell of what coats already on keep as it was? */
static bool is_for_the_next(const struct cb_unit *unit, const struct cb_recipe *before,
                            const struct cb_revised *revised, const struct cb_diff_line *line)
{
    uint64_t figures[2] = {UINT64_MAX, UINT64_MAX};
    bool found = false;
    if (line->kind == CB_DIFF_CHANGED && line->stage >= 0 && line->was >= 0) {
        cb_recipe_figures_of(&revised->draft->recipe, (size_t)line->stage, figures);
        return has_films(unit, line->was + 1, figures);
    }
    for (size_t i = 0; line->kind == CB_DIFF_PAINT && i < before->stage_count; i++) {
        const struct cb_mix *mix = &before->stages[i].mix;
        for (size_t p = 0; p < mix->count; p++) {
            found |= mix->parts[p].what == CB_MIX_PAINT &&
                     mix->parts[p].paint == revised->swapped &&
                     has_films(unit, (int)i + 1, figures);
        }
    }
    return found;
}

/* "Rope: 3 coats instead of 2, from here on, and 1 more; BKSP takes it back". Who comes and goes is
 * told by its own words, not by the number that the recipe says. */
static void say_changed(struct cb_app *app, const struct cb_revised *revised,
                        const struct cb_recipe_diff *diff, const char *figures)
{
    const struct cb_recipe *before = app->edit.revise.recipe;
    const bool by_paint = revised->swapped >= 0 && /* its name follows, and goes without saying */
                          strcmp(before->stages[app->edit.revise.stage].name,
                                 revised->draft->stages[revised->stage].name) != 0;
    const struct cb_diff_line *first = NULL;
    size_t count = figures[0] != '\0';
    for (size_t i = 0; i < diff->count; i++) {
        const struct cb_diff_line *line = &diff->lines[i];
        if (line->kind != CB_DIFF_FIGURES) {
            first = !first || (by_paint && line->kind == CB_DIFF_PAINT) ? line : first;
            count++;
        }
    }
    const bool next = first && is_for_the_next(cb_app_unit(app), before, revised, first);
    const char *more = count > 1 ? cb_arena_printf(&app->frame, ", and %zu more", count - 1) : "";
    const char *text = first ? first->text : cb_arena_printf(&app->frame, "figures: %s", figures);
    cb_app_flash(app, "%.150s%s%s; %s takes it back", text, next ? ", from here on" : "", more,
                 cb_app_key(app, CB_ACTION_UNDO));
}

static int next_field(const struct cb_edit *edit, int from, int step)
{
    int field = from;
    do {
        field = (field + step + CB_REVISE_FIELDS) % CB_REVISE_FIELDS;
    } while (!edit->there[field]);
    return field;
}

/* At the stage that was edited, where another one would be offered now and it is still to do: its
 * figure in brackets, else the next of those that lack it. */
static void stay(struct cb_app *app, int stage)
{
    const struct cb_scene *scene = cb_app_scene(app);
    const struct cb_unit *unit = scene->unit;
    int figure, offered;
    if (!unit || stage > (int)unit->recipe->stage_count ||
        (cb_films_place(app, scene, false, &figure, &offered) && offered == stage)) {
        return;
    }
    for (int i = 0; i < unit->figures; i++) {
        figure = (app->edit.revise.figure - 1 + i) % unit->figures + 1;
        if (!unit->figure[figure].parked &&
            cb_bench_coats(unit, figure, stage) > cb_bench_coats_on(unit, figure, stage)) {
            cb_nav_go(app, figure, stage);
            return;
        }
    }
}

/* Writes what differs as one press; where nothing does, ENTER goes on to the next field. */
static void enter(struct cb_app *app)
{
    struct cb_edit *edit = &app->edit;
    const struct cb_unit *unit = cb_app_unit(app);
    struct cb_revised revised;
    struct cb_recipe_match match;
    cb_edit_read(edit, &revised, &app->frame);
    if (revised.field >= 0) {
        set_fault(edit, revised.field, revised.fault, revised.asks);
        return;
    }
    if (!unit || strcmp(unit->id, edit->unit) != 0 || unit->recipe != edit->from) {
        cb_nav_home(app);
        cb_app_flash(app, "the recipe has changed meanwhile; nothing is done");
        return;
    }
    cb_recipe_match(edit->revise.recipe, &revised.draft->recipe, edit->revise.known,
                    edit->revise.known_count, &match);
    const struct cb_recipe_diff diff = cb_recipe_diff(edit->revise.recipe, &revised.draft->recipe,
                                                      &match, app->session.kinds, &app->frame);
    const struct cb_changes_figures figures =
        revised.figures != edit->revise.counted
            ? cb_changes_figures(unit, revised.figures, edit->revise.counted)
            : (struct cb_changes_figures){0};
    const char *who = cb_changes_figures_text(&figures, &app->frame);
    if (diff.count == 0 && who[0] == '\0') {
        go_to_field(edit, next_field(edit, edit->field, 1));
        return;
    }
    const struct cb_event *events[CB_FIGURES_MAX + 1];
    size_t count = 0;
    if (diff.count > 0 && !(events[count++] = change_event(app, &revised, &diff))) {
        return;
    }
    count += cb_changes_figures_events(app, unit, &figures, events + count);
    if (!cb_app_may_write(app)) {
        return;
    }
    cb_nav_home(app);
    say_changed(app, &revised, &diff, who);
    cb_app_store(app, events, count);
    stay(app, (int)revised.stage + 1);
}

static void turn(struct cb_edit *edit, int step)
{
    struct cb_typed *field = &edit->fields[edit->field];
    struct cb_arena arena = {0};
    const char *next =
        cb_revise_turn(&edit->revise, (enum cb_revise_field)edit->field, field->text, step, &arena);
    if (strcmp(next, field->text) != 0) {
        set_text(field, next);
        edit->touched[edit->field] = true;
    }
    const struct cb_recipe *recipe = edit->revise.recipe;
    for (size_t i = 0; edit->field == CB_REVISE_PAINT && i < recipe->paint_count; i++) {
        if (strcmp(recipe->paints[i].name, next) == 0) { /* as that paint is */
            set_text(&edit->fields[CB_REVISE_KIND],
                     edit->revise.kinds->kinds[recipe->paints[i].kind].name);
            edit->touched[CB_REVISE_KIND] = true;
        }
    }
    edit->fresh = true;
    cb_arena_fini(&arena);
}

/* What is typed takes the place of what stood there; BACKSPACE mends that. */
static void type(struct cb_edit *edit, uint32_t key)
{
    struct cb_typed *field = &edit->fields[edit->field];
    const bool is_sign = key > ' ' && key < CB_KEY_BACKSPACE;
    const bool edits = is_sign || key == CB_KEY_BACKSPACE || key == CB_KEY_CTRL_U;
    if (edit->fresh && is_sign) {
        field->text[0] = '\0';
    }
    edit->fresh = edit->fresh && !edits && key != ' ';
    edit->touched[edit->field] = edit->touched[edit->field] || edits;
    cb_form_edit(field, key);
}

bool cb_edit_key(struct cb_app *app, uint32_t key)
{
    struct cb_edit *edit = &app->edit;
    if (key == CB_KEY_ESC || !edit->from) {
        cb_nav_back(app);
    } else if (key == CB_KEY_ENTER) {
        enter(app);
    } else if (key == CB_KEY_TAB || key == CB_KEY_DOWN || key == CB_KEY_UP) {
        go_to_field(edit, next_field(edit, edit->field, key == CB_KEY_UP ? -1 : 1));
    } else if (key == CB_KEY_LEFT || key == CB_KEY_RIGHT) {
        turn(edit, key == CB_KEY_RIGHT ? 1 : -1);
    } else {
        type(edit, key);
    }
    return true;
}

void cb_edit_fini(struct cb_app *app)
{
    cb_arena_fini(&app->edit.arena);
}
