#!/bin/bash
# SPDX-License-Identifier: MIT
# Usage: tests/tools/valgrind_evening.sh play|terminal
# An evening under $CHECK. Played; or of the real bench in a terminal: opened, looked at in every view,
# resized, ended by a key; opened again, ended by a signal. Called by tests/valgrind.sh.
set -u
PATIENCE=120 # everything takes thirty times as long
. tests/terminal/lib.sh
if [ "$1" = play ]; then
    sed "/^#|/d; s|\.\./\.\.|$CB_ROOT|; s|^dump .*|dump -|" tests/screen/evening.play >"$TMPDIR/evening.play"
    $CHECK "$coatbell" play "$TMPDIR/evening.play"
    exit
fi
bench_of() { # its process goes by the name of the checker
    pgrep -n -f "$coatbell( |\$)"
}
quick_recipe
start 80x24 "$CHECK $coatbell begin $TMPDIR/quick.yaml --temp 23 --rh 50 2>$TMPDIR/err"
do_not_know
wait_for 'SPACE when'
keys Space
wait_for 'BKSP takes it back'
for key in F2 F3 F4 F5 '?' F1 u r g g 4 Space w n; do keys "$key"; done
keys rope Enter
tm resize-window -x 50 -y 15
tm resize-window -x 1 -y 1
tm resize-window -x 120 -y 40
keys q
wait_for 'ended with'
screen_has 'ended with 0' || die "$(cat "$TMPDIR/err")"
[ -n "$(events coat_on)" ] || die "no coat was put on"
start 50x15 "$CHECK $coatbell 2>$TMPDIR/err"
wait_for 'SPACE when|NEXT DRY'
kill -TERM "$(bench_of)"
wait_for 'ended with'
screen_has 'ended with 0' || die "$(cat "$TMPDIR/err")"
