/* SPDX-License-Identifier: MIT */
#include "support/bench_equal.h"

#include <math.h>
#include <string.h>

#include "core/bench/bench_internal.h"

static bool same_text(const char *a, const char *b)
{
    return a == b || (a && b && strcmp(a, b) == 0);
}

static bool same_number(double a, double b)
{
    return a == b || (isnan(a) && isnan(b));
}

static bool differ(struct cb_err *difference, const char *what, size_t at)
{
    cb_err_set(difference, CB_FAILED, "%s differ at %zu", what, at);
    return false;
}

static bool same_drying(const struct cb_drying *a, const struct cb_drying *b)
{
    return a->law == b->law && a->from == b->from &&
           same_number(a->standard_min, b->standard_min) &&
           same_number(a->water_g_m2, b->water_g_m2) && same_number(a->pores_g_m2, b->pores_g_m2) &&
           same_number(a->skin_s_m, b->skin_s_m) && same_number(a->form_min, b->form_min) &&
           same_number(a->min_film_c, b->min_film_c) && same_number(a->pot_sd, b->pot_sd) &&
           same_number(a->label_min, b->label_min);
}

static bool same_more(const struct cb_film_more *a, const struct cb_film_more *b)
{
    bool same = same_text(a->stage_name, b->stage_name) && a->wall_on_ms == b->wall_on_ms &&
                a->back_ms == b->back_ms && a->stays.count == b->stays.count &&
                a->helps.count == b->helps.count;
    for (size_t i = 0; same && i < a->stays.count; i++) {
        same = a->stays.items[i].from_ms == b->stays.items[i].from_ms &&
               a->stays.items[i].place == b->stays.items[i].place;
    }
    for (size_t i = 0; same && i < a->helps.count; i++) {
        same = a->helps.items[i].from_ms == b->helps.items[i].from_ms &&
               a->helps.items[i].to_ms == b->helps.items[i].to_ms &&
               a->helps.items[i].air == b->helps.items[i].air;
    }
    return same;
}

static bool same_film(const struct cb_film *a, const struct cb_film *b)
{
    return a->figure == b->figure && a->stage == b->stage && a->coat == b->coat &&
           a->on_ms == b->on_ms && a->pressed_ms == b->pressed_ms && a->before == b->before &&
           same_number(a->on_pm_s, b->on_pm_s) && same_text(a->on_press, b->on_press) &&
           a->place == b->place && a->check == b->check && a->wet_ms == b->wet_ms &&
           a->dry_ms == b->dry_ms && a->next_ms == b->next_ms && a->lifted_ms == b->lifted_ms &&
           a->pinged_ms == b->pinged_ms && a->pinged_due_ms == b->pinged_due_ms &&
           a->helped == b->helped && a->suspect == b->suspect && a->across_boot == b->across_boot &&
           a->brought_in == b->brought_in && a->tidied == b->tidied &&
           a->wet_like_ms == b->wet_like_ms && a->areas == b->areas && a->whole == b->whole &&
           same_number(a->work_s, b->work_s) && same_drying(a->drying, b->drying) &&
           same_text(a->pot, b->pot) && same_text(a->paint, b->paint) &&
           a->technique == b->technique && same_more(a->more, b->more);
}

static bool same_unit(const struct cb_bench_unit *inside_a, const struct cb_bench_unit *inside_b,
                      struct cb_err *difference)
{
    const struct cb_unit *a = &inside_a->unit;
    const struct cb_unit *b = &inside_b->unit;
    if (!same_text(a->id, b->id) || !same_text(a->name, b->name) || a->figures != b->figures ||
        a->finished != b->finished || a->left != b->left || a->begun_ms != b->begun_ms ||
        a->last_ms != b->last_ms || a->left_out != b->left_out ||
        !same_text(a->recipe->text, b->recipe->text) ||
        a->recipe->stage_count != b->recipe->stage_count || a->film_count != b->film_count) {
        return differ(difference, "heads of unit", 0);
    }
    for (int f = 1; f <= CB_FIGURES_MAX; f++) {
        if (a->figure[f].parked != b->figure[f].parked ||
            a->figure[f].later != b->figure[f].later ||
            a->figure[f].left_out != b->figure[f].left_out ||
            inside_a->wants[f] != inside_b->wants[f] || inside_a->holds[f] != inside_b->holds[f] ||
            memcmp(a->figure[f].extra, b->figure[f].extra, sizeof a->figure[f].extra) != 0) {
            return differ(difference, "figures", (size_t)f);
        }
    }
    for (size_t i = 0; i < a->recipe->stage_count; i++) {
        if (!same_drying(&a->drying[i], &b->drying[i]) ||
            !same_text(a->swapped_name[i], b->swapped_name[i]) ||
            a->swapped_kind[i] != b->swapped_kind[i] ||
            !same_text(inside_a->pot[i], inside_b->pot[i])) {
            return differ(difference, "stages", i);
        }
        for (int f = 1; f <= a->figures; f++) {
            if (cb_bench_coats_on(a, f, (int)i + 1) != cb_bench_coats_on(b, f, (int)i + 1)) {
                return differ(difference, "coats of figure", (size_t)f);
            }
        }
    }
    for (size_t i = 0; i < a->film_count; i++) {
        if (!same_film(&a->films[i], &b->films[i])) {
            return differ(difference, "films", i);
        }
    }
    return true;
}

