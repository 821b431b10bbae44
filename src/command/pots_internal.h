/* SPDX-License-Identifier: MIT */
/* `pots` in its parts: what was gathered, and a file for each way to print it. */
#ifndef CB_COMMAND_POTS_INTERNAL_H
#define CB_COMMAND_POTS_INTERNAL_H

#include "base/vec.h"
#include "command/log_read.h"
#include "core/bench/calibration.h"
#include "core/bench/coverage.h"
#include "core/bench/pot_share.h"
#include "core/bench/pots.h"
#include "core/bench/rows.h"

struct cb_pots {
    const struct cb_args *args;
    struct cb_log_read log;
    const struct cb_learn *learn; /* taught by all units */
    double confidence;
    CB_VEC(struct cb_pot_stage) stages; /* of all units, in the order they were begun */
    CB_VEC(struct cb_cover) covers;     /* the same */
    CB_VEC(struct cb_row) lessons;      /* rows of the finished units */
    struct cb_calibration calibration;
    const struct cb_row *rows; /* of all */
    size_t row_count;
    const struct cb_pot_line *lines; /* those asked for */
    size_t count;
    const struct cb_pot_given *given; /* what is to be taken */
    size_t given_count;
};

/* `pots export FILE`, and `pots import FILE` in two steps: the file, which is refused before any
 * log is opened, and into the log. What is wrong in it is printed, a line each: then CB_DATA, with
 * nothing in err. */
enum cb_status cb_pots_export(const struct cb_pots *pots, struct cb_err *err);
enum cb_status cb_pots_read_given(struct cb_pots *pots, struct cb_err *err);
enum cb_status cb_pots_import(struct cb_pots *pots, struct cb_err *err);

/* The paints that another painter's table tells of and no unit has had yet, by their names, those
 * with that (folded) in it: "Ebb wash, Bog brown". NULL: none. */
const char *cb_pots_waiting(const struct cb_pots *pots, const char *wanted);

void cb_pots_print_table(const struct cb_pots *pots);
void cb_pots_print_why(const struct cb_pots *pots); /* what was observed, and its curves */
void cb_pots_print_calibration(const struct cb_pots *pots);
void cb_pots_print_json(const struct cb_pots *pots);

/* A text from the log, as far as this terminal may have it; padded to columns unless 0. */
void cb_pots_print_text(const struct cb_pots *pots, const char *text, int columns);
const char *cb_pots_minutes(const struct cb_pots *pots, double min); /* rounded, for people */

#endif
