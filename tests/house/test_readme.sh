#!/bin/bash
# SPDX-License-Identifier: MIT
# shellcheck disable=SC2016,SC2013
# What the documents promise: the recipe of README.md loads, and every command and key they name
# is one.
set -eu
cd "$CB_ROOT"
coatbell=$CB_BUILD/coatbell
work=$(mktemp -d)

sed -n '/^```yaml$/,/^```$/p' README.md | grep -v '^```' >"$work/readme.yaml"
[ -s "$work/readme.yaml" ]
"$coatbell" check "$work/readme.yaml" >"$work/out" 2>&1 || {
    echo "the recipe of README.md is refused:"
    cat "$work/out"
    exit 1
}

"$coatbell" --help >"$work/help"
grep -ohE '`coatbell [a-z][a-z-]*' README.md DEVELOPERS.md | sort -u | sed 's/^`coatbell //' |
    while read -r command; do
        grep -qE "^ *(coatbell )?$command( |\$)" "$work/help" || {
            echo "README.md or DEVELOPERS.md names \`coatbell $command\`, --help does not"
            exit 1
        }
    done
for target in $(grep -ohE '`make [a-z][a-z-]*|^make [a-z]+' README.md DEVELOPERS.md |
    sed 's/^`*make //' | sort -u); do
    grep -qE "^([a-z -]* )?$target( [a-z -]*)?:" Makefile || {
        echo "make $target is named and is no target"
        exit 1
    }
done
