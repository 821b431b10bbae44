/* SPDX-License-Identifier: MIT */
/*
 * What the log teaches about each pot's dry time. Film j of pot i, in standard minutes:
 *     log T = log median + b + u_i + e;  b ~ N(0, .35) bench, u_i ~ N(0, pot_sd) pot, e ~ N(0, s),
 * s one unknown of the bench on {.10 .14 .18 .22 .28 .36 .48}. Exact message passing over a grid
 * of s x (b + u): no iteration, no random numbers. The model stands in coatbell-model(7).
 *
 * It refuses to know clocks, logs and recipes: rows come in, quantiles go out.
 */
#ifndef CB_CORE_LEARN_LEARN_H
#define CB_CORE_LEARN_LEARN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"

enum cb_row_kind {
    CB_ROW_FILM,   /* T in (lo, hi], from the user's answers */
    CB_ROW_WEAK,   /* the same from an unasked next coat: P(lo < T <= hi) + eta P(T > hi), where eta
                      is what silence is not worth */
    CB_ROW_ANSWER, /* the first-opening question: value observes b directly, log sd .30 */
    CB_ROW_BOTTLE, /* a new bottle of pot: its table is widened by .10 */
    CB_ROW_FORGET, /* forget what came before, of pot, or of all when pot is NULL */
    CB_ROW_GIVEN,  /* another painter's coats of the pot: value of them, T of each in (lo, hi]; they
                      count as CB_GIVEN_COATS at most, and as if put on before one's own */
};

/* What was said of a film that had rung: its first answer, or that the next coat went on without
 * one. */
enum cb_heard { CB_HEARD_NOTHING, CB_HEARD_WET, CB_HEARD_DRY, CB_HEARD_SILENCE };

/* Rows come in fold order of the event that opened the film; a row that is still open (only wet
 * known) may be replaced later, never added to. */
struct cb_row {
    enum cb_row_kind kind;
    const char *pot;   /* cb_pot_key */
    double pot_sd;     /* log sd of u for its kind */
    double median_min; /* prior median, standard minutes */
    double lo, hi;     /* standard minutes; lo 0: none; hi INFINITY: never seen dry */
    double value;      /* ANSWER: the log ratio; GIVEN: coats, at least 1 */
    bool waits;        /* GIVEN: no unit has the pot yet; it says nothing of other pots until a film
                          of this one stands among the rows */
    enum cb_heard heard;
    bool came_up;     /* WET: nobody was asked, it came up under the next coat */
    int64_t heard_ms; /* of that answer, wall; answers of one press have one */
    double late; /* heard: log of what it had dried by then over that at its ring; 0: at the ring */
    double confidence; /* in force when it rang, or when the next coat went on; 0..1 */
    int64_t at_ms;     /* when the film went on, wall; what was heard counts in this order */
    int technique;     /* enum cb_technique; for display only */
    const char *unit;  /* for display only */
    int figure, stage, coat;
    const char *paint; /* shown name */
};

/* So many coats all that was given of a pot counts for (own judgement). What several gave is
 * pooled: each weighs as its coats, at most that many, and where they disagree the interval is the
 * wider. */
#define CB_GIVEN_COATS 3

struct cb_learn_settings {
    double fade;     /* .95; 1: no fading */
    double mis_key;  /* eps .03 */
    double weak;     /* eta of all silent rows; NAN: learned from the rows */
    double bench_sd; /* .35 */
    double step;     /* of the shift, .06; 0: none */
};
extern const struct cb_learn_settings cb_learn_default;

struct cb_learn;
struct cb_learn *cb_learn_new(const struct cb_learn_settings *settings); /* NULL: default */
void cb_learn_free(struct cb_learn *learn);

/* Makes the state that of exactly these rows; only what differs from the last call is done again
 * (a new row: under 2 ms). The result depends on the rows alone, to the bit. Copies what it
 * keeps. */
void cb_learn_sync(struct cb_learn *learn, const struct cb_row *rows, size_t count);

