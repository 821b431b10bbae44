/* SPDX-License-Identifier: MIT */
#include "shell/transfer.h"

#include <limits.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/str.h"
#include "base/utf8.h"
#include "base/vec.h"
#include "shell/csv.h"
#include "shell/jsonl.h"
#include "shell/store_scan.h"

#define LINES_A_SCRATCH 256
#define LINES_A_TELL    10000
#define READ_SIZE       65536

/* ---- In ---- */

struct taking {
    const struct cb_transfer_in *in;
    struct cb_store *store;
    struct cb_arena *arena;
    struct cb_transfer_taken *taken;
    struct cb_arena scratch;
    char *bytes; /* what was read and not yet gone through: from start to end */
    size_t start, end;
    size_t dropped; /* bytes of the line at start that were too many to keep */
    bool ended;
    int number;
    const char *line; /* the one found, without its newline */
    size_t length;    /* of the whole, also when more than is kept */
};

long cb_transfer_read_text(void *context, char *bytes, size_t size, struct cb_err *err)
{
    struct cb_transfer_text *text = context;
    size_t part = text->left < size ? text->left : size;
    (void)err;
    if (part > 0) {
        memcpy(bytes, text->at, part);
    }
    text->at += part;
    text->left -= part;
    return (long)part;
}

/* Room for a part is always there: a line that has grown too long is let go but for its length. */
static enum cb_status read_part(struct taking *taking, struct cb_err *err)
{
    size_t kept = taking->end - taking->start;
    if (kept > CB_JSONL_LINE_MAX) {
        taking->dropped += kept;
        kept = 0;
    } else if (kept > 0 && taking->start > 0) {
        memmove(taking->bytes, taking->bytes + taking->start, kept);
    }
    taking->start = 0;
    long got = taking->in->read(taking->in->context, taking->bytes + kept, READ_SIZE, err);
    taking->end = kept + (got > 0 ? (size_t)got : 0);
    taking->ended = got == 0;
    return got < 0 ? CB_IO : CB_OK;
}

/* false in *found: there is none any more. */
static enum cb_status next_line(struct taking *taking, bool *found, struct cb_err *err)
{
    size_t looked = 0; /* bytes of the line in which no newline is */
    const char *newline = NULL;
    while (!taking->ended) {
        size_t kept = taking->end - taking->start;
        newline = memchr(taking->bytes + taking->start + looked, '\n', kept - looked);
        if (newline) {
            break;
        }
        looked = kept > CB_JSONL_LINE_MAX ? 0 : kept;
        enum cb_status status = read_part(taking, err);
        if (status != CB_OK) {
            return status;
        }
    }
    taking->line = taking->bytes + taking->start;
    size_t kept = newline ? (size_t)(newline - taking->line) : taking->end - taking->start;
    taking->length = taking->dropped + kept;
    *found = newline || taking->length > 0;
    taking->start += kept + (newline != NULL);
    taking->dropped = 0;
    taking->number += taking->number < INT_MAX;
    if (taking->number == 1 && kept >= 3 && memcmp(taking->line, "\xef\xbb\xbf", 3) == 0) {
        taking->line += 3; /* a byte order mark, as some editors put it */
        taking->length -= 3;
    }
    return CB_OK;
}

static const char log_head[] = "SQLite format 3"; /* sqlite.org/fileformat2.html, 1.3 */

static bool is_blank(const char *line, size_t length)
{
    if (length > CB_JSONL_LINE_MAX) { /* not all of it is kept */
        return false;
    }
    for (size_t i = 0; i < length; i++) {
        if (line[i] != ' ' && line[i] != '\t' && line[i] != '\r') {
            return false;
        }
    }
    return true;
}

/* NULL in *event: the line was left. */
static void take_line(struct taking *taking, const struct cb_event **event)
{
    struct cb_transfer_left *left = &taking->taken->left;
    struct cb_err fault = {0};
    int column;
    enum cb_status status =
        cb_jsonl_decode_at(taking->line, taking->length, &taking->scratch, event, &column, &fault);
    if (status == CB_OK) {
        status = cb_store_takes(taking->store, *event, &fault);
        column = status == CB_OK ? 0 : cb_jsonl_column(taking->line, taking->length, "seq");
    }
    if (status != CB_OK) {
        *event = NULL;
        left->count++;
        cb_issues_add(&left->first, taking->arena, taking->number, column, "%s", fault.text);
    }
}

