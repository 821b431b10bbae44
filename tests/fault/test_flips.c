/* SPDX-License-Identifier: MIT */
/* One bit of a log flipped: whatever is read of it is what it was, or it is said that the log is
 * damaged; all events that lie outside the broken page are saved; and what the check finds it
 * mends. Argument: how many flips (default 100). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "base/index.h"
#include "base/str.h"
#include "shell/history.h"
#include "shell/jsonl.h"
#include "shell/paths.h"
#include "shell/store.h"
#include "shell/store_check.h"
#include "shell/store_salvage.h"
#include "support/big_log.h"
#include "support/events.h"

enum { EVENTS = 400, UNITS = 4, ON_A_PAGE = 60 };
static int flips = 100;

static char folder[64], path[96];
static struct cb_arena session;
static const struct cb_kinds *kinds;
static char *image;
static size_t size;

static void write_image(const char *bytes)
{
    char name[120];
    snprintf(name, sizeof name, "%s-wal", path);
    unlink(name);
    snprintf(name, sizeof name, "%s-shm", path);
    unlink(name);
    int fd = open(path, O_WRONLY | O_CREAT | O_TRUNC, 0600);
    assert_int_equal(write(fd, bytes, size), size);
    close(fd);
}

static int make_log(void **state)
{
    (void)state;
    const char *root = getenv("CB_ROOT");
    char recipes[4096], last[32];
    struct cb_err err = {0};
    snprintf(folder, sizeof folder, "/tmp/cb-flips-XXXXXX");
    if (!mkdtemp(folder) || cb_paths_kinds(&session, &kinds, &err) != CB_OK) {
        return -1;
    }
    snprintf(path, sizeof path, "%s/log.db", folder);
    snprintf(recipes, sizeof recipes, "%s/recipes", root ? root : ".");
    const struct big_log plan = {
        .events = EVENTS, .units = UNITS, .seed = 3, .recipes = recipes, .lived = true};
    if (big_log_make(&plan, path, last, &err) != CB_OK) {
        return -1;
    }
    struct stat status;
    int fd = open(path, O_RDONLY);
    if (fd < 0 || fstat(fd, &status) != 0) {
        return -1;
    }
    size = (size_t)status.st_size;
    image = malloc(size);
    const bool got = image && read(fd, image, size) == status.st_size;
    close(fd);
    return got ? 0 : -1;
}

static int remove_log(void **state)
{
    (void)state;
    static const char *const endings[] = {"", "-wal", "-shm", ".lock"};
    for (size_t i = 0; i < sizeof endings / sizeof *endings; i++) {
        char name[120];
        snprintf(name, sizeof name, "%s%s", path, endings[i]);
        unlink(name);
    }
    free(image);
    cb_arena_fini(&session);
    return rmdir(folder);
}

/* Everything that a program makes of the log. false: it says that something is wrong. */
struct said {
    struct cb_str all, open, units, taught;
};

static void said_fini(struct said *said)
{
    cb_str_fini(&said->all);
    cb_str_fini(&said->open);
    cb_str_fini(&said->units);
    cb_str_fini(&said->taught);
}

static bool add_event(void *context, const struct cb_event *event)
{
    struct cb_str *out = context;
    cb_jsonl_encode(event, out);
    cb_str_add(out, "\n");
    return true;
}

static bool add_taught(struct cb_history *history, struct said *said)
{
    struct cb_arena arena = {0};
    struct cb_taught taught = {0};
    size_t count;
    const struct cb_store_unit *units = cb_history_units(history, &count);
    bool good = cb_history_taught(history, &taught, NULL) == CB_OK;
    for (size_t i = 0; i < count && good; i++) {
        const struct cb_review *review;
        cb_str_addf(&said->units, "%s %s %d %d %zu\n", units[i].id, units[i].name, units[i].figures,
                    units[i].finished, units[i].event_count);
        if (units[i].finished) {
            good = cb_history_review(history, &units[i], &arena, &review, NULL) == CB_OK;
        }
        for (int s = 0; good && units[i].finished && s < CB_SPENT_COUNT; s++) {
            cb_str_addf(&said->taught, "%lld ", (long long)review->spent_ms[s]);
        }
    }
    for (size_t i = 0; i < taught.row_count; i++) {
        cb_str_addf(&said->taught, "%s %a %a\n", taught.rows[i].pot, taught.rows[i].lo,
                    taught.rows[i].hi);
    }
    cb_taught_fini(&taught);
    cb_arena_fini(&arena);
    return good;
}

static bool read_log(struct said *said)
{
    struct cb_store *store;
    struct cb_history *history = NULL;
    struct cb_arena arena = {0};
    const struct cb_store_filter open_units = {.open_units = true};
    *said = (struct said){0};
    if (cb_store_open(path, CB_STORE_READ, &store, NULL) != CB_OK) {
        return false;
    }
    bool good = cb_store_each(store, NULL, add_event, &said->all, NULL) == CB_OK &&
                cb_store_each(store, &open_units, add_event, &said->open, NULL) == CB_OK &&
                cb_history_open(store, kinds, &history, NULL) == CB_OK && add_taught(history, said);
    good = good && cb_store_damage(store, &arena) == NULL;
    cb_history_close(history);
    cb_store_close(store);
    cb_arena_fini(&arena);
    return good;
}

static bool same(const struct cb_str *a, const struct cb_str *b)
{
    return a->length == b->length && strcmp(cb_str_text(a), cb_str_text(b)) == 0;
}

