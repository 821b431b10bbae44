#!/bin/bash
# SPDX-License-Identifier: MIT
# The status line is of all units under way: what is dry next may be of the one behind, and --all has
# every film with its unit, and all the screens as plain text.
set -u
program=${CB_BUILD:-build/release}/coatbell
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
faults=0
n=0

fault() {
    echo "$*"
    faults=$((faults + 1))
}
line() { # MINUTES AGO EVENT [FIELDS]
    n=$((n + 1))
    printf '{"id":"i%d","at":"%sZ","event":"%s","press":"p%d","machine":"m","seq":%d%s}\n' "$n" \
        "$(date -u -d "-$1 min" +%FT%T)" "$2" "$n" "$n" "${3:-}"
}
begins() {
    local recipe
    recipe="coatbell: 1\\nname: $1\\npaints: {a: {name: Oilskin green, kind: acrylic, dry: 60}}\\nstages:"
    recipe="$recipe\\n  - {name: Coats, technique: basecoat, paint: a}\\n"
    printf ',"unit":"%s","name":"%s wardens","figures":3,"recipe":"%s"' "$1" "$1" "$recipe"
}
coat() { printf ',"unit":"%s","figure":%d,"stage":1,"coat":1' "$1" "$2"; }
{
    line 30 session_opened
    line 30 climate_set ',"temp_c":23,"rh_pct":50'
    line 29 unit_begun "$(begins Gate)"
    line 28 coat_on "$(coat Gate 2)"
    line 27 unit_begun "$(begins Orchard)"
    line 5 coat_on "$(coat Orchard 1)"
    line 4 session_closed
} >"$work/two.jsonl"
"$program" log import --strict --log "$work/log.db" "$work/two.jsonl" >/dev/null || fault "no import"
said=$("$program" status --log "$work/log.db")
[[ $said == 'Oilskin green on 2 '*'Oilskin green on 2, Gate wardens dry in '* ]] || fault "status: $said"
all=$("$program" status --all --log "$work/log.db")
grep -q '^wet  [0-9:]*  figure 2 of Gate wardens  Oilskin green  ' <<<"$all" || fault "not the one behind: $all"
grep -q '^wet  [0-9:]*  figure 1  Oilskin green  ' <<<"$all" || fault "not the one in front: $all"
for view in bench rack road pots review glance help; do
    grep -qx "$view:" <<<"$all" || fault "no text of $view: $all"
done
grep -q '^ Bench  Orchard wardens  stage 1 of 1, Coats ' <<<"$all" || fault "the bench is not that of the log: $all"
grep -q '^[> ]Coats  *[23] left  *[0-9]* min$' <<<"$all" || fault "the road has no minutes: $all"
! grep -q '.\{80\}' <<<"$all" || fault "too wide: $(grep -n '.\{80\}' <<<"$all")"
before=$("$program" log export --log "$work/log.db" - | sha256sum)
ascii=$("$program" status --all --ascii --log "$work/log.db")
! LC_ALL=C grep -q '[^ -~]' <<<"$ascii" || fault "not ASCII: $(LC_ALL=C grep -n '[^ -~]' <<<"$ascii")"
[ "$before" = "$("$program" log export --log "$work/log.db" - | sha256sum)" ] || fault "status wrote to the log"
none=$("$program" status --all --log "$work/none.db") || fault "no status without a log: $none"
grep -qx "help:" <<<"$none" || fault "no help without a log: $none"
[ ! -e "$work/none.db" ] || fault "status made a log"
mkdir -p "$work/config/coatbell"
echo 'time: 12h' >"$work/config/coatbell/config.yaml"
[[ $(XDG_CONFIG_HOME=$work/config "$program" status --log "$work/log.db") =~ ', '[0-9]+:[0-9]{2}[ap]m$ ]] ||
    fault "no half days: $(XDG_CONFIG_HOME=$work/config "$program" status --log "$work/log.db")"
[ "$("$program" status --json --log "$work/log.db" | grep -o '"unit":"[A-Z][a-z]*"' | sort -u | wc -l)" = 2 ] ||
    fault "as JSON there are not both"
[ "$faults" -eq 0 ]
