#!/bin/bash
# SPDX-License-Identifier: MIT
# What the two programs read of the environment is what coatbell(1) lists, and the other way round.
set -eu
cd "$CB_ROOT"
faults=0

# By name; by a name in a constant or an argument, all of which are in capitals.
{
    grep -rohE 'getenv\("[A-Z_]+"\)' src | grep -oE '[A-Z_]{2,}' || true
    grep -rohE '"(XDG|DBUS)_[A-Z_]+"' src | tr -d '"'
    # and what the C library reads for these calls: tzset(3), setlocale(3), exec(3) of a bare name
    grep -rqE '\btzset\(' src && echo TZ
    grep -rqE '\bsetlocale\(LC_CTYPE' src && printf '%s\n' LANG LC_ALL LC_CTYPE
    grep -rqE '\bposix_spawnp\(' src && echo PATH
} | sort -u >"$TMPDIR/read"
sed -n '/^\.Sh ENVIRONMENT/,/^\.Sh FILES/s/^\.It Ev //p' man/coatbell.1 | tr -d ' ' | tr ',' '\n' |
    sort -u >"$TMPDIR/told"
diff "$TMPDIR/read" "$TMPDIR/told" || {
    echo "< read and not in coatbell(1); > in coatbell(1) and not read"
    faults=1
}
# Not by another way, whose name would not be found above.
if grep -rnE '\bsecure_getenv\(|\bputenv\(|\bsetenv\(|\benvp\b' src | grep -v 'g_setenv(ADDRESS'; then
    echo "reads or writes the environment in another way"
    faults=1
fi
others=$(grep -rnE '\bg?_?getenv\(' src | grep -cvE 'getenv\(("[A-Z_]+"|ADDRESS|variable)\)' || true)
[ "$others" -eq 0 ] || {
    grep -rnE '\bg?_?getenv\(' src | grep -vE 'getenv\(("[A-Z_]+"|ADDRESS|variable)\)'
    echo "a name that is not to be read here"
    faults=1
}
exit $faults
