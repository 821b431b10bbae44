#!/bin/bash
# SPDX-License-Identifier: MIT
# A figure's name stands beside its number: bench, glance, rack, set-out, review on the screen, as
# text, JSON and page; a name too long for its place makes room for what must be read.
set -u
coatbell=${CB_BUILD:-build/release}/coatbell
recipe=$PWD/tests/screen/sash.yaml
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
cd "$work" || exit 1
faults=0

fault() {
    echo "$*"
    faults=$((faults + 1))
}

has() {
    grep -qF -- "$1" "$2" || fault "$2: no $1"
}

cat >play <<EOF
begin $recipe
size 50x15
expect FIGURES
key SPACE
key SPACE
at +30m
expect FIGURE Serjeant Oake
size 120x40
expect FIGURE Serjeant Oake
expect ready, Serjeant Oake
expect ready, Rill
view glance
expect FIGURE Serjeant Oake
size 40x12
expect FIGURE
refuse Oake
size 120x40
view bench
key SPACE
at +3m
key RIGHT
key RIGHT
expect FIGURE Rill
key SPACE
at +1m
view rack
expect NAME
expect Serjeant Oake
expect Rill
size 80x24
refuse Rill
view review
key END
expect 1 Serjeant Oake
expect 4 Rill
export log.jsonl
EOF
"$coatbell" play play || fault "the screens"
# Recipes of one name are told apart by their files.
cp "$recipe" one.yaml
"$coatbell" log import log.jsonl --log alike.db >/dev/null || fault "import"
cat >alone <<EOF
open alike.db
size 120x40
key o
expect Sluice wardens
refuse one.yaml
EOF
cat >alike <<EOF
open alike.db
size 120x40
key o
expect one.yaml  4 figures
expect two.yaml  4 figures
EOF
"$coatbell" play alone || fault "a recipe with a name of its own"
cp "$recipe" two.yaml
"$coatbell" play alike || fault "recipes of one name"
"$coatbell" set-out "$recipe" >laid-out
has "Figures with a name: 1 Serjeant Oake, 4 Rill" laid-out
names='"names":[{"figure":1,"name":"Serjeant Oake"},{"figure":4,"name":"Rill"}]'
"$coatbell" set-out "$recipe" --json >laid-out.json
has "$names" laid-out.json
"$coatbell" set-out "$recipe" -n 3 --json >fewer.json
has '"names":[{"figure":1,"name":"Serjeant Oake"}]' fewer.json
"$coatbell" --log log.db log import log.jsonl >out || fault "the log"
"$coatbell" --log log.db review >reviewed
"$coatbell" --log log.db review --html page.html >out
has "1 Serjeant Oake" reviewed
has '>1 Serjeant Oake</th>' page.html
"$coatbell" --log log.db review --json >review.json
has "$names" review.json
grep -v '^names' "$recipe" >nameless.yaml
"$coatbell" set-out nameless.yaml | grep "with a name" && fault "names where there are none"

# So long that the paint would have no room: the number alone.
sed 's/Serjeant Oake/Underlockkeeper Oake of the Outer Sluices/' "$recipe" >long.yaml
cat >play <<EOF
begin long.yaml
key SPACE
key SPACE
at +30m
size 80x24
expect FIGURE Underlockkeeper Oak…
size 40x12
refuse Underlockkeeper
EOF
"$coatbell" play play || fault "a long name"
[ "$faults" -eq 0 ]
