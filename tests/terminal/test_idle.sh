#!/bin/bash
# SPDX-License-Identifier: MIT
# Idle means idle: about a wake-up a second while seconds are shown, none to speak of when nothing
# is wet. Counted by the kernel, as the times the process gave up the processor. Runs alone.
set -u
. tests/terminal/lib.sh

wakes() {
    sed -n 's/^voluntary_ctxt_switches:[[:space:]]*//p' "/proc/$1/status"
}

# count SECONDS: wake-ups in that time. The one sleep here is what is measured.
count() {
    local pid before
    pid=$(bench_pid)
    before=$(wakes "$pid")
    sleep "$1"
    echo $(($(wakes "$pid") - before))
}

cat >"$TMPDIR/slow.yaml" <<'END'
coatbell: 1
name: Slow watch
figures: 1
paints:
  rope: {name: Tarred rope, kind: acrylic}
stages:
  - name: Basecoat
    technique: basecoat
    paint: rope
    dry: 1 min
END
start 80x24 "$coatbell" begin "$TMPDIR/slow.yaml" --temp 23 --rh 50
do_not_know
wait_for 'SPACE when'
until_true screen_lacks 'begun|BKSP takes it back'
idle=$(count 4)
[ "$idle" -le 3 ] || die "$idle wake-ups in 4 s with nothing wet"
keys Space
wait_for ' s |min|sec'
until_true screen_lacks 'BKSP takes it back'
busy=$(count 4)
[ "$busy" -ge 3 ] || die "$busy wake-ups in 4 s of countdown: it does not count"
[ "$busy" -le 12 ] || die "$busy wake-ups in 4 s of countdown"
keys q
wait_for 'ended with 0'
ldd "$coatbell" | grep -qE 'libglib|libgio|libdbus' && die "coatbell itself links GLib"
exit 0
