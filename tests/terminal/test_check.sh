#!/bin/bash
# SPDX-License-Identifier: MIT
# `check` and `new` as a painter calls them: silent when all is well; else the right line and
# column, exit 65, at once.
set -u
# shellcheck source=tests/terminal/box.sh
. "${CB_ROOT:?}/tests/terminal/box.sh"

# refused PLACE MESSAGE FILE: one place, exit 65, well under a second (a busy machine, too)
refused() {
    local from to
    from=$(date +%s%N)
    expect 65 "$3:$1: $2" "$coatbell" check "$3"
    to=$(date +%s%N)
    [ $(((to - from) / 1000000)) -lt 2000 ] || fail "$3 took $(((to - from) / 1000000)) ms"
}

out=$("$coatbell" check "$root"/recipes/*.yaml 2>&1) || fail "the samples are refused"
[ -z "$out" ] || fail "the samples are commented on: $out"

"$coatbell" new good.yaml >said || fail "new fails"
grep -q 'good.yaml' said || fail "new does not say what it wrote"
out=$("$coatbell" check good.yaml 2>&1) || fail "the starter recipe is refused"
[ -z "$out" ] || fail "the starter recipe is commented on: $out"
cp good.yaml kept.yaml
expect 1 "is there already" "$coatbell" new good.yaml
cmp -s good.yaml kept.yaml || fail "new wrote over a file"
expect 74 "No such file" "$coatbell" new no/such/folder.yaml
expect 2 "which file" "$coatbell" new
"$coatbell" new - | cmp -s - good.yaml || fail "new - writes another recipe"
expect 2 "which recipe" "$coatbell" check

line() { grep -n -m1 -- "$1" good.yaml | cut -d: -f1; }
stages=$(line '^stages:')
coats=$(line 'coats: 2')
name=$(line '^name:')

sed 's/^stages:/stagse:/' good.yaml >key.yaml
refused "$stages:1" "recipe: unknown key: stagse; did you mean stages?" key.yaml
sed "${coats}s/    coats/	coats/" good.yaml >tab.yaml
refused "$coats:1" "tab: write blanks" tab.yaml
sed "${name}s/My unit/'My unit/" good.yaml >single.yaml
refused "$name:7" "quote that is never closed" single.yaml
sed "${name}s/My unit/\"My unit/" good.yaml >double.yaml
refused "$name:7" "quote that is never closed" double.yaml
sed 's/paint: cloth/paint: colth/' good.yaml >paint.yaml
refused "$(line 'paint: cloth'):12" "unknown paint: colth; did you mean cloth?" paint.yaml
sed "${coats}s/2/0/" good.yaml >coats.yaml
refused "$coats:12" "coats: 0: must be a whole number, 1 to 9" coats.yaml
sed "${coats}s/.*/&\n    coats: 3/" good.yaml >twice.yaml
refused "$((coats + 1)):5" "key given twice: coats" twice.yaml
sed "${name}s/My unit/*other/" good.yaml >alias.yaml
refused "$name:7" "alias" alias.yaml
head -c 200000 /dev/zero | tr '\0' '[' >deep.yaml
refused "1:9" "lists and maps more than 8 deep" deep.yaml

# A word of the trade gets the one word that is ours, where it stands, and never a list.
trade() { # PLACE SED MESSAGE
    sed "$2" good.yaml >trade.yaml
    refused "$1" "$3" trade.yaml
    if "$coatbell" check trade.yaml 2>&1 | grep -q 'there is'; then
        fail "$3: a list of words"
    fi
}
technique="$(line 'technique: wash'):16"
while IFS='|' read -r theirs technique_is kind_is; do
    [ -z "$technique_is" ] || trade "$technique" "s/technique: wash/technique: $theirs/" \
        "technique: unknown word: $theirs; did you mean $technique_is?"
    trade "$(line 'cloth:'):40" "/cloth:/s/kind: acrylic/kind: $theirs/" \
        "unknown kind: $theirs; did you mean $kind_is?"
done <<END
base|basecoat|acrylic
prime|undercoat|spray undercoat
primer|undercoat|spray undercoat
spray primer|undercoat|spray undercoat
Metal|basecoat|metallic
varnish||brush varnish
texture||texture paste
shade|wash|wash
highlight|edge highlight|acrylic
END
trade "$(line 'on: \[face\]'):9" 's/on: \[face\]/on: all/' "on: unknown word: all; did you mean whole?"
trade "$((coats + 1)):10" "${coats}s/.*/&\n    for: all/" "for: unknown word: all; leave the key out"
trade "$((coats + 1)):15" "${coats}s/.*/&\n    together: all/" "together: unknown word: all; did you mean yes?"
trade "$((coats + 1)):9" "${coats}s/.*/&\n    by: spray/" "by: unknown word: spray; did you mean can?"
trade "$(line 'mix: 2 paint'):10" 's/mix: 2 paint + 1 water/mix: 3:1/' \
    "mix: 3:1: of what? did you mean 3 paint + 1 water?"

# What is allowed and hardly meant is one line each on standard error, and all is well.
sed '/under:/s/kind: acrylic/kind: spray undercoat/; s/paint: earth/paint: skin/' \
    good.yaml >doubt.yaml
"$coatbell" check doubt.yaml >said 2>doubts || fail "a warning is a fault"
[ -s said ] && fail "a warning is on standard output: $(cat said)"
[ "$(wc -l <doubts)" = 2 ] || fail "not two warnings: $(cat doubts)"
grep -q "^doubt.yaml:$(line 'earth:'):3: warning: paint earth: no stage uses it" doubts ||
    fail "the unused paint: $(cat doubts)"
grep -q "^doubt.yaml:$(line 'name: Undercoat$'):5: warning: stage Undercoat: a can, .*together" doubts ||
    fail "the can: $(cat doubts)"
sed 's/^    paint: under/&\n    together: 4/' doubt.yaml >done.yaml
"$coatbell" check done.yaml 2>&1 | grep -q 'a can' && fail "a can that sprays all is warned of"
sed 's/^figures: 10/figures: 1/' doubt.yaml >one.yaml
"$coatbell" check one.yaml 2>&1 | grep -q 'a can' && fail "a can is warned of for one figure"
expect 0 '{"errors":[]}' "$coatbell" check --json doubt.yaml
# A part that stays off the figure; one that is joined is in order.
cat >apart.yaml <<'EOF'
coatbell: 1
name: Ferry guards
areas:
  coat: {}
  shield: {apart: yes}
  lamp: {apart: yes}
stages:
  - {name: Shields on, technique: join, on: shield}
EOF
"$coatbell" check apart.yaml >said 2>doubts || fail "a part that no stage joins is a fault"
[ "$(cat doubts)" = "apart.yaml:6:3: warning: area lamp: apart, and no stage joins it; add one, \`technique: join\`" ] ||
    fail "the part that no stage joins: $(cat doubts)"

# The starter has the two times of a pot as comments that need only their mark taken away.
sed 's/^\( *\)# \(dry:\|label:\)/\1\2/' good.yaml >times.yaml
[ "$(diff good.yaml times.yaml | grep -c '^>')" = 2 ] || fail "the starter has no dry: and label:"
out=$("$coatbell" check times.yaml 2>&1)
[ -z "$out" ] || fail "dry: and label: are refused: $out"
grep -q 'after:' good.yaml && fail "the starter pulls a stage forward"

# `dry` knows the same words.
dries() { # WORD KIND TECHNIQUE
    expect 0 "$2, $3 by" "$coatbell" dry "$1" --temp 20 --rh 50
}
dries primer "spray undercoat" undercoat
dries varnish "brush varnish" varnish
dries basecoat acrylic basecoat
dries "Edge highlight" acrylic "edge highlight"
expect 0 "acrylic, layer by" "$coatbell" dry basecoat --technique layer --temp 20 --rh 50
expect 2 "unknown kind: gravy" "$coatbell" dry gravy

# The line and a caret under the place.
"$coatbell" check coats.yaml >said 2>&1
[ "$(sed -n 2p said)" = "        coats: 0" ] || fail "the line is not shown"
[ "$(sed -n 3p said)" = "               ^" ] || fail "the caret is not under the fault"

# Nothing of a file reaches the terminal as a control.
printf 'coatbell: 1\nname: a\033[2Jb\n' >escape.yaml
refused "2:8" "control character U+001B" escape.yaml
if "$coatbell" check escape.yaml 2>&1 | grep -q "$(printf '\033')"; then
    fail "an escape sequence came through"
fi

# Several files: all are read, each fault under its file.
"$coatbell" check coats.yaml good.yaml alias.yaml >said 2>&1
[ $? -eq 65 ] || fail "several files: not 65"
grep -q '^coats.yaml:' said || fail "several files: the first is missing"
grep -q '^alias.yaml:' said || fail "several files: the last is missing"
"$coatbell" check - <good.yaml || fail "standard input is refused"

# Nothing beyond ASCII when it is not wanted, and the caret still under its place.
printf 'coatbell: 1\nname: M\303\266we\nfigures: \303\266\n' >wide.yaml
if "$coatbell" check --ascii wide.yaml 2>&1 | LC_ALL=C grep -q "[^ -~]"; then
    fail "--ascii lets more than ASCII through"
fi
refused "3:10" "figures: $(printf '\303\266'): must be a whole number" wide.yaml

# What is no file is not waited for.
mkfifo fifo
expect 74 "no regular file" timeout 5 "$coatbell" check fifo
expect 74 "is a folder" "$coatbell" check .
expect 74 "No such file" "$coatbell" check nowhere.yaml
expect 74 "no regular file" timeout 5 "$coatbell" check /dev/zero

# JSON
expect 65 '"errors":[{"file":"coats.yaml","line":'"$coats"',"col":12,"message":"coats: 0' \
    "$coatbell" check --json coats.yaml
expect 0 '{"errors":[]}' "$coatbell" check --json good.yaml

# The air, stage by stage.
out=$("$coatbell" check --climate "20 50" good.yaml) || fail "check --climate fails"
case $out in
*": amber: "* | *": red: "*) fail "good air is warned of: $out" ;;
esac
expect 0 "Clothes: red: too cold: paint does not set under 10 C" "$coatbell" check --climate "8 50" good.yaml
expect 0 '"gate":"film-formation"' "$coatbell" check --json --climate "8 50" good.yaml
expect 2 "" "$coatbell" check --climate "warm" good.yaml

