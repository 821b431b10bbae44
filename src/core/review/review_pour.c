/* SPDX-License-Identifier: MIT */
/* All gaps side by side: what they say of each other, and their time as spans. */
#include "core/review/review_walk.h"

#include <stdlib.h>

#include "base/mem.h"

/* Of the recipe's change, at most, that the first mark of a stage is given (coatbell(1), REVIEW).
 */
#define FIRST_CHANGES 3
/* A mark shorter than this is a slip of the key and says nothing of the others (own judgement). */
#define MARK_MIN_MS 2000

static const struct cb_film_key nothing = {0, 0, 0};

static bool is_painted(const struct cb_review_gap *gap)
{
    return gap->film_count > 0 && gap->rest == CB_SPENT_HANDS_ON;
}

static int stage_of(const struct cb_review_walk *walk, const struct cb_review_gap *gap)
{
    return gap->film_count > 0 ? walk->films.items[gap->first_film].stage : 0;
}

/* The press of coats that a gap ended by a slip belongs to: the next one, when nothing lies between
 * but more slips. Its own index for any other gap. */
static void find_owners(const struct cb_review_walk *walk, size_t *owners)
{
    for (size_t i = walk->gaps.count; i-- > 0;) {
        const struct cb_review_gap *gap = &walk->gaps.items[i];
        owners[i] = i;
        if (gap->slipped && i + 1 < walk->gaps.count && gap[1].from_ms == gap->to_ms &&
            gap[1].session == gap->session && (gap[1].slipped || is_painted(&gap[1]))) {
            owners[i] = owners[i + 1];
        }
    }
}

static int by_ms(const void *a, const void *b)
{
    const int64_t x = *(const int64_t *)a;
    const int64_t y = *(const int64_t *)b;
    return (x > y) - (x < y);
}

/* What a figure took at the marks of that stage but the one; -1: there is no other. */
static int64_t others_ms(const struct cb_review_walk *walk, const int64_t *painted_ms, size_t but,
                         int stage, int64_t *list)
{
    size_t count = 0;
    for (size_t i = 0; i < walk->gaps.count; i++) {
        const struct cb_review_gap *gap = &walk->gaps.items[i];
        if (i == but || !is_painted(gap) || stage_of(walk, gap) != stage) {
            continue;
        }
        const int64_t each_ms = painted_ms[i] / (int64_t)gap->film_count;
        for (size_t f = 0; f < gap->film_count && each_ms >= MARK_MIN_MS; f++) {
            list[count++] = each_ms;
        }
    }
    if (count == 0) {
        return -1;
    }
    qsort(list, count, sizeof *list, by_ms);
    return (list[(count - 1) / 2] + list[count / 2]) / 2;
}

/* Looking for brush, pot and palette lies before the first figure of a stage, not on it. */
static void change_before_first(struct cb_review_walk *walk, const int64_t *painted_ms)
{
    bool begun[CB_RECIPE_MAX + 1] = {true}; /* no stage of now is none */
    int64_t *list = cb_mem_new(walk->films.count + 1, sizeof *list);
    for (size_t i = 0; i < walk->gaps.count; i++) {
        struct cb_review_gap *gap = &walk->gaps.items[i];
        const int stage = stage_of(walk, gap);
        if (!is_painted(gap) || begun[stage]) {
            continue;
        }
        begun[stage] = true;
        const int64_t usual_ms = others_ms(walk, painted_ms, i, stage, list);
        if (usual_ms < 0 || gap->work_said) {
            continue;
        }
        int64_t more_ms = painted_ms[i] - usual_ms * (int64_t)gap->film_count;
        const int64_t most_ms = FIRST_CHANGES * gap->usual_change_ms - gap->change_ms;
        more_ms = more_ms < most_ms ? more_ms : most_ms;
        more_ms = more_ms < gap->rest_ms ? more_ms : gap->rest_ms;
        if (more_ms > 0) {
            gap->change_ms += more_ms;
            gap->rest_ms -= more_ms;
        }
    }
    free(list);
}

/* A portion of a gap's free time, in the order it is given out. */
struct portion {
    int64_t ms;
    enum cb_spent spent;
    struct cb_film_key film;
};

struct pour {
    struct cb_review_walk *walk;
    int session;
    struct portion portions[CB_FIGURES_MAX + 4];
    size_t count, at;
};

static void add_portion(struct pour *pour, int64_t ms, enum cb_spent spent, struct cb_film_key film)
{
    pour->portions[pour->count++] = (struct portion){ms, spent, film};
}

