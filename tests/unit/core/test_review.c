/* SPDX-License-Identifier: MIT */
/* Where the hours went, by the rule in coatbell(1), REVIEW: each part, its bounds, and the sums. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "core/review/review.h"
#include "support/world.h"

#define COUNT(list) (sizeof(list) / sizeof *(list))

/* On one figure Two can go on 12 minutes after Base; a brush change takes one. */
static const char *const recipe =
    "{coatbell: 1, name: r, change: 1, paints: {rope: {name: Tarred rope, kind: acrylic},"
    " green: {name: Oilskin green, kind: acrylic}}, stages: ["
    "{name: Base, technique: basecoat, paint: rope, wait: 12, minutes: 4},"
    "{name: Two, technique: basecoat, paint: green, wait: 12, minutes: 5},"
    "{name: Go, technique: varnish, paint: green, wait: 12, minutes: 6, together: yes}]}";

static int64_t start_ms;

/* "MINUTE event unit fields; ..." from an opened session on; "+ event ..." is of the press before,
 * "MINUTE on STAGE FIGURE.." a press of coats, "MINUTE no FROM" says that nobody was away. */
static void play(struct world *world, const char *script)
{
    char text[1024], *rest = NULL;
    snprintf(text, sizeof text, "%s", script);
    for (char *line = strtok_r(text, ";", &rest); line; line = strtok_r(NULL, ";", &rest)) {
        const double minute = strtod(line, &line);
        char *word = line + strspn(line, " ");
        world_wait(world, minute - (double)(world->now.wall_ms - start_ms) / 60000);
        if (strncmp(word, "on ", 3) == 0) {
            char *at = word + 3;
            const int stage = (int)strtol(at, &at, 10);
            world->presses++;
            for (int figure = (int)strtol(at, &at, 10); figure > 0;
                 figure = (int)strtol(at, &at, 10)) {
                world_also(world,
                           cb_arena_printf(&world->arena, "coat_on u figure=%d stage=%d coat=1%s",
                                           figure, stage, strchr(at, '=') ? at : ""));
                at += strchr(at, '=') ? strlen(at) : 0;
            }
        } else if (strncmp(word, "no ", 3) == 0) {
            char question[CB_REVIEW_QUESTION_SIZE];
            cb_review_question(start_ms + (int64_t)(strtod(word + 3, NULL) * 60000), question);
            world_do(world,
                     cb_arena_printf(&world->arena, "answered - question='%s' value=0", question));
        } else if (strncmp(word, "undo", 4) == 0) {
            world_undo(world);
        } else {
            world_do(world, word);
        }
    }
}

static void begin(struct world *world, int figures)
{
    world_init(world);
    start_ms = world->now.wall_ms;
    world_do(world, "session_opened -");
    world_do(world, "climate_set - temp_c=23 rh_pct=50 air=still");
    world_begin(world, "u", figures, recipe);
}

static double minutes(int64_t ms)
{
    return (double)ms / 60000;
}

/* "hands-on change waiting chore tidy pause away; from-to of each question" */
static const char *told(const struct cb_review *review, struct cb_arena *arena)
{
    const char *text = "";
    for (int i = 0; i < CB_SPENT_COUNT; i++) {
        text = cb_arena_printf(arena, "%s%s%g", text, i ? " " : "", minutes(review->spent_ms[i]));
    }
    for (size_t i = 0; i < review->question_count; i++) {
        text = cb_arena_printf(arena, "%s; %g-%g", text,
                               minutes(review->questions[i].from_ms - start_ms),
                               minutes(review->questions[i].to_ms - start_ms));
    }
    return text;
}

static void check_sums(const struct cb_review *review)
{
    int64_t parts = 0, spans = 0, sessions = 0, end_ms = INT64_MIN;
    for (int i = 0; i < CB_SPENT_COUNT; i++) {
        parts += review->spent_ms[i];
        for (size_t s = 0; s < review->session_count; s++) {
            sessions += review->sessions[s].spent_ms[i];
        }
    }
    for (size_t i = 0; i < review->span_count; i++) {
        const struct cb_span *span = &review->spans[i];
        assert_true(span->from_ms >= end_ms && span->to_ms > span->from_ms);
        end_ms = span->to_ms;
        spans += span->to_ms - span->from_ms;
    }
    assert_true(parts == review->session_ms && spans == parts && sessions == parts);
}

