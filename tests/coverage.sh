#!/bin/bash
# SPDX-License-Identifier: MIT
# Runs the tests of the coverage build and prints the share of the lines that they ran: of each file
# of src, each floor and all. Exit 1 when a pure floor is below 90 % or all below 80 % (own
# judgement). See `make coverage`. Environment: COVERAGE_TESTS, a pattern: only those, as unit/base.
set -u
cd "$(dirname "$0")/.." || exit 1
only=${COVERAGE_TESTS:-.}
find build/coverage -name '*.gcda' -delete
while read -r program; do
    tests/seal.sh "$program" >/dev/null 2>&1 || echo "$program failed" >&2
done < <(find build/coverage/tests/{unit,reference,kept,property,screen,fault,terminal} -type f -perm -u+x \
    -name 'test_*' ! -name '*.?' 2>/dev/null | grep -e "$only" | sort)
while read -r script; do
    COVERAGE=1 tests/seal.sh env CB_BUILD="$PWD/build/coverage" bash "$script" >/dev/null 2>&1 ||
        echo "$script failed" >&2
done < <(find tests -mindepth 2 -maxdepth 2 -name 'test_*.sh' | grep -e "$only" | sort)
# An object that is left of a file that is gone counts for nothing.
find build/coverage -name '*.gcno' ! -path '*/tests/*' | sort | while read -r notes; do
    source=src/${notes#build/coverage/}
    [ ! -e "${source%.gcno}.c" ] || gcov -n "$notes" 2>/dev/null
done | awk -F"'" '
    function line(ran, all, name) { printf "%6.1f %%  %5d  %s\n", 100 * ran / all, all, name }
    /^File/ { file = $2; next }
    /^Lines executed/ && file ~ /^src\/.*\.c$/ {
        split($0, part, /[:%]/); n = $0; sub(/.* of /, "", n)
        split(file, folder, "/")
        floor = folder[3] == "" ? "main" : folder[2]
        here = int(n * part[2] / 100 + 0.5)
        line(here, n, file)
        lines[floor] += n; ran[floor] += here
        lines["all"] += n; ran["all"] += here
    }
    { file = "" }
    END {
        count = split("base core app view shell command bell main all", names, " ")
        for (i = 1; i <= count; i++) {
            floor = names[i]
            if (!lines[floor]) { continue }
            line(ran[floor], lines[floor], floor)
            least = floor ~ /^(base|core|app|view)$/ ? 90 : floor == "all" ? 80 : 0
            if (100 * ran[floor] < least * lines[floor]) {
                low = low sprintf("%s: less than %d %% of the lines are run\n", floor, least)
            }
        }
        printf "%s", low
        exit low != "" || !lines["all"]
    }'