# Advice: a line each with its place and what to do, and no fault unless --strict makes it one.
cat >advice.yaml <<'RECIPE'
coatbell: 1
name: Pier wardens
figures: 4
paints:
  tar: {name: Quay tar, kind: acrylic, tone: dark}
  fog: {name: Morning fog, kind: acrylic, tone: light}
stages:
  - {name: Under, technique: undercoat, paint: tar, by: airbrush}
  - {name: Charts, technique: basecoat, paint: fog, coats: 2, brush: flat}
RECIPE
pale="advice.yaml:9:5: advice: Charts: light over dark in 2 coats: what is under it may show; say \`coats: 3\`"
[ "$("$coatbell" check --advice advice.yaml)" = "$pale" ] || fail "advice: $("$coatbell" check --advice advice.yaml 2>&1)"
expect 65 "$pale" "$coatbell" check --advice --strict advice.yaml
expect 2 "--strict goes with --advice" "$coatbell" check --strict advice.yaml
out=$("$coatbell" check advice.yaml 2>&1) || fail "a recipe with advice is refused"
[ -z "$out" ] || fail "advice unasked for: $out"
expect 0 '"advice":[{"file":"advice.yaml","line":9,"col":5,"advice":"coats","stage":"Charts","message":"light over' \
    "$coatbell" check --advice --json advice.yaml
