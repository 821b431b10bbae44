#!/bin/bash
# SPDX-License-Identifier: MIT
# With no unit open the review view is that of the last one finished, from its first row to its last.
set -u
. tests/terminal/lib.sh
mkdir -p "$(dirname "$log")"
"$coatbell" demo --history "$log" || die "no history"
for size in 50x15 80x24; do
    start "$size" "$coatbell"
    wait_for 'on the bench tonight'
    keys Escape F5
    wait_for 'ferry stairs'
    wait_for 'Where the hours went'
    keys Down Down
    wait_for '>Oilskins'
    keys End
    wait_for 'middle dry time'
    keys Home
    wait_for 'Where the hours went'
    keys q
    wait_for 'ended with 0'
done
