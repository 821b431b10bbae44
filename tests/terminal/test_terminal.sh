#!/bin/bash
# SPDX-License-Identifier: MIT
# The terminal is used well and left as it was found, however the program ends.
set -u
. tests/terminal/lib.sh

# Terminals that can't show a bench get one clear line and exit 74.
one_line() {
    local want=$1
    shift
    fresh 80x24 "$* 2>$TMPDIR/err; echo \"ended with \$?\"; exec sleep 600"
    wait_for 'ended with 74'
    [ "$(wc -l <"$TMPDIR/err")" -eq 1 ] || die "not one line: $(cat "$TMPDIR/err")"
    grep -q -- "$want" "$TMPDIR/err" || die "no word of $want: $(cat "$TMPDIR/err")"
}
one_line 'TERM=dumb' env TERM=dumb "$coatbell"
one_line 'TERM=no-such-thing' env TERM=no-such-thing "$coatbell"
one_line 'TERM is not set' env -u TERM "$coatbell"
# Input or output that is no terminal, at its end, or not even open.
for way in '</dev/null' '>/dev/null' '<&-' '>&-' '<&- >&-'; do
    one_line 'terminal' "$coatbell" "$way"
done
"$coatbell" </dev/null >/dev/null 2>"$TMPDIR/err"
[ $? -eq 74 ] || die "without a terminal it does not end with 74"

# The modes and the picture come back: by q, by SIGTERM, by a crash.
for way in q TERM INT SEGV ABRT; do
    fresh 80x24 \
        "echo before; stty -a >$TMPDIR/modes1; $coatbell; echo \"ended with \$?\"; stty -a >$TMPDIR/modes2; echo done; exec sleep 600"
    wait_for 'on the bench tonight'
    [ "$(tm display-message -p '#{alternate_on}')" = 1 ] || die "no alternate screen"
    if [ "$way" = q ]; then keys q; else kill -"$way" "$(bench_pid)"; fi
    wait_for '^done'
    screen_has '^before' || die "$way: what stood on the terminal is gone"
    screen_lacks 'bench tonight' || die "$way: our picture is left over"
    [ "$(tm display-message -p '#{alternate_on}')" = 0 ] || die "$way: still the alternate screen"
    [ "$(tm display-message -p '#{cursor_flag}')" = 1 ] || die "$way: no cursor"
    cmp -s "$TMPDIR/modes1" "$TMPDIR/modes2" || die "$way: other modes"
done

# Ctrl-Z and fg, from a shell with jobs.
fresh 80x24 "PS1='shell> ' bash --norc --noprofile -i"
wait_for 'shell>'
keys "$coatbell" Enter
wait_for 'on the bench tonight'
keys C-z
wait_for 'Stopped'
keys fg Enter
wait_for 'on the bench tonight'
keys q
wait_for 'shell> *$'

# A new size is drawn at once, also one that is far too small.
start 80x24 "$coatbell"
wait_for 'on the bench tonight'
tm resize-window -x 20 -y 5
wait_for 'wants 30x8'
tm resize-window -x 120 -y 40
wait_for 'on the bench tonight'
tm resize-window -x 1 -y 1
tm resize-window -x 80 -y 24
wait_for 'on the bench tonight'

# The terminal goes: so does the program, and the session is closed in the log.
pid=$(bench_pid)
tm kill-server
until_true is_gone "$pid" || die "it lives on without a terminal"
exported | grep -v session_opened | tail -1 | grep -q '"event":"session_closed"' ||
    die "the session stands open after a hang-up"

# ASCII where it is asked for or nothing else is possible.
for how in "$coatbell --ascii" "env LC_ALL=C $coatbell" "env -i TERM=$TERM HOME=$HOME $coatbell"; do
    start 80x24 "$how"
    wait_for 'on the bench tonight'
    if screen | LC_ALL=C grep -q '[^ -~]'; then die "not ASCII: $how"; fi
    keys q
    wait_for 'ended with 0'
done
set_config 'ascii: yes'
start 80x24 "$coatbell"
wait_for 'on the bench tonight'
if screen | LC_ALL=C grep -q '[^ -~]'; then die "not ASCII by config.yaml"; fi
keys q
wait_for 'ended with 0'
rm "$HOME/.config/coatbell/config.yaml"

# Colour: 256, 8, none by NO_COLOR or by the terminal.
colours() {
    tm capture-pane -p -e
}
start 80x24 "env TERM=xterm-256color $coatbell"
wait_for 'on the bench tonight'
keys Down Enter
wait_for 'How many'
keys Enter Enter Enter
wait_for 'SPACE when'
colours | grep -q $'\033\[[0-9;]*38[;:]5' || die "no colour of 256"
for how in "env NO_COLOR=1 $coatbell" "env TERM=vt220 $coatbell"; do
    start 80x24 "$how"
    wait_for 'SPACE when'
    if colours | grep -qE $'\033\\[[0-9;]*(3[0-8]|4[0-8])[;m]'; then die "colour: $how"; fi
    keys q
    wait_for 'ended with 0'
done
start 80x24 "env TERM=xterm $coatbell"
wait_for 'SPACE when'
if colours | grep -q $'\033\[[0-9;]*38[;:]5'; then die "256 colours on a terminal of 8"; fi
colours | grep -qE $'\033\\[[0-9;]*3[0-7][;m]' || die "no colour of 8"
keys q
wait_for 'ended with 0'
