"""Times until an event."""

import numpy as np
from statsmodels.duration.survfunc import CumIncidenceRight, SurvfuncRight, survdiff
from statsmodels.stats.proportion import proportion_confint

from . import Z, ends, named, opinion


@opinion("km_")
def kaplan_meier(of):
    if not any(of["event"]):
        return {"no event": {"steps": 0}}
    curve = SurvfuncRight(of["time"], of["event"])
    found = {f"S({named(t)})": share for t, share in zip(curve.surv_times, curve.surv_prob)}
    return {"statsmodels": found | {"steps": len(curve.surv_times)}}


@opinion("logrank_")
def log_rank(of):
    group = [0] * len(of["time_A"]) + [1] * len(of["time_B"])
    _, p = survdiff(of["time_A"] + of["time_B"], of["event_A"] + of["event_B"], group)
    return {"statsmodels": {"p": p}}


@opinion("cuminc_")
def incidence(of):
    """Incidences by statsmodels; variances by the sum of Aalen (1978), one term a time and cause."""
    time, status = np.array(of["time"], float), np.array(of["status"])
    library, formula = {}, {}
    for cause in (1, 2):
        moments = np.unique(time)
        at_risk = np.array([(time >= t).sum() for t in moments])
        ended = np.array([((time == t) & (status == cause)).sum() for t in moments])
        others = np.array([((time == t) & (status == 3 - cause)).sum() for t in moments])
        after = np.cumprod(1 - (ended + others) / at_risk)
        before = np.r_[1.0, after[:-1]]
        curve = np.cumsum(before * ended / at_risk)

        def variance(last):
            total = 0.0
            for u in range(last + 1):
                ahead = (curve[last] - curve[u]) / after[u] if after[u] > 0 else 0.0
                for count, part in ((ended[u], 1 - ahead), (others[u], ahead)):
                    ties = (at_risk[u] - count) / (at_risk[u] - 1) if count > 1 else 1.0
                    total += (before[u] / at_risk[u]) ** 2 * part**2 * count * ties
            return total

        def interval(f, v):
            if f <= 1e-12 or f >= 1 - 1e-12:
                return None
            half = Z * np.sqrt(v) / ((1 - f) * np.log(1 - f))
            return sorted((1 - (1 - f) ** np.exp(half), 1 - (1 - f) ** np.exp(-half)))

        # statsmodels numbers causes by the largest it finds; where none happened it has no curve.
        theirs = CumIncidenceRight(time, status) if status.max() >= cause else None
        for t in map(float, of.get("eval_t", of["time"])):
            what = f"F{cause}({named(t)})"
            last = int((moments <= t).sum()) - 1
            happened = [i for i in range(last + 1) if ended[i] > 0]
            f, v = (curve[happened[-1]], variance(happened[-1])) if happened else (0.0, 0.0)
            formula |= {what: f, f"{what} variance": v}
            known = (status > 0) | (time >= t)
            count = ((status == cause) & (time <= t)).sum()
            formula |= ends(what, *(interval(f, v) or proportion_confint(count, known.sum(), method="wilson")))
            if theirs is not None:
                i = np.searchsorted(theirs.times, t, side="right") - 1
                library[what] = theirs.cinc[cause - 1][i] if i >= 0 else 0.0
                # It divides by those left, so it has none where nobody is.
                if happened and after[happened[-1]] > 1e-12:
                    library[f"{what} variance"] = theirs.cinc_se[cause - 1][happened[-1]] ** 2

        steps = [(moments[i], curve[i], interval(curve[i], variance(i))) for i in range(len(moments)) if ended[i]]
        first = lambda those: next(iter(those), None)
        formula[f"median of {cause}"] = first(t for t, f, _ in steps if f >= 0.5 - 1e-12)
        lower = first(t for t, _, of_step in steps if of_step and of_step[1] >= 0.5)
        upper = first(t for t, _, of_step in steps if of_step and of_step[0] >= 0.5)
        formula |= ends(f"median of {cause}", lower, upper)
    return {"statsmodels": library, "formula": formula}
