/* SPDX-License-Identifier: MIT */
#include "shell/term.h"

#include <curses.h>
#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <term.h>
#include <unistd.h>
#include <wchar.h>

/* term.h makes macros of these everyday words. */
#undef columns
#undef lines

#include "base/mem.h"
#include "base/str.h"
#include "base/utf8.h"
#include "shell/caption.h"
#include "shell/clock.h"
#include "shell/ground.h"
#include "shell/tty.h"
#include "app/key.h"
#include "view/theme.h"

/* How long an ESC may be the beginning of a function key. Estimate: over a local terminal the
 * bytes of a key arrive together; 25 ms also covers most remote ones and is not felt. */
#define ESC_DELAY_MS 25

/* A terminal that reads has taken a whole screen long before; estimate. */
#define LEAVING_MS 150
/* A paste of which nothing came for so long has lost its end: keys are keys again. Own judgement:
 * longer than most halts of a connection, no longer than one waits for a key that does nothing. */
#define PASTE_MS 5000
/* Of a paste, more than any line holds (CB_APP_TEXT_MAX); the rest is read and dropped. */
#define PASTE_BYTES_MAX 4096
#define PASTE_PIECE     4096 /* bytes of one that are read before others have their turn */

/* What terminals put around pasted text when asked to. */
#define PASTE_ON    "\033[?2004h"
#define PASTE_OFF   "\033[?2004l"
#define PASTE_BEGIN "\033[200~"
#define PASTE_END   "\033[201~"
#define KEY_PASTE   (KEY_MAX + 1)
#define KEY_GROUND  (KEY_MAX + 2) /* the terminal answers what its background is */

/* While an answer is awaited an ESC may be its beginning, which must never be taken for keys: slow
 * lines get four times as long. After the second it has come or will not; own judgement. */
#define GROUND_DELAY_MS 100
#define GROUND_MS       1000

/* Bytes that ncurses writes at most for each cell drawn: the way there, colour and attributes off
 * and on, the character. Five times what was measured (23, each cell in another role, ten kinds of
 * terminal). */
#define CELL_BYTES 128

struct cb_term {
    struct cb_tty *tty;
    SCREEN *screen;
    WINDOW *keys, *bytes; /* never drawn: getch on one that is drawn draws it */
    struct cb_term_options options;
    const struct cb_style *theme;
    struct cb_ground ground;
    int64_t asked_ms; /* monotonic; CB_TIME_NONE: no answer is awaited in haste */
    bool unanswered;  /* asked, and no answer has ended */
    bool expects_rest;
    attr_t attrs[CB_ROLE_COUNT];
    short pairs[CB_ROLE_COUNT];
    unsigned char partial[4]; /* an UTF-8 character of which some bytes are still to come */
    size_t partial_count;
    bool brackets;     /* pasted text was asked to come between its marks */
    bool pasting;      /* the end of one has not come */
    int64_t pasted_ms; /* monotonic; when its last byte came */
    struct cb_str paste;
    size_t paste_ended; /* bytes of PASTE_END that came last */
    size_t piece;       /* cells drawn before they are gathered */
    struct cb_caption caption;
    bool stale; /* what the terminal shows is not known: the next picture is drawn whole */
};

static char *capability(const char *name)
{
    char *text = tigetstr(name);
    return text == (char *)-1 ? NULL : text;
}

static struct {
    char bytes[256];
    size_t length;
} rescue;

static int rescue_byte(int byte)
{
    if (rescue.length < sizeof rescue.bytes) {
        rescue.bytes[rescue.length++] = (char)byte;
    }
    return byte;
}

