#!/bin/bash
# SPDX-License-Identifier: MIT
# shellcheck disable=SC2016 # what the screen shows holds `
# The demo at a terminal says that it paints by itself, SPACE takes the brush from it, a guide leads
# through its first minute, and it can be closed and gone on with.
set -u
. tests/terminal/lib.sh
kept=$(dirname "$log")/demo.db
events() { "$coatbell" log export --log "$kept" - | grep -c "\"event\":\"$1\""; }
holds() { [ "$(events "$1")" -ge "$2" ]; }

for size in 80x24 50x15; do
    start "$size" "$coatbell" demo --speed 120
    wait_for 'demo: one second is (2 min|120 s)'
    wait_for 'dry|min'
    keys Space
    wait_for 'the brush is yours'
    wait_gone 'demo: one second'
    keys q
    wait_for 'ended with 0'
done

# A newcomer's first minute: the keys that are named, in their order.
start 80x24 "$coatbell demo --speed 60"
wait_for 'demo: one second is a minute'
until_true holds coat_on 10 || die "it does not paint by itself"
screen_has 'it paints by itself' || die "it says that somebody else did"
keys Space
wait_for 'the brush is yours'
keys Space
wait_for 'what dries counts down, and rings: d says dry, w still wet \(F9 ends this\)'
keys Space
wait_for 'd = .* is dry; w still wet'
keys Space
until_true holds coat_on 12 || die "with two presses of ours it marked $(events coat_on) coats"
wait_for 'is dry; w still wet +dry for [0-9]+ min'
keys d
wait_for 'is the road: what is left, and when it is finished'
keys F3
wait_for 'Hands-on to go'
wait_for 'F1 is the bench again'
keys F1
wait_for 'a line after a dot is a cue'
keys m
wait_for 's: a stroke on a scrap'
keys s
wait_for 'q closes; `coatbell demo --resume` goes on with it'
keys F9
wait_for 'the guide is over; \? shows all keys'
coats=$(events coat_on)
found=$(events checked)
[ "$found" -ge 1 ] || die "the ring was not answered"

# A unit of one's own may be begun in it.
keys o
wait_for 'coatbell  demo'
keys Escape
keys q
wait_for '`coatbell demo --resume` goes on with it, `coatbell demo` begins anew'
wait_for 'ended with 0'

# It goes on where it was: with those coats, by the painter's own hand, later and not earlier.
closed=$(events session_closed)
[ "$closed" -ge 1 ] || die "the session was not closed"
start 80x24 "$coatbell demo --resume --speed 60"
wait_for 'SPACE when'
screen_lacks 'demo: one second|ends this' || die "it begins from the start"
[ "$(events coat_on)" = "$coats" ] || die "$(events coat_on) coats, $coats before"
keys Space
until_true holds coat_on $((coats + 1)) || die "no coat after it was gone on with"
keys q
wait_for 'ended with 0'
"$coatbell" log check --log "$kept" >"$TMPDIR/check" || die "the kept log: $(cat "$TMPDIR/check")"
"$coatbell" log export --log "$kept" - | grep -o '"at":"[^"]*"' >"$TMPDIR/times"
sort -c "$TMPDIR/times" || die "the demo's time went back"
[ -e "$log" ] && die "the demo wrote into the painter's own log"

# Begun anew it is new.
start 80x24 "$coatbell demo"
wait_for 'demo: one second is a minute'
keys q
wait_for 'ended with 0'
[ "$(events coat_on)" -lt "$coats" ] || die "the last demo is still in it"

# Without a terminal, or a demo, there is nothing to go on with.
"$coatbell" demo --resume </dev/null >"$TMPDIR/out" 2>&1 && die "it goes on without a terminal"
grep -q 'resume goes on with a demo at a terminal' "$TMPDIR/out" || die "$(cat "$TMPDIR/out")"
rm -f "$kept" "$kept"-*
start 80x24 "$coatbell demo --resume"
wait_for 'no demo to go on with; `coatbell demo` begins one'
wait_for 'ended with 1'

