#!/bin/sh
# SPDX-License-Identifier: MIT
# Makes the kept reference data again: every tests/reference/make_*.{R,sh,mjs} whose interpreter
# is there. The tests themselves read the kept data and need none of them.
set -u
cd "$(dirname "$0")/../.." || exit 1
failed=
for script in tests/reference/make_*.R tests/reference/make_*.sh tests/reference/make_*.mjs; do
    [ -e "$script" ] || continue
    case $script in
    *.R) tool=Rscript ;;
    *.sh) tool="sh" ;;
    *) tool=node ;;
    esac
    if ! command -v "$tool" >/dev/null 2>&1; then
        echo "-- $script: $tool is not there"
        continue
    fi
    echo "== $script"
    "$tool" "$script" || failed="$failed $script"
done
[ -z "$failed" ] || {
    echo "failed:$failed" >&2
    exit 1
}