static void prepare_rescue(struct cb_term *term)
{
    static const char *const capabilities[] = {"sgr0", "rmkx", "cnorm", "rmcup"};
    rescue.length = 0;
    const char *const texts[] = {term->brackets ? PASTE_OFF : "", cb_caption_back(&term->caption)};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        for (const char *c = texts[i]; *c; c++) {
            rescue_byte(*c);
        }
    }
    for (size_t i = 0; i < sizeof capabilities / sizeof capabilities[0]; i++) {
        const char *text = capability(capabilities[i]);
        if (text != NULL) {
            tputs(text, 1, rescue_byte);
        }
    }
    cb_tty_guard(term->tty, rescue.bytes, rescue.length);
}

enum cb_status cb_term_check(struct cb_err *err)
{
    const char *type = getenv("TERM");
    if (type == NULL || type[0] == '\0') {
        return cb_err_set(err, CB_IO,
                          "the terminal's type is not known: TERM is not set; "
                          "try TERM=xterm-256color");
    }
    int found;
    if (setupterm(NULL, STDOUT_FILENO, &found) != OK) {
        return cb_err_set(err, CB_IO,
                          found < 0 ? "no terminal database for TERM=%s; install the "
                                      "package that brings terminfo (ncurses-base)"
                                    : "unknown terminal type: TERM=%s; try "
                                      "TERM=xterm-256color",
                          type);
    }
    bool moves = capability("cup") != NULL;
    del_curterm(cur_term); /* newterm reads its own */
    if (!moves) {
        return cb_err_set(err, CB_IO,
                          "this terminal can't place its cursor: TERM=%s; the bench needs one "
                          "that can",
                          type);
    }
    return CB_OK;
}

static short colour(int16_t value, bool defaults, short otherwise)
{
    if (value >= 0) {
        return (short)(value % COLORS);
    }
    return defaults ? -1 : otherwise;
}

static void set_styles(struct cb_term *term, const struct cb_style *theme)
{
    const bool colours = theme != cb_theme_mono;
    const bool defaults = colours && use_default_colors() == OK;
    const short text = theme == cb_theme_light ? COLOR_BLACK : COLOR_WHITE;
    const short ground = theme == cb_theme_light ? COLOR_WHITE : COLOR_BLACK;
    term->theme = theme;
    for (int role = 0; role < CB_ROLE_COUNT; role++) {
        const struct cb_style *style = &theme[role];
        attr_t attrs = A_NORMAL;
        attrs |= style->bold ? A_BOLD : 0;
        attrs |= style->dim ? A_DIM : 0;
        attrs |= style->reverse ? A_REVERSE : 0;
        attrs |= style->underline ? A_UNDERLINE : 0;
        term->attrs[role] = attrs;
        term->pairs[role] = 0;
        if (colours) {
            bool many = COLORS >= 256;
            short fg = colour(many ? style->fg256 : style->fg8, defaults, text);
            short bg = colour(many ? style->bg256 : style->bg8, defaults, ground);
            if (init_pair((short)(role + 1), fg, bg) == OK) {
                term->pairs[role] = (short)(role + 1);
            }
        }
    }
}

static void prepare_styles(struct cb_term *term)
{
    bool colours = term->options.theme != CB_THEME_MONO && has_colors();
    if (colours) {
        start_color();
        colours = COLORS >= 8 && COLOR_PAIRS > CB_ROLE_COUNT;
    }
    if (!colours) {
        term->options.theme = CB_THEME_MONO;
    }
    set_styles(term, !colours                                ? cb_theme_mono
                     : term->options.theme == CB_THEME_LIGHT ? cb_theme_light
                                                             : cb_theme_dark);
}

/* The console of the kernel has no such question: it is black. */
static void ask_ground(struct cb_term *term)
{
    const char *type = getenv("TERM");
    if (term->options.theme == CB_THEME_AUTO && term->brackets && type != NULL &&
        strncmp(type, "linux", 5) != 0) {
        define_key(CB_GROUND_BEGIN, KEY_GROUND);
        set_escdelay(GROUND_DELAY_MS);
        term->asked_ms = cb_clock_monotonic_ms();
        term->unanswered = true;
        cb_tty_add(term->tty, CB_GROUND_ASK);
    }
}

