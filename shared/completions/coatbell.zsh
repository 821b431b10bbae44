#compdef coatbell
# SPDX-License-Identifier: MIT
# Completion of coatbell for zsh: commands, options, the words an option takes, recipes and files.

local -a _coatbell_commands _coatbell_common

# >>> by `make completions`
_coatbell_commands=(
    'begin:Begin a unit by a recipe and, on a terminal, open the bench.'
    'new:Write a commented starter recipe; never over a file that is there.'
    'check:Check recipes\: silent when all is well, else what is wrong or hardly meant.'
    'dry:How long until the next coat can go on, in this air.'
    'plan:What to put on in which order, when it is finished, how many figures at once.'
    'mix:How many drops to mix for each stage, for one coat on all figures.'
    'set-out:What to lay out before starting\: paints, brushes, amounts, cautions.'
    'status:Print one line\: what goes on next and when the next film is dry.'
    'sensor:Print what the sensor says of the room now.'
    'pots:Show what was learned of each paint, pass it on, or take in another painter'\''s.'
    'cues:List the cues, or those with all these words.'
    'review:Show where the hours went, and what the next unit will take.'
    'units:List the units of the log.'
    'write:Write a unit as a recipe of what was really painted.'
    'log:Write the log out or take lines in, check and mend it, back it up and put it back.'
    'settings:Print every setting\: what is in force, from where, and a line that changes it.'
    'demo:Paint the sample unit on a log of its own; as text without a terminal.'
    'play:Run scripted keys on a fake clock and dump screens.'
)
_coatbell_call() { # COMMAND
    case $1 in
    begin)
        _arguments -S $_coatbell_common \
            '*-n+[how many figures; without it as the recipe says]:FIGURES: ' \
            '*--first=[so many figures first, the others when all their coats are on]:N: ' \
            '*--name=[the unit'\''s name; without it the recipe'\''s]:TEXT: ' \
            '*--use=[another pot for the recipe'\''s paint KEY; or medium=water]:KEY="NAME": ' \
            '*--done=[a stage that was done before; as often as there are]:STAGE: ' \
            '*--temp=[the air now: 19.5, 67F]:C|F: ' \
            '*--rh=[the air now: relative humidity]:PCT: ' \
            '1:RECIPE:_coatbell_RECIPE' ;;
    new)
        _arguments -S $_coatbell_common \
            '1:FILE:_coatbell_FILE' ;;
    check)
        _arguments -S $_coatbell_common \
            '*--climate=[list what this air would do to each stage]:"19.5 62": ' \
            '--advice[say what is likely to be regretted, and what to do]' \
            '--strict[with --advice: exit 65 where any is given]' \
            '*:RECIPE:_coatbell_RECIPE' ;;
    dry)
        _arguments -S $_coatbell_common \
            '*--technique=[what the hand does; without it what the kind is mostly used for]:T:_coatbell_T' \
            '*--by=[brush, can, airbrush or sponge]:B:_coatbell_B' \
            '*--mix=[such as "2 paint + 1 water"; without it the usual mix]:MIX: ' \
            '*--dry=[your own median at 23 C and 50 %, instead of the model'\''s]:MIN: ' \
            '*--film=[wet film, such as 25 or "1 mm"]:UM: ' \
            '*--solids=[volume solids of the neat paint, 0 to 1]:SHARE: ' \
            '*--temp=[air temperature, such as 21 or 70F; without both that of your bench, else 20 C, 50 %]:C|F: ' \
            '*--rh=[relative humidity]:PCT: ' \
            '*--air=[still, draught, fan or dryer]:AIR:_coatbell_AIR' \
            '--ring[start the timer at once and ring when it is dry]' \
            '--table[minutes to the ping over temperature and humidity]' \
            '--plot[the drying curve]' \
            '1:KIND|RECIPE:_coatbell_KIND_RECIPE' ;;
    plan)
        _arguments -S $_coatbell_common \
            '*-n+[how many figures; without it as the recipe says]:FIGURES: ' \
            '*--temp=[air temperature, such as 21 or 70F; without both that of your bench, else 20 C, 50 %]:C|F: ' \
            '*--rh=[relative humidity]:PCT: ' \
            '*--air=[still, draught, fan or dryer]:AIR:_coatbell_AIR' \
            '*--evening=[length of an evening, such as 2h30m: over how many it goes]:TIME: ' \
            '--calm[fewer changes of paint, for a little more time]' \
            '--compare[beside it one stage after the other]' \
            '*--svg=[the time line as a picture, into FILE]:FILE:_coatbell_FILE' \
            '1:RECIPE:_coatbell_RECIPE' ;;
    mix)
        _arguments -S $_coatbell_common \
            '*-n+[how many figures; without it as the recipe says]:FIGURES: ' \
            '*--use=[another pot for the recipe'\''s paint KEY; or medium=water]:KEY="NAME": ' \
            '*--stage=[only that stage]:NAME: ' \
            '1:RECIPE:_coatbell_RECIPE' ;;
    set-out)
        _arguments -S $_coatbell_common \
            '*-n+[how many figures; without it as the recipe says]:FIGURES: ' \
            '*--use=[another pot for the recipe'\''s paint KEY; or medium=water]:KEY="NAME": ' \
            '1:RECIPE:_coatbell_RECIPE' ;;
    status)
        _arguments -S $_coatbell_common \
            '--all[every film that may still be wet, and every screen as plain text]' ;;
    sensor)
        _arguments -S $_coatbell_common \
            '--all[every sensor of this machine and your program, with its name]' ;;
    pots)
        _arguments -S $_coatbell_common \
            '--why[a picture of each paint, and a sentence for each answer that moved it]' \
            '--all[with --why: every coat that was seen, whether it moved it or not]' \
            '--calibration[how many pings found a dry film]' \
            '1: :( export import)' \
            '2:FILE:_coatbell_FILE' ;;
    cues)
        _arguments -S $_coatbell_common \
            '--why[of each, why it would be said now, or would not]' \
            '--mine[what the log says of your own painting, instead]' ;;
    review)
        _arguments -S $_coatbell_common \
            '--all[every unit of the log but those put aside]' \
            '--csv[as comma-separated values]' \
            '*--html=[as one page with pictures, into FILE]:FILE:_coatbell_FILE' ;;
    units)
        _arguments -S $_coatbell_common \
            '--all[those that were put aside as well]' ;;
    write)
        _arguments -S $_coatbell_common ;;
    log)
        _arguments -S $_coatbell_common \
            '--csv[export: CSV for spreadsheets (RFC 4180) instead of JSON Lines]' \
            '--strict[import: all or nothing, where a bad line is else left and said]' \
            '--mend[check: mend what is wrong; the log as it was is kept beside it]' \
            '--yes[restore: though the log holds events that FILE has not]' \
            '1: :( export import check backup restore)' \
            '2:FILE:_coatbell_FILE' ;;
    settings)
        _arguments -S $_coatbell_common ;;
    demo)
        _arguments -S $_coatbell_common \
            '*--speed=[how fast time goes by on a terminal; 60]:TIMES: ' \
            '--quiet-clock[countdowns in minutes alone]' \
            '--resume[go on with the demo that was closed last]' \
            '*--history=[only write the sample'\''s two finished units into the log FILE]:FILE:_coatbell_FILE' \
            '--yes[with --history: also into a log that holds other units]' ;;
    play)
        _arguments -S $_coatbell_common \
            '*--size=[the screen at the start; 80x24]:COLUMNSxROWS: ' \
            '1:SCRIPT:_coatbell_SCRIPT' ;;
    esac
}
_coatbell_common=( \
            '*--log=[the log; without it the one in the data folder]:FILE:_coatbell_FILE' \
            '--json[the answer as JSON]' \
            '--ascii[no character beyond ASCII]' \
            '--help[this text]' \
            '--version[the version]'
)
_coatbell_AIR() {
    compadd "$@" -- 'still' 'draught' 'fan' 'dryer'
}
_coatbell_B() {
    compadd "$@" -- 'brush' 'can' 'airbrush' 'sponge'
}
_coatbell_T() {
    compadd "$@" -- 'undercoat' 'basecoat' 'layer' 'drybrush' 'wash' 'recess shade' 'glaze' 'edge highlight' 'texture' 'varnish'
}
_coatbell_KIND() {
    compadd "$@" -- 'acrylic' 'metallic' 'wash' 'stain' 'ink' 'texture paste' 'spray undercoat' 'spray varnish' 'brush varnish' 'oil' 'enamel'
}
# <<<

_coatbell_FILE() { _files }
_coatbell_RECIPE() {
    local -a names
    # `begin` also takes the name of one that is installed.
    if [[ $service == begin ]]; then
        names=(${XDG_DATA_HOME:-$HOME/.local/share}/coatbell/recipes/*.yaml(N:t:r)
            ${commands[coatbell]:h}/../share/coatbell/recipes/*.yaml(N:t:r))
        compadd "$@" -a names
    fi
    _files -g '*.yaml'
}
_coatbell_KIND_RECIPE() {
    _coatbell_KIND "$@"
    _coatbell_RECIPE "$@"
}
_coatbell_SCRIPT() { _files }

local curcontext=$curcontext state line
_arguments -C $_coatbell_common '1: :->command' '*:: :->call'
case $state in
command) _describe command _coatbell_commands ;;
call)
    local service=$words[1]
    _coatbell_call $words[1]
    ;;
esac
