"""Two ways of measuring compared."""

import numpy as np
from scipy import stats
from statsmodels.api import OLS, add_constant
from statsmodels.stats.proportion import proportion_confint

from . import Z, about, ends, opinion


@opinion("bland_altman_")
def limits(of):
    """Bland and Altman (1986, 1999)."""
    a, b = np.array(of["a"], float), np.array(of["b"], float)
    d, n = a - b, len(a)
    sd, t = np.std(d, ddof=1), stats.t.ppf(0.975, n - 1)
    error = sd * np.sqrt(1 / n + 1.96**2 / (2 * (n - 1)))
    formula = {"bias": d.mean()}
    formula |= about("bias", d.mean(), t * sd / np.sqrt(n)) | about("limits", d.mean(), 1.96 * sd)
    formula |= about("lower limit", d.mean() - 1.96 * sd, t * error)
    formula |= about("upper limit", d.mean() + 1.96 * sd, t * error)
    names = ["slope", "slope.lower", "slope.upper"]
    if n < 3:
        return {"scipy": formula, "too few": dict.fromkeys(names)}
    fit = OLS(d, add_constant((a + b) / 2)).fit()
    values = [fit.params[1], *fit.conf_int()[1]]
    return {"scipy": formula, "statsmodels": dict(zip(names, values))}


@opinion("repeated_")
def repeated(of):
    """Zou (2013): a vote for each baby."""
    d = [np.array([a - b for a, b in baby], float) for baby in of["babies"]]
    means, k, n = np.array([x.mean() for x in d]), len(d), sum(map(len, d))
    between_means = means.var(ddof=1)
    found = {"bias": means.mean(), "between": None, "within": None}
    if n > k:
        within = sum(((x - x.mean()) ** 2).sum() for x in d) / (n - k)
        between = max(0.0, between_means - within / stats.hmean([len(x) for x in d]))
        found |= {"between": np.sqrt(between), "within": np.sqrt(within)}
    return {"formula": found | about("bias", means.mean(), stats.t.ppf(0.975, k - 1) * np.sqrt(between_means / k))}


@opinion("lin_ccc_")
def concordance(of):
    """Lin (1989, 2000)."""
    a, b = np.array(of["a"], float), np.array(of["b"], float)
    n, (sxx, syy), sxy = len(a), (a.var(), b.var()), np.mean((a - a.mean()) * (b - b.mean()))
    shift = b.mean() - a.mean()
    c = 2 * sxy / (sxx + syy + shift**2)
    found = {"concordance": c}
    if sxx * syy == 0:
        return {"formula": found | ends("concordance", None, None)}
    r, u = sxy / np.sqrt(sxx * syy), shift / (sxx * syy) ** 0.25
    if c == 1:
        return {"formula": found | ends("concordance", 1.0, 1.0)}
    variance = (1 - r**2) * c**2 / ((1 - c**2) * r**2)
    variance += 2 * c**3 * (1 - c) * u**2 / (r * (1 - c**2) ** 2) - c**4 * u**4 / (2 * r**2 * (1 - c**2) ** 2)
    half = Z * np.sqrt(variance / (n - 2))
    return {"formula": found | ends("concordance", *np.tanh(np.arctanh(c) + np.array([-half, half])))}


def main_axis(x, y, ratio):
    """Intercept and slope of the first principal axis, y in units in which both err alike."""
    points = np.column_stack([x - x.mean(), (y - y.mean()) / np.sqrt(ratio)])
    axis = np.linalg.svd(points, full_matrices=False)[2][0]
    slope = axis[1] / axis[0] * np.sqrt(ratio) if abs(axis[0]) > 1e-12 else np.inf
    return np.array([y.mean() - slope * x.mean(), slope])


@opinion("deming_simple_")
def deming(of):
    x, y, n = np.array(of["x"], float), np.array(of["y"], float), len(of["x"])
    whole = main_axis(x, y, of["lambda"])
    found = {"intercept": whole[0], "slope": whole[1]}
    if not np.isfinite(whole[1]):
        return {"singular values": found | ends("slope", None, None)}
    without = np.array([main_axis(np.delete(x, i), np.delete(y, i), of["lambda"])[1] for i in range(n)])
    error = (n * whole[1] - (n - 1) * without).std(ddof=1) / np.sqrt(n)
    return {"singular values": found | about("slope", whole[1], stats.t.ppf(0.975, n - 2) * error)}


@opinion("passing_bablok_")
def passing_bablok(of):
    """Passing and Bablok (1983)."""
    x, y, n = np.array(of["x"], float), np.array(of["y"], float), len(of["x"])
    i, j = np.triu_indices(n, 1)
    with np.errstate(divide="ignore", invalid="ignore"):
        dx, dy = x[j] - x[i], y[j] - y[i]
        slopes = np.where(dx == 0, np.sign(dy) * np.inf, dy / dx)
    slopes = np.sort(slopes[~((dx == 0) & (dy == 0)) & (slopes != -1)])
    count, below = len(slopes), int((slopes < -1).sum())
    middle = slopes[below + (count - 1) // 2 : below + count // 2 + 1].mean()
    c = stats.norm.ppf((1 + of["conf"]) / 2) * np.sqrt(n * (n - 1) * (2 * n + 5) / 18)
    first = round((count - c) / 2)
    low, high = slopes[first - 1 + below], slopes[count - first + below]
    found = {"slope": middle, "intercept": np.median(y - middle * x)}
    return {"formula": found | ends("slope", low, high)}


@opinion("diagnostic_")
def diagnostic(of):
    tp, fp, fn, tn = of["tp"], of["fp"], of["fn"], of["tn"]
    found = {}
    for what, x, others in (
        ("sensitivity", tp, fn),
        ("specificity", tn, fp),
        ("positive predictive value", tp, fp),
        ("negative predictive value", tn, fn),
    ):
        n = x + others
        found[what] = x / n if n else None
        found |= ends(what, *(proportion_confint(x, n, method="beta") if n else (None, None)))
    return {"statsmodels": found}


@opinion("roc_")
def roc(of):
    """Areas by scipy's rank test; variances of DeLong (1988) from the matrix of all couples."""
    outcome = np.array(of["outcome_poor"], bool)
    library, formula = {}, {}
    for name in of:
        if name == "outcome_poor":
            continue
        score = np.array(of[name], float)
        high, low = score[outcome], score[~outcome]
        couples = np.greater.outer(high, low) + 0.5 * np.equal.outer(high, low)
        library[f"area of {name}"] = stats.mannwhitneyu(high, low).statistic / couples.size
        area, shares = couples.mean(), (couples.mean(axis=1), couples.mean(axis=0))
        is_known = min(map(len, shares)) > 1
        variance = sum(np.var(of_one, ddof=1) / len(of_one) for of_one in shares) if is_known else None
        cut = np.clip(area + Z * np.sqrt(variance) * np.array([-1, 1]), 0, 1) if is_known else (None, None)
        formula |= ends(f"area of {name}", *cut)
    return {"scipy": library, "formula": formula}
