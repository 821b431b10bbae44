/* SPDX-License-Identifier: MIT */
#include "shell/jsonl.h"

#include <jansson.h>
#include <limits.h>
#include <math.h>
#include <string.h>

#include "base/time.h"
#include "base/utf8.h"
#include "shell/json_write.h"

#define WHOLE_MAX ((double)CB_EVENT_WHOLE_MAX)

/* One member of the outer object: what jansson made of it and where it stands in the line, so
 * that faults have a column and unknown values keep their own digits. */
struct member {
    const char *key;
    const json_t *value;
    const char *text;
    size_t length;
    bool used;
};

struct line {
    const char *text;
    size_t length;
    struct cb_arena *arena;
    struct member members[CB_EVENT_ATTRS_MAX + 9];
    size_t count;
    int column;
    struct cb_err *err;
};

static int column_of(const struct line *line, const char *at)
{
    int column = 1;
    for (const char *c = line->text; c < at; c++) {
        column += ((unsigned char)*c & 0xc0) != 0x80;
    }
    return column;
}

static enum cb_status fault(struct line *line, const struct member *member, const char *what)
{
    line->column = column_of(line, member->text);
    return cb_err_set(line->err, CB_DATA, "%s: it takes %s",
                      cb_utf8_clean(line->arena, member->key, 40), what);
}

static const char *skip_blanks(const char *at, const char *end)
{
    while (at < end && strchr(" \t\r\n", *at)) {
        at++;
    }
    return at;
}

static const char *skip_text(const char *at, const char *end)
{
    for (at++; at < end && *at != '"'; at++) {
        at += *at == '\\';
    }
    return at + 1;
}

/* Past one value of text that is known to be valid. */
static const char *skip_value(const char *at, const char *end)
{
    int depth = 0;
    while (at < end) {
        if (*at == '"') {
            at = skip_text(at, end);
        } else if (*at == '[' || *at == '{') {
            depth++;
            at++;
        } else if (depth > 0 && (*at == ']' || *at == '}')) {
            depth--;
            at++;
        } else if (depth == 0 && strchr(",}] \t\r\n", *at)) {
            break;
        } else {
            at++;
            continue;
        }
        if (depth == 0) {
            break;
        }
    }
    return at;
}

/* jansson iterates in the order of the text and has refused duplicates: both go side by side. */
static enum cb_status split(struct line *line, json_t *root)
{
    const char *end = line->text + line->length;
    const char *at = skip_blanks(line->text, end) + 1;
    for (void *i = json_object_iter(root); i; i = json_object_iter_next(root, i)) {
        if (line->count == sizeof line->members / sizeof *line->members) {
            line->column = column_of(line, at);
            return cb_err_set(line->err, CB_DATA, "more than %d fields in one event",
                              CB_EVENT_ATTRS_MAX);
        }
        struct member *member = &line->members[line->count++];
        at = skip_blanks(at, end);
        at = skip_blanks(skip_text(at, end), end) + 1;
        member->text = skip_blanks(at, end);
        at = skip_value(member->text, end);
        member->length = (size_t)(at - member->text);
        at = skip_blanks(at, end) + 1;
        member->key = json_object_iter_key(i);
        member->value = json_object_iter_value(i);
    }
    return CB_OK;
}

static struct member *find(struct line *line, const char *key)
{
    for (size_t i = 0; i < line->count; i++) {
        if (strcmp(line->members[i].key, key) == 0) {
            return &line->members[i];
        }
    }
    return NULL;
}

static bool whole(const json_t *value, double low, double high, int64_t *out)
{
    double number = json_real_value(value);
    if (!json_is_real(value) || !(number >= low && number <= high) || number != floor(number)) {
        return false;
    }
    *out = (int64_t)number;
    return true;
}

static enum cb_status take_text(struct line *line, const char *key, bool required, const char **out)
{
    struct member *member = find(line, key);
    if (member && json_is_string(member->value)) {
        member->used = true;
        *out = cb_arena_text(line->arena, json_string_value(member->value));
        return CB_OK;
    }
    if (member && !json_is_null(member->value)) {
        return fault(line, member, "a text");
    }
    if (member) {
        member->used = true;
    }
    return required ? cb_err_set(line->err, CB_DATA, "%s: missing, every event has it", key)
                    : CB_OK;
}

