/* SPDX-License-Identifier: MIT */
#ifndef CB_APP_ROLE_H
#define CB_APP_ROLE_H

/* What a text is, not how it looks; the theme says that. */
/* The formatter never settles on such a list. */
/* clang-format off */
#define CB_ROLES(X) \
    X(PLAIN) X(DIM) X(STRONG) X(TITLE) X(BIG) X(PAINT) X(WET) X(DRY) X(READY) X(DONE) X(HELD) \
    X(FOCUS) X(KEY) X(WARN) X(ALARM) X(RULE) X(BANNER) X(INPUT) X(PLOT)
/* clang-format on */
enum cb_role {
#define X(id) CB_ROLE_##id,
    CB_ROLES(X)
#undef X
        CB_ROLE_COUNT
};

#endif
