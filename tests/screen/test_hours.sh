#!/bin/bash
# SPDX-License-Identifier: MIT
# Evenings whose every minute is written in a script give exactly these hours, in every form of
# the review.
set -u
program=${CB_BUILD:-build/release}/coatbell
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
faults=0
cat >"$work/three-evenings.yaml" <<'YAML'
# Two figures, two paints, drying times that are exact: every minute below is in the script.
coatbell: 1
name: Two lamplighters
figures: 2
change: 60 s
paints:
  rope: {name: Tarred rope, kind: acrylic}
  ebb: {name: Ebb wash, kind: wash}
stages:
  - {name: Coats, technique: basecoat, paint: rope, on: whole, minutes: 4, wait: 12 min}
  - {name: Shade, technique: wash, paint: ebb, on: whole, minutes: 2, wait: 12 min}
  - {name: Edges, technique: edge highlight, paint: rope, on: whole, minutes: 3, wait: 5 min}
YAML

fault() {
    echo "$*"
    faults=$((faults + 1))
}

same() { # WHAT GOT WANTED
    [ "$2" = "$3" ] || fault "$1: $2, wanted $3"
}

# NAME: plays the script on the input; leaves NAME.db by way of an export and an import.
play() {
    { cat; echo "export $work/$1.jsonl"; } >"$work/$1.play"
    "$program" play "$work/$1.play" || fault "$1.play does not run"
}

import() { # NAME
    "$program" log import "$work/$1.jsonl" --log "$work/$1.db" >"$work/said" || fault "$1: no import"
}

# Three evenings; what every gap is stands above it.
play three-evenings <<'PLAY'
begin three-evenings.yaml
# change 1, hands-on 4: figure 1, Coats
at +5m
key SPACE
# hands-on 4: figure 2
at +4m
key SPACE
# waiting 8 (figure 1 is dry at 18:17), change 1, hands-on 2: figure 1, Shade
at +11m
key SPACE
# waiting 1 (figure 2 is dry at 18:21), hands-on 4: figure 2, Shade
at +5m
key SPACE
# waiting 1, pause 10, waiting 4
at +1m
key p
at +10m
key p
at +4m
key q

# The second evening: change 1, hands-on 3: figure 1, Edges
at 2026-01-06T19:00:00Z
reboot
at +4m
key SPACE
# tidying up 2: a slip on figure 1
at +2m
key LEFT
key t
key ESC
# hands-on 49, of which 40 are asked about: 3 x 3 of them are believed: figure 2, Edges
at +49m
key SPACE
view review
expect were you away 19:06 to 19:46?
key ENTER
refuse were you away
view bench
# waiting 3
at +3m
key q

# The third evening: a coat is added on figure 2; change 1, hands-on 3
at 2026-01-07T18:30:00Z
reboot
key +
at +4m
key SPACE
# a pause of 6 within waiting 2
at +1m
key p
at +6m
key p
at +1m
key f
at +2m
key q
PLAY
# Another program's log brings a chore, in the last 4 minutes of
# waiting on the first evening.
echo '{"id":"rinse","at":"2026-01-05T18:39:30.000Z","event":"chore_done","name":"rinse","minutes":3}' \
    >>"$work/three-evenings.jsonl"
import three-evenings

# What was waited, was waited for the stage whose coat went on next: 9 for Shade; the rest of it lay at
# the end of an evening. minutes of hands-on, change, waiting, chores, tidying up, pause and away
unit="29 4 16 3 2 16 40"
first="14 2 11 3 0 10 0"
second="12 1 3 0 2 0 40"
third="3 1 2 0 0 6 0"
coats="8 1 0 0 0 0 0"
shade="6 1 9 0 0 0 0"
edges="15 2 0 0 2 0 0"

"$program" review --log "$work/three-evenings.db" --csv | tr -d '\r"' >"$work/csv"
csv() { # SCOPE NAME: the minutes of that row
    awk -F, -v scope="$1" -v name="$2" '$2 == scope && index($3, name) == 1 {
        for (i = 6; i <= NF; i++) printf "%s%g", (i > 6 ? " " : ""), $i }' "$work/csv"
}
same "csv, unit" "$(csv unit "")" "$unit"
same "csv, first evening" "$(csv session 2026-01-05T18:00:00)" "$first"
same "csv, second evening" "$(csv session 2026-01-06T19:00:00)" "$second"
same "csv, third evening" "$(csv session 2026-01-07T18:30:00)" "$third"
same "csv, Coats" "$(csv stage Coats)" "$coats"
same "csv, Shade" "$(csv stage Shade)" "$shade"
same "csv, Edges" "$(csv stage Edges)" "$edges"
same "csv, figures" "$(csv figure "" | tr -d '\n')" "9 0 0 0 0 0 020 0 0 0 0 0 0"
same "csv, in session" "$(awk -F, '$2 == "unit" { printf "%g", $5 }' "$work/csv")" 110

