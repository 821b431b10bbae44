# SPDX-License-Identifier: MIT
# shellcheck shell=bash
# The real program in a real terminal: a tmux of our own. Sourced by tests/terminal/test_*.sh,
# which tests/seal.sh runs. Nothing sleeps for a fixed time: everything waits for what it expects.

# shellcheck disable=SC2034 # used by the tests
coatbell=$CB_BUILD/coatbell
tools=$CB_BUILD/tests/tools
socket=$TMPDIR/tmux.0
sockets=0
patience=${PATIENCE:-20} # seconds until a wait is a failure
# shellcheck disable=SC2034
log=$HOME/.local/share/coatbell/log.db
started=()

die() {
    printf '%s: %s\n' "$(basename "$0")" "$*" >&2
    if [ -S "$socket" ]; then
        echo "--- screen" >&2
        screen >&2
    fi
    exit 1
}

skip() {
    printf 'skipped: %s\n' "$*"
    exit 0
}

tm() {
    tmux -S "$socket" -f /dev/null "$@"
}

# Ends what was started here, and nothing else.
clean_up() {
    [ -S "$socket" ] && tm kill-server 2>/dev/null
    for pid in "${started[@]}"; do
        kill -CONT "$pid" 2>/dev/null
        kill -9 "$pid" 2>/dev/null
    done
    return 0
}
trap clean_up EXIT

# A new server each time: one that was told to go is still there for a while. So is its bench, and while
# it closes its session another could only look on.
fresh() {
    local before=
    [ -S "$socket" ] && before=$(bench_pid 2>/dev/null)
    [ -S "$socket" ] && tm kill-server 2>/dev/null
    [ -z "$before" ] || until_true is_gone "$before" || die "the bench lives on without a terminal"
    sockets=$((sockets + 1))
    socket=$TMPDIR/tmux.$sockets
    tm new-session -d -x "${1%x*}" -y "${1#*x}" "$2"
    tm set-option -s escape-time 0
    tm set-option -g status off
    tm resize-window -x "${1%x*}" -y "${1#*x}"
}

# start SIZE COMMAND...: runs it by a shell that says how it ended.
start() {
    local size=$1
    shift
    # at the left edge of a line of its own, however the terminal was left
    fresh "$size" "$*; printf '\\r\\nended with %s\\r\\n' \$?; exec sleep 600"
}

screen() {
    tm capture-pane -p
}

# keys KEY...: as tmux names them; text as it is.
keys() {
    tm send-keys "$@"
}

# until TRUE-COMMAND...: polls, fails when patience ends.
until_true() {
    local end=$((SECONDS + patience))
    until "$@"; do
        [ "$SECONDS" -lt "$end" ] || return 1
        read -r -t 0.03 <> <(:) # a nap without a process
    done
    return 0
}

screen_has() {
    screen | grep -qE -- "$1"
}

screen_lacks() {
    ! screen_has "$1"
}

wait_for() {
    until_true screen_has "$1" || die "the screen never showed: $1"
}

wait_gone() {
    until_true screen_lacks "$1" || die "the screen still shows: $1"
}

# The process of the bench in the terminal.
bench_pid() {
    local shell
    shell=$(tm display-message -p '#{pane_pid}')
    pgrep -P "$shell" -x coatbell
}

bell_pid() {
    pgrep -P "$1" -x coatbell-bell
}

is_gone() {
    ! kill -0 "$1" 2>/dev/null || grep -q ') Z ' "/proc/$1/stat" 2>/dev/null
}

# A session bus of our own that knows no service it could start.
start_bus() {
    cat >"$TMPDIR/bus.conf" <<END
<busconfig><type>session</type><listen>unix:path=$TMPDIR/bus.socket</listen>
<policy context='default'><allow send_destination='*' eavesdrop='true'/>
<allow eavesdrop='true'/><allow own='*'/></policy></busconfig>
END
    dbus-daemon --config-file="$TMPDIR/bus.conf" --nofork 2>/dev/null &
    bus_pid=$!
    started+=("$bus_pid")
    until_true test -S "$TMPDIR/bus.socket" || die "no bus"
    export DBUS_SESSION_BUS_ADDRESS=unix:path=$TMPDIR/bus.socket
}

# The daemon of our own on it; its calls stand in $TMPDIR/calls.
start_mock() {
    mkfifo "$TMPDIR/mock.in"
    "$tools/mock_notify" >"$TMPDIR/calls" <"$TMPDIR/mock.in" &
    mock_pid=$!
    started+=("$mock_pid")
    exec 9>"$TMPDIR/mock.in"
    until_true grep -q ready "$TMPDIR/calls" || die "no notification daemon"
}

tell_mock() {
    echo "$*" >&9
}

# The whole log, a JSON object a line.
exported() {
    "$coatbell" log export - 2>/dev/null || {
        printf 'open %s\nexport %s\n' "$log" "$TMPDIR/exported" >"$TMPDIR/export.play"
        "$coatbell" play "$TMPDIR/export.play" && cat "$TMPDIR/exported"
    }
}

# events NAME: the events of that name in the log, a JSON object a line.
events() {
    exported | grep "\"event\":\"$1\""
}

# field NAME: of the JSON lines on standard input, the value of one plain field.
field() {
    sed -n "s/.*\"$1\":\"\{0,1\}\([^\",}]*\).*/\1/p"
}

# RFC 3339 with milliseconds to milliseconds since 1970.
to_ms() {
    date -u -d "$1" +%s%3N
}

# A unit of six figures whose coats dry in seconds.
quick_recipe() {
    cat >"$TMPDIR/quick.yaml" <<'END'
coatbell: 1
name: Quick watch
figures: 6
paints:
  rope:  {name: Tarred rope, kind: acrylic}
  green: {name: Oilskin green, kind: acrylic}
stages:
  - name: Basecoat
    technique: basecoat
    paint: rope
    dry: 6 s
  - name: Layer
    technique: layer
    paint: green
    dry: 6 s
END
}

set_config() {
    mkdir -p "$HOME/.config/coatbell"
    printf '%s\n' "$@" >"$HOME/.config/coatbell/config.yaml"
}

# The question of the first opening, answered with its default.
do_not_know() {
    wait_for 'Minutes you leave a thin coat'
    keys Enter
}
