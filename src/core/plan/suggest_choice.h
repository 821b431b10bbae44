/* SPDX-License-Identifier: MIT */
/* The choices that a log is replayed under, a row each; of suggest*.c alone. */
#ifndef CB_CORE_PLAN_SUGGEST_CHOICE_H
#define CB_CORE_PLAN_SUGGEST_CHOICE_H

#include "core/plan/suggest_internal.h"

#define CB_SUGGEST_CHOICES 4u

struct cb_suggest_choice {
    const char *word;
    /* Adds it to a try, which may hold those of rows before; false: it is none for this log. */
    bool (*make)(struct cb_suggest_log *log, struct cb_suggest_try *try);
    /* What its sentence says beside the minutes; NULL: nothing. */
    void (*tell)(struct cb_suggest_log *log, const struct cb_suggest_try *try,
                 struct cb_suggestion *out);
    void (*say)(const struct cb_suggestion *suggestion, const struct cb_recipe *recipe,
                struct cb_str *out);
};
/* Of choices that save as much, the first here is named. */
extern const struct cb_suggest_choice cb_suggest_choices[CB_SUGGEST_CHOICES];

/* "34 min", "1 h 5 min" */
void cb_suggest_add_span(double minutes, struct cb_str *out);

#endif