static void end_haste(struct cb_term *term)
{
    if (term->asked_ms != CB_TIME_NONE) {
        term->asked_ms = CB_TIME_NONE;
        set_escdelay(ESC_DELAY_MS);
    }
}

/* What terminals send and their description often lacks. */
static void prepare_keys(void)
{
    static const struct {
        const char *bytes;
        int key;
    } more[] = {
        {"\033[A", KEY_UP},     {"\033[B", KEY_DOWN},   {"\033[C", KEY_RIGHT},
        {"\033[D", KEY_LEFT},   {"\033OA", KEY_UP},     {"\033OB", KEY_DOWN},
        {"\033OC", KEY_RIGHT},  {"\033OD", KEY_LEFT},   {"\033[H", KEY_HOME},
        {"\033[F", KEY_END},    {"\033[1~", KEY_HOME},  {"\033[4~", KEY_END},
        {"\033[5~", KEY_PPAGE}, {"\033[6~", KEY_NPAGE}, {"\033OP", KEY_F(1)},
        {"\033OQ", KEY_F(2)},   {"\033OR", KEY_F(3)},   {"\033OS", KEY_F(4)},
        {"\033[11~", KEY_F(1)}, {"\033[12~", KEY_F(2)}, {"\033[13~", KEY_F(3)},
        {"\033[14~", KEY_F(4)}, {"\033[[A", KEY_F(1)},  {"\033[[B", KEY_F(2)},
        {"\033[[C", KEY_F(3)},  {"\033[[D", KEY_F(4)},  {"\033[15~", KEY_F(5)},
        {"\033[[E", KEY_F(5)},  {"\033OM", KEY_ENTER},
    };
    for (size_t i = 0; i < sizeof more / sizeof more[0]; i++) {
        if (key_defined(more[i].bytes) == 0) {
            define_key(more[i].bytes, more[i].key);
        }
    }
    define_key(PASTE_BEGIN, KEY_PASTE);
}

static void free_term(struct cb_term *term)
{
    if (term->keys != NULL) {
        delwin(term->keys);
    }
    if (term->bytes != NULL) {
        delwin(term->bytes);
    }
    if (term->screen != NULL) {
        delscreen(term->screen);
    }
    cb_tty_close(term->tty);
    cb_str_fini(&term->paste);
    cb_caption_fini(&term->caption);
    free(term);
}

static WINDOW *open_keys(void)
{
    WINDOW *pad = newpad(1, 1);
    if (pad != NULL) {
        nodelay(pad, TRUE);
    }
    return pad;
}

/* What ncurses has to know of the terminal's modes, speed and size it asks at its opening. Later it
 * finds a pipe where the terminal was, and its own changes of modes fail: they are made in tty. */
static bool open_screen(struct cb_term *term)
{
    set_escdelay(ESC_DELAY_MS);
    term->screen = newterm(NULL, cb_tty_stream(term->tty), stdin);
    cb_tty_catch(term->tty);
    if (term->screen == NULL) {
        return false;
    }
    set_escdelay(ESC_DELAY_MS);
    raw();
    noecho();
    nonl();
    typeahead(-1);
    term->keys = open_keys();
    term->bytes = open_keys();
    return term->keys != NULL && term->bytes != NULL;
}

static struct cb_str *capability_text;

static int capability_byte(int byte)
{
    const char one = (char)byte;
    cb_str_add_n(capability_text, &one, 1);
    return byte;
}

/* What terminfo has under that name, as bytes; NULL: nothing. */
static char *copy_capability(const char *name)
{
    struct cb_str text = {0};
    char *own = capability(name);
    if (own != NULL) {
        capability_text = &text;
        tputs(tiparm(own, 0), 1, capability_byte);
        capability_text = NULL;
    }
    return text.text;
}

