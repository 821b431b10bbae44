#!/bin/bash
# SPDX-License-Identifier: MIT
# Logs that can't be opened or written, and homes that are none: one clear line with the way out, the exit
# code that says whose doing it is, no crash; and what lay there still lies there.
set -u
. tests/terminal/box.sh

cat >lamps.yaml <<'END'
coatbell: 1
name: Lamp watch
figures: 2
paints:
  rope: {name: Tarred rope, kind: acrylic}
stages:
  - {name: Ropes, technique: basecoat, paint: rope}
END
log=$box/logs/log.db
mkdir logs
"$coatbell" begin lamps.yaml --log "$log" >/dev/null || fail "no log to begin with"
for i in {1..60}; do
    printf '{"id":"n%d","at":"2036-01-05T18:00:00Z","event":"note","text":"lamp %d"}\n' "$i" "$i"
done >notes.jsonl
"$coatbell" log import notes.jsonl --log "$log" >/dev/null || fail "no notes"
"$coatbell" log export all.jsonl --log "$log" || fail "no export"
cp "$log" whole.db
echo '{"id":"more","at":"2036-01-05T18:00:00Z","event":"note","text":"one more"}' >more.jsonl

# said CODES PATTERN COMMAND...: one of the exit codes, on standard error one line with the pattern in it
# that no terminal would take for anything but text; it begins with the program's name.
said() {
    local codes=" $1 " pattern=$2 rc=0
    shift 2
    timeout 10 "$@" >out 2>err </dev/null || rc=$?
    case $codes in
    *" $rc "*) ;;
    *) fail "$*: exit $rc, not$codes: $(cat err)" ;;
    esac
    [ "$rc" -ne 0 ] || return 0
    [ "$(wc -l <err)" -eq 1 ] || fail "$*: not one line: $(cat err)"
    grep -q '^coatbell: ' err || fail "$*: $(cat err)"
    grep -qE -- "$pattern" err || fail "$*: no '$pattern' in: $(cat err)"
    LC_ALL=C grep -q $'[\001-\010\013-\037]' err && fail "$*: a control character: $(cat -v err)"
    return 0
}
reading=('status' 'units' 'pots' 'review' 'log export -')
writing=('begin lamps.yaml' 'log import more.jsonl')

# every CODES PATTERN FILE COMMANDS...: all of them on that log, and it is left as it is
every() {
    local codes=$1 pattern=$2 file=$3 call before
    shift 3
    before=$(cksum <"$file")
    for call in "$@"; do
        # shellcheck disable=SC2086 # words of the call
        said "$codes" "$pattern" "${as[@]}" "$coatbell" $call --log "$file"
    done
    [ "$(cksum <"$file")" = "$before" ] || fail "$file ($(stat -c %s "$file") bytes): written to by $*"
}
as=(env)

# By a newer version; of another program (sqlite.org/fileformat2.html: the user's version and the
# application's number stand at 60 and 68 of the head).
put() { printf '%b' "$2" | dd of="$3" bs=1 seek="$1" conv=notrunc status=none; }
cp whole.db newer.db
put 60 '\0\0\0\0143' newer.db
every 65 'newer coatbell .*log export' newer.db status units pots review "${writing[@]}"
cp whole.db other.db
put 68 'abcd' other.db
every 65 'another program.*--log FILE' other.db status units pots review "${writing[@]}"
cp "$root/README.md" text.db
every 65 '--log FILE' text.db status units pots review "${writing[@]}"

# Cut off at many places: never a crash, nothing written to it, and either all events are there or it is
# said that they are not. (SQLite takes a file of one byte for an empty one.)
size=$(stat -c %s whole.db)
for length in 0 1 15 16 17 60 99 100 101 511 512 1024 4095 4096 4097 8191 8192 $((size / 4)) \
    $((size / 3)) $((size / 2)) $((size - 4096)) $((size - 4095)); do
    head -c "$length" whole.db >cut.db
    rm -f cut.db-*
    if [ "$length" -le 1 ]; then
        every 74 'no log yet; .coatbell begin RECIPE. starts one' cut.db units 'log export -'
        continue
    fi
    every '0 1 65' 'log export|log check|--log FILE|saved' cut.db "${reading[@]}"
    if "$coatbell" log export saved.jsonl --log cut.db 2>err; then
        cmp -s saved.jsonl all.jsonl || fail "cut at $length: the export says that all is well"
    else
        every 65 'log export|log check|--log FILE' cut.db "${writing[@]}"
        [ ! -e saved.jsonl ] || ! grep -vxFf all.jsonl saved.jsonl || fail "cut at $length: other events"
    fi
    rm -f saved.jsonl
