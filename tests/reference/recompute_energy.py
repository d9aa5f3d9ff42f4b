"""Energy, demand, currents and unbalance of each meter, and main meters beside those below them."""

import numpy as np
import pandas as pd

import local_time
import recompute_quality
from metered import Metered, quantile, rank

TURN = np.exp(-2j * np.pi / 3)
FRAMES = np.array([1, TURN, TURN**2])[:, None]


def rms(values):
    values = np.asarray(values)[~np.isnan(values)]
    return float(np.sqrt(np.mean(values**2)))


def phasors(log, volts):
    """Phase currents in the frame of their own voltages, lagging negative; None where a phase has neither
    a current nor a power."""
    series = []
    for phase in ("l1", "l2", "l3"):
        amps, p = log.get(f"current_{phase}_a"), log.get(f"active_power_{phase}_kw")
        q = log.get(f"reactive_power_{phase}_kvar")
        if amps is None and p is None:
            return None
        angle = np.ones(len(log.starts), dtype=complex)
        if p is not None and q is not None:
            size = np.hypot(p, q)
            known = ~np.isnan(size) & (size > 0)
            angle[known] = (p - 1j * q)[known] / size[known]
        elif p is not None:
            angle = np.where(p < 0, -1.0 + 0j, 1.0 + 0j)
        if amps is None:
            voltage = log.get(f"voltage_{phase}_v")
            amps = np.hypot(p, 0 if q is None else q) * 1000 / (volts if voltage is None else voltage)
        series.append(amps * angle)
    return np.array(series)


def magnitudes(log, currents):
    """Phase currents as logged, else those of the phasors."""
    logged = [log.get(f"current_{phase}_a") for phase in ("l1", "l2", "l3")]
    return np.array([np.abs(own if own is not None else other) for own, other in zip(logged, currents)])


def unbalance(amps, limit):
    """Largest deviation from the mean / mean, in percent, where the mean is above 5 % of the limit."""
    mean = amps.mean(axis=0)
    loaded = mean > 0.05 * limit
    amps, mean = amps[:, loaded], mean[loaded]
    return 100 * np.abs(amps - mean).max(axis=0) / mean


def voltage_unbalance(line):
    """Negative over positive sequence of the closed triangle of three line voltages, in percent.

    U12 lies on the real axis; U23 follows from the three sides (law of cosines)."""
    a, b, c = line
    along = (c**2 - a**2 - b**2) / (2 * a)
    u12, u23 = a + 0j, along - 1j * np.sqrt(np.maximum(b**2 - along**2, 0))
    u31 = -u12 - u23
    turn = np.conj(TURN)
    positive, negative = u12 + turn * u23 + turn**2 * u31, u12 + turn**2 * u23 + turn * u31
    return 100 * np.abs(negative) / np.abs(positive)


def limit_of(site, measures):
    machine = site.machine(measures)
    if machine is not None:
        if machine.device:
            return float(machine.device.split()[-1])
        measures = machine.circuit
    limits = (site.phase_limit(node) for node in site.path(measures))
    return next(limit for limit in limits if limit is not None)


def register_check(metered):
    """The register over intervals with power before and after, beside the sum of those powers."""
    log, counts = metered.log, metered.counts
    if counts is None or metered.log.get("energy_import_kwh") is None or metered.power is None:
        return None
    # A register is compared with the power as it was logged.
    power = Metered(metered.site, log.as_logged()).power if log.turned else metered.power
    drawn = np.maximum(power, 0) * log.hours
    steps = np.diff(counts)
    near = (np.diff(log.starts) == log.interval_s) & ~np.isnan(drawn[:-1]) & ~np.isnan(drawn[1:])
    counted = steps[near].sum()
    before, after = drawn[:-1][near].sum(), drawn[1:][near].sum()
    integral = before if abs(before - counted) < abs(after - counted) else after
    stretches = int(near[0]) + np.count_nonzero(~near[:-1] & near[1:])
    step = metered.register_step
    allowed = float(log.meter.get("class", 1)) / 100 * abs(counted) + step * stretches
    beyond = (steps - np.nan_to_num(drawn[1:]))[~near].sum()
    return {
        "register_kwh": counted,
        "integral_kwh": integral,
        "allowed_kwh": allowed,
        "agrees": bool(abs(integral - counted) <= allowed),
        "unlogged_kwh": beyond,
        "step_kwh": step,
    }


