"""The site's own clock and calendar."""

import datetime as dt

import numpy as np
import pandas as pd


def stamp(zone, at_s):
    """A moment as the program writes it: local time with its offset."""
    return dt.datetime.fromtimestamp(int(at_s), zone).isoformat(timespec="seconds")


def utc(at_s):
    return dt.datetime.fromtimestamp(int(at_s), dt.UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def local(zone, at_s):
    return dt.datetime.fromtimestamp(int(at_s), zone).replace(tzinfo=None)


def midnight(zone, date):
    """Unix seconds of the begin of a local day."""
    return int(dt.datetime(date.year, date.month, date.day, tzinfo=zone).timestamp())


def calendar(site, starts_s):
    """Local date, weekday, hour and so on of moments, one row each."""
    starts_s = np.asarray(starts_s, dtype="int64")
    moments = pd.to_datetime(starts_s, unit="s", utc=True).tz_convert(site.zone_name)
    clock = moments.tz_localize(None)
    frame = pd.DataFrame({"start_s": starts_s})
    frame["local"] = clock
    frame["local_s"] = (clock - pd.Timestamp(0)) // pd.Timedelta(seconds=1)
    frame["offset_s"] = frame.local_s - frame.start_s
    frame["date"] = clock.date
    frame["weekday"] = clock.day_of_week
    frame["hour"] = clock.hour
    return frame


def block_starts(site, starts_s, length_s):
    """Unix seconds of the begin of the block on the local clock that each moment lies in."""
    frame = calendar(site, starts_s)
    return (frame.local_s // length_s * length_s - frame.offset_s).to_numpy()


def midnight_of(zone, text):
    return midnight(zone, dt.date.fromisoformat(text))


def means_of(starts, values, length_s, interval_s):
    """Means of blocks of UTC of which at least nine tenths are read, by their start."""
    known = ~np.isnan(values)
    blocks, at = np.unique(starts[known] // length_s * length_s, return_inverse=True)
    counts = np.bincount(at)
    sums = np.bincount(at, values[known])
    whole = counts >= 0.9 * length_s / interval_s
    return dict(zip(blocks[whole].tolist(), (sums / counts)[whole].tolist()))
