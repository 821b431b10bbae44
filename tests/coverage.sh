#!/bin/bash
# SPDX-License-Identifier: MIT
# Runs the test programs of the coverage build and prints, for each file of src, the share of
# its lines that they ran. See `make coverage`.
set -u
cd "$(dirname "$0")/.." || exit 1
find build/coverage -name '*.gcda' -delete
while read -r program; do
    tests/seal.sh "$program" >/dev/null 2>&1 || echo "$program failed" >&2
done < <(find build/coverage/tests/{unit,reference,property,screen,fault} -type f -perm -u+x \
    -name 'test_*' ! -name '*.?' 2>/dev/null | sort)
for script in tests/*/test_*.sh; do
    [ -e "$script" ] || continue
    COVERAGE=1 tests/seal.sh env CB_BUILD="$PWD/build/coverage" bash "$script" >/dev/null 2>&1 ||
        echo "$script failed" >&2
done
find build/coverage -maxdepth 2 -name '*.gcno' | sort | while read -r notes; do
    gcov -n "$notes" 2>/dev/null
done | awk -F"'" '
    /^File/ { file = $2; next }
    /^Lines executed/ && file ~ /^src\/.*\.c$/ {
        split($0, part, /[:%]/); n = $0; sub(/.* of /, "", n)
        printf "%6.1f %%  %5d  %s\n", part[2], n, file
        all += n; ran += n * part[2] / 100; file = ""
    }
    /^Lines executed/ { file = "" }
    END { if (all) printf "%6.1f %%  %5d  all\n", 100 * ran / all, all }'
