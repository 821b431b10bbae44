/* SPDX-License-Identifier: MIT */
/* Processor time of what would have saved time, on logs of a steady painter in batches: of a usual
 * size, and of the largest. */
#include <stdio.h>
#include <time.h>

#include "core/plan/suggest.h"
#include "support/bench.h"
#include "support/steady.h"

#define ROUNDS 9

static double cpu_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec / 1e6;
}

static void measure(int figures, int stages, int coats, int batch, const char *aim)
{
    struct cb_str recipe = {0};
    struct steady steady;
    double times[ROUNDS];
    cb_str_add(&recipe, "{coatbell: 1, name: r, change: 1.5, areas: {");
    for (int i = 0; i < 20; i++) {
        cb_str_addf(&recipe, "a%d: {},", i);
    }
    cb_str_add(&recipe, "}, paints: {");
    for (int i = 0; i < 12; i++) {
        cb_str_addf(&recipe, "p%d: {name: P%d, kind: acrylic},", i, i);
    }
    cb_str_add(&recipe, "}, stages: [");
    for (int i = 0; i < stages; i++) {
        cb_str_addf(&recipe,
                    "{name: S%d, technique: basecoat, paint: p%d, on: a%d, coats: %d, minutes: 2, "
                    "wait: 14},",
                    i, i % 12, i % 20, coats);
    }
    cb_str_add(&recipe, "]}");
    const struct cb_review *review = steady_paint(&steady, cb_str_text(&recipe), figures, batch);
    for (int i = 0; i < ROUNDS; i++) {
        const double start = cpu_ms();
        (void)cb_suggest(review, world_kinds());
        times[i] = cpu_ms() - start;
    }
    char what[64];
    snprintf(what, sizeof what, "%d figures, %d stages, %d coats, by %d", figures, stages, coats,
             batch);
    bench_report(what, times, ROUNDS, aim);
    cb_str_fini(&recipe);
    steady_end(&steady);
}

int main(void)
{
    measure(10, 16, 2, 3, "aim: 30 ms");
    measure(20, 20, 2, 4, "aim: 60 ms");
    measure(40, 60, 3, 5, "aim: 60 ms");
    return 0;
}
