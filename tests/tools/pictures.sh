#!/bin/bash
# SPDX-License-Identifier: MIT
# Usage: tests/seal.sh tests/tools/pictures.sh FOLDER
# Makes every picture of man/pictures anew, from the screens of the release build, in FOLDER.
set -eu
folder=$(realpath "$1")
coatbell=$CB_BUILD/coatbell
work=$(mktemp -d)
cd "$work"
for script in "$CB_ROOT"/man/pictures/*.play; do
    rm -f night-watch.db*
    "$coatbell" demo --history night-watch.db >/dev/null
    "$coatbell" play "$script"
done
# The pictures of this tree are under its licence; what the step draws for others is theirs.
sed -i '1s|$|\n<!-- SPDX-License-Identifier: MIT -->|' ./*.svg
install -m 644 ./*.svg "$folder"
