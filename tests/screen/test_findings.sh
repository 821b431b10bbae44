#!/bin/bash
# SPDX-License-Identifier: MIT
# What the log says of its painter, as the review prints it: as text, JSON and a page, once however
# many units are shown, the same from what is kept as when it is made, and of the last units alone.
set -u
program=${CB_BUILD:-build/release}/coatbell
make_findings=${CB_BUILD:-build/release}/tests/tools/make_findings
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
faults=0

fault() {
    echo "$*"
    faults=$((faults + 1))
}

log() { # NAME HABIT UNITS
    "$make_findings" "$2" "$3" 2 >"$work/$1.jsonl" || fault "$1: no events"
    "$program" log import "$work/$1.jsonl" --log "$work/$1.db" >/dev/null || fault "$1: no log"
}

review() { # NAME OPTIONS...
    local name=$1
    shift
    "$program" review --log "$work/$name.db" "$@"
}

count() { # PATTERN, of standard input
    grep -c "$1"
}

# Numbers, size, how sure, and one thing to do.
log tired 3 3
text=$(review tired)
for part in 'What the log says of you, from 3 units' 'of a row the first 8 figures take you' \
    'min a unit; by chance in' '^ *take 7 in a row, then something else$'; do
    [ "$(count "$part" <<<"$text")" = 1 ] || fault "the review lacks: $part"
done

# From what is kept it is the same, also where nothing can be kept.
[ "$(review tired)" = "$text" ] || fault "what is kept says another thing"
"$program" log import "$work/tired.jsonl" --log "$work/shut.db" >/dev/null
mkdir "$work/shut" && mv "$work"/shut.db* "$work/shut" && chmod a-w "$work"/shut/* "$work/shut"
[ "$(review shut/shut)" = "$text" ] || fault "a log that can't be written says another thing"
chmod u+w "$work/shut"

# Once, however many units.
[ "$(review tired --all | count 'What the log says of you')" = 1 ] ||
    fault "not once in the review of all"
json=$(review tired --json)
case $json in
*'"findings":[{"finding":"tired","text":"of a row'*'"advice":"take 7'*'"minutes":'*'"coats":63,"chance":'*'"units":3}]}'*) ;;
*) fault "JSON: ${json##*\"findings\"}" ;;
esac
[ "$(review tired --all --json | grep -o '"findings"' | count .)" = 1 ] ||
    fault "not once in the JSON of all"
review tired --html "$work/page.html"
[ "$(count '<h2>What the log says of you</h2>.*<strong>take 7 in a row' <"$work/page.html")" = 1 ] ||
    fault "the page lacks it"

# Nothing of a unit or two that say nothing; an empty list all the same.
log none 0 2
review none | grep 'What the log says of you' && fault "something is said where nothing is"
case $(review none --json) in
*'"findings":[]'*) ;;
*) fault "JSON lacks the empty list" ;;
esac

# The same by themselves.
mine() { # NAME OPTIONS...
    local name=$1
    shift
    "$program" cues --mine --log "$work/$name.db" "$@"
}
[ "$(mine tired | tail -n 1)" = "  take 7 in a row, then something else" ] ||
    fault "cues --mine: $(mine tired)"
[ "$(mine tired --json | grep -o '"findings".*')" = "$(grep -o '"findings".*' <<<"$json")" ] ||
    fault "cues --mine and the review differ: $(mine tired --json)"
[ "$(mine none)" = "nothing that chance does not explain, in 2 units" ] ||
    fault "cues --mine of nothing: $(mine none)"

# Names come from a file and may be anything.
log small 5 3
sed 's/Sash red/<b>\\\\u001b[31mSash/g' "$work/small.jsonl" >"$work/odd.jsonl"
"$program" log import "$work/odd.jsonl" --log "$work/odd.db" >/dev/null
review odd --html "$work/odd.html" >/dev/null
grep -q '<b>' "$work/odd.html" && fault "a name is markup"
review odd | grep -q "$(printf '\033')" && fault "a name reaches the terminal as it is"

[ "$faults" -eq 0 ] || exit 1