sed 's/coats: 2/coats: 3/' advice.yaml >fine.yaml
expect 0 '{"errors":[],"advice":[]}' "$coatbell" check --advice --strict --json fine.yaml
[ -z "$("$coatbell" check --advice --strict fine.yaml 2>&1)" ] || fail "advice where none is due"
expect 65 "coats: 0" "$coatbell" check --advice coats.yaml
# In what air is it sprayed: in that of --climate, while no log says what is usual.
expect 0 "fine.yaml:8:5: advice: Under: air of 12 C and 88 % is not for spraying: 88 %, the limit is 85; name" \
    "$coatbell" check --advice --climate "12 88" fine.yaml
"$coatbell" check --advice --climate "21 50" fine.yaml | grep advice && fail "advice on good air"
air() { # SECOND FROM TEMP RH PLACE
    printf '{"id":"air%s","at":"2026-01-05T18:00:%02d.000Z","event":"climate_set","temp_c":%s,"rh_pct":%s,"air":"still","from":"%s"%s}\n' \
        "$1" "$1" "$3" "$4" "$2" "$5"
}
on() { # SECOND EVENT FIELDS
    printf '{"id":"on%s","at":"2026-01-05T18:00:%02d.000Z","event":"%s","unit":"u"%s}\n' "$1" "$1" "$2" "$3"
}
text=$(sed ':a;N;$!ba;s/\n/\\n/g' advice.yaml)
{
    on 1 unit_begun ",\"name\":\"u\",\"figures\":4,\"recipe\":\"$text\\n\""
    air 2 default 5 50 ''
    air 3 typed 22 50 ''
    air 4 typed 12 87 ''
    air 5 sensor 13 89 ''
    air 6 typed 21 50 ',"place":"yard"'
    for figure in 1 2 3 4; do
        on $((10 + figure)) coat_added ",\"figure\":$figure,\"stage\":2"
        for coat in 1 2 3; do
            on $((10 * (coat + 1) + figure)) coat_on ",\"figure\":$figure,\"stage\":2,\"coat\":$coat"
        done
    done
} >log.jsonl
"$coatbell" --log log.db log import log.jsonl >/dev/null || fail "the log of advice is not imported"
expect 0 "Under: your usual air of 13 C and 87 % is not for spraying: 87 %" \
    "$coatbell" --log log.db check --advice --climate "21 50" fine.yaml
