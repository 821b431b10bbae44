/* SPDX-License-Identifier: MIT */
#include "support/operate.h"

#include <stdlib.h>
#include <string.h>

#include "app/app.h"
#include "app/key.h"
#include "base/mem.h"
#include "base/utf8.h"
#include "base/vec.h"
#include "base/version.h"
#include "shell/paths.h"
#include "shell/store.h"
#include "shell/yaml.h"
#include "support/bench_equal.h"
#include "support/events.h"
#include "support/grid_check.h"
#include "view/screen.h"

#define START_MS INT64_C(1767636000000) /* 2026-01-05T18:00:00Z */
#define FAR_MS   (INT64_C(100) * 366 * 24 * 60 * CB_MS_PER_MIN)
#define TURNS_MAX                                                                                  \
    200 /* of waking between two operations; then the rest of the time passes at once */
#define DEPTH_MAX 16 /* of effects that bring inputs that bring effects */

enum disk { DISK_TAKES, DISK_REFUSES, DISK_TAKES_AND_SAYS_NO, DISK_COUNT };

struct press {
    const struct cb_event *const *events;
    size_t count;
};

struct operate {
    struct cb_arena kept;
    const struct cb_kinds *kinds;
    const struct cb_cues *cues;
    struct cb_config config;
    struct cb_store *store;
    struct cb_app *app;
    struct cb_grid grid;
    struct cb_moment now;
    int rows, columns, boots, depth;
    bool writer, quit;
    enum disk disk;
    CB_VEC(struct press) waiting;
    uint32_t ping_id;
    const char *fault;
    const uint8_t *data;
    size_t left;
};

static const char plain_recipe[] =
    "{coatbell: 1, name: Watch, figures: 3, groups: {serjeant: [1]}, paints: {green: {name: "
    "Oilskin green}, ebb: {name: Ebb wash, kind: wash}}, areas: {oilskin: {share: 40 %, beside: "
    "[rope]}, rope: {}}, stages: [{name: Undercoat, technique: undercoat, paint: green, by: "
    "airbrush, together: yes}, {name: Oilskins, technique: basecoat, paint: green, on: oilskin, "
    "coats: 2}, {name: Wash, technique: wash, paint: ebb, on: rope, optional: yes}]}";

/* Of a stranger: markup, what spreadsheets run, wide and marked letters in every name. */
static const char odd_recipe[] =
    "coatbell: 1\nname: \"<b>=cmd|'/c'!A1</b> \xe5\xa4\x9c\xe8\xad\xa6\"\nfigures: 9\npaints:\n"
    "  p: {name: \"@<i>&amp;\xe5\xa1\x97\xe6\x96\x99\", kind: oil}\n  q: {name: '+1;-2', kind: "
    "ink}\n"
    "areas: {a: {name: x}, b: {}}\n";
static const char odd_stages[] =
    "coatbell: 1\nname: \"=<b>\xe5\xa4\x9c\xe8\xad\xa6&\"\nfigures: 9\npaints:\n"
    "  p: {name: \"@<i>&amp;\xe5\xa1\x97\xe6\x96\x99\", kind: oil}\n  q: {name: '+1;-2', kind: "
    "ink}\n"
    "stages:\n  - {name: \"<script>\", technique: glaze, mix: 1 p + 3 q + 1 water, coats: 9}\n"
    "  - {name: \"-=\xe5\xa4\x9c\", technique: varnish, paint: q, after: [], wait: 90 s}\n";

static const char *const recipes[] = {plain_recipe, odd_recipe, odd_stages, "", "stages: ["};

static void must(struct operate *it, bool fine, const char *what)
{
    if (!fine && it->fault == NULL) {
        it->fault = what;
    }
}

static unsigned take(struct operate *it)
{
    if (it->left == 0) {
        return 0;
    }
    it->left--;
    return *it->data++;
}

static void feed(struct operate *it, struct cb_input input);

