#!/bin/bash
# SPDX-License-Identifier: MIT
# What the review makes of logs in which the moment matters: a ping that is still to come, a together
# go, a session that stays open, events that come in later, a finish undone and done again. The minutes
# follow from the events by the rule in coatbell(1), REVIEW.
set -u
coatbell=${CB_BUILD:-build/release}/coatbell
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
cd "$work" || exit 1
faults=0
number=0

fault() {
    echo "$*"
    faults=$((faults + 1))
}

# event DAY MINUTE NAME [FIELDS]: one line, that many minutes after 18:00. With `set`, all in one
# boot, by a clock that is so many hours ahead of where it was.
event() {
    local boot=
    number=$((number + 1))
    [ -z "${set:-}" ] ||
        boot=",\"machine\":\"m\",\"seq\":$number,\"boot\":\"b\",\"boot_ms\":$(((($1 - 4) * 1440 + $2 - set * 60) * 60000))"
    printf '{"id":"e%04d","press":"%s","at":"2026-01-%02dT%02d:%02d:00.000Z","event":"%s"%s}\n' \
        $number "${press:-p$number}" "$1" $((18 + $2 / 60)) $(($2 % 60)) "$3" "${4:+,$4}$boot"
}

# begun DAY UNIT FIGURES STAGE...: a session, its air, and a unit by a recipe of these stages.
begun() {
    local day=$1 unit=$2 figures=$3 stage
    shift 3
    local recipe="coatbell: 1\\nname: R\\nchange: 1\\npaints:\\n  green: {name: Oilskin green, kind: acrylic}\\nstages:\\n"
    for stage in "$@"; do
        recipe+="  - {paint: green, on: whole, minutes: 4, $stage}\\n"
    done
    event "$day" 0 session_opened
    event "$day" 0 climate_set '"temp_c":23,"rh_pct":50'
    event "$day" 0 unit_begun "\"unit\":\"$unit\",\"name\":\"$unit\",\"figures\":$figures,\"recipe\":\"$recipe\""
}

coat() { # DAY MINUTE UNIT FIGURE STAGE
    event "$1" "$2" coat_on "\"unit\":\"$3\",\"figure\":$4,\"stage\":$5,\"coat\":1"
}

ended() { # DAY MINUTE UNIT [CLOSED]
    event "$1" "$2" unit_finished "\"unit\":\"$3\""
    event "$1" "${4:-$2}" session_closed
}

# minutes LOG KEY...: of the unit reviewed.
minutes() {
    local log=$1 key
    shift
    "$coatbell" review --log "$log" --json | sed 's/[,{]/\n/g' >"$log.json" || fault "no review of $log"
    for key in "$@"; do
        grep -m1 "\"$key\":" "$log.json" | sed 's/.*://; s/}.*//' | awk '{ printf "%.1f ", $1 }'
    done
}

same() { # WHAT GOT WANTED
    [ "$2" = "$3" ] || fault "$1: $2, wanted $3"
}

taken() { # LOG FILE...: a log of these
    local log=$1
    shift
    cat "$@" >"$log.jsonl"
    "$coatbell" log import "$log.jsonl" --log "$log" >/dev/null || fault "no import of $log"
}

parts="hands_on_min change_min waiting_min"
base="name: Base, technique: basecoat"
two="name: Two, technique: basecoat"

# Announced 60 minutes after the coat, painted over 4 later: the hour was waiting, whatever the
# unit's films say of themselves (nothing).
{
    begun 5 ping 1 "$base" "$two"
    coat 5 5 ping 1 1
    event 5 65 pinged '"unit":"ping","films":[{"figure":1,"stage":1,"coat":1}],"due_at":"2026-01-05T19:05:00.000Z","by":"popup"'
    coat 5 70 ping 1 2
    ended 5 70 ping
} >ping.part
taken ping.db ping.part
# shellcheck disable=SC2086 # keys
same "a ping to come" "$(minutes ping.db $parts)" "9.0 1.0 60.0 "
grep -q '"questions":\[\]' ping.db.json || grep -A1 '"questions":' ping.db.json | grep -q '\[\]' ||
    fault "a ping to come: asked whether somebody was away"

