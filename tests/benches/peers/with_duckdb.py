"""Means of every column over 15 minutes, with duckdb."""

import sys

import duckdb

means = duckdb.sql(
    f"""
    SELECT time_bucket(INTERVAL 15 minutes, time) AS quarter, avg(COLUMNS(* EXCLUDE (time)))
    FROM read_csv('{sys.argv[1]}') GROUP BY quarter ORDER BY quarter
    """
).fetchall()
print(len(means), sum(row[1] for row in means))
