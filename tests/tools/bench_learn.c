/* SPDX-License-Identifier: MIT */
/*
 * What learning is worth, and what it costs: simulated painters' years under kitchen timers,
 * means, this program and oracles; then the time of a refit beside a calibration loop.
 * bench_learn [PAINTERS]; seeded, the same table each time.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "support/painter.h"

#define SEED UINT64_C(1)

static double cpu_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec / 1e6;
}

static double total(const struct outcome *outcome)
{
    double sum = 0;
    for (int i = 0; i < YEAR_BLOCKS; i++) {
        sum += outcome->loss[i];
    }
    return sum;
}

static struct outcome line(const char *name, const struct year *year, int painters,
                           const struct outcome *oracle)
{
    struct outcome o = painter_years(year, SEED, painters);
    const struct outcome *base = oracle != NULL ? oracle : &o;
    printf("%-34s %6.1f %6.0f %6.1f %%   ", name, o.past_min / o.coats, 100.0 * o.early / o.coats,
           100.0 * o.first_dry / o.coats);
    for (int i = 0; i < YEAR_BLOCKS; i++) {
        printf(" %5.2f", o.loss[i] / base->loss[i]);
    }
    printf("   %5.2f\n", total(&o) / total(base));
    fflush(stdout);
    return o;
}

static void head(const char *title)
{
    printf("\n%s\n%-34s %6s %6s %8s    loss in coats 1-10, 11-30, 31-100, 101-300; all\n", title,
           "", "past", "early", "dry");
}

static void aim(const char *what, double got, double most)
{
    printf("  %-52s %6.2f, at most %.2f: %s\n", what, got, most, got <= most ? "held" : "MISSED");
}

static struct outcome policies(int painters, struct outcome *oracle)
{
    head("Policies. past: min past dry a coat; early: pings per 100 coats; dry: at the first ping");
    struct year year = year_default;
    year.policy = POLICY_ORACLE;
    *oracle = line("oracle, knows the painter", &year, painters, NULL);
    year.policy = POLICY_ORACLE2;
    line("oracle, and the evening's air", &year, painters, oracle);
    year.policy = POLICY_TIMER;
    year.timer_min = 20;
    line("kitchen timer 20 min", &year, painters, oracle);
    year.timer_min = 30;
    struct outcome timer = line("kitchen timer 30 min", &year, painters, oracle);
    year.policy = POLICY_MEAN;
    line("mean of dry checks", &year, painters, oracle);
    year.policy = POLICY_SCALED;
    line("the same, climate-scaled", &year, painters, oracle);
    year = year_default;
    struct outcome model = line("coatbell at 80 %", &year, painters, oracle);
    year.settings.fade = 1;
    line("coatbell, no fading", &year, painters, oracle);
    year = year_default;
    year.own_row_counts = false;
    line("coatbell, own wet answer not twice", &year, painters, oracle);
    printf("\n");
    aim("loss against the oracle, coats 11-30", model.loss[1] / oracle->loss[1], 1.5);
    aim("coats 31-100", model.loss[2] / oracle->loss[2], 1.3);
    aim("coats 101-300", model.loss[3] / oracle->loss[3], 1.2);
    aim("points off 80 % dry", fabs(100.0 * model.first_dry / model.coats - 80), 3);
    aim("loss against the 30 min timer", total(&model) / total(&timer), 1 / 2.5);
    year.settings.step = 0;
    struct outcome still = line("coatbell, no shift", &year, painters, oracle);
    aim("loss of a quiet year against no shift", total(&model) / total(&still), 1.03);
    aim("coats until a new paint's median is within 10 %",
        (double)model.median_ready / model.median_total, 12);
    return model;
}

/* Waiting against pings too early, as the confidence goes from 50 to 95 %. */
static void frontier(int painters)
{
    enum { ROWS = 16, COLUMNS = 64 };
    char plot[ROWS][COLUMNS + 1];
    memset(plot, ' ', sizeof plot);
    double x_most = 16, y_most = 80;
    struct {
        const char *name;
        char sign;
        enum policy policy;
        double timer;
    } kinds[] = {{"coatbell at 50, 60, 70, 80, 90, 95 %", 'o', POLICY_LEARN, 0},
                 {"oracle at the same", '.', POLICY_ORACLE, 0},
                 {"kitchen timers 15, 20, 25, 30 min", 'T', POLICY_TIMER, 0},
                 {"mean of dry checks", 'm', POLICY_MEAN, 0},
                 {"climate-scaled mean", 's', POLICY_SCALED, 0}};
    static const double p[] = {.50, .60, .70, .80, .90, .95}, timers[] = {15, 20, 25, 30};
    printf("\nFrontier: minutes past dry a coat (right), pings too early per 100 coats (up)\n");
    for (size_t k = 0; k < sizeof kinds / sizeof *kinds; k++) {
        bool timer = kinds[k].policy == POLICY_TIMER;
        bool many = kinds[k].policy == POLICY_LEARN || kinds[k].policy == POLICY_ORACLE;
        for (size_t i = 0; i < (many ? 6U : timer ? 4U : 1U); i++) {
            struct year year = year_default;
            year.policy = kinds[k].policy;
            year.confidence = many ? p[i] : .8;
            year.timer_min = timer ? timers[i] : 0;
            struct outcome o = painter_years(&year, SEED, painters);
            double past = o.past_min / o.coats, early = 100.0 * o.early / o.coats;
            int column = (int)(past / x_most * COLUMNS);
            int row = ROWS - 1 - (int)(early / y_most * ROWS);
            column = column > COLUMNS - 1 ? COLUMNS - 1 : column;
            row = row < 0 ? 0 : row;
            plot[row][column] = kinds[k].sign;
            if (kinds[k].policy == POLICY_LEARN) {
                printf("  at %.0f %%: %4.1f min past dry, %3.0f too early, %4.1f %% dry at first, "
                       "median off by %4.1f %% in coats 101-300\n",
                       100 * p[i], past, early, 100.0 * o.first_dry / o.coats,
                       100 * o.log_off / o.log_off_n);
            }
        }
    }
    for (int row = 0; row < ROWS; row++) {
        plot[row][COLUMNS] = '\0';
        printf("%6s |%s\n", row % 4 == 0 ? (char[4][4]){"80", "60", "40", "20"}[row / 4] : "",
               plot[row]);
    }
    printf("%6s +----------------+---------------+---------------+---------------+\n", "0");
    printf("%8s0               4               8              12              16 min\n", "");
    for (size_t k = 0; k < sizeof kinds / sizeof *kinds; k++) {
        printf("  %c %s\n", kinds[k].sign, kinds[k].name);
    }
}

