/* SPDX-License-Identifier: MIT */
/* What is kept of finished units is what would be made of them now, to the bit: after every append
 * to random logs that undo and redo over many evenings, tell of absences late, join pots, set the
 * air of places, and take in what another machine wrote. Argument: how many logs of 100 appends
 * (default 4). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "core/bench/pot_share.h"
#include "shell/history.h"
#include "shell/paths.h"
#include "shell/store.h"
#include "shell/yaml.h"
#include "support/events.h"

enum { APPENDS = 100, UNITS = 4 };
static int logs = 4;

static const char recipe_text[] =
    "coatbell: 1\n"
    "name: Two lamplighters\n"
    "figures: 2\n"
    "change: 60 s\n"
    "paints:\n"
    "  rope: {name: Tarred rope, kind: acrylic, tone: dark}\n"
    "  ebb: {name: Ebb wash, kind: wash}\n"
    "areas:\n"
    "  coat: {}\n"
    "  rope: {}\n"
    "stages:\n"
    "  - {name: Coats, technique: basecoat, paint: rope, on: coat, coats: 2, minutes: 4}\n"
    "  - {name: Ropes, technique: basecoat, paint: rope, on: rope, minutes: 2}\n"
    "  - {name: Shade, technique: wash, paint: ebb, on: whole, minutes: 3, place: shed}\n";
static const char other_text[] =
    "coatbell: 1\n"
    "name: Two lamplighters\n"
    "figures: 2\n"
    "paints: {ebb: {name: Ebb wash, kind: wash}}\n"
    "stages:\n"
    "  - {name: Coats, technique: wash, paint: ebb, coats: 2, minutes: 4}\n"
    "  - {name: Shade, technique: wash, paint: ebb, minutes: 3}\n";

static const struct cb_kinds *kinds;
static struct cb_arena session;

struct log {
    struct dice dice;
    struct cb_arena arena;
    struct cb_store *store;
    int64_t at_ms, boot_ms;
    int boot;
    const char *presses[2][4 * APPENDS]; /* ours, the other machine's */
    size_t press_count[2];
    int events;
    size_t kept, compared, units_finished;
};

static int64_t draw(struct log *log, int64_t below)
{
    return (int64_t)dice_below(&log->dice, (uint64_t)below);
}

static void pass_time(struct log *log)
{
    const int64_t minute = 60000;
    int64_t step = draw(log, 8 * minute);
    if (draw(log, 12) == 0) {
        step = draw(log, 3 * 24 * 60 * minute); /* another evening */
    }
    log->at_ms += step;
    log->boot_ms += step;
    if (draw(log, 40) == 0) {
        log->at_ms += draw(log, 120 * minute) - 60 * minute; /* the clock is set */
    }
    if (draw(log, 15) == 0) {
        log->boot++;
        log->boot_ms = draw(log, 100000);
    }
}

static const char *some_unit(struct log *log)
{
    static const char *const units[UNITS] = {"u1", "u2", "u3", "u4"};
    return units[draw(log, UNITS)];
}

static void film(struct log *log, struct cb_event_make *make)
{
    cb_event_add_int(make, CB_FIELD_FIGURE, draw(log, 2) + 1);
    cb_event_add_int(make, CB_FIELD_STAGE, draw(log, 3) + 1);
}

static void climate(struct log *log, struct cb_event_make *make)
{
    static const char *const airs[] = {"still", "fan"};
    cb_event_add_number(make, CB_FIELD_TEMP_C, 8.0 + (double)draw(log, 20));
    cb_event_add_number(make, CB_FIELD_RH_PCT, 30.0 + (double)draw(log, 60));
    cb_event_add_text(make, CB_FIELD_AIR, airs[draw(log, 2)]);
    if (draw(log, 3) == 0) {
        cb_event_add_text(make, CB_FIELD_PLACE, draw(log, 2) == 0 ? "shed" : "loft");
    }
    cb_event_add_text(make, CB_FIELD_FROM, draw(log, 3) == 0 ? "sensor" : "typed");
}

