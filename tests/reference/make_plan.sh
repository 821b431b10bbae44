#!/bin/sh
# SPDX-License-Identifier: MIT
# Fresh small instances of the plan, proved by MiniZinc with gecode: how far `coatbell plan` is from
# the optimum, and that no bound lies above it. Proves the kept ones (plan/m*.json) again. With KEEP=1
# it keeps what it proves. Usage: make_plan.sh [FIRST [LAST]]   (seeds; 1 to 60)
set -u
cd "$(dirname "$0")/../.." || exit 1
tool=build/release/tests/tools/make_plan
[ -x "$tool" ] || {
    echo "$tool is not there: make tools" >&2
    exit 1
}
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
seed=${1:-1}
while [ "$seed" -le "${2:-60}" ]; do
    # A home without a log: nothing is learned.
    told=$(HOME="$work" XDG_DATA_HOME="$work" "$tool" data "$seed" "$work") || exit 1
    tasks=${told%% *}
    if [ "$tasks" -ge 6 ] && [ "$tasks" -le 25 ]; then
        minizinc --solver gecode --time-limit 20000 tests/reference/plan.mzn "$work/plan.dzn" \
            >"$work/said" 2>/dev/null
        optimum=$(awk '/^[0-9]+$/ { last = $1 / 2 } /^==========$/ { proved = last } END { print proved }' "$work/said")
        kept=tests/reference/plan/m$seed.json
        had=
        [ -e "$kept" ] && had=$(sed -n 's/.*"optimum_min": \([0-9.]*\),.*/\1/p' "$kept")
        if [ -n "$optimum" ]; then
            echo "$seed $told $optimum ${had:--}"
            [ "${KEEP:-}" = 1 ] && HOME="$work" XDG_DATA_HOME="$work" "$tool" keep "$seed" tests/reference/plan "$optimum" &&
                rm -f tests/reference/plan/plan.yaml
        fi
    fi
    seed=$((seed + 1))
done | awk '
    {
        gap = 100 * ($3 / $6 - 1); sum += gap; count++
        worst = gap > worst ? gap : worst
        order += 100 * ($5 / $6 - 1)
        above += $4 > $6 + 1e-6
        wrong += gap < -1e-6 || ($7 != "-" && $7 != $6)
        again += $7 != "-"
        printf "seed %d, %d tasks: optimum %g, plan %g (+%.2f %%), bound %g, in order %g\n", $1, $2, $6, $3, gap, $4, $5
    }
    END {
        if (count == 0) { print "nothing was proved"; exit 1 }
        printf "plan: %d fresh instances proved, %d of them kept before; above the optimum %.3f %% (worst %.2f), in order %.1f %%; bounds above it: %d\n",
               count, again, sum / count, worst, order / count, above
        exit wrong > 0 || above > 0 || sum / count > 0.3 || worst > 1.5
    }'
