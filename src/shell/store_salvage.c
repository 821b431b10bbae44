/* SPDX-License-Identifier: MIT */
/* Pages, cells and records are laid out as https://www.sqlite.org/fileformat2.html says (1.5
 * and 2.1; 4.1 for the -wal). Nothing in them is trusted: what lies outside its page is no row. */
#include "shell/store_salvage.h"

#include <errno.h>
#include <fcntl.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/mem.h"
#include "base/utf8.h"
#include "base/vec.h"
#include "shell/migrate.h"
#include "shell/store_file.h"
#include "shell/store_internal.h"
#include "shell/store_swap.h"

#define PAGE_USUAL     4096
#define PAGE_MAX       65536
#define PAYLOAD_MAX    (1 << 20) /* of a row; a recipe is at most 64 KiB */
#define LEAF           0x0d      /* of a table */
#define HEAD_SIZE      100       /* before the first page's own */
#define WAL_HEAD       32
#define FRAME_HEAD     24
#define COLUMNS_MAX    (CB_COL_SUM + 1)
#define ORIGIN_COLUMNS 4
#define ROW_MAX        INT64_C(1000000000000) /* as opening has it (store_damage.c) */

struct copy { /* of a page, in the -wal */
    uint64_t page;
    int64_t frame;
};

struct source {
    int file, wal;              /* wal -1: none */
    int64_t committed;          /* frames */
    CB_VEC(struct copy) copies; /* in those, by page */
    int64_t budget; /* bytes of rows still to be read: a hostile page may name one row many times */
    size_t page_size;
    int64_t pages, frames;
    bool newer, older, ours, cut; /* by its head */
    unsigned char page[PAGE_MAX];
    unsigned char payload[PAYLOAD_MAX];
};

struct value {
    enum { VALUE_NULL, VALUE_INT, VALUE_REAL, VALUE_TEXT, VALUE_BLOB } type;
    int64_t i;
    double d;
    const unsigned char *bytes;
    size_t length;
};

struct record {
    int64_t row;
    size_t count;
    struct value values[COLUMNS_MAX];
};

static uint64_t big_endian(const unsigned char *bytes, size_t length)
{
    uint64_t number = 0;
    for (size_t i = 0; i < length; i++) {
        number = number << 8 | bytes[i];
    }
    return number;
}

/* Bytes taken, 0: it does not end in time. */
static size_t varint(const unsigned char *bytes, size_t left, uint64_t *number)
{
    *number = 0;
    for (size_t i = 0; i < 9 && i < left; i++) {
        if (i == 8) {
            *number = *number << 8 | bytes[i];
            return 9;
        }
        *number = *number << 7 | (bytes[i] & 0x7f);
        if (bytes[i] < 0x80) {
            return i + 1;
        }
    }
    return 0;
}

static bool read_at(int fd, void *into, size_t length, int64_t at)
{
    size_t done = 0;
    while (fd >= 0 && done < length) {
        const ssize_t got = pread(fd, (char *)into + done, length - done, at + (int64_t)done);
        if (got <= 0 && !(got < 0 && errno == EINTR)) {
            break;
        }
        done += got > 0 ? (size_t)got : 0;
    }
    return fd >= 0 && done == length;
}

/* number from 0; the frames of the -wal follow the pages of the file. */
static bool read_page(const struct source *source, int64_t number, unsigned char *into)
{
    const int64_t size = (int64_t)source->page_size;
    if (number < source->pages) {
        return read_at(source->file, into, source->page_size, number * size);
    }
    return read_at(source->wal, into, source->page_size,
                   WAL_HEAD + (number - source->pages) * (size + FRAME_HEAD) + FRAME_HEAD);
}

static int by_page(const void *left, const void *right)
{
    const struct copy *a = left;
    const struct copy *b = right;
    return a->page != b->page ? (a->page > b->page) - (a->page < b->page)
                              : (a->frame > b->frame) - (a->frame < b->frame);
}

/* Which frames of the -wal were committed: those of its own round, up to the last that ends a
 * transaction; and which page each of them holds. */
