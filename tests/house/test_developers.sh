#!/bin/bash
# SPDX-License-Identifier: MIT
# shellcheck disable=SC2016 # backticks of the document
# DEVELOPERS.md: each file, folder, library file and code name that it gives is there; its tables of floors
# and rooms are the folders of src, its table of tests those of tests.
set -u
cd "$CB_ROOT" || exit 1
page=DEVELOPERS.md
faults=0
fault() {
    echo "failed: $*"
    faults=$((faults + 1))
}
tr '\n' ' ' <$page | grep -oE '`[^` ]+`' | tr -d '`' | sort -u >"$TMPDIR/words"

# Paths from the top, or from src or tests; and files by their name alone; config.yaml is a painter's.
find . -path ./build -prune -o -print | sed 's|^\./||' >"$TMPDIR/tree"
grep -E '/|\.(c|h|sh|md|yaml)$' "$TMPDIR/words" | grep -vE '^build/|^config\.yaml$|NAME|[*=]|\.\.\.|^/' |
    sed 's|/$||' >"$TMPDIR/paths"
while read -r path; do
    grep -qxE "((src|tests|src/core/[a-z]+|src/[a-z]+|tests/[a-z]+)/)?${path//./\\.}" "$TMPDIR/tree" ||
        grep -qxE "${path//./\\.}\.(c|sh)" "$TMPDIR/tree" || fault "no such file or folder: $path"
done <"$TMPDIR/paths"
[ "$(wc -l <"$TMPDIR/paths")" -gt 60 ] || fault "few paths are given"

# Names of the code.
grep -oE '^(cb_[a-z_]+|CB_[A-Z_]+|X\([A-Z]+\))$' "$TMPDIR/words" | grep -v 'X(' >"$TMPDIR/names"
while read -r name; do
    grep -rqwF "$name" src tests Makefile || fault "no such name in the code: $name"
done <"$TMPDIR/names"

# table FROM: the first column of the table under that heading
table() {
    sed -n "/^| $1 | /,/^\$/p" $page | sed -n 's/^| `\([^`]*\)`.*/\1/p'
}
diff <(table floor | sed 's|^src/||; s|/$||' | sort) <(find src -mindepth 1 -maxdepth 1 -printf '%f\n' | sort) || fault "floors (<) and folders (>) differ"
diff <(table room | sort) <(find src/core -mindepth 1 -maxdepth 1 -printf '%f\n' | sort) || fault "rooms (<) and folders (>) differ"
sed -n '/^| folder | /,/^$/p' $page | sed -n '3,$s/^| \([^|]*\) |.*/\1/p' | grep -oE 'tests/[a-z]+' |
    sed 's|tests/||' | sort >"$TMPDIR/told"
find tests -mindepth 1 -maxdepth 1 -type d -printf '%f\n' | sort >"$TMPDIR/there"
diff "$TMPDIR/told" "$TMPDIR/there" || fault "tables of tests (<) and folders (>) differ"
[ "$faults" -eq 0 ]
