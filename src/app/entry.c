/* SPDX-License-Identifier: MIT */
#include "app/entry.h"

#include <stdio.h>
#include <string.h>

#include "app/key.h"
#include "app/state.h"
#include "base/str.h"
#include "base/utf8.h"
#include "core/recipe/recipe_write.h"

#define NAME_COLUMNS 30 /* of a stage in the one line; own judgement */

const struct cb_entry *cb_app_entry(const struct cb_app *app)
{
    return &app->entry;
}

/* Of finished units that are not loaded only the paints are known. */
static const struct cb_recipe *words_of_finished(const struct cb_app *app, struct cb_arena *arena)
{
    const struct cb_taught *taught = &app->session.taught;
    struct cb_recipe *words = cb_arena_alloc(arena, 1, sizeof *words);
    struct cb_paint *paints = cb_arena_alloc(arena, taught->stage_count, sizeof *paints);
    for (size_t i = 0; i < taught->stage_count; i++) {
        struct cb_paint *paint = &paints[words->paint_count];
        paint->key = paint->name = taught->stages[i].paint;
        words->paint_count +=
            cb_kinds_find(app->session.kinds, taught->stages[i].kind, &paint->kind);
    }
    words->paints = paints;
    return words;
}

/* The words of every other unit that the bench has, the newest first, then of those before. */
static void read_line(struct cb_app *app)
{
    struct cb_entry *entry = &app->entry;
    const struct cb_bench *bench = app->session.bench;
    const struct cb_unit *front = entry->begins ? NULL : cb_app_unit(app);
    cb_arena_fini(&entry->arena);
    const size_t count = cb_bench_unit_count(bench);
    const struct cb_recipe **others = cb_arena_alloc(&entry->arena, count + 1, sizeof *others);
    struct cb_quick_known known = {
        .kinds = app->session.kinds,
        .recipe = front ? front->recipe : NULL,
        .others = others,
        .bare = !front || front->film_count == 0,
    };
    for (size_t i = count; i-- > 0;) {
        const struct cb_unit *unit = cb_bench_unit(bench, i);
        if (unit != front) {
            others[known.other_count++] = unit->recipe;
        }
    }
    others[known.other_count++] = words_of_finished(app, &entry->arena);
    struct cb_quick *read = cb_arena_alloc(&entry->arena, 1, sizeof *read);
    cb_quick_read(&known, entry->line.text, &entry->arena, read);
    entry->read = read;
    entry->mark = 0;
}

void cb_entry_open(struct cb_app *app)
{
    app->entry.line = (struct cb_typed){.text = ""};
    app->entry.begins = cb_app_shown_under(app)->opens == CB_ACTION_OPEN;
    read_line(app);
}

/* Where the stage comes: after the one typed before it, else after the one painted last. after:
 * that one, -1: none. */
static size_t place_of(const struct cb_app *app, const struct cb_unit *unit, int *after)
{
    const struct cb_entry *entry = &app->entry;
    const struct cb_bench_facts facts = cb_bench_facts(app->session.bench);
    *after = -1;
    if (entry->unit && strcmp(entry->unit, unit->id) == 0 && entry->mark_ms == facts.last_mark_ms) {
        *after = cb_recipe_stage(unit->recipe, entry->stage);
    }
    for (size_t i = unit->film_count; *after < 0 && i-- > 0;) {
        *after = unit->films[i].stage - 1;
    }
    return *after < 0 ? 0 : (size_t)*after + 1;
}

/* Begun, and no coat of it is to come on the figure in hand. */
static bool is_over(const struct cb_app *app, const struct cb_unit *unit, int stage)
{
    const int hand = cb_bench_facts(app->session.bench).last_figure;
    if (hand > 0 && hand <= unit->figures &&
        cb_bench_coats_on(unit, hand, stage) < cb_bench_coats(unit, hand, stage)) {
        return false;
    }
    for (int figure = 1; figure <= unit->figures; figure++) {
        if (cb_bench_coats_on(unit, figure, stage) > 0) {
            return true;
        }
    }
    return false;
}

/* The text of a recipe that reads, or NULL. */
static const char *text_of(struct cb_app *app, const struct cb_draft *draft)
{
    struct cb_issues issues = {0};
    const char *text = cb_recipe_write(&draft->recipe, app->session.kinds, NULL, &app->frame);
    const struct cb_tree *tree = app->session.read(text, strlen(text), &app->frame, &issues);
    return tree && cb_recipe_from_tree(tree, text, app->session.kinds, &app->frame, &issues) ? text
                                                                                             : NULL;
}

static void remember(struct cb_app *app, const char *unit, const char *stage)
{
    struct cb_entry *entry = &app->entry;
    entry->unit = cb_arena_text(&app->arena, unit);
    entry->stage = cb_arena_text(&app->arena, stage);
    entry->mark_ms = cb_bench_facts(app->session.bench).last_mark_ms;
}

/* "5 January", with a number behind it when a unit is called so. */
static const char *name_of_day(struct cb_app *app)
{
    const struct cb_civil day = cb_time_civil(app->session.now.wall_ms, &app->session.zone);
    const char *name = cb_arena_printf(&app->frame, "%d %s", day.day, cb_time_month(day.month));
    const char *day_name = name;
    size_t i = 0;
    for (int number = 2; i < cb_bench_unit_count(app->session.bench); i++) {
        if (strcmp(cb_bench_unit(app->session.bench, i)->name, name) == 0) {
            name = cb_arena_printf(&app->frame, "%s, %d", day_name, number++);
            i = SIZE_MAX; /* from the first again */
        }
    }
    return name;
}