/* Terminfo's status line is a window's title where that is one. */
static void prepare_caption(struct cb_term *term)
{
    term->caption = cb_caption_of(getenv("TERM"), getenv("TERM_PROGRAM"));
    char name[] = "hs";
    if (!term->caption.title && tigetflag(name) > 0) {
        term->caption.to_title = copy_capability("tsl");
        term->caption.from_title = copy_capability("fsl");
        term->caption.end_title = copy_capability("dsl");
    }
}

/* Keypad and brackets are the terminal's state, which others may have changed meanwhile. */
static void begin_keys(struct cb_term *term)
{
    cb_tty_raw(term->tty);
    keypad(term->keys, TRUE);
    if (term->brackets) {
        cb_tty_add(term->tty, PASTE_ON);
    }
}

enum cb_status cb_term_open(const struct cb_term_options *options, struct cb_term **out,
                            struct cb_err *err)
{
    *out = NULL;
    enum cb_status status = cb_term_check(err);
    if (status != CB_OK) {
        return status;
    }
    struct cb_term *term = cb_mem_new(1, sizeof *term);
    term->options = *options;
    term->asked_ms = CB_TIME_NONE;
    status = cb_tty_open(&term->tty, err);
    if (status == CB_OK && !open_screen(term)) {
        status = cb_err_set(err, CB_IO, "the terminal can't be opened: TERM=%s", getenv("TERM"));
    }
    if (status != CB_OK) {
        free_term(term);
        return status;
    }
    /* Who is told of such marks in the way of ECMA-48 knows them or passes over them. */
    const char *move = capability("cup");
    term->brackets = move != NULL && move[0] == '\033' && move[1] == '[';
    prepare_caption(term);
    prepare_rescue(term);
    begin_keys(term);
    prepare_keys();
    prepare_styles(term);
    ask_ground(term);
    curs_set(0);
    cb_term_send(term);
    term->piece = cb_tty_room(term->tty) / CELL_BYTES;
    term->stale = true;
    *out = term;
    return CB_OK;
}

int cb_term_fd(const struct cb_term *term)
{
    (void)term;
    return STDIN_FILENO;
}

int cb_term_out_fd(const struct cb_term *term)
{
    return cb_tty_out_fd(term->tty);
}

void cb_term_send(struct cb_term *term)
{
    if (!cb_tty_send(term->tty)) {
        term->stale = true;
    }
}

bool cb_term_is_stale(const struct cb_term *term)
{
    return term->stale;
}

void cb_term_size(struct cb_term *term, int *rows, int *columns)
{
    int told_rows = LINES, told_columns = COLS;
    if (cb_tty_size(term->tty, &told_rows, &told_columns)) {
        resizeterm(told_rows, told_columns);
    }
    term->stale = true;
    *rows = LINES;
    *columns = COLS;
}

/* One more byte of a character beyond ASCII; its code point when it is whole, else 0. */
static uint32_t add_byte(struct cb_term *term, unsigned char byte)
{
    if ((byte & 0xC0) != 0x80) {
        term->partial_count = 0;
    }
    term->partial[term->partial_count++] = byte;
    unsigned char first = term->partial[0];
    size_t wanted = first >= 0xF0 ? 4 : first >= 0xE0 ? 3 : first >= 0xC0 ? 2 : 1;
    if (term->partial_count < wanted) {
        return 0;
    }
    char text[5] = {0};
    memcpy(text, term->partial, term->partial_count);
    bool valid = cb_utf8_valid(text, term->partial_count);
    term->partial_count = 0;
    const char *at = text;
    uint32_t cp = valid ? cb_utf8_next(&at) : 0;
    return cb_utf8_is_safe(cp) ? cp : 0;
}

