# SPDX-License-Identifier: MIT
# shellcheck shell=bash
# Programs for on_ring, and benches that ring in seconds. Sourced by tests/terminal/test_on_ring*.sh.
. tests/terminal/lib.sh

quick_recipe
export DISPLAY=
unset DBUS_SESSION_BUS_ADDRESS

# program NAME: a script of that name, its text from standard input.
program() {
    mkdir -p "$TMPDIR/bin"
    {
        printf '#!/bin/bash\nhere=%q\n' "$TMPDIR"
        cat
    } >"$TMPDIR/bin/$1"
    chmod +x "$TMPDIR/bin/$1"
}

# bench ON_RING [PING]: a new log, and a coat on figure 1 that rings within three seconds: the room is warm
# and dry.
bench() {
    rm -rf "$HOME/.local/share/coatbell"
    set_config "ping: ${2:-every}" 'confidence: 50 %' "on_ring: $1"
    start 80x24 "$coatbell begin $TMPDIR/quick.yaml --temp 40 --rh 20"
    do_not_know
    wait_for 'SPACE when'
    keys Space
    wait_for 'on 1 at'
}

leave() {
    keys q
    wait_for 'ended with 0'
}

# shellcheck disable=SC2317 # called by until_true
no_zombie() {
    ! pgrep -P "$(bench_pid)" -r Z >/dev/null
}
