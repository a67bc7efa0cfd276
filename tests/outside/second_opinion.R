# What R and its survival package make of the inputs of all cases. Usage: second_opinion.R INPUTS.tsv
# Writes a line a figure: case, what, value, source. The names are those of tests/statistics/ours.
suppressPackageStartupMessages(library(survival))
options(warn = -1)

cases <- list()
for (line in strsplit(readLines(commandArgs(TRUE)[1]), "\t")) {
  cases[[line[1]]][[line[2]]] <- as.numeric(line[-(1:2)])
}

ends <- function(what, of) setNames(as.list(of), paste0(what, c(".lower", ".upper")))
one <- function(what, value) setNames(list(unname(value)), what)
z <- qnorm(0.975)

kaplan_meier <- function(of) {
  steps <- summary(survfit(Surv(of$time, of$event) ~ 1))
  c(
    one("steps", length(steps$time)),
    setNames(as.list(steps$surv), sprintf("S(%s)", as.character(steps$time)))
  )
}

log_rank <- function(of) {
  group <- rep(0:1, c(length(of$time_A), length(of$time_B)))
  test <- survdiff(Surv(c(of$time_A, of$time_B), c(of$event_A, of$event_B)) ~ group)
  one("p", pchisq(test$chisq, 1, lower.tail = FALSE))
}

incidence <- function(of) {
  if (all(of$status == 0)) return(list())
  fit <- survfit(Surv(of$time, factor(of$status, 0:2)) ~ 1)
  times <- if (is.null(of$eval_t)) unique(of$time) else of$eval_t
  at <- summary(fit, times = times, extend = TRUE)
  found <- list()
  for (cause in 1:2) {
    what <- sprintf("F%d(%s)", cause, as.character(times))
    column <- match(cause, fit$states)
    found <- c(found, setNames(as.list(at$pstate[, column]), what))
    found <- c(found, setNames(as.list(at$std.err[, column]^2), paste(what, "variance")))
  }
  found
}

test_of_mean <- function(of) {
  d <- of$a - of$b
  found <- one("bias", mean(d))
  if (sd(d) > 0) found <- c(found, ends("bias", t.test(d)$conf.int))
  if (sd(d) > 0 && length(d) > 2) {
    fit <- lm(d ~ I((of$a + of$b) / 2))
    found <- c(found, one("slope", coef(fit)[2]), ends("slope", confint(fit)[2, ]))
  }
  found
}

proportion <- function(of) {
  # binom.test looks at every count up to n.
  if (of$n == 0 || of$n > 1e4) return(list())
  c(
    ends("wilson", prop.test(of$x, of$n, correct = FALSE)$conf.int),
    ends("exact", binom.test(of$x, of$n)$conf.int)
  )
}

binomial_chances <- function(of) {
  c(
    setNames(as.list(pbinom(of$k, of$n, of$p)), sprintf("P(at most %d)", of$k)),
    setNames(as.list(qbinom(of$levels, of$n, of$p)), paste("quantile", of$levels))
  )
}

summaries <- function(of) {
  names <- unique(sub("\\..*", "", names(of)))
  series <- if (!is.null(of$first)) {
    list(x = c(of$first, rep(of$then_repeat_500x, 500)))
  } else {
    sapply(names, function(name) {
      first <- of[[paste0(name, ".first")]]
      if (is.null(first)) of[[name]] else c(first, rep(of[[paste0(name, ".then_repeat_500x")]], 500))
    }, simplify = FALSE)
  }
  found <- list()
  for (name in names(series)) {
    x <- series[[name]]
    found <- c(found, one(paste(name, "mean"), mean(x)), one(paste(name, "standard deviation"), sd(x)))
  }
  found
}

median_of <- function(of) {
  rank <- qbinom(0.025, length(of$x), 0.5)
  limits <- if (rank > 0) sort(of$x)[c(rank, length(of$x) + 1 - rank)] else c(NA, NA)
  c(one("median", median(of$x)), ends("median", limits))
}

student <- function(of) {
  setNames(as.list(qt(0.975, of$degrees)), sprintf("quantile, %d degrees", of$degrees))
}

means <- function(of) {
  if (sd(of$a) + sd(of$b) == 0) return(list())
  test <- t.test(of$a, of$b)
  c(one("difference", test$estimate[1] - test$estimate[2]), ends("difference", test$conf.int))
}

shares <- function(of) {
  share <- function(what, x, others) {
    if (x + others == 0) return(list())
    c(one(what, x / (x + others)), ends(what, binom.test(x, x + others)$conf.int))
  }
  c(
    share("sensitivity", of$tp, of$fn), share("specificity", of$tn, of$fp),
    share("positive predictive value", of$tp, of$fp), share("negative predictive value", of$tn, of$fn)
  )
}

