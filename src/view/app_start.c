/* SPDX-License-Identifier: MIT */
/* Starting: which unit, and what a new one needs to know; and the two lines that are typed. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "view/app_state.h"
#include "view/bench_lines.h"
#include "view/scene.h"
#include "view/key.h"
#include "view/words.h"

#define FIRST_MIN_LOW   1.0 /* minutes the first question takes for an answer */
#define FIRST_MIN_HIGH  240.0
#define DEFAULT_FIGURES 10

bool cb_app_is_typing(const struct cb_app *app)
{
    return app->mode == CB_APP_FORM || app->mode == CB_APP_LINE;
}

/* Help stays within reach from the chooser. */
bool cb_app_is_choosing(const struct cb_app *app)
{
    return app->mode == CB_APP_CHOOSE ||
           (app->mode == CB_APP_VIEW && !cb_app_unit(app) && app->view != &cb_view_help &&
            app->view != &cb_view_pots && app->view != &cb_view_rack &&
            app->view != &cb_view_review);
}

size_t cb_app_open_units(const struct cb_app *app)
{
    size_t count = 0;
    for (size_t i = 0; i < cb_bench_unit_count(app->bench); i++) {
        count += !cb_bench_unit(app->bench, i)->finished;
    }
    return count;
}

size_t cb_app_open_unit(const struct cb_app *app, size_t row)
{
    for (size_t i = 0; i < cb_bench_unit_count(app->bench); i++) {
        if (!cb_bench_unit(app->bench, i)->finished && row-- == 0) {
            return i;
        }
    }
    return 0;
}

void cb_app_open_chooser(struct cb_app *app)
{
    app->mode = CB_APP_CHOOSE;
    app->choice = 0;
    app->view = &cb_view_bench;
    cb_app_effect(app, CB_EFFECT_LIST_RECIPES);
}

void cb_app_open_line(struct cb_app *app, enum cb_action line_for)
{
    app->mode = CB_APP_LINE;
    app->line_for = line_for;
    app->line = (struct cb_app_field){.text = ""};
}

static const char *source_of(const struct cb_app *app, const char *unit)
{
    for (size_t i = app->sources.count; i-- > 0;) {
        if (strcmp(app->sources.items[i].unit, unit) == 0) {
            return app->sources.items[i].path;
        }
    }
    return NULL;
}

static void remember_source(struct cb_app *app, const char *unit, const char *path)
{
    cb_vec_push(&app->sources, ((struct cb_app_source){cb_arena_text(&app->arena, unit),
                                                       cb_arena_text(&app->arena, path)}));
}

void cb_app_reload(struct cb_app *app)
{
    const struct cb_unit *unit = cb_app_unit(app);
    if (!unit) {
        return;
    }
    app->reloading = true;
    struct cb_effect *effect = cb_app_effect(app, CB_EFFECT_RELOAD);
    effect->path = source_of(app, unit->id); /* NULL: all that are found; the name tells which */
}

/* The file has been read again: its text replaces the unit's when it differs. Where the unit came
 * from a file that is known, no other is meant by it. */
static void take_reload(struct cb_app *app)
{
    const struct cb_unit *unit = cb_app_unit(app);
    if (!unit) {
        return;
    }
    const char *path = source_of(app, unit->id);
    const struct cb_app_recipe *recipe = NULL;
    for (size_t i = 0; i < app->recipe_count && !recipe; i++) {
        const struct cb_app_recipe *row = &app->recipes[i];
        if (path ? strcmp(row->path, path) == 0
                 : row->name && strcmp(row->name, unit->recipe->name) == 0) {
            recipe = row;
        }
    }
    if (!recipe) {
        cb_app_flash(app, "no recipe file of that name is found: %.160s", unit->recipe->name);
    } else if (!recipe->text) {
        cb_app_flash(app, "%.200s; the bench keeps the old recipe",
                     recipe->fault ? recipe->fault : "the recipe is broken");
    } else if (unit->recipe->text && strcmp(recipe->text, unit->recipe->text) == 0) {
        cb_app_flash(app, "the recipe is as it was: %.200s", recipe->path);
    } else {
        struct cb_event_make make;
        cb_event_begin(&make, &app->frame, CB_EVENT_RECIPE_CHANGED, unit->id, &app->now);
        cb_event_add_text(&make, CB_FIELD_RECIPE, recipe->text);
        const struct cb_event *event = cb_event_take(&make);
        cb_app_store(app, &event, 1);
    }
}

