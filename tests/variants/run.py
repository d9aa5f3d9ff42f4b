#!/usr/bin/env python3
"""Sites that nobody would write as a test, run through every command.

    python3 tests/variants/run.py PROGRAM [--variants N | --minutes M] [--seed S] [--jobs J] [--commands WORDS]
    python3 tests/variants/run.py PROGRAM --seed S --only NUMBER --keep FOLDER

Each variant is the demo with tables, machines, logs, columns and keys left out or changed, so that it is legal, or
nearly so. Whatever it is, a command must end with a status that it promises, after a minute of the processor at most,
say on stderr what it could not do, and write results that can be read and hold no figure that is none. A variant
follows from the seed and its number alone. Variants that `check` refuses test little: half of them or more is a failure
too.
"""

import argparse
import collections
import concurrent.futures
import itertools
import json
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path

import changes
import judged
from site_folder import read_site_folder

PROJECT = Path(__file__).resolve().parent.parent.parent
DEMO = PROJECT / "sample-data" / "ferry-lane"
MACHINE = ["--name", "New machine", "--power-kw"]
NEW_MACHINES = str(PROJECT / "sample-data" / "new-machines.csv")
LIMITED = ["sh", "-c", 'ulimit -t "$1"; shift; exec "$@"', "limited", str(judged.LONGEST_S)]
# Each command with the schema of its JSON; `SITE` and `OUT` stand for the folders.
COMMANDS = {
    "check": [(["check", "SITE", "--format", "json"], "check"), (["check", "SITE"], None)],
    "energy": [
        (["energy", "SITE", "--format", "json", "--by", "day", "--by", "machine"], "energy"),
        (["energy", "SITE", "--format", "json", "--by", "hour", "--by", "phase", "--compare", "week"], "energy"),
        (["energy", "SITE", "--fail-on", "limit"], None),
        (["energy", "SITE", "--format", "csv", "--by", "schedule"], None),
    ],
    "bill": [(["energy", "SITE", "--bill"], None), (["energy", "SITE", "--bill", "--format", "json"], "bill")],
    "diagnose": [(["diagnose", "SITE"], None), (["diagnose", "SITE", "--format", "json"], "diagnose")],
    "phases": [
        (["phases", "SITE", "--format", "json"], "phases"),
        (["phases", "SITE"], None),
        (["phases", "SITE", "--format", "csv"], None),
    ],
    "balance": [
        (["balance", "SITE", "--format", "json"], "balance"),
        (["balance", "SITE", "--format", "json", "--objective", "phase-max"], "balance"),
        (["balance", "SITE", "--format", "json", "--objective", "loss"], "balance"),
        (["balance", "SITE", "--max-moves", "2"], None),
        (["balance", "SITE", "--fail-on", "limit"], None),
    ],
    "place": [
        (["place", "SITE", *MACHINE, "2", "--format", "json"], "place"),
        (["place", "SITE", *MACHINE, "0.01", "--connection", "L1"], None),
        (["place", "SITE", *MACHINE, "200", "--connection", "3ph", "--start", "direct"], None),
        (["place", "SITE", "--machines", NEW_MACHINES, "--format", "json"], "place-together"),
    ],
    "report": [(["report", "SITE", "-o", "OUT"], None), (["report", "SITE", "-o", "OUT", "--fail-on", "limit"], None)],
}


@dataclass
class Outcome:
    """What became of one variant."""

    number: int
    refused: bool = False
    # How often each command ended with each status.
    statuses: collections.Counter = field(default_factory=collections.Counter)
    # Command line and fault.
    faults: list = field(default_factory=list)
    slowest_s: float = 0.0


