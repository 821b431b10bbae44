#!/bin/bash
# SPDX-License-Identifier: MIT
# v opens a picture in the desktop's viewer: one file as one argument whatever its name, without a
# shell, beside the recipe or absolute, never by itself; a line says why not.
set -u
. tests/terminal/lib.sh

place="$TMPDIR/the place"
mkdir "$place" "$place/below" "$place/folder" "$TMPDIR/bin" "$TMPDIR/empty"
# A viewer that says what it was given and how it runs, and stays open as viewers do.
cat >"$TMPDIR/bin/xdg-open" <<EOF
#!/bin/bash
{
    printf '%d <%s>\n' \$# "\$1"
    echo "group \$((\$(ps -o pgid= -p \$\$))) of \$\$"
    echo "output \$(readlink /proc/\$\$/fd/0 /proc/\$\$/fd/1 /proc/\$\$/fd/2 | sort -u)"
} >>"$TMPDIR/viewed"
case \$1 in *stays*) echo \$\$ >"$TMPDIR/stays"; exec sleep 600 ;; esac
exit 3
EOF
chmod +x "$TMPDIR/bin/xdg-open"
: >"$TMPDIR/viewed"
# shellcheck disable=SC2016 # no shell is to read it
for name in 'sash.png' '-rf.png' "o'er the quay.png" 'a "b" $(touch pwned).png' 'below/stays.png'; do
    echo picture >"$place/$name"
done
echo picture >"$TMPDIR/above.png"
echo picture >"$TMPDIR/absolute.png"
cat >"$place/watch.yaml" <<EOF
coatbell: 1
name: Picture watch
figures: 2
pictures:
  - below/stays.png
  - ../above.png
  - $TMPDIR/absolute.png
  - gone.png
  - folder
  - https://example.org/x.png
  - below/../../above.png
paints:
  rope: {name: Tarred rope}
stages:
  - name: Coats
    technique: basecoat
    paint: rope
    pictures: ['-rf.png', "o'er the quay.png", 'a "b" \$(touch pwned).png']
  - name: Again
    technique: layer
    paint: rope
EOF

viewed() {
    grep -qF -- "$1" "$TMPDIR/viewed"
}

# One picture by its number: the name that the screen says, and the file that the viewer gets.
view() {
    keys "$1" v
    wait_for "picture $1 of 10: $2"
    until_true viewed "1 <$3>" || die "the viewer was not given $3"
}

"$coatbell" set-out "$place/watch.yaml" >"$TMPDIR/set-out" || die "set-out"
awk '/^Pictures to paint by/, /^$/' "$TMPDIR/set-out" >"$TMPDIR/listed"
[ "$(wc -l <"$TMPDIR/listed")" = 12 ] || die "set-out does not list ten pictures"
grep -qxF '  below/stays.png' "$TMPDIR/listed" || die "set-out: none of the recipe's"
grep -qxF "  o'er the quay.png, for Coats" "$TMPDIR/listed" || die "set-out: none of the stage's"
"$coatbell" set-out "$place/watch.yaml" --json |
    grep -qF '{"picture":"folder","stage":null},{"picture":"https://example.org/x.png","stage":null}' ||
    die "set-out --json: not the recipe's"
"$coatbell" set-out "$place/watch.yaml" --json | grep -qF '{"picture":"-rf.png","stage":"Coats"}' ||
    die "set-out --json: not the stage's"

fresh 80x24 "cd /; PATH=$TMPDIR/bin:$PATH $coatbell begin '$place/watch.yaml' --temp 23 --rh 50; echo \"ended with \$?\"; exec sleep 600"
do_not_know
wait_for 'SPACE when'
wait_for '10 pictures: v'
[ -s "$TMPDIR/viewed" ] && die "a picture opened by itself"
keys v
wait_for 'picture 1 of 10: -rf.png'
until_true viewed "1 <$place/-rf.png>" || die "the first is not the stage's"
view 2 "o'er the quay.png" "$place/o'er the quay.png"
view 3 'a "b"' "$place/a \"b\" \$(touch pwned).png"
view 6 "$TMPDIR/absolute.png" "$TMPDIR/absolute.png"
view 4 below/stays.png "$place/below/stays.png"
keys 5 v
wait_for 'a picture lies beside its recipe, not above: ../above.png'
keys 7 v
wait_for 'no such picture: gone.png'
keys 8 v
wait_for 'no file, so no picture: folder'
keys 9 v
wait_for 'an address, and only files are opened: https://example.org/x.png'
keys 1 0 v
wait_for 'a picture lies beside its recipe, not above: below/../../above.png'
keys 1 1 v
wait_for 'there are 10 pictures'
keys - 2 v
wait_for '2 before v means nothing'
viewed above.png && die "a picture above the recipe was shown"
[ "$(grep -c '^1 <' "$TMPDIR/viewed")" = "$(grep -c '<' "$TMPDIR/viewed")" ] || die "not one argument"
find "$TMPDIR" / -maxdepth 1 -name pwned 2>/dev/null | grep . && die "a shell has read a name"
grep '^group' "$TMPDIR/viewed" | awk '$2 != $4 { exit 1 }' || die "not a group of its own: $(cat "$TMPDIR/viewed")"
grep '^output' "$TMPDIR/viewed" | grep -vx 'output /dev/null' && die "the terminal's own output"
bench=$(bench_pid)
no_zombies() {
    [ -z "$(pgrep -r Z -P "$bench")" ]
}
keys Left
until_true no_zombies || die "viewers that have ended are zombies"

# All else is the recipe's: the next stage has none of its own.
keys Down
wait_for '7 pictures: v'

# The viewer outlives the bench.
stays=$(cat "$TMPDIR/stays")
started+=("$stays")
keys q
wait_for 'ended with 0'
kill -0 "$stays" || die "the viewer has gone with the bench"
kill "$stays"
started=()

# Nothing that could show it; and the next day the file is found by the recipe's name alone.
fresh 80x24 "cd '$place'; PATH=$TMPDIR/empty $coatbell; echo \"ended with \$?\"; exec sleep 600"
wait_for 'SPACE when'
keys v
wait_for "where the recipe's file lies is not known here: R looks for it"
keys 6 v
wait_for 'xdg-open is not there to show it: /'
keys R
wait_for 'the recipe is as it was'
keys v
wait_for 'xdg-open is not there to show it: -rf.png'
keys q
wait_for 'ended with 0'