void cb_app_take_recipes(struct cb_app *app, const struct cb_app_recipe *recipes, size_t count)
{
    app->recipes = recipes;
    app->recipe_count = count;
    app->recipes_known = true;
    if (app->reloading) {
        app->reloading = false;
        take_reload(app);
    }
    int rows = (int)(cb_app_open_units(app) + count);
    if (app->choice >= rows) {
        app->choice = rows > 0 ? rows - 1 : 0;
    }
}

static bool asks_first(const struct cb_app *app)
{
    return !cb_bench_facts(app->bench).first_question_answered;
}

static bool is_asked(const struct cb_app *app, int field)
{
    return (app->asked >> field & 1U) != 0;
}

/* The field asked next after `from` in that direction, round. */
static int next_field(const struct cb_app *app, int from, int step)
{
    int field = from;
    do {
        field = (field + step + CB_APP_FIELD_COUNT) % CB_APP_FIELD_COUNT;
    } while (!is_asked(app, field) && field != from);
    return field;
}

static void open_form(struct cb_app *app, unsigned asked)
{
    memset(app->fields, 0, sizeof app->fields);
    app->asked = asked | (asks_first(app) ? 1U << CB_APP_FIELD_FIRST : 0);
    if (app->asked == 0) {
        return;
    }
    app->field = next_field(app, CB_APP_FIELD_COUNT - 1, 1);
    app->mode = CB_APP_FORM;
}

/* Has somebody told the air of the bench lately, by --temp and --rh or at another bench? */
static bool knows_climate(const struct cb_app *app)
{
    const int64_t now_ms = cb_app_bench_now(app);
    const struct cb_reading reading = cb_bench_climate_at(app->bench, 0, now_ms);
    return (reading.from == CB_FROM_TYPED || reading.from == CB_FROM_SENSOR) &&
           now_ms - reading.at_ms <= CB_APP_STALE_MS;
}

void cb_app_ask_begun(struct cb_app *app)
{
    const struct cb_unit *unit = cb_app_unit(app);
    if (app->begun_path) {
        remember_source(app, app->begun, app->begun_path);
    }
    if (app->writer && unit && strcmp(unit->id, app->begun) == 0) {
        app->about_begun = true;
        open_form(app, knows_climate(app) ? 0 : 1U << CB_APP_FIELD_CLIMATE);
    }
}

void cb_app_choose_key(struct cb_app *app, uint32_t key)
{
    int units = (int)cb_app_open_units(app);
    int rows = units + (int)app->recipe_count;
    if (key == CB_KEY_ESC) {
        app->mode = CB_APP_VIEW;
        return;
    }
    if (key == CB_KEY_UP || key == CB_KEY_DOWN) {
        if (rows > 0) {
            app->choice = (app->choice + (key == CB_KEY_DOWN ? 1 : rows - 1)) % rows;
        }
        return;
    }
    if (rows == 0 || !cb_app_may_write(app)) {
        return;
    }
    if (app->choice < units) {
        size_t row = cb_app_open_unit(app, (size_t)app->choice);
        struct cb_event_make make;
        cb_event_begin(&make, &app->frame, CB_EVENT_UNIT_OPENED, cb_bench_unit(app->bench, row)->id,
                       &app->now);
        const struct cb_event *event = cb_event_take(&make);
        cb_app_store(app, &event, 1);
        app->mode = CB_APP_VIEW;
        return;
    }
    const struct cb_app_recipe *recipe = &app->recipes[app->choice - units];
    if (!recipe->text) {
        cb_app_flash(app, "%.250s", recipe->fault ? recipe->fault : "this recipe is broken");
        return;
    }
    app->about_begun = false;
    open_form(app, 1U << CB_APP_FIELD_FIGURES | 1U << CB_APP_FIELD_CLIMATE);
}