static void read_frames(struct source *source)
{
    unsigned char head[WAL_HEAD] = {0};
    const bool has_head = read_at(source->wal, head, sizeof head, 0);
    for (int64_t frame = 0; has_head && frame < source->frames; frame++) {
        unsigned char bytes[FRAME_HEAD];
        const int64_t at = WAL_HEAD + frame * ((int64_t)source->page_size + FRAME_HEAD);
        if (!read_at(source->wal, bytes, sizeof bytes, at) ||
            memcmp(bytes + 8, head + 16, 8) != 0) { /* the salts */
            break;
        }
        cb_vec_push(&source->copies, ((struct copy){big_endian(bytes, 4), frame}));
        source->committed = big_endian(bytes + 4, 4) != 0 ? frame + 1 : source->committed;
    }
    source->copies.count = (size_t)source->committed;
    if (source->copies.count > 1) {
        qsort(source->copies.items, source->copies.count, sizeof *source->copies.items, by_page);
    }
}

/* Where the newest copy of a page lies: its last frame that was committed, else the file. */
static int64_t newest_copy(const struct source *source, uint64_t page)
{
    size_t low = 0;
    size_t high = source->copies.count;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (source->copies.items[middle].page <= page) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    const bool there = low > 0 && source->copies.items[low - 1].page == page;
    return there ? source->pages + source->copies.items[low - 1].frame : (int64_t)page - 1;
}

/* The payload of a cell, whole; NULL: it is not there. */
static const unsigned char *payload_of(struct source *source, const unsigned char *cell,
                                       size_t left, size_t length)
{
    const size_t usable = source->page_size;
    const size_t most = usable - 35;
    size_t local = length;
    if (length > most) {
        const size_t least = (usable - 12) * 32 / 255 - 23;
        const size_t some = least + (length - least) % (usable - 4);
        local = some <= most ? some : least;
    }
    if (length == 0 || length > PAYLOAD_MAX || local + (local < length ? 4 : 0) > left ||
        source->budget < (int64_t)length) {
        return NULL;
    }
    source->budget -= (int64_t)length;
    if (local == length) {
        return cell;
    }
    memcpy(source->payload, cell, local);
    uint64_t next = big_endian(cell + local, 4);
    unsigned char *page = cb_mem_new(source->page_size, 1);
    while (local < length && next != 0 && read_page(source, newest_copy(source, next), page)) {
        const size_t more = length - local < usable - 4 ? length - local : usable - 4;
        memcpy(source->payload + local, page + 4, more);
        local += more;
        next = big_endian(page, 4);
    }
    free(page);
    return local == length ? source->payload : NULL;
}

static bool read_value(uint64_t type, const unsigned char *body, size_t left, struct value *value,
                       size_t *length)
{
    static const unsigned char sizes[] = {0, 1, 2, 3, 4, 6, 8, 8, 0, 0};
    *value = (struct value){.type = VALUE_NULL};
    if (type == 10 || type == 11 || (type >= 12 && (type - 12) / 2 > left)) {
        return false;
    }
    if (type >= 12) {
        *length = (size_t)((type - 12) / 2);
        value->type = type % 2 == 0 ? VALUE_BLOB : VALUE_TEXT;
        value->bytes = body;
        value->length = *length;
        return true;
    }
    *length = sizes[type];
    if (*length > left) {
        return false;
    }
    uint64_t bits = big_endian(body, *length);
    if (type == 7) {
        value->type = VALUE_REAL;
        memcpy(&value->d, &bits, sizeof bits);
    } else if (type != 0) {
        const unsigned missing = (unsigned)(8 - *length) * 8;
        value->type = VALUE_INT;
        value->i = type >= 8                    ? (int64_t)type - 8
                   : missing == 0               ? (int64_t)bits
                   : bits >> (63 - missing) & 1 ? (int64_t)(bits | ~UINT64_C(0) << (64 - missing))
                                                : (int64_t)bits;
    }
    return true;
}

static bool read_record(const unsigned char *payload, size_t length, struct record *record)
{
    uint64_t head;
    size_t at = varint(payload, length, &head);
    if (at == 0 || head > length) {
        return false;
    }
    size_t body = (size_t)head;
    record->count = 0;
    while (at < head) {
        uint64_t type;
        size_t size;
        const size_t taken = varint(payload + at, (size_t)head - at, &type);
        if (taken == 0 || record->count == COLUMNS_MAX ||
            !read_value(type, payload + body, length - body, &record->values[record->count],
                        &size)) {
            return false;
        }
        record->count++;
        at += taken;
        body += size;
    }
    return true;
}

/* ---- Into a fresh log ---- */

