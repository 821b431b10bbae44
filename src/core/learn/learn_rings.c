/* SPDX-License-Identifier: MIT */
/* What silence is worth, and the shift that keeps the rings true. */
#include <math.h>
#include <stdlib.h>

#include "core/learn/learn_internal.h"

/* Once a word was said, half a film more is thought to be spoken of, of two and a half (own
 * judgement). Before that silence says nothing: with the same half film who never says a word is
 * rung earlier and earlier. */
#define RHO_SAID   .5
#define RHO_ALL    2.5
#define SHIFT_LOW  (-.6)
#define SHIFT_HIGH .9
/* Log sd of a film's time where its paint is known, as most are: what the model's own spreads leave
 * of it (own judgement). */
#define LATE_SD .3
/* And before anything of it is known: bench .35, pot .30, film .22. */
#define PRIOR_SD .51

double cb_learn_rho(const struct cb_learn *learn, const struct learn_silence *silence)
{
    if (!isnan(learn->settings.weak)) {
        return 1 - learn->settings.weak;
    }
    return silence->said > 0 ? (RHO_SAID + silence->said) / (RHO_ALL + silence->said + silence->wet)
                             : 0;
}

/* A chance p after so many sd more, by the logistic law: it has both ways in closed form and is
 * near enough. */
static double chance_later(double p, double sds)
{
    static const double sd_of_logistic = 1.8137993642342178; /* pi / sqrt(3) */
    const double odds = p / (1 - p) * exp(sd_of_logistic * sds);
    return isfinite(odds) ? odds / (1 + odds) : 1;
}

/* The chance that the film was dry by what was heard of it: the confidence at its ring, more later.
 */
static double promised(const struct cb_heard_before *word)
{
    return chance_later(word->confidence, word->late / LATE_SD);
}

void cb_learn_hear(const struct cb_learn *learn, struct learn_silence *silence,
                   const struct cb_heard_before *word)
{
    if (word->wet) {
        silence->said += 1;
    } else if (word->silent) {
        const double p = promised(word);
        const double wet = (1 - p) * (1 - cb_learn_rho(learn, silence));
        silence->wet += wet / (p + wet);
    }
}

void cb_learn_hear_before(struct cb_learn *learn, struct learn_silence *silence, size_t *before,
                          int64_t at_ms)
{
    while (*before < learn->before.count && learn->before.items[*before].word.at_ms <= at_ms) {
        struct learn_before *film = &learn->before.items[(*before)++];
        film->rho = cb_learn_rho(learn, silence);
        cb_learn_hear(learn, silence, &film->word);
    }
}

double cb_learn_speaks_up(const struct cb_learn *learn)
{
    return learn->rho;
}

double cb_learn_shift(const struct cb_learn *learn)
{
    return learn->shift;
}

struct cb_heard_before cb_learn_before_of(const struct cb_row *row)
{
    const bool film = row->kind == CB_ROW_FILM || row->kind == CB_ROW_WEAK;
    double confidence = row->confidence;
    if (row->kind == CB_ROW_WEAK && row->heard == CB_HEARD_NOTHING && row->median_min > 0) {
        /* No ring says how dry it was; what went on hours later was dry. */
        confidence = fmax(confidence, chance_later(.5, log(row->hi / row->median_min) / PRIOR_SD));
    }
    return (struct cb_heard_before){.at_ms = row->at_ms,
                                    .heard_ms = row->heard_ms,
                                    .late = row->late,
                                    .confidence = confidence,
                                    .heard = row->heard,
                                    .wet = film && row->lo > 0,
                                    .silent = row->kind == CB_ROW_WEAK};
}

static int by_going_on(const void *a, const void *b)
{
    const struct learn_before *x = a, *y = b;
    return (x->word.at_ms > y->word.at_ms) - (x->word.at_ms < y->word.at_ms);
}

static int by_answer(const void *a, const void *b)
{
    const struct learn_rung *x = a, *y = b;
    if (x->at_ms != y->at_ms) {
        return x->at_ms < y->at_ms ? -1 : 1;
    }
    return (x->film > y->film) - (x->film < y->film);
}

