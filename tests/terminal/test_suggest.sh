#!/bin/bash
# SPDX-License-Identifier: MIT
# What would have saved time is the same on the screen and in every form of the command, of a unit under
# way and of one that is kept as finished; where nothing would have, nothing is said.
set -u
. tests/terminal/lib.sh
mkdir -p "$(dirname "$log")"
sentence='Frame and Bell in turn would have saved 23 min: 26 min less waiting, two more changes of paint'
evening() { # last keys...
    cat <<END
begin $PWD/tests/screen/suggest.yaml
at +4.5m
key SPACE
at +23m
key UP
key SPACE
at +4.5m
key SPACE
at +23m
key SPACE
END
    printf 'key %s\n' "$@"
    echo "export $TMPDIR/evening.jsonl"
}
forms() {
    "$coatbell" review >"$TMPDIR/text" || die "no text"
    "$coatbell" review --json >"$TMPDIR/json" || die "no JSON"
    "$coatbell" review --html "$TMPDIR/html" || die "no page"
}
take() {
    rm -f "$log"*
    "$coatbell" play "$TMPDIR/evening.play" || die "no evening"
    "$coatbell" log import "$TMPDIR/evening.jsonl" >"$TMPDIR/said" || die "no import"
}
for last in q 'f q'; do
    # shellcheck disable=SC2086 # keys
    evening $last >"$TMPDIR/evening.play"
    take
    for time in first again; do
        forms
        tr -s '\n ' ' ' <"$TMPDIR/text" | grep -qF "What would have saved time $sentence " ||
            die "$last, $time: text: $(cat "$TMPDIR/text")"
        grep -qF "<h3>What would have saved time</h3><ul><li>$sentence.</li></ul>" "$TMPDIR/html" ||
            die "$last, $time: page"
        grep -oE '"suggestions":.*' "$TMPDIR/json" >"$TMPDIR/found"
        grep -qF "\"text\":\"$sentence\",\"saves_min\":23" "$TMPDIR/found" || die "$last, $time: JSON text"
        grep -qE '"choice":"order","waiting_min":26(\.0*)?,"paint_changes":-2,"in_turn":\[\["Frame","Bell"\]\]\}\]' \
            "$TMPDIR/found" || die "$last, $time: JSON choice: $(cat "$TMPDIR/found")"
        grep -qE '"suggestions_together_min":23(\.0*)?,"findings":\[\]\}' "$TMPDIR/found" || die "$last, $time: JSON sum"
    done
done
start 80x24 "$coatbell"
wait_for 'on the bench tonight'
keys Escape F5
wait_for 'Ferry bell'
wait_for 'Frame and Bell in turn would have saved 23 min'
keys q
wait_for 'ended with 0'

# In turn as it was said, there is nothing left to say.
cat >"$TMPDIR/evening.play" <<END
begin $PWD/tests/screen/suggest.yaml
at +4.5m
key SPACE
at +4.5m
key DOWN
key SPACE
at +18.5m
key UP
key SPACE
at +4.5m
key SPACE
key q
export $TMPDIR/evening.jsonl
END
take
forms
grep -q 'suggestions":\[\],"suggestions_together_min":0' "$TMPDIR/json" || die "says something: $(cat "$TMPDIR/text")"
cat "$TMPDIR/text" "$TMPDIR/html" | grep -q 'saved time' && die "a heading with nothing below it"
exit 0
