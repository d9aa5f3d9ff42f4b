"""Every place for one machine that runs all the time at its rating: currents, voltage drops, the supply's demand."""

import math

import numpy as np

from installation import HOURS_OF_A_YEAR
from profiles import neutral, rms, turn_of
from recompute_bill import Biller
from recompute_energy import FRAMES
from site_files import PHASES, rated_current

UNIT = FRAMES[:, 0]
# Annex G of IEC 60364-5-52: resistivity at service temperature in ohm mm2/m, reactance in ohm/m.
RESISTIVITY = {"copper": 0.0225, "aluminium": 0.036}
REACTANCE = 0.08e-3


def impedances(cable):
    """Of the phase and of the neutral of a run, in ohm."""
    along = RESISTIVITY[cable["conductor"]] * cable["length_m"]
    return [complex(along / cable[f"{kind}_mm2"], REACTANCE * cable["length_m"]) for kind in ("phase", "neutral")]


def averaged(rows, steps):
    """Each value replaced by the mean of its step."""
    _, at = np.unique(steps, return_inverse=True)
    counts = np.bincount(at)
    sums = [np.bincount(at, row.real) + 1j * np.bincount(at, row.imag) for row in rows]
    means = np.array([(own / counts)[at] for own in sums])
    return means if np.iscomplexobj(rows) else means.real


class Carried:
    """Phase currents of a node, the neutral beyond them, and third harmonics; one value where they are declared."""

    def __init__(self, phases, beyond, harmonics=None, alone=0, unresolved=(0, 0, 0, 0), now=None):
        self.phases, self.beyond = phases, beyond
        self.alone, self.unresolved, self.now = alone, unresolved, now
        self.harmonics = np.zeros(phases.shape) if harmonics is None else harmonics

    def with_load(self, current, phase):
        phases = self.phases.copy()
        phases[phase] += current
        return Carried(phases, self.beyond, self.harmonics, self.alone, self.unresolved)

    def neutral(self):
        return np.hypot(np.abs(neutral(self.phases) + self.alone), self.beyond)

    def amps(self):
        return np.hypot(np.abs(self.phases), self.harmonics)

    def drop_v(self, phase, cable):
        """Largest over time of Re(z I) of the phase and of the neutral in the phase's own frame."""
        line, middle = impedances(cable)
        own = (neutral(self.phases) + self.alone) / UNIT[phase]
        return (line * self.phases[phase] + middle * own).real.max()


def line_sums(bill):
    """Amounts of the lines of one name, summed over the months."""
    sums = {}
    for line in (line for month in bill["months"] for line in month["lines"]):
        sums[line["line"]] = sums.get(line["line"], 0) + line["amount"]
    return sums


