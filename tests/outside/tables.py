"""An outside reader of the warehouse: DuckDB on the Parquet files, statsmodels
on the figures. Usage: tables.py WAREHOUSE REPORT FOLLOW_UPS_CSV"""

import csv
import json
import sys
from collections import Counter
from pathlib import Path

import duckdb
import numpy as np
from scipy.stats import chi2, t
from statsmodels.regression.linear_model import OLS
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint

warehouse, report, follow_ups = sys.argv[1:4]
# Resolved once: a load meanwhile makes another folder and leaves this one alone.
snapshot = (Path(warehouse) / "current").resolve()
figures = json.loads((Path(report) / "measures.json").read_text())
db = duckdb.connect()
failed = 0
passed = 0


def check(what, found, expected):
    global failed, passed
    if found == expected:
        passed += 1
    else:
        failed += 1
        print(f"{what}: found {found}, expected {expected}")


def table(name):
    return f"read_parquet('{snapshot}/{name}/**/*.parquet', hive_partitioning = true)"


def one(sql):
    return db.sql(sql).fetchall()[0][0]


manifest = json.loads((snapshot / "manifest.json").read_text())
for name, entry in manifest["tables"].items():
    if entry["files"]:
        rows = sum(f["rows"] for f in entry["files"])
        check(f"rows of {name}", one(f"select count(*) from {table(name)}"), rows)

# The ledger balances, and its fates are those of the rows that are there.
fates = "kept + superseded + duplicate + withdrawn + held + set_aside"
check("ledger lines out of balance", one(f"select count(*) from {table('ledger')} where rows_in <> {fates}"), 0)
check(
    "rows in the month folder of another month",
    one(f"select count(*) from {table('screens')} where month <> local_month"),
    0,
)
for name, key in [("births", "infant_id"), ("screens", "screen_id"), ("serum", "specimen_id"), ("stays", "stay_id")]:
    check(f"ids of {name} that stand twice", one(f"select count(*) - count(distinct {key}) from {table(name)}"), 0)

# Ages are elapsed hours whatever the clock did.
check(
    "ages that are not elapsed time",
    one(
        f"""select count(*) from {table('judged_screens')} j join {table('births')} b using (infant_id)
        where j.age_s <> epoch(to_timestamp(j.measured_s)) - epoch(b.born_at)"""
    ),
    0,
)

# Numerators and denominators, counted again from the derived rows.
month = figures[0]["month"]
for figure in (f for f in figures if f["month"] == month and f["split"] in ("all", "unit")):
    unit = "" if figure["split"] == "all" else f"and unit = '{figure['group']}'"
    name = figure["measure"]
    if name in ("missed_referral", "referral_in_time"):
        outcome = "missed" if name == "missed_referral" else "in_time"
        rows = f"from {table('referral_episodes')} where month = '{month}' and kind = 'due' {unit}"
        check(f"{name} {unit}", one(f"select count(*) {rows} and outcome = '{outcome}'"), figure["numerator"])
        decided = "outcome in ('in_time', 'late', 'missed')"
        check(f"{name} {unit} of", one(f"select count(*) {rows} and {decided}"), figure["denominator"])
    if name.startswith("recheck_adherence_"):
        rule = name.removeprefix("recheck_adherence_")
        rows = f"from {table('recheck_obligations')} where month = '{month}' and rule = '{rule}' {unit}"
        check(f"{name} {unit}", one(f"select count(*) {rows} and outcome = 'on_time'"), figure["numerator"])
    if name.startswith("jaundice_readmission_"):
        days = int(name.removeprefix("jaundice_readmission_").removesuffix("d"))
        # Home by the age, and either back, or followed to it without having died by it.
        rows = f"""from {table('readmissions')} where month = '{month}' and state = 'home' {unit}
            and home_age_s <= {days * 86400} and followed_s >= {days * 86400}
            and (readmitted_age_s <= {days * 86400} or coalesce(died_age_s > {days * 86400}, true))"""
        check(f"{name} {unit}", one(f"select count(*) {rows} and readmitted_age_s <= {days * 86400}"), figure["numerator"])
        check(f"{name} {unit} of", one(f"select count(*) {rows}"), figure["denominator"])

def close(found, expected):
    return found is not None and abs(found - expected) < 1e-9 * max(1, abs(expected))


