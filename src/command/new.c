/* SPDX-License-Identifier: MIT */
/* `new`: a starter recipe to write on. */
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "command/command.h"
#include "shell/json_write.h"
#include "shell/yaml.h"

static const char starter[] =
    "# A recipe for coatbell. Everything after a # is a comment. coatbell-recipe(5) has all keys;\n"
    "# `coatbell check FILE` says whether it is sound, `coatbell begin FILE` begins the unit.\n"
    "coatbell: 1\n"
    "name: My unit\n"
    "figures: 10\n"
    "height: 32 mm          # from the feet to the eyes: for the amounts\n"
    "change: 90 s           # rinse, shake, load the palette: each time the paint changes\n"
    "\n"
    "# A short word for each pot: name is what stands on it, kind what it is physically (acrylic,\n"
    "# metallic, wash, stain, ink, texture paste, spray undercoat, spray varnish, brush varnish,\n"
    "# oil, enamel), tone dark, mid or light.\n"
    "paints:\n"
    "  under: {name: Undercoat grey,  kind: acrylic,       tone: mid}\n"
    "  cloth: {name: Cloth blue,      kind: acrylic,       tone: mid}\n"
    "  skin:  {name: Skin,            kind: acrylic,       tone: light}\n"
    "  shade: {name: Brown shade,     kind: wash}\n"
    "  earth: {name: Base paste,      kind: texture paste, tone: dark}\n"
    "  coat:\n"
    "    name: Matt varnish\n"
    "    kind: brush varnish\n"
    "    # dry: 25 min         # what it takes by your own watch, at 23 C and 50 %\n"
    "    # label: 40 min       # what the pot says to wait before the next coat\n"
    "\n"
    "# Parts of the figure. share: of its surface. beside: touches so closely that neither may be\n"
    "# painted while the other is wet. A stage `on: [whole]` covers all of them.\n"
    "areas:\n"
    "  clothes: {share: 60 %}\n"
    "  face:    {share: 15 %, beside: [clothes]}\n"
    "  base:    {share: 25 %}\n"
    "\n"
    "# What to do, in order. minutes: hands-on, for one figure and coat.\n"
    "stages:\n"
    "  - name: Undercoat\n"
    "    technique: undercoat\n"
    "    paint: under\n"
    "    minutes: 3\n"
    "    brush: large flat\n"
    "  - name: Clothes\n"
    "    technique: basecoat\n"
    "    paint: cloth\n"
    "    mix: 2 paint + 1 water\n"
    "    on: [clothes]\n"
    "    coats: 2\n"
    "    minutes: 4\n"
    "    brush: medium round\n"
    "    say: Two thin coats beat one that fills the folds.\n"
    "  - name: Faces\n"
    "    technique: basecoat\n"
    "    paint: skin\n"
    "    mix: 2 paint + 1 water\n"
    "    on: [face]\n"
    "    coats: 2\n"
    "    minutes: 2\n"
    "    brush: small round\n"
    "    tidy_with: [cloth]     # to have at hand when the brush slips\n"
    "  - name: Shade\n"
    "    technique: wash\n"
    "    paint: shade\n"
    "    on: [clothes, face]\n"
    "    minutes: 2\n"
    "    brush: large round\n"
    "    say: Soak up pools with a clean damp brush, then leave it alone.\n"
    "  - name: Edges\n"
    "    technique: edge highlight\n"
    "    mix: 1 cloth + 1 skin\n"
    "    on: [clothes]\n"
    "    minutes: 5\n"
    "    brush: fine liner\n"
    "    optional: yes\n"
    "  - name: Bases\n"
    "    technique: texture\n"
    "    paint: earth\n"
    "    on: [base]\n"
    "    minutes: 2\n"
    "    brush: old flat\n"
    "  - name: Varnish\n"
    "    technique: varnish\n"
    "    paint: coat\n"
    "    minutes: 3\n"
    "    brush: large flat\n";

static int run(const struct cb_args *args)
{
    const char *path = args->operands[0];
    if (strcmp(path, "-") == 0) {
        fputs(starter, stdout);
        return 0;
    }
    struct cb_err err = {0};
    if (cb_file_create(path, starter, &err) != CB_OK) {
        return cb_command_fail(&err);
    }
    if (args->json) {
        struct cb_json *json = cb_json_new();
        cb_json_text(json, "file", path);
        cb_command_print_json(json);
    } else {
        struct cb_arena *arena = args->arena;
        const char *shown = cb_utf8_clean(arena, path, 0);
        printf("%s: a recipe to write on; then `coatbell begin %s`\n", shown, shown);
    }
    return 0;
}

const struct cb_command cb_command_new = {
    .name = "new",
    .operands = "FILE",
    .summary = "Write a commented starter recipe; never over a file that is there.",
    .min_operands = 1,
    .max_operands = 1,
    .run = run,
};
