/* SPDX-License-Identifier: MIT */
#include "core/log/event.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/str.h"
#include "base/time.h"
#include "base/utf8.h"
#include "core/recipe/recipe.h"

#define FIRST_MS INT64_C(-62135596800000) /* 0001-01-01, RFC 3339 has no earlier year */
#define LAST_MS  INT64_C(253402300799999) /* 9999-12-31T23:59:59.999Z */

const struct cb_attr *cb_event_get(const struct cb_event *event, enum cb_field field)
{
    for (size_t i = 0; i < event->attr_count; i++) {
        if (event->attrs[i].field == field) {
            return &event->attrs[i];
        }
    }
    return NULL;
}

int64_t cb_event_int(const struct cb_event *event, enum cb_field field, int64_t otherwise)
{
    const struct cb_attr *attr = cb_event_get(event, field);
    return attr && (attr->type == CB_TYPE_INT || attr->type == CB_TYPE_TIME) ? attr->i : otherwise;
}

double cb_event_number(const struct cb_event *event, enum cb_field field, double otherwise)
{
    const struct cb_attr *attr = cb_event_get(event, field);
    if (!attr) {
        return otherwise;
    }
    double value = otherwise;
    switch (attr->type) {
    case CB_TYPE_NUMBER:
        return attr->d;
    case CB_TYPE_INT:
    case CB_TYPE_TIME:
        return (double)attr->i;
    case CB_TYPE_TEXT: /* an answer's value is kept as text */
        return cb_str_number(attr->s, &value) ? value : otherwise;
    case CB_TYPE_BOOL:
    case CB_TYPE_FILMS:
    case CB_TYPE_FIGURES:
    case CB_TYPE_RAW:
        break;
    }
    return otherwise;
}

const char *cb_event_text(const struct cb_event *event, enum cb_field field, const char *otherwise)
{
    const struct cb_attr *attr = cb_event_get(event, field);
    return attr && attr->type == CB_TYPE_TEXT ? attr->s : otherwise;
}

bool cb_event_is(const struct cb_event *event, enum cb_field field)
{
    const struct cb_attr *attr = cb_event_get(event, field);
    return attr && attr->type == CB_TYPE_BOOL && attr->i != 0;
}

bool cb_event_is_stroke(const struct cb_event *event)
{
    return event->kind == CB_EVENT_COAT_ON && cb_event_int(event, CB_FIELD_FIGURE, -1) == 0;
}

void cb_event_begin(struct cb_event_make *make, struct cb_arena *arena, enum cb_event_kind kind,
                    const char *unit, const struct cb_moment *at)
{
    *make = (struct cb_event_make){.arena = arena};
    make->event.kind = kind;
    make->event.name = cb_event_name(kind);
    make->event.unit = cb_arena_text(arena, unit);
    make->event.at_ms = at->wall_ms;
    make->event.boot = cb_arena_text(arena, at->boot);
    make->event.boot_ms = at->boot ? at->boot_ms : 0;
}

static void add(struct cb_event_make *make, const struct cb_attr *attr)
{
    if (make->event.attr_count < sizeof make->attrs / sizeof *make->attrs) {
        make->attrs[make->event.attr_count++] = *attr;
    }
}

void cb_event_add_int(struct cb_event_make *make, enum cb_field field, int64_t value)
{
    add(make, &(struct cb_attr){.field = field, .type = CB_TYPE_INT, .i = value});
}

void cb_event_add_number(struct cb_event_make *make, enum cb_field field, double value)
{
    add(make, &(struct cb_attr){.field = field, .type = CB_TYPE_NUMBER, .d = value});
}

void cb_event_add_text(struct cb_event_make *make, enum cb_field field, const char *value)
{
    add(make, &(struct cb_attr){.field = field,
                                .type = CB_TYPE_TEXT,
                                .s = cb_arena_text(make->arena, value ? value : "")});
}

void cb_event_add_time(struct cb_event_make *make, enum cb_field field, int64_t ms)
{
    add(make, &(struct cb_attr){.field = field, .type = CB_TYPE_TIME, .i = ms});
}

void cb_event_add_bool(struct cb_event_make *make, enum cb_field field, bool value)
{
    add(make, &(struct cb_attr){.field = field, .type = CB_TYPE_BOOL, .i = value});
}

static const void *copy_items(struct cb_arena *arena, const void *items, size_t n, size_t size)
{
    void *copy = cb_arena_alloc(arena, n ? n : 1, size);
    if (n > 0) {
        memcpy(copy, items, n * size);
    }
    return copy;
}

