#!/bin/bash
# SPDX-License-Identifier: MIT
# Builds with gcc and sanitizers, with clang, and for release, all with warnings as errors; runs
# every test there is; the last line is "N passed, N failed" and nothing else.
# Environment: JOBS tests at a time (the number of cores), TEST_TIMEOUT seconds each (300).
set -u
cd "$(dirname "$0")/.." || exit 1
unset MAKEFLAGS MFLAGS MAKELEVEL FLAVOUR
make=${MAKE:-make}
jobs=${JOBS:-$(nproc 2>/dev/null || echo 2)}
work=$(mktemp -d /tmp/coatbell-check.XXXXXX) || exit 1
trap 'rm -rf "$work"' EXIT
trap 'exit 130' INT TERM HUP
export work
passed=0
failed=0

# Runs one test: NAME COMMAND..., its output and exit code kept in the work folder.
one() {
    local name=$1 out="$work/out/${1//\//@}"
    shift
    local start=$SECONDS rc=0
    tests/seal.sh "$@" >"$out" 2>&1 || rc=$?
    echo "$rc" >"$out.rc"
    if [ "$rc" -eq 0 ]; then
        printf 'ok      %s (%d s)\n' "$name" $((SECONDS - start))
    else
        printf 'FAILED  %s (%d s)\n' "$name" $((SECONDS - start))
    fi
}
export -f one

# Counts one finished test: a cmocka program counts as its cases, all else as one.
tally() {
    local name=$1 out="$work/out/${1//\//@}" rc good bad
    rc=$(cat "$out.rc" 2>/dev/null || echo 99)
    good=$(grep -c '^\[       OK \] ' "$out")
    bad=$(sed -n 's/^\[  FAILED  \] \([0-9]*\) test(s), listed below:.*/\1/p' "$out" | tail -1)
    bad=${bad:-0}
    if [ "$rc" -ne 0 ] && [ "$bad" -eq 0 ]; then
        bad=1
    elif [ "$rc" -eq 0 ] && [ "$good" -eq 0 ]; then
        good=1
    fi
    passed=$((passed + good))
    failed=$((failed + bad))
    if [ "$rc" -ne 0 ]; then
        printf '\n=== %s ended with %s' "$name" "$rc"
        [ "$rc" -eq 124 ] && printf ' (took longer than %s s)' "${TEST_TIMEOUT:-300}"
        printf '\n'
        cat "$out"
    fi
}

# A step that is no program of its own: NAME COMMAND...
step() {
    local name=$1
    shift
    if "$@" >"$work/step" 2>&1; then
        printf 'ok      %s\n' "$name"
        passed=$((passed + 1))
        return 0
    fi
    printf 'FAILED  %s\n' "$name"
    cat "$work/step"
    failed=$((failed + 1))
    return 1
}

manual_is_clean() {
    [ -n "$(ls man/*.[1-9] 2>/dev/null)" ] || return 0
    mandoc -T lint -W warning man/*.[1-9]
}

mkdir "$work/out"
# Sums over many simulated years, evenings and plans, whose code other tests run under the sanitizers, are
# done in the release build: three times as fast.
fast=(property/test_{learn_year,noise,change,plan,plan_noise,plan_bench,offer,one_button})
step "build: release" "$make" -j"$jobs" WERROR=1 FLAVOUR=release all tools \
    "${fast[@]/#/build/release/tests/}"
step "build: gcc, sanitizers" "$make" -k -j"$jobs" WERROR=1 FLAVOUR=asan programs tests
step "build: clang" "$make" -k -j"$jobs" WERROR=1 FLAVOUR=clang programs tests
step "layers" tests/layers.sh
step "manual: mandoc lint" manual_is_clean

# The list of tests, a line each: name, then command, separated by tabs.
{
    for source in tests/{unit/*,reference,kept,property,screen,fault,terminal}/test_*.c; do
        [ -e "$source" ] || continue
        test=${source#tests/}
        flavour=asan
        case " ${fast[*]} " in *" ${test%.c} "*) flavour=release ;; esac
        printf '%s\tbuild/%s/tests/%s\n' "${test%.c}" "$flavour" "${test%.c}"
    done
    for source in tests/fuzz/fuzz_*.c; do
        [ -e "$source" ] || continue
        name=$(basename "$source" .c)
        printf 'corpus/%s\tbuild/asan/tests/fuzz/%s\ttests/fuzz/corpus/%s\n' \
            "$name" "$name" "${name#fuzz_}"
    done
    for script in tests/*/test_*.sh tests/test_*.sh; do
        [ -e "$script" ] || continue
        test=${script#tests/}
        printf '%s\tbash\t%s\n' "${test%.sh}" "$script"
    done
    for source in tests/unit/*/test_*.c; do
        [ -e "$source" ] || continue
        test=${source#tests/}
        printf 'clang/%s\tbuild/clang/tests/%s\n' "${test%.c}" "${test%.c}"
    done
} >"$work/list"

# Longest first keeps all cores busy to the end. Tests of a terminal wait more than they work: two
# of them a core, and nothing else, leave each the machine that it needs. What counts wake-ups, memory or
# seconds from outside says "Runs alone." in its head, and does.
several() { # JOBS: the tests on standard input
    # shellcheck disable=SC2016 # expanded by the inner bash
    tr '\t\n' '\n\0' |
        xargs -0 -r -n1 -P"$1" bash -c 'mapfile -t words <<<"$0"; one "${words[@]}"'
}
alone=$(grep -lE '^(#|/\*| \*).* Runs alone\.' tests/terminal/test_*.* | sed 's|^tests/\(.*\)\.[a-z]*$|\1\t|')
grep -v '^terminal/' "$work/list" | grep -F $'\tbash\t' >"$work/first"
grep -v '^terminal/' "$work/list" | grep -vF $'\tbash\t' >>"$work/first"
several "$jobs" <"$work/first"
grep '^terminal/' "$work/list" | grep -vF "$alone" | several $((2 * jobs))
grep '^terminal/' "$work/list" | grep -F "$alone" | several 1

while IFS=$'\t' read -r name _; do
    tally "$name"
done <"$work/list"

echo
echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ]
