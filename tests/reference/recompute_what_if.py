"""What load shifted to other hours and capacitors would have saved: the altered log, billed by recompute_clauses.

Written from the help of `tapoff energy --what-if` and the meanings of its keys (`tapoff schema what-if`).
"""

import copy
import math
import tomllib
from decimal import Decimal

from recompute_clauses import Clauses, Part, When, date_of, listed


class Tried:
    """A log that can be altered and billed again."""

    def __init__(self, clauses, window_min):
        self.clauses, self.window_s = clauses, 60 * window_min

    def altered(self):
        again = copy.copy(self)
        again.clauses = copy.copy(self.clauses)
        again.clauses.quarters = [dict(row) for row in self.clauses.quarters]
        again.clauses.blocks = [dict(block) for block in self.clauses.blocks]
        return again

    def months(self):
        return self.clauses.months()

    def total(self):
        return sum((month["total"] for month in self.months()), Decimal(0))

    def tariff_on(self, day):
        holding = [table for table in self.clauses.tariffs if date_of(table["from"]) <= day]
        return holding[-1] if holding else None

    # ---- prices by the time ----------------------------------------------------------------------

    def sets(self, table):
        """All prices of energy of a tariff with their names; read once."""
        known = self.__dict__.setdefault("known_sets", {})
        if id(table) not in known:
            part = OnlyPrices(self.clauses, table)
            found = [part.prices(table, ("energy", "energy_blocks", "energy_prices"), "energy")]
            found += [part.prices(one, ("bands", "blocks", "prices"), one["set"]) for one in table.get("energy_sets", [])]
            known[id(table)] = [prices for prices in found if prices]
        return known[id(table)]

    def rate(self, row):
        table, rate = self.tariff_on(row["clock"].date()), Decimal(0)
        if table is None:
            return None
        for prices in self.sets(table):
            if prices.series:
                price = prices.prices.get(int(row["start_s"]))
                if price is None:
                    return None
                rate += price
            elif prices.bands:
                band = prices.bands[prices.band_at(row["clock"])]
                rate += Decimal(str((band.get("blocks") or [band])[0]["rate_per_kwh"]))
        return rate

    def is_out_of(self, row, line):
        table = self.tariff_on(row["clock"].date())
        for prices in self.sets(table):
            if prices.bands and f"{prices.name} {prices.bands[prices.band_at(row['clock'])]['band']}" == line:
                return True
        for charge in listed(table.get("demand")):
            name = f"demand {charge['charge']}" if "charge" in charge else "demand"
            special = "holidays" if row["clock"].date() in self.clauses.site.holidays else None
            if name == line and When(charge).holds(row["clock"], special):
                return True
        return False

    # ---- what is tried ---------------------------------------------------------------------------

    def shifted(self, line, kw):
        """Load out of the hours of a line into the cheapest other quarter-hours of the same day."""
        again, days, moved_kwh = self.altered(), {}, 0.0
        for row in again.clauses.quarters:
            row["rate"], row["moved"] = self.rate(row), 0.0
            if row["rate"] is not None:
                days.setdefault(row["clock"].date(), []).append(row)
        for rows in days.values():
            inside = [row for row in rows if self.is_out_of(row, line)]
            others = [row for row in rows if row not in inside and row["covered_s"] > 899.5]
            if not others:
                continue
            least = min(row["rate"] for row in others)
            into = [row for row in others if row["rate"] == least]
            moved = 0.0
            for row in inside:
                if row["rate"] > least or (line.startswith("demand") and row["rate"] == least):
                    row["moved"] = -min(max(row["kwh"], 0.0), kw * row["covered_s"] / 3600)
                    moved -= row["moved"]
            for row in into if moved else []:
                row["moved"] = moved / len(into)
            moved_kwh += moved
        by_start = {int(row["start_s"]): row["moved"] for row in again.clauses.quarters}
        for row in again.clauses.quarters:
            row["kwh"] += row["moved"]
        for block in again.clauses.blocks:
            starts = range(int(block["start_s"]), int(block["start_s"]) + self.window_s, 900)
            block["kw"] += sum(by_start.get(start, 0.0) for start in starts) * 3600 / self.window_s
            block["kva"] = math.hypot(block["kw"], block["kvar"])
        return again, moved_kwh

    def corrected(self, kvar):
        """With capacitors that never over-correct."""
        again = self.altered()
        for row in again.clauses.quarters:
            if row["lagging"] is not None:
                row["lagging"] = max(row["lagging"] - kvar * row["covered_s"] / 3600, 0.0)
        for block in again.clauses.blocks:
            if block["kvar"] > 0:
                block["kvar"] = max(block["kvar"] - kvar, 0.0)
                block["kva"] = math.hypot(block["kw"], block["kvar"])
        return again

    def charges_lagging(self):
        """Is anything charged for lagging reactive energy or a low power factor?"""
        leading = {
            f"reactive {charge['charge']}"
            for table in self.clauses.tariffs
            for charge in listed(table.get("reactive"))
            if charge.get("of") == "leading" and "charge" in charge
        }
        lines = [line for month in self.months() for line in month["lines"]]
        return any(
            line["amount"] and line["line"] not in leading
            for line in lines
            if line["line"].startswith(("reactive", "power factor"))
        )


class OnlyPrices:
    """As much of a part of a bill as reading its prices asks for."""

    def __init__(self, bill, table):
        self.bill, self.table, self.prices = bill, table, Part.prices.__get__(self)


def differences(found, site, metered, file):
    """How many figures were compared, and those that differ."""
    toml = tomllib.loads(file.read_text(), parse_float=Decimal)
    meter = metered[site.meter_of("supply")]
    currency = site.toml["site"].get("currency")
    clauses = Clauses(site, meter, toml["tariff"], toml.get("billing", {}), file.parent, currency)
    tried, differing, compared = Tried(clauses, site.window_min), [], 0

    def same(path, a, b):
        nonlocal compared
        compared += 1
        if abs(float(a) - float(b)) > 1e-9 * max(1.0, abs(float(b))):
            differing.append(f"{path}: {a} is not {b}")

    before = tried.total()
    same("total", found["tariffs"][0]["total"], before)
    for shift in found["shifts"]:
        again, moved = tried.shifted(shift["out_of"], shift["kw"])
        total = again.total()
        same(f"{shift['out_of']} moved", shift["moved_kwh"], moved)
        same(f"{shift['out_of']} total", shift["total"], total)
        same(f"{shift['out_of']} saving", shift["saving"], before - total)
    if choice := found["correction"]:
        total = tried.corrected(choice["kvar"]).total()
        same("capacitors total", choice["total"], total)
        same("capacitors saving", choice["saving"], before - total)
        if choice["aim"].startswith("no charge"):
            same("capacitors suffice", tried.corrected(choice["kvar"]).charges_lagging(), False)
            fewer = tried.corrected(choice["kvar"] - choice["kvar_step"])
            same("one step less does not", fewer.charges_lagging(), True)
    return compared, differing
