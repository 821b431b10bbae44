/* SPDX-License-Identifier: MIT */
/* A month at the bench, lived through the app with a log on the disk: sessions of keys at random,
 * some killed in the middle, undo, resizes, the room's air, sleep, reboots, clocks that are set,
 * units begun and finished beside it, and what another machine wrote, taken in now and then. At the
 * end the check finds nothing to mend, every press that was acknowledged is there, and the parts of
 * each review add up. Arguments: how many months (default 1), the first seed. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <fcntl.h>
#include <ftw.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#include "app/app.h"
#include "app/key.h"
#include "base/index.h"
#include "base/str.h"
#include "core/bench/doubts.h"
#include "shell/history.h"
#include "shell/keeper.h"
#include "shell/paths.h"
#include "shell/store.h"
#include "shell/store_check.h"
#include "shell/transfer.h"
#include "shell/yaml.h"
#include "support/events.h"
#include "view/screen.h"

#define MINUTE_MS INT64_C(60000)
#define HOUR_MS   (60 * MINUTE_MS)
#define DAY_MS    (24 * HOUR_MS)
enum { DAYS = 30, KEYS = 90, UNITS_MAX = 64 };
static int months = 1;
static uint64_t first_seed = 1;

static const char recipe[] =
    "coatbell: 1\n"
    "name: Sea wall\n"
    "figures: 4\n"
    "paints:\n"
    "  grey: {name: Eel grey, kind: acrylic}\n"
    "  green: {name: Oilskin green, kind: acrylic}\n"
    "  rope: {name: Tarred rope, kind: acrylic}\n"
    "  ebb: {name: Ebb wash, kind: wash}\n"
    "areas: {oilskin: {}, rope: {beside: [oilskin]}, base: {}}\n"
    "stages:\n"
    "  - {name: Undercoat, technique: undercoat, paint: grey, by: brush, minutes: 2}\n"
    "  - {name: Oilskins, technique: basecoat, paint: green, on: [oilskin], coats: 2}\n"
    "  - {name: Ropes, technique: basecoat, paint: rope, on: [rope], minutes: 2}\n"
    "  - {name: Recesses, technique: wash, paint: ebb, on: [oilskin, rope], minutes: 1}\n"
    "  - {name: Bases, technique: basecoat, paint: rope, on: [base], after: [], minutes: 1}\n";

static char folder[64];
static struct cb_arena session;
static const struct cb_kinds *kinds;
static const struct cb_config *config;
static const struct cb_zone utc;

/* What outlives a killed session: shared with its process. */
struct world {
    struct dice dice;
    int64_t lived_ms, wall_ms, boot_ms;
    int boot, sessions, killed, keys, presses, events, imports, backups;
};

struct log {
    char path[96], acks[96]; /* acks: an id a line, of what was acknowledged */
    const char *name;
    int64_t skew_ms; /* of its clock */
    int units;
    struct {
        char id[32];
        int64_t begun_ms;
        bool finished;
    } unit[UNITS_MAX];
};

static int remove_one(const char *name, const struct stat *status, int type, struct FTW *walk)
{
    (void)status;
    (void)type;
    (void)walk;
    return remove(name);
}

static int64_t draw(struct world *world, int64_t below)
{
    return (int64_t)dice_below(&world->dice, (uint64_t)below);
}

static void pass(struct world *world, int64_t ms)
{
    world->lived_ms += ms;
    world->wall_ms += ms;
    world->boot_ms += ms;
}

static struct cb_moment moment(const struct world *world, const struct log *log)
{
    static char boot[32];
    snprintf(boot, sizeof boot, "boot-%s-%d", log->name, world->boot);
    return (struct cb_moment){world->wall_ms + log->skew_ms, world->boot_ms, boot};
}

static struct cb_store *open_log(const struct log *log)
{
    struct cb_store *store = NULL;
    struct cb_err err = {0};
    if (cb_store_open(log->path, CB_STORE_APPEND, &store, &err) != CB_OK) {
        fail_msg("%s", err.text);
    }
    return store;
}

