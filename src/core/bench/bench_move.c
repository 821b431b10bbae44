/* SPDX-License-Identifier: MIT */
/* Coats that were marked on another figure than they are on: they count as marked rightly. */
#include "core/bench/bench_internal.h"

void cb_bench_settle_moves(struct cb_bench *bench)
{
    for (size_t i = 0; i < bench->events.count; i++) {
        const struct cb_event *event = bench->events.items[i];
        const char *id = cb_event_text(event, CB_FIELD_COAT_ID, NULL);
        const int64_t figure = cb_event_int(event, CB_FIELD_FIGURE, 0);
        const int64_t coat = cb_event_int(event, CB_FIELD_COAT, 0);
        if (event->kind == CB_EVENT_MOVED && bench->in_force.items[i] && id && figure >= 1 &&
            figure <= CB_FIGURES_MAX && coat >= 1 && coat <= CB_EVENT_COATS_MAX) {
            size_t older;
            const bool again = cb_index_get(bench->moved_ids, id, &older);
            cb_index_set(bench->moved_ids, id, bench->moves.count);
            cb_vec_push(&bench->moves,
                        ((struct cb_bench_move){(int)figure, (int)coat, i, again ? older + 1 : 0}));
        }
    }
}

const struct cb_bench_move *cb_bench_move_of(const struct cb_bench *bench,
                                             const struct cb_event *coat_on)
{
    size_t at;
    return bench->moves.count > 0 && coat_on->id && coat_on->kind == CB_EVENT_COAT_ON &&
                   !cb_event_is_stroke(coat_on) && cb_index_get(bench->moved_ids, coat_on->id, &at)
               ? &bench->moves.items[at]
               : NULL;
}

struct cb_film_key cb_bench_key(const struct cb_bench *bench, const struct cb_event *coat_on)
{
    const struct cb_bench_move *move = cb_bench_move_of(bench, coat_on);
    struct cb_film_key key = {(int)cb_event_int(coat_on, CB_FIELD_FIGURE, 0),
                              (int)cb_event_int(coat_on, CB_FIELD_STAGE, 0),
                              (int)cb_event_int(coat_on, CB_FIELD_COAT, 0)};
    if (move) {
        key.figure = move->figure;
        key.coat = move->coat;
    }
    return key;
}

/* Where it was said to be when that event was written. */
static void then(const struct cb_bench *bench, const struct cb_film_more *more, size_t event,
                 int *figure, int *coat)
{
    size_t at = more->moved;
    while (at > 0 && bench->moves.items[at - 1].event > event) {
        at = bench->moves.items[at - 1].older;
    }
    *figure = at > 0 ? bench->moves.items[at - 1].figure : more->said_figure;
    *coat = at > 0 ? bench->moves.items[at - 1].coat : more->said_coat;
}

struct cb_film *cb_bench_film_moved_later(const struct cb_bench *bench, struct cb_bench_unit *unit,
                                          int figure, int stage, int coat)
{
    const size_t now = bench->times.count - 1; /* the place of the event that is applied */
    for (size_t i = bench->moves.count > 0 ? unit->films.count : 0; i-- > 0;) {
        struct cb_film *film = &unit->films.items[i];
        int said_figure = 0, said_coat = 0;
        if (film->more->moved > 0 && film->stage == stage && film->lifted_ms == CB_TIME_NONE) {
            then(bench, film->more, now, &said_figure, &said_coat);
        }
        if (said_figure == figure && said_coat == coat) {
            return film;
        }
    }
    return NULL;
}
