"""Regressions, and before and after a change."""

import numpy as np
import statsmodels.api as sm
from scipy import stats
from statsmodels.stats.proportion import confint_proportions_2indep

from . import Z, about, ends, opinion


def least_squares(y, columns):
    fit = sm.OLS(y, columns).fit()
    found = {"residual sd": np.sqrt(fit.scale)}
    for i, (value, error) in enumerate(zip(fit.params, fit.bse)):
        found |= {f"b[{i}]": value, f"b[{i}] error": error}
    return fit, found


@opinion("nist_norris", "line_")
def line(of):
    fit, found = least_squares(of["y"], sm.add_constant(np.array(of["x"], float)))
    return {"statsmodels": found | {"slope": fit.params[1]} | ends("slope", *fit.conf_int()[1])}


@opinion("nist_longley")
def columns(of):
    names = sorted(name for name in of if name != "y")
    x = sm.add_constant(np.column_stack([np.array(of[name], float) for name in names]))
    return {"statsmodels": least_squares(np.array(of["y"], float), x)[1]}


def generalised(counts, columns):
    """Settled to the last digits: the dispersion needs it."""
    events, sizes = counts["events"], counts["sizes"]
    is_there = sizes > 0
    x, events, sizes = columns[is_there], events[is_there], sizes[is_there]
    if counts["is_rate"]:
        model = sm.GLM(events, x, family=sm.families.Poisson(), offset=np.log(sizes))
    else:
        model = sm.GLM(np.column_stack([events, sizes - events]), x, family=sm.families.Binomial())
    return model.fit(tol=1e-14, tol_criterion="params", maxiter=200)


def coefficients(what, fit):
    dispersion = fit.pearson_chi2 / fit.df_resid
    found = {f"{what}, dispersion": dispersion}
    for i, (value, error) in enumerate(zip(fit.params, fit.bse)):
        found |= {f"{what}, b[{i}]": value, f"{what}, b[{i}] error": error} | about(f"{what}, b[{i}]", value, Z * error)
        wide = stats.t.ppf(0.975, fit.df_resid) * error * np.sqrt(dispersion)
        found |= about(f"{what}, b[{i}] quasi", value, wide)
    return found


EFFECTS = {1: "level", 3: "slope change"}


def design(months, change):
    """Wagner and others (2002), time counted from the change."""
    t = np.arange(months) - change
    is_after = (t >= 0).astype(float)
    return np.column_stack([np.ones(months), is_after, t, t * is_after])


def effects_of_counts(counts, change):
    fit = generalised(counts, design(len(counts["events"]), change))
    dispersion = fit.pearson_chi2 / fit.df_resid
    factor = np.sqrt(dispersion) * stats.t.ppf(0.975, fit.df_resid) if dispersion > 1 else Z
    found = {}
    for i, name in EFFECTS.items():
        found[name] = np.exp(fit.params[i])
        found |= ends(name, *np.exp(fit.params[i] + factor * fit.bse[i] * np.array([-1, 1])))
    return found


@opinion("its_")
def interrupted(of):
    counts = {"events": np.array(of["aces"], float), "sizes": np.array(of["stdpop"], float), "is_rate": True}
    x = np.column_stack([np.ones(len(of["aces"])), of["smokban"], of["time"]])
    found = coefficients("Poisson", generalised(counts, x))
    return {"statsmodels": found | effects_of_counts(counts, of["smokban"].index(1))}


@opinion("segments_no_spread")
def two_phases(of):
    """Newcombe's interval by statsmodels, each arm stretched as quasi-likelihood has it."""
    x, n, change = np.array(of["events"], float), np.array(of["trials"], float), of["change"]
    pooled = [(x[part].sum(), n[part].sum()) for part in (slice(change), slice(change, None))]
    (a, m), (b, k) = pooled
    p = np.r_[np.full(change, a / m), np.full(len(x) - change, b / k)]
    is_there = n > 0
    degrees = is_there.sum() - 2
    dispersion = ((x - n * p)[is_there] ** 2 / (n * p * (1 - p))[is_there]).sum() / degrees
    factor = np.sqrt(dispersion) * stats.t.ppf(0.975, degrees) / Z if dispersion > 1 else 1.0
    difference = b / k - a / m
    lower, upper = confint_proportions_2indep(b, k, a, m, method="newcomb", compare="diff")
    found = {"phases": difference, "phases dispersion": dispersion}
    found |= ends("phases", difference - (difference - lower) * factor, difference + (upper - difference) * factor)
    return {"statsmodels": found}


@opinion("segments_proportions")
def segments_of_proportions(of):
    counts = {"events": np.array(of["events"], float), "sizes": np.array(of["trials"], float), "is_rate": False}
    found = two_phases(of)["statsmodels"] | effects_of_counts(counts, of["change"])
    months = len(of["events"])
    x = np.column_stack([np.ones(months), np.arange(months) >= of["change"], np.arange(months)]).astype(float)
    return {"statsmodels": found | coefficients("logistic", generalised(counts, x))}


@opinion("segments_values")
def segments_of_values(of):
    """The larger of the errors of least squares and of Newey and West, as statsmodels has them."""
    y, months, change = np.array(of["x"]), len(of["x"]), of["change"]
    lags = int(4 * (months / 100) ** (2 / 9))
    robust = lambda x: sm.OLS(y, x).fit(cov_type="HAC", cov_kwds={"maxlags": lags, "use_correction": True}).bse
    found = {}
    x = design(months, change)
    fit = sm.OLS(y, x).fit()
    errors = np.maximum(fit.bse, robust(x))
    for i, name in EFFECTS.items():
        found[name] = fit.params[i]
        found |= about(name, fit.params[i], stats.t.ppf(0.975, fit.df_resid) * errors[i])
    x = np.column_stack([np.ones(months), np.arange(months) >= change, np.arange(months)]).astype(float)
    return {"statsmodels": found | {f"Newey-West error[{i}]": error for i, error in enumerate(robust(x))}}