struct gap {
    const char *script, *told;
    int figures;     /* 0: one */
    double live_min; /* 0: the log is all there is */
};

static void check(const struct gap *gaps, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        struct world world;
        begin(&world, gaps[i].figures ? gaps[i].figures : 1);
        play(&world, gaps[i].script);
        const int64_t until_ms =
            gaps[i].live_min > 0 ? start_ms + llround(gaps[i].live_min * 60000) : CB_TIME_NONE;
        const struct cb_review *review = cb_review_unit(world.bench, 0, until_ms, &world.arena);
        const char *said = told(review, &world.arena);
        if (strcmp(said, gaps[i].told) != 0) {
            fail_msg("%s: %s, wanted %s", gaps[i].script, said, gaps[i].told);
        }
        check_sums(review);
        world_fini(&world);
    }
}

static void test_between_marks(void **state)
{
    (void)state;
    static const struct gap gaps[] = {
        {.script = "5 on 1 1;5 session_closed -", .told = "4 1 0 0 0 0 0"},
        {.script = "0.5 on 1 1;0.5 session_closed -", .told = "0 0.5 0 0 0 0 0"},
        /* until 17 nothing can go on; then the change; hands-on up to three times five */
        {.script = "5 on 1 1;16 on 2 1;16 session_closed -", .told = "4 1 11 0 0 0 0"},
        {.script = "5 on 1 1;17.5 on 2 1;17.5 session_closed -", .told = "4 1.5 12 0 0 0 0"},
        {.script = "5 on 1 1;33 on 2 1;33 session_closed -", .told = "19 2 12 0 0 0 0"},
        {.script = "5 on 1 1;37.99 on 2 1;37.99 session_closed -", .told = "23.99 2 12 0 0 0 0"},
        {.script = "5 on 1 1;38 on 2 1;38 session_closed -", .told = "24 2 12 0 0 0 0; 18-23"},
        {.script = "5 on 1 1;38 on 2 1;38 no 18;38 session_closed -", .told = "24 2 12 0 0 0 0"},
        {.script = "5 on 1 1;38 on 2 1;38 no 19;38 session_closed -",
         .told = "24 2 12 0 0 0 0; 18-23"},
        /* the same paint again is no change */
        {.script = "5 on 1 1;9 on 1 2;9 session_closed -", .told = "8 1 0 0 0 0 0", .figures = 2},
        /* what was expected of two figures is both, in a together go one */
        {.script = "25 on 1 1 2;25 session_closed -", .told = "24 1 0 0 0 0 0", .figures = 2},
        {.script = "30 on 1 1 2;30 session_closed -", .told = "29 1 0 0 0 0 0; 1-6", .figures = 2},
        {.script = "24 on 3 1 2;24 session_closed -", .told = "23 1 0 0 0 0 0; 1-6", .figures = 2},
        /* the painter said how long it took: nothing is asked */
        {.script = "50 on 1 1 work_s=120;50 session_closed -", .told = "2 1 47 0 0 0 0"},
        {.script = "5 on 1 1 work_s=270;5 session_closed -", .told = "4.5 0.5 0 0 0 0 0"},
        {.script = "5 on 1 1 work_s=900;5 session_closed -", .told = "5 0 0 0 0 0 0"},
        /* told late: the mark stands where the coat went on */
        {.script = "20 on 1 1 on_at=-6;20 session_closed -", .told = "13 1 6 0 0 0 0"},
        /* undone: never there */
        {.script = "5 on 1 1;7 on 1 2;8 undo;11 on 1 2;11 session_closed -",
         .told = "10 1 0 0 0 0 0",
         .figures = 2},
        /* a slip takes two minutes at the most; before it a figure was painted, and a coat that
         * came up is tidying up */
        {.script = "5 on 1 1;9 tidied u figure=1 stage=1;9 session_closed -",
         .told = "6 1 0 0 2 0 0",
         .figures = 2},
        {.script = "5 on 1 1;6.5 tidied u figure=1 stage=1;6.5 session_closed -",
         .told = "4 1 0 0 1.5 0 0",
         .figures = 2},
        {.script = "5 on 1 1;9 lifted u figure=1 stage=1 coat=1;12 on 1 1;12 session_closed -",
         .told = "4 1 4 0 3 0 0"},
    };
    check(gaps, COUNT(gaps));
}

