/* SPDX-License-Identifier: MIT */
/* YAML bytes to a neutral tree (libyaml events). Refuses anchors, aliases, tags, several
 * documents, duplicate keys, depth over 8, files over 64 KiB, control characters; a pre-scan
 * bounds nesting before libyaml sees it. */
#ifndef CB_SHELL_YAML_H
#define CB_SHELL_YAML_H

#include <stdbool.h>

#include "base/err.h"
#include "base/tree.h"

#define CB_YAML_BYTES_MAX 65536
#define CB_YAML_DEPTH_MAX 8

/* A cb_tree_reader. */
const struct cb_tree *cb_yaml_read(const char *text, size_t length, struct cb_arena *arena,
                                   struct cb_issues *issues);

/* A regular file, or "-" for standard input, part by part. CB_IO when it is neither. */
struct cb_file {
    int fd;
    const char *path; /* the caller's */
};
enum cb_status cb_file_open(const char *path, struct cb_file *file, struct cb_err *err);
/* context: the file. Bytes read, 0 at the end, -1 with err set. */
long cb_file_part(void *context, char *bytes, size_t size, struct cb_err *err);
void cb_file_close(struct cb_file *file);

/* Reads a regular file of at most max bytes ("-": standard input), no FIFO, no device. CB_IO. */
enum cb_status cb_file_read(const char *path, size_t max, struct cb_arena *arena, char **text,
                            size_t *length, struct cb_err *err);

/* As cb_file_read, but the first max bytes of a longer file: for who places the refusal. */
enum cb_status cb_file_read_head(const char *path, size_t max, struct cb_arena *arena, char **text,
                                 size_t *length, struct cb_err *err);

/* Is there anything of that name? It is not opened: a FIFO would wait for who writes to it. */
bool cb_file_is_there(const char *path);

/* Writes a new file; CB_FAILED when there is one of that name. */
enum cb_status cb_file_create(const char *path, const char *text, struct cb_err *err);

/* `file:line:col: message`, the line of the source, a caret; one block an issue. */
struct cb_str;
void cb_issues_print(const struct cb_issues *issues, const char *file, const char *text,
                     struct cb_str *out);

#endif
