/* SPDX-License-Identifier: MIT */
/* The whole program on a fake clock for tests: a sample recipe begun in a log in memory. */
#ifndef CB_TESTS_STAGE_H
#define CB_TESTS_STAGE_H

#include "command/rehearse.h"

struct stage {
    struct cb_arena arena;
    struct cb_store *store;
    struct cb_rehearse *rehearse;
    struct cb_app_recipe recipe;
    const struct cb_kinds *kinds;
    struct cb_config config;
    const struct cb_cues *cues; /* NULL: none */
    struct cb_zone zone;        /* from stage_reopen on; empty: UTC */
    /* what was asked for, newest last */
    int pings, sounds, closes, beeps, bell_ready, stores, pinged;
    char title[512], body[512]; /* of the last pop-up */
    int64_t ping_at_ms;
    bool by_terminal;      /* the last ping was to be shown so */
    bool terminal_pops_up; /* from stage_reopen on */
    bool pilot;            /* the same */
    double speed;          /* the same */
    uint32_t answer;       /* what its buttons answer for */
};

/* recipe: a file of recipes/. */
void stage_init(struct stage *stage, const char *recipe, int figures, int rows, int columns,
                enum cb_ping_policy ping);
/* The same with a recipe as text. */
void stage_init_text(struct stage *stage, const char *text, int figures, int rows, int columns,
                     enum cb_ping_policy ping);
/* The same with the cues that come along, by `needed`, in the standard climate. */
void stage_init_coached(struct stage *stage, const char *text, int figures, int rows, int columns);
/* The bench is closed without a word and opened ms later on its log, in the same boot, with what
 * finished units taught still to come; what was counted begins anew. */
void stage_reopen(struct stage *stage, int64_t ms);
void stage_fini(struct stage *stage);
/* Down until that stage is named, whatever the plan would have. */
void stage_go(struct stage *stage, int number);
void stage_key(struct stage *stage, const char *name);
void stage_type(struct stage *stage, const char *text);
void stage_do(struct stage *stage, enum cb_action action);
void stage_wait(struct stage *stage, double minutes);
void stage_size(struct stage *stage, int columns, int rows);
const struct cb_bench *stage_bench(struct stage *stage);
size_t stage_events(struct stage *stage, enum cb_event_kind kind); /* of that kind in the log */
/* The screen as text, in the stage's arena. */
const char *stage_text(struct stage *stage);
bool stage_shows(struct stage *stage, const char *text);

#endif