/* Looking for brush and pot lies before the first figure of a stage. */
static void test_first_mark(void **state)
{
    (void)state;
    static const struct gap gaps[] = {
        {.script = "6 on 1 1;10 on 1 2;14 on 1 3;14 session_closed -",
         .told = "12 2 0 0 0 0 0",
         .figures = 3},
        /* three times the recipe's change at most, the change that was there among them */
        {.script = "12 on 1 1;16 on 1 2;20 on 1 3;20 session_closed -",
         .told = "17 3 0 0 0 0 0",
         .figures = 3},
        /* the middle of the others, whatever one of them took; none is less than it was */
        {.script = "6 on 1 1;10 on 1 2;40 on 1 3;44 on 1 4;44 session_closed -",
         .told = "42 2 0 0 0 0 0; 10-28",
         .figures = 4},
        {.script = "4 on 1 1;10 on 1 2;14 on 1 3;14 session_closed -",
         .told = "13 1 0 0 0 0 0",
         .figures = 3},
        /* a press of two that was the first counts twice; the paint need not have changed; a go
         * together waits for both */
        {.script = "11 on 1 1 2;15 on 1 3;15 session_closed -",
         .told = "12 3 0 0 0 0 0",
         .figures = 3},
        {.script = "5 on 1 1;9 on 1 2;30 on 2 1;35 on 2 2;54 on 3 1;60 on 3 2;60 session_closed -",
         .told = "35 5 20 0 0 0 0",
         .figures = 2},
        /* one figure has no others; what the painter said stands; a press at once says nothing */
        {.script = "12 on 1 1;12 session_closed -", .told = "11 1 0 0 0 0 0"},
        {.script = "12 on 1 1 work_s=480;16 on 1 2;16 session_closed -",
         .told = "12 1 3 0 0 0 0",
         .figures = 2},
        {.script = "12 on 1 1;12.01 on 1 2;12.01 session_closed -",
         .told = "11.01 1 0 0 0 0 0",
         .figures = 2},
        /* a slip in the middle of a figure is not its end */
        {.script = "5 on 1 1;8 tidied u figure=1 stage=1;11 on 1 2;11 session_closed -",
         .told = "8 1 0 0 2 0 0",
         .figures = 2},
    };
    check(gaps, COUNT(gaps));
}

/* Each stage carries what was waited for it; the end of a session waits for nothing more. */
static void test_waited_for(void **state)
{
    (void)state;
    struct world world;
    begin(&world, 2);
    play(&world,
         "5 on 1 1;9 on 1 2;10 pause_begun -;13 pause_ended -;22 on 2 1;45 session_closed -");
    const struct cb_review *review = cb_review_unit(world.bench, 0, CB_TIME_NONE, &world.arena);
    assert_true(review->spent_ms[CB_SPENT_WAITING] == (8 - 3 + 23) * CB_MS_PER_MIN);
    assert_true(review->stages[0].spent_ms[CB_SPENT_WAITING] == 0);
    assert_true(review->stages[1].spent_ms[CB_SPENT_WAITING] == 5 * CB_MS_PER_MIN);
    assert_true(review->stages[2].spent_ms[CB_SPENT_WAITING] == 0);
    world_fini(&world);
}