static const struct cb_app_recipe *chosen(const struct cb_app *app)
{
    int row = app->choice - (int)cb_app_open_units(app);
    return row >= 0 && row < (int)app->recipe_count ? &app->recipes[row] : NULL;
}

static int default_figures(const struct cb_app *app)
{
    const struct cb_app_recipe *recipe = chosen(app);
    return recipe && recipe->figures > 0 ? recipe->figures : DEFAULT_FIGURES;
}

/* Blank is the default shown. Each reader leaves its line in error and says whether it is fine. */
static bool read_figures(const struct cb_app *app, struct cb_app_field *field, int *figures)
{
    long long value;
    *figures = default_figures(app);
    if (field->text[0] == '\0') {
        return true;
    }
    if (!cb_str_integer(field->text, &value) || value < 1 || value > CB_FIGURES_MAX) {
        snprintf(field->error, sizeof field->error, "a whole number from 1 to %d", CB_FIGURES_MAX);
        return false;
    }
    *figures = (int)value;
    return true;
}

static bool read_climate(const struct cb_app *app, struct cb_app_field *field,
                         struct cb_climate *climate)
{
    struct cb_err err = {0};
    *climate = cb_bench_climate_at(app->bench, 0, cb_app_bench_now(app)).climate;
    if (field->text[0] == '\0') {
        return true;
    }
    if (cb_climate_parse(field->text, app->config->fahrenheit, climate, &err) != CB_OK) {
        snprintf(field->error, sizeof field->error, "%.250s", err.text);
        return false;
    }
    return true;
}

/* The place of that name that a stage of an open unit has, any for NULL; NULL: none, and the name
 * a slip. */
static const char *find_place(const struct cb_app *app, const char *name)
{
    for (size_t u = 0; u < cb_bench_unit_count(app->bench); u++) {
        const struct cb_unit *unit = cb_bench_unit(app->bench, u);
        for (size_t i = 0; !unit->finished && i < unit->recipe->stage_count; i++) {
            const char *place = unit->recipe->stages[i].place;
            if (place && (!name || strcmp(place, name) == 0)) {
                return place;
            }
        }
    }
    return NULL;
}

/* "9 70 at garage" is the air of that place; without a place it is the bench's. */
static bool read_climate_at(const struct cb_app *app, struct cb_app_field *field,
                            struct cb_climate *climate, const char **place)
{
    struct cb_err err = {0};
    char air[CB_APP_TEXT_MAX];
    const char *at = strstr(field->text, " at ");
    *place = NULL;
    if (!at) {
        return read_climate(app, field, climate);
    }
    const char *name = at + 4 + strspn(at + 4, " ");
    if (!find_place(app, name)) {
        snprintf(field->error, sizeof field->error, "no stage has such a place: %.200s", name);
        return false;
    }
    *climate =
        cb_bench_climate_at(app->bench, cb_scene_place(app->bench, name), cb_app_bench_now(app))
            .climate;
    snprintf(air, sizeof air, "%.*s", (int)(at - field->text), field->text);
    if (cb_climate_parse(air, app->config->fahrenheit, climate, &err) != CB_OK) {
        snprintf(field->error, sizeof field->error, "%.250s", err.text);
        return false;
    }
    *place = name;
    return true;
}

static bool read_first(struct cb_app_field *field, char value[32])
{
    double minutes;
    const char *text = field->text;
    snprintf(value, 32, "%s", CB_QUESTION_UNKNOWN);
    if (text[0] == '\0' || strcmp(text, "?") == 0 || strcmp(text, "don't know") == 0) {
        return true;
    }
    if (!cb_recipe_minutes(text, &minutes) || minutes < FIRST_MIN_LOW || minutes > FIRST_MIN_HIGH) {
        snprintf(field->error, sizeof field->error, "minutes, such as 10; blank: don't know");
        return false;
    }
    snprintf(value, 32, "%g", minutes);
    return true;
}

