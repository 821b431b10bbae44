#!/bin/sh
# SPDX-License-Identifier: MIT
# Makes the reference figures again with the outside tools that are there: R (with survival and
# fitdistrplus), JAGS, node. Prints R's and JAGS' figures, to be held beside those in the tests,
# and compares the psychrolib grid with the kept one. The tests themselves need none of this.
set -u
cd "$(dirname "$0")" || exit 1
failed=

have() {
    command -v "$1" >/dev/null 2>&1 && return 0
    echo "-- $2: $1 is not there"
    return 1
}

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
    echo "== $script"
    Rscript "$script" || failed="$failed $script"
done

if have jags make_learn_jags.sh; then
    echo "== make_learn_jags.sh"
    sh make_learn_jags.sh || failed="$failed make_learn_jags.sh"
fi

if have npm psychrolib_grid.mjs && have node psychrolib_grid.mjs; then
    echo "== psychrolib_grid.mjs"
    work=$(mktemp -d)
    trap 'rm -rf "$work"' EXIT
    cp psychrolib_grid.mjs "$work"
    if (cd "$work" && npm install --silent psychrolib@1.1.1 >/dev/null 2>&1); then
        if (cd "$work" && node psychrolib_grid.mjs) | diff -q - psychrolib_grid.txt; then
            echo "the kept grid, to the byte"
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
