"""Units and groups against each other."""

import numpy as np
from scipy import stats
from statsmodels.stats.contingency_tables import StratifiedTable
from statsmodels.stats.meta_analysis import combine_effects

from . import Z, about, ends, opinion


def interpolated(level, n, p):
    """Spiegelhalter (2005), appendix."""
    r = stats.binom.ppf(level, n, p)
    part = (stats.binom.cdf(r, n, p) - level) / stats.binom.pmf(r, n, p)
    return np.clip((r - part) / n, 0, 1)


@opinion("funnel_")
def funnel(of):
    r, n = np.array(of["r"]), np.array(of["n"])
    p, units = r.sum() / n.sum(), len(r)
    has_events = 0 < p < 1
    error = np.sqrt(p * (1 - p) / n)
    z = (r / n - p) / error if has_events else np.zeros(units)
    found = {"centre": p, "heterogeneity": 0.0, "heterogeneity p": 1.0}
    if has_events:
        test = stats.chi2_contingency([r, n - r], correction=False)
        found |= {"heterogeneity": test.statistic, "heterogeneity p": test.pvalue}
    found["phi of all"] = np.mean(z**2)
    found["phi"] = np.mean(np.clip(z, np.quantile(z, 0.1), np.quantile(z, 0.9)) ** 2)

    def tau_squared(phi):
        w = 1 / error**2
        return max(0.0, (units * phi - (units - 1)) / (w.sum() - (w**2).sum() / w.sum()))

    tau2 = None if units < 10 else tau_squared(found["phi"])
    found |= {"tau squared": tau2, "tau squared of all": tau_squared(found["phi of all"]) if has_events else None}
    for i in range(units):
        many, few = stats.binom.sf(r[i] - 1, n[i], p), stats.binom.cdf(r[i], n[i], p)
        found |= {f"z[{i}]": z[i], f"as many[{i}]": many, f"as few[{i}]": few}
        place = "within"
        for level, tail in (("Warning", 0.025), ("Action", 0.001)):
            place = f"({level}, Above)" if many < tail else f"({level}, Below)" if few < tail else place
        found[f"place[{i}]"] = place
        for what, tail in ((f"95 %[{i}]", 0.025), (f"99.8 %[{i}]", 0.001)):
            both = [interpolated(level, n[i], p) for level in (tail, 1 - tail)] if has_events else (p, p)
            found |= ends(what, *both)
        wide = Z * np.sqrt(error[i] ** 2 + (tau2 or 0.0))
        found |= ends(f"widened[{i}]", max(0.0, p - wide), min(1.0, p + wide))
    library = {}
    if has_events:
        dersimonian = combine_effects(r / n, error**2, method_re="dl")
        library["tau squared of all"] = max(0.0, dersimonian.tau2)
        library["heterogeneity"] = dersimonian.q
    return {"scipy": found, "statsmodels": library}


@opinion("mantel_haenszel_")
def mantel_haenszel(of):
    """Odds ratio and tests by statsmodels; intervals of risk ratio and difference by their papers."""
    strata = [[[s["a"], s["b"]], [s["c"], s["d"]]] for s in of["strata_abcd"]]
    strata = [table for table in strata if sum(table[0]) and sum(table[1])]
    (a, b), (c, d) = np.array(strata, float).transpose(1, 2, 0)
    n1, n2, n = a + b, c + d, a + b + c + d
    with np.errstate(all="ignore"):
        table = StratifiedTable([np.array(table, float) for table in strata])
        plain, corrected = table.test_null_odds(), table.test_null_odds(correction=True)
        library = {
            "odds ratio": table.oddsratio_pooled,
            "risk ratio": table.riskratio_pooled,
            "chi-square": plain.statistic,
            "chi-square p": plain.pvalue,
            "corrected chi-square": corrected.statistic,
            "corrected chi-square p": corrected.pvalue,
        } | ends("odds ratio", *table.oddsratio_pooled_confint())
        # Greenland and Robins (1985); Sato (1989).
        r, s = (a * n2 / n).sum(), (c * n1 / n).sum()
        error = np.sqrt(((n1 * n2 * (a + c) - a * c * n) / n**2).sum() / (r * s))
        formula = ends("risk ratio", *(r / s * np.exp(Z * error * np.array([-1, 1]))))
        weight = n1 * n2 / n
        difference = (weight * (a / n1 - c / n2)).sum() / weight.sum()
        p = (n1**2 * c - n2**2 * a + n1 * n2 * (n2 - n1) / 2) / n**2
        q = (a * (n2 - c) + c * (n1 - a)) / (2 * n)
        half = Z * np.sqrt(difference * p.sum() + q.sum()) / weight.sum()
        formula |= {"risk difference": difference}
        formula |= about("risk difference", difference, half) if half > 0 else ends("risk difference", None, None)
    return {"statsmodels": library, "formula": formula}


@opinion("direct_standardisation_")
def direct(of):
    """Fay and Feuer (1997), gamma quantiles by scipy."""
    count, pop, std = np.array(of["count"]), np.array(of["pop"], float), np.array(of["std"], float)
    found = {}
    for group in range(count.shape[1]):
        x, w = count[:, group], std / std.sum() / pop[:, group]
        rate, variance, most = w @ x, w**2 @ x, w.max()
        lower = stats.gamma.ppf(0.025, rate**2 / variance, scale=variance / rate) if rate > 0 else 0.0
        mean, variance = rate + most, variance + most**2
        upper = stats.gamma.ppf(0.975, mean**2 / variance, scale=variance / mean)
        found |= {f"crude[{group}]": x.sum() / pop[:, group].sum(), f"rate[{group}]": rate}
        found |= ends(f"rate[{group}]", lower, upper)
    return {"scipy": found}


@opinion("indirect_standardisation_")
def indirect(of):
    events, standard = np.array(of["events"]).sum(), np.array(of["standard_events"])
    exposure, of_standard = np.array(of["exposure"], float), np.array(of["standard_exposure"], float)
    expected, crude = (exposure * standard / of_standard).sum(), standard.sum() / of_standard.sum()
    limits = [stats.chi2.ppf(0.025, 2 * events) / 2 if events else 0.0, stats.chi2.ppf(0.975, 2 * events + 2) / 2]
    ratio, (lower, upper) = events / expected, np.array(limits) / expected
    found = {"expected": expected, "ratio": ratio, "rate": ratio * crude}
    return {"scipy": found | ends("ratio", lower, upper) | ends("rate", lower * crude, upper * crude)}
