#!/bin/bash
# SPDX-License-Identifier: MIT
# `begin` at a terminal asks what the call did not say and the log does not know; R then reads the very
# file again.
set -u
. tests/terminal/lib.sh
quick_recipe
mkdir "$TMPDIR/elsewhere"
cp "$TMPDIR/quick.yaml" "$TMPDIR/elsewhere/mine.yaml"

start 50x15 "$coatbell" begin "$TMPDIR/elsewhere/mine.yaml" -n 3
wait_for 'Begun: *Quick watch'
wait_for 'leave a thin coat'
screen_has 'How many' && die "asks for what was given"
keys 12 Enter
wait_for 'SPACE when Tarred rope is on figure 1'
screen_has 'the room[?] c, then 19[.]5 62 [(]20C 50% assumed' || die "the room is not asked for"
keys c '99 nonsense' Enter
wait_for 'not understood: nonsense; write 19.5 62'
keys C-u
keys '68 55' Enter
wait_for '68 F[?] ENTER: yes'
keys C-u
keys '19,5 62 window' Enter
wait_for '19[.]5C 62%'
until_true screen_lacks 'the room[?]' || die "asks for what was told"
screen_has '19[.]5C 62%' || die "the climate typed is not shown"
[ "$(events climate_set | field temp_c)" = 19.5 ] || die "the climate is not in the log"
[ "$(events climate_set | field air)" = draught ] || die "a window is no draught"
[ "$(events answered | field value)" = 12 ] || die "the answer is not in the log"

# The file that was named, not one of its name in the usual places; and its own fault.
sed -i 's/^name: .*/&\nnonsense: 1/' "$TMPDIR/elsewhere/mine.yaml"
keys R
wait_for 'mine.yaml:3:1: .*unknown key'
sed -i '/^nonsense/d; s/Oilskin green/Tide green/' "$TMPDIR/elsewhere/mine.yaml"
keys R
wait_for 'green: Tide green instead of Oilskin green'
keys Enter
wait_gone 'What differs'
[ "$(events recipe_changed | grep -c 'Tide green')" = 1 ] || die "the recipe taken is not in the log"
keys q
wait_for 'ended with 0'

# A second unit of the same evening, primed before: nothing stands before its bench.
start 50x15 "$coatbell" begin "$TMPDIR/quick.yaml" --done Basecoat
wait_for 'SPACE when Oilskin green is on figure 1'
screen_has 'the room[?] c, then 19[.]5 62' || die "the room is not asked for at a begin"
keys q
wait_for 'ended with 0'

# ESC asks no more, and nothing is written.
rm -rf "$HOME/.local"
start 80x24 "$coatbell" begin "$TMPDIR/quick.yaml"
wait_for 'leave a thin coat'
keys Escape
wait_for 'SPACE when Tarred rope is on figure 1'
keys q
wait_for 'ended with 0'
[ -z "$(events answered)$(events climate_set)" ] || die "ESC wrote something"
