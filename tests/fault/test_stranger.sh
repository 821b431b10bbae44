#!/bin/bash
# SPDX-License-Identifier: MIT
# A recipe and a log from a stranger, full of what steers terminals, opens tags, is a formula or never
# ends, through every command there is: nothing of it comes out as it went in.
set -u
coatbell=$CB_BUILD/coatbell
scan=$CB_BUILD/tests/tools/scan
cd "$TMPDIR" || exit 1
faults=0
calls=0

fault() {
    echo "$*"
    faults=$((faults + 1))
}

# look KIND FILE CALL...: is it fit to be seen?
look() {
    local kind=$1 file=$2
    shift 2
    "$scan" "$kind" "$file" 2>scanned || {
        fault "$(printf '%q ' "$@"): $(cat scanned)"
        cat -v "$file" | head -20
    }
}

# says KIND CALL...: standard output is of that kind, the errors are text, and it ends by itself.
says() {
    local kind=$1 rc=0
    shift
    calls=$((calls + 1))
    timeout 20 "$coatbell" "$@" >out 2>err </dev/null || rc=$?
    case $rc in
    0 | 1 | 2 | 65 | 74) ;;
    *) fault "$(printf '%q ' "$@"): ended with $rc" ;;
    esac
    look "$kind" out "$@"
    look text err "$@"
}

# wrote KIND FILE CALL...: and what it wrote into that file too.
wrote() {
    local kind=$1 file=$2
    shift 2
    says text "$@"
    [ -s "$file" ] || fault "$(printf '%q ' "$@"): nothing in $file: $(cat err)"
    look "$kind" "$file" "$@"
}

long=$(printf '%5000s' '' | tr ' ' 'W')
q="'"

# What a recipe may say: no controls get past its reader, all the rest does.
cat >evil.yaml <<END
coatbell: 1
name: "=evil<evil a=\"1\">&evil;${q}\"--></style><evil>"
about: "+evil<evil>&evil;"
figures: 3
groups: {"-evil<evil>": [1]}
paints:
  a: {name: "@evil<evil>&evil;\"'", kind: acrylic, instead: "=evil<evil>"}
  b: {name: "-evil&evil; \u9752", kind: wash}
areas:
  "=evil<evil>&evil;": {share: 45 %}
  "+evil": {share: 5 %}
stages:
  - name: "=evil<evil x='>'>&evil;\""
    technique: basecoat
    mix: 2 a + 1 water
    on: ["=evil<evil>&evil;"]
    brush: "@evil<evil>"
    say: "<evil>&evil;\""
    coats: 2
    minutes: 1
  - name: "@evil</text></title><evil>"
    technique: wash
    paint: b
    on: ["+evil"]
    for: "-evil<evil>"
    optional: yes
    minutes: 1
END
"$coatbell" check evil.yaml >out 2>&1 || fault "the recipe is to be read: $(cat out)"

# As a unit of a log, painted to its end.
"$coatbell" --log one.db begin evil.yaml --temp 23 --rh 50 </dev/null >out 2>&1 || fault "begin: $(cat out)"
{
    echo 'open one.db'
    for _ in 1 2 3 4 5 6 7 8 9 10; do
        printf 'key ESC\nkey SPACE\nat +40m\nkey ESC\n'
    done
    printf 'key n\ntype =evil<evil>&evil;\nkey ENTER\ndo finish\ndo finish\ndump -\nview review\ndump -\n'
} >paint.play
says text play paint.play
[ "$("$coatbell" --log one.db log export - | grep -c '"coat_on"')" -ge 7 ] || fault "it was not painted"

