#!/bin/bash
# SPDX-License-Identifier: MIT
# What the desktop reads of coatbell is sound: entry, metainfo and icon by their own validators,
# without a word of theirs; and they agree with each other and with what is installed.
set -u
cd "$CB_ROOT/shared/desktop" || exit 1
id=org.coatbell.coatbell
faults=0
fault() {
    echo "$*"
    faults=1
}
said=$(desktop-file-validate $id.desktop 2>&1 || echo "and ended badly")
[ -z "$said" ] || fault "$id.desktop: $said"
# no hint, no warning; AppStream 1.0 also asks for a home on the net, and has another word for the developer
appstreamcli validate --no-net --no-color --pedantic $id.metainfo.xml >"$TMPDIR/said" 2>&1 ||
    fault "$(cat "$TMPDIR/said")"
grep -E '^[EWIP]:' "$TMPDIR/said" | grep -vE 'url-homepage-missing|developer-name-tag-deprecated' && fault "$id.metainfo.xml"
xmllint --noout --nonet $id.svg $id.metainfo.xml || fault "not XML"
[ "$(printf '%s\n' ./* | sort | tr '\n' ' ')" = "./$id.desktop ./$id.metainfo.xml ./$id.svg " ] ||
    fault "a file that no test looks at"

key() { sed -n "s/^$1=//p" $id.desktop; }
of() { xmllint --xpath "string($1)" $id.metainfo.xml; }
[ "$(key Exec)" = coatbell ] || fault "Exec: $(key Exec)"
[ "$(key Terminal)" = true ] || fault "Terminal: $(key Terminal)"
[ "$(key Icon)" = $id ] || fault "Icon: $(key Icon)"
[ "$(of //id)" = $id ] || fault "id: $(of //id)"
[ "$(of //launchable)" = $id.desktop ] || fault "launchable: $(of //launchable)"
[ "$(of //provides/binary)" = coatbell ] || fault "binary: $(of //provides/binary)"
[ "$(of //icon)" = $id ] || fault "icon: $(of //icon)"
[ "$(of //project_license)" = MIT ] || fault "licence: $(of //project_license)"
[ "$(key Name)" = "$(of //name)" ] || fault "two names"
# The one-line description is that of the manual.
grep -qixF ".Nd $(of //summary)" "$CB_ROOT/man/coatbell.1" || fault "summary: $(of //summary)"
# A picture that stands alone: nothing is fetched, nothing moves, no font is needed.
grep -nE 'href|url\(|<(image|text|style|script|animate)' $id.svg && fault "$id.svg leans on something"
exit $faults
