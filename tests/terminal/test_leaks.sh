#!/bin/bash
# SPDX-License-Identifier: MIT
# The bench in a terminal under the sanitizers, from opening to closing, leaves nothing behind.
set -u
. tests/terminal/lib.sh
sanitized=$CB_ROOT/build/asan/coatbell
[ -x "$sanitized" ] || skip "no build with sanitizers"
patience=60
quick_recipe
# A program that runs when it ends, one after the other, and a title that is set and given back.
printf '#!/bin/sh\necho 23 50\n' >"$TMPDIR/hygrometer"
printf '#!/bin/sh\n: >%s/rung\nexec sleep 600\n' "$TMPDIR" >"$TMPDIR/lamp"
chmod +x "$TMPDIR/hygrometer" "$TMPDIR/lamp"
set_config 'ping: every' 'confidence: 50 %' "sensor: [$TMPDIR/hygrometer]" "on_ring: [$TMPDIR/lamp]"
start 80x24 "env TERM=xterm-256color $sanitized begin $TMPDIR/quick.yaml --temp 23 --rh 50 2>$TMPDIR/err"
do_not_know
wait_for 'SPACE when'
keys Space
wait_for 'BKSP takes it back'
until_true test -e "$TMPDIR/rung" || die "no ring"
for key in F2 F4 F5 '?' F1 u r g g; do keys "$key"; done
tm resize-window -x 50 -y 15
keys q
wait_for 'ended with'
screen_has 'ended with 0' || die "$(head -40 "$TMPDIR/err")"
start 50x15 "$sanitized 2>$TMPDIR/err"
wait_for 'SPACE when|NEXT DRY'
kill -TERM "$(bench_pid)"
wait_for 'ended with'
screen_has 'ended with 0' || die "$(head -40 "$TMPDIR/err")"
