"""Charts over months: limits by the formulas of the NIST/SEMATECH e-Handbook 6.3 and of the papers
named beside, exact ones by scipy's distributions, and a whole chart by the rules it documents."""

import itertools

import numpy as np
from scipy import stats
from scipy.special import xlogy

from . import ends, opinion

TAIL = 0.00135
D2 = 1.128


def mean_range(values):
    return np.abs(np.diff(values)).mean()


class Proportions:
    """NIST 6.3.3.2."""

    name, most = "P", 1.0

    def __init__(self, events, trials):
        self.events, self.sizes = np.array(events), np.array(trials)

    def sigma(self, centre, size):
        return np.sqrt(centre * (1 - centre) / size)

    def count(self, centre, size):
        return stats.binom(int(size), centre)

    def is_exact(self, centre, size):
        return min(centre, 1 - centre) * size < 5

    def smallest(self, centre):
        return min(centre, 1 - centre)

    def table(self):
        return [self.events, self.sizes - self.events]

    def chance(self, centre):
        """Nothing (or everything) in the baseline: one event (or one trial without) in it."""
        one = 1 / self.sizes.sum()
        return min(max(centre, one), 1 - one)

    def ratio(self, before, size_before, after, size_after):
        """G of the two by two table; 0 where nothing or everything happened."""
        table = [[before, size_before - before], [after, size_after - after]]
        return stats.chi2_contingency(table, correction=False, lambda_="log-likelihood").statistic

    def dispersion(self):
        return stats.chi2_contingency(self.table(), correction=False).statistic


class Rates(Proportions):
    """NIST 6.3.3.1; Montgomery 7.3."""

    name, most = "U", np.inf

    def sigma(self, centre, size):
        return np.sqrt(centre / size)

    def count(self, centre, size):
        return stats.poisson(centre * size)

    def is_exact(self, centre, size):
        return centre * size < 5

    def smallest(self, centre):
        return centre

    def chance(self, centre):
        return max(centre, 1 / self.sizes.sum())

    def ratio(self, before, size_before, after, size_after):
        sizes = np.array([size_before, size_after])
        expected = (before + after) * sizes / sizes.sum()
        return 2 * xlogy([before, after], np.array([before, after]) / expected).sum()

    def dispersion(self):
        expected = self.events.sum() * self.sizes / self.sizes.sum()
        return stats.chisquare(self.events, expected).statistic


def of_months(counts, wanted):
    return type(counts)(counts.events[wanted], counts.sizes[wanted])


def centre_of(counts):
    return counts.events.sum() / counts.sizes.sum()


def sigma_z(counts):
    """Laney (2002)."""
    centre = centre_of(counts)
    sigma = counts.sigma(centre, counts.sizes)
    return mean_range((counts.events / counts.sizes - centre) / sigma) / D2 if sigma.min() > 0 else None


def within(counts, centre, half):
    return max(0.0, centre - half), min(counts.most, centre + half)


def exact(counts, centre, size):
    """The outermost counts that are not so rare: no further out than TAIL."""
    of = counts.count(centre, size)
    far = 12 * of.std() + 40
    k = np.arange(max(0, int(of.mean() - far)), int(min(of.mean() + far, of.support()[1])) + 1)
    return k[of.cdf(k) >= TAIL].min() / size, k[of.sf(k - 1) >= TAIL].max() / size


def spread(counts):
    """Months of at least one expected event; the part of the largest, and how many they are."""
    centre = centre_of(counts)
    if counts.smallest(centre) == 0:
        return None
    kept = of_months(counts, counts.sizes * counts.smallest(centre) >= 1)
    if len(kept.events) < 3 or counts.smallest(centre_of(kept)) == 0:
        return None
    centre = centre_of(kept)
    z = (kept.events / kept.sizes - centre) / kept.sigma(centre, kept.sizes)
    return kept.dispersion(), (z**2).max(), len(kept.events)


def largest_by_chance(shares, c):
    """How often one of the standardised Brownian bridges at these shares is c or more from 0:
    Armitage, McPherson and Rowe (1969), by Gauss and Legendre's quadrature."""
    x, weights = np.polynomial.legendre.leggauss(200)
    density = stats.norm.pdf(x * c)
    for s, t in zip(shares, shares[1:]):
        r = s * (1 - t) / np.sqrt(s * (1 - s) * t * (1 - t))
        step = stats.norm(scale=np.sqrt(1 - r**2)).pdf(np.subtract.outer(x * c, r * x * c))
        density = step @ (density * weights * c)
    return 1 - density @ weights * c


def first_largest(values):
    best = 0
    for i, value in enumerate(values):
        if value > values[best] * (1 + 1e-12):
            best = i
    return best


NO_CHANGE = dict.fromkeys(["change at", "level before", "level after", "change p"])


