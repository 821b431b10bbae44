/* SPDX-License-Identifier: MIT */
/* What holds for every screen, whatever was pressed and whatever lies in the log. */
#ifndef CB_TESTS_GRID_CHECK_H
#define CB_TESTS_GRID_CHECK_H

#include "view/grid.h"

/* NULL, or what is wrong: a cell that no terminal may see, a wide character that is cut, a width
 * that is not the character's, a role there is not, the focus on blanks alone, a cursor outside. */
const char *grid_fault(const struct cb_grid *grid);

#endif
