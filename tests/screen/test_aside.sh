#!/bin/bash
# SPDX-License-Identifier: MIT
# A unit that was put aside is in no list, no review of all and no hours, unless it is asked for by name;
# what its films taught of the paint stays.
set -u
program=${CB_BUILD:-build/release}/coatbell
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
faults=0

fault() {
    echo "$*"
    faults=$((faults + 1))
}

cat >"$work/watch.yaml" <<'YAML'
coatbell: 1
name: One lamplighter
figures: 2
paints: {green: {name: Oilskin green, kind: acrylic}}
stages:
  - {name: Oilskins, technique: basecoat, paint: green, minutes: 4}
YAML
cat >"$work/script.play" <<PLAY
begin watch.yaml
at +5m
key SPACE
at +6m
key SPACE
key f
at +1m
key o
key DOWN
key ENTER
key ENTER
key ENTER
at +9m
key SPACE
at +30m
key d
export $work/open.jsonl
key o
key x
key x
expect put aside
at +1m
key q
export $work/log.jsonl
PLAY
"$program" play "$work/script.play" || fault "no evening"
"$program" log import "$work/log.jsonl" --log "$work/log.db" >/dev/null || fault "no import"
grep -q '"event":"unit_finished".*"left":true' "$work/log.jsonl" || fault "the log does not say it"
"$program" log export --log "$work/log.db" | cmp -s - "$work/log.jsonl" || fault "it comes back changed"
call() { "$program" "$@" --log "$work/log.db"; }

[ "$(call units | grep -c lamplighter)" = 1 ] || fault "the list has it"
call units | grep -q 'put aside' && fault "the list says put aside"
call units --all | grep -q 'One lamplighter .* put aside$' || fault "asked for, it is not listed"
call units --all --json | grep -q '"finished":false,"left":true' || fault "not as JSON"
[ "$(call review --all --json | grep -o '"name":"One lamplighter"' | wc -l)" = 1 ] || fault "the review of all has it"
call review --all | grep -q 'put aside' && fault "the review of all says put aside"
aside=$(call units --all --json | grep -o '"unit":"[^"]*"' | tail -1 | cut -d'"' -f4)
call review "$aside" | grep -q '2 figures, begun .*, put aside; ' || fault "by its id there is no review"
call review | grep -q finished || fault "it is taken for the last one"
call review 'One lamplighter' | grep -q finished || fault "by its name it hides the other"

# hours to go are those of a log without it, dry times are not
grep -v "\"unit\":\"$aside\"" "$work/log.jsonl" >"$work/less.jsonl"
"$program" log import "$work/less.jsonl" --log "$work/less.db" >/dev/null || fault "no import"
hours() { "$program" review --json --log "$work/$1.db" | grep -o '"next":{[^}]*}'; }
[ -n "$(hours log)" ] || fault "no hours"
[ "$(hours log)" = "$(hours less)" ] || fault "it teaches hours: $(hours log)"
films() { "$program" pots --json --log "$work/$1.db" | grep -o '"films":[0-9]*'; }
[ "$(films log)/$(films less)" = '"films":1/"films":0' ] || fault "what its film taught is gone"
call status | grep -q 'nothing on the bench' || fault "it is on the bench"

# of a log in which every unit is put aside nothing is shown by itself
grep "\"unit\":\"$aside\"\|session" "$work/log.jsonl" >"$work/only.jsonl"
"$program" log import "$work/only.jsonl" --log "$work/only.db" >/dev/null || fault "no import"
for all in '' --all; do
    # shellcheck disable=SC2086
    "$program" review $all --log "$work/only.db" 2>&1 | grep -q 'every unit of the log is put aside' ||
        fault "review $all shows one that was put aside"
done
[ "$faults" -eq 0 ]
