"""Means of every column over 15 minutes, with pandas."""

import sys

import pandas as pd

log = pd.read_csv(sys.argv[1], parse_dates=["time"], index_col="time")
means = log.resample("15min").mean()
print(len(means), means.iloc[:, 0].sum())
