# SPDX-License-Identifier: MIT
# shellcheck shell=bash
# For tests that only call the program: a folder of its own to stand in, and what is said when a call
# is not as it should be. Sourced by tests/terminal/test_*.sh.

# shellcheck disable=SC2034 # used by the tests
coatbell=${CB_BUILD:?}/coatbell
# shellcheck disable=SC2034
root=${CB_ROOT:?}
box=$(mktemp -d) || exit 1
trap 'rm -rf "$box"' EXIT
cd "$box" || exit 1
# shellcheck disable=SC2034
failed=0

fail() {
    echo "FAILED: $*"
    failed=1
}

# expect CODE PATTERN COMMAND...: exit code, and the pattern in its output (both streams)
expect() {
    local code=$1 pattern=$2 out rc=0
    shift 2
    out=$("$@" 2>&1) || rc=$?
    [ "$rc" -eq "$code" ] || fail "$*: exit $rc, not $code: $out"
    case $out in
    *"$pattern"*) ;;
    *) fail "$*: no \"$pattern\" in: $out" ;;
    esac
}
