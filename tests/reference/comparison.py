"""Every value of a JSON result beside an independent one; what is left out is named with its reason."""

import fnmatch
import math
import re

# Absolute floor by the unit in which a key ends: far below the last digit that anybody reads.
FLOORS = [
    ("_kwh", 1e-7),
    ("_kvarh", 1e-7),
    ("_kw", 1e-9),
    ("_kva", 1e-9),
    ("_kvar", 1e-9),
    ("_a", 1e-9),
    ("_a2", 1e-9),
    ("_v", 1e-9),
    ("_pct", 1e-9),
    ("_mohm", 1e-9),
    ("_min", 1e-9),
    ("_w", 1e-9),
    ("", 1e-12),
]
RELATIVE = 1e-9


def floor_of(path):
    key = re.sub(r"(\[[^]]*\])+$", "", path).rsplit(".", 1)[-1]
    return next(floor for ending, floor in FLOORS if key.endswith(ending))


def named(entry, index):
    """Entries of lists by what they are, so that a message reads well."""
    if isinstance(entry, dict):
        for key in ("id", "meter", "main", "machine", "line", "month", "date", "at", "moves", "kind", "key", "circuit"):
            if isinstance(entry.get(key), (str, int)) and not isinstance(entry.get(key), bool):
                return f"{index}:{entry[key]}"
    return str(index)


class Comparison:
    """`left_out`: patterns of paths without list indices -> why; `looser`: the same -> (relative tolerance, why)."""

    def __init__(self, left_out, looser=None):
        self.left_out, self.looser = left_out, looser or {}
        self.compared, self.mismatches, self.unknown = 0, [], []
        self.used, self.skipped = set(), {}
        self.largest = (0.0, "")
        self.largest_looser = {}

    def differ(self, path, found, expected):
        self.mismatches.append(f"{path}: program {found!r}, recomputed {expected!r}")

    def reason(self, path, table):
        plain = re.sub(r"\[[^]]*\]", "", path)
        for pattern, why in table.items():
            if fnmatch.fnmatchcase(plain, pattern):
                self.used.add(pattern)
                return pattern, why
        return None

    def tree(self, path, found, expected):
        """Walks what the program gave; `...` stands for what was not recomputed."""
        if (
            expected is not ...
            and not isinstance(expected, (dict, list, tuple))
            and not isinstance(found, (dict, list))
        ):
            return self.value(path, found, expected)
        if isinstance(found, dict):
            if expected is not ... and not isinstance(expected, dict):
                return self.differ(path, "a table", expected)
            own = {} if expected is ... else expected
            for key, value in found.items():
                self.tree(f"{path}.{key}", value, own.get(key, ...))
            for key in own.keys() - found.keys():
                self.differ(f"{path}.{key}", "nothing", own[key])
        elif isinstance(found, list):
            if expected is not ... and not isinstance(expected, (list, tuple)):
                return self.differ(path, f"a list of {len(found)}", expected)
            if expected is not ... and len(expected) != len(found):
                return self.differ(path, f"a list of {len(found)}", f"a list of {len(expected)}")
            for index, value in enumerate(found):
                self.tree(f"{path}[{named(value, index)}]", value, ... if expected is ... else expected[index])
        elif expected is not ...:
            self.differ(path, found, expected)
        elif not isinstance(found, (str, bool)):
            self.without(path)

    def without(self, path):
        reason = self.reason(path, self.left_out)
        if reason is None:
            self.unknown.append(path)
        else:
            self.skipped[reason[0]] = self.skipped.get(reason[0], 0) + 1

    def value(self, path, found, expected):
        self.compared += 1
        numbers = [value for value in (found, expected) if is_number(value)]
        if len(numbers) < 2:
            if found is None and expected is not None and is_number(expected) and math.isnan(expected):
                return
            if found != expected:
                self.differ(path, found, expected)
            return
        found, expected = float(found), float(expected)
        distance, size = abs(found - expected), max(abs(found), abs(expected))
        relative = distance / size if size else 0.0
        looser = self.reason(path, self.looser)
        if looser is not None:
            known = self.largest_looser.get(looser[0], 0.0)
            self.largest_looser[looser[0]] = max(known, relative)
            if not relative <= looser[1][0]:
                self.differ(path, found, expected)
            return
        floor = floor_of(path)
        if not distance <= max(RELATIVE * size, floor):
            self.differ(path, found, expected)
        elif distance > floor and relative > self.largest[0]:
            self.largest = (relative, path)


def is_number(value):
    return hasattr(value, "__float__") and not isinstance(value, bool)
