/* SPDX-License-Identifier: MIT */
/* The review's sums over random logs: every millisecond of a session once, in any merge order. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "core/bench/bench.h"
#include "core/plan/suggest.h"
#include "core/review/effort.h"
#include "core/review/review.h"
#include "core/review/review_walk.h"
#include "shell/yaml.h"

#define EVENTS_MAX 400
#define LOGS       200

static const char recipe_text[] =
    "coatbell: 1\n"
    "name: Two lamplighters\n"
    "figures: 3\n"
    "change: 60 s\n"
    "paints:\n"
    "  rope: {name: Tarred rope, kind: acrylic}\n"
    "  ebb: {name: Ebb wash, kind: wash}\n"
    "areas:\n"
    "  coat: {}\n"
    "  rope: {beside: [coat]}\n"
    "stages:\n"
    "  - {name: Coats, technique: basecoat, paint: rope, on: coat, coats: 2, minutes: 4}\n"
    "  - {name: Ropes, technique: basecoat, paint: rope, on: rope, minutes: 2}\n"
    "  - {name: Shade, technique: wash, paint: ebb, on: whole, minutes: 3}\n";

static const struct cb_kinds *kinds;
static struct cb_arena kinds_arena;

static int load_kinds(void **state)
{
    (void)state;
    const char *root = getenv("CB_ROOT");
    char path[4096];
    snprintf(path, sizeof path, "%s/shared/kinds.yaml", root == NULL ? "." : root);
    char *text;
    size_t length;
    struct cb_err err = {0};
    struct cb_issues issues = {0};
    if (cb_file_read(path, CB_YAML_BYTES_MAX, &kinds_arena, &text, &length, &err) != CB_OK) {
        return -1;
    }
    kinds = cb_kinds_from_tree(cb_yaml_read(text, length, &kinds_arena, &issues), NULL,
                               &kinds_arena, &issues, &issues);
    return kinds == NULL ? -1 : 0;
}

static int drop_kinds(void **state)
{
    (void)state;
    cb_arena_fini(&kinds_arena);
    return 0;
}

static uint64_t seed_state;

static int64_t draw(int64_t below)
{
    seed_state = seed_state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (int64_t)((seed_state >> 33) % (uint64_t)below);
}

struct random_log {
    struct cb_arena arena;
    const struct cb_event *events[EVENTS_MAX];
    size_t count;
    int64_t at_ms, boot_ms;
    int boot;
    bool boots;
    bool two; /* machines */
};

static void begin(struct random_log *log, struct cb_event_make *make, enum cb_event_kind kind,
                  const char *unit)
{
    struct cb_moment at = {log->at_ms, log->boot_ms, NULL};
    if (log->boots) {
        at.boot = cb_arena_printf(&log->arena, "boot-%d", log->boot);
    }
    cb_event_begin(make, &log->arena, kind, unit, &at);
    make->event.id = cb_arena_printf(&log->arena, "e%04zu", log->count);
    make->event.press = make->event.id;
    make->event.machine = log->two && log->count >= 2 && draw(2) == 0 ? "n" : "m";
    make->event.seq = (int64_t)log->count + 1;
}

static void pass_time(struct random_log *log)
{
    const int64_t step = draw(draw(4) == 0 ? 3000000 : 300000);
    log->at_ms += step;
    log->boot_ms += step;
    if (draw(40) == 0) { /* the wall clock is set */
        log->at_ms += draw(7200000) - 3600000;
    }
    if (draw(60) == 0) {
        log->boot++;
        log->boot_ms = draw(100000);
    }
}

