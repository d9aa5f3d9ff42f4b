"""A certificate that was tampered with must be refused.

    python3 test_tampered.py CERTIFICATE SITE
"""
import copy
import json
import sys
import unittest
from pathlib import Path

from check_certificate import Refused, check

FILE, SITE = Path(sys.argv[1]), Path(sys.argv[2])


class Tampered(unittest.TestCase):
    def setUp(self):
        self.proof = json.loads(FILE.read_text())

    def refused(self, words):
        with self.assertRaisesRegex(Refused, words):
            check(self.proof, SITE)

    def test_a_diagonal_multiplier_raised(self):
        leaf = next(leaf for leaf in self.proof["leaves"] if leaf["diagonal"])
        leaf["diagonal"][0] += 10 * self.proof["mean_square_a2"]
        self.refused("positive definite")

    def test_a_diagonal_multiplier_lowered(self):
        leaf = next(leaf for leaf in self.proof["leaves"] if leaf["diagonal"])
        leaf["diagonal"][0] -= 10 * self.proof["mean_square_a2"]
        self.refused("is below")

    def test_a_cut_multiplier_raised(self):
        cut = next(cut for leaf in self.proof["leaves"] for cut in leaf["cuts"])
        cut["multiplier"] += 10 * self.proof["mean_square_a2"]
        self.refused("positive definite")

    def test_a_cut_multiplier_below_nothing(self):
        cut = next(cut for leaf in self.proof["leaves"] for cut in leaf["cuts"])
        cut["multiplier"] = -1e-3
        self.refused("negative")

    def test_a_leaf_dropped(self):
        self.proof["leaves"].pop()
        self.refused("not all|are missing")

    def test_a_leaf_twice(self):
        self.proof["leaves"].append(copy.deepcopy(self.proof["leaves"][0]))
        self.refused("overlap")

    def test_a_phase_shut_out(self):
        # A symmetry would be refused for itself; here it is what the leaves leave out.
        self.proof["symmetry"] = {"held": None, "mirrored": False}
        unit = next(unit for unit, turn in enumerate(self.proof["leaves"][0]["turns"]) if turn is not None)
        self.proof["units"][unit]["choices"] = [self.proof["leaves"][0]["turns"][unit]]
        self.refused("not allowed|not all")

    def test_a_better_value_claimed(self):
        self.proof["mean_square_a2"] *= 0.999
        self.refused("does not give")


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
