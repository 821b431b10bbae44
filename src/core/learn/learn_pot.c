/* SPDX-License-Identifier: MIT */
#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "core/learn/learn_internal.h"

#define BOTTLE_SD   .10  /* a new bottle against the old: estimate */
#define FORGOTTEN   1e-9 /* what weighs less is not read */
#define WINDOW_STEP 128
#define CHECKPOINT  32

struct learn_pot *cb_learn_pot_new(const char *key)
{
    struct learn_pot *pot = cb_mem_new(1, sizeof *pot);
    pot->key = cb_mem_copy_text(key);
    pot->views = cb_mem_new(LEARN_VIEWS_MAX, sizeof *pot->views);
    pot->view_count = cb_mem_new(1, sizeof *pot->view_count);
    return pot;
}

void cb_learn_pot_free(struct learn_pot *pot)
{
    if (pot == NULL) {
        return;
    }
    cb_learn_pot_drop_views(pot);
    cb_vec_free(&pot->ops);
    cb_vec_free(&pot->given);
    free(pot->checkpoints[0].table);
    free(pot->checkpoints[1].table);
    free(pot->views);
    free(pot->view_count);
    free(pot->key);
    free(pot);
}

void cb_learn_pot_drop_views(const struct learn_pot *pot)
{
    for (size_t i = 0; i < *pot->view_count; i++) {
        cb_learn_view_free(pot->views[i]);
    }
    *pot->view_count = 0;
}