static void random_event(struct random_log *log, struct cb_event_make *make)
{
    static const char *const units[] = {"first", "second"};
    static const enum cb_event_kind bare[] = {CB_EVENT_SESSION_CLOSED, CB_EVENT_PAUSE_BEGUN,
                                              CB_EVENT_PAUSE_ENDED, CB_EVENT_PAUSE_ENDED};
    const char *unit = units[draw(2)];
    switch (draw(16)) {
    case 0:
        begin(log, make, CB_EVENT_SESSION_OPENED, NULL);
        cb_event_add_text(make, CB_FIELD_EDITION, "test");
        break;
    case 1:
    case 2:
        begin(log, make, bare[draw(4)], NULL);
        break;
    case 3:
        begin(log, make, CB_EVENT_AWAY, NULL);
        cb_event_add_time(make, CB_FIELD_FROM, log->at_ms - draw(4000000));
        cb_event_add_time(make, CB_FIELD_TO, log->at_ms - draw(2000000));
        break;
    case 4:
        begin(log, make, CB_EVENT_CHORE_DONE, NULL);
        cb_event_add_text(make, CB_FIELD_NAME, "rinse");
        cb_event_add_number(make, CB_FIELD_MINUTES, (double)draw(20));
        break;
    case 5:
        begin(log, make, CB_EVENT_UNIT_OPENED, unit);
        break;
    case 6:
        begin(log, make, CB_EVENT_TIDIED, unit);
        cb_event_add_int(make, CB_FIELD_FIGURE, draw(3) + 1);
        cb_event_add_int(make, CB_FIELD_STAGE, draw(3) + 1);
        break;
    case 7:
        begin(log, make, CB_EVENT_UNDONE, NULL);
        cb_event_add_text(make, CB_FIELD_OF, log->events[draw((int64_t)log->count)]->id);
        break;
    case 8:
        begin(log, make, CB_EVENT_CLIMATE_SET, NULL);
        cb_event_add_number(make, CB_FIELD_TEMP_C, 5.0 + (double)draw(30));
        cb_event_add_number(make, CB_FIELD_RH_PCT, 20.0 + (double)draw(80));
        cb_event_add_text(make, CB_FIELD_AIR, "still");
        cb_event_add_text(make, CB_FIELD_FROM, "typed");
        break;
    default:
        begin(log, make, CB_EVENT_COAT_ON, unit);
        cb_event_add_int(make, CB_FIELD_FIGURE, draw(3) + 1);
        cb_event_add_int(make, CB_FIELD_STAGE, draw(3) + 1);
        cb_event_add_int(make, CB_FIELD_COAT, draw(2) + 1);
        if (draw(4) == 0) {
            cb_event_add_time(make, CB_FIELD_ON_AT, log->at_ms - draw(900000));
        }
        if (draw(6) == 0) {
            cb_event_add_number(make, CB_FIELD_WORK_S, (double)draw(900));
        }
        if (draw(8) == 0) {
            cb_event_add_bool(make, CB_FIELD_BEFORE, true);
        }
    }
}

static void grow(struct random_log *log, size_t count)
{
    static const char *const units[] = {"first", "second"};
    struct cb_event_make make;
    for (int i = 0; i < 2; i++) {
        begin(log, &make, CB_EVENT_UNIT_BEGUN, units[i]);
        cb_event_add_text(&make, CB_FIELD_NAME, units[i]);
        cb_event_add_int(&make, CB_FIELD_FIGURES, 3);
        cb_event_add_text(&make, CB_FIELD_RECIPE, recipe_text);
        log->events[log->count++] = cb_event_take(&make);
    }
    while (log->count < count) {
        pass_time(log);
        random_event(log, &make);
        log->events[log->count++] = cb_event_take(&make);
    }
}

static struct cb_bench *fold(const struct random_log *log, bool backwards)
{
    struct cb_bench *bench = cb_bench_new(kinds, cb_yaml_read);
    if (!backwards) {
        cb_bench_add(bench, log->events, log->count);
        return bench;
    }
    for (size_t i = log->count; i > 0; i--) {
        cb_bench_add(bench, &log->events[i - 1], 1);
    }
    return bench;
}

/* The log cut in two, as two machines would have it, each given in turn: "ab", "ba", "abab". */
static struct cb_bench *merge(const struct random_log *log, const char *turns)
{
    struct cb_bench *bench = cb_bench_new(kinds, cb_yaml_read);
    for (; *turns; turns++) {
        const struct cb_event *half[EVENTS_MAX];
        size_t count = 0;
        for (size_t i = 0; i < log->count; i++) {
            const bool first = log->events[i]->machine[0] == 'm';
            if (first == (*turns == 'a')) {
                half[count++] = log->events[i];
            }
        }
        cb_bench_add(bench, half, count);
    }
    return bench;
}