def change_of_counts(counts):
    if counts.smallest(centre_of(counts)) == 0:
        return NO_CHANGE
    events, sizes = np.cumsum(counts.events), np.cumsum(counts.sizes)
    split = range(len(events) - 1)
    ratios = [counts.ratio(events[i], sizes[i], events[-1] - events[i], sizes[-1] - sizes[i]) for i in split]
    i = first_largest(ratios)
    return {
        "change at": i + 1,
        "level before": events[i] / sizes[i],
        "level after": (events[-1] - events[i]) / (sizes[-1] - sizes[i]),
        "change p": largest_by_chance(sizes[:-1] / sizes[-1], np.sqrt(ratios[i])),
    }


def change_of_values(x):
    n = len(x)
    if np.ptp(x) == 0:
        return NO_CHANGE
    within_parts = [((x[:i] - x[:i].mean()) ** 2).sum() + ((x[i:] - x[i:].mean()) ** 2).sum() for i in range(1, n)]
    i = int(np.argmin(within_parts))
    whole, least = ((x - x.mean()) ** 2).sum(), within_parts[i]
    p = stats.f.sf((whole - least) / (least / (n - 2)), 1, n - 2)
    return {
        "change at": i + 1,
        "level before": x[: i + 1].mean(),
        "level after": x[i + 1 :].mean(),
        "change p": largest_by_chance(np.arange(1, n) / n, stats.norm.isf(p / 2)),
    }


def allowed(useful):
    """Anhøj and Olesen (2014)."""
    if useful < 10:
        return None, None
    return round(np.log2(useful)) + 3, int(stats.binom.ppf(0.05, useful - 1, 0.5))


def runs_of(values):
    """Runs of values off the median: side, places."""
    median = np.median(values)
    off = [(int(np.sign(v - median)), i) for i, v in enumerate(values) if v != median]
    return [(side, [i for _, i in those]) for side, those in itertools.groupby(off, key=lambda one: one[0])]


@opinion("run_chart_")
def runs(of):
    found = runs_of(of["y"])
    useful = sum(len(places) for _, places in found)
    longest, crossings = allowed(useful)
    return {
        "scipy": {
            "median": np.median(of["y"]),
            "useful": useful,
            "longest run": max((len(places) for _, places in found), default=0),
            "crossings": max(0, len(found) - 1),
            "longest run allowed": longest,
            "fewest crossings allowed": crossings,
        }
    }


@opinion("run_chart_limits_")
def run_limits(of):
    found = {}
    for useful in of["n_useful"]:
        longest, crossings = allowed(useful)
        found |= {f"longest run allowed, {useful} useful": longest}
        found |= {f"fewest crossings allowed, {useful} useful": crossings}
    return {"scipy": found}


def findings(values, limits):
    """Points beyond limits, runs too long, crossings too few; and whether runs are used."""
    found, slack = [], 1e-12
    for i, (value, of) in enumerate(zip(values, limits)):
        if of and (value > of[1] + slack * abs(of[1]) or value < of[0] - slack * abs(of[0])):
            found.append((i, 0, f"BeyondLimit {i} to {i}"))
    parts = runs_of(values)
    useful = sum(len(places) for _, places in parts)
    above = sum(len(places) for side, places in parts if side > 0)
    longest, crossings = allowed(useful)
    are_used = longest is not None and min(above, useful - above) / useful >= 0.4
    if are_used:
        found += [(p[0], 1, f"LongRun {p[0]} to {p[-1]}") for _, p in parts if len(p) > longest]
        if len(parts) - 1 < crossings:
            first, last = parts[0][1][0], parts[-1][1][-1]
            found.append((first, 2, f"FewCrossings {first} to {last}"))
    return ", ".join(text for *_, text in sorted(found)), are_used


def chart(values, kind, baseline, centre, limits):
    signals, are_used = findings(values, limits)
    if kind is None:
        kind, baseline, centre = "RunOnly" if are_used else "TooFew", 0, None
    found = {"chart kind": kind, "chart baseline": baseline, "chart centre": centre, "chart signals": signals}
    for i, of in enumerate(limits):
        found |= ends(f"chart limits[{i}]", *(of or (None, None)))
    return found


def chart_of_counts(counts):
    months = len(counts.events)
    values = counts.events / counts.sizes
    if months < 12:
        return chart(values, None, 0, None, [None] * months)
    first = of_months(counts, slice(12))
    of = spread(first)
    is_wide = of is not None and stats.chi2.sf(of[0] - of[1], of[2] - 2) < 0.2 and (sigma_z(first) or 0) > 1
    baseline = of_months(counts, slice(24 if is_wide else 12))
    centre = centre_of(baseline)
    chance = baseline.chance(centre)
    wide = max(1.0, sigma_z(baseline)) if is_wide else None
    limits, is_any_exact = [], False
    for size in counts.sizes:
        both = within(counts, chance, 3 * counts.sigma(chance, size) * (wide or 1.0))
        if counts.is_exact(chance, size):
            is_any_exact = True
            tails = exact(counts, chance, size)
            both = tails if wide is None else (min(both[0], tails[0]), max(both[1], tails[1]))
        limits.append(both)
    kind = f"Laney{counts.name}" if is_wide else f"{counts.name}Exact" if is_any_exact else counts.name
    return chart(values, kind, len(baseline.events), centre, limits)


