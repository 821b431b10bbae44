/* SPDX-License-Identifier: MIT */
/* The store on real files in a folder of its own. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <fcntl.h>
#include <ftw.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#include "base/str.h"
#include "base/vec.h"
#include "shell/jsonl.h"
#include "shell/store.h"
#include "support/events.h"

static char folder[64];
static char path[128];

static int remove_one(const char *name, const struct stat *status, int type, struct FTW *walk)
{
    (void)status;
    (void)type;
    (void)walk;
    return remove(name);
}

static int make_folder(void **state)
{
    (void)state;
    const char *base = getenv("TMPDIR");
    snprintf(folder, sizeof folder, "%.40s/cb-store-XXXXXX", base && *base ? base : "/tmp");
    if (!mkdtemp(folder)) {
        return -1;
    }
    snprintf(path, sizeof path, "%s/home/log.db", folder);
    return 0;
}

static int remove_folder(void **state)
{
    (void)state;
    return nftw(folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
}

static struct cb_store *opened(enum cb_store_mode mode)
{
    struct cb_store *store = NULL;
    struct cb_err err = {0};
    if (cb_store_open(path, mode, &store, &err) != CB_OK) {
        fail_msg("%s", err.text);
    }
    return store;
}

static const struct cb_event *note(struct cb_arena *arena, const char *text, int64_t at_ms)
{
    struct cb_event_make make;
    struct cb_moment at = {at_ms, 77, "boot-1"};
    cb_event_begin(&make, arena, CB_EVENT_NOTE, NULL, &at);
    cb_event_add_text(&make, CB_FIELD_TEXT, text);
    return cb_event_take(&make);
}

__attribute__((unused)) static const struct cb_event *made(struct cb_arena *arena, enum cb_event_kind kind,
                                   const char *unit, int64_t at_ms)
{
    struct cb_event_make make;
    struct cb_moment at = {at_ms, at_ms, "boot-1"};
    cb_event_begin(&make, arena, kind, unit, &at);
    if (kind == CB_EVENT_UNIT_BEGUN) {
        cb_event_add_text(&make, CB_FIELD_NAME, unit);
        cb_event_add_int(&make, CB_FIELD_FIGURES, 10);
        cb_event_add_text(&make, CB_FIELD_RECIPE, "coatbell: 1\n");
    } else if (kind == CB_EVENT_COAT_ON) {
        cb_event_add_int(&make, CB_FIELD_FIGURE, 1);
        cb_event_add_int(&make, CB_FIELD_STAGE, 1);
        cb_event_add_int(&make, CB_FIELD_COAT, 1);
    } else if (kind == CB_EVENT_CLIMATE_SET) {
        cb_event_add_number(&make, CB_FIELD_TEMP_C, 19.5);
        cb_event_add_number(&make, CB_FIELD_RH_PCT, 62);
        cb_event_add_text(&make, CB_FIELD_AIR, "still");
        cb_event_add_text(&make, CB_FIELD_FROM, "typed");
    } else if (kind == CB_EVENT_CONFIDENCE_SET) {
        cb_event_add_number(&make, CB_FIELD_PCT, 90);
    }
    return cb_event_take(&make);
}

static const struct cb_event *append_one(struct cb_store *store, struct cb_arena *arena,
                                         const struct cb_event *event)
{
    const struct cb_event **stored;
    struct cb_err err = {0};
    if (cb_store_append(store, &event, 1, arena, &stored, &err) != CB_OK) {
        fail_msg("%s", err.text);
    }
    return stored[0];
}

static size_t count_all(struct cb_store *store)
{
    struct cb_arena arena = {0};
    const struct cb_event **events;
    size_t count = 0;
    assert_int_equal(cb_store_load(store, NULL, &arena, &events, &count, NULL, NULL), CB_OK);
    cb_arena_fini(&arena);
    return count;
}

static int mode_of(const char *name)
{
    struct stat status;
    assert_int_equal(lstat(name, &status), 0);
    return (int)(status.st_mode & 07777);
}

static void a_new_log_is_private(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    char name[160];
    umask(0);
    struct cb_store *store = opened(CB_STORE_APPEND);
    append_one(store, &arena, note(&arena, "x", 1));
    assert_int_equal(cb_store_lock(store, NULL), CB_OK);
    snprintf(name, sizeof name, "%s/home", folder);
    assert_int_equal(mode_of(name), 0700);
    static const char *const endings[] = {"", "-wal", "-shm", ".lock"};
    for (size_t i = 0; i < sizeof endings / sizeof *endings; i++) {
        snprintf(name, sizeof name, "%s%s", path, endings[i]);
        assert_int_equal(mode_of(name), 0600);
    }
    cb_store_close(store);
    cb_arena_fini(&arena);
}

static void random_events_come_back_the_same(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct dice dice = {99};
    CB_VEC(const struct cb_event *) kept = {0};
    struct cb_store *store = opened(CB_STORE_APPEND);
    for (int round = 0; round < 300; round++) {
        const struct cb_event *press[3];
        const struct cb_event **stored;
        struct cb_err err = {0};
        size_t count = 1 + (size_t)dice_below(&dice, 3);
        for (size_t i = 0; i < count; i++) {
            press[i] = dice_event(&dice, &arena, dice_below(&dice, 4) == 0);
        }
        if (cb_store_append(store, press, count, &arena, &stored, &err) != CB_OK) {
            fail_msg("round %d: %s", round, err.text);
        }
        for (size_t i = 0; i < count; i++) {
            cb_vec_push(&kept, stored[i]);
        }
    }
    cb_store_close(store);
    store = opened(CB_STORE_READ);
    const struct cb_event **events;
    size_t count;
    long long last;
    assert_int_equal(cb_store_load(store, NULL, &arena, &events, &count, &last, NULL), CB_OK);
    assert_int_equal(count, kept.count);
    assert_int_equal(last, (long long)count);
    for (size_t i = 0; i < count; i++) {
        assert_true(cb_event_equal(events[i], kept.items[i]));
    }
    cb_store_close(store);
    cb_vec_free(&kept);
    cb_arena_fini(&arena);
}

static void a_press_is_named_once(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_store *store = opened(CB_STORE_APPEND);
    const struct cb_event *press[2] = {note(&arena, "a", 5), note(&arena, "b", 5)};
    const struct cb_event **stored;
    assert_int_equal(cb_store_append(store, press, 2, &arena, &stored, NULL), CB_OK);
    assert_string_equal(stored[0]->press, stored[0]->id);
    assert_string_equal(stored[1]->press, stored[0]->id);
    assert_string_not_equal(stored[1]->id, stored[0]->id);
    assert_int_equal(stored[0]->seq, 1);
    assert_int_equal(stored[1]->seq, 2);
    assert_int_equal(strlen(stored[0]->machine), 16);
    /* tried again as it stands: nothing new, and the same answer */
    const struct cb_event **again;
    assert_int_equal(cb_store_append(store, stored, 2, &arena, &again, NULL), CB_OK);
    assert_true(cb_event_equal(again[0], stored[0]) && cb_event_equal(again[1], stored[1]));
    assert_int_equal(count_all(store), 2);
    cb_store_close(store);
    /* the count goes on, the machine stays */
    store = opened(CB_STORE_APPEND);
    const struct cb_event *next = append_one(store, &arena, note(&arena, "c", 1));
    assert_int_equal(next->seq, 3);
    assert_string_equal(next->machine, stored[0]->machine);
    cb_store_close(store);
    cb_arena_fini(&arena);
}

static void memory_will_do(void **state)
{
    (void)state;
    struct cb_arena arena = {0};
    struct cb_store *store = NULL;
    assert_int_equal(cb_store_open(NULL, CB_STORE_APPEND, &store, NULL), CB_OK);
    assert_int_equal(append_one(store, &arena, note(&arena, "a", 5))->seq, 1);
    assert_int_equal(cb_store_lock(store, NULL), CB_OK);
    assert_int_equal(cb_store_watch_fd(store), -1);
    assert_int_equal(count_all(store), 1);
    cb_store_close(store);
    cb_store_close(NULL);
    cb_arena_fini(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_new_log_is_private, make_folder, remove_folder),
        cmocka_unit_test_setup_teardown(random_events_come_back_the_same, make_folder,
                                        remove_folder),
        cmocka_unit_test_setup_teardown(a_press_is_named_once, make_folder, remove_folder),
        cmocka_unit_test_setup_teardown(memory_will_do, make_folder, remove_folder),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