static void say_stored(struct operate *it, const struct cb_event *const *events, size_t count)
{
    feed(it, (struct cb_input){.kind = CB_INPUT_STORED, .events = events, .event_count = count});
}

static void say_unsaved(struct operate *it, const struct cb_event *const *events, size_t count)
{
    feed(it, (struct cb_input){.kind = CB_INPUT_UNSAVED,
                               .text = "disk full",
                               .events = events,
                               .event_count = count});
}

static void retry(struct operate *it)
{
    while (it->waiting.count > 0 && it->disk == DISK_TAKES) {
        const struct press press = it->waiting.items[0];
        const struct cb_event **stored = NULL;
        struct cb_arena arena = {0};
        const enum cb_status status =
            cb_store_append(it->store, press.events, press.count, &arena, &stored, NULL);
        must(it, status == CB_OK, "a press that was kept is not taken");
        memmove(it->waiting.items, it->waiting.items + 1,
                --it->waiting.count * sizeof *it->waiting.items);
        if (status == CB_OK) {
            say_stored(it, stored, press.count);
        }
        cb_arena_fini(&arena);
    }
    if (it->waiting.count > 0) {
        say_unsaved(it, NULL, 0);
    }
}

static void store(struct operate *it, const struct cb_effect *effect)
{
    const struct cb_event **named = NULL;
    const struct cb_event **stored = NULL;
    struct cb_err err = {0};
    if (it->disk == DISK_TAKES) {
        retry(it);
        must(it,
             cb_store_append(it->store, effect->events, effect->event_count, &it->kept, &stored,
                             &err) == CB_OK,
             "the log refuses what the app made");
        if (stored != NULL) {
            say_stored(it, stored, effect->event_count);
        }
        return;
    }
    must(it,
         cb_store_name(it->store, effect->events, effect->event_count, &it->kept, &named, &err) ==
             CB_OK,
         "the log can't name what the app made");
    if (named == NULL) {
        return;
    }
    if (it->disk == DISK_TAKES_AND_SAYS_NO) {
        (void)cb_store_append(it->store, named, effect->event_count, &it->kept, &stored, &err);
    }
    struct press press = {named, effect->event_count};
    cb_vec_push(&it->waiting, press);
    say_unsaved(it, named, effect->event_count);
}

static void check_said(struct operate *it, const char *text)
{
    must(it, text != NULL && cb_utf8_valid(text, strlen(text)), "a pop-up that is no UTF-8");
    for (const char *at = text; at != NULL && *at;) {
        const uint32_t cp = cb_utf8_next(&at);
        must(it, cp == '\n' || cb_utf8_is_safe(cp), "a pop-up with what nobody may see");
    }
}

static void list_recipes(struct operate *it)
{
    static const struct cb_app_recipe offered[] = {
        {.path = "watch.yaml", .name = "Watch", .text = plain_recipe, .figures = 3},
        {.path = "odd.yaml", .name = "=<b>odd", .text = odd_stages},
        {.path = "broken\x1b[2J.yaml",
         .name = "broken",
         .fault = "1:1: \x1b]0;no\x07",
         .ours = true},
    };
    feed(it, (struct cb_input){.kind = CB_INPUT_RECIPES, .recipes = offered, .recipe_count = 3});
}

static void serve(struct operate *it, const struct cb_effect *effect)
{
    switch (effect->kind) {
    case CB_EFFECT_STORE:
        store(it, effect);
        return;
    case CB_EFFECT_PING:
        it->ping_id = effect->ping_id;
        check_said(it, effect->title);
        check_said(it, effect->body);
        return;
    case CB_EFFECT_BELL_READY:
        feed(it, (struct cb_input){.kind = CB_INPUT_BELL, .bell_state = CB_BELL_OK});
        return;
    case CB_EFFECT_LIST_RECIPES:
    case CB_EFFECT_RELOAD:
        list_recipes(it);
        return;
    case CB_EFFECT_PICTURE:
        feed(it, (struct cb_input){.kind = CB_INPUT_PICTURE, .text = "no\x1b[2Jpicture"});
        return;
    case CB_EFFECT_TAKE_OVER:
        it->writer = true;
        feed(it, (struct cb_input){.kind = CB_INPUT_ROLE, .writer = true});
        return;
    case CB_EFFECT_QUIT:
        it->quit = true;
        return;
    case CB_EFFECT_PING_CLOSE:
    case CB_EFFECT_BEEP:
    case CB_EFFECT_HISTORY:
    case CB_EFFECT_SUSPEND:
        return;
    }
}

