/* SPDX-License-Identifier: MIT */
/*
 * What to do: the recipe as the schema of coatbell-recipe(5) gives it, checked and resolved.
 * A recipe is read-only once made and lives in the arena it was made in. It knows no file.
 */
#ifndef CB_CORE_RECIPE_RECIPE_H
#define CB_CORE_RECIPE_RECIPE_H

#include <limits.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/tree.h"
#include "core/paint/kinds.h"

#define CB_RECIPE_MAX    64 /* paints, areas, stages, groups: each fits a uint64_t mask */
#define CB_FIGURES_MAX   99
#define CB_COATS_MAX     9
#define CB_MIX_PARTS_MAX 8
#define CB_RECIPE_BYTES  65536
#define CB_TOGETHER_ALL  INT_MAX

/* Own estimates: what holds when a recipe does not say. */
#define CB_RECIPE_HEIGHT_MM  32.0
#define CB_RECIPE_CHANGE_MIN 1.5

enum cb_tone { CB_TONE_NONE, CB_TONE_DARK, CB_TONE_MID, CB_TONE_LIGHT };
const char *cb_tone_name(enum cb_tone tone);  /* "" for NONE */
enum cb_tone cb_tone_named(const char *name); /* NONE for any other word */

struct cb_paint {
    const char *key, *name; /* name = key when the recipe gives none */
    size_t kind;
    enum cb_tone tone;
    double film_um, solids, dry_min, label_min, drops_per_ml; /* NAN: not said */
    const char *instead;                                      /* NULL: none */
    int line, column;
};

struct cb_area {
    const char *name;
    double share_pct; /* resolved: what is missing is split evenly; 0 for a disc */
    bool share_said;
    double disc_mm;        /* a round base of that width, beside the figure's own area; NAN: none */
    uint64_t beside, near; /* masks of areas; beside is symmetric and resolved */
    bool apart;            /* off the figure until a join: cb_recipe_off */
    int line, column;
};

enum cb_mix_what { CB_MIX_PAINT, CB_MIX_MEDIUM, CB_MIX_RETARDER, CB_MIX_WATER };
struct cb_mix {
    size_t count; /* 0: no paint at all */
    struct cb_mix_part {
        enum cb_mix_what what;
        int paint; /* index for CB_MIX_PAINT */
        double parts;
    } parts[CB_MIX_PARTS_MAX];
};
/* Sums of parts. The larger paint part is the paint a blend is learned under. */
double cb_mix_sum(const struct cb_mix *mix, enum cb_mix_what what);
int cb_mix_paint(const struct cb_mix *mix);     /* index of the largest paint part, -1: none */
bool cb_mix_is_blend(const struct cb_mix *mix); /* of two paints or more */

struct cb_group {
    const char *name;
    uint64_t figures[2]; /* bit f-1 */
};

struct cb_stage {
    const char *name;
    enum cb_technique technique;
    struct cb_mix mix; /* neat "1 paint" where only a paint is named */
    bool mix_said;     /* the recipe named a mix or parts; else the technique's usual mix holds */
    uint64_t on;       /* areas; all areas for whole */
    bool whole;
    uint64_t groups; /* 0: every figure */
    enum cb_by by;
    const char *place; /* NULL: bench */
    int coats;
    double work_min;   /* hands-on per figure and coat; with together the whole go; NAN: not said */
    double dry_min;    /* standard minutes, stage over paint; NAN: the prior */
    double wait_min;   /* exact, unscaled; NAN: none */
    const char *brush; /* NULL: none */
    uint64_t tidy_with;
    int together; /* 0: one by one; CB_TOGETHER_ALL; else how many fit */
    bool optional;
    bool has_after;
    uint64_t after; /* stages */
    size_t picture_count;
    const char *const *pictures;
    const char *say; /* NULL: none */
    int line, column;
};

struct cb_recipe {
    const char *name, *about;     /* about: NULL */
    int figures;                  /* 0: not said */
    double height_mm, change_min; /* change_min: paint change */
    size_t group_count, paint_count, area_count, stage_count, picture_count;
    const char *names[CB_FIGURES_MAX + 1]; /* of figures, from 1; NULL: it has none */
    const struct cb_group *groups;
    const struct cb_paint *paints;
    const struct cb_area *areas;
    const struct cb_stage *stages;
    const char *const *pictures;
    const char *text; /* the source as given to cb_recipe_from_tree, NULL when none */
};

/* NULL and issues filled when anything is wrong; unknown keys are refused with "did you mean". */
const struct cb_recipe *cb_recipe_from_tree(const struct cb_tree *tree, const char *text,
                                            const struct cb_kinds *kinds, struct cb_arena *arena,
                                            struct cb_issues *issues);

/* Does a stage name that paint, in its mix or to tidy up with? */
bool cb_recipe_uses(const struct cb_recipe *recipe, size_t paint);

/* What is allowed and yet hardly meant: a can that sprays one figure after the other, a paint that
 * no stage uses. */
void cb_recipe_doubts(const struct cb_recipe *recipe, struct cb_arena *arena,
                      struct cb_issues *doubts);

/* Does the stage apply to this figure (from 1), by its groups? */
bool cb_recipe_applies(const struct cb_recipe *recipe, size_t stage, int figure);
/* Stages whose films this stage waits for: after, else every earlier one that shares an area
 * with it (whole meets all). Mask of stage indices (from 0). */
uint64_t cb_recipe_waits_for(const struct cb_recipe *recipe, size_t stage);
/* The areas that a film of the stage lies on: its own; of whole all, but before their join no parts
 * apart that a stage of the same technique has for itself. */
uint64_t cb_recipe_covers(const struct cb_recipe *recipe, size_t stage);
void cb_recipe_covers_all(const struct cb_recipe *recipe, uint64_t covers[CB_RECIPE_MAX]);
/* Do films of both lie on one area? Two of whole do where no area is named, too. */
static inline bool cb_areas_meet(bool a_whole, uint64_t a_areas, bool b_whole, uint64_t b_areas)
{
    return (a_whole && b_whole) || (a_areas & b_areas) != 0;
}
/* Areas off the figure on which so many stages (mask) are still to be done: each until its joins
 * are; what no stage joins is never on it. */
uint64_t cb_recipe_off(const struct cb_recipe *recipe, uint64_t to_do);
/* Do two areas lie on one piece? What one join brings back does, and all that is on the figure. */
bool cb_recipe_one_piece(const struct cb_recipe *recipe, uint64_t off, size_t a, size_t b);
/* Do the two stages' areas touch (beside)? Sharing an area is not touching. */
bool cb_recipe_touch(const struct cb_recipe *recipe, size_t a, size_t b);
/* Hands-on minutes per figure and coat, with together of the whole go: as the recipe says, else
 * what is usual for the technique. */
double cb_stage_minutes(const struct cb_stage *stage, const struct cb_kinds *kinds);
/* Index of the stage of that name, or -1. */
int cb_recipe_stage(const struct cb_recipe *recipe, const char *name);

/* "2 green + 1 rope + 1 water" as written, with names: "2 Oilskin green + 1 Tarred rope +
 * 1 water"; "neat" for a lone paint. */
char *cb_mix_text(const struct cb_recipe *recipe, const struct cb_mix *mix, bool names,
                  struct cb_arena *arena);

/* Durations: "12" (minutes), "90 s", "12 min", "2 h", "2h30m"; false when neither. */
bool cb_recipe_minutes(const char *text, double *minutes);

/* Pot: folded paint name plus kind, unique across recipes. */
char *cb_pot_key(const char *paint_name, const char *kind_name, struct cb_arena *arena);

#endif
