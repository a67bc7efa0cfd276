# Cumulative incidence of a drawn serum by R's survival package (Aalen-Johansen),
# against the program's figures. Usage: incidence.R FOLLOW_UPS_CSV MEASURES_CSV
library(survival)
arguments <- commandArgs(TRUE)
rows <- read.csv(arguments[1])
figures <- read.csv(arguments[2])
shares <- figures[grepl("^time_to_serum_[0-9]+h$", figures$measure) & figures$split %in% c("all", "unit"), ]
failed <- 0
passed <- 0
for (i in seq_len(nrow(shares))) {
  of <- if (shares$split[i] == "all") rows else rows[rows$unit == shares$group[i], ]
  if (nrow(of) == 0 || !any(of$status == 1)) next
  hours <- as.numeric(sub("h", "", sub("time_to_serum_", "", shares$measure[i])))
  # survfit drops time 0; a second is too small to reorder anything here.
  fit <- survfit(Surv(of$time_s + 1, factor(of$status, 0:2, c("cut", "serum", "competing"))) ~ 1)
  at <- summary(fit, times = hours * 3600 + 1, extend = TRUE)
  found <- at$pstate[1, match("serum", fit$states)]
  if (abs(found - shares$value[i]) < 1e-9) {
    passed <- passed + 1
  } else {
    failed <- failed + 1
    cat(shares$measure[i], shares$group[i], "R", found, "siskin", shares$value[i], "\n")
  }
}
cat(passed, "passed,", failed, "failed\n")
quit(status = as.integer(failed > 0 || passed < 5))
