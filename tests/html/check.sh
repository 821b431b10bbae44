#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# The review's page in a real browser and under a validator. Needs the release build; installs
# chromium and two npm packages into build/ where they are missing.
set -euo pipefail
cd "$(dirname "$0")/../.."
tools=build/html-tools
program=$PWD/build/coatbell

need() { # need COMMAND PACKAGE...
    command -v "$1" >/dev/null 2>&1 && return
    shift
    local sudo=""
    [ "$(id -u)" = 0 ] || sudo=sudo
    $sudo env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq "$@" >/dev/null
}
need chromium chromium
need node nodejs
need npm npm
mkdir -p "$tools"
if [ ! -d "$tools/node_modules/playwright-core" ] || [ ! -d "$tools/node_modules/html-validate" ]; then
    npm install --silent --no-fund --no-audit --prefix "$tools" playwright-core@1 html-validate@8 >/dev/null
fi

scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
"$program" demo --history "$scratch/log.db"
"$program" review --all --log "$scratch/log.db" --html "$scratch/review.html"
cp tests/html/check.mjs "$tools/check.mjs"
printf '{"extends":["html-validate:standard"],"rules":{"long-title":"off","no-inline-style":"off"}}\n' >"$tools/.htmlvalidate.json"
(cd "$tools" && ./node_modules/.bin/html-validate --config .htmlvalidate.json "$scratch/review.html")
node "$tools/check.mjs" "$scratch/review.html" "$(command -v chromium)"
