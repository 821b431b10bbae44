#!/bin/bash
# SPDX-License-Identifier: MIT
# What was learned travels as a table that names no unit, no person and no time; another bench takes it
# for three coats a paint at most, once, names it, and takes it back.
set -u
# shellcheck source=tests/terminal/box.sh
. "${CB_ROOT:?}/tests/terminal/box.sh"

recipe=$root/recipes/night-watch.yaml
{
    printf 'begin %s\n' "$recipe"
    for _ in 1 2 3 4 5 6 7 8 9 10 11 12 13 14; do
        printf 'key ESC\nkey SPACE\nat +6m\nkey ESC\ndo wet\nat +8m\nkey ESC\ndo dry\n'
    done
    echo 'export theirs.jsonl'
} >evening.play
"$coatbell" play evening.play >/dev/null || fail "no evening"
"$coatbell" --log theirs.db log import theirs.jsonl >/dev/null || fail "no log"
"$coatbell" --log theirs.db pots export table.yaml >out || fail "export: $(cat out)"
grep -q '^exported [3-9] paints$' out || fail "export says: $(cat out)"
"$coatbell" --log theirs.db pots export - | cmp -s - table.yaml || fail "- is not the same"
[ "$(head -1 table.yaml)" = 'coatbell pots: 1' ] || fail "the first line: $(head -1 table.yaml)"

# The fields, and nothing that tells of the bench: names of units, recipes and stages, machines, boots, days.
fields=$(sed -n '/^paints/,$p' table.yaml | sed 's/"[^"]*"//g' | grep -o '[a-z_]*:' | sort -u | tr -d '\n')
[ "$fields" = 'coats:high_min:kind:low_min:median_min:paint:paints:technique:' ] || fail "fields: $fields"
field() { grep -o "\"$1\":\"[^\"]*\"" theirs.jsonl | cut -d'"' -f4 | sort -u; }
{
    for name in id unit press machine boot name place at; do field "$name"; done
    field at | cut -c1-10 | sort -u
    sed -n 's/^  - name: //p; s/^name: //p' "$recipe"
    hostname
    id -un
    echo figure
} | sort -u | grep -v '^$' >words
[ "$(wc -l <words)" -gt 60 ] || fail "too few words to look for"
grep -oFf words table.yaml >found && fail "the table tells of: $(sort -u found)"

# Into a fresh log, before anything was begun; once, however often.
"$coatbell" --log mine.db pots import table.yaml >out || fail "import: $(cat out)"
grep -q '^imported [3-9] paints, 0 there already; each counts as 3 coats at most, before your own, once a unit has the paint$' out ||
    fail "import says: $(cat out)"
# What no unit has yet is named as waiting.
"$coatbell" --log mine.db pots | tr -s '\n ' ' ' | grep -q '^no paint yet.*from another painter, until a unit has it: .*Lantern brass' ||
    fail "what waits is not listed: $("$coatbell" --log mine.db pots)"
"$coatbell" --log mine.db pots 'lantern brass' --why >out 2>&1 && fail "--why of a paint that no unit has"
grep -q 'from another painter, and not used here yet: Lantern brass; it counts once a unit has it' out || fail "waiting: $(cat out)"
"$coatbell" --log mine.db begin "$recipe" --temp 23 --rh 50 >/dev/null </dev/null || fail "no unit"
"$coatbell" --log fresh.db begin "$recipe" --temp 23 --rh 50 >/dev/null </dev/null || fail "no fresh unit"
"$coatbell" --log mine.db pots | grep 'from another' && fail "it waits still"
pots() { "$coatbell" --log "$1" pots --json; }
pots mine.db >mine
pots fresh.db | cmp -s - mine && fail "nothing was learned of it"
grep -q '"films":[1-9]' mine && fail "another painter's coats are counted as films"
"$coatbell" --log mine.db pots import - <table.yaml >out || fail "import of -: $(cat out)"
grep -q '^imported 0 paints, [3-9] there already$' out || fail "the second import says: $(cat out)"
"$coatbell" --log mine.db pots import --json table.yaml | grep -q '^{"imported":0,"known":[3-9],"pooled":0,"unknown":0}$' || fail "--json"
pots mine.db | cmp -s - mine || fail "the same file counts twice"
"$coatbell" --log mine.db log check >/dev/null || fail "log check finds a fault"

# Named, in words and for programs.
coats=$(sed -n 's/.*"Lantern brass".*coats: \([0-9]*\)}$/\1/p' table.yaml)
"$coatbell" --log mine.db pots 'lantern brass' --why | tr -s '\n ' ' ' >why
grep -q "no coat of yours yet, another painter's $coats coats count as three" why || fail "why: $(cat why)"
grep -q "of another painter: $coats coats, each as if found wet at" why || fail "why: $(cat why)"
"$coatbell" --log mine.db pots --why --json | grep -q "\"given\":\[{\"technique\":\"basecoat\",\"low_min\":.*\"coats\":$coats}" ||
    fail "why --json"
