/* SPDX-License-Identifier: MIT */
/* What the painter can do: one list for enum, name, default keys, help, footer and manual. */
#ifndef CB_VIEW_ACTION_H
#define CB_VIEW_ACTION_H

#include <stdbool.h>
#include <stdint.h>

/* id, name for `do`, default keys, footer word, help line */
#define CB_ACTIONS(X)                                                                              \
    X(COAT_ON, "coat-on", "SPACE PageDown", "on",                                                  \
      "The coat the bench names is on. A number before it: that many figures; minus and a "        \
      "number: that many minutes ago.")                                                            \
    X(COAT_ON_REST, "coat-on-rest", "a", "all on",                                                 \
      "All figures that are ready for this coat have it on.")                                      \
    X(DRY, "dry", "ENTER d", "dry", "The film in focus is dry: the next coat can go on.")          \
    X(WET, "wet", "w", "wet", "The film in focus is still wet: time it anew.")                     \
    X(LIFTED, "lifted", "l", "lifted", "The coat came up with the next one: it is to do again.")   \
    X(TIDIED, "tidied", "t", "tidied", "A slip on this figure is tidied up.")                      \
    X(HELPED, "helped", "h", "helped",                                                             \
      "The film in focus was dried with warm air; left out of learning.")                          \
    X(COAT_ADD, "coat-add", "+", "coat more", "This stage wants one coat more on this figure.")    \
    X(COAT_SPARE, "coat-spare", "_", "coat less",                                                  \
      "This stage needs one coat less on this figure.")                                            \
    X(LEAVE_OUT, "leave-out", "x", "leave out", "Leave the stage out on this figure.")             \
    X(PAUSE, "pause", "p", "pause", "Pause, or go on.")                                            \
    X(CLIMATE, "climate", "c", "climate", "Type the room's temperature and humidity.")             \
    X(NOTE, "note", "n", "note", "Write a note into the log.")                                     \
    X(CHORE, "chore", "j", "chore",                                                                \
      "Type minutes and a name, such as 3 rinse: work just done that is no coat.")                 \
    X(QUICK, "quick", "i", "quick entry", "Kept free: a coat by one typed line is not there yet.") \
    X(OPEN, "open", "o", "open", "Begin a unit, or put another one in front.")                     \
    X(RELOAD, "reload", "R", "reload", "Read the unit's recipe file again.")                       \
    X(UNDO, "undo", "BACKSPACE u", "undo", "Take the last press back.")                            \
    X(REDO, "redo", "r", "redo", "Bring it again.")                                                \
    X(FIGURE_PREV, "figure-left", "LEFT", "figure", "The figure before.")                          \
    X(FIGURE_NEXT, "figure-right", "RIGHT", "figure", "The figure after.")                         \
    X(STAGE_PREV, "stage-up", "UP", "stage", "The stage before.")                                  \
    X(STAGE_NEXT, "stage-down", "DOWN", "stage", "The stage after.")                               \
    X(VIEW_NEXT, "view-next", "TAB", "view", "The next view.")                                     \
    X(VIEW_BENCH, "view-bench", "F1", "bench", "Bench: what to put on now.")                       \
    X(VIEW_RACK, "view-rack", "F2", "rack", "Rack: what is drying.")                               \
    X(VIEW_ROAD, "view-road", "F3", "road",                                                        \
      "Kept free: the road is not there yet; a wide bench shows what is left.")                    \
    X(VIEW_POTS, "view-pots", "F4", "pots", "Pots: what has been learned.")                        \
    X(VIEW_REVIEW, "view-review", "F5", "review", "Review: how long it took.")                     \
    X(GLANCE, "glance", "g", "glance", "Glance: digits to read from two metres.")                  \
    X(FINISH, "finish", "f", "finish", "The unit is finished.")                                    \
    X(HELP, "help", "?", "help", "All keys.")                                                      \
    X(QUIT, "quit", "q", "quit", "Close the bench; everything is kept.")
enum cb_action {
#define X(id, name, keys, footer, help) CB_ACTION_##id,
    CB_ACTIONS(X)
#undef X
        CB_ACTION_COUNT,
    CB_ACTION_NONE = CB_ACTION_COUNT
};
const char *cb_action_name(enum cb_action action);
const char *cb_action_keys(enum cb_action action); /* default keys, blank between */
const char *cb_action_footer(enum cb_action action);
const char *cb_action_help(enum cb_action action);
/* False for keys that are only kept free for what comes: help does not offer them. */
bool cb_action_is_there(enum cb_action action);
bool cb_action_from_name(const char *name, enum cb_action *action);

#endif