sed 's/by: airbrush/by: airbrush, place: yard/' fine.yaml >yard.yaml
"$coatbell" --log log.db check --advice yard.yaml | grep spraying && fail "the yard's air is the bench's"
expect 0 "advice: Charts: your log has a third coat on 4 of 4 figures over dark (51 to 100 %); say \`coats: 3\`" \
    "$coatbell" --log log.db check --advice advice.yaml
# A paint joined to another has what was seen of it.
{
    printf '{"id":"j","at":"2026-01-05T19:00:00.000Z","event":"paint_joined","from":"Morning fog","to":"Foam"}\n'
    on 9 swapped ',"paint":"tar","name":"Foam","kind":"acrylic","tone":"dark"'
} >join.jsonl
"$coatbell" --log log.db log import join.jsonl >/dev/null || fail "the join is not imported"
sed 's/Morning fog/Foam/' advice.yaml >foam.yaml
expect 0 'Charts: your log has a third coat on 4 of 4' "$coatbell" --log log.db check --advice foam.yaml
# Samples and starter, read as a painter would: these two, and nothing silly.
out=$(cd "$root" && "$coatbell" check --advice recipes/*.yaml)
[ "$(wc -l <<<"$out")" = 2 ] || fail "advice on the samples: $out"
grep -q 'Lock-gate badges: no varnish under it: on matt paint' <<<"$out" || fail "the badges: $out"
grep -q 'Charts: light over dark in 2 coats' <<<"$out" || fail "the charts: $out"
expect 0 "" "$coatbell" check --advice --strict good.yaml

# A round base by its width: one of share and disc, a length.
cat >disc.yaml <<'RECIPE'
coatbell: 1
name: Discs
paints:
  green: {name: Oilskin green, kind: acrylic}
areas:
  base: {share: 20 %, disc: 32 mm}
  lid: {disc: wide}
  far: {disc: 900 mm}
stages:
  - {name: One, technique: basecoat, paint: green}
RECIPE
refused 6:29 "area base: disc says what share says; keep one of them" disc.yaml
refused 7:15 "disc: wide: write a number, as in 28 mm" disc.yaml
refused 8:15 "disc: 900 mm" disc.yaml

exit $failed
