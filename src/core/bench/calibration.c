/* SPDX-License-Identifier: MIT */
#include "core/bench/calibration.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/index.h"
#include "base/str.h"
#include "base/vec.h"

#define SHOWN_LEAST 10

/* A film that was pinged and is not answered yet; confidence 0: neither. */
struct waiting {
    double confidence;
    int stage; /* when it went on */
};

struct walk {
    struct cb_index *by_film, *by_id; /* of the coat_on events */
    struct cb_str key;
    CB_VEC(struct waiting) waiting;
    CB_VEC(struct cb_ping_answer) answers;
    double confidence;
};

/* Asked thousands of times at each press, so without printf: six bits a byte, the lowest first, all
 * but the last with the highest bit. Good until the next call. */
static const char *film_key(struct walk *walk, const char *unit, int figure, int stage, int coat)
{
    const int numbers[] = {figure, stage, coat};
    cb_str_clear(&walk->key);
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
        unsigned left = (unsigned)numbers[i];
        for (; left > 63; left >>= 6) {
            cb_str_add_n(&walk->key, &(const char){(char)(0x80 | (left & 63))}, 1);
        }
        cb_str_add_n(&walk->key, &(const char){(char)(1 + left)}, 1);
    }
    cb_str_add(&walk->key, unit);
    return cb_str_text(&walk->key);
}

static size_t new_film(struct walk *walk, const char *key)
{
    const size_t at = walk->waiting.count;
    cb_vec_push(&walk->waiting, (struct waiting){0});
    cb_index_set(walk->by_film, key, at);
    return at;
}

static size_t film_of(struct walk *walk, const char *unit, int figure, int stage, int coat)
{
    const char *key = film_key(walk, unit, figure, stage, coat);
    size_t at;
    return walk->waiting.count > 0 && cb_index_get(walk->by_film, key, &at) ? at
                                                                            : new_film(walk, key);
}

static size_t film_of_event(struct walk *walk, const struct cb_event *event)
{
    return film_of(walk, event->unit, (int)cb_event_int(event, CB_FIELD_FIGURE, 0),
                   (int)cb_event_int(event, CB_FIELD_STAGE, 0),
                   (int)cb_event_int(event, CB_FIELD_COAT, 0));
}

/* Another one than what went on there before, which may have been moved. */
static void put_on(struct walk *walk, const struct cb_event *event)
{
    const int stage = (int)cb_event_int(event, CB_FIELD_STAGE, 0);
    const size_t at =
        new_film(walk, film_key(walk, event->unit, (int)cb_event_int(event, CB_FIELD_FIGURE, 0),
                                stage, (int)cb_event_int(event, CB_FIELD_COAT, 0)));
    walk->waiting.items[at].stage = stage;
    if (event->id) {
        cb_index_set(walk->by_id, event->id, at);
    }
}

/* What is said of the film after it was moved is said of it there. */
static void moved(struct walk *walk, const struct cb_event *event)
{
    size_t at;
    if (cb_index_get(walk->by_id, cb_event_text(event, CB_FIELD_COAT_ID, ""), &at) &&
        at < walk->waiting.count) {
        cb_index_set(walk->by_film,
                     film_key(walk, event->unit, (int)cb_event_int(event, CB_FIELD_FIGURE, 0),
                              walk->waiting.items[at].stage,
                              (int)cb_event_int(event, CB_FIELD_COAT, 0)),
                     at);
    }
}

static void pinged(struct walk *walk, const struct cb_event *event)
{
    const struct cb_attr *films = cb_event_get(event, CB_FIELD_FILMS);
    if (event->unit == NULL || films == NULL || films->type != CB_TYPE_FILMS) {
        return;
    }
    for (size_t i = 0; i < films->n; i++) {
        const struct cb_film_key *film = &films->films[i];
        size_t at = film_of(walk, event->unit, film->figure, film->stage, film->coat);
        if (walk->waiting.items[at].confidence <= 0 &&
            walk->waiting.items[at].confidence >= 0) { /* a second ping is no first one */
            walk->waiting.items[at].confidence = walk->confidence;
        }
    }
}

static void checked(struct walk *walk, const struct cb_event *event)
{
    size_t at = film_of_event(walk, event);
    struct waiting *film = &walk->waiting.items[at];
    if (film->confidence > 0) {
        struct cb_ping_answer answer = {
            .at_ms = event->at_ms,
            .unit = event->unit,
            .figure = (int)cb_event_int(event, CB_FIELD_FIGURE, 0),
            .stage = (int)cb_event_int(event, CB_FIELD_STAGE, 0),
            .coat = (int)cb_event_int(event, CB_FIELD_COAT, 0),
            .confidence = film->confidence,
            .dry = strcmp(cb_event_text(event, CB_FIELD_FOUND, ""), "dry") == 0,
        };
        cb_vec_push(&walk->answers, answer);
    }
    film->confidence = -1; /* its first answer has been */
}

