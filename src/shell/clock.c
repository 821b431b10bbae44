/* SPDX-License-Identifier: MIT */
#include "shell/clock.h"

#include <fcntl.h>
#include <math.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#define DAY_S   INT64_C(86400)
#define YEAR_S  (366 * DAY_S)
#define PROBE_S (7 * DAY_S) /* no zone has kept an offset for less since 1970; estimate */

static int64_t read_ms(clockid_t clock)
{
    struct timespec now;
    if (clock_gettime(clock, &now) != 0) {
        return 0;
    }
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

int64_t cb_clock_monotonic_ms(void)
{
    return read_ms(CLOCK_MONOTONIC);
}

int64_t cb_clock_boot_ms(void)
{
    return read_ms(CLOCK_BOOTTIME);
}

/* random(4), "boot_id": made once at each start of the kernel. */
static const char *boot_id(void)
{
    static char id[40];
    static bool asked;
    if (!asked) {
        asked = true;
        int fd = open("/proc/sys/kernel/random/boot_id", O_RDONLY | O_CLOEXEC);
        if (fd >= 0) {
            ssize_t got = read(fd, id, sizeof id - 1);
            id[got > 0 ? got : 0] = '\0';
            id[strspn(id, "0123456789abcdef-")] = '\0';
            close(fd);
        }
    }
    return id[0] ? id : NULL;
}

struct cb_moment cb_clock_now(void)
{
    struct cb_moment now = {.wall_ms = read_ms(CLOCK_REALTIME), .boot = boot_id()};
    now.boot_ms = now.boot ? cb_clock_boot_ms() : 0;
    return now;
}

static int64_t faster(int64_t from_ms, int64_t to_ms, double speed)
{
    return from_ms + (int64_t)floor((double)(to_ms - from_ms) * speed);
}

struct cb_moment cb_clock_faster(const struct cb_moment *start, double speed)
{
    struct cb_moment now = cb_clock_now();
    if (speed != 1) {
        now.wall_ms = faster(start->wall_ms, now.wall_ms, speed);
        now.boot_ms = faster(start->boot_ms, now.boot_ms, speed);
    }
    return now;
}

static int32_t offset_s(int64_t at_s)
{
    time_t at = (time_t)at_s;
    struct tm local;
    return localtime_r(&at, &local) ? (int32_t)local.tm_gmtoff : 0;
}

static void add_step(struct cb_zone *zone, int64_t from_s, int32_t offset)
{
    if (zone->count < sizeof zone->steps / sizeof *zone->steps) {
        zone->steps[zone->count].from_ms = from_s * 1000;
        zone->steps[zone->count].offset_s = offset;
        zone->count++;
    }
}

void cb_clock_zone(int64_t wall_ms, struct cb_zone *zone)
{
    *zone = (struct cb_zone){0};
    tzset();
    int64_t now_s = wall_ms / 1000;
    int64_t end_s = now_s + YEAR_S;
    int64_t at_s = now_s - 20 * YEAR_S;
    int32_t offset = offset_s(at_s);
    add_step(zone, at_s, offset);
    for (; at_s < end_s; at_s += PROBE_S) {
        int64_t low = at_s;
        int64_t high = at_s + PROBE_S;
        int32_t next = offset_s(high);
        if (next == offset) {
            continue;
        }
        while (high - low > 1) {
            int64_t middle = low + (high - low) / 2;
            if (offset_s(middle) == offset) {
                low = middle;
            } else {
                high = middle;
            }
        }
        add_step(zone, high, next);
        offset = next;
    }
}