class Runner:
    """Runs variants; it can be handed to other threads."""

    def __init__(self, program, seed, words, keep):
        self.program = str(Path(program).resolve())
        self.seed, self.words, self.keep = seed, words, keep
        self.demo = read_site_folder(DEMO)
        self.schemas = {}
        for name in {schema for lines in COMMANDS.values() for _, schema in lines if schema}:
            line = [self.program, "schema", name]
            self.schemas[name] = json.loads(subprocess.run(line, capture_output=True, check=True).stdout)

    def variant(self, number):
        """Makes a variant, runs it, judges each run; the folder stays only where it is to be kept."""
        numbers = random.Random(f"{self.seed} {number}")
        site = self.demo.copy()
        changes.change(numbers, site)
        outcome = Outcome(number)
        with tempfile.TemporaryDirectory(prefix="variant") as temporary:
            home = Path(temporary)
            (home / "site").mkdir()
            site.write(home / "site")
            for word in self.words:
                arguments, schema = numbers.choice(COMMANDS[word])
                status = self.run(home, arguments, schema, outcome)
                outcome.statuses[f"{word} {status}"] += 1
                if word == "check" and status == 2:
                    outcome.refused = True
                    break
            if self.keep and outcome.faults:
                shutil.copytree(home / "site", self.keep / f"{self.seed}-{number}", dirs_exist_ok=True)
        return outcome

    def run(self, home, arguments, schema, outcome):
        """Runs a command and notes its faults; gives its exit status."""
        places = {"SITE": str(home / "site"), "OUT": str(home / "out")}
        line = [*LIMITED, self.program, *(places.get(word, word) for word in arguments)]
        start = time.monotonic()
        try:
            done = subprocess.run(line, capture_output=True, text=True, timeout=judged.HUNG_S)
        except subprocess.TimeoutExpired:
            outcome.faults += [(arguments, fault) for fault in judged.faults_of_run(arguments, None, "")]
            return "stopped"
        outcome.slowest_s = max(outcome.slowest_s, time.monotonic() - start)
        faults = judged.faults_of_run(arguments, done.returncode, done.stderr)
        if done.returncode in (0, 1):
            if "json" in arguments:
                faults += judged.faults_of_json(done.stdout, self.schemas.get(schema))
            elif "csv" in arguments:
                faults += judged.faults_of_csv(done.stdout)
            else:
                faults += judged.faults_of_text(done.stdout)
            if arguments[0] == "report":
                faults += judged.faults_of_report(home / "out")
        outcome.faults += [(arguments, fault) for fault in faults]
        return done.returncode


def outcomes(runner, numbers, jobs, until):
    """The outcomes in the order of their variants, a few at a time, until the time is over."""
    with concurrent.futures.ThreadPoolExecutor(jobs) as pool:
        waiting = collections.deque()
        for number in numbers:
            if time.monotonic() > until:
                break
            waiting.append(pool.submit(runner.variant, number))
            if len(waiting) > jobs:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()


def kind_of(fault):
    """Faults that differ in digits alone are of one kind."""
    return re.sub(r"\d+", "0", fault)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("program")
    parser.add_argument("--variants", type=int, help="how many; without --minutes 100")
    parser.add_argument("--minutes", type=float, help="begin no variant after so many minutes")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=os.cpu_count(), help="variants at a time")
    parser.add_argument("--commands", default=",".join(COMMANDS), help="which of them, in this order: %(default)s")
    parser.add_argument("--only", type=int, metavar="NUMBER", help="one variant alone")
    parser.add_argument("--keep", type=Path, metavar="FOLDER", help="where variants with a fault are kept")
    arguments = parser.parse_args()
    if arguments.keep:
        arguments.keep.mkdir(parents=True, exist_ok=True)
    words = arguments.commands.split(",")
    if unknown := [word for word in words if word not in COMMANDS]:
        parser.error(f"{', '.join(unknown)}: not among {', '.join(COMMANDS)}")

    if arguments.only is not None:
        numbers = [arguments.only]
    elif arguments.variants is None and arguments.minutes:
        numbers = itertools.count(1)
    else:
        numbers = range(1, (arguments.variants or 100) + 1)
    until = time.monotonic() + 60 * arguments.minutes if arguments.minutes else float("inf")

    runner = Runner(arguments.program, arguments.seed, words, arguments.keep)
    total = refused = 0
    slowest = 0.0
    statuses, kinds = collections.Counter(), collections.Counter()
    for outcome in outcomes(runner, numbers, arguments.jobs, until):
        total += 1
        refused += outcome.refused
        slowest = max(slowest, outcome.slowest_s)
        statuses += outcome.statuses
        for line, fault in outcome.faults:
            kind = (line[0], kind_of(fault))
            kinds[kind] += 1
            if kinds[kind] == 1:
                print(f"variant {outcome.number}: {' '.join(line)}: {fault}", flush=True)

    print(", ".join(f"{name}: {count}" for name, count in sorted(statuses.items())))
    runs = sum(statuses.values())
    print(f"{total} variants of seed {arguments.seed}, {refused} refused by check")
    print(f"{runs} runs, the slowest {slowest:.1f} s")
    for (command, fault), count in kinds.most_common():
        print(f"{count} times {command}: {fault}")
    if total > 1 and 2 * refused >= total:
        print("half of the variants or more are refused: they test too little")
        sys.exit(1)
    sys.exit(1 if kinds else 0)


if __name__ == "__main__":
    main()
