/* SPDX-License-Identifier: MIT */
#include "app/look.h"
#include "support/stage.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/utf8.h"
#include "shell/paths.h"
#include "shell/recipe_file.h"
#include "app/key.h"
#include "view/grid.h"

static void saw(void *context, const struct cb_moment *now, const struct cb_effect *effect)
{
    struct stage *stage = context;
    switch (effect->kind) {
    case CB_EFFECT_STORE:
        stage->stores++;
        for (size_t i = 0; i < effect->event_count; i++) {
            stage->pinged += effect->events[i]->kind == CB_EVENT_PINGED;
        }
        return;
    case CB_EFFECT_PING:
        stage->pings++;
        stage->sounds += effect->sound;
        stage->by_terminal = effect->by_terminal;
        stage->ping_at_ms = now->wall_ms;
        stage->answer = effect->answer;
        snprintf(stage->title, sizeof stage->title, "%s", effect->title);
        snprintf(stage->body, sizeof stage->body, "%s", effect->body);
        return;
    case CB_EFFECT_PING_CLOSE:
        stage->closes++;
        return;
    case CB_EFFECT_BEEP:
        stage->beeps++;
        return;
    case CB_EFFECT_BELL_READY:
        stage->bell_ready++;
        return;
    case CB_EFFECT_LIST_RECIPES:
    case CB_EFFECT_RELOAD:
    case CB_EFFECT_TAKE_OVER:
    case CB_EFFECT_HISTORY:
    case CB_EFFECT_QUIT:
    case CB_EFFECT_SUSPEND:
    case CB_EFFECT_PICTURE:
        return;
    }
}

static const char *root(void)
{
    const char *given = getenv("CB_ROOT");
    return given ? given : ".";
}

static struct cb_rehearse_setup setup_of(struct stage *stage, int rows, int columns)
{
    return (struct cb_rehearse_setup){
        .kinds = stage->kinds,
        .config = &stage->config,
        .cues = stage->cues,
        .store = stage->store,
        .rows = rows,
        .columns = columns,
        .saw = saw,
        .context = stage,
        .zone = stage->zone,
        .terminal_pops_up = stage->terminal_pops_up,
        .pilot = stage->pilot,
        .speed = stage->speed,
    };
}

static void begin(struct stage *stage, const char *name, const char *text, int figures, int rows,
                  int columns, enum cb_ping_policy ping)
{
    struct cb_err err = {0};
    stage->config = cb_config_default;
    stage->config.ping = ping;
    assert_int_equal(cb_store_open(NULL, CB_STORE_APPEND, &stage->store, &err), CB_OK);
    struct cb_rehearse_setup setup = setup_of(stage, rows, columns);
    struct cb_moment start = {.wall_ms = CB_REHEARSE_START_MS};
    assert_int_equal(cb_rehearse_new(&setup, start, &stage->rehearse, &err), CB_OK);
    stage->recipe = (struct cb_app_recipe){
        .path = "sample.yaml", .name = name, .text = text, .figures = figures};
    cb_rehearse_offer(stage->rehearse, &stage->recipe, 1);
    if (figures > 0) {
        assert_int_equal(cb_rehearse_begin(stage->rehearse, name, figures, text, &err), CB_OK);
    }
}

void stage_init(struct stage *stage, const char *recipe, int figures, int rows, int columns,
                enum cb_ping_policy ping)
{
    struct cb_err err = {0};
    struct cb_recipe_file file;
    memset(stage, 0, sizeof *stage);
    assert_int_equal(cb_paths_kinds(&stage->arena, &stage->kinds, &err), CB_OK);
    const char *path = cb_arena_printf(&stage->arena, "%s/recipes/%s", root(), recipe);
    assert_int_equal(cb_recipe_file_read(path, stage->kinds, &stage->arena, &file, &err), CB_OK);
    begin(stage, file.recipe->name, file.text, figures, rows, columns, ping);
}

