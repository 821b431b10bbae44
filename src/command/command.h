/* SPDX-License-Identifier: MIT */
/* The subcommands: one table, from which main, --help and the completions are made. */
#ifndef CB_COMMAND_COMMAND_H
#define CB_COMMAND_COMMAND_H

#include <stdbool.h>
#include <stdio.h>

#include "base/arena.h"
#include "base/err.h"
#include "base/version.h"

/* An option of one command. takes: name of the value in help, NULL: a flag; the completions of the
 * shells know by that name what it may be (tests/tools/make_completions.c). */
struct cb_option {
    const char *name;  /* "--temp" */
    const char *takes; /* "C|F" */
    const char *help;
};

struct cb_args; /* parsed: see below */

struct cb_command {
    const char *name;                /* "check"; "log export" stands as "log" with its own words */
    const char *operands;            /* "RECIPE..." for help */
    const char *summary;             /* one line */
    const struct cb_option *options; /* ends with a zeroed one; common ones come by themselves */
    int min_operands, max_operands;  /* max -1: any */
    int (*run)(const struct cb_args *args); /* exit code */
};

/* --log FILE, --json, --ascii, --help, --version are common; main handles the last two. */
struct cb_args {
    const struct cb_command *command;
    bool json;
    bool ascii;      /* --ascii, the settings, or the locale holds no UTF-8 */
    bool ascii_said; /* --ascii: for output that must not hang on a locale */
    const char *log; /* NULL: the default */
    int operand_count;
    const char *const *operands;
    int option_count;
    const struct cb_given {
        const char *name, *value;
    } * given;
    struct cb_arena *arena;
};

const char *cb_args_get(const struct cb_args *args, const char *option); /* NULL: not given */
bool cb_args_has(const struct cb_args *args, const char *option);
/* Prints `coatbell: TEXT` to standard error and returns the status as an exit code. */
int cb_command_fail(const struct cb_err *err);
int cb_command_failf(enum cb_status status, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* Closes a log that was read (NULL: none) and says on standard error what of it was found to be
 * damaged: then the exit code is CB_DATA, where it was 0 or CB_FAILED. */
struct cb_store;
int cb_command_close(struct cb_store *store, int code);

/* kinds.yaml and, unless config is NULL, config.yaml. To a call that names its log an empty HOME is
 * none: then there are no settings of the painter's own. err as of cb_paths_kinds. */
struct cb_kinds;
struct cb_config;
enum cb_status cb_args_settings(const struct cb_args *args, const struct cb_kinds **kinds,
                                const struct cb_config **config, struct cb_err *err);

/* cues.yaml, in the same way. */
struct cb_cues;
enum cb_status cb_args_cues(const struct cb_args *args, const struct cb_kinds *kinds,
                            const struct cb_cues **cues, struct cb_err *err);

/* The log that the call means, its own or the usual one; NULL: there is none, and err says why. */
const char *cb_args_log(const struct cb_args *args, struct cb_err *err);

/* Frees the text. */
struct cb_str;
void cb_command_print(FILE *to, struct cb_str *text);
/* The answer on standard output, a line of its own; frees json. */
struct cb_json;
void cb_command_print_json(struct cb_json *json);

/* Appends the lines of text as the screen would show them: in ASCII, where ascii, nothing beyond
 * it. */
void cb_command_lines(struct cb_str *out, const char *text, bool ascii);
/* The same to standard output. */
void cb_args_print(const struct cb_args *args, const char *text);

/* "WHAT: unit 12 of 300" on standard error while somebody waits: one line that goes again at the
 * end. context: WHAT, a text. Nothing is said of so few that nobody would wonder, nor to what is no
 * terminal. */
void cb_command_progress(void *context, size_t done, size_t count);
/* The same for lines: "WHAT: 120000 lines". */
void cb_command_progress_lines(void *context, size_t lines);
void cb_command_progress_end(void);

/* Every command, in the order of --help: a command is added here and in its own file, as
 * `const struct cb_command cb_command_NAME`. */
#define CB_COMMANDS(X)                                                                             \
    X(begin)                                                                                       \
    X(new)                                                                                         \
    X(check)                                                                                       \
    X(dry)                                                                                         \
    X(plan)                                                                                        \
    X(mix)                                                                                         \
    X(set_out)                                                                                     \
    X(status)                                                                                      \
    X(sensor)                                                                                      \
    X(pots)                                                                                        \
    X(cues)                                                                                        \
    X(review)                                                                                      \
    X(units)                                                                                       \
    X(write)                                                                                       \
    X(log)                                                                                         \
    X(settings)                                                                                    \
    X(demo)                                                                                        \
    X(play)
#define X(id) extern const struct cb_command cb_command_##id;
CB_COMMANDS(X)
#undef X
extern const struct cb_command *const cb_commands[]; /* ended by a NULL */
extern const struct cb_command cb_command_bench;     /* no subcommand; not in the table */
extern const struct cb_option cb_common_options[];   /* of every command; ends with a zeroed one */

/* Opens the bench on the log of args; the exit code. begun: the unit that `begin` has just written,
 * by the recipe at begun_path (NULL: from standard input): the bench asks what the call did not say
 * of the room; NULL: none. */
int cb_command_open_bench(const struct cb_args *args, const char *begun, const char *begun_path);

/* argv to exit code. */
int cb_command_main(int argc, char **argv);

#endif
