#!/bin/bash
# SPDX-License-Identifier: MIT
# The kernel's own clocks: in a time namespace whose boot-time clock is half an hour ahead a film is
# half an hour older, though the wall clock did not move; and back outside, where that clock has
# gone back, the film is asked about and teaches nothing.
set -u
. tests/terminal/lib.sh
ahead="unshare --time --boottime 1800"
$ahead true 2>/dev/null || ahead="unshare --map-root-user --time --boottime 1800"
$ahead true 2>/dev/null || skip "no time namespaces here"

# shellcheck disable=SC2317 # called by until_true
has_one() {
    [ "$(events "$1" | wc -l)" -eq 1 ]
}

cat >"$TMPDIR/slow.yaml" <<'END'
coatbell: 1
name: Slow watch
figures: 2
paints:
  rope: {name: Tarred rope, kind: acrylic, dry: 10}
stages:
  - {name: Basecoat, technique: basecoat, paint: rope, coats: 2}
END
start 80x24 "$coatbell begin $TMPDIR/slow.yaml --temp 23 --rh 50"
do_not_know
wait_for 'SPACE when'
keys Space
wait_for 'next dry in 1[0-9] min'
keys q
wait_for 'ended with 0'

start 80x24 "$ahead $coatbell"
wait_for 'SPACE when'
screen_has 'dry for 1[0-9] min' || die "no half hour went by"
screen_lacks 'a clock was set' || die "a boot that went on is doubted"
until_true has_one pinged || die "no ping of what dried meanwhile"
keys q
wait_for 'ended with 0'

start 80x24 "$coatbell"
wait_for 'a clock was set: touch figure 1'
keys d
until_true has_one checked || die "no answer"
until_true screen_lacks 'a clock was set' || die "it is asked about still"
keys q
wait_for 'ended with 0'
"$coatbell" pots --json | grep -q '"films":0' || die "a film of unknown age teaches"
