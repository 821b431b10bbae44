/* SPDX-License-Identifier: MIT */
/* The clocks of the machine, read together, and the zone of the painter. */
#ifndef CB_SHELL_CLOCK_H
#define CB_SHELL_CLOCK_H

#include "base/time.h"
#include "core/log/event.h"

/* boot: the kernel's boot id, static text; NULL where there is none. */
struct cb_moment cb_clock_now(void);
/* As if time had gone so many times as fast since start. */
struct cb_moment cb_clock_faster(const struct cb_moment *start, double speed);
int64_t cb_clock_monotonic_ms(void); /* CLOCK_MONOTONIC: for spans of this run alone */
int64_t cb_clock_boot_ms(void);      /* CLOCK_BOOTTIME: the same, and the machine's sleep counts */
/* The offsets around the moment: 20 years back, one forward. */
void cb_clock_zone(int64_t wall_ms, struct cb_zone *zone);

#endif
