#!/bin/bash
# SPDX-License-Identifier: MIT
# Outside its screen the bench writes a title where the terminal has one, and gives the old one back; and
# pop-ups to a terminal that is known to take them, where nothing else can show one. Elsewhere nothing.
set -u
. tests/terminal/lib.sh
command -v script >/dev/null || skip "no script(1)"
command -v tic >/dev/null || skip "no tic(1)"

quick_recipe
export DISPLAY=
unset DBUS_SESSION_BUS_ADDRESS TERM_PROGRAM
# Terminals whose kind this machine may not know: as far as the bench asks, xterm's.
for name in xterm-kitty foot wezterm xterm-ghostty; do
    printf '%s|for a test,\n\tuse=xterm-256color,\n' "$name"
done >"$TMPDIR/kinds"
# One with a line of its own for the title, by its terminfo alone.
printf 'lined|for a test,\n\ths, tsl=\\E]L, fsl=\\E\\\\, dsl=\\E]Lgone\\E\\\\,\n\tuse=vt220,\n' >>"$TMPDIR/kinds"
TERMINFO=$TMPDIR/terminfo tic -x -o "$TMPDIR/terminfo" "$TMPDIR/kinds" || die "no kinds of terminals"
export TERMINFO_DIRS=$TMPDIR/terminfo:

# bench NAME TYPE [WORD...]: one with a log of its own in a window of its own, all it writes in NAME.out;
# words before the program's name.
windows=()
bench() {
    local name=$1 type=$2
    shift 2
    local call="env -u TERM_PROGRAM TERM=$type $* $coatbell begin $TMPDIR/quick.yaml --log $TMPDIR/$name.db --temp 23 --rh 50"
    tm new-window -d -n "$name" "script -qfec '$call' $TMPDIR/$name.out; exec sleep 600"
    windows+=("$name")
}
# press KEY: to all of them.
press() {
    for name in "${windows[@]}"; do tm send-keys -t ":$name" "$1"; done
}
# wrote NAME BYTES: those stand in what it wrote.
wrote() {
    LC_ALL=C grep -qaF -- "$2" "$TMPDIR/$1.out" 2>/dev/null
}
wrote_soon() {
    until_true wrote "$1" "$2" || die "$1 never wrote: $(printf '%q' "$2")"
}
wrote_none() {
    ! wrote "$1" "$2" || die "$1 wrote: $(printf '%q' "$2")"
}
all_wrote() {
    local name
    for name in "${windows[@]}"; do wrote_soon "$name" "$1"; done
}

set_config 'ping: every' 'confidence: 50 %'
osc=$'\033]' st=$'\033\\' csi=$'\033['
fresh 80x24 'exec sleep 600'
tm set-option -g default-size 80x24
bench plain xterm-256color
bench kitty xterm-kitty
bench foot foot
bench wezterm wezterm
bench ghostty xterm-ghostty
bench other xterm-256color TERM_PROGRAM=iTerm.app
bench inside tmux-256color TERM_PROGRAM=iTerm.app
bench linux linux
bench vt220 vt220
bench lined lined
mkdir -p "$TMPDIR/needed/coatbell" "$TMPDIR/none/coatbell" "$TMPDIR/bell/coatbell"
printf 'ping: every\nconfidence: 50 %%\ntitle: no\nterminal: no\n' >"$TMPDIR/none/coatbell/config.yaml"
printf 'ping: every\nconfidence: 50 %%\nbell: no\n' >"$TMPDIR/bell/coatbell/config.yaml"
printf 'confidence: 50 %%\n' >"$TMPDIR/needed/coatbell/config.yaml"
bench needed xterm-256color XDG_CONFIG_HOME="$TMPDIR/needed"
bench none xterm-kitty XDG_CONFIG_HOME="$TMPDIR/none"
bench nobell xterm-kitty XDG_CONFIG_HOME="$TMPDIR/bell"
bench dark xterm-kitty # ended by a fault
bench dark-lined lined # the same
all_wrote 'Minutes'
press Enter
for name in "${windows[@]}"; do
    until_true wrote "$name" 'SPACE' || die "$name: no bench"
done
press Space

# The title: kept aside once, the time of the ring in it, and back at the end.
titled=(plain kitty foot wezterm ghostty other inside nobell dark)
for name in "${titled[@]}"; do
    wrote_soon "$name" "${csi}22;2t${osc}2;coatbell$st"
    wrote_soon "$name" "${osc}2;rings $(date -u +%H):"
    [ "$(grep -aoF "${csi}22;2t" "$TMPDIR/$name.out" | wc -l)" -eq 1 ] || die "$name: kept twice"
