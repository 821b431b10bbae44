#!/bin/bash
# SPDX-License-Identifier: MIT
# The demo at a terminal says that it paints by itself, and SPACE takes the brush from it.
set -u
. tests/terminal/lib.sh
for size in 80x24 50x15; do
    start "$size" "$coatbell" demo --speed 120
    wait_for 'demo: one second is (2 min|120 s)'
    wait_for 'dry|min'
    keys Space
    wait_for 'the brush is yours'
    wait_gone 'demo: one second'
    keys q
    wait_for 'ended with 0'
done
