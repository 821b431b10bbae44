/* SPDX-License-Identifier: MIT */
/*
 * Cues: one line of coaching at its moment, each with the condition under which it is worth saying.
 * They are data: shared/cues.yaml, then the painter's own cues.yaml, read into trees by the caller
 * and checked here as coatbell-cues(5) says. Knows no bench: what there is to judge comes as facts.
 */
#ifndef CB_CORE_COACH_CUE_H
#define CB_CORE_COACH_CUE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/str.h"
#include "base/tree.h"
#include "core/air/climate.h"
#include "core/paint/kinds.h"

#define CB_CUE_COLUMNS 48 /* of a text; {figure} counts as it is written */
#define CB_CUE_ID_MAX  32 /* bytes */
#define CB_CUES_MAX    400
#define CB_CUE_FIGURE  "{figure}" /* in the text of an AFTER_COAT: which figures it is about */

/* One list: enum, the word in files. */
#define CB_CUE_MOMENTS(X)                                                                          \
    X(BEFORE_STAGE, "before stage")                                                                \
    X(FIRST_COAT, "first coat")                                                                    \
    X(BETWEEN_COATS, "between coats")                                                              \
    X(AFTER_COAT, "after coat")                                                                    \
    X(WHILE_DRYING, "while drying")                                                                \
    X(WHEN_DRY, "when dry")                                                                        \
    X(STAGE_END, "stage end")                                                                      \
    X(EVENING_END, "evening end")                                                                  \
    X(OPENING, "opening")
enum cb_cue_moment {
#define X(id, word) CB_CUE_##id,
    CB_CUE_MOMENTS(X)
#undef X
        CB_CUE_MOMENT_COUNT
};
const char *cb_cue_moment_name(enum cb_cue_moment moment);

/* What the mix has in it, and the tone of the paint against what lies under it: bits. */
enum { CB_CUE_NEAT = 1, CB_CUE_WATER = 2, CB_CUE_MEDIUM = 4 };
enum { CB_CUE_LIGHTER = 1, CB_CUE_DARKER = 2, CB_CUE_SAME = 4, CB_CUE_LIGHT_OVER_DARK = 8 };

/* Masks with no bit: any. Bounds that are not said are 0, INT_MAX or NAN. */
struct cb_cue {
    const char *id, *text, *source;
    enum cb_cue_moment moment;
    uint64_t techniques, kinds; /* by index */
    unsigned bys, mixes, tones;
    int coat_from, coat_to, coats_from, coats_to, figures_from, figures_to;
    double temp_under, temp_over;                 /* C */
    double humidity_under, humidity_over;         /* % */
    double shaken_over, water_over, palette_over; /* minutes since the paint was shaken, the water
                                                     changed, the palette filled */
    double until;                                 /* AFTER_COAT: share of the drying, 0 to 1 */
    int weight;                                   /* 0 to 100, the most useful highest */
    bool own;                                     /* from the painter's own file */
};

struct cb_cues { /* zeroed: none */
    size_t count;
    const struct cb_cue *cues;
};

/* own: NULL: none. A cue of the painter's with the id of one of ours stands in its place. NULL and
 * issues, each of its own file, when anything is wrong. kinds names what `kind` may say. */
const struct cb_cues *cb_cues_from_tree(const struct cb_tree *ours, const struct cb_tree *own,
                                        const struct cb_kinds *kinds, struct cb_arena *arena,
                                        struct cb_issues *ours_issues,
                                        struct cb_issues *own_issues);

/* What a stage is for the whole of a session. */
struct cb_cue_stage {
    bool any; /* false: the moment is about no stage */
    enum cb_technique technique;
    int kind; /* -1: no paint */
    enum cb_by by;
    unsigned mix, tone; /* bits; tone 0: not known */
    int coats;          /* of the stage */
    int figures;
    int evenings; /* earlier ones on which this technique was painted */
};
/* What changes with the coat and the minute. */
struct cb_cue_now {
    int coat; /* from 1; 0: none */
    struct cb_climate climate;
    double shaken_min, water_min, palette_min; /* INFINITY: not this evening */
    /* since the last coat went on, and since a stage was begun; INFINITY: none this evening */
    double mark_min, begin_min;
};

/* Does the cue's condition hold? why, where given: appends the first thing that it does not, "for
 * the technique wash". */
bool cb_cue_fits_stage(const struct cb_cue *cue, const struct cb_cue_stage *stage,
                       const struct cb_kinds *kinds, struct cb_str *why);
bool cb_cue_fits_now(const struct cb_cue *cue, const struct cb_cue_now *now, struct cb_str *why);

/* Does it depend on the air, or on an age? Then it has no fixed place. By the air it is said on the
 * first coat of its moment; by the age of the paint or the palette there, on the first stage of the
 * session that it is for, and wherever it has come since the last coat; by that of the water when
 * that many minutes have gone by once more. */
bool cb_cue_by_air(const struct cb_cue *cue);
bool cb_cue_by_age(const struct cb_cue *cue);
bool cb_cue_is_due(const struct cb_cue *cue, const struct cb_cue_now *now, bool first);

/* Is the turn of that cue, the how-manieth of its list, after so many evenings? On the first all
 * are, on the second and third every other, on the next four every fourth, and so on; each evening
 * others. What is timed within a film (AFTER_COAT) never fades. Own judgement. */
bool cb_cue_has_turn(const struct cb_cue *cue, size_t place, int evenings);

#endif