areas <- function(of) {
  found <- list()
  for (name in setdiff(names(of), "outcome_poor")) {
    high <- of[[name]][of$outcome_poor == 1]
    low <- of[[name]][of$outcome_poor == 0]
    won <- wilcox.test(high, low, exact = FALSE)$statistic
    found <- c(found, one(paste("area of", name), won / length(high) / length(low)))
  }
  found
}

# Spiegelhalter (2005), appendix.
funnel <- function(of) {
  p <- sum(of$r) / sum(of$n)
  if (p == 0) return(list())
  limit <- function(level, n) {
    r <- qbinom(level, n, p)
    part <- (pbinom(r, n, p) - level) / (pbinom(r, n, p) - pbinom(r - 1, n, p))
    min(1, max(0, (r - part) / n))
  }
  test <- chisq.test(cbind(of$r, of$n - of$r), correct = FALSE)
  found <- one("heterogeneity p", test$p.value)
  for (i in seq_along(of$n)) {
    n <- of$n[i]
    found <- c(
      found, ends(sprintf("95 %%[%d]", i - 1), c(limit(0.025, n), limit(0.975, n))),
      ends(sprintf("99.8 %%[%d]", i - 1), c(limit(0.001, n), limit(0.999, n)))
    )
  }
  found
}

run_limits <- function(of) {
  n <- of$n_useful
  c(
    setNames(as.list(round(log2(n)) + 3), sprintf("longest run allowed, %d useful", n)),
    setNames(as.list(qbinom(0.05, n - 1, 0.5)), sprintf("fewest crossings allowed, %d useful", n))
  )
}

coefficients_of <- function(fit) {
  table <- coef(summary(fit))
  found <- one("residual sd", summary(fit)$sigma)
  for (i in seq_len(nrow(table))) {
    what <- sprintf("b[%d]", i - 1)
    found <- c(found, one(what, table[i, 1]), one(paste(what, "error"), table[i, 2]))
  }
  found
}

line <- function(of) coefficients_of(lm(of$y ~ of$x))
columns <- function(of) coefficients_of(lm(of$y ~ do.call(cbind, of[sort(setdiff(names(of), "y"))])))

settled <- glm.control(epsilon = 1e-15, maxit = 100)

generalised <- function(name, fit) {
  dispersion <- sum(residuals(fit, "pearson")^2) / fit$df.residual
  found <- one(paste0(name, ", dispersion"), dispersion)
  table <- coef(summary(fit))
  for (i in seq_len(nrow(table))) {
    what <- sprintf("%s, b[%d]", name, i - 1)
    found <- c(
      found, one(what, table[i, 1]), one(paste(what, "error"), table[i, 2]),
      ends(what, table[i, 1] + c(-1, 1) * z * table[i, 2]),
      ends(paste(what, "quasi"), table[i, 1] + c(-1, 1) * qt(0.975, fit$df.residual) * table[i, 2] * sqrt(dispersion))
    )
  }
  found
}

interrupted <- function(of) {
  fit <- glm(of$aces ~ of$smokban + of$time, poisson, offset = log(of$stdpop), control = settled)
  generalised("Poisson", fit)
}

segments <- function(of) {
  month <- seq_along(of$events) - 1
  is_there <- of$trials > 0
  counts <- cbind(of$events, of$trials - of$events)
  fit <- glm(counts ~ I(as.numeric(month >= of$change)) + month, binomial, subset = is_there, control = settled)
  generalised("logistic", fit)
}

methods <- list(
  km_ = kaplan_meier, logrank_ = log_rank, cuminc_ = incidence, bland_altman_ = test_of_mean,
  binom_ = proportion, binomial_ = binomial_chances, nist_numacc = summaries, nist_michelso = summaries,
  poisson_exact_ = function(of) ends("exact", poisson.test(of$x)$conf.int),
  quantile_types_ = function(of) setNames(as.list(quantile(of$x, of$p)), paste("quantile", of$p)),
  summary_ = summaries, median_ci_ = median_of, student_ = student, welch_ = means, diagnostic_ = shares,
  roc_ = areas, funnel_ = funnel, run_chart_limits_ = run_limits, nist_norris = line, line_ = line,
  nist_longley = columns, its_ = interrupted, segments_proportions = segments
)

for (id in names(cases)) {
  starts <- names(methods)[startsWith(id, names(methods))]
  if (length(starts) == 0) next
  method <- starts[which.max(nchar(starts))]
  found <- methods[[method]](cases[[id]])
  source <- if (grepl("^(km|logrank|cuminc)_", method)) "R survival" else "R"
  for (what in names(found)) {
    value <- found[[what]]
    shown <- if (is.finite(value)) sprintf("%.17g", value) else "NA"
    cat(id, what, shown, source, sep = "\t")
    cat("\n")
  }
}
