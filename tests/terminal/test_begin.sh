#!/bin/bash
# SPDX-License-Identifier: MIT
# `begin` and `units` without a terminal: one line, the events in the log, no bench.
set -u
# shellcheck source=tests/terminal/box.sh
. "${CB_ROOT:?}/tests/terminal/box.sh"

begin() { "$coatbell" begin --log log.db "$@"; }

"$coatbell" new two.yaml >/dev/null || fail "new"
sed -i 's/^figures: .*/figures: 2/; s/^name: .*/name: Two of them/' two.yaml

# One line on standard output, nothing on the other.
out=$(begin two.yaml 2>err) || fail "begin fails: $(cat err)"
[ "$out" = "begun: Two of them, 2 figures, 7 stages" ] || fail "begin says: $out"
[ ! -s err ] || fail "begin grumbles: $(cat err)"

# The samples are found by name, from anywhere.
expect 0 "begun: Salt-marsh night watch, 10 figures, 16 stages" begin night-watch
expect 0 "begun: Evening, 4 figures" begin night-watch.yaml -n 4 --name Evening
expect 0 '"figures":99' begin two.yaml -n 99 --json
expect 0 "begun: Two of them" begin - <two.yaml

# What the call gets wrong is said in one line, and nothing is written.
before=$("$coatbell" units --log log.db --json)
grep -v '^figures' two.yaml >many.yaml
sed 's/coats: 2/coats: 0/' two.yaml >broken.yaml
expect 2 "how many figures" begin many.yaml
expect 2 "1 to 99" begin two.yaml -n 0
expect 2 "1 to 99" begin two.yaml -n many
expect 2 "say --temp 19.5 --rh 62" begin two.yaml --temp 20
mkdir -p "$HOME/.config/coatbell"
echo 'units: fahrenheit' >"$HOME/.config/coatbell/config.yaml"
expect 2 "say --temp 67 --rh 62" begin two.yaml --temp 70
rm "$HOME/.config/coatbell/config.yaml"
expect 2 "--use" begin two.yaml --use cloth
expect 2 "did you mean cloth?" begin two.yaml --use clth="Other"
expect 2 "--use medium=Gloss: only water stands in for medium" begin two.yaml --use medium=Gloss
expect 2 "--use retarder=water: nothing stands in for retarder" begin two.yaml --use retarder=water
expect 2 "did you mean Undercoat?" begin two.yaml --done Undercaot
expect 2 "" begin two.yaml --temp 99 --rh 50
expect 2 "" begin two.yaml --temp 20 --rh 101
expect 2 "" begin two.yaml --name "$(printf 'a\xff')"
expect 65 "broken.yaml:" begin broken.yaml
expect 74 "No such file" begin nowhere.yaml
expect 2 "which recipe" "$coatbell" begin
[ "$before" = "$("$coatbell" units --log log.db --json)" ] || fail "a refused call wrote"

# The list of units.
[ "$("$coatbell" units --log log.db | wc -l)" -eq 6 ] || fail "units lists another number"
"$coatbell" units --log log.db | grep -q '^Evening  *4  .* open$' || fail "Evening is not listed"
"$coatbell" units --log log.db | tail -1 | grep -q 'in front$' || fail "the last is not in front"
[ "$(printf '%s' "$before" | grep -o '"in_front":true' | wc -l)" -eq 1 ] || fail "front of many"
expect 74 "" "$coatbell" units --log absent.db
[ ! -e absent.db ] || fail "units made a log"

# What was done before is on, all its coats, for the one who opens the bench.
"$coatbell" begin --log done.db two.yaml --done Undercoat --done Clothes >out || fail "begin --done: $(cat out)"
"$coatbell" log export --log done.db >events || fail "log export"
[ "$(grep -c '"event":"coat_on".*"before":true' events)" -eq 6 ] || fail "done before: $(cat events)"
[ "$(grep -o '"press":"[^"]*"' events | sort -u | wc -l)" -eq 1 ] || fail "done before is a press of its own"
"$coatbell" log import --strict --log again.db events >/dev/null || fail "before does not come home"
"$coatbell" log export --log again.db | cmp -s - events || fail "before does not come home as it was"
sed 's/"before":true/"before":1/' events >odd
expect 65 "before: it takes true or false" "$coatbell" log import --strict --log odd.db odd

# Some figures first: the others are parked in the same press.
expect 0 "begun: Two of them, 4 figures, 7 stages; figure 1 first" begin two.yaml -n 4 --first 1 --log first.db
expect 0 "; figures 1 to 3 first" begin two.yaml -n 4 --first 3 --log other.db
expect 2 "--first 5: a whole number, 1 to the 4 figures there are" begin two.yaml -n 4 --first 5
expect 2 "--first 0" begin two.yaml --first 0
"$coatbell" log export --log first.db >events || fail "log export"
[ "$(grep -o '"event":"figure_parked".*' events | grep -o '"figure":[0-9]*' | tr '\n' ' ')" = \
    '"figure":2 "figure":3 "figure":4 ' ] || fail "parked from the first: $(cat events)"
[ "$(grep -o '"press":"[^"]*"' events | sort -u | wc -l)" -eq 1 ] || fail "parked by a press of its own"
"$coatbell" status --log first.db | grep -q 'on 1 ' || fail "status names another figure: $("$coatbell" status --log first.db)"

# Another pot and the air go into the log with the unit.
expect 0 "begun" begin two.yaml --use cloth="My blue" --temp 66.2F --rh 62%
if "$coatbell" log --help >/dev/null 2>&1; then
    "$coatbell" log export --log log.db >events || fail "log export"
    tail -3 events | grep -q '"event":"swapped".*"paint":"cloth".*"name":"My blue"' ||
        fail "no swap in the log"
    tail -3 events | grep -q '"event":"climate_set".*"temp_c":19,.*"rh_pct":62' ||
        fail "no climate in the log"
    [ "$(tail -3 events | grep -o '"press":"[^"]*"' | sort -u | wc -l)" -eq 1 ] ||
        fail "the events of one call are not one press"
fi

# So does water that stands in for medium.
expect 0 "begun" begin two.yaml --use medium=water --use cloth="My blue"
"$coatbell" log export --log log.db >events || fail "log export"
tail -2 events | grep -q '"event":"swapped".*"paint":"medium","name":"water","press"' || fail "no water for medium: $(tail -2 events)"
exit $failed