static const struct cb_event *climate_event(struct cb_app *app, const struct cb_climate *climate,
                                            const char *place)
{
    struct cb_event_make make;
    cb_event_begin(&make, &app->frame, CB_EVENT_CLIMATE_SET, NULL, &app->now);
    cb_event_add_number(&make, CB_FIELD_TEMP_C, climate->temp_c);
    cb_event_add_number(&make, CB_FIELD_RH_PCT, climate->rh_pct);
    cb_event_add_text(&make, CB_FIELD_AIR, cb_air_name(climate->air));
    if (place) {
        cb_event_add_text(&make, CB_FIELD_PLACE, place);
    }
    cb_event_add_text(&make, CB_FIELD_FROM, "typed");
    return cb_event_take(&make);
}

/* What the form says, as one press: of the room, and of the unit unless that is begun already. */
static void end_form(struct cb_app *app)
{
    const struct cb_app_recipe *recipe = app->about_begun ? NULL : chosen(app);
    int figures;
    struct cb_climate climate;
    char first[32];
    for (int i = 0; i < CB_APP_FIELD_COUNT; i++) {
        app->fields[i].error[0] = '\0';
    }
    bool fine[CB_APP_FIELD_COUNT] = {
        read_figures(app, &app->fields[CB_APP_FIELD_FIGURES], &figures),
        read_climate(app, &app->fields[CB_APP_FIELD_CLIMATE], &climate),
        read_first(&app->fields[CB_APP_FIELD_FIRST], first),
    };
    for (int i = 0; i < CB_APP_FIELD_COUNT; i++) {
        if (!fine[i]) {
            app->field = i;
            return;
        }
    }
    if (!app->about_begun && (!recipe || !recipe->text)) {
        app->mode = CB_APP_VIEW;
        return;
    }
    const struct cb_event *events[3];
    size_t count = 0;
    char id[48];
    size_t before;
    cb_bench_events(app->bench, &before);
    snprintf(id, sizeof id, "u%" PRIx64 "-%" PRIx64 "-%zu", (uint64_t)app->now.wall_ms, app->seed,
             before);
    if (app->fields[CB_APP_FIELD_CLIMATE].text[0]) {
        events[count++] = climate_event(app, &climate, NULL);
    }
    if (is_asked(app, CB_APP_FIELD_FIRST)) {
        struct cb_event_make make;
        cb_event_begin(&make, &app->frame, CB_EVENT_ANSWERED, NULL, &app->now);
        cb_event_add_text(&make, CB_FIELD_QUESTION, CB_QUESTION_FIRST);
        cb_event_add_text(&make, CB_FIELD_VALUE, first);
        events[count++] = cb_event_take(&make);
    }
    if (recipe) {
        struct cb_event_make make;
        cb_event_begin(&make, &app->frame, CB_EVENT_UNIT_BEGUN, id, &app->now);
        cb_event_add_text(&make, CB_FIELD_NAME, recipe->name ? recipe->name : "unit");
        cb_event_add_int(&make, CB_FIELD_FIGURES, figures);
        cb_event_add_text(&make, CB_FIELD_RECIPE, recipe->text);
        events[count++] = cb_event_take(&make);
        remember_source(app, id, recipe->path);
    }
    cb_app_store(app, events, count);
    app->mode = CB_APP_VIEW;
}

/* "3 rinse": work that ended now. NULL, and the field's error is set: it is not that. */
static const struct cb_event *chore_event(struct cb_app *app, struct cb_app_field *field)
{
    const char *digits = field->text + strspn(field->text, " ");
    size_t length = strspn(digits, "0123456789.");
    const char *name = digits + length + strspn(digits + length, " \t");
    char number[16];
    double minutes;
    snprintf(number, sizeof number, "%.*s", (int)length, digits);
    if (length >= sizeof number || name == digits + length || *name == '\0' ||
        !cb_str_number(number, &minutes) || !(minutes > 0 && minutes <= 1440)) {
        snprintf(field->error, sizeof field->error,
                 "minutes and a name are wanted, such as 3 rinse");
        return NULL;
    }
    struct cb_event_make make;
    cb_event_begin(&make, &app->frame, CB_EVENT_CHORE_DONE, NULL, &app->now);
    cb_event_add_text(&make, CB_FIELD_NAME, name);
    cb_event_add_number(&make, CB_FIELD_MINUTES, minutes);
    return cb_event_take(&make);
}

