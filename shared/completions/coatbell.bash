# SPDX-License-Identifier: MIT
# Completion of coatbell for bash: commands, options, the words an option takes, recipes and files.
# shellcheck shell=bash

# >>> by `make completions`
_coatbell_commands='begin new check dry plan mix set-out status sensor pots cues review units write log settings demo play'
_coatbell_options() { # COMMAND
    case $1 in
    begin) printf '%s ' -n --first --name --use --done --temp --rh ;;
    check) printf '%s ' --climate --advice --strict ;;
    dry) printf '%s ' --technique --by --mix --dry --film --solids --temp --rh --air --ring --table --plot ;;
    plan) printf '%s ' -n --temp --rh --air --evening --calm --compare --svg ;;
    mix) printf '%s ' -n --use --stage ;;
    set-out) printf '%s ' -n --use ;;
    status) printf '%s ' --all ;;
    sensor) printf '%s ' --all ;;
    pots) printf '%s ' --why --all --calibration ;;
    cues) printf '%s ' --why --mine ;;
    review) printf '%s ' --all --csv --html ;;
    units) printf '%s ' --all ;;
    log) printf '%s ' --csv --strict --mend --yes ;;
    demo) printf '%s ' --speed --quiet-clock --resume --history --yes ;;
    play) printf '%s ' --size ;;
    esac
    printf '%s ' --log --json --ascii --help --version
}
_coatbell_takes() { # COMMAND OPTION
    case $1,$2 in
    *,--log) echo 'FILE' ;;
    begin,-n) echo 'FIGURES' ;;
    begin,--first) echo 'N' ;;
    begin,--name) echo 'TEXT' ;;
    begin,--use) echo 'KEY="NAME"' ;;
    begin,--done) echo 'STAGE' ;;
    begin,--temp) echo 'C|F' ;;
    begin,--rh) echo 'PCT' ;;
    check,--climate) echo '"19.5 62"' ;;
    dry,--technique) echo 'T' ;;
    dry,--by) echo 'B' ;;
    dry,--mix) echo 'MIX' ;;
    dry,--dry) echo 'MIN' ;;
    dry,--film) echo 'UM' ;;
    dry,--solids) echo 'SHARE' ;;
    dry,--temp) echo 'C|F' ;;
    dry,--rh) echo 'PCT' ;;
    dry,--air) echo 'AIR' ;;
    plan,-n) echo 'FIGURES' ;;
    plan,--temp) echo 'C|F' ;;
    plan,--rh) echo 'PCT' ;;
    plan,--air) echo 'AIR' ;;
    plan,--evening) echo 'TIME' ;;
    plan,--svg) echo 'FILE' ;;
    mix,-n) echo 'FIGURES' ;;
    mix,--use) echo 'KEY="NAME"' ;;
    mix,--stage) echo 'NAME' ;;
    set-out,-n) echo 'FIGURES' ;;
    set-out,--use) echo 'KEY="NAME"' ;;
    review,--html) echo 'FILE' ;;
    demo,--speed) echo 'TIMES' ;;
    demo,--history) echo 'FILE' ;;
    play,--size) echo 'COLUMNSxROWS' ;;
    esac
}
_coatbell_operand() { # COMMAND NUMBER FIRST
    case $1,$2,$3 in
    begin,1,*) echo 'RECIPE' ;;
    new,1,*) echo 'FILE' ;;
    check,*,*) echo 'RECIPE' ;;
    dry,1,*) echo 'KIND|RECIPE' ;;
    plan,1,*) echo 'RECIPE' ;;
    mix,1,*) echo 'RECIPE' ;;
    set-out,1,*) echo 'RECIPE' ;;
    sensor,1,*) echo 'NAME' ;;
    pots,1,*) echo ' export import' ;;
    pots,2,export) echo 'FILE' ;;
    pots,2,import) echo 'FILE' ;;
    cues,*,*) echo 'WORD' ;;
    review,*,*) echo 'UNIT' ;;
    write,1,*) echo 'UNIT' ;;
    log,1,*) echo ' export import check backup restore' ;;
    log,2,export) echo 'FILE' ;;
    log,2,import) echo 'FILE' ;;
    log,2,backup) echo 'FILE' ;;
    log,2,restore) echo 'FILE' ;;
    play,1,*) echo 'SCRIPT' ;;
    esac
}
_coatbell_words() { # CHOICE
    case $1 in
    AIR) printf '%s\n' 'still' 'draught' 'fan' 'dryer' ;;
    B) printf '%s\n' 'brush' 'can' 'airbrush' 'sponge' ;;
    T) printf '%s\n' 'undercoat' 'basecoat' 'layer' 'drybrush' 'wash' 'recess shade' 'glaze' 'edge highlight' 'texture' 'varnish' ;;
    KIND) printf '%s\n' 'acrylic' 'metallic' 'wash' 'stain' 'ink' 'texture paste' 'spray undercoat' 'spray varnish' 'brush varnish' 'oil' 'enamel' ;;
    esac
}
# <<<

