/* SPDX-License-Identifier: MIT */
/* What runs beside the bench because the painter has named it in config.yaml: a sensor that is
 * asked each minute, and a program at each ring. */
#include "shell/loop_internal.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "app/ping.h"
#include "base/utf8.h"
#include "shell/clock.h"
#include "shell/sensor.h"

/* A room does not change faster, and a battery lasts (own judgement). */
#define SENSOR_MS 60000
/* Of a ring; together far less than a pipe holds. */
#define TITLE_COLUMNS 200
#define BODY_COLUMNS  600
#define NAME_COLUMNS  20
/* A desktop that came since the last ring has shown it by then, and nobody gets two; a bell that
 * finds none says so in some thousandths of a second (own judgement). */
#define BELL_MS 300

/* Ourselves: the kernel's files are read by another process, as their drivers may take a second. */
#define OURSELVES "/proc/self/exe"

static bool has_sensor(const struct cb_config *config)
{
    return config->sensor != NULL || config->sensor_program.count > 0;
}

void cb_loop_outside_begin(struct cb_loop *loop)
{
    const bool asks = has_sensor(loop->setup->config) && !loop->setup->scratch;
    loop->sensor_ms = asks ? cb_clock_monotonic_ms() : CB_TIME_NONE;
}

static void ask_sensor(struct cb_loop *loop, int64_t now_ms)
{
    const struct cb_config *config = loop->setup->config;
    const char *const device[] = {OURSELVES, "sensor", "--", config->sensor, NULL};
    const char *const *words = config->sensor != NULL ? device : config->sensor_program.words;
    loop->sensor_ms = now_ms + SENSOR_MS;
    if (cb_errand_start(&loop->sensor, words, NULL, true, now_ms, NULL) != CB_OK) {
        cb_loop_push(loop, (struct cb_input){.kind = CB_INPUT_SENSOR});
    }
}

static void hear_sensor(struct cb_loop *loop, int64_t now_ms)
{
    struct cb_err err = {0};
    if (cb_errand_turn(&loop->sensor, now_ms, &err)) {
        const char *line =
            err.status == CB_OK ? cb_arena_text(&loop->turn, loop->sensor.answer) : NULL;
        cb_loop_push(loop, (struct cb_input){.kind = CB_INPUT_SENSOR, .text = line});
    }
    if (!loop->viewer && loop->sensor.pid == 0 && loop->sensor_ms != CB_TIME_NONE &&
        now_ms >= loop->sensor_ms) {
        ask_sensor(loop, now_ms);
    }
}

/* Once a session, by its name alone. */
static void tell_failure(struct cb_loop *loop, const char *why)
{
    const char *program = loop->setup->config->on_ring.words[0];
    const char *slash = strrchr(program, '/');
    if (!loop->ring_failed) {
        loop->ring_failed = true;
        cb_loop_push(loop, (struct cb_input){
                               .kind = CB_INPUT_NOTICE,
                               .text = cb_arena_printf(
                                   &loop->turn, "on_ring: %s %s",
                                   cb_utf8_clean(&loop->turn, slash != NULL ? slash + 1 : program,
                                                 NAME_COLUMNS),
                                   why)});
    }
}

static void start_ring(struct cb_loop *loop, int64_t now_ms)
{
    struct cb_err err = {0};
    if (cb_errand_start(&loop->ring, loop->setup->config->on_ring.words, loop->next_ring, false,
                        now_ms, &err) != CB_OK) {
        tell_failure(loop, err.text);
    }
    free(loop->next_ring);
    loop->next_ring = NULL;
}

