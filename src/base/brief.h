/* SPDX-License-Identifier: MIT */
/* Numbers as a painter reads them. */
#ifndef CB_BASE_BRIEF_H
#define CB_BASE_BRIEF_H

#define CB_BRIEF_BYTES 32

/* "2", "1.5", "0.67": at most two decimals, no 0 at their end. value: 0 to 1e9. Returns text. */
char *cb_brief(double value, char text[CB_BRIEF_BYTES]);

#endif
