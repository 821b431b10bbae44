/* SPDX-License-Identifier: MIT */
/* Two benches side by side: every difference that a query could see. */
#ifndef CB_TESTS_BENCH_EQUAL_H
#define CB_TESTS_BENCH_EQUAL_H

#include "base/err.h"
#include "core/bench/bench.h"

/* Same state? Writes the first difference. */
bool bench_equal(const struct cb_bench *a, const struct cb_bench *b, struct cb_err *difference);

#endif
