/* SPDX-License-Identifier: MIT */
#include "command/command.h"

#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "shell/store.h"
#include "command/wrap.h"
#include "shell/console.h"
#include "shell/json_write.h"
#include "shell/paths.h"
#include "view/grid.h"

const struct cb_command *const cb_commands[] = {
#define X(id) &cb_command_##id,
    CB_COMMANDS(X)
#undef X
        NULL,
};

const struct cb_option cb_common_options[] = {
    {"--log", "FILE", "the log; without it the one in the data folder"},
    {"--json", NULL, "the answer as JSON"},
    {"--ascii", NULL, "no character beyond ASCII"},
    {"--help", NULL, "this text"},
    {"--version", NULL, "the version"},
    {0},
};

/* What the words of the call came to, while they are read. */
struct parse {
    struct cb_args args;
    struct cb_given *given;
    const char **operands;
    bool help, version;
};

int cb_command_fail(const struct cb_err *err)
{
    fflush(stdout);
    if (err->text[0] != '\0') {
        /* The text may quote the call or a file: nothing of it steers the terminal. */
        struct cb_arena arena = {0};
        fprintf(stderr, "coatbell: %s\n", cb_utf8_clean(&arena, err->text, 0));
        cb_arena_fini(&arena);
    }
    return (int)err->status;
}

int cb_command_close(struct cb_store *store, int code)
{
    struct cb_arena arena = {0};
    const char *damage = store != NULL ? cb_store_damage(store, &arena) : NULL;
    if (damage != NULL) {
        struct cb_err err = {0};
        cb_err_set(&err, CB_DATA, "%s", damage);
        cb_command_fail(&err);
        code = code == 0 || code == (int)CB_FAILED ? (int)CB_DATA : code;
    }
    cb_arena_fini(&arena);
    cb_store_close(store);
    return code;
}

void cb_command_print(FILE *to, struct cb_str *text)
{
    fwrite(cb_str_text(text), 1, text->length, to);
    cb_str_fini(text);
}

void cb_command_print_json(struct cb_json *json)
{
    struct cb_str out = {0};
    cb_json_take(json, &out);
    cb_str_add(&out, "\n");
    cb_command_print(stdout, &out);
}

void cb_command_lines(struct cb_str *out, const char *text, bool ascii)
{
    struct cb_arena arena = {0};
    while (*text != '\0') {
        const size_t length = strcspn(text, "\n");
        const char *line = cb_arena_text_n(&arena, text, length);
        const int columns = cb_utf8_text_width(line);
        struct cb_grid grid;
        cb_grid_init(&grid, 1, columns < 1 ? 1 : columns);
        grid.ascii = ascii;
        cb_grid_put(&grid, 0, 0, 0, CB_ROLE_PLAIN, line);
        cb_grid_dump(&grid, out);
        cb_grid_fini(&grid);
        text += length + (text[length] == '\n' ? 1 : 0);
    }
    cb_arena_fini(&arena);
}

void cb_args_print(const struct cb_args *args, const char *text)
{
    struct cb_str out = {0};
    cb_command_lines(&out, text, args->ascii);
    cb_command_print(stdout, &out);
}

#define PROGRESS_FROM 20 /* units; fewer are done before anybody asks (own judgement) */

static int progress_columns; /* of the line that stands */

void cb_command_progress(void *context, size_t done, size_t count)
{
    if (count >= PROGRESS_FROM && cb_console_err_is_terminal()) {
        const int columns =
            fprintf(stderr, "\r%s: unit %zu of %zu", (const char *)context, done + 1, count) - 1;
        progress_columns = columns > progress_columns ? columns : progress_columns;
        fflush(stderr);
    }
}

void cb_command_progress_lines(void *context, size_t lines)
{
    if (cb_console_err_is_terminal()) {
        const int columns = fprintf(stderr, "\r%s: %zu lines", (const char *)context, lines) - 1;
        progress_columns = columns > progress_columns ? columns : progress_columns;
        fflush(stderr);
    }
}