/* Effects live until the next step, and serving one may step: they are copied first. */
static void feed(struct operate *it, struct cb_input input)
{
    input.now = it->now;
    struct cb_effects effects = cb_app_step(it->app, &input);
    if (effects.count == 0 || it->depth >= DEPTH_MAX) {
        must(it, effects.count == 0, "effects without an end");
        return;
    }
    struct cb_effect *copies = cb_arena_alloc(&it->kept, effects.count, sizeof *copies);
    const size_t count = effects.count;
    for (size_t i = 0; i < count; i++) {
        const struct cb_effect *effect = &effects.items[i];
        const struct cb_event **events =
            cb_arena_alloc(&it->kept, effect->event_count + 1, sizeof *events);
        for (size_t k = 0; k < effect->event_count; k++) {
            events[k] = cb_event_copy(&it->kept, effect->events[k]);
        }
        copies[i] = *effect;
        copies[i].events = events;
        copies[i].title = cb_arena_text(&it->kept, effect->title);
        copies[i].body = cb_arena_text(&it->kept, effect->body);
    }
    it->depth++;
    for (size_t i = 0; i < count; i++) {
        serve(it, &copies[i]);
    }
    it->depth--;
}

static void load(struct operate *it)
{
    struct cb_store_filter all = {0};
    const struct cb_event **events = NULL;
    size_t count = 0;
    long long last_row;
    must(it, cb_store_load(it->store, &all, &it->kept, &events, &count, &last_row, NULL) == CB_OK,
         "the log can't be read");
    feed(it, (struct cb_input){.kind = CB_INPUT_EVENTS, .events = events, .event_count = count});
}

/* A new process on the same log: what still waited is written first, or it is gone with the old. */
static void open_app(struct operate *it)
{
    it->waiting.count = 0;
    it->quit = false;
    const struct cb_app_setup setup = {
        .views = cb_screens,
        .kinds = it->kinds,
        .config = &it->config,
        .cues = it->cues,
        .read = cb_yaml_read,
        .rows = it->rows,
        .columns = it->columns,
        .writer = it->writer,
        .machine = cb_store_machine(it->store),
        .version = CB_VERSION,
        .ping_seed = (uint64_t)it->boots * 1000,
    };
    cb_app_free(it->app);
    it->app = cb_app_new(&setup, it->now);
    load(it);
}

static void boot(struct operate *it)
{
    it->now.boot = cb_arena_printf(&it->kept, "boot-%d", ++it->boots);
    it->now.boot_ms = CB_MS_PER_MIN;
}

static void pass(struct operate *it, int64_t ms)
{
    int64_t left = ms;
    for (int turn = 0; left > 0 && turn < TURNS_MAX && !it->quit; turn++) {
        const int64_t next = cb_app_next_deadline(it->app);
        int64_t step = next == CB_TIME_NONE ? left : next - it->now.wall_ms;
        step = step < 1 ? 1 : step > left ? left : step;
        it->now.wall_ms += step;
        it->now.boot_ms += step;
        left -= step;
        feed(it, (struct cb_input){.kind = CB_INPUT_TIME});
    }
    it->now.wall_ms += left;
    it->now.boot_ms += left;
    feed(it, (struct cb_input){.kind = CB_INPUT_TIME});
}

/* 1 ms to some 6 days, each length as likely as its half. */
static int64_t span(struct operate *it)
{
    const unsigned size = take(it);
    return (INT64_C(1) << (size % 30)) + (int64_t)(size / 30) * CB_MS_PER_MIN;
}

