# SPDX-License-Identifier: MIT
# Data set salinity (72-hour LC50 of the R package fitdistrplus; Delignette-Muller & Dutang, Journal
# of Statistical Software 64(4), 2015): writes learn_salinity.csv and fits a log-normal.
# Debian: r-cran-fitdistrplus.
if (!requireNamespace("fitdistrplus", quietly = TRUE)) {
  cat("fitdistrplus is not there\n")
  quit()
}
suppressMessages(library(fitdistrplus))
data(salinity)
write.csv(salinity, "tests/reference/learn_salinity.csv", row.names = FALSE, quote = FALSE)
fit <- fitdistcens(salinity, "lnorm")
cat("salinity", nrow(salinity), "rows:", format(fit$estimate, digits = 10), format(fit$loglik, digits = 10), "\n")
