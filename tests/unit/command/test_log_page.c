/* SPDX-License-Identifier: MIT */
/* coatbell-log(5) and the program can't disagree: its events and fields are those of the schema,
 * the sum is as it is described there, and the order that its last example gives is the fold's. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <sqlite3.h>

#include "base/arena.h"
#include "base/str.h"
#include "core/log/event.h"
#include "shell/store.h"
#include "shell/store_internal.h"
#include "shell/store_sum.h"
#include "support/events.h"

static char *page;

static int read_page(void **state)
{
    (void)state;
    FILE *file = fopen("man/coatbell-log.5", "r");
    if (file == NULL) {
        return -1;
    }
    page = calloc(1, 65536);
    size_t got = fread(page, 1, 65535, file);
    fclose(file);
    return got > 0 ? 0 : -1;
}

static int free_page(void **state)
{
    (void)state;
    free(page);
    return 0;
}

/* From the heading to the next of that kind; the caller frees. */
static char *section(const char *kind, const char *heading)
{
    char line[64], next[16];
    snprintf(line, sizeof line, "\n.%s %s\n", kind, heading);
    snprintf(next, sizeof next, "\n.S");
    char *from = strstr(page, line);
    assert_non_null(from);
    from += strlen(line);
    char *to = strstr(from, next);
    assert_non_null(to);
    return strndup(from, (size_t)(to - from) + 1);
}

/* The lines of the entries that say which event and which fields. */
static char *entries(const char *text)
{
    struct cb_str out = {0};
    for (const char *at = text; *at;) {
        const char *end = strchr(at, '\n') + 1;
        if (strncmp(at, ".It Li ", 7) == 0 || strncmp(at, ".Li ", 4) == 0 ||
            strncmp(at, ".Op Li ", 7) == 0) {
            cb_str_add_n(&out, at, (size_t)(end - at));
        }
        at = end;
    }
    return out.text;
}

static void events_are_those_of_the_schema(void **state)
{
    (void)state;
    static const char *const headings[] = {"Of the bench", "Of a unit", "Of a film"};
    static const char scopes[] = {
#define SCOPE_B            0
#define SCOPE_U            1
#define SCOPE_F            2
#define X(id, word, scope) SCOPE_##scope,
        CB_EVENTS(X)
#undef X
    };
    for (int scope = 0; scope < 3; scope++) {
        struct cb_str wanted = {0};
        for (int kind = 0; kind < CB_EVENT_COUNT; kind++) {
            size_t count;
            const struct cb_event_field *fields = cb_event_schema((enum cb_event_kind)kind, &count);
            if (scopes[kind] != scope) {
                continue;
            }
            cb_str_addf(&wanted, ".It Li %s\n", cb_event_name((enum cb_event_kind)kind));
            for (size_t i = 0; i < count; i++) {
                cb_str_addf(&wanted, ".%sLi %s\n", fields[i].required ? "" : "Op ",
                            cb_field_name(fields[i].field));
            }
        }
        char *text = section("Ss", headings[scope]);
        char *found = entries(text);
        assert_string_equal(found, wanted.text);
        free(found);
        free(text);
        cb_str_fini(&wanted);
    }
}

static void fields_are_those_of_the_list(void **state)
{
    (void)state;
    struct cb_str wanted = {0};
    char *text = section("Sh", "FIELDS OF EVENTS");
    char *found = entries(text);
    for (int field = 0; field < CB_FIELD_COUNT; field++) {
        cb_str_addf(&wanted, ".It Li %s\n", cb_field_name((enum cb_field)field));
    }
    assert_string_equal(found, wanted.text);
    free(found);
    free(text);
    cb_str_fini(&wanted);
}

/* The n-th literal block after the heading, without its last line end; the caller frees. */
static char *block(const char *heading, int n)
{
    static const char begin[] = ".Bd -literal -offset indent\n";
    char *text = section("Sh", heading);
    char *at = text;
    for (; n >= 0; n--) {
        at = strstr(at, begin);
        assert_non_null(at);
        at += sizeof begin - 1;
    }
    char *out = strndup(at, (size_t)(strstr(at, "\n.Ed") - at));
    free(text);
    return out;
}

static sqlite3_int64 ask(sqlite3 *db, const char *sql)
{
    sqlite3_stmt *stmt;
    if (sqlite3_prepare_v2(db, sql, -1, &stmt, NULL) != SQLITE_OK) {
        fail_msg("%s: %s", sql, sqlite3_errmsg(db));
    }
    assert_int_equal(sqlite3_step(stmt), SQLITE_ROW);
    const sqlite3_int64 value = sqlite3_column_int64(stmt, 0);
    sqlite3_finalize(stmt);
    return value;
}

