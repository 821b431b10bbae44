/* SPDX-License-Identifier: MIT */
#include "shell/jsonl.h"

#include "base/time.h"
#include "shell/json_write.h"

static void write_key(struct cb_str *out, const char *key)
{
    if (out->length > 0 && out->text[out->length - 1] != '{') {
        cb_str_add_n(out, ",", 1);
    }
    cb_json_write_text(out, key);
    cb_str_add_n(out, ":", 1);
}

static void write_pair(struct cb_str *out, const char *key, const char *text)
{
    if (text) {
        write_key(out, key);
        cb_json_write_text(out, text);
    }
}

static void write_integer(struct cb_str *out, const char *key, int64_t value)
{
    write_key(out, key);
    cb_str_addf(out, "%lld", (long long)value);
}

static void write_attr(struct cb_str *out, const struct cb_attr *attr)
{
    char time[CB_RFC3339_SIZE];
    write_key(out, attr->field == CB_FIELD_OTHER ? attr->name : cb_field_name(attr->field));
    switch (attr->type) {
    case CB_TYPE_INT:
        cb_str_addf(out, "%lld", (long long)attr->i);
        break;
    case CB_TYPE_NUMBER:
        cb_json_write_number(out, attr->d);
        break;
    case CB_TYPE_TEXT:
        cb_json_write_text(out, attr->s);
        break;
    case CB_TYPE_TIME:
        cb_time_format(attr->i, time);
        cb_json_write_text(out, time);
        break;
    case CB_TYPE_FILMS:
        cb_str_add(out, "[");
        for (size_t i = 0; i < attr->n; i++) {
            cb_str_addf(out, "%s{\"figure\":%d,\"stage\":%d,\"coat\":%d}", i ? "," : "",
                        attr->films[i].figure, attr->films[i].stage, attr->films[i].coat);
        }
        cb_str_add(out, "]");
        break;
    case CB_TYPE_FIGURES:
        cb_str_add(out, "[");
        for (size_t i = 0; i < attr->n; i++) {
            cb_str_addf(out, "%s%d", i ? "," : "", attr->figures[i]);
        }
        cb_str_add(out, "]");
        break;
    case CB_TYPE_RAW:
        cb_str_add(out, attr->s);
        break;
    }
}

void cb_jsonl_encode(const struct cb_event *event, struct cb_str *out)
{
    struct cb_str line = {0};
    char time[CB_RFC3339_SIZE];
    cb_str_add(&line, "{");
    write_pair(&line, "id", event->id);
    cb_time_format(event->at_ms, time);
    write_pair(&line, "at", time);
    write_pair(&line, "event", event->name);
    write_pair(&line, "unit", event->unit);
    for (size_t i = 0; i < event->attr_count; i++) {
        write_attr(&line, &event->attrs[i]);
    }
    write_pair(&line, "press", event->press);
    if (event->machine) {
        write_pair(&line, "machine", event->machine);
        write_integer(&line, "seq", event->seq);
    }
    if (event->boot) {
        write_pair(&line, "boot", event->boot);
        write_integer(&line, "boot_ms", event->boot_ms);
    }
    cb_str_add(&line, "}");
    cb_str_add_n(out, line.text, line.length);
    cb_str_fini(&line);
}

void cb_jsonl_encode_fields(const struct cb_event *event, struct cb_str *out)
{
    struct cb_str line = {0};
    cb_str_add(&line, "{");
    for (size_t i = 0; i < event->attr_count; i++) {
        write_attr(&line, &event->attrs[i]);
    }
    cb_str_add(&line, "}");
    cb_str_add_n(out, line.text, line.length);
    cb_str_fini(&line);
}
