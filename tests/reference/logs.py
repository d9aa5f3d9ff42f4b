"""The logs of a site as tables of intervals, read from the raw files."""

import gzip

import numpy as np
import pandas as pd

import plausible

MISSING = ["", "-", "NaN", "nan", "n/a", "N/A", "null", "NULL"]


class Log:
    """One meter: `starts` in Unix seconds, ascending, and a float column for each quantity, NaN where unknown."""

    def __init__(self, meter, starts, columns, interval_s):
        self.meter, self.starts, self.columns, self.interval_s = meter, starts, columns, interval_s
        self.hours = interval_s / 3600
        # Starts of rows that came twice with the power they held, and rows left out by kind.
        self.repeated, self.repeated_kw, self.left_out = [], [], {}
        # Columns whose sign was put right.
        self.turned = []

    def get(self, name):
        return self.columns.get(name)

    def phases(self, kind, unit):
        """The three columns `kind_l1_unit` …, or None where one is not logged."""
        found = [self.get(f"{kind}_{phase}_{unit}") for phase in ("l1", "l2", "l3")]
        return None if any(column is None for column in found) else np.array(found)

    def between(self, begin_s, end_s):
        """The intervals that begin in a stretch of time."""
        rows = (self.starts >= begin_s) & (self.starts < end_s)
        part = Log(
            self.meter,
            self.starts[rows],
            {name: column[rows] for name, column in self.columns.items()},
            self.interval_s,
        )
        # What is odd in the rows of the files is told of all of them; what it changes, only where all lie within.
        part.repeated = self.repeated
        if all(begin_s <= start < end_s for start in self.repeated):
            part.repeated_kw = self.repeated_kw
        part.turned = self.turned
        return part

    def as_logged(self):
        """The same without what was put right."""
        columns = {name: -column if name in self.turned else column for name, column in self.columns.items()}
        return Log(self.meter, self.starts, columns, self.interval_s)

    @property
    def period(self):
        return self.from_s, self.to_s

    @property
    def from_s(self):
        return int(self.starts[0])

    @property
    def to_s(self):
        return int(self.starts[-1]) + self.interval_s


def moments(text, meter, site):
    """Unix seconds of the time stamps, as written."""
    time = meter["time"]
    shape = time.get("format")
    closes = text.str.contains(" 24:00")
    text = text.str.replace(" 24:00", " 00:00", regex=False)
    clock = pd.to_datetime(text, format=shape or "ISO8601", utc=shape is None or None)
    if time.get("midnight") == "closes-day":
        closes = closes | ((clock.dt.hour == 0) & (clock.dt.minute == 0))
    clock = clock + pd.to_timedelta(closes.astype(int), unit="D")
    zone = time.get("zone", "local")
    if clock.dt.tz is None:
        clock = clock.dt.tz_localize(site.zone_name if zone == "local" else zone, ambiguous="infer")
    clock = clock.dt.tz_convert("UTC").dt.tz_localize(None)
    return ((clock - pd.Timestamp(0)) // pd.Timedelta(seconds=1)).to_numpy()


def read_table(path, meter):
    opener = gzip.open if path.suffix == ".gz" else open
    with opener(path, "rt", encoding="utf-8-sig") as file:
        table = pd.read_csv(file, dtype=str, keep_default_na=False, sep=meter.get("separator", ","))
    if meter.get("decimal") == ",":
        table = table.map(lambda cell: cell.replace(",", "."))
    return table


def read_log(site, meter, tables):
    """The log of one meter; the files of all meters are read once."""
    time = meter["time"]["column"]
    texts, sources = [], []
    for path in sorted(site.folder.glob(meter["files"])):
        if path not in tables:
            tables[path] = read_table(path, meter)
        texts.append(tables[path][time])
        sources.append(tables[path])
    stamps = moments(pd.concat(texts, ignore_index=True), meter, site)
    unknown = set(MISSING) | set(meter.get("missing", []))
    values = {}
    for name, column in meter["columns"].items():
        scale = 1.0
        if isinstance(column, dict):
            column, scale = column["column"], column.get("scale", 1.0)
        cells = pd.concat([source[column] for source in sources], ignore_index=True)
        cells = cells.str.strip().where(~cells.isin(unknown))
        values[name] = cells.astype(float).to_numpy() * scale * meter.get("ratio", 1.0)
    frame = pd.DataFrame({"stamp": stamps} | values).sort_values("stamp", kind="stable")
    twice = frame.duplicated()
    repeated, frame = frame[twice], frame[~twice]
    if frame.stamp.duplicated().any():
        raise ValueError(f"{meter['id']}: two readings of one moment differ")
    interval_s = int(frame.stamp.diff().dropna().mode().iloc[0])
    late = interval_s if meter["stamp"] == "end" else 0
    columns = {name: frame[name].to_numpy().copy() for name in values}
    log = Log(meter, frame.stamp.to_numpy() - late, columns, interval_s)
    log.repeated = (repeated.stamp - late).tolist()
    power = [name for name in values if name.startswith("active_power")]
    log.repeated_kw = repeated[power].sum(axis=1).tolist() if power else []
    log.as_read = Log(meter, log.starts, {name: column.copy() for name, column in columns.items()}, interval_s)
    log.left_out = plausible.leave_out(site, log)
    if site.machine(meter["measures"]) is not None:
        turn_what_is_backward(log)
    return log


def turn_what_is_backward(log):
    """A machine that draws nothing but negative power has its current transformer reversed."""
    for name in [name for name in log.columns if name.startswith("active_power")]:
        power = log.columns[name]
        loaded = power[np.abs(power) > 0.05 * np.nanmax(np.abs(power))]
        if len(loaded) and (loaded < 0).mean() >= 0.95:
            reactive = name.replace("active", "reactive", 1).replace("_kw", "_kvar")
            log.turned += [own for own in (name, reactive) if own in log.columns]
    for name in log.turned:
        log.columns[name] = -log.columns[name]


def read_logs(site, tables=None):
    tables = {} if tables is None else tables
    return {meter["id"]: read_log(site, meter, tables) for meter in site.meters}
