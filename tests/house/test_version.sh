#!/bin/bash
# SPDX-License-Identifier: MIT
# The version is that of src/base/version.h, wherever it stands: what the program says, the manual's
# pages, the newest release of the metainfo, whose day has come.
set -u
cd "$CB_ROOT" || exit 1
faults=0
fault() {
    echo "$*"
    faults=1
}
version=$(sed -n 's/^#define CB_VERSION "\([0-9]*\.[0-9]*\.[0-9]*\)"$/\1/p' src/base/version.h)
[ -n "$version" ] || { echo "no version"; exit 1; }
said=$("$CB_BUILD/coatbell" --version)
[ "$said" = "coatbell $version" ] || fault "--version: $said"
for page in man/*.[1-9]; do
    said=$(sed -n 's/^\.Os *//p' "$page")
    [ "$said" = "coatbell $version" ] || fault "$page: $said, not $version: \`make version\`"
done
metainfo=shared/desktop/org.coatbell.coatbell.metainfo.xml
newest=$(xmllint --xpath 'string(//release[1]/@version)' $metainfo)
date=$(xmllint --xpath 'string(//release[1]/@date)' $metainfo)
[ "$newest" = "$version" ] || fault "$metainfo: $newest, not $version: \`make version\`"
[[ $date =~ ^20[0-9]{2}-[01][0-9]-[0-3][0-9]$ ]] || fault "$metainfo: the day of release is $date"
# CHANGES.md begins with what is not released yet, or with this version.
heading=$(grep -m1 '^## ' man/CHANGES.md)
grep -qi 'not released' <<<"$heading" || grep -qwF "$version" <<<"$heading" || fault "CHANGES.md: $heading"
# Nowhere else in the code.
if grep -rnF "\"$version\"" src --include='*.[ch]' | grep -v '^src/base/version.h:'; then
    fault "a version of its own"
fi
exit $faults
