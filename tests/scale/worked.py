"""What DuckDB does beside siskin.

`load EXTRACTS OUT` reads, settles and stores CSV files; `measure WAREHOUSE COUNTS.json` runs the SQL of
the derived tables and the measures; `check WAREHOUSE` fails when it counts other cases than siskin did.
"""

import json
import re
import sys
from pathlib import Path

import duckdb

# The id of a row, and the columns that say which of its versions is the last.
TABLES = {
    "births": ("infant_id", ""),
    "screens": ("screen_id", ""),
    "serum": (
        "specimen_id",
        "case status when 'preliminary' then 1 when 'final' then 2 when 'corrected' then 3 else 4 end desc, "
        "resulted_at desc nulls last, ",
    ),
    "phototherapy": ("episode_id", ""),
    "stays": ("stay_id", ""),
    "exchanges": ("exchange_id", ""),
    "meter_checks": ("check_id", ""),
}
MOMENTS = {
    "births": "born_at",
    "screens": "measured_at",
    "serum": "collected_at",
    "phototherapy": "started_at",
    "stays": "admitted_at",
    "exchanges": "performed_at",
    "meter_checks": "checked_at",
}
TYPES = {"utf8": "varchar", "int64": "bigint", "bool": "boolean", "float64": "double", "date": "date"}


def connected():
    connection = duckdb.connect()
    connection.execute("set threads = 2; set memory_limit = '1GB'; set preserve_insertion_order = false; set integer_division = true")
    connection.execute("create macro to_char(day, format) as strftime(day, format)")
    return connection


def load(extracts, out):
    connection = connected()
    out.mkdir(parents=True)
    for table, (row_id, order) in TABLES.items():
        # Repeated rows go, of several versions the last stays, all in one file a month.
        connection.execute(f"""
            copy (
              select * exclude (place) from (
                select
                  *, substr({MOMENTS[table]}, 1, 7) as month,
                  row_number() over (partition by {row_id} order by {order} filename desc) as place
                from (
                  select distinct * exclude (filename), max(filename) as filename
                  from read_csv('{extracts}/*/{table}.csv', all_varchar = true, filename = true)
                  group by all
                )
              )
              where place = 1
            ) to '{out}/{table}' (format parquet, partition_by (month), compression zstd)
        """)


def snapshot(warehouse):
    return (warehouse / "current").resolve()


def add(connection, folder, table, entry):
    """Shows DuckDB a table that siskin stored, with the types of its manifest."""
    partition = entry.get("partition")
    kind = "bigint" if partition == "load" else "varchar"
    if not entry["files"]:
        columns = [f"{c['name']} {TYPES.get(c['type'], 'varchar')}" for c in entry["columns"]]
        columns += [f"{partition} {kind}"] if partition else []
        connection.execute(f"create table {table} ({', '.join(columns)})")
        return
    hive = f", hive_partitioning = true, hive_types = {{'{partition}': {kind}}}" if partition else ""
    files = [str(folder / file["path"]) for file in entry["files"]]
    connection.execute(f"create view {table} as select * from read_parquet({files}{hive})")


def adapted(sql):
    """The SQL of a query in DuckDB's dialect."""
    sql = sql.replace("left anti join", "anti join").replace("left semi join", "semi join")
    sql = sql.replace("to_timestamp_seconds", "to_timestamp")
    sql = re.sub(r"cast\((cast\(\([^()]*\([^()]*\)[^()]*\) as int\)|cast\(\([^()]*\) / 86400 as int\)) as date\)", r"(date '1970-01-01' + \1)", sql)
    sql = re.sub(r"cast\(cast\((cast\(cast\(concat\(.*?\) as date\).*?as date\)) as int\) as bigint\)", r"date_diff('day', date '1970-01-01', \1)", sql)
    sql = re.sub(r"cast\(cast\((cast\(to_timestamp\(.*?\)\) as date\)) as int\) as bigint\)", r"date_diff('day', date '1970-01-01', \1)", sql)
    # siskin's parameter of months, empty for all of them.
    return sql.replace("$months", "''")


def header(sql, key):
    lines = re.match(r"(--.*\n)+", sql).group(0)
    found = re.search(rf"^-- {key}: (.*(?:\n--   .*)*)", lines, re.M)
    return [part.strip() for part in re.sub(r"\n--\s+", " ", found.group(1)).split(",")] if found else []


def in_order(queries):
    """Each query after those it reads."""
    waiting, ordered = dict(queries), []
    while waiting:
        ready = [name for name, sql in waiting.items() if not set(header(sql, "reads")) & (set(waiting) - {name})]
        for name in sorted(ready):
            ordered.append((name, waiting.pop(name)))
    return ordered


def read(folder):
    queries = Path(__file__).resolve().parents[2] / "queries"
    return {path.stem: path.read_text() for path in (queries / folder).glob("*.sql")}


def measure(warehouse):
    """Derives and measures; returns how many cases there are, as `cases` does."""
    connection = connected()
    folder = snapshot(warehouse)
    tables = json.loads((folder / "manifest.json").read_text())["tables"]
    derived = in_order(read("derive"))
    made = {name for name, _ in derived} | {"cases"}
    for table, entry in tables.items():
        if table not in made:
            add(connection, folder, table, entry)
    for name, sql in derived:
        connection.execute(f"create table {name} as {adapted(sql)}")
    counts = {}
    for name, sql in read("measures").items():
        connection.execute(f"create table cases_{name} as {adapted(sql)}")
        counts |= counted(connection, f"(select '{name}' as measure, * from cases_{name})")
    return counts


def counted(connection, source):
    sql = f"select measure, figure, kind, name, count(*) from {source} group by all"
    return {"/".join(row[:4]): row[4] for row in connection.execute(sql).fetchall()}


def cases(warehouse):
    """How many cases siskin stored, by measure, figure, kind and name."""
    connection = connected()
    folder = snapshot(warehouse)
    entry = json.loads((folder / "manifest.json").read_text())["tables"]["cases"]
    add(connection, folder, "cases", entry)
    return counted(connection, "cases")


def differing(ours, theirs):
    return [
        f"{key}: siskin {ours.get(key)}, DuckDB {theirs.get(key)}"
        for key in sorted(set(ours) | set(theirs))
        if ours.get(key) != theirs.get(key)
    ]


def check(warehouse):
    ours, theirs = cases(warehouse), measure(warehouse)
    found = differing(ours, theirs)
    if found or not ours:
        raise SystemExit("\n".join(["siskin and DuckDB count other cases", *found]))
    print(f"   {len(ours)} counts of cases, {sum(ours.values())} cases in all: the same by DuckDB running the SQL")


if __name__ == "__main__":
    what, paths = sys.argv[1], [Path(path) for path in sys.argv[2:]]
    if what == "load":
        load(*paths)
    elif what == "check":
        check(*paths)
    else:
        paths[1].write_text(json.dumps(measure(paths[0])))
