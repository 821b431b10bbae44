#!/bin/bash
# SPDX-License-Identifier: MIT
# `settings` says of every key what is in force and from where, and each line that it proposes does what
# it says; times of day are shown as time: wants them, and no file that a script reads knows of it.
set -u
program=${CB_BUILD:-build/release}/coatbell
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
export XDG_CONFIG_HOME=$work/config XDG_DATA_HOME=$work/data
config=$XDG_CONFIG_HOME/coatbell/config.yaml
log=$work/data/coatbell/log.db
faults=0

fault() {
    echo "$*"
    faults=$((faults + 1))
}
value() { # KEY: in force, by the JSON
    "$program" settings --json "${@:2}" | tr '{' '\n' | sed -n "s/.*\"key\":\"$1\",\"value\":\(\"[^\"]*\"\|null\),\"from\":\"\([a-z]*\)\".*/\1 \2/p"
}
change() { # KEY: the line proposed, by the JSON
    "$program" settings --json "${@:2}" | tr '{' '\n' | sed -n "s/.*\"key\":\"$1\",.*\"change\":\(\"[^\"]*\"\|null\).*/\1/p"
}
is() { # WHAT WANTED
    [ "$1" = "$2" ] || fault "not $2 but: $1"
}

all=$("$program" settings)
[ "$(head -n 1 <<<"$all")" = "$config" ] || fault "not the path first: $all"
grep -q '^It is not there' <<<"$all" || fault "nobody says that the file is not there"
[ ! -e "$log" ] || fault "settings made a log"
for key in ping confidence units time theme ascii quiet_clock title terminal bell on_ring calm evening \
    sensor drops keys; do
    from='the default'
    [ "$key" != evening ] || from='the log'
    grep -q "^$key  *[^ ].*  $from  *$key: " <<<"$all" || fault "no default of $key: $all"
done
mkdir -p "$(dirname "$config")"
# each line, in a file of its own, is in force then, and the line after it leads back
while read -r line; do
    key=${line%%:*}
    printf '# mine\n%s\n' "$line" >"$config"
    after=$("$program" settings)
    from='the default'
    [ "$key" != evening ] || from='the log'
    grep -q "^$key  *[^ ].* line 2  *$key: " <<<"$(tr -d '\n' <<<"$(grep -A1 "^$key " <<<"$after")")" ||
        fault "not in force: $line: $after"
    [ "$(grep -A 1 "^$key " <<<"${after/line 2/$from}")" != "$(grep -A 1 "^$key " <<<"$all")" ] ||
        fault "changes nothing: $line"
done < <(sed -n 's/^[a-z_]* .*  \([a-z_]*: .*\)$/\1/p' <<<"$all")

printf 'theme: light\nconfidence: 60 %%\n' >"$config"
is "$(value theme)" '"light" config'
is "$(NO_COLOR=1 value theme)" '"mono" environment'
is "$(NO_COLOR='' value theme)" '"light" config'
is "$(value ascii)" '"no" default'
is "$(value ascii --ascii)" '"yes" option'
is "$(LC_ALL=C value ascii)" '"yes" environment'
is "$(value confidence)" '"60 %" config'
is "$(value evening)" 'null log'
# where the file is not asked, it has no line to change anything
is "$(change theme)" '"theme: dark"'
is "$(NO_COLOR=1 change theme)" null
is "$(change ascii)" '"ascii: yes"'
is "$(change ascii --ascii)" null
is "$(LC_ALL=C change ascii)" null
grep -q '^theme  *mono  *NO_COLOR$' < <(NO_COLOR=1 "$program" settings) || fault "no plain row of the theme"
printf 'them: light\n' >"$config"
"$program" settings >/dev/null 2>"$work/said"
is $? 65
grep -q "config.yaml:1:1: .*did you mean theme" "$work/said" || fault "$(cat "$work/said")"

rm "$config"
mkdir -p "$(dirname "$log")"
{
    echo '{"id":"a","at":"2026-01-05T18:00:00Z","event":"session_opened"}'
    echo '{"id":"b","at":"2026-01-05T18:01:00Z","event":"confidence_set","pct":90}'
} >"$work/set.jsonl"
"$program" log import --strict "$work/set.jsonl" >/dev/null || fault "no import"
is "$(value confidence)" '"90 %" log'
is "$(change confidence)" '"confidence: 80 %"'
# until a bench has written it there, what asks the log goes by the log
printf 'confidence: 60 %%\n' >"$config"
is "$(value confidence)" '"90 %" log'
is "$(change confidence)" '"confidence: 90 %"'
"$program" settings | grep -q '^confidence  *90 %  *the log; line 1 from the next opening$' || fault "no word of the log"
printf 'confidence: 90 %%\n' >"$config"
is "$(value confidence)" '"90 %" config'
is "$(change confidence)" '"confidence: 80 %"'

