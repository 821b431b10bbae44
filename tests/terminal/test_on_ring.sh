#!/bin/bash
# SPDX-License-Identifier: MIT
# What config.yaml names at on_ring is run at each ring that sounds: as words, with title and text on
# standard input and nothing else of ours. Whatever it does delays nothing, and is said once.
set -u
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

# ring ON_RING: a bench whose first coat rings in a few seconds.
ring() {
    rm -rf "$HOME/.local/share/coatbell"
    set_config 'ping: every' 'confidence: 50 %' "on_ring: $1"
    start 80x24 "$coatbell begin $TMPDIR/quick.yaml --temp 23 --rh 50"
    do_not_know
    wait_for 'SPACE when'
    keys Space
    wait_for 'on 1 at'
}

# none_of GROUP: nothing of it runs; what nobody waits for any more may stand there still.
# shellcheck disable=SC2317 # called by until_true
none_of() {
    ! pgrep -g "$1" -r D,R,S,T >/dev/null
}
# shellcheck disable=SC2317 # called by until_true
no_zombie() {
    ! pgrep -P "$(bench_pid)" -r Z >/dev/null
}
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
PATH=$TMPDIR/bin:$PATH ring "[lamp, '\$HOME; touch x', 'a b']" # by its name alone
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
keys q
wait_for 'ended with 0'

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
keys q
wait_for 'ended with 0'
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
read -r -t 10 <> <(:) # no measure: until both are surely dry
kill -CONT "$pid"
for paint in 'Tarred rope' 'Bog oak'; do
    until_true grep -qs "^$paint: figure 1 is dry" "$TMPDIR/told" || die "$paint is not told: $(cat "$TMPDIR/told")"
    until_true grep -qaF "777;notify;$paint: figure 1 is dry" "$TMPDIR/two.out" || die "$paint has no pop-up"
done
keys q
wait_for 'ended with 0'

# Missing, no program, one that fails: said once a session, until a key.
echo text >"$TMPDIR/text"
program fails <<'END'
exit 3
END
for case in "$TMPDIR/bin/no-such|on_ring: no-such is not there" \
    "$TMPDIR/text|on_ring: text may not be run" "$TMPDIR/bin/fails|on_ring: fails ended with 3"; do
    ring "[${case%%|*}]"
    wait_for "${case##*|}"
    wait_for 'Tarred rope: figure 1 is dry' # the ring itself is there too
    if [ "${case%%|*}" != "$TMPDIR/bin/fails" ]; then
        keys q
        wait_for 'ended with 0'
        continue
    fi
    keys Space
    wait_gone 'on_ring:'
    wait_for 'figures 1 and 2 are dry|figure 2 is dry'
    screen_lacks 'on_ring:' || die "said twice: $case"
    keys q
    wait_for 'ended with 0'
done

# A megabyte, and nothing of its input read: all is well.
program talks <<'END'
exec <&-
head -c 1000000 /dev/zero | tee /dev/stderr
echo done >"$here/talked"
END
ring "[$TMPDIR/bin/talks]"
until_true test -s "$TMPDIR/talked" || die "it did not come to its end"
until_true no_zombie || die "a zombie is left"
screen_lacks 'on_ring:' || die "said though nothing failed"
keys q
wait_for 'ended with 0'

# Hangs, deaf to SIGTERM, with a child of its own: meanwhile every key answers at once, a second ring
# starts no second one beside it, and after ten seconds both are gone.
program hangs <<'END'
trap '' TERM
echo $$ >>"$here/hangs"
sleep 600 &
while :; do sleep 600; done
END
ring "[$TMPDIR/bin/hangs]"
until_true test -s "$TMPDIR/hangs" || die "it was not run"
began=$SECONDS
patience=2
keys n
wait_for 'Note'
keys Escape
wait_gone 'Note'
keys Space
wait_for 'on 2 at'
patience=20
wait_for 'figures 1 and 2 are dry|figure 2 is dry'
[ "$(wc -l <"$TMPDIR/hangs")" -eq 1 ] || [ $((SECONDS - began)) -ge 9 ] || die "two at a time"
wait_for 'on_ring: hangs took longer than 10 s'
[ $((SECONDS - began)) -ge 9 ] || die "ended too early"
first=$(head -1 "$TMPDIR/hangs")
until_true is_gone "$first" || die "it lives on"
until_true none_of "$first" || die "what it started lives on"
# The ring that came meanwhile was told to the next; and what runs when the bench ends, ends with it.
# shellcheck disable=SC2317 # called by until_true
second() { [ "$(wc -l <"$TMPDIR/hangs")" -eq 2 ]; }
until_true second || die "the second ring was lost"
keys q
wait_for 'ended with 0'
last=$(tail -1 "$TMPDIR/hangs")
until_true none_of "$last" || die "it outlives the bench"

# Without the key nothing is run: tests/terminal/test_starts_nothing.sh. Nor for a ping without a sound.
rm "$TMPDIR/done"
rm -rf "$HOME/.local/share/coatbell"
set_config 'ping: whole' 'confidence: 50 %' "on_ring: [$TMPDIR/bin/lamp]"
start 80x24 "$coatbell begin $TMPDIR/quick.yaml --temp 23 --rh 50"
do_not_know
wait_for 'SPACE when'
keys Space
# shellcheck disable=SC2317 # called by until_true
pinged() { events pinged | grep -q '"figure":1'; }
until_true pinged || die "the ping is not in the log"
[ ! -e "$TMPDIR/done" ] || die "run for a ping without a sound"
keys q
wait_for 'ended with 0'

# Nor by the demo, which says so.
set_config 'ping: every' 'confidence: 50 %' "on_ring: [$TMPDIR/bin/lamp]" "sensor: [$TMPDIR/bin/lamp]"
start 80x24 "$coatbell demo --speed 120"
wait_for 'demo: one second'
wait_for 'is dry; w still wet'
keys Space
wait_gone 'demo: one second'
wait_for 'on_ring: lamp is not run in a demo'
[ ! -e "$TMPDIR/done" ] || die "run by the demo"
keys q
wait_for 'ended with 0'
exit 0
