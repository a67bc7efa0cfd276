"""An outside reader of the warehouse: DuckDB on the Parquet files, statsmodels
on the figures. Usage: tables.py WAREHOUSE REPORT FOLLOW_UPS_CSV"""

import csv
import json
import sys
from pathlib import Path

import duckdb
from scipy.stats import chi2
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
        rows = f"from {table('referral_episodes')} where month = '{month}' {unit}"
        check(f"{name} {unit}", one(f"select count(*) {rows} and outcome = '{outcome}'"), figure["numerator"])
        decided = "outcome in ('in_time', 'late', 'missed')"
        check(f"{name} {unit} of", one(f"select count(*) {rows} and {decided}"), figure["denominator"])
    if name.startswith("recheck_adherence_"):
        rule = name.removeprefix("recheck_adherence_")
        rows = f"from {table('recheck_obligations')} where month = '{month}' and rule = '{rule}' {unit}"
        check(f"{name} {unit}", one(f"select count(*) {rows} and outcome = 'on_time'"), figure["numerator"])
    if name.startswith("jaundice_readmission_"):
        days = int(name.removeprefix("jaundice_readmission_").removesuffix("d"))
        rows = f"from {table('readmissions')} where month = '{month}' and state = 'home' {unit}"
        check(f"{name} {unit}", one(f"select count(*) {rows} and readmitted_age_s <= {days * 86400}"), figure["numerator"])
        check(f"{name} {unit} of", one(f"select count(*) {rows}"), figure["denominator"])

def close(found, expected):
    return found is not None and abs(found - expected) < 1e-9 * max(1, abs(expected))


# Wilson intervals: statsmodels proportion_confint(method="wilson"). Rates for each thousand
# births: exact Poisson limits from scipy's chi-square quantiles (Garwood 1936).
for figure in figures:
    if figure["lower"] is None:
        continue
    if figure["measure"].startswith("severe_jaundice"):
        cases, births = figure["numerator"], figure["denominator"]
        lower = chi2.ppf(0.025, 2 * cases) / 2 / births * 1000 if cases else 0.0
        upper = chi2.ppf(0.975, 2 * cases + 2) / 2 / births * 1000
    else:
        lower, upper = proportion_confint(figure["numerator"], figure["denominator"], method="wilson")
    holds = close(figure["lower"], lower) and close(figure["upper"], upper)
    check(f"interval of {figure['measure']} {figure['group']}", holds, True)

# Differences of a group from the rest: statsmodels' Newcombe interval.
differences = 0
for figure in (f for f in figures if f["difference"] is not None):
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
    from {table('referral_episodes')} where month = '{month}' and serum_ended_by <> 'disposition_unknown'"""
).fetchall()
with open(follow_ups, "w", newline="") as file:
    writer = csv.writer(file)
    writer.writerow(["unit", "time_s", "status"])
    writer.writerows(rows)

print(f"{passed} passed, {failed} failed")
sys.exit(1 if failed or passed < 50 else 0)
