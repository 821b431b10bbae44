#!/bin/bash
# SPDX-License-Identifier: MIT
# What bench and bell hold for themselves on the demo's log, once a pop-up stands: memory that is
# neither code nor files, which no other program can share. make bench tells the rest. Runs alone.
set -u
. tests/terminal/lib.sh
command -v dbus-daemon >/dev/null || skip "no dbus-daemon"

# own PID: KiB of its anonymous memory, proc(5).
own() {
    sed -n 's/^Anonymous: *\([0-9]*\) kB/\1/p' "/proc/$1/smaps_rollup"
}

set_config 'ping: every' 'confidence: 50 %'
quick_recipe
"$coatbell" demo --history "$log" >/dev/null || die "no demo log"
start_bus
start_mock
start 80x24 "$coatbell" begin "$TMPDIR/quick.yaml" --temp 23 --rh 50
until_true screen_has 'SPACE when|Minutes you leave a thin coat' || die "no bench"
screen_has 'Minutes you leave' && keys Enter
wait_for 'SPACE when'
keys Space
until_true grep -q notify "$TMPDIR/calls" || die "no ping"
bench=$(bench_pid)
bell=$(bell_pid "$bench")
[ -r "/proc/$bench/smaps_rollup" ] || skip "no smaps_rollup"
of_bench=$(own "$bench")
of_bell=$(own "$bell")
# 3.4 and 0.6 MB as measured; 3.9 where the texts of kinds.yaml and cues.yaml stay
[ "$of_bench" -le 3750 ] || die "the bench holds $of_bench KiB for itself"
[ "$of_bell" -le 1024 ] || die "the bell holds $of_bell KiB for itself"
keys q
wait_for 'ended with 0'
exit 0
