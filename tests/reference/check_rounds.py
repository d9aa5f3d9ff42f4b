"""Rounds of clamp-meter readings: what the program says of them, compared with sums of phasors machine by machine.

    python3 tests/reference/check_rounds.py PROGRAM SHARED

The shop is in SHARED/data/clamp-shop: its list, three rounds read at four depths, and what each machine drew in them. Of every
round the three phases and the neutral at the supply are summed here with numpy, now and after the plan. As read they must
be equal; after the plan within 0.3 A where every machine is read, else within the range that the program gives.
"""

import csv
import itertools
import json
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

VOLTS = 400 / np.sqrt(3)
ANGLES = np.exp(-2j * np.pi * np.arange(3) / 3)
PHASES = ("L1", "L2", "L3")
DEPTHS = ("supply", "boards", "circuits", "machines")
CLOSE_A = 0.3
# Plans that move more and other machines than the recommended one.
ASKED = ([], ["--fix", "Car charger=L2"], ["--fix", "TIG welder=L1", "--fix", "Tool oven=L3"])


def apparent_va(row, factor):
    if row["power_kw"]:
        return 1000 * float(row["power_kw"]) / factor
    if row["apparent_kva"]:
        return 1000 * float(row["apparent_kva"])
    return 1000 * float(row["shaft_kw"]) / float(row["efficiency"]) / factor


def conductors(rows, shares, moved):
    """Magnitudes on L1, L2, L3 and N: fundamental phasors, third harmonics in phase."""
    phases, thirds = np.zeros(3, dtype=complex), np.zeros(3)
    for row in rows:
        factor = float(row["power_factor"] or 1)
        va = shares.get(row["machine"], 0.0) * apparent_va(row, factor)
        lag = np.exp(-1j * np.arccos(factor))
        third = float(row["third_harmonic_pct"] or 0) / 100
        connection = moved.get(row["machine"], row["connection"])
        if connection == "3ph":
            phases += va / (3 * VOLTS) * lag * ANGLES
            thirds += third * va / (3 * VOLTS)
        elif connection in PHASES:
            at = PHASES.index(connection)
            phases[at] += va / VOLTS * lag * ANGLES[at]
            thirds[at] += third * va / VOLTS
        else:
            first, second = (PHASES.index(name) for name in connection.split("-"))
            across = ANGLES[first] - ANGLES[second]
            amps = va / (np.sqrt(3) * VOLTS) * lag * across / abs(across)
            phases[first] += amps
            phases[second] -= amps
    return np.hypot(np.abs(phases), thirds), np.hypot(abs(phases.sum()), thirds.sum())


def plan(program, folder, depth, asked):
    with tempfile.TemporaryDirectory() as scratch:
        for name, copy in (("site.toml",) * 2, ("machines.csv",) * 2, (f"readings-{depth}.csv", "readings.csv")):
            shutil.copy(folder / name, Path(scratch) / copy)
        done = subprocess.run([program, "balance", scratch, *asked, "--format", "json"], capture_output=True, check=True)
        return json.loads(done.stdout)


def main(program, shared):
    folder = Path(shared) / "data/clamp-shop"
    rows = list(csv.DictReader((folder / "machines.csv").open(newline="", encoding="utf-8")))
    truth = list(json.loads((folder / "truth.json").read_text()).values())
    compared, wrong = 0, []

    def hold(what, true, low, high):
        nonlocal compared
        compared += 1
        if not low <= true <= high:
            wrong.append(f"{what}: {true:.2f} A is not within {low:.2f} to {high:.2f} A")

    plans = set()
    for depth, asked in itertools.product(DEPTHS, ASKED):
        result = plan(program, folder, depth, asked)
        moved = {move["machine"]: move["to"] for move in result["moves"]}
        plans.add((depth, *sorted(moved.items())))
        assert len(result["rounds"]) == len(truth)
        for number, (found, shares) in enumerate(zip(result["rounds"], truth), 1):
            for when, plan_of in (("before", {}), ("after", moved)):
                what, said = f"{depth} {' '.join(asked)}, round {number}, {when}", found[when]
                amps, neutral = conductors(rows, shares, plan_of)
                exact = 0.02 if when == "before" else CLOSE_A
                if when == "before" or depth == "machines":
                    for phase, own, true in zip(PHASES, said["phase_a"], amps):
                        hold(f"{what}, {phase}", true, own - exact, own + exact)
                    hold(f"{what}, N", neutral, said["neutral_a"] - exact, said["neutral_a"] + exact)
                else:
                    hold(f"{what}, N", neutral, said["neutral_low_a"] - CLOSE_A, said["neutral_high_a"] + CLOSE_A)
    assert len(plans) == len(DEPTHS) * len(ASKED), plans
    print(f"{compared} currents of rounds compared, {len(wrong)} differ")
    print("\n".join(wrong))
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