# Two that are begun at once both go; one of them is kept, and the other leaves it alone.
start 80x24 "$coatbell demo"
tm new-window -d "$coatbell demo; exec sleep 600"
for window in 0 1; do
    tm select-window -t :$window
    wait_for 'demo: one second is a minute'
done
tm new-window "$coatbell demo --resume; exec sleep 600"
wait_for 'the demo to go on with is open elsewhere; close it there'
for window in 0 1; do
    tm select-window -t :$window
    keys Space
    wait_for 'the brush is yours'
    keys Space
    keys Space
    wait_for 'on 1'
    keys q
    wait_for 'demo` begins anew'
    screen | tr -d '\n' >"$TMPDIR/end.$window"
done
grep -q 'demo --resume` goes on with it' "$TMPDIR"/end.[01] || die "neither is kept"
[ "$(grep -l 'This demo is not kept' "$TMPDIR"/end.[01] | wc -l)" = 1 ] || die "both are kept, or none"
grep -q 'move it' "$TMPDIR"/end.[01] && die "told to move the log of a demo that is open"
[ "$(events unit_begun)" = 3 ] || die "units of both in the kept log: $(events unit_begun)"
"$coatbell" log check --log "$kept" >"$TMPDIR/check" || die "the kept log of two: $(cat "$TMPDIR/check")"

# What no demo began is nobody's to remove, nor to go on with as one.
rm -f "$kept" "$kept"-*
"$coatbell" begin recipes/night-watch.yaml --name Mine --log "$kept" </dev/null >/dev/null || die "no unit"
start 80x24 "$coatbell demo"
wait_for 'demo: one second is a minute'
keys q
wait_for 'This demo is not kept'
"$coatbell" units --log "$kept" | grep -q Mine || die "the demo removed a unit of one's own"
[ "$(events unit_begun)" = 1 ] || die "the demo wrote into a log of one's own"
start 80x24 "$coatbell demo --resume"
wait_for 'no demo to go on with'

# Nor is one that is damaged; it says how the next one is kept, and then that one is.
printf 'no log at all' >"$kept"
rm -f "$kept"-*
start 80x24 "$coatbell demo"
wait_for 'demo: one second is a minute'
keys q
wait_for 'This demo is not kept'
wait_for 'ended with 0'
screen | tr -d '\n ' >"$TMPDIR/end"
grep -qF "Whatliesat$(printf %s "$kept" | tr -d ' ')isdamagedornodemo:moveitelsewhere,andthenextdemoiskeptthere." "$TMPDIR/end" ||
    die "it does not say how the next one is kept: $(cat "$TMPDIR/end")"
[ "$(cat "$kept")" = 'no log at all' ] || die "what is damaged was written to"
mv "$kept" "$TMPDIR/elsewhere"
start 80x24 "$coatbell demo"
wait_for 'demo: one second is a minute'
keys q
wait_for '`coatbell demo --resume` goes on with it'
screen_lacks 'damaged or no demo' || die "what lies elsewhere is in the way"

# A unit that is begun in it is on the bench, is kept with it, and leaves the other under way.
rm -f "$kept" "$kept"-*
start 80x24 "$coatbell demo"
wait_for 'demo: one second is a minute'
keys Space
wait_for 'the brush is yours'
keys o
wait_for '▸ Salt-marsh night watch +10 figures, begun today'
keys Down Down Down Enter
wait_for 'Begin Marsh troll'
keys Enter Enter
wait_for 'Bench +Marsh troll +demo '
keys Space # the caution
wait_for 'SPACE when Clean and pin is done on figure 1'
keys Space
wait_for 'o opens it'
keys o
wait_for '▸ Salt-marsh night watch +10 figures, begun today, 0 of 185 coats on'
wait_for 'Marsh troll +1 figure, begun today, 1 of 26 coats on'
keys Escape
wait_for 'Bench +Marsh troll'
keys q
wait_for '`coatbell demo --resume` goes on with it'
"$coatbell" units --log "$kept" --json | grep -q '"name":"Marsh troll"' || die "the unit is not kept"
start 80x24 "$coatbell demo --resume"
wait_for 'Bench +Marsh troll +demo '
keys o
wait_for 'Marsh troll +1 figure, begun today, 1 of 26 coats on'