/* A moment that was: of this evening, or of long ago. */
static int64_t before(const struct log *log, struct log *dice)
{
    const int64_t minute = 60000;
    return log->at_ms - draw(dice, draw(dice, 3) == 0 ? 20 * 24 * 60 * minute : 90 * minute);
}

static void told(struct log *log, struct cb_event_make *make, const struct cb_moment *at, bool away)
{
    const int64_t from_ms = before(log, log);
    if (away) {
        cb_event_begin(make, &log->arena, CB_EVENT_AWAY, NULL, at);
        cb_event_add_time(make, CB_FIELD_FROM, from_ms);
        cb_event_add_time(make, CB_FIELD_TO, from_ms + draw(log, 1800000));
        return;
    }
    char question[CB_REVIEW_QUESTION_SIZE];
    cb_review_question(from_ms, question);
    cb_event_begin(make, &log->arena, CB_EVENT_ANSWERED, NULL, at);
    cb_event_add_text(make, CB_FIELD_QUESTION, question);
    cb_event_add_text(make, CB_FIELD_VALUE, "0");
}

/* The answer to a question that a review really asks. */
static bool answer_question(struct log *log, struct cb_event_make *make, const struct cb_moment *at)
{
    struct cb_bench *bench;
    const char *unit = some_unit(log);
    const struct cb_store_filter filter = {.unit = unit};
    bool asked = false;
    assert_int_equal(cb_history_bench(log->store, &filter, kinds, &bench, NULL, NULL), CB_OK);
    const int number = cb_bench_find_unit(bench, unit);
    if (number >= 0) {
        const struct cb_review *review =
            cb_review_unit(bench, (size_t)number, CB_TIME_NONE, &log->arena);
        asked = review->question_count > 0;
        if (asked) {
            const struct cb_span *span =
                &review->questions[draw(log, (int64_t)review->question_count)];
            cb_event_begin(make, &log->arena, CB_EVENT_AWAY, NULL, at);
            cb_event_add_time(make, CB_FIELD_FROM, span->from_ms + review->shift_ms);
            cb_event_add_time(make, CB_FIELD_TO, span->to_ms + review->shift_ms);
        }
    }
    cb_bench_free(bench);
    return asked;
}

/* Another painter's coats. */
static void give(struct log *log, struct cb_event_make *make, const struct cb_moment *at)
{
    const double low_min = 5 + (double)draw(log, 3);
    const struct cb_pot_given given = {.paint = draw(log, 2) == 0 ? "Tarred rope" : "Ebb wash",
                                       .kind = draw(log, 2) == 0 ? "acrylic" : "wash",
                                       .technique = "basecoat",
                                       .median_min = low_min + 1,
                                       .low_min = low_min,
                                       .high_min = low_min + 2,
                                       .coats = 1 + (int)draw(log, 4)};
    cb_pot_given_event(&given, &log->arena, at, make);
}