done

said 65 'no lines of JSON.*log restore FILE' "$coatbell" log import whole.db --log new.db

# What stands in the way of the log's companions.
for ending in -wal -shm -journal .lock; do
    cp whole.db way.db
    rm -rf way.db-* way.db.lock
    mkdir "way.db$ending"
    every 74 'move it out of the way' way.db "${reading[@]}" "${writing[@]}"
    rmdir "way.db$ending"
done
ln -s loop2 loop1
ln -s loop1 loop2
for call in "${reading[@]}" "${writing[@]}"; do
    # shellcheck disable=SC2086
    said 74 'loop1: a link to nothing; remove it' "$coatbell" $call --log loop1
    # shellcheck disable=SC2086
    said 74 'loop1' "$coatbell" $call --log loop1/log.db
    # shellcheck disable=SC2086
    said '0 74' 'lamps.yaml' "$coatbell" $call --log lamps.yaml/log.db
done

# Homes that are none.
: >file
long=/$(printf 'x%.0s' {1..5000})
for home in "$box/file" "$box/loop1" "$long" "$box/file/"$'\033[31m\nat all' /dev/null; do
    for call in "${writing[@]}"; do
        # shellcheck disable=SC2086
        HOME=$home said 74 ': ' "$coatbell" $call
        # shellcheck disable=SC2086
        XDG_DATA_HOME=$home said 74 ': ' "$coatbell" $call
    done
    for call in units 'log export -'; do
        # shellcheck disable=SC2086
        HOME=$home said '0 74' ': ' "$coatbell" $call
        # shellcheck disable=SC2086
        XDG_DATA_HOME=$home said '0 74' ': ' "$coatbell" $call
        # shellcheck disable=SC2086
        XDG_CONFIG_HOME=$home said '0 74' ': ' "$coatbell" $call
    done
done

# What the owner of the files is refused; root is refused nothing.
if [ "$(id -u)" -ne 0 ]; then
    as=(env)
elif setpriv --reuid=65534 --regid=65534 --clear-groups true 2>/dev/null; then
    as=(setpriv --reuid=65534 --regid=65534 --clear-groups env)
    chown -R 65534:65534 "$box"
    chmod 711 "$box"
else
    as=()
fi
if [ ${#as[@]} -gt 0 ] && "${as[@]}" "$coatbell" --version >/dev/null 2>&1; then
    chmod 000 "$log"
    for call in "${reading[@]}" "${writing[@]}"; do
        # shellcheck disable=SC2086
        said 74 'permissions' "${as[@]}" "$coatbell" $call --log "$log"
    done
    chmod 400 "$log"
    every 74 'permissions' "$log" "${writing[@]}"
    every '0' '' "$log" "${reading[@]}"
    chmod 600 "$log"
    rm -f "$log"-*
    # what was left beside it while it was read only must not keep it so
    cp whole.db logs/again.db
    [ "${as[0]}" = env ] || chown 65534:65534 logs/again.db
    chmod 400 logs/again.db
    "${as[@]}" "$coatbell" units --log logs/again.db >/dev/null || fail "a log to read only is not read"
    chmod 600 logs/again.db
    "${as[@]}" "$coatbell" log import more.jsonl --log logs/again.db >out 2>&1 ||
        fail "a log that was to read only once is so for ever: $(cat out)"
    rm -f logs/again.db*
    chmod 500 logs
    every 74 'permissions' "$log" "${writing[@]}"
    every '0 74' 'permissions' "$log" "${reading[@]}"
    [ ! -s out ] || "${as[@]}" "$coatbell" log export - --log "$log" | cmp -s - all.jsonl ||
        fail "in a folder that can't be written another log is read"
    chmod 700 logs
    for home in "$box/logs/none" /nowhere/at/all; do
        [ "$home" = "$box/logs/none" ] && chmod 500 logs
        # shellcheck disable=SC2086
        HOME=$home said 74 "the folder can't be made" "${as[@]}" "$coatbell" begin lamps.yaml
        chmod 700 logs
    done
fi
"$coatbell" log export - --log "$log" | cmp -s - all.jsonl || fail "the log is not what it was"
exit "$failed"