static void end_line(struct cb_app *app)
{
    if (app->line.text[0] == '\0') {
        app->mode = CB_APP_VIEW;
        return;
    }
    const struct cb_event *event;
    if (app->line_for == CB_ACTION_CLIMATE) {
        struct cb_climate climate;
        const char *place;
        app->line.error[0] = '\0';
        if (!read_climate_at(app, &app->line, &climate, &place)) {
            return;
        }
        event = climate_event(app, &climate, place);
    } else if (app->line_for == CB_ACTION_CHORE) {
        event = chore_event(app, &app->line);
        if (!event) {
            return;
        }
    } else {
        struct cb_event_make make;
        cb_event_begin(&make, &app->frame, CB_EVENT_NOTE, NULL, &app->now);
        cb_event_add_text(&make, CB_FIELD_TEXT, app->line.text);
        event = cb_event_take(&make);
    }
    cb_app_store(app, &event, 1);
    app->mode = CB_APP_VIEW;
}

static void edit(struct cb_app_field *field, uint32_t key)
{
    size_t length = strlen(field->text);
    if (key == CB_KEY_CTRL_U) {
        field->text[0] = field->error[0] = '\0';
        return;
    }
    field->error[0] = '\0';
    if (key == CB_KEY_BACKSPACE) {
        while (length > 0 && ((unsigned char)field->text[length - 1] & 0xC0) == 0x80) {
            length--;
        }
        field->text[length > 0 ? length - 1 : 0] = '\0';
        return;
    }
    char bytes[5];
    if (key == ' ' && length == 0) {
        return; /* whoever meant the bench has not answered yet */
    }
    if (key < 0x110000 && key >= ' ' && cb_utf8_is_safe(key)) {
        size_t n = cb_utf8_write(key, bytes);
        if (length + n < sizeof field->text) {
            memcpy(field->text + length, bytes, n + 1);
        }
    }
}

/* ENTER takes a line and goes on; on the last one, begins. */
static void enter_field(struct cb_app *app)
{
    int figures, next = next_field(app, app->field, 1);
    struct cb_climate climate;
    char first[32];
    struct cb_app_field *field = &app->fields[app->field];
    field->error[0] = '\0';
    bool fine = app->field == CB_APP_FIELD_FIGURES   ? read_figures(app, field, &figures)
                : app->field == CB_APP_FIELD_CLIMATE ? read_climate(app, field, &climate)
                                                     : read_first(field, first);
    if (!fine) {
        return;
    }
    if (next <= app->field) {
        end_form(app);
    } else {
        app->field = next;
    }
}

void cb_app_type(struct cb_app *app, uint32_t key)
{
    bool line = app->mode == CB_APP_LINE;
    if (key == CB_KEY_ESC) {
        bool back = !line && !app->about_begun && cb_app_unit(app) != NULL;
        app->mode = back ? CB_APP_CHOOSE : CB_APP_VIEW;
    } else if (key == CB_KEY_ENTER) {
        if (line) {
            end_line(app);
        } else {
            enter_field(app);
        }
    } else if (!line && (key == CB_KEY_TAB || key == CB_KEY_DOWN || key == CB_KEY_UP)) {
        app->field = next_field(app, app->field, key == CB_KEY_UP ? -1 : 1);
    } else {
        edit(line ? &app->line : &app->fields[app->field], key);
    }
}

/* The typed end of a long text is what must be seen. */
static void draw_field(struct cb_grid *grid, int row, int column, const char *text, bool active)
{
    int width = grid->columns - column - 1;
    if (width < 4) {
        return;
    }
    while (*text && cb_utf8_text_width(text) > width - 1) {
        cb_utf8_next(&text);
    }
    int used = cb_grid_put(grid, row, column, width, active ? CB_ROLE_INPUT : CB_ROLE_STRONG, text);
    if (active) {
        cb_grid_fill(grid, row, column + used, 1, used < 12 ? 12 - used : 1, CB_ROLE_INPUT, ' ');
        grid->cursor_row = row;
        grid->cursor_column = column + used < grid->columns ? column + used : grid->columns - 1;
    }
}

