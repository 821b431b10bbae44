/* SPDX-License-Identifier: MIT */
#include <inttypes.h>
#include <stdio.h>

#include "command/pots_internal.h"

static struct cb_calibration_band all_bands(const struct cb_pots *pots)
{
    struct cb_calibration_band all = {0};
    for (int i = 0; i < CB_CALIBRATION_BANDS; i++) {
        all.answered += pots->calibration.bands[i].answered;
        all.dry += pots->calibration.bands[i].dry;
        all.confidence += pots->calibration.bands[i].confidence;
    }
    return all;
}

#define PLOT_COLUMNS 31 /* 0 to 100 % */
#define NAME_COLUMNS 24

static int column_of(double share)
{
    return (int)(share * (PLOT_COLUMNS - 1) + .5);
}

/* The share found dry, its interval, and what was promised, on one axis. */
static void print_plot(const struct cb_pots *pots, const struct cb_ring_tally *tally)
{
    const bool ascii = pots->args->ascii, any = tally->answered > 0;
    const int share = any ? column_of((double)tally->dry / (double)tally->answered) : -1;
    const int promised = tally->confidence > 0 ? column_of(tally->confidence) : -1;
    double low, high;
    cb_calibration_wilson(tally->dry, tally->answered, &low, &high);
    const int from = any ? column_of(low) : PLOT_COLUMNS, to = any ? column_of(high) : -1;
    const int last = promised > to ? promised : to;
    for (int i = 0; i <= last; i++) {
        printf("%s", i == share             ? (ascii ? "o" : "\u25CF")
                     : i == promised        ? "|"
                     : i >= from && i <= to ? (ascii ? "-" : "\u2500")
                                            : " ");
    }
    printf("\n");
}

/* By confidence and by paint, answered and silent apart. */
static void print_rings(const struct cb_pots *pots)
{
    const struct cb_rings rings =
        cb_calibration_rings(pots->rows, pots->row_count, pots->args->arena);
    if (rings.count == 0) {
        return;
    }
    printf(
        "\nof the films that rang%*sdry of answered  silent   0 %%           50           100 %%\n",
        NAME_COLUMNS - 20, "");
    for (size_t i = 0; i < rings.count; i++) {
        const struct cb_ring_tally *tally = &rings.tallies[i];
        if (tally->paint) {
            cb_pots_print_text(pots, tally->paint, NAME_COLUMNS);
        } else {
            printf("%-*s", NAME_COLUMNS,
                   cb_arena_printf(pots->args->arena, "rung at %.0f %%", 100 * tally->confidence));
        }
        printf(" %6zu of %-8zu %6zu   ", tally->dry, tally->answered, tally->silent);
        print_plot(pots, tally);
    }
    printf("silent: painted over without a word, and %zu of them came up; of what was wet you "
           "speak of\n"
           "%.0f in 100, as far as the log tells. %s the share found dry, %s its interval, | what "
           "was\n"
           "promised\n",
           rings.came_up, 100 * cb_learn_speaks_up(pots->learn), pots->args->ascii ? "o" : "\u25CF",
           pots->args->ascii ? "-" : "\u2500");
}

void cb_pots_print_calibration(const struct cb_pots *pots)
{
    const struct cb_calibration_band all = all_bands(pots);
    if (all.answered == 0) {
        printf("no ping was answered yet; Dry or Still wet on the pop-up, d or w at the bench\n");
        return;
    }
    printf("of the films pinged and then asked, how many were dry at the first answer\n");
    printf("%10s %9s %7s %9s   %s\n", "pinged at", "answered", "dry", "that is", "95 % interval");
    for (int i = 0; i <= CB_CALIBRATION_BANDS; i++) {
        const struct cb_calibration_band *band =
            i == CB_CALIBRATION_BANDS ? &all : &pots->calibration.bands[i];
        double low, high;
        if (band->answered == 0) {
            continue;
        }
        cb_calibration_wilson(band->dry, band->answered, &low, &high);
        double promised = band->confidence / (double)band->answered;
        char name[16];
        snprintf(name, sizeof name, "%.0f %%", 100 * promised);
        printf("%10s %9" PRIu64 " %7" PRIu64 " %7.1f %%   %.1f to %.1f %%: %s\n",
               band == &all ? "all" : name, band->answered, band->dry,
               100.0 * (double)band->dry / (double)band->answered, 100 * low, 100 * high,
               promised < low    ? "surer than said"
               : promised > high ? "less sure than said"
                                 : "as said");
    }
    printf("interval: Wilson 1927\n");
    print_rings(pots);
}
