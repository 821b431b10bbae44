/* SPDX-License-Identifier: MIT */
/*
 * What is due is announced, and every film of it is written as pinged, shown or not. By `needed`
 * one pop-up stands a unit: it comes with sound to who waits, once a wait, and quietly when the
 * last film of what was painted in one go is dry. By the other policies one stands a unit, stage
 * and coat.
 */
#ifndef CB_APP_PING_H
#define CB_APP_PING_H

#include "app/app.h"
#include "base/vec.h"

/* A pop-up that stands on the desktop. */
struct cb_popup {
    uint32_t id;
    const char *unit; /* id, in the app's arena */
    int stage, coat;  /* of its films */
    bool shown;
    bool sounded;   /* once for this coat, for the policy `first` */
    int64_t dry_ms; /* when what it is to be shown for became dry, bench time; CB_TIME_NONE: it is
                       shown */
    size_t film_count;
    struct cb_film_key films[CB_FIGURES_MAX]; /* oldest due first */
    uint32_t answer;                          /* what its buttons answer for; 0: never shown */
};

/* A film that the buttons of a pop-up answer for; its place, from 1, is the number of the answer. A
 * pop-up that is brought up to date may still show the buttons of the one before. */
struct cb_asked {
    const char *unit;
    struct cb_film_key film;
    int64_t on_ms;
    bool answered;
};

/* A film that was announced, whether or not the log took it. */
struct cb_announced {
    const char *unit;
    struct cb_film_key film;
    int64_t on_ms, at_ms;
};

struct cb_pings {
    CB_VEC(struct cb_popup) popups;
    CB_VEC(struct cb_announced) announced;
    CB_VEC(struct cb_asked) asked;
    uint32_t next_id;
    enum cb_bell_state bell;
    bool bell_asked; /* BELL_READY was sent since the bell was last down */
    int64_t key_ms;  /* the last key, bench time; CB_TIME_NONE: none since the opening */
    bool rung;       /* it has sounded since, by `needed` */
    /* dry since without a sound: rung for once who presses no key has to count as waiting */
    const char *owed_unit; /* its id, in the app's arena; NULL: none */
    struct cb_film_key owed;
};

enum cb_bell_state cb_app_bell(const struct cb_app *app);

/* Is a pop-up to be the terminal's, as the bell can show none? */
bool cb_ping_by_terminal(const struct cb_app *app);

void cb_ping_due(struct cb_app *app);
/* A pop-up of its own without sound or buttons, about nothing that is due; its id. Where no pop-up
 * can be had, nothing. */
uint32_t cb_ping_quiet(struct cb_app *app, const char *title, const char *body);
/* Its ring lies before the press that wrote it: nobody is rung for it. */
bool cb_ping_was_dry(const struct cb_app *app, const struct cb_film *film);
/* Somebody is there. */
void cb_ping_key(struct cb_app *app);
void cb_ping_tidy(struct cb_app *app);
/* Nobody has said of it since it rang how it is, and nothing lies on it. */
bool cb_ping_is_open(const struct cb_film *film);
/* NULL: it is in the log no more. */
const struct cb_unit *cb_ping_unit(const struct cb_app *app, const struct cb_popup *popup);
/* The number of the answer that the first of its films waits for. */
uint32_t cb_ping_asks(struct cb_app *app, const struct cb_unit *unit, const struct cb_popup *popup);
/* Counts once, and for the film that was asked about; not when that has been answered, coated over
 * or taken back since. */
void cb_ping_button(struct cb_app *app, uint32_t ping_id, uint32_t answer, bool dry);
void cb_ping_bell(struct cb_app *app, enum cb_bell_state state);
/* The next film to be due, or the next moment at which one may sound; CB_TIME_NONE. Bench time. */
int64_t cb_ping_next(const struct cb_app *app);
/* For how long no ping is to ring because HISTORY may show it to be wrong, ms; 0: not at all. */
int64_t cb_ping_wait_ms(const struct cb_app *app);

void cb_ping_init(struct cb_app *app, uint64_t seed);
void cb_ping_fini(struct cb_app *app);

#endif
