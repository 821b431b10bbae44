/* SPDX-License-Identifier: MIT */
/* Pictures in the desktop's viewer: xdg-open, started without a shell, never waited for. */
#ifndef CB_SHELL_PICTURE_H
#define CB_SHELL_PICTURE_H

#include <sys/types.h>

#include "base/err.h"
#include "base/vec.h"

struct cb_pictures {
    CB_VEC(pid_t) viewers; /* started and not yet reaped */
};

/* The file in a viewer of its own group, with nothing of our terminal but its environment. picture:
 * absolute, or a path from the folder of the recipe's file (beside) down, without "..". Only a
 * regular file is opened. Else one line says why not: CB_DATA a path that is refused, CB_IO no such
 * file, CB_FAILED no xdg-open. */
enum cb_status cb_picture_open(struct cb_pictures *pictures, const char *picture,
                               const char *beside, struct cb_err *err);
/* Those that have ended are no zombies any more; the others go on, also when we end. */
void cb_picture_reap(struct cb_pictures *pictures);
void cb_picture_fini(struct cb_pictures *pictures);

#endif