# And a log of lines with all that JSON can hold, controls too; a recipe in it that can't be read.
esc='\u001b[2J\u001b]0;evil\u0007\u009b2J\u0085\u202e\u200b\u2028\ufeff\ue000\t\r\n\u0000'
esc=${esc%\\u0000} # a NUL is refused by the reader, and has a test of its own
recipe=$(sed 's/\\u/\\\\u/g; s/\([^\\]\)"/\1\\"/g; s/\\\\"/\\\\\\"/g; s/$/\\n/' evil.yaml | tr -d '\n')
at='2026-01-05T18:0'
cat >two.jsonl <<END
{"id":"i1","at":"${at}0:00Z","event":"session_opened"}
{"id":"i2","at":"${at}0:01Z","event":"climate_set","temp_c":20,"rh_pct":50,"air":"still","from":"typed","place":"=evil<evil>$esc"}
{"id":"=i3$esc","at":"${at}0:02Z","event":"unit_begun","unit":"=u<evil>$esc","name":"=evil<evil>&evil;$esc","figures":3,"recipe":"coatbell: 1\nname: \"x\u001b[2J<evil>\"\n"}
{"id":"i4","at":"${at}0:03Z","event":"unit_begun","unit":"u2","name":"@evil<evil>&evil;\"$esc","figures":3,"recipe":"$recipe"}
{"id":"i5","at":"${at}1:00Z","event":"coat_on","unit":"u2","figure":1,"stage":1,"coat":1,"place":"+evil$esc","work_s":60}
{"id":"i6","at":"${at}5:00Z","event":"checked","unit":"u2","figure":1,"stage":1,"coat":1,"found":"wet"}
{"id":"i7","at":"${at}7:00Z","event":"checked","unit":"u2","figure":1,"stage":1,"coat":1,"found":"dry"}
{"id":"i8","at":"${at}7:10Z","event":"swapped","unit":"u2","paint":"b","name":"=evil<evil>&evil;$esc","kind":"ink","tone":"dark"}
{"id":"i9","at":"${at}7:11Z","event":"note","text":"=evil<evil>&evil;$esc"}
{"id":"i10","at":"${at}7:12Z","event":"chore_done","name":"-evil<evil>$esc","minutes":3}
{"id":"i11","at":"${at}7:13Z","event":"cue_muted","cue":"evil<evil>$esc"}
{"id":"i12","at":"${at}7:14Z","event":"bottle_new","paint":"=evil<evil>$esc"}
{"id":"i13","at":"${at}7:15Z","event":"paint_joined","from":"@evil<evil>$esc","to":"evil&evil;$esc"}
{"id":"i13b","at":"${at}7:15Z","event":"prior_given","paint":"=evil<evil>&evil;$esc","kind":"ink","technique":"layer","median_min":5,"low_min":4,"high_min":6,"coats":14}
{"id":"i14","at":"${at}7:16Z","event":"answered","question":"first-dry$esc","value":"=evil$esc"}
{"id":"i15","at":"${at}7:17Z","event":"odd$esc","unit":"u2","=evil<evil>$esc":"$esc"}
{"id":"i16","at":"${at}7:18Z","event":"note","text":"${long:0:4090}"}
{"id":"i17","at":"${at}7:19Z","event":"coat_on","unit":"u2","figure":2,"stage":1,"coat":1}
{"id":"i18","at":"${at}9:19Z","event":"lifted","unit":"u2","figure":2,"stage":1,"coat":1}
{"id":"i19","at":"${at}9:20Z","event":"unit_finished","unit":"u2"}
{"id":"i20","at":"${at}9:59Z","event":"session_closed"}
END
says text --log two.db log import two.jsonl
grep -q '^imported 21 events' out || fault "the lines are to be taken: $(cat out err)"
cp two.db three.db
"$coatbell" --log one.db log export one.jsonl && says text --log three.db log import one.jsonl
sed 's/^{"id":"/&\x1b[2J<evil>/; s/"event":"/&\x9b/' two.jsonl >broken.jsonl
says text --log three.db log import broken.jsonl
says text --log three.db log import --strict broken.jsonl

# Each log through all that prints, for people and for programs.
unit_of_two=$(printf '=u<evil>\x1b[2J')
for log in one.db two.db three.db; do
    for call in status 'status --all' units pots 'pots --why' 'pots --why --all' 'pots --calibration' \
        'pots evil' 'pots =evil --why' review 'review --all' 'review --csv' 'review u2' \
        'write' 'write u2' 'log export -' 'pots export -' 'log check' 'cues' 'cues --why' 'cues evil' 'dry evil.yaml --temp 20 --rh 50' \
        'plan evil.yaml' 'plan evil.yaml --compare' 'mix evil.yaml' 'set-out evil.yaml'; do
        kind=text
        [[ $call == *--csv* ]] && kind=csv
        # shellcheck disable=SC2086 # words of the call
        says "$kind" --log "$log" $call
        # shellcheck disable=SC2086
        says text --log "$log" --json $call
        [ "$kind" = csv ] || {
            # shellcheck disable=SC2086
            says text --log "$log" --ascii $call
        }
    done
    says text --log "$log" review "$unit_of_two"
    says text --log "$log" pots "$unit_of_two"
    says csv --log "$log" log export - --csv
    says text --log "$log" pots export shared.yaml
    says text --log shared.db pots import shared.yaml
    wrote markup "$log.html" --log "$log" review --all --html "$log.html"
    {
        echo "open $log"
        for view in bench rack road pots review glance help changes; do
            printf 'view %s\nsize 120x40\ndump -\nsize 50x15\ndump -\nsize 80x24\nkey DOWN\nkey ENTER\ndump -\nkey ESC\n' "$view"
        done
    } >look.play
    says text play look.play
