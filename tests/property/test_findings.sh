#!/bin/bash
# SPDX-License-Identifier: MIT
# Habits planted in simulated painters (tests/support/planted.h) are found within three units, eight
# times of ten, and of the units of painters without one at most one in twenty ends with a finding.
# Usage: test_findings.sh [PAINTERS [WITHOUT]]; the same table as `make bench` prints.
set -u
bench=${CB_BUILD:-build/release}/tests/tools/bench_findings
table=$("$bench" "${1:-20}" "${2:-60}") || exit 1
printf '%s\n' "$table"
printf '%s\n' "$table" | awk '
    NR <= 2 { next }
    { split(substr($0, 29), at, /[ \/]+/) }
    /^no habit/ { if (at[9] * 20 > at[10]) { print "findings without a habit"; bad = 1 } next }
    { habits++; if (at[7] * 10 < at[8] * 8) { print "not found: " $0; bad = 1 } }
    END { exit bad || habits != 6 }'