static void draw_line(const struct cb_app *app, struct cb_grid *grid)
{
    bool climate = app->line_for == CB_ACTION_CLIMATE;
    bool chore = app->line_for == CB_ACTION_CHORE;
    const char *place = climate ? find_place(app, NULL) : NULL;
    int row = grid->rows - 2;
    cb_grid_fill(grid, row, 0, 2, grid->columns, CB_ROLE_PLAIN, ' ');
    int used = cb_grid_put(grid, row, 1, 0, CB_ROLE_STRONG,
                           climate ? "Climate "
                           : chore ? "Chore "
                                   : "Note ");
    draw_field(grid, row, 1 + used, app->line.text, true);
    if (app->line.error[0]) {
        cb_words_put(grid, row + 1, 1, 0, CB_ROLE_WARN, app->line.error);
    } else if (place) {
        char hint[96];
        snprintf(hint, sizeof hint, "such as %s; or %s at %.24s",
                 app->config->fahrenheit ? "67 62" : "19.5 62",
                 app->config->fahrenheit ? "48 70" : "9 70", place);
        cb_words_put(grid, row + 1, 1, 0, CB_ROLE_DIM, hint);
    } else {
        cb_words_put(grid, row + 1, 1, 0, CB_ROLE_DIM,
                     climate ? (app->config->fahrenheit ? "such as 67 62, or 20C 55% fan; ENTER"
                                                        : "such as 19.5 62, or 67F 55% fan; ENTER")
                     : chore ? "minutes and what for, such as 3 rinse; ENTER"
                             : "ENTER writes it into the log; ESC leaves");
    }
}

static void draw_form(const struct cb_app *app, struct cb_grid *grid)
{
    const struct cb_app_recipe *recipe = chosen(app);
    struct cb_reading reading = cb_bench_climate_at(app->bench, 0, cb_app_bench_now(app));
    char climate[48], hints[CB_APP_FIELD_COUNT][80];
    cb_words_climate(&reading.climate, app->config->fahrenheit, climate);
    snprintf(hints[0], sizeof hints[0], "ENTER: %d", default_figures(app));
    snprintf(hints[1], sizeof hints[1], "such as 19.5 62; ENTER: %s%s", climate,
             reading.from == CB_FROM_DEFAULT ? " assumed" : "");
    snprintf(hints[2], sizeof hints[2], "5, 10, 15, 20, 30; ENTER: don't know");
    static const char *const labels[] = {
        "How many figures?",
        "Temperature and humidity here?",
        "A thin basecoat here is dry after (min)?",
    };
    const struct cb_unit *unit = cb_app_unit(app);
    const char *name = app->about_begun         ? (unit ? unit->name : "")
                       : recipe && recipe->name ? recipe->name
                                                : "";
    int used = cb_grid_put(grid, 0, 1, 0, CB_ROLE_TITLE, app->about_begun ? "Begun:" : "Begin");
    cb_words_put(grid, 0, 2 + used, 0, CB_ROLE_PAINT, name);
    int step = grid->rows >= 13 ? 4 : 2, row = grid->rows >= 13 ? 2 : 1;
    for (int i = 0; i < CB_APP_FIELD_COUNT; i++) {
        if (!is_asked(app, i)) {
            continue;
        }
        bool active = app->field == i;
        if (active) {
            cb_grid_put(grid, row + 1, 1, 0, CB_ROLE_KEY, "\u25B8");
        }
        cb_grid_put(grid, row, 1, 0, active ? CB_ROLE_STRONG : CB_ROLE_DIM, labels[i]);
        draw_field(grid, row + 1, 3, app->fields[i].text, active);
        const char *text = app->fields[i].error;
        int at = step > 2 ? row + 2 : row + 1;
        cb_words_put(grid, at, step > 2 ? 3 : 18, 0, text[0] ? CB_ROLE_WARN : CB_ROLE_DIM,
                     text[0] ? text : hints[i]);
        row += step;
    }
    cb_grid_put(grid, grid->rows - 1, 1, 0, CB_ROLE_DIM,
                app->about_begun ? "ENTER goes on   Ctrl-U clears   ESC asks no more"
                                 : "ENTER goes on   Ctrl-U clears   ESC back");
}