static void test_told_times(void **state)
{
    (void)state;
    static const struct gap gaps[] = {
        {.script = "5 on 1 1;33 on 2 1;33 away - from=-13 to=-3;33 session_closed -",
         .told = "9 2 12 0 0 0 10"},
        {.script = "5 on 1 1;8 pause_begun -;10 pause_ended -;33 on 2 1;33 session_closed -",
         .told = "19 2 10 0 0 2 0"},
        {.script = "5 on 1 1;12 chore_done - name=rinse minutes=3;33 on 2 1;33 session_closed -",
         .told = "19 2 9 3 0 0 0"},
        /* of two that overlap, the one that began first keeps what it has */
        {.script = "8 pause_begun -;12 pause_ended -;14 chore_done - name=rinse minutes=4;"
                   "20 on 1 1;20 session_closed -",
         .told = "13 1 0 2 0 4 0"},
        /* they are cut out of the surplus: 33 less 6 are no surplus worth asking about */
        {.script = "5 on 1 1;20 pause_begun -;26 pause_ended -;43.99 on 2 1;43.99 session_closed -",
         .told = "23.99 2 12 0 0 6 0"},
        {.script = "5 on 1 1;20 pause_begun -;26 pause_ended -;44 on 2 1;44 session_closed -",
         .told = "24 2 12 0 0 6 0; 18-29"},
        /* a pause that nobody ended lasts to the end */
        {.script = "5 on 1 1;10 pause_begun -;20 session_closed -", .told = "4 1 5 0 0 10 0"},
        {.script = "5 on 1 1;10 pause_begun -;20 note - text=x;50 session_opened -;50 "
                   "session_closed -",
         .told = "4 1 5 0 0 10 0"},
        {.script = "5 on 1 1;10 pause_begun -", .told = "4 1 5 0 0 10 0", .live_min = 20},
        /* a chore told of before the session began is cut to it */
        {.script = "5 chore_done - name=rinse minutes=60;9 on 1 1;9 session_closed -",
         .told = "3 1 0 5 0 0 0"},
    };
    check(gaps, COUNT(gaps));
}

static void test_ends(void **state)
{
    (void)state;
    static const struct gap gaps[] = {
        /* closed: waiting, asked about where a coat could have gone on for long */
        {.script = "5 on 1 1;40 session_closed -", .told = "4 1 35 0 0 0 0; 32-40"},
        {.script = "5 on 1 1;37 session_closed -", .told = "4 1 32 0 0 0 0; 32-37"},
        {.script = "5 on 1 1;36.99 session_closed -", .told = "4 1 31.99 0 0 0 0"},
        /* going on: hands-on from when one could */
        {.script = "5 on 1 1", .told = "4 1 5 0 0 0 0", .live_min = 10},
        {.script = "5 on 1 1", .told = "27 1 12 0 0 0 0", .live_min = 40},
        /* cut off: the expected of the next coat is waiting, beyond is away and asked about */
        {.script = "5 on 1 1;9 note - text=x;99 session_opened -;99 session_closed -",
         .told = "4 1 4 0 0 0 0",
         .figures = 2},
        {.script = "5 on 1 1;13.99 note - text=x;99 session_opened -;99 session_closed -",
         .told = "4 1 4 0 0 0 4.99",
         .figures = 2},
        {.script = "5 on 1 1;14 note - text=x;99 session_opened -;99 session_closed -",
         .told = "4 1 4 0 0 0 5; 9-14",
         .figures = 2},
        {.script = "5 on 1 1;14 note - text=x;99 session_opened -;99 no 9;99 session_closed -",
         .told = "4 1 9 0 0 0 0",
         .figures = 2},
        {.script = "5 on 1 1;22 note - text=x;99 session_opened -;99 session_closed -",
         .told = "4 1 5 0 0 0 12; 10-22"},
        /* after the unit, and while another is in front, it is not this unit's */
        {.script = "5 on 1 1;7 unit_finished u;20 session_closed -", .told = "4 1 2 0 0 0 0"},
        {.script = "5 on 1 1;6 unit_begun v name=v figures=1 recipe='{coatbell: 1, name: v, "
                   "stages: [{name: A, technique: prepare}]}';16 unit_opened u;20 on 2 "
                   "1;20 session_closed -",
         .told = "6 2 2 0 0 0 0"},
        /* between sessions is nobody's; the brush is clean again */
        {.script = "5 on 1 1;6 session_closed -;60 session_opened -;65 on 1 2;65 session_closed -",
         .told = "8 2 1 0 0 0 0",
         .figures = 2},
    };
    check(gaps, COUNT(gaps));
}

