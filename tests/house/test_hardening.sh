#!/bin/bash
# SPDX-License-Identifier: MIT
# The release programs are hardened: position independent, full RELRO, no executable stack,
# stack protector, fortified calls (the bell has none to fortify); and the screen's program is free of GLib.
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
exit $faults
