/* SPDX-License-Identifier: MIT */
#include "support/painter.h"

#include <math.h>
#include <string.h>

#include "core/paint/drying.h"

#define PAINTS     9
#define TECHNIQUES 3
#define BENCH_SD   .35 /* the model's own spreads: the painters are drawn from the prior */
#define POT_SD     .30
#define RESIDUAL   .08 /* what the physics misses of an evening's air: estimate */
#define SESSION    12  /* coats an evening: estimate */
#define TIMER_MIN  25
#define NEVER_MIN  600

const struct year year_default = {
    .policy = POLICY_LEARN,
    .settings = {.fade = .95, .mis_key = .03, .weak = NAN, .bench_sd = .35, .step = .06},
    .confidence = .80,
    .own_row_counts = true,
    .coats = YEAR_COATS,
};

static uint64_t roll(uint64_t *seed)
{
    *seed += UINT64_C(0x9e3779b97f4a7c15); /* splitmix64, Steele, Lea & Flood 2014 */
    uint64_t z = *seed;
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

static double even(uint64_t *seed)
{
    return ((double)(roll(seed) >> 11) + .5) / 9007199254740992.0;
}

static double normal(uint64_t *seed)
{
    double r = sqrt(-2 * log(even(seed)));
    return r * cos(6.283185307179586 * even(seed));
}

static double upper_normal(double p) /* quantile by halving: slow is good enough here */
{
    double low = -9, high = 9;
    for (int i = 0; i < 60; i++) {
        double x = (low + high) / 2;
        if (.5 * erfc(-x * 0.7071067811865476) < p) {
            low = x;
        } else {
            high = x;
        }
    }
    return low;
}

/* Prior medians, standard minutes: basecoats, layers, washes, an undercoat, a glaze, a varnish
 * (the table of priors; the learner is told the same). */
static const double medians[PAINTS] = {8.9, 8.9, 8.9, 5.1, 21, 15.7, 19.2, 8.2, 26.6};
static const char *const names[PAINTS] = {"rope",  "oilskin", "brass",   "wick",   "ebb wash",
                                          "stain", "cobbles", "lantern", "varnish"};

struct painter {
    double b, s, u[PAINTS], v[PAINTS][TECHNIQUES];
};

static void painter_draw(struct painter *painter, uint64_t *seed, double interaction)
{
    painter->b = BENCH_SD * normal(seed);
    painter->s = .22 * exp(.35 * normal(seed));
    painter->s = fmin(.48, fmax(.10, painter->s));
    for (int i = 0; i < PAINTS; i++) {
        painter->u[i] = POT_SD * normal(seed);
        for (int t = 0; t < TECHNIQUES; t++) {
            painter->v[i][t] = interaction * normal(seed);
        }
    }
}

int year_block(int coat)
{
    return coat < 10 ? 0 : coat < 30 ? 1 : coat < 100 ? 2 : 3;
}

struct coat {
    int paint, technique;
    double rate;    /* standard minutes a minute, as the program thinks */
    double t_min;   /* when it is really dry */
    double middle;  /* true median in standard minutes, less the evening's residual */
    double evening; /* that residual */
};

struct state {
    const struct year *year;
    struct cb_learn *learn;
    struct cb_row rows[2 * YEAR_COATS];
    size_t row_count;
    double sum[PAINTS], sum_standard[PAINTS], n[PAINTS];
    double s;
    int number;          /* of the coat */
    enum cb_heard heard; /* of its ring */
    double late;         /* log of the age at which it was heard over that at the ring */
};

static double again_after(double wet, double mean_log, double sd, double p)
{
    /* quantile given still wet, of a log-normal */
    double f = wet > 0 ? .5 * erfc(-(log(wet) - mean_log) / sd * 0.7071067811865476) : 0;
    double goal = f + p * (1 - f);
    return goal > 1 - 1e-12 ? wet * 1.05 : exp(mean_log + sd * upper_normal(goal));
}

/* Minutes after going on at which the next ping comes. */
static double ping(struct state *state, const struct coat *coat, double wet_min)
{
    const struct year *year = state->year;
    double sd, m = medians[coat->paint], mean;
    switch (year->policy) {
    case POLICY_TIMER:
        return wet_min > 0 ? wet_min + 5 : year->timer_min;
    case POLICY_MEAN:
        if (wet_min > 0) {
            return wet_min * 1.2;
        }
        return state->n[coat->paint] > 0 ? state->sum[coat->paint] / state->n[coat->paint] : 20;
    case POLICY_SCALED:
        if (wet_min > 0) {
            return wet_min * 1.2;
        }
        return state->n[coat->paint] > 0
                   ? state->sum_standard[coat->paint] / state->n[coat->paint] / coat->rate
                   : 20;
    case POLICY_LEARN:
        return cb_learn_quantile(state->learn, names[coat->paint], POT_SD, m, year->confidence,
                                 wet_min * coat->rate) /
               coat->rate;
    case POLICY_ORACLE:
        sd = sqrt(state->s * state->s + RESIDUAL * RESIDUAL);
        return again_after(wet_min, log(coat->middle / coat->rate), sd, year->confidence);
    case POLICY_ORACLE2:
        mean = log(coat->middle / coat->rate) + coat->evening;
        return again_after(wet_min, mean, state->s, year->confidence);
    }
    return 0;
}

/* The coat's row, in the place of the one that it had. */
static void tell(struct state *state, const struct coat *coat, double lo_min, double hi_min,
                 enum cb_row_kind kind, bool replace)
{
    if (state->year->dull) {
        return;
    }
    state->row_count -= replace ? 1 : 0;
    state->rows[state->row_count++] = (struct cb_row){
        .kind = kind,
        .pot = names[coat->paint],
        .pot_sd = POT_SD,
        .median_min = medians[coat->paint],
        .lo = lo_min * coat->rate,
        .hi = isinf(hi_min) ? hi_min : hi_min * coat->rate,
        .at_ms = state->number,
        .heard = state->heard,
        .heard_ms = state->heard == CB_HEARD_NOTHING ? 0 : state->number,
        .late = state->late,
        .confidence = state->year->confidence,
    };
    cb_learn_sync(state->learn, state->rows, state->row_count);
}

static void first_ring(const struct state *state, struct outcome *sum, const struct coat *coat,
                       double at)
{
    const double p = state->year->confidence;
    sum->loss[year_block(state->number)] +=
        coat->t_min > at ? p * (coat->t_min - at) : (1 - p) * (at - coat->t_min);
    sum->first_dry += coat->t_min <= at;
    sum->dry_at[state->number] += coat->t_min <= at;
}

static void coat_answered(struct state *state, struct outcome *sum, const struct coat *coat,
                          uint64_t *seed)
{
    const struct year *year = state->year;
    bool learns = year->policy == POLICY_LEARN, open = false;
    double wet = 0, at = ping(state, coat, 0);
    first_ring(state, sum, coat, at);
    for (int tries = 0;; tries++) {
        state->late = tries == 0 ? log((at + year->late_min) / at) : state->late;
        at += year->late_min;
        bool dry = coat->t_min <= at;
        bool slip = even(seed) < year->mis_key;
        bool says = slip ? !dry : dry;
        if (tries == 0) {
            state->heard = !says                           ? CB_HEARD_WET
                           : year->habit == HABIT_WET_ONLY ? CB_HEARD_SILENCE
                                                           : CB_HEARD_DRY;
        }
        if (says || at > NEVER_MIN) {
            if (learns) {
                tell(state, coat, wet, at,
                     year->habit == HABIT_WET_ONLY ? CB_ROW_WEAK : CB_ROW_FILM, open);
            }
            sum->past_min += fmax(0, at - coat->t_min);
            state->sum[coat->paint] += at;
            state->sum_standard[coat->paint] += at * coat->rate;
            state->n[coat->paint]++;
            return;
        }
        sum->early += !dry;
        wet = at;
        if (learns && year->own_row_counts) {
            tell(state, coat, wet, INFINITY, CB_ROW_FILM, open);
            open = true;
        }
        at = ping(state, coat, wet);
        at = fmax(at, wet + .25);
    }
}

static void coat_silent(struct state *state, struct outcome *sum, const struct coat *coat,
                        uint64_t *seed)
{
    const struct year *year = state->year;
    const double at = ping(state, coat, 0);
    const double over = year->late_min + (year->habit == HABIT_DRY     ? fmax(at, coat->t_min)
                                          : year->habit == HABIT_LOOK  ? coat->t_min
                                          : year->habit == HABIT_TIMER ? TIMER_MIN
                                                                       : at);
    first_ring(state, sum, coat, at);
    sum->past_min += fmax(0, over - coat->t_min);
    const bool lifted = over < coat->t_min && even(seed) < year->lifts;
    state->late = over < at ? 0 : log(over / at);
    state->heard = over < at ? CB_HEARD_NOTHING : lifted ? CB_HEARD_WET : CB_HEARD_SILENCE;
    if (lifted) {
        tell(state, coat, over, INFINITY, CB_ROW_FILM, false);
    } else {
        tell(state, coat, 0, over, CB_ROW_WEAK, false);
    }
}

void painter_year(struct outcome *sum, const struct year *year, uint64_t number)
{
    static struct state state; /* large; one year at a time */
    uint64_t seed = number * UINT64_C(0xd1342543de82ef95) + 1;
    struct painter painter;
    painter_draw(&painter, &seed, year->interaction);
    memset(&state, 0, sizeof state);
    state.year = year;
    state.s = painter.s;
    state.learn = cb_learn_new(&year->settings);
    double evening = 0, rate = 1;
    int ninth = 0;
    bool ready = false;
    for (int i = 0; i < year->coats; i++) {
        if (i % SESSION == 0) {
            double season = cos(6.283185307179586 * i / year->coats);
            double temp_c = 20.5 - 2.5 * season + 1.5 * normal(&seed);
            double rh_pct = fmin(80, fmax(25, 52 + 8 * season + 9 * normal(&seed)));
            rate = cb_drying_climate_factor(CB_LAW_WATER, temp_c, rh_pct);
            evening = RESIDUAL * normal(&seed);
        }
        uint64_t coat_seed = roll(&seed); /* a coat's own luck, whatever a policy asks */
        struct coat coat = {.rate = rate, .evening = evening};
        coat.paint = (int)(even(&coat_seed) * (i < year->coats / 2 ? PAINTS - 1 : PAINTS));
        coat.technique = (int)(even(&coat_seed) * TECHNIQUES);
        double theta = painter.b + painter.u[coat.paint] + painter.v[coat.paint][coat.technique];
        theta += (i >= year->coats / 2 ? year->slower : 0) + year->drift * i / year->coats;
        coat.middle = medians[coat.paint] * exp(theta);
        coat.t_min = coat.middle * exp(painter.s * normal(&coat_seed) + evening) / rate;
        sum->coats++;
        state.number = i;
        if (year->habit > HABIT_WET_ONLY || (year->habit == HABIT_HALF && even(&coat_seed) < .5)) {
            coat_silent(&state, sum, &coat, &coat_seed);
        } else {
            coat_answered(&state, sum, &coat, &coat_seed);
        }
        if (year->policy == POLICY_LEARN &&
            ((i >= 100 && i % 4 == 0) || coat.paint == PAINTS - 1)) {
            double median = cb_learn_quantile(state.learn, names[coat.paint], POT_SD,
                                              medians[coat.paint], .5, 0);
            double off = fabs(log(median / coat.middle));
            sum->log_off += off;
            sum->log_off_n++;
            if (coat.paint == PAINTS - 1 && !ready) {
                ninth++;
                ready = off < .10;
            }
        }
    }
    sum->median_ready += ninth;
    sum->median_total++;
    cb_learn_free(state.learn);
}

struct outcome painter_years(const struct year *year, uint64_t seed, int count)
{
    struct outcome sum = {0};
    for (int i = 0; i < count; i++) {
        painter_year(&sum, year, seed + (uint64_t)i);
    }
    return sum;
}
