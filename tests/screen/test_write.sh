#!/bin/bash
# SPDX-License-Identifier: MIT
# One figure painted from twelve typed lines; written as a recipe it is sound, has the minutes of
# the script, and nine more figures painted by it get the very same films.
set -u
program=${CB_BUILD:-build/release}/coatbell
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
faults=0

fault() {
    echo "$*"
    faults=$((faults + 1))
}

same() { # WHAT GOT WANTED
    [ "$2" = "$3" ] || fault "$1: $2, wanted $3"
}

# NAME: plays the script on the input; leaves NAME.jsonl and, by an import, NAME.db.
play() {
    { cat; echo "export $work/$1.jsonl"; } >"$work/$1.play"
    "$program" play "$work/$1.play" || fault "$1.play does not run"
    "$program" log import "$work/$1.jsonl" --log "$work/$1.db" >/dev/null || fault "$1: no import"
}

line() { # TEXT: a quick line
    printf 'key i\ntype %s\nkey ENTER\n' "$1"
}
coat() { # MINUTES: so long after the last press the coat is on
    printf 'at +%s\nkey SPACE\n' "$1"
}
dries() { # in a pause, which is no time of the stage after it
    printf 'key p\nat +2h\nkey p\n'
}

# Each gap is the minutes of the coat, and with another paint than before the 90 s that a change of
# paint takes where a recipe does not say.
play first < <(
    echo "bench"
    line "prepare"
    echo "key SPACE" # the caution
    coat 6m
    line "harbour mud undercoat by airbrush"
    echo "key SPACE" # the caution
    coat 4m30s       # 3
    dries
    line "oilskin green basecoat oilskin 2:1 x2"
    coat 5m30s # 4
    dries
    coat 5m # 5; the median of both is 4.5
    line "bilge leather basecoat boots"
    coat 3m30s # 2
    line "wind-raw skin base face 3:1"
    coat 4m # 2.5
    line "lantern brass metallic lantern"
    coat 3m30s # 2
    line "wick white layer chart"
    coat 5m30s # 4
    line "sea red layer chart" # by mistake
    echo "key x"
    line "2 oilskin green + 1 wick white edge highlight hem"
    coat 6m30s # 5
    dries
    line "ebb wash wash oilskin boots"
    coat 3m30s # 2
    dries
    line "oilskin green drybrush oilskin"
    coat 3m30s # 2
    line "slack-water varnish varnish by sponge"
    dries
    coat 4m30s # 3
    echo "key +"   # it wants another one
    dries
    coat 3m # 3: the same paint
    echo "expect every coat is on; i types a stage, e brings more figures, f finishes"
)
same "coats on one figure" "$(grep -c '"event":"coat_on"' "$work/first.jsonl")" 13
same "lines typed" "$(grep -c '^type ' "$work/first.play")" 12

"$program" write --log "$work/first.db" >"$work/watch.yaml" || fault "no recipe is written"
"$program" check "$work/watch.yaml" >"$work/said" 2>&1 || fault "check refuses it"
[ -s "$work/said" ] && fault "check says: $(cat "$work/said")"

# The minutes are those of the script.
minutes() {
    sed -n 's/^  - name: //p; s/^    minutes: /: /p' "$work/watch.yaml" | paste -sd' ' | sed 's/ : / /g'
}
same "minutes" "$(minutes)" \
    "Prepare 6 Harbour mud undercoat 3 Oilskin green basecoat 4.5 Bilge leather basecoat 2 \
Wind-raw skin basecoat 2.5 Lantern brass basecoat 2 Wick white layer 4 \
Oilskin green + Wick white edge highlight 5 Ebb wash wash 2 Oilskin green drybrush 2 \
Slack-water varnish varnish 3"
same "left out by mistake" "$(grep -c -i 'sea red' "$work/watch.yaml")" 0
same "a coat more" "$(sed -n '/name: Slack-water varnish varnish/,$s/^    coats: //p' "$work/watch.yaml")" 2
head -1 "$work/watch.yaml" | grep -q '^# As painted, 2026-01-05 to 2026-01-06: 1 figure, 13 coats' ||
    fault "head: $(head -1 "$work/watch.yaml")"

