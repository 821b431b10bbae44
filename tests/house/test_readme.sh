#!/bin/bash
# SPDX-License-Identifier: MIT
# shellcheck disable=SC2016,SC2013
# What the documents promise: the recipe of README.md loads, its commands run, what it types is
# understood, its keys are those of the help screen, its links lead somewhere, and every command and
# target that is named is one.
set -eu
cd "$CB_ROOT"
coatbell=$CB_BUILD/coatbell
work=$(mktemp -d)

# block N: the Nth block of YAML
block() {
    awk -v wanted="$1" '/^```yaml$/ { n++; inside = 1; next } /^```$/ { inside = 0 }
        inside && n == wanted' README.md
}
block 1 >"$work/readme.yaml"
[ -s "$work/readme.yaml" ]
"$coatbell" check "$work/readme.yaml" >"$work/out" 2>&1 || {
    echo "the recipe of README.md is refused:"
    cat "$work/out"
    exit 1
}

"$coatbell" --help >"$work/help"
grep -ohE '`coatbell [a-z][a-z-]*' README.md DEVELOPERS.md | sort -u | sed 's/^`coatbell //' |
    while read -r command; do
        grep -qE "^ *(coatbell )?$command( |\$)" "$work/help" || {
            echo "README.md or DEVELOPERS.md names \`coatbell $command\`, --help does not"
            exit 1
        }
    done
for target in $(grep -ohE '`make [a-z][a-z-]*|^make [a-z]+' README.md DEVELOPERS.md |
    sed 's/^`*make //' | sort -u); do
    grep -qE "^([a-z -]* )?$target( [a-z -]*)?:" Makefile || {
        echo "make $target is named and is no target"
        exit 1
    }
done

# Where a link leads, and that a picture says in words what is on it.
faults=0
fault() {
    echo "README.md: $*"
    faults=$((faults + 1))
}
for document in README.md DEVELOPERS.md; do
    grep -oE '\]\([^)]*\)' "$document" | tr -d '](' | tr -d ')' | while read -r link; do
        [ -e "$link" ] || echo "$document: nothing lies at $link"
    done >"$work/dead"
    [ ! -s "$work/dead" ] || fault "$(cat "$work/dead")"
done
tr '\n' ' ' <README.md | grep -oE '!\[[^]]*\]\([^)]*\)' | tr -s ' ' >"$work/pictures"
for name in bench board road review; do
    grep -qE "!\[.{80,}\]\(man/pictures/$name.svg\)" "$work/pictures" ||
        fault "no picture of the $name, or none that says in words what is on it"
done

# The commands, as they stand, in a folder of their own; first the one that makes the recipe.
mkdir "$work/try"
export HOME=$work/try PATH="$CB_BUILD:$PATH"
tr '\n' ' ' <README.md | tr -s ' ' | grep -oE '`coatbell [^`]*`' | tr -d '`' | sort -u |
    sed 's/NAME/"Cloth blue"/' >"$work/commands"
{ grep '^coatbell new ' "$work/commands" && grep '^coatbell begin ' "$work/commands" &&
    grep -vE '^coatbell (new|begin) ' "$work/commands"; } >"$work/in-order"
[ "$(wc -l <"$work/in-order")" -ge 10 ] || fault "few commands: $(cat "$work/in-order")"
while read -r line; do
    (cd "$work/try" && timeout 60 bash -euc "$line") >"$work/out" 2>&1 </dev/null ||
        fault "does not run: $line: $(cat "$work/out")"
done <"$work/in-order"
[ -s "$work/try/watch.yaml" ] || fault "no watch.yaml was made"

# The settings, each in force as it stands.
mkdir -p "$work/set/coatbell"
block 2 >"$work/set/coatbell/config.yaml"
[ "$(wc -l <"$work/set/coatbell/config.yaml")" -ge 5 ] || fault "few settings"
XDG_CONFIG_HOME=$work/set "$coatbell" settings >"$work/out" 2>&1 || fault "settings: $(cat "$work/out")"
[ "$(grep -cE ' line [0-9]+ ' "$work/out")" -eq "$(wc -l <"$work/set/coatbell/config.yaml")" ] ||
    fault "not every setting is in force: $(cat "$work/out")"

# What it types at the bench.
quick=$(sed -n '/^1\. /,/^2\. /p' README.md | grep -oE '`[a-z ]+ [0-9]:[0-9] x[0-9]`' | head -1 | tr -d '`')
{
    printf 'bench\nkey i\ntype %s\nkey ENTER\nexpect begun:\nexpect Oilskin green\n' "$quick"
    sed -n '/^5\. /,/^6\. /p' README.md | grep -oE '`[0-9][^`]* [^`]*`' | tr -d '`' |
        while read -r typed; do
            printf 'key c\ntype %s\nkey ENTER\nrefuse not understood\nexpect room: \n' "$typed"
        done
    printf 'at +10m\ntype -6\nexpect 6 min ago\nkey SPACE\nexpect at 18:04\n'
} >"$work/try.play"
[ "$(grep -c 'key c' "$work/try.play")" -ge 4 ] || fault "few rooms are typed"
"$coatbell" play "$work/try.play" || fault "does not take what it says is typed"
printf 'begin %s -n 10\nkey SPACE\ntype 4\nkey SPACE\nexpect on 1 to 4\n' "$work/readme.yaml" >"$work/count.play"
sed -i '/together: yes/d' "$work/readme.yaml"
"$coatbell" play "$work/count.play" || fault "4 SPACE does not mark four"

# Every key of the help screen stands in the table, and none that is not there.
printf 'bench\nsize 200x200\nview help\ndump %s\n' "$work/keys" >"$work/help.play"
"$coatbell" play "$work/help.play"
awk '/^ [^ ]/ && !/Keys  a digit|may change|  back  / {
    for (i = 1; i <= 2; i++)
        if (i == 1 || $i == "PAGEDOWN" || $i == "u") print $i }' "$work/keys" |
    sed 's/BKSP/BACKSPACE/; s/PAGEDOWN/PageDown/' | sort -u >"$work/helped"
sed -n '/^| key /,/^$/p' README.md | sed -n '3,$s/^| \([^|]*\) |.*/\1/p' |
    sed 's/F1 to F5/F1 F2 F3 F4 F5/; s/^arrows/LEFT RIGHT UP DOWN/' |
    tr ' ,()' '\n' | grep -xE '[A-Z]+[0-9]?|PageDown|.' | grep -vx '[0-9]\|ENTER' | sort -u >"$work/told"
[ "$(wc -l <"$work/helped")" -gt 40 ] || fault "few keys on the help screen"
diff "$work/helped" "$work/told" || fault "keys of the help screen (<) and of the table (>) differ"
[ "$faults" -eq 0 ]
