#!/bin/bash
# SPDX-License-Identifier: MIT
# No screen says what made a painter stop.
set -u
cd "$(dirname "$0")/../.." || exit 1
said=$(bash tests/tools/sentences.sh) || exit 1
[ "$(wc -l <<<"$said")" -gt 100 ] || { echo "too little is said: $said" && exit 1; }
for word in '1 in 1 by' 'HALF' 'CHANCE' 'bare$' 'bell r' 'no desktop bus' ' old$' 'climate at' 'brings* (it )*again' 'came up' \
    'in focus' 'held' 'are not on' 'wrong key' 'past dry' 'too early' '[0-9]:[0-9]+ h' 'of yours' 'not an air' \
    'forms no'; do
    ! grep -E -- "$word" <<<"$said" || { echo "above: $word" && exit 1; }
done