def counts_found(counts):
    centre = centre_of(counts)
    factor = sigma_z(counts)
    found = {"centre": centre, "sigma z": factor}
    for i, size in enumerate(counts.sizes):
        sigma = counts.sigma(centre, size)
        found |= ends(f"three sigma[{i}]", *within(counts, centre, 3 * sigma))
        found |= ends(f"exact[{i}]", *exact(counts, centre, size))
        found |= ends(f"Laney[{i}]", *(within(counts, centre, 3 * sigma * factor) if factor else (None, None)))
    of = spread(counts)
    found["dispersion"] = of and of[0]
    return {"formula": found | change_of_counts(counts) | chart_of_counts(counts)}


def sizes(of, name, months):
    size = of.get(name, 1)
    return size if isinstance(size, list) else [size] * months


@opinion("p_chart_", "laney_pprime_")
def proportions(of):
    events = of.get("count", of.get("r"))
    return counts_found(Proportions(events, sizes(of, "n", len(events))))


@opinion("c_chart_", "u_chart_")
def rates(of):
    return counts_found(Rates(of["count"], sizes(of, "size", len(of["count"]))))


@opinion("laney_uprime_")
def wide_rates(of):
    return counts_found(Rates(of["r"], of["n"]))


def individual_limits(values):
    """NIST 6.3.2.2, with d2 = 1.128."""
    half = 3 * mean_range(values) / D2
    return np.mean(values) - half, np.mean(values) + half


def chart_of_values(values, limits_of, centre_of_values):
    baseline = values[:24]
    if len(values) < 12 or mean_range(baseline) == 0:
        return chart(values, None, 0, None, [None] * len(values))
    limits = [limits_of(baseline)] * len(values)
    return chart(values, "Individuals", len(baseline), centre_of_values(baseline), limits)


@opinion("xmr_")
def individuals(of):
    x = np.array(of["x"], float)
    found = {"centre": x.mean(), "mean range": mean_range(x)}
    found |= ends("limits", *individual_limits(x))
    found["centre of a long tail"] = None if len(x) < 12 else np.mean(x[:24] ** (1 / 3.6)) ** 3.6
    found |= chart_of_values(x, individual_limits, np.mean)
    return {"formula": found | change_of_values(x)}


def geometric(mean):
    """Failures before an event, the outermost that are not so rare."""
    k = np.arange(int(40 * mean + 40))
    of = stats.geom(1 / (1 + mean))
    return float(k[of.cdf(k + 1) >= TAIL].min()), float(k[of.sf(k) >= TAIL].max())


@opinion("g_chart_")
def cases_between(of):
    """Benneyan (2001)."""
    x = np.array(of["cases_between"], float)
    found = ends("exact", *geometric(x.mean()))
    if len(x) < 12:
        return {"formula": found | chart(x, None, 0, None, [None] * len(x))}
    limits = [geometric(x[:12].mean())] * len(x)
    return {"formula": found | chart(x, "G", 12, x[:12].mean(), limits)}


@opinion("t_chart_")
def long_tail(of):
    """Nelson (1994)."""
    x = np.array(of["hours"], float)

    def limits(values):
        return tuple(max(0.0, end) ** 3.6 for end in individual_limits(values ** (1 / 3.6)))

    y = x ** (1 / 3.6)
    found = {"transformed centre": y.mean(), "transformed mean range": mean_range(y), "centre": y.mean() ** 3.6}
    found |= ends("limits", *limits(x))
    return {"formula": found | chart_of_values(x, limits, lambda values: np.mean(values ** (1 / 3.6)) ** 3.6)}


@opinion("cusum_")
def cusum(of):
    """NIST 6.3.2.3: a sum that never falls below 0 is what has been gathered since its lowest."""
    found, sums = {}, {}
    for side, sign in (("above", 1), ("below", -1)):
        gathered = np.cumsum(sign * (np.array(of["x"]) - of["target"]) - of["k"])
        sums[side] = gathered - np.minimum.accumulate(np.r_[0.0, gathered])[1:]
        found |= {f"{side}[{i}]": value for i, value in enumerate(sums[side])}
    up, down = sums["above"], sums["below"]
    found["signals Above"] = np.flatnonzero((up > of["h"]) & (up >= down)).tolist()
    found["signals Below"] = np.flatnonzero((down > of["h"]) & (up < down)).tolist()
    return {"formula": found}


@opinion("chain_")
def chain(of):
    """The normal distribution of all distances at once."""
    steps = np.r_[1.0, of["correlations"]]
    n = len(steps)
    covariance = np.array([[np.prod(steps[min(i, j) + 1 : max(i, j) + 1]) for j in range(n)] for i in range(n)])
    distribution = stats.multivariate_normal(np.zeros(n), covariance, seed=1, maxpts=400_000, abseps=1e-7)
    found = {}
    for c in of["c"]:
        inside = distribution.cdf(np.full(n, c), lower_limit=np.full(n, -c))
        found[f"P(largest beyond {c})"] = 1 - inside
    return {"scipy": found}
