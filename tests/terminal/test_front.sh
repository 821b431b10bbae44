#!/bin/bash
# SPDX-License-Identifier: MIT
# In front by one's own hand: what is begun beside a running bench, or comes in by an import, stays
# behind there, also when the bench is killed and opened again, and no minute changes hands.
set -u
. tests/terminal/lib.sh
quick_recipe
sed 's/^name: .*/name: Second watch/' "$TMPDIR/quick.yaml" >"$TMPDIR/second.yaml"
sed 's/^name: .*/name: Third watch/' "$TMPDIR/quick.yaml" >"$TMPDIR/third.yaml"

in_front() {
    "$coatbell" units --json | grep -o '"name":"[^"]*"[^}]*"in_front":true' | field name
}
front_is() { [ "$(in_front)" = "$1" ] || die "in front is not $1 but $(in_front)"; }
on() { [ "$(events coat_on | wc -l)" -eq "$1" ]; }
# All coats are on the unit of that name.
painted_is() {
    local unit
    unit=$(events unit_begun | grep "\"name\":\"$1\"" | field unit)
    [ "$(events coat_on | field unit | sort -u)" = "$unit" ] || die "a coat is on another unit"
}
cut_off() {
    local pid
    pid=$(bench_pid)
    kill -9 "$pid"
    until_true is_gone "$pid" || die "the bench survives SIGKILL"
}
reopened() {
    start 80x24 "$coatbell"
    wait_for 'Quick watch'
    wait_for 'SPACE when'
}

# An evening on one unit, in the middle of which another of weeks before was in front: its minutes are
# its own, though the review of the one reads nothing of how the other began.
n=0
line() { # MINUTE of the evening EVENT [FIELDS]
    n=$((n + 1))
    printf '{"id":"i%d","at":"%sZ","event":"%s","press":"p%d","machine":"m","seq":%d%s}\n' "$n" \
        "$(date -u -d "@$((1767722400 + 60 * $1))" +%FT%T)" "$2" "$n" "$n" "${3:-}"
}
recipe=$(sed 's/"/\\"/g; s/$/\\n/' "$TMPDIR/quick.yaml" | tr -d '\n')
begins() { printf ',"unit":"%s","name":"%s","figures":6,"recipe":"%s"' "$1" "$1" "$recipe"; }
coat() { printf ',"unit":"%s","figure":%d,"stage":1,"coat":1' "$1" "$2"; }
{
    line -9000 session_opened
    line -8999 unit_begun "$(begins old)"
    line -8990 coat_on "$(coat old 1)"
    line -8980 session_closed
    line 0 session_opened
    line 1 unit_begun "$(begins new)"
    line 5 coat_on "$(coat new 1)"
    line 6 unit_opened ',"unit":"old"'
    line 30 coat_on "$(coat old 2)"
    line 50 unit_opened ',"unit":"new"'
    line 55 coat_on "$(coat new 2)"
    line 56 unit_finished ',"unit":"new"'
    line 60 session_closed
} >"$TMPDIR/evening.jsonl"
"$coatbell" log import --log "$TMPDIR/evening.db" "$TMPDIR/evening.jsonl" >/dev/null || die "import"
"$coatbell" review --log "$TMPDIR/evening.db" --json new | grep -q '"session_min":11,' ||
    die "the minutes of another unit are counted: $("$coatbell" review --log "$TMPDIR/evening.db" new)"

# `begin` where nobody sits puts its unit in front, as ever.
"$coatbell" begin "$TMPDIR/third.yaml" </dev/null | grep -q 'in front' && die "begin says too much"
front_is 'Third watch'

start 80x24 "$coatbell" begin "$TMPDIR/quick.yaml" --temp 23 --rh 50
do_not_know
wait_for 'SPACE when'
keys Space
until_true on 1 || die "no coat"

# Beside the bench: the command and the bench say so, and SPACE paints on.
"$coatbell" begin "$TMPDIR/second.yaml" </dev/null >"$TMPDIR/said" || die "begin beside a bench"
grep -qx 'begun: Second watch, 6 figures, 2 stages; not in front: o in the bench opens it' \
    "$TMPDIR/said" || die "begin says: $(cat "$TMPDIR/said")"
