#!/bin/bash
# SPDX-License-Identifier: MIT
# A film is announced once and in time, a button on the pop-up reaches the log and the film, and
# whatever the daemon or the bus does, the countdown goes on and no bell is left behind. Runs alone.
set -u
. tests/terminal/lib.sh
command -v dbus-daemon >/dev/null || skip "no dbus-daemon"

set_config 'ping: every' 'confidence: 50 %'
quick_recipe
start_bus
start_mock
start 80x24 "$coatbell" begin "$TMPDIR/quick.yaml" --temp 23 --rh 50
do_not_know
wait_for 'SPACE when'

# Each film once, within 0.2 s of its due time on the real clock.
keys Space
until_true grep -q notify "$TMPDIR/calls" || die "no ping"
pinged() { [ "$(events pinged | wc -l)" -ge "$1" ]; }
until_true pinged 1 || die "no ping in the log"
keys Space
until_true pinged 2 || die "no second ping in the log"
n=0
while read -r due; do
    n=$((n + 1))
    due_ms=$(to_ms "$due")
    heard_ms=$(sed -n "s/ notify .*//p" "$TMPDIR/calls" | sed -n "${n}p")
    late=$((heard_ms - due_ms))
    if [ "$late" -lt -50 ] || [ "$late" -gt 200 ]; then
        die "ping $n came $late ms after it was due"
    fi
done < <(events pinged | field due_at)
[ "$n" -eq 2 ] || die "$n films announced, 2 put on"
[ "$(grep -c ' notify ' "$TMPDIR/calls")" -eq 2 ] || die "announced more than once: $(cat "$TMPDIR/calls")"
grep -q 'entry=coatbell actions=dry,Dry,wet,Still wet' "$TMPDIR/calls" || die "no buttons: $(cat "$TMPDIR/calls")"

# Still wet: in the log, the film timed anew, its ping again. Dry: in the log, nothing more to wait for.
id=$(sed -n 's/.* notify \([0-9]*\) .*/\1/p' "$TMPDIR/calls" | tail -1)
calls=$(grep -c ' notify ' "$TMPDIR/calls")
tell_mock press "$id" wet
checked() { [ "$(events checked | grep -c "\"found\":\"$1\"")" -ge "$2" ]; }
until_true checked wet 1 || die "Still wet is not in the log"
again() { [ "$(grep -c ' notify ' "$TMPDIR/calls")" -gt "$calls" ]; }
until_true again || die "not timed anew after Still wet"
id=$(sed -n 's/.* notify \([0-9]*\) .*/\1/p' "$TMPDIR/calls" | tail -1)
tell_mock press "$id" dry
until_true checked dry 1 || die "Dry is not in the log"

# A daemon that hangs: the countdown goes on second by second, and the status line says so.
keys Space
kill -STOP "$mock_pid"
patience=60 # it has learned that they take longer
wait_for 'pop-ups do not answer'
patience=20
keys c
wait_for '^ Room'
keys '23 80' Enter # slow enough to see it count
wait_for '23([.]0)?C 80%'
keys Space
wait_for ' s '
seen=
for _ in 1 2 3; do
    picture=$(screen | md5sum)
    changed() { [ "$(screen | md5sum)" != "$picture" ]; }
    begun=$(date +%s%3N)
    until_true changed || die "the countdown stands while the daemon hangs"
    seen=$(($(date +%s%3N) - begun))
    [ "$seen" -lt 1600 ] || die "the countdown took $seen ms for a second"
done
keys n
keys 'typed while it hangs' Enter
wait_note() { events note | grep -q 'typed while it hangs'; }
until_true wait_note || die "keys are not taken while the daemon hangs"
kill -CONT "$mock_pid"
wait_gone 'pop-ups do not answer'

# The bus goes: the program lives and says so.
kill "$bus_pid"
wait_for 'no pop-ups on this machine'
keys n
keys 'typed without a bus' Enter
wait_note2() { events note | grep -q 'typed without a bus'; }
until_true wait_note2 || die "keys are not taken without a bus"

# However the bench ends, its bell ends with it.
for way in q TERM KILL; do
    pid=$(bench_pid)
    bell=$(bell_pid "$pid")
    [ -n "$bell" ] || die "$way: no bell runs"
    if [ "$way" = q ]; then keys q; else kill -"$way" "$pid"; fi
    patience=2
    until_true is_gone "$bell" || die "$way: a bell is left 2 s after the bench is gone"
    patience=20
    wait_for 'ended with'
    start 80x24 "$coatbell"
    wait_for 'SPACE when|NEXT DRY'
    keys Space # a film under two minutes: the bell is started
    bell_runs() { [ -n "$(bell_pid "$(bench_pid)")" ]; }
    until_true bell_runs || die "no bell before a ping"
done
keys q
wait_for 'ended with 0'

# No bus is ever started on our account.
[ -z "$(pgrep -u "$(id -u)" -f "dbus-launch|dbus-daemon.*$TMPDIR" || true)" ] || die "somebody started a bus"
