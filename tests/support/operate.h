/* SPDX-License-Identifier: MIT */
/*
 * Bytes as what may happen at a bench: keys, pasted text, sizes, time that goes on, back and forth,
 * other boots, buttons of any pop-up, a sensor, what others write, a disk that does not take it or
 * takes it and says no, who may write. The app is stepped by it on a log in memory, drawn after
 * each, and asked what must always hold.
 */
#ifndef CB_TESTS_OPERATE_H
#define CB_TESTS_OPERATE_H

#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"

#define OPERATE_BYTES_MAX 256

/* NULL, or what does not hold: in the arena. No more than OPERATE_BYTES_MAX are looked at. */
const char *operate(const uint8_t *data, size_t size, struct cb_arena *arena);

#endif
