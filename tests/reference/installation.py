"""The tree of nodes: what moves as one, what stays, what each node carries, its ways and its heat."""

import math

import numpy as np

import local_time
from metered import Metered, quantile
from profiles import Profiles, neutral, rms, turn_of, turned
from recompute_bill import Tariff
from recompute_energy import magnitudes, phasors
from recompute_energy import rms as rms_known
from site_files import PAIRS, PHASES

TOLERANCE = 1e-9
HOURS_OF_A_YEAR = 8760


class Unit:
    """Machines that move as one."""

    def __init__(self, machines, currents, turn, moves):
        self.machines, self.currents, self.turn, self.moves = machines, currents, turn, moves


class Node:
    """What flows at a place: what stays on its phases and in the neutral alone, what moves, the neutral beyond the
    phasors, and the mean squares of L1, L2, L3, N that the intervals do not resolve."""

    def __init__(self, fixed, beyond, shares):
        self.fixed, self.beyond, self.shares = fixed, beyond, shares
        self.alone, self.unresolved = np.zeros(len(beyond), dtype=complex), [0.0] * 4
        self.now = self.difference = None

    def at(self, rows):
        """In some intervals, as they are."""
        part = Node(self.fixed[:, rows], self.beyond[rows], [share[:, rows] for share in self.shares])
        part.alone = self.alone[rows]
        return part


class Measured:
    """A place with its own meter. Where the neutral is smaller than the sum of the phases, the smallest phasor that
    makes it so is taken off the sum; where it is larger, the rest is beyond the phasors, in quadrature."""

    def __init__(self, site, log, rows, period):
        own = phasors(log, site.volts)
        self.currents = np.where(rows >= 0, own[:, rows], 0)
        logged = log.get("current_n_a")
        self.is_logged = logged is not None
        known = logged if self.is_logged else np.abs(neutral(own))
        total = neutral(self.currents)
        size, middle = np.abs(total), np.where(rows >= 0, known[rows], np.nan)
        middle = np.where(np.isnan(middle), size, middle)
        with np.errstate(invalid="ignore", divide="ignore"):
            self.alone = np.where(middle < size, total * (middle / size - 1), 0)
        self.beyond = np.sqrt(np.maximum(middle**2 - size**2, 0))
        within = (log.starts >= period[0]) & (log.starts < period[1])
        amps, known = magnitudes(log, own)[:, within], known[within]
        by_phase = [rms_known(phase) for phase in amps]
        self.now = {
            "neutral_rms_a": rms_known(known),
            "neutral_rms_low_a": rms_known(known),
            "neutral_rms_high_a": rms_known(known),
            "neutral_p95_a": quantile(known[~np.isnan(known)], 0.95),
            "neutral_max_a": np.nanmax(known),
            "phase_max_a": list(np.nanmax(amps, axis=1)),
            "phase_rms_a": by_phase,
            "current_unbalance_pct": unbalance_pct(by_phase),
        }
        on_intervals = [rms(phase) for phase in self.currents] + [rms(self.middle())]
        self.unresolved = [
            measured**2 - model**2 for measured, model in zip([*by_phase, self.now["neutral_rms_a"]], on_intervals)
        ]
        nothing_off = np.hypot(size, self.beyond)
        self.difference = {
            "model_difference_neutral_rms_a": rms(nothing_off) - self.now["neutral_rms_a"],
            "model_difference_neutral_max_a": nothing_off.max() - self.now["neutral_max_a"],
        }

    def middle(self):
        return np.hypot(np.abs(neutral(self.currents) + self.alone), self.beyond)


def unbalance_pct(by_phase):
    mean = sum(by_phase) / 3
    return 100 * max(abs(one - mean) for one in by_phase) / mean if mean > 0 else None


def over_limit(amps, limit):
    return [int((phase > limit * (1 + TOLERANCE)).sum()) if limit is not None else 0 for phase in amps]