done
wrote markup plan.svg plan evil.yaml --svg plan.svg
[ "$(grep -c 'evil' plan.svg)" -gt 0 ] || fault "the plan is to name the stages"
[ "$(grep -c 'evil' three.db.html)" -gt 0 ] || fault "the page is to name the paints"

# What is refused is quoted, and so are words of the call.
printf 'coatbell: 1\nname: x\x1b[2J\xc2\x9b\xe2\x80\xae\nstages: [\x07]\n' >broken.yaml
printf 'coatbell: 1\nname: x\nstages:\n  - {name: a, technique: "\\e[2J\\u202e\\u009b<evil>"}\n' >escaped.yaml
printf 'coatbell: 1\nname: %s\n%s: 1\n' "$long" "$long" >wide.yaml
printf 'coatbell pots: 1\npaints: [{paint: "=evil\\e[2J<evil>", kind: "\\u202e", technique: "\\e[2J", evil: 1}]\n' >pots.yaml
says text --log refused.db pots import pots.yaml
printf 'coatbell pots: 1\npaints: [{paint: "=evil\\e[2J<evil>", kind: "\\u202e\\x07", technique: layer, median_min: 5, low_min: 4, high_min: 6, coats: 2}]\n' >pots.yaml
says text --log one.db pots import pots.yaml
says text --log one.db log export -
printf 'key \x1b[2J\n' >key.play
printf 'view \xc2\x9b2J\xe2\x80\xae\n' >view.play
odd=$(printf 'no\x1b[2J\xc2\x9b\xe2\x80\xae\x7f\xff')
printf 'coatbell: 1\nname: y\nwrong: 1\n' >"$odd.yaml"
for file in broken.yaml escaped.yaml wide.yaml "$odd.yaml" "$odd"; do
    for call in check 'check --advice' mix set-out plan new begin 'dry --temp 20 --rh 50' play 'log import' 'pots import'; do
        # shellcheck disable=SC2086
        says text --log refused.db $call "$file"
        # shellcheck disable=SC2086
        says text --log refused.db --json $call "$file"
    done
done
for word in "$odd" "--$odd" "-$odd" "$long" "=evil<evil>"; do
    says text "$word"
    says text --log "$word" status
    says text --log "/nowhere/$word" status
    says text status "$word"
    says text review "$word"
    says text pots "$word"
    says text cues "$word"
    says text dry "$word" --temp 20 --rh 50
    says text dry acrylic --temp "$word" --rh 50
    says text dry acrylic --temp 20 --rh "$word"
    says text dry acrylic --temp 20 --rh 50 --technique "$word" --air "$word"
    says text plan evil.yaml --evening "$word"
    says text plan evil.yaml --svg "/nowhere/$word"
    says text mix evil.yaml --stage "$word"
    says text check evil.yaml --climate "$word"
    says text begin evil.yaml --done "$word"
    says text begin evil.yaml --use "$word"
    says text --log two.db review --html "/nowhere/$word"
    says text --log two.db log export "/nowhere/$word"
    says text --log two.db pots export "/nowhere/$word"
    says text --log two.db pots "$word" x
    says text play key.play --size "$word"
done
says text play key.play
says text play view.play

# The user's own files.
for name in config kinds cues; do
    mkdir -p config/coatbell
    cp broken.yaml "config/coatbell/$name.yaml"
    calls=$((calls + 1))
    XDG_CONFIG_HOME=$PWD/config timeout 20 "$coatbell" --log two.db status >out 2>err </dev/null
    look text out "$name.yaml"
    look text err "$name.yaml"
    printf 'keys: {"\\e[2J<evil>": ["\\u202e"]}\nkinds: {"\\u009b": {law: "\\e[2J"}}\ncues: {"\\u200b": {say: "\\e[2J"}}\n' \
        >"config/coatbell/$name.yaml"
    XDG_CONFIG_HOME=$PWD/config timeout 20 "$coatbell" --log two.db status >out 2>err </dev/null
    look text out "$name.yaml"
    look text err "$name.yaml"
    rm "config/coatbell/$name.yaml"
done
echo "$calls calls"
[ "$calls" -gt 300 ] || fault "too few calls"
exit $((faults > 0))
