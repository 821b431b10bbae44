/* SPDX-License-Identifier: MIT */
/*
 * Everything that happens at the bench is an event. This is the one table of their names and
 * fields; the log, the export and the fold all follow it. Unknown events and fields are carried
 * along untouched and mean nothing to the fold.
 */
#ifndef CB_CORE_LOG_EVENT_H
#define CB_CORE_LOG_EVENT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/err.h"

/* id, name, scope: B bench, U unit, F film. One list, many uses. */
#define CB_EVENTS(X)                                                                               \
    X(SESSION_OPENED, "session_opened", B)                                                         \
    X(SESSION_CLOSED, "session_closed", B)                                                         \
    X(CLIMATE_SET, "climate_set", B)                                                               \
    X(PAUSE_BEGUN, "pause_begun", B)                                                               \
    X(PAUSE_ENDED, "pause_ended", B)                                                               \
    X(AWAY, "away", B)                                                                             \
    X(CHORE_DONE, "chore_done", B)                                                                 \
    X(ANSWERED, "answered", B)                                                                     \
    X(CONFIDENCE_SET, "confidence_set", B)                                                         \
    X(CUE_MUTED, "cue_muted", B)                                                                   \
    X(CAUTION_READ, "caution_read", B)                                                             \
    X(EVIDENCE_FORGOTTEN, "evidence_forgotten", B)                                                 \
    X(BOTTLE_NEW, "bottle_new", B)                                                                 \
    X(PAINT_JOINED, "paint_joined", B)                                                             \
    X(PRIOR_GIVEN, "prior_given", B)                                                               \
    X(PINGED, "pinged", B)                                                                         \
    X(NOTE, "note", B)                                                                             \
    X(UNDONE, "undone", B)                                                                         \
    X(UNIT_BEGUN, "unit_begun", U)                                                                 \
    X(UNIT_OPENED, "unit_opened", U)                                                               \
    X(UNIT_FINISHED, "unit_finished", U)                                                           \
    X(RECIPE_CHANGED, "recipe_changed", U)                                                         \
    X(SWAPPED, "swapped", U)                                                                       \
    X(FIGURE_PARKED, "figure_parked", U)                                                           \
    X(FIGURE_BACK, "figure_back", U)                                                               \
    X(FIGURE_JOINED, "figure_joined", U)                                                           \
    X(BROUGHT_IN, "brought_in", U)                                                                 \
    X(COAT_ON, "coat_on", F)                                                                       \
    X(CHECKED, "checked", F)                                                                       \
    X(LIFTED, "lifted", F)                                                                         \
    X(TIDIED, "tidied", F)                                                                         \
    X(HELPED, "helped", F)                                                                         \
    X(COAT_ADDED, "coat_added", F)                                                                 \
    X(COAT_SPARED, "coat_spared", F)                                                               \
    X(STAGE_LEFT_OUT, "stage_left_out", F)                                                         \
    X(MOVED, "moved", F)
enum cb_event_kind {
#define X(id, word, scope) CB_EVENT_##id,
    CB_EVENTS(X)
#undef X
        CB_EVENT_UNKNOWN,
    CB_EVENT_COUNT = CB_EVENT_UNKNOWN
};

/* The fields' names are the JSON names; which event has which, of which type, and whether it is
 * required, is the table in event.c (cb_event_schema). */