void cb_command_progress_end(void)
{
    if (progress_columns > 0) {
        fprintf(stderr, "\r%*s\r", progress_columns, "");
        progress_columns = 0;
    }
}

int cb_command_failf(enum cb_status status, const char *format, ...)
{
    struct cb_err err = {.status = status};
    va_list list;
    va_start(list, format);
    vsnprintf(err.text, sizeof err.text, format, list);
    va_end(list);
    return cb_command_fail(&err);
}

const char *cb_args_get(const struct cb_args *args, const char *option)
{
    for (int i = args->option_count - 1; i >= 0; i--) {
        if (strcmp(args->given[i].name, option) == 0) {
            return args->given[i].value;
        }
    }
    return NULL;
}

bool cb_args_has(const struct cb_args *args, const char *option)
{
    for (int i = 0; i < args->option_count; i++) {
        if (strcmp(args->given[i].name, option) == 0) {
            return true;
        }
    }
    return false;
}

enum cb_status cb_args_settings(const struct cb_args *args, const struct cb_kinds **kinds,
                                const struct cb_config **config, struct cb_err *err)
{
    return cb_paths_settings(args->arena, args->log != NULL, kinds, config, err);
}

enum cb_status cb_args_cues(const struct cb_args *args, const struct cb_kinds *kinds,
                            const struct cb_cues **cues, struct cb_err *err)
{
    return cb_paths_cues(args->arena, args->log != NULL, kinds, cues, err);
}

const char *cb_args_log(const struct cb_args *args, struct cb_err *err)
{
    return args->log != NULL ? args->log : cb_paths_log(args->arena, err);
}

static const struct cb_option *find_option(const struct cb_option *options, const char *name,
                                           size_t length)
{
    for (; options != NULL && options->name != NULL; options++) {
        if (strlen(options->name) == length && strncmp(options->name, name, length) == 0) {
            return options;
        }
    }
    return NULL;
}

/* The nearest of the names within two slips, for "did you mean". */
struct nearest {
    const char *name;
    int distance;
};

static void nearer(struct nearest *best, const char *name, const char *word)
{
    /* The beginning of a name is as near as can be. */
    size_t length = strlen(word);
    int distance =
        length > 3 && strncmp(name, word, length) == 0 ? 0 : cb_utf8_distance(name, word, 2);
    if (distance <= 2 && distance < (int)strlen(name) - 1 &&
        (best->name == NULL || distance < best->distance)) {
        best->name = name;
        best->distance = distance;
    }
}

static const char *nearest_option(const struct cb_command *command, const char *word)
{
    struct nearest best = {0};
    for (const struct cb_option *o = command->options; o != NULL && o->name != NULL; o++) {
        nearer(&best, o->name, word);
    }
    for (const struct cb_option *o = cb_common_options; o->name != NULL; o++) {
        nearer(&best, o->name, word);
    }
    return best.name;
}

static const char *help_of(const struct cb_command *command, struct cb_arena *arena)
{
    return command->name[0] == '\0' ? "coatbell --help"
                                    : cb_arena_printf(arena, "coatbell %s --help", command->name);
}

static int unknown_command(const char *word)
{
    struct nearest best = {0};
    for (size_t i = 0; cb_commands[i] != NULL; i++) {
        nearer(&best, cb_commands[i]->name, word);
    }
    if (best.name != NULL) {
        return cb_command_failf(CB_USAGE, "unknown command: %s, did you mean %s?", word, best.name);
    }
    if (strchr(word, '/') != NULL || strstr(word, ".yaml") != NULL) {
        return cb_command_failf(CB_USAGE,
                                "unknown command: %s; a recipe is begun with `coatbell begin %s`",
                                word, word);
    }
    return cb_command_failf(CB_USAGE, "unknown command: %s; `coatbell --help` lists them", word);
}

