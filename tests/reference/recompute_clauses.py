"""The bill of a tariff in clauses (demand measures, band sets, levies, taxes, billing periods …), line by line in decimals.

Written from the reference pages of the keys (`tapoff explain tariff`), as a contract would be; it shares nothing with
recompute_bill but the rounding of measured numbers.
"""

import csv
import datetime as dt
import math
import tomllib
from decimal import ROUND_DOWN, ROUND_HALF_EVEN, ROUND_HALF_UP, ROUND_UP, Decimal

import local_time
from metered import rank
from recompute_bill import THOUSANDTHS, WHOLE, months_of, read
from site_files import days_of, minute_of

WAYS = {"half-up": ROUND_HALF_UP, "half-even": ROUND_HALF_EVEN, "down": ROUND_DOWN, "up": ROUND_UP}
ENDS = ("up_to_kwh_per_month", "up_to_kwh_per_day", "up_to_hours_of_demand")
KINDS = ("standing", "energy", "demand", "capacity", "reactive", "levies", "export", "taxes")


def date_of(text):
    return dt.date.fromisoformat(text)


def months_later(day, count):
    month = day.year * 12 + day.month - 1 + count
    first = dt.date(month // 12, month % 12 + 1, 1)
    last = (first.replace(day=28) + dt.timedelta(4)).replace(day=1) - dt.timedelta(1)
    return first.replace(day=min(day.day, last.day))


class When:
    """Days, months and hours of a band or a charge."""

    def __init__(self, table):
        words = [word.strip().lower() for word in table.get("days", "daily").split(",")]
        self.daily = words == ["daily"]
        self.special = {word for word in words if word in ("holidays", "critical")}
        week = [word for word in words if word not in ("holidays", "critical")]
        self.week = days_of(",".join(week)) if week else set()
        self.months = months_of(str(table.get("months", "1-12")))
        self.begin, self.end = minute_of(table.get("from", "00:00")), minute_of(table.get("to", "24:00"))

    def holds(self, clock, special=None):
        """`special`: the day is a holiday or a critical day, priced apart."""
        minute = 60 * clock.hour + clock.minute
        inside = self.begin <= minute < self.end if self.begin < self.end else minute >= self.begin or minute < self.end
        day = self.daily or (special in self.special if special else clock.weekday() in self.week)
        return inside and day and clock.month in self.months


class Prices:
    """One price of energy: bands, blocks or a file."""

    def __init__(self, name, bands, blocks, series, holidays, critical, folder, zone):
        self.name, self.bands, self.blocks, self.series = name, bands, blocks, series
        self.when = [When(band) for band in bands]
        self.holidays, self.critical = holidays, critical
        named = {word for band, when in zip(bands, self.when) if not band.get("otherwise") for word in when.special}
        self.apart = named
        self.prices = file_prices(series, folder, zone) if series else None

    def band_at(self, clock):
        special = None
        if "holidays" in self.apart and clock.date() in self.holidays:
            special = "holidays"
        if "critical" in self.apart and clock.date() in self.critical:
            special = "critical"
        named = [at for at, band in enumerate(self.bands) if not band.get("otherwise") and self.when[at].holds(clock, special)]
        rest = [at for at, band in enumerate(self.bands) if band.get("otherwise")]
        (found,) = named or rest
        return found


def file_prices(table, folder, zone):
    scale, add = Decimal(str(table.get("scale", 1))), Decimal(str(table.get("add_per_kwh", 0)))
    found, before = {}, None
    with (folder / table["file"]).open(newline="") as file:
        for row in csv.DictReader(file):
            moment = dt.datetime.fromisoformat(row[table.get("time", "time")])
            if moment.tzinfo is None:
                moment = moment.replace(tzinfo=zone)
                if before is not None and moment.timestamp() <= before:
                    moment = moment.replace(fold=1)
            before = int(moment.timestamp())
            found[before] = Decimal(row[table.get("column", "price_per_kwh")]) * scale + add
    starts = sorted(found)
    step = min((b - a for a, b in zip(starts, starts[1:])), default=3600)
    return {start + more: found[start] for start in starts for more in range(0, step, 900)}


class Clauses:
    def __init__(self, site, meter, tariffs, billing, folder, currency):
        self.site, self.meter, self.folder, self.currency = site, meter, folder, currency
        self.tariffs = sorted(tariffs, key=lambda table: table["from"])
        self.billing = billing
        self.zone, log = site.zone, meter.log
        self.begin = local_time.local(self.zone, log.from_s).date()
        self.end = local_time.local(self.zone, log.to_s - 1).date() + dt.timedelta(1)
        lagging = meter.lagging() is not None
        self.quarters = []
        for row in meter.quarters.to_dict("records"):
            row["clock"] = local_time.local(self.zone, row["start_s"]).replace(tzinfo=None)
            row["lagging"] = row["lagging"] if lagging else None
            self.quarters.append(row)
        self.leading = self.leading_by_quarter()
        self.blocks = []
        for row in meter.blocks.to_dict("records"):
            row["clock"] = local_time.local(self.zone, row["start_s"]).replace(tzinfo=None)
            self.blocks.append(row)

    def leading_by_quarter(self):
        """kvarh that lead, by quarter-hour; None where the log counts lagging energy alone."""
        log, sums = self.meter.log, {}
        counted = log.get("reactive_energy_export_interval_kvarh")
        if counted is None and self.meter.reactive is None:
            return None
        for at, start in enumerate(log.starts):
            own = counted[at] if counted is not None else max(-self.meter.reactive[at], 0) * log.hours
            if not math.isnan(own):
                quarter = int(start) // 900 * 900
                sums[quarter] = sums.get(quarter, 0.0) + own
        return sums

    # ---- periods -------------------------------------------------------------------------------

    def around(self, day):
        listed = [date_of(text) for text in self.billing.get("periods_begin", [])]
        if not listed:
            begin = day.replace(day=self.billing.get("day_of_month", 1))
            begin = begin if begin <= day else months_later(begin, -1)
            return begin, months_later(begin, 1)
        if day < listed[0]:
            count = next(count for count in range(1, 10_000) if months_later(listed[0], -count) <= day)
            return months_later(listed[0], -count), months_later(listed[0], 1 - count)
        if day >= listed[-1]:
            count = next(count for count in range(1, 10_000) if day < months_later(listed[-1], count))
            return months_later(listed[-1], count - 1), months_later(listed[-1], count)
        after = next(at for at, begin in enumerate(listed) if begin > day)
        return listed[after - 1], listed[after]

    def periods(self):
        day, found = self.begin, []
        while day < self.end:
            first, following = self.around(day)
            found.append((first, following, max(first, self.begin), min(following, self.end)))
            day = following
        return found

    def parts(self, first, following, begin, end):
        """Days under one tariff each: tariff, from, to, share of the period's days."""
        holding = [table for table in self.tariffs if date_of(table["from"]) <= first]
        if self.billing.get("price_changes") == "next-period" and holding:
            return [(holding[-1], begin, end, None)]
        found = []
        for table, later in zip(self.tariffs, self.tariffs[1:] + [None]):
            holds = max(date_of(table["from"]), first)
            ends = following if later is None else min(date_of(later["from"]), following)
            a, b = max(holds, begin), min(ends, end)
            if holds < ends and a < b:
                days, of = (ends - holds).days, (following - first).days
                found.append((table, a, b, (days, of) if days < of else None))
        return found

    # ---- the bill ------------------------------------------------------------------------------

    def months(self):
        self.all_periods = self.periods()
        # What is carried from period to period: credit by line; None before the first that can have any.
        self.carried = None
        found = []
        for at, period in enumerate(self.all_periods):
            lines, credits = [], {}
            for part in self.parts(*period):
                own = Part(self, at, *part)
                lines += own.lines()
                for credit in own.credits:
                    known = credits.setdefault(credit["line"], credit)
                    if known is not credit:
                        known["earned"] += credit["earned"]
                        known["used"] += credit["used"]
                        known["carried_forward"] = credit["carried_forward"]
                if own.settles():
                    for credit in credits.values():
                        credit["settled"], credit["carried_forward"] = credit["carried_forward"], Decimal(0)
            whole = period[0].day == 1 and months_later(period[0], 1) == period[1]
            name = f"{period[0]:%Y-%m}" if whole else period[0].isoformat()
            total = sum((line["amount"] for line in lines), Decimal(0))
            lines = [{key: value for key, value in line.items() if key not in ("kind",)} for line in lines]
            found.append({"month": name, "from": period[2].isoformat(), "to": period[3].isoformat(), "lines": lines, "credits": list(credits.values()), "total": total})
        return found

    def demand_of(self, charge, at):
        """What a charge measures in a period, to six places."""
        when, per = When(charge), charge["per"].lower()
        first, following = self.all_periods[at][:2]
        found = []
        for block in self.blocks:
            day = block["clock"].date()
            special = "holidays" if day in self.site.holidays else None
            value = block[per]
            if first <= day < following and not math.isnan(value) and value >= 0 and when.holds(block["clock"], special):
                found.append((value, day))
        if charge.get("one_per_day"):
            best = {}
            for value, day in found:
                if day not in best or rank(value) > rank(best[day]):
                    best[day] = value
            found = [(value, day) for day, value in best.items()]
        values = sorted((value for value, _ in found), reverse=True)
        if not values:
            return None
        if count := charge.get("mean_of_highest"):
            kept = values[:count]
            return read(math.fsum(kept) / len(kept))
        return read(values[: charge.get("nth_highest", 1)][-1])


class Part:
    """Days of a billing period under one tariff."""

    def __init__(self, bill, at, table, begin, end, share):
        self.bill, self.at, self.table, self.begin, self.end, self.share = bill, at, table, begin, end, share
        self.days = Decimal((end - begin).days)
        rounding = table.get("rounding", {})
        places = 0 if bill.currency in WHOLE else 3 if bill.currency in THOUSANDTHS else 2
        self.q = (rounding.get("quantity_decimals", 3), WAYS[rounding.get("quantities", "half-up")])
        self.a = (rounding.get("amount_decimals", places), WAYS[rounding.get("amounts", "half-up")])
        self.quarters = [row for row in bill.quarters if begin <= row["clock"].date() < end]
        losses = table.get("losses", {})
        self.loss_kwh = Decimal(str(losses.get("energy", 1)))
        self.loss_kw = Decimal(str(losses.get("demand", 1)))
        self.kvah = table.get("energy_unit") == "kVAh"
        self.notes_lagging = any(row["lagging"] is not None for row in self.quarters)
        self.out, self.credits = [], []
        self.net = table.get("net_metering", {})

    def quantity(self, value):
        value = read(value) if isinstance(value, float) else value
        return value.quantize(Decimal(1).scaleb(-self.q[0]), rounding=self.q[1])

    def amount(self, value):
        return value.quantize(Decimal(1).scaleb(-self.a[0]), rounding=self.a[1])

    def part_of_month(self):
        """Numerator and denominator of what is due of a price by the month."""
        way = self.table.get("monthly_charges", "by-period")
        if way == "by-30-days":
            return None if self.days == 30 else (int(self.days), 30)
        if way == "by-365-days":
            return (12 * int(self.days), 365)
        return self.share

    def shared(self, value):
        part = self.part_of_month()
        return value if part is None else value * part[0] / part[1]

    def add(self, kind, name, quantity, unit, rate, amount=None, monthly=False, **more):
        line = {
            "kind": kind,
            "line": name,
            "from": self.begin.isoformat(),
            "to": self.end.isoformat(),
            "quantity": quantity,
            "unit": unit,
            "rate": rate,
            "amount": self.amount(quantity * rate) if amount is None else amount,
        }
        if monthly and self.part_of_month():
            days, of = self.part_of_month()
            line["amount"] = self.amount(quantity * rate * days / of)
            line["share"] = {"days": days, "of": of}
        self.out.append(line | more)

    def lines(self):
        table, number = self.table, lambda key: Decimal(str(table[key]))
        self.billed = [self.demand(charge) for charge in listed(table.get("demand"))]
        if "standing_per_day" in table:
            self.add("standing", "standing", self.days, "days", number("standing_per_day"))
        if "standing_per_month" in table:
            self.add("standing", "standing monthly", Decimal(1), "months", number("standing_per_month"), monthly=True)
        self.energy()
        for charge, billed in zip(listed(table.get("demand")), self.billed):
            season = months_of(str(charge.get("months", "1-12")))
            days = (self.begin + dt.timedelta(more) for more in range(int(self.days)))
            if billed is None or not any(day.month in season for day in days):
                continue
            name = f"demand {charge['charge']}" if "charge" in charge else "demand"
            if "rate_per_day" in charge:
                self.add("demand", name, billed * self.days, f"{charge['per']}·days", Decimal(str(charge["rate_per_day"])))
            else:
                self.add("demand", name, billed, charge["per"], Decimal(str(charge["rate_per_month"])), monthly=True)
        self.capacity()
        self.reactive()
        self.levies()
        self.export()
        self.money()
        if "minimum_per_month" in table:
            least = self.amount(self.shared(number("minimum_per_month")))
            so_far = sum((line["amount"] for line in self.out), Decimal(0))
            if so_far < least:
                self.add("levies", "minimum", least - so_far, self.bill.currency or "currency", Decimal(1))
        self.taxes()
        if self.settles():
            self.settle()
        return self.out

    # ---- credits -------------------------------------------------------------------------------

    def brought(self, line):
        if self.bill.carried is None:
            self.bill.carried = {line: Decimal(str(self.net.get("opening_credit", 0)))}
        return self.bill.carried.get(line, Decimal(0))

    def carry(self, line, unit, brought, earned, used):
        left = brought + earned - used
        self.bill.carried[line] = left
        figures = {"brought_forward": brought, "earned": earned, "used": used, "settled": Decimal(0)}
        self.credits.append({"line": line, "unit": unit} | figures | {"carried_forward": left})

    def netted(self, line, set_name, drawn, rows):
        """What is billed of the kWh of a line after the credit of its band."""
        if self.net.get("credit") != "kWh" or set_name not in self.net.get("on", [set_name]):
            return drawn
        brought = self.brought(line)
        earned = self.quantity(math.fsum(max(-row["kwh"], 0.0) for row in rows))
        used = min(drawn, brought + earned)
        self.carry(line, "kWh", brought, earned, used)
        return drawn - used

    def money(self):
        if self.net.get("credit") != "money":
            return
        brought = self.brought("credit")
        earned = -sum((line["amount"] for line in self.out if line["kind"] == "export"), Decimal(0))
        words = self.net.get("on", [])
        base = self.chosen(words) + (earned if not words or "all" in words else Decimal(0))
        least = self.amount(self.shared(Decimal(str(self.table.get("minimum_per_month", 0)))))
        everything = sum((line["amount"] for line in self.out if line["kind"] != "export"), Decimal(0))
        used = min(brought + earned, max(base, Decimal(0)), max(everything - least, Decimal(0)))
        currency = self.bill.currency or "currency"
        self.carry("credit", currency, brought, earned, used)
        more = earned - used
        if more:
            name, rate = ("credit carried forward", 1) if more > 0 else ("credit brought forward", -1)
            self.add("export", name, abs(more), currency, Decimal(rate))

    def settles(self):
        """Is this the end of a period that reaches the day on which credits end?"""
        first, following, _, _ = self.bill.all_periods[self.at]
        if self.end != following or "settled_on" not in self.net:
            return False
        days = (date_of(f"{year}-{self.net['settled_on']}") for year in (first.year, following.year))
        return any(first < day <= following for day in days)

    def settle(self):
        carried = self.bill.carried or {}
        if self.net["credit"] == "money":
            left, unit = sum(carried.values(), Decimal(0)), self.bill.currency or "currency"
        else:
            # Each price of energy has the same export as a credit; the first is paid for.
            sets = [name for name in ["energy", *(one["set"] for one in self.table.get("energy_sets", []))]]
            first = next(name for name in sets if name in self.net.get("on", [name]))
            own = (left for line, left in carried.items() if line.split(" ")[0] == first)
            left, unit = sum(own, Decimal(0)), "kWh"
        if left and (rate := self.net.get("settlement_rate")):
            self.add("export", "credit paid out", left, unit, -Decimal(str(rate)))
        self.bill.carried = dict.fromkeys(carried, Decimal(0))

    # ---- demand --------------------------------------------------------------------------------

    def demand(self, charge):
        bill, at = self.bill, self.at

        def measured(which):
            value = bill.demand_of(charge, which)
            return None if value is None else self.quantity(value * self.loss_kw)

        over = charge.get("over_months", 1)
        own = [value for which in range(max(at - over + 1, 0), at + 1) if (value := measured(which)) is not None]
        season = months_of(str(charge.get("ratchet_season", "1-12")))
        reach = range(max(at - charge.get("ratchet_months", 0), 0), at)
        earlier = [measured(which) for which in reach if bill.all_periods[which][0].month in season]
        earlier = [value for value in earlier if value is not None]
        known = [max(own)] if own else []
        if earlier:
            known.append(self.quantity(max(earlier) * Decimal(str(charge.get("ratchet_share", 0)))))
        if not known:
            return None
        value = max(known)
        if "contracted" in charge:
            contracted = Decimal(str(charge["contracted"]))
            lower = self.quantity(contracted * Decimal(str(charge.get("contracted_lower_share", 0))))
            if value < lower:
                value = lower
            elif "contracted_upper_share" in charge:
                upper = self.quantity(contracted * Decimal(str(charge["contracted_upper_share"])))
                if value > upper:
                    value += self.quantity((value - upper) * Decimal(str(charge.get("excess_factor", 0))))
        return max(value, Decimal(str(charge.get("at_least", 0))))

    def capacity(self):
        table = self.table.get("capacity")
        if table is None:
            return
        changes = sorted((date_of(one["from"]), Decimal(str(one["kva"]))) for one in table.get("changes", []))
        begins = [self.begin] + [day for day, _ in changes if self.begin < day < self.end]
        first, following = self.bill.all_periods[self.at][:2]
        by_day = {}
        for block in self.bill.blocks:
            day = block["clock"].date()
            if first <= day < following and not math.isnan(block["kva"]):
                by_day[day] = max(by_day.get(day, 0.0), block["kva"])
        daily = "rate_per_kva_day" in table
        for begin, end in zip(begins, begins[1:] + [self.end]):
            run = Decimal((end - begin).days)
            kva = next((kva for day, kva in reversed(changes) if day <= begin), Decimal(str(table["kva"])))
            place = {"from": begin.isoformat(), "to": end.isoformat()}

            def put(name, value, rate):
                if daily:
                    self.add("capacity", name, value * run, "kVA·days", rate, **place)
                    return
                part = self.part_of_month()
                due = value * rate * run / self.days
                due = due if part is None else due * part[0] / part[1]
                more = place if part is None else place | {"share": {"days": part[0], "of": part[1]}}
                self.add("capacity", name, value, "kVA", rate, self.amount(due), **more)

            put("capacity", kva, Decimal(str(table["rate_per_kva_day" if daily else "rate_per_kva_month"])))
            rate = table.get("excess_rate_per_kva_day", table.get("excess_rate_per_kva_month"))
            if rate is None or not by_day:
                continue
            rate = Decimal(str(rate))
            if table.get("excess_by", "month") == "day":
                own = (self.quantity(value) - kva for day, value in by_day.items() if begin <= day < end)
                beyond = sum((max(value, Decimal(0)) for value in own), Decimal(0))
                if beyond:
                    self.add("capacity", "excess capacity", beyond, "kVA·days", rate, **place)
            elif (beyond := self.quantity(max(by_day.values())) - kva) > 0:
                put("excess capacity", beyond, rate)

    # ---- energy --------------------------------------------------------------------------------

    def prices(self, table, keys, name):
        bands, blocks, series = (table.get(key) for key in keys)
        if not (bands or blocks or series):
            return None
        holidays = {date_of(text) for text in table["holidays"]} if "holidays" in table else self.bill.site.holidays
        critical = {date_of(text) for text in self.table.get("critical_days", [])}
        if file := self.table.get("critical_days_file"):
            with (self.bill.folder / file).open(newline="") as rows:
                critical |= {date_of(row["date"]) for row in csv.DictReader(rows)}
        zone = self.bill.zone
        return Prices(name, bands or [], blocks or [], series, holidays, critical, self.bill.folder, zone)

    def energy(self):
        if self.kvah and not self.notes_lagging:
            return
        own = [self.prices(self.table, ("energy", "energy_blocks", "energy_prices"), "energy")]
        for table in self.table.get("energy_sets", []):
            own.append(self.prices(table, ("bands", "blocks", "prices"), table["set"]))
        unit = "kVAh" if self.kvah else "kWh"
        for prices in filter(None, own):
            self.priced(prices, "energy", unit, 1, [(row, self.drawn(row)) for row in self.quarters])

    def drawn(self, row):
        kwh = max(row["kwh"], 0.0)
        if self.kvah and row["lagging"] is not None:
            kwh = math.hypot(kwh, row["lagging"])
        return kwh if self.loss_kwh == 1 else kwh * float(self.loss_kwh)

    def export(self):
        if table := self.table.get("export"):
            prices = self.prices(table, ("bands", "blocks", "prices"), "export")
            used = [(row, max(-row["kwh"], 0.0)) for row in self.quarters]
            self.priced(prices, "export", "kWh", -1, used)

    def priced(self, prices, kind, unit, sign, used):
        if prices.series:
            cost, kwh = Decimal(0), 0.0
            for row, own in used:
                if (price := prices.prices.get(int(row["start_s"]))) is not None:
                    cost, kwh = cost + price * read(own), kwh + own
            kwh = self.quantity(kwh)
            mean = (cost / kwh).quantize(Decimal("0.000001"), rounding=ROUND_HALF_UP) if kwh else Decimal(0)
            name = f"{prices.name} {prices.series.get('called', 'pass-through')}"
            self.add(kind, name, kwh, unit, sign * mean, self.amount(sign * cost))
            return
        if not prices.bands:
            self.in_blocks(prices.name, prices.blocks, kind, unit, sign, used)
            return
        by_band = [[] for _ in prices.bands]
        for row, own in used:
            by_band[prices.band_at(row["clock"])].append((row, own))
        same = [(band["band"], str(band.get("rate_per_kwh")), str(band.get("blocks"))) for band in prices.bands]
        for at, band in enumerate(prices.bands):
            if same.index(same[at]) != at:
                continue
            own = [one for other, of_band in enumerate(by_band) if same[other] == same[at] for one in of_band]
            name = f"{prices.name} {band['band']}"
            if band.get("blocks"):
                self.in_blocks(name, band["blocks"], kind, unit, sign, own)
            else:
                rate = sign * Decimal(str(band["rate_per_kwh"]))
                kwh = self.quantity(math.fsum(kwh for _, kwh in own))
                if kind == "energy":
                    kwh = self.netted(name, prices.name, kwh, [row for row, _ in own])
                self.add(kind, name, kwh, unit, rate)

    def in_blocks(self, name, blocks, kind, unit, sign, used):
        parts = [Decimal(0)] * len(blocks)
        if any("up_to_kwh_per_day" in block for block in blocks):
            days, sums = {}, [0.0] * len(blocks)
            for row, kwh in used:
                days[row["clock"].date()] = days.get(row["clock"].date(), 0.0) + kwh
            for kwh in days.values():
                begin = 0.0
                for at, block in enumerate(blocks):
                    end = max(min(kwh, float(block.get("up_to_kwh_per_day", math.inf))), begin)
                    sums[at] += end - begin
                    begin = end
            parts = [self.quantity(value) for value in sums]
        else:
            kwh, begin = self.quantity(math.fsum(own for _, own in used)), Decimal(0)
            if kind == "energy":
                kwh = self.netted(name, name.split(" ")[0], kwh, [row for row, _ in used])
            for at, block in enumerate(blocks):
                key = next((key for key in ENDS if key in block), None)
                end = kwh
                if key is not None:
                    end = Decimal(str(block[key]))
                    if key == "up_to_hours_of_demand":
                        known = [value for value in self.billed if value is not None]
                        if not known:
                            return
                        end *= known[0]
                    end = end if self.part_of_month() is None else self.quantity(self.shared(end))
                end = max(min(end, kwh), begin)
                parts[at], begin = end - begin, end
        for at, (block, part) in enumerate(zip(blocks, parts), 1):
            if part:
                self.add(kind, f"{name} block {at}", part, unit, sign * Decimal(str(block["rate_per_kwh"])))

    # ---- reactive energy -----------------------------------------------------------------------

    def reactive(self):
        leads = self.bill.leading

        def counted(when=None, direction=None):
            """Active, lagging and leading energy of the quarter-hours of a charge."""
            rows = []
            for row in self.quarters:
                clock, imports = row["clock"], row["kwh"] >= 0
                special = "holidays" if clock.date() in self.bill.site.holidays else None
                if (when and not when.holds(clock, special)) or (direction and imports != (direction == "import")):
                    continue
                active = max(-row["kwh"], 0.0) if direction == "export" else max(row["kwh"], 0.0)
                rows.append((active, row["lagging"], None if leads is None else leads.get(int(row["start_s"]), 0.0)))
            return [list(column) for column in zip(*rows)] or [[], [], []]

        def sums_of(kwh, lagging, leading):
            total = {"kwh": math.fsum(kwh)}
            for name, values in (("lagging", lagging), ("leading", leading)):
                known = [value for value in values if value is not None]
                total[name] = math.fsum(known) if known else None
            return total

        total = everything = sums_of(*counted())
        season = [(self.begin + dt.timedelta(more)).month for more in range(int(self.days))]
        for charge in listed(self.table.get("reactive")):
            flow = charge.get("of", "lagging")
            if everything["lagging" if flow == "net" else flow] is None:
                continue
            if not months_of(str(charge.get("months", "1-12"))).intersection(season):
                continue
            kwh, lagging, leading = counted(When(charge), charge.get("while"))
            total = {name: value or 0.0 for name, value in sums_of(kwh, lagging, leading).items()}
            steps = [{"above_share_of_kwh": charge["free_share_of_kwh"], "rate_per_kvarh": charge["rate_per_kvarh"]}]
            steps += charge.get("steps", [])
            shares = [Decimal(str(step["above_share_of_kwh"])) for step in steps]
            if charge.get("share_of") == "quarter-hour":
                sums = [0.0] * len(steps)
                for active, lag, lead in zip(kwh, lagging, leading):
                    lag, lead = lag or 0.0, lead or 0.0
                    kvarh = {"lagging": lag, "leading": lead, "net": max(lag - lead, 0.0)}[flow]
                    for at, share in enumerate(shares):
                        end = kvarh if at + 1 == len(shares) else min(kvarh, float(shares[at + 1]) * active)
                        sums[at] += max(end - float(share) * active, 0.0)
                parts = [self.quantity(value) for value in sums]
            else:
                if flow == "net":
                    kvarh = max(self.quantity(total["lagging"]) - self.quantity(total["leading"] or 0.0), Decimal(0))
                else:
                    kvarh = self.quantity(total[flow])
                active = self.quantity(total["kwh"])
                ends = [self.quantity(active * share) for share in shares]
                parts = []
                for at, begin in enumerate(ends):
                    end = kvarh if at + 1 == len(ends) else min(kvarh, ends[at + 1])
                    parts.append(max(end - begin, Decimal(0)))
            name = f"reactive {charge['charge']}" if "charge" in charge else "reactive"
            for at, (step, part) in enumerate(zip(steps, parts), 1):
                own = f"{name} step {at}" if len(steps) > 1 else name
                self.add("reactive", own, part, "kvarh", Decimal(str(step["rate_per_kvarh"])))
        charge, total = self.table.get("power_factor"), everything
        if charge and total["lagging"] is not None:
            net = charge.get("reactive") == "net"
            kvarh = self.quantity(total["lagging"] - ((total["leading"] or 0.0) if net else 0.0))
            active = self.quantity(total["kwh"])
            if apparent := math.hypot(active, kvarh):
                points = (Decimal(str(charge["below"])) - read(float(active) / apparent)) * 100
                if points > 0:
                    rate = points * Decimal(str(charge["surcharge_per_kwh_per_pct"]))
                    self.add("reactive", "power factor", active, "kWh", rate)

    # ---- levies and taxes ----------------------------------------------------------------------

    def chosen(self, words):
        def holds(line):
            if not words:
                return line["kind"] != "taxes"
            return any(
                word == "all"
                or (word in KINDS and line["kind"] == word)
                or (word not in KINDS and (line["line"] == word or line["line"].startswith(word + " ")))
                for word in words
            )

        return sum((line["amount"] for line in self.out if holds(line)), Decimal(0))

    def percentage(self, kind, name, base, pct):
        self.add(kind, name, base, self.bill.currency or "currency", pct, self.amount(base * pct / 100))

    def levies(self):
        for levy in self.table.get("levies", []):
            rate, free = Decimal(str(levy["rate"])), Decimal(str(levy.get("free", 0)))
            due, name = self.shared(free), levy["levy"]
            match levy["per"]:
                case "kWh":
                    kwh = self.quantity(math.fsum(self.drawn(row) for row in self.quarters))
                    unit = "kVAh" if self.kvah else "kWh"
                    self.add("levies", name, max(kwh - due, Decimal(0)), unit, rate)
                case "demand":
                    if self.billed and self.billed[0] is not None:
                        per = listed(self.table["demand"])[0]["per"]
                        self.add("levies", name, max(self.billed[0] - free, Decimal(0)), per, rate, monthly=True)
                case "day":
                    self.add("levies", name, self.days, "days", rate)
                case "month":
                    self.add("levies", name, Decimal(1), "months", rate, monthly=True)
                case "%":
                    self.percentage("levies", name, max(self.chosen(levy.get("on", [])) - due, Decimal(0)), rate)

    def taxes(self):
        taxes = list(self.table.get("taxes", []))
        if "tax_pct" in self.table:
            taxes.append({"tax": "tax", "pct": self.table["tax_pct"]})
        for tax in taxes:
            base = self.chosen(tax.get("on", []))
            if free := self.shared(Decimal(str(tax.get("free", 0)))):
                base = max(base - free, Decimal(0))
            self.percentage("taxes", tax["tax"], base, Decimal(str(tax["pct"])))


def listed(value):
    return [] if value is None else value if isinstance(value, list) else [value]


def bill_of(site, metered, file):
    """Months with their lines, by the tariff in a file."""
    toml = tomllib.loads(file.read_text(), parse_float=Decimal)
    meter = metered[site.meter_of("supply")]
    currency = site.toml["site"].get("currency")
    return Clauses(site, meter, toml["tariff"], toml.get("billing", {}), file.parent, currency).months()


def differences(found, expected):
    """Every value of every line that is not the same to the last digit; how many were compared."""
    compared, differing = 0, []

    def same(path, a, b):
        nonlocal compared
        compared += 1
        equal = abs(float(a) - float(b)) < 1e-9 if isinstance(b, Decimal) else a == b
        if not equal:
            differing.append(f"{path}: {a} is not {b}")

    same("months", len(found), len(expected))
    for own, month in zip(found, expected):
        for key in ("month", "from", "to", "total"):
            same(f"{month['month']} {key}", own[key], month[key])
        credits = own.get("credits", [])
        same(f"{month['month']} credits", len(credits), len(month["credits"]))
        for a, b in zip(credits, month["credits"]):
            for key, value in b.items():
                same(f"{month['month']} credit of {b['line']} {key}", a.get(key), value)
        names = [line["line"] for line in own["lines"]]
        same(f"{month['month']} lines", names, [line["line"] for line in month["lines"]])
        for a, b in zip(own["lines"], month["lines"]):
            for key, value in b.items():
                same(f"{month['month']} {b['line']} {key}", a.get(key), value)
    return compared, differing
