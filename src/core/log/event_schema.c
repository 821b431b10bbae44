/* SPDX-License-Identifier: MIT */
#include "core/log/event.h"

#include <assert.h>
#include <string.h>

#include "core/recipe/recipe.h"

/* One row per field; the order here is the order in which fields are kept and written. */
#define INT(f, need, low, high)                                                                    \
    {                                                                                              \
        CB_FIELD_##f, CB_TYPE_INT, need, NULL, low, high                                           \
    }
#define NUMBER(f, need, low, high)                                                                 \
    {                                                                                              \
        CB_FIELD_##f, CB_TYPE_NUMBER, need, NULL, low, high                                        \
    }
#define TEXT(f, need, most)                                                                        \
    {                                                                                              \
        CB_FIELD_##f, CB_TYPE_TEXT, need, NULL, 0, most                                            \
    }
#define WORD(f, need, words)                                                                       \
    {                                                                                              \
        CB_FIELD_##f, CB_TYPE_TEXT, need, words, 0, 0                                              \
    }
#define TIME(f, need)                                                                              \
    {                                                                                              \
        CB_FIELD_##f, CB_TYPE_TIME, need, NULL, 0, 0                                               \
    }
#define FIGURE(need) INT(FIGURE, need, 1, CB_FIGURES_MAX)
#define STAGE(need)  INT(STAGE, need, 1, CB_RECIPE_MAX)
#define COAT(need)   INT(COAT, need, 1, CB_EVENT_COATS_MAX)

#define AIR_WORDS "still|draught|fan|dryer"
#define DAY_S     86400.0

#define ROWS(name) static const struct cb_event_field name[]

