/* SPDX-License-Identifier: MIT */
/*
 * What a long evening costs in memory: the whole program on a fake clock, with a log in a file,
 * every screen drawn. idle HOURS   films of 40 min to a day are drying and fall due, nobody presses
 * a key press COUNT  coats, answers, undone presses, notes, added and spared coats, other views
 * Prints a line: how much of the heap is in use, less what SQLite has for itself (its cache grows
 * to 2 MB and no further), and what the process holds (proc(5), statm), in KiB, once warm and at
 * the end, and how many events came between.
 */
#include <malloc.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <sqlite3.h>

#include "app/app.h"
#include "app/key.h"
#include "base/time.h"
#include "command/rehearse.h"
#include "shell/paths.h"
#include "view/grid.h"

#define FIGURES    20
#define WARM_TURNS 150 /* presses before the first look: SQLite's cache and ours are full then */

struct bench {
    struct cb_arena arena;
    struct cb_store *store;
    struct cb_rehearse *rehearse;
    struct cb_config config;
    const struct cb_kinds *kinds;
    const struct cb_cues *cues;
    size_t events;
    uint64_t drawn;
};

struct use {
    double heap_kib, held_kib;
    size_t events;
};

static void saw(void *context, const struct cb_moment *now, const struct cb_effect *effect)
{
    struct bench *bench = context;
    (void)now;
    bench->events += effect->kind == CB_EFFECT_STORE ? effect->event_count : 0;
}

static struct use look(const struct bench *bench)
{
    struct use use = {.events = bench->events};
    malloc_trim(0);
    const struct mallinfo2 heap = mallinfo2();
    use.heap_kib = ((double)(heap.uordblks + heap.hblkhd) - (double)sqlite3_memory_used()) / 1024;
    FILE *file = fopen("/proc/self/statm", "r");
    long pages = 0;
    if (!file || fscanf(file, "%*d %ld", &pages) != 1) {
        exit(1);
    }
    fclose(file);
    use.held_kib = (double)pages * (double)sysconf(_SC_PAGESIZE) / 1024;
    return use;
}

static void draw(struct bench *bench)
{
    const uint64_t generation = cb_app_generation(cb_rehearse_app(bench->rehearse));
    if (generation != bench->drawn) {
        (void)cb_rehearse_grid(bench->rehearse);
        bench->drawn = generation;
    }
}

static void wait_s(struct bench *bench, int seconds, int step_s)
{
    for (int i = 0; i < seconds; i += step_s) {
        cb_rehearse_advance(bench->rehearse, step_s * INT64_C(1000));
        draw(bench);
    }
}

static void key(struct bench *bench, uint32_t code)
{
    cb_rehearse_feed(bench->rehearse, (struct cb_input){.kind = CB_INPUT_KEY, .key = code});
    draw(bench);
}

static void type(struct bench *bench, const char *text)
{
    for (; *text; text++) {
        key(bench, (uint32_t)*text);
    }
}

/* A stage for each figure in turn, so that rings come due all day; or coats without end. */
static char *recipe(struct bench *bench, bool idle)
{
    static const char *const areas[] = {"oilskin", "boots", "rope", "lantern"};
    char *text =
        cb_arena_text(&bench->arena, "coatbell: 1\nname: Night watch\nfigures: 20\npaints:\n"
                                     "  rope: {name: Tarred rope, kind: acrylic}\n"
                                     "  green: {name: Oilskin green, kind: acrylic}\n"
                                     "areas: {oilskin: {}, boots: {}, rope: {}, "
                                     "lantern: {}}\nstages:\n");
    for (int i = 0; i < FIGURES; i++) {
        text = cb_arena_printf(&bench->arena,
                               "%s  - {name: Stage %d, technique: basecoat, paint: %s, on: [%s], "
                               "coats: %d, minutes: 2, dry: %d min, after: []}\n",
                               text, i + 1, i % 2 ? "green" : "rope", areas[i % 4], idle ? 1 : 9,
                               idle ? 40 + 70 * i : 5);
    }
    return text;
}

