"""What each machine draws over the analysis intervals: measured, or rated while its schedule runs."""

import math

import numpy as np

import local_time
from recompute_energy import FRAMES, phasors
from site_files import PAIRS, PHASES


def turn_of(connection):
    """Phase, pair or cyclic shift as a number; None where the machine has no phase yet."""
    for names in (PHASES, PAIRS):
        if connection in names:
            return names.index(connection)
    return 0 if connection == "3ph" else None


def turned(currents, turn):
    return np.roll(currents, turn, axis=0)


def neutral(currents):
    return (FRAMES * currents).sum(axis=0)


def rms(values):
    return math.sqrt(np.mean(np.abs(values) ** 2))


class Profile:
    """Fundamental currents at turn 0 on three positions, each from its own phase voltage, and active power."""

    def __init__(self, currents, power, basis):
        self.currents, self.power, self.basis = currents, power, basis


class Profiles:
    def __init__(self, site, logs):
        self.site, self.logs = site, logs
        self.main = self.main_log()
        self.starts, self.interval_s = self.grid()
        self.hours = self.interval_s / 3600
        self.profiles = {machine.name: self.profile(machine) for machine in site.machines}
        self.main_currents = None
        if self.main is not None:
            self.main_currents = phasors(self.main, site.volts)[:, self.rows(self.main)]
            self.cap_estimates()

    def main_log(self):
        meter = self.site.meter_of("supply")
        log = self.logs.get(meter)
        return log if log is not None and phasors(log, 1.0) is not None else None

    def grid(self):
        """The supply's intervals with the current of each phase, else those that all metered machines share."""
        if self.main is not None:
            known = ~np.isnan(phasors(self.main, self.site.volts)).any(axis=0)
            return self.main.starts[known], self.main.interval_s
        logs = [
            self.logs[meter]
            for machine in self.site.machines
            if (meter := self.site.machine_meter(machine)) is not None
        ]
        if not logs:
            return np.array([], dtype="int64"), 900
        finest = min(logs, key=lambda log: log.interval_s)
        rows = [self.rows(log, finest.starts) >= 0 for log in logs]
        return finest.starts[np.all(rows, axis=0)], finest.interval_s

    def rows(self, log, starts=None):
        """Row of the log that covers each interval, -1 where none does."""
        starts = self.starts if starts is None else starts
        rows = np.searchsorted(log.starts, starts, side="right") - 1
        covered = (rows >= 0) & (starts < log.starts[rows] + log.interval_s)
        return np.where(covered, rows, -1)

    def declared(self, machine):
        """Rating x utilisation factor while the schedule runs: P + jQ in kW and kvar."""
        rated = complex(machine.rated_kw, machine.rated_kvar) * machine.utilisation
        if machine.schedule is None:
            return np.full(len(self.starts), rated)
        clocks = local_time.calendar(self.site, self.starts).local.dt.to_pydatetime()
        known = {}
        runs = []
        for clock in clocks:
            key = (clock.date(), clock.hour, clock.minute)
            if key not in known:
                known[key] = self.site.runs(machine.schedule, clock)
            runs.append(known[key])
        return np.where(runs, rated, 0)

    def profile(self, machine):
        meter = self.site.machine_meter(machine)
        declared, nothing = self.declared(machine), np.full(len(self.starts), np.nan)
        if meter is not None:
            log = self.logs[meter]
            power, amps = self.own_reading(machine, log)
            if power is not None and np.nanmean(power.real) >= 0:
                rows = self.rows(log)
                read = (rows >= 0) & ~np.isnan(power[rows])
                power = np.where(read, power[rows], declared)
                amps = nothing if amps is None else np.where(read, amps[rows], np.nan)
                return self.from_power(machine, power, amps, "measured")
        basis = "estimated" if machine.schedule else "rating-only"
        return self.from_power(machine, declared, nothing, basis)

    def own_reading(self, machine, log):
        """P + jQ and current of the machine's own log; Q by the declared power factor where it is not logged."""

        def only(kind, unit, total=True):
            if total and (column := log.get(f"{kind}_{unit}")) is not None:
                return column
            logged = [
                column for phase in ("l1", "l2", "l3") if (column := log.get(f"{kind}_{phase}_{unit}")) is not None
            ]
            return logged[0] if len(logged) == 1 else None

        active, reactive = only("active_power", "kw"), only("reactive_power", "kvar")
        amps = only("current", "a", total=False)
        if active is None:
            return None, None
        if reactive is None:
            reactive = active * machine.rated_kvar / machine.rated_kw
        return active + 1j * reactive, amps

    def from_power(self, machine, power, amps, basis):
        site, between = self.site, machine.connection in PAIRS + ("any-2",)
        three = machine.connection == "3ph"
        volts = site.volts * (3**0.5 if between else 3 if three else 1)
        current = np.conj(power) * 1000 / volts
        size = np.abs(current)
        with np.errstate(invalid="ignore", divide="ignore"):
            logged = np.where(size > 0, current / size, 1) * amps / (1 + machine.h3**2) ** 0.5
        current = np.where(np.isnan(amps), current, logged)
        zero = np.zeros_like(current)
        if three:
            currents = np.array([current] * 3)
        elif between:
            # From the voltage between the phases, 30 degrees ahead of the first and behind the second.
            ahead = np.exp(1j * np.pi / 6)
            currents = np.array([current * ahead, current * np.conj(ahead), zero])
        else:
            currents = np.array([current, zero, zero])
        return Profile(currents, power.real.copy(), basis)

    def connection_now(self, machine):
        """A machine without a phase of its own on a one- or two-phase circuit has the circuit's."""
        phases = self.site.circuit(machine.circuit).get("phases", "3ph")
        if machine.connection in ("any", "any-2") and phases != "3ph":
            return phases
        return machine.connection

    def cap_estimates(self):
        """On each phase the active currents of all estimates together take no more than the supply's meter leaves
        beside the measured machines; a machine on several phases follows the tightest."""
        seen = {"measured": np.zeros((3, len(self.starts))), "estimated": np.zeros((3, len(self.starts)))}
        for machine in self.site.machines:
            profile, turn = self.profiles[machine.name], turn_of(self.connection_now(machine))
            if turn is not None:
                kind = "measured" if profile.basis == "measured" else "estimated"
                seen[kind] += turned(profile.currents, turn).real
        left = self.main_currents.real - seen["measured"]
        wanted = seen["estimated"]
        with np.errstate(invalid="ignore", divide="ignore"):
            scarce = (wanted > left) & (wanted > 0)
            factors = np.where(scarce, np.minimum(np.maximum(left, 0) / wanted, 1), 1)
        for machine in self.site.machines:
            profile, turn = self.profiles[machine.name], turn_of(self.connection_now(machine))
            if turn is None or profile.basis == "measured":
                continue
            positions = {"3ph": 3}.get(machine.connection, 2 if machine.connection in PAIRS else 1)
            scale = np.min([factors[(position + turn) % 3] for position in range(positions)], axis=0)
            profile.currents, profile.power = profile.currents * scale, profile.power * scale

    def with_harmonics(self, machines):
        """Largest of the phase currents of machines together, third harmonics included, interval by interval."""
        fundamental = sum(self.profiles[name].currents for name in machines)
        third = sum(self.site.machine(name).h3 * np.abs(self.profiles[name].currents) for name in machines)
        return np.hypot(np.abs(fundamental), third).max(axis=0)
