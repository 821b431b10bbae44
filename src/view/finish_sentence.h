/* SPDX-License-Identifier: MIT */
/* The finish in words: "on Thursday 3 December, about 21:30 (likely Wednesday to Saturday)". */
#ifndef CB_VIEW_FINISH_SENTENCE_H
#define CB_VIEW_FINISH_SENTENCE_H

#include "base/arena.h"
#include "core/plan/finish.h"

/* What follows "finished", in the arena; NULL: not known. The minute itself where it is in the
 * session that is open or nothing but drying is left, else to ten minutes. The likely range by the
 * clock where it lies in one day, by the weekday up to six days from now, else by the date; none
 * where both its ends are the same. */
const char *cb_finish_sentence(const struct cb_finish *finish, int64_t now_ms,
                               const struct cb_zone *zone, struct cb_arena *arena);

#endif
