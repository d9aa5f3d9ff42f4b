"""The plan told, move by move and node by node, and the best by trying all allocations where they are few."""

import math

import numpy as np

import local_time
from allocations import Allocations
from installation import TOLERANCE
from profiles import rms, turn_of
from site_files import PHASES

NO_DIFFERENCE = {"model_difference_neutral_rms_a": None, "model_difference_neutral_max_a": None}
# More allocations than that are not tried out.
MOST_TRIED = 100_000


class Balance:
    def __init__(self, installation):
        self.installation, self.allocations = installation, Allocations(installation)

    def moves(self, found, form, after):
        """Each move alone and last, beside what it says of itself."""
        now = self.installation.now()

        def level(turns):
            return math.sqrt(self.allocations.mean_squares(form, [turns])[0])

        steps = {
            name: step["number"]
            for step in found["work_order"]["steps"]
            for move in step["moves"]
            for name in move["machines"]
        }
        told = []
        for machine in self.installation.site.machines:
            at = next((at for at, unit in enumerate(self.installation.units) if machine.name in unit.machines), None)
            if at is None or now[at] == after[at]:
                continue
            alone, without = list(now), list(after)
            alone[at], without[at] = after[at], now[at]
            told.append(
                {
                    "machine": machine.name,
                    "from": self.installation.connection_now(machine),
                    "to": found["allocation"][machine.name],
                    "with_circuit": self.installation.moves_with(machine),
                    "step": steps[machine.name],
                    "helps_pct": None,
                    "gain_alone_a": level(now) - level(alone),
                    "loss_without_a": level(without) - level(after),
                }
            )
        return told

    def work_order(self, found, form):
        """After each step: the neutral, and the ways of the boards it names."""
        turns, steps = list(self.installation.now()), []
        for number, step in enumerate(found["work_order"]["steps"], 1):
            before = self.installation.ways(turns)
            for move in step["moves"]:
                at = next(at for at, unit in enumerate(self.installation.units) if move["machines"][0] in unit.machines)
                turns[at] = turn_of(move["to"])
            after = self.installation.ways(turns)
            steps.append(
                {
                    "number": number,
                    "neutral_rms_after_a": math.sqrt(self.allocations.mean_squares(form, [turns])[0]),
                    "moves": [
                        {"current_max_a": self.installation.with_harmonics(move["machines"]).max()}
                        for move in step["moves"]
                    ],
                    "ways": [
                        {"board": board, "free_before": before[board], "free_after": after[board]}
                        for board in before
                        if before[board] != after[board]
                    ],
                }
            )
        return {"steps": steps}

    def optional_moves(self, found, form, after):
        """The neutral with each further step, and the turns with all of them."""
        turns, out = after.copy(), []
        for step in sorted({move["step"] for move in found["optional_moves"]}):
            moves = [move for move in found["optional_moves"] if move["step"] == step]
            for move in moves:
                units = self.installation.units
                at = next(at for at, unit in enumerate(units) if move["machine"] in unit.machines)
                turns[at] = turn_of(move["to"])
            reached = math.sqrt(self.allocations.mean_squares(form, [turns])[0])
            out += [{"step": step, "neutral_rms_a": reached} for _ in moves]
        return out, turns

    def curve(self, found, nodes, before_rms, after_rms):
        """No moves, few moves by trying all, and all of them; the rest holds together within itself."""
        points, told = [], found["moves_curve"]
        for point in told:
            expected = {"moves": len(points)}
            reached, bound = point["neutral_rms_a"], point["lower_bound_neutral_rms_a"]
            if len(points) == 0:
                expected["neutral_rms_a"] = before_rms
            elif len(points) == len(told) - 1:
                expected["neutral_rms_a"] = after_rms
            elif point["within_limits"] and self.allocations.count(len(points)) <= MOST_TRIED:
                expected["neutral_rms_a"] = self.allocations.best_within(nodes, len(points))
            if bound is not None:
                expected["gap_pct"] = 100 * (reached - bound) / reached if reached else 0.0
            if point["proof"] == "optimal" and point["within_limits"]:
                expected["lower_bound_neutral_rms_a"] = expected.get("neutral_rms_a", reached)
            points.append(expected)
        return points

    def peak_answer(self, found, supply):
        """The largest block before and after, and the least that any allocation has within so many moves."""
        conductors = ("N",) if found["objective"] == "neutral-peak" else PHASES

        def told(turns):
            amps, name, start = self.allocations.largest_block(supply, turns, conductors)
            return {"current_a": amps, "conductor": name, "at": local_time.utc(start)}

        answer = {
            "block_s": self.installation.site.window_min * 60,
            "before": told(self.installation.now()),
            "after": told(self.installation.turns(found["allocation"])),
            "lower_bound_a": ...,
        }
        curve = [{"moves": moves} for moves in range(len(found["moves_curve"]))]
        if self.allocations.has_few_units():
            every = self.allocations.every()
            moves = self.allocations.moves_of(every)
            peaks, squares = (
                self.allocations.peaks_of_all(supply, every, conductors),
                self.allocations.mean_squares(self.allocations.form(supply), every),
            )
            for point in curve:
                within = moves <= point["moves"]
                least = peaks[within].min()
                equal = within & (peaks <= least * (1 + TOLERANCE))
                point |= {
                    "peak_a": least,
                    "neutral_rms_a": math.sqrt(squares[equal].min()),
                    "gap_pct": 0.0,
                    "lower_bound_neutral_rms_a": None,
                }
            answer["lower_bound_a"] = answer["after"]["current_a"] = peaks.min()
            best = peaks <= peaks.min() * (1 + TOLERANCE)
            best &= squares <= squares[best].min() * (1 + TOLERANCE)
            if len(curve) - 1 != moves[best].min():
                curve.append({"moves": f"the fewest with the least peak are {moves[best].min()}"})
        return answer, curve

    def largest(self, node, turns):
        return np.abs(self.installation.carried(node, turns)[0]).max()

    def over(self, node, turns, missed_limit):
        """A conductor above its limit in the allocation found."""
        phases, middle = self.installation.carried(node, turns)
        amps = middle if missed_limit["conductor"] == "N" else np.abs(phases[int(missed_limit["conductor"][1]) - 1])
        site, name = self.installation.site, missed_limit["node"]
        limit = site.neutral_limit(name) if missed_limit["conductor"] == "N" else site.phase_limit(name)
        return {
            "limit_a": limit,
            "current_a": amps.max(),
            "excess_a": amps.max() - limit,
            "intervals": int((amps > limit * (1 + TOLERANCE)).sum()),
        }

    def answer(self, found):
        """All figures of `balance --format json` that follow from the allocation told."""
        nodes = {name: self.installation.node(name) for name in self.installation.site.nodes}
        now, after = self.installation.now(), self.installation.turns(found["allocation"])
        form = self.allocations.form(nodes["supply"])
        by_node = []
        for name in self.installation.site.nodes:
            limit = self.installation.site.phase_limit(name)
            by_node.append(
                {
                    "id": name,
                    "phase_limit_a": limit,
                    "neutral_limit_a": self.installation.site.neutral_limit(name),
                    "before": self.installation.now_figures(nodes[name], limit),
                    "after": self.installation.figures(nodes[name], after, limit),
                    **(nodes[name].difference or NO_DIFFERENCE),
                }
            )
        supply = by_node[0]
        optional, with_all = self.optional_moves(found, form, after)
        best = math.sqrt(self.allocations.mean_squares(form, [with_all])[0])
        reached, bound = best, found["lower_bound_neutral_rms_a"]
        if not optional:
            reached = supply["after"]["neutral_rms_a"]
        if found["objective"] == "neutral-rms" and self.allocations.has_few_units():
            reached = self.allocations.best_within(nodes, len(self.installation.units))
        machines = []
        for machine in self.installation.site.machines:
            profile, amps = self.installation.profiles[machine.name], self.installation.with_harmonics([machine.name])
            machines.append(
                {
                    "machine": machine.name,
                    "from": self.installation.connection_now(machine),
                    "to": found["allocation"][machine.name],
                    "basis": profile.basis,
                    "energy_kwh": self.installation.energy_kwh(machine),
                    "current_rms_a": rms(amps),
                    "current_max_a": amps.max(),
                }
            )
        second = found["after_repair"]
        if second is not None:
            both = found["allocation"] | {move["machine"]: move["to"] for move in second["moves"]}
            turns = self.installation.turns(both)
            limit = self.installation.site.phase_limit("supply")
            second = {"after": self.installation.figures(nodes["supply"], turns, limit)}
        missed = found["infeasible"]
        if missed is not None:
            missed = {
                "fewest_moves": missed["fewest_moves"],
                "limits": [self.over(nodes[one["node"]], after, one) for one in missed["limits"]],
                "needed": [
                    {
                        "limit_a": self.installation.site.phase_limit(one["node"]),
                        # The least overload of any allocation: no larger than that of the one found.
                        "needed_a": ... if one["needed_a"] <= self.largest(nodes[one["node"]], after) else "too much",
                    }
                    for one in missed["needed"]
                ],
            }
        peaks = {}
        if found["objective"] == "neutral-rms":
            curve = self.curve(found, nodes, supply["before"]["neutral_rms_a"], reached)
            bounds = {
                "lower_bound_neutral_rms_a": reached if found["proof"] == "optimal" else ...,
                "gap_pct": None if bound is None else max(100 * (reached - bound) / reached, 0.0) if reached else 0.0,
            }
        else:
            peaks["peaks"], curve = self.peak_answer(found, nodes["supply"])
            bounds = {"lower_bound_neutral_rms_a": None, "gap_pct": 0.0 if found["proof"] == "optimal" else ...}
        return (
            bounds
            | peaks
            | {
                "intervals": len(self.installation.starts),
                "interval_s": self.installation.interval_s,
                "from": local_time.utc(self.installation.starts[0]),
                "to": local_time.utc(self.installation.starts[-1] + self.installation.interval_s),
                "before": supply["before"],
                "after": supply["after"],
                "after_repair": second,
                "infeasible": missed,
                "best_neutral_rms_a": best,
                "recommended_moves": int(self.allocations.moves_of(np.array([after]))[0]),
                "optional_moves": optional,
                "feeder_loss": self.installation.feeder_loss(nodes, now, after),
                "moves": self.moves(found, form, after),
                "work_order": self.work_order(found, form),
                "moves_curve": curve,
                "nodes": by_node,
                "machines": machines,
            }
        )
