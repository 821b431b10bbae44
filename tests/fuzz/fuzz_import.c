/* SPDX-License-Identifier: MIT */
/* Any bytes as lines to import. What is taken comes out as lines fit for a terminal, none left,
 * which import takes whole and which come out the same again; strict takes all or nothing. A
 * database is no lines, and is refused. */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/str.h"
#include "base/utf8.h"
#include "shell/transfer.h"
#include "fuzz/must.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static bool collect(void *context, const char *bytes, size_t length)
{
    cb_str_add_n(context, bytes, length);
    return true;
}

static size_t export_to(struct cb_store *store, enum cb_transfer_format format, struct cb_str *out)
{
    struct cb_arena arena = {0};
    struct cb_transfer_left left;
    struct cb_err err = {0};
    size_t count;
    must(cb_transfer_out(store, format, collect, out, &arena, &count, &left, &err) == CB_OK);
    must(left.count == 0);
    cb_arena_fini(&arena);
    return count;
}

/* By the magic of a database file (sqlite.org/fileformat2.html, 1.3), behind a byte order mark or
 * none. */
static bool is_database(const char *text, size_t length)
{
    static const char mark[] = "\xef\xbb\xbf", magic[] = "SQLite format 3";
    size_t skip = length >= 3 && memcmp(text, mark, 3) == 0 ? 3 : 0;
    return length - skip >= sizeof magic - 1 && memcmp(text + skip, magic, sizeof magic - 1) == 0;
}

/* How many were left; out: what the log then holds. */
static size_t take(const char *text, size_t length, bool strict, struct cb_str *out)
{
    struct cb_arena arena = {0};
    struct cb_store *store = NULL;
    struct cb_str csv = {0};
    struct cb_transfer_text source = {text, length};
    struct cb_transfer_in in = {
        .read = cb_transfer_read_text, .context = &source, .strict = strict};
    struct cb_transfer_taken taken;
    must(cb_store_open(NULL, CB_STORE_APPEND, &store, NULL) == CB_OK);
    enum cb_status status = cb_transfer_in(store, &in, &arena, &taken, NULL);
    must(status ==
         (is_database(text, length) || (strict && taken.left.count > 0) ? CB_DATA : CB_OK));
    must(status == CB_OK || taken.added == 0);
    must(taken.added + taken.left.count <= taken.lines);
    for (size_t i = 0; i < taken.left.first.count; i++) {
        must(taken.left.first.items[i].line > 0 && taken.left.first.items[i].column > 0);
    }
    must(export_to(store, CB_TRANSFER_JSONL, out) == taken.added);
    for (const char *at = cb_str_text(out); *at;) {
        uint32_t cp = cb_utf8_next(&at);
        must(cp == '\n' || cb_utf8_is_safe(cp));
    }
    must(export_to(store, CB_TRANSFER_CSV, &csv) == taken.added);
    must(cb_utf8_valid(cb_str_text(&csv), csv.length));
    cb_str_fini(&csv);
    cb_store_close(store);
    cb_arena_fini(&arena);
    return taken.left.count;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct cb_str first = {0}, second = {0}, strict = {0};
    char *bytes = malloc(size ? size : 1);
    must(bytes != NULL);
    if (size > 0) {
        memcpy(bytes, data, size);
    }
    size_t left = take(bytes, size, false, &first);
    if (first.length > 0) {
        must(take(first.text, first.length, true, &second) == 0);
        must(strcmp(first.text, cb_str_text(&second)) == 0);
        must(take(bytes, size, true, &strict) == left);
        must(strcmp(cb_str_text(&strict), left ? "" : first.text) == 0);
    }
    cb_str_fini(&first);
    cb_str_fini(&second);
    cb_str_fini(&strict);
    free(bytes);
    return 0;
}
