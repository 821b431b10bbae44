/* SPDX-License-Identifier: MIT */
/*
 * make_hours SITTING STAGE DONE [UNITS [SEED]]: a log of so many painters who have each put on the
 * first DONE of eleven stages, and beside each the minutes that the rest would take, as a line
 * "truth UNIT MINUTES" on standard error.
 *
 * Painters, techniques and units have the spreads of core/learn/hours.h; each figure has its own
 * luck. SITTING: sd of what makes a whole sitting quick or slow, STAGE: of how wrong the recipe's
 * minutes are, both of the logarithm. Every stage has an area of its own: nothing has to dry, and
 * every minute but that of a change of paint is work.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/str.h"
#include "base/time.h"
#include "core/learn/hours.h"
#include "support/events.h"

#define STAGES      11
#define FIGURES     10
#define FIGURE_SD   .25 /* own judgement, as all here */
#define SITTING_MIN 100.0
#define CHANGE_MIN  1.0
#define DAY_MS      (24 * 60 * CB_MS_PER_MIN)

static const struct {
    const char *technique;
    double minutes;
} stages[STAGES] = {
    {"undercoat", 3},      {"basecoat", 4}, {"basecoat", 2},  {"basecoat", 3},
    {"wash", 2.5},         {"layer", 5},    {"basecoat", 2},  {"glaze", 2},
    {"edge highlight", 6}, {"layer", 4},    {"varnish", 1.5},
};

struct log {
    struct dice dice;
    int events, unit;
    double now_min; /* of the unit's own evenings */
    int64_t from_ms;
};

/* A normal deviate after Box and Muller, Ann. Math. Stat. 29 (1958) 610. */
static double normal(struct dice *dice)
{
    const double u = ((double)(dice_next(dice) >> 11) + 1) / 9007199254740993.0;
    const double v = (double)(dice_next(dice) >> 11) / 9007199254740992.0;
    return sqrt(-2 * log(u)) * cos(6.283185307179586 * v);
}

static void line(struct log *log, const char *event, const char *more)
{
    char at[CB_RFC3339_SIZE];
    cb_time_format(log->from_ms + llround(log->now_min * 60000), at);
    printf("{\"id\": \"e%d\", \"at\": \"%s\", \"event\": \"%s\"%s}\n", ++log->events, at, event,
           more);
}

static void begin(struct log *log)
{
    struct cb_str more = {0};
    cb_str_addf(&more, ", \"unit\": \"u%d\", \"name\": \"Unit %d\", \"figures\": %d, ", log->unit,
                log->unit, FIGURES);
    cb_str_addf(&more, "\"recipe\": \"coatbell: 1\\nname: Eleven stages\\nfigures: %d\\n", FIGURES);
    cb_str_addf(&more, "change: %g min\\npaints:\\n", CHANGE_MIN);
    for (int s = 0; s < STAGES; s++) {
        cb_str_addf(&more, "  p%d: {name: Paint %d, kind: %s}\\n", s, s,
                    s == STAGES - 1 ? "brush varnish" : "acrylic");
    }
    cb_str_add(&more, "areas:\\n");
    for (int s = 0; s < STAGES; s++) {
        cb_str_addf(&more, "  a%d: {}\\n", s);
    }
    cb_str_add(&more, "stages:\\n");
    for (int s = 0; s < STAGES; s++) {
        cb_str_addf(&more,
                    "  - {name: Stage %d, technique: %s, paint: p%d, on: a%d, minutes: %g}\\n", s,
                    stages[s].technique, s, s, stages[s].minutes);
    }
    cb_str_add(&more, "\"");
    line(log, "unit_begun", cb_str_text(&more));
    cb_str_fini(&more);
}

static void coat(struct log *log, int stage, int figure)
{
    char more[120];
    snprintf(more, sizeof more, ", \"unit\": \"u%d\", \"figure\": %d, \"stage\": %d, \"coat\": 1",
             log->unit, figure, stage + 1);
    line(log, "coat_on", more);
}

/* One painter: every stage is gone through, so that the dice fall alike however many are logged. */
static void paint(struct log *log, double sitting_sd, double stage_sd, int done)
{
    struct dice *dice = &log->dice;
    double technique[STAGES];
    const double painter = CB_HOURS_PAINTER_SD * normal(dice) + CB_HOURS_UNIT_SD * normal(dice);
    for (int s = 0; s < STAGES; s++) {
        technique[s] = painter + CB_HOURS_TECHNIQUE_SD * normal(dice);
        for (int before = 0; before < s; before++) {
            const bool same = strcmp(stages[before].technique, stages[s].technique) == 0;
            technique[s] = same ? technique[before] : technique[s];
        }
    }
    double sitting = sitting_sd * normal(dice), sat_min = 0, rest_min = 0;
    log->now_min = 0;
    begin(log);
    if (done > 0) {
        line(log, "session_opened", "");
    }
    for (int s = 0; s < STAGES; s++) {
        const double wrong = stage_sd * normal(dice);
        log->now_min += CHANGE_MIN;
        for (int figure = 1; figure <= FIGURES; figure++) {
            const double took =
                stages[s].minutes * exp(technique[s] + sitting + wrong + FIGURE_SD * normal(dice));
            log->now_min += took;
            sat_min += took;
            if (s < done) {
                coat(log, s, figure);
            } else {
                rest_min += took;
            }
            if (sat_min >= SITTING_MIN) {
                if (s < done) {
                    line(log, "session_closed", "");
                }
                log->now_min = ceil(log->now_min / 1440) * 1440;
                if (s < done && (s + 1 < done || figure < FIGURES)) {
                    line(log, "session_opened", "");
                }
                log->now_min += figure < FIGURES ? CHANGE_MIN : 0;
                sitting = sitting_sd * normal(dice);
                sat_min = 0;
            }
        }
        if (s + 1 == done && sat_min > 0) {
            line(log, "session_closed", "");
        }
    }
    fprintf(stderr, "truth Unit %d %.6f\n", log->unit, rest_min);
}

int main(int argc, char **argv)
{
    double sitting_sd, stage_sd;
    long long done, units = 200, seed = 20260105;
    if (argc < 4 || !cb_str_number(argv[1], &sitting_sd) || !cb_str_number(argv[2], &stage_sd) ||
        !cb_str_integer(argv[3], &done) || done < 0 || done > STAGES ||
        (argc > 4 && !cb_str_integer(argv[4], &units)) ||
        (argc > 5 && !cb_str_integer(argv[5], &seed))) {
        fputs("make_hours SITTING STAGE DONE [UNITS [SEED]]\n", stderr);
        return CB_USAGE;
    }
    struct log log = {.dice = {(uint64_t)seed}, .from_ms = 1767636000000}; /* 2026-01-05T18:00Z */
    line(&log, "climate_set",
         ", \"temp_c\": 23, \"rh_pct\": 50, \"air\": \"still\", \"from\": \"typed\"");
    for (log.unit = 1; log.unit <= units; log.unit++) {
        paint(&log, sitting_sd, stage_sd, (int)done);
        log.from_ms += 60 * (int64_t)DAY_MS;
    }
    return 0;
}
