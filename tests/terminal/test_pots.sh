#!/bin/bash
# SPDX-License-Identifier: MIT
# What was learned, through the front door: the observations of tests/reference/learn_h1.csv
# imported as a log on paints with `dry: 20` must give 20 x the reference table "with fading"
# (R quadrature, tests/reference/make_learn_posterior.R) to 0.5 %.
set -u
# shellcheck source=tests/terminal/box.sh
. "${CB_ROOT:?}/tests/terminal/box.sh"

"$coatbell" log import "$root/tests/reference/learn_h1_log.jsonl" >/dev/null ||
    fail "the log is not imported"
"$coatbell" pots --json >pots.json || fail "pots --json: exit $?"

# field PAINT KEY: the number, from the one line of JSON
field() {
    tr '{' '\n' <pots.json | grep -F "\"paint\":\"$1\"" | grep -o "\"$2\":[^,}]*" | cut -d: -f2
}

# near PAINT KEY RATIO: 20 x the ratio to 0.5 %
near() {
    local got
    got=$(field "$1" "$2")
    awk -v got="$got" -v want="$3" 'BEGIN { exit !(got > 0 && got / (20 * want) > .995 && got / (20 * want) < 1.005) }' ||
        fail "$1 $2: $got, wanted 20 x $3"
}

near "Tarred rope" median_min 1.25699
near "Tarred rope" ping_min 1.50118
near "Oilskin green" median_min .82051
near "Oilskin green" ping_min .99150
near "Wick white" median_min 1.39343
near "Wick white" ping_min 1.72532
near "Mud brown" median_min 1.09703
near "Mud brown" ping_min 1.53528
[ "$(field "Mud brown" films)" = 0 ] || fail "a paint never used has films"
[ "$(field "Tarred rope" films)" = 6 ] || fail "Tarred rope: $(field "Tarred rope" films) films"

# Imported twice it is the same log.
"$coatbell" log import "$root/tests/reference/learn_h1_log.jsonl" >/dev/null
"$coatbell" pots --json | cmp -s - pots.json || fail "a second import changes what was learned"

out=$("$coatbell" pots "tarred  ROPE" --why --ascii) || fail "pots NAME --why"
case $out in
*"wet at 21, dry at 25"*"still wet at 30"*) ;;
*) fail "why: $out" ;;
esac
case $out in
*[!\ -~$'\n']*) fail "--ascii is not ASCII: $out" ;;
esac
# First what a painter would say; then the picture, and a sentence for each answer that moved it; the
# coats that hardly did with --all.
out=$("$coatbell" pots "tarred rope" --why --ascii)
case $out in
"Tarred rope: dry within 25 min as a rule, by 30 it rings; from 6 coats, last"*) ;;
*) fail "the sentence is not first: $out" ;;
esac
case $out in
*"as a rule"*before*now*films*"rings^"*"figure 2: wet at 21, dry at 25 min: slower than was thought"*) ;;
*) fail "not the sentence, the picture and then the answers: $out" ;;
esac
moved=$(grep -c "than was thought\|slower than that\|does not fit" <<<"$out")
all=$("$coatbell" pots "tarred rope" --why --all --ascii | grep -c '^  20[0-9-]* *[0-9]*/[0-9]*/[0-9]')
[ "$all" = 6 ] || fail "--why --all lists $all of 6 films"
[ "$moved" = 4 ] || fail "$moved of 6 answers are said to have moved it"
case $out in
*"--why --all lists $((6 - moved)) more"*) ;;
*) fail "not said how many more there are: $out" ;;
esac
out=$("$coatbell" pots "mud brown") || fail "pots NAME of a paint never used"
case $(tr -s '\n ' ' ' <<<"$out") in
"Mud brown: dry within 22 min as a rule, by 31 it rings; no coat of it was seen yet ") ;;
*) fail "a paint never used: $out" ;;
esac
expect 2 "--all goes with --why" "$coatbell" pots --all
out=$("$coatbell" pots nothing 2>&1)
[ $? -eq 1 ] || fail "an unknown paint is no failure"
"$coatbell" pots --calibration | grep -q "no ping was answered" || fail "--calibration"
"$coatbell" pots | grep -q "a first guess: you wait 5 min longer than needed; 1 ring in 4" || fail "what the confidence costs is not said"

