"""Means of every column over 15 minutes, with polars."""

import sys

import polars as pl

means = (
    pl.scan_csv(sys.argv[1], try_parse_dates=True)
    .group_by(pl.col("time").dt.truncate("15m"))
    .agg(pl.all().exclude("time").mean())
    .sort("time")
    .collect(engine="streaming")
)
print(len(means), means.to_series(1).sum())