static void add_span(struct pour *pour, int64_t from_ms, int64_t to_ms, enum cb_spent spent,
                     struct cb_film_key film)
{
    if (to_ms > from_ms) {
        cb_vec_push(&pour->walk->spans, ((struct cb_span){from_ms, to_ms, spent, pour->session,
                                                          film.figure, film.stage, film.coat}));
    }
}

static void pour_out(struct pour *pour, int64_t from_ms, int64_t to_ms)
{
    while (from_ms < to_ms) {
        while (pour->at + 1 < pour->count && pour->portions[pour->at].ms == 0) {
            pour->at++;
        }
        struct portion *portion = &pour->portions[pour->at];
        int64_t end = to_ms;
        if (pour->at + 1 < pour->count && from_ms + portion->ms < to_ms) {
            end = from_ms + portion->ms;
        }
        add_span(pour, from_ms, end, portion->spent, portion->film);
        portion->ms -= end - from_ms;
        from_ms = end;
    }
}

/* The rest of a gap lies from given_ms on in what its press took altogether: shared evenly. */
static void share_rest(struct pour *pour, const struct cb_review_gap *gap,
                       const struct cb_review_gap *owner, int64_t given_ms, int64_t painted_ms)
{
    const int64_t count = (int64_t)owner->film_count;
    const int64_t end_ms = given_ms + gap->rest_ms;
    if (count == 0) {
        add_portion(pour, gap->rest_ms, gap->rest, nothing);
    }
    for (int64_t i = 0; i < count; i++) {
        const int64_t from = painted_ms * i / count, to = painted_ms * (i + 1) / count;
        const int64_t low = from > given_ms ? from : given_ms, high = to < end_ms ? to : end_ms;
        add_portion(pour, high > low ? high - low : 0, gap->rest,
                    pour->walk->films.items[owner->first_film + (size_t)i]);
    }
}

static void pour_gap(struct cb_review_walk *walk, const struct cb_review_gap *gap,
                     const struct cb_review_gap *owner, int64_t given_ms, int64_t painted_ms)
{
    struct pour pour = {.walk = walk, .session = gap->session};
    const int stage = stage_of(walk, owner);
    add_portion(&pour, gap->waiting_ms, CB_SPENT_WAITING, (struct cb_film_key){0, stage, 0});
    add_portion(&pour, gap->change_ms, CB_SPENT_CHANGE,
                owner->film_count > 0 ? walk->films.items[owner->first_film] : nothing);
    share_rest(&pour, gap, owner, given_ms, painted_ms);
    add_portion(&pour, gap->tidy_ms, CB_SPENT_TIDY, gap->slip);
    int64_t at = gap->from_ms;
    for (size_t i = cb_review_first_overlay(walk, at); i < walk->overlays.count; i++) {
        const struct cb_review_overlay *overlay = &walk->overlays.items[i];
        if (overlay->from_ms >= gap->to_ms) {
            break;
        }
        const int64_t from = overlay->from_ms > at ? overlay->from_ms : at;
        const int64_t to = overlay->to_ms < gap->to_ms ? overlay->to_ms : gap->to_ms;
        pour_out(&pour, at, from);
        add_span(&pour, from, to, overlay->spent, nothing);
        at = to;
    }
    pour_out(&pour, at, gap->to_ms);
}

void cb_review_pour(struct cb_review_walk *walk)
{
    const size_t count = walk->gaps.count;
    size_t *owners = cb_mem_new(count + 1, sizeof *owners);
    int64_t *painted_ms = cb_mem_new(count + 1, sizeof *painted_ms); /* of a press, slips and all */
    int64_t *given_ms = cb_mem_new(count + 1, sizeof *given_ms);
    find_owners(walk, owners);
    for (size_t i = 0; i < count; i++) {
        painted_ms[owners[i]] += walk->gaps.items[i].rest_ms;
    }
    change_before_first(walk, painted_ms);
    for (size_t i = 0; i < count; i++) {
        painted_ms[i] = 0;
    }
    for (size_t i = 0; i < count; i++) {
        given_ms[i] = painted_ms[owners[i]];
        painted_ms[owners[i]] += walk->gaps.items[i].rest_ms;
    }
    for (size_t i = 0; i < count; i++) {
        const size_t owner = owners[i];
        pour_gap(walk, &walk->gaps.items[i], &walk->gaps.items[owner], given_ms[i],
                 painted_ms[owner]);
    }
    free(owners);
    free(painted_ms);
    free(given_ms);
}
