# SPDX-License-Identifier: MIT
# Completion of coatbell for fish: commands, options, the words an option takes, recipes and files.

function __coatbell_operands # the command and its operands so far, a line each
    set -l value no
    for word in (commandline -opc)[2..-1]
        if test $value = yes
            set value no
        else if string match -q -- '-?*' $word
            __coatbell_takes $word; and set value yes
        else
            string replace -a \n ' ' -- $word
        end
    end
end

function __coatbell_in # COMMAND: is it that one?
    set -l words (__coatbell_operands)
    test "$words[1]" = "$argv[1]"
end

# No argument: there is no command yet. COMMAND: it is that one, and no operand yet. COMMAND FIRST:
# and its only operand so far is that; many: it may have any number.
function __coatbell_at
    set -l words (__coatbell_operands)
    test "$words[1]" = "$argv[1]"; or return
    test "$argv[2]" = many; and return
    test (count $words) -eq (count $argv); and test "$words[2]" = "$argv[2]"
end

function __coatbell_RECIPE
    # A line is a word, and what follows a tab its meaning: a name with one of those in it is left out.
    for line in (__fish_complete_suffix .yaml)
        set -l file (string split -m 1 \t -- $line)[1]
        string match -q '~*' -- $file; or test -e "$file"; and printf '%s\n' $line
    end
    # `begin` also takes the name of one that is installed.
    if __coatbell_in begin
        set -l data $XDG_DATA_HOME
        test -n "$data"; or set data $HOME/.local/share
        for file in $data/coatbell/recipes/*.yaml (dirname (command -s coatbell))/../share/coatbell/recipes/*.yaml
            string match -qr '[\n\t]' -- $file; or string replace -r '.*/(.*)\.yaml$' '$1' -- $file
        end
    end
end

function __coatbell_KIND_RECIPE
    __coatbell_KIND
    __coatbell_RECIPE
end

complete -c coatbell -f

# >>> by `make completions`
function __coatbell_AIR
    printf '%s\n' 'still' 'draught' 'fan' 'dryer'
end
function __coatbell_B
    printf '%s\n' 'brush' 'can' 'airbrush' 'sponge'
end
function __coatbell_T
    printf '%s\n' 'undercoat' 'basecoat' 'layer' 'drybrush' 'wash' 'recess shade' 'glaze' 'edge highlight' 'texture' 'varnish'
end
function __coatbell_KIND
    printf '%s\n' 'acrylic' 'metallic' 'wash' 'stain' 'ink' 'texture paste' 'spray undercoat' 'spray varnish' 'brush varnish' 'oil' 'enamel'
end
function __coatbell_takes
    contains -- $argv[1] --log -n --first --name --use --done --temp --rh --climate --technique --by --mix --dry --film --solids --temp --rh --air -n --temp --rh --air --evening --svg -n --use --stage -n --use --html --speed --history --size
