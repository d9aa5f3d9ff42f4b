"""The European LV feeder as a matrix: mean over the day of the products of the loads' currents."""

import csv
import os
from pathlib import Path

import numpy as np

PHASE_VOLTAGE_V = 230.0
POWER_FACTOR = 0.95


def shared_folder() -> Path:
    """Where the public data sets lie: TAPOFF_SHARED, or a folder `shared` beside the project."""
    given = os.environ.get("TAPOFF_SHARED")
    if given:
        return Path(given)
    return Path(__file__).resolve().parents[4].parent / "shared"


def matrix(loads: int) -> np.ndarray:
    """Q in A², so that the neutral's mean square is Σ Q_ij Re(z_i z̄_j)."""
    path = shared_folder() / "data" / "european-lv" / "meters" / "loads.csv"
    with path.open(newline="") as file:
        rows = list(csv.reader(file))[1:]
    kilowatts = np.array([[float(cell) for cell in row[1 : loads + 1]] for row in rows])
    amperes = kilowatts * 1000.0 / (PHASE_VOLTAGE_V * POWER_FACTOR)
    return amperes.T @ amperes / len(rows)


def mean_square(q: np.ndarray, phases: list[int]) -> float:
    """The neutral's mean square for an allocation, straight from its definition."""
    z = np.exp(2j * np.pi * np.array(phases) / 3.0)
    return float((z.conj() @ q @ z).real)


def report(name: str, loads: int, seconds: float, q: np.ndarray, phases, bound: float, proven: bool) -> None:
    """One line for people and scripts alike."""
    best = mean_square(q, phases) if phases is not None else float("inf")
    gap = 0.0 if proven else 100.0 * (1.0 - (max(bound, 0.0) / best) ** 0.5)
    print(
        f"{name}: loads {loads}, {seconds:.2f} s, neutral {best ** 0.5:.6f} A rms, "
        f"bound {max(bound, 0.0) ** 0.5:.6f} A, gap {gap:.2f} %, {'proven' if proven else 'not proven'}"
    )