static enum cb_status take_next(void *context, const struct cb_event **event, struct cb_err *err)
{
    struct taking *taking = context;
    struct cb_transfer_taken *taken = taking->taken;
    *event = NULL;
    for (;;) {
        bool found;
        enum cb_status status = next_line(taking, &found, err);
        if (status != CB_OK) {
            return status;
        }
        if (!found) {
            break;
        }
        if (taking->number == 1 && taking->length >= sizeof log_head - 1 &&
            memcmp(taking->line, log_head, sizeof log_head - 1) == 0) {
            return cb_err_set(err, CB_DATA,
                              "a log or another database, no lines of JSON: `coatbell log export "
                              "--log FILE` writes the lines of a log, and `coatbell log restore "
                              "FILE` puts it in the place of yours");
        }
        if (is_blank(taking->line, taking->length)) {
            continue;
        }
        taken->lines++;
        if (taken->lines % LINES_A_SCRATCH == 0) {
            cb_arena_fini(&taking->scratch);
        }
        if (taking->in->tell && taken->lines % LINES_A_TELL == 0) {
            taking->in->tell(taking->in->told, taken->lines);
        }
        take_line(taking, event);
        /* in vain once one was left, but it wants to be known which others would be */
        if (*event && !(taking->in->strict && taken->left.count > 0)) {
            return CB_OK;
        }
        *event = NULL;
    }
    return taking->in->strict && taken->left.count > 0
               ? cb_err_set(err, CB_DATA, "nothing was imported: mend the lines and try again")
               : CB_OK;
}

enum cb_status cb_transfer_in(struct cb_store *store, const struct cb_transfer_in *in,
                              struct cb_arena *arena, struct cb_transfer_taken *taken,
                              struct cb_err *err)
{
    struct taking taking = {.in = in, .store = store, .arena = arena, .taken = taken};
    *taken = (struct cb_transfer_taken){0};
    taking.bytes = cb_mem_new(CB_JSONL_LINE_MAX + READ_SIZE, 1);
    enum cb_status status = cb_store_import(store, take_next, &taking, &taken->added, err);
    if (status != CB_OK) {
        taken->added = 0;
    }
    free(taking.bytes);
    cb_arena_fini(&taking.scratch);
    return status;
}

/* ---- Out ---- */

/* As much of an event as its place in the fold order rests on. */
struct key {
    struct cb_event event; /* first: the sort hands back pointers to it */
    long long row;
    const struct key *double_of; /* an earlier one of the same id */
    char id[];
};

struct writing {
    enum cb_transfer_format format;
    bool (*write)(void *context, const char *bytes, size_t length);
    void *context;
    struct cb_arena *arena;
    struct cb_transfer_left *left;
    size_t count;
    struct cb_str line;
    struct cb_arena keys_arena, scratch;
    CB_VEC(struct key *) keys; /* in row order */
};

static int by_id_and_row(const void *left, const void *right)
{
    const struct key *a = *(const struct key *const *)left;
    const struct key *b = *(const struct key *const *)right;
    int order = strcmp(a->id, b->id);
    return order ? order : (a->row > b->row) - (a->row < b->row);
}

static void leave(struct writing *writing, long long row, const char *id, const char *why)
{
    struct cb_arena scratch = {0};
    writing->left->count++;
    cb_issues_add(&writing->left->first, writing->arena, 0, 0, "row %lld, id %s: %s", row,
                  id ? cb_utf8_clean(&scratch, id, CB_EVENT_ID_MAX) : "unknown", why);
    cb_arena_fini(&scratch);
}

static void note_key(struct writing *writing, const struct cb_scan_row *row)
{
    const struct cb_event *event = row->event;
    size_t size = strlen(event->id) + 1;
    struct key *key = cb_arena_alloc(&writing->keys_arena, 1, sizeof *key + size);
    const char *last =
        writing->keys.count ? writing->keys.items[writing->keys.count - 1]->event.machine : NULL;
    memcpy(key->id, event->id, size);
    key->row = row->row;
    key->event.id = key->id;
    key->event.at_ms = event->at_ms;
    key->event.seq = event->seq;
    key->event.machine = last && event->machine && strcmp(last, event->machine) == 0
                             ? last
                             : cb_arena_text(&writing->keys_arena, event->machine);
    cb_vec_push(&writing->keys, key);
}

