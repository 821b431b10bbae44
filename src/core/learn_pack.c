/* SPDX-License-Identifier: MIT */
/* The learner as bytes: its rows, and the tables that cost to make. Everything else is made again
 * of these, so that what is read can't contradict itself. */
#include <math.h>
#include <stdint.h>
#include <string.h>

#include "base/seal.h"
#include "core/learn_internal.h"

/* "cblearn" and an edition, which moves when the bytes or the arithmetic behind the tables change.
 * A machine of the other byte order reads another number. */
#define EDITION UINT64_C(0x63626C6561726E01)

/* What the tables were made with. */
struct made {
    double fade, mis_key, weak, bench_sd, bottle_sd, forgotten, grid_low, grid_step;
    double s[CB_LEARN_S_COUNT];
    uint64_t window_step, table_size, row_size;
};

struct head {
    uint64_t edition;
    struct made made;
    uint64_t row_count, pot_count, table_count, key_length;
};

#define NO_POT UINT32_MAX

struct packed_row {
    double pot_sd, median_min, lo, hi, value;
    uint32_t pot; /* its place among the keys */
    int32_t technique;
    uint32_t kind, zero;
};

/* One number beside the other: what is compared and summed has no padding. */
_Static_assert(sizeof(struct head) ==
                   (5 + sizeof(struct made) / sizeof(uint64_t)) * sizeof(uint64_t),
               "head has no padding");
_Static_assert(sizeof(struct made) == (8 + CB_LEARN_S_COUNT + 3) * sizeof(uint64_t),
               "made has no padding");
_Static_assert(sizeof(struct packed_row) == 5 * sizeof(double) + 4 * sizeof(uint32_t),
               "packed_row has no padding");

/* A pot that is known: its own table, then what it says of the bench. */
#define POT_TABLES (2 * sizeof(struct grid_table))

static struct made made_with(const struct cb_learn_settings *settings)
{
    struct made made = {
        .fade = settings->fade,
        .mis_key = settings->mis_key,
        .weak = settings->weak,
        .bench_sd = settings->bench_sd,
        .bottle_sd = LEARN_BOTTLE_SD,
        .forgotten = LEARN_FORGOTTEN,
        .grid_low = GRID_LOW,
        .grid_step = GRID_STEP,
        .window_step = LEARN_WINDOW_STEP,
        .table_size = sizeof(struct grid_table),
        .row_size = sizeof(struct packed_row),
    };
    memcpy(made.s, cb_learn_s, sizeof made.s);
    return made;
}

static bool same_made(const void *a, const void *b)
{
    return memcmp(a, b, sizeof(struct made)) == 0;
}

static void put(unsigned char **at, const void *bytes, size_t length)
{
    memcpy(*at, bytes, length);
    *at += length;
}

/* Numbers the pots that rows name, in the order of their keys: of others nothing is known. */
static void number_pots(const struct cb_learn *learn, struct head *head)
{
    for (size_t i = 0; i < learn->pots.count; i++) {
        learn->pots.items[i]->number = NO_POT;
    }
    for (size_t i = 0; i < learn->rows.count; i++) {
        if (learn->rows.items[i].pot != NULL) {
            learn->rows.items[i].pot->number = 0;
        }
    }
    for (size_t i = 0; i < learn->pots.count; i++) {
        struct learn_pot *pot = learn->pots.items[i];
        if (pot->number != NO_POT) {
            pot->number = head->pot_count++;
            head->table_count += pot->known ? 1 : 0;
            head->key_length += strlen(pot->key) + 1;
        }
    }
}

const void *cb_learn_pack(const struct cb_learn *learn, struct cb_arena *arena, size_t *length)
{
    const struct made usual = made_with(&cb_learn_default);
    struct head head = {
        .edition = EDITION,
        .made = made_with(&learn->settings),
        .row_count = learn->rows.count,
    };
    if (learn->settings.nested || !same_made(&head.made, &usual) || learn->rows.count >= NO_POT) {
        return NULL;
    }
    number_pots(learn, &head);
    *length = sizeof head + learn->rows.count * sizeof(struct packed_row) +
              (size_t)head.table_count * POT_TABLES + (size_t)head.key_length + CB_SEAL_SIZE;
    unsigned char *bytes = cb_arena_alloc(arena, *length, 1), *at = bytes;
    put(&at, &head, sizeof head);
    for (size_t i = 0; i < learn->rows.count; i++) {
        const struct learn_kept *kept = &learn->rows.items[i];
        const struct packed_row row = {
            .pot_sd = kept->pot_sd,
            .median_min = kept->median_min,
            .lo = kept->lo,
            .hi = kept->hi,
            .value = kept->value,
            .pot = kept->pot != NULL ? (uint32_t)kept->pot->number : NO_POT,
            .technique = kept->technique,
            .kind = kept->kind,
        };
        put(&at, &row, sizeof row);
    }
    for (size_t i = 0; i < learn->pots.count; i++) {
        const struct learn_pot *pot = learn->pots.items[i];
        if (pot->known) {
            put(&at, &pot->leaves.items[0]->table, sizeof(struct grid_table));
            put(&at, &pot->up, sizeof(struct grid_table));
        }
    }
    for (size_t i = 0; i < learn->pots.count; i++) {
        const struct learn_pot *pot = learn->pots.items[i];
        if (pot->number != NO_POT) {
            put(&at, pot->key, strlen(pot->key) + 1);
        }
    }
    cb_seal_put(bytes, *length);
    return bytes;
}

