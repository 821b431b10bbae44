#!/bin/bash
# SPDX-License-Identifier: MIT
# With no unit open the review view is that of the last one finished, from its first row to its last.
set -u
. tests/terminal/lib.sh
mkdir -p "$(dirname "$log")"
"$coatbell" demo --history "$log" || die "no history"
for size in 50x15 80x24; do
    start "$size" "$coatbell"
    wait_for 'on the bench tonight'
    keys Escape F5
    wait_for 'ferry stairs'
    wait_for 'Where the hours went'
    keys Down Down
    wait_for '>Oilskins'
    keys End
    wait_for 'middle dry time'
    keys Home
    wait_for 'Where the hours went'
    keys q
    wait_for 'ended with 0'
done

# Of a unit begun and finished in the last session the log gives the bench no coats any more: its review
# is the one that is kept, and asks nothing that nobody has to answer.
rm -f "$log"*
quick_recipe
cat >"$TMPDIR/one.play" <<END
begin $TMPDIR/quick.yaml -n 2
at +20m
key SPACE
at +2m
key SPACE
at +9m
key SPACE
at +3m
key SPACE
key f
at +1m
key q
export $TMPDIR/one.jsonl
END
"$coatbell" play "$TMPDIR/one.play" || die "no evening"
"$coatbell" log import "$TMPDIR/one.jsonl" >"$TMPDIR/said" || die "no import"
hands_on=$("$coatbell" review | grep -m1 '^ hands-on' | cut -c1-25)
start 80x24 "$coatbell"
wait_for 'on the bench tonight'
keys Escape F5
wait_for 'Quick watch'
wait_for "$hands_on"
screen_lacks ENTER || die "asks what cannot be answered"
keys q
wait_for 'ended with 0'

# An evening that goes on is not cut off, in whatever form; once its bench is killed, it is.
rm -f "$log"*
start 80x24 "$coatbell" begin "$TMPDIR/quick.yaml" --temp 23 --rh 50
do_not_know
wait_for 'SPACE when'
keys Space
# shellcheck disable=SC2317 # called by until_true
logged() {
    [ "$(events "$1" | wc -l)" -eq "$2" ]
}
until_true logged coat_on 1 || die "no coat"
forms() {
    "$coatbell" review >"$TMPDIR/text" || die "no text"
    "$coatbell" review --json >"$TMPDIR/json" || die "no JSON"
    "$coatbell" review --html "$TMPDIR/html" || die "no page"
}
forms
grep -q 'hands-on  so far$' "$TMPDIR/text" || die "text: goes on: $(cat "$TMPDIR/text")"
grep -q '"cut_off":false,"open":true' "$TMPDIR/json" || die "JSON: goes on: $(cat "$TMPDIR/json")"
grep -q ' so far</h3>' "$TMPDIR/html" || die "page: goes on"
cat "$TMPDIR/text" "$TMPDIR/html" | grep -q 'cut off' && die "cut off, though it goes on"
bench=$(bench_pid)
kill -9 "$bench"
until_true is_gone "$bench" || die "the bench survives SIGKILL"
forms
grep -q 'hands-on  (cut off)$' "$TMPDIR/text" || die "text: cut off"
grep -q '"cut_off":true,"open":false' "$TMPDIR/json" || die "JSON: cut off"
grep -q ' (cut off: closed at its last event)</h3>' "$TMPDIR/html" || die "page: cut off"

# Looking back makes no file beside the log.
rm -f "$log.lock"
forms
[ ! -e "$log.lock" ] || die "a review leaves a lock behind"

# And stays it while a later one goes on.
exported | sed 's/"20[0-9][0-9]-/"2020-/g; s/,"machine":"[^"]*","seq":[0-9]*//
    s/,"boot":"[^"]*","boot_ms":[0-9]*//' >"$TMPDIR/old.jsonl"
rm -f "$log"*
"$coatbell" log import "$TMPDIR/old.jsonl" >"$TMPDIR/said" || die "no import of the old evening"
start 80x24 "$coatbell"
until_true logged session_opened 2 || die "no second evening"
forms
grep -q '^ 2020-.*hands-on  (cut off)$' "$TMPDIR/text" || die "text: the old evening goes on"
grep -q '"cut_off":true,"open":false' "$TMPDIR/json" || die "JSON: the old evening goes on"
