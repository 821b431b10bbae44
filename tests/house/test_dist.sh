#!/bin/bash
# SPDX-License-Identifier: MIT
# Usage: tests/house/test_dist.sh [builds]
# make dist packs what is tracked and nothing else, the same bytes twice. The archive, unpacked in another
# folder without git, is what lies here. `builds`, for make sweep: in another language and zone it builds, to the very
# bytes that were built here, and its own tests pass.
set -u
cd "$CB_ROOT" || exit 1
make=${MAKE:-make}
fail() {
    echo "$*"
    exit 1
}
"$make" -s FLAVOUR=release programs >/dev/null || fail "does not build here"
version=$(build/release/coatbell --version | sed 's/.* //')
archive=$TMPDIR/one.tar.gz

"$make" -s dist >"$TMPDIR/out" || fail "no archive"
[ "$(cat "$TMPDIR/out")" = "build/coatbell-$version.tar.gz" ] || fail "says $(cat "$TMPDIR/out")"
mv "build/coatbell-$version.tar.gz" "$archive"
(umask 077 && "$make" -s dist) >/dev/null || fail "no second archive"
cmp "$archive" "build/coatbell-$version.tar.gz" || fail "two archives"
if [ -e .git ] && command -v git >/dev/null; then
    git -c safe.directory='*' ls-files
else
    find . -type f ! -path './build/*' | cut -c3-
fi | sort >"$TMPDIR/wanted"
[ "$(wc -l <"$TMPDIR/wanted")" -gt 900 ] || fail "where are they?"
tar tf "$archive" | sed "s|^coatbell-$version/||" | sort >"$TMPDIR/found"
diff "$TMPDIR/wanted" "$TMPDIR/found" || fail "< tracked, > in the archive"
[ "$(tar tvf "$archive" | awk '{ print $2, $4, $5 }' | sort -u | wc -l)" -eq 1 ] || fail "more than one owner or time"

away="$TMPDIR/another place/further down"
mkdir -p "$away"
tar xf "$archive" -C "$away"
cd "$away/coatbell-$version" || fail "does not unpack"
while read -r file; do
    cmp -s "$file" "$CB_ROOT/$file" || fail "$file: another"
    [ ! -x "$CB_ROOT/$file" ] || [ -x "$file" ] || fail "$file: not to be run"
done <"$TMPDIR/wanted"
[ "${1:-}" = builds ] || exit 0
env TZ=Asia/Kathmandu LC_ALL=C "$make" -s -j2 all build/release/tests/unit/base/test_time build/release/tests/tools/make_completions \
    >"$TMPDIR/out" 2>&1 || fail "does not build: $(tail -n 20 "$TMPDIR/out")"
for program in coatbell coatbell-bell; do
    cmp "build/release/$program" "$CB_ROOT/build/release/$program" || fail "$program: two builds, not the same bytes"
done
for shell in bash zsh fish; do
    build/release/tests/tools/make_completions "$shell" <"shared/completions/coatbell.$shell" |
        cmp - "$CB_ROOT/shared/completions/coatbell.$shell" || fail "the completion of $shell is another"
done
for test in build/release/tests/unit/base/test_time "bash tests/house/test_version.sh" \
    "bash tests/house/test_readme.sh" "bash tests/house/test_layers.sh" "bash tests/screen/test_screens.sh"; do
    # shellcheck disable=SC2086
    tests/seal.sh $test >"$TMPDIR/out" 2>&1 || fail "$test: $(tail -n 20 "$TMPDIR/out")"
done