/* What the append acknowledged, so that whoever looks later knows. */
static void acknowledge(const struct log *log, const struct cb_event *const *stored, size_t count)
{
    const int fd = open(log->acks, O_WRONLY | O_CREAT | O_APPEND, 0600);
    for (size_t i = 0; i < count; i++) {
        char line[80];
        const int length = snprintf(line, sizeof line, "%s\n", stored[i]->id);
        if (write(fd, line, (size_t)length) != length) {
            _exit(3);
        }
    }
    close(fd);
}

/* ---- a session ---- */

struct sitting {
    struct world *world;
    const struct log *log;
    struct cb_store *store;
    struct cb_app *app;
    struct cb_grid grid;
    struct cb_keeper keeper;
    struct cb_arena arena;
    bool quit;
};

static void feed(struct sitting *sitting, struct cb_input input);

static void feed_history(struct sitting *sitting)
{
    struct cb_history *history;
    struct cb_taught taught = {0};
    if (cb_history_open(sitting->store, kinds, &history, NULL) != CB_OK) {
        _exit(4);
    }
    (void)cb_history_taught(history, &taught, NULL);
    feed(sitting, (struct cb_input){.kind = CB_INPUT_HISTORY, .taught = &taught});
    cb_taught_fini(&taught);
    cb_history_close(history);
}

static struct cb_input store_events(struct sitting *sitting, const struct cb_effect *effect)
{
    const struct cb_event **stored;
    struct cb_err err = {0};
    if (cb_store_append(sitting->store, effect->events, effect->event_count, &sitting->arena,
                        &stored, &err) != CB_OK) {
        fprintf(stderr, "%s\n", err.text);
        _exit(5);
    }
    acknowledge(sitting->log, stored, effect->event_count);
    sitting->world->presses++;
    sitting->world->events += (int)effect->event_count;
    return (struct cb_input){.kind = CB_INPUT_STORED,
                             .events = (const struct cb_event *const *)stored,
                             .event_count = effect->event_count};
}

static void feed(struct sitting *sitting, struct cb_input input)
{
    static const struct cb_app_recipe offered = {
        .path = "wall.yaml", .name = "Sea wall", .text = recipe, .figures = 4};
    struct cb_input next[32]; /* what effects point to lives until the next step */
    size_t count = 0;
    bool history = false;
    input.now = moment(sitting->world, sitting->log);
    const struct cb_effects effects = cb_app_step(sitting->app, &input);
    for (size_t i = 0; i < effects.count && count < 32; i++) {
        const struct cb_effect *effect = &effects.items[i];
        if (effect->kind == CB_EFFECT_STORE) {
            next[count++] = store_events(sitting, effect);
        } else if (effect->kind == CB_EFFECT_LIST_RECIPES || effect->kind == CB_EFFECT_RELOAD) {
            next[count++] =
                (struct cb_input){.kind = CB_INPUT_RECIPES, .recipes = &offered, .recipe_count = 1};
        }
        history = history || effect->kind == CB_EFFECT_HISTORY;
        sitting->quit = sitting->quit || effect->kind == CB_EFFECT_QUIT;
    }
    for (size_t i = 0; i < count; i++) {
        feed(sitting, next[i]);
    }
    if (history) {
        feed_history(sitting);
    }
}

static void key(struct sitting *sitting, const char *name)
{
    struct cb_input input = {.kind = CB_INPUT_KEY};
    if (cb_key_from_name(name, &input.key)) {
        feed(sitting, input);
        sitting->world->keys++;
    }
}

static void type(struct sitting *sitting, const char *text)
{
    for (; *text; text++) {
        feed(sitting, (struct cb_input){.kind = CB_INPUT_KEY, .key = (unsigned char)*text});
    }
}