void cb_event_add_figures(struct cb_event_make *make, const int *figures, size_t n)
{
    add(make, &(struct cb_attr){.field = CB_FIELD_FIGURES,
                                .type = CB_TYPE_FIGURES,
                                .figures = copy_items(make->arena, figures, n, sizeof *figures),
                                .n = n});
}

void cb_event_add_films(struct cb_event_make *make, const struct cb_film_key *films, size_t n)
{
    add(make, &(struct cb_attr){.field = CB_FIELD_FILMS,
                                .type = CB_TYPE_FILMS,
                                .films = copy_items(make->arena, films, n, sizeof *films),
                                .n = n});
}

const struct cb_event *cb_event_take(struct cb_event_make *make)
{
    struct cb_event *event = cb_arena_alloc(make->arena, 1, sizeof *event);
    size_t count = make->event.attr_count;
    cb_event_order_attrs(make->event.kind, make->attrs, count);
    *event = make->event;
    event->attrs = copy_items(make->arena, make->attrs, count, sizeof *make->attrs);
    return event;
}

static size_t rank(enum cb_event_kind kind, enum cb_field field)
{
    size_t count;
    const struct cb_event_field *schema = cb_event_schema(kind, &count);
    size_t i = 0;
    while (i < count && schema[i].field != field) {
        i++;
    }
    return i;
}

void cb_event_order_attrs(enum cb_event_kind kind, struct cb_attr *attrs, size_t count)
{
    for (size_t i = 1; i < count; i++) {
        struct cb_attr moving = attrs[i];
        size_t at = i;
        while (at > 0 && rank(kind, attrs[at - 1].field) > rank(kind, moving.field)) {
            attrs[at] = attrs[at - 1];
            at--;
        }
        attrs[at] = moving;
    }
}

const struct cb_event *cb_event_copy(struct cb_arena *arena, const struct cb_event *event)
{
    struct cb_event *copy = cb_arena_alloc(arena, 1, sizeof *copy);
    *copy = *event;
    copy->name = event->kind == CB_EVENT_UNKNOWN ? cb_arena_text(arena, event->name)
                                                 : cb_event_name(event->kind);
    copy->id = cb_arena_text(arena, event->id);
    copy->unit = cb_arena_text(arena, event->unit);
    copy->press = cb_arena_text(arena, event->press);
    copy->machine = cb_arena_text(arena, event->machine);
    copy->boot = cb_arena_text(arena, event->boot);
    struct cb_attr *attrs =
        cb_arena_alloc(arena, event->attr_count ? event->attr_count : 1, sizeof *attrs);
    for (size_t i = 0; i < event->attr_count; i++) {
        const struct cb_attr *from = &event->attrs[i];
        attrs[i] = *from;
        attrs[i].name = cb_arena_text(arena, from->name);
        switch (from->type) {
        case CB_TYPE_INT:
        case CB_TYPE_NUMBER:
        case CB_TYPE_TIME:
        case CB_TYPE_BOOL:
            break;
        case CB_TYPE_TEXT:
        case CB_TYPE_RAW:
            attrs[i].s = cb_arena_text(arena, from->s);
            break;
        case CB_TYPE_FILMS:
            attrs[i].films = copy_items(arena, from->films, from->n, sizeof *from->films);
            break;
        case CB_TYPE_FIGURES:
            attrs[i].figures = copy_items(arena, from->figures, from->n, sizeof *from->figures);
            break;
        }
    }
    copy->attrs = attrs;
    return copy;
}

static bool same_attr(const struct cb_attr *a, const struct cb_attr *b)
{
    if (a->field != b->field || a->type != b->type || !cb_str_same(a->name, b->name)) {
        return false;
    }
    switch (a->type) {
    case CB_TYPE_INT:
    case CB_TYPE_TIME:
    case CB_TYPE_BOOL:
        return a->i == b->i;
    case CB_TYPE_NUMBER:
        return memcmp(&a->d, &b->d, sizeof a->d) == 0;
    case CB_TYPE_TEXT:
    case CB_TYPE_RAW:
        return cb_str_same(a->s, b->s);
    case CB_TYPE_FILMS:
        return a->n == b->n &&
               (a->n == 0 || memcmp(a->films, b->films, a->n * sizeof *a->films) == 0);
    case CB_TYPE_FIGURES:
        return a->n == b->n &&
               (a->n == 0 || memcmp(a->figures, b->figures, a->n * sizeof *a->figures) == 0);
    }
    return false;
}