static size_t place_of(const struct cb_learn *learn, const char *key, bool *there)
{
    size_t low = 0, high = learn->pots.count;
    while (low < high) {
        size_t middle = (low + high) / 2;
        int order = strcmp(learn->pots.items[middle]->key, key);
        if (order == 0) {
            *there = true;
            return middle;
        }
        if (order < 0) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    *there = false;
    return low;
}

struct learn_pot *cb_learn_pot_find(const struct cb_learn *learn, const char *key)
{
    bool there = false;
    size_t at = key != NULL ? place_of(learn, key, &there) : 0;
    return there ? learn->pots.items[at] : NULL;
}

struct learn_pot *cb_learn_pot_get(struct cb_learn *learn, const char *key)
{
    bool there;
    size_t at = place_of(learn, key, &there);
    if (there) {
        return learn->pots.items[at];
    }
    struct learn_pot *pot = cb_learn_pot_new(key);
    cb_vec_push(&learn->pots, pot);
    memmove(learn->pots.items + at + 1, learn->pots.items + at,
            (learn->pots.count - 1 - at) * sizeof *learn->pots.items);
    learn->pots.items[at] = pot;
    return pot;
}

void cb_learn_pot_rewind(struct learn_pot *pot, size_t row)
{
    pot->changed = SIZE_MAX;
    pot->cursor = pot->ops.count;
    while (pot->cursor > 0 && pot->ops.items[pot->cursor - 1].row >= row) {
        pot->cursor--;
    }
    while (pot->given.count > 0 && pot->given.items[pot->given.count - 1].row >= row) {
        pot->given.count--;
    }
}

/* The same file taken twice says nothing new. */
void cb_learn_pot_give(struct learn_pot *pot, const struct learn_given *given)
{
    for (size_t i = 0; i < pot->given.count; i++) {
        struct learn_given *before = &pot->given.items[i];
        if (learn_same(before->a, given->a) && learn_same(before->c, given->c) &&
            learn_same(before->coats, given->coats) && before->technique == given->technique) {
            return;
        }
    }
    cb_vec_push(&pot->given, *given);
}

static double weight_of(const struct learn_given *given)
{
    return fmin(given->coats, CB_GIVEN_COATS);
}

/* Of an even law of that width the variance is its square over twelve: as wide a one is taken as
 * has the variance of all together. */
static struct learn_start pool(const struct learn_pot *pot)
{
    double weight = 0, middle = 0, variance = 0;
    for (size_t i = 0; i < pot->given.count; i++) {
        const struct learn_given *one = &pot->given.items[i];
        weight += weight_of(one);
        middle += weight_of(one) * (one->a + one->c) / 2;
    }
    if (!(weight > 0)) {
        return (struct learn_start){0};
    }
    middle /= weight;
    for (size_t i = 0; i < pot->given.count; i++) {
        const struct learn_given *one = &pot->given.items[i];
        const double off = (one->a + one->c) / 2 - middle, width = one->c - one->a;
        variance += weight_of(one) * (off * off + width * width / 12) / weight;
    }
    const double half = sqrt(3 * variance);
    return (struct learn_start){middle - half, middle + half,
                                (int)fmin(floor(weight), CB_GIVEN_COATS)};
}

static void note_change(struct learn_pot *pot, size_t at)
{
    pot->changed = at < pot->changed ? at : pot->changed;
}

void cb_learn_pot_push(struct learn_pot *pot, const struct learn_op *op)
{
    size_t at = pot->cursor++;
    if (at == pot->ops.count) {
        cb_vec_push(&pot->ops, *op);
        note_change(pot, at);
        return;
    }
    struct learn_op *old = &pot->ops.items[at];
    if (old->kind != op->kind || !learn_same(old->a, op->a) || !learn_same(old->c, op->c) ||
        !learn_same(old->eta, op->eta) || !learn_same(old->sd, op->sd)) {
        note_change(pot, at);
    }
    *old = *op;
}

/* Where reading of a list of so many starts: what lies before weighs less than FORGOTTEN. A
 * function of the length alone, so that a table does not depend on how it came about. */
static size_t window_start(double fade, size_t count)
{
    double window = fade > 0 ? ceil(log(FORGOTTEN) / log(fade)) : 1;
    if (!(fade < 1) || (double)count < window + WINDOW_STEP) {
        return 0;
    }
    return (count - (size_t)window) / WINDOW_STEP * WINDOW_STEP;
}

static void apply(const struct cb_learn *learn, const struct learn_op *op, struct grid_table *table)
{
    if (op->kind == CB_ROW_BOTTLE) {
        struct grid_table old = *table;
        cb_learn_grid_up(table, &old, cb_learn_kernel(learn, BOTTLE_SD));
    } else {
        const struct grid_row row = {op->a, op->c, op->eta};
        cb_learn_grid_add(table, &row, &learn->settings);
    }
}

void cb_learn_pot_own(const struct cb_learn *learn, const struct learn_pot *pot,
                      struct grid_table *table)
{
    memset(table, 0, sizeof *table);
    for (size_t i = window_start(learn->settings.fade, pot->ops.count); i < pot->ops.count; i++) {
        apply(learn, &pot->ops.items[i], table);
    }
}

/* What was given lies before the first of one's own coats. */
static void begin(const struct cb_learn *learn, struct learn_pot *pot, size_t start)
{
    const struct grid_row row = {pot->begun.a, pot->begun.c, 0};
    for (int i = 0; start == 0 && i < pot->begun.coats; i++) {
        cb_learn_grid_add(&pot->table, &row, &learn->settings);
    }
}

static void replay(const struct cb_learn *learn, struct learn_pot *pot)
{
    size_t count = pot->ops.count, keep = pot->changed;
    size_t start = window_start(learn->settings.fade, count);
    for (int i = 0; i < 2; i++) {
        if (start != pot->start || pot->checkpoints[i].applied > keep) {
            pot->checkpoints[i].applied = 0;
        }
    }
    if (start != pot->start || pot->applied > keep) {
        int newest = pot->checkpoints[1].applied > pot->checkpoints[0].applied;
        pot->applied = pot->checkpoints[newest].applied;
        if (pot->applied > 0) {
            pot->table = *pot->checkpoints[newest].table;
        } else {
            pot->applied = start;
            memset(&pot->table, 0, sizeof pot->table);
            begin(learn, pot, start);
        }
    }
    pot->start = start;
    while (pot->applied < count) {
        apply(learn, &pot->ops.items[pot->applied++], &pot->table);
        if (pot->applied % CHECKPOINT == 0 && count - pot->applied < 2 * CHECKPOINT) {
            int slot = pot->applied / CHECKPOINT % 2;
            if (pot->checkpoints[slot].table == NULL) {
                pot->checkpoints[slot].table = cb_mem_new(1, sizeof pot->table);
            }
            pot->checkpoints[slot].applied = pot->applied;
            *pot->checkpoints[slot].table = pot->table;
        }
    }
}

void cb_learn_pot_settle(const struct cb_learn *learn, struct learn_pot *pot)
{
    if (pot->cursor < pot->ops.count) {
        pot->ops.count = pot->cursor;
        note_change(pot, pot->cursor);
    }
    const struct learn_start begun = pool(pot);
    if (begun.coats != pot->begun.coats || !learn_same(begun.a, pot->begun.a) ||
        !learn_same(begun.c, pot->begun.c)) {
        pot->begun = begun;
        pot->start = SIZE_MAX; /* so that the table is made anew */
        note_change(pot, 0);
    }
    pot->counts = pot->ops.count > 0;
    for (size_t i = 0; i < pot->given.count; i++) {
        pot->counts = pot->counts || !pot->given.items[i].waits;
        pot->sd = pot->given.items[i].sd;
    }
    pot->known = pot->ops.count > 0 || begun.coats > 0;
    for (size_t i = pot->ops.count; i-- > 0;) {
        if (pot->ops.items[i].kind != CB_ROW_BOTTLE) {
            pot->sd = pot->ops.items[i].sd;
            break;
        }
    }
    if (pot->changed != SIZE_MAX) {
        replay(learn, pot);
        if (pot->known) {
            cb_learn_grid_up(&pot->up, &pot->table, cb_learn_kernel(learn, pot->sd));
        }
    }
    cb_learn_pot_drop_views(pot);
}
