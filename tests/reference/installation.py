"""The tree of nodes: what moves as one, what stays, what each node carries, its ways and its heat."""

import numpy as np

import local_time
from metered import quantile
from profiles import Profiles, neutral, rms, turn_of, turned
from recompute_bill import Tariff
from recompute_energy import phasors
from site_files import PAIRS, PHASES

TOLERANCE = 1e-9
HOURS_OF_A_YEAR = 8760


class Unit:
    """Machines that move as one."""

    def __init__(self, machines, currents, turn, moves):
        self.machines, self.currents, self.turn, self.moves = machines, currents, turn, moves


class Installation(Profiles):
    def __init__(self, site, logs):
        super().__init__(site, logs)
        self.units = self.moving()

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

    def turns(self, assignment):
        return [turn_of(assignment[unit.machines[0]]) for unit in self.units]

    def now(self):
        return [unit.turn for unit in self.units]

    def below(self, node):
        return {machine.name: machine for machine in self.site.machines_below(node)}

    def measured(self, node):
        """Phasors and neutral beyond them, of the node's own meter on the intervals; None without one."""
        if node == "supply":
            if self.main is None:
                return None
            log = self.main
        else:
            meter = self.site.meter_of(node)
            log = self.logs.get(meter)
            if log is None or phasors(log, 1.0) is None:
                return None
        rows = self.rows(log)
        if np.count_nonzero(rows < 0) > len(rows) / 20:
            return None
        currents = np.where(rows >= 0, phasors(log, self.site.volts)[:, rows], 0)
        logged = log.get("current_n_a")
        if logged is None:
            return currents, None
        unexplained = np.where(rows >= 0, logged[rows], 0) ** 2 - np.abs(neutral(currents)) ** 2
        return currents, np.sqrt(np.maximum(unexplained, 0))

    def node(self, name):
        """Currents that stay, the neutral beyond the phasors, and the currents of each unit below the node."""
        below, length = self.below(name), len(self.starts)
        moving = {machine for unit in self.units for machine in unit.machines}
        shares = []
        for unit in self.units:
            here = [self.profiles[machine].currents for machine in unit.machines if machine in below]
            shares.append(sum(here) if here else None)
        own = self.measured(name)
        third = np.zeros(length)
        for machine in below.values():
            if machine.h3 and machine.connection in PHASES + ("any",):
                third += machine.h3 * np.abs(self.profiles[machine.name].currents[0])
        if own is not None:
            fixed, beyond = own[0].copy(), own[1] if own[1] is not None else third
            for unit, share in zip(self.units, shares):
                if share is not None and unit.turn is not None:
                    fixed -= turned(share, unit.turn)
        else:
            fixed, beyond = np.zeros((3, length), dtype=complex), third
            for machine in below.values():
                if machine.name not in moving:
                    profile = self.profiles[machine.name]
                    fixed += turned(profile.currents, turn_of(self.connection_now(machine)))
        return fixed, beyond, shares

    def carried(self, node, turns):
        fixed, beyond, shares = node
        phases = fixed + sum(
            (turned(share, turn) for share, turn in zip(shares, turns) if share is not None), np.zeros_like(fixed)
        )
        return phases, np.hypot(np.abs(neutral(phases)), beyond)

    def figures(self, node, turns, limit):
        phases, middle = self.carried(node, turns)
        amps = np.abs(phases)
        by_phase = [rms(phase) for phase in amps]
        mean = sum(by_phase) / 3
        return {
            "neutral_rms_a": rms(middle),
            "neutral_p95_a": quantile(middle, 0.95),
            "neutral_max_a": middle.max(),
            "phase_max_a": list(amps.max(axis=1)),
            "phase_rms_a": by_phase,
            "current_unbalance_pct": 100 * max(abs(one - mean) for one in by_phase) / mean if mean > 0 else None,
            "intervals_over_limit": [
                int((phase > limit * (1 + TOLERANCE)).sum()) if limit is not None else 0 for phase in amps
            ],
        }

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
            phases, middle = self.carried(nodes[board["id"]], turns)
            watts = (0 if watts is None else watts) + ohm[0] * (np.abs(phases) ** 2).sum(axis=0) + ohm[1] * middle**2
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
