#!/bin/bash
# SPDX-License-Identifier: MIT
# The terminal's own cursor is on the row of the focus, for a braille line and a voice that follow it: in
# the bench, the rack, the road, the pots, the chooser and what is typed; only there it is seen.
set -u
. "$CB_ROOT/tests/terminal/lib.sh"

cursor_row() { # the text of the row that the cursor is on
    tm capture-pane -p | sed -n "$(($(tm display-message -p '#{cursor_y}') + 1))p"
}
is_on() {
    [[ "$(cursor_row)" == *$1* ]] && [ "$(tm display-message -p '#{cursor_flag}')" = "$2" ]
}
has_left() {
    [ "$(cursor_row)" != "$1" ]
}
# on TEXT SEEN: the cursor comes to a row with that text
on() {
    until_true is_on "$1" "$2" || die "the cursor is on: $(cursor_row)"
}

cat >"$TMPDIR/slow.yaml" <<'END'
coatbell: 1
name: Slow watch
figures: 4
paints:
  rope:  {name: Tarred rope, kind: acrylic}
  green: {name: Oilskin green, kind: acrylic}
stages:
  - {name: Basecoat, technique: basecoat, paint: rope, dry: 60}
  - {name: Layer, technique: layer, paint: green, dry: 60}
END
for size in 80x24 50x15; do
    rm -rf "${log%/*}"
    start "$size" "$coatbell begin $TMPDIR/slow.yaml --temp 23 --rh 50"
    wait_for 'Minutes you leave a thin coat'
    on '▸' 1
    keys 1 2
    on '▸ 12' 1
    keys BSpace BSpace Enter
    on 'SPACE when Tarred rope is on figure 1' 0
    keys Space
    on 'on figure 2' 0
    keys Space
    on 'on figure 3' 0
    keys g
    wait_for 'FIGURE'
    on 'on figure 3' 0
    keys g F2
    wait_for 'RINGS'
    on '> 1' 0
    keys Down
    on '> 2' 0
    keys Up
    on '> 1' 0
    keys F3
    wait_for 'Road'
    on '>' 0
    keys F4
    wait_for 'minutes at'
    on '>Tarred rope' 0
    keys Down
    on '>Oilskin green' 0
    keys F1 e
    wait_for 'Change'
    on '▸' 1
    first=$(cursor_row)
    keys Down
    until_true has_left "$first" || die "the cursor stays on $first"
    on '▸' 1
    keys Escape n
    wait_for 'Note'
    on 'Note' 1
    keys a b Escape o
    wait_for 'UNDER WAY'
    on '▸' 0
    first=$(cursor_row)
    keys Down
    until_true has_left "$first" || die "the chooser's cursor stays on $first"
    on '▸' 0
    keys Escape q
    wait_for 'ended with 0'
done
