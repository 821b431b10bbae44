#!/bin/bash
# SPDX-License-Identifier: MIT
# A short evening at three sizes: begin a unit, tell the climate, put a coat on; leave and come back,
# by the door and by kill -9, to the same bench.
set -u
. tests/terminal/lib.sh

# The screen without what time alone changes: digits, also the big ones, and bars of them, those of
# the next two hours, too.
still() {
    screen | sed 's/[0-9]/#/g; s/[█▀▄▌▐░]/#/g; s/## *h ## *min/# min/; s/#\{1,\}/#/g
        s/ *# */#/g; s/#\{1,\}/#/g; s/─\{1,\}/─/g' |
        grep -vE 'BKSP takes it back|^ *$' | grep -vFf "$TMPDIR/cues"
}

same_bench() {
    still >"$TMPDIR/after"
    diff "$TMPDIR/before" "$TMPDIR/after" >"$TMPDIR/diff"
}

# What is said of the coat is the session's: another one begins anew with it.
"$coatbell" cues --json | grep -oE '"text":"[^"]*"' | cut -d'"' -f4 >"$TMPDIR/cues"
[ "$(wc -l <"$TMPDIR/cues")" -ge 60 ] || die "no cues"
for size in 50x15 80x24 120x40; do
    rm -rf "$HOME/.local"
    start "$size" "$coatbell"
    wait_for 'what is on the bench tonight'
    keys Down Down Down Enter
    wait_for 'How many figures'
    keys 4 Enter
    keys Enter Enter
    wait_for 'Tarred rope'
    keys c '19.5 62' Enter
    screen_has 'SPACE when ' || die "$size: no sentence says what SPACE does"
    wait_for 'SPACE when you have read the caution'
    keys Space
    wait_for 'SPACE when Tarred rope'
    keys Space
    wait_for 'BKSP takes it back|Oilskin green'
    wait_for '19[.]5C 62%'
    keys c
    wait_for 'Temperature|climate|19.5 62'
    keys '21 45' Enter
    wait_for '21([.]0)?C 45%'
    until_true screen_lacks 'BKSP takes it back' || die "$size: the last press never went"
    still >"$TMPDIR/before"
    keys q
    wait_for 'ended with 0'
    [ "$(exported | grep -c '"event":"coat_on"')" -ge 1 ] || die "$size: no coat in the log"
    start "$size" "$coatbell"
    wait_for 'SPACE when |NEXT DRY'
    until_true same_bench || die "$size: another bench after q: $(cat "$TMPDIR/diff")"
    kill -9 "$(bench_pid)"
    wait_for 'ended with 137'
    start "$size" "$coatbell"
    wait_for 'SPACE when |NEXT DRY'
    until_true same_bench || die "$size: another bench after kill -9: $(cat "$TMPDIR/diff")"
    # Undo reaches over the sittings: the climate, then the coat.
    keys u u # what an earlier sitting did is asked about
    wait_for '19[.]5C 62%'
    keys q
    wait_for 'ended with 0'
done
