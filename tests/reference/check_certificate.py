"""Check a certificate of `tapoff balance --certificate` with nothing of the program itself.

    python3 check_certificate.py CERTIFICATE SITE

For undecided units R, with c and b of each cut, D and lambda of the leaf:
J >= J_F + sum D + sum lambda (r - |c|^2) - B^H S^-1 B,
S = Q_RR - D - sum lambda b b^H positive definite, B = l_R + Q_RF a_F - sum lambda b c.
Here r is found by trying all turns of the cut's units, whatever the certificate says.
"""
import csv
import json
import math
import sys
import tomllib
from fractions import Fraction
from pathlib import Path

import numpy as np

ZETA = np.exp(-2j * np.pi / 3)
POWER = [1.0 + 0j, ZETA, ZETA**2]
# p + q zeta of the six units: 1, zeta, zeta^2 and their negatives.
UNITS = [(1, 0), (0, 1), (-1, -1), (-1, 0), (0, -1), (1, 1)]
TOLERANCE = 1e-9


class Refused(Exception):
    pass


def require(holds, why):
    if not holds:
        raise Refused(why)


def form_of_site(folder, names):
    """Q of machines that each have a log of active power, or None where that is not all."""
    site = tomllib.loads((folder / "site.toml").read_text())
    meters = {meter["measures"]: meter for meter in site.get("meter", [])}
    if "supply" in meters or any(len(unit) != 1 for unit in names):
        return None
    with (folder / "machines.csv").open(newline="") as file:
        machines = {row["machine"]: row for row in csv.DictReader(file)}
    singles = {m for m, row in machines.items() if row["connection"] in ("L1", "L2", "L3", "any")}
    if singles != set(machines) or {unit[0] for unit in names} != singles:
        return None
    volts = site["supply"]["line_voltage_v"] / 3**0.5
    logs, series = {}, []
    for (name,) in names:
        meter = meters.get(name)
        if meter is None or set(meter["columns"]) != {"active_power_kw"}:
            return None
        if machines[name].get("third_harmonic"):
            return None
        path = folder / meter["files"]
        if path not in logs:
            with path.open(newline="") as file:
                logs[path] = list(csv.DictReader(file))
        factor = float(machines[name]["power_factor"])
        active = np.array([float(row[meter["columns"]["active_power_kw"]]) for row in logs[path]])
        current = active * 1000 / volts * (1 - 1j * np.sqrt(1 - factor**2) / factor)
        series.append(current)
    if len(logs) != 1:
        return None
    profiles = np.array(series)
    return profiles.conj() @ profiles.T / profiles.shape[1]


def least(cut):
    """Least |c + sum of the free terms|^2, in whole numbers."""
    sums = {tuple(cut["sum"])}
    for _, weight in cut["terms"]:
        turned = UNITS[:3] if weight < 3 else UNITS[3:]
        sums = {(p + x, q + y) for p, q in sums for x, y in turned}
    return min(p * p - p * q + q * q for p, q in sums)


def bound(leaf, constant, linear, q):
    turns = leaf["turns"]
    free = [i for i, turn in enumerate(turns) if turn is None]
    fixed = [i for i, turn in enumerate(turns) if turn is not None]
    place = {unit: k for k, unit in enumerate(free)}
    a = np.array([POWER[turns[i]] for i in fixed], dtype=complex)
    value = constant + 2 * (a.conj() @ linear[fixed]).real + (a.conj() @ q[np.ix_(fixed, fixed)] @ a).real
    if not free:
        return value
    d = np.array(leaf["diagonal"], dtype=float)
    require(d.shape == (len(free),), "a leaf has not one diagonal entry for each undecided unit")
    s = q[np.ix_(free, free)] - np.diag(d)
    field = linear[free] + q[np.ix_(free, fixed)] @ a
    value += d.sum()
    for cut in leaf["cuts"]:
        weight = cut["multiplier"]
        require(weight >= 0, "a multiplier is negative")
        require(len({unit for unit, _ in cut["terms"]}) == len(cut["terms"]), "a cut names a unit twice")
        b = np.zeros(len(free), dtype=complex)
        for unit, which in cut["terms"]:
            b[place[unit]] = POWER[which % 3] * (1 if which < 3 else -1)
        c = cut["sum"][0] + cut["sum"][1] * ZETA
        s -= weight * np.outer(b, b.conj())
        field = field - weight * b * c
        value += weight * (least(cut) - abs(c) ** 2)
    try:
        root = np.linalg.cholesky(s)
    except np.linalg.LinAlgError:
        raise Refused("the multipliers of a leaf leave no positive definite matrix") from None
    return value - np.linalg.norm(np.linalg.solve(root, field)) ** 2


