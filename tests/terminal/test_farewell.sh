#!/bin/bash
# SPDX-License-Identifier: MIT
# An evening with a coat ends with one line of what the log says, below the screen that is gone; one
# without a coat ends without a word.
set -u
. tests/terminal/lib.sh
mkdir -p "$(dirname "$log")"
"${CB_BUILD:-build/release}/tests/tools/make_findings" 3 3 2 |
    sed 's/"machine":"[^"]*","seq":[0-9]*,//; s/,"machine":"[^"]*","seq":[0-9]*//' >"$TMPDIR/log.jsonl"
"$coatbell" log import "$TMPDIR/log.jsonl" >"$TMPDIR/said" || die "no log: $(cat "$TMPDIR/said")"
cat >"$TMPDIR/next.yaml" <<'YAML'
coatbell: 1
name: Ferry bell
figures: 2
paints:
  green: {name: Oilskin green, kind: acrylic}
stages:
  - {name: Oilskins, technique: basecoat, paint: green, minutes: 4}
YAML
"$coatbell" begin "$TMPDIR/next.yaml" >"$TMPDIR/said" || die "no unit"

start 80x24 "$coatbell"
wait_for 'SPACE when'
keys q
wait_for 'ended with 0'
screen_lacks 'your log says' || die "a word after an evening without a coat"

start 80x50 "$coatbell"
wait_for 'SPACE when'
keys Space
wait_for 'BKSP takes it back'
"$coatbell" review >"$TMPDIR/review"
grep -q 'What the log says of you' "$TMPDIR/review" || die "nothing in the review"
keys F5
wait_for 'What the log says of you, from 3 units' # once the history is read
keys q
wait_for 'your log says: of a row the first 8 figures take you'
wait_for 'then something else\.$'
wait_for 'ended with 0'
[ "$(screen | grep -c 'your log says')" = 1 ] || die "more than one"