/* FNV-1a over the bytes as they stand in hex, written anew by what the page says. */
static int64_t sum_of_hex(const char *hex)
{
    uint64_t sum = UINT64_C(14695981039346656037);
    char *end;
    for (unsigned long byte = strtoul(hex, &end, 16); end != hex; byte = strtoul(hex, &end, 16)) {
        sum ^= byte;
        sum *= UINT64_C(1099511628211);
        hex = end;
    }
    return (int64_t)sum;
}

static void the_sum_is_as_described(void **state)
{
    (void)state;
    sqlite3 *db;
    char *columns = block("THE SUM", 0);
    char *example = block("THE SUM", 1);
    char *bytes = block("THE SUM", 2);
    char *equals = strstr(example, " = ");
    assert_non_null(equals);
    *equals = '\0';
    const int64_t said = strtoll(equals + 3, NULL, 10);
    assert_true(sum_of_hex(bytes) == said);
    assert_int_equal(sqlite3_open(":memory:", &db), SQLITE_OK);
    assert_int_equal(cb_store_sum_functions(db), SQLITE_OK);
    char sql[600];
    snprintf(sql, sizeof sql, "SELECT %s", example);
    assert_true(ask(db, sql) == said);
    sqlite3_close(db);

    struct cb_arena arena = {0};
    struct dice dice = {5};
    struct cb_store *store;
    assert_int_equal(cb_store_open(NULL, CB_STORE_APPEND, &store, NULL), CB_OK);
    for (int i = 0; i < 200; i++) {
        const struct cb_event *event = dice_event(&dice, &arena, false);
        const struct cb_event **stored;
        (void)cb_store_append(store, &event, 1, &arena, &stored, NULL);
    }
    snprintf(sql, sizeof sql, "SELECT count(*) FROM event WHERE row_sum(%s) IS sum", columns);
    assert_in_range(ask(store->db, "SELECT count(*) FROM event"), 100, 200);
    assert_int_equal(ask(store->db, sql), ask(store->db, "SELECT count(*) FROM event"));
    assert_int_equal(ask(store->db, "SELECT count(*) FROM origin WHERE row_sum(origin, machine,"
                                    " boot) IS NOT sum"),
                     0);
    cb_store_close(store);
    cb_arena_fini(&arena);
    free(columns);
    free(example);
    free(bytes);
}

struct handing {
    const struct cb_event **events;
    size_t count, next;
};

static enum cb_status hand_over(void *context, const struct cb_event **event, struct cb_err *err)
{
    struct handing *handing = context;
    (void)err;
    *event = handing->next < handing->count ? handing->events[handing->next++] : NULL;
    return CB_OK;
}

/* Of three machines whose clocks are set at random, and of none. */
static void the_order_is_the_fold_s(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct dice dice = {7};
    struct cb_store *store;
    const struct cb_event *events[600];
    size_t added;
    static const char *const machines[] = {NULL, "a", "b", "c"};
    int seqs[4] = {0};
    for (size_t i = 0; i < 600; i++) {
        const size_t machine = dice_below(&dice, 4);
        struct cb_event_make make;
        const struct cb_moment at = {(int64_t)dice_below(&dice, 300), 0, NULL};
        cb_event_begin(&make, &arena, CB_EVENT_PAUSE_BEGUN, NULL, &at);
        make.event.id = cb_arena_printf(&arena, "e%03llu", (unsigned long long)(i * 37 % 600));
        make.event.machine = machines[machine];
        make.event.seq = machines[machine] ? ++seqs[machine] : 0;
        events[i] = cb_event_take(&make);
    }
    struct handing handing = {events, 600, 0};
    assert_int_equal(cb_store_open(NULL, CB_STORE_APPEND, &store, NULL), CB_OK);
    assert_int_equal(cb_store_import(store, hand_over, &handing, &added, NULL), CB_OK);
    assert_int_equal(added, 600);
    cb_event_sort(events, 600);
    char *example = block("WITH THE SQLITE3 SHELL", 4);
    char *sql = strchr(example, '"') + 1;
    *strchr(sql, '"') = '\0';
    sqlite3_stmt *stmt;
    if (sqlite3_prepare_v2(store->db, sql, -1, &stmt, NULL) != SQLITE_OK) {
        fail_msg("%s", sqlite3_errmsg(store->db));
    }
    for (size_t i = 0; i < 600; i++) {
        assert_int_equal(sqlite3_step(stmt), SQLITE_ROW);
        assert_string_equal((const char *)sqlite3_column_text(stmt, 0), events[i]->id);
    }
    assert_int_equal(sqlite3_step(stmt), SQLITE_DONE);
    sqlite3_finalize(stmt);
    cb_store_close(store);
    cb_arena_fini(&arena);
    free(example);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(events_are_those_of_the_schema),
        cmocka_unit_test(fields_are_those_of_the_list),
        cmocka_unit_test(the_sum_is_as_described),
        cmocka_unit_test(the_order_is_the_fold_s),
    };
    return cmocka_run_group_tests(tests, read_page, free_page);
}
