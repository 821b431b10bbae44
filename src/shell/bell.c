/* SPDX-License-Identifier: MIT */
#include "shell/bell.h"

#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/mem.h"
#include "base/str.h"
#include "base/time.h"
#include "base/vec.h"
#include "shell/clock.h"
#include "shell/spawn.h"

#define SILENT_MS  2000  /* no answer for so long: replaced (bell.h) */
#define PATIENCE   3     /* children in a row that did not last, before a rest; estimate */
#define REST_MS    60000 /* estimate; who lived so long has lasted */
#define END_MS     1000  /* bell.h */
#define LINE_BYTES 1024  /* read in one turn, and far more than any line of it; own judgement */
#define TALK_BYTES 65536 /* heard in SILENT_MS: it talks without an end; own judgement */

/* What a pop-up is to show, until the child says that it does: a replacement gets it anew. */
struct wish {
    uint32_t id, answer;
    bool sound;
    char *title, *body;
    int64_t since_ms;
};

struct cb_bell {
    char *program;
    pid_t pid;
    int fd; /* -1: no child */
    enum cb_bell_state state;
    struct cb_str in, out;
    size_t out_done;
    uint32_t asked, answered; /* are-you-there */
    int64_t asked_ms;         /* of the oldest without an answer */
    int64_t told_ms;          /* started, while no state was told; CB_TIME_NONE */
    int64_t rest_until_ms;
    int64_t born_ms;
    int failed;       /* children in a row that did not last */
    int64_t heard_ms; /* since when these bytes came */
    size_t heard;
    CB_VEC(struct wish) wishes;
    CB_VEC(struct cb_bell_news) news;
    size_t news_done;
    CB_VEC(pid_t) dying; /* ended, and not yet waited for */
};

static void wish_fini(struct wish *wish)
{
    free(wish->title);
    free(wish->body);
}

static void drop_wish(struct cb_bell *bell, uint32_t id)
{
    for (size_t i = 0; i < bell->wishes.count; i++) {
        if (bell->wishes.items[i].id == id) {
            wish_fini(&bell->wishes.items[i]);
            bell->wishes.items[i] = bell->wishes.items[--bell->wishes.count];
            return;
        }
    }
}

static void set_state(struct cb_bell *bell, enum cb_bell_state state)
{
    if (bell->state != state) {
        bell->state = state;
        struct cb_bell_news news = {.kind = CB_BELL_NEWS_STATE, .state = state};
        if (bell->news.count > bell->news_done &&
            bell->news.items[bell->news.count - 1].kind == CB_BELL_NEWS_STATE) {
            bell->news.count--; /* outdated before anybody heard it */
        }
        cb_vec_push(&bell->news, news);
    }
}

static void reap(struct cb_bell *bell)
{
    for (size_t i = 0; i < bell->dying.count;) {
        if (waitpid(bell->dying.items[i], NULL, WNOHANG) != 0) {
            bell->dying.items[i] = bell->dying.items[--bell->dying.count];
        } else {
            i++;
        }
    }
}

/* Ends the child for good without waiting for it. */
static void drop_child(struct cb_bell *bell)
{
    if (bell->fd < 0) {
        return;
    }
    close(bell->fd);
    bell->fd = -1;
    kill(bell->pid, SIGKILL);
    cb_vec_push(&bell->dying, bell->pid);
    cb_str_clear(&bell->in);
    cb_str_clear(&bell->out);
    bell->out_done = 0;
    bell->answered = bell->asked;
    bell->told_ms = CB_TIME_NONE;
    reap(bell);
}

static void say_escaped(struct cb_str *out, const char *text)
{
    for (; *text != '\0'; text++) {
        if (*text == '\t' || *text == '\n' || *text == '\\') {
            const char pair[] = {'\\', *text == '\t' ? 't' : *text == '\n' ? 'n' : '\\'};
            cb_str_add_n(out, pair, 2);
        } else {
            cb_str_add_n(out, text, 1);
        }
    }
}

