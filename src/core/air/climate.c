/* SPDX-License-Identifier: MIT */
#include "core/air/climate.h"

#include <ctype.h>
#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include "base/str.h"

const struct cb_climate cb_climate_standard = {.temp_c = 23, .rh_pct = 50, .air = CB_AIR_STILL};
const struct cb_climate cb_climate_assumed = {.temp_c = 20, .rh_pct = 50, .air = CB_AIR_STILL};

static const char *const air_names[] = {"still", "draught", "fan", "dryer"};
_Static_assert(sizeof air_names / sizeof *air_names == CB_AIR_COUNT, "a name for each air");

const char *cb_air_name(enum cb_air air)
{
    return air_names[air];
}

const char *cb_climate_such(bool fahrenheit)
{
    return fahrenheit ? "67 62" : "19.5 62";
}

bool cb_air_from_name(const char *name, enum cb_air *air)
{
    const int found = cb_str_place(air_names, CB_AIR_COUNT, name);
    if (found >= 0) {
        *air = (enum cb_air)found;
    }
    return found >= 0;
}

#define NUMBERS_MAX 3  /* one more than are wanted, so that one too many is seen */
#define WORDS_MAX   24 /* bytes of what is said of the air */
/* No bench is warmer than the first in C, none colder than the second in F: a bare number beyond
 * is the other unit's (own judgement). */
#define BARE_MOST_C  40.0
#define BARE_LEAST_F 32.0

/* A number as it was typed, and what stands with it. */
struct number {
    double value;
    enum kind { BARE, TEMP, HUMID } kind;
    char letter;  /* C, F; 0: none */
    bool by_name; /* humid by a name that may as well have meant the next one */
};

struct typed {
    struct number numbers[NUMBERS_MAX];
    size_t count;
    enum kind next;        /* what the number to come was called */
    char words[WORDS_MAX]; /* of the air */
    char bad[13];          /* what is not understood; "": nothing */
};

/* The user's text in a message: printable ASCII only, and not much of it. */
static void quote(const char *text, char *out, size_t size)
{
    size_t n = 0;
    for (; n + 1 < size && text[n] != '\0'; n++) {
        out[n] = text[n] >= ' ' && text[n] <= '~' ? text[n] : '?';
    }
    out[n] = '\0';
}

/* Runs of digits, points and commas, with a digit in each. */
static size_t count_runs(const char *text)
{
    size_t runs = 0;
    bool inside = false;
    for (; *text != '\0'; text++) {
        const bool digit = *text >= '0' && *text <= '9';
        runs += digit && !inside;
        inside = digit || (inside && (*text == '.' || *text == ','));
    }
    return runs;
}

/* Is the comma at text a decimal one? "19,5 62": what stands behind it is a fraction where another
 * number is written apart, or where it is no humidity: "20,55" is two numbers, "19,5" one. */
static bool is_decimal(const char *text, size_t runs)
{
    const size_t digits = strspn(text + 1, "0123456789");
    const bool humidity = digits == 2 || (digits == 3 && strncmp(text + 1, "100", 3) == 0);
    return digits > 0 && (runs > 1 || !humidity);
}

/* The number at *text, which moves behind it; false when it is none. */
static bool read_number(const char **text, size_t runs, struct typed *typed)
{
    const char *at = *text;
    char digits[32];
    size_t n = 0;
    bool point = false;
    if (*at == '+' || *at == '-') {
        digits[n++] = *at++;
    }
    for (; n + 1 < sizeof digits; at++) {
        const bool comma = *at == ',' && !point && n > 0 && is_decimal(at, runs);
        if (!isdigit((unsigned char)*at) && !comma && (*at != '.' || point)) {
            break;
        }
        point = point || !isdigit((unsigned char)*at);
        digits[n++] = *at == ',' ? '.' : *at;
    }
    digits[n] = '\0';
    struct number number = {.kind = typed->next};
    if (!cb_str_number(digits, &number.value) || isdigit((unsigned char)*at) || *at == '.') {
        return false;
    }
    if (typed->count < NUMBERS_MAX) {
        typed->numbers[typed->count++] = number;
    }
    typed->next = BARE;
    *text = at;
    return true;
}

/* The last number is a temperature or a humidity; letter: C, F or 0. False where it is not. */
static bool mark(struct typed *typed, enum kind kind, char letter)
{
    struct number *last = typed->count > 0 ? &typed->numbers[typed->count - 1] : NULL;
    if (last == NULL || (last->kind != BARE && last->kind != kind) ||
        (letter != 0 && last->letter != 0)) {
        return false;
    }
    last->kind = kind;
    last->letter = letter != 0 ? letter : last->letter;
    return true;
}

