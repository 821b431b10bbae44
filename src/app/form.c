/* SPDX-License-Identifier: MIT */
/* What is typed: what a new unit needs to know, and the lines for air, note and chore. */
#include "app/form.h"

#include <stdio.h>
#include <string.h>

#include "app/coats.h"
#include "app/key.h"
#include "app/scene.h"
#include "app/state.h"
#include "base/utf8.h"

#define FIRST_MIN_LOW  1.0 /* minutes the first question takes for an answer */
#define FIRST_MIN_HIGH 240.0
#define CHORE_MIN_MOST 1440.0 /* a day */

static bool asks_first(const struct cb_app *app)
{
    return !cb_bench_facts(app->session.bench).first_question_answered;
}

bool cb_form_asks(const struct cb_app *app, int field)
{
    return (app->form.asked >> field & 1U) != 0;
}

/* The field asked next after `from` in that direction, round. */
static int next_field(const struct cb_app *app, int from, int step)
{
    int field = from;
    do {
        field = (field + step + CB_FORM_FIELDS) % CB_FORM_FIELDS;
    } while (!cb_form_asks(app, field) && field != from);
    return field;
}

static const struct cb_recipe *read_chosen(struct cb_app *app)
{
    const struct cb_app_recipe *chosen = cb_start_chosen(app);
    struct cb_issues issues = {0};
    if (!chosen || !chosen->text) {
        return NULL;
    }
    const struct cb_tree *tree =
        app->session.read(chosen->text, strlen(chosen->text), &app->form.arena, &issues);
    return tree ? cb_recipe_from_tree(tree, chosen->text, app->session.kinds, &app->form.arena,
                                      &issues)
                : NULL;
}

void cb_form_open(struct cb_app *app, unsigned asked, bool about_begun)
{
    struct cb_form *form = &app->form;
    memset(form->fields, 0, sizeof form->fields);
    cb_arena_fini(&form->arena);
    form->recipe = about_begun ? NULL : read_chosen(app);
    form->about_begun = about_begun;
    form->asked = asked | (asks_first(app) ? 1U << CB_FORM_FIRST : 0);
    if (form->asked != 0) {
        form->field = next_field(app, CB_FORM_FIELDS - 1, 1);
        cb_nav_show(app, "form");
    }
}

