"""What sets the demand, how meters peak together, what stands by, power factor and remainder over time."""

import math

import numpy as np

import local_time
from metered import quantile, rank

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
SHARES_PCT = (0, 1, 2, 5, 10, 25, 50, 75, 90, 95, 100)
NIGHT_ENDS_H = 5
STANDING_SHARE = 0.10
LOADED_SHARE = 0.20
USUAL_TARGET, USUAL_STEP_KVAR = 0.95, 2.5


def study(site, metered, target=USUAL_TARGET, step=USUAL_STEP_KVAR):
    below = {name: one.nearest_below(metered) for name, one in metered.items()}
    with_blocks = [one for one in metered.values() if len(one.blocks)]
    mains = [one for one in metered.values() if below[one.id]]
    return {
        "demand": [demand(site, one, below[one.id]) for one in with_blocks],
        "diversity": [diversity(site, one, below[one.id]) for one in mains if len(below[one.id]) > 1],
        "base_load": [standing(site, one) for one in metered.values() if len(one.whole_quarters)],
        "power_factor": [found for one in with_blocks if (found := power_factor(site, one, target, step)) is not None],
        "unmetered": [remainder(site, one, below[one.id]) for one in mains],
    }


def ranks(values):
    return values.map(rank)


def first_highest(values):
    return ranks(values).idxmax()


def first_lowest(values):
    return ranks(values).idxmin()


def kw_at(meter, start_s):
    rows = meter.blocks[meter.blocks.start_s == start_s]
    return rows.kw.iloc[0] if len(rows) else None


def demand(site, meter, below):
    falling = meter.blocks.sort_values("start_s").sort_values("kw", ascending=False, kind="stable", key=ranks)
    falling = falling.reset_index(drop=True)
    sliding_kw, sliding_at = sliding_maximum(site, meter)
    counts = [max(math.ceil(share / 100 * len(falling)), 1) for share in SHARES_PCT]
    return {
        "meter": meter.id,
        "demand_window_min": site.window_min,
        "blocks": len(falling),
        "highest_demand_periods": [highest(site, meter, below, falling.loc[row]) for row in range(min(10, len(falling)))],
        "sliding_max_kw": sliding_kw,
        "sliding_max_at": sliding_at,
        "load_duration": [
            {"share_pct": share, "kw": falling.kw[count - 1]} for share, count in zip(SHARES_PCT, counts)
        ],
    }


def highest(site, meter, below, block):
    """A block, what each meter below saw in it, and the unmetered machines whose schedule runs at its begin."""
    parts = [{"meter": sub.id, "measures": sub.log.meter["measures"], "kw": kw_at(sub, block.start_s)} for sub in below]
    known = all(part["kw"] is not None for part in parts)
    left = block.kw - sum(part["kw"] for part in parts) if parts and known else None
    parts.sort(key=lambda part: -math.inf if part["kw"] is None else rank(part["kw"]), reverse=True)
    clock = local_time.local(site.zone, block.start_s)
    return {
        "at": local_time.stamp(site.zone, block.start_s),
        "kw": block.kw,
        "kva": block.kva,
        "parts": parts,
        "unmetered_kw": left,
        "scheduled": [
            machine.name
            for machine in unmetered(site, meter, below)
            if machine.schedule and site.runs(machine.schedule, clock)
        ],
    }


def unmetered(site, meter, below):
    measures = meter.log.meter["measures"]
    if site.machine(measures) is not None:
        return []
    seen = {sub.log.meter["measures"] for sub in below}
    return [
        machine
        for machine in site.machines_below(measures)
        if machine.name not in seen and not seen & set(site.path(machine.circuit))
    ]


def sliding_maximum(site, meter):
    """Largest mean over a window of a block's length that begins with any interval and has all its readings."""
    log, count = meter.log, site.window_min * 60 // meter.log.interval_s
    power, starts = meter.power, log.starts
    if len(power) < count:
        return None, None
    windows = np.lib.stride_tricks.sliding_window_view(power, count)
    unbroken = starts[count - 1 :] - starts[: len(starts) - count + 1] == (count - 1) * log.interval_s
    means = np.where(unbroken, windows.mean(axis=1), np.nan)
    if np.isnan(means).all() or np.nanmax(means) < 0:
        return None, None
    # The earliest of those that rounding alone tells apart.
    first = int(np.argmax(means >= np.nanmax(means) - 1e-9))
    return means[first], local_time.stamp(site.zone, starts[first])