static void press_key(struct operate *it, uint32_t key)
{
    feed(it, (struct cb_input){.kind = CB_INPUT_KEY, .key = key});
}

static void named_key(struct operate *it)
{
    static const uint32_t keys[] = {
        CB_KEY_SPACE, CB_KEY_ENTER, CB_KEY_BACKSPACE, CB_KEY_TAB,    CB_KEY_ESC,      CB_KEY_LEFT,
        CB_KEY_RIGHT, CB_KEY_UP,    CB_KEY_DOWN,      CB_KEY_PAGEUP, CB_KEY_PAGEDOWN, CB_KEY_HOME,
        CB_KEY_END,   CB_KEY_F1,    CB_KEY_F1 + 3,    CB_KEY_CTRL_C, CB_KEY_CTRL_U,   CB_KEY_CTRL_Z,
        CB_KEY_SPACE, CB_KEY_SPACE, CB_KEY_F1 + 1,    CB_KEY_F1 + 2, CB_KEY_F1 + 4,   CB_KEY_F12,
    };
    press_key(it, keys[take(it) % (sizeof keys / sizeof *keys)]);
}

static void any_character(struct operate *it)
{
    const uint32_t cp = take(it) << 16 | take(it) << 8 | take(it);
    press_key(it, cp % 0x110200);
}

static void paste(struct operate *it)
{
    const size_t length = take(it) % 48;
    const size_t there = length < it->left ? length : it->left;
    feed(it, (struct cb_input){
                 .kind = CB_INPUT_TEXT,
                 .text = cb_arena_text_n(&it->kept, (const char *)it->data, there),
             });
    it->data += there;
    it->left -= there;
}

static void resize(struct operate *it)
{
    it->columns = 1 + (int)(take(it) % 200);
    it->rows = 1 + (int)(take(it) % 60);
    feed(it, (struct cb_input){.kind = CB_INPUT_SIZE, .rows = it->rows, .columns = it->columns});
}

static void set_clock(struct operate *it)
{
    const unsigned how = take(it);
    const int64_t by = span(it) * (how & 4 ? 365 : 1);
    it->now.wall_ms += how & 1 ? by : -by;
    if (it->now.wall_ms < START_MS - FAR_MS || it->now.wall_ms > START_MS + FAR_MS) {
        it->now.wall_ms = START_MS;
    }
    feed(it, (struct cb_input){.kind = CB_INPUT_TIME});
}

static void button(struct operate *it)
{
    const unsigned which = take(it);
    feed(it, (struct cb_input){.kind = CB_INPUT_BUTTON,
                               .ping_id = which < 128 ? it->ping_id : which * 16843009U,
                               .button_dry = which & 1});
}

/* What others wrote, of this unit or any: taken as an import takes it. */
static const struct cb_event *other_event(struct operate *it)
{
    const unsigned kind = take(it);
    const unsigned how = take(it);
    struct dice dice = {kind << 8 | how};
    struct cb_event *event = cb_arena_alloc(&it->kept, 1, sizeof *event);
    *event = *dice_event(&dice, &it->kept, true);
    event->id = cb_arena_printf(&it->kept, "o%u-%zu-%s", how, it->left, it->now.boot);
    const int front = cb_bench_front(cb_app_bench(it->app));
    if (how & 1 && event->unit != NULL && front >= 0) {
        event->unit = cb_bench_unit(cb_app_bench(it->app), (size_t)front)->id;
    }
    if (how & 2) {
        event->at_ms = it->now.wall_ms - (int64_t)(how >> 2) * CB_MS_PER_MIN;
    }
    if (how % 8 == 5) {
        struct cb_event_make make;
        cb_event_begin(&make, &it->kept, CB_EVENT_UNIT_BEGUN,
                       cb_arena_printf(&it->kept, "u%u", kind), &it->now);
        cb_event_add_text(&make, CB_FIELD_NAME, dice_text(&dice, &it->kept, 80));
        cb_event_add_int(&make, CB_FIELD_FIGURES, 1 + kind % 99);
        cb_event_add_text(&make, CB_FIELD_RECIPE,
                          recipes[kind % (sizeof recipes / sizeof *recipes)]);
        make.event.id = event->id;
        return cb_event_take(&make);
    }
    return event;
}

