#!/bin/bash
# SPDX-License-Identifier: MIT
# `plan` as a painter calls it: its first lines, time line, evenings, advice, comparison and picture,
# what it refuses, and what it takes from a log.
set -u
# shellcheck source=tests/terminal/box.sh
. "${CB_ROOT:?}/tests/terminal/box.sh"

# One figure, two coats of 2 min that dry in 10, a change of 60 s: 1 + 2 + 10 + 2 + 10 = 25 min.
cat >one.yaml <<'YAML'
coatbell: 1
name: One coat and another
figures: 1
change: 60 s
paints: {rope: {name: Tarred rope, kind: acrylic}}
stages:
  - {name: Coats, technique: basecoat, paint: rope, coats: 2, minutes: 2, dry: 10}
YAML
here="--temp 23 --rh 50"
plan() { # RECIPE OPTION...
    # shellcheck disable=SC2086 # several words
    "$coatbell" plan "$@" $here
}
number() { # FILE FIELD: the first of that name
    grep -o "\"$2\":[0-9.]*" "$1" | head -1 | cut -d: -f2
}

plan one.yaml >said || fail "plan fails"
head -1 said | grep -q '^One coat and another, one figure, in 23 C, 50 %, still air$' || fail "$(head -1 said)"
flat() { tr -s ' \n' '  ' <"$1"; }
sum='Done after 25 min: 4 min hands-on, 60 s for 1 change of paint, 10 min of waiting, 10 min for the last film to dry.'
flat said | grep -qF "$sum" || fail "$(sed -n 2,3p said)"
grep -q 'One stage after the other takes 25 min; no order takes less than 25 min' said || fail "no comparison"
grep -q '^Coats .*█.*░' said || fail "no time line"
grep -q 'How many at once' said && fail "advice on how many of one"
plan one.yaml --ascii >said || fail "plan --ascii fails"
LC_ALL=C grep -q '[^ -~]' said && fail "--ascii is none"
grep -q '^Coats .*#.*[.]' said || fail "no time line in ASCII"

# Six figures at 2 min fill the 10 min of the first: six at once, and the sentence says why.
plan one.yaml -n 12 --json >plan.json || fail "plan --json fails"
[ "$(number plan.json advised)" = 6 ] || fail "advised $(number plan.json advised), not 6"
plan one.yaml -n 12 >said
grep -q '^   6 \* 0 s ' said || fail "no star at 6"
flat said | grep -qF 'dry in 10 min, 2 min a figure, so with six in a row the first is dry when the last is done.' || fail "$(tail -4 said)"
plan one.yaml -n 12 | cmp -s - said || fail "the same call gives another plan"

# 7 min an evening: 1 + 2 + 2 and then too late; the next begins with the paint.
plan one.yaml -n 2 --evening 7 >said
grep -q '^2 evenings of 7 min; the last takes 5 min[.]$' said || fail "$(sed -n 2,5p said)"
grep -q '^evening .*1 .*2' said || fail "no evenings on the axis"
plan one.yaml -n 2 --evening 7 --json | grep -q '"evenings":{"evening_min":7,"count":2,"last_min":5}' ||
    fail "no evenings as JSON"

plan "$root/recipes/night-watch.yaml" --compare >said
grep -Eq '^done after +[0-9]+ +[0-9]+$' said || fail "no comparison"
awk '/^done after/ { exit !($3 < $4) }' said || fail "the plan is no better than in order"

# Calm has fewer changes and is never later than in order.
plan "$root/recipes/night-watch.yaml" --json >quick.json
plan "$root/recipes/night-watch.yaml" --json --calm >calm.json
[ "$(number calm.json paint_changes)" -le "$(number quick.json paint_changes)" ] || fail "calm changes more"

plan one.yaml --svg plan.svg >said || fail "--svg fails"
[ -s said ] && fail "--svg prints as well"
grep -q '^<svg xmlns=.*</svg>$' plan.svg || fail "no picture"
[ "$(grep -o 'class="hands"' plan.svg | wc -l)" -eq 3 ] || fail "not two coats and the legend in the picture"
sed 's/One coat/One <coat>/; s/name: Coats/name: "<b>"/' one.yaml >markup.yaml
plan markup.yaml --svg - | grep -q '<b>\|<coat>' && fail "markup in the picture"

