"""On which phase each machine is, from how the supply changes when it does."""

import math

import numpy as np

from local_time import means_of
from recompute_energy import phasors
from site_files import PAIRS, PHASES


class Whereabouts:
    """`draws` tells what machines are declared to draw and by which voltage their power is divided."""

    def __init__(self, site, logs, metered, main, draws):
        self.site, self.logs, self.metered, self.main, self.draws = site, logs, metered, main, draws

    def answer(self):
        """Changes of the supply's active currents regressed on those of all machines with a meter or schedule."""
        main = self.main
        supply = phasors(main, self.site.volts).real
        regressors = self.regressors(main)
        told = {}
        for length_s in sorted({one["interval_s"] for one in regressors}):
            own = [means_of(main.starts, phase, length_s, main.interval_s) for phase in supply]
            within = [one for one in regressors if length_s % one["interval_s"] == 0]
            fit = Steps(own, [self.averaged(one, length_s) for one in within], length_s)
            for column, one in enumerate(within):
                if one["interval_s"] == length_s:
                    for machine in one["machines"]:
                        if machine.connection != "3ph":
                            told[machine.name] = self.place_of(machine, one, fit, column)
        return told

    def regressors(self, main):
        found, by_schedule = [], {}
        for machine in self.site.machines:
            meter = self.site.machine_meter(machine)
            if meter is None:
                if machine.schedule is not None:
                    by_schedule.setdefault(machine.schedule, []).append(machine)
                continue
            log, power = self.logs[meter], self.metered[meter].power
            length_s = max(log.interval_s, main.interval_s)
            scale = (-1 if np.nansum(power) < 0 else 1) * 1000 / self.draws.volts_of(machine)
            blocks = means_of(log.starts, power, length_s, log.interval_s)
            found.append(
                {
                    "machines": [machine],
                    "metered": True,
                    "interval_s": length_s,
                    "amps": {at: kw * scale for at, kw in blocks.items()},
                }
            )
        for schedule in [name for name in self.site.schedules if name in by_schedule]:
            machines = by_schedule[schedule]
            first = machines[0]
            amps = {
                int(at): self.draws.declared_kw(first, int(at), main.interval_s) * 1000 / self.draws.volts_of(first)
                for at in main.starts
            }
            found.append({"machines": machines, "metered": False, "interval_s": main.interval_s, "amps": amps})
        return found

    def averaged(self, one, length_s):
        if one["interval_s"] == length_s:
            return one["amps"]
        starts = np.array(list(one["amps"]))
        values = np.array(list(one["amps"].values()))
        blocks, at = np.unique(starts // length_s * length_s, return_inverse=True)
        counts, sums = np.bincount(at), np.bincount(at, values)
        whole = counts == length_s // one["interval_s"]
        return dict(zip(blocks[whole].tolist(), (sums / counts)[whole].tolist()))

    def place_of(self, machine, one, fit, column):
        expected = {
            "machine": machine.name,
            "listed": machine.connection,
            "profile": "meter" if one["metered"] else "schedule",
            "steps": fit.steps(column),
            "share_of_phase": None,
            "lead": None,
            "lead_error": None,
            "probable": None,
        }
        alone = len(one["machines"]) == 1 and expected["steps"] >= 6 and not fit.has_twin(column)
        if not alone:
            return expected
        shares = fit.coefficients[:, column]
        order = np.argsort(-shares)
        decides, following = (order[1], order[2]) if machine.connection in PAIRS else (order[0], order[1])
        lead, error = shares[decides] - shares[following], fit.error(column, decides, following)
        expected |= {"share_of_phase": list(shares), "lead": lead, "lead_error": error}
        if shares[decides] >= 0.3 and lead >= 0.25 and lead >= 4 * error:
            if machine.connection in PAIRS:
                expected["probable"] = PAIRS[(order[2] + 1) % 3]
            else:
                expected["probable"] = PHASES[order[0]]
        return expected


class Steps:
    """Least squares of changes from one block to the next, with errors that allow for unequal surprises."""

    def __init__(self, own, regressors, length_s):
        rows = [at for at in own[0] if all(at in one and at - length_s in one for one in (*own, *regressors))]

        def change(one):
            return np.array([one[at] - one[at - length_s] for at in rows])

        self.columns = np.array([change(one) for one in regressors]).T
        phases = np.array([change(one) for one in own]).T
        self.coefficients = np.linalg.lstsq(self.columns, phases, rcond=None)[0].T
        self.surprises = phases - self.columns @ self.coefficients.T
        self.inverse = np.linalg.pinv(self.columns)

    def steps(self, column):
        changes = np.abs(self.columns[:, column])
        return int((changes >= 0.1 * changes.max()).sum()) if changes.max() > 0 else 0

    def has_twin(self, column):
        products = self.columns[:, column] @ self.columns
        sizes = np.sqrt(products[column] * (self.columns**2).sum(axis=0))
        alike = np.abs(products) > 0.9 * sizes
        alike[column] = False
        return bool((alike & (sizes > 0)).any())

    def error(self, column, one, other):
        """H. White, Econometrica, vol. 48, 1980."""
        difference = self.surprises[:, one] - self.surprises[:, other]
        return math.sqrt(((self.inverse[column] * difference) ** 2).sum())
