/* SPDX-License-Identifier: MIT */
/* The sentences of the bench, shared by the bench, glance and status. Texts live in the arena. */
#ifndef CB_APP_LINES_H
#define CB_APP_LINES_H

#include "app/app.h"
#include "app/scene.h"

/* Where nothing is left to put on: what is true of the figures, and the key that goes on. */
char *cb_lines_all_done(const struct cb_app *app, const struct cb_scene *scene, int columns,
                        struct cb_arena *arena);
/* What SPACE will do, without the key: "when Oilskin green is on figure 4"; what speaks against it
 * as far as columns allow. role: how sure that is. */
char *cb_lines_space(const struct cb_app *app, const struct cb_scene *scene, int columns,
                     struct cb_arena *arena, enum cb_role *role);
/* "ready too: Wick white on 1 to 3, DOWN goes there"; NULL: nothing else is. */
char *cb_lines_ready_too(const struct cb_app *app, const struct cb_scene *scene,
                         struct cb_arena *arena);
/* "same brush: 2 and 5 of Orchard wardens too, O goes there"; NULL: no other unit's. */
char *cb_lines_same_brush(const struct cb_app *app, const struct cb_scene *scene,
                          struct cb_arena *arena);
/* The name of the film's unit where it is not the one in front, else NULL. */
const char *cb_lines_elsewhere(const struct cb_scene *scene, const struct cb_scene_film *row);
/* "Tarred rope on 1 is dry"; NULL without a film in focus. */
char *cb_lines_answer(const struct cb_app *app, const struct cb_scene *scene,
                      struct cb_arena *arena);
/* That nothing is wrong, or the worst of what is. */
char *cb_lines_status(const struct cb_app *app, const struct cb_scene *scene,
                      struct cb_arena *arena, enum cb_role *role);
/* The answer to the last key, a ping, the last press for ten seconds, or ""; role as it wants. */
char *cb_lines_message(const struct cb_app *app, const struct cb_scene *scene,
                       struct cb_arena *arena, enum cb_role *role);
/* So long the line of a press stays, of the bench's time: in a demo, too, it can be read. */
int64_t cb_lines_stay_ms(const struct cb_app *app);
/* Is it the line of the last press? */
bool cb_lines_pressed(const struct cb_app *app);
/* "coat 2 of 2" */
char *cb_lines_coat(const struct cb_scene *scene, struct cb_arena *arena);
/* "a third coat is usual here", with the last one of the recipe; "you usually spare it here"; brief
 * "a third is usual". NULL: the log knows of no other number. */
const char *cb_lines_usual(const struct cb_app *app, const struct cb_scene *scene, bool brief,
                           struct cb_arena *arena);
/* "medium round   tidy up: Tarred rope", or how much to mix when the stage begins. */
char *cb_lines_tools(const struct cb_app *app, const struct cb_scene *scene, int columns,
                     struct cb_arena *arena);
/* "usually dry 20:44, rings 20:58", shorter where columns are few; "dry for 25 min", "waits: too
 * cold". */
char *cb_lines_film(const struct cb_app *app, const struct cb_scene *scene,
                    const struct cb_scene_film *row, int columns, struct cb_arena *arena);
/* While nothing is ready: what the room could do for the next film, where it is worth five minutes;
 * NULL otherwise, and while what finished units taught is still to come. */
char *cb_lines_room(const struct cb_app *app, const struct cb_scene *scene, struct cb_arena *arena);
/* What stands before a time of drying, in place of a blank so that nothing moves: "~" while what
 * finished units taught, which may change the time, is still to come, else " ". An exact wait is
 * never changed. drying: the film's; NULL: not known. */
const char *cb_lines_sign(const struct cb_app *app, const struct cb_drying *drying);
/* A moment of drying after its sign, bench time: " 20:58", "~20:58". Nothing else writes one. */
#define CB_DUE_SIZE (CB_CLOCK_SIZE + 1)
void cb_lines_due(const struct cb_app *app, const struct cb_drying *drying, int64_t bench_ms,
                  char out[CB_DUE_SIZE]);
/* "waits: too cold", of a film that stands still; NULL: of the first such in the scene. */
const char *cb_lines_held(const struct cb_app *app, const struct cb_scene *scene,
                          const struct cb_film *film);
const char *cb_lines_bell(enum cb_bell_state state);
/* A moment that is no time of drying. */
void cb_lines_clock(const struct cb_app *app, int64_t bench_ms, char out[CB_CLOCK_SIZE]);
/* A countdown as cb_words_span and cb_words_left have it; with a quiet clock in minutes to its end.
 */
void cb_lines_span(const struct cb_app *app, int64_t left_ms, char out[32]);
const char *cb_lines_left(const struct cb_app *app, int64_t left_ms, char digits[16]);
/* Figure or figures of the proposal for the big face: "4", "1-10". */
void cb_lines_figure(const struct cb_scene *scene, char out[16]);

#endif
