/* SPDX-License-Identifier: MIT */
/* What runs beside the bench because the painter has named it in config.yaml: a sensor that is
 * asked each minute, and a program at each ring. */
#include "shell/loop_internal.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "app/ping.h"
#include "app/sensor.h"
#include "base/utf8.h"
#include "shell/clock.h"
#include "shell/sensor.h"

/* Of a ring; together far less than a pipe holds. */
#define TITLE_COLUMNS 200
#define BODY_COLUMNS  600
#define NAME_COLUMNS  20
#define SAID_COLUMNS  16 /* of a sensor's answer that is none */
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
    loop->sensor_ms = asks ? cb_clock_boot_ms() : CB_TIME_NONE;
}

/* Once a session, by its name alone. */
static void tell_failure(struct cb_loop *loop, bool *said, const char *key, const char *program,
                         const char *why)
{
    const char *slash = strrchr(program, '/');
    if (!*said) {
        *said = true;
        cb_loop_push(loop, (struct cb_input){
                               .kind = CB_INPUT_NOTICE,
                               .text = cb_arena_printf(
                                   &loop->turn, "%s: %s %s", key,
                                   cb_utf8_clean(&loop->turn, slash != NULL ? slash + 1 : program,
                                                 NAME_COLUMNS),
                                   why)});
    }
}

/* How our own process for a device ended says nothing to a painter. */
static void tell_sensor_failure(struct cb_loop *loop, const char *why)
{
    const struct cb_config *config = loop->setup->config;
    const bool device = config->sensor != NULL;
    tell_failure(loop, &loop->sensor_failed, "sensor",
                 device ? config->sensor : config->sensor_program.words[0],
                 device ? "does not answer; `coatbell sensor` says why" : why);
}

/* What makes no sense as an answer, and what would. Whoever is asked, it is their own words. */
static void judge_answer(struct cb_loop *loop, const char *line)
{
    const struct cb_config *config = loop->setup->config;
    struct cb_climate climate = cb_climate_standard;
    struct cb_err err = {0};
    if (cb_sensor_parse(line, &climate, &err) != CB_OK) {
        const char *shown = cb_utf8_clean(&loop->turn, line, SAID_COLUMNS);
        const char *mark = shown[0] != '\0' ? "\"" : "";
        tell_failure(loop, &loop->sensor_failed, "sensor",
                     config->sensor != NULL ? config->sensor : config->sensor_program.words[0],
                     cb_arena_printf(&loop->turn, "says %s%s%s: %s", mark,
                                     shown[0] != '\0' ? shown : "nothing", mark, err.text));
    }
}

static void ask_sensor(struct cb_loop *loop, int64_t now_ms)
{
    const struct cb_config *config = loop->setup->config;
    const char *const device[] = {OURSELVES, "sensor", "--", config->sensor, NULL};
    const char *const *words = config->sensor != NULL ? device : config->sensor_program.words;
    loop->sensor_ms = cb_clock_boot_ms() + CB_SENSOR_ASK_MS;
    struct cb_err err = {0};
    if (cb_errand_start(&loop->sensor, words, NULL, true, now_ms, &err) != CB_OK) {
        tell_sensor_failure(loop, err.text);
        cb_loop_push(loop, (struct cb_input){.kind = CB_INPUT_SENSOR});
    }
}

static void hear_sensor(struct cb_loop *loop, int64_t now_ms)
{
    struct cb_err err = {0};
    if (cb_errand_turn(&loop->sensor, now_ms, &err)) {
        const char *line = NULL;
        if (err.status == CB_OK) {
            line = cb_arena_text(&loop->turn, loop->sensor.answer);
            judge_answer(loop, line);
        } else {
            tell_sensor_failure(loop, err.text);
        }
        cb_loop_push(loop, (struct cb_input){.kind = CB_INPUT_SENSOR, .text = line});
    }
    if (!loop->viewer && loop->sensor.pid == 0 && loop->sensor_ms != CB_TIME_NONE &&
        cb_clock_boot_ms() >= loop->sensor_ms) {
        ask_sensor(loop, now_ms);
    }
}

static void tell_ring_failure(struct cb_loop *loop, const char *why)
{
    tell_failure(loop, &loop->ring_failed, "on_ring", loop->setup->config->on_ring.words[0], why);
}