bool cb_event_equal(const struct cb_event *a, const struct cb_event *b)
{
    if (a->kind != b->kind || !cb_str_same(a->name, b->name) || !cb_str_same(a->id, b->id) ||
        !cb_str_same(a->unit, b->unit) || a->at_ms != b->at_ms ||
        !cb_str_same(a->press, b->press) || !cb_str_same(a->machine, b->machine) ||
        a->seq != b->seq || !cb_str_same(a->boot, b->boot) || a->boot_ms != b->boot_ms ||
        a->attr_count != b->attr_count) {
        return false;
    }
    for (size_t i = 0; i < a->attr_count; i++) {
        if (!same_attr(&a->attrs[i], &b->attrs[i])) {
            return false;
        }
    }
    return true;
}

static enum cb_status check_id(const char *what, const char *text, struct cb_err *err)
{
    size_t length = strlen(text);
    if (length < 1 || length > CB_EVENT_ID_MAX) {
        return cb_err_set(err, CB_DATA, "%s: %zu bytes, it takes 1 to %d", what, length,
                          CB_EVENT_ID_MAX);
    }
    if (!cb_utf8_valid(text, length)) {
        return cb_err_set(err, CB_DATA, "%s: no UTF-8", what);
    }
    return CB_OK;
}

static bool is_one_of(const char *text, const char *words)
{
    size_t length = strlen(text);
    for (const char *word = words; word; word = strchr(word, '|')) {
        word += *word == '|';
        if (length > 0 && !strchr(text, '|') && strncmp(word, text, length) == 0 &&
            (word[length] == '|' || word[length] == '\0')) {
            return true;
        }
    }
    return false;
}

static enum cb_status check_number(const char *name, double value, const struct cb_event_field *row,
                                   struct cb_err *err)
{
    if (isnan(value) || value < row->low || value > row->high) {
        return cb_err_set(err, CB_DATA, "%s: %g, it takes %.10g to %.10g", name, value, row->low,
                          row->high);
    }
    return CB_OK;
}

static enum cb_status check_text(const char *name, const char *text,
                                 const struct cb_event_field *row, struct cb_err *err)
{
    size_t length = strlen(text);
    if (row->words) {
        return is_one_of(text, row->words)
                   ? CB_OK
                   : cb_err_set(err, CB_DATA, "%s: an unknown word, it takes %s", name, row->words);
    }
    if ((double)length > row->high) {
        return cb_err_set(err, CB_DATA, "%s: %zu bytes, it takes at most %.0f", name, length,
                          row->high);
    }
    if (!cb_utf8_valid(text, length)) {
        return cb_err_set(err, CB_DATA, "%s: no UTF-8", name);
    }
    if (row->field == CB_FIELD_OF) {
        return check_id(name, text, err);
    }
    return CB_OK;
}

static bool is_film(const struct cb_film_key *film)
{
    return film->figure >= 1 && film->figure <= CB_FIGURES_MAX && film->stage >= 1 &&
           film->stage <= CB_RECIPE_MAX && film->coat >= 1 && film->coat <= CB_EVENT_COATS_MAX;
}

static enum cb_status check_list(const char *name, const struct cb_attr *attr,
                                 const struct cb_event_field *row, struct cb_err *err)
{
    if ((double)attr->n < row->low || (double)attr->n > row->high) {
        return cb_err_set(err, CB_DATA, "%s: a list of %zu, it takes %.0f to %.0f", name, attr->n,
                          row->low, row->high);
    }
    for (size_t i = 0; i < attr->n; i++) {
        if (attr->type == CB_TYPE_FILMS && !is_film(&attr->films[i])) {
            return cb_err_set(err, CB_DATA,
                              "%s: film %d/%d/%d, it takes figures 1 to %d, stages 1 to %d, "
                              "coats 1 to %d",
                              name, attr->films[i].figure, attr->films[i].stage,
                              attr->films[i].coat, CB_FIGURES_MAX, CB_RECIPE_MAX,
                              CB_EVENT_COATS_MAX);
        }
        if (attr->type == CB_TYPE_FIGURES &&
            (attr->figures[i] < 1 || attr->figures[i] > CB_FIGURES_MAX)) {
            return cb_err_set(err, CB_DATA, "%s: figure %d, it takes 1 to %d", name,
                              attr->figures[i], CB_FIGURES_MAX);
        }
    }
    return CB_OK;
}

