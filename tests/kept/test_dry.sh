#!/bin/bash
# SPDX-License-Identifier: MIT
# dry, mix and set-out through the real program: the numbers that scripts rely on, the exit codes,
# one clear line for what is wrong.
set -u
program=${CB_BUILD:-build/release}/coatbell
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
faults=0

fault() {
    echo "$*"
    faults=$((faults + 1))
}

field() { # NAME ANSWER
    printf '%s' "$2" | sed -n "s/.*[{,]\"$1\":\([^],}]*\).*/\1/p"
}

within() { # WHAT VALUE LOW HIGH
    awk -v v="$2" -v l="$3" -v h="$4" 'BEGIN { exit !(v != "" && v + 0 >= l && v + 0 <= h) }' ||
        fault "$1: $2, wanted $3 to $4"
}

dry() {
    "$program" dry "$@" --json || fault "dry $*: ended with $?"
}

standard=$(dry acrylic --technique basecoat --temp 23 --rh 50)
within "standard minutes" "$(field standard_min "$standard")" 6.22 6.34 # 6.28 within 1 %
[ "$(field climate_factor "$standard")" = 1 ] || [ "$(field climate_factor "$standard")" = 1.0 ] ||
    fault "climate factor at 23/50: $(field climate_factor "$standard")"
within "svp" "$(field svp_pa "$standard")" 2800 2818 # ASHRAE ch. 1, table 3: 2809
within "water leaves" "$(field leave_min "$standard")" 4.95 5.05
within "through the skin" "$(field through_min "$standard")" .015 .025
within "film forms" "$(field form_min "$standard")" 1.245 1.265
within "film" "$(field film_c "$standard")" 16.38 16.48
for name in standard_min leave_min through_min form_min film_c climate_factor air_factor median_min ping_min confidence dew_point_c \
    wet_bulb_c svp_pa; do
    [ -n "$(field $name "$standard")" ] || fault "no $name"
done
case $standard in *'"warnings":[]'*) ;; *) fault "warnings at the standard climate" ;; esac

cold=$(dry acrylic --technique basecoat --temp 10 --rh 50)
within "factor at 10/50" "$(field climate_factor "$cold")" .57 .64
damp=$(dry acrylic --technique basecoat --temp 23 --rh 80)
within "factor at 23/80" "$(field climate_factor "$damp")" .36 .40
no_clock() {
    printf '%s' "$1" | sed 's/[0-9][0-9]:[0-9][0-9]//g' # the room's lines tell the time of day
}
fahrenheit=$(dry acrylic --technique basecoat --temp 73.4F --rh 50)
[ "$(no_clock "$fahrenheit")" = "$(no_clock "$standard")" ] || fault "73.4F is not 23"

median() {
    field median_min "$(dry "$@" --temp 23 --rh 50)"
}
neat=$(median wash --technique "recess shade")
cut=$(median wash --technique "recess shade" --mix "1 paint + 1 medium")
fan=$(median wash --technique "recess shade" --mix "1 paint + 1 medium" --air fan)
within "1:1 over neat" "$(awk -v a="$cut" -v b="$neat" 'BEGIN { print a / b }')" 1.02 1.05
within "still over fan" "$(awk -v a="$cut" -v b="$fan" 'BEGIN { print a / b }')" 2.05 2.1
paste=$(median "texture paste" --film "1 mm")
blown=$(median "texture paste" --film "1 mm" --air fan)
within "1 mm of paste under a fan" "$(awk -v a="$blown" -v b="$paste" 'BEGIN { print a / b }')" .75 1
usual=$(median acrylic --technique basecoat)
for water in 1.5 2 3 5 9; do
    within "2 paint + $water water" \
        "$(median acrylic --technique basecoat --mix "2 paint + $water water")" 0 "$usual"
done

# Outside the window: null times, all else given, a warning.
for air in "9.9 50" "20 100"; do
    held=$(dry acrylic --temp "${air% *}" --rh "${air#* }")
    [ "$(field median_min "$held")" = null ] || fault "$air: a median"
    [ "$(field ping_min "$held")" = null ] || fault "$air: a ping"
    [ "$(field form_min "$held")" = null ] || fault "$air: it forms"
    for name in standard_min climate_factor air_factor confidence dew_point_c wet_bulb_c svp_pa; do
        within "$air: $name" "$(field $name "$held")" -60 1e9
    done
    case $held in *'"warnings":[]'*) fault "$air: no warning" ;; esac
    "$program" dry acrylic --temp "${air% *}" --rh "${air#* }" | grep -q "it does not dry in this air" ||
        fault "$air: not said that it does not dry"
done

# In the cold the water leaves all the same; a dryer goes by its own air; what moves is J.
held=$(dry acrylic --temp 9.9 --rh 50)
warm=$(dry acrylic --temp 10 --rh 50)
within "water leaves in the cold" "$(awk -v a="$(field leave_min "$held")" \
    -v b="$(field leave_min "$warm")" 'BEGIN { print a / b }')" 1 1.01
"$program" dry acrylic --temp 9.9 --rh 50 | grep -qE 'phases +water leaves [0-9.]+ min, skin [0-9]+ s, forms not: too cold' ||
    fault "not said what the cold stops"