void stage_init_text(struct stage *stage, const char *text, int figures, int rows, int columns,
                     enum cb_ping_policy ping)
{
    struct cb_err err = {0};
    memset(stage, 0, sizeof *stage);
    assert_int_equal(cb_paths_kinds(&stage->arena, &stage->kinds, &err), CB_OK);
    begin(stage, "sample", text, figures, rows, columns, ping);
}

void stage_init_coached(struct stage *stage, const char *text, int figures, int rows, int columns)
{
    struct cb_err err = {0};
    memset(stage, 0, sizeof *stage);
    assert_int_equal(cb_paths_kinds(&stage->arena, &stage->kinds, &err), CB_OK);
    assert_int_equal(cb_paths_cues(&stage->arena, false, stage->kinds, &stage->cues, &err), CB_OK);
    begin(stage, "sample", text, figures, rows, columns, CB_PING_NEEDED);
}

void stage_reopen(struct stage *stage, int64_t ms)
{
    struct cb_err err = {0};
    const struct cb_grid *grid = cb_rehearse_grid(stage->rehearse);
    struct cb_rehearse_setup setup = setup_of(stage, grid->rows, grid->columns);
    setup.history_due = true;
    struct cb_moment now = cb_rehearse_now(stage->rehearse);
    now.wall_ms += ms;
    now.boot_ms += ms;
    now.boot = cb_arena_text(&stage->arena, now.boot);
    cb_rehearse_free(stage->rehearse);
    stage->pings = stage->sounds = stage->closes = stage->beeps = 0;
    stage->bell_ready = stage->stores = stage->pinged = 0;
    assert_int_equal(cb_rehearse_new(&setup, now, &stage->rehearse, &err), CB_OK);
}

void stage_fini(struct stage *stage)
{
    cb_rehearse_free(stage->rehearse);
    cb_store_close(stage->store);
    cb_arena_fini(&stage->arena);
}

void stage_key(struct stage *stage, const char *name)
{
    uint32_t key;
    assert_true(cb_key_from_name(name, &key));
    cb_rehearse_feed(stage->rehearse, (struct cb_input){.kind = CB_INPUT_KEY, .key = key});
}

void stage_type(struct stage *stage, const char *text)
{
    for (uint32_t cp = cb_utf8_next(&text); cp; cp = cb_utf8_next(&text)) {
        cb_rehearse_feed(stage->rehearse, (struct cb_input){.kind = CB_INPUT_KEY, .key = cp});
    }
}

void stage_do(struct stage *stage, enum cb_action action)
{
    cb_rehearse_feed(stage->rehearse, (struct cb_input){.kind = CB_INPUT_ACTION, .action = action});
}

void stage_wait(struct stage *stage, double minutes)
{
    cb_rehearse_advance(stage->rehearse, (int64_t)(minutes * (double)CB_MS_PER_MIN));
}

void stage_size(struct stage *stage, int columns, int rows)
{
    cb_rehearse_feed(stage->rehearse,
                     (struct cb_input){.kind = CB_INPUT_SIZE, .rows = rows, .columns = columns});
}

const char *stage_text(struct stage *stage)
{
    struct cb_str out = {0};
    cb_grid_dump(cb_rehearse_grid(stage->rehearse), &out);
    const char *text = cb_arena_text(&stage->arena, cb_str_text(&out));
    cb_str_fini(&out);
    return text;
}

void stage_go(struct stage *stage, int number)
{
    for (int i = 0; i < CB_RECIPE_MAX; i++) {
        if (cb_app_scene(cb_rehearse_app(stage->rehearse))->proposal.stage == number) {
            return;
        }
        stage_key(stage, "DOWN");
    }
    fail_msg("stage %d is not to be reached", number);
}

bool stage_shows(struct stage *stage, const char *text)
{
    return strstr(stage_text(stage), text) != NULL;
}

const struct cb_bench *stage_bench(struct stage *stage)
{
    return cb_app_bench(cb_rehearse_app(stage->rehearse));
}

size_t stage_events(struct stage *stage, enum cb_event_kind kind)
{
    size_t count, found = 0;
    const struct cb_event *const *events = cb_bench_events(stage_bench(stage), &count);
    for (size_t i = 0; i < count; i++) {
        found += events[i]->kind == kind;
    }
    return found;
}