static void some_key(struct sitting *sitting)
{
    static const char *const keys[] = {
        "SPACE", "SPACE", "SPACE", "SPACE", "SPACE", "SPACE", "SPACE", "SPACE", "SPACE",
        "SPACE", "a",     "a",     "d",     "d",     "w",     "l",     "t",     "h",
        "+",     "_",     "x",     "k",     "p",     "s",     "u",     "u",     "BACKSPACE",
        "r",     "LEFT",  "RIGHT", "UP",    "DOWN",  "TAB",   "F1",    "F2",    "F3",
        "F4",    "F5",    "g",     "ESC",   "ENTER", "O",     "N",     "1",     "2",
        "4",     "-",     "?",     "m",     "e",     "f",
    };
    struct world *world = sitting->world;
    const int64_t what = draw(world, 40);
    char text[32];
    if (what == 0) {
        key(sitting, "c");
        snprintf(text, sizeof text, "%d.5 %d", 12 + (int)draw(world, 14),
                 35 + (int)draw(world, 50));
        type(sitting, text);
        key(sitting, "ENTER");
    } else if (what == 1) {
        key(sitting, "f");
        key(sitting, "ENTER");
    } else if (what == 2) {
        snprintf(text, sizeof text, "%c", (char)(' ' + draw(world, 95)));
        type(sitting, text);
    } else {
        key(sitting, keys[draw(world, sizeof keys / sizeof *keys)]);
    }
}

static void resize(struct sitting *sitting)
{
    feed(sitting, (struct cb_input){.kind = CB_INPUT_SIZE,
                                    .rows = 1 + (int)draw(sitting->world, 60),
                                    .columns = 1 + (int)draw(sitting->world, 200)});
}

static void go_on(struct sitting *sitting)
{
    struct world *world = sitting->world;
    pass(world, draw(world, 3 * MINUTE_MS));
    if (draw(world, 25) == 0) {
        pass(world, draw(world, 90 * MINUTE_MS)); /* asleep, or away */
    }
    if (draw(world, 80) == 0) {
        world->wall_ms += draw(world, 4 * HOUR_MS) - 2 * HOUR_MS; /* the clock is set */
    }
    feed(sitting, (struct cb_input){.kind = CB_INPUT_TIME});
    if (draw(world, 12) == 0) {
        resize(sitting);
    }
    cb_screen_draw(sitting->app, &sitting->grid);
    for (int i = 0; i < 3 && cb_app_has_idle_work(sitting->app); i++) {
        feed(sitting, (struct cb_input){.kind = CB_INPUT_IDLE});
    }
    if (cb_keeper_is_due(&sitting->keeper, world->wall_ms)) {
        const bool begun = sitting->keeper.backup != NULL;
        (void)cb_keeper_step(&sitting->keeper, world->wall_ms, &sitting->arena);
        world->backups += begun && sitting->keeper.backup == NULL;
    }
}

static void begin_app(struct sitting *sitting)
{
    const struct cb_store_filter open_units = {.open_units = true};
    const struct cb_event **events;
    size_t count;
    if (cb_store_load(sitting->store, &open_units, &sitting->arena, &events, &count, NULL, NULL) !=
        CB_OK) {
        _exit(6);
    }
    const struct cb_app_setup setup = {
        .views = cb_screens,
        .kinds = kinds,
        .config = config,
        .read = cb_yaml_read,
        .rows = 24,
        .columns = 80,
        .writer = true,
        .machine = cb_store_machine(sitting->store),
        .version = "test",
        .ping_seed = 1,
        .history_due = true,
    };
    cb_grid_init(&sitting->grid, 24, 80);
    sitting->app = cb_app_new(&setup, moment(sitting->world, sitting->log));
    feed(sitting, (struct cb_input){.kind = CB_INPUT_EVENTS,
                                    .events = (const struct cb_event *const *)events,
                                    .event_count = count});
    feed(sitting, (struct cb_input){.kind = CB_INPUT_TIME});
    feed_history(sitting);
}

/* In a process of its own, which may be killed. */
static void sit(struct world *world, const struct log *log, int keys, bool to_be_killed)
{
    struct sitting sitting = {.world = world, .log = log};
    if (cb_store_open(log->path, CB_STORE_APPEND, &sitting.store, NULL) != CB_OK ||
        cb_store_lock(sitting.store, NULL) != CB_OK) {
        _exit(7);
    }
    sitting.keeper = (struct cb_keeper){.store = sitting.store, .zone = &utc};
    begin_app(&sitting);
    for (int i = 0; i < keys && !sitting.quit; i++) {
        go_on(&sitting);
        some_key(&sitting);
    }
    if (to_be_killed) {
        raise(SIGKILL);
    }
    feed(&sitting, (struct cb_input){.kind = CB_INPUT_CLOSE});
    cb_keeper_fini(&sitting.keeper);
    cb_app_free(sitting.app);
    cb_grid_fini(&sitting.grid);
    cb_store_close(sitting.store);
    cb_arena_fini(&sitting.arena);
    _exit(sitting.quit ? 0 : 8);
}

