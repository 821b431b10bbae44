#!/bin/bash
# SPDX-License-Identifier: MIT
# On a terminal that says it is light the bench takes the colours for that; NO_COLOR takes all of them away;
# --quiet-clock shows no seconds.
set -u
. "$CB_ROOT/tests/terminal/lib.sh"

colours() {
    tm capture-pane -e -p
}
has_colour() {
    colours | grep -q -- "$1"
}

quick_recipe
start 80x24 "$coatbell begin $TMPDIR/quick.yaml --temp 23 --rh 50"
do_not_know
wait_for 'SPACE when Tarred rope is on figure 1'
until_true has_colour '38;5;248m' || die "no grey for a dark ground: $(colours)"
keys Space
wait_for 'next dry in *[0-9]+ s'
keys q
wait_for 'ended with 0'

start 80x24 "read -r; $coatbell"
tm set-option -g window-style bg=#fdf6e3
keys Enter
wait_for 'SPACE when Tarred rope is on figure'
until_true has_colour '38;5;240m' || die "no grey for a light ground: $(colours)"
! has_colour '38;5;248m' || die "the grey for a dark ground is left: $(colours)"
keys q
wait_for 'ended with 0'

start 80x24 "NO_COLOR=1 $coatbell"
wait_for 'SPACE when Tarred rope is on figure'
! has_colour '[34]8;5;' || die "colours in spite of NO_COLOR: $(colours)"
keys q
wait_for 'ended with 0'

start 80x24 "$coatbell --quiet-clock"
wait_for 'SPACE when Tarred rope is on figure'
keys Space
wait_for 'next dry in *1 min'
screen_lacks '[0-9] s[^a-z]' || die "seconds in spite of a quiet clock"
keys q
wait_for 'ended with 0'