within "under a dryer at 4 C" "$(field median_min "$(dry acrylic --temp 4 --rh 90 --air dryer)")" .5 3
within "draught" "$(field air_factor "$(dry acrylic --temp 23 --rh 50 --air draught)")" 1.403 1.431
within "fan" "$(field air_factor "$(dry acrylic --temp 23 --rh 50 --air fan)")" 2.605 2.657
within "fan, damp" "$(field air_factor "$(dry acrylic --temp 23 --rh 80 --air fan)")" 2.3 2.9

# The wet film is colder than the air, and may be below the limit: said where the air is not.
note="note: the wet film is at 9.9 C, under 10 C"
"$program" dry acrylic --temp 15 --rh 50 | grep -qF "$note" || fault "no note at 15/50"
for air in "16 50" "15 60" "9 50"; do
    "$program" dry acrylic --temp "${air% *}" --rh "${air#* }" | grep -q "the wet film is at" &&
        fault "a note of the wet film at $air"
done
"$program" dry oil --temp 12 --rh 20 | grep -q "the wet film is at" && fault "a note of oil"
case $(dry acrylic --temp 15 --rh 50) in
*'"gate":"wet-film","level":"note","value":9.8'*) ;;
*) fault "no note in --json" ;;
esac

usage() { # one line on standard error, exit 2, nothing on standard output
    local out
    out=$("$program" "$@" 2>"$work/err")
    local rc=$?
    [ $rc -eq 2 ] || fault "$*: exit $rc, wanted 2"
    [ -z "$out" ] || fault "$*: wrote $out"
    [ "$(wc -l <"$work/err")" -eq 1 ] || fault "$*: $(cat "$work/err")"
}
usage dry acrylic --temp 20 --rh -1
usage dry acrylic --temp 20 --rh 101
usage dry acrylic --temp abc --rh 50
usage dry acrylic --temp nan --rh 50
usage dry acrylic --temp 20 --rh nan
usage dry acrylic --temp 1e9 --rh 50
usage dry acrylic --temp 20 --rh 1e9
usage dry acrylic --temp -21 --rh 50
usage dry acrylic --temp 20
usage dry acrylic --rh 50
usage dry acrylic --temp 20 --rh 50 --air gale
usage dry acrylic --temp 20 --rh 50 --technique stir
usage dry acrylic --temp 20 --rh 50 --technique mask
usage dry acrylic --temp 20 --rh 50 --by spoon
usage dry acrylic --temp 20 --rh 50 --mix lots
usage dry acrylic --temp 20 --rh 50 --mix "1 medium"
usage dry acrylic --temp 20 --rh 50 --dry -3
usage dry acrylic --temp 20 --rh 50 --film 0
usage dry acrylic --temp 20 --rh 50 --solids 2
usage dry tar --temp 20 --rh 50
usage mix recipes/night-watch.yaml -n 0
usage mix recipes/night-watch.yaml -n many
usage mix recipes/night-watch.yaml --stage Nothing
usage dry recipes/night-watch.yaml --technique wash --temp 20 --rh 50

# Every kind that ships has a time of its own, a table, and a curve or the word that it has none.
for kind in acrylic metallic wash stain ink "texture paste" "spray undercoat" "spray varnish" \
    "brush varnish" oil enamel; do
    within "$kind" "$(median "$kind")" .5 3000
    "$program" dry "$kind" --temp 21 --rh 60 --table --plot >"$work/out" || fault "$kind: plot"
    grep -q 'P: ping' "$work/out" && ! grep -qE '^ +=+~?~*f*m-*P$' "$work/out" &&
        fault "$kind: the phases are not marked"
    grep -qE 'P: ping|No curve' "$work/out" || fault "$kind: neither curve nor none"
    grep -qE '^ 20 C( +[0-9.]+){8}$' "$work/out" || fault "$kind: no row of the table for 20 C"
    [ "$(wc -L <"$work/out")" -le 80 ] || fault "$kind: wider than 80 columns"
    "$program" dry "$kind" --temp 21 --rh 60 --table --plot --ascii | LC_ALL=C grep -q '[^ -~]' &&
        fault "$kind: more than ASCII"
done

cat >"$work/basecoat.yaml" <<'RECIPE'
coatbell: 1
name: Ten lamplighters
figures: 10
height: 32 mm
paints: {green: {name: Oilskin green, kind: acrylic}, rope: {name: Tarred rope, kind: acrylic}}
stages:
  - {name: Oilskins, technique: basecoat, mix: 2 green + 1 water, brush: medium round, tidy_with: rope}
RECIPE
"$program" mix "$work/basecoat.yaml" >"$work/out" || fault "mix failed"
grep -q "mix 16 drops of paint and 8 of water for ten figures" "$work/out" ||
    fault "mix: $(cat "$work/out")"
