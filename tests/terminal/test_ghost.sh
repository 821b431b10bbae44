#!/bin/bash
# SPDX-License-Identifier: MIT
# A finished unit stays finished, also beside one whose beginning was taken back.
set -u
program=${CB_BUILD:-build/release}/coatbell
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
cat >"$work/unit.yaml" <<'END'
coatbell: 1
name: Quay watch
paints: {rope: {name: Tarred rope, kind: acrylic}}
stages: [{name: Undercoat, technique: undercoat, paint: rope}]
END
line() { # ID AT REST
    printf '{"id":"%s","press":"%s","at":"2026-01-05T18:%s:00.000Z",%s}\n' "$1" "$1" "$2" "$3"
}
recipe=$(sed 's/"/\\"/g' "$work/unit.yaml" | awk '{ printf "%s\\n", $0 }')
{
    line a 00 "\"event\":\"unit_begun\",\"unit\":\"one\",\"name\":\"First\",\"figures\":1,\"recipe\":\"$recipe\""
    line b 01 '"event":"undone","of":"a"'
    line c 02 "\"event\":\"unit_begun\",\"unit\":\"two\",\"name\":\"Second\",\"figures\":1,\"recipe\":\"$recipe\""
    line d 03 '"event":"coat_on","unit":"two","figure":1,"stage":1,"coat":1'
    line e 04 '"event":"unit_finished","unit":"two"'
} >"$work/log.jsonl"
"$program" log import "$work/log.jsonl" --log "$work/log.db" >/dev/null || exit 1
said=$("$program" status --log "$work/log.db")
case $said in
*Tarred*) echo "status offers a coat of a finished unit: $said"; exit 1 ;;
esac