[ "$("$coatbell" --log mine.db pots export - | grep -c paint:)" = 0 ] || fail "it is passed on as one's own"

# Another table of one of those paints is pooled with it: three coats in all, between the two.
sed '/paint:/d' table.yaml >other.yaml
printf '  - {paint: Lantern brass, kind: metallic, technique: basecoat, median_min: 90, low_min: 89, high_min: 91, coats: 30}\n' >>other.yaml
cp mine.db pooled.db
"$coatbell" --log pooled.db pots import other.yaml >out || fail "the other table: $(cat out)"
grep -qx 'imported 1 paint, 0 there already; each counts as 3 coats at most, before your own, once a unit has the paint; 1 pooled with what was given before' out ||
    fail "pooling says: $(cat out)"
"$coatbell" --log pooled.db pots 'lantern brass' --why | tr -s '\n ' ' ' |
    grep -q "other painters' $((coats + 30)) coats count as three" || fail "two tables are not named as two"
cp fresh.db alone.db
"$coatbell" --log alone.db pots import other.yaml >out || fail "the other alone: $(cat out)"
brass() { "$coatbell" --log "$1" pots --json | tr '{' '\n' | grep '"Lantern brass".*basecoat' | grep -o '"median_min":[0-9.]*' | cut -d: -f2; }
awk "BEGIN { exit !($(brass mine.db) < $(brass pooled.db) && $(brass pooled.db) < $(brass alone.db)) }" ||
    fail "pooled: $(brass pooled.db), not between $(brass mine.db) and $(brass alone.db)"

# An entry that stands there twice counts once; one of a kind that is unknown here teaches nothing, and is left.
sed '/Lantern brass/!d; s/: metallic/: moonlight/; s/kind: "[a-z]*"/kind: "moonlight"/' table.yaml >moon
cat other.yaml moon <(tail -1 other.yaml) >double.yaml
for _ in 1 2; do
    "$coatbell" --log double.db pots import double.yaml >>double || fail "a table with doubles: $(cat double)"
done
diff - double <<END || fail "doubles"
imported 1 paint, 1 there already, 1 of a kind unknown here left; each counts as 3 coats at most, before your own, once a unit has the paint
imported 0 paints, 2 there already, 1 of a kind unknown here left
END
[ "$("$coatbell" --log double.db log export - | grep -c prior_given)" = 1 ] || fail "not one event for what counts once"

# Its events travel as all others do, and one undo takes them all back.
"$coatbell" --log mine.db log export mine.jsonl || fail "log export"
[ "$(grep -c '"event":"prior_given"' mine.jsonl)" = "$(grep -c paint: table.yaml)" ] || fail "not an event a paint"
"$coatbell" --log again.db log import mine.jsonl >/dev/null || fail "log import"
pots again.db | cmp -s - mine || fail "in another log the same events say something else"
press=$(grep '"event":"prior_given"' mine.jsonl | head -1 | sed 's/.*"press":"\([^"]*\)".*/\1/')
machine=$(grep '"event":"prior_given"' mine.jsonl | head -1 | sed 's/.*"machine":"\([^"]*\)".*/\1/')
printf '{"id":"u1","at":"2030-01-01T00:00:00.000Z","event":"undone","of":"%s","press":"u1","machine":"%s","seq":999}\n' \
    "$press" "$machine" | "$coatbell" --log again.db log import - >/dev/null || fail "no undo"
pots fresh.db >fresh
pots again.db | cmp -s - fresh || fail "taken back it still counts"
"$coatbell" --log again.db pots import table.yaml | grep -q '^imported [3-9] paints, 0' || fail "not again after an undo"
pots again.db | cmp -s - mine || fail "given again it is something else"

# What is no table is refused, a line each, and nothing is taken of it.
bad() { # WHAT CODE CALL...
    local what=$1 code=$2 rc=0
    shift 2
    "$coatbell" --log bad.db "$@" >out 2>err </dev/null || rc=$?
    [ "$rc" = "$code" ] || fail "$*: ended with $rc"
    grep -qxF -- "$what" err || fail "$*: says $(cat err)"
}
sed '5s/coats: [0-9]*/coats: many/' table.yaml >wrong.yaml
column=$(($(sed -n "5s/coats:.*//p" wrong.yaml | tr -d "\n" | wc -m) + 8))
bad "wrong.yaml:5:$column: coats: many: must be a whole number, 1 to 1000000" 65 pots import wrong.yaml
[ "$(wc -l <err)" = 1 ] || fail "more than a line: $(cat err)"
[ -e bad.db ] && fail "a log was made of what was refused"
bad 'coatbell: pots import: it takes one FILE, - is standard input' 2 pots import
bad 'coatbell: pots export: it takes one FILE, - is standard output' 2 pots export
bad 'coatbell: pots: one NAME, or export FILE, or import FILE' 2 pots brass lantern
bad 'coatbell: pots import: --why does not go with it' 2 pots import x --why

exit "$failed"
