#!/bin/bash
# SPDX-License-Identifier: MIT
# What can't be is refused at once and by its name, before anything is written: a log that is no file, a
# terminal on which no bench opens, invented hours for a log of real ones, a home that is none.
set -u
. tests/terminal/lib.sh
quick_recipe

# refused CODE WORD COMMAND...: within five seconds, that exit code, that word on standard error
refused() {
    local code=$1 want=$2 rc=0
    shift 2
    timeout 5 "$@" </dev/null >"$TMPDIR/out" 2>"$TMPDIR/err" || rc=$?
    [ "$rc" -eq "$code" ] || die "$*: ended with $rc: $(cat "$TMPDIR/out" "$TMPDIR/err")"
    grep -qF -- "$want" "$TMPDIR/err" || die "$*: no word of '$want': $(cat "$TMPDIR/err")"
}

# A log that is a FIFO, a folder, a device, a link to nothing: no command waits for it.
mkfifo "$TMPDIR/fifo"
mkdir "$TMPDIR/folder"
ln -s "$TMPDIR/nowhere" "$TMPDIR/link"
printf 'open %s\n' "$TMPDIR/fifo" >"$TMPDIR/open.play"
for odd in fifo folder /dev/null link; do
    [ "$odd" = /dev/null ] || odd=$TMPDIR/$odd
    for call in status 'status --all' units pots review 'log export -' "begin $TMPDIR/quick.yaml" \
        "log import $TMPDIR/quick.jsonl"; do
        : >"$TMPDIR/quick.jsonl"
        # shellcheck disable=SC2086 # words of the call
        refused 74 "$odd: " "$coatbell" $call --log "$odd"
    done
    refused 74 "$odd: " "$coatbell" demo --history "$odd"
    timeout 5 "$coatbell" dry acrylic --log "$odd" >/dev/null || die "dry waits for $odd"
done
refused 1 'no regular file' "$coatbell" play "$TMPDIR/open.play"
refused 74 'no regular file' "$coatbell" begin "$TMPDIR/fifo"
# Nothing of that name is an evening before the first.
"$coatbell" status --log "$TMPDIR/none.db" >/dev/null || die "no log yet is no fault"

# A terminal that no bench can use: said before the unit is written.
for type in nonesuch dumb ''; do
    start 80x24 "TERM=$type $coatbell begin $TMPDIR/quick.yaml"
    wait_for 'ended with 74'
    screen_has 'TERM' || die "TERM=$type: the fault is not named"
    [ ! -e "$log" ] || [ -z "$(events unit_begun)" ] || die "TERM=$type: a unit stayed behind"
done
"$coatbell" begin "$TMPDIR/quick.yaml" </dev/null >/dev/null || die "without a terminal it begins"
[ "$(events unit_begun | wc -l)" -eq 1 ] || die "not one unit"

# The sample's invented hours are not written among real ones unless that is meant.
"$coatbell" demo --history "$TMPDIR/sample.db" || die "history in a new log"
"$coatbell" demo --history "$TMPDIR/sample.db" || die "history in a log that has only it"
exported >"$TMPDIR/before"
refused 2 'with --yes' "$coatbell" demo --history "$log"
grep -q 'Quick watch' "$TMPDIR/err" || die "the unit there is not named"
exported | cmp -s - "$TMPDIR/before" || die "refused, and yet written"
"$coatbell" demo --history "$log" --yes || die "--yes"
events unit_begun | grep -q demo-north || die "--yes wrote nothing"
refused 2 'goes with --history' "$coatbell" demo --yes

# A home that is empty or no whole path is named, and no other is taken in its place.
for home in '' relative ./x; do
    for call in status units pots review 'log export -' "check $TMPDIR/quick.yaml" \
        "begin $TMPDIR/quick.yaml"; do
        # shellcheck disable=SC2086 # words of the call
        refused 74 'HOME: ' env HOME="$home" "$coatbell" $call
        [ -z "$home" ] || grep -qF "$home" "$TMPDIR/err" || die "the value is not named"
    done
    start 80x24 "HOME='$home' $coatbell"
    wait_for 'HOME: '
    wait_for 'ended with 74'
done
[ ! -e relative ] || die "a log in the current folder"
# It is looked at only where it is needed; a relative XDG value is ignored as ever.
env HOME= XDG_DATA_HOME="$HOME/.local/share" XDG_CONFIG_HOME="$HOME/.config" "$coatbell" units |
    grep -q 'Quick watch' || die "HOME is asked for without need"
XDG_DATA_HOME=here XDG_CONFIG_HOME=here "$coatbell" units | grep -q 'Quick watch' ||
    die "a relative XDG value is not ignored"
for call in status units pots review 'log export -' "begin $TMPDIR/quick.yaml --json"; do
    # shellcheck disable=SC2086 # words of the call
    env HOME= "$coatbell" --log "$log" $call >/dev/null 2>"$TMPDIR/err" </dev/null ||
        die "$call: HOME is asked for where the log is given: $(cat "$TMPDIR/err")"
done
refused 74 'HOME: ' env HOME=relative "$coatbell" --log "$log" dry acrylic
env -u HOME "$coatbell" check "$TMPDIR/quick.yaml" || die "not without a HOME"