# Figures whose cases are alike within a cluster: the cases they are stored as, the names that count, those
# they count among, and the further name that makes a case count.
FLAGS = ["gestation_below_limit", "age_below_limit", "outpatient_14_days", "outpatient_not_sternum", "few_readings", "typed_identity", "after_phototherapy"]
CLUSTERED = {
    "time_to_treatment": ("time_to_treatment", ["in_time"], ["late", "none"], None),
    "untreated_6h": ("time_to_treatment", ["late", "none"], ["in_time"], None),
    "untreated_24h": ("time_to_treatment", ["none"], ["in_time", "late"], None),
    "treatment_below_line": ("treatment_below_line", ["near_below", "below", "no_serum"], ["above"], None),
    "off_limit_referral_missed": ("off_limit_referral", ["missed"], ["in_time", "late"], None),
    "off_limit_referral_in_time": ("off_limit_referral", ["in_time"], ["late", "missed"], None),
    "failed_specimens": ("failed_specimens", ["failed"], ["valid"], None),
    "dangerous_miss": ("dangerous_miss", ["above_line"], ["not_above_line"], None),
    "unverified_readings": ("unverified_readings", ["unverified"], ["verified"], None),
    "screens_outside_limits": ("screens_outside_limits", ["flagged"], ["not_flagged"], None),
    **{f"screens_outside_limits_{flag}": ("screens_outside_limits", ["flagged"], ["not_flagged"], flag) for flag in FLAGS},
}


# Figures of time to treatment that count by a further name: the name, and its other side.
FURTHER = {"never_treated": ("never", "treated"), "treated_first": ("lamps_first", "serum_first")}


def cases_of(name, unit):
    """Cluster and outcome, true or false, of each case of a figure."""
    if name.startswith("recheck_adherence_"):
        return db.sql(
            f"""select infant_id, outcome = 'on_time' from {table('recheck_obligations')}
            where month = '{month}' and rule = '{name.removeprefix('recheck_adherence_')}' {unit}
            and outcome in ('on_time', 'late', 'early_only', 'none') order by infant_id"""
        ).fetchall()
    if name in FURTHER:
        word, other = FURTHER[name]
        words = "string_split(coalesce(also, ''), ' ')"
        return db.sql(
            f"""select infant_id, list_contains({words}, '{word}') from {table('cases')} where month = '{month}' {unit}
            and figure = 'time_to_treatment' and list_has_any({words}, ['{word}', '{other}']) order by infant_id"""
        ).fetchall()
    stored, counted, others, flag = CLUSTERED[name]
    listed = ", ".join(f"'{word}'" for word in counted)
    among = ", ".join(f"'{word}'" for word in counted + others)
    flagged = f"and list_contains(string_split(coalesce(also, ''), ' '), '{flag}')" if flag else ""
    # `flag:reason` leaves a case out of the figure of the flag.
    known = f"and not contains(concat(' ', coalesce(also, '')), ' {flag}:')" if flag else ""
    return db.sql(
        f"""select coalesce(cluster_id, infant_id) as cluster_key, name in ({listed}) {flagged} from {table('cases')}
        where month = '{month}' and figure = '{stored}' and kind = 'outcome' and name in ({among}) {known} {unit}
        order by cluster_key"""
    ).fetchall()


def clustered(name, unit):
    """Wilson's interval of as many trials as the cases are worth, by the errors of statsmodels' least
    squares clustered by baby or meter-day (Korn and Graubard 1998)."""
    rows = cases_of(name, unit)
    clusters, outcome = [row[0] for row in rows], [float(row[1]) for row in rows]
    n, m, p = len(rows), len(set(clusters)), sum(outcome) / len(rows)
    if m == 1 or p in (0, 1):
        # Alike within a cluster, as nothing shows otherwise (Kish 1965).
        trials = n**2 / sum(size**2 for size in Counter(clusters).values())
    else:
        fit = OLS(outcome, np.ones(n)).fit(cov_type="cluster", cov_kwds={"groups": np.unique(clusters, return_inverse=True)[1]})
        effect = max(1.0, fit.bse[0] ** 2 / (np.var(outcome, ddof=1) / n))
        trials = n / effect * (t.ppf(0.975, n - 1) / t.ppf(0.975, m - 1)) ** 2
    return proportion_confint(p * trials, trials, method="wilson")