/* Blank is the default shown. Each reader leaves its line in error and says whether it is fine. */
static bool read_figures(const struct cb_app *app, struct cb_typed *field, int *figures)
{
    long long value;
    *figures = cb_start_default_figures(app);
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

/* The stage of that number or name, or of its first letters alone; -1: none, or more than one. */
static int find_stage(const struct cb_form *form, const char *word)
{
    struct cb_arena arena = {0};
    const char *folded = cb_utf8_fold(&arena, word);
    long long number;
    int found = -1;
    bool whole = cb_str_integer(word, &number) && number >= 1 &&
                 number <= (long long)form->recipe->stage_count;
    if (whole) {
        found = (int)number - 1;
    }
    for (size_t i = 0; !whole && i < form->recipe->stage_count; i++) {
        const char *name = cb_utf8_fold(&arena, form->recipe->stages[i].name);
        if (strncmp(name, folded, strlen(folded)) == 0) {
            whole = strcmp(name, folded) == 0;
            found = whole || found == -1 ? (int)i : -2;
        }
    }
    cb_arena_fini(&arena);
    return found < 0 ? -1 : found;
}

/* "Undercoat", "1, Oilskins": a mask of stages. */
static bool read_done(const struct cb_form *form, struct cb_typed *field, uint64_t *stages)
{
    *stages = 0;
    for (const char *at = field->text; form->recipe && *at;) {
        char word[CB_APP_TEXT_MAX];
        const size_t blank = strspn(at, ", ");
        const size_t length = strcspn(at + blank, ",");
        snprintf(word, sizeof word, "%.*s", (int)length, at + blank);
        at += blank + length;
        const int stage = word[0] ? find_stage(form, word) : -1;
        if (stage >= 0) {
            *stages |= UINT64_C(1) << stage;
        } else if (word[0]) {
            snprintf(field->error, sizeof field->error, "no such stage: %.160s; RIGHT shows them",
                     word);
            return false;
        }
    }
    return true;
}

/* The stage after the one that stands there, or before it; round, by way of nothing. */
static void turn_done(struct cb_form *form, int step)
{
    struct cb_typed *field = &form->fields[CB_FORM_DONE];
    if (!form->recipe) {
        return;
    }
    const int count = (int)form->recipe->stage_count + 1;
    const int at = field->text[0] ? find_stage(form, field->text) + 1 : 0;
    const int next = (at + step + count) % count;
    field->error[0] = '\0';
    snprintf(field->text, sizeof field->text, "%s",
             next > 0 ? form->recipe->stages[next - 1].name : "");
}

/* The air that text says, all of the field or its beginning. */
static bool read_air(const struct cb_app *app, struct cb_typed *field, const char *text,
                     struct cb_climate *climate)
{
    struct cb_err err = {0};
    const bool bare_f = app->session.config->fahrenheit;
    const bool yes = field->asked[0] != '\0' && strcmp(field->asked, text) == 0;
    if (cb_climate_parse(text, bare_f != yes, climate, &err) == CB_OK) {
        return true;
    }
    const bool asks = cb_climate_asks(text, bare_f);
    snprintf(field->asked, sizeof field->asked, "%s", asks ? text : "");
    const int question = asks ? (int)strcspn(err.text, "?") + 1 : 0;
    snprintf(field->error, sizeof field->error, "%.*s%s%.200s", question, err.text,
             asks ? " ENTER: yes;" : "", err.text + question);
    return false;
}

static bool read_climate(const struct cb_app *app, struct cb_typed *field,
                         struct cb_climate *climate)
{
    *climate = cb_bench_climate_at(app->session.bench, 0, cb_app_bench_now(app)).climate;
    return field->text[0] == '\0' || read_air(app, field, field->text, climate);
}

const char *cb_form_place(const struct cb_app *app, const char *name)
{
    for (size_t u = 0; u < cb_bench_unit_count(app->session.bench); u++) {
        const struct cb_unit *unit = cb_bench_unit(app->session.bench, u);
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
static bool read_climate_at(const struct cb_app *app, struct cb_typed *field,
                            struct cb_climate *climate, const char **place)
{
    char air[CB_APP_TEXT_MAX];
    const char *at = strstr(field->text, " at ");
    *place = NULL;
    if (!at) {
        return read_climate(app, field, climate);
    }
    const char *name = at + 4 + strspn(at + 4, " ");
    if (!cb_form_place(app, name)) {
        snprintf(field->error, sizeof field->error, "no stage has such a place: %.200s", name);
        return false;
    }
    *climate = cb_bench_climate_at(app->session.bench, cb_scene_place(app->session.bench, name),
                                   cb_app_bench_now(app))
                   .climate;
    snprintf(air, sizeof air, "%.*s", (int)(at - field->text), field->text);
    if (!read_air(app, field, air, climate)) {
        return false;
    }
    *place = name;
    return true;
}

static bool read_first(struct cb_typed *field, char value[32])
{
    double minutes;
    const char *text = field->text;
    snprintf(value, 32, "%s", CB_QUESTION_UNKNOWN);
    if (text[0] == '\0' || strcmp(text, "?") == 0 || strcmp(text, "not sure") == 0) {
        return true;
    }
    if (!cb_recipe_minutes(text, &minutes) || minutes < FIRST_MIN_LOW || minutes > FIRST_MIN_HIGH) {
        snprintf(field->error, sizeof field->error, "minutes, such as 10; blank: not sure");
        return false;
    }
    snprintf(value, 32, "%g", minutes);
    return true;
}

static const struct cb_event *climate_event(struct cb_app *app, const struct cb_climate *climate,
                                            const char *place)
{
    struct cb_event_make make;
    cb_event_begin(&make, &app->frame, CB_EVENT_CLIMATE_SET, NULL, &app->session.now);
    cb_event_add_number(&make, CB_FIELD_TEMP_C, climate->temp_c);
    cb_event_add_number(&make, CB_FIELD_RH_PCT, climate->rh_pct);
    cb_event_add_text(&make, CB_FIELD_AIR, cb_air_name(climate->air));
    if (place) {
        cb_event_add_text(&make, CB_FIELD_PLACE, place);
    }
    cb_event_add_text(&make, CB_FIELD_FROM, "typed");
    return cb_event_take(&make);
}

/* What the form says, as one press, with the unit unless that is begun already. */
static void end_form(struct cb_app *app)
{
    const struct cb_app_recipe *recipe = app->form.about_begun ? NULL : cb_start_chosen(app);
    int figures;
    uint64_t stages;
    char first[32];
    for (int i = 0; i < CB_FORM_FIELDS; i++) {
        app->form.fields[i].error[0] = '\0';
    }
    bool fine[CB_FORM_FIELDS] = {
        read_figures(app, &app->form.fields[CB_FORM_FIGURES], &figures),
        read_done(&app->form, &app->form.fields[CB_FORM_DONE], &stages),
        read_first(&app->form.fields[CB_FORM_FIRST], first),
    };
    for (int i = 0; i < CB_FORM_FIELDS; i++) {
        if (!fine[i]) {
            app->form.field = i;
            return;
        }
    }
    if (!app->form.about_begun && (!recipe || !recipe->text)) {
        cb_nav_home(app);
        return;
    }
    CB_VEC(const struct cb_event *) events = {0};
    const char *id = cb_start_new_id(app);
    if (cb_form_asks(app, CB_FORM_FIRST)) {
        struct cb_event_make make;
        cb_event_begin(&make, &app->frame, CB_EVENT_ANSWERED, NULL, &app->session.now);
        cb_event_add_text(&make, CB_FIELD_QUESTION, CB_QUESTION_FIRST);
        cb_event_add_text(&make, CB_FIELD_VALUE, first);
        cb_vec_push(&events, cb_event_take(&make));
    }
    if (recipe) {
        struct cb_event_make make;
        cb_event_begin(&make, &app->frame, CB_EVENT_UNIT_BEGUN, id, &app->session.now);
        cb_event_add_text(&make, CB_FIELD_NAME, recipe->name ? recipe->name : "unit");
        cb_event_add_int(&make, CB_FIELD_FIGURES, figures);
        cb_event_add_text(&make, CB_FIELD_RECIPE, recipe->text);
        cb_vec_push(&events, cb_event_take(&make));
        cb_start_remember(app, id, recipe->path);
        for (int i = 0; stages && i < (int)app->form.recipe->stage_count; i++) {
            const int coats = stages >> i & 1 ? app->form.recipe->stages[i].coats : 0;
            for (int n = 0; n < coats * figures; n++) {
                if (cb_recipe_applies(app->form.recipe, (size_t)i, n / coats + 1)) {
                    cb_vec_push(&events,
                                cb_coats_before_event(&app->frame, id, n / coats + 1, i + 1,
                                                      n % coats + 1, &app->session.now));
                }
            }
        }
    }
    cb_app_store(app, events.items, events.count);
    cb_vec_free(&events);
    cb_nav_home(app);
}

static bool is_sensor(const char *text)
{
    struct cb_arena arena = {0};
    const bool same = strcmp(cb_utf8_fold(&arena, text), CB_SENSOR_WORD) == 0;
    cb_arena_fini(&arena);
    return same;
}

/* Each writes what the line says, or leaves why not in its error. */
static bool write_climate(struct cb_app *app, struct cb_typed *line)
{
    struct cb_climate climate;
    const char *place;
    if (is_sensor(line->text)) {
        if (!cb_sensor_give_back(app)) {
            snprintf(line->error, sizeof line->error, "no sensor is set: sensor: in config.yaml");
        }
        return !line->error[0];
    }
    if (!read_climate_at(app, line, &climate, &place)) {
        return false;
    }
    const struct cb_event *event = climate_event(app, &climate, place);
    cb_app_store(app, &event, 1);
    if (!place) {
        cb_sensor_typed(app);
    }
    return true;
}

static bool write_note(struct cb_app *app, struct cb_typed *line)
{
    struct cb_event_make make;
    cb_event_begin(&make, &app->frame, CB_EVENT_NOTE, NULL, &app->session.now);
    cb_event_add_text(&make, CB_FIELD_TEXT, line->text);
    cb_app_store_one(app, &make);
    return true;
}

/* "3 rinse": work that ended now. */
static bool write_chore(struct cb_app *app, struct cb_typed *line)
{
    const char *digits = line->text + strspn(line->text, " ");
    size_t length = strspn(digits, "0123456789.");
    const char *name = digits + length + strspn(digits + length, " \t");
    char number[16];
    double minutes;
    snprintf(number, sizeof number, "%.*s", (int)length, digits);
    if (length >= sizeof number || name == digits + length || *name == '\0' ||
        !cb_str_number(number, &minutes) || !(minutes > 0 && minutes <= CHORE_MIN_MOST)) {
        snprintf(line->error, sizeof line->error, "minutes and a name are wanted, such as 3 rinse");
        return false;
    }
    struct cb_event_make make;
    cb_event_begin(&make, &app->frame, CB_EVENT_CHORE_DONE, NULL, &app->session.now);
    cb_event_add_text(&make, CB_FIELD_NAME, name);
    cb_event_add_number(&make, CB_FIELD_MINUTES, minutes);
    cb_app_store_one(app, &make);
    return true;
}

void cb_form_edit(struct cb_typed *field, uint32_t key)
{
    size_t length = strlen(field->text);
    if (key == CB_KEY_CTRL_U) {
        field->text[0] = field->error[0] = '\0';
        return;
    }
    if (key == CB_KEY_PASTE) {
        snprintf(field->error, sizeof field->error, "only the first line was taken");
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
        } else {
            snprintf(field->error, sizeof field->error, "the line is full");
        }
    }
}

/* ENTER takes a line and goes on; on the last one, begins. */
static void enter_field(struct cb_app *app)
{
    int figures, next = next_field(app, app->form.field, 1);
    uint64_t stages;
    char first[32];
    struct cb_typed *field = &app->form.fields[app->form.field];
    field->error[0] = '\0';
    bool fine = app->form.field == CB_FORM_FIGURES ? read_figures(app, field, &figures)
                : app->form.field == CB_FORM_DONE  ? read_done(&app->form, field, &stages)
                                                   : read_first(field, first);
    if (!fine) {
        return;
    }
    if (next <= app->form.field) {
        end_form(app);
    } else {
        app->form.field = next;
    }
}

bool cb_form_key(struct cb_app *app, uint32_t key)
{
    struct cb_form *form = &app->form;
    if (key == CB_KEY_ESC) {
        cb_nav_back(app);
    } else if (key == CB_KEY_ENTER) {
        enter_field(app);
    } else if (key == CB_KEY_TAB || key == CB_KEY_DOWN || key == CB_KEY_UP) {
        form->field = next_field(app, form->field, key == CB_KEY_UP ? -1 : 1);
    } else if (form->field == CB_FORM_DONE && (key == CB_KEY_LEFT || key == CB_KEY_RIGHT)) {
        turn_done(form, key == CB_KEY_RIGHT ? 1 : -1);
    } else {
        cb_form_edit(&form->fields[form->field], key);
    }
    return true;
}

void cb_form_fini(struct cb_app *app)
{
    cb_arena_fini(&app->form.arena);
}

void cb_form_open_line(struct cb_app *app)
{
    app->form.line = (struct cb_typed){.text = ""};
}

bool cb_form_line_key(struct cb_app *app, uint32_t key,
                      bool (*write)(struct cb_app *app, struct cb_typed *line))
{
    struct cb_typed *line = &app->form.line;
    if (key != CB_KEY_ESC && key != CB_KEY_ENTER) {
        cb_form_edit(line, key);
        return true;
    }
    line->error[0] = '\0';
    if (key == CB_KEY_ESC || line->text[0] == '\0' || write(app, line)) {
        cb_nav_back(app);
    }
    return true;
}

bool cb_form_climate_key(struct cb_app *app, uint32_t key)
{
    return cb_form_line_key(app, key, write_climate);
}

bool cb_form_note_key(struct cb_app *app, uint32_t key)
{
    return cb_form_line_key(app, key, write_note);
}

bool cb_form_chore_key(struct cb_app *app, uint32_t key)
{
    return cb_form_line_key(app, key, write_chore);
}

const struct cb_form *cb_app_form(const struct cb_app *app)
{
    return &app->form;
}
