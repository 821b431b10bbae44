#!/bin/bash
# SPDX-License-Identifier: MIT
# The rules of the house that a compiler does not know: who may include whom, what the pure
# floors may call, where library headers may stand. Needs the release build; see DEVELOPERS.md.
# Usage: tests/layers.sh [includes]   (includes: only who may include whom, without a build)
set -u
export LC_ALL=C
cd "$(dirname "$0")/.." || exit 1
build=build/release
faults=0

fault() {
    printf '%s\n' "$*"
    faults=$((faults + 1))
}

# 1. A floor includes only itself and those below.
declare -A below=(
    [base]="base"
    [core]="base core"
    [app]="base core app"
    [view]="base core app view"
    [shell]="base core app view shell"
    [command]="base core app view shell command"
    [bell]="bell"
    [main.c]="command"
)
# The rooms of core, each after those it may include.
rooms=" air paint recipe learn log bench review plan finding coach "
while IFS=: read -r file line text; do
    floor=${file#src/}
    floor=${floor%%/*}
    target=${text#*\"}
    target=${target%\"*}
    case " ${below[$floor]-} " in
    *" ${target%%/*} "*) ;;
    *) fault "$file:$line: ${floor%.c} may not include $target" ;;
    esac
    case $file:$target in
    src/core/*:core/*)
        room=${file#src/core/}
        room=${room%%/*}
        other=${target#core/}
        other=${other%%/*}
        case "${rooms%% "$room" *} $room " in
        *" $other "*) ;;
        *) fault "$file:$line: the room $room may not include $target" ;;
        esac
        ;;
    esac
    [ -e "src/$target" ] || fault "$file:$line: $target: write it from src on, as base/str.h"
done < <(grep -rnE '^[[:space:]]*#[[:space:]]*include[[:space:]]*"' src)

# The app's parts: each is written in its own file alone, and who draws sees them only as const.
while IFS=: read -r file line text; do
    fault "$file:$line: app/state.h is for src/app alone"
done < <(grep -rn '"app/state.h"' src --include='*.[ch]' | grep -v '^src/app/')
declare -A writer=(
    [session]=session [look]=look [nav]=nav [ask]=ask [pings]=ping [start]=start [form]=form
    [hindsight]=hindsight [offer]=offer [changes]=changes [edit]=edit [entry]=entry [coach]=coach
    [sensor]=sensor
)
for part in "${!writer[@]}"; do
    while IFS=: read -r file line text; do
        [ "$file" = "src/app/${writer[$part]}.c" ] ||
            fault "$file:$line: app->$part is written by src/app/${writer[$part]}.c alone"
    done < <(grep -rnE "(\+\+|--)app->$part\.|app->$part\.[a-z_.>-]*(\[[^]]*\])?[a-z_.]*( =| [-+*/|&]=|\+\+|--)( |\$|;)" src/app)
done

