#!/bin/bash
# SPDX-License-Identifier: MIT
# Smoke test against a real notification daemon, dunst under Xvfb; its menu of buttons is a
# stand-in that presses one. What a bell that was killed left standing is taken over by the next.
set -u
. tests/terminal/lib.sh
for program in dunst dunstctl Xvfb dbus-daemon; do
    command -v "$program" >/dev/null || skip "no $program"
done
start_bus
# Xvfb takes a free display and tells which.
mkfifo "$TMPDIR/display"
Xvfb -displayfd 5 -screen 0 640x480x24 -nolisten tcp 5>"$TMPDIR/display" 2>/dev/null &
started+=($!)
read -r -t 20 number <"$TMPDIR/display" || skip "Xvfb does not start here"
export DISPLAY=:$number
cat >"$TMPDIR/chooser" <<'END'
#!/bin/sh
# dunst hands in lines such as "Still wet [coatbell]" of all that it shows and takes one back
cat >"$TMPDIR/menu"
grep -c -i 'wet' "$TMPDIR/menu" >>"$TMPDIR/counts"
grep -m1 -i 'wet' "$TMPDIR/menu"
END
chmod +x "$TMPDIR/chooser"
cat >"$TMPDIR/dunstrc" <<END
[global]
    dmenu = $TMPDIR/chooser
    font = Monospace 8
    follow = none
[urgency_normal]
    timeout = 0
END
dunst -conf "$TMPDIR/dunstrc" >"$TMPDIR/dunst.out" 2>&1 &
started+=($!)
dunst_is_there() { dunstctl is-paused >/dev/null 2>&1; }
until_true dunst_is_there || skip "dunst does not start here: $(cat "$TMPDIR/dunst.out")"

set_config 'ping: every' 'confidence: 50 %'
quick_recipe
start 80x24 "$coatbell" begin "$TMPDIR/quick.yaml" --temp 23 --rh 50
do_not_know
wait_for 'SPACE when'
keys Space
shown() { [ "$(dunstctl count displayed)" -ge 1 ]; }
until_true shown || die "dunst shows no pop-up"
bench=$(bench_pid)
bell=$(bell_pid "$bench")
kill -9 "$bell"
replaced() { [ -n "$(bell_pid "$bench")" ] && [ "$(bell_pid "$bench")" != "$bell" ]; }
until_true replaced || die "a bell that was killed is not replaced"
wait_for 'pop-ups work'
keys Space
pinged_twice() { [ "$(events pinged | wc -l)" -ge 2 ]; }
until_true pinged_twice || die "no second ping"
press_wet() {
    dunstctl context
    events checked | grep -q '"found":"wet"'
}
until_true press_wet || die "the button does not reach the log"
grep -q '^[2-9]' "$TMPDIR/counts" && die "what the killed bell left still stands beside the new one"
keys q
wait_for 'ended with 0'
nothing_shown() { [ "$(dunstctl count displayed)" -eq 0 ]; }
until_true nothing_shown || die "a pop-up with dead buttons is left"
