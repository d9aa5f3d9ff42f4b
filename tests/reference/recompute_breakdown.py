"""Energy of each meter by day, week, month, weekday, hour, schedule, meter or phase."""

import datetime as dt
import math
from decimal import Decimal

import numpy as np

import local_time
from recompute_bill import Biller
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


def costs_together(parts, bill):
    """What the parts of the billed meter cost, the other lines of its bill, and both; tax is one of the others."""
    own = [part for part in parts if bill is not None and part["meter"] == bill["meter"]]
    if not own or any(part["cost"] is None for part in own):
        return []
    energy = sum(part["cost"] for part in own)
    return [
        {
            "by": own[0]["by"],
            "meter": bill["meter"],
            "energy_cost": energy,
            "other_charges": bill["total"] - energy,
            "total": bill["total"],
        }
    ]


class Split:
    """The quarter-hours of a meter shared out among parts: of each piece its part, begin and energy."""

    def __init__(self, meter, names, complete, part, start_s, kwh):
        self.meter, self.names, self.complete = meter, names, complete
        self.part, self.start_s, self.kwh = np.asarray(part, dtype=int), np.asarray(start_s), np.asarray(kwh)

    def sums(self):
        return np.bincount(self.part, self.kwh, minlength=len(self.names))


def breakdown(site, metered, by, tables):
    """`tables`: the files of the logs as they stand."""
    parts = []
    for meter in metered.values():
        split, told, kwh = split_of(site, meter, by, tables)
        if split is None:
            continue
        kwh = split.sums() if kwh is None else kwh
        costs, carbon = costs_of(site, split), carbon_of(site, meter, kwh)
        for at, name in enumerate(split.names):
            one = {"by": by, "key": name, "meter": meter.id, "energy_kwh": kwh[at], "complete": split.complete[at]}
            one |= {"cost": costs[at], "carbon_kg": carbon[at]}
            one |= dict.fromkeys(("lagging_kvarh", "max_demand_kw", "max_demand_kva")) | (told[at] if told else {})
            parts.append(one)
    return parts


def split_of(site, meter, by, tables):
    """The split, what is told of its parts besides, and their energy where it is not that of the split."""
    log = meter.log
    whole = log.to_s - log.from_s == len(log.starts) * log.interval_s
    quarters = meter.quarters
    if by == "meter":
        split = Split(meter, [meter.id], [whole], np.zeros(len(quarters)), quarters.start_s, quarters.kwh)
        told = {"lagging_kvarh": meter.reactive_energies()[0]} | highest(meter.blocks)
        return split, [told], [meter.energy_kwh]
    if by == "phase":
        phases = log.phases("active_power", "kw")
        if phases is None:
            return None, None, None
        known = [~np.isnan(kw) for kw in phases]
        return (
            Split(
                meter,
                ["L1", "L2", "L3"],
                [whole] * 3,
                np.repeat(range(3), [rows.sum() for rows in known]),
                np.concatenate([log.starts[rows] // 900 * 900 for rows in known]),
                np.concatenate([kw[rows] * log.hours for kw, rows in zip(phases, known)]),
            ),
            None,
            None,
        )
    if by.startswith("column:"):
        return by_column(meter, by.partition(":")[2], tables, whole), None, None
    return dated(site, meter, by)


def dated(site, meter, by):
    """By calendar or schedule, with the reactive energy and the highest block of each part."""
    quarters = meter.quarters
    of = keys(site, quarters.start_s, by)
    order = sorted({name: place for place, name in of}.items(), key=lambda one: one[1])
    number = {name: at for at, (name, _) in enumerate(order)}
    part = np.array([number[name] for _, name in of])
    covered = np.bincount(part, quarters.covered_s)
    expected = np.zeros(len(order))
    for _, name in keys(site, whole_calendar(site, meter, by), by):
        if name in number:
            expected[number[name]] += 900
    complete = [bool(own > whole - 0.5) for own, whole in zip(covered, expected)]
    lagging = [None] * len(order)
    if meter.lagging() is not None:
        lagging = np.bincount(part, quarters.lagging)
    blocks = meter.blocks
    in_part = np.array([number.get(name, -1) for _, name in keys(site, blocks.start_s, by)])
    told = [{"lagging_kvarh": lagging[at]} | highest(blocks[in_part == at]) for at in range(len(order))]
    split = Split(meter, [name for name, _ in order], complete, part, quarters.start_s, quarters.kwh)
    return split, told, None


def highest(blocks):
    drawn = blocks.kw[blocks.kw >= 0]
    kva = blocks.kva.dropna()
    return {"max_demand_kw": drawn.max() if len(drawn) else None, "max_demand_kva": kva.max() if len(kva) else None}


def by_column(meter, column, tables, whole):
    """Intervals by the word that stands in a column of the log, in the order in which the words come up."""
    log = meter.log
    own = [table for path, table in sorted(tables.items()) if path.match(log.meter["files"])]
    words = [table[column] for table in own if column in table]
    if not words:
        return None
    words = np.concatenate(words)
    names = list(dict.fromkeys(words))
    part = [names.index(word) for word in words]
    return Split(meter, names, [whole] * len(names), part, log.starts // 900 * 900, meter.power * log.hours)


def carbon_of(site, meter, kwh):
    """By the one factor of the site; none of a consumer that seems to give energy."""
    factor = site.toml["site"].get("carbon_g_per_kwh")
    if factor is None or meter.energy_kwh < 0:
        return [None] * len(kwh)
    return [own * factor / 1000 for own in kwh]


def costs_of(site, split):
    """Each energy line of the meter's own bill shared out by what the parts used in its time; before tax."""
    nothing, meter = [None] * len(split.names), split.meter
    if not site.toml.get("tariff") or meter.energy_kwh < 0:
        return nothing
    biller = Biller(site, meter)
    gives = set(meter.quarters.start_s[meter.quarters.kwh <= 0])
    clocks = local_time.calendar(site, split.start_s).local.dt.to_pydatetime()
    weights, unpriced = {}, set()
    for part, start_s, kwh, clock in zip(split.part, split.start_s, split.kwh, clocks):
        line = biller.line_at(clock)
        if line is None:
            if kwh:
                unpriced.add(part)
        elif start_s not in gives:
            weights.setdefault(line, [0.0] * len(split.names))[part] += kwh
    amounts = biller.energy_amounts(is_billed=meter.id == site.meter_of("supply"))
    if amounts is None:
        return nothing
    sums = [Decimal(0)] * len(split.names)
    for line, own in weights.items():
        for part, amount in enumerate(apportioned(amounts[line], own, biller.places)):
            sums[part] += amount
    return [None if part in unpriced else amount for part, amount in enumerate(sums)]


def apportioned(amount, weights, places):
    """In proportion, to the last unit of the currency; what rounding leaves goes to those who lost most by it."""
    units, whole = int(amount.scaleb(places)), sum(weights)
    if not units:
        return [Decimal(0)] * len(weights)
    exact = [units * (weight / whole) for weight in weights]
    shares = [math.floor(share) for share in exact]
    left = sorted((at for at in range(len(weights)) if weights[at]), key=lambda at: (shares[at] - exact[at], at))
    for at in left[: units - sum(shares)]:
        shares[at] += 1
    return [Decimal(share).scaleb(-places) for share in shares]