static void check_sums(const struct cb_review *review, uint64_t seed)
{
    int64_t parts = 0;
    int64_t spans = 0;
    int64_t sessions = 0;
    for (int spent = 0; spent < CB_SPENT_COUNT; spent++) {
        parts += review->spent_ms[spent];
        for (size_t i = 0; i < review->session_count; i++) {
            sessions += review->sessions[i].spent_ms[spent];
        }
    }
    for (size_t i = 0; i < review->span_count; i++) {
        const struct cb_span *span = &review->spans[i];
        const struct cb_review_session *session = &review->sessions[span->session];
        spans += span->to_ms - span->from_ms;
        if (i > 0 && span->session == review->spans[i - 1].session &&
            span->from_ms < review->spans[i - 1].to_ms) {
            fail_msg("seed %llu: span %zu counts time twice", (unsigned long long)seed, i);
        }
        if (span->from_ms < session->from_ms || span->to_ms > session->to_ms) {
            fail_msg("seed %llu: span %zu leaves its session", (unsigned long long)seed, i);
        }
    }
    for (size_t i = 0; i < review->drying_count; i++) {
        const struct cb_review_drying *drying = &review->dryings[i];
        if (drying->to_ms <= drying->from_ms ||
            (i > 0 && drying->from_ms <= review->dryings[i - 1].to_ms)) {
            fail_msg("seed %llu: drying %zu is out of order", (unsigned long long)seed, i);
        }
    }
    for (size_t i = 0; i < review->session_count; i++) {
        const struct cb_review_session *session = &review->sessions[i];
        if (session->drying_ms < 0 || session->drying_ms > session->to_ms - session->from_ms) {
            fail_msg("seed %llu: session %zu dries too long", (unsigned long long)seed, i);
        }
    }
    if (parts != review->session_ms || spans != parts || sessions != parts) {
        fail_msg("seed %llu: in session %lld, parts %lld, spans %lld, sessions %lld",
                 (unsigned long long)seed, (long long)review->session_ms, (long long)parts,
                 (long long)spans, (long long)sessions);
    }
}

static double minutes(int64_t ms)
{
    return (double)ms / 60000;
}

/* Whatever the log holds: no more is said to be saved than was spent, nothing under five minutes,
 * the most first, no more than all at once can be. */
static size_t check_suggestions(const struct cb_review *review, uint64_t seed)
{
    const struct cb_suggestions all = cb_suggest(review, kinds);
    const double spent_min =
        minutes(review->spent_ms[CB_SPENT_HANDS_ON] + review->spent_ms[CB_SPENT_CHANGE] +
                review->spent_ms[CB_SPENT_WAITING]);
    bool good = all.spent_min <= spent_min + 1e-6 && all.replayed_min >= 0 &&
                all.count <= CB_SUGGESTIONS && all.together_min <= all.spent_min;
    for (size_t i = 0; i < all.count; i++) {
        good = good && all.items[i].saves_min >= CB_SUGGEST_MIN &&
               all.items[i].saves_min <= all.spent_min &&
               all.items[i].saves_min <= all.together_min + 1e-6 &&
               (i == 0 || all.items[i].saves_min <= all.items[i - 1].saves_min);
    }
    if (!good) {
        fail_msg("seed %llu: %zu, %g together, of %g", (unsigned long long)seed, all.count,
                 all.together_min, all.spent_min);
    }
    return all.count;
}

static void test_sums_are_exact(void **state)
{
    (void)state;
    size_t suggestions = 0;
    for (uint64_t seed = 1; seed <= LOGS; seed++) {
        struct random_log log = {.at_ms = INT64_C(1767636000000), .boots = seed % 2 == 0};
        seed_state = seed;
        grow(&log, 20 + (size_t)draw(120));
        struct cb_bench *there = fold(&log, false);
        struct cb_bench *back = fold(&log, true);
        struct cb_arena arena = {0};
        for (size_t unit = 0; unit < cb_bench_unit_count(there); unit++) {
            const struct cb_review *a = cb_review_unit(there, unit, CB_TIME_NONE, &arena);
            const struct cb_review *b = cb_review_unit(back, unit, CB_TIME_NONE, &arena);
            check_sums(a, seed);
            check_sums(b, seed);
            suggestions += check_suggestions(a, seed);
            assert_string_equal(a->unit, b->unit);
            assert_memory_equal(a->spent_ms, b->spent_ms, sizeof a->spent_ms);
            assert_memory_equal(a->figure_ms, b->figure_ms, sizeof a->figure_ms);
        }
        cb_arena_fini(&arena);
        cb_bench_free(there);
        cb_bench_free(back);
        cb_arena_fini(&log.arena);
    }
    assert_true(suggestions > 0);
}

static int by_from(const void *a, const void *b)
{
    const struct cb_span *x = a, *y = b;
    return (x->from_ms > y->from_ms) - (x->from_ms < y->from_ms);
}

