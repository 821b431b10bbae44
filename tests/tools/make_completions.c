/* SPDX-License-Identifier: MIT */
/* make_completions bash|zsh|fish: standard input is a shell's completion of coatbell; prints it
 * with what stands between its two marks written anew from the tables that --help is printed from.
 * See `make completions`. */
#include <ctype.h>
#include <stdio.h>
#include <string.h>

#include "base/str.h"
#include "command/command.h"
#include "core/air/climate.h"
#include "core/paint/kinds.h"
#include "shell/paths.h"

#define FROM "# >>> by `make completions`\n"
#define TO   "# <<<\n"

/* What may stand for a value or an operand, by its name in help, where that is a choice. The names
 * FILE and RECIPE are known to the hand-written part of each shell; of all others nothing is. */
static const char *const choices[] = {"AIR", "B", "T", "KIND"};
#define CHOICE_COUNT (sizeof choices / sizeof *choices)

/* One of the shapes a call can have: `log export [FILE]` is the word export and then FILE. */
struct shape {
    char word[32];    /* "": none */
    char operand[32]; /* "": none */
    bool many;        /* as many as you like */
};
#define SHAPES_MAX 12

static struct cb_arena arena;
static const struct cb_kinds *kinds;

/* The words of a choice, one after the other; NULL: no more. */
static const char *choice_word(const char *choice, size_t at)
{
    if (strcmp(choice, "AIR") == 0) {
        return at < CB_AIR_COUNT ? cb_air_name((enum cb_air)at) : NULL;
    }
    if (strcmp(choice, "B") == 0) {
        return at < CB_BY_COUNT ? cb_by_name((enum cb_by)at) : NULL;
    }
    if (strcmp(choice, "T") == 0) {
        return at < CB_TECHNIQUE_COUNT && cb_technique_needs_paint((enum cb_technique)at)
                   ? cb_technique_name((enum cb_technique)at)
                   : NULL;
    }
    return at < kinds->kind_count ? kinds->kinds[at].name : NULL;
}

/* text with each of `special` after `before`. */
static const char *escaped(const char *text, const char *special, const char *before)
{
    struct cb_str out = {0};
    for (; *text != '\0'; text++) {
        cb_str_addf(&out, "%s%c", strchr(special, *text) != NULL ? before : "", *text);
    }
    const char *copy = cb_arena_text(&arena, cb_str_text(&out));
    cb_str_fini(&out);
    return copy;
}

/* In single quotes of bash and zsh. */
static const char *quoted(const char *text)
{
    return escaped(text, "'", "'\\'");
}

/* KIND|RECIPE as a part of a function's name. */
static const char *as_name(const char *operand)
{
    char *name = cb_arena_text(&arena, operand);
    for (char *at = name; *at != '\0'; at++) {
        *at = isalnum((unsigned char)*at) ? *at : '_';
    }
    return name;
}

/* Is something known of it in a shell: a choice, FILE, RECIPE, or several of them with | between?
 */
static bool is_known(const char *operand)
{
    bool known = strstr(operand, "FILE") != NULL || strstr(operand, "RECIPE") != NULL ||
                 strcmp(operand, "SCRIPT") == 0;
    for (size_t i = 0; i < CHOICE_COUNT; i++) {
        known = known || strcmp(operand, choices[i]) == 0;
    }
    return known;
}

static void strip(char *to, size_t size, const char *from, size_t length)
{
    size_t used = 0;
    for (size_t i = 0; i < length && used + 1 < size; i++) {
        if (strchr("[].", from[i]) == NULL) {
            to[used++] = from[i];
        }
    }
    to[used] = '\0';
}

/* "export [FILE] | check", "[UNIT...]", "KIND|RECIPE" as shapes; their number. */
static size_t shapes_of(const struct cb_command *command, struct shape *shapes)
{
    size_t count = 0;
    const char *at = command->operands;
    while (*at != '\0' && count < SHAPES_MAX) {
        const char *end = strstr(at, " | ");
        const size_t length = end != NULL ? (size_t)(end - at) : strlen(at);
        const size_t first = strcspn(at, " ") < length ? strcspn(at, " ") : length;
        struct shape *shape = &shapes[count++];
        *shape = (struct shape){.many = memchr(at, '.', length) != NULL};
        const bool word = islower((unsigned char)at[0]);
        strip(word ? shape->word : shape->operand, sizeof shape->word, at, first);
        if (word && first < length) {
            strip(shape->operand, sizeof shape->operand, at + first + 1, length - first - 1);
        }
        at += length + (end != NULL ? 3 : 0);
    }
    return count;
}

static void each_word(const struct shape *shapes, size_t count, const char *format)
{
    for (size_t i = 0; i < count; i++) {
        if (shapes[i].word[0] != '\0') {
            printf("%s%s", format, shapes[i].word);
        }
    }
}

static bool has_words(const struct shape *shapes, size_t count)
{
    bool has = false;
    for (size_t i = 0; i < count; i++) {
        has = has || shapes[i].word[0] != '\0';
    }
    return has;
}