static bool begin_unit(struct cb_app *app)
{
    struct cb_draft *draft = cb_arena_alloc(&app->frame, 1, sizeof *draft);
    const char *name = name_of_day(app);
    cb_draft_begin(draft, name, 1);
    const char *text =
        cb_quick_put(app->entry.read, draft, 0, &app->frame) ? text_of(app, draft) : NULL;
    if (!text) {
        return false;
    }
    const char *id = cb_start_new_id(app);
    struct cb_event_make make;
    cb_event_begin(&make, &app->frame, CB_EVENT_UNIT_BEGUN, id, &app->session.now);
    cb_event_add_text(&make, CB_FIELD_NAME, name);
    cb_event_add_int(&make, CB_FIELD_FIGURES, 1);
    cb_event_add_text(&make, CB_FIELD_RECIPE, text);
    cb_app_store_one(app, &make);
    remember(app, id, draft->stages[0].name);
    cb_nav_home(app);
    cb_app_flash(app, "begun: %s, one figure; %s types the next stage", name,
                 cb_app_key(app, CB_ACTION_QUICK));
    return true;
}

static bool add_stage(struct cb_app *app, const struct cb_unit *unit)
{
    struct cb_draft *draft = cb_arena_alloc(&app->frame, 1, sizeof *draft);
    int after;
    size_t at = place_of(app, unit, &after);
    cb_draft_of(draft, unit->recipe);
    if (!cb_quick_put(app->entry.read, draft, at, &app->frame)) {
        return false;
    }
    const char *text = text_of(app, draft);
    if (!text) { /* there it would wait for itself, by `after` of another; last it never does */
        cb_draft_move(draft, at, draft->recipe.stage_count - 1);
        at = draft->recipe.stage_count - 1;
        text = text_of(app, draft);
    }
    if (!text) {
        return false;
    }
    const char *stage = draft->stages[at].name;
    struct cb_event_make make;
    cb_event_begin(&make, &app->frame, CB_EVENT_RECIPE_CHANGED, unit->id, &app->session.now);
    cb_event_add_text(&make, CB_FIELD_RECIPE, text);
    cb_app_store_one(app, &make);
    remember(app, unit->id, stage);
    /* Behind one that is still to be painted it is a plan: the offer stays where it is. */
    const bool planned = after >= 0 && !is_over(app, unit, after + 1);
    app->entry.goes_to = planned ? NULL : app->entry.stage;
    cb_nav_home(app);
    cb_app_flash(app, "stage %zu is now %s; %s takes it back", at + 1,
                 cb_utf8_clean(&app->frame, stage, NAME_COLUMNS), cb_app_key(app, CB_ACTION_UNDO));
    return true;
}

void cb_entry_arrived(struct cb_app *app)
{
    const struct cb_unit *unit = cb_app_unit(app);
    struct cb_entry *entry = &app->entry;
    const int stage = entry->goes_to && unit ? cb_recipe_stage(unit->recipe, entry->goes_to) : -1;
    if (stage >= 0) {
        entry->goes_to = NULL;
        cb_nav_go(app, 0, stage + 1);
    }
}

static void enter(struct cb_app *app)
{
    struct cb_typed *line = &app->entry.line;
    const struct cb_unit *unit = cb_app_unit(app);
    if (line->text[strspn(line->text, " ")] == '\0') {
        cb_nav_back(app);
    } else if (!app->entry.read->complete) {
        snprintf(line->error, sizeof line->error, "not taken yet; %s", app->entry.read->sentence);
    } else if (!cb_app_may_write(app)) {
        return;
    } else if (app->entry.begins || !unit ? !begin_unit(app) : !add_stage(app, unit)) {
        snprintf(line->error, sizeof line->error,
                 "the recipe is full: %d stages, paints, areas or 64 KiB", CB_RECIPE_MAX);
    }
}

/* The word marked in place of what was typed of it. */
static void complete(struct cb_app *app)
{
    struct cb_entry *entry = &app->entry;
    if (entry->mark >= entry->read->offer_count) {
        return;
    }
    const struct cb_quick_offer *offer = &entry->read->offers[entry->mark];
    const char *rest = entry->line.text + offer->end;
    char *text = cb_arena_printf(&app->frame, "%.*s%s%s", (int)offer->at, entry->line.text,
                                 offer->word, rest[0] == '\0' ? " " : rest);
    if (strlen(text) >= sizeof entry->line.text) {
        snprintf(entry->line.error, sizeof entry->line.error, "the line is full");
        return;
    }
    entry->line.error[0] = '\0';
    snprintf(entry->line.text, sizeof entry->line.text, "%s", text);
    read_line(app);
}

bool cb_entry_key(struct cb_app *app, uint32_t key)
{
    struct cb_entry *entry = &app->entry;
    const size_t count = entry->read->offer_count;
    if (key == CB_KEY_ESC) {
        cb_nav_back(app);
    } else if (key == CB_KEY_ENTER) {
        enter(app);
    } else if (key == CB_KEY_TAB) {
        complete(app);
    } else if (key == CB_KEY_DOWN || key == CB_KEY_RIGHT) {
        entry->mark = count > 0 ? (entry->mark + 1) % count : 0;
    } else if (key == CB_KEY_UP || key == CB_KEY_LEFT) {
        entry->mark = count > 0 ? (entry->mark + count - 1) % count : 0;
    } else {
        cb_form_edit(&entry->line, key);
        read_line(app);
    }
    return true;
}

void cb_entry_fini(struct cb_app *app)
{
    cb_arena_fini(&app->entry.arena);
}
