"""What one meter saw: power, registers, quarter-hours of UTC, demand blocks on the local clock."""

import math

import numpy as np
import pandas as pd

import local_time

QUARTER_S = 900


def quantile(values, share):
    """Linear interpolation between order statistics (Hyndman and Fan, type 7)."""
    return float(np.quantile(np.asarray(values, dtype=float), share, method="linear"))


def rank(value):
    """What blocks are put in order by: sums that differ by the rounding of binary numbers alone are equal."""
    return round(float(value), 9)


def last_digit(readings):
    """The largest power of ten of which all readings are multiples."""
    for exponent in range(2, -4, -1):
        multiples = readings / 10.0**exponent
        if np.all(np.abs(multiples - np.round(multiples)) < 1e-6):
            return 10.0**exponent
    return 0.0


def unrolled(readings):
    """A register as one count: where it falls, the power of ten above its highest reading was passed."""
    falls = np.diff(readings, prepend=readings[0]) < 0
    ranges = 10.0 ** np.ceil(np.log10(np.fmax.accumulate(readings) + 1e-9))
    return readings + np.cumsum(np.where(falls, np.roll(ranges, 1), 0))


class Metered:
    def __init__(self, site, log):
        self.site, self.log, self.id = site, log, log.meter["id"]
        self.power = self.active_power()
        self.reactive = self.reactive_power()
        self.counts = self.register_step = self.register_kwh = None
        register = log.get("energy_import_kwh")
        if register is not None:
            self.register_step = last_digit(register)
            self.counts = unrolled(register)
            self.register_kwh = self.counts[-1] - self.counts[0]
        self.energy_kwh = None if self.power is None else float(np.nansum(self.power) * log.hours)
        self.quarters = self.by_quarter()
        whole = (self.quarters.covered_s - QUARTER_S).abs() < 0.5
        self.whole_quarters = self.quarters[whole].reset_index(drop=True)
        self.blocks = self.by_block()

    def active_power(self):
        log = self.log
        if (power := log.get("active_power_kw")) is not None:
            return power
        if (energy := log.get("energy_interval_kwh")) is not None:
            return energy / log.hours
        return self.total("active_power", "kw")

    def reactive_power(self):
        log = self.log
        if (power := log.get("reactive_power_kvar")) is not None:
            return power
        total = self.total("reactive_power", "kvar")
        lagging = log.get("reactive_energy_interval_kvarh")
        if total is None and lagging is not None:
            leading = log.get("reactive_energy_export_interval_kvarh")
            return (lagging - (0 if leading is None else leading)) / log.hours
        return total

    def total(self, kind, unit):
        """Sum of the phases; of a machine or circuit on fewer phases, of those it has."""
        names = [f"{kind}_{phase}_{unit}" for phase in ("l1", "l2", "l3")]
        logged = [self.log.get(name) for name in names if self.log.get(name) is not None]
        if not logged or len(logged) < 3 and self.is_three_phase():
            return None
        return sum(logged)

    def change_by(self, kind):
        """What the energy becomes less by what was left out under a kind."""
        rows = self.log.left_out[kind]
        before = Metered.bare(self.site, self.log.as_read).active_power()
        if before is None:
            return None
        return float((np.nan_to_num(self.power[rows]) - np.nan_to_num(before[rows])).sum() * self.log.hours)

    @classmethod
    def bare(cls, site, log):
        one = cls.__new__(cls)
        one.site, one.log = site, log
        return one

    def is_three_phase(self):
        measures = self.log.meter["measures"]
        machine = self.site.machine(measures)
        if machine is not None:
            return machine.connection == "3ph"
        return self.site.circuit(measures).get("phases", "3ph") == "3ph"

    def both_directions(self):
        """Energy drawn and energy fed back, apart: as logged by interval, else by the sign of the power."""
        log = self.log
        drawn, fed_back = log.get("energy_interval_kwh"), log.get("energy_export_interval_kwh")
        if drawn is None and fed_back is None and self.power is not None:
            energy = self.power * log.hours
            drawn = np.where(np.isnan(energy), np.nan, np.maximum(energy, 0))
            fed_back = np.where(np.isnan(energy), np.nan, np.maximum(-energy, 0))
        return [None if one is None else math.fsum(one[~np.isnan(one)]) for one in (drawn, fed_back)]

    def reactive_energies(self):
        log = self.log
        lagging = log.get("reactive_energy_interval_kvarh")
        if lagging is not None:
            leading = log.get("reactive_energy_export_interval_kvarh")
            return float(np.nansum(lagging)), None if leading is None else float(np.nansum(leading))
        if self.reactive is None:
            return None, None
        return (
            float(np.nansum(np.maximum(self.reactive, 0)) * log.hours),
            float(np.nansum(np.maximum(-self.reactive, 0)) * log.hours),
        )

    def lagging(self):
        """Lagging kvarh of each interval, or None."""
        logged = self.log.get("reactive_energy_interval_kvarh")
        if logged is not None:
            return logged
        return None if self.reactive is None else np.maximum(self.reactive, 0) * self.log.hours

    def by_quarter(self):
        """Energy of each quarter-hour of UTC; intervals of at most a quarter-hour that do not straddle one."""
        log = self.log
        if log.interval_s > QUARTER_S or QUARTER_S % log.interval_s or log.from_s % log.interval_s:
            raise ValueError(f"{self.id}: intervals do not fill quarter-hours")
        frame = pd.DataFrame({"start_s": log.starts // QUARTER_S * QUARTER_S})
        reactive = np.full(len(frame), np.nan) if self.reactive is None else self.reactive
        lagging = self.lagging()
        frame["kwh"] = self.power * log.hours
        frame["covered_s"] = np.where(np.isnan(self.power), 0, log.interval_s)
        frame["kvarh"] = reactive * log.hours
        frame["reactive_covered_s"] = np.where(np.isnan(reactive), 0, log.interval_s)
        frame["lagging"] = np.nan if lagging is None else lagging
        sums = frame.groupby("start_s", as_index=False).sum(min_count=0)
        return sums[sums.covered_s > 0].reset_index(drop=True)

    def by_block(self):
        """Complete demand blocks: mean kW, mean kvar and kVA where reactive energy is complete too."""
        length_s = self.site.window_min * 60
        hours = length_s / 3600
        frame = self.quarters.copy()
        frame["start_s"] = local_time.block_starts(self.site, frame.start_s, length_s)
        sums = frame.groupby("start_s", as_index=False).sum()
        sums = sums[(sums.covered_s - length_s).abs() < 0.5].reset_index(drop=True)
        whole = (sums.reactive_covered_s - length_s).abs() < 0.5
        return pd.DataFrame(
            {
                "start_s": sums.start_s,
                "kw": sums.kwh / hours,
                "kvar": (sums.kvarh / hours).where(whole),
                "kva": (np.hypot(sums.kwh, sums.kvarh) / hours).where(whole),
            }
        )

    def nearest_below(self, metered):
        """The nearest meters below what this one measures, except consumers that seem to give energy."""
        site, measures = self.site, self.log.meter["measures"]
        if site.machine(measures) is not None or site.meter_of(measures) != self.id:
            return []
        found = []

        def descend(node):
            for child in [child for child in site.nodes if site.above.get(child) == node]:
                meter = site.meter_of(child)
                if meter is None:
                    descend(child)
                else:
                    found.append(meter)
            for machine in site.machines:
                meter = site.machine_meter(machine)
                if machine.circuit == node and meter is not None:
                    found.append(meter)

        descend(measures)
        order = [name for name in metered if name in found and name != self.id]
        return [metered[name] for name in order if metered[name].energy_kwh >= 0]