static uint32_t key_of(struct cb_term *term, int code)
{
    static const struct {
        int code;
        uint32_t key;
    } keys[] = {
        {'\n', CB_KEY_ENTER},
        {'\r', CB_KEY_ENTER},
        {KEY_ENTER, CB_KEY_ENTER},
        {'\t', CB_KEY_TAB},
        {27, CB_KEY_ESC},
        {8, CB_KEY_BACKSPACE},
        {127, CB_KEY_BACKSPACE},
        {KEY_BACKSPACE, CB_KEY_BACKSPACE},
        {3, CB_KEY_CTRL_C},
        {21, CB_KEY_CTRL_U},
        {26, CB_KEY_CTRL_Z},
        {KEY_LEFT, CB_KEY_LEFT},
        {KEY_RIGHT, CB_KEY_RIGHT},
        {KEY_UP, CB_KEY_UP},
        {KEY_DOWN, CB_KEY_DOWN},
        {KEY_PPAGE, CB_KEY_PAGEUP},
        {KEY_NPAGE, CB_KEY_PAGEDOWN},
        {KEY_HOME, CB_KEY_HOME},
        {KEY_END, CB_KEY_END},
    };
    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++) {
        if (keys[i].code == code) {
            return keys[i].key;
        }
    }
    if (code >= KEY_F(1) && code <= KEY_F(12)) {
        return (uint32_t)CB_KEY_F1 + (uint32_t)(code - KEY_F(1));
    }
    if (code >= 128 && code <= 255) {
        return add_byte(term, (unsigned char)code);
    }
    return code >= 32 && code < 127 ? (uint32_t)code : CB_KEY_NONE;
}

static bool is_closed(void)
{
    struct pollfd in = {.fd = STDIN_FILENO, .events = POLLIN};
    int waiting = 0;
    if (poll(&in, 1, 0) <= 0) {
        return false;
    }
    return (in.revents & (POLLHUP | POLLERR | POLLNVAL)) != 0 ||
           ioctl(STDIN_FILENO, FIONREAD, &waiting) != 0 || waiting == 0;
}

/* One byte of a paste; true: it was the last. */
static bool add_pasted(struct cb_term *term, char byte)
{
    static const char end[] = PASTE_END;
    /* ESC stands only at its beginning, so that what does not go on can but begin again. */
    term->paste_ended = byte == end[term->paste_ended] ? term->paste_ended + 1 : byte == end[0];
    if (byte != '\0' && term->paste.length < PASTE_BYTES_MAX) {
        cb_str_add_n(&term->paste, &byte, 1);
    }
    bool ended = term->paste_ended == sizeof end - 1;
    if (ended && term->paste.length < PASTE_BYTES_MAX) {
        term->paste.length -= sizeof end - 1;
        term->paste.text[term->paste.length] = '\0';
    }
    return ended;
}

static uint32_t end_paste(struct cb_term *term)
{
    term->pasting = false;
    return CB_KEY_PASTE;
}

/* Pasted bytes are no keys: CB_KEY_PASTE when all have come, CB_KEY_NONE when more are to come. */
static uint32_t read_paste(struct cb_term *term, bool *closed)
{
    int64_t now_ms = cb_clock_monotonic_ms();
    if (now_ms - term->pasted_ms > PASTE_MS) {
        return end_paste(term);
    }
    term->pasted_ms = now_ms;
    for (int i = 0; i < PASTE_PIECE; i++) {
        int code = wgetch(term->bytes);
        if (code == ERR) {
            *closed = is_closed();
            return CB_KEY_NONE;
        }
        if (code <= 255 && add_pasted(term, (char)code)) {
            return end_paste(term);
        }
    }
    return CB_KEY_NONE;
}

/* The answer's bytes are no keys; what it can't go on with is one again. False: there are no more
 * bytes now. */
