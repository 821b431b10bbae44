/* SPDX-License-Identifier: MIT */
#include "support/events.h"

#include <stdio.h>
#include <string.h>

#include "base/str.h"
#include "base/utf8.h"

/* splitmix64, Steele, Lea & Flood, OOPSLA 2014 */
uint64_t dice_next(struct dice *dice)
{
    uint64_t z = dice->state += UINT64_C(0x9e3779b97f4a7c15);
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

uint64_t dice_below(struct dice *dice, uint64_t limit)
{
    return dice_next(dice) % limit;
}

const char *dice_text(struct dice *dice, struct cb_arena *arena, size_t most)
{
    static const char *const bits[] = {
        "rope",
        " ",
        "\"",
        "\\",
        "/",
        "\n",
        "\t",
        "\r",
        "\x1b[2J",
        "\x7f",
        "\xc2\x9b",
        "\xc2\x85",
        "\xe2\x80\xae",
        "\xe2\x80\x8b",
        "\xe2\x80\xa8",
        "\xef\xbb\xbf",
        "\xc3\xa9",
        "\xf0\x9f\xa6\x80",
        "\xf3\xa0\x81\x81",
        "=1+1",
        "@",
        ",",
        ";",
        "{\"",
        "\x01",
        "%s%n",
        "\xee\x80\x80",
        "\xef\xbf\xbe",
    };
    struct cb_str out = {0};
    for (uint64_t left = dice_below(dice, 9); left > 0; left--) {
        const char *bit = bits[dice_below(dice, sizeof bits / sizeof *bits)];
        if (out.length + strlen(bit) > most) {
            break;
        }
        cb_str_add(&out, bit);
    }
    const char *text = cb_arena_text(arena, cb_str_text(&out));
    cb_str_fini(&out);
    return text;
}

static const char *name(struct dice *dice, struct cb_arena *arena, const char *stem)
{
    const char *text = dice_text(dice, arena, 24);
    return cb_arena_printf(arena, "%s%llx%s", stem, (unsigned long long)dice_next(dice), text);
}

static double number(struct dice *dice, double low, double high)
{
    switch (dice_below(dice, 4)) {
    case 0:
        return low;
    case 1:
        return high;
    case 2:
        return (double)(int64_t)(low + (high - low) / 3);
    default:
        return low + (high - low) * ((double)(dice_next(dice) >> 11) / 9007199254740992.0);
    }
}

static const char *word(struct dice *dice, struct cb_arena *arena, const char *words)
{
    uint64_t skip = dice_below(dice, 4);
    const char *bar;
    while (skip-- > 0 && (bar = strchr(words, '|')) != NULL) {
        words = bar + 1;
    }
    return cb_arena_text_n(arena, words, strcspn(words, "|"));
}

void events_add_figures(struct cb_event_make *make, const int *figures, size_t n)
{
    int *copy = cb_arena_alloc(make->arena, n + 1, sizeof *copy);
    memcpy(copy, figures, n * sizeof *copy);
    make->attrs[make->event.attr_count++] = (struct cb_attr){
        .field = CB_FIELD_FIGURES, .type = CB_TYPE_FIGURES, .figures = copy, .n = n};
}

static void field(struct dice *dice, struct cb_event_make *make, const struct cb_event_field *row)
{
    struct cb_film_key films[3];
    int figures[3];
    size_t n = 1 + (size_t)dice_below(dice, 3);
    switch (row->type) {
    case CB_TYPE_INT:
        cb_event_add_int(make, row->field, (int64_t)number(dice, row->low, row->high));
        break;
    case CB_TYPE_NUMBER:
        cb_event_add_number(make, row->field, number(dice, row->low, row->high));
        break;
    case CB_TYPE_TEXT:
        if (row->words) {
            cb_event_add_text(make, row->field, word(dice, make->arena, row->words));
        } else if (row->field == CB_FIELD_OF) {
            cb_event_add_text(make, row->field, name(dice, make->arena, "p"));
        } else {
            cb_event_add_text(make, row->field, dice_text(dice, make->arena, 200));
        }
        break;
    case CB_TYPE_TIME:
        cb_event_add_time(make, row->field, (int64_t)dice_below(dice, UINT64_C(4102444800000)));
        break;
    case CB_TYPE_BOOL:
        cb_event_add_bool(make, row->field, dice_below(dice, 2) == 1);
        break;
    case CB_TYPE_FILMS:
        for (size_t i = 0; i < n; i++) {
            films[i] =
                (struct cb_film_key){1 + (int)dice_below(dice, 99), 1 + (int)dice_below(dice, 64),
                                     1 + (int)dice_below(dice, 9)};
        }
        cb_event_add_films(make, films, n);
        break;
    case CB_TYPE_FIGURES:
        for (size_t i = 0; i < n; i++) {
            figures[i] = 1 + (int)dice_below(dice, 99);
        }
        events_add_figures(make, figures, n);
        break;
    case CB_TYPE_RAW:
        break;
    }
}

/* As jsonl keeps it: no blanks outside strings, nothing unsafe inside them. */
static const char *raw(struct dice *dice)
{
    static const char *const texts[] = {
        "null",
        "true",
        "1.10",
        "-0",
        "123456789012345678901234567890",
        "\"a\\u001b[2Jb\"",
        "[1,{\"x\":[]},\"\\u202e\"]",
        "{}",
        "1e-7",
        "\"\xc3\xa9\"",
    };
    return texts[dice_below(dice, sizeof texts / sizeof *texts)];
}

const struct cb_event *dice_event(struct dice *dice, struct cb_arena *arena, bool with_id)
{
    enum cb_event_kind kind = (enum cb_event_kind)dice_below(dice, CB_EVENT_COUNT + 1);
    bool bench = cb_event_is_bench(kind);
    struct cb_moment at = {.wall_ms = (int64_t)dice_below(dice, UINT64_C(4102444800000))};
    if (dice_below(dice, 3) > 0) {
        at.boot = dice_below(dice, 2) ? "boot-a" : name(dice, arena, "b");
        at.boot_ms = (int64_t)dice_below(dice, 1000000000);
    }
    struct cb_event_make make;
    cb_event_begin(&make, arena, kind, bench && dice_below(dice, 4) ? NULL : name(dice, arena, "u"),
                   &at);
    if (kind == CB_EVENT_UNKNOWN) {
        make.event.name = name(dice, arena, "odd_");
    }
    size_t count;
    const struct cb_event_field *schema = cb_event_schema(kind, &count);
    for (size_t i = 0; i < count; i++) {
        if (schema[i].required || dice_below(dice, 2)) {
            field(dice, &make, &schema[i]);
        }
    }
    for (uint64_t i = dice_below(dice, 3); i > 0 && make.event.attr_count < 12; i--) {
        make.attrs[make.event.attr_count++] = (struct cb_attr){.field = CB_FIELD_OTHER,
                                                               .type = CB_TYPE_RAW,
                                                               .name = name(dice, arena, "x"),
                                                               .s = raw(dice)};
    }
    if (with_id) {
        make.event.id = name(dice, arena, "i");
        if (dice_below(dice, 3) > 0) {
            make.event.press = dice_below(dice, 2) ? make.event.id : name(dice, arena, "p");
            make.event.machine = dice_below(dice, 2) ? "machine-a" : name(dice, arena, "m");
            make.event.seq = (int64_t)dice_below(dice, 1000000);
        }
    }
    return cb_event_take(&make);
}
