/* SPDX-License-Identifier: MIT */
#include "app/farewell.h"

#include "app/state.h"
#include "base/utf8.h"

#define DAY_MS INT64_C(86400000)

const char *cb_app_farewell(const struct cb_app *app, struct cb_arena *arena)
{
    const struct cb_session *session = &app->session;
    const struct cb_bench_facts facts = cb_bench_facts(session->bench);
    if (!session->writer || facts.last_mark_ms == CB_TIME_NONE ||
        facts.last_mark_ms < session->opened_ms) {
        return NULL;
    }
    const struct cb_findings *findings = cb_app_findings(app);
    if (findings->count == 0) {
        return NULL;
    }
    const int64_t day = cb_time_local(session->now.wall_ms, &session->zone) / DAY_MS;
    const struct cb_finding *one = &findings->items[(uint64_t)day % findings->count];
    const char *text = cb_arena_printf(arena, "your log says: %s (%s), so %s.", one->text,
                                       cb_finding_size(one, arena), one->advice);
    return cb_utf8_clean(arena, text, 0);
}
