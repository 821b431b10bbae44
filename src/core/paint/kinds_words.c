/* SPDX-License-Identifier: MIT */
#include "core/paint/kinds.h"

#include <string.h>

#include "base/utf8.h"

/* What is commonly said at a painting table and on labels (own judgement). */
static const struct cb_trade_word words[] = {
    {"base", CB_TECHNIQUE_BASECOAT, "acrylic"},
    {"base coat", CB_TECHNIQUE_BASECOAT, "acrylic"},
    {"base paint", CB_TECHNIQUE_BASECOAT, "acrylic"},
    {"basecoat", CB_TECHNIQUE_BASECOAT, "acrylic"},
    {"paint", CB_TECHNIQUE_BASECOAT, "acrylic"},
    {"metal", CB_TECHNIQUE_BASECOAT, "metallic"},
    {"metallic", CB_TECHNIQUE_BASECOAT, "metallic"},
    {"prime", CB_TECHNIQUE_UNDERCOAT, "spray undercoat"},
    {"primer", CB_TECHNIQUE_UNDERCOAT, "spray undercoat"},
    {"priming", CB_TECHNIQUE_UNDERCOAT, "spray undercoat"},
    {"spray", CB_TECHNIQUE_UNDERCOAT, "spray undercoat"},
    {"spray can", CB_TECHNIQUE_UNDERCOAT, "spray undercoat"},
    {"spray primer", CB_TECHNIQUE_UNDERCOAT, "spray undercoat"},
    {"spray undercoat", CB_TECHNIQUE_UNDERCOAT, "spray undercoat"},
    {"undercoat", CB_TECHNIQUE_UNDERCOAT, "spray undercoat"},
    {"layer", CB_TECHNIQUE_LAYER, "acrylic"},
    {"layering", CB_TECHNIQUE_LAYER, "acrylic"},
    {"drybrush", CB_TECHNIQUE_DRYBRUSH, "acrylic"},
    {"dry brush", CB_TECHNIQUE_DRYBRUSH, "acrylic"},
    {"wash", CB_TECHNIQUE_WASH, "wash"},
    {"shade", CB_TECHNIQUE_WASH, "wash"},
    {"shading", CB_TECHNIQUE_WASH, "wash"},
    {"recess shade", CB_TECHNIQUE_RECESS_SHADE, "wash"},
    {"pin wash", CB_TECHNIQUE_RECESS_SHADE, "wash"},
    {"glaze", CB_TECHNIQUE_GLAZE, "acrylic"},
    {"highlight", CB_TECHNIQUE_EDGE_HIGHLIGHT, "acrylic"},
    {"highlights", CB_TECHNIQUE_EDGE_HIGHLIGHT, "acrylic"},
    {"highlighting", CB_TECHNIQUE_EDGE_HIGHLIGHT, "acrylic"},
    {"edge highlight", CB_TECHNIQUE_EDGE_HIGHLIGHT, "acrylic"},
    {"edges", CB_TECHNIQUE_EDGE_HIGHLIGHT, "acrylic"},
    {"texture", CB_TECHNIQUE_TEXTURE, "texture paste"},
    {"texture paint", CB_TECHNIQUE_TEXTURE, "texture paste"},
    {"texture paste", CB_TECHNIQUE_TEXTURE, "texture paste"},
    {"paste", CB_TECHNIQUE_TEXTURE, "texture paste"},
    {"basing", CB_TECHNIQUE_TEXTURE, "texture paste"},
    {"varnish", CB_TECHNIQUE_VARNISH, "brush varnish"},
    {"brush varnish", CB_TECHNIQUE_VARNISH, "brush varnish"},
    {"spray varnish", CB_TECHNIQUE_VARNISH, "spray varnish"},
    {"sealer", CB_TECHNIQUE_VARNISH, "brush varnish"},
};

const struct cb_trade_word *cb_trade_word(const char *word)
{
    const struct cb_trade_word *found = NULL;
    struct cb_arena arena = {0};
    const char *folded = cb_utf8_fold(&arena, word);
    for (size_t i = 0; i < sizeof words / sizeof *words && found == NULL; i++) {
        found = strcmp(words[i].word, folded) == 0 ? &words[i] : NULL;
    }
    cb_arena_fini(&arena);
    return found;
}
