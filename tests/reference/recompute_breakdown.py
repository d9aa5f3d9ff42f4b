"""Energy of each meter by day, week, month, weekday, hour, schedule, meter or phase."""

import datetime as dt

import numpy as np

import local_time
from recompute_study import WEEKDAYS

BY = ("day", "week", "month", "weekday", "hour", "schedule", "meter", "phase")


def running(site, clock):
    running = [at for at, name in enumerate(site.schedules) if site.runs(name, clock)]
    names = [list(site.schedules)[at] for at in running]
    return ((not running, running), " + ".join(names) or "outside all schedules")


def keys(site, starts_s, by):
    """What each quarter-hour counts under: a pair to sort by and to show."""
    when = local_time.calendar(site, starts_s)
    if by == "day":
        return [(date, date.isoformat()) for date in when.date]
    if by == "week":
        weeks = [date.isocalendar() for date in when.date]
        return [((week.year, week.week), f"{week.year}-W{week.week:02}") for week in weeks]
    if by == "month":
        return [((date.year, date.month), f"{date:%Y-%m}") for date in when.date]
    if by == "weekday":
        return [(number, WEEKDAYS[number]) for number in when.weekday]
    if by == "hour":
        return [(hour, f"{hour:02}") for hour in when.hour]
    return [running(site, clock) for clock in when.local.dt.to_pydatetime()]


def whole_calendar(site, meter, by):
    """Quarter-hours that the readings of a complete part fill: all of a day, week or month, else those between
    the first and the last reading."""
    first_s, last_s = meter.log.from_s, meter.log.to_s
    if by in ("day", "week", "month"):
        first = local_time.local(site.zone, first_s).date()
        last = local_time.local(site.zone, last_s - 1).date()
        if by == "week":
            first -= dt.timedelta(first.weekday())
            last += dt.timedelta(6 - last.weekday())
        if by == "month":
            first = first.replace(day=1)
            last = (last.replace(day=28) + dt.timedelta(4)).replace(day=1) - dt.timedelta(1)
        first_s = local_time.midnight(site.zone, first)
        last_s = local_time.midnight(site.zone, last + dt.timedelta(1))
    return list(range(first_s, last_s, 900))


def breakdown(site, metered, by, tables):
    """`tables`: the files of the logs as they stand."""
    parts = []
    for meter in metered.values():
        whole = meter.log.to_s - meter.log.from_s == len(meter.log.starts) * meter.log.interval_s
        if by == "meter":
            parts.append(part(by, meter, meter.id, meter.energy_kwh, whole))
        elif by == "phase":
            phases = meter.log.phases("active_power", "kw")
            if phases is not None:
                parts += [
                    part(by, meter, name, np.nansum(kw) * meter.log.hours, whole)
                    for name, kw in zip(("L1", "L2", "L3"), phases)
                ]
        elif by.startswith("column:"):
            parts += by_column(site, meter, by, tables)
        else:
            parts += dated(site, meter, by)
    return parts


def part(by, meter, key, kwh, complete):
    unknown = dict.fromkeys(("lagging_kvarh", "max_demand_kw", "max_demand_kva", "cost"))
    return {"by": by, "key": key, "meter": meter.id, "energy_kwh": kwh, "complete": complete} | unknown


def dated(site, meter, by):
    sums, expected = {}, {}
    for key, kwh, covered_s in zip(
        keys(site, meter.quarters.start_s, by), meter.quarters.kwh, meter.quarters.covered_s
    ):
        order, name = key
        known = sums.get(name, (order, 0.0, 0.0))
        sums[name] = (order, known[1] + kwh, known[2] + covered_s)
    for _, name in keys(site, whole_calendar(site, meter, by), by):
        expected[name] = expected.get(name, 0) + 900
    in_order = sorted(sums.items(), key=lambda one: one[1][0])
    return [part(by, meter, name, kwh, covered_s > expected[name] - 0.5) for name, (_, kwh, covered_s) in in_order]


def by_column(site, meter, by, tables):
    """Intervals by the word that stands in a column of the log, in the order in which the words come up."""
    name, log = by.partition(":")[2], meter.log
    words = [table[name] for path, table in sorted(tables.items()) if path.match(log.meter["files"]) and name in table]
    if not words:
        return []
    whole = log.to_s - log.from_s == len(log.starts) * log.interval_s
    words = np.concatenate(words)
    kwh = meter.power * log.hours
    return [part(by, meter, word, kwh[words == word].sum(), whole) for word in dict.fromkeys(words)]
