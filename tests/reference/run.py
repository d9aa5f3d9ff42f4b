"""Runs the program on each site and compares every number of its JSON with an independent recomputation.

    python3 tests/reference/run.py PROGRAM [--shared FOLDER] [--only WORD]

Nothing of the program is used but its results: site.toml, machines.csv and the logs are read anew, with tomllib, csv
and pandas. A number that neither agrees to 1e-9 of itself (and a floor far below the last digit anybody reads) nor is
named as left out makes it fail, and so does a reason that leaves nothing out.
"""

import argparse
import csv
import json
import math
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import left_out
import local_time
import recompute_baseline
import recompute_bill
import recompute_breakdown
import recompute_clauses
import recompute_energy
import recompute_study
import recompute_what_if
from cases import HERE, cases, copied
from comparison import Comparison
from installation import Installation
from logs import read_logs
from metered import Metered
from recompute_balance import Balance
from recompute_diagnosis import Diagnosis
from recompute_place import Placing
from site_files import Site

TABLES = {
    "energy": left_out.ENERGY,
    "by": {},
    "balance": left_out.BALANCE,
    "diagnose": left_out.DIAGNOSE,
    "place": left_out.PLACE,
}
TARIFFS = HERE.parent.parent / "sample-data" / "tariffs"
LOOSER = {"diagnose": left_out.DIAGNOSE_LOOSER}
# A machine that looks for a place.
POWER_KW, POWER_FACTOR = 1.5, 0.8


def run_program(program, *arguments):
    """The JSON result; 1 tells that a limit is exceeded and is no failure."""
    done = subprocess.run([program, *map(str, arguments), "--format", "json"], capture_output=True, text=True)
    if done.returncode not in (0, 1):
        sys.exit(f"{' '.join(map(str, arguments))}: {done.stderr}")
    return json.loads(done.stdout)


def without_tariffs(text):
    """site.toml without its [[tariff]] tables, which run to the next table."""
    kept, inside = [], False
    for line in text.splitlines(keepends=True):
        if line.startswith("["):
            inside = line.startswith("[[tariff]]")
        kept.append("" if inside else line)
    return "".join(kept)