static bool same_air(const struct cb_bench *a, const struct cb_bench *b, struct cb_err *difference)
{
    if (a->places.count != b->places.count) {
        return differ(difference, "numbers of places", a->places.count);
    }
    for (size_t p = 0; p < a->places.count; p++) {
        size_t count_a;
        size_t count_b;
        const struct cb_reading *of_a = cb_bench_readings(a, (int)p, &count_a);
        const struct cb_reading *of_b = cb_bench_readings(b, (int)p, &count_b);
        if (count_a != count_b || !same_text(a->places.items[p].name, b->places.items[p].name)) {
            return differ(difference, "places", p);
        }
        for (size_t i = 0; i < count_a; i++) {
            if (of_a[i].at_ms != of_b[i].at_ms || of_a[i].from != of_b[i].from ||
                !same_number(of_a[i].climate.temp_c, of_b[i].climate.temp_c) ||
                !same_number(of_a[i].climate.rh_pct, of_b[i].climate.rh_pct) ||
                of_a[i].climate.air != of_b[i].climate.air) {
                return differ(difference, "readings", i);
            }
        }
    }
    return true;
}

static bool same_rows(const struct cb_bench *a, const struct cb_bench *b, struct cb_err *difference)
{
    size_t count_a;
    size_t count_b;
    const struct cb_row *of_a = cb_bench_rows(a, &count_a);
    const struct cb_row *of_b = cb_bench_rows(b, &count_b);
    if (count_a != count_b) {
        return differ(difference, "numbers of rows", count_a);
    }
    for (size_t i = 0; i < count_a; i++) {
        const struct cb_row *x = &of_a[i];
        const struct cb_row *y = &of_b[i];
        if (x->kind != y->kind || !same_text(x->pot, y->pot) ||
            !same_number(x->pot_sd, y->pot_sd) || !same_number(x->median_min, y->median_min) ||
            !same_number(x->lo, y->lo) || !same_number(x->hi, y->hi) ||
            !same_number(x->value, y->value) || x->at_ms != y->at_ms ||
            x->technique != y->technique || !same_text(x->unit, y->unit) ||
            x->figure != y->figure || x->stage != y->stage || x->coat != y->coat ||
            !same_text(x->paint, y->paint)) {
            return differ(difference, "rows", i);
        }
    }
    return true;
}

static bool same_words(const char *const *a, size_t count_a, const char *const *b, size_t count_b)
{
    bool same = count_a == count_b;
    for (size_t i = 0; same && i < count_a; i++) {
        same = strcmp(a[i], b[i]) == 0;
    }
    return same;
}

static bool same_front(const struct cb_bench_front *a, const struct cb_bench_front *b)
{
    return a->unit == b->unit && same_text(a->by, b->by);
}

static bool same_facts(const struct cb_bench *a, const struct cb_bench *b,
                       struct cb_err *difference)
{
    const struct cb_bench_facts x = cb_bench_facts(a);
    const struct cb_bench_facts y = cb_bench_facts(b);
    struct cb_arena arena = {0};
    char *words[4] = {NULL, NULL, NULL, NULL};
    const char *presses[4] = {
        cb_bench_undoable(a, &arena, &words[0]), cb_bench_undoable(b, &arena, &words[1]),
        cb_bench_redoable(a, &arena, &words[2]), cb_bench_redoable(b, &arena, &words[3])};
    const bool same_undo = same_text(presses[0], presses[1]) && same_text(presses[2], presses[3]) &&
                           same_text(words[0], words[1]) && same_text(words[2], words[3]);
    cb_arena_fini(&arena);
    if (!same_undo) {
        return differ(difference, "undo and redo", 0);
    }
    if (x.confidence != y.confidence || x.edition != y.edition ||
        x.session_open != y.session_open || x.paused != y.paused ||
        x.first_question_answered != y.first_question_answered ||
        x.session_opened_ms != y.session_opened_ms || x.pause_begun_ms != y.pause_begun_ms ||
        x.pause_ended_ms != y.pause_ended_ms || x.last_mark_ms != y.last_mark_ms ||
        x.last_unit != y.last_unit || x.last_figure != y.last_figure ||
        x.last_stage != y.last_stage || x.last_coat != y.last_coat ||
        x.event_count != y.event_count || x.undone_count != y.undone_count ||
        !same_front(&a->front, &b->front) || !same_front(&a->last_moved, &b->last_moved) ||
        !same_text(a->sitting, b->sitting)) {
        return differ(difference, "facts", 0);
    }
    if (!same_words(a->muted.items, a->muted.count, b->muted.items, b->muted.count) ||
        !same_words(a->cautions.items, a->cautions.count, b->cautions.items, b->cautions.count)) {
        return differ(difference, "cues and cautions", 0);
    }
    return true;
}

bool bench_equal(const struct cb_bench *a, const struct cb_bench *b, struct cb_err *difference)
{
    if (a->events.count != b->events.count) {
        return differ(difference, "numbers of events", a->events.count);
    }
    for (size_t i = 0; i < a->events.count; i++) {
        if (!cb_event_equal(a->events.items[i], b->events.items[i]) ||
            a->in_force.items[i] != b->in_force.items[i] ||
            a->times.items[i] != b->times.items[i]) {
            return differ(difference, "events", i);
        }
    }
    if (a->units.count != b->units.count) {
        return differ(difference, "numbers of units", a->units.count);
    }
    for (size_t i = 0; i < a->units.count; i++) {
        if (!same_unit(a->units.items[i], b->units.items[i], difference)) {
            return false;
        }
    }
    return same_air(a, b, difference) && same_rows(a, b, difference) &&
           same_facts(a, b, difference);
}
