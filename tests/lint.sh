#!/bin/bash
# SPDX-License-Identifier: MIT
# The format check and the analyzers that are there: gcc -fanalyzer, clang-tidy, cppcheck, shellcheck, codespell. None
# is needed for `make check`. Exit 1 when one of them has found something.
set -u
cd "$(dirname "$0")/.." || exit 1
failed=

run() {
    local name=$1
    shift
    if ! command -v "$1" >/dev/null 2>&1; then
        echo "-- $name: $1 is not there"
        return
    fi
    echo "== $name"
    "$@" || failed="$failed $name"
}

mapfile -t scripts < <(find .ci tests -type f \( -name '*.sh' -o -path '.ci/run' -o -path '.ci/install' \) | sort)
scripts+=(shared/completions/*.bash)
mapfile -t code < <(find src tests -name '*.[ch]' | sort)
run format clang-format --dry-run -Werror "${code[@]}"
run shellcheck shellcheck "${scripts[@]}"
run codespell codespell -q 3 -L aci,fo,froms,iterm,nd,srings,ttests README.md DEVELOPERS.md man shared recipes src tests/*.sh
run analyzer make -s -k -j"$(nproc)" FLAVOUR=analyze WERROR=1 programs
run cppcheck cppcheck --quiet --std=c11 --enable=warning,portability,performance --inline-suppr \
    --suppress=missingIncludeSystem --suppress=normalCheckLevelMaxBranches --error-exitcode=1 \
    -j "$(nproc)" -Isrc -DCB_PREFIX='""' -DCB_CODE_SUM='""' src
if command -v clang-tidy >/dev/null 2>&1; then
    checks='-*,bugprone-*,clang-analyzer-*,-bugprone-easily-swappable-parameters'
    checks+=',-bugprone-narrowing-conversions,-bugprone-reserved-identifier'
    checks+=',-bugprone-branch-clone,-clang-analyzer-security.insecureAPI.DeprecatedOrUnsafeBufferHandling'
    checks+=',-bugprone-sizeof-expression' # a list of pointers has elements of that size
    checks+=',-bugprone-suspicious-memory-comparison' # what is kept is compared bit for bit
    checks+=',-bugprone-implicit-widening-of-multiplication-result' # 60 * 24, rows * columns
    mapfile -t sources < <(find src -name '*.c' ! -path 'src/bell/*' | sort)
    # A file a process: clang 14 carries what it thinks of a va_list from one file to the next.
    tidy() {
        # shellcheck disable=SC2046
        printf '%s\0' "${sources[@]}" |
            xargs -0 -P "$(nproc)" -I FILE clang-tidy --quiet --warnings-as-errors='*' --checks="$checks" FILE -- \
                -std=c17 -Isrc -D_GNU_SOURCE '-DCB_PREFIX=""' '-DCB_CODE_SUM=""' \
                $(pkg-config --cflags-only-I ncursesw jansson)
    }
    run clang-tidy tidy
fi
[ -z "$failed" ] || {
    echo "found something:$failed"
    exit 1
}
