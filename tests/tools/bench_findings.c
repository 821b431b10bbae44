/* SPDX-License-Identifier: MIT */
/* How well habits are found in logs of painters with one planted each, and how often something is
 * found of painters with none. Arguments: how many painters of each (20), and without (100). */
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "support/planted.h"

#define UNITS 3

static double cpu_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec / 1e6;
}

static void measure(enum planted planted, int painters)
{
    int found[UNITS] = {0}, other = 0, within = 0;
    double cost_min = 0, size_min = 0, worst_ms = 0;
    for (int i = 0; i < painters; i++) {
        struct planted_painter painter;
        bool once = false;
        planted_begin(&painter, planted, (uint64_t)i + 1);
        for (int unit = 0; unit < UNITS; unit++) {
            planted_unit(&painter);
            const double start_ms = cpu_ms();
            const struct cb_findings findings = planted_findings(&painter);
            const double took_ms = cpu_ms() - start_ms;
            const bool has = planted_has(&findings, planted_kind(planted));
            worst_ms = took_ms > worst_ms ? took_ms : worst_ms;
            found[unit] += has ? 1 : 0;
            once = once || has;
            other += findings.count > (has ? 1u : 0u) ? 1 : 0;
            for (size_t f = 0; f < findings.count && unit == UNITS - 1; f++) {
                size_min += has && findings.items[f].kind[0] == planted_kind(planted)[0]
                                ? findings.items[f].minutes
                                : 0;
            }
        }
        within += once ? 1 : 0;
        cost_min += painter.cost_min / UNITS;
        planted_end(&painter);
    }
    printf("%-28s %5.0f %5.0f  %3d %3d %3d %7d / %-3d %7d / %-4d %5.0f\n", planted_words(planted),
           cost_min / painters, size_min / (found[UNITS - 1] > 0 ? found[UNITS - 1] : 1), found[0],
           found[1], found[2], within, painters, other, UNITS * painters, worst_ms);
    fflush(stdout);
}

int main(int argc, char **argv)
{
    const int painters = argc > 1 ? atoi(argv[1]) : 20;
    const int none = argc > 2 ? atoi(argv[2]) : 100;
    printf("%-28s %5s %5s  %-11s %13s %14s %6s\n", "", "costs", "said", "found after", "within",
           "another one", "worst");
    printf("%-28s %5s %5s  %3d %3d %3d %13s %14s %6s\n", "", "min", "min", 1, 2, 3, "three units",
           "of units", "ms");
    for (enum planted planted = 0; planted < PLANTED_COUNT; planted++) {
        measure(planted, planted == PLANTED_NONE ? none : painters);
    }
    return 0;
}