/* argv[*at] is an option; moves *at over its value. 0, or the exit code of a usage error. */
static int take_option(struct parse *parse, int argc, char **argv, int *at)
{
    const struct cb_command *command = parse->args.command;
    const char *word = argv[*at];
    size_t length = strcspn(word, "=");
    const char *value = word[length] == '=' ? word + length + 1 : NULL;
    const struct cb_option *option = find_option(cb_common_options, word, length);
    bool common = option != NULL;
    if (!common) {
        option = find_option(command->options, word, length);
    }
    if (option == NULL && word[1] != '-' && word[2] != '\0') { /* -n10 */
        option = find_option(command->options, word, 2);
        value = word + 2;
        if (option != NULL && option->takes == NULL) {
            option = NULL;
        }
    }
    if (option == NULL) {
        const char *name = cb_arena_text_n(parse->args.arena, word, length);
        const char *close = nearest_option(command, name);
        const char *help = help_of(command, parse->args.arena);
        return close != NULL
                   ? cb_command_failf(CB_USAGE, "unknown option: %s, did you mean %s?", name, close)
                   : cb_command_failf(CB_USAGE, "unknown option: %s; `%s` lists them", name, help);
    }
    if (option->takes == NULL && value != NULL) {
        return cb_command_failf(CB_USAGE, "%s takes no value: %s", option->name, word);
    }
    if (option->takes != NULL && value == NULL) {
        if (*at + 1 >= argc) {
            return cb_command_failf(CB_USAGE, "%s wants a value: %s %s", option->name, option->name,
                                    option->takes);
        }
        value = argv[++*at];
    }
    if (option->takes != NULL && value[0] == '\0') {
        return cb_command_failf(CB_USAGE, "%s wants a value that is not empty: %s %s", option->name,
                                option->name, option->takes);
    }
    if (!common) {
        parse->given[parse->args.option_count++] =
            (struct cb_given){.name = option->name, .value = value};
    } else if (strcmp(option->name, "--log") == 0) {
        parse->args.log = value;
    } else if (strcmp(option->name, "--json") == 0) {
        parse->args.json = true;
    } else if (strcmp(option->name, "--ascii") == 0) {
        parse->args.ascii_said = true;
    } else if (strcmp(option->name, "--help") == 0) {
        parse->help = true;
    } else {
        parse->version = true;
    }
    return 0;
}

/* The subcommand is the first word that is no option and no value of a common one. NULL: the
 * bench. *at: its place in argv, or argc. */
static int find_command(int argc, char **argv, const struct cb_command **command, int *at)
{
    *command = &cb_command_bench;
    *at = argc;
    for (int i = 1; i < argc; i++) {
        const char *word = argv[i];
        if (word[0] == '-' && word[1] != '\0') {
            if (strcmp(word, "--") == 0) {
                return 0;
            }
            const struct cb_option *option = find_option(cb_common_options, word, strlen(word));
            if (option != NULL && option->takes != NULL) {
                i++;
            }
            continue;
        }
        for (size_t c = 0; cb_commands[c] != NULL; c++) {
            if (strcmp(cb_commands[c]->name, word) == 0) {
                *command = cb_commands[c];
                *at = i;
                return 0;
            }
        }
        return unknown_command(word);
    }
    return 0;
}

static void print_options(const struct cb_option *options)
{
    for (; options != NULL && options->name != NULL; options++) {
        char left[64];
        snprintf(left, sizeof left, "%s%s%s", options->name, options->takes != NULL ? " " : "",
                 options->takes != NULL ? options->takes : "");
        int used = printf("  %-22s ", left);
        cb_command_wrap_after(options->help, used, used);
    }
}

