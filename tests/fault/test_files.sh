#!/bin/bash
# SPDX-License-Identifier: MIT
# Whatever lies under a name that is given: nothing waits for a pipe, reads a device or more than its
# bound, or writes through a link to what was not named; what is made is for its owner alone.
set -u
coatbell=$CB_BUILD/coatbell
cd "$TMPDIR" || exit 1
umask 000 # the program is not to rely on it
faults=0
calls=0

fault() {
    echo "$*"
    faults=$((faults + 1))
}

# run CODE CALL...: ends by itself with one of these codes (0|1|...).
run() {
    local codes=$1 rc=0
    shift
    calls=$((calls + 1))
    timeout 5 "$coatbell" "$@" >out 2>err </dev/null || rc=$?
    [[ "|$codes|" == *"|$rc|"* ]] || fault "$*: ended with $rc, not $codes: $(head -c 300 err)"
    [ "$rc" -eq 0 ] || [ -s err ] || [ -s out ] || fault "$*: not a word"
    [ "$(wc -c <err)" -lt 8000 ] || fault "$*: $(wc -c <err) bytes of errors"
}

mode() {
    stat -c %a "$1"
}

cp "$CB_ROOT/recipes/night-watch.yaml" good.yaml
"$coatbell" --log log.db begin good.yaml --temp 20 --rh 50 >out </dev/null || fault "no log to begin with"

# What is read.
mkfifo fifo
mkdir folder
ln -s /nowhere/at/all dangling
ln -s round round
ln -s /dev/zero zero
ln -s "$PWD/fifo" linked
truncate -s 2G sparse
head -c 3000000 /dev/zero | tr '\0' '#' >remark
yes 'key ESC' | head -c 3000000 >script
for odd in fifo folder dangling round zero linked /dev/zero /dev/tty /dev/full /dev/random sparse remark script; do
    for call in check 'check --advice' mix set-out plan 'dry --temp 20 --rh 50' play; do
        # shellcheck disable=SC2086 # words of the call
        run '1|2|65|74' $call "$odd"
    done
    run '1|65|74' --log other.db begin "$odd"
    run '65|74' --log other.db pots import "$odd"
    [ "$odd" = sparse ] || [ "$odd" = remark ] || [ "$odd" = script ] || run '74' --log other.db log import "$odd"
    [[ $odd == /* ]] || for name in config kinds cues; do
        mkdir -p home/coatbell
        ln -s "$PWD/$odd" "home/coatbell/$name.yaml"
        calls=$((calls + 1))
        rc=0
        XDG_CONFIG_HOME=$PWD/home timeout 5 "$coatbell" --log log.db cues >out 2>err || rc=$?
        case $rc in 0 | 65 | 74) ;; *) fault "$odd as $name.yaml: ended with $rc" ;; esac
        rm "home/coatbell/$name.yaml"
    done
done
if [ -e other.db ] && "$coatbell" --log other.db log export - | grep -q unit_begun; then
    fault "a unit of what is no recipe"
fi

# The folder of recipes is looked through without waiting for any of them.
mkdir -p data/coatbell/recipes
mkfifo data/coatbell/recipes/fifo.yaml
ln -s /dev/zero data/coatbell/recipes/zero.yaml
mkdir data/coatbell/recipes/folder.yaml
cp sparse data/coatbell/recipes/sparse.yaml 2>/dev/null
cp log.db chosen.db
printf 'open chosen.db\nkey o\ndump chosen.txt\n' >choose.play
XDG_DATA_HOME=$PWD/data timeout 5 "$coatbell" play choose.play 2>err || fault "the chooser: $(cat err)"
[ -s chosen.txt ] || fault "the chooser shows nothing"
rm -f data/coatbell/recipes/sparse.yaml

# What is written: not into a pipe or a device, not through a link; whole, and for its owner.
echo precious >precious
cat >write.play <<'END'
begin good.yaml
key SPACE
END
for odd in fifo folder zero linked /dev/full; do
    run 74 plan good.yaml --svg "$odd"
    run 74 --log log.db review --html "$odd"
    run 74 --log log.db log export "$odd"
    run 74 --log log.db pots export "$odd"
    run '1|74' new "$odd"
    for step in dump svg export; do
        { cat write.play && echo "$step $odd"; } >odd.play
        run 1 play odd.play
    done
done
for step in 'plan good.yaml --svg' '--log log.db review --html' '--log log.db log export' '--log log.db pots export'; do
    ln -sf precious link
    # shellcheck disable=SC2086 # words of the call
    run 0 $step link
    [ "$(cat precious)" = precious ] || fault "$step: through the link"
    [ -L link ] && fault "$step: the link is still there, and what was written is not"
    [ "$(mode link)" = 600 ] || fault "$step: made with $(mode link)"
    rm -f link
done
for step in dump svg export; do
    ln -sf precious link
    { cat write.play && echo "$step link"; } >odd.play
    run 0 play odd.play
    [ "$(cat precious)" = precious ] || fault "$step: through the link"
    rm -f link
done
ln -s /nowhere/at/all link
run '1|74' new link
[ -L link ] || fault "new wrote over a link"
rm link
cp log.db played.db
for step in dump svg export; do
    for end in '' -wal; do
        printf 'open played.db\n%s played.db%s\n' "$step" "$end" >odd.play
        run 1 play odd.play
        "$coatbell" --log played.db status >out 2>&1 || fault "$step over the log: $(cat out)"
    done
done

# What lies beside a log: no link is followed, and what is made there is for its owner.
for end in -wal -shm -journal .lock; do
    mkdir "beside$end"
    ln -s "$PWD/precious" "beside$end/log.db$end"
    run 74 --log "beside$end/log.db" begin good.yaml
    [ "$(cat precious)" = precious ] || fault "log.db$end: through the link"
done
run 0 --log new/folder/log.db begin good.yaml --temp 20 --rh 50
for made in new new/folder; do
    [ "$(mode "$made")" = 700 ] || fault "$made: made with $(mode "$made")"
done
for made in new/folder/*; do
    [ "$(mode "$made")" = 600 ] || fault "$made: made with $(mode "$made")"
done
[ -e new/folder/log.db ] || fault "no log was made"
echo "$calls calls"
exit $((faults > 0))