static void start_ring(struct cb_loop *loop, int64_t now_ms)
{
    struct cb_err err = {0};
    if (cb_errand_start(&loop->ring, loop->setup->config->on_ring.words, loop->next_ring, false,
                        now_ms, &err) != CB_OK) {
        tell_ring_failure(loop, err.text);
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
        tell_ring_failure(loop, "is not run in a demo");
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
    if (loop->ring.pid == 0) {
        start_ring(loop, cb_clock_monotonic_ms());
    }
}

static void pop_up_fini(struct cb_loop_pop_up *pop_up)
{
    free(pop_up->title);
    free(pop_up->body);
}

void cb_loop_popped_up(struct cb_loop *loop, uint32_t id)
{
    size_t kept = 0;
    for (size_t i = 0; i < loop->pop_ups.count; i++) {
        struct cb_loop_pop_up *pop_up = &loop->pop_ups.items[i];
        if (pop_up->id == id) {
            pop_up_fini(pop_up);
        } else {
            loop->pop_ups.items[kept++] = *pop_up;
        }
    }
    loop->pop_ups.count = kept;
}

void cb_loop_pop_up(struct cb_loop *loop, const struct cb_effect *effect)
{
    cb_loop_popped_up(loop, effect->ping_id);
    cb_vec_push(&loop->pop_ups,
                ((struct cb_loop_pop_up){.id = effect->ping_id,
                                         .title = cb_mem_copy_text(effect->title),
                                         .body = cb_mem_copy_text(effect->body),
                                         .at_ms = cb_clock_monotonic_ms() + BELL_MS}));
}

/* True: shown, or no longer to be. */
static bool show_pop_up(const struct cb_loop *loop, const struct cb_loop_pop_up *pop_up)
{
    switch (cb_app_bell(loop->app)) {
    case CB_BELL_STARTING:
        return false;
    case CB_BELL_NONE:
    case CB_BELL_NO_BUS:
    case CB_BELL_NO_DAEMON:
        cb_term_pop_up(loop->term, pop_up->id, pop_up->title, pop_up->body);
        break;
    case CB_BELL_OK:
    case CB_BELL_SILENT:
    case CB_BELL_OFF:
        break;
    }
    return true;
}

void cb_loop_pop_up_turn(struct cb_loop *loop)
{
    const int64_t now_ms = cb_clock_monotonic_ms();
    size_t kept = 0;
    for (size_t i = 0; i < loop->pop_ups.count; i++) {
        struct cb_loop_pop_up *pop_up = &loop->pop_ups.items[i];
        const bool due = now_ms >= pop_up->at_ms;
        if (due && show_pop_up(loop, pop_up)) {
            pop_up_fini(pop_up);
            continue;
        }
        pop_up->at_ms = due ? now_ms + BELL_MS : pop_up->at_ms;
        loop->pop_ups.items[kept++] = *pop_up;
    }
    loop->pop_ups.count = kept;
}

void cb_loop_outside_turn(struct cb_loop *loop)
{
    const int64_t now_ms = cb_clock_monotonic_ms();
    struct cb_err err = {0};
    hear_sensor(loop, now_ms);
    if (cb_errand_turn(&loop->ring, now_ms, &err) && err.status != CB_OK) {
        tell_ring_failure(loop, err.text);
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
    const bool asks = !loop->viewer && loop->sensor.pid == 0 && loop->sensor_ms != CB_TIME_NONE;
    int64_t at_ms = sooner(cb_errand_deadline(&loop->sensor), cb_errand_deadline(&loop->ring));
    /* While the terminal takes no more, what wakes the bench is that it does. */
    for (size_t i = 0; i < loop->pop_ups.count && cb_term_out_fd(loop->term) < 0; i++) {
        at_ms = sooner(at_ms, loop->pop_ups.items[i].at_ms);
    }
    const int64_t left_ms = asks ? loop->sensor_ms - cb_clock_boot_ms() : 0;
    return sooner(at_ms, asks ? cb_clock_monotonic_ms() + left_ms : CB_TIME_NONE);
}

void cb_loop_outside_end(struct cb_loop *loop)
{
    cb_errand_fini(&loop->sensor);
    cb_errand_fini(&loop->ring);
    free(loop->next_ring);
    for (size_t i = 0; i < loop->pop_ups.count; i++) {
        pop_up_fini(&loop->pop_ups.items[i]);
    }
    cb_vec_free(&loop->pop_ups);
}
