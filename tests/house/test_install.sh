#!/bin/bash
# SPDX-License-Identifier: MIT
# make install puts exactly these files there, the program runs from there with a cleared
# environment, and make uninstall takes all of them away. For packagers: DESTDIR, another PREFIX.
set -eu
cd "$CB_ROOT"
make=${MAKE:-make}
dest=$TMPDIR/dest
prefix=/usr/local # another PREFIX would build the program anew under the other tests' feet

"$make" -s FLAVOUR=release DESTDIR="$dest" PREFIX=$prefix install >"$TMPDIR/out"

{
    echo "755 bin/coatbell"
    echo "755 libexec/coatbell/coatbell-bell"
    echo "644 share/doc/coatbell/LICENSE"
    for file in shared/*; do echo "644 share/coatbell/${file#shared/}"; done
    for file in recipes/*.yaml; do echo "644 share/coatbell/$file"; done
    for page in man/*.[1-9]; do
        [ -e "$page" ] && echo "644 share/man/man${page##*.}/${page#man/}"
    done
} | sort >"$TMPDIR/wanted"
(cd "$dest$prefix" && find . -type f -printf '%m %P\n' | sort) >"$TMPDIR/found"
diff "$TMPDIR/wanted" "$TMPDIR/found"
[ "$(cd "$dest" && find . -type f | wc -l)" -eq "$(wc -l <"$TMPDIR/wanted")" ]

# From another folder, moved, with nothing in the environment.
mv "$dest$prefix" "$TMPDIR/moved"
(
    cd /
    env -i "$TMPDIR/moved/bin/coatbell" --version
    env -i "$TMPDIR/moved/bin/coatbell" check "$TMPDIR/moved/share/coatbell/recipes/"*.yaml
)
ln -s "$TMPDIR/moved/bin/coatbell" "$TMPDIR/link"
(cd / && env -i "$TMPDIR/link" check "$TMPDIR/moved/share/coatbell/recipes/night-watch.yaml")
# No trace of the folder it was built in.
if grep -qaF "$CB_ROOT/" "$TMPDIR/moved/bin/coatbell" "$TMPDIR/moved/libexec/coatbell/coatbell-bell"; then
    echo "the folder of the build is in the program"
    exit 1
fi
mkdir -p "$dest$(dirname $prefix)"
mv "$TMPDIR/moved" "$dest$prefix"

"$make" -s FLAVOUR=release DESTDIR="$dest" PREFIX=$prefix uninstall >"$TMPDIR/out"
left=$(cd "$dest" && find . -type f)
[ -z "$left" ] || {
    echo "left after uninstall: $left"
    exit 1
}
[ ! -e "$dest$prefix/share/coatbell" ] && [ ! -e "$dest$prefix/libexec/coatbell" ]
