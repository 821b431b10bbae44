/* SPDX-License-Identifier: MIT */
/* What the painter can do: one list for enum, name, default keys, help, footer and manual. */
#ifndef CB_APP_ACTION_H
#define CB_APP_ACTION_H

#include <stdbool.h>
#include <stdint.h>

/* id, does it act on coats, figures or stages?, name for `do`, default keys, footer word, help
 * line */
#define CB_ACTIONS(X)                                                                              \
    X(COAT_ON, true, "coat-on", "SPACE PageDown", "on",                                            \
      "The coat the bench names is on. A number before it: that many figures; minus and a "        \
      "number: that many minutes ago.")                                                            \
    X(COAT_ON_REST, true, "coat-on-rest", "a", "all on",                                           \
      "All figures that are ready for this coat have it on.")                                      \
    X(DONE_BEFORE, true, "done-before", "b", "done before",                                        \
      "This stage was done before the unit was begun here, on all its figures.")                   \
    X(SCRAP, true, "scrap", "s", "scrap",                                                          \
      "A stroke of the paint on the brush lies on the scrap: touch it, then dry or wet.")          \
    X(DRY, true, "dry", "d", "dry", "The coat marked > is dry: the next one can go on.")           \
    X(WET, true, "wet", "w", "wet", "The coat marked > is still wet: time it anew.")               \
    X(LIFTED, true, "lifted", "l", "lifted", "The next coat lifted it: redo it.")                  \
    X(TIDIED, true, "tidied", "t", "tidied", "A slip on this figure is tidied up.")                \
    X(HELPED, true, "helped", "h", "helped",                                                       \
      "The coat marked > had half a minute of warm air; nothing is learned from it.")              \
    X(COAT_ADD, true, "coat-add", "+", "coat more",                                                \
      "This stage wants one coat more on this figure.")                                            \
    X(COAT_SPARE, true, "coat-spare", "_", "coat less",                                            \
      "This stage needs one coat less on this figure.")                                            \
    X(LEAVE_OUT, true, "leave-out", "x", "leave out", "Leave the stage out on this figure.")       \
    X(PARK, true, "park", "k", "park",                                                             \
      "The figure in brackets is parked, as when it is broken: it is not offered. On a parked "    \
      "figure the same key brings it back.")                                                       \
    X(BROUGHT_IN, true, "brought-in", "B", "bring in",                                             \
      "Figures that dry elsewhere are brought in: they dry on in the air of the bench.")           \
    X(EDIT, true, "edit", "e", "edit",                                                             \
      "Change the stage in hand, as a form: its paint, mix, coats, areas, minutes, its place. A "  \
      "number before it: on so many figures.")                                                     \
    X(PAUSE, false, "pause", "p", "pause", "Pause, or go on.")                                     \
    X(CLIMATE, false, "climate", "c", "room", "Type the room's temperature and humidity.")         \
    X(MUTE, false, "mute", "m", "mute", "The first cue on the bench is never said again.")         \
    X(NOTE, false, "note", "n", "note", "Write a note into the log.")                              \
    X(CHORE, false, "chore", "j", "chore",                                                         \
      "Type minutes and a name, such as 3 rinse: work just done that is no coat.")                 \
    X(PICTURE, false, "picture", "v", "picture",                                                   \
      "A picture of this stage or of the recipe in the desktop's viewer. A number before it: "     \
      "that "                                                                                      \
      "one of them.")                                                                              \
    X(QUICK, false, "quick", "i", "new stage",                                                     \
      "Type a stage in one line, such as green basecoat oilskin 2:1 x2.")                          \
    X(OPEN, false, "open", "o", "open", "Begin a unit, or put another one in front.")              \
    X(UNIT_NEXT, false, "unit-next", "O", "other unit",                                            \
      "Another unit in front: one that the same brush can paint, else the next under way.")        \
    X(RELOAD, true, "reload", "R", "reload",                                                       \
      "Read the unit's recipe file again; what differs is shown before it is taken.")              \
    X(UNDO, true, "undo", "BACKSPACE u", "undo", "Take the last press back.")                      \
    X(REDO, true, "redo", "r", "redo", "Redo what was taken back.")                                \
    X(FIGURE_PREV, true, "figure-left", "LEFT", "figure",                                          \
      "Another figure of this stage, the one before.")                                             \
    X(FIGURE_NEXT, true, "figure-right", "RIGHT", "figure",                                        \
      "Another figure of this stage, the one after.")                                              \
    X(STAGE_PREV, true, "stage-up", "UP", "stage",                                                 \
      "The stage before, of those with something to do.")                                          \
    X(STAGE_NEXT, true, "stage-down", "DOWN", "stage",                                             \
      "The next stage with something to do, ready ones first.")                                    \
    X(VIEW_NEXT, false, "view-next", "TAB", "view", "The next view.")                              \
    X(VIEW_BENCH, false, "view-bench", "F1", "bench", "Bench: what to put on now.")                \
    X(VIEW_RACK, false, "view-rack", "F2", "rack", "Rack: what is drying.")                        \
    X(VIEW_ROAD, false, "view-road", "F3", "road",                                                 \
      "Road: what is left, evening by evening, and when it is finished.")                          \
    X(VIEW_POTS, false, "view-pots", "F4", "pots", "Pots: what has been learned.")                 \
    X(VIEW_REVIEW, false, "view-review", "F5", "review", "Review: how long it took.")              \
    X(GLANCE, false, "glance", "g", "glance", "Glance: digits to read from two metres.")           \
    X(BOTTLE_NEW, false, "bottle-new", "N", "new bottle",                                          \
      "In the pots: a new bottle of the paint marked > is open.")                                  \
    X(PAINT_JOIN, false, "paint-join", "J", "join",                                                \
      "In the pots: the paint marked > and the one gone to then are one.")                         \
    X(FINISH, true, "finish", "f", "finish", "The unit is finished.")                              \
    X(HELP, false, "help", "?", "help", "All keys.")                                               \
    X(QUIT, false, "quit", "q", "quit", "Close the bench; everything is kept.")
enum cb_action {
#define X(id, marks, name, keys, footer, help) CB_ACTION_##id,
    CB_ACTIONS(X)
#undef X
        CB_ACTION_COUNT,
    CB_ACTION_NONE = CB_ACTION_COUNT
};
const char *cb_action_name(enum cb_action action);
const char *cb_action_keys(enum cb_action action); /* default keys, blank between */
const char *cb_action_footer(enum cb_action action);
const char *cb_action_help(enum cb_action action);
/* What acts on coats, figures or stages is for where they are seen. */
bool cb_action_marks_coats(enum cb_action action);
/* A number typed before it means something: so many figures, stages or steps. */
bool cb_action_takes_count(enum cb_action action);
/* And after a minus: so many minutes ago. */
bool cb_action_takes_minutes(enum cb_action action);
bool cb_action_from_name(const char *name, enum cb_action *action);

#endif