def meter_figures(site, metered, told):
    log, meter = metered.log, metered.log.meter
    figures = {
        "id": meter["id"],
        "measures": meter["measures"],
        "from": local_time.utc(log.from_s),
        "to": local_time.utc(log.to_s),
        "interval_s": log.interval_s,
        "intervals": len(log.starts),
        "energy_kwh": metered.energy_kwh,
        # No site here says which readings are estimated.
        "estimated_pct": None,
        "demand_window_min": site.window_min,
        "register_energy_kwh": metered.register_kwh,
        "register_check": register_check(metered),
        "coverage_pct": 100 * len(log.starts) * log.interval_s / (log.to_s - log.from_s),
        "energy_kwh_by_phase": None,
        "energy_kwh_as_logged": None,
        "energy_kwh_by_phase_as_logged": None,
        "max_demand_kw_as_logged": None,
        "neutral_rms_a_as_logged": None,
        "neutral_max_a_as_logged": None,
        "load_factor": None,
        "power_factor": None,
        "max_demand_kw": None,
        "max_demand_at": None,
        "max_demand_kva": None,
        "neutral_sample_max_a": None,
        "quality": recompute_quality.listed(site, metered, told),
    }
    figures["energy_import_kwh"], figures["energy_export_kwh"] = metered.both_directions()
    if log.turned:
        as_logged = Metered(site, log.as_logged())
        figures["energy_kwh_as_logged"] = as_logged.energy_kwh
        drawn = as_logged.blocks[as_logged.blocks.kw >= 0]
        figures["max_demand_kw_as_logged"] = drawn.kw.max() if len(drawn) else None
    by_phase = log.phases("active_power", "kw")
    if by_phase is not None:
        figures["energy_kwh_by_phase"] = list(np.nansum(by_phase, axis=1) * log.hours)
    imported, exported = metered.reactive_energies()
    figures["reactive_energy_import_kvarh"] = imported
    figures["reactive_energy_export_kvarh"] = exported
    if imported is not None:
        net = imported - (exported or 0)
        apparent = np.hypot(metered.energy_kwh, net)
        figures["power_factor"] = metered.energy_kwh / apparent if apparent else None
    blocks = metered.blocks
    drawn = blocks[blocks.kw >= 0]
    if len(drawn):
        top = drawn.loc[drawn.kw.map(rank).idxmax()]
        figures["max_demand_kw"] = top.kw
        figures["max_demand_at"] = local_time.stamp(site.zone, top.start_s)
        mean = np.nanmean(metered.power)
        figures["load_factor"] = mean / top.kw if mean >= 0 and top.kw > 0 else None
    if blocks.kva.notna().any():
        figures["max_demand_kva"] = blocks.kva.max()
    return figures | current_figures(site, log)