static void bash_takes(const char *command, const struct cb_option *options)
{
    for (; options != NULL && options->name != NULL; options++) {
        if (options->takes != NULL) {
            printf("    %s,%s) echo '%s' ;;\n", command, options->name, quoted(options->takes));
        }
    }
}

static void bash_names(const struct cb_option *options)
{
    for (; options != NULL && options->name != NULL; options++) {
        printf(" %s", options->name);
    }
}

static void bash(void)
{
    printf("_coatbell_commands='");
    for (size_t i = 0; cb_commands[i] != NULL; i++) {
        printf("%s%s", i > 0 ? " " : "", cb_commands[i]->name);
    }
    printf("'\n_coatbell_options() { # COMMAND\n    case $1 in\n");
    for (size_t i = 0; cb_commands[i] != NULL; i++) {
        if (cb_commands[i]->options != NULL) {
            printf("    %s) printf '%%s '", cb_commands[i]->name);
            bash_names(cb_commands[i]->options);
            printf(" ;;\n");
        }
    }
    printf("    esac\n    printf '%%s '");
    bash_names(cb_common_options);
    printf("\n}\n_coatbell_takes() { # COMMAND OPTION\n    case $1,$2 in\n");
    bash_takes("*", cb_common_options);
    for (size_t i = 0; cb_commands[i] != NULL; i++) {
        bash_takes(cb_commands[i]->name, cb_commands[i]->options);
    }
    printf("    esac\n}\n_coatbell_operand() { # COMMAND NUMBER FIRST\n    case $1,$2,$3 in\n");
    for (size_t i = 0; cb_commands[i] != NULL; i++) {
        struct shape shapes[SHAPES_MAX];
        const struct cb_command *command = cb_commands[i];
        const size_t count = shapes_of(command, shapes);
        if (has_words(shapes, count)) {
            printf("    %s,1,*) echo '", command->name);
            each_word(shapes, count, " ");
            printf("' ;;\n");
        }
        for (size_t n = 0; n < count; n++) {
            const bool told = has_words(shapes, count) && shapes[n].word[0] == '\0';
            if (shapes[n].operand[0] != '\0' && !told) { /* by the words in its place */
                printf("    %s,%s,%s) echo '%s' ;;\n", command->name,
                       shapes[n].many              ? "*"
                       : shapes[n].word[0] != '\0' ? "2"
                                                   : "1",
                       shapes[n].word[0] != '\0' ? shapes[n].word : "*", shapes[n].operand);
            }
        }
    }
    printf("    esac\n}\n_coatbell_words() { # CHOICE\n    case $1 in\n");
    for (size_t i = 0; i < CHOICE_COUNT; i++) {
        printf("    %s) printf '%%s\\n'", choices[i]);
        const char *word;
        for (size_t at = 0; (word = choice_word(choices[i], at)) != NULL; at++) {
            printf(" '%s'", quoted(word));
        }
        printf(" ;;\n");
    }
    printf("    esac\n}\n");
}

/* An option as _arguments has it: --first=[TEXT]:N:_coatbell_N, -n+[TEXT]:FIGURES: . */
static void zsh_options(const struct cb_option *options)
{
    for (; options != NULL && options->name != NULL; options++) {
        const char *help = quoted(escaped(options->help, "[]\\", "\\"));
        if (options->takes == NULL) {
            printf(" \\\n            '%s[%s]'", options->name, help);
            continue;
        }
        printf(" \\\n            '*%s%s[%s]:%s:%s%s'", options->name,
               options->name[1] == '-' ? "=" : "+", help,
               quoted(escaped(options->takes, ":", "\\")),
               is_known(options->takes) ? "_coatbell_" : " ",
               is_known(options->takes) ? as_name(options->takes) : "");
    }
}

static void zsh_operands(const struct cb_command *command)
{
    struct shape shapes[SHAPES_MAX];
    const size_t count = shapes_of(command, shapes);
    const bool words = has_words(shapes, count);
    if (words) {
        printf(" \\\n            '1: :(");
        each_word(shapes, count, " ");
        printf(")'");
    }
    bool second = false;
    for (size_t i = 0; i < count; i++) {
        const bool after = shapes[i].word[0] != '\0';
        if (!is_known(shapes[i].operand) || (words && !after) || (after && second)) {
            continue;
        }
        second = after;
        printf(" \\\n            '%s:%s:_coatbell_%s'",
               shapes[i].many ? "*"
               : after        ? "2"
                              : "1",
               shapes[i].operand, as_name(shapes[i].operand));
    }
}