/* All that sessions of both took, each session once. */
static int64_t sessions_ms(const struct cb_review *a, const struct cb_review *b)
{
    int64_t total = 0;
    for (size_t i = 0; i < a->session_count + b->session_count; i++) {
        const bool second = i >= a->session_count;
        const struct cb_review_session *session =
            second ? &b->sessions[i - a->session_count] : &a->sessions[i];
        bool counted = false;
        for (size_t k = 0; second && k < a->session_count; k++) {
            counted = counted || a->sessions[k].from_ms == session->from_ms;
        }
        total += counted ? 0 : session->to_ms - session->from_ms;
    }
    return total;
}

/* One of two units is in front at every moment: its review has that moment, the other's has not. */
static void test_two_units_share_the_time(void **state)
{
    (void)state;
    size_t shared = 0;
    for (uint64_t seed = 1; seed <= LOGS; seed++) {
        struct random_log log = {.at_ms = INT64_C(1767636000000), .boots = seed % 2 == 0};
        seed_state = seed + 3000;
        grow(&log, 20 + (size_t)draw(120));
        struct cb_bench *bench = fold(&log, false);
        struct cb_arena arena = {0};
        if (cb_bench_unit_count(bench) == 2) {
            const struct cb_review *a = cb_review_unit(bench, 0, CB_TIME_NONE, &arena);
            const struct cb_review *b = cb_review_unit(bench, 1, CB_TIME_NONE, &arena);
            const size_t count = a->span_count + b->span_count;
            struct cb_span *spans = cb_arena_alloc(&arena, count + 1, sizeof *spans);
            memcpy(spans, a->spans, a->span_count * sizeof *spans);
            memcpy(spans + a->span_count, b->spans, b->span_count * sizeof *spans);
            qsort(spans, count, sizeof *spans, by_from);
            for (size_t i = 1; i < count; i++) {
                if (spans[i].from_ms < spans[i - 1].to_ms) {
                    fail_msg("seed %llu: both units have a moment", (unsigned long long)seed);
                }
            }
            if (a->session_ms + b->session_ms != sessions_ms(a, b)) {
                fail_msg("seed %llu: neither unit has a moment", (unsigned long long)seed);
            }
            shared += a->session_ms > 0 && b->session_ms > 0;
        }
        cb_arena_fini(&arena);
        cb_bench_free(bench);
        cb_arena_fini(&log.arena);
    }
    assert_true(shared > LOGS / 4);
}

static void test_merging_changes_nothing(void **state)
{
    (void)state;
    static const char *const turns[] = {"ba", "abab", "bbaa"};
    for (uint64_t seed = 1; seed <= LOGS / 2; seed++) {
        struct random_log log = {
            .at_ms = INT64_C(1767636000000), .boots = seed % 2 == 0, .two = true};
        seed_state = seed + 1000;
        grow(&log, 20 + (size_t)draw(120));
        struct cb_bench *ab = merge(&log, "ab");
        for (size_t t = 0; t < sizeof turns / sizeof *turns; t++) {
            struct cb_bench *other = merge(&log, turns[t]);
            struct cb_arena arena = {0};
            assert_int_equal(cb_bench_unit_count(ab), cb_bench_unit_count(other));
            for (size_t unit = 0; unit < cb_bench_unit_count(ab); unit++) {
                const struct cb_review *a = cb_review_unit(ab, unit, CB_TIME_NONE, &arena);
                const struct cb_review *b = cb_review_unit(other, unit, CB_TIME_NONE, &arena);
                check_sums(a, seed);
                assert_string_equal(a->unit, b->unit);
                assert_int_equal(a->span_count, b->span_count);
                assert_memory_equal(a->spent_ms, b->spent_ms, sizeof a->spent_ms);
                assert_memory_equal(a->figure_ms, b->figure_ms, sizeof a->figure_ms);
            }
            cb_arena_fini(&arena);
            cb_bench_free(other);
        }
        cb_bench_free(ab);
        cb_arena_fini(&log.arena);
    }
}

static void add(struct random_log *log, struct cb_event_make *make)
{
    log->events[log->count++] = cb_event_take(make);
}

/* The first figure's first coat, some minutes on. */
static void coat_after(struct random_log *log, int minutes, enum cb_event_kind kind)
{
    struct cb_event_make make;
    log->at_ms += minutes * CB_MS_PER_MIN;
    begin(log, &make, kind, "first");
    cb_event_add_int(&make, CB_FIELD_FIGURE, 1);
    cb_event_add_int(&make, CB_FIELD_STAGE, 1);
    cb_event_add_int(&make, CB_FIELD_COAT, 1);
    add(log, &make);
}

