#!/bin/bash
# SPDX-License-Identifier: MIT
# Every file that can carry a comment says under which licence it stands, in its first lines; LICENSE
# holds for the others: documents, and data whose form has no comments.
set -u
cd "$CB_ROOT" || exit 1
{
    if [ -e .git ] && command -v git >/dev/null; then
        git -c safe.directory='*' ls-files
    else
        find . -type f ! -path './build/*' | cut -c3-
    fi
} | grep -vE '^LICENSE$|\.(md|csv|json|jsonl)$|^tests/fuzz/corpus/|^tests/screen/sensor/' >"$TMPDIR/files"
[ "$(wc -l <"$TMPDIR/files")" -gt 700 ] || { echo "where are they?"; exit 1; }
faults=0
while read -r file; do
    head -n 3 "$file" | grep -qE 'SPDX-License-Identifier: MIT( |$)' || {
        echo "$file: no \"SPDX-License-Identifier: MIT\" in its first three lines"
        faults=1
    }
done <"$TMPDIR/files"
head -n 1 LICENSE | grep -qx 'MIT License' || faults=1
exit $faults