static void session_of(struct world *world, const struct log *log)
{
    const bool to_be_killed = draw(world, 3) == 0;
    const int keys = 20 + (int)draw(world, KEYS);
    int status = 0;
    fflush(NULL);
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        sit(world, log, keys, to_be_killed);
    }
    assert_int_equal(waitpid(child, &status, 0), child);
    const bool killed = WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL;
    if (!killed && !(WIFEXITED(status) && WEXITSTATUS(status) == 0)) {
        fail_msg("a session ended with %#x", (unsigned)status);
    }
    world->sessions++;
    world->killed += killed;
    if (draw(world, 2) == 0) { /* switched off */
        world->boot++;
        world->boot_ms = draw(world, 100000);
    }
}

/* ---- beside it ---- */

static void append(struct world *world, struct log *log, struct cb_event_make *make)
{
    struct cb_store *store = open_log(log);
    struct cb_arena arena = {0};
    const struct cb_event *event = cb_event_take(make);
    const struct cb_event **stored;
    assert_int_equal(cb_store_append(store, &event, 1, &arena, &stored, NULL), CB_OK);
    acknowledge(log, stored, 1);
    world->events++;
    cb_arena_fini(&arena);
    cb_store_close(store);
}

static void begin_unit(struct world *world, struct log *log)
{
    struct cb_event_make make;
    const struct cb_moment at = moment(world, log);
    const int n = log->units++;
    assert_true(n < UNITS_MAX);
    snprintf(log->unit[n].id, sizeof log->unit[n].id, "unit-%s-%d", log->name, n);
    log->unit[n].begun_ms = world->lived_ms;
    cb_event_begin(&make, &session, CB_EVENT_UNIT_BEGUN, log->unit[n].id, &at);
    cb_event_add_text(&make, CB_FIELD_NAME, log->unit[n].id);
    cb_event_add_int(&make, CB_FIELD_FIGURES, 2 + draw(world, 5));
    cb_event_add_text(&make, CB_FIELD_RECIPE, recipe);
    append(world, log, &make);
}

static void finish_units(struct world *world, struct log *log)
{
    for (int i = 0; i < log->units; i++) {
        if (!log->unit[i].finished && world->lived_ms - log->unit[i].begun_ms > 5 * DAY_MS) {
            struct cb_event_make make;
            const struct cb_moment at = moment(world, log);
            log->unit[i].finished = true;
            cb_event_begin(&make, &session, CB_EVENT_UNIT_FINISHED, log->unit[i].id, &at);
            append(world, log, &make);
            begin_unit(world, log);
        }
    }
}

static bool add_text(void *context, const char *bytes, size_t length)
{
    cb_str_add_n(context, bytes, length);
    return true;
}

static void export_to(const struct log *log, struct cb_str *lines)
{
    struct cb_arena arena = {0};
    struct cb_transfer_left left = {0};
    size_t count = 0;
    struct cb_store *store = open_log(log);
    assert_int_equal(
        cb_transfer_out(store, CB_TRANSFER_JSONL, add_text, lines, &arena, &count, &left, NULL),
        CB_OK);
    assert_int_equal(left.count, 0);
    cb_store_close(store);
    cb_arena_fini(&arena);
}

static void take_in(struct world *world, const struct log *from, const struct log *into)
{
    struct cb_str lines = {0};
    struct cb_arena arena = {0};
    struct cb_transfer_taken taken = {0};
    export_to(from, &lines);
    struct cb_transfer_text text = {cb_str_text(&lines), lines.length};
    const struct cb_transfer_in in = {
        .read = cb_transfer_read_text, .context = &text, .strict = true};
    struct cb_store *store = open_log(into);
    struct cb_err err = {0};
    if (cb_transfer_in(store, &in, &arena, &taken, &err) != CB_OK) {
        fail_msg("%s", err.text);
    }
    cb_store_close(store);
    world->imports += taken.added > 0;
    cb_arena_fini(&arena);
    cb_str_fini(&lines);
}