/* "humidity" and "temperature" stand before their number or behind it. */
static bool name(struct typed *typed, enum kind kind)
{
    struct number *last = typed->count > 0 ? &typed->numbers[typed->count - 1] : NULL;
    if (last != NULL && last->kind == BARE) {
        last->by_name = true;
        last->kind = kind;
    } else if (last == NULL || last->kind != kind) {
        typed->next = kind;
    }
    return true;
}

static bool read_word(const char *word, struct typed *typed)
{
    static const char *const fillers[] = {"and", "with", "a", "per", "relative"};
    static const struct {
        const char *word;
        enum kind kind;
        char letter;
    } units[] = {
        {"c", TEMP, 'C'},          {"celsius", TEMP, 'C'}, {"f", TEMP, 'F'},
        {"fahrenheit", TEMP, 'F'}, {"deg", TEMP, 0},       {"degree", TEMP, 0},
        {"degrees", TEMP, 0},      {"percent", HUMID, 0},  {"cent", HUMID, 0},
    };
    if (cb_str_place(fillers, sizeof fillers / sizeof *fillers, word) >= 0) {
        return true;
    }
    for (size_t i = 0; i < sizeof units / sizeof *units; i++) {
        if (strcmp(units[i].word, word) == 0) {
            return mark(typed, units[i].kind, units[i].letter);
        }
    }
    if (strcmp(word, "rh") == 0 || strcmp(word, "humidity") == 0) {
        return name(typed, HUMID);
    }
    if (strcmp(word, "temp") == 0 || strcmp(word, "temperature") == 0) {
        return name(typed, TEMP);
    }
    const size_t used = strlen(typed->words);
    if (used + strlen(word) + 2 > sizeof typed->words) {
        return false;
    }
    snprintf(typed->words + used, sizeof typed->words - used, "%s%s", used > 0 ? " " : "", word);
    return true;
}

/* What is typed, in its parts. */
static void read_typed(const char *text, struct typed *typed)
{
    const size_t runs = count_runs(text);
    *typed = (struct typed){.next = BARE};
    bool fine = true;
    while (fine && *text != '\0') {
        const char *from = text;
        char word[sizeof typed->bad] = "";
        if (isspace((unsigned char)*text) || strchr(",;/", *text) != NULL) {
            text++;
        } else if (strncmp(text, "\xC2\xA0", 2) == 0) { /* a blank that breaks no line */
            text += 2;
        } else if (strchr("+-.0123456789", *text) != NULL) {
            fine = read_number(&text, runs, typed);
        } else if (*text == '%') {
            text++;
            fine = mark(typed, HUMID, 0);
        } else if (strncmp(text, "\xC2\xB0", 2) == 0 || strncmp(text, "\xC2\xBA", 2) == 0) {
            text += 2; /* the degree sign, and the one beside it on some keyboards */
            fine = mark(typed, TEMP, 0);
        } else {
            size_t n = 0;
            for (; isalpha((unsigned char)*text) && n + 1 < sizeof word; n++) {
                word[n] = (char)tolower((unsigned char)*text++);
            }
            fine = n > 0 && !isalpha((unsigned char)*text) && read_word(word, typed);
        }
        if (!fine) {
            quote(from, typed->bad, sizeof typed->bad);
        }
    }
}

/* The one number of that kind that text is. */
static bool read_one(const char *text, enum kind kind, struct number *number)
{
    struct typed typed;
    read_typed(text, &typed);
    *number = typed.numbers[0];
    return typed.bad[0] == '\0' && typed.words[0] == '\0' && typed.count == 1 &&
           (number->kind == BARE || number->kind == kind);
}

static double in_celsius(const struct number *number, bool bare_f)
{
    const bool fahrenheit = number->letter != 0 ? number->letter == 'F' : bare_f;
    /* Rounded, so that 73.4F is 23 C to the last bit. */
    return fahrenheit ? round((number->value - 32) * 5 / 9 * 1e9) / 1e9 : number->value;
}

static bool is_temp(double temp_c)
{
    return temp_c >= -20 && temp_c <= 60;
}

enum cb_status cb_climate_parse_temp(const char *text, double *temp_c, struct cb_err *err)
{
    char shown[25];
    quote(text, shown, sizeof shown);
    struct number number;
    if (!read_one(text, TEMP, &number)) {
        return cb_err_set(err, CB_USAGE, "not a temperature: %s (write 21.5 or 70.7F)", shown);
    }
    if (!is_temp(in_celsius(&number, false))) {
        return cb_err_set(err, CB_USAGE, "temperature out of range: %s (-20 to 60 C, -4 to 140 F)",
                          shown);
    }
    *temp_c = in_celsius(&number, false);
    return CB_OK;
}

