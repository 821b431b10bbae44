#!/bin/bash
# SPDX-License-Identifier: MIT
# A bench, its viewer, and begin, log import and log export in a loop, all on one log at once: whatever any
# of them said was done is in the log at the end, once; nobody is told that the log is busy; and the viewer
# is never more than a second behind the bench. Runs alone. Argument: seconds (default 12).
set -u
. tests/terminal/lib.sh
seconds=${1:-12}
set_config 'bell: no'
cat >"$TMPDIR/many.yaml" <<'END'
coatbell: 1
name: Long watch
figures: 99
paints:
  rope: {name: Tarred rope, kind: acrylic}
stages:
  - {name: Ropes, technique: basecoat, paint: rope, dry: 90 min, coats: 9}
END
sed 's/^figures: .*/figures: 1/' "$TMPDIR/many.yaml" >"$TMPDIR/one.yaml"

start 80x24 "$coatbell begin $TMPDIR/many.yaml --temp 23 --rh 50"
do_not_know
wait_for 'SPACE when Tarred rope is on figure 1'
bench=$socket
viewer=$TMPDIR/tmux.viewer
tmux -S "$viewer" -f /dev/null new-session -d -x 80 -y 24 "$coatbell"
started+=("$(tmux -S "$viewer" display-message -p '#{pid}')")
socket=$viewer
wait_for 'looking on'
socket=$bench

nap() { read -r -t 0.2 <> <(:); }
end=$((SECONDS + seconds))
# begun, taken: what was said to be done; wrong: what was said to be wrong.
: >"$TMPDIR/begun"
: >"$TMPDIR/taken"
: >"$TMPDIR/wrong"
begins() {
    for ((i = 0; SECONDS < end; i++)); do
        if "$coatbell" begin "$TMPDIR/one.yaml" --name "Watch $i" >/dev/null 2>"$TMPDIR/begin.err" </dev/null; then
            echo "Watch $i" >>"$TMPDIR/begun"
        else
            cat "$TMPDIR/begin.err" >>"$TMPDIR/wrong"
        fi
        nap
    done
}
imports() {
    for ((i = 0; SECONDS < end; i++)); do
        for j in {1..20}; do
            printf '{"id":"t%d-%d","at":"2026-01-05T18:00:00Z","event":"note","text":"lamp"}\n' "$i" "$j"
        done >"$TMPDIR/in.jsonl"
        if "$coatbell" log import "$TMPDIR/in.jsonl" >/dev/null 2>"$TMPDIR/import.err"; then
            sed 's/.*"id":"\([^"]*\)".*/\1/' "$TMPDIR/in.jsonl" >>"$TMPDIR/taken"
        else
            cat "$TMPDIR/import.err" >>"$TMPDIR/wrong"
        fi
        nap
    done
}
exports() {
    while [ "$SECONDS" -lt "$end" ]; do
        sed 's/.*/"id":"&"/' "$TMPDIR/taken" >"$TMPDIR/before"
        if ! "$coatbell" log export - >"$TMPDIR/out.jsonl" 2>>"$TMPDIR/wrong"; then
            echo "export failed" >>"$TMPDIR/wrong"
        elif [ -s "$TMPDIR/before" ] &&
            [ "$(grep -cFf "$TMPDIR/before" "$TMPDIR/out.jsonl")" -ne "$(wc -l <"$TMPDIR/before")" ]; then
            echo "an export lacks what was taken before it" >>"$TMPDIR/wrong"
        fi
        nap
    done
}
begins &
imports &
exports &

now_ms() { date +%s%3N; }
busy='locked|another program|NOT SAVED|[Dd]amaged'
coats=0
worst=0
while [ "$SECONDS" -lt "$end" ] && [ "$coats" -lt 98 ]; do
    coats=$((coats + 1))
    keys Space
    wait_for "SPACE when Tarred rope is on figure $((coats + 1))\$"
    screen_has "$busy" && die "the bench is told of others"
    done_at=$(now_ms)
    socket=$viewer
    wait_for "\\[$((coats + 1))\\]"
    behind=$(($(now_ms) - done_at))
    screen_has "$busy" && die "the viewer is told of others"
    socket=$bench
    [ "$behind" -gt "$worst" ] && worst=$behind
    [ "$seconds" -lt 30 ] || nap
done
wait
keys q
wait_for 'ended with 0'
[ ! -s "$TMPDIR/wrong" ] || die "$(sort "$TMPDIR/wrong" | uniq -c)"
exported >"$TMPDIR/all" || die "no export"
[ "$(grep -c '"event":"coat_on"' "$TMPDIR/all")" -eq "$coats" ] || die "not $coats coats"
while read -r name; do
    [ "$(grep -c "\"name\":\"$name\"" "$TMPDIR/all")" -eq 1 ] || die "$name is not there once"
done <"$TMPDIR/begun"
sed -n 's/.*"id":"\(t[0-9]*-[0-9]*\)".*/\1/p' "$TMPDIR/all" | sort >"$TMPDIR/ids"
sort "$TMPDIR/taken" | cmp -s - "$TMPDIR/ids" || die "imported is not what is there"
[ "$(sed -n 's/.*{"id":"\([^"]*\)".*/\1/p' "$TMPDIR/all" | sort | uniq -d | wc -l)" -eq 0 ] || die "twice"
echo "$coats coats, $(wc -l <"$TMPDIR/begun") units, $(wc -l <"$TMPDIR/taken") lines; the viewer was $worst ms behind at most"
[ "$worst" -le 1000 ] || die "the viewer was $worst ms behind"
tmux -S "$viewer" kill-server