json=$("$program" mix "$work/basecoat.yaml" --json)
for piece in '"stage":"Oilskins"' '"paint":"Oilskin green"' '"paint":16' '"medium":0' '"water":8'; do
    case ${json//.0/} in *"$piece"*) ;; *) fault "mix --json: no $piece: $json" ;; esac
done
within "mix: ml" "$(field ml "$json")" .7499 .7501
"$program" set-out "$work/basecoat.yaml" >"$work/out" || fault "set-out failed"
for word in "Oilskin green" "medium round" "keep open: Tarred rope" "shake it" "0.80 ml in all"; do
    grep -q "$word" "$work/out" || fault "set-out: no $word"
done
for recipe in recipes/*.yaml; do
    for call in "dry --temp 18 --rh 70" "mix" "set-out"; do
        # shellcheck disable=SC2086
        "$program" ${call%% *} "$recipe" ${call#"${call%% *}"} >"$work/out" ||
            fault "$call $recipe: failed"
        [ -s "$work/out" ] || fault "$call $recipe: empty"
        # shellcheck disable=SC2086
        "$program" ${call%% *} "$recipe" ${call#"${call%% *}"} --json >"$work/out" ||
            fault "$call $recipe --json: failed"
    done
done

# What is set out is the sum of what mix says to pour, coat by coat; nothing is less than a drop.
poured() { # JSON NAME: the sum of all numbers of that name, each of its stage's coats
    printf '%s' "$1" | sed 's/{"stage"/\n&/g' | awk -v name="$2" '
        match($0, "\"" name "\":[-0-9.e+]+") {
            value = substr($0, RSTART + length(name) + 3, RLENGTH - length(name) - 3)
            coats = match($0, /"coats":[0-9]+/) ? substr($0, RSTART + 8, RLENGTH - 8) : 1
            sum += coats * value
        }
        END { printf "%.6f", sum }'
}
sum_of() { # JSON NAME...: of all numbers of those names
    printf '%s' "$1" | sed 's|[,{}]|\n|g' | awk -F: -v names=" ${*:2} " '
        index(names, " " substr($1, 2, length($1) - 2) " ") { sum += $2 }
        END { printf "%.6f", sum }'
}
cat >"$work/small.yaml" <<'RECIPE'
coatbell: 1
name: Small things
figures: 1
height: 6 mm
paints: {green: {name: Oilskin green}, rope: {name: Tarred rope}, tide: {name: Tideline paste, kind: texture paste},
  gloss: {name: Gloss of the flats, kind: brush varnish}}
areas: {coat: {share: 99 %}, eye: {share: 1 %}, none: {share: 0 %}, base: {disc: 25 mm}}
stages:
  - {name: Eyes, technique: layer, mix: 1 green + 0.333 medium, on: eye, coats: 2}
  - {name: Coats, technique: basecoat, mix: 1 green + 0.5 rope + 0.25 retarder, on: coat}
  - {name: Base, technique: texture, paint: tide, on: base}
  - {name: Button, technique: texture, paint: tide, on: eye}
  - {name: Slow, technique: glaze, mix: 1 green + 0.02 retarder + 30 water, on: coat}
  - {name: Nothing, technique: texture, paint: tide, on: none}
  - {name: Sealed, technique: varnish, paint: gloss, by: can}
RECIPE
for recipe in recipes/*.yaml "$work/small.yaml"; do
    mix=$("$program" mix "$recipe" --json) || fault "mix $recipe"
    set_out=$("$program" set-out "$recipe" --json) || fault "set-out $recipe"
    total=$(field total_ml "$set_out")
    within "$recipe: total against what is poured" "$(poured "$mix" poured_ml)" \
        "$(awk -v t="$total" 'BEGIN { printf "%.6f", t - 1e-5 }')" "$(awk -v t="$total" 'BEGIN { printf "%.6f", t + 1e-5 }')"
    within "$recipe: total against its parts" \
        "$(sum_of "$set_out" ml medium_ml retarder_ml water_ml)" \
        "$(awk -v t="$total" 'BEGIN { printf "%.6f", t - 1e-5 }')" "$(awk -v t="$total" 'BEGIN { printf "%.6f", t + 1e-5 }')"
    { "$program" mix "$recipe" && "$program" set-out "$recipe"; } >"$work/out"
    printf '%s%s' "$mix" "$set_out" | cat - "$work/out" | grep -qE '(^|[^0-9a-zA-Z])-0' && fault "$recipe: -0"
    grep -qE '(^|[^0-9.])0\.00|(^|[^0-9.])0 (ml|drops?)' "$work/out" && fault "$recipe: less than a drop"
done
"$program" mix "$work/small.yaml" --stage Eyes | grep -q "3 drops of paint and 1 of medium for one figure, as near as drops go" ||
    fault "a ratio that is not kept is not said"

# --ring: a timer of a second and a half, then one line that says so.
"$program" dry acrylic --dry "1 s" --temp 23 --rh 50 --ring >"$work/out" || fault "ring failed"
grep -q "^Dry to recoat: acrylic, basecoat" "$work/out" || fault "ring: $(cat "$work/out")"
"$program" dry acrylic --temp 8 --rh 50 --ring >"$work/out" 2>"$work/err" && fault "rang while held"
grep -q "it does not dry in this air" "$work/err" || fault "ring while held: $(cat "$work/err")"

[ "$faults" -eq 0 ]