/* Writes what the socket takes. */
static void flush_out(struct cb_bell *bell)
{
    while (bell->fd >= 0 && bell->out_done < bell->out.length) {
        ssize_t sent = send(bell->fd, bell->out.text + bell->out_done,
                            bell->out.length - bell->out_done, MSG_DONTWAIT | MSG_NOSIGNAL);
        if (sent < 0) {
            return; /* full, or gone: the read side finds that out */
        }
        bell->out_done += (size_t)sent;
    }
    if (bell->out_done == bell->out.length) {
        cb_str_clear(&bell->out);
        bell->out_done = 0;
    }
}

static void ask(struct cb_bell *bell, int64_t now_ms)
{
    if (bell->asked == bell->answered) {
        bell->asked_ms = now_ms;
    }
    cb_str_addf(&bell->out, "are-you-there\t%u\n", (unsigned)++bell->asked);
    flush_out(bell);
}

static void say_wish(struct cb_bell *bell, const struct wish *wish)
{
    cb_str_addf(&bell->out, "show\t%u\t%d\t%u\t", (unsigned)wish->id, wish->sound,
                (unsigned)wish->answer);
    say_escaped(&bell->out, wish->title);
    cb_str_add(&bell->out, "\t");
    say_escaped(&bell->out, wish->body);
    cb_str_add(&bell->out, "\n");
}

struct cb_bell *cb_bell_new(const char *program)
{
    struct cb_bell *bell = cb_mem_new(1, sizeof *bell);
    bell->program = program != NULL ? cb_mem_copy_text(program) : NULL;
    bell->fd = -1;
    bell->told_ms = CB_TIME_NONE;
    bell->rest_until_ms = CB_TIME_NONE;
    return bell;
}

enum cb_status cb_bell_start(struct cb_bell *bell, int64_t now_ms, struct cb_err *err)
{
    if (bell->program == NULL || bell->fd >= 0) {
        return CB_OK;
    }
    if (bell->rest_until_ms != CB_TIME_NONE && now_ms < bell->rest_until_ms) {
        return cb_err_set(err, CB_FAILED, "the bell does not answer");
    }
    int ends[2];
    if (socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0, ends) != 0) {
        return cb_err_set(err, CB_IO, "no socket for the bell: %s", strerror(errno));
    }
    const int fault =
        cb_spawn(&bell->pid, (const char *const[]){bell->program, NULL}, ends[1], -1, false);
    close(ends[1]);
    if (fault != 0) {
        close(ends[0]);
        set_state(bell, CB_BELL_NONE);
        return cb_err_set(err, CB_IO, "the bell can't be started: %s: %s", bell->program,
                          strerror(fault));
    }
    bell->fd = ends[0];
    bell->rest_until_ms = CB_TIME_NONE;
    bell->told_ms = bell->born_ms = bell->heard_ms = now_ms;
    bell->heard = 0;
    if (bell->state != CB_BELL_SILENT) {
        set_state(bell, CB_BELL_STARTING);
    }
    for (size_t i = 0; i < bell->wishes.count; i++) {
        bell->wishes.items[i].since_ms = now_ms;
        say_wish(bell, &bell->wishes.items[i]);
    }
    ask(bell, now_ms);
    return CB_OK;
}

void cb_bell_show(struct cb_bell *bell, uint32_t id, bool sound, uint32_t answer, const char *title,
                  const char *body, int64_t now_ms)
{
    if (bell->program == NULL) {
        return;
    }
    drop_wish(bell, id);
    struct wish wish = {.id = id,
                        .sound = sound,
                        .answer = answer,
                        .title = cb_mem_copy_text(title),
                        .body = cb_mem_copy_text(body),
                        .since_ms = now_ms};
    cb_vec_push(&bell->wishes, wish);
    if (bell->fd < 0) {
        cb_bell_start(bell, now_ms, NULL); /* says every wish */
        return;
    }
    say_wish(bell, &wish);
    ask(bell, now_ms);
}

void cb_bell_close(struct cb_bell *bell, uint32_t id)
{
    drop_wish(bell, id);
    if (bell->fd >= 0) {
        cb_str_addf(&bell->out, "close\t%u\n", (unsigned)id);
        flush_out(bell);
    }
}

int cb_bell_fd(const struct cb_bell *bell)
{
    return bell->fd;
}