/* ---- at the end ---- */

static bool index_id(void *context, const struct cb_event *event)
{
    cb_index_set(context, event->id, 1);
    return true;
}

static void all_acknowledged_are_there(const struct log *log, struct cb_store *store, uint64_t seed)
{
    struct cb_index *there = cb_index_new();
    char line[80];
    FILE *acks = fopen(log->acks, "r");
    assert_non_null(acks);
    assert_int_equal(cb_store_each(store, NULL, index_id, there, NULL), CB_OK);
    while (fgets(line, sizeof line, acks)) {
        size_t ignored;
        line[strcspn(line, "\n")] = '\0';
        if (!cb_index_get(there, line, &ignored)) {
            fail_msg("seed %llu: event %s was acknowledged, and is lost", (unsigned long long)seed,
                     line);
        }
    }
    fclose(acks);
    cb_index_free(there);
}

static void parts_add_up(const struct cb_review *review, uint64_t seed)
{
    int64_t sum_ms = 0, sessions_ms[CB_SPENT_COUNT] = {0};
    for (int i = 0; i < CB_SPENT_COUNT; i++) {
        sum_ms += review->spent_ms[i];
        for (size_t s = 0; s < review->session_count; s++) {
            sessions_ms[i] += review->sessions[s].spent_ms[i];
        }
        if (sessions_ms[i] != review->spent_ms[i]) {
            fail_msg("seed %llu: %s: the sessions' parts are not the unit's",
                     (unsigned long long)seed, review->unit);
        }
    }
    if (sum_ms != review->session_ms) {
        fail_msg("seed %llu: %s: %lld ms of parts, %lld of sessions", (unsigned long long)seed,
                 review->unit, (long long)sum_ms, (long long)review->session_ms);
    }
}

/* doubts: events without meaning. Where two benches paint the same unit, or one takes back its
 * beginning, there are such. */
struct judged {
    int finished, open, doubts;
    int64_t hours;
};

static void look_at_fold(struct cb_store *store, const struct world *world, bool merged,
                         uint64_t seed, struct judged *judged)
{
    struct cb_arena arena = {0};
    struct cb_doubts doubts;
    const struct cb_event **events;
    size_t count;
    struct cb_bench *bench = cb_bench_new(kinds, cb_yaml_read);
    cb_bench_own(bench, cb_store_machine(store));
    cb_bench_watch_doubts(bench);
    assert_int_equal(cb_store_load(store, NULL, &arena, &events, &count, NULL, NULL), CB_OK);
    cb_bench_add(bench, events, count);
    for (size_t i = 0; i < cb_bench_unit_count(bench); i++) {
        const struct cb_review *review = cb_review_unit(bench, i, CB_TIME_NONE, &arena);
        parts_add_up(review, seed);
        judged->open += !review->finished;
        judged->hours += review->session_ms / HOUR_MS;
    }
    cb_bench_doubts(bench, world->wall_ms + DAY_MS, &doubts);
    for (int kind = CB_DOUBT_NO_UNIT; kind <= CB_DOUBT_NO_TARGET; kind++) {
        judged->doubts += (int)doubts.of[kind].count;
        if (doubts.of[kind].count > 0 && kind != CB_DOUBT_NO_UNIT && !merged) {
            fail_msg("seed %llu: %zu events of doubt %d, the first %s", (unsigned long long)seed,
                     doubts.of[kind].count, kind, doubts.of[kind].first->name);
        }
    }
    cb_bench_free(bench);
    cb_arena_fini(&arena);
}

