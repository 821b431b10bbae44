#!/bin/bash
# SPDX-License-Identifier: MIT
# New times of drying are told once: at the first opening of a log that was painted by older ones.
set -u
program=${CB_BUILD:-build/release}/coatbell
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
faults=0
line="new drying figures: thin coats ring sooner; d or w corrects"

fault() {
    echo "$*"
    faults=$((faults + 1))
}

play() { # WHAT: the script on the input runs
    cat >"$work/script.play"
    "$program" play "$work/script.play" || fault "$1"
}

cat >"$work/one.yaml" <<'YAML'
coatbell: 1
name: One lamplighter
figures: 1
paints: {green: {name: Oilskin green, kind: acrylic}}
stages:
  - {name: Oilskins, technique: basecoat, paint: green, coats: 3}
YAML
play "an empty log is told of nothing new" <<PLAY
begin one.yaml
refuse new drying figures
key SPACE
refuse new drying figures
do quit
export $work/new.jsonl
PLAY
grep -q '"event":"session_opened".*"edition":"2-' "$work/new.jsonl" || fault "no edition 2 in the log"

log() { # NAME: a log of what stands on the input, painted the evening before
    sed 's/2026-01-05T/2026-01-04T/g' >"$work/$1.jsonl"
    "$program" log import "$work/$1.jsonl" --log "$work/$1.db" >/dev/null || fault "no import of $1"
}

sed 's/"edition":"2-/"edition":"1-/' "$work/new.jsonl" | log old
play "not told of the new figures" <<PLAY
open $work/old.db
expect $line
type 3
expect 3
key ESC
refuse $line
key SPACE
at +1s
refuse $line
export $work/once.jsonl
PLAY
log once <"$work/once.jsonl"
play "told again" <<PLAY
open $work/once.db
refuse new drying figures
PLAY
sed '/"session_opened"/s/,"edition":"[^"]*"//' "$work/new.jsonl" | log foreign
play "told of a log that never said by which figures it was painted" <<PLAY
open $work/foreign.db
refuse new drying figures
PLAY
sed 's/"edition":"2-/"edition":"3-/' "$work/new.jsonl" | log newer
play "told of older figures" <<PLAY
open $work/newer.db
refuse new drying figures
PLAY
[ "$faults" -eq 0 ]