/* What was heard of films whose rows are not given any more, since their times weigh nothing: it
 * counts for the two numbers below all the same. Copies it; before the first sync. */
struct cb_heard_before {
    int64_t at_ms, heard_ms;
    double late, confidence;
    enum cb_heard heard;
    bool wet, silent; /* once found wet or lifted; the next coat went on unasked */
};
struct cb_heard_before cb_learn_before_of(const struct cb_row *row);
void cb_learn_before(struct cb_learn *learn, const struct cb_heard_before *before, size_t count);

/* How much of what was wet this painter speaks of, 0..1: a coat that went on unasked is as much
 * evidence. Each film once said to be wet or lifted adds one to said; each that was painted over in
 * silence what of it will have been wet, c the chance that it was dry: (1 - c)(1 - rho) / (c + (1 -
 * c)(1 - rho)), rho as it was before; rho = (.5 + said) / (2.5 + said + wet), and 0 until a film
 * was once said to be wet: who never spoke may never look. Own derivation. */
double cb_learn_speaks_up(const struct cb_learn *learn);
/* The shift d of the whole bench in log time, which keeps the rings true while pots, rooms or
 * seasons change: every law is F(t e^-d). After Gibbs & Candes 2021, Adaptive conformal inference
 * under distribution shift: an answer "wet" to a ring moves it by +.06 p, "dry" by -.06 (1 - p), p
 * the chance that was promised: the confidence at the ring, more for who answers late; a ring
 * painted over in silence by that times w, what "dry" is to be believed of it (own derivation).
 * Within -.6 and .9. The step of .06 is own judgement: with .05 the rings were
 * too slow to follow a bench that turns 1.6 times slower. */
double cb_learn_shift(const struct cb_learn *learn);

/* Moves with every sync that changed something: what was asked before then may be kept. */
uint64_t cb_learn_generation(const struct cb_learn *learn);

/* Predictive for the next film of the pot (known or not). */
/* P(T <= t). */
double cb_learn_cdf(const struct cb_learn *learn, const char *pot, double pot_sd, double median_min,
                    double t_min);
/* The same with nothing learned. */
double cb_learn_prior_cdf(const struct cb_learn *learn, double pot_sd, double median_min,
                          double t_min);
/* Standard minutes at which F(t) = F(wet) + p (1 - F(wet)); wet_min 0: not conditioned. */
double cb_learn_quantile(const struct cb_learn *learn, const char *pot, double pot_sd,
                         double median_min, double p, double wet_min);
/* Posterior of theta = b + u of the pot: mean, sd, and how many settled rows it rests on. */
struct cb_learn_pot {
    double mean, sd;
    size_t rows;
    bool known;
};
struct cb_learn_pot cb_learn_pot(const struct cb_learn *learn, const char *pot, double pot_sd);
void cb_learn_bench(const struct cb_learn *learn, double *b_mean, double *b_sd);
/* What the pot's own coats say of it, without what was given and whatever the bench's other pots
 * say, as shares of the model's median: by them alone it is ratio; and so many coats alike, each
 * found wet at low and dry at high, would leave a bench that knows nothing else with the same mean
 * and sd of theta (own derivation: two moments matched). Only lessons are counted. false: it has
 * none. */
struct cb_learn_told {
    double ratio, low, high;
    size_t coats;
};
bool cb_learn_told(const struct cb_learn *learn, const char *pot, struct cb_learn_told *told);

/* Did the row's answer tell anything: one that was foreseen with 99 % before anything was learned,
 * as "wet" at once is, is no lesson (own judgement). Of rows whose end was seen or said. */
bool cb_learn_is_lesson(const struct cb_learn *learn, const struct cb_row *row);

/* Posterior odds-free measure that a row is a mis-key: P(floor component | all), 0..1. */
double cb_learn_mis_key(const struct cb_learn *learn, const struct cb_row *row);

/* log(Phi(b) - Phi(a)) without cancellation, a < b, infinities allowed. */
double cb_learn_log_phi_between(double a, double b);

#endif
