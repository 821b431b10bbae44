#!/bin/bash
# SPDX-License-Identifier: MIT
# Work without paint is work: its hands-on minutes stand in the review, and count in what is to go.
set -u
coatbell=${CB_BUILD:-build/release}/coatbell
guards=$PWD/tests/screen/guards.yaml
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
cd "$work" || exit 1
faults=0

fault() {
    echo "$*"
    faults=$((faults + 1))
}

# review SCRIPT: plays it, imports what it wrote into a log of its own, and reviews that.
review() {
    "$coatbell" play "$1" || fault "$1: does not play"
    "$coatbell" --log "$1.db" log import log.jsonl >out || fault "$1: does not import"
    "$coatbell" --log "$1.db" review --json
}

# to_go FILE: the median of the minutes to go.
to_go() {
    sed 's/.*"to_go":{"median_min":\([0-9.]*\).*/\1/' "$1"
}

# A shield on its stick, in order; a prime number of minutes each. The transfer waits twenty.
cat >shield.yaml <<'EOF'
coatbell: 1
name: A shield
figures: 1
areas: {shield: {apart: yes}}
stages:
  - {name: Mould lines, technique: prepare, on: shield, minutes: 7}
  - {name: Rim masked, technique: mask, on: shield, minutes: 5}
  - {name: Mask off, technique: unmask, on: shield, minutes: 2}
  - {name: Badge, technique: transfer, on: shield, minutes: 3}
  - {name: Shield on, technique: join, on: shield, minutes: 11, wait: 5}
EOF
cat >all <<'EOF'
begin shield.yaml
key SPACE
at +7m
expect SPACE when Mould lines is done on figure 1
key SPACE
at +5m
expect SPACE when Rim masked is done on figure 1
key SPACE
at +2m
expect SPACE when Mask off is done on figure 1
key SPACE
at +3m
expect SPACE when Badge is done on figure 1
key SPACE
expect Badge done on 1 at 18:17
expect waits until 18:37
at +20m
at +11m
expect SPACE when Shield on is done on figure 1
key SPACE
expect every coat is on
view rack
expect waits until 18:53
export log.jsonl
EOF
review all >all.json
for row in 'Mould lines","technique":"prepare","coats":1,"planned_min":7,"hands_on_min":7,' \
    'Rim masked","technique":"mask","coats":1,"planned_min":5,"hands_on_min":5,' \
    'Mask off","technique":"unmask","coats":1,"planned_min":2,"hands_on_min":2,' \
    'Badge","technique":"transfer","coats":1,"planned_min":3,"hands_on_min":3,' \
    'Shield on","technique":"join","coats":1,"planned_min":11,"hands_on_min":11,'; do
    grep -qF "$row" all.json || fault "review: no $row"
done
grep -qF '"figures_min":[28]' all.json || fault "review: not 28 min on figure 1"
grep -qF '"change_min":0,"waiting_min":20,' all.json || fault "review: not the badge's 20 min waited"

# Of the ferry guards, what is not paint counts in what is to go: 16 min of it by the recipe.
printf 'begin %s\nkey SPACE\nat +6m\nkey SPACE\nexport log.jsonl\n' "$guards" >with
review with >with.json
awk 'function flush() { if (!(stage ~ /technique: (mask|unmask|transfer)/)) printf "%s", stage; stage = "" }
    /^  - name/ { flush() }
    /^  - name/ || stage != "" { if (!/after:/) stage = stage $0 "\n"; next }
    { print }
    END { flush() }' "$guards" >less.yaml
printf 'begin less.yaml\nkey SPACE\nat +6m\nkey SPACE\nexport log.jsonl\n' >less
review less >less.json
awk -v more="$(to_go with.json)" -v less="$(to_go less.json)" 'BEGIN { exit !(more > less + 10) }' ||
    fault "to go: $(to_go with.json) min with mask, unmask and transfer, $(to_go less.json) without"
[ "$faults" -eq 0 ]
