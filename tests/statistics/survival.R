# Fits of R's package survival (Therneau), of a table on standard input, for estimators_in_r.py.
#   Rscript survival.R conditional-logit | conditional-logit-clusters | infert | hazard | incidence
# Prints a line for each figure: its name, a blank, the figure to 17 digits. `infert` prints a table.

suppressPackageStartupMessages(library(survival))
what <- commandArgs(trailingOnly = TRUE)[1]
say <- function(name, values) {
  cat(sprintf("%s %.17g\n", name, as.vector(values)), sep = "")
}
rows <- if (what == "infert") infert else read.csv(file("stdin"))
# Outcome by what stands behind it in the table, within sets.
sets <- function() {
  names <- setdiff(names(rows), c("set", "first", "second", "both", "by", "case"))
  reformulate(c(names, "strata(set)"), "case")
}
# Newton's steps until nothing changes.
exact <- coxph.control(eps = 1e-14, toler.chol = 1e-16, iter.max = 100)

if (what == "conditional-logit") {
  fitted <- clogit(sets(), rows, method = "exact", control = exact)
  say("coefficient", coef(fitted))
  say("likelihood", fitted$loglik[2])
  say("covariance", vcov(fitted))
} else if (what == "conditional-logit-clusters") {
  # With one case a set all methods are the exact one, and only the others take clusters.
  rows$both <- interaction(rows$first, rows$second, drop = TRUE)
  fit <- function(by) {
    rows$by <- rows[[by]]
    clogit(sets(), rows, method = "breslow", cluster = by, control = exact)
  }
  for (by in c("first", "second", "both")) {
    fitted <- fit(by)
    say(paste0("coefficient-", by), coef(fitted))
    say(paste0("covariance-", by), vcov(fitted))
  }
} else if (what == "infert") {
  write.csv(rows, row.names = FALSE)
} else if (what == "hazard") {
  fitted <- coxph(Surv(turn - 1, turn, event) ~ state, rows, ties = "breslow",
                  cluster = cluster, control = exact)
  say("coefficient", coef(fitted))
  say("error", sqrt(fitted$naive.var))
  say("clustered", sqrt(fitted$var))
} else if (what == "incidence") {
  rows$end <- factor(rows$event + 2 * rows$other, 0:2, c("none", "event", "other"))
  fitted <- survfit(Surv(turn - 1, turn, end) ~ 1, rows, id = unit)
  shares <- summary(fitted, times = sort(unique(rows$turn)))$pstate
  say("free", shares[, 1])
  say("event", shares[, 2])
  say("other", shares[, 3])
} else {
  stop(paste("unknown:", what))
}