end
complete -c coatbell -l log -r -F -d 'the log; without it the one in the data folder'
complete -c coatbell -l json -d 'the answer as JSON'
complete -c coatbell -l ascii -d 'no character beyond ASCII'
complete -c coatbell -l help -d 'this text'
complete -c coatbell -l version -d 'the version'
complete -c coatbell -n '__coatbell_at' -a begin -d 'Begin a unit by a recipe and, on a terminal, open the bench.'
complete -c coatbell -n '__coatbell_in begin' -s n -x -d 'how many figures; without it as the recipe says'
complete -c coatbell -n '__coatbell_in begin' -l first -x -d 'so many figures first, the others when all their coats are on'
complete -c coatbell -n '__coatbell_in begin' -l name -x -d 'the unit\'s name; without it the recipe\'s'
complete -c coatbell -n '__coatbell_in begin' -l use -x -d 'another pot for the recipe\'s paint KEY; or medium=water'
complete -c coatbell -n '__coatbell_in begin' -l done -x -d 'a stage that was done before; as often as there are'
complete -c coatbell -n '__coatbell_in begin' -l temp -x -d 'the air now: 19.5, 67F'
complete -c coatbell -n '__coatbell_in begin' -l rh -x -d 'the air now: relative humidity'
complete -c coatbell -n '__coatbell_at begin' -a '(__coatbell_RECIPE)'
complete -c coatbell -n '__coatbell_at' -a new -d 'Write a commented starter recipe; never over a file that is there.'
complete -c coatbell -n '__coatbell_at new' -F
complete -c coatbell -n '__coatbell_at' -a check -d 'Check recipes: silent when all is well, else what is wrong or hardly meant.'
complete -c coatbell -n '__coatbell_in check' -l climate -x -d 'list what this air would do to each stage'
complete -c coatbell -n '__coatbell_in check' -l advice -d 'say what is likely to be regretted, and what to do'
complete -c coatbell -n '__coatbell_in check' -l strict -d 'with --advice: exit 65 where any is given'
complete -c coatbell -n '__coatbell_at check many' -a '(__coatbell_RECIPE)'
complete -c coatbell -n '__coatbell_at' -a dry -d 'How long until the next coat can go on, in this air.'
complete -c coatbell -n '__coatbell_in dry' -l technique -x -a '(__coatbell_T)' -d 'what the hand does; without it what the kind is mostly used for'
complete -c coatbell -n '__coatbell_in dry' -l by -x -a '(__coatbell_B)' -d 'brush, can, airbrush or sponge'
complete -c coatbell -n '__coatbell_in dry' -l mix -x -d 'such as "2 paint + 1 water"; without it the usual mix'
complete -c coatbell -n '__coatbell_in dry' -l dry -x -d 'your own median at 23 C and 50 %, instead of the model\'s'
complete -c coatbell -n '__coatbell_in dry' -l film -x -d 'wet film, such as 25 or "1 mm"'
complete -c coatbell -n '__coatbell_in dry' -l solids -x -d 'volume solids of the neat paint, 0 to 1'
complete -c coatbell -n '__coatbell_in dry' -l temp -x -d 'air temperature, such as 21 or 70F; without both that of your bench, else 20 C, 50 %'
complete -c coatbell -n '__coatbell_in dry' -l rh -x -d 'relative humidity'
complete -c coatbell -n '__coatbell_in dry' -l air -x -a '(__coatbell_AIR)' -d 'still, draught, fan or dryer'
complete -c coatbell -n '__coatbell_in dry' -l ring -d 'start the timer at once and ring when it is dry'
complete -c coatbell -n '__coatbell_in dry' -l table -d 'minutes to the ping over temperature and humidity'
complete -c coatbell -n '__coatbell_in dry' -l plot -d 'the drying curve'
complete -c coatbell -n '__coatbell_at dry' -a '(__coatbell_KIND_RECIPE)'
complete -c coatbell -n '__coatbell_at' -a plan -d 'What to put on in which order, when it is finished, how many figures at once.'
complete -c coatbell -n '__coatbell_in plan' -s n -x -d 'how many figures; without it as the recipe says'
complete -c coatbell -n '__coatbell_in plan' -l temp -x -d 'air temperature, such as 21 or 70F; without both that of your bench, else 20 C, 50 %'
complete -c coatbell -n '__coatbell_in plan' -l rh -x -d 'relative humidity'
complete -c coatbell -n '__coatbell_in plan' -l air -x -a '(__coatbell_AIR)' -d 'still, draught, fan or dryer'
complete -c coatbell -n '__coatbell_in plan' -l evening -x -d 'length of an evening, such as 2h30m: over how many it goes'
complete -c coatbell -n '__coatbell_in plan' -l calm -d 'fewer changes of paint, for a little more time'
complete -c coatbell -n '__coatbell_in plan' -l compare -d 'beside it one stage after the other'
complete -c coatbell -n '__coatbell_in plan' -l svg -r -F -d 'the time line as a picture, into FILE'
complete -c coatbell -n '__coatbell_at plan' -a '(__coatbell_RECIPE)'
complete -c coatbell -n '__coatbell_at' -a mix -d 'How many drops to mix for each stage, for one coat on all figures.'
complete -c coatbell -n '__coatbell_in mix' -s n -x -d 'how many figures; without it as the recipe says'
complete -c coatbell -n '__coatbell_in mix' -l use -x -d 'another pot for the recipe\'s paint KEY; or medium=water'
complete -c coatbell -n '__coatbell_in mix' -l stage -x -d 'only that stage'
complete -c coatbell -n '__coatbell_at mix' -a '(__coatbell_RECIPE)'
complete -c coatbell -n '__coatbell_at' -a set-out -d 'What to lay out before starting: paints, brushes, amounts, cautions.'
complete -c coatbell -n '__coatbell_in set-out' -s n -x -d 'how many figures; without it as the recipe says'
complete -c coatbell -n '__coatbell_in set-out' -l use -x -d 'another pot for the recipe\'s paint KEY; or medium=water'
complete -c coatbell -n '__coatbell_at set-out' -a '(__coatbell_RECIPE)'
complete -c coatbell -n '__coatbell_at' -a status -d 'Print one line: what goes on next and when the next film is dry.'
complete -c coatbell -n '__coatbell_in status' -l all -d 'every film that may still be wet, and every screen as plain text'
complete -c coatbell -n '__coatbell_at' -a sensor -d 'Print what the sensor says of the room now.'
complete -c coatbell -n '__coatbell_in sensor' -l all -d 'every sensor of this machine and your program, with its name'
complete -c coatbell -n '__coatbell_at' -a pots -d 'Show what was learned of each paint, pass it on, or take in another painter\'s.'
complete -c coatbell -n '__coatbell_in pots' -l why -d 'a picture of each paint, and a sentence for each answer that moved it'
complete -c coatbell -n '__coatbell_in pots' -l all -d 'with --why: every coat that was seen, whether it moved it or not'
complete -c coatbell -n '__coatbell_in pots' -l calibration -d 'how many pings found a dry film'
complete -c coatbell -n '__coatbell_at pots' -a ' export import'
complete -c coatbell -n '__coatbell_at pots export' -F
complete -c coatbell -n '__coatbell_at pots import' -F
complete -c coatbell -n '__coatbell_at' -a cues -d 'List the cues, or those with all these words.'
complete -c coatbell -n '__coatbell_in cues' -l why -d 'of each, why it would be said now, or would not'
complete -c coatbell -n '__coatbell_in cues' -l mine -d 'what the log says of your own painting, instead'
complete -c coatbell -n '__coatbell_at' -a review -d 'Show where the hours went, and what the next unit will take.'
complete -c coatbell -n '__coatbell_in review' -l all -d 'every unit of the log but those put aside'
complete -c coatbell -n '__coatbell_in review' -l csv -d 'as comma-separated values'
complete -c coatbell -n '__coatbell_in review' -l html -r -F -d 'as one page with pictures, into FILE'
complete -c coatbell -n '__coatbell_at' -a units -d 'List the units of the log.'
complete -c coatbell -n '__coatbell_in units' -l all -d 'those that were put aside as well'
complete -c coatbell -n '__coatbell_at' -a write -d 'Write a unit as a recipe of what was really painted.'
complete -c coatbell -n '__coatbell_at' -a log -d 'Write the log out or take lines in, check and mend it, back it up and put it back.'
complete -c coatbell -n '__coatbell_in log' -l csv -d 'export: CSV for spreadsheets (RFC 4180) instead of JSON Lines'
complete -c coatbell -n '__coatbell_in log' -l strict -d 'import: all or nothing, where a bad line is else left and said'
complete -c coatbell -n '__coatbell_in log' -l mend -d 'check: mend what is wrong; the log as it was is kept beside it'
complete -c coatbell -n '__coatbell_in log' -l yes -d 'restore: though the log holds events that FILE has not'
complete -c coatbell -n '__coatbell_at log' -a ' export import check backup restore'
complete -c coatbell -n '__coatbell_at log export' -F
complete -c coatbell -n '__coatbell_at log import' -F
complete -c coatbell -n '__coatbell_at log backup' -F
complete -c coatbell -n '__coatbell_at log restore' -F
complete -c coatbell -n '__coatbell_at' -a settings -d 'Print every setting: what is in force, from where, and a line that changes it.'
complete -c coatbell -n '__coatbell_at' -a demo -d 'Paint the sample unit on a log of its own; as text without a terminal.'
complete -c coatbell -n '__coatbell_in demo' -l speed -x -d 'how fast time goes by on a terminal; 60'
complete -c coatbell -n '__coatbell_in demo' -l quiet-clock -d 'countdowns in minutes alone'
complete -c coatbell -n '__coatbell_in demo' -l resume -d 'go on with the demo that was closed last'
complete -c coatbell -n '__coatbell_in demo' -l history -r -F -d 'only write the sample\'s two finished units into the log FILE'
complete -c coatbell -n '__coatbell_in demo' -l yes -d 'with --history: also into a log that holds other units'
complete -c coatbell -n '__coatbell_at' -a play -d 'Run scripted keys on a fake clock and dump screens.'
complete -c coatbell -n '__coatbell_in play' -l size -x -d 'the screen at the start; 80x24'
complete -c coatbell -n '__coatbell_at play' -F
# <<<