# times of day: on paper and in the page, not in what scripts read
"$program" demo --history "$work/demo.db" || fault "no history"
for time in 24h 12h; do
    printf 'time: %s\n' "$time" >"$config"
    TZ=UTC "$program" review --log "$work/demo.db" --html "$work/$time.html" >/dev/null || fault "no page"
    "$program" review --log "$work/demo.db" >"$work/$time.txt"
    for how in --json --csv; do
        "$program" review --log "$work/demo.db" "$how" >"$work/$time$how"
    done
    "$program" log export --log "$work/demo.db" - >"$work/$time.jsonl"
done
for file in html txt; do
    grep -q '[0-9]:[0-9][0-9][ap]m' "$work/12h.$file" || fault "$file does not tell am from pm"
    if grep -o '[0-9]:[0-9][0-9].' "$work/12h.$file" | grep -v '[ap]$' | grep -q ' $\|,$'; then
        fault "$file has both: $(grep -o '.....[0-9]:[0-9][0-9]..' "$work/12h.$file" | grep -v '[ap]m$' | head -3)"
    fi
    grep -q '[0-9]:[0-9][0-9][ap]m' "$work/24h.$file" && fault "$file by halves though 24h is set"
done
for file in --json --csv .jsonl; do
    cmp -s "$work/12h$file" "$work/24h$file" || fault "what a script reads changed: $file"
done

# ascii: yes holds for whatever is printed, and no JSON but its own setting knows of time: 12h
recipe=recipes/night-watch.yaml
coat() { # EVENT [FIELDS], a minute ago
    printf '{"id":"w%d","at":"%sZ","event":"%s"%s}\n' "$((++n))" "$(date -u -d '-1 min' +%FT%T)" "$1" "${2:-}"
}
n=0
text='coatbell: 1\nname: Watch\npaints: {a: {name: Rou\u00e9 green, kind: acrylic, dry: 60}}\nstages:\n  - {name: Coats, technique: basecoat, paint: a}\n'
{
    coat climate_set ',"temp_c":23,"rh_pct":50'
    coat unit_begun ",\"unit\":\"u\",\"name\":\"Gard\u00e9\",\"figures\":3,\"recipe\":\"$text\""
    coat coat_on ',"unit":"u","figure":1,"stage":1,"coat":1'
} >"$work/wet.jsonl"
"$program" log import --strict --log "$work/demo.db" "$work/wet.jsonl" >/dev/null || fault "no wet film"
calls=(plan "plan $recipe" 'dry acrylic' 'dry acrylic --plot' status 'status --all' review pots 'pots --why'
    'pots --calibration' cues units settings 'log check' "check $recipe" "mix $recipe" "set-out $recipe"
    'sensor --all')
# those that print, but what they write for a program to read
for command in $("$program" --help | sed -n 's/^  \([a-z][a-z-]*\) .*/\1/p'); do
    case " begin new write demo play ${calls[*]} " in
    *" $command "*) ;;
    *) fault "nobody looks at what $command prints" ;;
    esac
done
beyond=0
printf 'ascii: no\n' >"$config"
for call in "${calls[@]}"; do
    # shellcheck disable=SC2086 # words of a call
    "$program" $call --log "$work/demo.db" 2>/dev/null | LC_ALL=C grep -q '[^ -~]' && beyond=$((beyond + 1))
done
[ "$beyond" -ge 6 ] || fault "little beyond ASCII to leave out: $beyond"
printf 'ascii: yes\ntime: 12h\n' >"$config"
for call in "${calls[@]}"; do
    # shellcheck disable=SC2086
    "$program" $call --log "$work/demo.db" >"$work/shown" 2>/dev/null
    ! LC_ALL=C grep -n '[^ -~]' "$work/shown" || fault "not ASCII: $call"
    # shellcheck disable=SC2086
    ! "$program" $call --json --log "$work/demo.db" 2>/dev/null |
        grep -o '"[^"]*[0-9]:[0-9][0-9][ap]m[^"]*"' || fault "half days in JSON: $call"
done
[ "$faults" -eq 0 ]