static enum cb_status note_keys(struct writing *writing, struct cb_scan *scan, struct cb_err *err)
{
    const struct cb_scan_row *row;
    enum cb_status status;
    size_t count = 0;
    while ((status = cb_scan_next(scan, &row, err)) == CB_OK && row) {
        struct cb_err why = {0};
        cb_str_clear(&writing->line);
        if (!row->event) {
            leave(writing, row->row, row->id, row->why);
        } else if (cb_jsonl_encode_sure(row->event, &writing->scratch, &writing->line, &why) !=
                   CB_OK) {
            leave(writing, row->row, row->id, why.text);
        } else {
            note_key(writing, row);
        }
        if (++count % LINES_A_SCRATCH == 0) {
            cb_arena_fini(&writing->scratch);
        }
    }
    return status;
}

/* An index that is damaged lets an id in twice; import would skip the second. */
static void leave_doubles(struct writing *writing)
{
    size_t count = writing->keys.count, kept = 0;
    if (count < 2) {
        return;
    }
    struct key **by_id = cb_mem_new(count, sizeof(struct key *));
    memcpy(by_id, writing->keys.items, count * sizeof *by_id);
    qsort(by_id, count, sizeof *by_id, by_id_and_row);
    for (size_t i = 1; i < count; i++) {
        if (strcmp(by_id[i - 1]->id, by_id[i]->id) == 0) {
            by_id[i]->double_of = by_id[i - 1];
        }
    }
    free(by_id);
    for (size_t i = 0; i < count; i++) {
        struct key *key = writing->keys.items[i];
        if (key->double_of) {
            struct cb_err why = {0};
            cb_err_set(&why, CB_DATA, "id: row %lld has it already", key->double_of->row);
            leave(writing, key->row, key->id, why.text);
        } else {
            writing->keys.items[kept++] = key;
        }
    }
    writing->keys.count = kept;
}

static bool write_line(struct writing *writing, const struct cb_event *event)
{
    cb_str_clear(&writing->line);
    switch (writing->format) {
    case CB_TRANSFER_JSONL:
        cb_jsonl_encode(event, &writing->line);
        cb_str_add(&writing->line, "\n");
        break;
    case CB_TRANSFER_CSV:
        cb_csv_event(&writing->line, event);
        break;
    }
    writing->count++;
    return writing->write(writing->context, writing->line.text, writing->line.length);
}

static enum cb_status write_keys(struct writing *writing, struct cb_scan *scan, struct cb_err *err)
{
    enum cb_status status = CB_OK;
    size_t count = writing->keys.count;
    const struct cb_event **order = cb_mem_new(count + 1, sizeof(const struct cb_event *));
    for (size_t i = 0; i < count; i++) {
        order[i] = &writing->keys.items[i]->event;
    }
    cb_event_sort(order, count);
    for (size_t i = 0; status == CB_OK && i < count; i++) {
        const struct cb_scan_row *row;
        status = cb_scan_at(scan, ((const struct key *)order[i])->row, &row, err);
        if (status == CB_OK && row && row->event && !write_line(writing, row->event)) {
            status = CB_IO;
        }
    }
    free(order);
    return status;
}

enum cb_status cb_transfer_out(struct cb_store *store, enum cb_transfer_format format,
                               bool (*write)(void *context, const char *bytes, size_t length),
                               void *context, struct cb_arena *arena, size_t *events,
                               struct cb_transfer_left *left, struct cb_err *err)
{
    struct writing writing = {
        .format = format, .write = write, .context = context, .arena = arena, .left = left};
    struct cb_scan *scan;
    *left = (struct cb_transfer_left){0};
    enum cb_status status = cb_scan_open(store, &scan, err);
    if (status == CB_OK) {
        status = note_keys(&writing, scan, err);
    }
    if (status == CB_OK) {
        leave_doubles(&writing);
    }
    if (status == CB_OK && format == CB_TRANSFER_CSV) {
        cb_str_clear(&writing.line);
        cb_csv_event_head(&writing.line);
        status = write(context, writing.line.text, writing.line.length) ? CB_OK : CB_IO;
    }
    if (status == CB_OK) {
        status = write_keys(&writing, scan, err);
    }
    cb_scan_close(scan);
    cb_str_fini(&writing.line);
    cb_vec_free(&writing.keys);
    cb_arena_fini(&writing.keys_arena);
    cb_arena_fini(&writing.scratch);
    *events = writing.count;
    return status;
}