static void make_event(struct log *log, struct cb_event_make *make, const struct cb_moment *at,
                       int machine)
{
    const char *unit = some_unit(log);
    struct cb_arena *arena = &log->arena;
    const int64_t kind = draw(log, 40);
    if (kind < 4) {
        cb_event_begin(make, arena, kind < 2 ? CB_EVENT_SESSION_OPENED : CB_EVENT_SESSION_CLOSED,
                       NULL, at);
        if (kind < 2) {
            cb_event_add_text(make, CB_FIELD_EDITION, "test");
        }
    } else if (kind < 9 && log->press_count[machine] > 0) {
        const int64_t presses = (int64_t)log->press_count[machine];
        const int64_t back =
            draw(log, 2) == 0 ? draw(log, presses) : draw(log, presses < 6 ? presses : 6);
        cb_event_begin(make, arena, CB_EVENT_UNDONE, NULL, at);
        cb_event_add_text(make, CB_FIELD_OF, log->presses[machine][presses - 1 - back]);
    } else if (kind < 11) {
        cb_event_begin(make, arena, kind < 10 ? CB_EVENT_PAUSE_BEGUN : CB_EVENT_PAUSE_ENDED, NULL,
                       at);
    } else if (kind == 11) {
        if (!answer_question(log, make, at)) {
            told(log, make, at, true);
        }
    } else if (kind == 12) {
        told(log, make, at, draw(log, 2) == 0);
    } else if (kind == 13) {
        cb_event_begin(make, arena, CB_EVENT_CHORE_DONE, NULL, at);
        cb_event_add_text(make, CB_FIELD_NAME, "rinse");
        cb_event_add_number(make, CB_FIELD_MINUTES, (double)draw(log, 20));
    } else if (kind < 16) {
        cb_event_begin(make, arena, CB_EVENT_CLIMATE_SET, NULL, at);
        climate(log, make);
    } else if (kind == 16) {
        cb_event_begin(make, arena, CB_EVENT_PAINT_JOINED, NULL, at);
        cb_event_add_text(make, CB_FIELD_FROM, "Ebb wash");
        cb_event_add_text(make, CB_FIELD_TO, draw(log, 2) == 0 ? "Tarred rope" : "Ebb wash (new)");
    } else if (kind == 17) {
        cb_event_begin(make, arena, CB_EVENT_CONFIDENCE_SET, NULL, at);
        cb_event_add_number(make, CB_FIELD_PCT, 60 + (double)draw(log, 7) * 5);
    } else if (kind == 18) {
        if (draw(log, 2) == 0) {
            give(log, make, at);
            return;
        }
        cb_event_begin(make, arena, CB_EVENT_BOTTLE_NEW, NULL, at);
        cb_event_add_text(make, CB_FIELD_PAINT, "Tarred rope");
    } else if (kind < 21) {
        cb_event_begin(make, arena, CB_EVENT_UNIT_FINISHED, unit, at);
        if (draw(log, 3) == 0) {
            cb_event_add_bool(make, CB_FIELD_LEFT, true);
        }
    } else if (kind == 21) {
        cb_event_begin(make, arena, CB_EVENT_UNIT_OPENED, unit, at);
    } else if (kind == 22) {
        cb_event_begin(make, arena, CB_EVENT_RECIPE_CHANGED, unit, at);
        cb_event_add_text(make, CB_FIELD_RECIPE, draw(log, 2) == 0 ? recipe_text : other_text);
    } else if (kind == 23) {
        cb_event_begin(make, arena, CB_EVENT_LIFTED, unit, at);
        film(log, make);
        cb_event_add_int(make, CB_FIELD_COAT, 1);
    } else if (kind == 24) {
        cb_event_begin(make, arena, CB_EVENT_TIDIED, unit, at);
        film(log, make);
    } else if (kind < 29) {
        cb_event_begin(make, arena, CB_EVENT_CHECKED, unit, at);
        film(log, make);
        cb_event_add_int(make, CB_FIELD_COAT, draw(log, 2) + 1);
        cb_event_add_text(make, CB_FIELD_FOUND, draw(log, 2) == 0 ? "dry" : "wet");
        if (draw(log, 3) == 0) {
            cb_event_add_time(make, CB_FIELD_SEEN_AT, log->at_ms - draw(log, 900000));
        }
    } else if (kind == 29) {
        const struct cb_film_key key = {(int)draw(log, 2) + 1, (int)draw(log, 3) + 1, 1};
        cb_event_begin(make, arena, CB_EVENT_PINGED, unit, at);
        cb_event_add_films(make, &key, 1);
        cb_event_add_time(make, CB_FIELD_DUE_AT, log->at_ms);
        cb_event_add_text(make, CB_FIELD_BY, "popup");
    } else {
        cb_event_begin(make, arena, CB_EVENT_COAT_ON, unit, at);
        film(log, make);
        cb_event_add_int(make, CB_FIELD_COAT, draw(log, 2) + 1);
        if (draw(log, 5) == 0) {
            cb_event_add_time(make, CB_FIELD_ON_AT, log->at_ms - draw(log, 900000));
        }
    }
}

