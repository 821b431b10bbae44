#!/bin/sh
# SPDX-License-Identifier: MIT
# Writes learn_h1_log.jsonl: the observations of learn_h1.csv as a log that `coatbell log import`
# takes. Paints 1 to 4 (the fourth is never used) dry in a median of 20 standard minutes at the
# standard climate, so that ratios of the table become minutes when multiplied by 20.
set -eu
cd "$(dirname "$0")"
awk -F, '
function at(minutes,   ms) { # minutes after 18:00 on a day of its own
  ms = int(minutes * 60000 + .5)
  return sprintf("2026-01-%02dT%02d:%02d:%02d.%03dZ", day, 18 + int(ms / 3600000),
                 int(ms / 60000) % 60, int(ms / 1000) % 60, ms % 1000)
}
function line(minutes, event, unit, fields) {
  printf "{\"id\": \"h1-%d\", \"at\": \"%s\", \"event\": \"%s\"%s%s}\n", ++id, at(minutes), event,
         unit ? ", \"unit\": \"h1\"" : "", fields
}
BEGIN {
  day = 1
  line(0, "climate_set", 0, ", \"temp_c\": 23, \"rh_pct\": 50, \"air\": \"still\", \"from\": \"typed\"")
  split("Tarred rope,Oilskin green,Wick white,Mud brown", name, ",")
  recipe = "coatbell: 1\\nname: Four paints\\nfigures: 12\\npaints:\\n"
  for (p = 1; p <= 4; p++) recipe = recipe "  p" p ": {name: " name[p] ", kind: acrylic, dry: 20}\\n"
  recipe = recipe "areas: {a1: {}, a2: {}, a3: {}, a4: {}}\\nstages:\\n"
  for (p = 1; p <= 4; p++)
    recipe = recipe "  - {name: Paint " p ", technique: basecoat, paint: p" p ", on: [a" p "]}\\n"
  line(0, "unit_begun", 1, ", \"name\": \"Four paints\", \"figures\": 12, \"recipe\": \"" recipe "\"")
}
NR > 1 { # a film a day, each on a figure of its own
  day++
  film = sprintf(", \"figure\": %d, \"stage\": %d, \"coat\": 1", day - 1, $1)
  line(0, "coat_on", 1, film)
  if ($2 > 0) line($2 * 20, "checked", 1, film ", \"found\": \"wet\"")
  if ($3 != "Inf") line($3 * 20, "checked", 1, film ", \"found\": \"dry\"")
}' learn_h1.csv > learn_h1_log.jsonl