def check_cover(leaves, choices, symmetry, linear, q, constant):
    """Leaves and their images are disjoint and as many as all allocations of the turns that are allowed."""
    whole = all(len(turns) == 3 for turns in choices)
    require(all(t is None or t in turns for leaf in leaves for t, turns in zip(leaf, choices)),
            "a leaf takes a turn that is not allowed")
    require(whole or symmetry == {"held": None, "mirrored": False}, "a symmetry is used where turns are not allowed")
    size = np.sqrt(np.outer(q.diagonal().real, q.diagonal().real))
    held = symmetry["held"]
    if held is not None:
        require(np.all(np.abs(linear) <= 1e-9 * np.sqrt(q.diagonal().real * max(constant, 0))),
                "what is fixed breaks the symmetry used")
        require(all(leaf[held] == 0 for leaf in leaves), "a leaf turns the unit that is held")
    if symmetry["mirrored"]:
        require(held is not None and np.all(np.abs(q.imag) <= 1e-9 * size), "mirror images differ")
        leaves = leaves + [[{0: 0, 1: 2, 2: 1, None: None}[t] for t in leaf]
                           for leaf in leaves if any(leaf)]
    table = np.array([[-1 if t is None else t for t in leaf] for leaf in leaves])
    for k in range(len(table)):
        apart = ((table[k + 1:] != table[k]) & (table[k + 1:] >= 0) & (table[k] >= 0)).any(axis=1)
        require(apart.all(), "two leaves overlap")
    share = sum(math.prod((Fraction(1, len(turns)) for t, turns in zip(leaf, choices) if t is not None),
                          start=Fraction(1)) for leaf in leaves)
    require(share * (3 if held is not None else 1) == 1, "the leaves are not all allocations")


def check(certificate, folder):
    require(certificate["kind"] == "branch-and-bound", "a kind of proof that is not known here")
    names = [unit["machines"] for unit in certificate["units"]]
    form = certificate["form"]
    complex_of = lambda pairs: np.array(pairs, dtype=float) @ np.array([1, 1j])
    constant, linear, q = form["constant"], complex_of(form["linear"]), complex_of(form["entries"])
    source = "the certificate's own Q"
    own = form_of_site(folder, names)
    if own is not None:
        require(np.abs(own - q).max() <= 1e-9 * np.abs(own).max(), "Q is not that of the logs")
        constant, linear, q, source = 0.0, np.zeros(len(names), dtype=complex), own, "Q from the logs"
    require(np.allclose(q, q.conj().T, rtol=0, atol=1e-12 * np.abs(q).max()), "Q is not Hermitian")
    whole = {"turns": [unit["turn"] for unit in certificate["units"]]}
    reached, claimed = bound(whole, constant, linear, q), certificate["mean_square_a2"]
    require(abs(reached - claimed) <= TOLERANCE * reached, "the allocation does not give the mean square claimed")
    leaves = certificate["leaves"]
    require(all(len(leaf["turns"]) == len(names) for leaf in leaves) and leaves, "leaves are missing")
    choices = [unit["choices"] for unit in certificate["units"]]
    require(all(turns and sorted(set(turns)) == turns and set(turns) <= {0, 1, 2} for turns in choices),
            "what a unit may be turned to is no list of turns")
    check_cover([leaf["turns"] for leaf in leaves], choices, certificate["symmetry"], linear, q, constant)
    for number, leaf in enumerate(leaves):
        value = bound(leaf, constant, linear, q)
        require(value >= claimed * (1 - TOLERANCE), f"leaf {number}: bound {value} is below {claimed}")
    held = sum(len(turns) < 3 for turns in choices)
    within = f" ({held} of them not free on every phase)" if held else ""
    return f"proven: {claimed ** 0.5:.6f} A rms, {len(names)} units{within}, {len(leaves)} leaves, {source}"


if __name__ == "__main__":
    try:
        print(check(json.loads(Path(sys.argv[1]).read_text()), Path(sys.argv[2])))
    except Refused as why:
        sys.exit(f"not proven: {why}")