struct saving {
    struct source *source;
    struct cb_store *store;
    sqlite3_stmt *event, *origin;
    struct cb_salvage *found;
    bool failed;
};

static void bind(sqlite3_stmt *stmt, int at, const struct value *value)
{
    switch (value->type) {
    case VALUE_NULL:
        sqlite3_bind_null(stmt, at);
        break;
    case VALUE_INT:
        sqlite3_bind_int64(stmt, at, value->i);
        break;
    case VALUE_REAL:
        sqlite3_bind_double(stmt, at, value->d);
        break;
    case VALUE_TEXT:
        sqlite3_bind_text64(stmt, at, (const char *)value->bytes, value->length, SQLITE_STATIC,
                            SQLITE_UTF8);
        break;
    case VALUE_BLOB:
        sqlite3_bind_blob64(stmt, at, value->bytes, value->length, SQLITE_STATIC);
        break;
    }
}

/* The columns as the table has them (shell/migrate.c). */
static const enum cb_store_column laid_out[COLUMNS_MAX] = {
    CB_COL_ROW,    CB_COL_ID,     CB_COL_AT,    CB_COL_EVENT,        CB_COL_UNIT,    CB_COL_FIGURE,
    CB_COL_STAGE,  CB_COL_COAT,   CB_COL_FOUND, CB_COL_ON_AT,        CB_COL_ON_PM_S, CB_COL_PLACE,
    CB_COL_TEMP_C, CB_COL_RH_PCT, CB_COL_AIR,   CB_COL_CLIMATE_FROM, CB_COL_OF,      CB_COL_FIELDS,
    CB_COL_PRESS,  CB_COL_ORIGIN, CB_COL_SEQ,   CB_COL_BOOT_MS,      CB_COL_SUM,
};

/* A whole number in a column of reals lies there as one; in a row's sum it is a real. */
static void make_real(struct record *record)
{
    for (size_t i = 0; i < record->count; i++) {
        struct value *value = &record->values[i];
        const enum cb_store_column column = laid_out[i];
        if (value->type == VALUE_INT &&
            (column == CB_COL_ON_PM_S || column == CB_COL_TEMP_C || column == CB_COL_RH_PCT)) {
            *value = (struct value){.type = VALUE_REAL, .d = (double)value->i};
        }
    }
}

/* The statement takes it only when its sum is right. */
static void save_record(struct saving *saving, struct record *record)
{
    const bool is_event = record->count == COLUMNS_MAX;
    if ((!is_event && record->count != ORIGIN_COLUMNS) || record->row < 1 ||
        record->row > ROW_MAX) {
        return;
    }
    sqlite3_stmt *stmt = is_event ? saving->event : saving->origin;
    record->values[0] = (struct value){.type = VALUE_INT, .i = record->row};
    if (is_event) {
        make_real(record);
    }
    for (size_t i = 0; i < record->count; i++) {
        bind(stmt, (is_event ? (int)laid_out[i] : (int)i) + 1, &record->values[i]);
    }
    const int code = sqlite3_step(stmt);
    /* what is no row of ours breaks a rule of the table, and is none */
    saving->failed = saving->failed || (code != SQLITE_DONE && (code & 0xff) != SQLITE_CONSTRAINT);
    if (code == SQLITE_DONE && is_event && sqlite3_changes(saving->store->db) > 0) {
        saving->found->saved++;
    }
    if (code == SQLITE_DONE && is_event && record->row > 0 &&
        sqlite3_changes(saving->store->db) > 0 && (size_t)record->row > saving->found->known) {
        saving->found->known = (size_t)record->row;
    }
    sqlite3_reset(stmt);
}

static void look_at_page(struct saving *saving, int64_t number)
{
    struct source *source = saving->source;
    const size_t size = source->page_size;
    const size_t head = number == 0 ? HEAD_SIZE : 0;
    if (!read_page(source, number, source->page) || source->page[head] != LEAF) {
        return;
    }
    const size_t cells = (size_t)big_endian(source->page + head + 3, 2);
    for (size_t i = 0; i < cells && !saving->failed && head + 8 + 2 * i + 2 <= size; i++) {
        struct record record;
        const size_t at = (size_t)big_endian(source->page + head + 8 + 2 * i, 2);
        uint64_t length, row;
        size_t taken = at < size ? varint(source->page + at, size - at, &length) : 0;
        const size_t more =
            taken == 0 ? 0 : varint(source->page + at + taken, size - at - taken, &row);
        if (more == 0 || length > PAYLOAD_MAX) {
            continue;
        }
        taken += more;
        const unsigned char *payload =
            payload_of(source, source->page + at + taken, size - at - taken, (size_t)length);
        record.row = (int64_t)row;
        if (payload != NULL && read_record(payload, (size_t)length, &record)) {
            save_record(saving, &record);
        }
    }
}