static double dry(const struct outcome *outcome, int painters, int from, int to)
{
    double sum = 0;
    for (int i = from; i <= to; i++) {
        sum += outcome->dry_at[i - 1];
    }
    return 100 * sum / (painters * (to - from + 1));
}

/* Share of films that were dry at their first ring, by who says what. */
static void silence(int painters)
{
    static const int blocks[][2] = {{1, 10}, {11, 30}, {31, 60}, {61, 100}, {101, 200}};
    static const struct {
        const char *who;
        enum habit habit;
        double late_min, lifts;
        bool dull;
    } rows[] = {
        {"nothing is learned at all", HABIT_RING, 0, 0, true},
        {"never a word: paints over at the ring", HABIT_RING, 0, 0, false},
        {"  ten minutes late", HABIT_RING, 10, 0, false},
        {"never a word: waits for dry", HABIT_DRY, 0, 0, false},
        {"  ten minutes late", HABIT_DRY, 10, 0, false},
        {"never a word: looks, never waits", HABIT_LOOK, 0, 0, false},
        {"  ten minutes late", HABIT_LOOK, 10, 0, false},
        {"never a word: own timer, 25 min", HABIT_TIMER, 0, 0, false},
        {"  ten minutes late", HABIT_TIMER, 10, 0, false},
        {"half of the lifts told", HABIT_RING, 0, .5, false},
        {"all lifts told", HABIT_RING, 0, 1, false},
        {"only ever says wet", HABIT_WET_ONLY, 0, 0, false},
        {"half of the rings answered", HABIT_HALF, 0, 0, false},
        {"every ring answered", HABIT_ANSWERS, 0, 0, false},
        {"  ten minutes late", HABIT_ANSWERS, 10, 0, false},
    };
    printf("\nShare of films dry at their first ring, %%\n%-38s", "films");
    for (size_t b = 0; b < sizeof blocks / sizeof *blocks; b++) {
        printf(" %3d-%3d", blocks[b][0], blocks[b][1]);
    }
    printf("\n");
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct year year = year_default;
        year.coats = 200;
        year.habit = rows[i].habit;
        year.late_min = rows[i].late_min;
        year.lifts = rows[i].lifts;
        year.dull = rows[i].dull;
        struct outcome o = painter_years(&year, SEED, painters);
        printf("%-38s", rows[i].who);
        for (size_t b = 0; b < sizeof blocks / sizeof *blocks; b++) {
            printf("   %5.1f", dry(&o, painters, blocks[b][0], blocks[b][1]));
        }
        printf("\n");
        fflush(stdout);
    }
}

static void slips(int painters, const struct outcome *oracle)
{
    head("6 % of answers on the wrong key");
    struct year year = year_default;
    year.mis_key = .06;
    for (int i = 0; i < 3; i++) {
        static const double eps[] = {0, .03, .10};
        char name[40];
        snprintf(name, sizeof name, "floor %.2f%s", eps[i], i == 1 ? ", the default" : "");
        year.settings.mis_key = eps[i];
        line(name, &year, painters, oracle);
    }
}

static void techniques(int painters)
{
    head("A paint's techniques really differ (log sd .25), the program thinks of one law a paint");
    struct year year = year_default;
    year.interaction = .25;
    year.policy = POLICY_ORACLE;
    struct outcome oracle = painter_years(&year, SEED, painters);
    year.policy = POLICY_LEARN;
    line("coatbell at 80 %", &year, painters, &oracle);
}

