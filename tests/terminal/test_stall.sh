#!/bin/bash
# SPDX-License-Identifier: MIT
# The bench never waits for the bell: with the notification daemon, the bus or the bell itself
# stopped it counts down, takes keys, says so, and asks the kernel for no wait but in poll. Judged
# by what it does and asks for, not by a clock: how evenly it counts is measured by make bench.
set -u
. tests/terminal/lib.sh
command -v dbus-daemon >/dev/null || skip "no dbus-daemon"
patience=60 # seconds until the first ping and two more, on a machine with other work
trace=
if strace -o "$TMPDIR/probe" true 2>/dev/null; then
    trace="strace -o $TMPDIR/trace"
fi

# The bench in the terminal, whoever stands between.
traced_pid() {
    local shell
    shell=$(tm display-message -p '#{pane_pid}')
    if [ -n "$trace" ]; then
        shell=$(pgrep -P "$shell" -x strace)
    fi
    pgrep -P "$shell" -x coatbell
}

countdown() {
    screen | grep -o 'next dry in.*:'
}

# counts N: the countdown changes that often.
counts() {
    local picture
    for ((i = 0; i < $1; i++)); do
        picture=$(countdown)
        # shellcheck disable=SC2317 # called by until_true
        changed() { [ "$(countdown)" != "$picture" ]; }
        until_true changed || return 1
    done
}

# shellcheck disable=SC2317 # called by until_true
noted() {
    events note | grep -q "$1"
}

set_config 'ping: every' 'confidence: 50 %'
quick_recipe
start_bus
start_mock
start 80x24 "$trace $coatbell begin $TMPDIR/quick.yaml -n 20 --temp 23 --rh 50"
do_not_know
wait_for 'SPACE when'
keys Space
wait_for 'pop-ups work'
bench=$(traced_pid)

# while_stopped WHAT: whatever it is has just been stopped.
while_stopped() {
    keys Space
    wait_for 'next dry in'
    wait_for 'pop-ups do not answer: it beeps' # a ping came due, and 2 s went by
    keys Space
    counts 3 || die "$1: the countdown stands"
    keys n
    keys "typed: $1" Enter
    until_true noted "typed: $1" || die "$1: keys are not taken"
}

kill -STOP "$mock_pid"
while_stopped "daemon stopped"
kill -CONT "$mock_pid"
wait_for 'pop-ups work'
[ "$(grep -c ' replaces=0 ' "$TMPDIR/calls")" -eq 1 ] ||
    die "one pop-up is brought up to date, not opened again: $(cat "$TMPDIR/calls")"

kill -STOP "$bus_pid"
while_stopped "bus stopped"
kill -CONT "$bus_pid"
wait_for 'pop-ups work'
[ "$(grep -c ' replaces=0 ' "$TMPDIR/calls")" -eq 1 ] ||
    die "one pop-up is brought up to date, not opened again: $(cat "$TMPDIR/calls")"

# The one that replaces it would be well at once: the daemon is stopped too, so that it shows.
bell=$(bell_pid "$bench")
[ -n "$bell" ] || die "no bell runs"
kill -STOP "$bell" "$mock_pid"
while_stopped "bell stopped"
until_true is_gone "$bell" || die "a bell that is stopped is not replaced"
kill -CONT "$mock_pid"
wait_for 'pop-ups work'
keys q
wait_for 'ended with 0'

# What the bench asked of the kernel all the while.
if [ -n "$trace" ]; then
    grep -q '^socketpair(.*SOCK_STREAM' "$TMPDIR/trace" || die "strace saw no bell"
    grep '^socketpair(.*SOCK_STREAM' "$TMPDIR/trace" | grep -v SOCK_NONBLOCK &&
        die "a socket to the bell on which a message may wait"
    # leaving is another matter: it waits for the bell to close its pop-ups
    sed '/read(0, "q"/,$d' "$TMPDIR/trace" >"$TMPDIR/running"
    grep -E '^(clock_)?nanosleep\(|^p?select[0-9]*\(|^epoll_p?wait|^waitid\(|^pause\(' \
        "$TMPDIR/running" && die "a wait elsewhere than in poll"
    grep -E '^rt_sig(suspend|timedwait)\(|^futex\(.*FUTEX_WAIT|SETLKW|^flock\(' \
        "$TMPDIR/running" && die "a wait elsewhere than in poll"
    grep '^wait4(' "$TMPDIR/running" | grep -v WNOHANG && die "it waited for the bell to end"
    grep -E '^poll\(.*, -1\)|^ppoll\(.*\], [0-9]+, NULL' "$TMPDIR/running" &&
        die "a poll without an end"
fi

# shellcheck disable=SC2317 # called by until_true
is_stopped() {
    grep -q ') T ' "/proc/$1/stat"
}

# However the bench ends, a bell that is stopped ends with it.
for way in q TERM KILL; do
    start 80x24 "$coatbell"
    wait_for 'SPACE when|NEXT DRY'
    keys Space # a film under two minutes: the bell is started
    wait_for 'pop-ups work'
    bench=$(bench_pid)
    bell=$(bell_pid "$bench")
    [ -n "$bell" ] || die "$way: no bell runs"
    kill -STOP "$bell"
    # the kernel wakes a child that has stopped when it is orphaned, not one still about to stop
    until_true is_stopped "$bell" || die "$way: the bell does not stop"
    if [ "$way" = q ]; then keys q; else kill -"$way" "$bench"; fi
    wait_for 'ended with'
    patience=2
    until_true is_gone "$bell" || die "$way: a stopped bell is left 2 s after the bench is gone"
    patience=60
done
exit 0
