#!/bin/bash
# SPDX-License-Identifier: MIT
# Two names that are one paint are one wherever either is read: of a finished unit, which the bench does
# not load, of the one under way, whenever it was said, and until it is taken back.
set -u
. tests/terminal/lib.sh
mkdir -p "$(dirname "$log")"

recipe() { # NAME OF THE PAINT
    printf 'coatbell: 1\nname: %s\nfigures: 3\npaints: {a: {name: "%s", kind: acrylic}}\n' "$2" "$1"
    printf 'stages:\n  - {name: Coats, technique: basecoat, paint: a, coats: 2, minutes: 4}\n'
}
evening() { # DAY PAINT UNIT LAST-KEY...
    recipe "$2" "$3" >"$TMPDIR/one.yaml"
    {
        printf 'begin %s\n' "$TMPDIR/one.yaml"
        printf 'key SPACE\nat +4m\nkey SPACE\nat +9m\nkey w\nat +3m\nkey d\nat +2m\nkey d\n'
        printf '%s\n' "${@:4}" "export $TMPDIR/one.jsonl"
    } >"$TMPDIR/one.play"
    "$coatbell" play "$TMPDIR/one.play" || die "no evening"
    sed "s/2026-01-05T/2026-01-$1T/g; s/-play\"/-$1\"/g" "$TMPDIR/one.jsonl"
    rm "$TMPDIR/one.jsonl"
}
{
    evening 05 'Oilskin green' 'Old watch' 'at +30m' 'key SPACE' 'key f' 'key f' 'key q'
    evening 06 'oilskin  green (new)' 'New watch' 'key q'
} >"$TMPDIR/both.jsonl"
joined() { # AT
    printf '{"id":"j1","at":"%s","event":"paint_joined","press":"j1","machine":"z","seq":1,' "$1"
    printf '"from":"OILSKIN green (new)","to":"Oilskin green"}\n'
}
log_of() { # NAME: of the lines on standard input
    "$coatbell" log import --log "$TMPDIR/$1.db" - >/dev/null || die "no import of $1"
}
pots() { "$coatbell" pots --json --log "$TMPDIR/$1.db" | grep -o '{"paint".*' | tr '{' '\n' | grep paint; }

log_of apart <"$TMPDIR/both.jsonl"
[ "$(pots apart | wc -l)" = 2 ] || die "apart they are not two: $(pots apart)"
[ "$(pots apart | grep -c '"films":[1-9]')" = 2 ] || die "not both have films: $(pots apart)"

# One pot is what a log says in which both had one name to begin with.
sed 's/oilskin  green (new)/Oilskin green/' "$TMPDIR/both.jsonl" | log_of one
for at in 2026-01-01T18:00:00Z 2026-01-05T21:00:00Z 2026-01-09T18:00:00Z; do
    rm -f "$TMPDIR/joined.db"
    { joined "$at" && cat "$TMPDIR/both.jsonl"; } | log_of joined
    [ "$(pots joined)" = "$(pots one)" ] || die "joined at $at: $(pots joined), wanted $(pots one)"
    [ "$(pots joined)" = "$(pots one)" ] || die "as it is kept: $(pots joined), wanted $(pots one)"
done
why() { "$coatbell" pots "$1" --why --all --log "$TMPDIR/joined.db"; }
why 'oilskin green' | grep -q '^Oilskin green: dry within' || die "why: no sentence"
[ "$(why 'oilskin green')" = "$(why 'Oilskin  Green (NEW)')" ] || die "the other name does not find it"
[ "$(why 'oilskin green' | grep -c '^  2026-')" = "$(pots one | grep -o '"films":[0-9]*' | grep -o '[0-9]*')" ] ||
    die "why lists other films"
printf '{"id":"j2","at":"2026-01-10T18:00:00Z","event":"undone","press":"j2","machine":"z","seq":2,"of":"j1"}\n' |
    log_of joined
[ "$(pots joined)" = "$(pots apart)" ] || die "taken back: $(pots joined)"

# On the bench: the paint of the finished unit is in the pots beside that of the one under way.
"$coatbell" log import "$TMPDIR/both.jsonl" >/dev/null || die "no import"
cp "$log" "$TMPDIR/apart.db"
films=$(pots one | grep -o '"films":[0-9]*' | grep -o '[0-9]*')
start 80x24 "$coatbell"
wait_for 'SPACE when'
keys F4
wait_for '^>oilskin green \(new\), basecoat'
wait_for '^ Oilskin green, basecoat'
keys J
wait_for 'is one with which other'
keys Down
wait_for 'the name Oilskin green stays for both: J or ENTER joins them'
keys Enter
wait_for "^>Oilskin green, basecoat .* $films\$"
screen_lacks 'new\), basecoat' || die "two rows are left"
same() { [ "$("$coatbell" pots --json)" = "$("$coatbell" pots --json --log "$TMPDIR/$1.db")" ]; }
same one || die "the log says other times than one pot has"
keys BSpace
wait_for '^>Oilskin green, basecoat|^ Oilskin green, basecoat'
wait_for 'oilskin green \(new\), basecoat'
same apart || die "taken back it is not as it was"

# A new bottle of the finished unit's paint is one, though the bench has no unit with it.
keys Up
wait_for '^>oilskin green'
keys Down
wait_for '^>Oilskin green, basecoat'
before=$("$coatbell" pots 'Oilskin green' --json)
keys N
wait_for 'Oilskin green: a new bottle; BKSP takes it back'
after=$("$coatbell" pots 'Oilskin green' --json)
[ "$after" != "$before" ] || die "a new bottle is as sure as the old: $after"
high() { grep -o '"high_min":[0-9.]*' <<<"$1" | cut -d: -f2; }
awk "BEGIN { exit !($(high "$after") > $(high "$before")) }" || die "a new bottle is surer: $after"
keys q
wait_for 'ended with 0'
start 80x24 "$coatbell"
wait_for 'SPACE when'
keys F4
wait_for "^ Oilskin green, basecoat"

# A join of an evening before, taken back on another: what was kept with it is made anew.
keys Down
wait_for '^>Oilskin green'
keys J
wait_for 'Oilskin green is one with which other'
keys Up J
wait_for 'Oilskin green is oilskin green \(new\) from here on'
wait_for '^>oilskin green \(new\), basecoat .* 4$'
keys q
wait_for 'ended with 0'
start 80x24 "$coatbell"
wait_for 'SPACE when'
keys BSpace
wait_for 'BKSP again takes back what was done before this sitting: paints joined'
keys BSpace
wait_for 'taken back: paints joined'
keys F4
wait_for '^>oilskin green \(new\), basecoat .* 2$'
wait_for '^ Oilskin green, basecoat .* 2$'
keys q
wait_for 'ended with 0'
[ "$("$coatbell" pots 'Oilskin green' --json)" = "$after" ] || die "something of the join is left"
