#!/bin/bash
# SPDX-License-Identifier: MIT
# A sensor drives the room of the real bench: a program that config.yaml names, and the kernel's own
# files where this machine lets a test lay some over them. A slow one delays nothing, one that goes is
# said.
set -u
. tests/terminal/lib.sh

quick_recipe
mkdir "$TMPDIR/bin"
cat >"$TMPDIR/bin/hygrometer" <<END
#!/bin/bash
echo \$\$ >>"$TMPDIR/asked"
cat "$TMPDIR/reading"
END
chmod +x "$TMPDIR/bin/hygrometer"
echo '21.5 47' >"$TMPDIR/reading"
# shellcheck disable=SC2317 # called by until_true
asked_times() { [ "$(wc -l <"$TMPDIR/asked")" -ge "$1" ]; }

# Told by itself, in the top line and the log; `coatbell sensor` says the same.
set_config "sensor: [$TMPDIR/bin/hygrometer]"
[ "$("$coatbell" sensor)" = '21.5C 47.0%' ] || die "sensor: $("$coatbell" sensor 2>&1)"
"$coatbell" sensor --all | grep -qF 'bin/hygrometer  21.5C 47.0%' || die "the program is not in the list"
# Its bare number is Celsius, whatever the painter types.
set_config "{units: fahrenheit, sensor: [$TMPDIR/bin/hygrometer]}"
[ "$("$coatbell" sensor)" = '21.5C 47.0%' ] || die "fahrenheit: $("$coatbell" sensor 2>&1)"
set_config "sensor: [$TMPDIR/bin/hygrometer]"
start 80x24 "$coatbell begin $TMPDIR/quick.yaml"
do_not_know
wait_for '21.5C 47% sensor'
keys q
wait_for 'ended with 0'
events climate_set | grep -q '"temp_c":21.5,"rh_pct":47,.*"from":"sensor"' || die "not in the log"

# What begin was given wins, until it is given back.
start 80x24 "$coatbell begin $TMPDIR/quick.yaml --temp 18 --rh 60"
wait_for '18C 60%'
until_true asked_times 2 || die "not asked"
screen_lacks 'sensor' || die "the sensor wins over what was typed"
keys c
wait_for 'Room|room|climate'
keys -l sensor
keys Enter
wait_for "the room is the sensor's again"
wait_for '21.5C 47% sensor'
keys q
wait_for 'ended with 0'

# A bench that looks on asks none.
start 80x24 "$coatbell"
wait_for 'sensor'
until_true asked_times 4 || die "not asked"
asked=$(wc -l <"$TMPDIR/asked")
tm new-window -d "$coatbell; exec sleep 600"
# shellcheck disable=SC2317 # called by until_true
looks_on() { tm capture-pane -p -t :1 | grep -q 'looking on'; }
until_true looks_on || die "the second bench does not look on"
[ "$(wc -l <"$TMPDIR/asked")" -eq "$asked" ] || die "the second bench asks too"
keys q
wait_for 'ended with 0'

# One that hangs and is deaf delays no key, and goes with the bench.
cat >"$TMPDIR/bin/slow" <<END
#!/bin/bash
trap '' TERM
echo \$\$ >"$TMPDIR/slow"
sleep 600
END
chmod +x "$TMPDIR/bin/slow"
set_config "sensor: [$TMPDIR/bin/slow]"
start 80x24 "$coatbell"
until_true test -s "$TMPDIR/slow" || die "not asked"
patience=2
keys n
wait_for 'Note'
keys Escape
wait_gone 'Note'
patience=20
wait_for 'no word from the sensor|18C|21.5C'
keys q
wait_for 'ended with 0'
until_true is_gone "$(cat "$TMPDIR/slow")" || die "it outlives the bench"

# Missing, failing, without an end, no answer: said at once where nothing was heard since the opening.
printf '#!/bin/bash\nyes 20 50\n' >"$TMPDIR/bin/talks"
printf '#!/bin/bash\necho 20 50\nexit 1\n' >"$TMPDIR/bin/fails"
# What makes no sense is said with why, and never drawn as it came.
declare -A said
# shellcheck disable=SC2317 # called by until_true
screen_says() { screen | grep -qF -- "$1"; }
for odd in 'warm|warm' 'mute|' 'three|20 50 60' 'sun|400 70' 'oven|55C 50' 'us|85 62' 'draws|\033[2J\377 50'; do
    name=${odd%%|*}
    printf '#!/bin/bash\nprintf %q\n' "${odd#*|}\n" >"$TMPDIR/bin/$name"
    said[$name]=\"${odd#*|}\"
