/* SPDX-License-Identifier: MIT */
/*
 * What a paint is physically (kind), what the hand does (technique), and the priors of drying
 * for their pairs. The tables are data: shared/kinds.yaml, then the user's own kinds.yaml, read
 * into a tree by the caller. Each row carries its source.
 */
#ifndef CB_CORE_PAINT_KINDS_H
#define CB_CORE_PAINT_KINDS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"
#include "base/tree.h"

/* One list: enum, the word in recipes. */
#define CB_TECHNIQUES(X)                                                                           \
    X(UNDERCOAT, "undercoat")                                                                      \
    X(BASECOAT, "basecoat")                                                                        \
    X(LAYER, "layer")                                                                              \
    X(DRYBRUSH, "drybrush")                                                                        \
    X(WASH, "wash")                                                                                \
    X(RECESS_SHADE, "recess shade")                                                                \
    X(GLAZE, "glaze")                                                                              \
    X(EDGE_HIGHLIGHT, "edge highlight")                                                            \
    X(TEXTURE, "texture")                                                                          \
    X(VARNISH, "varnish")                                                                          \
    X(TRANSFER, "transfer")                                                                        \
    X(PREPARE, "prepare")                                                                          \
    X(MASK, "mask")                                                                                \
    X(UNMASK, "unmask")                                                                            \
    X(JOIN, "join")
enum cb_technique {
#define X(id, word) CB_TECHNIQUE_##id,
    CB_TECHNIQUES(X)
#undef X
        CB_TECHNIQUE_COUNT
};
const char *cb_technique_name(enum cb_technique technique);
bool cb_technique_from_name(const char *name, enum cb_technique *technique);
/* undercoat .. varnish need a paint; transfer may have one; the rest have none. */
bool cb_technique_needs_paint(enum cb_technique technique);
bool cb_technique_may_have_paint(enum cb_technique technique);

#define CB_BYS(X) X(BRUSH, "brush") X(CAN, "can") X(AIRBRUSH, "airbrush") X(SPONGE, "sponge")
enum cb_by {
#define X(id, word) CB_BY_##id,
    CB_BYS(X)
#undef X
        CB_BY_COUNT
};
const char *cb_by_name(enum cb_by by);
bool cb_by_from_name(const char *name, enum cb_by *by);

enum cb_law { CB_LAW_WATER, CB_LAW_SOLVENT, CB_LAW_OIL };

struct cb_kind {
    const char *name; /* acrylic, metallic, wash, stain, ink, texture paste, ... */
    enum cb_law law;
    double solids;        /* neat volume fraction, 0..1; NAN where the law does not use it */
    double min_film_c;    /* film formation temperature; NAN: none */
    double pot_sd;        /* log sd of a pot around the bench (u): .30, .55 paste, .50 oil */
    bool sprayed;         /* by defaults to can */
    bool solvent_caution; /* vapours: gloves, ventilation */
    bool wants_shaking;   /* settles: shake when it has stood */
    const char *source;
};

/* A row of the priors: kind x technique (x by) at its usual mix. */
struct cb_prior {
    size_t kind;
    enum cb_technique technique;
    int by;                       /* enum cb_by, or -1: any */
    double film_um, solids, a, m; /* solids at the usual mix; a: exposure; m: all of the time
                                     over that until the water has left */
    double usual_paint, usual_medium, usual_water; /* parts */
    double median_min; /* solvent, oil: as given; water: NAN, follows from the model */
    const char *source;
};

/* What a technique does where there is no row. */
struct cb_technique_row {
    double film_um, a;
    double usual_paint, usual_medium, usual_water;
    double minutes; /* hands-on per figure and coat when a recipe does not say; estimate */
    double waste;   /* amounts: factor on the film */
    const char *source;
};

#define CB_KINDS_MAX 64
/* Moves when the model or our own tables make new times of the same paints; 2: three phases. */
#define CB_KINDS_EDITION 2
struct cb_kinds {
    size_t kind_count;
    const struct cb_kind *kinds;
    size_t prior_count;
    const struct cb_prior *priors;
    struct cb_technique_row techniques[CB_TECHNIQUE_COUNT];
    /* Parts of a mix that are no paint: volume solids; a retarder of share r of the mix slows the
     * film by 1 + retarder_slows r. */
    double medium_solids, retarder_solids, retarder_slows;
    const char *edition; /* CB_KINDS_EDITION and what the tables are; kept in session_opened */
};

/* Builds the tables from a tree; more = the user's own (may be NULL), whose kinds and rows are
 * added and win. NULL and issues filled when refused. All in the arena. */
const struct cb_kinds *cb_kinds_from_tree(const struct cb_tree *tree, const struct cb_tree *more,
                                          struct cb_arena *arena, struct cb_issues *issues,
                                          struct cb_issues *more_issues);
bool cb_kinds_find(const struct cb_kinds *kinds, const char *name, size_t *kind);

/* The row for the pair: of the same tool, else of any, else the first of the pair; NULL: none. */
const struct cb_prior *cb_kinds_prior(const struct cb_kinds *kinds, size_t kind,
                                      enum cb_technique technique, enum cb_by by);

/* A word of the trade that is none of ours, or ours where the other is asked for: the technique and
 * the kind it most likely means. NULL: no such word. Case and blanks do not matter. */
struct cb_trade_word {
    const char *word;
    enum cb_technique technique;
    const char *kind; /* of shared/kinds.yaml */
};
const struct cb_trade_word *cb_trade_word(const char *word);

/* Parts by what they are, in any measure; all zero: not said. */
struct cb_parts {
    double paint, medium, retarder, water;
};
/* "neat", "2 paint + 1 water", "paint + 1/2 medium": false when it is no such thing. */
bool cb_kinds_parse_parts(const char *text, struct cb_parts *parts);
/* The other way; "" when all are zero. */
char *cb_kinds_parts_text(const struct cb_parts *parts, struct cb_arena *arena);

#endif