static void others_write(struct operate *it)
{
    const struct cb_event *event = other_event(it);
    const struct cb_event **stored = NULL;
    if (cb_store_append(it->store, &event, 1, &it->kept, &stored, NULL) == CB_OK) {
        feed(it, (struct cb_input){.kind = CB_INPUT_EVENTS, .events = stored, .event_count = 1});
    }
}

/* As `begin` beside the bench. */
static void begin(struct operate *it, const char *recipe, int figures)
{
    struct cb_event_make make;
    const struct cb_event *event;
    const struct cb_event **stored = NULL;
    cb_event_begin(&make, &it->kept, CB_EVENT_UNIT_BEGUN,
                   cb_arena_printf(&it->kept, "unit-%zu", it->left), &it->now);
    cb_event_add_text(&make, CB_FIELD_NAME, "Night watch");
    cb_event_add_int(&make, CB_FIELD_FIGURES, figures);
    cb_event_add_text(&make, CB_FIELD_RECIPE, recipe);
    event = cb_event_take(&make);
    if (cb_store_append(it->store, &event, 1, &it->kept, &stored, NULL) == CB_OK) {
        feed(it, (struct cb_input){.kind = CB_INPUT_EVENTS, .events = stored, .event_count = 1});
    }
}

static void change_role(struct operate *it)
{
    const unsigned how = take(it);
    it->writer = (how & 1) != 0;
    feed(it, (struct cb_input){.kind = CB_INPUT_ROLE, .writer = it->writer, .offer = how & 2});
}

static void show(struct operate *it)
{
    const unsigned which = take(it);
    if (which < cb_screens.count) {
        (void)cb_app_show(it->app, cb_screens.items[which]->name);
    } else {
        (void)cb_app_show(it->app, "nowhere");
    }
}

/* Idle time, the end, what a sensor answers, what failed outside. */
static void beside(struct operate *it, unsigned how)
{
    static const char *const lines[] = {"19.5 62", "27 30 fan", NULL, "4\x1b[2J0 50"};
    switch (how % 8) {
    case 6:
        feed(it, (struct cb_input){.kind = CB_INPUT_NOTICE, .text = "on_ring: no lamp"});
        break;
    case 7:
        feed(it, (struct cb_input){.kind = CB_INPUT_SENSOR, .text = lines[how / 8 % 4]});
        break;
    default:
        feed(it, (struct cb_input){.kind = how & 1 ? CB_INPUT_IDLE : CB_INPUT_CLOSE});
        break;
    }
}

static void one(struct operate *it)
{
    const unsigned what = take(it);
    switch (what % 24) {
    case 0:
    case 1:
    case 2:
        press_key(it, CB_KEY_SPACE);
        break;
    case 3:
    case 4:
        named_key(it);
        break;
    case 5:
    case 6:
    case 7:
        press_key(it, ' ' + take(it) % 95);
        break;
    case 8:
        any_character(it);
        break;
    case 9:
        paste(it);
        break;
    case 10:
        resize(it);
        break;
    case 11:
    case 12:
    case 13:
        pass(it, span(it));
        break;
    case 14:
        set_clock(it);
        break;
    case 15:
        boot(it);
        open_app(it);
        break;
    case 16:
        button(it);
        break;
    case 17:
        others_write(it);
        break;
    case 18:
        it->disk = (enum disk)(take(it) % DISK_COUNT);
        retry(it);
        break;
    case 19:
        change_role(it);
        break;
    case 20:
        show(it);
        break;
    case 21:
        feed(it, (struct cb_input){.kind = CB_INPUT_ACTION,
                                   .action = (enum cb_action)(take(it) % CB_ACTION_COUNT)});
        break;
    case 22:
        feed(it,
             (struct cb_input){.kind = CB_INPUT_BELL,
                               .bell_state = (enum cb_bell_state)(take(it) % (CB_BELL_OFF + 1))});
        break;
    case 23:
        beside(it, take(it));
        break;
    default:
        break;
    }
    if (it->quit) {
        open_app(it);
    }
}