static bool begin(struct bench *bench, const char *log, bool idle)
{
    struct cb_err err = {0};
    bench->config = cb_config_default;
    bench->config.ping = CB_PING_EVERY;
    struct cb_rehearse_setup setup = {
        .config = &bench->config, .rows = 40, .columns = 120, .saw = saw, .context = bench};
    if (cb_paths_kinds(&bench->arena, &bench->kinds, &err) == CB_OK &&
        cb_paths_cues(&bench->arena, false, bench->kinds, &bench->cues, &err) == CB_OK &&
        cb_store_open(log, CB_STORE_APPEND, &bench->store, &err) == CB_OK) {
        setup.kinds = bench->kinds;
        setup.cues = bench->cues;
        setup.store = bench->store;
        const struct cb_moment now = {.wall_ms = CB_REHEARSE_START_MS};
        if (cb_rehearse_new(&setup, now, &bench->rehearse, &err) == CB_OK &&
            cb_rehearse_begin(bench->rehearse, "Night watch", FIGURES, recipe(bench, idle), &err) ==
                CB_OK) {
            return true;
        }
    }
    fprintf(stderr, "%s\n", err.text);
    return false;
}

static struct use idle(struct bench *bench, int hours)
{
    for (int i = 0; i < FIGURES; i++) {
        key(bench, CB_KEY_SPACE);
        key(bench, CB_KEY_DOWN);
        wait_s(bench, 120, 1);
    }
    static const char *const views[] = {"bench", "rack", "road", "pots", "review", "glance"};
    for (size_t v = 0; v < sizeof views / sizeof *views; v++) {
        cb_rehearse_show(bench->rehearse, views[v]);
        wait_s(bench, 300, 10);
    }
    cb_rehearse_show(bench->rehearse, "bench");
    const struct use warm = look(bench);
    wait_s(bench, hours * 3600, 10);
    return warm;
}

static void press(struct bench *bench, int turn)
{
    static const uint32_t views[] = {CB_KEY_F1, CB_KEY_F1 + 1, CB_KEY_F1 + 2, CB_KEY_F1 + 3,
                                     CB_KEY_F1 + 4};
    key(bench, CB_KEY_F1);
    switch (turn % 16) {
    case 3:
        key(bench, 'u');
        break;
    case 4:
        key(bench, 'r');
        break;
    case 7:
        key(bench, turn % 32 < 16 ? 'd' : 'w');
        break;
    case 9:
        key(bench, '+');
        break;
    case 10:
        key(bench, '_');
        break;
    case 11:
        key(bench, 'n');
        type(bench, "the rope wants a darker wash");
        key(bench, CB_KEY_ENTER);
        break;
    case 12:
        key(bench, 'c');
        type(bench, turn % 32 < 16 ? "21 55" : "22 50");
        key(bench, CB_KEY_ENTER);
        break;
    case 13:
        key(bench, CB_KEY_DOWN);
        break;
    case 14:
        key(bench, views[turn / 16 % 5]);
        wait_s(bench, 2, 1);
        key(bench, CB_KEY_F1);
        break;
    default:
        key(bench, CB_KEY_SPACE);
        break;
    }
    wait_s(bench, 50, 10);
}

int main(int argc, char **argv)
{
    const bool is_idle = argc == 4 && strcmp(argv[1], "idle") == 0;
    const int count = argc == 4 ? (int)strtol(argv[2], NULL, 10) : 0;
    static struct bench bench;
    if (count < 1) {
        fprintf(stderr, "memory idle HOURS LOG, or memory press COUNT LOG\n");
        return 2;
    }
    if (!begin(&bench, argv[3], is_idle)) {
        return 1;
    }
    struct use before;
    if (is_idle) {
        before = idle(&bench, count);
    } else {
        for (int turn = 0; turn < WARM_TURNS; turn++) {
            press(&bench, turn);
        }
        before = look(&bench);
        for (int turn = 0; turn < count; turn++) {
            press(&bench, WARM_TURNS + turn);
        }
    }
    const struct use after = look(&bench);
    printf("heap %.0f %.0f held %.0f %.0f events %zu\n", before.heap_kib, after.heap_kib,
           before.held_kib, after.held_kib, after.events - before.events);
    cb_rehearse_free(bench.rehearse);
    cb_store_close(bench.store);
    cb_arena_fini(&bench.arena);
    return 0;
}