static const char *type_name(enum cb_type type)
{
    static const char *const names[] = {
        [CB_TYPE_INT] = "a whole number",
        [CB_TYPE_NUMBER] = "a number",
        [CB_TYPE_TEXT] = "a text",
        [CB_TYPE_TIME] = "a time as 2026-01-05T18:00:00.000Z",
        [CB_TYPE_BOOL] = "true or false",
        [CB_TYPE_FILMS] = "a list of {figure, stage, coat}",
        [CB_TYPE_FIGURES] = "a list of whole numbers",
        [CB_TYPE_RAW] = "JSON",
    };
    return names[type];
}

static enum cb_status check_attr(const struct cb_attr *attr, const struct cb_event_field *row,
                                 struct cb_err *err)
{
    const char *name = cb_field_name(attr->field);
    if (attr->type != row->type) {
        return cb_err_set(err, CB_DATA, "%s: it takes %s", name, type_name(row->type));
    }
    switch (attr->type) {
    case CB_TYPE_INT:
        return check_number(name, (double)attr->i, row, err);
    case CB_TYPE_NUMBER:
        return check_number(name, attr->d, row, err);
    case CB_TYPE_TEXT:
        return check_text(name, attr->s, row, err);
    case CB_TYPE_TIME:
        if (attr->i < FIRST_MS || attr->i > LAST_MS) {
            return cb_err_set(err, CB_DATA, "%s: outside the years 1 to 9999", name);
        }
        return CB_OK;
    case CB_TYPE_BOOL:
        return CB_OK;
    case CB_TYPE_FILMS:
    case CB_TYPE_FIGURES:
        return check_list(name, attr, row, err);
    case CB_TYPE_RAW:
        break;
    }
    return cb_err_set(err, CB_DATA, "%s: it takes %s", name, type_name(row->type));
}

static enum cb_status check_head(const struct cb_event *event, struct cb_err *err)
{
    const struct {
        const char *what, *text;
    } ids[] = {
        {"id", event->id},           {"unit", event->unit}, {"press", event->press},
        {"machine", event->machine}, {"boot", event->boot}, {"event", event->name},
    };
    for (size_t i = 0; i < sizeof ids / sizeof *ids; i++) {
        if (ids[i].text) {
            enum cb_status status = check_id(ids[i].what, ids[i].text, err);
            if (status != CB_OK) {
                return status;
            }
        }
    }
    if (event->at_ms < FIRST_MS || event->at_ms > LAST_MS) {
        return cb_err_set(err, CB_DATA, "at: outside the years 1 to 9999");
    }
    if (event->machine && (event->seq < 0 || event->seq > CB_EVENT_SEQ_MAX)) {
        return cb_err_set(err, CB_DATA, "seq: %lld, it takes 0 to %lld", (long long)event->seq,
                          (long long)CB_EVENT_SEQ_MAX);
    }
    if (event->boot && (event->boot_ms < 0 || event->boot_ms > CB_EVENT_WHOLE_MAX)) {
        return cb_err_set(err, CB_DATA,
                          "boot_ms: %lld, it takes milliseconds since the start, 0 to %lld",
                          (long long)event->boot_ms, (long long)CB_EVENT_WHOLE_MAX);
    }
    if (event->kind != CB_EVENT_UNKNOWN && !cb_event_is_bench(event->kind) && !event->unit) {
        return cb_err_set(err, CB_DATA, "unit: missing, %s belongs to a unit", event->name);
    }
    return CB_OK;
}

enum cb_status cb_event_validate(const struct cb_event *event, struct cb_err *err)
{
    enum cb_status status = check_head(event, err);
    if (status != CB_OK) {
        return status;
    }
    size_t count;
    const struct cb_event_field *schema = cb_event_schema(event->kind, &count);
    for (size_t i = 0; i < event->attr_count; i++) {
        const struct cb_attr *attr = &event->attrs[i];
        size_t row = rank(event->kind, attr->field);
        if (attr->field == CB_FIELD_OTHER) {
            continue;
        }
        if (row == count) {
            return cb_err_set(err, CB_DATA, "%s: %s has no such field", cb_field_name(attr->field),
                              event->name);
        }
        status = check_attr(attr, &schema[row], err);
        if (status != CB_OK) {
            return status;
        }
    }
    for (size_t i = 0; i < count; i++) {
        if (schema[i].required && !cb_event_get(event, schema[i].field)) {
            return cb_err_set(err, CB_DATA, "%s: missing, %s needs it",
                              cb_field_name(schema[i].field), event->name);
        }
    }
    return CB_OK;
}
