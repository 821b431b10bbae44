/* SPDX-License-Identifier: MIT */
#include "shell/yaml.h"

#include <string.h>

#include <yaml.h>

#include "base/index.h"
#include "base/utf8.h"
#include "base/vec.h"

/* Flow brackets that libyaml is ever shown open at once. It looks at every open level for every
 * token, so that 65 536 of them took seconds; the depth that counts is bounded by the events. */
#define SCAN_DEPTH_MAX 64

struct reader {
    yaml_parser_t parser;
    struct cb_arena *arena;
    struct cb_issues *issues;
    bool too_deep;
    const char *text;
};

typedef CB_VEC(struct cb_tree) tree_vec;

static bool full(const struct reader *reader)
{
    return reader->issues->count >= CB_ISSUES_MAX;
}

static void place(yaml_mark_t mark, int *line, int *column)
{
    *line = (int)mark.line + 1;
    *column = (int)mark.column + 1;
}

/* Steps over one character; the text is NUL-terminated and has no NUL inside. */
struct cursor {
    const char *at;
    int line, column;
};

static uint32_t step(struct cursor *cursor)
{
    uint32_t cp = cb_utf8_next(&cursor->at);
    if (cp == '\n') {
        cursor->line++;
        cursor->column = 1;
    } else {
        cursor->column++;
    }
    return cp;
}

/* Refuses what no settings file needs and no terminal should see. */
static void check_characters(const char *text, size_t length, struct cb_arena *arena,
                             struct cb_issues *issues)
{
    struct cursor cursor = {text, 1, 1};
    if (length >= 3 && memcmp(text, "\xEF\xBB\xBF", 3) == 0) {
        cursor.at += 3;
    }
    while (cursor.at < text + length && issues->count < CB_ISSUES_MAX) {
        struct cursor here = cursor;
        if (*cursor.at == '\0') {
            cb_issues_add(issues, arena, here.line, here.column, "NUL byte: this is no text file");
            return;
        }
        uint32_t cp = step(&cursor);
        if (cp == '\n' || (cp == '\r' && *cursor.at == '\n')) {
            continue;
        }
        if (cp == '\t') {
            cb_issues_add(issues, arena, here.line, here.column,
                          "tab: write blanks, two for each level");
        } else if (cp == 0xFFFD && memcmp(here.at, "\xEF\xBF\xBD", 3) != 0) {
            cb_issues_add(issues, arena, here.line, here.column,
                          "byte 0x%02X: this is not UTF-8; save the file as UTF-8",
                          (unsigned)(unsigned char)*here.at);
            return;
        } else if (!cb_utf8_is_safe(cp)) {
            cb_issues_add(issues, arena, here.line, here.column,
                          "control character U+%04X: it can't be shown; take it out", (unsigned)cp);
        }
    }
}

static const char *skip_quoted(const char *at, char quote)
{
    for (at++; *at != '\0'; at++) {
        if (quote == '"' && *at == '\\' && at[1] != '\0') {
            at++;
        } else if (*at == quote) {
            if (quote == '\'' && at[1] == quote) {
                at++;
            } else {
                return at + 1;
            }
        }
    }
    return at;
}

static bool is_break(char c)
{
    return c == '\0' || c == ' ' || c == '\n' || c == '\r';
}

/* The end of the part of text, up to `until`, that opens at most SCAN_DEPTH_MAX brackets. Quotes,
 * comments and plain text are told apart only roughly: a bracket missed here still meets the
 * depth that is counted from the events. quote: the last quote sign that opened a text of
 * several lines which ends in the line of `until`, or NULL. */
static const char *scan(const char *text, const char *until, const char **quote)
{
    int depth = 0;
    bool start = true; /* a token may begin here */
    const char *at = text;
    *quote = NULL;
    while (at < until) {
        char c = *at;
        if (c == '#' && (at == text || is_break(at[-1]))) {
            while (*at != '\0' && *at != '\n') {
                at++;
            }
            continue;
        }
        if (c == '\n') {
            start = true;
            *quote = NULL;
        } else if (c == ' ' || c == '\r') {
            /* leaves start as it is */
        } else if ((start || depth > 0) && (c == '[' || c == '{')) {
            if (++depth > SCAN_DEPTH_MAX) {
                return at;
            }
            start = true;
        } else if (depth > 0 && (c == ']' || c == '}')) {
            depth--;
            start = true;
        } else if (start && (c == '"' || c == '\'')) {
            const char *opening = at;
            at = skip_quoted(at, c);
            *quote = memchr(opening, '\n', (size_t)(at - opening)) != NULL ? opening : *quote;
            start = false;
            continue;
        } else if (depth > 0 && c == ',') {
            start = true;
        } else if ((c == '-' || c == '?') && start && is_break(at[1])) {
            start = true;
        } else if (c == ':' && (is_break(at[1]) || depth > 0)) {
            start = true;
        } else {
            start = false;
        }
        at++;
    }
    return at;
}

