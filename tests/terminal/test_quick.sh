#!/bin/bash
# SPDX-License-Identifier: MIT
# The first minute of somebody who has no recipe: from the program's name to a coat that is timed in
# at most sixty keys, and nothing asked on the way. Then the same unit as a recipe.
set -u
# shellcheck source=tests/terminal/lib.sh
. "$(dirname "$0")/lib.sh"

most=60
pressed=0

# Every key is counted; text is a key a character.
press() {
    local key
    for key in "$@"; do
        case $key in
        Enter | Space | Tab) pressed=$((pressed + 1)) ;;
        *) pressed=$((pressed + ${#key})) ;;
        esac
        keys "$key"
    done
}

start 80x24 "$coatbell"
wait_for 'paint now, the recipe writes itself  i'
press Enter
wait_for 'such as oilskin green basecoat oilskin 2:1 x2'
press 'oilskin green bas'
wait_for '▸basecoat'
press Tab
press 'oilskin 2:1 x2'
wait_for 'Oilskin green, acrylic, basecoat on oilskin, 2 paint \+ 1 water, 2 coats, by'
press Enter
wait_for 'SPACE when Oilskin green is on figure 1'
[ -z "$(events answered)$(events climate_set)" ] || die "something was asked or told before the first coat"
press Space
wait_for 'usually dry .*, rings '
wait_for 'NEXT DRY'
[ "$pressed" -le "$most" ] || die "$pressed keys to the first coat, more than $most"
echo "$pressed keys to the first coat"

# What is pasted goes into the line, as far as its own first line goes.
keys i
wait_for 'New stage'
tm set-buffer $'oilskin green\tedge highlight hem\nwick white layer sleeve'
tm paste-buffer -p
wait_for 'New stage oilskin green edge highlight hem *$'
wait_for 'only the first line was taken'
keys Enter
wait_for 'stage 2 is now Oilskin green edge highlight'
keys q
wait_for 'ended with 0'
"$coatbell" write >"$TMPDIR/watch.yaml" || die "no recipe is written"
"$coatbell" check "$TMPDIR/watch.yaml" || die "the recipe is not sound"
grep -q 'name: Oilskin green edge highlight' "$TMPDIR/watch.yaml" || die "a stage is lost"
