#!/bin/bash
# SPDX-License-Identifier: MIT
# What the shells complete is what the program takes: every command and option that --help names, every
# word of an option that is a choice, recipes and files. In bash by calling its function, in fish by
# asking it, in zsh on a terminal.
set -u
cd "$CB_ROOT" || exit 1
# shellcheck source=tests/terminal/lib.sh
. tests/terminal/lib.sh
make=${MAKE:-make}

"$make" -s FLAVOUR=release build/release/tests/tools/make_completions >/dev/null || die "no tool"
for shell in bash zsh fish; do
    file=shared/completions/coatbell.$shell
    "$tools/make_completions" "$shell" <"$file" >"$TMPDIR/new"
    diff "$TMPDIR/new" "$file" || die "$file: old, \`make completions\`"
done
bash -n shared/completions/coatbell.bash || die "bash cannot read its file"
zsh -n shared/completions/coatbell.zsh || die "zsh cannot read its file"
fish --no-execute shared/completions/coatbell.fish || die "fish cannot read its file"

# An installed program with a recipe beside it, and one of the painter's own.
mkdir -p "$TMPDIR/bin" "$TMPDIR/share/coatbell/recipes" "$HOME/.local/share/coatbell/recipes" "$TMPDIR/desk/sub"
ln -s "$coatbell" "$TMPDIR/bin/coatbell"
PATH=$TMPDIR/bin:$PATH
touch "$TMPDIR/share/coatbell/recipes/night-watch.yaml" "$HOME/.local/share/coatbell/recipes/mine.yaml"
touch "$TMPDIR/desk/watch.yaml" "$TMPDIR/desk/other.txt"

