/* SPDX-License-Identifier: MIT */
#include "core/plan/suggest.h"

#include <math.h>
#include <string.h>

#include "core/plan/suggest_choice.h"

/* Of what a choice saves by itself, what it must save beside the others, too (own judgement). */
#define OWN_SHARE 0.5

/* All that are kept, and one more, as one try; false: that choice is none here. */
static bool make(struct cb_suggest_log *log, const bool *kept, size_t more,
                 struct cb_suggest_try *try)
{
    bool made = false;
    *try = (struct cb_suggest_try){0};
    for (size_t i = 0; i < CB_SUGGEST_CHOICES; i++) {
        if (kept[i] || i == more) {
            const bool is_one = cb_suggest_choices[i].make(log, try);
            made |= is_one && i == more;
        }
    }
    return made;
}

struct judged {
    bool is_one, kept;
    struct cb_suggest_try try;
    struct cb_suggestion suggestion;
};

/* Each by itself, against the log. */
static void judge(struct cb_suggest_log *log, struct judged *rows)
{
    const bool none[CB_SUGGEST_CHOICES] = {false};
    for (size_t i = 0; i < CB_SUGGEST_CHOICES; i++) {
        struct cb_suggest_lost saved = {0};
        rows[i] = (struct judged){.suggestion = {.choice = cb_suggest_choices[i].word}};
        struct cb_suggestion *own = &rows[i].suggestion;
        if (make(log, none, i, &rows[i].try)) {
            own->saves_min = cb_suggest_saved(log, &rows[i].try, &saved);
            own->waiting_min = saved.waiting_min;
            own->paint_changes = saved.paint_changes;
        }
        rows[i].is_one = own->saves_min >= CB_SUGGEST_MIN;
    }
}

/* Of those that save most the first of the table, which asks for less; CB_SUGGEST_CHOICES: no more.
 */
static size_t next_best(const struct judged *rows)
{
    double most_min = 0;
    for (size_t i = 0; i < CB_SUGGEST_CHOICES; i++) {
        most_min = rows[i].is_one ? fmax(most_min, rows[i].suggestion.saves_min) : most_min;
    }
    size_t best = 0;
    while (best < CB_SUGGEST_CHOICES &&
           !(rows[best].is_one && rows[best].suggestion.saves_min > most_min - CB_SUGGEST_MIN)) {
        best++;
    }
    return best;
}

static double together(struct cb_suggest_log *log, const struct judged *rows, size_t but)
{
    bool kept[CB_SUGGEST_CHOICES];
    size_t last = CB_SUGGEST_CHOICES;
    for (size_t i = 0; i < CB_SUGGEST_CHOICES; i++) {
        kept[i] = rows[i].kept && i != but;
        last = kept[i] ? i : last;
    }
    struct cb_suggest_try try;
    struct cb_suggest_lost saved;
    return last < CB_SUGGEST_CHOICES && make(log, kept, last, &try)
               ? cb_suggest_saved(log, &try, &saved)
               : 0;
}

/* Does each that is kept save something that the others don't? */
static bool all_count(struct cb_suggest_log *log, const struct judged *rows, double all_min)
{
    for (size_t i = 0; i < CB_SUGGEST_CHOICES; i++) {
        const double own_min = fmax(CB_SUGGEST_MIN, OWN_SHARE * rows[i].suggestion.saves_min);
        if (rows[i].kept && together(log, rows, i) > all_min - own_min) {
            return false;
        }
    }
    return true;
}

static void add(struct cb_suggestions *out, const struct cb_suggestion *suggestion)
{
    size_t at = out->count++;
    for (; at > 0 && out->items[at - 1].saves_min < suggestion->saves_min; at--) {
        out->items[at] = out->items[at - 1];
    }
    out->items[at] = *suggestion;
}

static void choose(struct cb_suggest_log *log, struct cb_suggestions *out)
{
    struct judged rows[CB_SUGGEST_CHOICES];
    judge(log, rows);
    for (size_t i = next_best(rows); i < CB_SUGGEST_CHOICES && out->count < CB_SUGGESTIONS;
         i = next_best(rows)) {
        rows[i].is_one = false;
        rows[i].kept = true;
        const double all_min = out->count == 0 ? rows[i].suggestion.saves_min
                                               : together(log, rows, CB_SUGGEST_CHOICES);
        rows[i].kept = out->count == 0 || all_count(log, rows, all_min);
        if (rows[i].kept) {
            if (cb_suggest_choices[i].tell) {
                cb_suggest_choices[i].tell(log, &rows[i].try, &rows[i].suggestion);
            }
            out->together_min = all_min;
            add(out, &rows[i].suggestion);
        }
    }
}

struct cb_suggestions cb_suggest(const struct cb_review *review, const struct cb_kinds *kinds)
{
    struct cb_suggestions out = {0};
    struct cb_suggest_log log;
    if (!cb_suggest_log_init(&log, review, kinds)) {
        return out;
    }
    const struct cb_suggest_try own = {0};
    const struct cb_suggest_lost replayed = cb_suggest_replay(&log, &own, true, -1);
    out.spent_min = log.work_min + cb_suggest_sum(&log.spent);
    out.replayed_min = log.work_min + cb_suggest_sum(&replayed);
    choose(&log, &out);
    cb_suggest_log_fini(&log);
    return out;
}

void cb_suggest_say(const struct cb_suggestion *suggestion, const struct cb_recipe *recipe,
                    struct cb_str *out)
{
    for (size_t i = 0; i < CB_SUGGEST_CHOICES; i++) {
        if (strcmp(cb_suggest_choices[i].word, suggestion->choice) == 0) {
            cb_suggest_choices[i].say(suggestion, recipe, out);
        }
    }
}

void cb_suggest_say_together(const struct cb_suggestions *suggestions, struct cb_str *out)
{
    if (suggestions->count > 1) {
        cb_str_add(out, "Each of these is judged by itself; all at once would have saved ");
        cb_suggest_add_span(suggestions->together_min, out);
    }
}
