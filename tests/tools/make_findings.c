/* SPDX-License-Identifier: MIT */
/* make_findings HABIT [UNITS [NUMBER]]: prints the log of a simulated painter, JSON Lines; the
 * habit by its number in tests/support/planted.h, 0: none. */
#include <stdio.h>
#include <stdlib.h>

#include "base/str.h"
#include "shell/jsonl.h"
#include "support/planted.h"

static void print(const struct cb_event *event)
{
    struct cb_str line = {0};
    cb_jsonl_encode(event, &line);
    puts(cb_str_text(&line));
    cb_str_fini(&line);
}

int main(int argc, char **argv)
{
    const long planted = argc > 1 ? strtol(argv[1], NULL, 10) : -1;
    const long units = argc > 2 ? strtol(argv[2], NULL, 10) : 3;
    const long number = argc > 3 ? strtol(argv[3], NULL, 10) : 1;
    struct planted_painter painter;
    if (planted < 0 || planted >= PLANTED_COUNT || units < 1 || units > PLANTED_UNITS) {
        fputs("make_findings HABIT [UNITS [NUMBER]]\n", stderr);
        return 2;
    }
    planted_begin(&painter, (enum planted)planted, (uint64_t)number);
    painter.write = print;
    for (long unit = 0; unit < units; unit++) {
        planted_unit(&painter);
    }
    planted_end(&painter);
    return 0;
}
