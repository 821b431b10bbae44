/* SPDX-License-Identifier: MIT */
#include "shell/jsonl.h"

#include "shell/json_write.h"

static void write_pair(struct cb_json *json, const char *key, const char *text)
{
    if (text) {
        cb_json_text(json, key, text);
    }
}

static void write_films(struct cb_json *json, const char *key, const struct cb_attr *attr)
{
    cb_json_list(json, key);
    for (size_t i = 0; i < attr->n; i++) {
        cb_json_object(json, NULL);
        cb_json_integer(json, "figure", attr->films[i].figure);
        cb_json_integer(json, "stage", attr->films[i].stage);
        cb_json_integer(json, "coat", attr->films[i].coat);
        cb_json_end(json);
    }
    cb_json_end(json);
}

static void write_attrs(struct cb_json *json, const struct cb_event *event)
{
    for (size_t i = 0; i < event->attr_count; i++) {
        const struct cb_attr *attr = &event->attrs[i];
        const char *key = attr->field == CB_FIELD_OTHER ? attr->name : cb_field_name(attr->field);
        switch (attr->type) {
        case CB_TYPE_INT:
            cb_json_integer(json, key, attr->i);
            break;
        case CB_TYPE_NUMBER:
            cb_json_number(json, key, attr->d);
            break;
        case CB_TYPE_TEXT:
            cb_json_text(json, key, attr->s);
            break;
        case CB_TYPE_TIME:
            cb_json_time(json, key, attr->i);
            break;
        case CB_TYPE_BOOL:
            cb_json_bool(json, key, attr->i != 0);
            break;
        case CB_TYPE_FILMS:
            write_films(json, key, attr);
            break;
        case CB_TYPE_FIGURES:
            cb_json_list(json, key);
            for (size_t n = 0; n < attr->n; n++) {
                cb_json_integer(json, NULL, attr->figures[n]);
            }
            cb_json_end(json);
            break;
        case CB_TYPE_RAW:
            cb_json_raw(json, key, attr->s);
            break;
        }
    }
}

void cb_jsonl_encode(const struct cb_event *event, struct cb_str *out)
{
    struct cb_json *json = cb_json_new();
    write_pair(json, "id", event->id);
    cb_json_time(json, "at", event->at_ms);
    write_pair(json, "event", event->name);
    write_pair(json, "unit", event->unit);
    write_attrs(json, event);
    write_pair(json, "press", event->press);
    if (event->machine) {
        cb_json_text(json, "machine", event->machine);
        cb_json_integer(json, "seq", event->seq);
    }
    if (event->boot) {
        cb_json_text(json, "boot", event->boot);
        cb_json_integer(json, "boot_ms", event->boot_ms);
    }
    cb_json_take(json, out);
}

void cb_jsonl_encode_fields(const struct cb_event *event, struct cb_str *out)
{
    struct cb_json *json = cb_json_new();
    write_attrs(json, event);
    cb_json_take(json, out);
}
