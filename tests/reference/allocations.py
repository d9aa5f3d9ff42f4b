"""All allocations of phases, or those within few moves: what the supply's neutral and fullest blocks are in each."""

import itertools
import math

import numpy as np

import local_time
from installation import TOLERANCE
from profiles import neutral, rms
from recompute_energy import FRAMES
from site_files import PHASES

UNIT = FRAMES[:, 0]
# With so few units all allocations are tried.
FEW_UNITS = 10


class Allocations:
    def __init__(self, installation):
        self.installation = installation

    def form(self, supply):
        """Mean square of the supply's neutral as a form in the units' turns."""
        rows = np.array([neutral(supply.fixed) + supply.alone] + [neutral(share) for share in supply.shares])
        constant = float(np.mean(supply.beyond**2)) + supply.unresolved[3]
        return rows.conj() @ rows.T / rows.shape[1], constant

    def mean_squares(self, form, turns):
        matrix, constant = form
        factors = np.concatenate([np.ones((len(turns), 1)), UNIT[np.asarray(turns)]], axis=1)
        return ((factors.conj() @ matrix) * factors).sum(axis=1).real + constant

    def within(self, moves):
        """All allocations within a number of moves."""
        base, found = self.installation.now(), []
        for count in range(moves + 1):
            for chosen in itertools.combinations(range(len(self.installation.units)), count):
                if sum(self.installation.units[unit].moves for unit in chosen) > moves:
                    continue
                for steps in itertools.product((1, 2), repeat=count):
                    turns = list(base)
                    for unit, step in zip(chosen, steps):
                        turns[unit] = (turns[unit] + step) % 3
                    found.append(turns)
        return np.array(found)

    def count(self, moves):
        """How many allocations lie within a number of moves, if each moves one unit by itself."""
        units = len(self.installation.units)
        if self.has_few_units():
            return 3**units
        return sum(math.comb(units, moved) * 2**moved for moved in range(moves + 1))

    def has_few_units(self):
        return len(self.installation.units) <= FEW_UNITS

    def every(self, moves=None):
        """All allocations, or those of them within a number of moves."""
        turns = np.array(list(itertools.product(range(3), repeat=len(self.installation.units))))
        return turns if moves is None else turns[self.moves_of(turns) <= moves]

    def moves_of(self, turns):
        """Moves from now to each allocation."""
        moves = np.array([unit.moves for unit in self.installation.units])
        return ((turns != np.array(self.installation.now())) * moves).sum(axis=1)

    def keeps_limits(self, nodes, turns):
        for name, node in nodes.items():
            phase_limit, neutral_limit = (
                self.installation.site.phase_limit(name),
                self.installation.site.neutral_limit(name),
            )
            if phase_limit is None and neutral_limit is None:
                continue
            phases, middle = self.installation.carried(node, turns)
            if phase_limit is not None and np.abs(phases).max() > phase_limit * (1 + TOLERANCE):
                return False
            if neutral_limit is not None and middle.max() > neutral_limit * (1 + TOLERANCE):
                return False
        return True

    def best_within(self, nodes, moves):
        """The least neutral rms of the allocations within so many moves that keep the limits, by trying all."""
        turns = self.every(moves) if self.has_few_units() else self.within(moves)
        squares = self.mean_squares(self.form(nodes["supply"]), turns)
        for row in np.argsort(squares, kind="stable"):
            if self.keeps_limits(nodes, turns[row]):
                return math.sqrt(squares[row])
        return None

    def block_rows(self):
        """Intervals of each complete demand block on the local clock."""
        length_s = self.installation.site.window_min * 60
        blocks, at = np.unique(
            local_time.block_starts(self.installation.site, self.installation.starts, length_s), return_inverse=True
        )
        rows = [np.flatnonzero(at == number) for number in range(len(blocks))]
        return [(start, own) for start, own in zip(blocks, rows) if len(own) * self.installation.interval_s == length_s]

    def largest_block(self, supply, turns, conductors):
        """Root of the largest mean square over a block, its conductor and start."""
        phases, middle = self.installation.carried(supply, turns)
        series = dict(zip(PHASES, np.abs(phases))) | {"N": middle}
        return max(
            ((rms(series[name][rows]), name, start) for start, rows in self.block_rows() for name in conductors),
            key=lambda one: one[0],
        )

    def peaks_of_all(self, supply, turns, conductors):
        """The largest block of every allocation: of the neutral by its form, of a phase by what is on it."""
        largest = np.zeros(len(turns))
        for _, rows in self.block_rows():
            if conductors == ("N",):
                part = self.form(supply.at(rows))
                largest = np.maximum(largest, self.mean_squares(part, turns))
                continue
            for phase in range(3):
                series = np.array([supply.fixed[phase, rows]] + [share[0, rows] for share in supply.shares])
                products = (series.conj() @ series.T).real / len(rows)
                here = np.concatenate([np.ones((len(turns), 1)), turns == phase], axis=1)
                largest = np.maximum(largest, ((here @ products) * here).sum(axis=1))
        return np.sqrt(largest)