ROWS(session_opened) = {
    TEXT(EDITION, false, CB_EVENT_TEXT_MAX),
    TEXT(FRONT, false, CB_EVENT_ID_MAX), /* id of the unit found in front, or CB_FRONT_NONE */
};
ROWS(climate_set) = {
    NUMBER(TEMP_C, true, -20, 60), /* the range that the air model computes, core/air/psychro.h */
    NUMBER(RH_PCT, true, 0, 100),          WORD(AIR, false, AIR_WORDS),
    TEXT(PLACE, false, CB_EVENT_TEXT_MAX), WORD(FROM, false, "typed|sensor|default|estimate"),
};
ROWS(away) = {TIME(FROM, true), TIME(TO, true)};
ROWS(chore_done) = {
    TEXT(NAME, true, CB_EVENT_TEXT_MAX),
    NUMBER(MINUTES, true, 0, 1440),
};
ROWS(answered) = {
    TEXT(QUESTION, true, CB_EVENT_TEXT_MAX),
    TEXT(VALUE, true, CB_EVENT_TEXT_MAX),
};
ROWS(confidence_set) = {NUMBER(PCT, true, 50, 95)};
ROWS(cue_muted) = {TEXT(CUE, true, CB_EVENT_TEXT_MAX)};
ROWS(caution_read) = {TEXT(CAUTION, true, CB_EVENT_TEXT_MAX)};
ROWS(evidence_forgotten) = {TEXT(PAINT, false, CB_EVENT_TEXT_MAX)};
ROWS(bottle_new) = {TEXT(PAINT, true, CB_EVENT_TEXT_MAX)};
ROWS(paint_joined) = {
    TEXT(FROM, true, CB_EVENT_TEXT_MAX),
    TEXT(TO, true, CB_EVENT_TEXT_MAX),
};
ROWS(prior_given) = {
    TEXT(PAINT, true, CB_EVENT_TEXT_MAX),
    TEXT(KIND, true, CB_EVENT_TEXT_MAX),
    TEXT(TECHNIQUE, true, CB_EVENT_TEXT_MAX),
    NUMBER(MEDIAN_MIN, true, CB_GIVEN_MIN_LOW, CB_GIVEN_MIN_HIGH),
    NUMBER(LOW_MIN, true, CB_GIVEN_MIN_LOW, CB_GIVEN_MIN_HIGH),
    NUMBER(HIGH_MIN, true, CB_GIVEN_MIN_LOW, CB_GIVEN_MIN_HIGH),
    INT(COATS, true, 1, CB_GIVEN_COATS_MAX),
};
ROWS(pinged) = {
    {CB_FIELD_FILMS, CB_TYPE_FILMS, true, NULL, 0, CB_EVENT_LIST_MAX},
    TIME(DUE_AT, false),
    TEXT(BY, false, CB_EVENT_TEXT_MAX),
};
ROWS(note) = {TEXT(TEXT, true, CB_EVENT_TEXT_MAX)};
ROWS(undone) = {TEXT(OF, true, CB_EVENT_ID_MAX)};
ROWS(unit_begun) = {
    TEXT(NAME, true, CB_EVENT_TEXT_MAX),
    INT(FIGURES, true, 1, CB_FIGURES_MAX),
    TEXT(RECIPE, true, CB_RECIPE_BYTES),
    WORD(FRONT, false, CB_FRONT_NONE),
};
ROWS(unit_finished) = {
    {CB_FIELD_LEFT, CB_TYPE_BOOL, false, NULL, 0, 0}, /* put aside: given up, or begun by mistake */
};
ROWS(recipe_changed) = {TEXT(RECIPE, true, CB_RECIPE_BYTES)};
ROWS(swapped) = {
    TEXT(PAINT, true, CB_EVENT_TEXT_MAX),
    TEXT(NAME, true, CB_EVENT_TEXT_MAX),
    TEXT(KIND, false, CB_EVENT_TEXT_MAX),
    TEXT(TONE, false, CB_EVENT_TEXT_MAX),
};
#define FIGURE_OR_SCRAP INT(FIGURE, true, 0, CB_FIGURES_MAX)
ROWS(one_figure) = {FIGURE(true)};
ROWS(brought_in) = {
    {CB_FIELD_FIGURES, CB_TYPE_FIGURES, true, NULL, 1, CB_FIGURES_MAX},
};
ROWS(coat_on) = {
    FIGURE_OR_SCRAP,
    STAGE(true),
    COAT(true),
    TIME(ON_AT, false),
    NUMBER(ON_PM_S, false, 0, 31 * DAY_S),
    TEXT(PLACE, false, CB_EVENT_TEXT_MAX),
    NUMBER(WORK_S, false, 0, DAY_S),
    {CB_FIELD_BEFORE, CB_TYPE_BOOL, false, NULL, 0, 0},
};
ROWS(checked) = {
    FIGURE_OR_SCRAP,      STAGE(true), COAT(true), WORD(FOUND, true, "dry|wet"),
    TIME(SEEN_AT, false), /* when it was found so, where that was told later */
};
ROWS(lifted) = {FIGURE(true), STAGE(true), COAT(true)};
ROWS(figure_stage) = {FIGURE(true), STAGE(true)};
ROWS(helped) = {
    FIGURE(true),
    STAGE(true),
    COAT(true),
    WORD(AIR, true, AIR_WORDS),
    NUMBER(SECONDS, true, 0, DAY_S),
};
ROWS(moved) = {
    /* the coat that this event put on is that coat of that figure, and ever was */
    TEXT(COAT_ID, true, CB_EVENT_ID_MAX),
    FIGURE(true),
    COAT(true),
};
ROWS(stage_left_out) = {STAGE(true), FIGURE(false)};

#define WITH(rows) sizeof(rows) / sizeof *(rows), rows
#define SCOPE_B    'B'
#define SCOPE_U    'U'
#define SCOPE_F    'F'