static const char quote_message[] = "quote that is never closed: end the text with the same sign";

/* What libyaml says, and what a painter needs to hear. opening: placed where the thing began. */
static const struct {
    const char *context, *problem; /* parts of libyaml's words; NULL: any */
    bool opening;
    const char *message;
} troubles[] = {
    {"quoted scalar", "end of stream", true, quote_message},
    {"quoted scalar", "document indicator", true, quote_message},
    {"quoted scalar", "escape", false,
     "unknown escape in double quotes: write the text in single quotes"},
    {"flow sequence", "did not find expected", true,
     "[ that is never closed or misses a comma: write [one, two]"},
    {"flow mapping", "did not find expected", true,
     "{ that is never closed or misses a comma: write {key: value, key: value}"},
    {"simple key", "could not find expected ':'", true, "text without a key: write `key: value`"},
    {"block mapping", "did not find expected key", false,
     "line that does not fit in: keys of one map stand in one column"},
    {"block collection", "did not find expected '-'", false,
     "line that does not fit in: every - of one list stands in one column"},
    {"block scalar", NULL, false,
     "block text that begins badly: after | or > comes a new, indented line"},
    {NULL, "mapping values are not allowed", false,
     "`: ` where no key can stand: put a text that holds a colon in quotes"},
    {NULL, "block sequence entries are not allowed", false,
     "`- ` where no list can stand: begin the list on a line of its own"},
    {NULL, "cannot start any token", false,
     "sign that no plain text may begin with: put the text in quotes"},
    {NULL, "did not find expected <document start>", false,
     "text after the end of the file's one map: indent it or take it out"},
    {NULL, "undefined alias", false, "alias: write the value out"},
    {NULL, "undefined tag handle", false, "tag: leave it out, every value is plain text"},
    {"alias", NULL, true, "alias: write the value out"},
    {"anchor", NULL, true, "anchor: write the value out at each place"},
    {"tag", NULL, true, "tag: leave it out, every value is plain text"},
    {"directive", NULL, true, "directive: leave out the line that begins with %"},
};

/* Where byte `at` of the text stands. */
static struct cursor locate(const char *text, const char *at)
{
    struct cursor cursor = {text, 1, 1};
    while (cursor.at < at && *cursor.at != '\0') { /* at a NUL a step goes nowhere */
        step(&cursor);
    }
    return cursor;
}

/* libyaml's index counts characters. */
static size_t byte_of(const char *text, yaml_mark_t mark)
{
    const char *at = text;
    for (size_t i = 0; i < mark.index && *at != '\0'; i++) {
        cb_utf8_next(&at);
    }
    return (size_t)(at - text);
}

static void add_parser_issue(struct reader *reader)
{
    const yaml_parser_t *parser = &reader->parser;
    const char *problem = parser->problem != NULL ? parser->problem : "not readable as YAML";
    const char *context = parser->context != NULL ? parser->context : "";
    const char *quote = NULL;
    int line, column;
    scan(reader->text, reader->text + byte_of(reader->text, parser->problem_mark), &quote);
    if (quote != NULL) {
        /* A quote left open ends at the next one, lines below, and only there all goes wrong. */
        struct cursor opening = locate(reader->text, quote);
        cb_issues_add(reader->issues, reader->arena, opening.line, opening.column, "%s",
                      quote_message);
        return;
    }
    for (size_t i = 0; i < sizeof troubles / sizeof troubles[0]; i++) {
        if (troubles[i].context != NULL && strstr(context, troubles[i].context) == NULL) {
            continue;
        }
        if (troubles[i].problem != NULL && strstr(problem, troubles[i].problem) == NULL) {
            continue;
        }
        place(troubles[i].opening ? parser->context_mark : parser->problem_mark, &line, &column);
        cb_issues_add(reader->issues, reader->arena, line, column, "%s", troubles[i].message);
        return;
    }
    place(parser->problem_mark, &line, &column);
    cb_issues_add(reader->issues, reader->arena, line, column, "%s", problem);
}

static bool next_event(struct reader *reader, yaml_event_t *event)
{
    if (yaml_parser_parse(&reader->parser, event)) {
        return true;
    }
    add_parser_issue(reader);
    return false;
}

