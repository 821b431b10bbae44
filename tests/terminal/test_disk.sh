#!/bin/bash
# SPDX-License-Identifier: MIT
# Between reading a key and the next write to the terminal the log is on the disk; nothing wakes
# the program that need not; strace tells.
set -u
. tests/terminal/lib.sh
command -v strace >/dev/null || skip "no strace"
strace -o "$TMPDIR/probe" true 2>/dev/null || skip "strace may not trace here"

quick_recipe
start 80x24 "strace -f -ttt -e trace=read,write,writev,pwrite64,fsync,fdatasync,poll,ppoll,openat -o $TMPDIR/trace $coatbell begin $TMPDIR/quick.yaml --temp 23 --rh 50"
do_not_know
wait_for 'SPACE when'
lines=$(wc -l <"$TMPDIR/trace")
keys Space
wait_for 'BKSP'
written() { tail -n +"$lines" "$TMPDIR/trace" | grep -q 'read(0, " "'; }
until_true written || die "strace saw no key"
keys q
wait_for 'ended with 0'
# The terminal is opened a second time, to be written to without a wait.
terminal=$(sed -n 's|.*openat(.*"/proc/self/fd/1", O_WRONLY.* = \([0-9]*\)$|\1|p' "$TMPDIR/trace")
[ -n "$terminal" ] || die "strace saw no terminal opened"
# awk: after the key, was a sync of the log seen before the first write to the terminal?
tail -n +"$lines" "$TMPDIR/trace" | awk -v terminal="write(v)?\\\\((1|$terminal)," '
    /read\(0, " "/ { key = 1; synced = 0; next }
    key && /f(data)?sync\(/ { synced = 1 }
    key && $0 ~ terminal { print synced ? "synced" : "early"; exit }' >"$TMPDIR/order"
[ "$(cat "$TMPDIR/order")" = synced ] ||
    die "the screen was written before the log was on the disk: $(cat "$TMPDIR/order")"

# A disk that takes no more: NOT SAVED over the whole top row, and the evening goes on. What was
# pressed is there once, in its order, when the disk takes it again.
command -v prlimit >/dev/null || skip "no prlimit"
rm -f "$log"*
fresh 80x24 "trap '' XFSZ; $coatbell begin $TMPDIR/quick.yaml --temp 5 --rh 90; echo \"ended with \$?\"; exec sleep 600"
do_not_know
wait_for 'SPACE when Tarred rope is on figure 1'
prlimit --pid "$(bench_pid)" --fsize=1:unlimited
keys Space
wait_for '^ NOT SAVED  the disk (is full|would not)' # before the path of the log, which is long
wait_for 'SPACE when Tarred rope is on figure 2'
keys Space
wait_for 'SPACE when Tarred rope is on figure 3'
keys BSpace
wait_for 'SPACE when Tarred rope is on figure 2'
keys Space
wait_for 'SPACE when Tarred rope is on figure 3'
prlimit --pid "$(bench_pid)" --fsize=unlimited
wait_gone 'NOT SAVED'
wait_for 'SPACE when Tarred rope is on figure 3'
keys q
wait_for 'ended with 0'
[ "$(events coat_on | field figure | tr '\n' ' ')" = "1 2 2 " ] ||
    die "not what was pressed: $(events coat_on | field figure | tr '\n' ' ')"
start 80x24 "$coatbell"
wait_for 'SPACE when Tarred rope is on figure 3'
keys q
wait_for 'ended with 0'
