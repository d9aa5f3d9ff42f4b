"""The figures of findings: overload, reversed meter, unbalance, joint, and on which phase machines are."""

import math

import numpy as np
from scipy import stats

import local_time
from allocations import Allocations
from joint_fit import WEEK_S, Joint
from local_time import means_of
from profiles import rms, turn_of
from recompute_energy import FRAMES, phasors
from site_files import PAIRS, PHASES

HALF_HOUR_S = 1800


class Diagnosis:
    def __init__(self, site, logs, metered, installation):
        self.site, self.logs, self.metered, self.installation = site, logs, metered, installation

    def answer(self, found):
        kinds = {
            "phase-overload": self.overload,
            "metering-fault": self.reversed,
            "frequency-out-of-range": self.frequency,
            "load-unbalance": self.unbalanced,
            "high-resistance-joint": self.joint,
        }
        # Phases that a danger keeps from carrying more than now.
        self.held = {
            finding["where"]["phase"]
            for finding in found["findings"]
            if finding["severity"] == "danger" and finding["kind"] in ("high-resistance-joint", "phase-loss")
        }
        findings = []
        for finding in found["findings"]:
            log = self.logs[finding["where"]["meter"]]
            evidence = kinds[finding["kind"]](log, finding) if finding["kind"] in kinds else ...
            from_s, to_s = self.span(log, finding)
            whole = {"from": local_time.utc(from_s), "to": local_time.utc(to_s)}
            # These are dated by the spell in which they showed.
            dates = {"from": ..., "to": ...} if finding["kind"] in ("neutral-fault", "phase-loss") else whole
            findings.append(dates | {"evidence": evidence})
        return {"findings": findings}

    def span(self, log, finding):
        """An overload or a frequency from its first interval to the end of its last; other findings over the log."""
        if finding["kind"] == "frequency-out-of-range":
            hertz = log.get("frequency_hz")
            nominal = float(self.site.supply.get("frequency_hz", 50))
            off = np.abs(hertz - nominal)
            outside = log.starts[(off > (0.01 + 1e-6) * nominal) & (off <= 0.1 * nominal)]
            return outside[0], outside[-1] + log.interval_s
        if finding["kind"] != "phase-overload":
            return log.from_s, log.to_s
        amps = np.abs(phasors(log, self.site.volts)[PHASES.index(finding["where"]["phase"])])
        over = log.starts[amps > self.site.phase_limit(log.meter["measures"]) * (1 + 1e-9)]
        return over[0], over[-1] + log.interval_s

    def clock(self, at_s):
        return local_time.local(self.site.zone, at_s).strftime("%Y-%m-%d %H:%M")

    # ---- overload ------------------------------------------------------------------------------

    def overload(self, log, finding):
        phase = PHASES.index(finding["where"]["phase"])
        amps = np.abs(phasors(log, self.site.volts)[phase])
        limit, minutes = self.site.phase_limit(log.meter["measures"]), log.interval_s / 60
        over = amps > limit * (1 + 1e-9)
        spell, longest, begin = 0, (0, None), None
        for row, above in enumerate(over):
            follows = row and log.starts[row] - log.starts[row - 1] == log.interval_s
            spell = (spell + 1 if follows else 1) if above else 0
            begin = log.starts[row] if spell == 1 else begin
            if spell > longest[0]:
                longest = (spell, begin)
        half_hours = means_of(log.starts, amps, HALF_HOUR_S, log.interval_s)
        worst = max(half_hours, key=half_hours.get)
        # A gG fuse of the limit stands for the limit: IEC 60269-1.
        carried, operates = (1.25 * limit, 1.6 * limit) if limit >= 16 else (1.5 * limit, 1.9 * limit)
        hours = next(hours for most, hours in ((63, 1), (160, 2), (400, 3), (math.inf, 4)) if limit <= most)
        tau_s = 3600 * hours / math.log(operates**2 / (operates**2 - carried**2))
        measured, declared, rest = self.contributors(log, phase, worst)
        return {
            "limit_a": limit,
            "time_above_limit_min": int(over.sum()) * minutes,
            "highest_a": np.nanmax(amps),
            "highest_at": self.clock(log.starts[np.nanargmax(amps)]),
            "longest_spell_min": longest[0] * minutes,
            "longest_spell_from": self.clock(longest[1]),
            "worst_half_hour_a": half_hours[worst],
            "worst_half_hour_from": self.clock(worst),
            "highest_heating_pct": 100 * self.heating(log, amps, carried, tau_s),
            "conventional_non_fusing_current_a": carried,
            "conventional_fusing_current_a": operates,
            "conventional_time_h": hours,
            "time_above_fusing_current_min": int((amps > operates).sum()) * minutes,
            "thermal_time_constant_min": tau_s / 60,
            "measured_share_a": measured,
            "estimated_share_a": declared,
            "unmetered_share_a": rest,
        }

    def heating(self, log, amps, reference, tau_s):
        """First-order heating; over a gap the last current goes on."""
        level, highest, end, last = 0.0, 0.0, None, 0.0
        for start, current in zip(log.starts, amps):
            for seconds, flowing in ((0 if end is None else start - end, last), (log.interval_s, current)):
                target = (flowing / reference) ** 2
                level = target + (level - target) * math.exp(-seconds / tau_s)
            highest, end, last = max(highest, level), start + log.interval_s, current
        return highest

    def contributors(self, log, phase, begin_s):
        """Active current of the block on a phase by measured machines, by declared ones, and what is left; machines
        below half an ampere are left with the rest."""
        parts = {"measured": [], "estimated": []}
        for machine in self.site.machines_below(log.meter["measures"]):
            amps, basis = self.active_amps(machine, begin_s, HALF_HOUR_S)
            if self.loads(machine, phase) and amps >= 0.5:
                parts[basis].append(amps)
        power = log.get(f"active_power_l{phase + 1}_kw")
        rows = (log.starts >= begin_s) & (log.starts < begin_s + HALF_HOUR_S)
        whole = np.nanmean(power[rows]) * 1000 / self.site.volts
        measured, estimated = sum(parts["measured"]), sum(parts["estimated"])
        # Estimates take no more than the measured machines leave.
        left = max(whole - measured, 0)
        if estimated > left:
            cut = [amps * left / estimated for amps in parts["estimated"]]
            estimated = sum(amps for amps in cut if amps >= 0.5)
        return measured, estimated, whole - measured - estimated

    def loads(self, machine, phase):
        if machine.connection in PAIRS:
            return phase in (PAIRS.index(machine.connection), (PAIRS.index(machine.connection) + 1) % 3)
        return machine.connection == "3ph" or machine.connection == PHASES[phase]

    def volts_of(self, machine):
        """What a load's whole power is divided by for its active current on one of its phases."""
        return self.site.volts * (3 if machine.connection == "3ph" else 2 if machine.connection in PAIRS else 1)

    def active_amps(self, machine, begin_s, length_s):
        meter = self.site.machine_meter(machine)
        if meter is not None:
            log, power = self.logs[meter], self.metered[meter].power
            rows = (log.starts >= begin_s) & (log.starts < begin_s + length_s)
            return abs(np.nanmean(power[rows])) * 1000 / self.volts_of(machine), "measured"
        return self.declared_kw(machine, begin_s, length_s) * 1000 / self.volts_of(machine), "estimated"

    def declared_kw(self, machine, begin_s, length_s):
        """Rating x utilisation factor x the share of the minutes in which the schedule runs."""
        rated = machine.rated_kw * machine.utilisation
        if machine.schedule is None:
            return rated
        minutes = range(begin_s, begin_s + length_s, 60)
        runs = [self.site.runs(machine.schedule, local_time.local(self.site.zone, at)) for at in minutes]
        return rated * sum(runs) / len(runs)

    # ---- wiring and unbalance ------------------------------------------------------------------

    def reversed(self, log, finding):
        power = -self.metered[log.meter["id"]].power if log.turned else self.metered[log.meter["id"]].power
        loaded = power[np.abs(power) > 0.05 * np.abs(power).max()]
        return {
            "negative_share_of_loaded_intervals_pct": 100 * (loaded < 0).mean(),
            "energy_with_wrong_sign_kwh": -power.sum() * log.hours,
            "longest_spell_min": (log.to_s - log.from_s) / 60,
            "register_counted_kwh": self.metered[log.meter["id"]].register_kwh,
        }

    def unbalanced(self, log, finding):
        currents = phasors(log, self.site.volts)
        active = np.maximum(currents.real, 0).sum(axis=1)
        neutral = log.get("current_n_a")
        evidence = {"neutral_rms_a": rms(neutral if neutral is not None else (currents * FRAMES).sum(axis=0))}
        for phase in range(3):
            evidence[f"energy_share_l{phase + 1}_pct"] = 100 * active[phase] / active.sum()
            evidence[f"phase_rms_l{phase + 1}_a"] = rms(currents[phase])
        if "moves_that_help_most" in finding["evidence"]:
            evidence |= self.gain(log.meter["measures"], finding["evidence"]["moves_that_help_most"])
        return evidence

    def gain(self, node, moves):
        """The moves told, put into effect; and no three others within the limits leave less."""
        installation = self.installation
        turns = installation.now()
        for move in moves:
            machine, _, to = move.rpartition(" to ")
            machine = machine.rpartition(" from ")[0]
            at = next(at for at, unit in enumerate(installation.units) if machine in unit.machines)
            turns[at] = turn_of(to)
        nodes = {name: installation.node(name) for name in self.site.nodes}
        limit = self.site.phase_limit(node)
        before = installation.figures(nodes[node], installation.now(), limit)
        after = installation.figures(nodes[node], turns, limit)
        # Machines that move as one are one move.
        moved = sum(one != other for one, other in zip(turns, installation.now()))
        least = after["neutral_rms_a"]
        if self.held:
            # A danger on a phase: nothing may be moved onto it, and what is left may keep no limit.
            if any(phase in move.rpartition(" to ")[2] for move in moves for phase in self.held):
                least = "a move onto a phase that is to be repaired first"
        elif node == "supply":
            least = Allocations(installation).best_within(nodes, moved)
        return {
            "neutral_rms_after_moves_a": least,
            "neutral_reduction_by_moves_pct": 100 * (1 - after["neutral_rms_a"] / before["neutral_rms_a"]),
            "phase_headroom_gained_a": max(before["phase_max_a"]) - max(after["phase_max_a"]),
        }

    # ---- frequency -----------------------------------------------------------------------------

    def frequency(self, log, finding):
        """Readings within 10 % of nominal, against 1 %; years from the first, the last back from the last."""
        nominal = float(self.site.supply.get("frequency_hz", 50))
        hertz = log.get("frequency_hz")
        known = ~np.isnan(hertz) & (np.abs(hertz - nominal) <= 0.1 * nominal)
        hertz, starts = hertz[known], log.starts[known]
        outside = np.abs(hertz - nominal) > (0.01 + 1e-6) * nominal
        spell, longest = 0, (0, None)
        for row in np.flatnonzero(outside):
            follows = row and outside[row - 1] and starts[row] - starts[row - 1] == log.interval_s
            spell = spell + 1 if follows else 1
            if spell > longest[0]:
                longest = (spell, starts[row] - (spell - 1) * log.interval_s)
        year_s = 365 * 86400
        begins = list(range(int(starts[0]), int(starts[-1]) - year_s + 1, year_s))
        begins.append(max(int(starts[0]), int(starts[-1]) - year_s + 1))
        years = [outside[(starts >= begin) & (starts < begin + year_s)].mean() for begin in begins]
        minutes = log.interval_s / 60
        return {
            "nominal_hz": nominal,
            "time_outside_min": int(outside.sum()) * minutes,
            "first_outside_at": self.clock(starts[outside][0]),
            "longest_spell_min": longest[0] * minutes,
            "longest_spell_from": self.clock(longest[1]),
            "worst_year_outside_pct": 100 * max(years),
            "days_read": len(hertz) * log.interval_s / 86400,
            "lowest_hz": hertz.min(),
            "highest_hz": hertz.max(),
        }

    # ---- joint ---------------------------------------------------------------------------------

    def joint(self, log, finding):
        phase = PHASES.index(finding["where"]["phase"])
        volts, power, reactive = (
            log.phases(*name) for name in (("voltage", "v"), ("active_power", "kw"), ("reactive_power", "kvar"))
        )
        currents = (power - 1j * reactive) * 1000 / volts
        fit = Joint(log, volts, currents)
        meter_class = float(log.meter.get("class", 1)) / 100 / 3**0.5
        figures = {}
        last = 0.5 * fit.weeks - 0.5 * min(fit.weeks, 1)
        for name, weights, is_level in (("extra", (1, 0), True), ("last", (1, last), True), ("trend", (0, 1), False)):
            value, error, freedom = fit.figure(phase, *weights)
            if is_level:
                shared = 0.01 * math.hypot(fit.line_ohm, fit.neutral_ohm - fit.line_ohm)
                error = math.hypot(error, meter_class * math.hypot(value, fit.line_ohm), shared)
            else:
                error = math.hypot(error, meter_class * value, 0.01 * value)
            reach = stats.t.ppf(0.975, freedom) * error
            figures[name] = [1e3 * one for one in (value, value - reach, value + reach)]
        own = np.abs(currents[phase])
        ohm, typical, peak = figures["last"][0] / 1e3, rms(own), own.max()
        extra, trend = figures["extra"][0] / 1e3, figures["trend"][0] / 1e3
        grown = extra + trend * (log.starts - fit.middle_s) / WEEK_S
        return {
            "extra_resistance_mohm": figures["extra"][0],
            "low_95_mohm": figures["extra"][1],
            "high_95_mohm": figures["extra"][2],
            "last_week_mohm": figures["last"][0],
            "last_week_low_95_mohm": figures["last"][1],
            "last_week_high_95_mohm": figures["last"][2],
            "trend_mohm_per_week": figures["trend"][0],
            "trend_low_95_mohm_per_week": figures["trend"][1],
            "trend_high_95_mohm_per_week": figures["trend"][2],
            "typical_current_a": typical,
            "peak_current_a": peak,
            "heat_at_typical_current_w": ohm * typical**2,
            "heat_at_peak_current_w": ohm * peak**2,
            "highest_heat_so_far_w": (grown * own**2).max(),
            "changes_looked_at": fit.changes,
            "changes_set_aside": fit.set_aside,
        }
