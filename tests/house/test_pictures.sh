#!/bin/bash
# SPDX-License-Identifier: MIT
# The pictures in man/pictures are the screens of today: made anew they are the same bytes, and
# each is small. `make pictures` makes them again.
set -eu
cd "$CB_ROOT"
faults=0
mkdir "$TMPDIR/anew" "$TMPDIR/kept"
cp man/pictures/*.svg "$TMPDIR/kept"
tests/tools/pictures.sh "$TMPDIR/anew"
diff -r "$TMPDIR/kept" "$TMPDIR/anew" >"$TMPDIR/differs" || {
    head -c 3000 "$TMPDIR/differs"
    echo "the screens have changed; make pictures, and look at them"
    faults=1
}
for name in bench board road review; do
    [ -s "$TMPDIR/anew/$name.svg" ] || { echo "no picture of the $name"; faults=1; }
done
for picture in man/pictures/*.svg; do
    [ "$(stat -c %s "$picture")" -lt 65536 ] || { echo "$picture: 64 KiB or more"; faults=1; }
    if command -v xmllint >/dev/null; then
        xmllint --noout "$picture" || faults=1
    fi
done
exit $faults