static enum cb_status take_time(struct line *line, const struct member *member, int64_t *out)
{
    if (!json_is_string(member->value) || !cb_time_parse(json_string_value(member->value), out)) {
        return fault(line, member, "an RFC 3339 time as 2026-01-05T18:00:00.000Z");
    }
    return CB_OK;
}

/* A text and its number belong together; either one alone is an unknown field like any other. */
static enum cb_status take_pair(struct line *line, const char *key, const char **text,
                                const char *number_key, int64_t most, int64_t *number)
{
    struct member *first = find(line, key);
    struct member *second = find(line, number_key);
    if (!first || !second || json_is_null(first->value) || json_is_null(second->value)) {
        return CB_OK;
    }
    if (!json_is_string(first->value)) {
        return fault(line, first, "a text");
    }
    if (!whole(second->value, 0, (double)most, number)) {
        return fault(line, second,
                     cb_arena_printf(line->arena, "a whole number, 0 to %lld", (long long)most));
    }
    *text = cb_arena_text(line->arena, json_string_value(first->value));
    first->used = second->used = true;
    return CB_OK;
}

static enum cb_status take_head(struct line *line, struct cb_event *event)
{
    enum cb_status status = take_text(line, "id", true, &event->id);
    if (status == CB_OK) {
        status = take_text(line, "event", true, &event->name);
    }
    struct member *at = find(line, "at");
    if (status == CB_OK && !at) {
        status = cb_err_set(line->err, CB_DATA, "at: missing, every event has it");
    }
    if (status == CB_OK && at) {
        at->used = true;
        status = take_time(line, at, &event->at_ms);
    }
    if (status == CB_OK) {
        status = take_text(line, "unit", false, &event->unit);
    }
    if (status == CB_OK) {
        status = take_text(line, "press", false, &event->press);
    }
    if (status == CB_OK) {
        status = take_pair(line, "machine", &event->machine, "seq", CB_EVENT_SEQ_MAX, &event->seq);
    }
    if (status == CB_OK) {
        status =
            take_pair(line, "boot", &event->boot, "boot_ms", CB_EVENT_WHOLE_MAX, &event->boot_ms);
    }
    if (status == CB_OK) {
        event->kind = cb_event_kind_of(event->name);
    }
    return status;
}

static enum cb_status take_films(struct line *line, const struct member *member,
                                 struct cb_attr *attr)
{
    static const char shape[] = "a list of {\"figure\":1,\"stage\":1,\"coat\":1}";
    size_t count = json_array_size(member->value);
    if (!json_is_array(member->value) || count > CB_EVENT_LIST_MAX) {
        return fault(line, member, shape);
    }
    struct cb_film_key *films = cb_arena_alloc(line->arena, count ? count : 1, sizeof *films);
    for (size_t i = 0; i < count; i++) {
        const json_t *item = json_array_get(member->value, i);
        int64_t figure;
        int64_t stage;
        int64_t coat;
        if (!whole(json_object_get(item, "figure"), INT_MIN, INT_MAX, &figure) ||
            !whole(json_object_get(item, "stage"), INT_MIN, INT_MAX, &stage) ||
            !whole(json_object_get(item, "coat"), INT_MIN, INT_MAX, &coat)) {
            return fault(line, member, shape);
        }
        films[i] = (struct cb_film_key){(int)figure, (int)stage, (int)coat};
    }
    attr->films = films;
    attr->n = count;
    return CB_OK;
}

static enum cb_status take_figures(struct line *line, const struct member *member,
                                   struct cb_attr *attr)
{
    size_t count = json_array_size(member->value);
    if (!json_is_array(member->value) || count > CB_EVENT_LIST_MAX) {
        return fault(line, member, "a list of whole numbers");
    }
    int *figures = cb_arena_alloc(line->arena, count ? count : 1, sizeof *figures);
    for (size_t i = 0; i < count; i++) {
        int64_t figure;
        if (!whole(json_array_get(member->value, i), INT_MIN, INT_MAX, &figure)) {
            return fault(line, member, "a list of whole numbers");
        }
        figures[i] = (int)figure;
    }
    attr->figures = figures;
    attr->n = count;
    return CB_OK;
}