static void add_at(struct reader *reader, yaml_mark_t mark, const char *message)
{
    int line, column;
    place(mark, &line, &column);
    cb_issues_add(reader->issues, reader->arena, line, column, "%s", message);
}

static void refuse_extras(struct reader *reader, const yaml_event_t *event,
                          const yaml_char_t *anchor, const yaml_char_t *tag)
{
    if (anchor != NULL) {
        add_at(reader, event->start_mark, "anchor: write the value out at each place");
    }
    if (tag != NULL) {
        add_at(reader, event->start_mark, "tag: leave it out, every value is plain text");
    }
}

static bool read_text(struct reader *reader, const yaml_event_t *event, struct cb_tree *out)
{
    const char *value = (const char *)event->data.scalar.value;
    size_t length = event->data.scalar.length;
    refuse_extras(reader, event, event->data.scalar.anchor, event->data.scalar.tag);
    out->type = CB_TREE_TEXT;
    out->text = cb_arena_text_n(reader->arena, value, length);
    const char *at = out->text;
    while (at < out->text + length) {
        uint32_t cp = cb_utf8_next(&at);
        if (cp != '\n' && !cb_utf8_is_safe(cp)) {
            add_at(reader, event->start_mark,
                   "escape of a control character: it can't be shown; take it out");
            break;
        }
    }
    return !full(reader);
}

static bool read_node(struct reader *reader, const yaml_event_t *event, int depth,
                      struct cb_tree *out);

static const struct cb_tree *keep(struct reader *reader, tree_vec *items)
{
    struct cb_tree *kept = cb_arena_alloc(reader->arena, items->count, sizeof *kept);
    if (items->count > 0) {
        memcpy(kept, items->items, items->count * sizeof *kept);
    }
    return kept;
}

static bool read_list(struct reader *reader, int depth, struct cb_tree *out)
{
    tree_vec items = {0};
    bool going = true;
    out->type = CB_TREE_LIST;
    for (;;) {
        yaml_event_t event;
        if (!next_event(reader, &event)) {
            going = false;
            break;
        }
        bool ended = event.type == YAML_SEQUENCE_END_EVENT;
        struct cb_tree item = {0};
        if (!ended) {
            going = read_node(reader, &event, depth, &item);
            cb_vec_push(&items, item);
        }
        yaml_event_delete(&event);
        if (ended || !going) {
            break;
        }
    }
    out->count = items.count;
    out->items = keep(reader, &items);
    cb_vec_free(&items);
    return going;
}

static bool read_key(struct reader *reader, const yaml_event_t *event, struct cb_index *seen,
                     struct cb_tree *key)
{
    if (event->type == YAML_MAPPING_START_EVENT || event->type == YAML_SEQUENCE_START_EVENT) {
        add_at(reader, event->start_mark,
               "list or map where a key should stand: write `key: value`");
        return false;
    }
    if (!read_node(reader, event, 0, key)) {
        return false;
    }
    size_t line;
    if (cb_index_get(seen, key->text, &line)) {
        cb_issues_add(reader->issues, reader->arena, key->line, key->column,
                      "key given twice: %s; it stands in line %zu already", key->text, line);
    } else {
        cb_index_set(seen, key->text, (size_t)key->line);
    }
    return !full(reader);
}

static bool read_map(struct reader *reader, int depth, struct cb_tree *out)
{
    tree_vec keys = {0}, items = {0};
    struct cb_index *seen = cb_index_new();
    bool going = true, at_key = true;
    out->type = CB_TREE_MAP;
    for (;;) {
        yaml_event_t event;
        if (!next_event(reader, &event)) {
            going = false;
            break;
        }
        bool ended = event.type == YAML_MAPPING_END_EVENT;
        struct cb_tree node = {0};
        if (!ended && at_key) {
            going = read_key(reader, &event, seen, &node);
            cb_vec_push(&keys, node);
        } else if (!ended) {
            going = read_node(reader, &event, depth, &node);
            cb_vec_push(&items, node);
        }
        at_key = !at_key;
        yaml_event_delete(&event);
        if (ended || !going) {
            break;
        }
    }
    out->count = items.count; /* a key without its value is left only after an issue */
    out->keys = keep(reader, &keys);
    out->items = keep(reader, &items);
    cb_index_free(seen);
    cb_vec_free(&keys);
    cb_vec_free(&items);
    return going;
}

