"""What the comparison must notice: numbers that differ, that are missing, and that nobody looks at.

python3 tests/reference/test_comparison.py PROGRAM
"""

import copy
import math
import random
import sys
import unittest

import left_out
import recompute_baseline
import recompute_bill
import recompute_energy
import recompute_study
from cases import DEMO
from comparison import Comparison, is_number
from logs import read_logs
from run import run_program
from site_files import Site

PROGRAM = sys.argv.pop(1)


class Rules(unittest.TestCase):
    def compared(self, found, expected, **tables):
        comparison = Comparison(tables.get("left_out", {}), tables.get("looser"))
        comparison.tree("x", found, expected)
        return comparison

    def test_a_difference_names_its_key(self):
        comparison = self.compared({"m": [{"id": "main", "kw": 1.0}]}, {"m": [{"id": "main", "kw": 1.0 + 1e-8}]})
        self.assertEqual(len(comparison.mismatches), 1)
        self.assertIn("x.m[0:main].kw", comparison.mismatches[0])

    def test_rounding_is_no_difference(self):
        self.assertEqual(self.compared({"kw": 1.0}, {"kw": 1.0 + 1e-11}).mismatches, [])

    def test_unknown_is_not_nought(self):
        self.assertTrue(self.compared({"kw": None}, {"kw": 0.0}).mismatches)
        self.assertTrue(self.compared({"kw": 0.0}, {"kw": None}).mismatches)

    def test_a_number_that_nobody_looks_at_is_told(self):
        self.assertEqual(self.compared({"kw": 1.0, "more": 2}, {"kw": 1.0}).unknown, ["x.more"])
        self.assertEqual(self.compared({"more": 2}, {}, left_out={"x.more": "why"}).unknown, [])

    def test_a_number_that_is_missing_is_told(self):
        self.assertTrue(self.compared({}, {"kw": 1.0}).mismatches)
        self.assertTrue(self.compared({"m": [1.0]}, {"m": [1.0, 2.0]}).mismatches)

    def test_a_looser_key_is_held_to_its_own_tolerance(self):
        looser = {"x.fit": (0.01, "why")}
        self.assertEqual(self.compared({"fit": 1.0}, {"fit": 1.005}, looser=looser).mismatches, [])
        self.assertTrue(self.compared({"fit": 1.0}, {"fit": 1.02}, looser=looser).mismatches)


def numbers(tree, path=()):
    if isinstance(tree, (dict, list)):
        for key, value in tree.items() if isinstance(tree, dict) else enumerate(tree):
            yield from numbers(value, (*path, key))
    elif is_number(tree):
        yield path


class Tampered(unittest.TestCase):
    """Numbers of the demo's own result, changed one at a time by a millionth."""

    def test_every_change_is_noticed(self):
        site = Site(DEMO)
        found = run_program(PROGRAM, "energy", DEMO)
        expected, metered = recompute_energy.energy(site, read_logs(site), found)
        expected |= recompute_study.study(site, metered)
        expected["cost"] = recompute_bill.bill(site, metered)
        expected["cost_by_day"] = recompute_bill.by_day(site, metered)
        expected |= recompute_baseline.change(site, metered)
        apart = Comparison(left_out.ENERGY)
        dotted = lambda path: ".".join(["energy", *(key for key in path if isinstance(key, str))])  # noqa: E731
        held = [path for path in numbers(found) if apart.reason(dotted(path), left_out.ENERGY) is None]
        for path in random.Random(1).sample(held, 300):
            changed = copy.deepcopy(found)
            at = changed
            for key in path[:-1]:
                at = at[key]
            # Away from nought, so that share and amount do not cancel.
            at[path[-1]] += math.copysign(1e-6 * (1 + abs(at[path[-1]])), at[path[-1]])
            comparison = Comparison(left_out.ENERGY)
            comparison.tree("energy", changed, expected)
            self.assertEqual(len(comparison.mismatches), 1, path)
            self.assertIn(f".{[key for key in path if isinstance(key, str)][-1]}", comparison.mismatches[0])


if __name__ == "__main__":
    unittest.main()
