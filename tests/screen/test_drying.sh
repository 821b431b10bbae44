#!/bin/bash
# SPDX-License-Identifier: MIT
# Films under changing air, on the screen and in the log: drying/*.play.
set -u
program=${CB_BUILD:-build/release}/coatbell
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
faults=0

pinged() { # SCRIPT: minutes from the coat to its ping, by the log; all on one day
    cp tests/screen/drying/one-film.yaml "$work"
    { cat "tests/screen/drying/$1"; echo "export $work/log"; } >"$work/$1"
    "$program" play "$work/$1" || return 1
    grep -c '"event":"pinged"' "$work/log" | grep -qx 1 || { echo "$1: not one ping" >&2; return 1; }
    awk -F'"' '
        function minutes(t) { return substr(t, 12, 2) * 60 + substr(t, 15, 2) + substr(t, 18, 6) / 60 }
        { for (i = 1; i < NF; i++) { if ($i == "at") at = $(i + 2); if ($i == "due_at") due = $(i + 2) } }
        /"event":"coat_on"/ { on = at }
        /"event":"pinged"/ { print minutes(due) - minutes(on) }' "$work/log"
}

within() { # WHAT VALUE LOW HIGH
    awk -v v="$2" -v l="$3" -v h="$4" 'BEGIN { exit !(v != "" && v >= l && v <= h) }' || {
        echo "$1: $2, wanted $3 to $4"
        faults=$((faults + 1))
    }
}

within "10 min at 23/50, then 23/80" "$(pinged changing.play)" 36.0 36.8 # arithmetic on k
within "5 min, held two hours, then 15" "$(pinged held.play)" 139.99 140.01
"$program" play tests/screen/drying/garage.play || faults=$((faults + 1))
[ "$faults" -eq 0 ]