#define BEGINS_V                                                                                   \
    "unit_begun v name=v figures=4 recipe='{coatbell: 1, name: v, change: 1, paints: {a: {name: "  \
    "Tarred rope, kind: acrylic}, b: {name: Mud, kind: acrylic}}, stages: [{name: A, "             \
    "technique: basecoat, paint: a, minutes: 4}, {name: B, technique: basecoat, paint: b, after: " \
    "[], minutes: 4}]}';"

/* The brush is the bench's, whichever unit it paints: back at a unit, the paint has changed only if
 * another one was on it meanwhile. */
static void test_one_brush(void **state)
{
    (void)state;
    static const struct gap gaps[] = {
        {.script = "5 on 1 1;6 " BEGINS_V "10 unit_opened u;14 on 1 2;14 session_closed -",
         .told = "9 1 0 0 0 0 0",
         .figures = 2},
        {.script = "5 on 1 1;5 " BEGINS_V "9 coat_on v figure=1 stage=1 coat=1;9 unit_opened u;"
                   "13 on 1 2;13 session_closed -",
         .told = "8 1 0 0 0 0 0",
         .figures = 2},
        {.script = "5 on 1 1;5 " BEGINS_V "9 coat_on v figure=1 stage=2 coat=1;9 unit_opened u;"
                   "13 on 1 2;13 session_closed -",
         .told = "6 3 0 0 0 0 0", /* the first mark took as much beyond the other */
         .figures = 2},
        /* it had it before this one came to the front at all; a stroke or what was done before is
         * on no brush; the next evening begins with a clean one */
        {.script = "0 " BEGINS_V "4 coat_on v figure=1 stage=1 coat=1;4 unit_opened u;"
                   "8 on 1 1;8 session_closed -",
         .told = "4 0 0 0 0 0 0"},
        {.script =
             "5 on 1 1;5 " BEGINS_V "6 coat_on v figure=0 stage=2 coat=1;7 coat_on v figure=1 "
             "stage=2 coat=1 before=true;9 unit_opened u;13 on 1 2;13 session_closed -",
         .told = "8 1 0 0 0 0 0",
         .figures = 2},
        {.script = "0 " BEGINS_V "4 coat_on v figure=1 stage=1 coat=1;5 session_closed -;"
                   "9 session_opened -;9 unit_opened u;13 on 1 1;13 session_closed -",
         .told = "3 1 0 0 0 0 0"},
    };
    check(gaps, COUNT(gaps));
}

static void test_shares(void **state)
{
    (void)state;
    struct world world;
    begin(&world, 3);
    play(&world, "13 on 1 1 2;17 on 1 3;40 on 2 1;41 unit_finished u;50 session_closed -");
    const struct cb_review *review = cb_review_unit(world.bench, 0, CB_TIME_NONE, &world.arena);
    assert_true(review->finished && review->figures == 3);
    assert_true(review->begun_ms == start_ms && review->session_ms == 41 * CB_MS_PER_MIN);
    assert_true(review->figure_ms[1] == (5 + 14) * CB_MS_PER_MIN);
    assert_true(review->figure_ms[2] == 5 * CB_MS_PER_MIN);
    assert_true(review->figure_ms[3] == 4 * CB_MS_PER_MIN);
    assert_int_equal(review->stage_count, 3);
    assert_int_equal(review->stages[0].coats, 3);
    assert_int_equal(review->stages[1].coats, 1);
    assert_true(review->stages[0].spent_ms[CB_SPENT_HANDS_ON] == 14 * CB_MS_PER_MIN);
    assert_true(review->stages[0].spent_ms[CB_SPENT_CHANGE] == 3 * CB_MS_PER_MIN);
    assert_true(review->stages[1].spent_ms[CB_SPENT_CHANGE] == CB_MS_PER_MIN);
    /* three figures of four minutes; a together go once */
    assert_true(fabs(review->stages[0].planned_min - 12) < 1e-9);
    assert_true(fabs(review->stages[2].planned_min - 6) < 1e-9);
    /* on at 13, 17 and 40, for 12 minutes each */
    assert_int_equal(review->drying_count, 2);
    assert_true(review->dryings[0].from_ms == start_ms + 13 * CB_MS_PER_MIN);
    assert_true(review->dryings[0].to_ms == start_ms + 29 * CB_MS_PER_MIN);
    assert_true(review->film_drying_ms == 4 * 12 * CB_MS_PER_MIN);
    assert_true(review->sessions[0].drying_ms == (16 + 1) * CB_MS_PER_MIN);
    assert_true(cb_review_drying_ms(review, start_ms, start_ms + 20 * CB_MS_PER_MIN) ==
                7 * CB_MS_PER_MIN);
    assert_int_equal(review->paint_count, 0); /* what waits is not learned */
    world_fini(&world);
}

