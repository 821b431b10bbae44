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

# The bench on a log that a newer version wrote (its number stands at 60 of the head, sqlite.org/fileformat2.html),
# with a folder in the way of the -wal: a line and no bench. On one that may not be written it stands NOT SAVED.
bench_refused() {
    local code=$1 want=$2
    shift 2
    start 80x24 "$*"
    wait_for "ended with $code"
    screen_has "$want" || die "$*: no word of '$want'"
}
mkdir -m 755 "$TMPDIR/odd"
for name in newer way kept; do
    "$coatbell" begin "$TMPDIR/quick.yaml" --log "$TMPDIR/odd/$name.db" >/dev/null </dev/null || die "no log"
done
printf '\0\0\0\143' | dd of="$TMPDIR/odd/newer.db" bs=1 seek=60 conv=notrunc status=none
mkdir -p "$TMPDIR/odd/way.db-wal"
bench_refused 65 'newer coatbell' "$coatbell --log $TMPDIR/odd/newer.db"
bench_refused 74 'move it out' "$coatbell --log $TMPDIR/odd/way.db"
if [ "$(id -u)" -eq 0 ]; then
    as='setpriv --reuid=65534 --regid=65534 --clear-groups'
    chown -R 65534:65534 "$TMPDIR/odd"
else
    as=
fi
# Nobody can't read what lies below a root's home: then there is nothing to try.
if [ -z "$as" ] || HOME=$TMPDIR/odd $as "$coatbell" dry acrylic >/dev/null 2>&1; then
    chmod 400 "$TMPDIR/odd/kept.db"
    start 80x24 "HOME=$TMPDIR/odd $as $coatbell --log $TMPDIR/odd/kept.db"
    wait_for '^ NOT SAVED'
    keys q
    wait_for 'q again'
    keys q
    wait_for 'ended with 74'
    chmod 600 "$TMPDIR/odd/kept.db"
    for file in "$TMPDIR"/odd/coatbell-unsaved-*.jsonl; do # the way out that coatbell(1), RELIABILITY, names
        HOME=$TMPDIR/odd $as "$coatbell" log import "$file" --log "$TMPDIR/odd/kept.db" >"$TMPDIR/said" 2>&1 ||
            die "what a bench kept is not taken once the log may be written: $(cat "$TMPDIR/said")"
        grep -q '^imported [1-9]' "$TMPDIR/said" || die "nothing of it: $(cat "$TMPDIR/said")"
    done
    rm -f "$TMPDIR/odd/kept.db"-* # with them there it could be written all the same
    chmod 500 "$TMPDIR/odd"
    start 80x24 "HOME=$TMPDIR/odd $as $coatbell --log $TMPDIR/odd/kept.db"
    wait_for '^ NOT SAVED|ended with 74'
    chmod 700 "$TMPDIR/odd"
fi
