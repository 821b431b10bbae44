/* SPDX-License-Identifier: MIT */
#include "core/bench/painter.h"

#include <math.h>
#include <string.h>

#include "base/time.h"
#include "base/vec.h"
#include "core/bench/forecast.h"
#include "core/bench/next.h"

#define EVENTS_MAX 20000
#define TOUCHES    0.3 /* how often the painter looks before the next coat */
#define DAY_MS     INT64_C(86400000)

struct sitting {
    const struct cb_painter *painter;
    struct cb_arena *arena;
    struct cb_bench *bench;
    struct cb_learn *learn;
    CB_VEC(const struct cb_event *) events;
    uint64_t random;
    int64_t now_ms;
    const char *press;
    bool taught; /* the learner knows the rows so far */
    double room; /* log: how much slower this room dries than the priors say */
};

static double uniform(struct sitting *sitting)
{
    /* The constants of Knuth's MMIX generator (The Art of Computer Programming, vol. 2). */
    sitting->random =
        sitting->random * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return ((double)(sitting->random >> 11) + 0.5) / 9007199254740992.0;
}

/* Box & Muller 1958. */
static double normal(struct sitting *sitting)
{
    const double u = uniform(sitting);
    const double v = uniform(sitting);
    return sqrt(-2.0 * log(u)) * cos(6.283185307179586 * v);
}

static void begin(struct sitting *sitting, struct cb_event_make *make, enum cb_event_kind kind,
                  bool of_unit)
{
    const struct cb_moment at = {sitting->now_ms, 0, NULL};
    cb_event_begin(make, sitting->arena, kind, of_unit ? sitting->painter->unit : NULL, &at);
    make->event.id =
        cb_arena_printf(sitting->arena, "%s-%05zu", sitting->painter->unit, sitting->events.count);
    if (sitting->press == NULL) {
        sitting->press = make->event.id;
    }
    make->event.press = sitting->press;
}

static void end(struct sitting *sitting, struct cb_event_make *make)
{
    const struct cb_event *event = cb_event_take(make);
    cb_vec_push(&sitting->events, event);
    cb_bench_add(sitting->bench, &event, 1);
    sitting->taught = false;
}

static const struct cb_unit *unit_of(const struct sitting *sitting)
{
    return cb_bench_unit(sitting->bench, 0);
}

static void teach(struct sitting *sitting)
{
    if (!sitting->taught) {
        size_t count;
        const struct cb_row *rows = cb_bench_rows(sitting->bench, &count);
        cb_learn_sync(sitting->learn, rows, count);
        sitting->taught = true;
    }
}

static void plain(struct sitting *sitting, enum cb_event_kind kind, bool of_unit)
{
    struct cb_event_make make;
    sitting->press = NULL;
    begin(sitting, &make, kind, of_unit);
    end(sitting, &make);
}

static void open_session(struct sitting *sitting)
{
    struct cb_event_make make;
    plain(sitting, CB_EVENT_SESSION_OPENED, false);
    sitting->press = NULL;
    begin(sitting, &make, CB_EVENT_CLIMATE_SET, false);
    cb_event_add_number(&make, CB_FIELD_TEMP_C, round((20.0 + 1.5 * normal(sitting)) * 2.0) / 2.0);
    cb_event_add_number(&make, CB_FIELD_RH_PCT, round(55.0 + 7.0 * normal(sitting)));
    cb_event_add_text(&make, CB_FIELD_AIR, "still");
    cb_event_add_text(&make, CB_FIELD_FROM, "typed");
    end(sitting, &make);
}

static void begin_unit(struct sitting *sitting)
{
    struct cb_event_make make;
    sitting->press = NULL;
    begin(sitting, &make, CB_EVENT_UNIT_BEGUN, true);
    cb_event_add_text(&make, CB_FIELD_NAME, sitting->painter->name);
    cb_event_add_int(&make, CB_FIELD_FIGURES, sitting->painter->figures);
    cb_event_add_text(&make, CB_FIELD_RECIPE, sitting->painter->recipe);
    end(sitting, &make);
}

/* Whether the film is really dry by then: its own time, drawn from its place in the unit. */
static bool truly_dry(const struct sitting *sitting, const struct cb_film *film, int64_t at_ms)
{
    struct sitting dice = {.random = sitting->painter->seed ^
                                     ((uint64_t)film->figure * 1000003 +
                                      (uint64_t)film->stage * 10007 + (uint64_t)film->coat * 101)};
    (void)uniform(&dice);
    struct sitting pot = {.random = sitting->painter->seed ^ ((uint64_t)film->technique * 7919)};
    (void)uniform(&pot);
    const double log_time =
        log(film->drying->standard_min) + sitting->room + 0.25 * normal(&pot) + 0.2 * normal(&dice);
    return log(cb_bench_progress(sitting->bench, film, at_ms)) >= log_time;
}

