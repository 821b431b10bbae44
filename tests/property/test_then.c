/* SPDX-License-Identifier: MIT */
/* What the bench says comes next is what it names then, or a line says that it is not. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "app/look.h"
#include "app/road.h"
#include "app/then.h"
#include "support/stage.h"

#define PRESSES_MAX 2000

static const struct cb_app *app_of(struct stage *stage)
{
    return cb_rehearse_app(stage->rehearse);
}

struct told {
    int turns; /* from one coat to another, of which was said what comes */
    int kept;  /* it did; else a line said that it does not */
};

/* To the end, at the recipe's minutes; a coat that is waited for when it can go on. */
static struct told paint(struct stage *stage)
{
    const struct cb_app *app = app_of(stage);
    struct told told = {0};
    int64_t free_ms = cb_app_bench_now(app);
    for (int presses = 0; presses < PRESSES_MAX && !cb_app_scene(app)->all_done; presses++) {
        const struct cb_scene *scene = cb_app_scene(app);
        if (cb_scene_unread(scene)) {
            stage_key(stage, "SPACE");
            continue;
        }
        const int own_stage = scene->proposal.stage, own_coat = scene->proposal.coat;
        int64_t from_ms = free_ms;
        from_ms += scene->proposal.change_paint
                       ? (int64_t)(scene->unit->recipe->change_min * (double)CB_MS_PER_MIN)
                       : 0;
        from_ms = scene->anyway && scene->ready_ms > from_ms ? scene->ready_ms : from_ms;
        free_ms = from_ms +
                  (int64_t)(cb_stage_minutes(scene->stage, stage->kinds) * (double)CB_MS_PER_MIN);
        cb_rehearse_advance(stage->rehearse, free_ms - cb_app_bench_now(app));
        const struct cb_then_run then = cb_then_next(app, cb_app_scene(app));
        stage_key(stage, "SPACE");
        scene = cb_app_scene(app);
        const bool turned = scene->proposal.any && (scene->proposal.stage != own_stage ||
                                                    scene->proposal.coat != own_coat);
        if (turned && then.stage > 0) {
            const bool same =
                scene->proposal.stage == then.stage && scene->proposal.coat == then.coat;
            told.turns++;
            told.kept += same ? 1 : 0;
            fprintf(stderr, "said %d.%d\n%s\n", then.stage, then.coat, stage_text(stage));
            assert_int_equal(stage_shows(stage, "first after all"), !same);
        }
    }
    return told;
}

static void what_is_said_to_come_comes(void **state)
{
    (void)state;
    static const struct {
        const char *recipe;
        int figures;
    } units[] = {{"night-watch.yaml", 10},
                 {"night-watch.yaml", 3},
                 {"league-pikemen.yaml", 5},
                 {"marsh-troll.yaml", 1}};
    int turns = 0, kept = 0;
    for (size_t i = 0; i < sizeof units / sizeof *units; i++) {
        struct stage stage;
        stage_init(&stage, units[i].recipe, units[i].figures, 24, 80, CB_PING_OFF);
        const struct told told = paint(&stage);
        print_message("%s, %d: %d turns, %d as said\n", units[i].recipe, units[i].figures,
                      told.turns, told.kept);
        turns += told.turns;
        kept += told.kept;
        stage_fini(&stage);
    }
    assert_true(turns > 60);
    assert_true(kept * 10 >= turns * 9); /* own judgement: more would be no word to go by */
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(what_is_said_to_come_comes)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
