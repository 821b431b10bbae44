#!/bin/bash
# SPDX-License-Identifier: MIT
# Films under changing air, on the screen and in the log.
set -u
program=${CB_BUILD:-build/release}/coatbell
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
faults=0

cat >"$work/one-film.yaml" <<'YAML'
# SPDX-License-Identifier: MIT
# One film of 20 standard minutes: the label stands above the cold-start quantile of dry.
coatbell: 1
name: One lamplighter
figures: 1
paints:
  green: {name: Oilskin green, kind: acrylic, label: 20}
stages:
  - {name: Oilskins, technique: basecoat, paint: green, dry: 5}
  - {name: Again, technique: basecoat, paint: green, dry: 5}
YAML
cat >"$work/garage.yaml" <<'YAML'
# SPDX-License-Identifier: MIT
coatbell: 1
name: Garage and bench
figures: 1
paints:
  chalk: {name: Chalk undercoat, kind: spray undercoat, label: 120}
  green: {name: Oilskin green, kind: acrylic}
stages:
  - {name: Undercoat, technique: undercoat, paint: chalk, by: can, place: garage}
  - {name: Oilskins, technique: basecoat, paint: green}
YAML

pinged() { # the script on the input: minutes from the coat to its ping, by the log; all on one day
    { cat; echo "export $work/log"; } >"$work/script.play"
    "$program" play "$work/script.play" || return 1
    grep -c '"event":"pinged"' "$work/log" | grep -qx 1 || { echo "not one ping" >&2; return 1; }
    awk -F'"' '
        function minutes(t) { return substr(t, 12, 2) * 60 + substr(t, 15, 2) + substr(t, 18, 6) / 60 }
        { for (i = 1; i < NF; i++) { if ($i == "at") at = $(i + 2); if ($i == "due_at") due = $(i + 2) } }
        /"event":"coat_on"/ { on = at }
        /"event":"pinged"/ { print minutes(due) - minutes(on) }' "$work/log"
}

within() { # WHAT VALUE LOW HIGH
    awk -v v="$2" -v l="$3" -v h="$4" 'BEGIN { exit !(v != "" && v >= l && v <= h) }' || {
        echo "$1: $2, wanted $3 to $4"
        faults=$((faults + 1))
    }
}

# 20 standard minutes, ten of them at 23 C and 50 %, the rest at 80 %: 33.2 minutes in all.
within "10 min at 23/50, then 23/80" "$(
    pinged <<'PLAY'
begin one-film.yaml
key SPACE
expect 20 min
at +10m
expect 10 min
do climate
type 23 80
key ENTER
expect 18:33
at +23m
view rack
expect ≈ Oilskin green
at +1m
expect ● Oilskin green
PLAY
)" 33.1 33.3 # arithmetic on the phases

# Too cold, then too damp: the film stands still, shows no time, does not ping; then goes on.
within "5 min, held two hours, then 15" "$(
    pinged <<'PLAY'
begin one-film.yaml
do climate
type 8 50
key ENTER
expect too cold: paint does not set under 10 C
do climate
type 23 50
key ENTER
refuse does not set
key SPACE
at +5m
do climate
type 8 50
key ENTER
expect waits: too cold
refuse 18:20
view rack
at +1h
expect waits: too cold
refuse dry now
do climate
type 23 97
key ENTER
at +1h
expect waits: too damp
do climate
type 23 50
key ENTER
refuse waits: too
expect 20:20
at +14m
expect ≈ Oilskin green
at +2m
expect ● Oilskin green
PLAY
)" 139.99 140.01

# Less than 2 K above the limit the bench says it quietly, and all is well; under it, also while a stage
# goes on, it warns.
cat >"$work/cool.play" <<'PLAY'
begin one-film.yaml
do climate
type 11.9 50
key ENTER
expect 11.9 C: paint does not set under 10 C
expect all well
do climate
type 12 50
key ENTER
refuse does not set
do climate
type 9.9 50
key ENTER
expect too cold: paint does not set under 10 C
refuse all well
PLAY
"$program" play "$work/cool.play" || faults=$((faults + 1))

# The garage has an air of its own: its warnings and its films go by it, the bench's do not.
cat >"$work/garage.play" <<'PLAY'
begin garage.yaml
refuse dew point
do climate
type 9 90 at cellar
key ENTER
expect no stage has such a place
key ESC
do climate
type 9 90 at garage
key ENTER
expect do not spray
expect 23C 50%
do climate
type 9 70 at garage
key ENTER
refuse do not spray
expect SPACE when you have read the caution
key SPACE
key SPACE
view rack
# 120 standard minutes by the label; solvent at 9 C, Arrhenius 40 kJ/mol: 120 / .447
expect 22:28
expect instead of 22:28
PLAY
"$program" play "$work/garage.play" || faults=$((faults + 1))
[ "$faults" -eq 0 ]
