#!/bin/bash
# SPDX-License-Identifier: MIT
# Plays every script here. The screen that a `dump` writes stands below it, behind #|, as it is in
# UTF-8; in ASCII it is the same with other signs.
# --keep: the dumps come into the scripts; look at each before it is committed.
set -u
cd "$(dirname "$0")/../.." || exit 1
top=$PWD
program=${CB_BUILD:-$top/build/release}/coatbell
work=$(mktemp -d "${TMPDIR:-/tmp}/coatbell-screens.XXXXXX") || exit 1
trap 'rm -rf "$work"' EXIT
faults=0

fault() {
    echo "$*"
    faults=$((faults + 1))
}

in_ascii() {
    sed 'y/▸█·≈●✓‖─│…×▁▂▃▄▅▆▇┼▒░/>#.~*v!-|.x..:-=+*++./; s/[▏▎▍▌▋▊▉]/ /g; s/ *$//'
}

for script in "$top"/tests/screen/*.play; do
    name=$(basename "$script" .play)
    for set in utf8 ascii; do
        option=
        [ "$set" = ascii ] && option=--ascii
        mkdir -p "$work/$set/$name"
        (cd "$work/$set/$name" && "$program" play "$script" $option) || faults=$((faults + 1))
    done
    for dump in "$work/utf8/$name"/*.txt; do
        size=${dump##*-}
        size=${size%.txt}
        [ "$(wc -l <"$dump")" = "${size#*x}" ] || fault "$dump: not as many lines as rows"
        plain=$work/ascii/$name/$(basename "$dump")
        diff -u <(in_ascii <"$dump") "$plain" || fault "$plain: not what UTF-8 shows"
        LC_ALL=C grep -n '[^ -~]' "$plain" && fault "$plain: not ASCII"
    done
    awk -v folder="$work/utf8/$name/" '
        /^#\|/ { next }
        { print }
        $1 == "dump" { while ((getline row < (folder $2)) > 0) print "#|" row }' "$script" >"$work/$name.play"
    if [ "${1-}" = --keep ]; then
        cat "$work/$name.play" >"$script"
    else
        diff -u "$script" "$work/$name.play" || fault "$name.play: other screens"
    fi
done
[ "$faults" -eq 0 ]
