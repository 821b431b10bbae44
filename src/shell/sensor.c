/* SPDX-License-Identifier: MIT */
#include "shell/sensor.h"

#include <dirent.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/str.h"
#include "base/utf8.h"
#include "base/vec.h"

#define TEXT_BYTES   64 /* of a name or a number; own judgement */
#define NAME_COLUMNS 30
#define DEVICES_MAX  256 /* looked at in one folder; own judgement */

/* Where devices lie, and what a value's files are called there. Units of both kinds: thousandths of
 * a degree C and of a percent. Linux, Documentation/ABI/testing/sysfs-bus-iio (in_temp_input,
 * in_temp_raw, in_humidityrelative_input, in_humidityrelative_raw), and
 * Documentation/hwmon/sysfs-interface.rst (temp1_input) with
 * Documentation/ABI/testing/sysfs-class-hwmon (humidity1_input). */
static const struct place {
    const char *folder, *temp, *humidity;
} places[] = {
    {"bus/iio/devices", "in_temp", "in_humidityrelative"},
    {"class/hwmon", "temp1", "humidity1"},
};

/* The first line of a small file, without what stands around it; false: it can't be read. */
static bool read_text(const char *folder, const char *name, const char *more, char out[TEXT_BYTES])
{
    struct cb_str path = {0};
    cb_str_addf(&path, "%s/%s%s", folder, name, more);
    const int fd = open(cb_str_text(&path), O_RDONLY | O_NONBLOCK | O_NOCTTY | O_CLOEXEC);
    cb_str_fini(&path);
    const ssize_t got = fd >= 0 ? read(fd, out, TEXT_BYTES - 1) : -1;
    if (fd >= 0) {
        close(fd);
    }
    out[got > 0 ? got : 0] = '\0';
    out[strcspn(out, "\r\n")] = '\0';
    return got > 0;
}

static bool read_number(const char *folder, const char *name, const char *more, double *value)
{
    char text[TEXT_BYTES];
    return read_text(folder, name, more, text) && cb_str_number(text, value);
}

/* Thousandths, as one unit. sysfs-bus-iio: what is raw is to be added to its offset first and
 * multiplied by its scale then; either may be missing. */
static bool read_value(const char *folder, const char *name, double *value)
{
    double scale = 1, offset = 0;
    if (!read_number(folder, name, "_input", value)) {
        if (!read_number(folder, name, "_raw", value)) {
            return false;
        }
        (void)read_number(folder, name, "_offset", &offset);
        (void)read_number(folder, name, "_scale", &scale);
        *value = (*value + offset) * scale;
    }
    *value /= 1000;
    return true;
}

struct found {
    struct cb_sensor_reading reading;
    const char *folder;
};
struct found_list {
    CB_VEC(struct found) found;
};

static int by_name(const void *a, const void *b)
{
    const struct found *one = a, *other = b;
    const int names = strcmp(one->reading.name, other->reading.name);
    return names != 0 ? names : strcmp(one->folder, other->folder);
}

static void look_at(const char *folder, const struct place *place, struct cb_arena *arena,
                    struct found_list *list)
{
    char name[TEXT_BYTES];
    struct found found = {.folder = cb_arena_text(arena, folder)};
    if (read_text(folder, "name", "", name) &&
        read_value(folder, place->temp, &found.reading.temp_c) &&
        read_value(folder, place->humidity, &found.reading.rh_pct)) {
        found.reading.name = cb_utf8_clean(arena, name, NAME_COLUMNS);
        cb_vec_push(&list->found, found);
    }
}

const struct cb_sensor_reading *cb_sensor_list(const char *root, struct cb_arena *arena,
                                               size_t *count)
{
    struct found_list list = {0};
    for (size_t i = 0; i < sizeof places / sizeof *places; i++) {
        const char *folder = cb_arena_printf(arena, "%s/%s", root, places[i].folder);
        DIR *dir = opendir(folder);
        const struct dirent *entry;
        for (int seen = 0; dir && seen < DEVICES_MAX && (entry = readdir(dir)) != NULL; seen++) {
            if (entry->d_name[0] != '.') {
                look_at(cb_arena_printf(arena, "%s/%s", folder, entry->d_name), &places[i], arena,
                        &list);
            }
        }
        if (dir) {
            closedir(dir);
        }
    }
    if (list.found.count > 0) {
        qsort(list.found.items, list.found.count, sizeof *list.found.items, by_name);
    }
    *count = list.found.count;
    struct cb_sensor_reading *readings = cb_arena_alloc(arena, *count + 1, sizeof *readings);
    for (size_t i = 0; i < *count; i++) {
        readings[i] = list.found.items[i].reading;
    }
    cb_vec_free(&list.found);
    return readings;
}

enum cb_status cb_sensor_read(const char *root, const char *name, struct cb_arena *arena,
                              struct cb_sensor_reading *reading, struct cb_err *err)
{
    size_t count;
    const struct cb_sensor_reading *all = cb_sensor_list(root, arena, &count);
    const bool any = strcmp(name, CB_SENSOR_ANY) == 0;
    for (size_t i = 0; i < count; i++) {
        if (any || strcmp(all[i].name, name) == 0) {
            *reading = all[i];
            return CB_OK;
        }
    }
    return any ? cb_err_set(err, CB_FAILED, "no device here gives temperature and humidity")
               : cb_err_set(err, CB_FAILED,
                            "no such sensor: %.60s; `coatbell sensor --all` lists those there are",
                            name);
}

char *cb_sensor_line(const struct cb_sensor_reading *reading, struct cb_arena *arena)
{
    return cb_arena_printf(arena, "%.1fC %.1f%%", reading->temp_c, reading->rh_pct);
}
