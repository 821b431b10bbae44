# SPDX-License-Identifier: MIT
# Interval-censored log-normal fits of test_learn_likelihood.c. Debian: r-cran-survival.
if (!requireNamespace("survival", quietly = TRUE)) {
  cat("survival is not there\n")
  quit()
}
library(survival)
show <- function(name, fit, times) {
  cat(name, "mu", format(fit$coefficients, digits = 9), "sigma", format(fit$scale, digits = 9),
      "log-likelihood", format(fit$loglik[2] + times, digits = 10), "\n")
}
ends <- function(file) {
  d <- read.csv(file)
  d$right[is.na(d$right)] <- Inf
  d$left[is.na(d$left)] <- 0
  d
}
surv <- function(d) {
  Surv(ifelse(d$left <= 0, NA, d$left), ifelse(is.infinite(d$right), NA, d$right),
       type = "interval2")
}
for (name in c("f1", "f2")) {
  d <- ends(sprintf("tests/reference/learn_%s.csv", name))
  fit <- survreg(surv(d) ~ 1, dist = "lognormal")
  show(name, fit, 0)
  cat("  quantiles", predict(fit, data.frame(1), type = "quantile", p = c(.1, .5, .8, .9, .95))[1:5], "\n")
}
d <- ends("tests/reference/learn_f1.csv")
show("f1, scale .2", survreg(surv(d) ~ 1, dist = "lognormal", scale = .2), 0)
d <- ends("tests/reference/learn_f3.csv")
show("f3", survreg(surv(d) ~ factor(d$paint) - 1, dist = "lognormal"), 0)

# turbine: Nelson 1982 p. 409, wheels inspected once; R survival, ?reliability
hours <- c(4, 10, 14, 18, 22, 26, 30, 34, 38, 42, 46)
n <- c(39, 53, 33, 73, 30, 39, 42, 13, 34, 40, 36)
failed <- c(0, 4, 2, 7, 5, 9, 9, 6, 22, 21, 21)
d <- data.frame(left = c(rep(NA, 11), hours), right = c(hours, rep(NA, 11)), w = c(failed, n - failed))
d <- d[d$w > 0, ]
show("turbine", survreg(Surv(left, right, type = "interval2") ~ 1, weights = w, data = d,
                        dist = "lognormal"), 0)

# cracks: Nelson 1982 p. 415, parts inspected eight times; R survival, ?reliability
days <- c(186, 606, 902, 1077, 1209, 1377, 1592, 1932)
d <- data.frame(left = c(NA, days), right = c(days, NA), w = c(5, 16, 12, 18, 18, 2, 6, 17, 73))
show("cracks", survreg(Surv(left, right, type = "interval2") ~ 1, weights = w, data = d,
                       dist = "lognormal"), 0)