static bool read_ground(struct cb_term *term)
{
    const int code = wgetch(term->bytes);
    if (code == ERR) {
        return false;
    }
    switch (cb_ground_add(&term->ground, code, cb_clock_monotonic_ms())) {
    case CB_GROUND_MORE:
        break;
    case CB_GROUND_ANSWERED:
        term->unanswered = false;
        end_haste(term);
        if (term->options.theme == CB_THEME_AUTO) {
            set_styles(term, term->ground.light ? cb_theme_light : cb_theme_dark);
            term->stale = true;
        }
        break;
    case CB_GROUND_BROKEN_ESC:
        ungetch(code);
        ungetch(27);
        break;
    case CB_GROUND_BROKEN:
        ungetch(code);
        break;
    case CB_GROUND_ENDED:
        term->unanswered = false;
        end_haste(term);
        break;
    }
    return true;
}

/* The ESC of an answer that came long before the rest was a key; the rest is none all the same. */
static void expect_rest(struct cb_term *term, bool expect)
{
    expect = expect && term->unanswered;
    if (expect != term->expects_rest) {
        term->expects_rest = expect;
        define_key(CB_GROUND_REST, expect ? KEY_GROUND : 0);
    }
}

uint32_t cb_term_key(struct cb_term *term, bool *closed)
{
    *closed = false;
    if (term->asked_ms != CB_TIME_NONE && cb_clock_monotonic_ms() - term->asked_ms > GROUND_MS) {
        end_haste(term);
    }
    for (;;) {
        if (term->pasting) {
            return read_paste(term, closed);
        }
        if (term->ground.answering) {
            if (read_ground(term)) {
                continue;
            }
            *closed = is_closed();
            return CB_KEY_NONE;
        }
        int code = wgetch(term->keys);
        if (code == ERR) {
            *closed = is_closed();
            return CB_KEY_NONE;
        }
        expect_rest(term, code == 27);
        if (code == 12) { /* Ctrl-L: somebody wrote over the screen */
            term->stale = true;
            continue;
        }
        if (code == KEY_GROUND) {
            cb_ground_begin(&term->ground, cb_clock_monotonic_ms());
            continue;
        }
        if (code == KEY_PASTE) {
            term->pasting = true;
            term->pasted_ms = cb_clock_monotonic_ms();
            term->paste_ended = 0;
            cb_str_clear(&term->paste);
            continue;
        }
        uint32_t key = key_of(term, code);
        if (key != CB_KEY_NONE) {
            return key;
        }
    }
}

/* Who leaves at once would leave the answer to the shell, as keys. */
static void await_ground(struct cb_term *term)
{
    bool closed = false;
    int64_t left_ms;
    while (term->asked_ms != CB_TIME_NONE && !closed &&
           (left_ms = term->asked_ms + GROUND_DELAY_MS - cb_clock_monotonic_ms()) > 0) {
        struct pollfd in = {.fd = STDIN_FILENO, .events = POLLIN};
        if (poll(&in, 1, (int)left_ms) > 0) {
            (void)cb_term_key(term, &closed);
        }
    }
    end_haste(term);
}

/* The terminal as it was found, as far as it takes it in time. */
static void leave(struct cb_term *term)
{
    await_ground(term);
    if (term->brackets) {
        cb_tty_add(term->tty, PASTE_OFF);
    }
    cb_tty_add(term->tty, cb_caption_back(&term->caption));
    cb_str_clear(&term->caption.stands);
    curs_set(1);
    endwin();
    cb_tty_drain(term->tty, LEAVING_MS);
    cb_tty_back(term->tty);
}

void cb_term_close(struct cb_term *term)
{
    if (term != NULL) {
        leave(term);
        free_term(term);
    }
}

const char *cb_term_pasted(const struct cb_term *term)
{
    return cb_str_text(&term->paste);
}

static void put_cell(const struct cb_term *term, int row, int column, const struct cb_cell *cell)
{
    size_t role = cell->role < CB_ROLE_COUNT ? cell->role : CB_ROLE_PLAIN;
    wchar_t text[2] = {(wchar_t)cell->cp, 0};
    int width = cell->width == 2 ? 2 : 1;
    /* Where the C library thinks otherwise of the width, the terminal may too, and one cell
     * out of step breaks the whole row. */
    bool fits = cell->cp < 128 || (!term->options.ascii && wcwidth(text[0]) == width);
    if (!fits) {
        text[0] = L'?';
    }
    cchar_t out;
    setcchar(&out, text, term->attrs[role], term->pairs[role], NULL);
    mvadd_wch(row, column, &out);
    if (!fits && width == 2) {
        mvadd_wch(row, column + 1, &out);
    }
}

