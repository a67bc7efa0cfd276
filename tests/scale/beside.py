"""Times siskin beside DuckDB on the same invented extracts: CPU seconds, wall seconds, peak memory.

DuckDB does the same work: it reads the CSV files, drops rows that are repeated, keeps the last
version of each id and writes Parquet by month; then it runs siskin's own SQL for the derived tables
and the measures, in its dialect, on the tables siskin stored, and must count the same cases.

Usage: beside.py SISKIN FOLDER BIRTHS_A_MONTH...
"""

import json
import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

import worked

MONTHS = 24
ENDING = "2026-09"
THROUGH = "2026-10-01T00:00"


def timed(*command):
    """Runs a command; returns its CPU seconds, wall seconds and peak memory in MB."""
    began = time.monotonic()
    child = subprocess.Popen([str(part) for part in command], stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode != 0:
        raise SystemExit(f"{' '.join(map(str, command))} ended with {child.returncode}")
    return used.ru_utime + used.ru_stime, time.monotonic() - began, used.ru_maxrss / 1024


def rows_of(folder):
    return sum(sum(1 for _ in open(path, "rb")) - 1 for path in folder.glob("*/*.csv"))


def warehouse(folder, protocol):
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    shutil.copy(protocol, folder / "protocol.toml")
    return folder


def compared(siskin, work, births):
    own = work / f"{births}"
    extracts = own / "extracts"
    protocol = Path("sample-warehouse/protocol.toml")
    if not extracts.exists():
        size = ["--births-per-month", births, "--months", MONTHS, "--ending", ENDING, "--seed", 5]
        timed(siskin, "--quiet", "invent", "--out", extracts, "--protocol", protocol, *size)
    rows = rows_of(extracts)
    files = sorted(str(path) for path in extracts.iterdir() if path.is_dir())
    load = ["--quiet", "load", "--through", THROUGH]

    here = Path(__file__).parent
    python = [sys.executable, here / "worked.py"]
    told = []

    dry = timed(siskin, *load, "--dry-run", "--warehouse", warehouse(own / "dry", protocol), *files)
    shutil.rmtree(own / "duckdb", ignore_errors=True)
    other = timed(*python, "load", extracts, own / "duckdb")
    told.append(("read, settle, store", dry, other))

    home = warehouse(own / "warehouse", protocol)
    whole = timed(siskin, *load, "--warehouse", home, *files)
    other = timed(*python, "measure", home, own / "counts.json")
    told.append(("derive, measure", tuple(a - b for a, b in zip(whole[:2], dry[:2])) + (whole[2],), other))

    report = timed(siskin, "--quiet", "report", "--warehouse", home, "--month", ENDING, "--out", own / "reports")
    told.append(("report", report, None))

    folders = files[:-1]
    part = warehouse(own / "part", protocol)
    timed(siskin, "--quiet", "load", "--warehouse", part, "--through", "2026-09-01T00:00", *folders)
    month = timed(siskin, *load, "--warehouse", part, files[-1])
    told.append(("one month onto 23", month, None))

    ours = worked.cases(home)
    differing = worked.differing(ours, json.loads((own / "counts.json").read_text()))
    print(f"\n{births} births a month, {rows:,} rows; cases counted alike: {len(ours) - len(differing)} of {len(ours)}")
    print("\n".join(differing), end="")
    print(f"{'':22}{'siskin CPU s':>14}{'wall s':>8}{'peak MB':>9}{'us a row':>10}{'DuckDB CPU s':>14}{'ratio':>8}")
    for what, (cpu, wall, peak), other in told:
        beside = f"{other[0]:14.1f}{cpu / other[0]:8.2f}" if other else ""
        print(f"{what:22}{cpu:14.1f}{wall:8.1f}{peak:9.0f}{cpu / rows * 1e6:10.1f}{beside}", flush=True)
    if differing:
        raise SystemExit("the two do not count the same")


def main():
    siskin, work = sys.argv[1], Path(sys.argv[2])
    for births in " ".join(sys.argv[3:]).split():
        compared(siskin, work, births)


main()
