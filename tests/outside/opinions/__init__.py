"""What others make of a case's inputs: libraries, or plain formulas written from the source.

Each function answers the cases whose id begins with one of its starts (the longest counts). It
takes the inputs and returns, by source, what it found by name; None (or NaN, or infinite) where
there is no such figure. Nothing here reads what is expected, or our own code.
"""

import importlib
import math

FAMILIES = ["agreement", "charts", "comparison", "counts", "regression", "survival"]
OPINIONS = []
Z = 1.959963984540054


def opinion(*starts):
    def register(function):
        OPINIONS.extend((start, function) for start in starts)
        return function

    return register


def load():
    """Each family registers its functions. Apart, since the libraries take seconds."""
    for family in FAMILIES:
        importlib.import_module(f".{family}", __name__)


def of(case):
    """All opinions on a case, by source and name."""
    found = [(len(start), function) for start, function in OPINIONS if case["id"].startswith(start)]
    return max(found, key=lambda one: one[0])[1](case["inputs"]) if found else {}


def ends(what, lower, upper):
    return {f"{what}.lower": lower, f"{what}.upper": upper}


def about(what, value, half):
    return ends(what, value - half, value + half)


def named(number):
    """A number as our program names it: 3, not 3.0."""
    return str(int(number)) if float(number).is_integer() else repr(float(number))


def is_none(value):
    return value is None or (isinstance(value, float) and not math.isfinite(value))
