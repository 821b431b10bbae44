#!/bin/bash
# SPDX-License-Identifier: MIT
# README.md: where there is no apt-get, what is missing is named for dnf, pacman, apk and brew, and
# nothing is installed.
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
for line in 'dnf install .*ncurses-devel.*tmux' 'pacman -S --needed .*ncurses.*tmux' \
    'apk add .*ncurses-dev.*tmux' 'brew install .*ncurses.*tmux'; do
    grep -q "^  $line" "$work/err" || {
        echo "not said: $line"
        cat "$work/err"
        exit 1
    }
done
