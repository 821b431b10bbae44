#!/bin/bash
# SPDX-License-Identifier: MIT
# README.md: where there is no apt-get, the commands and libraries that are missing are named as
# their makers name them, and nothing is installed. No package manager is named that it was not
# built with.
set -u
cd "$CB_ROOT" || exit 1
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
for tool in dirname sort tr sed; do
    ln -s "$(command -v "$tool")" "$work/$tool"
done
PATH=$work .ci/install build test >"$work/out" 2>"$work/err" && {
    echo "nothing is there, and it is content"
    exit 1
}
[ -s "$work/out" ] && { echo "it writes to standard output"; exit 1; }
for line in 'command: .*clang.*gcc make.*tmux' 'header: stdio.h$' \
    'library, as pkg-config calls it: .*cmocka.*jansson.*libnotify.*ncursesw.*sqlite3.*yaml-0.1'; do
    grep -q "^  $line" "$work/err" || {
        echo "not said: $line"
        cat "$work/err"
        exit 1
    }
done
# Three columns: what for, how to see it, the package.
awk '!/^#/ && NF != 3 { print "packages:" NR ": " $0; bad = 1 } END { exit bad }' .ci/packages || exit 1
if grep -nwiE 'dnf|pacman|apk|brew|ubuntu|macos' .ci/packages .ci/install README.md; then
    echo "named, and never built on"
    exit 1
fi