static enum cb_status take_field(struct line *line, const struct member *member,
                                 const struct cb_event_field *row, struct cb_attr *attr)
{
    attr->field = row->field;
    attr->type = row->type;
    switch (row->type) {
    case CB_TYPE_INT:
        return whole(member->value, -WHOLE_MAX, WHOLE_MAX, &attr->i)
                   ? CB_OK
                   : fault(line, member, "a whole number");
    case CB_TYPE_NUMBER:
        attr->d = json_real_value(member->value);
        return json_is_real(member->value) ? CB_OK : fault(line, member, "a number");
    case CB_TYPE_TEXT:
        /* an answer's value or an edition may be a bare number: its digits are the text */
        if (json_is_real(member->value) && !row->words) {
            attr->s = cb_arena_text_n(line->arena, member->text, member->length);
            return CB_OK;
        }
        attr->s = cb_arena_text(line->arena, json_string_value(member->value));
        return attr->s ? CB_OK : fault(line, member, row->words ? row->words : "a text");
    case CB_TYPE_TIME:
        return take_time(line, member, &attr->i);
    case CB_TYPE_BOOL:
        attr->i = json_is_true(member->value);
        return json_is_boolean(member->value) ? CB_OK : fault(line, member, "true or false");
    case CB_TYPE_FILMS:
        return take_films(line, member, attr);
    case CB_TYPE_FIGURES:
        return take_figures(line, member, attr);
    case CB_TYPE_RAW:
        break;
    }
    return CB_OK;
}

static void take_unknown(struct line *line, const struct member *member, struct cb_attr *attr)
{
    struct cb_str raw = {0};
    cb_json_write_raw(&raw, member->text, member->length);
    attr->field = CB_FIELD_OTHER;
    attr->type = CB_TYPE_RAW;
    attr->name = cb_arena_text(line->arena, member->key);
    attr->s = cb_arena_text(line->arena, cb_str_text(&raw));
    cb_str_fini(&raw);
}

static const struct cb_event_field *row_of(enum cb_event_kind kind, const char *key)
{
    size_t count;
    const struct cb_event_field *schema = cb_event_schema(kind, &count);
    for (size_t i = 0; i < count; i++) {
        if (strcmp(cb_field_name(schema[i].field), key) == 0) {
            return &schema[i];
        }
    }
    return NULL;
}

/* Members not used yet become attrs; null stands for absent. */
static enum cb_status take_fields(struct line *line, enum cb_event_kind kind,
                                  const struct cb_attr **out, size_t *out_count)
{
    struct cb_attr *attrs =
        cb_arena_alloc(line->arena, line->count ? line->count : 1, sizeof *attrs);
    size_t count = 0;
    for (size_t i = 0; i < line->count; i++) {
        const struct member *member = &line->members[i];
        const struct cb_event_field *row = member->used ? NULL : row_of(kind, member->key);
        if (member->used || (row && json_is_null(member->value))) {
            continue;
        }
        enum cb_status status = CB_OK;
        if (row) {
            status = take_field(line, member, row, &attrs[count]);
        } else {
            take_unknown(line, member, &attrs[count]);
        }
        if (status != CB_OK) {
            return status;
        }
        count++;
    }
    cb_event_order_attrs(kind, attrs, count);
    *out = attrs;
    *out_count = count;
    return CB_OK;
}

static json_t *parse(struct line *line)
{
    json_error_t error;
    line->column = 1;
    if (line->length > CB_JSONL_LINE_MAX) {
        cb_err_set(line->err, CB_DATA, "a line of %zu bytes, it takes at most %d", line->length,
                   CB_JSONL_LINE_MAX);
        return NULL;
    }
    /* whole numbers come as reals, so that one beyond 64 bits in an unknown field is no fault */
    json_t *root = json_loadb(line->text, line->length,
                              JSON_REJECT_DUPLICATES | JSON_DECODE_INT_AS_REAL, &error);
    if (!root) {
        line->column = error.column > 0 ? error.column : 1;
        cb_err_set(line->err, CB_DATA, "no JSON object: %s",
                   cb_utf8_clean(line->arena, error.text, 120));
    } else if (!json_is_object(root)) {
        cb_err_set(line->err, CB_DATA, "no JSON object: every line is one, in { }");
        json_decref(root);
        root = NULL;
    }
    return root;
}