desk=$TMPDIR/desk
# shellcheck source=shared/completions/coatbell.bash
. shared/completions/coatbell.bash
in_bash() { # WORD...: what is offered for the last of them, a line each
    COMP_WORDS=(coatbell "$@")
    COMP_CWORD=$#
    (cd "$desk" && _coatbell 2>/dev/null; [ ${#COMPREPLY[@]} -eq 0 ] || printf '%s\n' "${COMPREPLY[@]//$'\n'/<end>}")
}
in_fish() {
    local line=coatbell word
    for word; do line+=" ${word// /\\ }"; done
    (cd "$desk" && fish --no-config -c "source $CB_ROOT/shared/completions/coatbell.fish
        complete -C '$line'" | cut -f1)
}

# The program says itself what it takes.
commands=$("$coatbell" --help | sed -n 's/^  \([a-z][a-z-]*\)  *[A-Z].*/\1/p')
options() { # of --help
    sed -nE '/^for every command:/!s/^  (-[-a-z]+) .*/\1/p
        /^for every command:/,$s/(--[a-z]+)/\n\1\n/gp' | grep '^-' | sort -u
}
[ "$(wc -l <<<"$commands")" -ge 16 ] || die "commands: $commands"
common='--ascii
--help
--json
--log
--version'
for shell in bash fish; do
    diff <(sort <<<"$commands") <("in_$shell" '' | sort) || die "$shell: commands"
    for command in $commands; do
        told=$("$coatbell" "$command" --help | options)
        [ "$(grep -c . <<<"$told")" -ge 5 ] || die "$command: no options"
        found=$({ "in_$shell" "$command" -; "in_$shell" "$command" --; } | grep '^-' | sort -u)
        diff <(echo "$told") <(echo "$found") || die "$shell: options of $command"
    done
    diff <(echo "$common") <("in_$shell" -- | grep '^--' | sort -u) || die "$shell: options of none"
done

# Every word of a choice is taken, and all of them are offered.
for shell in bash fish; do
    "in_$shell" dry --air '' >"$TMPDIR/air"
    "in_$shell" dry acrylic --by '' >"$TMPDIR/by"
    "in_$shell" dry --technique '' >"$TMPDIR/technique"
    for what in air by technique; do
        [ "$(wc -l <"$TMPDIR/$what")" -ge 4 ] || die "$shell: --$what: $(cat "$TMPDIR/$what")"
        while read -r word; do
            "$coatbell" dry acrylic --temp 20 --rh 50 "--$what" "${word//\\/}" >/dev/null ||
                die "$shell: --$what $word"
        done <"$TMPDIR/$what"
    done
    while read -r word; do
        [ ! -e "$TMPDIR/desk/$word" ] || continue
        "$coatbell" dry "${word//\\/}" --temp 20 --rh 50 >/dev/null || die "$shell: dry $word"
    done < <("in_$shell" dry '')
    [ "$("in_$shell" dry '' | grep -c '^spray')" -eq 2 ] || die "$shell: kinds: $("in_$shell" dry '')"
done

# offers SHELL "WANTED..." WORD...: just these, in any order.
offers() {
    local shell=$1 wanted=$2 found
    shift 2
    # a folder, with the slash or without
    found=$("in_$shell" "$@" | sed 's|/$||' | sort | tr '\n' ' ')
    [ "${found% }" = "$wanted" ] || die "$shell: coatbell $*: offers \"$found\", not \"$wanted\""
}
for shell in bash fish; do
    offers $shell 'begin' be
    offers $shell 'fan' dry acrylic --air f
    offers $shell 'backup check export import restore' log ''
    offers $shell 'status' --log x.db --json sta
    offers $shell 'recess shade' dry acrylic --technique rec
    offers $shell 'mine' begin mi
    offers $shell 'night-watch' begin nig
    offers $shell 'watch.yaml' plan wat
    offers $shell 'watch.yaml' check a.yaml wat
    offers $shell 'watch.yaml' plan -n 10 wat
    offers $shell 'other.txt' log import oth
    offers $shell 'other.txt' --log oth
    offers $shell '' log check ''
    offers $shell '' status ''
    offers $shell '' plan watch.yaml --evening ''
    offers $shell '' plan watch.yaml ''
done
offers bash 'other.txt sub watch.yaml' new ''
offers bash 'sub watch.yaml' mix '' # no text is a recipe
[ "$(in_bash dry acrylic --air = dr)" = "draught
dryer" ] || die "bash: --air=dr"
[ "$(in_fish dry acrylic --air=dra)" = --air=draught ] || die "fish: --air=dra"

# Whatever a file is called: nothing of it runs, and it is one word or none.
mkdir -p "$TMPDIR/hostile/coatbell/recipes"
desk=$TMPDIR/hostile
export XDG_DATA_HOME=$desk
# shellcheck disable=SC2016 # as they are
names=('$(touch${IFS}pwned)' '`touch${IFS}pwned`' "'; touch pwned; '" 'a b' '*' '-n' $'line\nbreak' $'tab\tbed')
for name in "${names[@]}"; do
    touch "$desk/$name.yaml" "$desk/coatbell/recipes/$name.yaml"
done
for shell in bash fish; do
    for what in 'begin' 'plan' 'log import' 'begin --log'; do
        # shellcheck disable=SC2086 # words
        "in_$shell" $what '' >"$TMPDIR/offered"
        for name in "${names[@]:0:6}"; do
            [ "$(grep -cxF -- "$name.yaml" "$TMPDIR/offered")" -eq 1 ] ||
                die "$shell: $what: not one $name: $(cat "$TMPDIR/offered")"
            [[ $what != begin || $shell$name == bash*[\$\`]* ]] || grep -qxF -- "$name" "$TMPDIR/offered" || die "$shell: begin lacks $name"
        done
        [ ! -e "$desk/pwned" ] || die "$shell: $what ran what a file is called"
        # what fish itself makes of any file is one word, printed as two
        [[ $shell == fish && $what == *log* ]] || ! grep -qxE 'line|break(\.yaml)?|tab' "$TMPDIR/offered" ||
            die "$shell: $what offers pieces: $(cat "$TMPDIR/offered")"
    done
done
unset XDG_DATA_HOME
desk=$TMPDIR/desk

# As they are used: in bash what its line makes of the words, in zsh all of it.
# shellcheck disable=SC2016 # as they are
touch "$HOME/kept.yaml" "$desk/"'pay$(touch${IFS}pwned).yaml' "$HOME/.local/share/coatbell/recipes/"'ten a&b(c).yaml'
mkdir "$TMPDIR/functions"
cp shared/completions/coatbell.zsh "$TMPDIR/functions/_coatbell"
cat >"$HOME/.zshrc" <<END
fpath=($TMPDIR/functions \$fpath)
autoload -U compinit && compinit -u -D
PS1='READY '
unsetopt automenu
cd $TMPDIR/desk
END
cat >"$HOME/.bashrc" <<END
. $CB_ROOT/shared/completions/coatbell.bash
PS1='READY '
cd $TMPDIR/desk
END
screen_is() { [ "$(screen | tr -d '\n' | sed 's/ *$//')" = "$1" ]; }
empty_line() {
    keys C-u C-l
    until_true screen_is 'READY' || die "$1: not ready"
}
typed() { # TYPED WANTED: TAB after it makes the line so
    empty_line "$shell"
    keys -l "coatbell $1"
    keys TAB
    until_true screen_has "^READY coatbell $2 *\$" || die "$shell: coatbell $1: not $2"
}
for shell in 'bash --noprofile -i' 'zsh -d -i'; do
    fresh 80x24 "env PATH=$PATH HOME=$HOME $shell"
    until_true screen_has '^READY' || die "$shell does not start"
    typed be begin
    typed 'dry acrylic --air f' 'dry acrylic --air fan'
    typed 'dry acrylic --air=f' 'dry acrylic --air=fan'
    typed 'dry spray\ u' 'dry spray\\ undercoat'
    typed 'dry --technique rec' 'dry --technique recess\\ shade'
    typed 'log rest' 'log restore'
    typed '--log x.db sta' '--log x.db status'
    typed 'begin ni' 'begin night-watch'
    typed 'begin mi' 'begin mine'
    typed 'plan w' 'plan watch.yaml'
    typed 'plan --ev' 'plan --evening=?'
    typed 'log import o' 'log import other.txt'
    typed 'check watch.yaml --adv' 'check watch.yaml --advice'
    typed 'mix s' 'mix sub/'
    typed 'plan ~/kep' 'plan ~/kept\.yaml'
    typed 'plan pay' 'plan pay\\\$\\\(touch\\\$\\\{IFS\\\}pwned\\\)\.yaml'
    typed 'begin te' 'begin ten\\ a\\&b\\\(c\\\)'
    [ ! -e "$desk/pwned" ] || die "$shell ran what a file is called"
done
empty_line zsh
keys -l 'coatbell '
keys C-d
for command in $commands; do
    until_true screen_has "^$command +-- [A-Z]" || die "zsh: $command is not listed"
done
empty_line zsh
keys -l 'coatbell plan --'
keys C-d
until_true screen_has '^--calm +-- fewer changes of paint' || die "zsh: options of plan"
