/* SPDX-License-Identifier: MIT */
#include "shell/recipe_file.h"

#include "base/utf8.h"
#include "shell/yaml.h"

/* In the order of the file, whatever order they were noticed in. */
static void sort_issues(struct cb_issues *issues)
{
    for (size_t i = 1; i < issues->count; i++) {
        const struct cb_issue issue = issues->items[i];
        size_t at = i;
        while (at > 0 && (issues->items[at - 1].line > issue.line ||
                          (issues->items[at - 1].line == issue.line &&
                           issues->items[at - 1].column > issue.column))) {
            issues->items[at] = issues->items[at - 1];
            at--;
        }
        issues->items[at] = issue;
    }
}

enum cb_status cb_recipe_file_read(const char *path, const struct cb_kinds *kinds,
                                   struct cb_arena *arena, struct cb_recipe_file *file,
                                   struct cb_err *err)
{
    char *text = NULL;
    size_t length = 0;
    *file = (struct cb_recipe_file){.path = cb_arena_text(arena, path)};
    /* One byte too many is enough to see that the file is too long, and where. */
    enum cb_status status =
        cb_file_read_head(path, CB_RECIPE_BYTES + 1, arena, &text, &length, err);
    if (status != CB_OK) {
        return status;
    }
    file->text = text;
    const struct cb_tree *tree = cb_yaml_read(text, length, arena, &file->issues);
    if (tree != NULL) {
        file->recipe = cb_recipe_from_tree(tree, text, kinds, arena, &file->issues);
    }
    if (file->recipe == NULL) {
        sort_issues(&file->issues);
        const struct cb_issue *first = &file->issues.items[0];
        return cb_err_set(err, CB_DATA, "%s:%d:%d: %s", path, first->line, first->column,
                          first->message);
    }
    return CB_OK;
}

/* As wide as before, so that the caret stays under its place. */
static void add_ascii(struct cb_str *out, const char *text)
{
    while (*text != '\0') {
        uint32_t cp = cb_utf8_next(&text);
        char plain[2] = {cp < 0x80 ? (char)cp : cp == 0x2026 ? '~' : '?', '\0'};
        int width = cp < 0x80 ? 1 : cb_utf8_width(cp);
        for (; width > 0; width--) {
            cb_str_add(out, plain);
        }
    }
}

void cb_recipe_file_print(const struct cb_recipe_file *file, bool ascii, struct cb_str *out)
{
    struct cb_str text = {0};
    cb_issues_print(&file->issues, file->path, file->text, &text);
    if (ascii) {
        add_ascii(out, cb_str_text(&text));
    } else {
        cb_str_add(out, cb_str_text(&text));
    }
    cb_str_fini(&text);
}
