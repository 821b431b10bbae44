/* SPDX-License-Identifier: MIT */
#include "shell/csv.h"

#include <stdbool.h>
#include <string.h>

#include "base/time.h"
#include "base/utf8.h"
#include "shell/json_write.h"
#include "shell/jsonl.h"

/* Spreadsheets skip these before they look for a formula: the blanks of Unicode (category Zs) and
 * what has no width or steers. */
static bool is_blank(uint32_t cp)
{
    return cp == ' ' || cp == 0xa0 || cp == 0x1680 || (cp >= 0x2000 && cp <= 0x200a) ||
           cp == 0x202f || cp == 0x205f || cp == 0x3000 || (cp != 0 && !cb_utf8_is_safe(cp));
}

/* OWASP, "CSV Injection": these begin a formula, in their fullwidth form too. */
static bool is_formula(const char *text)
{
    uint32_t cp;
    do {
        cp = cb_utf8_next(&text);
    } while (is_blank(cp));
    switch (cp) {
    case '=':
    case '+':
    case '-':
    case '@':
    case 0xff1d:
    case 0xff0b:
    case 0xff0d:
    case 0xff20:
        return true;
    default:
        return false;
    }
}

void cb_csv_cell(struct cb_str *out, const char *text)
{
    if (text == NULL) {
        return;
    }
    const bool formula = is_formula(text);
    const bool quoted = formula || strpbrk(text, ",\"\r\n") != NULL;
    cb_str_add(out, formula ? "\"'" : quoted ? "\"" : "");
    while (*text) {
        char bytes[5];
        uint32_t cp = cb_utf8_next(&text);
        if (cp == '"') {
            cb_str_add_n(out, "\"\"", 2);
        } else {
            size_t length = cb_utf8_write(cp == '\n' || cb_utf8_is_safe(cp) ? cp : '?', bytes);
            cb_str_add_n(out, bytes, length);
        }
    }
    cb_str_add(out, quoted ? "\"" : "");
}

static void add_attr(struct cb_str *out, const struct cb_attr *attr)
{
    char time[CB_RFC3339_SIZE];
    switch (attr->type) {
    case CB_TYPE_INT:
        cb_str_addf(out, "%lld", (long long)attr->i);
        break;
    case CB_TYPE_NUMBER:
        cb_json_write_number(out, attr->d);
        break;
    case CB_TYPE_TEXT:
    case CB_TYPE_RAW:
        cb_csv_cell(out, attr->s);
        break;
    case CB_TYPE_TIME:
        cb_time_format(attr->i, time);
        cb_str_add(out, time);
        break;
    case CB_TYPE_BOOL:
        cb_str_add(out, attr->i ? "true" : "false");
        break;
    case CB_TYPE_FILMS: /* figure/stage/coat, blanks between */
        for (size_t i = 0; i < attr->n; i++) {
            cb_str_addf(out, "%s%d/%d/%d", i ? " " : "", attr->films[i].figure,
                        attr->films[i].stage, attr->films[i].coat);
        }
        break;
    case CB_TYPE_FIGURES:
        for (size_t i = 0; i < attr->n; i++) {
            cb_str_addf(out, "%s%d", i ? " " : "", attr->figures[i]);
        }
        break;
    }
}

void cb_csv_event_head(struct cb_str *out)
{
    cb_str_add(out, "id,at,event,unit");
    for (int field = 0; field < CB_FIELD_COUNT; field++) {
        cb_str_addf(out, ",%s", cb_field_name((enum cb_field)field));
    }
    cb_str_add(out, ",other,press,machine,seq,boot,boot_ms\r\n");
}

static void add_cell(struct cb_str *out, const char *text)
{
    cb_str_add(out, ",");
    cb_csv_cell(out, text);
}

/* The unknown fields, as one JSON object. */
static void add_other(struct cb_str *out, const struct cb_event *event)
{
    struct cb_event rest = *event;
    struct cb_attr attrs[CB_EVENT_ATTRS_MAX + 24];
    rest.attrs = attrs;
    rest.attr_count = 0;
    for (size_t i = 0; i < event->attr_count; i++) {
        if (event->attrs[i].field == CB_FIELD_OTHER &&
            rest.attr_count < sizeof attrs / sizeof *attrs) {
            attrs[rest.attr_count++] = event->attrs[i];
        }
    }
    struct cb_str json = {0};
    if (rest.attr_count > 0) {
        cb_jsonl_encode_fields(&rest, &json);
    }
    add_cell(out, json.text);
    cb_str_fini(&json);
}

static void add_pair(struct cb_str *out, const char *text, int64_t number)
{
    add_cell(out, text);
    cb_str_add(out, ",");
    if (text) {
        cb_str_addf(out, "%lld", (long long)number);
    }
}

void cb_csv_event(struct cb_str *out, const struct cb_event *event)
{
    char time[CB_RFC3339_SIZE];
    cb_time_format(event->at_ms, time);
    cb_csv_cell(out, event->id);
    add_cell(out, time);
    add_cell(out, event->name);
    add_cell(out, event->unit);
    for (int field = 0; field < CB_FIELD_COUNT; field++) {
        const struct cb_attr *attr = cb_event_get(event, (enum cb_field)field);
        cb_str_add(out, ",");
        if (attr) {
            add_attr(out, attr);
        }
    }
    add_other(out, event);
    add_cell(out, event->press);
    add_pair(out, event->machine, event->seq);
    add_pair(out, event->boot, event->boot_ms);
    cb_str_add(out, "\r\n");
}