short cb_bell_events(const struct cb_bell *bell)
{
    return (short)(bell->out_done < bell->out.length ? POLLIN | POLLOUT : POLLIN);
}

/* Since when something is waited for that the daemon, not the child, owes; CB_TIME_NONE. */
static int64_t owed_since(const struct cb_bell *bell)
{
    int64_t since = bell->told_ms;
    for (size_t i = 0; i < bell->wishes.count; i++) {
        if (since == CB_TIME_NONE || bell->wishes.items[i].since_ms < since) {
            since = bell->wishes.items[i].since_ms;
        }
    }
    return since;
}

int64_t cb_bell_deadline(const struct cb_bell *bell)
{
    if (bell->fd < 0) {
        return CB_TIME_NONE;
    }
    int64_t deadline = CB_TIME_NONE;
    if (bell->asked != bell->answered) {
        deadline = bell->asked_ms + SILENT_MS;
    }
    int64_t owed = bell->state != CB_BELL_SILENT ? owed_since(bell) : CB_TIME_NONE;
    if (owed != CB_TIME_NONE && (deadline == CB_TIME_NONE || owed + SILENT_MS < deadline)) {
        deadline = owed + SILENT_MS;
    }
    return deadline;
}

static bool take_number(const char *text, uint32_t *number)
{
    long long value;
    if (text == NULL || !cb_str_integer(text, &value) || value < 0 || value > UINT32_MAX) {
        return false;
    }
    *number = (uint32_t)value;
    return true;
}

static void take_state(struct cb_bell *bell, const char *word)
{
    static const struct {
        const char *word;
        enum cb_bell_state state;
    } states[] = {{"ok", CB_BELL_OK}, {"no-bus", CB_BELL_NO_BUS}, {"no-daemon", CB_BELL_NO_DAEMON}};
    for (size_t i = 0; i < sizeof states / sizeof states[0]; i++) {
        if (strcmp(states[i].word, word) == 0) {
            bell->told_ms = CB_TIME_NONE;
            set_state(bell, states[i].state);
            /* Nobody is there to show them; a stale ping later would only mislead. */
            while (states[i].state != CB_BELL_OK && bell->wishes.count > 0) {
                drop_wish(bell, bell->wishes.items[0].id);
            }
        }
    }
}

static void take_line(struct cb_bell *bell, char *line)
{
    char *words[4] = {line, NULL, NULL, NULL};
    for (size_t i = 1; i < 4 && words[i - 1] != NULL; i++) {
        char *tab = strchr(words[i - 1], '\t');
        if (tab != NULL) {
            *tab = '\0';
            words[i] = tab + 1;
        }
    }
    if (strcmp(words[0], "state") == 0 && words[1] != NULL) {
        take_state(bell, words[1]);
        return;
    }
    uint32_t number, answer;
    if (!take_number(words[1], &number)) {
        return;
    }
    if (strcmp(words[0], "here") == 0) {
        if (number == bell->asked) {
            bell->answered = number;
        }
    } else if (strcmp(words[0], "shown") == 0) {
        drop_wish(bell, number);
        struct cb_bell_news news = {.kind = CB_BELL_NEWS_SHOWN, .id = number};
        cb_vec_push(&bell->news, news);
        set_state(bell, CB_BELL_OK);
    } else if (strcmp(words[0], "refused") == 0) {
        drop_wish(bell, number); /* no longer owed: what is shown after it is news again */
        set_state(bell, CB_BELL_SILENT);
    } else if (strcmp(words[0], "button") == 0 && words[2] != NULL &&
               take_number(words[3], &answer) && answer != 0) {
        struct cb_bell_news news = {.kind = CB_BELL_NEWS_BUTTON,
                                    .id = number,
                                    .answer = answer,
                                    .dry = strcmp(words[2], "dry") == 0};
        if (news.dry || strcmp(words[2], "wet") == 0) {
            cb_vec_push(&bell->news, news);
        }
    }
}

