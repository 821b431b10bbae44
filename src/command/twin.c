/* SPDX-License-Identifier: MIT */
#include "command/twin.h"

#include <string.h>

#include "base/version.h"
#include "shell/store.h"
#include "shell/yaml.h"
#include "view/screen.h"

#define COLUMNS_LEAST 30 /* the views want as many */

void cb_twin_view(const struct cb_app *app, struct cb_str *out)
{
    struct cb_grid grid;
    struct cb_str text = {0};
    cb_grid_init(&grid, 1, 1);
    grid.plain = true;
    cb_screen_draw(app, &grid);
    cb_grid_dump(&grid, &text);
    bool blank = true; /* the line before; none at the beginning */
    for (const char *line = cb_str_text(&text); *line != '\0';) {
        const size_t length = strcspn(line, "\n");
        if (length > 0 || !blank) {
            cb_str_add_n(out, line, length);
            cb_str_add(out, "\n");
        }
        blank = length == 0;
        line += length + (line[length] == '\n');
    }
    cb_str_fini(&text);
    cb_grid_fini(&grid);
}

static void feed(struct cb_app *app, const struct cb_moment *now, struct cb_input input)
{
    input.now = *now;
    (void)cb_app_step(app, &input); /* what it would have done: nothing is written here */
}

enum cb_status cb_twin_all(struct cb_log_read *log, const struct cb_moment *now, int columns,
                           struct cb_str *out, struct cb_err *err)
{
    const struct cb_store_filter open_units = {.open_units = true};
    const struct cb_event **events = NULL;
    const struct cb_cues *cues = NULL;
    size_t count = 0;
    struct cb_arena loaded = {0};
    enum cb_status status = cb_args_cues(log->args, log->kinds, &cues, err);
    if (status == CB_OK && log->store != NULL) {
        status = cb_store_load(log->store, &open_units, &loaded, &events, &count, NULL, err);
    }
    if (status == CB_OK) {
        const struct cb_app_setup setup = {
            .views = cb_screens,
            .kinds = log->kinds,
            .config = log->config,
            .cues = cues,
            .read = cb_yaml_read,
            .zone = log->zone,
            .rows = CB_TWIN_ROWS,
            .columns = columns < COLUMNS_LEAST ? COLUMNS_LEAST : columns,
            .writer = true,
            .machine = log->store != NULL ? cb_store_machine(log->store) : NULL,
            .version = CB_VERSION,
            .history_due = true,
        };
        struct cb_app *app = cb_app_new(&setup, *now);
        feed(app, now,
             (struct cb_input){.kind = CB_INPUT_EVENTS, .events = events, .event_count = count});
        feed(app, now, (struct cb_input){.kind = CB_INPUT_HISTORY, .taught = &log->taught});
        feed(app, now, (struct cb_input){.kind = CB_INPUT_TIME});
        for (size_t i = 0; i < cb_screens.count; i++) {
            const struct cb_view *view = cb_screens.items[i];
            if (view->flags & CB_VIEW_READ_OUT) {
                cb_str_addf(out, "\n%s:\n\n", view->name);
                (void)cb_app_show(app, view->name);
                cb_twin_view(app, out);
            }
        }
        cb_app_free(app);
    }
    cb_arena_fini(&loaded);
    return status;
}
