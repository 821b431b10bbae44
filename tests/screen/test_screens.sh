#!/bin/bash
# SPDX-License-Identifier: MIT
# Plays every script here and compares its dumps with the kept screens, in UTF-8 and in ASCII.
# --keep: the dumps become the kept screens; look at each before it is committed.
set -u
cd "$(dirname "$0")/../.." || exit 1
top=$PWD
program=${CB_BUILD:-$top/build/release}/coatbell
work=$(mktemp -d "${TMPDIR:-/tmp}/coatbell-screens.XXXXXX") || exit 1
trap 'rm -rf "$work"' EXIT
faults=0

for script in "$top"/tests/screen/*.play; do
    name=$(basename "$script" .play)
    for set in utf8 ascii; do
        option=
        [ "$set" = ascii ] && option=--ascii
        mkdir -p "$work/$set/$name"
        if ! (cd "$work/$set/$name" && "$program" play "$script" $option); then
            faults=$((faults + 1))
        fi
        for dump in "$work/$set/$name"/*.txt; do
            size=${dump##*-}
            size=${size%.txt}
            if [ "$(wc -l <"$dump")" != "${size#*x}" ]; then
                echo "$set/$name/$(basename "$dump"): not as many lines as rows"
                faults=$((faults + 1))
            fi
            if [ "$set" = ascii ] && LC_ALL=C grep -n '[^ -~]' "$dump"; then
                echo "$set/$name/$(basename "$dump"): not ASCII"
                faults=$((faults + 1))
            fi
        done
    done
done

if [ "${1-}" = --keep ]; then
    rm -rf "$top/tests/screen/kept"
    cp -R "$work" "$top/tests/screen/kept"
elif ! diff -ru "$top/tests/screen/kept" "$work"; then
    faults=$((faults + 1))
fi
[ "$faults" -eq 0 ]