# What does not dry in this air has no plan, and is named.
expect 1 "no plan: Coats does not dry in 23 C, 99 %" "$coatbell" plan one.yaml --temp 23 --rh 99
expect 2 "not the length of an evening: soon" "$coatbell" plan one.yaml --evening soon
expect 2 "not the length of an evening: 25 h" "$coatbell" plan one.yaml --evening "25 h"
expect 2 "--rh is missing" "$coatbell" plan one.yaml --temp 20
expect 2 "not a number of figures" "$coatbell" plan one.yaml -n 100
expect 74 "No such file" "$coatbell" plan none.yaml
expect 74 "No such file" "$coatbell" plan one.yaml --svg no/such/folder.svg

# A log teaches: films take as long as until their ring, hands-on what it took, and evenings are
# counted. Without one nothing is learned, and no log is made.
watch=$root/recipes/night-watch.yaml
plan "$watch" --log new.db --json >fresh.json || fail "plan without a log fails"
[ ! -e new.db ] || fail "plan makes a log"
grep -q '"learned":true' fresh.json && fail "learned without a log"
"$coatbell" demo --history taught.db >/dev/null || fail "no history"
plan "$watch" --log taught.db --json >taught.json || fail "plan on a log fails"
grep -q '"stage":"Oilskins",[^}]*"learned":true' taught.json || fail "Oilskins are not learned"
grep -q '"stage":"Varnish",[^}]*"learned":false' taught.json || fail "Varnish is learned of no film"
ping=$("$coatbell" pots 'Oilskin green' --log taught.db --json |
    grep -o '"technique":"basecoat"[^}]*"ping_min":[0-9.]*' | grep -o '[0-9.]*$')
dry=$(grep -o '"stage":"Oilskins",[^}]*"dry_min":[0-9.]*' taught.json | grep -o '[0-9.]*$')
awk -v a="$ping" -v b="$dry" 'BEGIN { exit !(a > 0 && (a - b) ^ 2 < 1e-6) }' ||
    fail "Oilskins dry in $dry min, their ring is at $ping"
[ "$(number taught.json work_min)" != "$(number fresh.json work_min)" ] || fail "hands-on is not learned"
plan "$watch" --log taught.db >said
grep -q '^As you paint that is [0-9]* evenings[.]$' said || fail "no evenings as usual"
grep -q '^By your own hours: likely ' said || fail "no likely range"

# When it is finished: by the ten evenings of that log, else by a given length, one a day, else not.
flat said | grep -Eq ' Finished .*, about [0-9:]{5} [(]likely .* to .*[)], by your last ten evenings[.] ' ||
    fail "no finish by the evenings on record"
field() { # FILE FIELD: of finish_at, as it is written
    grep -o '"finish_at":{[^}]*}' "$1" | grep -o "\"$2\":[^,}]*" | cut -d: -f2-
}
rfc='^"20[0-9]{2}-[0-9]{2}-[0-9]{2}T[0-9:]{8}[.][0-9]{3}Z"$'
for file in taught.json evenings.json; do
    [ "$file" = evenings.json ] && plan "$watch" --log new.db --evening 60 --json >evenings.json
    for moment in low median high; do
        field "$file" "$moment" | grep -Eq "$rfc" || fail "$file: no $moment of finish_at"
    done
    { field "$file" low; field "$file" median; field "$file" high; } | LC_ALL=C sort -c ||
        fail "$file: $(grep -o '"finish_at".*' "$file")"
done
[ "$(field taught.json sittings)$(field taught.json learned)" = 10true ] || fail "not by ten evenings"
[ "$(field evenings.json sittings)$(field evenings.json learned)" = 0false ] || fail "evenings from nowhere"
grep -q '"finish_at":null' fresh.json || fail "a finish from nowhere"
plan "$watch" --log new.db | grep -q '^Finished' && fail "a finish in words from nowhere"
plan "$watch" --log new.db --evening 60 >said
flat said | grep -Eq ' Finished .*, with an evening a day from today on[.] ' || fail "no finish by given evenings"

exit "$failed"