void cb_loop_ring(struct cb_loop *loop, const char *title, const char *body)
{
    if (loop->setup->config->on_ring.count == 0) {
        return;
    }
    if (loop->setup->scratch) {
        tell_failure(loop, "is not run in a demo");
        return;
    }
    struct cb_str text = {0};
    struct cb_arena arena = {0};
    cb_str_addf(&text, "%s\n", cb_utf8_clean(&arena, title, TITLE_COLUMNS));
    for (const char *line = body; *line != '\0';) { /* lines of a pop-up are sentences of one */
        const size_t length = strcspn(line, "\n");
        const char *piece = cb_arena_text_n(&arena, line, length);
        cb_str_addf(&text, "%s%s", line > body ? "; " : "",
                    cb_utf8_clean(&arena, piece, BODY_COLUMNS / 3));
        line += length + (line[length] == '\n');
    }
    cb_str_add(&text, "\n");
    free(loop->next_ring); /* the newest waits, and what it takes the place of is old news */
    loop->next_ring = cb_mem_copy_text(cb_str_text(&text));
    cb_str_fini(&text);
    cb_arena_fini(&arena);
}

static void drop_pop_up(struct cb_loop *loop)
{
    free(loop->pop_up.title);
    free(loop->pop_up.body);
    loop->pop_up = (struct cb_loop_pop_up){0};
}

void cb_loop_pop_up(struct cb_loop *loop, const struct cb_effect *effect)
{
    drop_pop_up(loop);
    loop->pop_up = (struct cb_loop_pop_up){.id = effect->ping_id,
                                           .title = cb_mem_copy_text(effect->title),
                                           .body = cb_mem_copy_text(effect->body),
                                           .at_ms = cb_clock_monotonic_ms() + BELL_MS};
}

void cb_loop_popped_up(struct cb_loop *loop, uint32_t id)
{
    if (loop->pop_up.id == id) {
        drop_pop_up(loop);
    }
}

void cb_loop_pop_up_turn(struct cb_loop *loop)
{
    const int64_t now_ms = cb_clock_monotonic_ms();
    if (loop->pop_up.title == NULL || now_ms < loop->pop_up.at_ms) {
        return;
    }
    switch (cb_app_bell(loop->app)) {
    case CB_BELL_STARTING:
        loop->pop_up.at_ms = now_ms + BELL_MS;
        return;
    case CB_BELL_NONE:
    case CB_BELL_NO_BUS:
    case CB_BELL_NO_DAEMON:
        cb_term_pop_up(loop->term, loop->pop_up.id, loop->pop_up.title, loop->pop_up.body);
        break;
    case CB_BELL_OK:
    case CB_BELL_SILENT:
    case CB_BELL_OFF:
        break;
    }
    drop_pop_up(loop);
}

void cb_loop_outside_turn(struct cb_loop *loop)
{
    const int64_t now_ms = cb_clock_monotonic_ms();
    struct cb_err err = {0};
    hear_sensor(loop, now_ms);
    if (cb_errand_turn(&loop->ring, now_ms, &err) && err.status != CB_OK) {
        tell_failure(loop, err.text);
    }
    if (loop->next_ring != NULL && loop->ring.pid == 0) {
        start_ring(loop, now_ms);
    }
}

static int64_t sooner(int64_t a, int64_t b)
{
    return a == CB_TIME_NONE || (b != CB_TIME_NONE && b < a) ? b : a;
}

int64_t cb_loop_outside_deadline(const struct cb_loop *loop)
{
    if (loop->next_ring != NULL && loop->ring.pid == 0) {
        return cb_clock_monotonic_ms();
    }
    const int64_t own_ms =
        sooner(cb_errand_deadline(&loop->sensor), cb_errand_deadline(&loop->ring));
    const int64_t pop_ms = loop->pop_up.title != NULL ? loop->pop_up.at_ms : CB_TIME_NONE;
    const bool asks = !loop->viewer && loop->sensor.pid == 0;
    return sooner(sooner(own_ms, pop_ms), asks ? loop->sensor_ms : CB_TIME_NONE);
}

void cb_loop_outside_end(struct cb_loop *loop)
{
    cb_errand_fini(&loop->sensor);
    cb_errand_fini(&loop->ring);
    free(loop->next_ring);
    drop_pop_up(loop);
}
