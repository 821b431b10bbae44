/* SPDX-License-Identifier: MIT */
#include "core/air/climate.h"

#include <ctype.h>
#include <math.h>
#include <stddef.h>
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

bool cb_air_from_name(const char *name, enum cb_air *air)
{
    const int found = cb_str_place(air_names, CB_AIR_COUNT, name);
    if (found >= 0) {
        *air = (enum cb_air)found;
    }
    return found >= 0;
}

/* A number with what stands behind it: "73.4F" gives 73.4 and "F". */
static bool split_number(const char *text, double *value, const char **rest)
{
    char digits[32];
    size_t n = 0;
    while (text[n] != '\0' && strchr("+-.0123456789", text[n]) != NULL) {
        if (n + 1 >= sizeof digits) {
            return false;
        }
        digits[n] = text[n];
        n++;
    }
    digits[n] = '\0';
    *rest = text + n;
    return n > 0 && cb_str_number(digits, value);
}

/* The user's text in a message: printable ASCII only, and not much of it. */
static void quote(const char *text, char out[25])
{
    size_t n = 0;
    for (; n < 24 && text[n] != '\0'; n++) {
        out[n] = text[n] >= ' ' && text[n] <= '~' ? text[n] : '?';
    }
    out[n] = '\0';
}

static enum cb_status parse_temp(const char *text, bool bare_f, double *temp_c, struct cb_err *err)
{
    char shown[25];
    quote(text, shown);
    double value;
    const char *unit;
    bool fahrenheit = bare_f;
    bool good = split_number(text, &value, &unit);
    if (good && unit[0] != '\0') {
        if (strncmp(unit, "\xC2\xB0", 2) == 0) { /* the degree sign */
            unit += 2;
        }
        int letter = toupper((unsigned char)unit[0]);
        good = (letter == 'C' || letter == 'F') && unit[1] == '\0';
        fahrenheit = letter == 'F';
    }
    if (!good) {
        return cb_err_set(err, CB_USAGE, "not a temperature: %s (write 21.5 or 70.7F)", shown);
    }
    /* Rounded, so that 73.4F is 23 C to the last bit. */
    double celsius = fahrenheit ? round((value - 32) * 5 / 9 * 1e9) / 1e9 : value;
    if (!(celsius >= -20 && celsius <= 60)) {
        return cb_err_set(err, CB_USAGE, "temperature out of range: %s (-20 to 60 C, -4 to 140 F)",
                          shown);
    }
    *temp_c = celsius;
    return CB_OK;
}

enum cb_status cb_climate_parse_temp(const char *text, double *temp_c, struct cb_err *err)
{
    return parse_temp(text, false, temp_c, err);
}

enum cb_status cb_climate_parse_rh(const char *text, double *rh_pct, struct cb_err *err)
{
    char shown[25];
    quote(text, shown);
    double value;
    const char *unit;
    if (!split_number(text, &value, &unit) || (unit[0] != '\0' && strcmp(unit, "%") != 0)) {
        return cb_err_set(err, CB_USAGE, "not a relative humidity: %s (write 55 or 55%%)", shown);
    }
    if (!(value >= 0 && value <= 100)) {
        return cb_err_set(err, CB_USAGE, "relative humidity out of range: %s (0 to 100 %%)", shown);
    }
    *rh_pct = value;
    return CB_OK;
}

/* Is the comma at text a decimal one? "19,5 62": between digits, and what follows holds another
 * number
 * ("19,62" is both, with a comma between). */
static bool is_decimal(const char *word, size_t n, const char *text, bool last)
{
    if (n == 0 || !isdigit((unsigned char)word[n - 1]) || !isdigit((unsigned char)text[1]) ||
        memchr(word, '.', n) != NULL) {
        return false;
    }
    const char *next = text + 1 + strspn(text + 1, "0123456789");
    next += strspn(next, "CcFf%\xC2\xB0");
    return last || (*next != '\0' && isdigit((unsigned char)next[strspn(next, ", ")]));
}

/* Copies the next word; false at the end. A lone "%" or "C" belongs to the number before it. */
static bool next_word(const char **text, bool last, char word[32])
{
    while (isspace((unsigned char)**text) || **text == ',') {
        (*text)++;
    }
    size_t n = 0;
    while (**text != '\0' && !isspace((unsigned char)**text) && n < 31) {
        if (**text == ',' && !is_decimal(word, n, *text, last)) {
            break;
        }
        word[n++] = **text == ',' ? '.' : **text;
        (*text)++;
    }
    const char *ahead = *text;
    while (*ahead == ' ') {
        ahead++;
    }
    bool unit = *ahead != '\0' && strchr("%CFcf", *ahead) != NULL &&
                (ahead[1] == '\0' || isspace((unsigned char)ahead[1]) || ahead[1] == ',');
    if (n > 0 && n < 31 && isdigit((unsigned char)word[n - 1]) && ahead > *text && unit) {
        word[n++] = *ahead;
        *text = ahead + 1;
    }
    word[n] = '\0';
    return n > 0;
}

enum cb_status cb_climate_parse(const char *text, bool bare_f, struct cb_climate *climate,
                                struct cb_err *err)
{
    struct cb_climate read = *climate;
    char word[32] = "";
    bool ok = next_word(&text, false, word);
    if (!ok) {
        return cb_err_set(err, CB_USAGE,
                          "no climate: write temperature and humidity, such as 19.5 62");
    }
    enum cb_status status = parse_temp(word, bare_f, &read.temp_c, err);
    if (status != CB_OK) {
        return status;
    }
    if (!next_word(&text, true, word)) {
        return cb_err_set(err, CB_USAGE, "no humidity: write both, such as 19.5 62");
    }
    status = cb_climate_parse_rh(word, &read.rh_pct, err);
    if (status != CB_OK) {
        return status;
    }
    if (next_word(&text, true, word)) {
        if (strcmp(word, "window") == 0) { /* an open one */
            read.air = CB_AIR_DRAUGHT;
        } else if (!cb_air_from_name(word, &read.air)) {
            char shown[25];
            quote(word, shown);
            return cb_err_set(err, CB_USAGE, "not an air: %s (still, window, fan or dryer)", shown);
        }
        if (next_word(&text, true, word)) {
            char shown[25];
            quote(word, shown);
            return cb_err_set(err, CB_USAGE, "too much for a climate: %s (write 19.5 62 fan)",
                              shown);
        }
    }
    *climate = read;
    return CB_OK;
}
