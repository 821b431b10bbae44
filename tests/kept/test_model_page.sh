#!/bin/bash
# SPDX-License-Identifier: MIT
# The numbers of coatbell-model(7) are those of the program: every line of the page under a
# directive  .\"= CALL | FIELD | FORMAT  holds the program's answer, in the order of the
# directives. FIELD may be a quotient, A/B.
set -u
page=${CB_ROOT:-.}/man/coatbell-model.7
program=${CB_BUILD:-build/release}/coatbell
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
faults=0
numbers=0

cat >"$work/basecoat.yaml" <<'RECIPE'
coatbell: 1
name: Ten lamplighters
figures: 10
height: 32 mm
paints: {green: {name: Oilskin green, kind: acrylic}}
stages:
  - {name: Oilskins, technique: basecoat, mix: 2 green + 1 water}
RECIPE

field() { # NAME ANSWER: the first number under that name
    printf '%s' "$2" | sed -n "s/.*[{,]\"$1\":\(-\{0,1\}[0-9][0-9.eE+-]*\).*/\1/p"
}

wanted=()
while IFS= read -r line; do
    if [[ $line == '.\"= '* ]]; then
        IFS='|' read -r call name format <<<"${line#'.\"= '}"
        call=${call% }
        name=${name// /}
        format=${format// /}
        eval "set -- ${call//BASECOAT/\"\$work/basecoat.yaml\"}" # the page escapes its blanks
        answer=$("$program" "$@" --json) || { echo "failed: coatbell $call"; exit 1; }
        top=$(field "${name%/*}" "$answer")
        below=1
        [[ $name == */* ]] && below=$(field "${name#*/}" "$answer")
        if [ -z "$top" ] || [ -z "$below" ]; then
            echo "no number $name: coatbell $call"
            exit 1
        fi
        wanted+=("$(awk -v a="$top" -v b="$below" -v f="$format" 'BEGIN { printf f, a / b }')")
        continue
    fi
    rest=" $line "
    for number in "${wanted[@]}"; do
        numbers=$((numbers + 1))
        if [[ $rest =~ [^0-9.]"$number"([^0-9.]|\.[^0-9]) ]]; then
            rest=" ${rest#*"$number"}"
        else
            echo "the program says $number, the page: $line"
            faults=$((faults + 1))
        fi
    done
    wanted=()
done <"$page"

[ "$numbers" -ge 60 ] || { echo "only $numbers numbers found on the page"; exit 1; }
[ "$faults" -eq 0 ]
