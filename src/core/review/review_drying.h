/* SPDX-License-Identifier: MIT */
/* When the films of a unit were drying, beside the hours of its review. Private to review.c. */
#ifndef CB_CORE_REVIEW_REVIEW_DRYING_H
#define CB_CORE_REVIEW_REVIEW_DRYING_H

#include "core/review/review.h"

/* Fills dryings and film_drying_ms; the list lies in the arena. A film of a unit under way is
 * looked at until end_ms, bench time; so is one that would never dry as the air was. */
void cb_review_list_dryings(const struct cb_bench *bench, const struct cb_learn *learn,
                            const struct cb_unit *unit, int64_t end_ms, struct cb_review *review,
                            struct cb_arena *arena);

/* Fills ring_min and fan_ring_min of so many stages, the first one first. */
void cb_review_time_rings(const struct cb_bench *bench, const struct cb_learn *learn,
                          const struct cb_unit *unit, struct cb_review_stage *stages, size_t count);

#endif