class Checker:
    def __init__(self, program):
        self.program = program
        self.comparisons = {name: Comparison(table, LOOSER.get(name)) for name, table in TABLES.items()}
        self.failed = False

    def compare(self, case, command, found, expected):
        comparison = self.comparisons[command]
        before = comparison.compared
        comparison.mismatches, comparison.unknown = [], []
        comparison.tree(command, found, expected)
        compared = comparison.compared - before
        print(f"  {command:10} {compared:7} values compared, {len(comparison.mismatches)} differ")
        for line in comparison.mismatches[:40]:
            print(f"    DIFFERS {line}")
        for path in sorted(set(comparison.unknown))[:40]:
            print(f"    NEITHER COMPARED NOR LEFT OUT {path}")
        self.failed |= bool(comparison.mismatches or comparison.unknown)

    def site(self, case):
        site = Site(case.folder)
        tables = {}
        logs = read_logs(site, tables)
        if case.energy:
            self.energy(case, site, logs, tables)
        installation = Installation(site, logs) if case.balance or case.diagnose or case.place else None
        metered = {name: Metered(site, log) for name, log in logs.items()}
        if case.diagnose:
            found = run_program(self.program, "diagnose", case.folder)
            self.compare(case, "diagnose", found, Diagnosis(site, logs, metered, installation).answer(found))
        if case.place:
            found = run_program(
                self.program,
                "place",
                case.folder,
                "--name",
                "Edge sander",
                "--power-kw",
                POWER_KW,
                "--power-factor",
                POWER_FACTOR,
            )
            self.compare(
                case, "place", found, Placing(site, installation, metered).answer(found, POWER_KW, POWER_FACTOR)
            )
        if case.balance:
            for more in [[], *case.variants]:
                found = run_program(self.program, "balance", case.folder, *more)
                self.compare(case, "balance", found, Balance(installation).answer(found))

    def energy(self, case, site, logs, tables):
        options, arguments, settings = case.energy_options, [], {}
        if "window_min" in options:
            arguments += ["--window-min", options["window_min"]]
            site.window_min = options["window_min"]
        if "from" in options:
            arguments += ["--from", options["from"], "--to", options["to"]]
            begin, end = (local_time.midnight_of(site.zone, options[name]) for name in ("from", "to"))
            logs = {name: log.between(begin, end) for name, log in logs.items()}
        if "target" in options:
            arguments += ["--target-power-factor", options["target"], "--kvar-step", options["step"]]
            settings = {"target": options["target"], "step": options["step"]}
        if "baseline" in options:
            begin, end, by = options["baseline"]
            arguments += ["--baseline", f"{begin}..{end}", "--baseline-by", by]
        found = run_program(self.program, "energy", case.folder, *arguments)
        expected, metered = recompute_energy.energy(site, logs, found)
        expected |= recompute_study.study(site, metered, **settings)
        expected["cost"] = recompute_bill.bill(site, metered)
        expected["cost_by_day"] = recompute_bill.by_day(site, metered)
        expected |= recompute_baseline.change(site, metered, options.get("baseline"))
        self.compare(case, "energy", found, expected)
        for by in (*recompute_breakdown.BY, *case.columns) if case.breakdowns else ():
            found = run_program(self.program, "energy", case.folder, "--by", by, *arguments)
            parts = recompute_breakdown.breakdown(site, metered, by, tables)
            costs = recompute_breakdown.costs_together(parts, expected["cost"])
            self.compare(case, "by", found.get("breakdown") or [], parts)
            self.compare(case, "by", found.get("breakdown_costs") or [], costs)

    def self_consumption(self, case):
        """What is generated, used on site and exported, from the rows of both logs."""
        rows = {}
        for name in ("main", "roof"):
            with (case.folder / "meters" / f"{name}.csv").open(newline="") as file:
                rows[name] = {row["time"]: float(row["P"]) / 4 for row in csv.DictReader(file)}
        both = [(rows["main"][time], -made) for time, made in rows["roof"].items()]
        made = math.fsum(own for _, own in both)
        exported = math.fsum(max(-net, 0) for net, _ in both)
        imported = math.fsum(max(net, 0) for net, _ in both)
        used = made - exported
        found = run_program(self.program, "energy", case.folder)["self_consumption"]
        expected = {
            "hours": len(both) / 4,
            "generated_kwh": made,
            "exported_kwh": exported,
            "used_on_site_kwh": used,
            "self_consumption_pct": 100 * used / made,
            "self_sufficiency_pct": 100 * used / (used + imported),
        }
        self.compare(case, "energy", {key: found[key] for key in expected}, expected)

    def clauses(self, case, scratch):
        """The bill of each tariff of the sample data, line by line."""
        for file in sorted(TARIFFS.glob("*.toml")):
            folder = scratch / f"{case.name}-{file.stem}".replace(" ", "-").replace("/", "-")
            copied(case.folder, folder, [("[site]\n", '[site]\ntariff_file = "tariffs/tariff.toml"\n')])
            shutil.copytree(TARIFFS, folder / "tariffs")
            (folder / "tariffs" / "tariff.toml").write_text(file.read_text())
            text = (folder / "site.toml").read_text()
            (folder / "site.toml").write_text(without_tariffs(text))
            site = Site(folder)
            logs = read_logs(site, {})
            metered = {name: Metered(site, log) for name, log in logs.items()}
            found = run_program(self.program, "energy", folder, "--bill")
            expected = recompute_clauses.bill_of(site, metered, folder / "tariffs" / "tariff.toml")
            compared, differing = recompute_clauses.differences(found["months"], expected)
            print(f"  {file.stem:24} {compared:5} values of lines compared, {len(differing)} differ")
            unlike = []
            # What is tried is billed over the last twelve months.
            if max(log.to_s - log.from_s for log in logs.values()) < 365 * 86_400 + 1:
                tried = run_program(self.program, "energy", folder, "--bill", "--what-if")
                more, unlike = recompute_what_if.differences(tried, site, metered, folder / "tariffs" / "tariff.toml")
                print(f"  {'':24} {more:5} values of what is tried compared, {len(unlike)} differ")
            for line in differing[:20] + unlike[:20]:
                print(f"    DIFFERS {line}")
            self.failed |= bool(differing or unlike)

    def close(self, is_whole):
        """Tells what was compared and what was not; `is_whole`: all sites, so that every reason must have a use."""
        comparisons = self.comparisons.values()
        largest = max(comparison.largest for comparison in comparisons)
        print(
            f"\n{sum(comparison.compared for comparison in comparisons)} values compared; the largest difference is "
            f"{largest[0]:.1e} of the value, at {largest[1]}"
        )
        for comparison in comparisons:
            if comparison.largest_looser:
                path, worst = max(comparison.largest_looser.items(), key=lambda one: one[1])
                tolerance, why = comparison.looser[path]
                print(
                    f"looser, to {tolerance:g}: {len(comparison.largest_looser)} keys {why}; the largest difference "
                    f"is {worst:.1e}, at {path}"
                )
        print("not compared:")
        for comparison in comparisons:
            for pattern, why in comparison.left_out.items():
                count = comparison.skipped.get(pattern, 0)
                if count or is_whole:
                    print(f"  {count:6} x {pattern}: {why}" + ("" if count else " - LEAVES NOTHING OUT"))
                self.failed |= is_whole and count == 0
        return 1 if self.failed else 0


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("program", type=Path)
    parser.add_argument("--shared", type=Path, help="folder with public logs; without it the demo alone is compared")
    parser.add_argument("--only", help="sites whose name contains this")
    arguments = parser.parse_args()
    checker = Checker(arguments.program.resolve())
    with tempfile.TemporaryDirectory() as scratch:
        for case in cases(arguments.shared, Path(scratch)):
            if arguments.only and arguments.only not in case.name:
                continue
            begun = time.monotonic()
            print(case.name)
            checker.site(case)
            if case.name == "sunny workshop":
                checker.self_consumption(case)
            if case.name in ("ferry-lane", "sunny workshop", "campus", "steel-works"):
                checker.clauses(case, Path(scratch))
            print(f"  {time.monotonic() - begun:.1f} s")
        return checker.close(arguments.shared is not None and not arguments.only)


if __name__ == "__main__":
    sys.exit(main())