/* depth: collections open around this node. False: there is no going on. */
static bool read_node(struct reader *reader, const yaml_event_t *event, int depth,
                      struct cb_tree *out)
{
    place(event->start_mark, &out->line, &out->column);
    if (event->type == YAML_ALIAS_EVENT) {
        add_at(reader, event->start_mark, "alias: write the value out");
        out->type = CB_TREE_TEXT;
        out->text = "";
        return !full(reader);
    }
    if (event->type == YAML_SCALAR_EVENT) {
        return read_text(reader, event, out);
    }
    if (depth >= CB_YAML_DEPTH_MAX) {
        reader->too_deep = true;
        cb_issues_add(reader->issues, reader->arena, out->line, out->column,
                      "lists and maps more than %d deep: no setting needs that many",
                      CB_YAML_DEPTH_MAX);
        return false;
    }
    if (event->type == YAML_SEQUENCE_START_EVENT) {
        refuse_extras(reader, event, event->data.sequence_start.anchor,
                      event->data.sequence_start.tag);
        return !full(reader) && read_list(reader, depth + 1, out);
    }
    refuse_extras(reader, event, event->data.mapping_start.anchor, event->data.mapping_start.tag);
    return !full(reader) && read_map(reader, depth + 1, out);
}

static void check_directives(struct reader *reader, const yaml_event_t *event)
{
    if (event->data.document_start.tag_directives.start !=
            event->data.document_start.tag_directives.end ||
        event->data.document_start.version_directive != NULL) {
        add_at(reader, event->start_mark, "directive: leave out the line that begins with %");
    }
}

static const struct cb_tree *read_stream(struct reader *reader)
{
    struct cb_tree *root = NULL;
    bool going = true;
    while (going) {
        yaml_event_t event;
        if (!next_event(reader, &event)) {
            return NULL;
        }
        bool ended = event.type == YAML_STREAM_END_EVENT;
        if (event.type == YAML_DOCUMENT_START_EVENT) {
            check_directives(reader, &event);
            if (root != NULL) {
                add_at(reader, event.start_mark, "second document: one file holds one");
                going = false;
            }
        } else if (event.type == YAML_SCALAR_EVENT || event.type == YAML_SEQUENCE_START_EVENT ||
                   event.type == YAML_MAPPING_START_EVENT || event.type == YAML_ALIAS_EVENT) {
            root = cb_arena_alloc(reader->arena, 1, sizeof *root);
            going = read_node(reader, &event, 0, root);
        }
        yaml_event_delete(&event);
        if (ended) {
            break;
        }
    }
    if (root == NULL && reader->issues->count == 0) {
        cb_issues_add(reader->issues, reader->arena, 1, 1,
                      "nothing in the file: write `key: value`");
    }
    return root;
}

const struct cb_tree *cb_yaml_read(const char *text, size_t length, struct cb_arena *arena,
                                   struct cb_issues *issues)
{
    size_t before = issues->count;
    bool oversize = length > CB_YAML_BYTES_MAX;
    size_t kept = oversize ? CB_YAML_BYTES_MAX : length;
    while (oversize && kept > 0 && ((unsigned char)text[kept] & 0xC0) == 0x80) {
        kept--; /* never in the middle of a character */
    }
    const char *copy = cb_arena_text_n(arena, text, kept);
    const struct cb_tree *root = NULL;
    bool too_deep = false;
    check_characters(copy, kept, arena, issues);
    if (issues->count == before) {
        struct reader reader = {.arena = arena, .issues = issues, .text = copy};
        const char *quote = NULL;
        const char *end = scan(copy, copy + kept, &quote);
        if (!yaml_parser_initialize(&reader.parser)) {
            cb_issues_add(issues, arena, 1, 1, "no memory to read the file");
            return NULL;
        }
        yaml_parser_set_encoding(&reader.parser, YAML_UTF8_ENCODING);
        yaml_parser_set_input_string(&reader.parser, (const unsigned char *)copy,
                                     (size_t)(end - copy));
        root = read_stream(&reader);
        yaml_parser_delete(&reader.parser);
        too_deep = reader.too_deep;
        if (*end != '\0' && issues->count == before) {
            struct cursor place_of = locate(copy, end);
            cb_issues_add(issues, arena, place_of.line, place_of.column,
                          "lists and maps more than %d deep: no setting needs that many",
                          CB_YAML_DEPTH_MAX);
        }
    }
    if (oversize) {
        if (!too_deep) {
            issues->count = before; /* what the cut made of the text says nothing */
        }
        struct cursor place_of = locate(copy, copy + kept);
        cb_issues_add(issues, arena, place_of.line, place_of.column,
                      "file of more than %d bytes: no recipe or setting needs that many",
                      CB_YAML_BYTES_MAX);
    }
    return issues->count == before ? root : NULL;
}