static void begin_unit(struct log *log, struct cb_event_make *make, const struct cb_moment *at,
                       const char *unit)
{
    cb_event_begin(make, &log->arena, CB_EVENT_UNIT_BEGUN, unit, at);
    cb_event_add_text(make, CB_FIELD_NAME, unit);
    cb_event_add_int(make, CB_FIELD_FIGURES, 2);
    cb_event_add_text(make, CB_FIELD_RECIPE, recipe_text);
}

static enum cb_status hand_over(void *context, const struct cb_event **event, struct cb_err *err)
{
    const struct cb_event **next = context;
    (void)err;
    *event = *next;
    *next = NULL;
    return CB_OK;
}

/* What another machine wrote, at times of its own. */
static void import_one(struct log *log)
{
    struct cb_event_make make;
    struct cb_err err = {0};
    size_t added;
    const struct cb_moment at = {before(log, log), 0, NULL};
    make_event(log, &make, &at, 1);
    make.event.id = cb_arena_printf(&log->arena, "n%d", log->events);
    make.event.press = make.event.id;
    make.event.machine = "n";
    make.event.seq = log->events + 1;
    const struct cb_event *event = cb_event_take(&make);
    log->presses[1][log->press_count[1]++] = event->press;
    if (cb_store_import(log->store, hand_over, &event, &added, &err) != CB_OK) {
        fail_msg("%s", err.text);
    }
}

static void append_one(struct log *log, int n)
{
    const struct cb_event *events[2];
    const struct cb_event **stored;
    struct cb_event_make make;
    struct cb_err err = {0};
    size_t count = 0;
    char boot[16];
    snprintf(boot, sizeof boot, "boot-%d", log->boot);
    const struct cb_moment at = {log->at_ms, log->boot_ms,
                                 log->dice.state % 5 ? cb_arena_text(&log->arena, boot) : NULL};
    if (n < UNITS) {
        static const char *const units[UNITS] = {"u1", "u2", "u3", "u4"};
        begin_unit(log, &make, &at, units[n]);
    } else {
        make_event(log, &make, &at, 0);
    }
    events[count++] = cb_event_take(&make);
    if (n >= UNITS && draw(log, 6) == 0) { /* a press of two */
        make_event(log, &make, &at, 0);
        events[count++] = cb_event_take(&make);
    }
    if (cb_store_append(log->store, events, count, &log->arena, &stored, &err) != CB_OK) {
        fail_msg("%s", err.text);
    }
    log->presses[0][log->press_count[0]++] = stored[0]->press;
}

static void compare(struct log *log, uint64_t seed, int n)
{
    struct cb_history *history;
    struct cb_err err = {0};
    size_t count;
    assert_int_equal(cb_history_open(log->store, kinds, &history, &err), CB_OK);
    const struct cb_store_unit *units = cb_history_units(history, &count);
    for (size_t i = 0; i < count; i++) {
        bool kept, same;
        struct cb_lesson lesson;
        struct cb_arena arena = {0};
        if (!units[i].finished) {
            continue;
        }
        log->units_finished++;
        if (cb_history_compare(history, &units[i], &kept, &same, &err) != CB_OK) {
            fail_msg("seed %llu, append %d: %s", (unsigned long long)seed, n, err.text);
        }
        if (!same) {
            fail_msg("seed %llu, append %d: what is kept of %s is not what would be made of it",
                     (unsigned long long)seed, n, units[i].id);
        }
        log->kept += kept;
        if (!kept) { /* from here on it is */
            assert_int_equal(cb_history_lesson(history, &units[i], &arena, &lesson, &err), CB_OK);
        }
        cb_arena_fini(&arena);
    }
    log->compared++;
    cb_history_close(history);
}

