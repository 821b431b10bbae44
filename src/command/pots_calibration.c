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
}
