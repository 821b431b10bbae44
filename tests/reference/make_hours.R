# SPDX-License-Identifier: MIT
# Hours to go: the figures of test_hours.c from the joint normal law in closed form, the sum from
# its moments and from 2e6 draws. Base R only.
nominal <- c(6, 10, 3)
noise <- .09
P <- matrix(.40^2, 4, 4)
diag(P) <- .40^2 + .35^2
P[4, ] <- P[, 4] <- 0
P[4, 4] <- .30^2
technique <- c(1, 2, 1, 3)
y <- log(c(7.5, 14.0, 6.6, 4.1) / nominal[technique])
H <- matrix(0, 4, 4)
H[cbind(1:4, technique)] <- 1
H[, 4] <- 1
gain <- P %*% t(H) %*% solve(H %*% P %*% t(H) + diag(noise, 4))
m <- drop(gain %*% y)
P <- P - gain %*% H %*% P
cat("log times", m[1:3] + log(nominal), "factor", m[4], "sds", sqrt(diag(P)), "\n")

cell <- c(1, 2, 2, 3)
G <- matrix(0, 4, 4)
G[cbind(1:4, cell)] <- 1
G[, 4] <- 1
V <- G %*% P %*% t(G) + diag(noise, 4)
mu <- drop(G %*% m) + log(10 * nominal[cell])
M <- exp(mu + diag(V) / 2)
mean <- sum(M)
sd <- sqrt(sum(outer(M, M) * expm1(V)))
w <- log1p((sd / mean)^2)
cat("to go", mean, sd, exp(log(mean) - w / 2 + qnorm(c(.5, .1, .9)) * sqrt(w)), "\n")

set.seed(1)
draws <- matrix(rnorm(8e6), ncol = 4) %*% chol(V)
total <- rowSums(exp(sweep(draws, 2, mu, "+")))
cat("drawn", mean(total), sd(total), quantile(total, c(.1, .5, .9)), "\n")