static enum cb_status open_source(struct source *source, const char *path, struct cb_err *err)
{
    struct cb_arena arena = {0};
    unsigned char head[HEAD_SIZE] = {0};
    struct stat status = {0};
    source->file = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    source->wal = open(cb_arena_printf(&arena, "%s-wal", path),
                       O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOFOLLOW);
    if (source->file < 0 || fstat(source->file, &status) != 0 || !S_ISREG(status.st_mode)) {
        cb_err_set(err, CB_IO, "%s: can't be read: %s", cb_utf8_clean(&arena, path, 200),
                   source->file < 0 ? strerror(errno) : "no regular file");
        cb_arena_fini(&arena);
        return CB_IO;
    }
    cb_arena_fini(&arena);
    read_at(source->file, head, sizeof head, 0);
    source->ours = big_endian(head + 68, 4) == CB_LOG_APPLICATION_ID;
    source->newer = big_endian(head + 68, 4) == CB_LOG_APPLICATION_ID &&
                    big_endian(head + 60, 4) > cb_migrate_step_count;
    source->older = source->ours && big_endian(head + 60, 4) < cb_migrate_step_count;
    const size_t size = (size_t)big_endian(head + 16, 2);
    source->page_size = size == 1 ? PAGE_MAX : size;
    if (size < 512 || (size & (size - 1)) != 0) {
        source->page_size = PAGE_USUAL;
    }
    source->pages = status.st_size / (int64_t)source->page_size;
    source->cut = source->ours && source->pages < (int64_t)big_endian(head + 28, 4);
    if (source->wal >= 0 && fstat(source->wal, &status) == 0 && S_ISREG(status.st_mode) &&
        status.st_size > WAL_HEAD) {
        source->frames = (status.st_size - WAL_HEAD) / ((int64_t)source->page_size + FRAME_HEAD);
        read_frames(source);
    }
    source->budget = 4 * (source->pages + source->frames) * (int64_t)source->page_size;
    return CB_OK;
}

static enum cb_status save_all(struct saving *saving, struct cb_err *err)
{
    /* parameter n + 1 is column n */
#define SUMMED "?1,?2,?3,?4,?5,?6,?7,?8,?9,?10,?11,?12,?13,?14,?15,?16,?17,?18,?19,?20,?21,?22"
    static const char event[] = "INSERT OR IGNORE INTO event(" CB_STORE_COLUMNS ") SELECT " SUMMED
                                ",?23 WHERE ?23 IS row_sum(" SUMMED ")";
#undef SUMMED
    static const char origin[] = "INSERT OR IGNORE INTO origin SELECT ?1,?2,?3,?4"
                                 " WHERE ?4 IS row_sum(?1,?2,?3)";
    static const char orphans[] =
        "UPDATE event SET origin = NULL, seq = NULL, boot_ms = NULL"
        " WHERE origin IS NOT NULL AND origin NOT IN (SELECT origin FROM origin)";
    /* The fresh log is whole: its rows are numbered without a gap, and their sums say so. */
    static const char renumber[] =
        "CREATE TEMP TABLE place(old INTEGER PRIMARY KEY, new INTEGER);"
        "INSERT INTO place SELECT row, row_number() OVER (ORDER BY row) FROM event;"
        "UPDATE event SET row = (SELECT new FROM place WHERE old = row);"
        "DROP TABLE place;"
        "UPDATE event SET sum = row_sum(row, id, at, event, unit, press, origin, seq, boot_ms, "
        "figure,"
        " stage, coat, found, on_at, on_pm_s, place, temp_c, rh_pct, air, climate_from, of, "
        "fields);"
        "UPDATE unit_sum SET rows_xor = (SELECT row_xor(sum) FROM event WHERE"
        " event.unit = unit_sum.unit);";
    sqlite3 *db = saving->store->db;
    bool good = sqlite3_exec(db, "BEGIN IMMEDIATE", NULL, NULL, NULL) == SQLITE_OK &&
                sqlite3_prepare_v2(db, event, -1, &saving->event, NULL) == SQLITE_OK &&
                sqlite3_prepare_v2(db, origin, -1, &saving->origin, NULL) == SQLITE_OK;
    /* What was committed last comes first, what never was last: a row that is there is kept. */
    const struct source *source = saving->source;
    const int64_t parts[][2] = {
        {source->pages, source->pages + source->committed},
        {0, source->pages},
        {source->pages + source->committed, source->pages + source->frames}};
    for (size_t part = 0; part < sizeof parts / sizeof *parts; part++) {
        for (int64_t i = parts[part][1]; good && i-- > parts[part][0];) {
            look_at_page(saving, i);
            good = !saving->failed;
        }
    }
    /* an event whose origin is lost stands as one from elsewhere */
    if (good && (good = sqlite3_exec(db, orphans, NULL, NULL, NULL) == SQLITE_OK)) {
        saving->found->nowhere = (size_t)sqlite3_changes(db);
    }
    good = good && sqlite3_exec(db, renumber, NULL, NULL, NULL) == SQLITE_OK &&
           sqlite3_exec(db, "COMMIT", NULL, NULL, NULL) == SQLITE_OK;
    const enum cb_status status = good ? CB_OK : cb_store_fault(saving->store, err);
    sqlite3_finalize(saving->event);
    sqlite3_finalize(saving->origin);
    return status;
}