static void draw_unit_row(const struct cb_app *app, struct cb_grid *grid, int row, int index)
{
    const struct cb_unit *unit = cb_bench_unit(app->bench, cb_app_open_unit(app, (size_t)index));
    int used = cb_words_put(grid, row, 3, grid->columns - 20, CB_ROLE_PAINT, unit->name);
    cb_grid_putf(grid, row, 3 + used + 2, 0, CB_ROLE_PLAIN, "go on, %d figure%s", unit->figures,
                 unit->figures == 1 ? "" : "s");
}

static void draw_recipe_row(const struct cb_app *app, struct cb_grid *grid, int row, int index)
{
    const struct cb_app_recipe *recipe = &app->recipes[index];
    const char *name = recipe->name ? recipe->name : recipe->path;
    int used = cb_words_put(grid, row, 3, grid->columns - 14,
                            recipe->text ? CB_ROLE_STRONG : CB_ROLE_DIM, name);
    if (!recipe->text) {
        cb_words_put(grid, row, 3 + used + 2, 0, CB_ROLE_WARN, "does not read");
    } else if (recipe->figures > 0) {
        cb_grid_putf(grid, row, 3 + used + 2, 0, CB_ROLE_DIM, "%d figure%s", recipe->figures,
                     recipe->figures == 1 ? "" : "s");
    }
}

static void draw_chooser(const struct cb_app *app, struct cb_grid *grid)
{
    int units = (int)cb_app_open_units(app), rows = units + (int)app->recipe_count;
    cb_grid_put(grid, 0, 1, 0, CB_ROLE_STRONG, "coatbell");
    cb_words_put(grid, 0, 11, 0, CB_ROLE_TITLE,
                 app->scratch ? "scratch log" : "what is on the bench tonight?");
    int room = grid->rows - 5;
    room = room < 1 ? 1 : room;
    int first = app->choice >= room ? app->choice - room + 1 : 0;
    for (int i = first; i < rows && i - first < room; i++) {
        int row = 2 + i - first;
        if (i < units) {
            draw_unit_row(app, grid, row, i);
        } else {
            draw_recipe_row(app, grid, row, i - units);
        }
        if (i == app->choice) {
            cb_grid_put(grid, row, 1, 0, CB_ROLE_KEY, "\u25B8");
        }
    }
    if (rows == 0) {
        cb_words_wrap(grid, 2, 1, grid->columns - 2, 4, CB_ROLE_PLAIN,
                      app->recipes_known
                          ? "No recipe is found. `coatbell new FILE` writes one to start from."
                          : "Looking for recipes.");
    }
    struct cb_arena arena = {0};
    int row = grid->rows - 2;
    if (app->flash[0]) {
        cb_words_put(grid, row, 1, 0, CB_ROLE_WARN, app->flash);
    } else if (!app->writer) {
        cb_words_put(grid, row, 1, 0, CB_ROLE_WARN,
                     app->offer ? "the other bench is gone: ENTER takes over"
                                : "looking on: another bench writes this log");
    } else {
        enum cb_role role;
        const char *message = cb_lines_message(app, NULL, &arena, &role);
        char *what = NULL;
        if (!*message && cb_bench_redoable(app->bench, &arena, &what)) {
            message = cb_arena_printf(&arena, "r brings again: %s", what);
        }
        cb_words_put(grid, row, 1, grid->columns - 2, role, message);
    }
    cb_arena_fini(&arena);
    cb_grid_put(grid, grid->rows - 1, 1, 0, CB_ROLE_DIM,
                "UP DOWN choose   ENTER begin   ? keys   q quit");
}

void cb_app_draw_start(const struct cb_app *app, struct cb_grid *grid)
{
    if (app->mode == CB_APP_LINE) {
        draw_line(app, grid);
    } else if (app->mode == CB_APP_FORM) {
        draw_form(app, grid);
    } else {
        draw_chooser(app, grid);
    }
}
