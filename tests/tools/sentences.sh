#!/bin/bash
# SPDX-License-Identifier: MIT
# What the program says: every piece of text on any screen of tests/screen, once, to be read as a painter
# would who has never seen it. Every step of a script is looked at, not only its dumps.
set -eu
cd "$(dirname "$0")/../.."
top=$PWD
program=${CB_BUILD:-$top/build/release}/coatbell
work=$(mktemp -d "${TMPDIR:-/tmp}/coatbell-sentences.XXXXXX")
trap 'rm -rf "$work"' EXIT

for script in tests/screen/*.play; do
    name=$(basename "$script" .play)
    mkdir "$work/$name"
    awk -v top="$top/tests/screen/" '
        /^#/ || $1 == "dump" || $1 == "expect" || $1 == "refuse" { next }
        $1 == "begin" || $1 == "open" || $1 == "recipe" { sub($2, top $2) }
        { print }
        $1 != "begin" && $1 != "open" { print "dump " NR ".txt" }' "$script" >"$work/$name.play"
    (cd "$work/$name" && "$program" play "$work/$name.play")
done
# A piece ends where two blanks or a rule stand; numbers differ without being news.
cat "$work"/*/*.txt |
    sed -E 's/│|─+|  +/\n/g' |
    sed -E 's/^ +//; s/ +$//; s/[0-9]+/1/g' |
    grep -E '[A-Za-z]{2}' | LC_ALL=C.UTF-8 sort -u