class Placing:
    def __init__(self, site, installation, metered):
        self.site, self.installation, self.metered = site, installation, metered
        self.supply = self.measured("supply")

    def measured(self, node):
        own = self.installation.measured(node)
        return own and Carried(own.currents, own.beyond, None, own.alone, own.unresolved, own.now)

    def carried(self, node):
        """By its own log; else the log above less those of its neighbours; else the meters of its machines; else
        their ratings."""
        if (own := self.measured(node)) is not None:
            return own
        if any(board["id"] == node for board in self.site.boards):
            rest, slowest = self.supply.phases.copy(), self.installation.interval_s
            for other in self.site.boards:
                if other["id"] != node:
                    rest -= self.measured(other["id"]).phases
                    slowest = max(slowest, self.installation.logs[self.site.meter_of(other["id"])].interval_s)
            # A difference of a fast and a slow log means nothing within a step of the slow one.
            steps = self.installation.starts // slowest
            return Carried(averaged(rest, steps), averaged(self.supply.beyond[None], steps)[0])
        machines = self.site.machines_below(node)
        profiles = [self.installation.profiles[machine.name] for machine in machines]
        turns = [turn_of(self.installation.connection_now(machine)) for machine in machines]
        if profiles and all(profile.basis == "measured" for profile in profiles):
            phases = sum(np.roll(profile.currents, turn, axis=0) for profile, turn in zip(profiles, turns))
            third = sum(
                np.roll(machine.h3 * np.abs(profile.currents), turn, axis=0)
                for machine, profile, turn in zip(machines, profiles, turns)
            )
            return Carried(phases, third.sum(axis=0), third)
        phases, third, beyond = np.zeros((3, 1), dtype=complex), np.zeros((3, 1)), np.zeros(1)
        nothing = np.full(1, np.nan)
        for machine, turn in zip(machines, turns):
            rated = np.array([complex(machine.rated_kw, machine.rated_kvar)])
            currents = np.roll(self.installation.from_power(machine, rated, nothing, "").currents, turn, axis=0)
            phases += currents
            third += machine.h3 * np.abs(currents)
            if machine.connection in PHASES + ("3ph",):
                beyond += machine.h3 * np.abs(currents).sum(axis=0)
        return Carried(phases, beyond, third)

    def answer(self, found, power_kw, power_factor):
        current = power_kw * 1000 / self.site.volts * (1 - 1j * math.sqrt(1 - power_factor**2) / power_factor)
        kvar = power_kw * math.sqrt(1 - power_factor**2) / power_factor
        nodes = {name: self.carried(name) for name in self.site.nodes}
        places = [
            self.place(place, rank, current, nodes, power_kw, kvar) for rank, place in enumerate(found["places"], 1)
        ]
        return {
            "design_current_a": abs(current),
            "starting_current_a": None,
            "intervals": len(self.installation.starts),
            "interval_s": self.installation.interval_s,
            "demand_window_min": self.site.window_min,
            "places": places,
            "running_cost": self.running_cost(power_kw, kvar),
        }

    def running_cost(self, power_kw, kvar):
        """What the machine draws in a year and adds to the bill over the time of the log."""
        prices = self.installation.prices()
        currency = self.site.toml["site"].get("currency")
        cost = {"currency": currency, "energy_kwh_per_year": power_kw * HOURS_OF_A_YEAR, "bill": None}
        cost["energy_cost_per_year"] = None if prices is None else power_kw * HOURS_OF_A_YEAR * prices.mean()
        if self.site.toml.get("tariff"):
            meter = self.metered[self.site.meter_of("supply")]
            before, after = Biller(self.site, meter).bill(), Biller(self.site, meter, power_kw, kvar).bill()
            amounts = [line_sums(bill) for bill in (before, after)]
            cost["bill"] = {
                "currency": currency,
                "from": before["months"][0]["from"],
                "to": before["months"][-1]["to"],
                "before": before["total"],
                "after": after["total"],
                "lines": [
                    {"line": line, "before": amounts[0].get(line, 0), "after": amount}
                    for line, amount in amounts[1].items()
                    if amount != amounts[0].get(line, 0)
                ],
            }
        return cost

    def place(self, place, rank, current, nodes, power_kw, kvar):
        phase, name = PHASES.index(place["connection"]), place["circuit"]
        after = {node: nodes[node].with_load(current, phase) for node in self.site.path(name)}
        path = [cable for node in self.site.path(name) if (cable := self.cable(node)) is not None]
        drop = sum(
            after[node].drop_v(phase, cable) for node in self.site.path(name) if (cable := self.cable(node)) is not None
        )
        figures = {
            "circuit": name,
            "connection": place["connection"],
            "rank": rank,
            "device": {"rated_a": self.device(abs(current))},
            "path_m": float(sum(cable["length_m"] for cable in path)),
        }
        figures |= self.effect(after["supply"], power_kw, kvar)
        figures["checks"] = [self.check(check, current, after, phase, name, drop) for check in place["checks"]]
        return figures

    def device(self, amps):
        """The smallest rating of a breaker that carries the current: IEC 60898-1."""
        return float(next(rated for rated in (6, 10, 13, 16, 20, 25, 32, 40, 50, 63, 80, 100, 125) if rated >= amps))

    def cable(self, node):
        board = next((board for board in self.site.boards if board["id"] == node), None)
        return board.get("feeder") if board is not None else self.site.circuit(node).get("cable")

    def effect(self, after, power_kw, kvar):
        """Figures of the supply before and after."""
        pairs = {}
        for when, carried in (("before", self.supply), ("after", after)):
            amps, middle = carried.amps(), carried.neutral()
            *by_phase, of_neutral = [
                math.sqrt(rms(series) ** 2 + more) for series, more in zip([*amps, middle], carried.unresolved)
            ]
            mean = sum(by_phase) / 3
            blocks = self.block_means(np.vstack([amps, middle])).max(axis=1)
            more = (0, 0) if when == "before" else (power_kw, kvar)
            demand = self.metered[self.site.meter_of("supply")].blocks
            for key, value in {
                "neutral_rms_a": of_neutral,
                "neutral_max_a": middle.max(),
                "phase_max_a": list(amps.max(axis=1)),
                "demand_period_neutral_max_a": blocks[3],
                "demand_period_phase_max_a": list(blocks[:3]),
                "current_unbalance_pct": 100 * max(abs(one - mean) for one in by_phase) / mean,
                "max_demand_kw": demand.kw.max() + more[0],
                "max_demand_kva": np.hypot(demand.kw + more[0], demand.kvar + more[1]).max(),
            }.items():
                pairs.setdefault(key, {})[when] = (carried.now or {}).get(key, value)
        return pairs

    def block_means(self, series):
        """Means of complete demand blocks of each row."""
        length_s, starts = self.site.window_min * 60, self.installation.starts
        blocks, at = np.unique(starts // length_s, return_inverse=True)
        counts = np.bincount(at)
        whole = counts == length_s // self.installation.interval_s
        return np.array([np.bincount(at, row)[whole] / counts[whole] for row in series])

    def check(self, check, current, after, phase, name, drop):
        kind, at = check["check"], check["at"].rpartition(" ")[0]
        limit = value = ...
        if kind == "design-current":
            value, limit = abs(current), self.device(abs(current))
        elif kind == "repair-first":
            value, limit = abs(current), 0
        elif kind == "selectivity":
            # Two gG fuses, or a breaker behind a fuse: rated currents 1 to 1.6 (IEC 60269-2-1).
            value, limit = rated_current(self.site.circuit(name)["protective_device"]) / self.device(abs(current)), 1.6
        elif kind == "phase-loading":
            value, limit = after[at].amps()[phase].max(), self.site.phase_limit(at)
        elif kind == "neutral-loading":
            value, limit = after[at].neutral().max(), self.site.neutral_limit(at)
        elif kind == "circuit-loading":
            value, limit = after[at].amps()[phase].max(), self.site.phase_limit(at)
        elif kind == "circuit-cable-capacity":
            value = self.cable_current(after[at].amps()[phase].max(), at, current, phase)
            limit = self.cable(at)["current_capacity_a"] * self.cable(at).get("derating", 1)
        elif kind in ("circuit-device-and-cable", "circuit-overload-protection"):
            circuit = self.site.circuit(check["at"])
            value = rated_current(circuit["protective_device"])
            limit = circuit["cable"]["current_capacity_a"] * circuit["cable"].get("derating", 1)
            if kind == "circuit-overload-protection":
                # Conventional operating current of a gG fuse; IEC 60364-4-43, 433.1.
                value, limit = value * (1.6 if value >= 16 else 1.9), 1.45 * limit
        elif kind == "transformer-loading":
            value = 3 * self.site.volts * after["supply"].amps()[phase].max() / 1000
            limit = float(self.site.supply["transformer_kva"])
        elif kind == "voltage-drop":
            circuit = self.site.circuit(name)
            usual = 3 if circuit.get("use") == "lighting" else 5
            value, limit = 100 * drop / self.site.volts, float(circuit.get("voltage_drop_limit_pct", usual))
        elif kind == "ways":
            ways = next(board["ways"] for board in self.site.boards if board["id"] == name)
            free = self.installation.ways(self.installation.now())[name][phase]
            value, limit = ways[phase] - free + 1, ways[phase]
        return {"value": value, "limit": limit}

    def cable_current(self, amps, circuit, current, phase):
        """Table E.52.1 of IEC 60364-5-52, by the third harmonic of the circuit's declared loads and the machine on its
        worst phase, as a share of what they draw there."""
        fundamental, third = np.zeros(3), np.zeros(3)
        fundamental[phase] += abs(current)
        for machine in self.site.machines:
            if machine.circuit == circuit:
                rated = np.array([complex(machine.rated_kw, machine.rated_kvar)])
                drawn = self.installation.from_power(machine, rated, np.full(1, np.nan), "").currents[:, 0]
                drawn = np.abs(np.roll(drawn, turn_of(self.installation.connection_now(machine))))
                fundamental, third = fundamental + drawn, third + machine.h3 * drawn
        shares = third[fundamental > 0] / np.hypot(fundamental, third)[fundamental > 0]
        share = shares.max() if self.site.circuit(circuit).get("phases", "3ph") == "3ph" else 0
        in_neutral = 3 * share * amps
        return (
            amps
            if share <= 0.15
            else amps / 0.86
            if share <= 0.33
            else in_neutral / 0.86
            if share <= 0.45
            else in_neutral
        )
