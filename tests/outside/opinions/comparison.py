"""Units against each other."""

import numpy as np
from scipy import stats
from statsmodels.stats.meta_analysis import combine_effects

from . import ends, opinion


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
    library = {}
    if has_events:
        library["heterogeneity"] = combine_effects(r / n, error**2, method_re="dl").q
    return {"scipy": found, "statsmodels": library}


@opinion("indirect_standardisation_")
def indirect(of):
    events, standard = np.array(of["events"]).sum(), np.array(of["standard_events"])
    exposure, of_standard = np.array(of["exposure"], float), np.array(of["standard_exposure"], float)
    expected, crude = (exposure * standard / of_standard).sum(), standard.sum() / of_standard.sum()
    limits = [stats.chi2.ppf(0.025, 2 * events) / 2 if events else 0.0, stats.chi2.ppf(0.975, 2 * events + 2) / 2]
    ratio, (lower, upper) = events / expected, np.array(limits) / expected
    found = {"expected": expected, "ratio": ratio, "rate": ratio * crude}
    return {"scipy": found | ends("ratio", lower, upper) | ends("rate", lower * crude, upper * crude)}
