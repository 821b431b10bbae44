/* SPDX-License-Identifier: MIT */
#include <string.h>

#include "app/ping.h"
#include "app/state.h"

uint32_t cb_ping_asks(struct cb_app *app, const struct cb_unit *unit, const struct cb_popup *popup)
{
    const struct cb_film_key key = popup->films[0];
    const struct cb_film *film = cb_bench_film(unit, key.figure, key.stage, key.coat);
    const int64_t on_ms = film ? film->on_ms : CB_TIME_NONE;
    for (size_t i = app->pings.asked.count; i-- > 0;) {
        const struct cb_asked *asked = &app->pings.asked.items[i];
        if (asked->film.figure == key.figure && asked->film.stage == key.stage &&
            asked->film.coat == key.coat && asked->on_ms == on_ms && !asked->answered &&
            strcmp(asked->unit, unit->id) == 0) {
            return (uint32_t)i + 1;
        }
    }
    cb_vec_push(&app->pings.asked, ((struct cb_asked){popup->unit, key, on_ms, false}));
    return (uint32_t)app->pings.asked.count;
}

static struct cb_popup *find_popup(struct cb_app *app, uint32_t id)
{
    for (size_t i = 0; i < app->pings.popups.count; i++) {
        if (app->pings.popups.items[i].id == id) {
            return &app->pings.popups.items[i];
        }
    }
    return NULL;
}

void cb_ping_button(struct cb_app *app, uint32_t ping_id, uint32_t answer, bool dry)
{
    struct cb_popup *popup = find_popup(app, ping_id);
    const struct cb_unit *unit = popup ? cb_ping_unit(app, popup) : NULL;
    const size_t place = answer != 0 || !popup ? answer : popup->answer;
    if (!unit || unit->finished || place == 0 || place > app->pings.asked.count) {
        return;
    }
    cb_ping_key(app);
    struct cb_asked *asked = &app->pings.asked.items[place - 1];
    const struct cb_film_key key = asked->film;
    const struct cb_film *film = cb_bench_film(unit, key.figure, key.stage, key.coat);
    if (asked->answered || strcmp(asked->unit, unit->id) != 0 || !film ||
        film->on_ms != asked->on_ms || !cb_ping_is_open(film) || !cb_app_may_write(app)) {
        return;
    }
    asked->answered = true;
    struct cb_event_make make;
    cb_event_begin(&make, &app->frame, CB_EVENT_CHECKED, unit->id, &app->session.now);
    cb_event_add_int(&make, CB_FIELD_FIGURE, key.figure);
    cb_event_add_int(&make, CB_FIELD_STAGE, key.stage);
    cb_event_add_int(&make, CB_FIELD_COAT, key.coat);
    cb_event_add_text(&make, CB_FIELD_FOUND, dry ? "dry" : "wet");
    cb_app_store_one(app, &make);
    if (place == popup->answer) {
        popup->film_count = 0; /* answered: closed by us; later films open it anew */
        if (popup->shown) {
            cb_app_effect(app, CB_EFFECT_PING_CLOSE)->ping_id = popup->id;
            popup->shown = false;
        }
    }
}
