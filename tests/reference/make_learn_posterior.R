# SPDX-License-Identifier: MIT
# The posterior of learn_h1.csv by Gauss-Legendre quadrature over b and the pots' u: the figures of
# test_learn.c. Base R only; independent of the program's grid and message passing.
s <- c(.10, .14, .18, .22, .28, .36, .48)
gap <- diff(log(s))
ps <- dnorm(log(s / .22), 0, .35) * c(gap[1], (gap[-6] + gap[-1]) / 2, gap[6])
ps <- ps / sum(ps)

legendre <- function(n, low, high) { # Golub & Welsch 1969
  i <- seq_len(n - 1)
  J <- matrix(0, n, n)
  J[cbind(i, i + 1)] <- J[cbind(i + 1, i)] <- i / sqrt(4 * i^2 - 1)
  e <- eigen(J, symmetric = TRUE)
  list(x = low + (high - low) * (e$values + 1) / 2, w = (high - low) * e$vectors[1, ]^2)
}
b <- legendre(240, -2.4, 2.4)
u <- legendre(240, -2.0, 2.0)

between <- function(lo, hi, m, s) pnorm((log(hi) - m) / s) - pnorm((log(lo) - m) / s)
posterior <- function(rows, fade, eps, eta = .5, pots = 4) {
  like <- function(p, s, theta) {
    l <- 0
    for (i in which(rows$paint == p)) {
      q <- (1 - eps) * between(rows$lo[i], rows$hi[i], theta, s) + eps * between(rows$lo[i], rows$hi[i], 0, 1)
      if (rows$weak[i]) q <- eta + (1 - eta) * q
      l <- fade * l + log(q)
    }
    exp(l)
  }
  prior_u <- u$w * dnorm(u$x, 0, .30)
  prior_b <- b$w * dnorm(b$x, 0, .35)
  theta <- outer(b$x, u$x, "+")
  weight <- array(0, c(length(s), 240))
  cells <- list()
  for (k in seq_along(s)) {
    L <- lapply(1:pots, function(p) like(p, s[k], theta) + 0 * theta)
    m <- sapply(L, function(l) drop(l %*% prior_u))
    all <- ps[k] * prior_b * apply(m, 1, prod)
    weight[k, ] <- all
    cells[[k]] <- lapply(1:pots, function(p) all / m[, p] * sweep(L[[p]], 2, prior_u, "*"))
  }
  z <- sum(weight)
  below <- function(p, t) sum(sapply(seq_along(s), function(k) sum(cells[[k]][[p]] * pnorm((log(t) - theta) / s[k])))) / z
  q <- function(p, at, wet = 0) {
    f <- if (wet > 0) below(p, wet) else 0
    uniroot(function(t) below(p, t) - f - at * (1 - f), c(.05, 20), tol = 1e-9)$root
  }
  line <- colSums(weight) / z
  mean_b <- sum(line * b$x)
  list(q = q, b = c(mean_b, sqrt(sum(line * (b$x - mean_b)^2))))
}
h1 <- read.csv("tests/reference/learn_h1.csv")
h1$weak <- FALSE
show <- function(name, fit, pots = 1:4, wet = NULL) for (p in pots) {
  cat(name, "paint", p, sprintf("%.5f", c(fit$q(p, .5), fit$q(p, .8), fit$q(p, .95), if (!is.null(wet)) fit$q(p, .8, wet))), "\n")
}
fit <- posterior(h1, 1, 0)
show("eps 0", fit)
cat("b", fit$b, "\n")
show("eps .03", posterior(h1, 1, .03))
show("fading", posterior(h1, .95, .03), wet = 1.3)
weak <- rbind(h1, data.frame(paint = c(1, 3), lo = 0, hi = c(1.15, 1.25), weak = TRUE))
show("weak rows", posterior(weak, 1, .03), c(1, 3), wet = 1.3)
show("no data", posterior(h1[0, ], 1, 0), 1)