static void take(struct walk *walk, const struct cb_event *event)
{
    if (event->kind == CB_EVENT_COAT_ON && event->unit != NULL) {
        put_on(walk, event);
    } else if (event->kind == CB_EVENT_MOVED && event->unit != NULL) {
        moved(walk, event);
    } else if (event->kind == CB_EVENT_CHECKED && event->unit != NULL) {
        checked(walk, event);
    } else if (event->kind == CB_EVENT_PINGED) {
        pinged(walk, event);
    } else if (event->kind == CB_EVENT_CONFIDENCE_SET) {
        walk->confidence = cb_event_number(event, CB_FIELD_PCT, 100 * walk->confidence) / 100;
    }
}

static void walk_all(struct walk *walk, const struct cb_bench *bench, size_t newest)
{
    size_t count;
    const struct cb_event *const *events = cb_bench_events(bench, &count);
    /* before the first confidence_set the bench's default holds; a window starts with today's */
    walk->confidence = count > newest ? cb_bench_facts(bench).confidence : .80;
    walk->by_film = cb_index_new();
    walk->by_id = cb_index_new();
    for (size_t i = count > newest ? count - newest : 0; i < count; i++) {
        if (cb_bench_in_force(bench, i)) {
            take(walk, events[i]);
        }
    }
    cb_index_free(walk->by_film);
    cb_index_free(walk->by_id);
    cb_vec_free(&walk->waiting);
    cb_str_fini(&walk->key);
}

static const struct cb_ping_answer *answers_of(const struct cb_bench *bench, size_t newest,
                                               struct cb_arena *arena, size_t *count)
{
    struct walk walk = {0};
    walk_all(&walk, bench, newest);
    struct cb_ping_answer *out = cb_arena_alloc(arena, walk.answers.count + 1, sizeof *out);
    if (walk.answers.count > 0) {
        memcpy(out, walk.answers.items, walk.answers.count * sizeof *out);
    }
    *count = walk.answers.count;
    cb_vec_free(&walk.answers);
    return out;
}

const struct cb_ping_answer *cb_calibration_answers(const struct cb_bench *bench,
                                                    struct cb_arena *arena, size_t *count)
{
    return answers_of(bench, SIZE_MAX, arena, count);
}

void cb_calibration_wilson(size_t k, size_t n, double *low, double *high)
{
    *low = 0;
    *high = 1;
    if (n > 0) {
        double z = 1.959963984540054, share = (double)k / (double)n, more = z * z / (double)n;
        double middle = (share + more / 2) / (1 + more);
        double half = sqrt(share * (1 - share) * more + more * more / 4) / (1 + more);
        *low = k == 0 ? 0 : middle - half;
        *high = k == n ? 1 : middle + half;
    }
}

static struct cb_calibration sum_up(const struct cb_ping_answer *answers, size_t count,
                                    const char *unit, struct cb_arena *arena)
{
    struct cb_calibration sum = {0};
    struct cb_calibration_recent *recent =
        cb_arena_alloc(arena, CB_CALIBRATION_RECENT + 1, sizeof *recent);
    for (size_t i = count; i-- > 0;) {
        const struct cb_ping_answer *answer = &answers[i];
        if (unit != NULL && (answer->unit == NULL || strcmp(answer->unit, unit) != 0)) {
            continue;
        }
        const long at = lround((answer->confidence - .50) / .05);
        struct cb_calibration_band *band =
            &sum.bands[at < 0                       ? 0
                       : at >= CB_CALIBRATION_BANDS ? CB_CALIBRATION_BANDS - 1
                                                    : at];
        band->answered++;
        band->dry += answer->dry;
        band->confidence += answer->confidence;
        if (sum.recent_count < CB_CALIBRATION_RECENT) {
            recent[CB_CALIBRATION_RECENT - ++sum.recent_count] =
                (struct cb_calibration_recent){answer->at_ms, answer->dry};
        }
    }
    sum.recent = recent + CB_CALIBRATION_RECENT - sum.recent_count;
    return sum;
}

struct cb_calibration cb_calibration_of(const struct cb_bench *bench, const char *unit,
                                        struct cb_arena *arena)
{
    size_t count;
    const struct cb_ping_answer *answers = cb_calibration_answers(bench, arena, &count);
    return sum_up(answers, count, unit, arena);
}

static int by_time(const void *a, const void *b)
{
    const int64_t x = ((const struct cb_calibration_recent *)a)->at_ms;
    const int64_t y = ((const struct cb_calibration_recent *)b)->at_ms;
    return (x > y) - (x < y);
}

