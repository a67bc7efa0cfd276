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
    formula = {"bias": d.mean(), "bias error": sd / np.sqrt(n), "sd": sd, "limit error": error}
    formula |= about("bias", d.mean(), t * sd / np.sqrt(n)) | about("limits", d.mean(), 1.96 * sd)
    formula |= about("lower limit", d.mean() - 1.96 * sd, t * error)
    formula |= about("upper limit", d.mean() + 1.96 * sd, t * error)
    formula["bias p"] = 0.0 if sd == 0 else stats.ttest_1samp(d, 0).pvalue
    names = ["slope", "slope error", "slope p", "slope.lower", "slope.upper", "intercept"]
    if n < 3:
        return {"scipy": formula, "too few": dict.fromkeys(names)}
    fit = OLS(d, add_constant((a + b) / 2)).fit()
    values = [fit.params[1], fit.bse[1], fit.pvalues[1], *fit.conf_int()[1], fit.params[0]]
    return {"scipy": formula, "statsmodels": dict(zip(names, values))}


@opinion("repeated_")
def repeated(of):
    """Zou (2013): variance recovery from chi-square limits of the two components."""
    d = [np.array([a - b for a, b in baby], float) for baby in of["babies"]]
    means, k, n = np.array([x.mean() for x in d]), len(d), sum(map(len, d))
    one_minus = 1 - np.mean([1 / len(x) for x in d])
    between_means = means.var(ddof=1)
    within = sum(((x - x.mean()) ** 2).sum() for x in d) / (n - k) if n > k else None

    def limits_of(variance, degrees):
        quantiles = stats.chi2.ppf([0.975, 0.025], degrees)
        return variance * degrees / quantiles

    parts = [(between_means, limits_of(between_means, k - 1))]
    if within is not None:
        parts.append((one_minus * within, one_minus * limits_of(within, n - k)))
    total = sum(value for value, _ in parts)
    low = total - np.sqrt(sum((value - limit[0]) ** 2 for value, limit in parts))
    high = total + np.sqrt(sum((limit[1] - value) ** 2 for value, limit in parts))
    bias, sd, error = means.mean(), np.sqrt(total), np.sqrt(between_means / k)
    inwards = np.hypot(Z * error, 1.96 * (sd - np.sqrt(max(low, 0))))
    outwards = np.hypot(Z * error, 1.96 * (np.sqrt(high) - sd))
    found = {"bias": bias, "bias error": error, "sd": sd, "between": None, "within": None}
    if within is not None:
        between = max(0.0, between_means - (1 - one_minus) * within)
        found |= {"between": np.sqrt(between), "within": np.sqrt(within)}
    found |= about("bias", bias, stats.t.ppf(0.975, k - 1) * error) | about("limits", bias, 1.96 * sd)
    found |= ends("lower limit", bias - 1.96 * sd - outwards, bias - 1.96 * sd + inwards)
    return {"formula": found | ends("upper limit", bias + 1.96 * sd - inwards, bias + 1.96 * sd + outwards)}


@opinion("lin_ccc_")
def concordance(of):
    """Lin (1989, 2000)."""
    a, b = np.array(of["a"], float), np.array(of["b"], float)
    n, (sxx, syy), sxy = len(a), (a.var(), b.var()), np.mean((a - a.mean()) * (b - b.mean()))
    shift = b.mean() - a.mean()
    c = 2 * sxy / (sxx + syy + shift**2)
    found = {"concordance": c, "accuracy": 2 * np.sqrt(sxx * syy) / (sxx + syy + shift**2)}
    if sxx * syy == 0:
        return {"formula": found | ends("concordance", None, None) | {"location shift": None, "scale shift": None}}
    r, u = sxy / np.sqrt(sxx * syy), shift / (sxx * syy) ** 0.25
    found |= {"location shift": u, "scale shift": np.sqrt(syy / sxx)}
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
        names = [f"{name}{part}" for name in found for part in (" error", " jackknife mean", ".lower", ".upper")]
        return {"singular values": found | dict.fromkeys(names)}
    without = np.array([main_axis(np.delete(x, i), np.delete(y, i), of["lambda"]) for i in range(n)])
    pseudo = n * whole - (n - 1) * without
    errors = pseudo.std(axis=0, ddof=1) / np.sqrt(n)
    for i, name in enumerate(("intercept", "slope")):
        found |= {f"{name} error": errors[i], f"{name} jackknife mean": pseudo[:, i].mean()}
        found |= about(name, whole[i], stats.t.ppf(0.975, n - 2) * errors[i])
    return {"singular values": found}


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
    found = {"slopes": count, "below -1": below, "slope": middle, "intercept": np.median(y - middle * x)}
    found |= ends("slope", low, high) | ends("intercept", np.median(y - high * x), np.median(y - low * x))
    return {"formula": found}


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
        formula[f"area of {name} variance"] = variance
        cut = np.clip(area + Z * np.sqrt(variance) * np.array([-1, 1]), 0, 1) if is_known else (None, None)
        formula |= ends(f"area of {name}", *cut)
    return {"scipy": library, "formula": formula}
