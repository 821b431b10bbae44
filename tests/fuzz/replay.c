/* SPDX-License-Identifier: MIT */
/* Feeds files, or all files of folders, to a fuzz target: the corpus as a test, without
 * libFuzzer. Ends well unless the target or a sanitizer ends it. */
#include <dirent.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static int file_count;

static int feed_file(const char *path)
{
    FILE *file = fopen(path, "rb");
    if (!file) {
        perror(path);
        return 1;
    }
    size_t size = 0;
    size_t capacity = 65536;
    uint8_t *data = malloc(capacity);
    while (data) {
        size += fread(data + size, 1, capacity - size, file);
        if (size < capacity) {
            break;
        }
        capacity *= 2;
        uint8_t *more = realloc(data, capacity);
        if (!more) {
            free(data);
        }
        data = more;
    }
    int bad = ferror(file);
    fclose(file);
    /* An exact copy, so that the sanitizer sees a read past the end. */
    uint8_t *exact = malloc(size > 0 ? size : 1);
    if (!data || !exact || bad) {
        fprintf(stderr, "%s: cannot be read\n", path);
        free(data);
        free(exact);
        return 1;
    }
    memcpy(exact, data, size);
    free(data);
    fprintf(stderr, "%s\n", path); /* the last one named is the one that ended it */
    LLVMFuzzerTestOneInput(exact, size);
    free(exact);
    file_count++;
    return 0;
}

static int feed_folder(const char *path)
{
    struct dirent **entries = NULL;
    int count = scandir(path, &entries, NULL, alphasort);
    if (count < 0) {
        perror(path);
        return 1;
    }
    int failed = 0;
    for (int i = 0; i < count; i++) {
        char inner[4096];
        int length = snprintf(inner, sizeof inner, "%s/%s", path, entries[i]->d_name);
        struct stat st;
        if (entries[i]->d_name[0] != '.' && length > 0 && (size_t)length < sizeof inner &&
            stat(inner, &st) == 0 && S_ISREG(st.st_mode)) {
            failed |= feed_file(inner);
        }
        free(entries[i]);
    }
    free(entries);
    return failed;
}

int main(int argc, char **argv)
{
    int failed = 0;
    for (int i = 1; i < argc; i++) {
        struct stat st;
        failed |= stat(argv[i], &st) == 0 && S_ISDIR(st.st_mode) ? feed_folder(argv[i])
                                                                 : feed_file(argv[i]);
    }
    printf("%d inputs replayed\n", file_count);
    return failed || file_count == 0;
}
