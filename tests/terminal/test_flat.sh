#!/bin/bash
# SPDX-License-Identifier: MIT
# A bench left alone holds what it held, to 1 %: the demo, an hour a second, once every coat is on.
# Usage: test_flat.sh [HOURS].
set -u
. tests/terminal/lib.sh
hours=${1:-6}
patience=60

held() { # pages, proc(5)
    cut -d' ' -f2 "/proc/$(bench_pid)/statm"
}

start 80x24 "$coatbell demo --speed 3600"
wait_for 'every coat is on'
until_true screen_has 'dry for [2-9] h' || die "nothing is dry"
before=$(held)
sleep "$hours" # what is measured
after=$(held)
echo "$before pages, $hours hours later $after"
[ $((after * 100)) -le $((before * 101)) ] || die "it grows: $before pages, then $after"
keys q
wait_for 'ended with 0'
