#!/bin/bash
# SPDX-License-Identifier: MIT
# Is "still to go" as sure of itself as it says? Logs of painters whose true minutes are known
# (tests/tools/make_hours.c) go in, `review --json` comes out: how often its 80 % interval holds what
# the rest took, before the start and after 3, 6 and 9 of 11 stages; beside it how wide it is, the
# high end over the low. Usage: test_hours.sh [PAINTERS [SEED]]; `make sweep` has two hundred.
set -u
coatbell=${CB_BUILD:-build/release}/coatbell
make_hours=${CB_BUILD:-build/release}/tests/tools/make_hours
painters=${1:-50}
room=$((painters < 200 ? 6 : 0)) # for chance, in points: fewer say less
seed=${2:-20260105}
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
faults=0

share() { # SITTING STAGE DONE: "83 2.4", % held and width
    "$make_hours" "$1" "$2" "$3" "$painters" "$seed" >"$work/log.jsonl" 2>"$work/truth" &&
        rm -f "$work"/log.db* &&
        "$coatbell" log import "$work/log.jsonl" --log "$work/log.db" >/dev/null &&
        "$coatbell" review --all --json --log "$work/log.db" >"$work/review" || return 1
    sed 's/{"unit":"/\n&/g' "$work/review" |
        sed -n 's/^{"unit":"[^"]*","name":"\([^"]*\)".*"to_go":{[^}]*"low_min":\([^,}]*\),"high_min":\([^,}]*\).*/\1 \2 \3/p' |
        paste -d' ' "$work/truth" - |
        awk -v painters="$painters" '
            $2 $3 == $5 $6 { n++; held += $4 >= $7 && $4 <= $8; wide += log($8 / $7) }
            END { if (n != painters) exit 1; printf "%.1f %.2f\n", 100 * held / n, exp(wide / n) }'
}

hold() { # WHAT SITTING STAGE LOW HIGH
    local row="" stages answer
    for stages in 0 3 6 9; do
        answer=$(share "$2" "$3" $stages) || {
            echo "$1, after $stages stages: no answer"
            faults=$((faults + 1))
            continue
        }
        row+=$(printf '  %5s (x %s)' "${answer% *}" "${answer#* }")
        awk -v v="${answer% *}" -v l="$(($4 - room))" -v h="$(($5 + room))" \
            'BEGIN { exit !(v >= l && v <= h) }' || {
            echo "$1, after $stages stages: holds ${answer% *} %, wanted $4 to $5"
            faults=$((faults + 1))
        }
    done
    printf '%-42s%s\n' "$1" "$row"
}

printf '%-42s  %s\n' "80 % of $painters painters, after" \
    "0 stages       3              6              9"
hold "no sitting, minutes right" 0 0 70 100
hold "sittings sd .2" .2 0 70 95
hold "sittings sd .3" .3 0 70 95
hold "minutes wrong by sd .3 a stage" 0 .3 70 95
hold "sittings sd .2, minutes wrong by sd .3" .2 .3 70 95
hold "sittings sd .3, minutes wrong by sd .3" .3 .3 70 95
[ "$faults" -eq 0 ]
