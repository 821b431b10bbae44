/* SPDX-License-Identifier: MIT */
/* One timer in the foreground: counts down on standard output, then rings. No log, no bench. */
#ifndef CB_SHELL_RING_H
#define CB_SHELL_RING_H

#include <stdint.h>

#include "base/err.h"
#include "base/time.h"

struct cb_ring {
    const char *bell;         /* the child program, NULL: the terminal's bell only */
    const char *what;         /* "acrylic, basecoat": before the countdown */
    const char *title, *body; /* of the notification */
    int64_t wait_ms;          /* from now, >= 0; a sleeping machine's time counts */
    const struct cb_zone *zone;
};

/* Returns when it has rung, or CB_FAILED when Ctrl-C or SIGTERM came first. */
enum cb_status cb_ring_run(const struct cb_ring *ring, struct cb_err *err);

#endif
