/* SPDX-License-Identifier: MIT */
/* Random events for tests: valid by the schema, hostile in their texts, the same for a seed. */
#ifndef CB_TESTS_EVENTS_H
#define CB_TESTS_EVENTS_H

#include <stdint.h>

#include "core/log/event.h"

struct dice {
    uint64_t state;
};
uint64_t dice_next(struct dice *dice);
uint64_t dice_below(struct dice *dice, uint64_t limit); /* 0 .. limit - 1 */

/* Any event of the schema or an unknown one; with_id: stands as stored, else as made. */
const struct cb_event *dice_event(struct dice *dice, struct cb_arena *arena, bool with_id);
/* A list of figures, which the program reads but never writes. */
void events_add_figures(struct cb_event_make *make, const int *figures, size_t n);
/* UTF-8 of 0 to most bytes: letters, controls, bidi marks, quotes, the far planes. */
const char *dice_text(struct dice *dice, struct cb_arena *arena, size_t most);

#endif