# Two figures, dry at 16 and at 22; both varnished in one go at 26: until 22 nothing could go on.
{
    begun 5 go 2 "$base, wait: 12" "name: Varnish, technique: varnish, wait: 12, together: yes"
    coat 5 4 go 1 1
    coat 5 10 go 2 1
    press=both
    coat 5 26 go 1 2
    coat 5 26 go 2 2
    press=
    ended 5 26 go
} >go.part
taken go.db go.part
# shellcheck disable=SC2086
same "a together go" "$(minutes go.db $parts)" "13.0 1.0 12.0 "

# A finished unit dries as long as it dries, however long the session stays open.
for closed in 31 60; do
    {
        begun 5 tail 1 "$base, wait: 12" "$two, wait: 12"
        coat 5 5 tail 1 1
        coat 5 30 tail 1 2
        ended 5 31 tail $closed
    } >tail.part
    taken tail$closed.db tail.part
    same "drying, closed at $closed" "$(minutes tail$closed.db films_min)" "24.0 "
done

# Events that another machine had come in after the unit was reviewed: the same as if they had been
# there from the start.
for kind in session_opened confidence_set climate_set unit_begun; do
    {
        begun 5 late 1 "$base" "$two"
        coat 5 5 late 1 1
        coat 5 40 late 1 2
        event 5 10 climate_set '"temp_c":18,"rh_pct":60'
        event 5 1 confidence_set '"pct":95'
        event 5 20 unit_begun '"unit":"other","name":"other","figures":1,"recipe":"coatbell: 1\nname: R\nstages:\n  - {name: A, technique: prepare}\n"'
        ended 5 41 late
    } >late.part
    grep "\"event\":\"$kind\"" late.part | tail -1 >later.jsonl
    grep -vxFf later.jsonl late.part >early.part
    rm -f early.db* whole.db*
    taken early.db early.part
    minutes early.db session_min >/dev/null
    "$coatbell" log import later.jsonl --log early.db >/dev/null || fault "no import of $kind"
    taken whole.db late.part
    # shellcheck disable=SC2086
    same "$kind later" "$("$coatbell" review late --log early.db --json)" \
        "$("$coatbell" review late --log whole.db --json)"
done

# Told the next evening that nobody was there: it counts, also when the review was kept by then.
{
    begun 5 told 1 "$base, wait: 12" "$two"
    coat 5 5 told 1 1
    coat 5 60 told 1 2
    ended 5 61 told
} >told.part
taken told.db told.part
# shellcheck disable=SC2086
same "not told" "$(minutes told.db $parts away_min)" "47.0 1.0 13.0 0.0 "
{
    event 6 0 session_opened
    event 6 1 away '"from":"2026-01-05T18:20:00.000Z","to":"2026-01-05T18:50:00.000Z"'
    event 6 2 session_closed
} >told.later
"$coatbell" log import told.later --log told.db >/dev/null || fault "no import of away"
# shellcheck disable=SC2086
same "told the next evening" "$(minutes told.db $parts away_min)" "17.0 1.0 13.0 30.0 "

# Told by a clock that was set in between: up to a day ahead it is still of that evening.
for case in '23 17 30.0' '25 19 0.0'; do
    read -r ahead hour away <<<"$case"
    set=0
    {
        begun 5 "set$ahead" 1 "$base, wait: 12" "$two"
        coat 5 5 "set$ahead" 1 1
        coat 5 60 "set$ahead" 1 2
        ended 5 61 "set$ahead"
    } >set.part
    taken "set$ahead.db" set.part
    minutes "set$ahead.db" session_min >/dev/null
    set=$ahead
    event 6 180 away "\"from\":\"2026-01-06T$hour:20:00.000Z\",\"to\":\"2026-01-06T$hour:50:00.000Z\"" >set.later
    set=
    "$coatbell" log import set.later --log "set$ahead.db" >/dev/null || fault "no import of away"
    same "told with the clock $ahead h ahead" "$(minutes "set$ahead.db" away_min)" "$away "
done

# A finish taken back and done again is a finish.
{
    begun 5 first 1 "$base"
    coat 5 5 first 1 1
    ended 5 6 first
    begun 6 second 1 "$base"
    coat 6 5 second 1 1
    press=finish
    event 6 6 unit_finished '"unit":"second"'
    press=back
    event 6 7 undone '"of":"finish"'
    press=again
    event 6 8 undone '"of":"back"'
    press=
    event 6 9 session_closed
} >redo.part
taken redo.db redo.part
"$coatbell" review --log redo.db | grep -q '^second$' || fault "a finish done again is none"

[ $faults -eq 0 ]
