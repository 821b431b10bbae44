#!/bin/bash
# SPDX-License-Identifier: MIT
# R reads the file again that the unit was begun by, wherever it lies, and says what is wrong in it,
# or what differs: then ENTER takes it and ESC leaves it.
set -u
. tests/terminal/lib.sh

quick_recipe
mkdir "$TMPDIR/afar"
mv "$TMPDIR/quick.yaml" "$TMPDIR/afar/quick.yaml"
fresh 80x24 "cd /; $coatbell begin $TMPDIR/afar/quick.yaml --temp 23 --rh 50; echo \"ended with \$?\"; exec sleep 600"
do_not_know
wait_for 'SPACE when'
keys R
wait_for 'the recipe is as it was'
sed -i 's/name: Tarred rope/name: Kelp rope/' "$TMPDIR/afar/quick.yaml"
keys R
wait_for 'rope: Kelp rope instead of Tarred rope'
keys Escape
wait_for 'the recipe stays as it was'
wait_for 'SPACE when Tarred rope is on figure 1'
keys R
wait_for 'rope: Kelp rope instead of Tarred rope'
keys Enter
wait_for 'rope: Kelp rope instead of Tarred rope; BKSP takes it back'
wait_for 'SPACE when Kelp rope is on figure 1'
sed -i 's/technique: layer/technique: layr/' "$TMPDIR/afar/quick.yaml"
keys R
wait_for 'quick.yaml:13:.*layr'
keys q
wait_for 'ended with 0'

# The next day it is found by its name in the current folder, broken or not.
fresh 80x24 "cd $TMPDIR/afar; $coatbell; echo \"ended with \$?\"; exec sleep 600"
wait_for 'SPACE when Kelp rope is on figure 1'
keys R
wait_for 'quick.yaml:13:.*layr'
sed -i 's/technique: layr/technique: glaze/; s/^name: .*/name: "Quick watch" # by night/' "$TMPDIR/afar/quick.yaml"
keys R
wait_for 'Layer: glaze instead of layer'
keys Enter
wait_for 'Layer: glaze instead of layer; BKSP takes it back'
printf '  - {name: [\n' >>"$TMPDIR/afar/quick.yaml" # no YAML at all
keys R
wait_for 'quick.yaml:[0-9]*:'
echo 'milk, bread' >"$TMPDIR/afar/quick.yaml"
keys R
wait_for 'that is no recipe: quick.yaml:1:'
rm "$TMPDIR/afar/quick.yaml"
keys R
wait_for 'no recipe file of that name is found: Quick watch'
keys q
wait_for 'ended with 0'