# Every value with the object it stands in, a line each.
"$program" review --log "$work/three-evenings.db" --json |
    sed 's/{/\n{/g; s/}/\n/g' >"$work/json"
json() { # TEXT: the minutes of the object that has it
    grep -F "$1" "$work/json" | head -1 | tr , '\n' | awk -F: '
        /_min":/ && !/session_min|planned|figures/ { printf "%s%g", (n++ ? " " : ""), $2 }'
}
same "json, unit" "$(json '"session_min":110')" "$unit"
same "json, first evening" "$(json '"from":"2026-01-05T18:00:00.000Z","to":"2026-01-05T18:40:00.000Z"')" "$first"
same "json, second evening" "$(json '"from":"2026-01-06T19:00:00.000Z","to":"2026-01-06T19:58:00.000Z"')" "$second"
same "json, third evening" "$(json '"from":"2026-01-07T18:30:00.000Z"')" "$third"
same "json, Coats" "$(json '"name":"Coats"')" "$coats"
same "json, Shade" "$(json '"name":"Shade"')" "$shade"
same "json, Edges" "$(json '"name":"Edges"')" "$edges"
grep -qF '"figures_min":[9,20]' "$work/json" || fault "json: not 9 and 20 min a figure"

"$program" review --log "$work/three-evenings.db" --html "$work/page.html" >"$work/said" ||
    fault "no page"
sed 's/<tr>/\n/g; s/<\/tr>/\n/g' "$work/page.html" >"$work/rows"
html() { # NAME: the minutes of the row that begins so; a column that is nothing is not there
    awk -v name="<th scope=\"row\">$1" '
        /^<th scope="col">/ { gsub(/<th scope="col">/, ""); columns = split($0, column, "</th>") - 1 }
        index($0, name) == 1 && !done {
            done = 1; sub(/.*<\/th>/, ""); gsub(/<td>/, ""); n = split($0, cell, "</td>") - 1
            for (i = 1; i <= n; i++) minutes[column[columns - n + i]] = cell[i]
            m = split("hands-on,paint change,waiting,chores,tidying up,pause,away", part, ",")
            for (i = 1; i <= m; i++) printf "%s%g", (i > 1 ? " " : ""), minutes[part[i]] }' "$work/rows"
}
same "html, unit" "$(html "whole unit")" "$unit"
same "html, first evening" "$(html 2026-01-05)" "$first"
same "html, second evening" "$(html 2026-01-06)" "$second"
same "html, third evening" "$(html 2026-01-07)" "$third"
same "html, Coats" "$(html Coats)" "$coats"
same "html, Shade" "$(html Shade)" "$shade"
same "html, Edges" "$(html Edges)" "$edges"

grep -q '<td>[0-9]*[.]' "$work/page.html" && fault "html: tenths of a minute"
grep -q '<th scope="col">Stage</th>.*chores' "$work/rows" && fault "html: a column that is nothing"
# All evenings on one scale: the picture of the longest, 58 min, is filled, that of the last is not.
grep -q 'The whole width is 58 min' "$work/page.html" || fault "html: the scale is not said"
ends() { # DATE: where its picture ends
    grep -o "Time line of $1.*" "$work/page.html" | sed 's/<\/svg>.*//; s/<rect/\n&/g' |
        awk -F'"' '/^<rect/ && $2 != "drying" { end = $4 + $8 } END { printf "%.0f", end }'
}
same "html, ends of the pictures" "$(ends 2026-01-05) $(ends 2026-01-06) $(ends 2026-01-07)" "690 1000 207"

"$program" review --log "$work/three-evenings.db" --ascii >"$work/text"
finding="1 h 50 min, of it 29 min painting; 16 min waiting"
same "text, first line" "$(head -n 1 "$work/text")" "$finding, most of it after Coats"
grep -qF "<section><p class=\"finding\">$finding, most of it after Coats</p>" "$work/page.html" ||
    fault "html: the finding is not first in its part"
grep -qF '<h1>Where the hours went</h1><section><p class="finding">' "$work/page.html" ||
    fault "html: something stands before the finding"
text() { # the totals, each "H h M min" or "M min" before its share
    awk '/^Where the hours went/ { on = 1; next } on && NF == 0 { exit }
        on { minutes = 0
            for (i = 2; i <= NF && $i !~ /%/; i++) {
                minutes += $i == "h" ? $(i - 1) * 60 : $i == "min" ? $(i - 1) : 0 }
            printf "%s%d", (n++ ? " " : ""), minutes }' "$work/text"
}
same "text, unit" "$(text)" "$unit"
# A row of an evening is at last its strip: 60 and more columns, so each minute has one or more.
grep -q '^ 2026-01-05  18:00 to 18:40  14 min hands-on' "$work/text" || fault "text: first evening"
grep -q '^ 2026-01-06  19:00 to 19:58  12 min hands-on' "$work/text" || fault "text: second evening"
grep -q '^ 2026-01-07  18:30 to 18:44  3 min hands-on' "$work/text" || fault "text: third evening"
grep -q '^ Edges  *9 min  *17 min ' "$work/text" || fault "text: Edges, hands-on and tidying up"

