#!/bin/bash
# SPDX-License-Identifier: MIT
# With no bus there is none after a ping either: of all that the bench and its bell do, the kernel
# starts two programs, the bench and its bell; and the ping is on the screen and in the log.
set -u
. tests/terminal/lib.sh
strace -o "$TMPDIR/probe" true 2>/dev/null || skip "no strace here"

# What a library would start a bus with says that it was called.
mkdir "$TMPDIR/bin"
for program in dbus-launch dbus-daemon dbus-broker-launch systemctl; do
    printf '#!/bin/sh\n: >%s/%s.called\n' "$TMPDIR" "$program" >"$TMPDIR/bin/$program"
    chmod +x "$TMPDIR/bin/$program"
done
export PATH=$TMPDIR/bin:$PATH DISPLAY=:99
unset DBUS_SESSION_BUS_ADDRESS

set_config 'ping: every' 'confidence: 50 %'
quick_recipe
start 80x24 "strace -f -qq -e trace=execve,socket -o $TMPDIR/trace $coatbell begin $TMPDIR/quick.yaml \
    --temp 23 --rh 50"
do_not_know
wait_for 'SPACE when'
keys Space
wait_for 'no pop-ups on this machine'
wait_for 'Tarred rope: figure 1 '
# shellcheck disable=SC2317 # called by until_true
pinged() { events pinged | grep -q '"figure":1'; }
until_true pinged || die "the ping is not in the log"
keys q
wait_for 'ended with 0'
programs=$(sed -n 's/.*execve("\([^"]*\)".* = 0$/\1/p' "$TMPDIR/trace" | xargs -n1 basename | sort -u)
[ "$programs" = "coatbell
coatbell-bell" ] || die "started: $programs"
grep -E 'AF_INET|AF_NETLINK|AF_PACKET' "$TMPDIR/trace" && die "a socket that leaves the machine"
for called in "$TMPDIR"/*.called; do
    [ -e "$called" ] && die "called: $called"
done
exit 0