def diversity(site, main, below):
    common = below[0].blocks[["start_s"]]
    for sub in below:
        common = common.merge(sub.blocks[["start_s", "kw"]].rename(columns={"kw": sub.id}), on="start_s")
    together = common[[sub.id for sub in below]].sum(axis=1)
    top = first_highest(together)
    parts = []
    for sub in below:
        own = common[sub.id]
        connected = connected_kw(site, sub.log.meter["measures"])
        parts.append(
            {
                "meter": sub.id,
                "max_kw": own.max(),
                "max_at": local_time.stamp(site.zone, common.start_s[first_highest(own)]),
                "at_group_max_kw": own[top],
                "connected_kw": connected,
                "demand_factor": own.max() / connected if connected else None,
            }
        )
    maxima, connected = sum(part["max_kw"] for part in parts), connected_kw(site, main.log.meter["measures"])
    return {
        "main": main.id,
        "blocks": len(common),
        "parts": parts,
        "sum_of_maxima_kw": maxima,
        "group_max_kw": together[top],
        "group_max_at": local_time.stamp(site.zone, common.start_s[top]),
        "diversity_factor": maxima / together[top],
        "coincidence_factor": together[top] / maxima,
        "connected_kw": connected,
        "demand_factor": main.blocks.kw.max() / connected if connected else None,
    }


def connected_kw(site, measures):
    machine = site.machine(measures)
    machines = [machine] if machine is not None else site.machines_below(measures)
    return sum(machine.rated_kw for machine in machines) if machines else None


def standing(site, meter):
    """The tenth percentile of complete quarter-hours, the night's median, and use outside working hours."""
    whole = meter.whole_quarters
    when = local_time.calendar(site, whole.start_s)
    kw = whole.kwh * 4
    night = when.hour < NIGHT_ENDS_H
    every = meter.quarters
    every_when = local_time.calendar(site, every.start_s)
    total, hours = every.kwh.sum(), every.covered_s.sum() / 3600
    base = quantile(kw, STANDING_SHARE)
    result = {
        "meter": meter.id,
        "percentile": 100 * STANDING_SHARE,
        "base_load_kw": base,
        "night": "00:00-05:00",
        "base_load_share_pct": 100 * base * hours / total if total > 0 else None,
        "night_kw": quantile(kw[night], 0.5) if night.any() else None,
        "by_weekday": [],
        "out_of_hours_kwh": None,
        "out_of_hours_pct": None,
        "out_of_hours_mean_kw": None,
        "holidays_kwh": None,
    }
    for number, name in enumerate(WEEKDAYS):
        day = when.weekday == number
        if day.any():
            dark = day & night
            result["by_weekday"].append(
                {
                    "weekday": name,
                    "base_load_kw": quantile(kw[day], STANDING_SHARE),
                    "night_kw": quantile(kw[dark], 0.5) if dark.any() else None,
                }
            )
    working = [name for name in site.schedules if name not in site.not_working]
    if working:
        outside = ~np.array(
            [any(site.runs(name, clock) for name in working) for clock in every_when.local.dt.to_pydatetime()]
        )
        kwh, open_hours = every.kwh[outside].sum(), every.covered_s[outside].sum() / 3600
        result["out_of_hours_kwh"] = kwh
        result["out_of_hours_pct"] = 100 * kwh / total if total > 0 else None
        result["out_of_hours_mean_kw"] = kwh / open_hours if open_hours else None
    holiday = every_when.date.isin(site.holidays)
    if holiday.any():
        result["holidays_kwh"] = every.kwh[holiday].sum()
    return result


def factor(active, reactive):
    apparent = math.hypot(active, reactive)
    return active / apparent if apparent else None


def phase_factor(log, phase):
    p, q = log.get(f"active_power_{phase}_kw"), log.get(f"reactive_power_{phase}_kvar")
    if p is None or q is None:
        return None
    known = ~np.isnan(p) & ~np.isnan(q)
    return factor(p[known].sum(), q[known].sum())