/* Fields by event; those left out here have none. */
static const struct {
    size_t count;
    const struct cb_event_field *fields;
} schemas[] = {
    [CB_EVENT_SESSION_OPENED] = {WITH(session_opened)},
    [CB_EVENT_CLIMATE_SET] = {WITH(climate_set)},
    [CB_EVENT_AWAY] = {WITH(away)},
    [CB_EVENT_CHORE_DONE] = {WITH(chore_done)},
    [CB_EVENT_ANSWERED] = {WITH(answered)},
    [CB_EVENT_CONFIDENCE_SET] = {WITH(confidence_set)},
    [CB_EVENT_CUE_MUTED] = {WITH(cue_muted)},
    [CB_EVENT_CAUTION_READ] = {WITH(caution_read)},
    [CB_EVENT_EVIDENCE_FORGOTTEN] = {WITH(evidence_forgotten)},
    [CB_EVENT_BOTTLE_NEW] = {WITH(bottle_new)},
    [CB_EVENT_PAINT_JOINED] = {WITH(paint_joined)},
    [CB_EVENT_PRIOR_GIVEN] = {WITH(prior_given)},
    [CB_EVENT_PINGED] = {WITH(pinged)},
    [CB_EVENT_NOTE] = {WITH(note)},
    [CB_EVENT_UNDONE] = {WITH(undone)},
    [CB_EVENT_UNIT_BEGUN] = {WITH(unit_begun)},
    [CB_EVENT_UNIT_FINISHED] = {WITH(unit_finished)},
    [CB_EVENT_RECIPE_CHANGED] = {WITH(recipe_changed)},
    [CB_EVENT_SWAPPED] = {WITH(swapped)},
    [CB_EVENT_FIGURE_PARKED] = {WITH(one_figure)},
    [CB_EVENT_FIGURE_BACK] = {WITH(one_figure)},
    [CB_EVENT_BROUGHT_IN] = {WITH(brought_in)},
    [CB_EVENT_COAT_ON] = {WITH(coat_on)},
    [CB_EVENT_CHECKED] = {WITH(checked)},
    [CB_EVENT_LIFTED] = {WITH(lifted)},
    [CB_EVENT_TIDIED] = {WITH(figure_stage)},
    [CB_EVENT_HELPED] = {WITH(helped)},
    [CB_EVENT_COAT_ADDED] = {WITH(figure_stage)},
    [CB_EVENT_COAT_SPARED] = {WITH(figure_stage)},
    [CB_EVENT_STAGE_LEFT_OUT] = {WITH(stage_left_out)},
    [CB_EVENT_MOVED] = {WITH(moved)},
};
static_assert(sizeof schemas / sizeof *schemas == CB_EVENT_COUNT, "a schema for every event");

static const char *const event_names[] = {
#define X(id, word, scope) word,
    CB_EVENTS(X)
#undef X
};
static const char event_scopes[] = {
#define X(id, word, scope) SCOPE_##scope,
    CB_EVENTS(X)
#undef X
};
static const char *const field_names[] = {
#define X(id, word) word,
    CB_FIELDS(X)
#undef X
};

const char *cb_event_name(enum cb_event_kind kind)
{
    return (size_t)kind < CB_EVENT_COUNT ? event_names[kind] : "unknown";
}

enum cb_event_kind cb_event_kind_of(const char *name)
{
    for (size_t i = 0; name[0] && i < CB_EVENT_COUNT; i++) {
        if (name[0] == event_names[i][0] && strcmp(name, event_names[i]) == 0) {
            return (enum cb_event_kind)i;
        }
    }
    return CB_EVENT_UNKNOWN;
}

const char *cb_field_name(enum cb_field field)
{
    return (size_t)field < CB_FIELD_COUNT ? field_names[field] : "";
}

bool cb_event_is_bench(enum cb_event_kind kind)
{
    return (size_t)kind < CB_EVENT_COUNT && event_scopes[kind] == SCOPE_B;
}

const struct cb_event_field *cb_event_schema(enum cb_event_kind kind, size_t *count)
{
    if ((size_t)kind >= CB_EVENT_COUNT) {
        *count = 0;
        return NULL;
    }
    *count = schemas[kind].count;
    return schemas[kind].fields;
}