static void judge(const struct log *log, const struct world *world, bool merged, uint64_t seed,
                  struct judged *judged)
{
    struct cb_arena arena = {0};
    struct cb_flaws flaws = {0};
    struct cb_err err = {0};
    struct cb_history *history;
    struct cb_taught taught = {0};
    size_t count;
    if (cb_store_check(log->path, &arena, &flaws, &err) != CB_OK) {
        fail_msg("seed %llu: %s", (unsigned long long)seed, err.text);
    }
    struct cb_store *store = open_log(log);
    assert_int_equal(cb_history_open(store, kinds, &history, &err), CB_OK);
    cb_store_check_kept(history, &arena, &flaws); /* as the evenings left it */
    assert_int_equal(cb_history_taught(history, &taught, &err), CB_OK);
    cb_taught_fini(&taught);
    cb_store_check_kept(history, &arena, &flaws); /* and all of it */
    if (cb_flaws_to_mend(&flaws) > 0) {
        fail_msg("seed %llu: to mend: %s", (unsigned long long)seed, flaws.list.items[0].text);
    }
    const struct cb_store_unit *units = cb_history_units(history, &count);
    for (size_t i = 0; i < count; i++) {
        const struct cb_review *review;
        if (units[i].finished) {
            assert_int_equal(cb_history_review(history, &units[i], &arena, &review, &err), CB_OK);
            parts_add_up(review, seed);
            judged->finished++;
        }
    }
    all_acknowledged_are_there(log, store, seed);
    look_at_fold(store, world, merged, seed, judged);
    cb_history_close(history);
    cb_store_close(store);
    cb_flaws_fini(&flaws);
    cb_arena_fini(&arena);
}

static void live_a_month(uint64_t seed)
{
    struct world *world =
        mmap(NULL, sizeof *world, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    assert_true(world != MAP_FAILED);
    *world = (struct world){.dice = {seed * 7919}, .wall_ms = 20000 * DAY_MS, .boot_ms = 5000};
    struct log home = {.name = "home"};
    struct log away = {.name = "away", .skew_ms = 90000};
    struct judged judged = {0};
    snprintf(home.path, sizeof home.path, "%s/home-%llu.db", folder, (unsigned long long)seed);
    snprintf(home.acks, sizeof home.acks, "%s/home-%llu.acks", folder, (unsigned long long)seed);
    snprintf(away.path, sizeof away.path, "%s/away-%llu.db", folder, (unsigned long long)seed);
    snprintf(away.acks, sizeof away.acks, "%s/away-%llu.acks", folder, (unsigned long long)seed);
    begin_unit(world, &home);
    begin_unit(world, &away);
    while (world->lived_ms < DAYS * DAY_MS) {
        session_of(world, &home);
        if (draw(world, 3) == 0) {
            pass(world, draw(world, 6 * HOUR_MS));
            session_of(world, &away);
            take_in(world, &away, &home);
        }
        pass(world, 12 * HOUR_MS + draw(world, 40 * HOUR_MS));
        finish_units(world, &home);
        finish_units(world, &away);
    }
    take_in(world, &away, &home);
    judge(&home, world, true, seed, &judged);
    judge(&away, world, false, seed, &judged);
    print_message("seed %llu: %d sessions, %d killed, %d keys, %d presses of %d events, %d imports,"
                  " %d backups; %d units finished, %d open, %lld h; nothing to mend, %d events "
                  "without meaning\n",
                  (unsigned long long)seed, world->sessions, world->killed, world->keys,
                  world->presses, world->events, world->imports, world->backups, judged.finished,
                  judged.open, (long long)judged.hours, judged.doubts);
    assert_true(world->killed > 0 && world->imports > 0 && world->backups > 0);
    assert_true(judged.finished > 0 && judged.hours > 0);
    munmap(world, sizeof *world);
}

static void a_month_leaves_nothing_to_mend(void **state)
{
    (void)state;
    for (uint64_t seed = first_seed; seed < first_seed + (uint64_t)months; seed++) {
        live_a_month(seed);
    }
}

static int make_folder(void **state)
{
    (void)state;
    const char *base = getenv("TMPDIR");
    struct cb_err err = {0};
    snprintf(folder, sizeof folder, "%.40s/cb-soak-XXXXXX", base && *base ? base : "/tmp");
    return mkdtemp(folder) && cb_paths_settings(&session, true, &kinds, &config, &err) == CB_OK
               ? 0
               : -1;
}

static int remove_folder(void **state)
{
    (void)state;
    cb_arena_fini(&session);
    return nftw(folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(a_month_leaves_nothing_to_mend)};
    months = argc > 1 ? (int)strtol(argv[1], NULL, 10) : months;
    first_seed = argc > 2 ? strtoull(argv[2], NULL, 10) : first_seed;
    return cmocka_run_group_tests_name("soak", tests, make_folder, remove_folder);
}