/* What an opening reads of the map of the log brings the same events as the whole of it. */
static void compare_open(struct log *log, uint64_t seed, int n)
{
    const struct cb_store_filter open = {.open_units = true};
    struct cb_arena arena = {0};
    const struct cb_event **events[2];
    const struct cb_store_unit *units;
    size_t counts[2], count;
    assert_int_equal(cb_store_load(log->store, &open, &arena, &events[0], &counts[0], NULL, NULL),
                     CB_OK);
    assert_int_equal(cb_store_units(log->store, &arena, &units, &count, NULL), CB_OK);
    assert_int_equal(cb_store_load(log->store, &open, &arena, &events[1], &counts[1], NULL, NULL),
                     CB_OK);
    if (counts[0] != counts[1]) {
        fail_msg("seed %llu, append %d: an opening reads %zu events and not %zu",
                 (unsigned long long)seed, n, counts[0], counts[1]);
    }
    for (size_t i = 0; i < counts[0]; i++) {
        assert_string_equal(events[0][i]->id, events[1][i]->id);
    }
    cb_arena_fini(&arena);
}

static void test_kept_equals_fresh(void **state)
{
    (void)state;
    size_t kept = 0, finished = 0, compared = 0;
    for (uint64_t seed = 1; seed <= (uint64_t)logs; seed++) {
        struct log log = {.dice = {seed}, .at_ms = INT64_C(1767636000000)};
        assert_int_equal(cb_store_open(NULL, CB_STORE_APPEND, &log.store, NULL), CB_OK);
        for (int n = 0; n < APPENDS; n++) {
            pass_time(&log);
            if (n >= UNITS && draw(&log, 6) == 0) {
                import_one(&log);
            } else {
                append_one(&log, n);
            }
            log.events++;
            compare_open(&log, seed, n);
            compare(&log, seed, n);
        }
        kept += log.kept;
        finished += log.units_finished;
        compared += log.compared;
        cb_store_close(log.store);
        cb_arena_fini(&log.arena);
    }
    printf("%zu appends, %zu finished units looked at, %zu of them kept from before\n", compared,
           finished, kept);
    assert_true(kept > finished / 4); /* else nothing was compared */
}

/* An evening at two units, as one hand paints: opened, coats, some taken back, another recipe. */
static void paint_on(struct log *log, const struct cb_unit *front, struct cb_event_make *make,
                     const struct cb_moment *at)
{
    const char *unit = front->id;
    switch (draw(log, 8)) {
    case 0:
        cb_event_begin(make, &log->arena, CB_EVENT_UNIT_OPENED, some_unit(log), at);
        break;
    case 1:
        cb_event_begin(make, &log->arena, CB_EVENT_UNDONE, NULL, at);
        cb_event_add_text(make, CB_FIELD_OF, log->presses[0][log->press_count[0] - 1]);
        break;
    case 2:
        if (draw(log, 4) == 0) {
            cb_event_begin(make, &log->arena, CB_EVENT_RECIPE_CHANGED, unit, at);
            cb_event_add_text(make, CB_FIELD_RECIPE, draw(log, 2) == 0 ? recipe_text : other_text);
        } else if (draw(log, 3) == 0) {
            cb_event_begin(make, &log->arena, CB_EVENT_SWAPPED, unit, at);
            cb_event_add_text(make, CB_FIELD_PAINT, "ebb");
            cb_event_add_text(make, CB_FIELD_NAME, "Tarred rope");
            cb_event_add_text(make, CB_FIELD_KIND, "acrylic");
        } else {
            cb_event_begin(make, &log->arena, CB_EVENT_SESSION_OPENED, NULL, at);
            cb_event_add_text(make, CB_FIELD_EDITION, "test");
        }
        break;
    default:
        cb_event_begin(make, &log->arena, CB_EVENT_COAT_ON, unit, at);
        cb_event_add_int(make, CB_FIELD_FIGURE, draw(log, 2) + 1);
        cb_event_add_int(make, CB_FIELD_STAGE, draw(log, (int64_t)front->recipe->stage_count) + 1);
        cb_event_add_int(make, CB_FIELD_COAT, ++log->events);
        if (draw(log, 8) == 0) {
            cb_event_add_bool(make, CB_FIELD_BEFORE, true);
        }
        break;
    }
}