static void print_help(const struct cb_command *command, struct cb_arena *arena)
{
    if (command == &cb_command_bench) {
        /* within the 24 lines of a small terminal */
        printf("usage: coatbell [OPTION...] [COMMAND ...]\n");
        cb_command_wrap(command->summary, 0);
        printf("\n");
        for (size_t i = 0; cb_commands[i] != NULL; i++) {
            int used = printf("  %-8s ", cb_commands[i]->name);
            cb_command_wrap_after(cb_commands[i]->summary, used, used);
        }
        printf("\n");
        print_options(command->options);
        print_options(cb_common_options);
        cb_command_wrap("`coatbell COMMAND --help` says more; the manual is coatbell(1).", 0);
        return;
    }
    bool has_options = command->options != NULL && command->options->name != NULL;
    printf("usage: coatbell %s%s%s%s\n\n", command->name, has_options ? " [OPTION...]" : "",
           command->operands[0] != '\0' ? " " : "", command->operands);
    cb_command_wrap(command->summary, 0);
    if (has_options) {
        printf("\noptions:\n");
        print_options(command->options);
    }
    printf("\n");
    const char *common = "for every command:";
    for (const struct cb_option *o = cb_common_options; o->name != NULL; o++) {
        common = cb_arena_printf(arena, "%s %s%s%s%s", common, o->name, o->takes != NULL ? " " : "",
                                 o->takes != NULL ? o->takes : "", o[1].name != NULL ? "," : "");
    }
    cb_command_wrap(common, 0);
}

static int check_operands(const struct parse *parse)
{
    const struct cb_command *command = parse->args.command;
    int count = parse->args.operand_count;
    if (count < command->min_operands) {
        const char *what = strncmp(command->operands, "RECIPE", 6) == 0 ? "which recipe"
                           : strncmp(command->operands, "FILE", 4) == 0 ? "which file"
                           : strncmp(command->operands, "KIND", 4) == 0
                               ? "which kind of paint, or recipe"
                           : strncmp(command->operands, "SCRIPT", 6) == 0 ? "which script"
                                                                          : "what of it";
        return cb_command_failf(CB_USAGE, "%s? coatbell %s %s", what, command->name,
                                command->operands);
    }
    if (command->max_operands >= 0 && count > command->max_operands) {
        const char *extra = parse->operands[command->max_operands];
        return command->operands[0] == '\0'
                   ? cb_command_failf(CB_USAGE, "one word too many: %s; coatbell %s takes none",
                                      extra, command->name)
                   : cb_command_failf(CB_USAGE, "one word too many: %s; it is coatbell %s %s",
                                      extra, command->name, command->operands);
    }
    return 0;
}

static int parse_words(struct parse *parse, int argc, char **argv)
{
    int command_at;
    int code = find_command(argc, argv, &parse->args.command, &command_at);
    if (code != 0) {
        return code;
    }
    parse->given = cb_arena_alloc(parse->args.arena, (size_t)argc + 1, sizeof *parse->given);
    parse->operands = cb_arena_alloc(parse->args.arena, (size_t)argc + 1, sizeof *parse->operands);
    bool options_end = false;
    for (int i = 1; i < argc; i++) {
        const char *word = argv[i];
        if (!options_end && strcmp(word, "--") == 0) {
            options_end = true;
        } else if (!options_end && word[0] == '-' && word[1] != '\0') {
            code = take_option(parse, argc, argv, &i);
            if (code != 0) {
                return code;
            }
        } else if (i != command_at) {
            parse->operands[parse->args.operand_count++] = word;
        }
    }
    parse->args.given = parse->given;
    parse->args.operands = parse->operands;
    return 0;
}

static int run(struct parse *parse, int argc, char **argv)
{
    int code = parse_words(parse, argc, argv);
    if (code != 0) {
        return code;
    }
    if (parse->help) {
        print_help(parse->args.command, parse->args.arena);
        return 0;
    }
    if (parse->version) {
        printf("coatbell " CB_VERSION "\n");
        return 0;
    }
    code = check_operands(parse);
    if (code != 0) {
        return code;
    }
    parse->args.ascii = parse->args.ascii_said || !cb_console_is_utf8() ||
                        cb_paths_ascii(parse->args.arena, parse->args.log != NULL);
    return parse->args.command->run(&parse->args);
}

int cb_command_main(int argc, char **argv)
{
    cb_console_start();
    struct cb_arena arena = {0};
    struct parse parse = {.args = {.arena = &arena}};
    int code = run(&parse, argc, argv);
    struct cb_err err = {0};
    if (cb_console_finish(&err) != CB_OK) {
        cb_command_fail(&err);
        code = code != 0 ? code : (int)CB_IO;
    }
    cb_arena_fini(&arena);
    return code;
}
