#!/bin/bash
# SPDX-License-Identifier: MIT
# What is kept of a finished unit says what a log with nothing kept says: after an answer, a pause, a
# chore and a reading of its evening were taken back and brought again on later evenings, by keys,
# and after a chore of that evening came in late and was taken back.
set -u
coatbell=${CB_BUILD:-build/release}/coatbell
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
cd "$work" || exit 1
faults=0
log=$work/log.db

fault() {
    echo "$*"
    faults=$((faults + 1))
}

cat >recipe.yaml <<'YAML'
coatbell: 1
name: Two coats
figures: 2
change: 60 s
paints:
  rope: {name: Tarred rope, kind: acrylic}
stages:
  - {name: Base, technique: basecoat, paint: rope, minutes: 4}
  - {name: Edges, technique: layer, paint: rope, minutes: 4}
YAML

# evening LINE...: a sitting on the log, a day after whatever it holds.
evening() {
    { printf 'size 80x24\nopen %s\nsleep 24h\n' "$log"; printf '%s\n' "$@" 'key q'; } >evening.play
    "$coatbell" play evening.play >play.txt 2>&1 || fault "play: $(cat play.txt)"
}

told() { # LOG: all that is derived of it
    "$coatbell" review --all --json --log "$1" && "$coatbell" pots --json --why --log "$1" &&
        "$coatbell" pots --calibration --json --log "$1" && "$coatbell" units --json --log "$1"
}

minutes() { # PART: of the kept review
    "$coatbell" review --json --log "$log" | sed 's/[,{]/\n/g' | grep -m1 "\"$1\":" | sed 's/.*://'
}

# same WHAT PART MINUTES: kept equals fresh, and the part is what it should be.
same() {
    rm -f fresh.db*
    { "$coatbell" log export log.jsonl --log "$log" &&
        "$coatbell" log import log.jsonl --log fresh.db >/dev/null; } || fault "$1: no copy"
    told "$log" >kept.txt || fault "$1: nothing told"
    told fresh.db >made.txt || fault "$1: nothing told of the copy"
    cmp -s kept.txt made.txt || fault "$1: what is kept is not what is made: $(diff kept.txt made.txt | head -c 400)"
    [ "$(minutes "$2")" = "$3" ] || fault "$1: $2 is $(minutes "$2"), wanted $3"
}

"$coatbell" begin recipe.yaml --log "$log" --temp 21 --rh 50 >/dev/null || fault "no unit"
evening 'key SPACE' 'at +4m' 'key SPACE' 'at +20m' 'key SPACE' 'at +75m' 'key SPACE' 'at +1m' \
    'key p' 'at +12m' 'key p' 'at +30s' 'key f' 'key j' 'type 0.5 rinse' 'key ENTER' 'at +1m' 'key F5' 'expect were you away' 'key ENTER' \
    'key c' 'type 24 40' 'key ENTER'
away=$(minutes away_min)
[ "${away%.*}" -gt 30 ] || fault "nobody was away: $away"
same "the evening itself" pause_min 12
evening 'key BACKSPACE' 'key BACKSPACE' 'expect taken back: the room'
same "the reading taken back" pause_min 12
evening 'key r'
same "the reading brought again" away_min "$away"
evening 'key BACKSPACE' 'key BACKSPACE' 'key BACKSPACE' 'expect taken back: away'
same "away taken back" away_min 0
evening 'key r'
same "away brought again" away_min "$away"
same "the chore of the evening" chore_min 0.5
evening 'key BACKSPACE' 'key BACKSPACE' 'key BACKSPACE' 'expect taken back: chore'
same "the chore by key taken back" chore_min 0
evening 'key r'
same "the chore by key brought again" chore_min 0.5
evening 'key BACKSPACE' 'key BACKSPACE' 'key BACKSPACE' 'key BACKSPACE' 'key BACKSPACE' \
    'expect taken back: pause' 'key r' 'key r' 'key r' 'key r'
same "the pause taken back and brought again" pause_min 12
# the pause lies before the finish: that is taken back and given anew
evening 'key BACKSPACE' 'key BACKSPACE' 'key BACKSPACE' 'key BACKSPACE' 'expect taken back: end of the pause' \
    'key BACKSPACE' 'expect taken back: pause' 'key f' 'expect finished'
same "the pause taken back" pause_min 0

at=$(grep -m1 '"coat_on"' log.jsonl | sed 's/.*"at":"\([^"]*\)".*/\1/')
printf '{"id":"c1","press":"c1","at":"%s","event":"chore_done","name":"rinse","minutes":1}\n' "$at" >chore.jsonl
"$coatbell" log import chore.jsonl --log "$log" >/dev/null || fault "no chore"
same "a chore told late" chore_min 1
printf '{"id":"c2","press":"c2","at":"%s","event":"undone","of":"c1"}\n' 2040-01-01T00:00:00.000Z >undone.jsonl
"$coatbell" log import undone.jsonl --log "$log" >/dev/null || fault "no undoing"
same "the chore taken back" chore_min 0
printf '{"id":"c3","press":"c3","at":"%s","event":"undone","of":"c2"}\n' 2041-01-01T00:00:00.000Z >redone.jsonl
"$coatbell" log import redone.jsonl --log "$log" >/dev/null || fault "no redoing"
same "the chore brought again" chore_min 1
exit "$faults"