/* The minutes are of the figure that the coat is on, those between the marks as the bench had it.
 */
static void test_moved_coat(void **state)
{
    (void)state;
    struct world world;
    begin(&world, 3);
    play(&world, "5 on 1 1;9 on 1 2;15 on 1 3");
    const char *id = NULL;
    for (size_t i = 0; i < world.log.count; i++) {
        const struct cb_event *event = world.log.items[i];
        const bool second =
            event->kind == CB_EVENT_COAT_ON && cb_event_int(event, CB_FIELD_FIGURE, 0) == 2;
        id = second ? event->id : id;
    }
    const struct cb_review *marked = cb_review_unit(world.bench, 0, CB_TIME_NONE, &world.arena);
    assert_true(marked->figure_ms[2] == 4 * CB_MS_PER_MIN);
    world_do(&world, cb_arena_printf(&world.arena, "moved u figure=3 coat=2 coat_id=%s", id));
    const struct cb_review *review = cb_review_unit(world.bench, 0, CB_TIME_NONE, &world.arena);
    assert_memory_equal(review->spent_ms, marked->spent_ms, sizeof review->spent_ms);
    assert_true(review->figure_ms[2] == 0);
    assert_true(review->figure_ms[3] == marked->figure_ms[2] + marked->figure_ms[3]);
    world_fini(&world);
}

/* The stages are those of the recipe in force at the end, by their names. */
static void test_changed_recipe(void **state)
{
    (void)state;
    struct world world;
    begin(&world, 2);
    play(&world, "5 on 1 1;9 on 1 2");
    world_do(&world,
             "recipe_changed u recipe='{coatbell: 1, name: r, change: 1, paints: {rope: {name: "
             "Tarred rope, kind: acrylic}}, stages: [{name: New, technique: mask}, {name: Base, "
             "technique: basecoat, paint: rope, wait: 12, minutes: 4}]}'");
    const struct cb_review *review = cb_review_unit(world.bench, 0, CB_TIME_NONE, &world.arena);
    assert_int_equal(review->stage_count, 2);
    assert_true(review->stages[0].spent_ms[CB_SPENT_HANDS_ON] == 0);
    assert_true(review->stages[1].spent_ms[CB_SPENT_HANDS_ON] == 8 * CB_MS_PER_MIN);
    assert_int_equal(review->stages[1].coats, 2);
    world_do(&world, "recipe_changed u recipe='{coatbell: 1, name: r, stages: [{name: New, "
                     "technique: mask}]}'");
    review = cb_review_unit(world.bench, 0, CB_TIME_NONE, &world.arena);
    assert_true(review->stages[0].spent_ms[CB_SPENT_HANDS_ON] == 0); /* no stage of now */
    assert_true(review->spent_ms[CB_SPENT_HANDS_ON] == 8 * CB_MS_PER_MIN);
    assert_true(review->figure_ms[1] == 4 * CB_MS_PER_MIN);
    world_fini(&world);
}

