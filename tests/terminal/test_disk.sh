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
wait_for 'SPACE ='
lines=$(wc -l <"$TMPDIR/trace")
keys Space
wait_for 'BKSP'
written() { tail -n +"$lines" "$TMPDIR/trace" | grep -q 'read(0, " "'; }
until_true written || die "strace saw no key"
keys q
wait_for 'ended with 0'
# awk: after the key, was a sync of the log seen before the first write to the terminal?
tail -n +"$lines" "$TMPDIR/trace" | awk '
    /read\(0, " "/ { key = 1; synced = 0; next }
    key && /f(data)?sync\(/ { synced = 1 }
    key && /write(v)?\(1,/ { print synced ? "synced" : "early"; exit }' >"$TMPDIR/order"
[ "$(cat "$TMPDIR/order")" = synced ] ||
    die "the screen was written before the log was on the disk: $(cat "$TMPDIR/order")"