wait_for 'begun elsewhere: Second watch, o opens it'
events unit_begun | grep 'Second watch' | grep -q '"front":"no"' || die "no front in the log"
screen | head -1 | grep -q 'Quick watch' || die "another unit came to the front"
front_is 'Quick watch'
keys Space
until_true on 2 || die "SPACE marked no coat"
painted_is 'Quick watch'
"$coatbell" status --json | grep -q "\"unit\":\"$(events coat_on | field unit | head -1)\"" ||
    die "status names another unit"

cut_off
reopened
front_is 'Quick watch'
keys Space
until_true on 3 || die "SPACE marked no coat after the restart"
painted_is 'Quick watch'
screen_lacks 'begun elsewhere' || die "old news is told again"
keys q
wait_for 'ended with 0'

# No minute changed hands: the review is that of a log in which nobody began anything beside.
parts() { grep -o '"session_min".*"away_min":[^,}]*' "$1"; }
begun=$(events unit_begun | grep 'Second watch' | field unit)
exported | grep -v "\"unit\":\"$begun\"" >"$TMPDIR/alone.jsonl"
"$coatbell" log import --log "$TMPDIR/alone.db" "$TMPDIR/alone.jsonl" >/dev/null || die "import"
"$coatbell" review --json 'Quick watch' >"$TMPDIR/beside" || die "review"
"$coatbell" review --log "$TMPDIR/alone.db" --json 'Quick watch' >"$TMPDIR/alone" || die "review"
parts "$TMPDIR/beside" | grep -q '"session_min":0\.[0-9]*[1-9]' || die "no minutes in the review"
[ "$(parts "$TMPDIR/beside")" = "$(parts "$TMPDIR/alone")" ] || die "minutes changed hands"
"$coatbell" review --json 'Second watch' | grep -q '"session_min":0[,.]' ||
    die "minutes went to the unit that was begun beside"
reopened

# A whole evening of another machine, before, during and after: taken in beside the bench.
bench=$socket
socket=$TMPDIR/tmux.other
tm new-session -d -x 80 -y 24 "$coatbell --log $TMPDIR/other.db begin $TMPDIR/third.yaml \
--name 'Elsewhere' --temp 23 --rh 50; echo \"ended with \$?\"; exec sleep 600"
do_not_know
wait_for 'SPACE when'
keys Space
wait_for 'Tarred rope on 1 at'
take_in() {
    "$coatbell" log export --log "$TMPDIR/other.db" "$TMPDIR/other.jsonl" >/dev/null || die "export"
    "$coatbell" log import "$TMPDIR/other.jsonl" >/dev/null || die "import"
    rm "$TMPDIR/other.jsonl"
}
take_in # its bench is open
keys q
wait_for 'ended with 0'
take_in # and closed
tm kill-server
socket=$bench
wait_for 'begun elsewhere: Elsewhere, o opens it'
screen | head -1 | grep -q 'Quick watch' || die "an import changed what is in front"
front_is 'Quick watch'
cut_off
reopened
front_is 'Quick watch'

# The chooser has what stayed behind; opened by hand it is in front.
keys o
wait_for 'Second watch'
wait_for 'Elsewhere'
keys Escape
wait_for 'SPACE when'
keys q
wait_for 'ended with 0'
front_is 'Quick watch'

# The key that opens is the painter's own.
set_config 'keys: {open: [F9]}'
start 80x24 "$coatbell"
wait_for 'SPACE when'
"$coatbell" begin "$TMPDIR/third.yaml" </dev/null | grep -q 'F9 in the bench opens it' ||
    die "begin knows not the painter's keys"
wait_for 'begun elsewhere: Third watch, F9 opens it'
keys F9
wait_for 'Second watch'
at_second() { screen | grep 'Second watch' | grep -q '▸'; }
for _ in 1 2 3 4 5 6; do
    at_second || keys Down
    read -r -t 0.05 <> <(:)
done
until_true at_second || die "the chooser does not reach the unit"
keys Enter
wait_for 'SPACE when'
screen | head -1 | grep -q 'Second watch' || die "opened by hand it does not come to the front"
front_is 'Second watch'
