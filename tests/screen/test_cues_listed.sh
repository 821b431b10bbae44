#!/bin/bash
# SPDX-License-Identifier: MIT
# `coatbell cues`: one line each, found by words, with their reasons, and the painter's own with what is
# wrong in them.
set -u
program=$CB_BUILD/coatbell
work=$(mktemp -d "${TMPDIR:-/tmp}/coatbell-cues.XXXXXX")
trap 'rm -rf "$work"' EXIT
cd "$work" || exit 1
faults=0
fault() {
    echo "$*"
    faults=$((faults + 1))
}

all=$("$program" cues) || fault "cues: exit $?"
[ "$(wc -l <<<"$all")" -ge 60 ] || fault "fewer than sixty"
[ "$(LC_ALL=C.UTF-8 awk 'length > 100' <<<"$all")" = "" ] || fault "a line of more than 100 columns"
grep -qE '^wash-pools +after coat +Look back at \{figure\}: pools\? Soak them up\.$' <<<"$all" ||
    fault "no pool check"
[ "$("$program" cues WASH rings | awk '{ print $1 }' | xargs)" = "wash-cut wash-rings" ] ||
    fault "found: $("$program" cues WASH rings)"
[ -z "$("$program" cues nosuchword)" ] || fault "a word that none has is found"
[ "$("$program" cues --json | tr '{' '\n' | grep -c '"cue":')" = "$(wc -l <<<"$all")" ] || fault "JSON: others"
pools=$("$program" cues --json wash-pools)
for part in '"cue":"wash-pools"' '"moment":"after coat"' '"weight":100' '"own":false' 'common practice, no source'; do
    [[ $pools == *"$part"* ]] || fault "JSON: no $part: $pools"
done
[[ $pools != *'"why"'* ]] || fault "JSON: a reason that nobody asked for"

# Where nothing was ever painted no moment is there.
"$program" cues --why wash-pools | grep -q 'not at this moment: after coat' || fault "why, without a log"
cat >wash.yaml <<'END'
coatbell: 1
name: Wash
figures: 2
paints:
  ebb: {name: Ebb wash, kind: wash}
stages:
  - {name: Wash, technique: wash, paint: ebb, minutes: 1}
END
"$program" begin wash.yaml --log wash.db >/dev/null </dev/null || fault "begin: exit $?"
# The bench was never open: no session, no cue.
"$program" cues --log wash.db --why wash-neat | grep -q -- '- not at this moment' || fault "why, never open"
cat >wash.jsonl <<'END'
{"id":"s","at":"2026-01-05T18:00:00.000Z","event":"session_opened","press":"p0","machine":"m","seq":1}
{"id":"u","at":"2026-01-05T18:01:00.000Z","event":"unit_begun","unit":"u","name":"Wash","figures":2,"press":"p1","machine":"m","seq":2,"recipe":"coatbell: 1\nname: Wash\npaints:\n  ebb: {name: Ebb wash, kind: wash}\nstages:\n  - {name: Wash, technique: wash, paint: ebb, minutes: 1}\n"}
END
why() {
    "$program" cues --log "$1" --why --json "$2" | tr '{' '\n' | grep "\"cue\":\"$2\"" |
        sed -E 's/.*"shows":([a-z]+),"why":"([^"]*)".*/\1 \2/'
}
"$program" log import wash.jsonl --log open.db >/dev/null || fault "import: exit $?"
[ "$(why open.db wash-last)" = "true shows now" ] || fault "wash-last: $(why open.db wash-last)"
[ "$(why open.db fresh-water)" = "true shows now" ] || fault "fresh-water: $(why open.db fresh-water)"
[ "$(why open.db glaze-thin)" = "false for the technique glaze" ] || fault "glaze-thin: $(why open.db glaze-thin)"
[ "$(why open.db wash-cut)" = "false for a mix with medium" ] || fault "wash-cut: $(why open.db wash-cut)"
[ "$(why open.db shake-pot)" = "false two of more use stand before it" ] ||
    fault "shake-pot: $(why open.db shake-pot)"
[ "$(why open.db wash-rings)" = "false not at this moment: when dry" ] || fault "wash-rings: $(why open.db wash-rings)"
echo '{"id":"m","at":"2026-01-05T18:02:00.000Z","event":"cue_muted","cue":"wash-last","press":"p2","machine":"m","seq":3}' |
    "$program" log import - --log open.db >/dev/null || fault "import: exit $?"
[ "$(why open.db wash-last)" = "false muted" ] || fault "muted: $(why open.db wash-last)"
[ "$(LC_ALL=C.UTF-8 "$program" cues --log open.db --why | awk 'length > 100')" = "" ] || fault "why: too wide"

# One's own.
mkdir -p "$HOME/.config/coatbell"
own=$HOME/.config/coatbell/cues.yaml
cat >"$own" <<'END'
coatbell-cues: 1
cues:
  tea:
    when: opening
    text: Put the kettle on.
END
[ "$("$program" cues kettle)" = "tea  opening        Put the kettle on." ] || fault "own: $("$program" cues kettle)"
[[ $("$program" cues --json tea) == *'"own":true'* ]] || fault "own: JSON"
sed -i 's/when: opening/when: openning/' "$own"
said=$("$program" cues 2>&1 >/dev/null)
[ $? = 65 ] || fault "a fault of one's own is no exit 65"
[[ $said == *"cues.yaml:4:11: when: unknown word: openning; did you mean opening?"* ]] || fault "said: $said"
cat >boat.yaml <<'END'
coatbell: 1
name: Boat
stages: [{name: Mould lines, technique: prepare}]
END
"$program" begin boat.yaml >/dev/null 2>&1
[ $? = 65 ] || fault "begin with a fault in one's own is no exit 65"
[ -z "$("$program" units 2>/dev/null)" ] || fault "begun all the same: $("$program" units)"

[ "$faults" -eq 0 ]