/* Where the parts begin. */
struct parts {
    struct head head;
    const unsigned char *rows, *tables, *keys;
};

static bool part(size_t *rest, uint64_t count, size_t size)
{
    if (count > *rest / size) {
        return false;
    }
    *rest -= (size_t)count * size;
    return true;
}

static bool find_parts(const unsigned char *bytes, size_t length, struct parts *parts)
{
    const struct made usual = made_with(&cb_learn_default);
    struct head *head = &parts->head;
    if (length < sizeof *head + CB_SEAL_SIZE) {
        return false;
    }
    memcpy(head, bytes, sizeof *head);
    if (head->edition != EDITION || !same_made(&head->made, &usual)) {
        return false;
    }
    size_t rest = length - sizeof *head - CB_SEAL_SIZE;
    if (!part(&rest, head->row_count, sizeof(struct packed_row)) ||
        !part(&rest, head->table_count, POT_TABLES) || !part(&rest, head->key_length, 1) ||
        rest != 0 || head->pot_count > head->row_count || head->table_count > head->pot_count) {
        return false;
    }
    parts->rows = bytes + sizeof *head;
    parts->tables = parts->rows + (size_t)head->row_count * sizeof(struct packed_row);
    parts->keys = parts->tables + (size_t)head->table_count * POT_TABLES;
    return cb_seal_holds(bytes, length);
}

/* The pots, if their keys are there and in order. */
static bool unpack_pots(struct cb_learn *learn, const struct parts *parts)
{
    const char *key = (const char *)parts->keys, *last = NULL;
    size_t left = (size_t)parts->head.key_length;
    for (uint64_t i = 0; i < parts->head.pot_count; i++) {
        const char *stop = memchr(key, '\0', left);
        if (stop == NULL || (last != NULL && strcmp(last, key) >= 0)) {
            return false;
        }
        cb_learn_pot_get(learn, key)->number = 0;
        last = key;
        left -= (size_t)(stop + 1 - key);
        key = stop + 1;
    }
    return left == 0;
}

/* The rows, into the lists they make, if every one names a pot that is there and every pot is
 * named. */
static bool unpack_rows(struct cb_learn *learn, const struct parts *parts)
{
    for (size_t i = 0; i < parts->head.row_count; i++) {
        struct packed_row packed;
        memcpy(&packed, parts->rows + i * sizeof packed, sizeof packed);
        if (packed.kind > CB_ROW_FORGET || packed.zero != 0 ||
            (packed.pot != NO_POT && packed.pot >= learn->pots.count)) {
            return false;
        }
        struct learn_pot *pot = packed.pot != NO_POT ? learn->pots.items[packed.pot] : NULL;
        if (pot != NULL) {
            pot->number = 1;
        }
        const struct cb_row row = {
            .kind = (enum cb_row_kind)packed.kind,
            .pot = pot != NULL ? pot->key : NULL,
            .pot_sd = packed.pot_sd,
            .median_min = packed.median_min,
            .lo = packed.lo,
            .hi = packed.hi,
            .value = packed.value,
            .technique = packed.technique,
        };
        cb_learn_take(learn, &row, pot);
    }
    for (size_t i = 0; i < learn->pots.count; i++) {
        if (learn->pots.items[i]->number == 0) {
            return false;
        }
    }
    return true;
}

/* The log chance of rows within the range of double comes to 1e8 in a table's worst cell, and all
 * that fades to twenty times as much: beyond this no sum of tables can overflow. */
#define TABLE_MOST 1e12

static bool unpack_table(struct grid_table *table, const unsigned char *bytes)
{
    bool sound = true;
    memcpy(table, bytes, sizeof *table);
    for (int s = 0; s < CB_LEARN_S_COUNT; s++) {
        for (int k = 0; k < GRID_LINE; k++) {
            sound = sound && fabs(table->v[s][k]) <= TABLE_MOST;
        }
    }
    return sound;
}

static bool unpack_tables(struct cb_learn *learn, const struct parts *parts)
{
    const unsigned char *at = parts->tables, *end = parts->keys;
    for (size_t i = 0; i < learn->pots.count; i++) {
        struct learn_pot *pot = learn->pots.items[i];
        cb_learn_pot_settle(pot);
        if (!pot->known) {
            continue;
        }
        struct learn_leaf *leaf = pot->leaves.items[0];
        if (at == end || !unpack_table(&leaf->table, at) ||
            !unpack_table(&pot->up, at + sizeof leaf->table)) {
            return false;
        }
        at += POT_TABLES;
        leaf->applied = leaf->ops.count;
        leaf->start = cb_learn_window_start(learn, leaf->ops.count);
    }
    return at == end;
}

struct cb_learn *cb_learn_unpack(const void *bytes, size_t length)
{
    struct parts parts;
    if (!find_parts(bytes, length, &parts)) {
        return NULL;
    }
    struct cb_learn *learn = cb_learn_new(NULL);
    if (!unpack_pots(learn, &parts) || !unpack_rows(learn, &parts) ||
        !unpack_tables(learn, &parts)) {
        cb_learn_free(learn);
        return NULL;
    }
    cb_learn_total_anew(learn);
    learn->generation = 1;
    return learn;
}
