/* SPDX-License-Identifier: MIT */
#ifndef CB_COMMAND_WRAP_H
#define CB_COMMAND_WRAP_H

/* Prints text of ours (ASCII) broken at blanks to at most 78 columns: the first line by `indent`
 * from the left, the others two further. */
void cb_command_wrap(const char *text, int indent);

#endif