static void test_dryings(void **state)
{
    (void)state;
    static const struct {
        const char *script, *told; /* each stretch; of all films together */
        double live_min;
    } cases[] = {
        {.script = "5 on 1 1;8 on 1 2;60 session_closed -", .told = "5-20 of 24"},
        {.script = "5 on 1 1;17 on 1 2;60 session_closed -", .told = "5-29 of 24"},
        {.script = "5 on 1 1;18 on 1 2;60 session_closed -", .told = "5-17 18-30 of 24"},
        {.script = "18 on 1 1;18 on 1 2 on_at=-13;60 session_closed -", .told = "5-17 18-30 of 24"},
        {.script = "5 on 1 1;9 checked u figure=1 stage=1 coat=1 found=dry;60 session_closed -",
         .told = "5-9 of 4"},
        {.script = "5 on 1 1;9 on 2 1;60 session_closed -", .told = "5-21 of 16"},
        {.script = "5 on 1 1;9 lifted u figure=1 stage=1 coat=1;60 session_closed -",
         .told = "5-9 of 4"},
        {.script = "5 on 1 1", .told = "5-10 of 5", .live_min = 10},
        {.script = "5 on 1 1;11 note - text=x", .told = "5-11 of 6"},
        {.script = "5 on 1 1;6 unit_finished u", .told = "5-17 of 12"},
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        struct world world;
        begin(&world, 2);
        play(&world, cases[i].script);
        const int64_t until_ms =
            cases[i].live_min > 0 ? start_ms + llround(cases[i].live_min * 60000) : CB_TIME_NONE;
        const struct cb_review *review = cb_review_unit(world.bench, 0, until_ms, &world.arena);
        const char *text = "";
        for (size_t d = 0; d < review->drying_count; d++) {
            text = cb_arena_printf(&world.arena, "%s%g-%g ", text,
                                   minutes(review->dryings[d].from_ms - start_ms),
                                   minutes(review->dryings[d].to_ms - start_ms));
        }
        text = cb_arena_printf(&world.arena, "%sof %g", text, minutes(review->film_drying_ms));
        assert_string_equal(text, cases[i].told);
        world_fini(&world);
    }
}

/* From on to when a film counted as dry: its last ping, or before it an answer or the next coat. */
static void test_rings(void **state)
{
    (void)state;
    static const struct {
        const char *script;
        double base_min, two_min; /* -1: none */
    } rows[] = {
        {"5 on 1 1;5 session_closed -", 12, -1},
        {"5 on 1 1;20 pinged u films=1/1/1 due_at=-1 by=test;20 session_closed -", 14, -1},
        {"5 on 1 1;15 checked u figure=1 stage=1 coat=1 found=dry;15 session_closed -", 10, -1},
        {"5 on 1 1;12 on 2 1;12 session_closed -", 7, 12},
        {"5 on 1 1;9 on 1 2;15 checked u figure=1 stage=1 coat=1 found=dry;15 session_closed -", 11,
         -1},
        {"5 coat_on u figure=1 stage=1 coat=1 before=true;9 on 1 2;9 session_closed -", 12, -1},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct world world;
        begin(&world, 2);
        play(&world, rows[i].script);
        const struct cb_review *review = cb_review_unit(world.bench, 0, CB_TIME_NONE, &world.arena);
        const double wanted[2] = {rows[i].base_min, rows[i].two_min};
        for (size_t s = 0; s < 2; s++) {
            const struct cb_review_stage *stage = &review->stages[s];
            if (!(wanted[s] < 0 ? isnan(stage->ring_min) && isnan(stage->fan_ring_min)
                                : fabs(stage->ring_min - wanted[s]) < 1e-6 &&
                                      fabs(stage->fan_ring_min - wanted[s]) < 1e-6)) {
                fail_msg("%s: %g %g", rows[i].script, stage->ring_min, stage->fan_ring_min);
            }
        }
        world_fini(&world);
    }
}