static void zsh(void)
{
    printf("_coatbell_commands=(\n");
    for (size_t i = 0; cb_commands[i] != NULL; i++) {
        printf("    '%s:%s'\n", cb_commands[i]->name,
               quoted(escaped(cb_commands[i]->summary, ":", "\\")));
    }
    printf(")\n_coatbell_call() { # COMMAND\n    case $1 in\n");
    for (size_t i = 0; cb_commands[i] != NULL; i++) {
        printf("    %s)\n        _arguments -S $_coatbell_common", cb_commands[i]->name);
        zsh_options(cb_commands[i]->options);
        zsh_operands(cb_commands[i]);
        printf(" ;;\n");
    }
    printf("    esac\n}\n_coatbell_common=(");
    zsh_options(cb_common_options);
    printf("\n)\n");
    for (size_t i = 0; i < CHOICE_COUNT; i++) {
        printf("_coatbell_%s() {\n    compadd \"$@\" --", choices[i]);
        const char *word;
        for (size_t at = 0; (word = choice_word(choices[i], at)) != NULL; at++) {
            printf(" '%s'", quoted(word));
        }
        printf("\n}\n");
    }
}

static const char *fish_text(const char *text)
{
    return escaped(text, "'\\", "\\");
}

/* The rest of a line of `complete` for what has that name in help. */
static const char *fish_values(const char *operand)
{
    if (strcmp(operand, "FILE") == 0 || strcmp(operand, "SCRIPT") == 0) {
        return " -F";
    }
    return is_known(operand) ? cb_arena_printf(&arena, " -a '(__coatbell_%s)'", as_name(operand))
                             : "";
}

static void fish_options(const char *condition, const struct cb_option *options)
{
    for (; options != NULL && options->name != NULL; options++) {
        const bool is_long = options->name[1] == '-';
        printf("complete -c coatbell%s -%c %s%s%s -d '%s'\n", condition, is_long ? 'l' : 's',
               options->name + (is_long ? 2 : 1),
               options->takes == NULL                ? ""
               : strcmp(options->takes, "FILE") == 0 ? " -r"
                                                     : " -x",
               options->takes == NULL ? "" : fish_values(options->takes), fish_text(options->help));
    }
}

static void fish_valued(const struct cb_option *options)
{
    for (; options != NULL && options->name != NULL; options++) {
        if (options->takes != NULL) {
            printf(" %s", options->name);
        }
    }
}

static void fish_operands(const struct cb_command *command)
{
    struct shape shapes[SHAPES_MAX];
    const size_t count = shapes_of(command, shapes);
    if (has_words(shapes, count)) {
        printf("complete -c coatbell -n '__coatbell_at %s' -a '", command->name);
        each_word(shapes, count, " ");
        printf("'\n");
    }
    for (size_t i = 0; i < count; i++) {
        if (is_known(shapes[i].operand)) {
            printf("complete -c coatbell -n '__coatbell_at %s%s%s'%s\n", command->name,
                   shapes[i].word[0] != '\0' ? " "
                   : shapes[i].many          ? " many"
                                             : "",
                   shapes[i].word, fish_values(shapes[i].operand));
        }
    }
}

static void fish(void)
{
    for (size_t i = 0; i < CHOICE_COUNT; i++) {
        printf("function __coatbell_%s\n    printf '%%s\\n'", choices[i]);
        const char *word;
        for (size_t at = 0; (word = choice_word(choices[i], at)) != NULL; at++) {
            printf(" '%s'", fish_text(word));
        }
        printf("\nend\n");
    }
    printf("function __coatbell_takes\n    contains -- $argv[1]");
    fish_valued(cb_common_options);
    for (size_t i = 0; cb_commands[i] != NULL; i++) {
        fish_valued(cb_commands[i]->options);
    }
    printf("\nend\n");
    fish_options("", cb_common_options);
    for (size_t i = 0; cb_commands[i] != NULL; i++) {
        const struct cb_command *command = cb_commands[i];
        printf("complete -c coatbell -n '__coatbell_at' -a %s -d '%s'\n", command->name,
               fish_text(command->summary));
        fish_options(cb_arena_printf(&arena, " -n '__coatbell_in %s'", command->name),
                     command->options);
        fish_operands(command);
    }
}

static const struct {
    const char *name;
    void (*print)(void);
} shells[] = {{"bash", bash}, {"zsh", zsh}, {"fish", fish}};

int main(int argc, char **argv)
{
    static char text[1 << 17];
    struct cb_err err = {0};
    void (*print)(void) = NULL;
    for (size_t i = 0; argc == 2 && i < sizeof shells / sizeof *shells; i++) {
        print = strcmp(shells[i].name, argv[1]) == 0 ? shells[i].print : print;
    }
    if (print == NULL) {
        fputs("make_completions bash|zsh|fish <FILE\n", stderr);
        return CB_USAGE;
    }
    if (cb_paths_kinds(&arena, &kinds, &err) != CB_OK) {
        fprintf(stderr, "make_completions: %s\n", err.text);
        return (int)err.status;
    }
    text[fread(text, 1, sizeof text - 1, stdin)] = '\0';
    const char *from = strstr(text, FROM);
    const char *to = from != NULL ? strstr(from, TO) : NULL;
    if (to == NULL) {
        fputs("make_completions: standard input lacks the two marks\n", stderr);
        return CB_DATA;
    }
    from += strlen(FROM);
    fwrite(text, 1, (size_t)(from - text), stdout);
    print();
    fputs(to, stdout);
    cb_arena_fini(&arena);
    return 0;
}