/* Each line of the original, so that what was saved can be looked for. */
static struct cb_index *lines_of(const struct cb_str *text, size_t *count)
{
    struct cb_index *lines = cb_index_new();
    struct cb_arena arena = {0};
    *count = 0;
    for (const char *at = cb_str_text(text); *at; at = strchr(at, '\n') + 1) {
        cb_index_set(lines, cb_arena_text_n(&arena, at, (size_t)(strchr(at, '\n') - at)), 1);
        (*count)++;
    }
    cb_arena_fini(&arena);
    return lines;
}

/* How many events were saved; each one as it was. nowhere: its machine may be lost. */
static size_t check_saved(const struct cb_index *originals, size_t bit)
{
    struct cb_store *store;
    struct cb_salvage found;
    struct cb_str text = {0};
    size_t count = 0;
    size_t strange = 0;
    struct cb_err err = {0};
    if (cb_store_salvage(path, NULL, &store, &found, &err) != CB_OK) {
        printf("%s\n", err.text);
        return 0;
    }
    assert_int_equal(cb_store_each(store, NULL, add_event, &text, NULL), CB_OK);
    struct cb_index *saved = lines_of(&text, &count);
    struct cb_arena arena = {0};
    for (const char *at = cb_str_text(&text); *at; at = strchr(at, '\n') + 1) {
        size_t there;
        strange += !cb_index_get(
            originals, cb_arena_text_n(&arena, at, (size_t)(strchr(at, '\n') - at)), &there);
    }
    if (strange > found.nowhere) {
        fail_msg("bit %zu: %zu events were saved that never were", bit, strange);
    }
    assert_null(cb_store_damage(store, &arena));
    cb_index_free(saved);
    cb_arena_fini(&arena);
    cb_str_fini(&text);
    cb_store_close(store);
    return count;
}

/* Whatever a bit has become, the check says what to mend, and afterwards there is nothing. */
static size_t check_mended(size_t bit, size_t saved)
{
    struct cb_arena arena = {0};
    struct cb_flaws before = {0};
    struct cb_flaws after = {0};
    struct cb_err err = {0};
    const char *kept = NULL;
    struct cb_str text = {0};
    size_t count = 0;
    struct cb_store *store;
    if (cb_store_check(path, &arena, &before, &err) != CB_OK ||
        (cb_flaws_to_mend(&before) > 0 &&
         cb_store_mend(path, &before, &arena, &kept, &err) != CB_OK) ||
        cb_store_check(path, &arena, &after, &err) != CB_OK) {
        fail_msg("bit %zu: %s", bit, err.text);
    }
    if (cb_flaws_to_mend(&after) > 0) {
        fail_msg("bit %zu: mended, and still: %s", bit, after.list.items[0].text);
    }
    assert_int_equal(cb_store_open(path, CB_STORE_APPEND, &store, NULL), CB_OK);
    assert_int_equal(cb_store_each(store, NULL, add_event, &text, NULL), CB_OK);
    cb_store_close(store);
    cb_index_free(lines_of(&text, &count));
    if (count < saved) {
        fail_msg("bit %zu: %zu events are left of %zu that could be read", bit, count, saved);
    }
    const size_t mended = kept != NULL;
    if (kept) {
        assert_int_equal(unlink(kept), 0);
        unlink(cb_arena_printf(&arena, "%s-wal", kept));
    }
    cb_flaws_fini(&before);
    cb_flaws_fini(&after);
    cb_str_fini(&text);
    cb_arena_fini(&arena);
    return mended;
}

static void test_one_bit(void **state)
{
    (void)state;
    struct said whole;
    struct dice dice = {11};
    size_t total, said_count = 0, harmless = 0, saved_all = 0, mended = 0, least = SIZE_MAX;
    assert_true(read_log(&whole));
    struct cb_index *originals = lines_of(&whole.all, &total);
    for (int i = 0; i < flips; i++) {
        const size_t bit = (size_t)dice_below(&dice, size * 8);
        struct said now;
        image[bit / 8] ^= (char)(1 << bit % 8);
        write_image(image);
        image[bit / 8] ^= (char)(1 << bit % 8);
        const bool quiet = read_log(&now);
        if (quiet && !(same(&now.all, &whole.all) && same(&now.open, &whole.open) &&
                       same(&now.units, &whole.units) && same(&now.taught, &whole.taught))) {
            fail_msg("bit %zu (byte %zu of page %zu): something else is read, and nothing said",
                     bit, bit / 8 % 4096, bit / 8 / 4096 + 1);
        }
        said_count += !quiet;
        harmless += quiet;
        const size_t saved = check_saved(originals, bit);
        saved_all += saved == total;
        least = saved < least ? saved : least;
        if (saved + ON_A_PAGE < total) {
            fail_msg("bit %zu (byte %zu of page %zu): only %zu of %zu saved", bit, bit / 8 % 4096,
                     bit / 8 / 4096 + 1, saved, total);
        }
        const size_t mend = check_mended(bit, saved);
        if (!quiet && mend == 0) {
            fail_msg("bit %zu: said to be damaged, and the check finds nothing", bit);
        }
        mended += mend;
        said_fini(&now);
    }
    printf("%d flips: %zu said, %zu without meaning; all %zu events saved in %zu, never fewer than "
           "%zu; %zu mended\n",
           flips, said_count, harmless, total, saved_all, least, mended);
    said_fini(&whole);
    cb_index_free(originals);
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_one_bit)};
    flips = argc > 1 ? (int)strtol(argv[1], NULL, 10) : flips;
    return cmocka_run_group_tests_name("flips", tests, make_log, remove_log);
}