done
said[mute]=nothing said[draws]='"?[2J? 50"'
chmod +x "$TMPDIR"/bin/*
for case in 'no-such: is not there' 'talks: said more than 256 bytes' 'fails: ended with 1' \
    'warm: not understood: warm; write 19.5 62' 'mute: temperature and humidity: write 19.5 62' \
    'three: two numbers are wanted: write 19.5 62' 'sun: too hot for a room: write 19.5 62' \
    'oven: too hot for a bench: -10 to 50 C counts' 'us: 85 F? write 85F 62% or 85C 62%' \
    'draws: not understood: ?[2J? 50; write 19.5 62'; do
    set_config "sensor: [$TMPDIR/bin/${case%%:*}]"
    "$coatbell" sensor --all >/dev/null 2>"$TMPDIR/err" && die "lists: $case"
    grep -qF "$case" "$TMPDIR/err" || die "the list does not say: $case: $(cat "$TMPDIR/err")"
    "$coatbell" sensor 2>"$TMPDIR/err" && die "answers: $case"
    grep -qF "$case" "$TMPDIR/err" || die "not said: $case: $(cat "$TMPDIR/err")"
    start 80x24 "$coatbell"
    name=${case%%:*}
    if [ -n "${said[$name]:-}" ]; then # why, until a key
        until_true screen_says "sensor: $name says ${said[$name]}: ${case#*: }" || die "not said: $case"
    else
        wait_for "sensor: ${case/:/}"
    fi
    keys Escape
    wait_for 'no word from the sensor; c tells the room'
    pgrep -P "$(bench_pid)" -r Z >/dev/null && die "a zombie: $case"
    keys q
    wait_for 'ended with 0'
done

set_config 'sensor: no-such'
start 80x24 "$coatbell"
wait_for 'sensor: no-such does not answer; .coatbell sensor. says why'
keys q
wait_for 'ended with 0'

# A machine that slept asks when it wakes, and not at the end of the minute in which it fell asleep; a nap is
# no minute.
set_config "sensor: [$TMPDIR/bin/hygrometer]"
echo 0 >"$TMPDIR/slept"
rm "$TMPDIR/asked"
start 80x24 "LD_PRELOAD=$CB_BUILD/tests/fault/shim.so CB_FAULT_SLEPT=$TMPDIR/slept $coatbell"
until_true test -s "$TMPDIR/asked" || die "not asked"
wait_for '47% sensor'
# wakes SECONDS: so long it has slept, and is at work again.
wakes() {
    echo "$1" >"$TMPDIR/slept"
    kill -WINCH "$(bench_pid)" # the timer that wakes the loop: tests/unit/shell/test_poll_set.c
}
wakes 20
keys n
wait_for 'Note'
keys Escape
wait_gone 'Note'
asked_times 2 && die "a nap is taken for a minute"
wakes 7200
patience=15
until_true asked_times 2 || die "not asked when the machine woke"
patience=20
# What it says without sense is said once a session.
tm pipe-pane "cat >$TMPDIR/drawn"
echo warm >"$TMPDIR/reading"
wakes 14400
wait_for 'hygrometer says "warm"'
drawn=$(grep -ao warm "$TMPDIR/drawn" | wc -l)
[ "$drawn" -gt 0 ] || die "what is drawn is not seen"
keys Escape
wait_gone 'hygrometer says'
wakes 21600
until_true asked_times 4 || die "not asked again"
# shellcheck disable=SC2317 # called by until_true
is_heard() { ! pgrep -P "$(bench_pid)" -f hygrometer >/dev/null; }
until_true is_heard || die "the answer is never heard"
keys q
wait_for 'ended with 0'
[ "$(grep -ao warm "$TMPDIR/drawn" | wc -l)" -eq "$drawn" ] || die "said twice"

# None set: asked for, that is said; and no such device has a name of ours.
rm "$HOME/.config/coatbell/config.yaml"
"$coatbell" sensor 2>"$TMPDIR/err" && die "answers without a sensor"
grep -q 'no sensor is set: write sensor: any in config.yaml' "$TMPDIR/err" || die "$(cat "$TMPDIR/err")"
"$coatbell" sensor -- --no-such 2>"$TMPDIR/err" && die "answers by a name that is none"
grep -q 'no such sensor: --no-such; .coatbell sensor --all. lists' "$TMPDIR/err" || die "$(cat "$TMPDIR/err")"

# The kernel's own files, in a name space of mounts where such a thing may be made.
unshare -rm true 2>/dev/null || skip "the kernel's files: no name space of our own"
enter() {
    unshare -rm bash -c "mount --bind $CB_ROOT/tests/screen/sensor/\$1 /sys && shift && exec \"\$@\"" - "$@"
}
[ "$(enter hwmon "$coatbell" sensor any)" = '24.1C 40.9%' ] || skip "the kernel's files: no mount over them"
[ "$(enter iio "$coatbell" sensor --all)" = 'bme280  19.5C 62.3%' ] || die "no list"
[ -z "$(enter pulled "$coatbell" sensor --all 2>"$TMPDIR/err")" ] || die "lists a device that is none"
grep -q 'no device here gives temperature and humidity' "$TMPDIR/err" || die "an empty list says nothing"
enter iio "$coatbell" sensor --all --json | grep -qF '{"name":"bme280","temp_c":19.48,"rh_pct":62.344}' ||
    die "no JSON: $(enter iio "$coatbell" sensor --all --json)"
enter iio "$coatbell" sensor sht3x 2>/dev/null && die "another device answers"
set_config 'sensor: bme280'
rm -r "$HOME/.local/share/coatbell" # what was written within five minutes would stand
start 80x24 "unshare -rm bash -c 'mount --bind $CB_ROOT/tests/screen/sensor/iio /sys && exec $coatbell begin $TMPDIR/quick.yaml'"
do_not_know
wait_for '19.5C 62% sensor'
keys q
wait_for 'ended with 0'
exit 0
