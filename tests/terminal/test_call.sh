#!/bin/bash
# SPDX-License-Identifier: MIT
# How the program is called: common options before or after the command, one line for what is not
# understood, exit codes, a standard output that fails.
set -u
. tests/terminal/lib.sh

# usage WORD ARGUMENT...: exit 2, nothing on standard output, one line that holds WORD.
usage() {
    local want=$1 rc=0
    shift
    "$coatbell" "$@" >"$TMPDIR/out" 2>"$TMPDIR/err" </dev/null || rc=$?
    [ "$rc" -eq 2 ] || die "$*: ended with $rc"
    [ ! -s "$TMPDIR/out" ] || die "$*: printed something"
    [ "$(wc -l <"$TMPDIR/err")" -eq 1 ] || die "$*: not one line: $(cat "$TMPDIR/err")"
    grep -qF -- "$want" "$TMPDIR/err" || die "$*: no word of '$want': $(cat "$TMPDIR/err")"
}
usage 'did you mean units?' unts
usage 'coatbell begin' recipes/night-watch.yaml
usage 'did you mean --climate?' check --climte x recipes/night-watch.yaml
usage 'did you mean --version?' --vers
usage '--log FILE' units --log
usage '--log FILE' units --log=
usage 'takes no value' units --json=yes
usage 'which recipe' check
usage 'one word too many' units more
usage 'unknown option: -q' units -q
usage 'unknown command' $'\033[2Jevil'
if LC_ALL=C grep -q $'\033' "$TMPDIR/err"; then die "an escape sequence reached the terminal"; fi

[ "$("$coatbell" --version)" = "$("$coatbell" units --version)" ] || die "two versions"
"$coatbell" --help | grep -q '^  begin ' || die "--help does not list begin"
for name in $("$coatbell" --help | sed -n '/^commands/,/^$/s/^  \([a-z-]*\) .*/\1/p'); do
    "$coatbell" "$name" --help | grep -q "^usage: coatbell $name" || die "$name --help"
    "$coatbell" --help "$name" | grep -q "^usage: coatbell $name" || die "--help $name"
done

# Common options on either side, a value with or without an equals sign, -- and -nN.
quick_recipe
"$coatbell" --log "$TMPDIR/a.db" begin "$TMPDIR/quick.yaml" -n3 </dev/null >/dev/null || die "-n3"
"$coatbell" --json --log="$TMPDIR/a.db" units >"$TMPDIR/one"
"$coatbell" units --log "$TMPDIR/a.db" --json >"$TMPDIR/two"
cmp -s "$TMPDIR/one" "$TMPDIR/two" || die "the place of an option changes the answer"
"$coatbell" check -- "$TMPDIR/quick.yaml" || die "-- does not end the options"

# From any folder, by a link, with nothing in the environment.
ln -s "$coatbell" "$TMPDIR/link"
(cd / && env -i "$TMPDIR/link" check "$TMPDIR/quick.yaml") || die "not with a cleared environment"

# What is lost on its way out is a failure, and said unless the reader merely left.
"$coatbell" --help >/dev/full 2>"$TMPDIR/err"
[ $? -eq 74 ] || die "a full standard output ends well"
grep -q 'standard output' "$TMPDIR/err" || die "a full standard output is not told"
for call in units 'units --json' 'log export' 'log export --csv' 'review --csv --all'; do
    # shellcheck disable=SC2086 # words of the call
    "$coatbell" --log "$TMPDIR/a.db" $call >/dev/full 2>"$TMPDIR/err"
    [ $? -eq 74 ] || die "$call: a full standard output ends well"
    [ "$(grep -c 'standard output could not be written' "$TMPDIR/err")" -eq 1 ] ||
        die "$call: a full standard output is not told once"
done
rc=0
"$coatbell" --help >&- 2>/dev/null || rc=$?
[ "$rc" -eq 0 ] || [ "$rc" -eq 74 ] || die "a closed standard output: $rc"
{ "$coatbell" --help; echo "rc $?" >"$TMPDIR/rc"; } 2>"$TMPDIR/err" | true
[ ! -s "$TMPDIR/err" ] || die "a reader that left is complained of: $(cat "$TMPDIR/err")"
exit 0