# Names of files come from elsewhere: they are compared, never handed to `compgen -W`, which would run
# what stands in them. Nor is one offered of which bash would leave a $ or ` unquoted, as it does where there
# is no such file.
_coatbell_add() { # WORD...: to COMPREPLY, those that begin as $cur
    local word
    for word; do
        [[ $word != "${cur//\\/}"* || $word == *[\$\`]* ]] || COMPREPLY+=("$word")
    done
}
_coatbell_files() { # ARGUMENT of compgen...: the files; a name of two lines comes as two that are not there
    local file
    while IFS= read -r file; do
        [[ ! -e ${file/#~\//$HOME/} ]] || COMPREPLY+=("$file")
    done < <(compgen "$@" -- "$cur")
}
_coatbell_offer() { # OPERAND as help has it, for $cur: fills COMPREPLY
    local choice folder
    local -a choices words
    compopt -o filenames 2>/dev/null
    IFS='|' read -ra choices <<<"$1"
    for choice in "${choices[@]}"; do
        case $choice in
        FILE | SCRIPT) _coatbell_files -f ;;
        RECIPE)
            _coatbell_files -d
            _coatbell_files -f -X '!*.yaml'
            if [[ $command == begin ]]; then # which also takes the name of one that is installed
                for folder in "${XDG_DATA_HOME:-$HOME/.local/share}/coatbell/recipes" \
                    "$(type -P coatbell | sed 's|[^/]*$||')../share/coatbell/recipes"; do
                    words=("$folder"/*.yaml)
                    [[ -e ${words[0]} ]] || continue
                    words=("${words[@]##*/}")
                    _coatbell_add "${words[@]%.yaml}"
                done
            fi
            ;;
        *)
            mapfile -t words < <(_coatbell_words "$choice")
            _coatbell_add "${words[@]}"
            ;;
        esac
    done
}

_coatbell() {
    local cur=${COMP_WORDS[COMP_CWORD]} command='' first='' operands=0 takes='' word i
    COMPREPLY=()
    for ((i = 1; i < COMP_CWORD; i++)); do
        word=${COMP_WORDS[i]}
        if [[ -n $takes ]]; then # bash cuts --air=fan into three words
            [[ $word == = ]] || takes=''
        elif [[ $word == -?* ]]; then
            takes=$(_coatbell_takes "$command" "$word")
        elif [[ -z $command ]]; then
            command=$word
        else
            operands=$((operands + 1))
            [[ -n $first ]] || first=$word
        fi
    done
    if [[ $cur == = && -n $takes ]]; then
        cur=''
    fi
    if [[ -n $takes ]]; then
        _coatbell_offer "$takes"
    elif [[ $cur == -* ]]; then
        mapfile -t COMPREPLY < <(compgen -W "$(_coatbell_options "$command")" -- "$cur")
    elif [[ -z $command ]]; then
        mapfile -t COMPREPLY < <(compgen -W "$_coatbell_commands" -- "$cur")
    else
        word=$(_coatbell_operand "$command" "$((operands + 1))" "$first")
        if [[ $word == ' '* ]]; then
            mapfile -t COMPREPLY < <(compgen -W "$word" -- "$cur")
        else
            _coatbell_offer "$word"
        fi
    fi
}

complete -F _coatbell coatbell