static void check_screen(struct operate *it)
{
    cb_screen_draw(it->app, &it->grid);
    must(it, it->grid.rows == it->rows && it->grid.columns == it->columns,
         "a screen of another size");
    const char *fault = grid_fault(&it->grid);
    must(it, fault == NULL, fault);
    must(it,
         cb_app_next_deadline(it->app) == CB_TIME_NONE ||
             cb_app_next_deadline(it->app) > it->now.wall_ms - CB_MS_PER_MIN,
         "a deadline long past");
}

/* What is on disk, with what waits to get there, folded anew is the bench that is shown. */
static void check_fold(struct operate *it)
{
    struct cb_store_filter all = {0};
    const struct cb_event **events = NULL;
    size_t count = 0;
    long long last_row;
    struct cb_err difference = {0};
    struct cb_bench *fresh = cb_bench_new(it->kinds, cb_yaml_read);
    cb_bench_own(fresh, cb_store_machine(it->store));
    must(it, cb_store_load(it->store, &all, &it->kept, &events, &count, &last_row, NULL) == CB_OK,
         "the log can't be read");
    cb_bench_add(fresh, events, count);
    for (size_t i = 0; i < it->waiting.count; i++) {
        cb_bench_add(fresh, it->waiting.items[i].events, it->waiting.items[i].count);
    }
    const bool same = bench_equal(fresh, cb_app_bench(it->app), &difference);
    must(it, same, cb_arena_printf(&it->kept, "folded anew: %s", difference.text));
    cb_bench_free(fresh);
}

const char *operate(const uint8_t *data, size_t size, struct cb_arena *arena)
{
    static struct cb_arena tables; /* live as long as the program */
    static const struct cb_kinds *kinds;
    static const struct cb_cues *cues;
    struct cb_err err = {0};
    if (kinds == NULL && (cb_paths_kinds(&tables, &kinds, &err) != CB_OK ||
                          cb_paths_cues(&tables, false, kinds, &cues, &err) != CB_OK)) {
        return cb_arena_text(arena, err.text);
    }
    struct operate it = {
        .kinds = kinds,
        .config = cb_config_default,
        .data = data,
        .left = size < OPERATE_BYTES_MAX ? size : OPERATE_BYTES_MAX,
        .now = {.wall_ms = START_MS},
        .rows = 24,
        .columns = 80,
        .writer = true,
    };
    const unsigned first = take(&it);
    it.config.ping = (enum cb_ping_policy)(first % CB_PING_COUNT);
    it.config.fahrenheit = first & 16;
    it.cues = first & 32 ? cues : NULL;
    it.grid.ascii = first & 64;
    if (cb_store_open(NULL, CB_STORE_APPEND, &it.store, &err) != CB_OK) {
        return cb_arena_text(arena, err.text);
    }
    boot(&it);
    cb_grid_init(&it.grid, it.rows, it.columns);
    it.grid.ascii = first & 64;
    open_app(&it);
    if (!(first & 128)) {
        begin(&it, plain_recipe, 3);
    }
    check_screen(&it);
    while (it.left > 0 && it.fault == NULL) {
        one(&it);
        check_screen(&it);
    }
    check_fold(&it);
    const char *fault = it.fault != NULL ? cb_arena_text(arena, it.fault) : NULL;
    cb_app_free(it.app);
    cb_grid_fini(&it.grid);
    cb_store_close(it.store);
    cb_vec_free(&it.waiting);
    cb_arena_fini(&it.kept);
    return fault;
}