def agreement(name, unit):
    """Mean difference of first pairs, or a limit, with its interval: Bland and Altman 1999."""
    rows = db.sql(
        f"select difference_micro / 1e6 from {table('pairs')} where month = '{month}' and is_first_of_baby {unit}"
    ).fetchall()
    differences = np.array([row[0] for row in rows])
    n, mean = len(differences), differences.mean()
    sd = differences.std(ddof=1)
    value = {"meter_bias": mean, "meter_bias_lower_limit": mean - 1.96 * sd}.get(name, mean + 1.96 * sd)
    error = sd / n**0.5 if name == "meter_bias" else sd * (1 / n + 1.96**2 / (2 * (n - 1))) ** 0.5
    half = t.ppf(0.975, n - 1) * error
    return value, value - half, value + half


def is_clustered(name):
    return name.startswith("recheck_adherence_") or name in FURTHER or name in CLUSTERED


# Wilson intervals: statsmodels proportion_confint(method="wilson"). Rates for each thousand
# births: exact Poisson limits from scipy's chi-square quantiles (Garwood 1936). Groups other than
# units are counted from cases that no stored row names, so clusters and differences of these are
# left to the tests; curves and medians to R and the second opinion.
intervals = 0
for figure in figures:
    name = figure["measure"]
    if figure["lower"] is None or name.startswith("time_to_") and name != "time_to_treatment" or name.endswith("_median"):
        continue
    unit = "" if figure["split"] == "all" else f"and unit = '{figure['group']}'"
    if is_clustered(name) or name.startswith("meter_bias"):
        if figure["split"] not in ("all", "unit"):
            continue
        if name.startswith("meter_bias"):
            value, lower, upper = agreement(name, unit)
            check(f"{name} {figure['group']}", close(figure["value"], value), True)
        else:
            lower, upper = clustered(name, unit)
    elif name.startswith("severe_jaundice") or name == "rapid_rise":
        cases, births = figure["numerator"], figure["denominator"]
        lower = chi2.ppf(0.025, 2 * cases) / 2 / births * 1000 if cases else 0.0
        upper = chi2.ppf(0.975, 2 * cases + 2) / 2 / births * 1000
    else:
        lower, upper = proportion_confint(figure["numerator"], figure["denominator"], method="wilson")
    holds = close(figure["lower"], lower) and close(figure["upper"], upper)
    check(f"interval of {name} {figure['group']}", holds, True)
    intervals += 1
check("intervals were there to compare", intervals > 500, True)

# Differences of a group from the rest: statsmodels' Newcombe interval.
differences = 0
for figure in (f for f in figures if f["difference"] is not None and not is_clustered(f["measure"])):
    rest = [
        f
        for f in figures
        if f is not figure
        and (f["measure"], f["month"], f["split"]) == (figure["measure"], figure["month"], figure["split"])
    ]
    n, of = sum(f["numerator"] for f in rest), sum(f["denominator"] for f in rest)
    lower, upper = confint_proportions_2indep(
        figure["numerator"], figure["denominator"], n, of, method="newcomb", compare="diff"
    )
    value = figure["numerator"] / figure["denominator"] - n / of
    holds = close(figure["difference"], value)
    holds = holds and close(figure["difference_lower"], lower) and close(figure["difference_upper"], upper)
    check(f"difference of {figure['measure']} {figure['group']}", holds, True)
    differences += 1
check("differences were there to compare", differences > 100, True)

# Groups of a split add up to the whole network.
for name in ("missed_referral", "screening_coverage", "recheck_adherence_rebound", "dangerous_miss"):
    of_name = [f for f in figures if f["measure"] == name]
    whole = next(f for f in of_name if f["split"] == "all")
    for split in ("unit", "gestation", "skin_tone", "ethnicity", "feeding", "weekend", "night"):
        groups = [f for f in of_name if f["split"] == split]
        for count in ("numerator", "denominator", "open"):
            check(f"{name} by {split}: {count}", sum(f[count] for f in groups), whole[count])

# Follow-ups for R.
rows = db.sql(
    f"""select unit, serum_time_s, case serum_ended_by when 'serum' then 1 when 'competing' then 2 else 0 end
    from {table('referral_episodes')} where month = '{month}' and kind = 'due'
    and serum_ended_by not in ('disposition_unknown', 'recent_serum')"""
).fetchall()
with open(follow_ups, "w", newline="") as file:
    writer = csv.writer(file)
    writer.writerow(["unit", "time_s", "status"])
    writer.writerows(rows)

print(f"{passed} passed, {failed} failed")
sys.exit(1 if failed or passed < 50 else 0)