void cb_learn_before(struct cb_learn *learn, const struct cb_heard_before *before, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        cb_vec_push(&learn->before, ((struct learn_before){.word = before[i]}));
    }
    if (count > 1) {
        qsort(learn->before.items, count, sizeof *learn->before.items, by_going_on);
    }
    for (size_t i = 0; i < count; i++) {
        const struct cb_heard_before *word = &learn->before.items[i].word;
        if (word->heard != CB_HEARD_NOTHING) {
            cb_vec_push(&learn->before_rungs, ((struct learn_rung){word->heard_ms, i}));
        }
    }
    if (learn->before_rungs.count > 1) {
        qsort(learn->before_rungs.items, learn->before_rungs.count,
              sizeof *learn->before_rungs.items, by_answer);
    }
}

/* How much of a silent ring is to be taken for "dry", so that who only ever speaks of the wet ones
 * moves the shift as often down as up when the rings are true. */
static double believed(double rho, double delta, double p)
{
    const double w = (rho - delta) * p / ((1 - rho) * (1 - p) + (1 - delta) * p);
    return w < 0 ? 0 : w > 1 ? 1 : w;
}

struct shift {
    double step, shift, dry, silent;
    const struct cb_heard_before *last;
};

/* rho: as it stood before. */
static void move(struct shift *at, const struct cb_heard_before *word, double rho)
{
    const double p = promised(word);
    const bool same_press =
        at->last && word->heard == at->last->heard && word->heard_ms == at->last->heard_ms;
    at->last = word;
    if (word->heard == CB_HEARD_NOTHING) { /* all was forgotten */
        at->shift = at->dry = at->silent = 0;
    } else if (same_press) {
        return; /* several films answered by one press are one answer */
    } else if (word->heard == CB_HEARD_WET) {
        at->shift += at->step * p;
    } else if (word->heard == CB_HEARD_DRY) {
        at->shift -= at->step * (1 - p);
        at->dry += 1;
    } else {
        const double delta = (.5 + at->dry) / (1 + at->dry + at->silent);
        at->shift -= at->step * (1 - p) * believed(rho, delta, p);
        at->silent += 1;
    }
    at->shift = at->shift < SHIFT_LOW ? SHIFT_LOW : at->shift > SHIFT_HIGH ? SHIFT_HIGH : at->shift;
}

static double shift_of(const struct cb_learn *learn)
{
    const size_t films = learn->before.count;
    CB_VEC(struct learn_rung) rungs = {0};
    for (size_t i = 0; i < learn->rings.count; i++) {
        const size_t row = learn->rings.items[i];
        const struct cb_heard_before *word = &learn->rows.items[row].word;
        const bool heard = word->heard != CB_HEARD_NOTHING;
        cb_vec_push(&rungs,
                    ((struct learn_rung){heard ? word->heard_ms : word->at_ms, films + row}));
    }
    if (rungs.count > 1) {
        qsort(rungs.items, rungs.count, sizeof *rungs.items, by_answer);
    }
    struct shift at = {.step = learn->settings.step};
    for (size_t i = 0, k = 0; i < rungs.count || k < learn->before_rungs.count;) {
        const bool before =
            k < learn->before_rungs.count &&
            (i == rungs.count || by_answer(&learn->before_rungs.items[k], &rungs.items[i]) < 0);
        const size_t film = before ? learn->before_rungs.items[k++].film : rungs.items[i++].film;
        if (film < films) {
            move(&at, &learn->before.items[film].word, learn->before.items[film].rho);
        } else {
            const struct learn_kept *kept = &learn->rows.items[film - films];
            move(&at, &kept->word, kept->rho);
        }
    }
    cb_vec_free(&rungs);
    return at.shift;
}

void cb_learn_heard_all(struct cb_learn *learn)
{
    struct learn_silence silence = {0};
    size_t before = 0;
    if (learn->rows.count > 0) {
        const struct learn_kept *last = &learn->rows.items[learn->rows.count - 1];
        silence = last->silence;
        before = last->before;
    }
    cb_learn_hear_before(learn, &silence, &before, INT64_MAX);
    learn->rho = cb_learn_rho(learn, &silence);
    learn->shift = learn->settings.step > 0 ? shift_of(learn) : 0;
}
