/* SPDX-License-Identifier: MIT */
/* Figures that come late in a row take longer: how many to take before something else. A row is one
 * stage's coat on one figure after the other without a stop. Shuffled: where each row begins. */
#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "core/finding/finding_kind.h"

/* Figures after which one may tire; fewer are no row, and of more there are few (own judgement). */
#define FROM         4
#define TO           15
#define ROWS_LEAST   5
#define SHORTEST_MIN .05

struct row {
    size_t first, count; /* of its coats */
    size_t skipped;      /* before them: with set-up in what it took */
};

struct rows {
    const struct cb_trail_coat **coats; /* of all rows, one after the other */
    double *logs;                       /* minutes, less the mean of the row */
    size_t coat_count, row_count;
    struct row *rows;
    size_t reach[TO + 1];  /* rows that are longer */
    double spread[TO + 1]; /* what a sum after so many is divided by, squared */
};

static void end_row(struct rows *rows, size_t first, size_t skipped)
{
    const size_t count = rows->coat_count - first;
    double mean = 0;
    if (count + skipped <= FROM) {
        rows->coat_count = first;
        return;
    }
    for (size_t i = first; i < rows->coat_count; i++) {
        mean += rows->logs[i] / (double)count;
    }
    for (size_t i = first; i < rows->coat_count; i++) {
        rows->logs[i] -= mean;
    }
    for (size_t k = FROM; k <= TO && k < count + skipped; k++) {
        const double before = (double)(k - skipped), after = (double)count - before;
        rows->reach[k]++;
        rows->spread[k] += before * after / (double)count;
    }
    rows->rows[rows->row_count++] = (struct row){first, count, skipped};
}

/* Of the coat that a paint is taken up for the review gives to the set-up what it took beyond the
 * others: it can't be slower than they are, and is left out. */
static void add_trail(struct rows *rows, const struct cb_trail *trail)
{
    size_t first = rows->coat_count, skipped = 0;
    const struct cb_trail_coat *before = NULL;
    for (size_t i = 0; i < trail->coat_count; i++) {
        const struct cb_trail_coat *coat = &trail->coats[i];
        const bool goes_on = before != NULL && !coat->apart && !(coat->change_min > 0) &&
                             coat->stage == before->stage && coat->coat == before->coat;
        if (!goes_on) {
            end_row(rows, first, skipped);
            first = rows->coat_count;
            skipped = coat->change_min > 0 ? 1 : 0;
        }
        before = trail->stages[coat->stage - 1].together ? NULL : coat;
        if (before != NULL && (goes_on || skipped == 0)) {
            rows->coats[rows->coat_count] = coat;
            rows->logs[rows->coat_count++] = log(fmax(coat->took_min, SHORTEST_MIN));
        }
    }
    end_row(rows, first, skipped);
}

/* How much longer those after the k-th take, for the k that says it most. */
static double most_tired(const struct rows *rows, size_t *at)
{
    double after[TO + 1] = {0}, most = -INFINITY;
    for (size_t r = 0; r < rows->row_count; r++) {
        const struct row *row = &rows->rows[r];
        double sum = 0;
        for (size_t i = row->count; i-- > 0 && i + row->skipped >= FROM;) {
            sum += rows->logs[row->first + i];
            if (i + row->skipped <= TO) {
                after[i + row->skipped] += sum;
            }
        }
    }
    for (size_t k = FROM; k <= TO; k++) {
        if (rows->reach[k] >= ROWS_LEAST && after[k] > most * sqrt(rows->spread[k])) {
            most = after[k] / sqrt(rows->spread[k]);
            *at = k;
        }
    }
    return most;
}

static double draw(void *context, struct cb_chance *chance)
{
    struct rows *rows = context;
    size_t at;
    for (size_t r = 0; r < rows->row_count; r++) {
        cb_chance_turn(chance, rows->logs + rows->rows[r].first, rows->rows[r].count);
    }
    return most_tired(rows, &at);
}

/* What the coats after the k-th of a row took, against the mean of the first k of the same row. */
static void say(const struct rows *rows, size_t k, size_t units, struct cb_arena *arena,
                struct cb_finding *out)
{
    double first_min = 0, late_min = 0, more_min = 0, late = 0, first = 0;
    for (size_t r = 0; r < rows->row_count; r++) {
        const struct row *row = &rows->rows[r];
        const size_t before = k - row->skipped;
        double mean_min = 0;
        for (size_t i = 0; i < row->count && row->count > before; i++) {
            const double took_min = rows->coats[row->first + i]->took_min;
            if (i < before) {
                mean_min += took_min / (double)before;
                first_min += took_min;
                first++;
            } else {
                more_min += took_min - mean_min;
                late_min += took_min;
                late++;
            }
        }
    }
    out->minutes = more_min / (double)units;
    out->coats = late / (double)units;
    out->text = cb_arena_printf(
        arena, "of a row the first %zu figures take you %s each, those after them %s", k,
        cb_finding_span(first_min / fmax(first, 1), arena),
        cb_finding_span(late_min / fmax(late, 1), arena));
    out->advice = cb_arena_printf(arena, "take %zu in a row, then something else", k - 1);
}

static bool look(const struct cb_finding_log *log, struct cb_arena *arena, uint64_t seed,
                 struct cb_finding *out)
{
    size_t most = 1, k = FROM;
    for (size_t u = 0; u < log->count; u++) {
        most += log->trails[u].coat_count;
    }
    struct rows rows = {.coats = cb_mem_new(most, sizeof(struct cb_trail_coat *)),
                        .logs = cb_mem_new(most, sizeof(double)),
                        .rows = cb_mem_new(most, sizeof(struct row))};
    for (size_t u = 0; u < log->count; u++) {
        const size_t before = rows.row_count;
        add_trail(&rows, &log->trails[u]);
        out->units += rows.row_count > before ? 1 : 0;
    }
    const double seen = most_tired(&rows, &k);
    const bool any = isfinite(seen);
    if (any) {
        say(&rows, k, log->count, arena, out);
        out->chance = out->minutes < CB_FINDING_MIN ? 1 : cb_chance_p(seen, draw, &rows, seed);
    }
    free(rows.coats);
    free(rows.logs);
    free(rows.rows);
    return any;
}

const struct cb_finding_kind cb_finding_tired = {"tired", 1, look};
