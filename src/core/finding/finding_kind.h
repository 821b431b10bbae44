/* SPDX-License-Identifier: MIT */
/* The kinds of findings: a file and a line of the list each. Private to core/finding. */
#ifndef CB_CORE_FINDING_FINDING_KIND_H
#define CB_CORE_FINDING_FINDING_KIND_H

#include <stdbool.h>

#include "core/finding/chance.h"
#include "core/finding/finding.h"

struct cb_finding_kind {
    const char *word;
    double share; /* of the chance to be wrong, beside those of the other kinds: more where a habit
                     is hard to see (own judgement) */
    /* Fills the finding but its kind; false: the log has too little for the question. Sizes of less
     * than CB_FINDING_MIN may have no texts. */
    bool (*look)(const struct cb_finding_log *log, struct cb_arena *arena, uint64_t seed,
                 struct cb_finding *out);
};

#define CB_FINDING_KINDS(X)                                                                        \
    X(lifts)                                                                                       \
    X(tired)                                                                                       \
    X(late)                                                                                        \
    X(small)                                                                                       \
    X(slower)
#define X(name) extern const struct cb_finding_kind cb_finding_##name;
CB_FINDING_KINDS(X)
#undef X

/* "21 min", "1 h 5 min", "2.4 min" */
const char *cb_finding_span(double minutes, struct cb_arena *arena);

#endif
