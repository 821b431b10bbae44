#!/bin/bash
# SPDX-License-Identifier: MIT
# Pasted text is no row of keys: outside a typed line it is left out and said so, inside one it is
# text and ends nothing. It is asked to come between its marks for as long as the bench is there.
set -u
. tests/terminal/lib.sh

paste() { # as a terminal does: between marks where they are asked for
    tm load-buffer "$1"
    tm paste-buffer -p
}

pastes() {
    printf '%s' "$1" >"$TMPDIR/text"
    paste "$TMPDIR/text"
}

hex() { # bytes as they are
    # shellcheck disable=SC2086 # a word a byte
    tm send-keys -H $1
}

# shellcheck disable=SC2317 # called by until_true
noted() {
    events note | grep -qF -- "$1"
}

# nothing_but NOTE: after that note, typed now, the log holds one event more than before.
nothing_but() {
    local before=$written
    keys n
    wait_for '^ Note'
    keys "$1" Enter
    until_true noted "\"text\":\"$1\"" || die "keys are not taken after a paste: $1"
    written=$(exported | wc -l)
    [ "$written" -eq $((before + 1)) ] || die "$1: a paste wrote $((written - before - 1)) events"
}

quick_recipe
start 80x24 "$coatbell begin $TMPDIR/quick.yaml -n 20 --temp 23 --rh 50"
do_not_know
wait_for 'SPACE when'
written=$(exported | wc -l)

head -c 65536 /dev/zero | tr '\0' ' ' >"$TMPDIR/blanks"
paste "$TMPDIR/blanks"
wait_for 'pasted text left out'
nothing_but 'after 64 KiB of blanks'
pastes $'quite a plain sentence, 2 of\nthem with dull words and an x\n'
wait_for 'pasted text left out'
nothing_but 'after a sentence'
for view in F2 F4 F5 g '?'; do
    keys "$view"
    pastes 'a qualm'
    wait_for 'pasted text left out'
    keys F1
done
nothing_but 'after all views'

# A terminal may send the marks in pieces: the end is found, however late its bytes come.
hex '1b 5b 32 30 30 7e 20 20 20'
for byte in 1b 5b 32 30 31; do
    read -r -t 0.1 <> <(:) # longer than an ESC is waited for
    hex "$byte"
done
screen_lacks 'pasted text left out' || die "a paste ended before its end"
hex 7e
wait_for 'pasted text left out'
nothing_but 'after pieces'

# Into a line it is text, as far as its first line: of more it is said so; what is no character goes.
keys n
wait_for '^ Note'
pastes $'\ntwo\tcells \001and, Äpfel\r\nanother line\nand one\n\n'
wait_for 'Note two cells and, Äpfel'
wait_for 'only the first line was taken'
keys ' more' Enter
until_true noted '"text":"two cells and, Äpfel more"' || die "a pasted note: $(events note)"
keys c
wait_for '^ Room'
pastes $'19.5 62\n'
wait_for '^ Room 19.5 62'
screen_lacks 'first line' || die "one line with its end is said to be several"
keys Enter
wait_for '19[.]5C 62%'
written=$(exported | wc -l)
nothing_but 'after lines'

# A paste that has lost its end does not keep the keys for ever.
hex '1b 5b 32 30 30 7e 20 20'
read -r -t 6 <> <(:) # that long a paste may halt
keys F2
wait_for '^ Rack|^ *DRYING|RACK'
keys F1
nothing_but 'after half a paste'

# What comes after the bench gets its pasted text without marks.
ends_without_marks() {
    wait_for 'ended with'
    pastes 'a plain line'
    wait_for 'a plain line'
    screen_lacks '200~' || die "$1: pasted text still comes between marks"
}
for way in q TERM SEGV; do
    fresh 80x24 "$coatbell; echo; echo ended with \$?; exec cat -v"
    wait_for 'SPACE when|NEXT DRY'
    if [ "$way" = q ]; then keys q; else kill -"$way" "$(bench_pid)"; fi
    ends_without_marks "$way"
done

# Stopped, the shell has the terminal as it was; continued, it is asked again.
echo 'set enable-bracketed-paste off' >"$TMPDIR/inputrc"
fresh 80x24 "INPUTRC=$TMPDIR/inputrc PS1='shell> ' bash --norc --noprofile -i"
wait_for 'shell>'
keys "$coatbell" Enter
wait_for 'SPACE when|NEXT DRY'
keys C-z
wait_for 'Stopped'
pastes 'echo a plain line'
wait_for '> echo a plain line'
screen_lacks '200~' || die "stopped: pasted text still comes between marks"
keys C-u fg Enter
wait_for 'SPACE when|NEXT DRY'
written=$(exported | wc -l)
pastes '   '
wait_for 'pasted text left out'
nothing_but 'after fg'
keys q
wait_for 'shell> *$'