# Nothing was answered: nothing was learned.
grep -q '# dry:' "$work/watch.yaml" && fault "a dry time that nobody taught"

# Nine more.
play second < <(
    echo "begin $work/watch.yaml -n 9"
    echo "size 120x40"
    for _ in $(seq 1 150); do
        coat 6m
    done
    echo "expect every coat is on"
)
same "figures" "$(grep -o '"event":"coat_on".*"figure":9' "$work/second.jsonl" | wc -l)" 13

# The stages of a recipe without what is no film: name, technique, paint, mix, areas, tool.
films() { # RECIPE: by name, for the coats of each
    awk '
        /^  - name: / { name = substr($0, 11); order[++count] = name; next }
        /^    (technique|paint|mix|on|by): / { text[name] = text[name] ";" substr($0, 5) }
        END { for (i = 1; i <= count; i++) print i "|" order[i] text[order[i]] }' "$1"
}
# LOG RECIPE FIGURE: what lies on the figure, coat by coat.
on_figure() {
    sed -n 's/.*"event":"coat_on".*"figure":\([0-9]*\),"stage":\([0-9]*\),"coat":\([0-9]*\).*/\1 \2 \3/p' "$1" |
        awk -v figure="$3" -F'[ |]' 'NR == FNR { rest = $0; sub(/^[0-9]*\|/, "", rest); film[$1] = rest; next }
            $1 == figure { print film[$2] "; coat " $3 }' <(films "$2") - | sort
}
sed -n 's/.*"event":"recipe_changed".*"recipe":"\(.*\)","press".*/\1/p' "$work/first.jsonl" | tail -1 >"$work/text"
printf '%b' "$(cat "$work/text")" >"$work/first.yaml"
on_figure "$work/first.jsonl" "$work/first.yaml" 1 >"$work/one"
same "films" "$(wc -l <"$work/one")" 13
for figure in 1 5 9; do
    on_figure "$work/second.jsonl" "$work/watch.yaml" "$figure" >"$work/other"
    diff "$work/one" "$work/other" || fault "figure $figure of nine has other films"
done
grep -q '^Oilskin green + Wick white edge highlight;technique: edge highlight;mix: 2 oilskin green + 1 wick white + 1 water;on: \[hem\]; coat 1$' "$work/one" ||
    fault "no blend: $(cat "$work/one")"

# What was learned is a comment, and a key of the stage without its sign.
play third < <(
    echo "begin $work/watch.yaml -n 1"
    echo "size 120x40"
    for _ in $(seq 1 3); do coat 6m; done # two cautions are read, a figure prepared
    coat 6m
    printf 'at +10m\nkey d\n' # sooner than could be foreseen for sure
)
"$program" write --log "$work/third.db" >"$work/third.yaml" || fault "no third recipe"
same "learned" "$(grep -c '^    # dry: [0-9.]* # learned of 1 film, at 23 C and 50 %$' "$work/third.yaml")" 1
sed 's/^    # dry:/    dry:/' "$work/third.yaml" >"$work/fixed.yaml"
"$program" check "$work/fixed.yaml" || fault "dry as a key is refused"
grep -q '^    dry: ' "$work/fixed.yaml" || fault "no key dry"

# In JSON, by name and by id; what is wrong is said.
"$program" write "5 January" --json --log "$work/first.db" >"$work/json" || fault "no unit of that name"
grep -q '"name":"5 January","recipe":"# As painted.*"stage":"Prepare","marks":1,"minutes":6,"films":0,"dry_min":null' "$work/json" ||
    fault "JSON: $(cut -c1-200 "$work/json")"
"$program" write Nobody --log "$work/first.db" >"$work/said" 2>&1
same "no such unit" "$? $(cat "$work/said")" "1 coatbell: no unit Nobody in the log; \`coatbell units\` lists them"
[ "$faults" -eq 0 ]
