/* SPDX-License-Identifier: MIT */
#include "app/pot.h"

#include <string.h>

#include "app/state.h"
#include "base/utf8.h"

/* Columns of each paint in a line of two, and of a screen with less room; own judgement. */
#define NAME_COLUMNS   21
#define NARROW_NAME    12
#define NARROW_COLUMNS 70

const struct cb_pot_join *cb_app_join(const struct cb_app *app)
{
    return &app->join;
}

/* By the name that is shown where the bench has the pot, else by the pot itself: only finished
 * units had it. */
static const char *named(const struct cb_app *app, const struct cb_pot_line *line)
{
    for (size_t u = 0; u < cb_bench_unit_count(app->session.bench); u++) {
        const struct cb_unit *unit = cb_bench_unit(app->session.bench, u);
        for (size_t s = 1; s <= unit->recipe->stage_count; s++) {
            const char *own = cb_bench_stage_pot(unit, (int)s);
            if (own && strcmp(own, line->pot) == 0) {
                return line->paint;
            }
        }
    }
    return line->pot;
}

static void tell(struct cb_app *app, enum cb_event_kind kind, const struct cb_pot_line *line,
                 const char *said)
{
    if (!cb_app_may_write(app)) {
        return;
    }
    struct cb_event_make make;
    cb_event_begin(&make, &app->frame, kind, NULL, &app->session.now);
    cb_event_add_text(&make, CB_FIELD_PAINT, named(app, line));
    cb_app_store_one(app, &make);
    cb_app_flash(app, "%s: %s; %s takes it back", line->paint, said,
                 cb_app_key(app, CB_ACTION_UNDO));
}

void cb_pot_forget(struct cb_app *app, const struct cb_pot_line *line)
{
    tell(app, CB_EVENT_EVIDENCE_FORGOTTEN, line, "what was seen is forgotten");
}

void cb_pot_new_bottle(struct cb_app *app, const struct cb_pot_line *line)
{
    tell(app, CB_EVENT_BOTTLE_NEW, line, "a new bottle");
}

static bool other_kind(const struct cb_pot_join *join, const struct cb_pot_line *line)
{
    return strcmp(join->kind, line->kind) != 0;
}

bool cb_pot_join(struct cb_app *app, const struct cb_pot_line *line)
{
    struct cb_pot_join *join = &app->join;
    if (!cb_app_may_write(app)) {
        return false;
    }
    if (!join->pot) {
        *join = (struct cb_pot_join){cb_arena_text(&app->arena, line->pot),
                                     cb_arena_text(&app->arena, line->paint),
                                     cb_arena_text(&app->arena, line->kind)};
        return false;
    }
    if (strcmp(join->pot, line->pot) == 0 || other_kind(join, line)) {
        return false; /* the line says so */
    }
    struct cb_event_make make;
    cb_event_begin(&make, &app->frame, CB_EVENT_PAINT_JOINED, NULL, &app->session.now);
    cb_event_add_text(&make, CB_FIELD_FROM, join->paint);
    cb_event_add_text(&make, CB_FIELD_TO, line->paint);
    cb_app_store_one(app, &make);
    cb_app_flash(app, "%s is %s from here on; %s takes it back",
                 cb_utf8_clean(&app->frame, join->paint, NAME_COLUMNS),
                 cb_utf8_clean(&app->frame, line->paint, NAME_COLUMNS),
                 cb_app_key(app, CB_ACTION_UNDO));
    cb_pot_join_no_more(app);
    return true;
}

void cb_pot_join_no_more(struct cb_app *app)
{
    app->join = (struct cb_pot_join){NULL, NULL, NULL};
}

char *cb_pot_join_line(const struct cb_app *app, const struct cb_pot_line *line,
                       struct cb_arena *arena)
{
    const struct cb_pot_join *join = &app->join;
    if (!join->pot) {
        return NULL;
    }
    const bool narrow = app->look.columns < NARROW_COLUMNS;
    const int columns = narrow ? NARROW_NAME : NAME_COLUMNS;
    const char *from = cb_utf8_clean(arena, join->paint, columns);
    const char *to = cb_utf8_clean(arena, line->paint, columns);
    if (strcmp(join->pot, line->pot) == 0) {
        return cb_arena_printf(arena,
                               narrow ? "%s is one with? %s %s, ESC: none"
                                      : "%s is one with which other? %s %s goes there; ESC: none",
                               from, cb_app_key(app, CB_ACTION_STAGE_PREV),
                               cb_app_key(app, CB_ACTION_STAGE_NEXT));
    }
    if (other_kind(join, line)) {
        return narrow ? cb_arena_printf(arena, "not one: %s and %s", join->kind, line->kind)
                      : cb_arena_printf(arena, "not one: %s is of the kind %s, %s %s", from,
                                        join->kind, to, line->kind);
    }
    return cb_arena_printf(arena,
                           narrow ? "the name %s stays: %s joins, ESC: no"
                                  : "the name %s stays for both: %s or ENTER joins them; ESC: no",
                           to, cb_app_key(app, CB_ACTION_PAINT_JOIN));
}
