#!/bin/bash
# SPDX-License-Identifier: MIT
# The examples of coatbell-log(5) are run as they stand, by the sqlite3 shell, on a log as coatbell
# writes it; and what they print is so.
set -u
page=${CB_ROOT:-.}/man/coatbell-log.5
program=${CB_BUILD:-build/release}/coatbell
command -v sqlite3 >/dev/null || { echo "skipped: no sqlite3"; exit 77; }
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
die() { echo "failed: $*"; exit 1; }

"$program" demo --history "$work/log.db" >/dev/null || die "no log"
awk '/^\.Sh WITH THE SQLITE3 SHELL/ { on = 1 } /^\.Sh SEE ALSO/ { on = 0 }
    on && /^\.Bd -literal/ { n++; in_block = 1; next } /^\.Ed/ { in_block = 0 }
    on && in_block { print > "'"$work"'/example-" n }' "$page"
run() { (cd "$work" && bash -eu "example-$1") || die "example $1 does not run"; }

[ "$(run 1)" = ok ] || die "the file is not sound: $(run 1)"
[ "$(run 2 | wc -l)" -eq 20 ] || die "not twenty events"
[ "$(run 3 | grep -c '^coatbell: 1\||coatbell: 1')" -eq 2 ] || die "not two recipes: $(run 3 | head -3)"
"$program" log export --log "$work/log.db" >"$work/all" || die "no export"
coats=$(grep -c '"event":"coat_on"' "$work/all")
sum() { run 4 | awk -F'|' '{ all += $2 } END { print all }'; }
[ "$coats" -gt 50 ] || die "only $coats coats"
[ "$(sum)" = "$coats" ] || die "$(sum) coats by day, $coats in the export"
[ "$(run 5 | wc -l)" = "$(wc -l <"$work/all")" ] || die "not every event has its place"

# A coat taken back counts no more, and again when that was taken back.
press=$(grep '"event":"coat_on"' "$work/all" | tail -1 | sed 's/.*"press":"\([^"]*\)".*/\1/')
of=$(grep "\"event\":\"coat_on\".*\"press\":\"$press\"" "$work/all" | grep -c .)
[ "$of" -ge 1 ] || die "no press"
undo() {
    printf '{"id":"%s","at":"2030-01-01T00:00:00.000Z","event":"undone","of":"%s","press":"%s"}\n' \
        "$1" "$2" "$1" | "$program" log import - --log "$work/log.db" >/dev/null || die "no import"
}
undo take-back "$press"
[ "$(sum)" = $((coats - of)) ] || die "what was taken back is counted"
undo bring-again take-back
[ "$(sum)" = "$coats" ] || die "what was brought again is not counted"
