"""A site folder as it lies on the disk: site.toml, machines.csv and the tree of nodes in them."""

import csv
import datetime as dt
import tomllib
from pathlib import Path
from zoneinfo import ZoneInfo

PHASES = ("L1", "L2", "L3")
PAIRS = ("L1-L2", "L2-L3", "L3-L1")
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def number(cell):
    return float(cell) if cell else None


def days_of(text):
    """`Mon-Fri`, `Sat,Sun`, `Fri-Mon`, `daily` as numbers from Monday."""
    text = text.strip().lower()
    if text == "daily":
        return set(range(7))
    found = set()
    for part in text.split(","):
        first, _, last = part.strip().partition("-")
        first, last = DAYS.index(first.strip()), DAYS.index((last or first).strip())
        found |= {(first + step) % 7 for step in range((last - first) % 7 + 1)}
    return found


def minute_of(text):
    hours, minutes = text.split(":")
    return 60 * int(hours) + int(minutes)


class Shift:
    """A stretch of days and hours; what ends not after it begins runs into the next day."""

    def __init__(self, table):
        self.days = days_of(table["days"])
        self.begin, self.end = minute_of(table["from"]), minute_of(table["to"])

    def runs(self, local, holidays):
        minute, today = 60 * local.hour + local.minute, local.date()

        def starts(date):
            return date.weekday() in self.days and date not in holidays

        if self.begin < self.end:
            return starts(today) and self.begin <= minute < self.end
        return starts(today) and minute >= self.begin or starts(today - dt.timedelta(1)) and minute < self.end


class Machine:
    """A row of machines.csv; its rating is that of one machine times `quantity`."""

    def __init__(self, row, volts):
        self.name, self.circuit, self.connection = row["machine"], row["circuit"], row["connection"]
        factor = (row.get("power_factor") or "1").strip()
        self.leading = factor.endswith("lead")
        self.power_factor = float(factor.split()[0])
        self.quantity = int(row.get("quantity") or 1)
        self.utilisation = float(row.get("utilisation_factor") or 1)
        self.h3 = float(row.get("third_harmonic_pct") or 0) / 100
        self.schedule = row.get("schedule") or None
        self.meter = row.get("meter") or None
        self.keep_with = row.get("keep_with") or None
        self.device = row.get("protective_device") or None
        one_phase = self.connection in PHASES + ("any",)
        between = self.connection in PAIRS + ("any-2",)
        self.movable = {"yes": True, "no": False, "": one_phase or between}[row.get("movable") or ""]
        kw, kva, amps, shaft = (number(row.get(k)) for k in ("power_kw", "apparent_kva", "current_a", "shaft_kw"))
        if shaft is not None:
            kw = shaft / float(row["efficiency"])
        if amps is not None:
            fundamental = amps / (1 + self.h3**2) ** 0.5
            kva = fundamental * volts * (1 if one_phase else 3**0.5 if between else 3) / 1000
        self.rated_kw = self.quantity * (kw if kw is not None else kva * self.power_factor)
        sign = -1 if self.leading else 1
        self.rated_kvar = sign * self.rated_kw * (1 - self.power_factor**2) ** 0.5 / self.power_factor


class Site:
    def __init__(self, folder):
        self.folder = Path(folder)
        self.toml = tomllib.loads((self.folder / "site.toml").read_text())
        head = self.toml["site"]
        self.zone_name = head.get("timezone", "UTC")
        self.zone = ZoneInfo(self.zone_name)
        self.window_min = head.get("demand_window_min", 30)
        self.holidays = {dt.date.fromisoformat(day) for day in head.get("holidays", [])}
        self.supply = self.toml["supply"]
        self.volts = self.supply["line_voltage_v"] / 3**0.5
        self.boards = self.toml.get("board", [])
        self.circuits = self.toml.get("circuit", [])
        self.meters = self.toml.get("meter", [])
        self.schedules = {}
        self.not_working = set()
        for table in self.toml.get("schedule", []):
            self.schedules.setdefault(table["name"], []).append(Shift(table))
            if not table.get("working_hours", True):
                self.not_working.add(table["name"])
        with (self.folder / "machines.csv").open(newline="", encoding="utf-8-sig") as file:
            self.machines = [Machine(row, self.volts) for row in csv.DictReader(file)]
        self.above = {board["id"]: board["fed_from"] for board in self.boards}
        self.above |= {circuit["id"]: circuit["board"] for circuit in self.circuits}
        self.nodes = ["supply"] + [board["id"] for board in self.boards] + [c["id"] for c in self.circuits]

    def machine(self, name):
        return next((machine for machine in self.machines if machine.name == name), None)

    def path(self, node):
        """The node and those above it."""
        while node is not None:
            yield node
            node = self.above.get(node)

    def is_within(self, node, above):
        return above in self.path(node)

    def machines_below(self, node):
        return [machine for machine in self.machines if self.is_within(machine.circuit, node)]

    def meter_of(self, measured):
        """Id of the first meter that measures something."""
        return next((meter["id"] for meter in self.meters if meter["measures"] == measured), None)

    def machine_meter(self, machine):
        return machine.meter or self.meter_of(machine.name)

    def runs(self, schedule, local):
        return any(shift.runs(local, self.holidays) for shift in self.schedules[schedule])

    def phase_limit(self, node):
        if node == "supply":
            return float(self.supply["phase_limit_a"])
        for board in self.boards:
            if board["id"] == node:
                return number(board.get("phase_limit_a"))
        device = self.circuit(node).get("protective_device")
        return rated_current(device)

    def neutral_limit(self, node):
        if node == "supply":
            return float(self.supply.get("neutral_limit_a", self.supply["phase_limit_a"]))
        for board in self.boards:
            if board["id"] == node:
                return number(board.get("neutral_limit_a", board.get("phase_limit_a")))
        return None

    def circuit(self, name):
        return next((circuit for circuit in self.circuits if circuit["id"] == name), {})


def rated_current(device):
    """`gG 32` -> 32."""
    return float(device.split()[-1]) if device else None
