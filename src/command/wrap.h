/* SPDX-License-Identifier: MIT */
#ifndef CB_COMMAND_WRAP_H
#define CB_COMMAND_WRAP_H

/* Columns for text: those of the terminal less one, 79 at most and where there is no terminal. */
int cb_command_columns(void);

/* Prints text broken at blanks to those columns, a number and its unit kept together: the first
 * line by `indent` from the left, the others two further. Clean text only. */
void cb_command_wrap(const char *text, int indent);
/* The same where `used` columns of the line are printed already; the others by `indent`. */
void cb_command_wrap_after(const char *text, int used, int indent);

#endif
