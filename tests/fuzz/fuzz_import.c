/* SPDX-License-Identifier: MIT */
/* Any bytes as lines to import. What is taken comes out as the same lines again, fit for a
 * terminal; what is refused leaves nothing behind. */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/str.h"
#include "base/utf8.h"
#include "shell/transfer.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static bool collect(void *context, const char *bytes, size_t length)
{
    cb_str_add_n(context, bytes, length);
    return true;
}

static void must(bool fine)
{
    if (!fine) {
        abort();
    }
}

static void export_to(struct cb_store *store, struct cb_str *out, size_t *count)
{
    struct cb_err err = {0};
    must(cb_transfer_out(store, CB_TRANSFER_JSONL, collect, out, count, &err) == CB_OK);
    const char *at = cb_str_text(out);
    while (*at) {
        uint32_t cp = cb_utf8_next(&at);
        must(cp == '\n' || cb_utf8_is_safe(cp));
    }
}

static void take(const char *text, size_t length, struct cb_str *out, size_t found)
{
    struct cb_store *store = NULL;
    struct cb_err err = {0};
    struct cb_str csv = {0};
    size_t added, count;
    must(cb_store_open(NULL, CB_STORE_APPEND, &store, &err) == CB_OK);
    must(cb_transfer_in(store, text, length, &added, &err) == CB_OK);
    must(added <= found);
    export_to(store, out, &count);
    must(count == added);
    must(cb_transfer_out(store, CB_TRANSFER_CSV, collect, &csv, &count, &err) == CB_OK);
    must(cb_utf8_valid(cb_str_text(&csv), csv.length));
    cb_str_fini(&csv);
    cb_store_close(store);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct cb_arena arena = {0};
    struct cb_issues issues = {0};
    size_t found = 0;
    char *bytes = cb_arena_alloc(&arena, size + 1, 1);
    if (size > 0) {
        memcpy(bytes, data, size);
    }
    if (cb_transfer_check(bytes, size, &arena, &issues, &found) == CB_OK && found > 0) {
        struct cb_str first = {0};
        struct cb_str second = {0};
        take(bytes, size, &first, found);
        take(first.text, first.length, &second, found);
        must(strcmp(cb_str_text(&first), cb_str_text(&second)) == 0);
        cb_str_fini(&first);
        cb_str_fini(&second);
    } else {
        for (size_t i = 0; i < issues.count; i++) {
            must(issues.items[i].line > 0 && issues.items[i].column > 0);
        }
    }
    cb_arena_fini(&arena);
    return 0;
}