# Rings by confidence and by paint, what was silent apart; the same on the page of the review.
"$coatbell" demo --history sample.db || fail "no sample history"
out=$("$coatbell" --log sample.db --ascii pots --calibration) || fail "--calibration of the sample"
for line in '^rung at 80 % *2 of 3 *0  *--------------o---|----$' '^Tarred rope *1 of 2 *0 ' \
    'silent: painted over without a word, and 0 of them came up; of what was wet you speak of'; do
    grep -q -- "$line" <<<"$out" || fail "--calibration: no line $line in: $out"
done
"$coatbell" --log sample.db review --html page.html >/dev/null || fail "no page"
for piece in 'Are the rings as sure as they say?' 'painted over without a word, and 0 of them came up.' '<th scope="row">at 80 %</th><td>3</td><td>2</td><td>0</td>' \
    '<th scope="row">Tarred rope</th><td>2</td><td>1</td><td>0</td>' 'aria-label="50 %, likely 9 to 91"'; do
    grep -qF -- "$piece" page.html || fail "the page has no $piece"
done
# As JSON: the same counts, and the same share of what was wet that is spoken of.
json=$("$coatbell" --log sample.db pots --calibration --json | tr -d ' \n')
ring='"answered":3,"dry":2,"low":0.207[0-9]*,"high":0.938[0-9]*,"silent":0,"came_up":0'
grep -Eq "\"rings\":\[{\"paint\":null,\"confidence\":0.8[0-9]*,$ring" <<<"$json" || fail "rings as JSON: $json"
share=$(grep -o '"speaks_up":0[.][0-9]*' <<<"$json" | cut -d: -f2)
grep -q "$(awk -v s="$share" 'BEGIN { printf "%.0f in 100", 100 * s }')," <<<"$out" || fail "speaks_up $share, but: $out"
grep -Eq '"shift":-?[0-9]' <<<"$json" || fail "the shift as JSON: $json"

# Coats added and spared, of a finished unit and of one under way, once each.
recipe='coatbell: 1\nname: r\nfigures: 4\npaints:\n  tar: {name: Quay tar, kind: acrylic, tone: dark}\n'
recipe+='  fog: {name: Morning fog, kind: acrylic, tone: light}\nstages:\n'
recipe+='  - {name: Under, technique: undercoat, paint: tar}\n'
recipe+='  - {name: Charts, technique: basecoat, paint: fog, coats: 2}\n'
event() { # MINUTE UNIT EVENT FIELDS
    printf '{"id":"%s-%s-%s","at":"2026-01-0%dT18:%02d:00.000Z","event":"%s","unit":"%s"%s}\n' \
        "$2" "$1" "$3" $((2 + ${2#u})) "$1" "$3" "$2" "$4"
}
paints() { # UNIT FIGURES ADDED
    event 0 "$1" unit_begun ",\"name\":\"$1\",\"figures\":$2,\"recipe\":\"$recipe\""
    for figure in $(seq "$2"); do
        [ "$figure" -gt "$3" ] || event "$figure" "$1" coat_added ",\"figure\":$figure,\"stage\":2"
        for coat in 1 2 3; do
            [ "$coat" -eq 3 ] && [ "$figure" -gt "$3" ] && continue
            event $((10 * coat + figure)) "$1" coat_on ",\"figure\":$figure,\"stage\":2,\"coat\":$coat"
        done
    done
}
{
    paints u1 6 5
    event 59 u1 unit_finished ''
    paints u2 4 3
} >coats.jsonl
"$coatbell" --log coats.db log import coats.jsonl >/dev/null || fail "the coats are not imported"
out=$("$coatbell" --log coats.db pots) || fail "pots of coats"
grep -q '^  a third coat on 8 of 9 figures over dark (57 to 98 %)$' <<<"$out" || fail "the coats: $out"
json=$("$coatbell" --log coats.db pots --json | tr -d ' \n')
coats='"coats":\[{"over":"dark","coat":3,"added":8,"added_of":9,"added_low":0.56[0-9]*,"added_high":0.98[0-9]*,"spared":0,'
grep -Eq "\"paint\":\"Morningfog\",[^\[]*$coats" <<<"$json" || fail "the coats as JSON: $json"
out=$("$coatbell" --log coats.db pots "quay tar")
grep -q 'coat on' <<<"$out" && fail "an undercoat is counted: $out"

exit $failed
