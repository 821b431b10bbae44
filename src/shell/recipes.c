/* SPDX-License-Identifier: MIT */
#include "shell/recipes.h"

#include <dirent.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "core/recipe/recipe.h"
#include "shell/paths.h"
#include "shell/yaml.h"

/* The rest of the first line that begins with that key and a colon; NULL: none does. For files that
 * are too broken to be read as what they are. */
static const char *line_of(const char *text, const char *key)
{
    size_t length = strlen(key);
    for (const char *line = text; line != NULL; line = strchr(line, '\n')) {
        line += *line == '\n';
        if (strncmp(line, key, length) == 0 && line[length] == ':') {
            return line + length + 1;
        }
    }
    return NULL;
}

static const char *name_in(const char *text, struct cb_arena *arena)
{
    const char *from = line_of(text, "name");
    if (from == NULL) {
        return NULL;
    }
    from += strspn(from, " ");
    const bool quoted = *from == '"' || *from == '\'';
    const char ends[] = {'\n', '\r', quoted ? *from : '#', '\0'};
    from += quoted;
    size_t length = strcspn(from, ends);
    while (!quoted && length > 0 && from[length - 1] == ' ') {
        length--;
    }
    return length > 0 ? cb_arena_printf(arena, "%.*s", (int)length, from) : NULL;
}

struct cb_app_recipe cb_recipes_read(const char *path, const struct cb_kinds *kinds,
                                     struct cb_arena *arena)
{
    const char *slash = strrchr(path, '/');
    struct cb_app_recipe out = {.path = cb_arena_text(arena, path)};
    out.name = slash != NULL ? out.path + (slash + 1 - path) : out.path;
    char *text;
    size_t length;
    struct cb_err err = {0};
    if (cb_file_read(path, CB_RECIPE_BYTES, arena, &text, &length, &err) != CB_OK) {
        out.fault = cb_arena_text(arena, err.text);
        return out;
    }
    struct cb_issues issues = {0};
    const struct cb_tree *tree = cb_yaml_read(text, length, arena, &issues);
    const struct cb_recipe *recipe =
        tree != NULL ? cb_recipe_from_tree(tree, text, kinds, arena, &issues) : NULL;
    if (recipe == NULL) {
        out.fault = issues.count == 0
                        ? "it can't be read"
                        : cb_arena_printf(arena, "%s:%d:%d: %s", out.name, issues.items[0].line,
                                          issues.items[0].column, issues.items[0].message);
        const char *name = name_in(text, arena);
        out.name = name != NULL ? name : out.name;
        out.ours = line_of(text, "coatbell") != NULL;
        return out;
    }
    out.name = recipe->name;
    out.text = text;
    out.figures = recipe->figures;
    return out;
}

static int is_recipe(const struct dirent *entry)
{
    const char *dot = strrchr(entry->d_name, '.');
    return entry->d_name[0] != '.' && dot != NULL &&
           (strcmp(dot, ".yaml") == 0 || strcmp(dot, ".yml") == 0);
}

/* A YAML file in the current folder may be anything; what is no recipe of ours is not offered. */
static bool is_ours(const struct cb_app_recipe *recipe, const char *folder)
{
    return recipe->text != NULL || recipe->ours || strcmp(folder, ".") != 0;
}

const struct cb_app_recipe *cb_recipes_list(const char *first, const struct cb_kinds *kinds,
                                            struct cb_arena *arena, size_t *count)
{
    const char *folders[3];
    size_t folder_count = cb_paths_recipes(arena, folders);
    struct cb_app_recipe *out = cb_arena_alloc(arena, CB_RECIPES_LISTED_MAX, sizeof *out);
    *count = 0;
    struct {
        dev_t device;
        ino_t inode;
    } seen[CB_RECIPES_LISTED_MAX];
    struct stat own;
    if (first != NULL && stat(first, &own) == 0) {
        seen[0].device = own.st_dev;
        seen[0].inode = own.st_ino;
        out[(*count)++] = cb_recipes_read(first, kinds, arena);
    }
    for (size_t f = 0; f < folder_count; f++) {
        struct dirent **entries = NULL;
        int found = scandir(folders[f], &entries, is_recipe, alphasort);
        for (int i = 0; i < found; i++) {
            const char *path = cb_arena_printf(arena, "%s/%s", folders[f], entries[i]->d_name);
            free(entries[i]);
            struct stat st;
            if (*count == CB_RECIPES_LISTED_MAX || stat(path, &st) != 0) {
                continue;
            }
            bool known = false; /* the current folder may be one of the others */
            for (size_t s = 0; s < *count && !known; s++) {
                known = seen[s].device == st.st_dev && seen[s].inode == st.st_ino;
            }
            if (!known) {
                struct cb_app_recipe recipe = cb_recipes_read(path, kinds, arena);
                if (is_ours(&recipe, folders[f])) {
                    seen[*count].device = st.st_dev;
                    seen[*count].inode = st.st_ino;
                    out[(*count)++] = recipe;
                }
            }
        }
        free(entries);
    }
    return out;
}

struct cb_input cb_recipes_input(const char *path, const char *first, const struct cb_kinds *kinds,
                                 struct cb_arena *arena)
{
    struct cb_input input = {.kind = CB_INPUT_RECIPES, .recipe_count = 1, .text = path};
    if (path != NULL && !cb_file_is_there(path)) {
        input.recipe_count = 0;
    } else if (path != NULL) {
        struct cb_app_recipe *one = cb_arena_alloc(arena, 1, sizeof *one);
        *one = cb_recipes_read(path, kinds, arena);
        input.recipes = one;
    } else {
        input.recipes = cb_recipes_list(first, kinds, arena, &input.recipe_count);
    }
    return input;
}
