/* SPDX-License-Identifier: MIT */
/* What silence is worth, and the shift that keeps the rings true. */
#include <math.h>
#include <stdlib.h>

#include "core/learn/learn_internal.h"

/* Before a word was said one wet film in ten is thought to be spoken of, on the weight of two and a
 * half (own judgement: with one in five who never says a word is rung too early). */
#define RHO_SAID   .25
#define RHO_ALL    2.5
#define SHIFT_LOW  (-.6)
#define SHIFT_HIGH .9

double cb_learn_rho(const struct cb_learn *learn, const struct learn_silence *silence)
{
    return isnan(learn->settings.weak)
               ? (RHO_SAID + silence->said) / (RHO_ALL + silence->said + silence->wet)
               : 1 - learn->settings.weak;
}

void cb_learn_hear(const struct cb_learn *learn, struct learn_silence *silence,
                   const struct cb_row *row)
{
    if (row->kind != CB_ROW_FILM && row->kind != CB_ROW_WEAK) {
        return;
    }
    if (row->lo > 0) {
        silence->said += 1;
    } else if (row->kind == CB_ROW_WEAK) {
        const double wet = (1 - row->confidence) * (1 - cb_learn_rho(learn, silence));
        silence->wet += wet / (row->confidence + wet);
    }
}

double cb_learn_speaks_up(const struct cb_learn *learn)
{
    const struct learn_silence none = {0};
    const size_t count = learn->rows.count;
    return cb_learn_rho(learn, count > 0 ? &learn->rows.items[count - 1].silence : &none);
}

double cb_learn_shift(const struct cb_learn *learn)
{
    return learn->shift;
}

/* A ring, as a fold takes them. */
struct rung {
    int64_t at_ms;
    size_t row;
};

static int by_answer(const void *a, const void *b)
{
    const struct rung *x = a, *y = b;
    if (x->at_ms != y->at_ms) {
        return x->at_ms < y->at_ms ? -1 : 1;
    }
    return x->row < y->row ? -1 : x->row > y->row;
}

/* How much of a silent ring is to be taken for "dry", so that who only ever speaks of the wet ones
 * moves the shift as often down as up when the rings are true. */
static double believed(double rho, double delta, double p)
{
    const double w = (rho - delta) * p / ((1 - rho) * (1 - p) + (1 - delta) * p);
    return w < 0 ? 0 : w > 1 ? 1 : w;
}

double cb_learn_shift_of(const struct cb_learn *learn)
{
    CB_VEC(struct rung) rungs = {0};
    double shift = 0, dry = 0, silent = 0;
    for (size_t i = 0; learn->settings.step > 0 && i < learn->rings.count; i++) {
        const size_t row = learn->rings.items[i];
        const struct learn_kept *kept = &learn->rows.items[row];
        cb_vec_push(
            &rungs,
            ((struct rung){kept->heard == CB_HEARD_NOTHING ? kept->at_ms : kept->heard_ms, row}));
    }
    if (rungs.count > 1) {
        qsort(rungs.items, rungs.count, sizeof *rungs.items, by_answer);
    }
    const struct learn_kept *last = NULL;
    for (size_t i = 0; i < rungs.count; i++) {
        const struct learn_kept *kept = &learn->rows.items[rungs.items[i].row];
        const double p = kept->confidence, step = learn->settings.step;
        const bool same_press =
            last && last->heard == kept->heard && last->heard_ms == kept->heard_ms;
        last = kept;
        if (kept->heard == CB_HEARD_NOTHING) { /* all was forgotten */
            shift = dry = silent = 0;
        } else if (same_press) {
            continue; /* several films answered by one press are one answer */
        } else if (kept->heard == CB_HEARD_WET) {
            shift += step * p;
        } else if (kept->heard == CB_HEARD_DRY) {
            shift -= step * (1 - p);
            dry += 1;
        } else {
            const double delta = (.5 + dry) / (1 + dry + silent);
            shift -= step * (1 - p) * believed(cb_learn_rho(learn, &kept->silence), delta, p);
            silent += 1;
        }
        shift = shift < SHIFT_LOW ? SHIFT_LOW : shift > SHIFT_HIGH ? SHIFT_HIGH : shift;
    }
    cb_vec_free(&rungs);
    return shift;
}