enum cb_status cb_climate_parse_rh(const char *text, double *rh_pct, struct cb_err *err)
{
    char shown[25];
    quote(text, shown, sizeof shown);
    struct number number;
    if (!read_one(text, HUMID, &number)) {
        return cb_err_set(err, CB_USAGE, "not a relative humidity: %s (write 55 or 55%%)", shown);
    }
    if (!(number.value >= 0 && number.value <= 100)) {
        return cb_err_set(err, CB_USAGE, "relative humidity out of range: %s (0 to 100 %%)", shown);
    }
    *rh_pct = number.value;
    return CB_OK;
}

/* Which of two numbers is the temperature; false where it is not said and can't be meant. */
static bool tell_apart(const struct typed *typed, struct number *temp, struct number *humid)
{
    const struct number *first = &typed->numbers[0], *second = &typed->numbers[1];
    const bool turned = first->kind == HUMID || second->kind == TEMP;
    *temp = turned ? *second : *first;
    *humid = turned ? *first : *second;
    return temp->kind != HUMID && humid->kind != TEMP && !(first->by_name && second->kind == BARE);
}

/* Is a bare number no temperature of a bench, but one in the other unit? */
static bool is_other_unit(const struct number *temp, bool bare_f)
{
    const bool beyond = bare_f ? temp->value <= BARE_LEAST_F : temp->value > BARE_MOST_C;
    return temp->letter == 0 && beyond && is_temp(in_celsius(temp, !bare_f));
}

static bool read_air(const char *words, enum cb_air *air)
{
    static const struct {
        const char *words;
        enum cb_air air;
    } airs[] = {
        {"still air", CB_AIR_STILL},     {"window", CB_AIR_DRAUGHT},
        {"open window", CB_AIR_DRAUGHT}, {"window open", CB_AIR_DRAUGHT},
        {"draft", CB_AIR_DRAUGHT},       {"hair dryer", CB_AIR_DRYER},
        {"hairdryer", CB_AIR_DRYER},     {"hair drier", CB_AIR_DRYER},
        {"hairdrier", CB_AIR_DRYER},     {"drier", CB_AIR_DRYER},
    };
    for (size_t i = 0; i < sizeof airs / sizeof *airs; i++) {
        if (strcmp(airs[i].words, words) == 0) {
            *air = airs[i].air;
            return true;
        }
    }
    return words[0] == '\0' || cb_air_from_name(words, air);
}

/* asks: what was refused is most likely the other unit. */
static enum cb_status parse(const char *text, bool bare_f, struct cb_climate *climate, bool *asks,
                            struct cb_err *err)
{
    const char *such = cb_climate_such(bare_f);
    struct cb_climate read = *climate;
    struct typed typed;
    struct number temp, humid;
    *asks = false;
    read_typed(text, &typed);
    if (typed.bad[0] == '\0' && !read_air(typed.words, &read.air)) {
        quote(typed.words, typed.bad, sizeof typed.bad);
    }
    if (typed.bad[0] != '\0') {
        return cb_err_set(err, CB_USAGE, "not understood: %s; write %s", typed.bad, such);
    }
    if (typed.count != 2) {
        return cb_err_set(err, CB_USAGE, "%s write %s",
                          typed.count == 0                 ? "temperature and humidity:"
                          : typed.count > 2                ? "two numbers are wanted:"
                          : typed.numbers[0].kind == HUMID ? "and the temperature?"
                                                           : "and the humidity?",
                          such);
    }
    if (!tell_apart(&typed, &temp, &humid)) {
        return cb_err_set(err, CB_USAGE, "which is the humidity? write %s", such);
    }
    if (!(humid.value >= 0 && humid.value <= 100)) {
        return cb_err_set(err, CB_USAGE, "humidity is 0 to 100 %%: write %s", such);
    }
    *asks = is_other_unit(&temp, bare_f);
    if (*asks) {
        return cb_err_set(err, CB_USAGE, "%g %c? write %gF %g%% or %gC %g%%", temp.value,
                          bare_f ? 'C' : 'F', temp.value, humid.value, temp.value, humid.value);
    }
    read.temp_c = in_celsius(&temp, bare_f);
    read.rh_pct = humid.value;
    if (!is_temp(read.temp_c)) {
        return cb_err_set(err, CB_USAGE, "%s for a room: write %s",
                          read.temp_c < 0 ? "too cold" : "too hot", such);
    }
    *climate = read;
    return CB_OK;
}

bool cb_climate_asks(const char *text, bool bare_f)
{
    struct cb_climate climate = cb_climate_standard;
    struct cb_err err = {0};
    bool asks;
    return parse(text, bare_f, &climate, &asks, &err) != CB_OK && asks;
}

enum cb_status cb_climate_parse(const char *text, bool bare_f, struct cb_climate *climate,
                                struct cb_err *err)
{
    bool asks;
    return parse(text, bare_f, climate, &asks, err);
}
