"""The tables of an estate as frames, and two sets of them compared cell by cell."""

import json
from pathlib import Path

import duckdb
import numpy as np
import pandas as pd
import pyarrow.parquet as pq

TABLES = ["sites", "meters", "intervals", "demand", "bills", "findings", "moves", "problems", "coincident"]


def read(out, table):
    """All rows of a table, sorted by site as they are in its files."""
    files = sorted(Path(out, "tables", table).rglob("*.parquet"))
    frames = []
    for file in files:
        frame = pq.ParquetFile(file).read().to_pandas()
        month = [part for part in file.parts if part.startswith("month=")]
        frame["month"] = month[0].removeprefix("month=") if month else ""
        if "site" in frame:
            assert frame["site"].is_monotonic_increasing, f"{file}: rows are not sorted by site"
        frames.append(frame)
    return pd.concat(frames, ignore_index=True) if frames else None


def same(one, other, tolerance=0.0):
    """Differences between two sets of tables; none where there are none."""
    differences = []
    for table in TABLES:
        a, b = read(one, table), read(other, table)
        if a is None or b is None:
            if a is not b:
                differences.append(f"{table}: in one of the two only")
            continue
        if list(a.columns) != list(b.columns) or len(a) != len(b):
            differences.append(f"{table}: {a.shape} and {b.shape}, {list(a.columns)} and {list(b.columns)}")
            continue
        keys = [key for key in ("month", "site", "meter", "start") if key in a.columns]
        a = a.sort_values(keys, kind="stable", ignore_index=True)
        b = b.sort_values(keys, kind="stable", ignore_index=True)
        for column in a.columns:
            if a[column].dtype != b[column].dtype and not (a[column].isna().all() and b[column].isna().all()):
                differences.append(f"{table}.{column}: {a[column].dtype} and {b[column].dtype}")
                continue
            is_number = a[column].dtype.kind == "f"
            alike = (a[column] == b[column]) | (a[column].isna() & b[column].isna())
            if is_number and tolerance:
                alike |= np.isclose(a[column], b[column], rtol=tolerance, atol=tolerance)
            if not alike.all():
                row = int((~alike).idxmax())
                differences.append(f"{table}.{column}, row {row}: {a[column][row]!r} and {b[column][row]!r}")
    return differences


def views(out):
    """The tables in an embedded engine, as the documented queries want them."""
    engine = duckdb.connect()
    engine.execute("SET TimeZone = 'UTC'")
    for table in TABLES:
        files = list(Path(out, "tables", table).rglob("*.parquet"))
        if files:
            engine.execute(f"CREATE VIEW {table} AS SELECT * FROM read_parquet('{out}/tables/{table}/**/*.parquet')")
    return engine


def result(out):
    return json.loads(Path(out, "estate.json").read_text())