enum cb_status cb_store_salvage(const char *path, const char *into, struct cb_store **store,
                                struct cb_salvage *found, struct cb_err *err)
{
    struct source *source = cb_mem_new(1, sizeof *source);
    struct saving saving = {.source = source, .found = found};
    *found = (struct cb_salvage){0};
    *store = NULL;
    source->wal = -1;
    enum cb_status status = open_source(source, path, err);
    found->newer = source->newer;
    found->older = source->older;
    found->cut = source->cut;
    if (status == CB_OK) {
        status = cb_store_open(into, CB_STORE_APPEND, &saving.store, err);
    }
    if (status == CB_OK) {
        status = save_all(&saving, err);
    }
    if (status == CB_OK && found->saved == 0 && !source->ours) {
        struct cb_arena arena = {0};
        status = cb_err_set(err, CB_DATA, "%s: nothing in it is an event of a coatbell log",
                            cb_utf8_clean(&arena, path, 200));
        cb_arena_fini(&arena);
    }
    if (status == CB_OK) {
        *store = saving.store;
    } else {
        cb_store_close(saving.store);
    }
    if (source->file >= 0) {
        close(source->file);
    }
    if (source->wal >= 0) {
        close(source->wal);
    }
    cb_vec_free(&source->copies);
    free(source);
    return status;
}

const char *cb_salvage_says(const struct cb_salvage *found, struct cb_arena *arena)
{
    if (found->saved == 0) {
        return "no event can be read; `coatbell log restore FILE` puts a backup in its place, "
               "where "
               "there is one";
    }
    return cb_arena_printf(arena, "%zu of %zu events can be read%s", found->saved, found->known,
                           found->cut ? "; the file is cut short" : "");
}

enum cb_status cb_store_replace(const char *path, struct cb_arena *arena, const char **kept,
                                struct cb_salvage *found, struct cb_err *err)
{
    struct cb_store *store = NULL;
    struct cb_store_swap swap;
    const char *real;
    *kept = NULL;
    enum cb_status status = cb_store_file_find(path, false, arena, &real, err);
    if (status != CB_OK) {
        return status;
    }
    status = cb_store_swap_begin(&swap, real, "damaged", arena, err);
    if (status == CB_OK) {
        status = cb_store_salvage(swap.kept, swap.fresh, &store, found, err);
        if (status == CB_DATA) {
            cb_err_set(err, CB_DATA, "%s: nothing in it is an event of a coatbell log",
                       cb_utf8_clean(arena, path, 200));
        }
    }
    /* all of it in the file itself before it takes the other's place */
    if (status == CB_OK && sqlite3_wal_checkpoint_v2(store->db, NULL, SQLITE_CHECKPOINT_TRUNCATE,
                                                     NULL, NULL) != SQLITE_OK) {
        status = cb_store_fault(store, err);
    }
    cb_store_close(store);
    if (status == CB_OK) {
        status = cb_store_swap_commit(&swap, err);
        *kept = swap.kept;
    }
    cb_store_swap_end(&swap);
    return status;
}
