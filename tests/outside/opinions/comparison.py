"""Units against each other."""

import numpy as np
from scipy import stats

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
    found = {"centre": p, "heterogeneity p": 1.0}
    if has_events:
        found["heterogeneity p"] = stats.chi2_contingency([r, n - r], correction=False).pvalue
    for i in range(units):
        many, few = stats.binom.sf(r[i] - 1, n[i], p), stats.binom.cdf(r[i], n[i], p)
        place = "within"
        for level, tail in (("Warning", 0.025), ("Action", 0.001)):
            place = f"({level}, Above)" if many < tail else f"({level}, Below)" if few < tail else place
        found[f"place[{i}]"] = place
        for what, tail in ((f"95 %[{i}]", 0.025), (f"99.8 %[{i}]", 0.001)):
            both = [interpolated(level, n[i], p) for level in (tail, 1 - tail)] if has_events else (p, p)
            found |= ends(what, *both)
    return {"scipy": found}


@opinion("indirect_standardisation_")
def indirect(of):
    events, standard = np.array(of["events"]).sum(), np.array(of["standard_events"])
    exposure, of_standard = np.array(of["exposure"], float), np.array(of["standard_exposure"], float)
    expected, crude = (exposure * standard / of_standard).sum(), standard.sum() / of_standard.sum()
    limits = [stats.chi2.ppf(0.025, 2 * events) / 2 if events else 0.0, stats.chi2.ppf(0.975, 2 * events + 2) / 2]
    rate, (lower, upper) = events / expected * crude, np.array(limits) / expected * crude
    return {"scipy": {"rate": rate} | ends("rate", lower, upper)}
