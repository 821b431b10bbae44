#!/bin/bash
# SPDX-License-Identifier: MIT
# The release programs are hardened: position independent, full RELRO, no executable stack,
# stack protector, fortified calls (the bell has none to fortify); the screen's program is free of GLib.
# Neither runs a shell, takes another user's rights, loads code or opens a socket of its own: the one
# of the bench is a pair with its child, and the session bus is the library's.
set -eu
faults=0
fault() {
    echo "$*"
    faults=1
}
for program in coatbell coatbell-bell; do
    file=$CB_BUILD/$program
    readelf -hW "$file" | grep -q 'Type: *DYN' || fault "$program: not position independent"
    readelf -lW "$file" | grep -q GNU_RELRO || fault "$program: no RELRO"
    readelf -dW "$file" | grep -qE 'BIND_NOW|FLAGS.*NOW' || fault "$program: RELRO is not full"
    readelf -lW "$file" | grep GNU_STACK | grep -q 'RWE' && fault "$program: executable stack"
    readelf -dW "$file" | grep -qE 'RPATH|RUNPATH' && fault "$program: has a run path"
    symbols=$(nm -D --undefined-only "$file")
    grep -q __stack_chk_fail <<<"$symbols" || fault "$program: no stack protector"
done
nm -D --undefined-only "$CB_BUILD/coatbell" | grep -qE "__[a-z]+_chk(@|\$)" || fault "coatbell: no fortified call"
ldd "$CB_BUILD/coatbell" | grep -iE 'glib|gobject|gio|libnotify' && fault "coatbell links GLib"

# exec and fork: what is started is started by posix_spawn, by its path, as xdg-open or by the words of
# config.yaml, never as a line.
denied='system popen exec[lv][pe]*|execve|execveat|fexecve|v?fork|clone3? dlopen dlsym dlmopen
    set(e|re|res)?[ug]id setgroups initgroups socket connect bind listen accept4? getaddrinfo gethostby.* res_.*
    gets strcpy strcat v?sprintf tmpnam tempnam mktemp chroot ptrace'
for program in coatbell coatbell-bell; do
    names=$(nm -D --undefined-only "$CB_BUILD/$program" | sed 's/.* //; s/@.*//')
    for name in $denied; do
        grep -xE "$name|__(${name})_chk" <<<"$names" && fault "$program: calls this"
    done
    grep -q . <<<"$names" || fault "$program: no name of what it calls"
done
grep -qx 'socketpair' <<<"$(nm -D --undefined-only "$CB_BUILD/coatbell" | sed 's/.* //; s/@.*//')" ||
    fault "coatbell: the socket to its child is not to be found"
for library in ssl crypto curl nss_ ldap resolv; do
    ldd "$CB_BUILD/coatbell" | grep "lib$library" && fault "coatbell links this"
done

# And while it runs: a recipe looked at, an evening painted, a log written, no socket of any kind.
cat >"$TMPDIR/evening.play" <<END
begin $CB_ROOT/recipes/night-watch.yaml -n 3
key SPACE
key SPACE
at +40m
key SPACE
view review
END
for call in "play $TMPDIR/evening.play" "check $CB_ROOT/recipes/night-watch.yaml" status \
    "begin $CB_ROOT/recipes/night-watch.yaml --temp 20 --rh 50" review pots 'log export -'; do
    # shellcheck disable=SC2086 # words of the call
    strace -f -qq -e trace=%network,execve -o "$TMPDIR/trace" "$CB_BUILD/coatbell" $call \
        >"$TMPDIR/out" 2>&1 </dev/null || fault "$call: ended badly: $(cat "$TMPDIR/out")"
    [ "$(grep -c 'execve' "$TMPDIR/trace")" -eq 1 ] || fault "$call: runs another program"
    grep -vE 'execve|^[0-9]+ [+-]{3}' "$TMPDIR/trace" && fault "$call: speaks to the network"
done
exit $faults