void cb_calibration_add(struct cb_calibration *sum, const struct cb_calibration *more,
                        struct cb_arena *arena)
{
    for (size_t i = 0; i < CB_CALIBRATION_BANDS; i++) {
        sum->bands[i].answered += more->bands[i].answered;
        sum->bands[i].dry += more->bands[i].dry;
        sum->bands[i].confidence += more->bands[i].confidence;
    }
    const size_t count = sum->recent_count + more->recent_count;
    struct cb_calibration_recent *recent = cb_arena_alloc(arena, count + 1, sizeof *recent);
    if (sum->recent_count > 0) {
        memcpy(recent, sum->recent, sum->recent_count * sizeof *recent);
    }
    if (more->recent_count > 0) {
        memcpy(recent + sum->recent_count, more->recent, more->recent_count * sizeof *recent);
    }
    qsort(recent, count, sizeof *recent, by_time);
    const size_t over = count > CB_CALIBRATION_RECENT ? count - CB_CALIBRATION_RECENT : 0;
    sum->recent = recent + over;
    sum->recent_count = count - over;
}

void cb_calibration_code(struct cb_coder *coder, struct cb_calibration *calibration)
{
    for (size_t i = 0; i < CB_CALIBRATION_BANDS; i++) {
        struct cb_calibration_band *band = &calibration->bands[i];
        cb_code_count(coder, &band->answered, UINT64_MAX);
        if (band->answered > 0) {
            cb_code_count(coder, &band->dry, band->answered);
            cb_code_double(coder, &band->confidence);
        }
    }
    cb_code_length(coder, &calibration->recent_count, CB_CALIBRATION_RECENT);
    struct cb_calibration_recent *recent =
        cb_code_list(coder, calibration->recent, calibration->recent_count, sizeof *recent);
    int64_t before_ms = 0;
    for (size_t i = 0; i < calibration->recent_count; i++) {
        int64_t later_ms = (int64_t)((uint64_t)recent[i].at_ms - (uint64_t)before_ms);
        cb_code_signed(coder, &later_ms);
        before_ms = (int64_t)((uint64_t)before_ms + (uint64_t)later_ms);
        recent[i].at_ms = before_ms;
        cb_code_bool(coder, &recent[i].dry);
    }
    calibration->recent = recent;
}

const char *cb_calibration_sum_line(const struct cb_calibration *calibration,
                                    struct cb_arena *arena)
{
    size_t dry = 0;
    if (calibration->recent_count < SHOWN_LEAST) {
        return NULL;
    }
    for (size_t i = 0; i < calibration->recent_count; i++) {
        dry += calibration->recent[i].dry;
    }
    return cb_arena_printf(arena, "my last %zu bells: %zu dry", calibration->recent_count, dry);
}

const char *cb_calibration_line(const struct cb_bench *bench, struct cb_arena *arena)
{
    size_t count;
    const struct cb_ping_answer *answers = answers_of(bench, CB_CALIBRATION_EVENTS, arena, &count);
    const struct cb_calibration sum = sum_up(answers, count, NULL, arena);
    return cb_calibration_sum_line(&sum, arena);
}

static double level_of(double confidence)
{
    return confidence < .65 ? .50 : confidence < .875 ? .80 : .95;
}

static void count_ring(struct cb_ring_tally *tally, const struct cb_row *row)
{
    const bool silent = row->heard == CB_HEARD_SILENCE || row->came_up;
    tally->silent += silent;
    tally->came_up += row->came_up;
    tally->answered += !silent;
    tally->dry += row->heard == CB_HEARD_DRY;
}

struct cb_rings cb_calibration_rings(const struct cb_row *rows, size_t count,
                                     struct cb_arena *arena)
{
    static const double levels[] = {.50, .80, .95};
    enum { LEVELS = sizeof levels / sizeof *levels };
    CB_VEC(struct cb_ring_tally) paints = {0};
    struct cb_ring_tally by_level[LEVELS];
    for (size_t i = 0; i < LEVELS; i++) {
        by_level[i] = (struct cb_ring_tally){.confidence = levels[i]};
    }
    for (size_t i = 0; i < count; i++) {
        const struct cb_row *row = &rows[i];
        if (row->heard == CB_HEARD_NOTHING) {
            continue;
        }
        const double level = level_of(row->confidence);
        count_ring(&by_level[level < .65 ? 0 : level < .875 ? 1 : 2], row);
        size_t at = 0;
        while (at < paints.count && strcmp(paints.items[at].paint, row->paint) != 0) {
            at++;
        }
        if (at == paints.count) {
            cb_vec_push(&paints, ((struct cb_ring_tally){.paint = row->paint}));
        }
        count_ring(&paints.items[at], row);
    }
    struct cb_ring_tally *out = cb_arena_alloc(arena, LEVELS + paints.count + 1, sizeof *out);
    struct cb_rings rings = {.tallies = out};
    for (size_t i = 0; i < LEVELS; i++) {
        if (by_level[i].answered + by_level[i].silent > 0) {
            out[rings.count++] = by_level[i];
            rings.came_up += by_level[i].came_up;
        }
    }
    for (size_t i = 0; i < paints.count; i++) {
        out[rings.count++] = paints.items[i];
    }
    cb_vec_free(&paints);
    return rings;
}