/* The rates of the laws: of a fan in the same climate, where the air was still. */
static void test_rings_by_a_fan(void **state)
{
    (void)state;
    static const char *const airs[] = {"still", "draught", "fan"};
    double ring_min[COUNT(airs)];
    for (size_t i = 0; i < COUNT(airs); i++) {
        struct world world;
        world_init(&world);
        start_ms = world.now.wall_ms;
        world_do(&world, "session_opened -");
        world_do(&world, cb_arena_printf(&world.arena, "climate_set - temp_c=19 rh_pct=62 air=%s",
                                         airs[i]));
        world_begin(&world, "u", 1,
                    "{coatbell: 1, name: r, paints: {ebb: {name: Ebb wash, kind: wash}}, stages: "
                    "[{name: Shade, technique: wash, paint: ebb, minutes: 4}]}");
        play(&world, "5 on 1 1;5 session_closed -");
        const struct cb_review_stage *stage =
            &cb_review_unit(world.bench, 0, CB_TIME_NONE, &world.arena)->stages[0];
        ring_min[i] = i == 0 ? stage->fan_ring_min : stage->ring_min;
        assert_true(i > 0 || stage->fan_ring_min < .8 * stage->ring_min);
        assert_true(i == 0 || fabs(stage->fan_ring_min - stage->ring_min) < 1e-9);
        world_fini(&world);
    }
    assert_true(fabs(ring_min[0] - ring_min[2]) < 1e-3);
}

static void test_pings(void **state)
{
    (void)state;
    static const struct {
        const char *script;
        size_t answered, dry, wet, late;
    } cases[] = {
        {"9 pinged u films=1/1/1 due_at=0 by=popup", 0, 0, 0, 0},
        {"9 pinged u films=1/1/1 due_at=-1 by=popup", 0, 0, 0, 0},
        {"9 pinged u films=1/1/1 due_at=-1.01 by=popup", 0, 0, 0, 1},
        {"55 pinged u films=1/1/1 due_at=-49 by=popup", 0, 0, 0, 1},
        {"9 pinged u films=1/1/1 due_at=0 by=popup;10 checked u figure=1 stage=1 coat=1 found=dry",
         1, 1, 0, 0},
        {"9 pinged u films=1/1/1 due_at=0 by=popup;10 checked u figure=1 stage=1 coat=1 found=wet;"
         "12 checked u figure=1 stage=1 coat=1 found=dry",
         1, 0, 1, 0},
        /* answered before it rang */
        {"8 checked u figure=1 stage=1 coat=1 found=wet;9 pinged u films=1/1/1 due_at=0 by=popup",
         0, 0, 0, 0},
        /* due while nobody sat there */
        {"7 session_closed -;20 session_opened -;20 pinged u films=1/1/1 due_at=-10 by=popup", 0, 0,
         0, 0},
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        struct world world;
        begin(&world, 1);
        play(&world, "5 on 1 1");
        play(&world, cases[i].script);
        play(&world, "60 session_closed -");
        const struct cb_review *review = cb_review_unit(world.bench, 0, CB_TIME_NONE, &world.arena);
        assert_int_equal(review->ping_count, 1);
        assert_int_equal(review->ping_answered, cases[i].answered);
        assert_int_equal(review->ping_dry, cases[i].dry);
        assert_int_equal(review->ping_wet, cases[i].wet);
        assert_int_equal(review->ping_late, cases[i].late);
        world_fini(&world);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_between_marks),  cmocka_unit_test(test_first_mark),
        cmocka_unit_test(test_waited_for),     cmocka_unit_test(test_told_times),
        cmocka_unit_test(test_ends),           cmocka_unit_test(test_one_brush),
        cmocka_unit_test(test_shares),         cmocka_unit_test(test_changed_recipe),
        cmocka_unit_test(test_moved_coat),     cmocka_unit_test(test_dryings),
        cmocka_unit_test(test_pings),          cmocka_unit_test(test_rings),
        cmocka_unit_test(test_rings_by_a_fan),
    };
    return cmocka_run_group_tests_name("review", tests, NULL, NULL);
}