/* The formatter never settles on such a list. */
/* clang-format off */
#define CB_FIELDS(X) \
    X(FIGURE, "figure") X(STAGE, "stage") X(COAT, "coat") X(ON_AT, "on_at") X(ON_PM_S, "on_pm_s") \
    X(PLACE, "place") X(WORK_S, "work_s") X(FOUND, "found") X(TEMP_C, "temp_c") \
    X(RH_PCT, "rh_pct") X(AIR, "air") X(FROM, "from") X(TO, "to") X(EDITION, "edition") \
    X(NAME, "name") X(MINUTES, "minutes") X(QUESTION, "question") X(VALUE, "value") X(PCT, "pct") \
    X(CUE, "cue") X(CAUTION, "caution") X(PAINT, "paint") X(FILMS, "films") X(DUE_AT, "due_at") \
    X(BY, "by") X(TEXT, "text") X(OF, "of") X(FIGURES, "figures") X(RECIPE, "recipe") \
    X(KIND, "kind") X(TONE, "tone") X(SECONDS, "seconds") X(FRONT, "front") \
    X(BEFORE, "before") X(SEEN_AT, "seen_at") X(LEFT, "left") X(COAT_ID, "coat_id") \
    X(TECHNIQUE, "technique") X(MEDIAN_MIN, "median_min") X(LOW_MIN, "low_min") \
    X(HIGH_MIN, "high_min") X(COATS, "coats")
/* clang-format on */
enum cb_field {
#define X(id, word) CB_FIELD_##id,
    CB_FIELDS(X)
#undef X
        CB_FIELD_OTHER, /* unknown: see cb_attr.name */
    CB_FIELD_COUNT = CB_FIELD_OTHER
};

enum cb_type {
    CB_TYPE_INT,     /* i */
    CB_TYPE_NUMBER,  /* d */
    CB_TYPE_TEXT,    /* s; words of a closed list (air, found, from) are texts too */
    CB_TYPE_TIME,    /* i: ms since the epoch; RFC 3339 in JSON */
    CB_TYPE_BOOL,    /* i: 1 or 0; true or false in JSON */
    CB_TYPE_FILMS,   /* films, n: a list of {figure, stage, coat} */
    CB_TYPE_FIGURES, /* figures, n: a list of whole numbers */
    CB_TYPE_RAW,     /* s: JSON text of an unknown field, kept as it came */
};

struct cb_film_key {
    int figure, stage, coat; /* from 1 */
};

struct cb_attr {
    enum cb_field field;
    enum cb_type type;
    const char *name; /* OTHER only */
    union {
        int64_t i;
        double d;
        const char *s;
        const struct cb_film_key *films;
        const int *figures;
    };
    size_t n; /* length of the lists */
};

struct cb_event {
    enum cb_event_kind kind;
    const char *name; /* the word, for UNKNOWN too */
    const char *id;   /* NULL until stored */
    const char *unit; /* NULL: bench event */
    int64_t at_ms;
    const char *press;   /* NULL: foreign or not yet stored */
    const char *machine; /* NULL: foreign */
    int64_t seq;         /* with machine: 0 to CB_EVENT_SEQ_MAX */
    const char *boot;    /* NULL: at_ms is taken as it is */
    int64_t boot_ms;     /* with boot: CLOCK_BOOTTIME, 0 to CB_EVENT_WHOLE_MAX */
    size_t attr_count;
    const struct cb_attr *attrs;
};

#define CB_EVENT_ID_MAX    64   /* bytes of id, unit, press, machine, boot */
#define CB_EVENT_TEXT_MAX  4096 /* bytes of a text other than a recipe */
#define CB_EVENT_COATS_MAX 99   /* the recipe's and those added at the bench */
/* What is given of another painter's pot: standard minutes, coats. */
#define CB_GIVEN_MIN_LOW   0.0001
#define CB_GIVEN_MIN_HIGH  1000000.0
#define CB_GIVEN_COATS_MAX 1000000
#define CB_EVENT_LIST_MAX  10000 /* films of one ping */
#define CB_EVENT_ATTRS_MAX 64    /* known and unknown fields of one event */
/* Whole numbers that every reader of JSON keeps end at 2^53 - 1 (RFC 7493, section 2.2). seq stays
 * well below (own judgement): a thousand events a second for 8900 years. */
#define CB_EVENT_WHOLE_MAX INT64_C(9007199254740991)
#define CB_EVENT_SEQ_MAX   (INT64_C(1) << 48)