class Installation(Profiles):
    def __init__(self, site, logs):
        super().__init__(site, logs)
        self.units = self.moving()

    def energy_kwh(self, machine):
        """Of its own meter over all of its readings; without one, of its profile over the intervals."""
        profile = self.profiles[machine.name]
        if profile.basis == "measured":
            return Metered(self.site, self.logs[self.site.machine_meter(machine)]).energy_kwh
        return profile.power.sum() * self.hours

    def moves_with(self, machine):
        """The one- or two-phase circuit that the machine moves with."""
        phases = self.site.circuit(machine.circuit).get("phases", "3ph")
        return None if phases == "3ph" else machine.circuit

    def moving(self):
        groups = {}
        for index, machine in enumerate(self.site.machines):
            circuit = self.moves_with(machine)
            if circuit is not None:
                members = [other for other in self.site.machines if self.moves_with(other) == circuit]
                if self.site.circuit(circuit).get("movable", True) and all(other.movable for other in members):
                    groups.setdefault(("circuit", circuit), []).append(machine)
            elif machine.movable and machine.connection != "3ph":
                key = ("word", machine.keep_with) if machine.keep_with else ("machine", index)
                groups.setdefault(key, []).append(machine)
        return [
            Unit(
                [machine.name for machine in machines],
                sum(self.profiles[machine.name].currents for machine in machines),
                turn_of(self.connection_now(machines[0])),
                1 if kind == "circuit" else len(machines),
            )
            for (kind, _), machines in groups.items()
        ]

    def turns(self, allocation):
        return [turn_of(allocation[unit.machines[0]]) for unit in self.units]

    def now(self):
        return [unit.turn for unit in self.units]

    def below(self, node):
        return {machine.name: machine for machine in self.site.machines_below(node)}

    def measured(self, node):
        """What the node's own meter says, on the intervals and of now; None without one."""
        log = self.main if node == "supply" else self.logs.get(self.site.meter_of(node))
        if log is None or phasors(log, 1.0) is None:
            return None
        rows = self.rows(log)
        if np.count_nonzero(rows < 0) > len(rows) / 20:
            return None
        return Measured(self.site, log, rows, (self.main or log).period)

    def node(self, name):
        """What stays, the neutral beyond the phasors, and the currents of each unit below the node."""
        below, length = self.below(name), len(self.starts)
        moving = {machine for unit in self.units for machine in unit.machines}
        shares = []
        for unit in self.units:
            here = [self.profiles[machine].currents for machine in unit.machines if machine in below]
            shares.append(sum(here) if here else None)
        own = self.measured(name)
        third = np.zeros(length)
        for machine in below.values():
            if machine.h3 and machine.connection in PHASES + ("any", "3ph"):
                third += machine.h3 * np.abs(self.profiles[machine.name].currents).sum(axis=0)
        node = Node(np.zeros((3, length), dtype=complex), third, shares)
        if own is not None:
            node.fixed, node.alone, node.unresolved = own.currents.copy(), own.alone, own.unresolved
            node.beyond = own.beyond if own.is_logged else np.hypot(own.beyond, third)
            node.now = dict(own.now)
            node.difference = own.difference
            if not own.is_logged and third.any():
                middle = np.hypot(own.middle(), third)
                level = math.hypot(own.now["neutral_rms_a"], rms(third))
                node.now |= {
                    "neutral_rms_a": level,
                    "neutral_rms_low_a": level,
                    "neutral_rms_high_a": level,
                    "neutral_p95_a": quantile(middle, 0.95),
                    "neutral_max_a": middle.max(),
                }
            for unit, share in zip(self.units, shares):
                if share is not None and unit.turn is not None:
                    node.fixed -= turned(share, unit.turn)
        else:
            for machine in below.values():
                if machine.name not in moving:
                    profile = self.profiles[machine.name]
                    node.fixed += turned(profile.currents, turn_of(self.connection_now(machine)))
        return node

    def carried(self, node, turns):
        phases = node.fixed + sum(
            (turned(share, turn) for share, turn in zip(node.shares, turns) if share is not None),
            np.zeros_like(node.fixed),
        )
        return phases, np.hypot(np.abs(neutral(phases) + node.alone), node.beyond)

    def figures(self, node, turns, limit):
        """Under an allocation; what the intervals do not resolve of the mean squares stays as it is."""
        phases, middle = self.carried(node, turns)
        amps = np.abs(phases)
        *by_phase, of_neutral = [
            math.sqrt(max(rms(series) ** 2 + more, 0)) for series, more in zip([*amps, middle], node.unresolved)
        ]
        return {
            "neutral_rms_a": of_neutral,
            "neutral_rms_low_a": of_neutral,
            "neutral_rms_high_a": of_neutral,
            "neutral_p95_a": quantile(middle, 0.95),
            "neutral_max_a": middle.max(),
            "phase_max_a": list(amps.max(axis=1)),
            "phase_rms_a": by_phase,
            "current_unbalance_pct": unbalance_pct(by_phase),
            "intervals_over_limit": over_limit(amps, limit),
        }

    def now_figures(self, node, limit):
        """As measured where there is a meter."""
        worked_out = self.figures(node, self.now(), limit)
        return worked_out if node.now is None else worked_out | node.now

    def ways(self, turns):
        """Free single-pole ways of each board that declares them; a circuit or machine that leaves it takes one on
        each of its phases."""
        turn_of_machine = {name: turn for unit, turn in zip(self.units, turns) for name in unit.machines}
        free = {board["id"]: list(board["ways"]) for board in self.site.boards if "ways" in board}
        taken = []
        for circuit in self.site.circuits:
            members = [machine.name for machine in self.site.machines if machine.circuit == circuit["id"]]
            moving = [turn_of_machine[name] for name in members if name in turn_of_machine]
            phases = circuit.get("phases", "3ph")
            turn = moving[0] if moving and phases != "3ph" else turn_of(phases)
            taken.append((circuit["board"], phases, turn))
        for machine in self.site.machines:
            turn = turn_of_machine.get(machine.name, turn_of(self.connection_now(machine)))
            taken.append((machine.circuit, machine.connection, turn))
        for board, connection, turn in taken:
            if board in free:
                count = 3 if connection == "3ph" else 2 if connection in PAIRS + ("any-2",) else 1
                for position in range(count):
                    phase = (position + turn) % 3
                    free[board][phase] = max(free[board][phase] - 1, 0)
        return free

    def heat(self, nodes, turns):
        """Joule's law in every conductor of the boards' feeders, in watts, interval by interval."""
        watts = None
        for board in self.site.boards:
            feeder = board.get("feeder")
            if feeder is None:
                continue
            rho = {"copper": 0.0225, "aluminium": 0.036}[feeder["conductor"]]
            ohm = [rho * feeder["length_m"] / feeder[f"{conductor}_mm2"] for conductor in ("phase", "neutral")]
            node = nodes[board["id"]]
            phases, middle = self.carried(node, turns)
            watts = (0 if watts is None else watts) + ohm[0] * (np.abs(phases) ** 2).sum(axis=0) + ohm[1] * middle**2
            watts = watts + ohm[0] * sum(node.unresolved[:3]) + ohm[1] * node.unresolved[3]
        return watts

    def prices(self):
        """Price of a kWh in each interval, tax included; None without bands that hold over the whole period."""
        tariffs = sorted((Tariff(table) for table in self.site.toml.get("tariff", [])), key=lambda one: one.begin)
        clocks = local_time.calendar(self.site, self.starts // 900 * 900).local.dt.to_pydatetime()
        if not tariffs or clocks[0].date() < tariffs[0].begin:
            return None
        known = {}
        for clock in clocks:
            if clock not in known:
                tariff = [one for one in tariffs if one.begin <= clock.date()][-1]
                if not tariff.bands:
                    return None
                rate = tariff.bands[tariff.band_at(clock, self.site.holidays)].rate
                known[clock] = float(rate) * (1 + float(tariff.get("tax_pct") or 0) / 100)
        return np.array([known[clock] for clock in clocks])

    def feeder_loss(self, nodes, before, after):
        heat = [self.heat(nodes, turns) for turns in (before, after)]
        if heat[0] is None:
            return None
        loss = {
            "before_kwh_per_year": heat[0].mean() * HOURS_OF_A_YEAR / 1000,
            "after_kwh_per_year": heat[1].mean() * HOURS_OF_A_YEAR / 1000,
            "lower_bound_kwh_per_year": None,
        }
        prices = self.prices()
        if prices is not None:
            loss["before_cost_per_year"] = (heat[0] * prices).mean() * HOURS_OF_A_YEAR / 1000
            loss["after_cost_per_year"] = (heat[1] * prices).mean() * HOURS_OF_A_YEAR / 1000
        return loss