/* The review of a unit rests on rows of others too: of what was in front, and what was on the brush
 * when it came back. Of its own rows and those it says the same as of the whole log. */
static void test_alone_says_what_the_whole_log_says(void **state)
{
    (void)state;
    size_t changes = 0;
    for (uint64_t seed = 1; seed <= (uint64_t)(10 * logs); seed++) {
        struct log log = {.dice = {seed}, .at_ms = INT64_C(1767636000000)};
        struct cb_err err = {0};
        struct cb_bench *whole;
        const struct cb_store_filter all = {0};
        assert_int_equal(cb_store_open(NULL, CB_STORE_APPEND, &log.store, NULL), CB_OK);
        struct cb_bench *hand = cb_bench_new(kinds, cb_yaml_read);
        for (int n = 0; n < APPENDS; n++) {
            struct cb_event_make make;
            const struct cb_event **stored;
            log.at_ms += draw(&log, 400000);
            const struct cb_moment at = {log.at_ms, 0, NULL};
            if (n < UNITS) {
                static const char *const units[UNITS] = {"u1", "u2", "u3", "u4"};
                begin_unit(&log, &make, &at, units[n]);
            } else {
                const int front = cb_bench_front(hand);
                paint_on(&log, cb_bench_unit(hand, front < 0 ? 0 : (size_t)front), &make, &at);
            }
            const struct cb_event *event = cb_event_take(&make);
            if (cb_store_append(log.store, &event, 1, &log.arena, &stored, &err) != CB_OK) {
                fail_msg("%s", err.text);
            }
            cb_bench_add(hand, stored, 1);
            log.presses[0][log.press_count[0]++] = stored[0]->press;
        }
        cb_bench_free(hand);
        assert_int_equal(cb_history_bench(log.store, &all, kinds, &whole, NULL, &err), CB_OK);
        for (size_t u = 0; u < cb_bench_unit_count(whole); u++) {
            const struct cb_store_filter filter = {.unit = cb_bench_unit(whole, u)->id};
            struct cb_bench *bench;
            assert_int_equal(cb_history_bench(log.store, &filter, kinds, &bench, NULL, &err),
                             CB_OK);
            const int alone = cb_bench_find_unit(bench, filter.unit);
            const struct cb_review *a =
                cb_review_unit(bench, (size_t)alone, CB_TIME_NONE, &log.arena);
            const struct cb_review *b = cb_review_unit(whole, u, CB_TIME_NONE, &log.arena);
            changes += b->spent_ms[CB_SPENT_CHANGE] > 0;
            if (a->spent_ms[CB_SPENT_CHANGE] != b->spent_ms[CB_SPENT_CHANGE] ||
                a->session_ms != b->session_ms) {
                fail_msg("seed %llu: %s alone: change %lld of %lld, in the whole log %lld of %lld",
                         (unsigned long long)seed, filter.unit,
                         (long long)a->spent_ms[CB_SPENT_CHANGE], (long long)a->session_ms,
                         (long long)b->spent_ms[CB_SPENT_CHANGE], (long long)b->session_ms);
            }
            cb_bench_free(bench);
        }
        cb_bench_free(whole);
        cb_store_close(log.store);
        cb_arena_fini(&log.arena);
    }
    assert_true(changes > (size_t)logs);
}

static int load(void **state)
{
    (void)state;
    return cb_paths_kinds(&session, &kinds, NULL) == CB_OK ? 0 : -1;
}

static int drop(void **state)
{
    (void)state;
    cb_arena_fini(&session);
    return 0;
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_kept_equals_fresh),
        cmocka_unit_test(test_alone_says_what_the_whole_log_says),
    };
    logs = argc > 1 ? (int)strtol(argv[1], NULL, 10) : logs;
    return cmocka_run_group_tests_name("kept", tests, load, drop);
}
