#!/bin/bash
# SPDX-License-Identifier: MIT
# The examples of coatbell(1) and coatbell-cues(5) run as they stand, what the pages type at the bench is
# taken, and each page names the others. Those of coatbell-recipe(5) are read by test_recipe_file.c, those
# of coatbell-log(5) by test_log_page.sh, the numbers of coatbell-model(7) by test_model_page.sh.
set -u
cd "$CB_ROOT" || exit 1
work=$TMPDIR/pages
mkdir -p "$work/config/coatbell" "$work/data" || exit 1
export XDG_CONFIG_HOME=$work/config XDG_DATA_HOME=$work/data PATH="$CB_BUILD:$PATH"
faults=0
fault() {
    echo "failed: $*"
    faults=$((faults + 1))
}

for page in man/*.[1-9]; do
    own=$(basename "$page")
    see=$(sed -n '/^\.Sh SEE ALSO/,/^\.Sh STANDARDS/p' "$page")
    for other in man/*.[1-9]; do
        name=$(basename "$other")
        [ "$name" = "$own" ] || grep -q "^\.Xr ${name%.*} ${name##*.}" <<<"$see" ||
            fault "$own does not send to $name"
    done
done
grep -ohE '^\.Xr coatbell[a-z-]* [0-9]' man/*.[1-9] | sed 's/^\.Xr //; s/ /./' | sort -u >"$work/named"
while read -r other; do
    [ -e "man/$other" ] || fault "no page $other"
done <"$work/named"

# coatbell(1), EXAMPLES: `coatbell` alone opens the bench, which here is a play of one figure.
awk -v to="$work/example-" '/^\.Sh EXAMPLES/ { on = 1 } /^\.Sh SAFETY/ { on = 0 }
    on && /^\.Bd -literal/ { n++; inside = 1; next } /^\.Ed/ { inside = 0 }
    on && inside { print > (to n) }' man/coatbell.1
printf 'bench\nkey i\ntype wick white basecoat face x2\nkey ENTER\nkey SPACE\nexport painted.jsonl\n' \
    >"$work/one.play"
mkdir "$work/try"
examples=0
for example in "$work"/example-*; do
    examples=$((examples + 1))
    sed 's/^coatbell$/coatbell play ..\/one.play; coatbell log import painted.jsonl/' "$example" >"$work/run"
    rm -f "$work/try/watch.yaml"
    (cd "$work/try" && timeout 60 bash -eux "$work/run") >"$work/out" 2>&1 </dev/null ||
        fault "an example of coatbell(1) does not run: $(cat "$work/out")"
done
[ "$examples" -ge 4 ] || fault "only $examples examples in coatbell(1)"
[ "$(coatbell log export | grep -c '"event":"coat_on"')" -ge 1 ] || fault "no figure was painted as it comes"
[ "$(coatbell units --all | grep -c ' 9 ')" -eq 1 ] || fault "nine more like it were not begun"
[ -s "$work/try/evenings.csv" ] || fault "no evenings.csv"

# coatbell(1): rooms that are typed, and lines of quick entry.
said() { # FROM TO: what stands quoted between two lines of the page
    sed -n "/$1/,/$2/p" man/coatbell.1 | sed -n 's/^\.Ql \(.*[^ .,;]\)[ .,;]*$/\1/p'
}
{
    echo bench
    printf 'key i\ntype %s\nkey ENTER\nexpect begun:\n' "$(said '^\.Sh QUICK ENTRY' '^ENTER takes it' | head -1)"
    said '^Wherever the air' '^are understood' | while read -r line; do
        printf 'key c\ntype %s\nkey ENTER\nrefuse not understood\nexpect room: \n' "$line"
    done
} >"$work/typed.play"
[ "$(grep -c '^key c' "$work/typed.play")" -ge 6 ] || fault "few rooms are found in coatbell(1)"
coatbell play "$work/typed.play" || fault "what coatbell(1) types is not taken"

# coatbell-cues(5): the small one.
sed -n '/^\.Bd -literal/,/^\.Ed/p' man/coatbell-cues.5 | grep -v '^\.' >"$work/config/coatbell/cues.yaml"
coatbell cues >"$work/out" 2>&1 || fault "the example of coatbell-cues(5) is refused: $(cat "$work/out")"
for name in lamp-off gold-water; do
    grep -q "$name" "$work/out" || fault "no cue $name is listed"
done
[ "$faults" -eq 0 ]