static void test_told(void **state)
{
    (void)state;
    struct random_log log = {.at_ms = INT64_C(1767636000000)};
    struct cb_event_make make;
    struct cb_arena arena = {0};
    begin(&log, &make, CB_EVENT_SESSION_OPENED, NULL);
    add(&log, &make);
    begin(&log, &make, CB_EVENT_UNIT_BEGUN, "first");
    cb_event_add_int(&make, CB_FIELD_FIGURES, 3);
    cb_event_add_text(&make, CB_FIELD_RECIPE, recipe_text);
    add(&log, &make);
    coat_after(&log, 5, CB_EVENT_COAT_ON);
    coat_after(&log, 60, CB_EVENT_LIFTED);
    coat_after(&log, 60, CB_EVENT_COAT_ON); /* it came up: that is no new coat */
    struct cb_bench *bench = fold(&log, false);
    const struct cb_review *review = cb_review_unit(bench, 0, CB_TIME_NONE, &arena);
    assert_true(review->spent_ms[CB_SPENT_TIDY] > 0);
    assert_true(review->spent_ms[CB_SPENT_HANDS_ON] <= 5 * CB_MS_PER_MIN);
    assert_int_equal(review->question_count, 1);
    char question[CB_REVIEW_QUESTION_SIZE];
    cb_review_question(review->questions[0].from_ms, question);
    begin(&log, &make, CB_EVENT_ANSWERED, NULL);
    cb_event_add_text(&make, CB_FIELD_QUESTION, question);
    cb_event_add_text(&make, CB_FIELD_VALUE, "0");
    add(&log, &make);
    cb_bench_add(bench, &log.events[log.count - 1], 1);
    assert_int_equal(cb_review_unit(bench, 0, CB_TIME_NONE, &arena)->question_count, 0);
    cb_arena_fini(&arena);
    cb_bench_free(bench);
    cb_arena_fini(&log.arena);
}

/* Walks on by so many events at a time. */
static void walk_by(struct cb_review_walk *walk, const struct cb_bench *bench, size_t unit,
                    const struct cb_learn *learn, size_t events)
{
    cb_review_walk_begin(walk, bench, cb_bench_unit(bench, unit), learn, CB_TIME_NONE);
    while (cb_review_walk_on(walk, events)) {
    }
}

/* Who looks away after every event sees the same. */
static void test_cut_in_pieces(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= LOGS / 4; seed++) {
        struct random_log log = {.at_ms = INT64_C(1767636000000), .boots = seed % 2 == 0};
        seed_state = seed + 3000;
        grow(&log, 20 + (size_t)draw(120));
        struct cb_bench *bench = fold(&log, false);
        struct cb_learn *learn = cb_learn_new(NULL);
        struct cb_arena arena = {0};
        for (size_t unit = 0; unit < cb_bench_unit_count(bench); unit++) {
            struct cb_review_walk whole, cut;
            walk_by(&whole, bench, unit, learn, SIZE_MAX);
            walk_by(&cut, bench, unit, learn, 1);
            assert_int_equal(whole.spans.count, cut.spans.count);
            assert_int_equal(whole.questions.count, cut.questions.count);
            for (size_t i = 0; i < cut.spans.count; i++) {
                const struct cb_span *a = &whole.spans.items[i];
                const struct cb_span *b = &cut.spans.items[i];
                assert_true(a->from_ms == b->from_ms && a->to_ms == b->to_ms);
                assert_true(a->spent == b->spent && a->session == b->session);
                assert_true(a->figure == b->figure && a->stage == b->stage && a->coat == b->coat);
            }
            cb_review_walk_fini(&whole);
            cb_review_walk_fini(&cut);
            struct cb_review_work *left = cb_review_begin(bench, unit, CB_TIME_NONE, &arena);
            assert_true(cb_review_step(left));
            assert_null(cb_review_end(left));
        }
        cb_arena_fini(&arena);
        cb_learn_free(learn);
        cb_bench_free(bench);
        cb_arena_fini(&log.arena);
    }
}

