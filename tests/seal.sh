#!/bin/sh
# SPDX-License-Identifier: MIT
# Usage: tests/seal.sh COMMAND...
# Runs one test in a sealed environment: a home of its own, UTC, C.UTF-8, nothing inherited but
# PATH; from the top of the tree. CB_ROOT is that top, CB_BUILD the folder of the release build.
set -u
cd "$(dirname "$0")/.." || exit 1
box=$(mktemp -d /tmp/coatbell.XXXXXX) || exit 1
trap 'rm -rf "$box"' EXIT
trap 'exit 130' INT TERM HUP
mkdir "$box/home" "$box/tmp"
chmod 711 "$box" "$box/tmp" # a test that gives root up must still reach its files
mkdir -m 700 "$box/run"
env -i PATH="$PATH" HOME="$box/home" TMPDIR="$box/tmp" XDG_RUNTIME_DIR="$box/run" \
    TZ=UTC LC_ALL=C.UTF-8 TERM=xterm-256color CB_ROOT="$PWD" CB_BUILD="$PWD/build/release" \
    ASAN_OPTIONS=detect_leaks=1:abort_on_error=0 UBSAN_OPTIONS=print_stacktrace=1 \
    timeout -k 10 "${TEST_TIMEOUT:-300}" "$@" </dev/null
