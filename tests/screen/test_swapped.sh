#!/bin/bash
# SPDX-License-Identifier: MIT
# Another pot in the place of the recipe's: the bench names it, what to mix and to set out goes by it, and
# its films teach it and not the recipe's.
set -u
program=${CB_BUILD:-build/release}/coatbell
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
faults=0

fault() {
    echo "$*"
    faults=$((faults + 1))
}

cat >"$work/watch.yaml" <<'YAML'
coatbell: 1
name: One lamplighter
figures: 2
paints:
  green: {name: Oilskin green, kind: acrylic, dry: 40, drops: 10}
  rope: {name: Tarred rope, kind: acrylic}
stages:
  - {name: Oilskins, technique: basecoat, mix: 2 green + 1 rope + 1 water, minutes: 4}
  - {name: Ropes, technique: layer, paint: rope, tidy_with: [green], minutes: 4}
YAML
bench() { # SCRIPT on the input, at the log
    { echo "open $work/log.db" && cat; } >"$work/script.play"
    "$program" play "$work/script.play" || fault "$1"
}
"$program" begin "$work/watch.yaml" --use green="Eel grey" --temp 23 --rh 50 --log "$work/log.db" >/dev/null ||
    fault "no unit"
bench "the bench names the recipe's pot" <<PLAY
expect Eel grey + Tarred rope
expect 2 Eel grey + 1 Tarred rope + 1 water
expect drops of Eel grey, 
refuse Oilskin green
key SPACE
at +11m
view rack
expect Eel grey + Tarred r
refuse Oilskin green
key d
view bench
key SPACE
at +40m
key DOWN
expect Tarred rope
key SPACE
at +1m
expect tidy up: Eel grey
view pots
expect Eel grey, basecoat
refuse Oilskin green
key q
PLAY
films() { "$program" pots --json --log "$work/log.db" | tr '{' '\n' | grep "\"paint\":\"$1\"" | grep -o '"films":[0-9]*'; }
[ "$(films 'Eel grey')" = '"films":1' ] || fault "Eel grey has learned from $(films 'Eel grey')"
[ -z "$(films 'Oilskin green')" ] || fault "the recipe's pot has learned: $(films 'Oilskin green')"
# what the recipe says of its own paint, its time and its drops, is not said of the other
"$program" pots --json --log "$work/log.db" | tr '{' '\n' | grep '"Eel grey"' | grep -q '"median_min":[0-9]\.' ||
    fault "the time of the recipe's pot is taken for the other"
# the recipe's pot, in another unit, knows nothing of it
"$program" begin "$work/watch.yaml" --log "$work/log.db" >/dev/null || fault "no second unit"
[ "$(films 'Oilskin green')" = '"films":0' ] || fault "another unit's pot has learned: $(films 'Oilskin green')"

# Swapped back in the middle, each film stays with its pot.
printf '{"id":"s1","at":"2030-01-01T18:00:00Z","event":"swapped","unit":"%s","paint":"green","name":"Mud"}\n' \
    "$("$program" log export --log "$work/log.db" | grep unit_begun | head -1 | grep -o '"unit":"[^"]*"' | cut -d'"' -f4)" |
    "$program" log import --log "$work/log.db" - >/dev/null || fault "no import"
[ "$(films 'Eel grey')" = '"films":1' ] || fault "after another swap Eel grey has $(films 'Eel grey')"
[ "$(films Mud)" = '"films":0' ] || fault "Mud has $(films Mud)"

# Before the unit is begun: what to mix and to set out with it.
said=$("$program" mix "$work/watch.yaml" --use green='Eel grey')
grep -q '^Oilskins: mix [0-9]* drops of Eel grey, ' <<<"$said" || fault "mix: $said"
grep -q 'Oilskin green' <<<"$said" && fault "mix has the recipe's pot: $said"
[ "$said" != "$("$program" mix "$work/watch.yaml" | sed 's/Oilskin green/Eel grey/g')" ] ||
    fault "the drops of the recipe's pot are taken for the other"
"$program" mix "$work/watch.yaml" --use rope='Mud' --json | grep -q '"paint":"Mud"' || fault "mix --json"
said=$("$program" set-out "$work/watch.yaml" --use green='Eel grey')
grep -q 'Eel grey' <<<"$said" || fault "set-out: $said"
grep -q 'Oilskin green' <<<"$said" && fault "set-out has the recipe's pot: $said"
for command in mix set-out; do
    said=$("$program" $command "$work/watch.yaml" --use gren='Eel grey' 2>&1)
    [ $? -eq 2 ] || fault "$command takes a paint that is not there"
    grep -q 'did you mean green?' <<<"$said" || fault "$command --use: $said"
done

# Who has no medium takes water.
cat >"$work/glow.yaml" <<'YAML'
coatbell: 1
name: Lantern glow
figures: 2
paints:
  amber: {name: Lamp amber, kind: acrylic}
  rope: {name: Tarred rope, kind: acrylic}
stages:
  - {name: Glow, technique: glaze, paint: amber, minutes: 4}
  - {name: Film, technique: layer, mix: 2 amber + 1 rope + 2 medium + 1 water, minutes: 4}
YAML
sed 's/glaze, paint: amber/glaze, mix: 1 amber + 3 water/; s/2 medium + 1 water/3 water/' "$work/glow.yaml" \
    >"$work/water.yaml"
for command in mix set-out; do
    said=$("$program" $command "$work/glow.yaml" --use medium=water) || fault "$command --use medium=water"
    [ "$said" = "$("$program" $command "$work/water.yaml")" ] || fault "$command without medium: $said"
    "$program" $command "$work/glow.yaml" | grep -q ' of medium\|^  medium' || fault "$command: no medium at all"
    for use in medium=Gloss:'only water stands in for medium' retarder=water:'nothing stands in for retarder'; do
        said=$("$program" $command "$work/glow.yaml" --use "${use%%:*}" 2>&1)
        [ $? -eq 2 ] || fault "$command takes ${use%%:*}"
        [ "$(wc -l <<<"$said")" -eq 1 ] || fault "$command: more than a line: $said"
        grep -q -- "--use ${use%%:*}: ${use#*:}" <<<"$said" || fault "$command: $said"
    done
done
rm "$work/log.db"
"$program" begin "$work/glow.yaml" --use medium=water --temp 23 --rh 50 --log "$work/log.db" >/dev/null ||
    fault "no unit without medium"
bench "the bench has medium" <<PLAY
expect 1 paint + 3 water
expect 3 of water
refuse medium
key e
expect 1 paint + 3 water
refuse medium
key ESC
key DOWN
expect 2 Lamp amber + 1 Tarred rope + 3 water
refuse medium
PLAY
"$program" write --log "$work/log.db" >"$work/written.yaml" || fault "no recipe of it"
grep -q 'medium' "$work/written.yaml" && fault "medium is written: $(cat "$work/written.yaml")"
[ "$(grep -c '3 water' "$work/written.yaml")" -eq 2 ] || fault "water is not written: $(cat "$work/written.yaml")"
[ "$faults" -eq 0 ]