def current_figures(site, log):
    figures = dict.fromkeys(
        (
            "neutral_rms_a",
            "neutral_max_a",
            "neutral_computed_rms_a",
            "phase_rms_a",
            "phase_max_a",
            "current_unbalance_mean_pct",
            "current_unbalance_p95_pct",
            "voltage_unbalance_p95_pct",
        )
    )
    currents = phasors(log, site.volts)
    neutral = log.get("current_n_a")
    if currents is not None:
        computed = np.abs((currents * FRAMES).sum(axis=0))
        figures["neutral_computed_rms_a"] = rms(computed)
        neutral = computed if neutral is None else neutral
        amps = magnitudes(log, currents)
        figures["phase_rms_a"] = [rms(phase) for phase in amps]
        figures["phase_max_a"] = [np.nanmax(phase) for phase in amps]
        shares = unbalance(amps, limit_of(site, log.meter["measures"]))
        if len(shares):
            figures["current_unbalance_mean_pct"] = shares.mean()
            figures["current_unbalance_p95_pct"] = quantile(shares, 0.95)
    if neutral is not None:
        figures["neutral_rms_a"], figures["neutral_max_a"] = rms(neutral), np.nanmax(neutral)
    line = [log.get(f"voltage_{pair}_v") for pair in ("l1_l2", "l2_l3", "l3_l1")]
    if all(volts is not None for volts in line) and log.interval_s <= 600:
        ratios = voltage_unbalance(np.array(line))
        figures["voltage_unbalance_p95_pct"] = quantile(ratios[~np.isnan(ratios)], 0.95)
    return figures


def reconcile(site, main, below):
    """Main meter and those below it over the quarter-hours that all have in full."""
    common = main.whole_quarters[["start_s", "kwh"]]
    for sub in below:
        own = sub.whole_quarters[["start_s", "kwh"]].rename(columns={"kwh": sub.id})
        common = common.merge(own, on="start_s")
    seen = common.kwh.sum()
    unmetered = seen - sum(common[sub.id].sum() for sub in below)
    return {
        "main": main.id,
        "submeters": [sub.id for sub in below],
        "unmetered_kwh": unmetered,
        "unmetered_pct": 100 * unmetered / seen if seen > 0 else None,
    }


def energy(site, logs, found):
    """The meters' figures and the reconciliation, as `energy --format json` has them, and the meters themselves."""
    metered = {name: Metered(site, log) for name, log in logs.items()}
    told = {meter["id"]: meter["quality"] for meter in found["meters"]}
    result = {"meters": [meter_figures(site, one, told[one.id]) for one in metered.values()], "reconciliation": []}
    for main in metered.values():
        below = main.nearest_below(metered)
        if below:
            result["reconciliation"].append(reconcile(site, main, below))
    together = all_loads(site, list(metered.values()))
    if together is not None:
        result["all_loads"] = together
    return result | {"carbon": carbon(site, metered)}, metered


def all_loads(site, meters):
    """The sum over the meters of the machines, where every machine has one and the supply has none."""
    measured = {one.log.meter["measures"]: one for one in meters}
    names = [machine.name for machine in site.machines]
    if "supply" in measured or len(names) < 2 or not all(name in measured for name in names):
        return None
    own = [measured[name] for name in names]
    blocks = pd.concat([one.blocks.set_index("start_s").kw for one in own], axis=1).dropna().sum(axis=1)
    quarters = pd.concat([one.quarters.set_index("start_s")[["kwh", "covered_s"]] for one in own], axis=1).dropna()
    hours = quarters.covered_s.min(axis=1).sum() / 3600
    top = blocks.map(rank).idxmax()
    return {
        "meters": len(own),
        "from": local_time.utc(min(one.log.from_s for one in own)),
        "to": local_time.utc(max(one.log.to_s for one in own)),
        "energy_kwh": sum(one.energy_kwh for one in own),
        "max_demand_kw": blocks[top],
        "max_demand_at": local_time.stamp(site.zone, top),
        "demand_window_min": site.window_min,
        "load_factor": quarters.kwh.sum(axis=1).sum() / hours / blocks[top],
    }


def carbon(site, metered):
    """By the one factor of the site; none of a consumer that seems to give energy."""
    factor = site.toml["site"].get("carbon_g_per_kwh")
    if factor is None:
        return None
    drawn = [(one.id, one.energy_kwh) for one in metered.values() if one.energy_kwh >= 0]
    return {
        "meters": [
            {
                "meter": name,
                "carbon_kg": kwh * factor / 1000,
                "without_factor_kwh": 0.0,
                "mean_g_per_kwh": float(factor) if kwh > 0 else None,
            }
            for name, kwh in drawn
        ]
    }