done
LC_ALL=C grep -qaE "${osc}2;rings [0-2][0-9]:[0-5][0-9]: Tarred rope on 1 - coatbell"$'\033' "$TMPDIR/plain.out" ||
    die "another title"
# Where it may not ring, that is not said.
wrote_soon needed "${osc}2;dry $(date -u +%H):"
wrote_none needed "${osc}2;rings "

wrote_soon lined "${osc}Lcoatbell$st"
wrote_soon lined "${osc}Lrings $(date -u +%H):"
wrote_none lined "${osc}2;"

# A pop-up, by each in its way, when it rings.
title='Tarred rope: figure 1 is dry' next='Next: Tarred rope on 2, 2 paint + 1 water'
wrote_soon kitty "${osc}99;i=coatbell-"
wrote_soon kitty ":d=0;$title$st${osc}99;i=coatbell-"
wrote_soon kitty ":p=body;$next$st"
wrote_soon foot "${osc}777;notify;$title;$next$st"
wrote_soon wezterm "${osc}777;notify;$title;$next$st"
wrote_soon ghostty "${osc}9;coatbell: $title. $next$st"
wrote_soon other "${osc}9;coatbell: $title. $next$st"
for name in plain inside linux vt220 none nobell; do
    wrote_soon "$name" "$title"
done
read -r -t 1 <> <(:) # a pop-up comes a little after the ring
for name in plain inside linux vt220 none nobell; do
    for number in 9 99 777; do wrote_none "$name" "${osc}$number;"; done
done
for name in linux vt220 none; do
    wrote_none "$name" "${osc}2;"
    wrote_none "$name" "${csi}22;2t"
done
tm capture-pane -p -t :kitty | grep -q 'all well . the terminal shows pop-ups' || die "the status line does not say so"
tm capture-pane -p -t :plain | grep -q 'no pop-ups on this machine' || die "a line is gone"

# The end: with a key, and with a fault of ours.
for name in dark dark-lined; do
    pid=$(pgrep -f "$coatbell begin $TMPDIR/quick.yaml --log $TMPDIR/$name.db" | tail -1)
    kill -SEGV "$pid"
    until_true is_gone "$pid" || die "$name goes on"
done
press q
for name in "${titled[@]}"; do
    wrote_soon "$name" "${osc}2;$st${csi}23;2t"
done
for name in linux vt220 none lined; do wrote_none "$name" "${csi}23;2t"; done
for name in lined dark-lined; do wrote_soon "$name" "${osc}Lgone$st"; done

# In tmux the pane has it while the bench is there, not while that is stopped, and none of it after.
pane_title() { tm display-message -p '#{pane_title}'; }
# shellcheck disable=SC2317 # called by until_true
titled() { [ "$(pane_title)" = "$1" ]; }
fresh 80x24 "PS1='shell> ' TERM=tmux-256color bash --norc --noprofile -i"
wait_for 'shell>'
before=$(pane_title)
keys "$coatbell begin $TMPDIR/quick.yaml --temp 23 --rh 50" Enter
do_not_know
wait_for 'SPACE when'
until_true titled coatbell || die "title: $(pane_title)"
keys C-z
wait_for 'Stopped'
until_true titled "$before" || die "stopped: $(pane_title), was $before"
keys fg Enter
wait_for 'SPACE when'
until_true titled coatbell || die "title: $(pane_title)"
keys q
wait_for 'shell> *$'
until_true titled "$before" || die "at the end: $(pane_title), was $before"

# Where the desktop shows pop-ups, the terminal shows none.
command -v dbus-daemon >/dev/null || skip "no dbus-daemon"
start_bus
start_mock
fresh 80x24 'exec sleep 600'
windows=()
bench desk xterm-kitty DBUS_SESSION_BUS_ADDRESS="$DBUS_SESSION_BUS_ADDRESS"
wrote_soon desk 'Minutes'
press Enter
wrote_soon desk 'SPACE'
press Space
until_true grep -q 'figure 1 is dry' "$TMPDIR/calls" || die "the desktop shows none"
read -r -t 1 <> <(:)
wrote_none desk "${osc}99;"
press q
wrote_soon desk "${csi}23;2t"
exit 0
