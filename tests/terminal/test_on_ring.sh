#!/bin/bash
# SPDX-License-Identifier: MIT
# What config.yaml names at on_ring is run at each ring that sounds: as words, with title and text on
# standard input and nothing else of ours. Its faults: tests/terminal/test_on_ring_faults.sh.
set -u
. tests/terminal/ring.sh

says() {
    [ "$(cat "$TMPDIR/$1" 2>/dev/null)" = "$2" ]
}

# The words are words; title and text, then the end; no descriptor but the three.
program lamp <<'END'
date +%s%3N >"$here/at"
printf '%s|' "$@" >"$here/args"
set -- /proc/$$/fd/*
for fd; do # those that are still open: not of the look at the folder
    [ -e "$fd" ] && [ "${fd##*/}" -lt 200 ] && printf '%s ' "${fd##*/}"
done >"$here/fds.out"
mv "$here/fds.out" "$here/fds"
cat >"$here/heard"
{ : >/dev/tty; } 2>/dev/null && echo written >"$here/tty"
ls -l /proc/$$/fd/1 /proc/$$/fd/2 | grep -c /dev/null >"$here/nulls"
grep -c '^SigBlk:[[:space:]]*0*$' /proc/self/status >"$here/mask"
echo done >"$here/done"
END
PATH=$TMPDIR/bin:$PATH bench "[lamp, '\$HOME; touch x', 'a b']" # by its name alone
until_true test -s "$TMPDIR/done" || die "it was not run"
# shellcheck disable=SC2016 # as it is written
says args '$HOME; touch x|a b|' || die "arguments: $(cat "$TMPDIR/args")"
[ "$(wc -l <"$TMPDIR/heard")" -eq 2 ] || die "not two lines: $(cat "$TMPDIR/heard")"
[ "$(head -1 "$TMPDIR/heard")" = "Tarred rope: figure 1 is dry" ] || die "title: $(cat "$TMPDIR/heard")"
tail -1 "$TMPDIR/heard" | grep -q '^Next: ' || die "text: $(cat "$TMPDIR/heard")"
says fds '0 1 2 ' || die "descriptors of ours: $(cat "$TMPDIR/fds")"
says nulls 2 || die "its output goes somewhere"
[ ! -e "$TMPDIR/tty" ] || die "it can write to the terminal of the bench"
says mask 1 || die "signals are blocked in it"
late=$(($(cat "$TMPDIR/at") - $(to_ms "$(events pinged | head -1 | field at)")))
[ "$late" -lt 2000 ] || die "run $late ms after the ring" # no measure: that it waits for no other event
until_true no_zombie || die "a zombie is left"
screen_lacks 'on_ring' || die "said though nothing failed"
# Once a ring: a second coat, a second run.
rm "$TMPDIR/done"
keys Space
until_true test -s "$TMPDIR/done" || die "not run at the second ring"
leave
rm "$TMPDIR/done"

# Two units dry in one moment, as after a machine slept: each is told, one after the other, and each has
# its pop-up where the terminal shows them.
program tells <<'END'
head -1 >>"$here/told"
END
rm -rf "$HOME/.local/share/coatbell"
sed 's/Quick watch/Other watch/; s/Tarred rope/Bog oak/' "$TMPDIR/quick.yaml" >"$TMPDIR/other.yaml"
set_config 'ping: every' 'confidence: 50 %' "on_ring: [$TMPDIR/bin/tells]"
start 80x24 "$coatbell begin $TMPDIR/quick.yaml --temp 23 --rh 50"
do_not_know
wait_for 'SPACE when'
leave
start 80x24 "TERM=xterm-256color TERM_PROGRAM=WezTerm $coatbell begin $TMPDIR/other.yaml --temp 23 --rh 50"
tm pipe-pane "cat >$TMPDIR/two.out"
wait_for 'Other watch'
wait_for 'SPACE when'
keys Space
wait_for 'on 1 at'
keys O
wait_for 'Quick watch'
wait_for 'SPACE when'
keys Space
wait_for 'on 1 at'
pid=$(bench_pid)
kill -STOP "$pid"
read -r -t 7 <> <(:) # no measure: until both are surely dry
kill -CONT "$pid"
for paint in 'Tarred rope' 'Bog oak'; do
    until_true grep -qs "^$paint: figure 1 is dry" "$TMPDIR/told" || die "$paint is not told: $(cat "$TMPDIR/told")"
    until_true grep -qaF "777;notify;$paint: figure 1 is dry" "$TMPDIR/two.out" || die "$paint has no pop-up"
done
leave

# Without the key nothing is run: tests/terminal/test_starts_nothing.sh. Nor for a ping without a sound.
bench "[$TMPDIR/bin/lamp]" whole
# shellcheck disable=SC2317 # called by until_true
pinged() { events pinged | grep -q '"figure":1'; }
until_true pinged || die "the ping is not in the log"
[ ! -e "$TMPDIR/done" ] || die "run for a ping without a sound"
leave

# Nor by the demo, which says so.
set_config 'ping: every' 'confidence: 50 %' "on_ring: [$TMPDIR/bin/lamp]" "sensor: [$TMPDIR/bin/lamp]"
start 80x24 "$coatbell demo --speed 120"
wait_for 'demo: one second'
wait_for 'is dry; w still wet'
keys Space
wait_gone 'demo: one second'
wait_for 'on_ring: lamp is not run in a demo'
[ ! -e "$TMPDIR/done" ] || die "run by the demo"
leave
exit 0