static void show(struct cb_term *term)
{
    wnoutrefresh(stdscr);
    doupdate();
    cb_tty_gather(term->tty);
}

/* In pieces that the pipe holds. Nothing else is sent with them: a screen that ncurses is to clear
 * is blank at that time. */
void cb_term_draw(struct cb_term *term, const struct cb_grid *grid)
{
    int rows = grid->rows < LINES ? grid->rows : LINES;
    int columns = grid->columns < COLS ? grid->columns : COLS;
    if (term->stale || rows < LINES || columns < COLS) {
        term->stale = false;
        erase();
        clearok(curscr, TRUE);
        show(term);
    }
    size_t drawn = 0;
    for (int row = 0; row < rows; row++) {
        for (int column = 0; column < columns; column++) {
            const struct cb_cell *cell = &grid->cells[row * grid->columns + column];
            if (cell->cp != 0) {
                put_cell(term, row, column, cell);
                if (++drawn % term->piece == 0) {
                    show(term);
                }
            }
        }
    }
    const bool placed = grid->cursor_row >= 0 && grid->cursor_row < rows &&
                        grid->cursor_column >= 0 && grid->cursor_column < columns;
    move(placed ? grid->cursor_row : rows - 1, placed ? grid->cursor_column : columns - 1);
    curs_set(placed && grid->cursor_shown ? 1 : 0);
    show(term);
    cb_term_send(term);
}

void cb_term_beep(struct cb_term *term)
{
    beep();
    cb_term_send(term);
}

/* Bytes that ncurses knows nothing of. */
static void say(struct cb_term *term, struct cb_str *bytes)
{
    cb_tty_add(term->tty, cb_str_text(bytes));
    cb_str_fini(bytes);
    cb_term_send(term);
}

void cb_term_title(struct cb_term *term, const char *text)
{
    struct cb_str bytes = {0};
    const bool first = term->caption.stands.length == 0;
    cb_caption_title(&term->caption, &bytes, text, COLS, term->options.ascii);
    if (bytes.length == 0) {
        return;
    }
    if (first) {
        prepare_rescue(term);
    }
    say(term, &bytes);
}

bool cb_term_pops_up(const struct cb_term *term)
{
    return term->caption.pop_up != CB_POP_UP_NONE;
}

void cb_term_pop_up(struct cb_term *term, uint32_t id, const char *title, const char *body)
{
    struct cb_str bytes = {0};
    cb_caption_pop_up(&bytes, term->caption.pop_up, id, title, body, term->options.ascii);
    say(term, &bytes);
}

void cb_term_suspend(struct cb_term *term)
{
    leave(term);
    /* The whole group stops, as the shell expects of Ctrl-Z; a group that nobody could wake
     * again (orphaned) is left running by the kernel. */
    struct sigaction stop = {.sa_handler = SIG_DFL}, old;
    sigset_t only, before;
    sigemptyset(&stop.sa_mask);
    sigemptyset(&only);
    sigaddset(&only, SIGTSTP);
    sigaction(SIGTSTP, &stop, &old);
    kill(0, SIGTSTP);
    sigprocmask(SIG_UNBLOCK, &only, &before);
    sigprocmask(SIG_SETMASK, &before, NULL);
    sigaction(SIGTSTP, &old, NULL);
    cb_term_resume(term);
}

void cb_term_resume(struct cb_term *term)
{
    begin_keys(term);
    curs_set(1); /* so that the next picture hides it, whoever showed it meanwhile */
    term->stale = true;
    cb_term_send(term);
}
