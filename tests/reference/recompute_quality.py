"""The oddities of a log: how many, when, and what they change."""

import numpy as np

import local_time


def quality(site, metered):
    """Entry by kind, as far as the kind is known here."""
    log, found = metered.log, {}
    gaps = np.flatnonzero(np.diff(log.starts) > log.interval_s)
    if len(gaps):
        found["gap"] = entry(len(gaps), log.starts[gaps[0]] + log.interval_s, log.starts[gaps[-1] + 1])
    if log.repeated:
        counted_twice = -sum(log.repeated_kw) * log.hours if log.repeated_kw else None
        found["duplicate"] = entry(len(log.repeated), log.repeated[0], log.repeated[-1], counted_twice)
    for kind, rows in log.left_out.items():
        found[kind] = entry(len(rows), log.starts[rows[0]], log.starts[rows[-1]], metered.change_by(kind))
    if log.turned:
        twice = 2 * metered.energy_kwh
        found["meter-fault-corrected"] = entry(len(log.starts), log.starts[0], log.starts[-1], twice)
    if metered.counts is not None:
        register(metered, found)
    if metered.power is not None:
        unknown = np.flatnonzero(np.isnan(metered.power))
        if len(unknown):
            found["unknown-power"] = entry(len(unknown), log.starts[unknown[0]], log.starts[unknown[-1]])
        if metered.energy_kwh <= -0.1 and log.meter["measures"] != "supply":
            below = np.flatnonzero(metered.power < 0)
            found["negative-energy"] = entry(len(below), log.starts[below[0]], log.starts[below[-1]])
    return found


def entry(count, first_s, last_s, effect=None):
    return {"count": int(count), "first": local_time.utc(first_s), "last": local_time.utc(last_s), "effect_kwh": effect}


def register(metered, found):
    log, readings = metered.log, metered.log.get("energy_import_kwh")
    falls = np.flatnonzero(np.diff(readings) < 0)
    if len(falls):
        added = (metered.counts[-1] - metered.counts[0]) - (readings[-1] - readings[0])
        found["register-rollover"] = entry(len(falls), log.starts[falls[0] + 1], log.starts[falls[-1] + 1], added)
    if metered.power is None:
        return
    # Steps beyond an interval, or beside unknown power, that counted more than the power at their end explains.
    drawn = np.nan_to_num(np.maximum(metered.power, 0) * log.hours)
    known = ~np.isnan(metered.power)
    apart = (np.diff(log.starts) != log.interval_s) | ~known[:-1] | ~known[1:]
    more = np.flatnonzero(apart & (np.diff(metered.counts) - drawn[1:] > max(metered.register_step, 0.001)))
    if len(more):
        found["register-advanced-in-gap"] = entry(
            len(more), log.starts[more[0]] + log.interval_s, log.starts[more[-1]] + log.interval_s
        )


def listed(site, metered, told):
    """In the order told; a kind that is not told, or not known here, stands out."""
    found = quality(site, metered)
    entries = [{"kind": one["kind"]} | found.pop(one["kind"], {"kind": ...}) for one in told]
    return entries + [{"kind": kind} for kind in found]