for room in src/core/*; do
    [ -d "$room" ] && case $rooms in *" ${room#src/core/} "*) continue ;; esac
    fault "$room: no room of core; the list stands in tests/layers.sh"
done
if [ "${1-}" = includes ]; then
    [ "$faults" -eq 0 ] && exit 0
    exit 1
fi

# 2. Library headers stand in one file each; the pure floors take C headers only.
c_headers=" assert.h ctype.h errno.h float.h inttypes.h limits.h math.h stdalign.h stdarg.h \
stdbool.h stddef.h stdint.h stdio.h stdlib.h stdnoreturn.h string.h "
while IFS=: read -r file line text; do
    header=${text#*<}
    header=${header%>*}
    case $header in
    *curses*.h | term.h | panel.h) home="src/shell/term.c" ;;
    sqlite3.h) home=$(echo src/shell/migrate.c src/shell/store*.c) ;;
    yaml.h) home="src/shell/yaml.c" ;;
    jansson.h) home="src/shell/jsonl.c" ;;
    utf8proc.h) home="src/base/utf8.c" ;;
    libnotify/*) home="src/bell/popup.c" ;;
    glib*.h | gio/* | gdk* | gobject/*) home=$(echo src/bell/*.c) ;;
    *) home= ;;
    esac
    if [ -n "$home" ]; then
        case " $home " in
        *" $file "*) ;;
        *) fault "$file:$line: <$header> may stand in $home only" ;;
        esac
        continue
    fi
    case $file in
    src/base/* | src/core/* | src/app/* | src/view/*)
        case "$c_headers" in
        *" $header "*) ;;
        *) fault "$file:$line: <$header> is no header of plain C that a pure floor may use" ;;
        esac
        ;;
    esac
done < <(grep -rnE '^[[:space:]]*#[[:space:]]*include[[:space:]]*<' src)

# 3. No conditional compilation but include guards, no feature macros, the licence on top.
while read -r file; do
    head -1 "$file" | grep -qF 'SPDX-License-Identifier: MIT' ||
        fault "$file:1: the first line names the licence (SPDX)"
    [ "$(wc -l <"$file")" -le 900 ] || fault "$file: longer than 900 lines: split it"
    path=${file#src/}
    guard="CB_$(echo "${path%.h}" | tr 'a-z/' 'A-Z_')_H"
    while IFS=: read -r line text; do
        [[ $file == *.h && $text == "#ifndef $guard" ]] && continue
        fault "$file:$line: $text: only an include guard ($guard) may stand here"
    done < <(grep -nE '^[[:space:]]*#[[:space:]]*(if|ifdef|ifndef|elif)\b' "$file")
    while IFS=: read -r line text; do
        fault "$file:$line: $text: the Makefile gives feature macros, to the edges only"
    done < <(grep -nE '^[[:space:]]*#[[:space:]]*define[[:space:]]+_[A-Z]' "$file")
done < <(find src -name '*.[ch]' | sort)

# 4. What the pure floors call outside themselves: memory, texts, numbers, sorting, utf8proc.
# Anything else (files, clocks, environment, terminal, chance, exit) would be listed here.
allowed='malloc|calloc|realloc|free|abort|qsort|bsearch|abs|labs|llabs'
allowed+='|mem(cpy|move|set|cmp|chr)|str(len|cmp|ncmp|chr|rchr|str|spn|cspn|pbrk)'
allowed+='|strto(d|l|ll|ul|ull)|v?snprintf|__errno_location|__ctype_(b|tolower|toupper)_loc'
allowed+='|__isoc(99|23)_strto(d|l|ll|ul|ull)'
allowed+='|__(mem(cpy|move|set)|v?snprintf)_chk|__(stack_chk_fail|assert_fail)'
allowed+='|(exp|exp2|expm1|log|log2|log10|log1p|pow|sqrt|cbrt|erf|erfc|lgamma|tgamma|sin|cos|tan'
allowed+='|asin|acos|atan|atan2|sinh|cosh|tanh|hypot|floor|ceil|round|trunc|rint|nearbyint|lround'
allowed+='|llround|lrint|llrint|fabs|fmod|remainder|fmin|fmax|fma|ldexp|frexp|modf|scalbn|copysign'
allowed+='|nextafter|fdim|logb|ilogb)(f|l)?|__(finite|isnan|isinf|fpclassify|signbit)'
allowed+='|utf8proc_[a-z0-9_]+|_GLOBAL_OFFSET_TABLE_'
for floor in base core app view; do
    [ -n "$(ls src/$floor/*.c 2>/dev/null)" ] || continue
    library=$build/lib$floor.a
    if [ ! -e "$library" ]; then
        fault "$library: is not there; run make first"
        continue
    fi
    while read -r symbol; do
        [[ $floor != base && $symbol == utf8proc_* ]] ||
            [[ ! $symbol =~ ^(cb_.*|$allowed)$ ]] &&
            fault "lib$floor.a calls $symbol, which is not for a pure floor"
    done < <(nm -u --format=posix "$library" 2>/dev/null | awk 'NF >= 2 { print $1 }' | sort -u)
    # A floor's own archive resolves against itself and those below only: the unit tests link so.
done

# 5. Global names are cb_ (but main); no call that writes without a bound or keeps hidden state.
banned='strcpy|strcat|sprintf|vsprintf|gets|atoi|atol|atoll|atof|strtok|strtok_r|alloca|stpcpy'
objects=$(find $build -maxdepth 3 -name '*.o' -not -path '*/tests/*' 2>/dev/null | sort)
for object in $objects; do
    path=src/${object#"$build"/}
    [ -e "${path%.o}.c" ] || continue # left over from a file that is gone
    while read -r symbol; do
        case $symbol in
        cb_* | main) ;;
        *) fault "${path%.o}.c: the global name $symbol does not start with cb_" ;;
        esac
    done < <(nm -g --defined-only --format=posix "$object" | awk '{ print $1 }')
    while read -r symbol; do
        fault "${path%.o}.c: calls $symbol, which writes without a bound or hides state"
    done < <(nm -u --format=posix "$object" | awk '{ print $1 }' |
        grep -E "^(__)?($banned)(_chk)?$")
done

# 6. The screen's program is free of GLib; the bell has its own main and links it alone.
if [ -e $build/coatbell-bell ]; then
    ldd $build/coatbell-bell 2>/dev/null | grep -q libnotify ||
        fault "$build/coatbell-bell does not link libnotify"
fi
if [ -e $build/coatbell ]; then
    ldd $build/coatbell 2>/dev/null | grep -E 'glib|gobject|libnotify' &&
        fault "$build/coatbell links GLib: only the bell may"
fi

[ "$faults" -eq 0 ] || {
    echo "$faults faults"
    exit 1
}