# Half way: what was not begun is in no table, what is nothing is no row.
play half <<'PLAY'
begin three-evenings.yaml
at +5m
key SPACE
at +4m
key SPACE
at +3m
key q
PLAY
import half
"$program" review --log "$work/half.db" --ascii --html "$work/half.html" >/dev/null || fault "half: no page"
"$program" review --log "$work/half.db" --ascii >"$work/text"
same "half, first line" "$(head -n 1 "$work/text")" \
    "so far 12 min, of it 8 min painting; 3 min waiting, nearly all after Coats"
grep -q '^ Coats ' "$work/text" || fault "half: no stage that was begun"
grep -q 'Shade\|Edges\|pause\|away\|chores' "$work/text" && fault "half: shows what is nothing"
grep -q 'Shade\|Edges\|>pause\|>away\|chores' "$work/half.html" && fault "half, html: shows what is nothing"
grep -q '^ hands-on: about [0-9]* min, likely [0-9]* to [0-9]*$' "$work/text" || fault "half: the range"

# The next ones are as many as those not parked.
play one <<'PLAY'
begin three-evenings.yaml --first 1
at +5m
key SPACE
at +3m
key q
PLAY
import one
"$program" review --log "$work/one.db" | grep -qx 'The next 1' || fault "one: the next are not one"
"$program" review --log "$work/one.db" --json | grep -q '"next_figures":1,' || fault "one: JSON"
"$program" review --log "$work/half.db" --json | grep -q '"next_figures":2,' || fault "half: JSON"

# Twice as long ago it was done once more: each stage stands beside what it took then.
"$program" review --log "$work/three-evenings.db" --html "$work/page.html" >/dev/null
grep -q 'took before' "$work/page.html" && fault "html: a unit before the first"
sed 's/"2026-01/"2025-12/g; s/"id":"/&b/; s/"press":"/&b/; s/"unit":"/&b/; /"event":"chore/d
    s/,"machine":"[^"]*","seq":[0-9]*//; s/,"boot":"[^"]*","boot_ms":[0-9]*//' \
    "$work/three-evenings.jsonl" >"$work/earlier.jsonl"
"$program" log import "$work/earlier.jsonl" --log "$work/three-evenings.db" >"$work/said" ||
    fault "earlier: no import"
"$program" review --log "$work/three-evenings.db" --html "$work/page.html" "Two lamplighters" >/dev/null
sed 's/<tr>/\n/g; s/<\/tr>/\n/g' "$work/page.html" >"$work/rows"
grep -q '^<th scope="row">Coats</th><td>8</td><td>8</td><td>8</td>' "$work/rows" ||
    fault "html: not beside the unit before: $(grep 'row">Coats' "$work/rows")"

# A session that was cut off is closed at its last event; yes, no, or no answer to its tail. The
# power goes while figure 2 waits to be painted: the last event is the ping of figure 1.
cut() { # WHAT ANSWER WANTED
    play cut-off <<PLAY
begin three-evenings.yaml
# change 1, hands-on 4
at +5m
key SPACE
# the ping comes at 18:17: of the 12 minutes since the coat 4 are waiting, 8 are asked about
at +13m
reboot
expect cut off: were you away 18:09 to 18:17? F5
at +1m
key F5
expect were you away 18:09 to 18:17?
$2
PLAY
    rm -f "$work/cut-off.db"
    import cut-off
    "$program" review --log "$work/cut-off.db" --json | sed 's/{/\n{/g; s/}/\n/g' >"$work/json"
    same "cut off, $1" "$(json '"to":"2026-01-05T18:17:00.000Z"')" "$3"
    grep -qF '"to":"2026-01-05T18:17:00.000Z","cut_off":true' "$work/json" ||
        fault "cut off, $1: not closed at its last event and marked"
}
cut "no answer" "" "4 1 4 0 0 0 8"
grep -q '"questions":\[$' "$work/json" || fault "cut off: nothing is asked"
cut "yes" $'key ENTER\nrefuse were you away' "4 1 4 0 0 0 8"
grep -q '"questions":\[\]' "$work/json" || fault "cut off, yes: asked again"
cut "no" $'key w\nrefuse were you away' "4 1 12 0 0 0 0"
grep -q '"questions":\[\]' "$work/json" || fault "cut off, no: asked again"
"$program" review --log "$work/cut-off.db" | grep -q '18:00 to 18:17 .*(cut off)' ||
    fault "text: not marked as cut off"

[ "$faults" -eq 0 ]