/* The line of a fault of validation starts with the name of the field. */
static int column_of_fault(struct line *line, const struct cb_err *err)
{
    for (size_t i = 0; err && i < line->count; i++) {
        size_t length = strlen(line->members[i].key);
        if (strncmp(err->text, line->members[i].key, length) == 0 && err->text[length] == ':') {
            return column_of(line, line->members[i].text);
        }
    }
    return 1;
}

/* A byte becomes six at most (\u007f), so few lines are long enough to be tried. */
static enum cb_status check_written(struct line *line, const struct cb_event *event)
{
    if (line->length <= CB_JSONL_LINE_MAX / 6) {
        return CB_OK;
    }
    struct cb_str out = {0};
    cb_jsonl_encode(event, &out);
    size_t length = out.length;
    cb_str_fini(&out);
    line->column = 1;
    return length <= CB_JSONL_LINE_MAX
               ? CB_OK
               : cb_err_set(line->err, CB_DATA,
                            "a line of %zu bytes when written out, it takes at most %d", length,
                            CB_JSONL_LINE_MAX);
}

enum cb_status cb_jsonl_decode_at(const char *text, size_t length, struct cb_arena *arena,
                                  const struct cb_event **out, int *column, struct cb_err *err)
{
    struct cb_err own = {0};
    struct line line = {.text = text, .length = length, .arena = arena, .err = err ? err : &own};
    *out = NULL;
    json_t *root = parse(&line);
    if (!root) {
        *column = line.column;
        return CB_DATA;
    }
    struct cb_event *event = cb_arena_alloc(arena, 1, sizeof *event);
    enum cb_status status = split(&line, root);
    if (status == CB_OK) {
        status = take_head(&line, event);
    }
    if (status == CB_OK) {
        status = take_fields(&line, event->kind, &event->attrs, &event->attr_count);
    }
    if (status == CB_OK) {
        status = cb_event_validate(event, line.err);
        if (status != CB_OK) {
            line.column = column_of_fault(&line, line.err);
        }
    }
    if (status == CB_OK) {
        status = check_written(&line, event);
    }
    json_decref(root);
    *column = line.column;
    *out = status == CB_OK ? event : NULL;
    return status;
}

int cb_jsonl_column(const char *text, size_t length, const char *field)
{
    struct cb_arena arena = {0};
    struct cb_err err = {0};
    struct line line = {.text = text, .length = length, .arena = &arena, .err = &err};
    int column = 1;
    json_t *root = parse(&line);
    if (root && split(&line, root) == CB_OK) {
        const struct member *member = find(&line, field);
        column = member ? column_of(&line, member->text) : 1;
    }
    json_decref(root);
    cb_arena_fini(&arena);
    return column;
}

enum cb_status cb_jsonl_encode_sure(const struct cb_event *event, struct cb_arena *scratch,
                                    struct cb_str *out, struct cb_err *err)
{
    const struct cb_event *back;
    struct cb_err found = {0};
    int column;
    size_t before = out->length;
    cb_jsonl_encode(event, out);
    if (cb_jsonl_decode_at(out->text + before, out->length - before, scratch, &back, &column,
                           &found) != CB_OK) {
        return cb_err_set(err, CB_DATA, "as a line: %.900s", found.text);
    }
    return cb_event_equal(event, back)
               ? CB_OK
               : cb_err_set(err, CB_DATA, "as a line it would be another event");
}

enum cb_status cb_jsonl_decode(const char *text, size_t length, struct cb_arena *arena,
                               const struct cb_event **event, struct cb_err *err)
{
    int column;
    struct cb_err found = {0};
    enum cb_status status = cb_jsonl_decode_at(text, length, arena, event, &column, &found);
    return status == CB_OK ? CB_OK : cb_err_set(err, status, "column %d: %s", column, found.text);
}

enum cb_status cb_jsonl_decode_fields(const char *json, size_t length, enum cb_event_kind kind,
                                      struct cb_arena *arena, const struct cb_attr **attrs,
                                      size_t *count, struct cb_err *err)
{
    struct cb_err own = {0};
    struct line line = {.text = json, .length = length, .arena = arena, .err = err ? err : &own};
    json_t *root = parse(&line);
    if (!root) {
        return CB_DATA;
    }
    enum cb_status status = split(&line, root);
    if (status == CB_OK) {
        status = take_fields(&line, kind, attrs, count);
    }
    json_decref(root);
    return status;
}