static void check(struct sitting *sitting, struct cb_film_key key, bool dry)
{
    struct cb_event_make make;
    sitting->press = NULL;
    begin(sitting, &make, CB_EVENT_CHECKED, true);
    cb_event_add_int(&make, CB_FIELD_FIGURE, key.figure);
    cb_event_add_int(&make, CB_FIELD_STAGE, key.stage);
    cb_event_add_int(&make, CB_FIELD_COAT, key.coat);
    cb_event_add_text(&make, CB_FIELD_FOUND, dry ? "dry" : "wet");
    end(sitting, &make);
}

/* The bell rang for a film: now and then the painter answers. */
static void ping(struct sitting *sitting, const struct cb_film *film, int64_t due_ms)
{
    struct cb_event_make make;
    const struct cb_film_key key = {film->figure, film->stage, film->coat};
    const bool dry =
        film->drying->from == CB_TIME_WAIT || truly_dry(sitting, film, sitting->now_ms);
    sitting->press = NULL;
    begin(sitting, &make, CB_EVENT_PINGED, true);
    cb_event_add_films(&make, &key, 1);
    cb_event_add_time(&make, CB_FIELD_DUE_AT, due_ms);
    cb_event_add_text(&make, CB_FIELD_BY, "popup");
    end(sitting, &make);
    if (film->drying->from != CB_TIME_WAIT && uniform(sitting) < 0.6) {
        sitting->now_ms += 4000 + (int64_t)(uniform(sitting) * 9000.0);
        check(sitting, key, dry);
    }
}

/* Before the next coat the painter sometimes looks at the last one; true when it was still wet. */
static bool touch(struct sitting *sitting, int figure)
{
    const struct cb_unit *unit = unit_of(sitting);
    for (size_t i = unit->film_count; i > 0; i--) {
        const struct cb_film *film = &unit->films[i - 1];
        if (film->figure != figure || film->lifted_ms != CB_TIME_NONE) {
            continue;
        }
        if (film->dry_ms != CB_TIME_NONE || film->drying->from == CB_TIME_WAIT ||
            !(film->drying->standard_min > 0)) {
            return false;
        }
        const struct cb_film_key key = {film->figure, film->stage, film->coat};
        sitting->now_ms += 3000;
        const bool dry = truly_dry(sitting, film, sitting->now_ms);
        check(sitting, key, dry);
        return !dry;
    }
    return false;
}

/* Hands-on time of a press: as planned for the coat, and for getting the next paint ready, times
 * how this hand differs from the plan. */
static int64_t hand_ms(const struct cb_unit *unit, const struct cb_proposal *next,
                       const struct cb_kinds *kinds, double coat, double change)
{
    double minutes = coat * cb_stage_minutes(&unit->recipe->stages[next->stage - 1], kinds);
    if (next->change_paint) {
        minutes += change * unit->recipe->change_min;
    }
    return (int64_t)(minutes * (double)CB_MS_PER_MIN);
}

static void put_on(struct sitting *sitting, const struct cb_proposal *next)
{
    const double coat = exp(0.05 + 0.22 * normal(sitting));
    const double change = next->change_paint ? exp(0.2 * normal(sitting)) : 1;
    sitting->now_ms += hand_ms(unit_of(sitting), next, sitting->painter->kinds, coat, change);
    sitting->press = NULL;
    const int count = next->together ? next->figure_count : 1;
    for (int i = 0; i < count; i++) {
        struct cb_event_make make;
        begin(sitting, &make, CB_EVENT_COAT_ON, true);
        cb_event_add_int(&make, CB_FIELD_FIGURE, next->figures[i]);
        cb_event_add_int(&make, CB_FIELD_STAGE, next->stage);
        cb_event_add_int(&make, CB_FIELD_COAT, next->coat);
        end(sitting, &make);
    }
}

static void rest(struct sitting *sitting)
{
    plain(sitting, CB_EVENT_PAUSE_BEGUN, false);
    sitting->now_ms += (int64_t)((6.0 + 9.0 * uniform(sitting)) * 60000.0);
    plain(sitting, CB_EVENT_PAUSE_ENDED, false);
}

