#!/bin/sh
# SPDX-License-Identifier: MIT
# The posterior of learn_h1.csv by Gibbs sampling (JAGS 4.3.1), the loose columns of test_learn.c.
# Debian: jags. Prints the quantiles of the next coat of each paint, and b.
set -eu
command -v jags >/dev/null || { echo "jags is not there"; exit 0; }
cd "$(dirname "$0")"
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cat > "$work/model.bug" <<'MODEL'
model {
  b ~ dnorm(0, 1 / (.35 * .35))
  k ~ dcat(ps[])
  s <- sv[k]
  for (p in 1:4) {
    u[p] ~ dnorm(0, 1 / (.30 * .30))
    y[p] ~ dnorm(b + u[p], 1 / (s * s))
    next_coat[p] <- exp(y[p])
  }
  for (i in 1:N) {
    t[i] ~ dnorm(b + u[paint[i]], 1 / (s * s))
    inside[i] ~ dinterval(t[i], ends[i, 1:2])
  }
}
MODEL
awk -F, 'NR > 1 {
  n++; paint[n] = $1; lo[n] = $2 + 0 > 0 ? log($2) : -9; hi[n] = $3 == "Inf" ? 9 : log($3)
} END {
  line = "N <- " n "\npaint <- c("
  for (i = 1; i <= n; i++) line = line (i > 1 ? ", " : "") paint[i]
  line = line ")\ninside <- c("
  for (i = 1; i <= n; i++) line = line (i > 1 ? ", " : "") 1
  line = line ")\nends <- structure(c("
  for (i = 1; i <= n; i++) line = line lo[i] ", "
  for (i = 1; i <= n; i++) line = line (i > 1 ? ", " : "") hi[i]
  print line "), .Dim = c(" n ", 2))"
  # the prior of s: log-normal around .22, log sd .35, times the spacing in log s
  m = split(".10 .14 .18 .22 .28 .36 .48", s, " ")
  printf "sv <- c("
  for (i = 1; i <= m; i++) printf "%s%s", (i > 1 ? ", " : ""), s[i]
  printf ")\nps <- c("
  for (i = 1; i <= m; i++) {
    a = i > 1 ? i - 1 : 1; c = i < m ? i + 1 : m
    gap = log(s[c] / s[a]); if (c - a == 2) gap /= 2
    z = log(s[i] / .22) / .35
    printf "%s%.12g", (i > 1 ? ", " : ""), exp(-z * z / 2) * gap
  }
  print ")"
  printf "t <- c(" > INITS
  for (i = 1; i <= n; i++) {
    x = lo[i] <= -9 ? hi[i] - .1 : hi[i] >= 9 ? lo[i] + .1 : (lo[i] + hi[i]) / 2
    printf "%s%.6f", (i > 1 ? ", " : ""), x > INITS
  }
  print ")\n.RNG.name <- \"base::Mersenne-Twister\"\n.RNG.seed <- 1" > INITS
}' INITS="$work/inits.R" learn_h1.csv > "$work/data.R"
cat > "$work/run.cmd" <<'RUN'
model in model.bug
data in data.R
compile
parameters in inits.R
initialize
update 10000
monitor next_coat
monitor b
update 400000
coda *
RUN
cd "$work"
jags run.cmd > jags.log 2>&1 || { cat jags.log >&2; exit 1; }
while read -r name from to; do
  tail -n "+$from" CODAchain1.txt | head -n $((to - from + 1)) | awk '{ print $2 }' | sort -g |
    awk -v name="$name" '{ x[NR] = $1; sum += $1; squares += $1 * $1 } END {
      if (name == "b") { m = sum / NR; printf "b %.4f %.4f\n", m, sqrt(squares / NR - m * m) }
      else printf "%s %.4f %.4f %.4f\n", name, x[int(NR * .5)], x[int(NR * .8)], x[int(NR * .95)]
    }'
done < CODAindex.txt
