"""DuckDB beside `siskin ask`: the same counts after each of three loads with
corrections, and while a fourth is being made. Usage: readers.py SISKIN SAMPLE WORK"""

import json
import shutil
import subprocess
import sys
from pathlib import Path

import duckdb

siskin, sample, work = sys.argv[1:4]
warehouse = Path(work) / "readers"
shutil.rmtree(warehouse, ignore_errors=True)
warehouse.mkdir(parents=True)
shutil.copy(Path(sample) / "protocol.toml", warehouse)
months = ["2024-10", "2024-11", "2024-12", "2025-01"]
ends = ["2024-11-01", "2024-12-01", "2025-01-01", "2025-02-01"]
tables = ["births", "screens", "serum", "phototherapy", "stays", "exchanges", "meter_checks"]
db = duckdb.connect()
passed = failed = 0


def check(what, found, expected):
    global passed, failed
    if found == expected:
        passed += 1
    else:
        failed += 1
        print(f"{what}: found {found}, expected {expected}")


def load(place):
    files = str(Path(sample) / "extracts" / months[place])
    through = f"{ends[place]}T00:00"
    return subprocess.Popen(
        [siskin, "--quiet", "load", "--warehouse", str(warehouse), "--through", through, files],
        stderr=subprocess.PIPE,
        text=True,
    )


def ask(sql):
    told = subprocess.run(
        [siskin, "ask", "--warehouse", str(warehouse), sql, "--format", "json"],
        capture_output=True,
        text=True,
    )
    if told.returncode != 0:
        sys.exit(f"{sql}\n{told.stderr}")
    return [list(row.values()) for row in json.loads(told.stdout)]


def duck(sql):
    """Answers a question over the snapshot that `current` names now, resolved once."""
    snapshot = (warehouse / "current").resolve()
    for table in tables:
        glob = f"{snapshot}/{table}/**/*.parquet"
        # A table without rows has no files.
        source = "select null::varchar as row_id where false"
        if any((snapshot / table).rglob("*.parquet")):
            source = f"select * from read_parquet('{glob}', hive_partitioning = true)"
        db.sql(f"create or replace view {table} as {source}")
    return [list(row) for row in db.sql(sql).fetchall()], int(snapshot.name)


questions = [f"select count(*) as n, count(distinct row_id) as ids from {table}" for table in tables] + [
    "select month, count(*) as n, sum(value_micro) as total from screens group by month order by month",
    "select month, status, count(*) as n, sum(value_micro) as total from serum group by month, status order by month, status",
    "select source, disposition, count(*) as n from stays group by source, disposition order by source, disposition",
    "select count(*) as n, sum(age_s) as ages from judged_screens",
]
tables.append("judged_screens")

for place in range(3):
    done = load(place)
    _, told = done.communicate()
    check(f"load {place + 1} {told}", done.returncode, 0)
    for question in questions:
        found, _ = duck(question)
        asked = ask(question)
        plain = lambda rows: sorted([str(cell) for cell in row] for row in rows)
        check(question, plain(found), plain(asked))
replaced = "select (select count(*) from versions_{0}) - (select count(*) from {0}) as n"
for table in ["serum", "stays", "phototherapy"]:
    check(f"later versions of {table} were loaded", ask(replaced.format(table))[0][0] > 0, True)
check("rows came twice", ask("select sum(duplicate) as n from ledger")[0][0] > 0, True)

count = questions[1]
before = duck(count)[0]
seen = []
running = load(3)
while running.poll() is None:
    seen.append(duck(count))
    if len(seen) % 10 == 0:
        seen.append((ask(count), None))
after = duck(count)[0]
check(f"load 4 {running.stderr.read()}", running.returncode, 0)
check("load 4 brought screens", after != before, True)
check("DuckDB read while the load ran", len(seen) > 5, True)
for found, snapshot in seen:
    expected = {None: (before, after), 3: (before,), 4: (after,)}[snapshot]
    check(f"counts while load 4 ran, snapshot {snapshot}", found in expected, True)
check("DuckDB and ask afterwards", after, ask(count))

print(f"{passed} passed, {failed} failed; {len(seen)} readings while a load ran")
sys.exit(1 if failed else 0)
