#!/bin/sh
# SPDX-License-Identifier: MIT
# Makes the reference figures again with the outside tools that are there: R (with survival and
# fitdistrplus), JAGS, MiniZinc (with gecode), node. Says of each file which tool made its figures
# again, and how far what it printed agrees with what the tests hold. The tests need none of this.
set -u
cd "$(dirname "$0")" || exit 1
failed=

have() {
    command -v "$1" >/dev/null 2>&1 && return 0
    echo "-- $2: $1 is not there"
    return 1
}

# agreed SCRIPT TOOL TESTS...: every figure on standard input stands in the tests, as nearly as it is
# written there; says how many do, and how far off the furthest is.
agreed() {
    script=$1 tool=$2
    shift 2
    tee "$figures"
    awk -v script="$script" -v tool="$tool" -v tests="$*" '
        function numbers(line, list,   n) {
            n = 0
            while (match(line, /-?[0-9]*[.][0-9]+/)) {
                list[++n] = substr(line, RSTART, RLENGTH) + 0
                line = substr(line, RSTART + RLENGTH)
            }
            return n
        }
        FILENAME != ARGV[ARGC - 1] { n = numbers($0, own); for (i = 1; i <= n; i++) kept[++all] = own[i]; next }
        { n = numbers($0, own); for (i = 1; i <= n; i++) made[++count] = own[i] }
        END {
            for (m = 1; m <= count; m++) {
                best = 1
                for (k = 1; k <= all; k++) {
                    size = made[m] < 0 ? -made[m] : made[m]
                    off = made[m] - kept[k]
                    off = (off < 0 ? -off : off) / (size > 1e-12 ? size : 1)
                    best = off < best ? off : best
                }
                if (best < 1e-2) { held++; worst = best > worst ? best : worst }
            }
            printf "%s: made again by %s; %d of its %d figures stand in %s, the furthest %.1g off\n",
                   script, tool, held, count, tests, worst
            exit held == 0
        }' "$@" "$figures"
}

figures=$(mktemp)
trap 'rm -f "$figures"' EXIT

for script in *.R; do
    have Rscript "$script" || continue
    lacking=
    # shellcheck disable=SC2013
    for library in $(sed -n 's/.*library(\([a-z]*\)).*/\1/p' "$script"); do
        Rscript -e "quit(status = !requireNamespace('$library', quietly = TRUE))" >/dev/null 2>&1 ||
            lacking="$lacking $library"
    done
    if [ -n "$lacking" ]; then
        echo "-- $script: R has no$lacking (Debian: r-cran-$library)"
        continue
    fi
    case $script in
    make_hours.R) tests=test_hours.c ;;
    make_learn_survreg.R | make_learn_fitdistrplus.R) tests=test_learn_likelihood.c ;;
    *) tests=test_learn.c ;;
    esac
    echo "== $script"
    # shellcheck disable=SC2016 # R's own
    version=$(Rscript -e 'cat(R.version$major, R.version$minor, sep = ".")')
    # The scripts name their data from the top of the tree.
    (cd ../.. && Rscript "tests/reference/$script") | agreed "$script" "R $version" "$tests" ||
        failed="$failed $script"
done

if have jags make_learn_jags.sh; then
    echo "== make_learn_jags.sh"
    sh make_learn_jags.sh | agreed make_learn_jags.sh JAGS test_learn.c ||
        failed="$failed make_learn_jags.sh"
fi

if have node make_two_climates.mjs; then
    echo "== make_two_climates.mjs"
    node make_two_climates.mjs | agreed make_two_climates.mjs "node $(node --version)" test_two_climates.c ||
        failed="$failed make_two_climates.mjs"
fi

if have minizinc make_plan.sh; then
    echo "== make_plan.sh"
    sh make_plan.sh || failed="$failed make_plan.sh"
fi

if have npm psychrolib_grid.mjs && have node psychrolib_grid.mjs; then
    echo "== psychrolib_grid.mjs"
    work=$(mktemp -d)
    trap 'rm -rf "$work" "$figures"' EXIT
    cp psychrolib_grid.mjs "$work"
    if (cd "$work" && npm install --silent psychrolib@1.1.1 >/dev/null 2>&1); then
        if (cd "$work" && node psychrolib_grid.mjs) | diff -q - psychrolib_grid.txt; then
            echo "psychrolib_grid.txt: made again by psychrolib 1.1.1, to the byte"
        else
            failed="$failed psychrolib_grid.mjs"
        fi
    else
        echo "-- psychrolib_grid.mjs: npm could not install psychrolib 1.1.1"
    fi
fi

[ -z "$failed" ] || {
    echo "failed:$failed" >&2
    exit 1
}