def power_factor(site, meter, target, step):
    blocks = meter.blocks.dropna(subset="kva")
    loaded = blocks[(blocks.kva >= LOADED_SHARE * blocks.kva.max()) & (blocks.kw > 0)].copy()
    if not len(loaded):
        return None
    loaded["factor"] = np.minimum(loaded.kw / loaded.kva, 1)
    # Capacitors that leave tan(phi) of the target.
    loaded["needed"] = np.maximum(loaded.kvar - loaded.kw * math.tan(math.acos(target)), 0)
    by_need = loaded.sort_values("start_s", ascending=False).sort_values("needed", kind="stable", key=ranks)
    by_need = by_need.reset_index(drop=True)
    lowest = loaded.loc[first_lowest(loaded.factor)]
    typical = need(site, by_need.loc[(len(by_need) - 1) // 2], step)
    leading = (blocks.kvar < typical["in_steps_kvar"] - 1e-9).sum()
    return {
        "meter": meter.id,
        "mean": factor(blocks.kw.sum(), blocks.kvar.sum()),
        "by_phase": [phase_factor(meter.log, phase) for phase in ("l1", "l2", "l3")],
        "loaded_from_pct": 100 * LOADED_SHARE,
        "blocks": len(loaded),
        "lowest": lowest.factor,
        "lowest_at": local_time.stamp(site.zone, lowest.start_s),
        "p5": quantile(loaded.factor, 0.05),
        "median": quantile(loaded.factor, 0.5),
        "target_power_factor": target,
        "kvar_step": step,
        "step_uf": 1e9 * step / 3 / (2 * math.pi * site.supply.get("frequency_hz", 50) * site.supply["line_voltage_v"] ** 2),
        "worst": need(site, by_need.loc[len(by_need) - 1], step),
        "typical": typical,
        "at_max_kva": need(site, loaded.loc[first_highest(loaded.kva)], step),
        "typical_bank_leads_pct": 100 * leading / len(blocks),
    }


def need(site, block, step):
    steps = max(math.ceil(block.needed / step - 1e-9), 0) * step
    return {
        "at": local_time.stamp(site.zone, block.start_s),
        "kw": block.kw,
        "kvar": block.kvar,
        "kva": block.kva,
        "power_factor": block.factor,
        "needed_kvar": block.needed,
        "in_steps_kvar": steps,
        "kva_corrected": math.hypot(block.kw, block.kvar - steps),
    }


def remainder(site, main, below):
    """Main less those below in the blocks that all have, with what their accuracy classes explain."""
    common = main.blocks[["start_s", "kw"]]
    for sub in below:
        common = common.merge(sub.blocks[["start_s", "kw"]].rename(columns={"kw": sub.id}), on="start_s")
    left = common.kw - sum(common[sub.id] for sub in below)
    classes = [one.log.meter.get("class") for one in (main, *below)]
    tolerance = None
    if None not in classes:
        shares = [float(share) / 100 for share in classes]
        tolerance = shares[0] * common.kw.abs() + sum(
            share * common[sub.id].abs() for share, sub in zip(shares[1:], below)
        )
    hours = site.window_min / 60
    when = local_time.calendar(site, common.start_s)
    days = []
    for date, rows in common.groupby(when.date).groups.items():
        length = (
            local_time.midnight(site.zone, date.fromordinal(date.toordinal() + 1))
            - local_time.midnight(site.zone, date)
        ) / 3600
        days.append(
            {
                "date": date.isoformat(),
                "main_kwh": common.kw[rows].sum() * hours,
                "unmetered_kwh": left[rows].sum() * hours,
                "lowest_kw": left[rows].min(),
                "highest_kw": left[rows].max(),
                "tolerance_kwh": None if tolerance is None else tolerance[rows].sum() * hours,
                "complete": bool(len(rows) * hours == length),
            }
        )
    low, high = first_lowest(left), first_highest(left)
    return {
        "main": main.id,
        "submeters": [sub.id for sub in below],
        "blocks": len(common),
        "tolerance_max_kw": None if tolerance is None else tolerance.max(),
        "demand_periods_below_zero": int((left < (-1e-9 if tolerance is None else -tolerance)).sum()),
        "lowest_kw": left[low],
        "lowest_at": local_time.stamp(site.zone, common.start_s[low]),
        "highest_kw": left[high],
        "highest_at": local_time.stamp(site.zone, common.start_s[high]),
        "days": days,
    }
