"""Our statistics beside those of others, one line a figure.

    second_opinion.py --inputs                  the inputs of all cases, a list a line, for R
    second_opinion.py OURS.jsonl R.tsv          the table; fails where figures differ

OURS.jsonl is what the test our_answers_are_written_for_a_second_opinion writes, R.tsv what
second_opinion.R makes of the inputs.
"""

import csv
import json
import re
import sys
import warnings
from pathlib import Path

import opinions

ROW = "{:32} {:40} {:>20} {:>20} {:>6}  {:15} {}"
HERE = Path(__file__).parent
RELATIVE, ABSOLUTE = 1e-8, 1e-14

# Figures that others have to fewer digits: (case, what, source, relative, absolute, why).
LOOSER = [
    (".*", "change p", "formula", 1e-3, 1e-9, "two quadratures; ours is coarse and documented as an approximation"),
    ("chain_.*", ".*", "scipy", 0.0, 1e-5, "scipy integrates by random points"),
]

# Where conventions differ, or one of us has no answer: (case, what, source, by no more than, why).
# None: no bound, since one of the two is no number.
CONVENTIONS = [
    (
        "cuminc_aidssi",
        "F.* variance",
        "statsmodels|R survival",
        0.01,
        "theirs is the infinitesimal jackknife, ours that of Aalen (1978), a little larger",
    ),
    (
        "cuminc_(no_censoring|ties|tiny_by_hand)",
        "F.* variance",
        "statsmodels|R survival",
        0.8,
        "likewise, in groups of ten or fewer: ours is much larger, most of all where nobody is left",
    ),
    ("welch_no_spread", "difference.*", "scipy", None, "without any spread ours gives no difference of means"),
]


def cases():
    """As the test has them: each published file, then the odd ones; without what is expected."""
    folder = HERE.parent / "statistics"
    for file in [*sorted((folder / "published").glob("*.json")), folder / "odd.json"]:
        for case in json.loads(file.read_text()):
            yield {"id": case["id"], "inputs": case["inputs"]}


def lists(name, value):
    """Inputs taken apart into plain lists: strata.a, count.0, count.1, ..."""
    if isinstance(value, dict):
        for key, part in value.items():
            yield from lists(f"{name}.{key}" if name else key, part)
    elif isinstance(value, list) and value and isinstance(value[0], dict):
        yield from lists(name, {key: [row[key] for row in value] for key in value[0]})
    elif isinstance(value, list) and value and isinstance(value[0], list):
        yield from lists(name, dict(enumerate(value)))
    elif not isinstance(value, str):
        yield name, value if isinstance(value, list) else [value]


def listed(rows, case, what, source):
    """The row of LOOSER or CONVENTIONS for a figure, if there is one."""
    fits = lambda row: all(re.fullmatch(pattern, text) for pattern, text in zip(row, (case, what, source)))
    return next((row for row in rows if fits(row)), None)


def apart(ours, theirs):
    """Relative and absolute difference; None where they cannot be told or one is no number."""
    if isinstance(ours, (str, list)) or isinstance(theirs, (str, list)) or ours is None or opinions.is_none(theirs):
        is_same = ours == theirs or (ours is None and opinions.is_none(theirs))
        return (0.0, 0.0) if is_same else None
    difference = abs(ours - theirs)
    return difference / max(abs(ours), abs(theirs), 1e-300), difference


def shown(value):
    if opinions.is_none(value):
        return "none"
    return f"{value:.12g}" if isinstance(value, (int, float)) else str(value) or "nothing"


def main(ours_file, r_file):
    opinions.load()
    ours = {}
    for line in Path(ours_file).read_text().splitlines():
        row = json.loads(line)
        ours[row["case"], row["what"]] = row["value"]
    theirs = []
    for case in cases():
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            found = opinions.of(case)
        theirs += [(case["id"], what, value, source) for source, of in found.items() for what, value in of.items()]
    with open(r_file, newline="") as file:
        for case, what, value, source in csv.reader(file, delimiter="\t"):
            theirs.append((case, what, None if value == "NA" else float(value), source))

    counts_of, used, asked = dict.fromkeys(("the same", "convention", "differs"), 0), [], set()
    print(ROW.format("case", "what", "ours", "theirs", "apart", "source", ""))
    for case, what, value, source in sorted(theirs, key=lambda row: (row[0], row[1], row[3])):
        asked.add((case, what))
        our = ours.get((case, what), "not written")
        value = value.item() if hasattr(value, "item") else value
        difference = apart(our, value)
        looser, convention = listed(LOOSER, case, what, source), listed(CONVENTIONS, case, what, source)
        relative, absolute = looser[3:5] if looser else (RELATIVE, ABSOLUTE)
        if difference is not None and (difference[0] <= relative or difference[1] <= absolute):
            verdict = "the same"
        elif convention and (convention[3] is None or (difference is not None and difference[0] <= convention[3])):
            verdict = "convention"
            used.append(convention)
        else:
            verdict = "differs"
        counts_of[verdict] += 1
        distance = "-" if difference is None else f"{difference[0]:.0e}"
        print(ROW.format(case, what, shown(our), shown(value), distance, source, verdict))

    alone = sorted(set(ours) - asked)
    for case, what in alone:
        print(ROW.format(case, what, shown(ours[case, what]), "-", "-", "nobody", "no second opinion"))
    idle = [row for row in CONVENTIONS if row not in used]
    for row in idle:
        print(f"nothing differs by this convention: {row}")
    print(f"the same: apart by no more than {RELATIVE} of the larger, or {ABSOLUTE}")
    for row in LOOSER:
        print(f"looser: {row[0]}, {row[1]}, {row[2]}: {row[3]} or {row[4]}: {row[5]}")
    for row in CONVENTIONS:
        print(f"convention: {row[0]}, {row[1]}, {row[2]}: {row[4]}")
    print(
        f"{len(ours)} figures, {len(theirs)} opinions: {counts_of['the same']} the same, "
        f"{counts_of['convention']} by another convention, {counts_of['differs']} differ; {len(alone)} without opinion"
    )
    return 1 if counts_of["differs"] or alone or idle or not theirs else 0


if __name__ == "__main__":
    if sys.argv[1:] == ["--inputs"]:
        for case in cases():
            for name, values in lists("", case["inputs"]):
                print(case["id"], name, *(repr(v) if v is not None else "NA" for v in values), sep="\t")
    else:
        sys.exit(main(*sys.argv[1:]))
