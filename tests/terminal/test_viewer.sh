#!/bin/bash
# SPDX-License-Identifier: MIT
# A second bench on the same log looks on, live, and takes over when the first is gone. What
# `begin` writes beside a running bench arrives there.
set -u
. tests/terminal/lib.sh
quick_recipe
sed 's/^name: .*/name: Second watch/' "$TMPDIR/quick.yaml" >"$TMPDIR/second.yaml"

start 80x24 "$coatbell" begin "$TMPDIR/quick.yaml" --temp 23 --rh 50
do_not_know
wait_for 'SPACE when'
first_socket=$socket
first_pid=$(bench_pid)
socket=$TMPDIR/tmux.viewer
tm new-session -d -x 80 -y 24 "$coatbell; echo \"ended with \$?\"; exec sleep 600"
wait_for 'Quick watch'
wait_for '[Vv]iew|[Ww]atch(es|ing)|looks on|another bench'
# Neither looks by the clock: in so many seconds with nobody writing nothing is asked of the log. What
# strace counts is what a look takes, a read of it or a question for its lock.
idle=6
looks() {
    local who watching=()
    for who in "$first_pid" "$viewer_pid"; do
        timeout -s INT "$1" strace -f -e trace=fcntl,pread64,fstat,newfstatat,stat -o "$TMPDIR/looks.$who" \
            -p "$who" 2>/dev/null &
        watching+=($!)
    done
    wait "${watching[@]}"
    cat "$TMPDIR"/looks.* | grep -vE '^[0-9]+ (---|\+\+\+)|strace: |detached' >"$TMPDIR/looks"
}
is_quiet() {
    looks 1
    [ ! -s "$TMPDIR/looks" ]
}
viewer_pid=$(bench_pid)
if command -v strace >/dev/null && strace -o "$TMPDIR/probe" true 2>/dev/null; then
    until_true is_quiet || die "the looks after an opening do not end: $(head -3 "$TMPDIR/looks")"
    looks "$idle"
    [ ! -s "$TMPDIR/looks" ] || die "looked with nobody writing: $(head -3 "$TMPDIR/looks")"
fi

keys Space
on() { [ "$(events coat_on | wc -l)" -eq "$1" ]; }
tmux -S "$first_socket" send-keys Space
until_true on 1 || die "the writer put no coat on"
wait_for 'dry|min|ready'
on 1 || die "a viewer wrote into the log"
"$coatbell" begin "$TMPDIR/second.yaml" </dev/null >/dev/null || die "begin beside a bench"
wait_for 'Second watch'
first_has() { tmux -S "$first_socket" capture-pane -p | grep -q 'Second watch'; }
until_true first_has || die "the bench does not show what was begun beside it"

# The writer's end is told to whoever looks on, however it ends.
killed=$(date +%s%3N)
kill -9 "$first_pid"
wait_for 'ENTER takes over|gone: ENTER'
took=$(($(date +%s%3N) - killed))
echo "offered $took ms after the writer was killed"
[ "$took" -lt 1500 ] || die "offered only $took ms after the writer was killed"
keys Enter
wait_for 'SPACE when'
keys Space
until_true on 2 || die "it does not write after taking over"
keys q
wait_for 'ended with 0'
tmux -S "$first_socket" kill-server

# Where the system has no inotify left a viewer looks by the clock, a second behind at most.
start 80x24 "$coatbell begin $TMPDIR/quick.yaml --name Third"
wait_for 'SPACE when Tarred rope is on figure 1'
first_socket=$socket
first_pid=$(bench_pid)
socket=$TMPDIR/tmux.unwatched
tm new-session -d -x 80 -y 24 "LD_PRELOAD=$CB_BUILD/tests/fault/shim.so CB_FAULT_NO_WATCH=1 $coatbell"
wait_for 'looking on'
tmux -S "$first_socket" send-keys Space
wait_for '\[2\]'
kill -9 "$first_pid"
wait_for 'gone: ENTER'
tmux -S "$first_socket" kill-server