/* The question of `answered` at the first opening: a thin coat here is left for VALUE minutes
 * before the next, so it is taken to be usually dry then; "unknown" is an answer too, and adds
 * nothing. */
#define CB_QUESTION_FIRST   "first-dry"
#define CB_QUESTION_UNKNOWN "unknown"

/* `front` of a unit_begun: it stays behind until it is opened; of a session_opened: no unit was in
 * front. */
#define CB_FRONT_NONE "no"

/* A moment as the edge reads it: three clocks at once. */
struct cb_moment {
    int64_t wall_ms;
    int64_t boot_ms;  /* CLOCK_BOOTTIME */
    const char *boot; /* boot id; NULL: none known */
};

struct cb_event_field {
    enum cb_field field;
    enum cb_type type;
    bool required;
    const char *words; /* closed list "dry|wet", or NULL */
    double low, high;  /* bounds for INT and NUMBER */
};
const char *cb_event_name(enum cb_event_kind kind);
enum cb_event_kind cb_event_kind_of(const char *name);
const char *cb_field_name(enum cb_field field);
bool cb_event_is_bench(enum cb_event_kind kind);
/* NULL, 0 for UNKNOWN. */
const struct cb_event_field *cb_event_schema(enum cb_event_kind kind, size_t *count);

/* Readers: the given default when the field is absent. */
const struct cb_attr *cb_event_get(const struct cb_event *event, enum cb_field field);
int64_t cb_event_int(const struct cb_event *event, enum cb_field field, int64_t otherwise);
double cb_event_number(const struct cb_event *event, enum cb_field field, double otherwise);
const char *cb_event_text(const struct cb_event *event, enum cb_field field, const char *otherwise);
bool cb_event_is(const struct cb_event *event, enum cb_field field); /* absent: false */
/* A stroke on the scrap: a coat_on of figure 0. */
bool cb_event_is_stroke(const struct cb_event *event);

/* A maker: start, add fields, take. Texts are copied into the arena. */
struct cb_event_make {
    struct cb_arena *arena;
    struct cb_event event;
    struct cb_attr attrs[12];
};
void cb_event_begin(struct cb_event_make *make, struct cb_arena *arena, enum cb_event_kind kind,
                    const char *unit, const struct cb_moment *at);
void cb_event_add_int(struct cb_event_make *make, enum cb_field field, int64_t value);
void cb_event_add_number(struct cb_event_make *make, enum cb_field field, double value);
void cb_event_add_text(struct cb_event_make *make, enum cb_field field, const char *value);
void cb_event_add_time(struct cb_event_make *make, enum cb_field field, int64_t ms);
void cb_event_add_bool(struct cb_event_make *make, enum cb_field field, bool value);
void cb_event_add_figures(struct cb_event_make *make, const int *figures, size_t n);
void cb_event_add_films(struct cb_event_make *make, const struct cb_film_key *films, size_t n);
const struct cb_event *cb_event_take(struct cb_event_make *make); /* in the arena */

/* Known fields in the order of the schema, then the unknown ones as they came: the order in which
 * events are kept and written. Sorts in place. */
void cb_event_order_attrs(enum cb_event_kind kind, struct cb_attr *attrs, size_t count);

/* The same event: every clock, name and field, numbers to the bit. */
bool cb_event_equal(const struct cb_event *a, const struct cb_event *b);

/* A deep copy. */
const struct cb_event *cb_event_copy(struct cb_arena *arena, const struct cb_event *event);

/* Required fields there, types, words and bounds right; id and unit 1 to 64 bytes; text is UTF-8.
 * A bench event may name a unit. Unknown events pass. CB_DATA and one line otherwise, which
 * starts with the field's name and a colon. */
enum cb_status cb_event_validate(const struct cb_event *event, struct cb_err *err);

/* Sorts into fold order: (greatest at so far on that machine, machine, seq); without machine
 * (at, id). A function of the set, so that any merge gives the same order. */
void cb_event_sort(const struct cb_event **events, size_t count);

#endif
