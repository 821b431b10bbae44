#!/bin/bash
# SPDX-License-Identifier: MIT
# An include that looks up, from a floor or a room of core into one above, is refused by name.
set -u
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
mkdir "$work/tests" && cp -r src "$work/" && cp tests/layers.sh "$work/tests/" || exit 1
cd "$work" || exit 1
faults=0
tests/layers.sh includes || { echo "the tree itself breaks the rules"; exit 1; }

# upward FILE HEADER
upward() {
    cp "$1" kept
    printf '#include "%s"\n' "$2" >>"$1"
    if tests/layers.sh includes >out; then
        echo "$1 may include $2, it seems"
        faults=$((faults + 1))
    elif ! grep -q "^$1:.*$2" out; then
        echo "$1: refused, but not by name: $(cat out)"
        faults=$((faults + 1))
    fi
    cp kept "$1"
}
upward src/base/str.c core/air/climate.h
upward src/core/air/climate.c core/paint/kinds.h
upward src/core/paint/kinds.c core/recipe/recipe.h
upward src/core/recipe/recipe.c core/learn/learn.h
upward src/core/learn/learn.c core/log/event.h
upward src/core/log/event.c core/bench/bench.h
upward src/core/bench/bench.c core/review/review.h
upward src/core/review/review.c app/words.h
upward src/app/nav.c view/grid.h
upward src/view/put.c app/state.h
upward src/view/grid.c shell/clock.h
upward src/shell/clock.c command/command.h
cp src/app/nav.c kept
printf 'void cb_x(struct cb_app *app) { app->ask.quit = true; }\n' >>src/app/nav.c
tests/layers.sh includes | grep -q 'app->ask is written by' || {
    echo "a part of the app may be written by another, it seems"
    faults=$((faults + 1))
}
cp kept src/app/nav.c
exit "$faults"