static void check_same(const struct cb_review *a, const struct cb_review *b)
{
    assert_string_equal(a->unit, b->unit);
    assert_string_equal(a->name, b->name);
    assert_int_equal(a->figures, b->figures);
    assert_int_equal(a->finished, b->finished);
    assert_true(a->begun_ms == b->begun_ms && a->shift_ms == b->shift_ms);
    assert_string_equal(a->recipe->text, b->recipe->text);
    assert_memory_equal(a->spent_ms, b->spent_ms, sizeof a->spent_ms);
    assert_memory_equal(a->figure_ms, b->figure_ms, sizeof a->figure_ms);
    assert_int_equal(a->span_count, b->span_count);
    for (size_t i = 0; i < a->span_count; i++) {
        const struct cb_span *x = &a->spans[i];
        const struct cb_span *y = &b->spans[i];
        assert_true(x->from_ms == y->from_ms && x->to_ms == y->to_ms && x->spent == y->spent &&
                    x->session == y->session && x->figure == y->figure && x->stage == y->stage &&
                    x->coat == y->coat);
    }
    assert_int_equal(a->session_count, b->session_count);
    for (size_t i = 0; i < a->session_count; i++) {
        assert_true(a->sessions[i].from_ms == b->sessions[i].from_ms &&
                    a->sessions[i].to_ms == b->sessions[i].to_ms &&
                    a->sessions[i].cut_off == b->sessions[i].cut_off &&
                    a->sessions[i].drying_ms == b->sessions[i].drying_ms);
        assert_memory_equal(a->sessions[i].spent_ms, b->sessions[i].spent_ms,
                            sizeof a->sessions[i].spent_ms);
    }
    assert_int_equal(a->drying_count, b->drying_count);
    assert_memory_equal(a->dryings, b->dryings, a->drying_count * sizeof *a->dryings);
    assert_true(a->film_drying_ms == b->film_drying_ms);
    assert_int_equal(a->stage_count, b->stage_count);
    for (size_t i = 0; i < a->stage_count; i++) {
        assert_true(a->stages[i].stage == b->stages[i].stage &&
                    a->stages[i].coats == b->stages[i].coats);
        assert_memory_equal(a->stages[i].spent_ms, b->stages[i].spent_ms,
                            sizeof a->stages[i].spent_ms);
        assert_memory_equal(&a->stages[i].planned_min, &b->stages[i].planned_min, sizeof(double));
    }
    assert_int_equal(a->question_count, b->question_count);
    assert_int_equal(a->paint_count, b->paint_count);
    for (size_t i = 0; i < a->paint_count; i++) {
        assert_string_equal(a->paints[i].pot, b->paints[i].pot);
        assert_string_equal(a->paints[i].name, b->paints[i].name);
    }
}

/* What is kept comes back as it was; what was damaged on the disk is refused or harmless. */
static void test_packed_and_back(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= LOGS / 8; seed++) {
        struct random_log log = {.at_ms = INT64_C(1767636000000)};
        seed_state = seed + 2000;
        grow(&log, 20 + (size_t)draw(120));
        struct cb_bench *bench = fold(&log, false);
        struct cb_arena arena = {0};
        for (size_t unit = 0; unit < cb_bench_unit_count(bench); unit++) {
            const struct cb_review *review = cb_review_unit(bench, unit, CB_TIME_NONE, &arena);
            struct cb_review back;
            struct cb_str out = {0};
            cb_review_pack(review, &out);
            const char *bytes = out.text;
            const size_t length = out.length;
            assert_true(cb_review_unpack(bytes, length, review->recipe, &arena, &back));
            check_same(review, &back);
            for (size_t cut = 0; cut < length; cut += 1 + length / 40) {
                struct cb_arena own = {0};
                assert_false(cb_review_unpack(bytes, cut, review->recipe, &own, &back));
                cb_arena_fini(&own);
            }
            char *damaged = cb_arena_alloc(&arena, length, 1);
            for (int i = 0; i < 40; i++) {
                struct cb_arena own = {0};
                memcpy(damaged, bytes, length);
                damaged[draw((int64_t)length)] ^= (char)(1 << draw(8));
                if (cb_review_unpack(damaged, length, review->recipe, &own, &back)) {
                    const struct cb_effort effort = cb_effort_of(&back, kinds, &own);
                    assert_true(effort.session_count == back.session_count);
                }
                cb_arena_fini(&own);
            }
            cb_str_fini(&out);
        }
        cb_arena_fini(&arena);
        cb_bench_free(bench);
        cb_arena_fini(&log.arena);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sums_are_exact),
        cmocka_unit_test(test_two_units_share_the_time),
        cmocka_unit_test(test_merging_changes_nothing),
        cmocka_unit_test(test_told),
        cmocka_unit_test(test_cut_in_pieces),
        cmocka_unit_test(test_packed_and_back),
    };
    return cmocka_run_group_tests_name("review sums", tests, load_kinds, drop_kinds);
}
