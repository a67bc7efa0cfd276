"""Proportions, counts, means, and the distributions behind them."""

import statistics
from fractions import Fraction

import numpy as np
from scipy import stats
from statsmodels.api import OLS
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint
from statsmodels.stats.rates import confint_poisson

from . import ends, named, opinion


@opinion("binom_")
def proportion(of):
    x, n = of["x"], of["n"]
    if n == 0:
        return {"no trials": ends("wilson", None, None) | ends("exact", None, None)}
    return {
        "statsmodels": ends("wilson", *proportion_confint(x, n, method="wilson"))
        | ends("exact", *proportion_confint(x, n, method="beta")),
        "scipy": ends(
            "exact",
            stats.beta.ppf(0.025, x, n - x + 1) if x > 0 else 0.0,
            stats.beta.ppf(0.975, x + 1, n - x) if x < n else 1.0,
        ),
    }


@opinion("binomial_")
def binomial(of):
    n, p = of["n"], of["p"]
    chances = {f"P(at most {k})": stats.binom.cdf(k, n, p) for k in of["k"]}
    return {"scipy": chances | {f"quantile {named(q)}": int(stats.binom.ppf(q, n, p)) for q in of["levels"]}}


@opinion("newcombe10_")
def difference(of):
    x, n, y, m = of["x1"], of["n1"], of["x2"], of["n2"]
    if n == 0 or m == 0:
        return {"no trials": ends("difference", None, None) | {"difference": None}}
    interval = confint_proportions_2indep(x, n, y, m, method="newcomb", compare="diff")
    return {"statsmodels": ends("difference", *interval) | {"difference": float(Fraction(x, n) - Fraction(y, m))}}


@opinion("poisson_exact_")
def poisson(of):
    x = of["x"]
    return {
        "scipy": ends("exact", stats.gamma.ppf(0.025, x) if x else 0.0, stats.gamma.ppf(0.975, x + 1)),
        "statsmodels": ends("exact", *(np.nan_to_num(end) for end in confint_poisson(x, 1, method="exact-c"))),
    }


@opinion("quantile_types_")
def quantiles(of):
    return {"numpy": {f"quantile {named(p)}": np.quantile(of["x"], p) for p in of["p"]}}


@opinion("median_ci_")
def median(of):
    x = of["x"]
    test = stats.quantile_test(x, q=np.median(x), p=0.5).confidence_interval(0.95)
    return {"scipy": {"median": np.median(x)} | ends("median", test.low, test.high)}


def series(of):
    if isinstance(of, list):
        return of
    return [of["first"]] + of["then_repeat_500x"] * 500


@opinion("nist_numacc", "nist_michelso", "summary_")
def summaries(of):
    exact = {}
    for name, values in {"x": series(of)}.items() if "first" in of else [(k, series(v)) for k, v in of.items()]:
        mean = sum(Fraction(value) for value in values) / len(values)
        exact |= {f"{name} mean": float(mean), f"{name} standard deviation": statistics.stdev(values)}
    return {"exact fractions": exact}


@opinion("student_")
def student(of):
    return {"scipy": {f"quantile, {degrees} degrees": stats.t.ppf(0.975, degrees) for degrees in of["degrees"]}}


@opinion("welch_")
def means(of):
    interval = stats.ttest_ind(of["a"], of["b"], equal_var=False).confidence_interval(0.95)
    return {"scipy": {"difference": np.mean(of["a"]) - np.mean(of["b"])} | ends("difference", *interval)}


@opinion("clustered_")
def clusters(of):
    """One row a trial, errors clustered by person; then Wilson's interval of as many trials as they are worth."""
    outcome, person = [], []
    for i, (x, n) in enumerate(zip(of["x"], of["n"])):
        outcome += [1] * x + [0] * (n - x)
        person += [i] * n
    n, m = len(outcome), len(of["n"])
    fit = OLS(outcome, np.ones(n)).fit(cov_type="cluster", cov_kwds={"groups": person})
    p, variance = fit.params[0], fit.bse[0] ** 2
    effect = max(1.0, variance / (np.var(outcome, ddof=1) / n))
    trials = n / effect * (stats.t.ppf(0.975, n - 1) / stats.t.ppf(0.975, m - 1)) ** 2
    return {"statsmodels": ends("proportion", *proportion_confint(p * trials, trials, method="wilson"))}
