/* SPDX-License-Identifier: MIT */
/* The program's version, one place. */
#ifndef CB_BASE_VERSION_H
#define CB_BASE_VERSION_H

#define CB_VERSION "1.0.0"

#endif
