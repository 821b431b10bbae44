#!/bin/bash
# SPDX-License-Identifier: MIT
# make install puts there just the files that DEVELOPERS.md lists, the program runs from there with a
# cleared environment, and make uninstall takes all of them away. For packagers: DESTDIR, another PREFIX.
set -eu
cd "$CB_ROOT"
make=${MAKE:-make}
dest=$TMPDIR/dest
prefix=/usr/local
fail() {
    echo "$*"
    exit 1
}

# shellcheck disable=SC2016
sed -n '/^## Installing/,/^## Tests/{/^```$/,/^```$/p}' DEVELOPERS.md | grep -v '^```' |
    sed -E '/^(bin|libexec)\//s/^/755 /; /^share/s/^/644 /' | sort >"$TMPDIR/wanted"
[ "$(grep -c ^755 "$TMPDIR/wanted")" -eq 2 ] || fail "no list in DEVELOPERS.md"

# installed OUT PREFIX WHERE: there, all of it and nothing else.
installed() {
    "$make" -s FLAVOUR=release OUT="$1" DESTDIR="${3%"$2"}" PREFIX="$2" install >"$TMPDIR/out"
    (cd "$3" && find . -type f -printf '%m %P\n' | sort) >"$TMPDIR/found"
    diff "$TMPDIR/wanted" "$TMPDIR/found" || fail "< DEVELOPERS.md, > make install"
    diff <(sed 's|^... ||' "$TMPDIR/wanted" | sort) <(sed -n "s|^  install $3/||p" "$TMPDIR/out" | sort) ||
        fail "what it says is not what it does"
}
# uninstalled OUT PREFIX WHERE: gone, and what was another's is not.
uninstalled() {
    "$make" -s FLAVOUR=release OUT="$1" DESTDIR="${3%"$2"}" PREFIX="$2" uninstall >"$TMPDIR/out"
    local left
    left=$(cd "$3" && find . -type f ! -name other)
    [ -z "$left" ] || fail "left after uninstall: $left"
    [ -e "$3/share/man/man1/other" ] || fail "uninstall took another's file"
}
# runs PROGRAM FOLDER: with the data of that folder.
runs() {
    (
        cd /
        env -i "$1" --version >/dev/null
        env -i "$1" check "$2/share/coatbell/recipes/"*.yaml
        env -i HOME="$HOME" strace -f -qq -e trace=openat,execve -o "$TMPDIR/trace" "$1" dry acrylic \
            --dry 0.01 --temp 23 --rh 50 --ring >/dev/null
    )
    grep -q "\"$2/share/coatbell/kinds.yaml\"" "$TMPDIR/trace" || fail "$1: not its own kinds.yaml"
    grep -q "execve(\"$2/libexec/coatbell/coatbell-bell\"" "$TMPDIR/trace" || fail "$1: not its own bell"
}

installed build/release $prefix "$dest$prefix"
# Nothing of what is to be handed out was forgotten in both lists.
find "$dest" -type f -exec sha256sum {} + >"$TMPDIR/sums"
find shared recipes man -type f ! -name CHANGES.md ! -path 'man/pictures/*' -exec sha256sum {} + |
    while read -r sum file; do
        grep -q "^$sum " "$TMPDIR/sums" || fail "$file is not installed"
    done
# Moved, and by a link.
mv "$dest$prefix" "$TMPDIR/moved"
runs "$TMPDIR/moved/bin/coatbell" "$TMPDIR/moved"
ln -s "$TMPDIR/moved/bin/coatbell" "$TMPDIR/link"
runs "$TMPDIR/link" "$TMPDIR/moved"
# Where a shell looks for completions by itself, and with the recipes that lie there.
found=$(XDG_DATA_DIRS="$TMPDIR/moved/share" PATH="$TMPDIR/moved/bin:$PATH" fish -c "complete -C 'coatbell begin nig'")
[ "$found" = night-watch ] || fail "fish: $found"
# No trace of the folder it was built in.
if grep -qaF "$CB_ROOT/" "$TMPDIR/moved/bin/coatbell" "$TMPDIR/moved/libexec/coatbell/coatbell-bell"; then
    fail "the folder of the build is in the program"
fi
mv "$TMPDIR/moved" "$dest$prefix"
touch "$dest$prefix/share/man/man1/other"
uninstalled build/release $prefix "$dest$prefix"
left=$(find "$dest" -type d -name coatbell )
[ -z "$left" ] || fail "folders left after uninstall: $left"

# Another PREFIX, without DESTDIR, with a blank in its name, in a copy of the build: the program finds its
# data there from elsewhere, too.
mkdir "$TMPDIR/build"
(cd build/release && find . \( -name "*.[oa]" -o -name code_sum \) ! -path "./tests/*" -exec cp -p --parents -t "$TMPDIR/build" {} +)
other="$TMPDIR/opt/coat bell"
installed "$TMPDIR/build" "$other" "$other"
runs "$other/bin/coatbell" "$other"
mkdir "$TMPDIR/far"
cp "$other/bin/coatbell" "$TMPDIR/far/"
runs "$TMPDIR/far/coatbell" "$other"
touch "$other/share/man/man1/other" "$other/share/coatbell/other"
uninstalled "$TMPDIR/build" "$other" "$other"
[ -e "$other/share/coatbell/other" ] || fail "uninstall took a folder with a file of another's"
