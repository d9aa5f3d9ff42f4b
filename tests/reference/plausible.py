"""Readings that cannot be, by the rules of DEVELOPERS.md: they become unknown and are counted."""

import numpy as np

IMPOSSIBLE, DENIED, DENYING = 20, 3, 0.5
LOST_VOLTAGE, CERTAIN_CURRENT = 0.10, 0.01


def leave_out(site, log):
    """Makes what cannot be unknown; gives the rows of each kind."""
    found = {"negative-magnitude": set(), "spike": set(), "voltage-lost": set()}
    volts, limit = site.volts, float(site.supply["phase_limit_a"])
    most_kva = volts * limit / 1000

    def drop(kind, name, rows):
        if name in log.columns and len(rows):
            log.columns[name][rows] = np.nan
            found[kind] |= set(rows.tolist())

    with np.errstate(invalid="ignore"):
        for name, values in log.columns.items():
            if name.startswith(("voltage_", "current_")):
                drop("negative-magnitude", name, np.flatnonzero(values < 0))
        # What the other readings say is looked at before anything is left out as a spike.
        spikes = {}
        for name, values in log.columns.items():
            rows = np.abs(values) > bound(name, volts, site.supply["line_voltage_v"], limit, most_kva)
            rows |= denied(log, name, volts, limit, most_kva)
            spikes[name] = np.flatnonzero(rows)
        for name, rows in spikes.items():
            drop("spike", name, rows)
        for phase in ("l1", "l2", "l3"):
            voltage, amps = log.get(f"voltage_{phase}_v"), log.get(f"current_{phase}_a")
            if voltage is None or amps is None:
                continue
            rows = np.flatnonzero((voltage < LOST_VOLTAGE * volts) & (amps >= CERTAIN_CURRENT * limit))
            drop("voltage-lost", f"voltage_{phase}_v", rows)
            for spoiled in ("active_power{}_kw", "reactive_power{}_kvar", "apparent_power{}_kva", "power_factor{}"):
                for place in (f"_{phase}", ""):
                    drop("voltage-lost", spoiled.format(place), rows)
    return {kind: sorted(rows) for kind, rows in found.items() if rows}


def bound(name, volts, line_volts, limit, most_kva):
    """The largest that a reading can be."""
    if name.startswith("voltage_"):
        return 2 * (line_volts if name.count("_l") > 1 else volts)
    if name.startswith("current_"):
        return IMPOSSIBLE * limit
    if name.startswith(("active_power", "reactive_power", "apparent_power")):
        return IMPOSSIBLE * most_kva * (1 if "_l" in name else 3)
    return np.inf


def denied(log, name, volts, limit, most_kva):
    """One interval alone beyond three times the limit, of which the others of the phase explain less than half."""
    values, phase = log.columns[name], name.split("_")[-2]
    none = np.zeros(len(values), dtype=bool)
    if phase not in ("l1", "l2", "l3"):
        return none
    active, reactive = log.get(f"active_power_{phase}_kw"), log.get(f"reactive_power_{phase}_kvar")
    if name.startswith("current_") and active is not None and reactive is not None:
        most, explained = limit, np.hypot(active, reactive) * 1000 / volts
    elif name.startswith("active_power") and log.get(f"current_{phase}_a") is not None:
        most, explained = most_kva, log.get(f"current_{phase}_a") * volts / 1000
    else:
        return none
    high = np.abs(values) > DENIED * most
    beside = np.append(False, high[:-1]) | np.append(high[1:], False)
    return high & ~beside & (explained < DENYING * np.abs(values))
