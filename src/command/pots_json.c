/* SPDX-License-Identifier: MIT */
#include <math.h>

#include "command/pots_internal.h"
#include "shell/json_write.h"

static void json_calibration(const struct cb_pots *pots, struct cb_json *json)
{
    cb_json_list(json, "calibration");
    for (int i = 0; i < CB_CALIBRATION_BANDS; i++) {
        const struct cb_calibration_band *band = &pots->calibration.bands[i];
        double low, high;
        if (band->answered == 0) {
            continue;
        }
        cb_calibration_wilson(band->dry, band->answered, &low, &high);
        cb_json_object(json, NULL);
        cb_json_number(json, "confidence", band->confidence / (double)band->answered);
        cb_json_integer(json, "answered", (long long)band->answered);
        cb_json_integer(json, "dry", (long long)band->dry);
        cb_json_number(json, "low", low);
        cb_json_number(json, "high", high);
        cb_json_end(json);
    }
    cb_json_end(json);
}

static void json_rings(const struct cb_pots *pots, struct cb_json *json)
{
    const struct cb_rings rings =
        cb_calibration_rings(pots->rows, pots->row_count, pots->args->arena);
    cb_json_list(json, "rings");
    for (size_t i = 0; i < rings.count; i++) {
        const struct cb_ring_tally *tally = &rings.tallies[i];
        double low, high;
        cb_calibration_wilson(tally->dry, tally->answered, &low, &high);
        cb_json_object(json, NULL);
        cb_json_text(json, "paint", tally->paint);
        cb_json_number(json, "confidence", tally->paint ? (double)NAN : tally->confidence);
        cb_json_integer(json, "answered", (long long)tally->answered);
        cb_json_integer(json, "dry", (long long)tally->dry);
        cb_json_number(json, "low", low);
        cb_json_number(json, "high", high);
        cb_json_integer(json, "silent", (long long)tally->silent);
        cb_json_integer(json, "came_up", (long long)tally->came_up);
        cb_json_end(json);
    }
    cb_json_end(json);
    cb_json_number(json, "speaks_up", cb_learn_speaks_up(pots->learn));
    cb_json_number(json, "shift", cb_learn_shift(pots->learn));
}

static void json_evidence(const struct cb_pots *pots, const struct cb_pot_line *line,
                          struct cb_json *json)
{
    size_t count;
    const struct cb_pot_evidence *evidence = cb_pots_why(pots->learn, pots->rows, pots->row_count,
                                                         line->pot, 0, pots->args->arena, &count);
    cb_json_list(json, "observations");
    for (size_t i = 0; i < count; i++) {
        const struct cb_row *row = evidence[i].row;
        cb_json_object(json, NULL);
        cb_json_time(json, "at", row->at_ms);
        cb_json_text(json, "unit", row->unit);
        cb_json_integer(json, "figure", row->figure);
        cb_json_integer(json, "stage", row->stage);
        cb_json_integer(json, "coat", row->coat);
        cb_json_text(json, "technique", cb_technique_name((enum cb_technique)row->technique));
        cb_json_number(json, "wet_min", row->lo > 0 ? row->lo : (double)NAN);
        cb_json_number(json, "dry_min", row->hi);
        cb_json_bool(json, "unasked", row->kind == CB_ROW_WEAK);
        cb_json_number(json, "mis_key", evidence[i].mis_key);
        cb_json_end(json);
    }
    cb_json_end(json);
}

static void json_given(const struct cb_pots *pots, const struct cb_pot_line *line,
                       struct cb_json *json)
{
    size_t count;
    const struct cb_row *const *given =
        cb_pots_given(pots->rows, pots->row_count, line->pot, pots->args->arena, &count);
    cb_json_list(json, "given");
    for (size_t i = 0; i < count; i++) {
        cb_json_object(json, NULL);
        cb_json_text(json, "technique", cb_technique_name((enum cb_technique)given[i]->technique));
        cb_json_number(json, "low_min", given[i]->lo);
        cb_json_number(json, "high_min", given[i]->hi);
        cb_json_integer(json, "coats", (long long)given[i]->value);
        cb_json_end(json);
    }
    cb_json_end(json);
}

static void json_share(struct cb_json *json, const char *name, const struct cb_share *share,
                       struct cb_arena *arena)
{
    cb_json_integer(json, name, (long long)share->k);
    cb_json_integer(json, cb_arena_printf(arena, "%s_of", name), (long long)share->n);
    cb_json_number(json, cb_arena_printf(arena, "%s_low", name), share->low);
    cb_json_number(json, cb_arena_printf(arena, "%s_high", name), share->high);
}

/* By the tone that lies under it, each coat that was added or spared, or could have been. */
static void json_coats(const struct cb_pots *pots, const struct cb_pot_line *line,
                       struct cb_json *json)
{
    cb_json_list(json, "coats");
    for (int tone = CB_TONE_NONE; tone <= CB_TONE_LIGHT; tone++) {
        const struct cb_cover cover = cb_coverage_find(
            pots->covers.items, pots->covers.count, line->pot, line->technique, (enum cb_tone)tone);
        for (int coat = 1; coat <= CB_COATS_MAX; coat++) {
            const struct cb_share added = cb_coverage_added(&cover, coat);
            const struct cb_share spared = cb_coverage_spared(&cover, coat);
            if (added.k + spared.k + cover.said[coat - 1] == 0) {
                continue;
            }
            cb_json_object(json, NULL);
            cb_json_text(json, "over",
                         tone == CB_TONE_NONE ? NULL : cb_tone_name((enum cb_tone)tone));
            cb_json_integer(json, "coat", coat);
            json_share(json, "added", &added, pots->args->arena);
            json_share(json, "spared", &spared, pots->args->arena);
            cb_json_end(json);
        }
    }
    cb_json_end(json);
}

void cb_pots_print_json(const struct cb_pots *pots)
{
    struct cb_json *json = cb_json_new();
    cb_json_number(json, "confidence", pots->confidence);
    cb_json_list(json, "pots");
    for (size_t i = 0; i < pots->count; i++) {
        const struct cb_pot_line *line = &pots->lines[i];
        cb_json_object(json, NULL);
        cb_json_text(json, "paint", line->paint);
        cb_json_text(json, "kind", line->kind);
        cb_json_text(json, "technique", cb_technique_name(line->technique));
        cb_json_integer(json, "films", (long long)line->films);
        cb_json_number(json, "median_min", line->median_min);
        cb_json_number(json, "ping_min", line->ping_min);
        cb_json_number(json, "low_min", line->low_min);
        cb_json_number(json, "high_min", line->high_min);
        cb_json_number(json, "floor_min", line->floor_min);
        json_coats(pots, line, json);
        if (cb_args_has(pots->args, "--why")) {
            json_evidence(pots, line, json);
            json_given(pots, line, json);
        }
        cb_json_end(json);
    }
    cb_json_end(json);
    if (cb_args_has(pots->args, "--calibration")) {
        json_calibration(pots, json);
        json_rings(pots, json);
    }
    cb_command_print_json(json);
}