/* One evening; false when the unit is done. */
static bool evening(struct sitting *sitting)
{
    const int64_t end_ms = sitting->now_ms + (int64_t)(sitting->painter->evening_min *
                                                       (0.9 + 0.2 * uniform(sitting)) * 60000.0);
    const int64_t tea_ms = sitting->now_ms + (end_ms - sitting->now_ms) / 2;
    bool rested = false;
    teach(sitting);
    while (sitting->now_ms < end_ms && sitting->events.count < EVENTS_MAX) {
        const struct cb_unit *unit = unit_of(sitting);
        if (cb_next_all_done(unit)) {
            plain(sitting, CB_EVENT_UNIT_FINISHED, true);
            return false;
        }
        if (!rested && sitting->now_ms >= tea_ms) {
            rest(sitting);
            rested = true;
            continue;
        }
        const struct cb_proposal next =
            cb_next_propose(sitting->bench, sitting->learn, unit, 0, 0, sitting->now_ms);
        if (next.any) {
            if (next.together || uniform(sitting) > TOUCHES || !touch(sitting, next.figure)) {
                put_on(sitting, &next);
            }
            continue;
        }
        teach(sitting);
        const struct cb_film *film = next.wait_for;
        const int64_t ready_ms = next.ready_ms;
        if (ready_ms == CB_TIME_NONE || ready_ms >= end_ms) {
            break;
        }
        sitting->now_ms = ready_ms > sitting->now_ms ? ready_ms : sitting->now_ms;
        sitting->now_ms += 1000;
        if (film != NULL) {
            ping(sitting, film, ready_ms);
        }
    }
    return true;
}

const struct cb_event *const *cb_painter_paint(const struct cb_painter *painter,
                                               struct cb_arena *arena, size_t *count)
{
    struct sitting sitting = {.painter = painter,
                              .arena = arena,
                              .bench = cb_bench_new(painter->kinds, painter->read),
                              .learn = cb_learn_new(NULL),
                              .random = painter->seed,
                              .room = 0.18};
    (void)uniform(&sitting);
    bool more = true;
    for (int day = 0; more && day < painter->evenings_max; day++) {
        sitting.now_ms =
            painter->start_ms + day * DAY_MS + (int64_t)(uniform(&sitting) * 20.0) * CB_MS_PER_MIN;
        open_session(&sitting);
        if (day == 0) {
            begin_unit(&sitting);
        }
        more = evening(&sitting);
        sitting.now_ms += 30000;
        plain(&sitting, CB_EVENT_SESSION_CLOSED, false);
    }
    const struct cb_event **events =
        cb_arena_alloc(arena, sitting.events.count + 1, sizeof *events);
    if (sitting.events.count > 0) {
        memcpy(events, sitting.events.items, sitting.events.count * sizeof *events);
    }
    *count = sitting.events.count;
    cb_vec_free(&sitting.events);
    cb_learn_free(sitting.learn);
    cb_bench_free(sitting.bench);
    return events;
}

int64_t cb_painter_steady(const struct cb_bench *bench, const struct cb_learn *learn,
                          const struct cb_proposal *next, int64_t now_ms, bool *press)
{
    *press = false;
    int front = cb_bench_front(bench);
    if (front < 0) {
        return CB_TIME_NONE;
    }
    const struct cb_unit *unit = cb_bench_unit(bench, (size_t)front);
    if (!next->any) {
        return next->ready_ms;
    }
    /* The brush goes down when the coat became ready, not before: the pause was waiting. */
    int64_t ready_ms = cb_bench_facts(bench).last_mark_ms;
    if (ready_ms == CB_TIME_NONE || ready_ms < unit->begun_ms) {
        ready_ms = unit->begun_ms;
    }
    for (size_t i = 0; i < unit->film_count; i++) {
        const struct cb_film *film = &unit->films[i];
        if (film->figure != next->figure || film->next_ms != CB_TIME_NONE || film->stage == 0 ||
            film->lifted_ms != CB_TIME_NONE) {
            continue;
        }
        struct cb_forecast forecast = cb_forecast_film(bench, learn, film, now_ms);
        int64_t dry_ms = film->check == CB_CHECK_DRY ? film->dry_ms : forecast.due_ms;
        if (dry_ms != CB_TIME_NONE && dry_ms <= now_ms && dry_ms > ready_ms) {
            ready_ms = dry_ms;
        }
    }
    int64_t press_ms = ready_ms + hand_ms(unit, next, cb_bench_kinds(bench), 1, 1);
    *press = press_ms <= now_ms;
    return press_ms;
}
