#!/bin/bash
# SPDX-License-Identifier: MIT
# Another painter's table, taken in beside an open bench, is learned there at once, named in the pots, and
# taken back by undo.
set -u
. tests/terminal/lib.sh
cat >"$TMPDIR/one.yaml" <<'END'
coatbell: 1
name: Watch
figures: 3
paints: {a: {name: Oilskin green, kind: acrylic}}
stages:
  - {name: Coats, technique: basecoat, paint: a, coats: 2, minutes: 4}
END
cat >"$TMPDIR/table.yaml" <<'END'
coatbell pots: 1
paints:
  - {paint: OILSKIN green, kind: acrylic, technique: basecoat, median_min: 61, low_min: 60, high_min: 62, coats: 14}
END
"$coatbell" begin "$TMPDIR/one.yaml" --temp 23 --rh 50 </dev/null >/dev/null || die "no unit"
start 80x24 "$coatbell"
wait_for 'SPACE when'
keys Escape F4
wait_for '^>Oilskin green, basecoat +([0-9]|1[0-9])(\.[0-9])? '
"$coatbell" pots --json >"$TMPDIR/before"
"$coatbell" pots import "$TMPDIR/table.yaml" >"$TMPDIR/out" || die "import: $(cat "$TMPDIR/out")"
wait_for '^>Oilskin green, basecoat +[45][0-9] '
wait_for "another painter's 14 coats"
keys F1
wait_for 'SPACE when'
keys BSpace
wait_for "taken back: another painter's times|BKSP again takes back"
screen_has 'BKSP again' && keys BSpace
wait_for "taken back: another painter's times"
"$coatbell" pots --json | cmp -s - "$TMPDIR/before" || die "taken back it still counts"
keys q
wait_for 'ended with 0'