/* A bench that changes: share of first rings found dry. */
static void change(int painters)
{
    printf("\nThe bench changes: share of films dry at their first ring, %%\n%-38s", "films");
    for (int from = 1; from < YEAR_COATS; from += 50) {
        printf(" %3d-%3d", from, from + 49);
    }
    printf("  161-170\n");
    for (int i = 0; i < 6; i++) {
        struct year year = year_default;
        year.drift = i / 2 == 1 ? .6 : 0;
        year.slower = i / 2 == 2 ? log(1.6) : 0;
        year.settings.step = i % 2 ? 0 : year.settings.step;
        struct outcome o = painter_years(&year, SEED, painters);
        printf("%-38s", (const char *[]){"quiet", "quiet, no shift", "drifts by .6 over the year",
                                         "drifts, no shift", "1.6 times slower from 151 on",
                                         "slower, no shift"}[i]);
        for (int from = 1; from < YEAR_COATS; from += 50) {
            printf("   %5.1f", dry(&o, painters, from, from + 49));
        }
        printf("    %5.1f\n", dry(&o, painters, 161, 170));
        fflush(stdout);
    }
}

/* What this machine does with plain arithmetic, to read the times by. */
static double calibration_ms(void)
{
    double start = cpu_ms(), sum = 0;
    for (int i = 1; i <= 2000000; i++) {
        sum += log(i + sum * 1e-9);
    }
    return sum > 0 ? cpu_ms() - start : 0;
}

static void costs(void)
{
    enum { ROWS = 100000, POTS = 300, EXTRA = 40 };
    struct cb_row *rows = calloc(ROWS + EXTRA, sizeof *rows);
    char(*keys)[24] = calloc(POTS, sizeof *keys);
    if (rows == NULL || keys == NULL) {
        abort();
    }
    uint64_t seed = SEED;
    for (int i = 0; i < POTS; i++) {
        snprintf(keys[i], sizeof keys[i], "paint %d", i);
    }
    for (int i = 0; i < ROWS + EXTRA; i++) {
        seed = seed * UINT64_C(6364136223846793005) + 1442695040888963407;
        double u = (double)(seed >> 40) / 16777216, lo = 6 + 4 * u;
        rows[i] = (struct cb_row){
            .kind = u < .8 ? CB_ROW_FILM : CB_ROW_WEAK,
            .pot = keys[(seed >> 20) % POTS],
            .pot_sd = .30,
            .median_min = 9,
            .lo = u < .6 || u > .8 ? 0 : lo,
            .hi = u > .75 && u < .8 ? INFINITY : lo + 3,
        };
    }
    double loop = calibration_ms(), start = cpu_ms();
    struct cb_learn *learn = cb_learn_new(NULL);
    cb_learn_sync(learn, rows, ROWS);
    double refit = cpu_ms() - start, worst = 0, sum = 0, query = 0;
    for (int i = 1; i <= EXTRA; i++) {
        start = cpu_ms();
        cb_learn_sync(learn, rows, (size_t)(ROWS + i));
        double one = cpu_ms() - start;
        sum += one;
        worst = i > 1 && one > worst ? one : worst; /* the first walks cold memory */
        start = cpu_ms();
        cb_learn_quantile(learn, rows[ROWS + i - 1].pot, .30, 9, .8, 0);
        query += cpu_ms() - start;
    }
    printf("\nCosts (CPU time; the calibration loop, 2e6 logarithms, takes %.1f ms here)\n", loop);
    printf("  refit of 1e5 rows of 300 paints       %8.1f ms, %.1f loops\n", refit, refit / loop);
    printf("  one new coat beside them              %8.3f ms, worst %.3f\n", sum / EXTRA, worst);
    printf("  first ping asked of a paint after it  %8.3f ms\n", query / EXTRA);
    cb_learn_free(learn);
    free(keys);
    free(rows);
}

int main(int argc, char **argv)
{
    int painters = argc > 1 ? (int)strtol(argv[1], NULL, 10) : 70;
    if (painters < 1 || painters > 10000) {
        fprintf(stderr, "bench_learn: painters: a whole number from 1 to 10000\n");
        return 2;
    }
    int fewer = painters / 5 > 0 ? painters / 5 : 1;
    struct outcome oracle;
    costs();
    printf("\n%d painters x %d coats, first seed %d\n", painters, YEAR_COATS, (int)SEED);
    policies(painters, &oracle);
    oracle = painter_years(&(struct year){.policy = POLICY_ORACLE,
                                          .confidence = .8,
                                          .settings = year_default.settings},
                           SEED, fewer);
    printf("\nWhat the settings gain, over %d of the painters\n", fewer);
    slips(fewer, &oracle);
    techniques(fewer);
    frontier(fewer);
    silence(painters < 40 ? painters : 40);
    change(painters);
    return 0;
}