static void take_lines(struct cb_bell *bell)
{
    size_t done = 0;
    char *end;
    while (done < bell->in.length &&
           (end = memchr(bell->in.text + done, '\n', bell->in.length - done)) != NULL) {
        *end = '\0';
        take_line(bell, bell->in.text + done);
        done = (size_t)(end - bell->in.text) + 1;
    }
    if (done > 0) {
        bell->in.length -= done;
        memmove(bell->in.text, bell->in.text + done, bell->in.length + 1);
    }
}

/* Reads so much that the screen does not wait for what is done about it; false when the child is
 * gone or talks without an end. */
static bool read_in(struct cb_bell *bell, int64_t now_ms)
{
    char bytes[LINE_BYTES];
    ssize_t got = recv(bell->fd, bytes, sizeof bytes, MSG_DONTWAIT);
    if (got <= 0) {
        return got < 0 && (errno == EAGAIN || errno == EINTR);
    }
    if (now_ms - bell->heard_ms >= SILENT_MS) {
        bell->heard_ms = now_ms;
        bell->heard = 0;
    }
    bell->heard += (size_t)got;
    cb_str_add_n(&bell->in, bytes, (size_t)got);
    take_lines(bell);
    return bell->in.length < LINE_BYTES && bell->heard < TALK_BYTES;
}

static void replace(struct cb_bell *bell, int64_t now_ms)
{
    drop_child(bell);
    set_state(bell, CB_BELL_SILENT);
    bell->failed = now_ms - bell->born_ms < REST_MS ? bell->failed + 1 : 1;
    if (bell->failed >= PATIENCE) {
        bell->failed = 0;
        bell->rest_until_ms = now_ms + REST_MS;
        return;
    }
    cb_bell_start(bell, now_ms, NULL);
}

bool cb_bell_turn(struct cb_bell *bell, int64_t now_ms, struct cb_bell_news *news)
{
    if (bell->news_done == bell->news.count) {
        bool all_told = bell->news.count > 0;
        bell->news_done = bell->news.count = 0;
        if (all_told) {
            return false; /* one reading a turn: the screen is drawn before the next */
        }
        reap(bell);
        if (bell->fd >= 0) {
            flush_out(bell);
            int64_t owed;
            if (!read_in(bell, now_ms)) {
                replace(bell, now_ms);
            } else if (bell->asked != bell->answered && now_ms >= bell->asked_ms + SILENT_MS) {
                replace(bell, now_ms);
            } else if ((owed = owed_since(bell)) != CB_TIME_NONE && now_ms >= owed + SILENT_MS) {
                set_state(bell, CB_BELL_SILENT);
            }
        }
    }
    if (bell->news_done == bell->news.count) {
        return false;
    }
    *news = bell->news.items[bell->news_done++];
    return true;
}

/* Asks the child to go by ending the socket, which it ends in turn when it is gone. */
static void end_child(struct cb_bell *bell)
{
    if (bell->fd < 0) {
        return;
    }
    shutdown(bell->fd, SHUT_WR);
    const int64_t end_ms = cb_clock_monotonic_ms() + END_MS;
    int64_t left_ms;
    while ((left_ms = end_ms - cb_clock_monotonic_ms()) > 0) {
        struct pollfd wait = {.fd = bell->fd, .events = POLLIN};
        char bytes[1024];
        if (poll(&wait, 1, (int)left_ms) > 0 &&
            recv(bell->fd, bytes, sizeof bytes, MSG_DONTWAIT) <= 0) {
            break;
        }
    }
    close(bell->fd);
    bell->fd = -1;
    kill(bell->pid, SIGKILL);
    waitpid(bell->pid, NULL, 0);
}

void cb_bell_free(struct cb_bell *bell)
{
    if (bell == NULL) {
        return;
    }
    end_child(bell);
    for (size_t i = 0; i < bell->dying.count; i++) {
        waitpid(bell->dying.items[i], NULL, 0);
    }
    cb_vec_free(&bell->dying);
    for (size_t i = 0; i < bell->wishes.count; i++) {
        wish_fini(&bell->wishes.items[i]);
    }
    cb_vec_free(&bell->wishes);
    cb_vec_free(&bell->news);
    cb_str_fini(&bell->in);
    cb_str_fini(&bell->out);
    free(bell->program);
    free(bell);
}
