#!/bin/bash
# SPDX-License-Identifier: MIT
# Whatever the program at on_ring does delays nothing, is said once, and ends.
set -u
. tests/terminal/ring.sh

# none_of GROUP: nothing of it runs; what nobody waits for any more may stand there still.
# shellcheck disable=SC2317 # called by until_true
none_of() {
    ! pgrep -g "$1" -r D,R,S,T >/dev/null
}
# ran TIMES LIST: so many lines are in it.
ran() {
    [ -e "$TMPDIR/$2" ] && [ "$(wc -l <"$TMPDIR/$2")" -eq "$1" ]
}

# Missing, no program, one that fails: said once a session, until a key.
echo text >"$TMPDIR/text"
program fails <<'END'
exit 3
END
for case in "$TMPDIR/bin/no-such|on_ring: no-such is not there" \
    "$TMPDIR/text|on_ring: text may not be run" "$TMPDIR/bin/fails|on_ring: fails ended with 3"; do
    bench "[${case%%|*}]"
    wait_for "${case##*|}"
    wait_for 'Tarred rope: figure 1 is dry' # the ring itself is there too
    if [ "${case%%|*}" = "$TMPDIR/bin/fails" ]; then
        keys Space
        wait_gone 'on_ring:'
        wait_for 'figures 1 and 2 are dry|figure 2 is dry'
        screen_lacks 'on_ring:' || die "said twice: $case"
    fi
    leave
done

# A megabyte, and nothing of its input read: all is well.
program talks <<'END'
exec <&-
head -c 1000000 /dev/zero | tee /dev/stderr
echo done >"$here/talked"
END
bench "[$TMPDIR/bin/talks]"
until_true test -s "$TMPDIR/talked" || die "it did not come to its end"
until_true no_zombie || die "a zombie is left"
screen_lacks 'on_ring:' || die "said though nothing failed"
leave

# Hangs, deaf to SIGTERM, with a child of its own: meanwhile every key answers at once, no ring starts a
# second one beside it, and after ten seconds both are gone. Its second run alone hears what it is told,
# and ends.
program hangs <<'END'
echo $$ >>"$here/hangs"
if [ "$(wc -l <"$here/hangs")" -eq 2 ]; then
    head -1 >"$here/heard.out"
    mv "$here/heard.out" "$here/heard"
    exit 0
fi
trap '' TERM
sleep 600 &
echo hung >>"$here/deaf"
while :; do sleep 600; done
END
# rung FIGURES: so many figures' pings are in the log.
# shellcheck disable=SC2317 # called by until_true
rung() { [ "$(events pinged | wc -l)" -eq "$1" ]; }
bench "[$TMPDIR/bin/hangs]"
until_true ran 1 deaf || die "it was not run"
began=$SECONDS
patience=2
keys n
wait_for 'Note'
keys Escape
wait_gone 'Note'
patience=20
for figure in 2 3; do
    keys Space
    wait_for "on $figure at"
    until_true rung "$figure" || die "figure $figure does not ring"
done
ran 1 hangs || [ $((SECONDS - began)) -ge 9 ] || die "two at a time"
wait_for 'on_ring: hangs took longer than 10 s'
[ $((SECONDS - began)) -ge 9 ] || die "ended too early"
first=$(head -1 "$TMPDIR/hangs")
until_true is_gone "$first" || die "it lives on"
until_true none_of "$first" || die "what it started lives on"
# Of two rings that came meanwhile the newest is told next, the other is not.
until_true test -s "$TMPDIR/heard" || die "the newest ring was lost"
grep -q '[Ff]igures\{0,1\} .*3' "$TMPDIR/heard" || die "not the newest: $(cat "$TMPDIR/heard")"
until_true no_zombie || die "a zombie is left"
keys n
wait_for 'Note'
keys Escape
wait_gone 'Note'
ran 2 hangs || die "an older ring is told too"
# What runs when the bench ends, ends with it.
keys Space
until_true ran 2 deaf || die "not run at the next ring"
leave
last=$(tail -1 "$TMPDIR/hangs")
until_true none_of "$last" || die "it outlives the bench"
exit 0
