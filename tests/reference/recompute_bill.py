"""The bill of the supply's meter in decimals: each month line by line, and what one kW less is worth."""

import copy
import datetime as dt
import math
import tomllib
from decimal import ROUND_HALF_UP, Decimal

import numpy as np

import local_time
from metered import rank
from site_files import days_of, minute_of

WHOLE = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND VUV XAF XOF XPF".split()
THOUSANDTHS = "BHD IQD JOD KWD LYD OMR TND".split()


def rounded(value, places):
    """Halves away from zero."""
    return value.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)


def read(value):
    """A measured number to six places, so that noise of binary sums decides no half."""
    return Decimal(f"{value:.6f}")


def quantity(value):
    return rounded(read(value), 3)


def months_of(text):
    found = set()
    for part in text.split(","):
        first, _, last = part.partition("-")
        first, last = int(first), int(last or first)
        found |= {(first - 1 + step) % 12 + 1 for step in range((last - first) % 12 + 1)}
    return found


class Band:
    def __init__(self, table):
        self.name, self.rate = table["band"], Decimal(str(table["rate_per_kwh"]))
        self.otherwise = table.get("otherwise", False)
        words = [word.strip().lower() for word in table.get("days", "daily").split(",")]
        self.on_holidays = "holidays" in words or words == ["daily"]
        self.names_holidays = "holidays" in words
        week = [word for word in words if word != "holidays"]
        self.days = days_of(",".join(week)) if week else set()
        self.months = months_of(table.get("months", "1-12"))
        self.begin, self.end = minute_of(table.get("from", "00:00")), minute_of(table.get("to", "24:00"))

    def holds(self, clock, holiday):
        minute = 60 * clock.hour + clock.minute
        day = self.on_holidays if holiday else clock.weekday() in self.days
        within = self.begin <= minute < self.end if self.begin < self.end else minute >= self.begin or minute < self.end
        return day and within and clock.month in self.months


class Tariff:
    def __init__(self, table):
        self.begin = dt.date.fromisoformat(table["from"])
        self.table = table
        self.bands = [Band(band) for band in table.get("energy", [])]
        self.holidays_apart = any(band.names_holidays for band in self.bands)

    def get(self, name):
        value = self.table.get(name)
        return value if isinstance(value, dict) or value is None else Decimal(str(value))

    def band_at(self, clock, holidays):
        holiday = self.holidays_apart and clock.date() in holidays
        named = [index for index, band in enumerate(self.bands) if not band.otherwise and band.holds(clock, holiday)]
        rest = [index for index, band in enumerate(self.bands) if band.otherwise]
        (found,) = named or rest
        return found


class Stretch:
    """Days of a month under one tariff."""

    def __init__(self, tariff, begin, end, share):
        self.tariff, self.begin, self.end, self.share = tariff, begin, end, share
        self.band_kwh, self.kwh, self.lagging = [0.0] * len(tariff.bands), 0.0, None


class Month:
    def __init__(self, first, begin, end, tariffs):
        self.first, self.next = first, (first.replace(day=28) + dt.timedelta(4)).replace(day=1)
        self.begin, self.end = max(begin, first), min(end, self.next)
        self.covered_s, self.peaks, self.blocks = 0.0, {"kw": None, "kva": None}, []
        self.stretches = []
        for tariff, later in zip(tariffs, tariffs[1:] + [None]):
            holds = max(tariff.begin, first)
            ends = self.next if later is None else min(later.begin, self.next)
            if (days := (ends - holds).days) <= 0:
                continue
            of = (self.next - first).days
            begin_here, end_here = max(holds, self.begin), min(ends, self.end)
            if begin_here < end_here:
                self.stretches.append(Stretch(tariff, begin_here, end_here, (days, of) if days < of else None))


def demand_at(block, per):
    return block["kw"] if per == "kW" else block["kva"]


class Biller:
    def __init__(self, site, meter, more_kw=0.0, more_kvar=0.0):
        """With a load that draws this beside what the meter saw."""
        self.site, self.meter = site, meter
        self.quarters, self.blocks = meter.quarters.copy(), meter.blocks.copy()
        self.quarters["kwh"] += more_kw * self.quarters.covered_s / 3600
        self.quarters["lagging"] += more_kvar * self.quarters.covered_s / 3600
        self.blocks["kva"] = np.hypot(self.blocks.kw + more_kw, self.blocks.kvar + more_kvar)
        self.blocks["kw"] += more_kw
        text = (site.folder / "site.toml").read_text()
        toml = tomllib.loads(text, parse_float=Decimal)
        self.tariffs = sorted((Tariff(table) for table in toml.get("tariff", [])), key=lambda tariff: tariff.begin)
        self.currency = toml["site"].get("currency")
        self.places = 0 if self.currency in WHOLE else 3 if self.currency in THOUSANDTHS else 2
        self.months = self.calendar()
        self.fill()

    def calendar(self):
        zone, log = self.site.zone, self.meter.log
        begin = local_time.local(zone, log.from_s).date()
        end = local_time.local(zone, log.to_s - 1).date() + dt.timedelta(1)
        first, months = begin.replace(day=1), []
        while first < end:
            months.append(Month(first, begin, end, self.tariffs))
            first = months[-1].next
        return months

    def fill(self):
        of = {month.first: month for month in self.months}
        frame = self.quarters
        clocks = local_time.calendar(self.site, frame.start_s).local.dt.to_pydatetime()
        logs_reactive = self.meter.lagging() is not None
        for clock, kwh, covered_s, lagging in zip(clocks, frame.kwh, frame.covered_s, frame.lagging):
            month = of[clock.date().replace(day=1)]
            month.covered_s += covered_s
            for stretch in month.stretches:
                if stretch.begin <= clock.date() < stretch.end:
                    kwh = max(kwh, 0.0)
                    stretch.kwh += kwh
                    if stretch.tariff.bands:
                        stretch.band_kwh[stretch.tariff.band_at(clock, self.site.holidays)] += kwh
                    if logs_reactive:
                        stretch.lagging = (stretch.lagging or 0.0) + lagging
        for block in self.blocks.to_dict("records"):
            month = of[local_time.local(self.site.zone, block["start_s"]).date().replace(day=1)]
            month.blocks.append(block)
            for unit, best in month.peaks.items():
                if block[unit] >= 0 and (best is None or rank(block[unit]) > rank(best[unit])):
                    month.peaks[unit] = block

    # ---- lines ---------------------------------------------------------------------------------

    def lines(self, at):
        return [line for stretch in self.months[at].stretches for line in self.sheet(stretch, at)]

    def sheet(self, stretch, at):
        tariff, lines = stretch.tariff, []
        days = Decimal((stretch.end - stretch.begin).days)

        def add(name, amount_of, unit, rate, **more):
            lines.append(
                {
                    "line": name,
                    "from": stretch.begin.isoformat(),
                    "to": stretch.end.isoformat(),
                    "quantity": amount_of,
                    "unit": unit,
                    "rate": rate,
                    "amount": rounded(amount_of * rate, self.places),
                }
                | more
            )

        if (rate := tariff.get("standing_per_day")) is not None:
            add("standing", days, "days", rate)
        for name, kwh, rate in self.energies(stretch):
            add(name, kwh, "kWh", rate)
        if (demand := tariff.get("demand")) is not None:
            billed = self.billed(demand, at)
            if billed is not None:
                rate = Decimal(str(demand["rate_per_month"]))
                add("demand", billed, demand["per"], rate)
                if stretch.share:
                    of, whole = stretch.share
                    lines[-1] |= {
                        "amount": rounded(billed * rate * of / whole, self.places),
                        "share": {"days": of, "of": whole},
                    }
        if (capacity := tariff.get("capacity")) is not None:
            add(
                "capacity", Decimal(str(capacity["kva"])) * days, "kVA·days", Decimal(str(capacity["rate_per_kva_day"]))
            )
        if stretch.lagging is not None:
            self.reactive(stretch, add)
        if (tax := tariff.get("tax_pct")) is not None:
            taxed = sum((line["amount"] for line in lines), Decimal(0))
            add("tax", taxed, self.currency or "currency", tax)
            lines[-1]["amount"] = rounded(taxed * tax / 100, self.places)
        return lines

    def energies(self, stretch):
        bands = stretch.tariff.bands
        for index, band in enumerate(bands):
            same = [other for other, it in enumerate(bands) if (it.name, it.rate) == (band.name, band.rate)]
            if same[0] == index:
                yield f"energy {band.name}", quantity(sum(stretch.band_kwh[other] for other in same)), band.rate
        begin, kwh = Decimal(0), quantity(stretch.kwh)
        for number, block in enumerate(stretch.tariff.table.get("energy_blocks", []), 1):
            end = block.get("up_to_kwh_per_month")
            end = kwh if end is None else Decimal(str(end))
            if stretch.share and block.get("up_to_kwh_per_month") is not None:
                end = rounded(end * stretch.share[0] / stretch.share[1], 3)
            if min(end, kwh) > begin:
                yield f"energy block {number}", min(end, kwh) - begin, Decimal(str(block["rate_per_kwh"]))
                begin = min(end, kwh)

    def billed(self, demand, at):
        unit = demand["per"].lower()

        def peak(month):
            best = month.peaks[unit]
            return None if best is None else best[unit]

        own = peak(self.months[at])
        own = None if own is None else quantity(own)
        earlier = [peak(month) for month in self.months[max(at - demand.get("ratchet_months", 0), 0) : at]]
        earlier = [kw for kw in earlier if kw is not None]
        least = rounded(quantity(max(earlier)) * Decimal(str(demand.get("ratchet_share", 0))), 3) if earlier else None
        known = [kw for kw in (own, least) if kw is not None]
        return max(known) if known else None

    def reactive(self, stretch, add):
        tariff, kwh, lagging = stretch.tariff, quantity(stretch.kwh), quantity(stretch.lagging)
        if (charge := tariff.get("reactive")) is not None:
            free = min(rounded(kwh * Decimal(str(charge["free_share_of_kwh"])), 3), lagging)
            add("reactive", lagging - free, "kvarh", Decimal(str(charge["rate_per_kvarh"])))
        if (charge := tariff.get("power_factor")) is not None and math.hypot(kwh, lagging):
            factor = read(float(kwh) / math.hypot(kwh, lagging))
            points = (Decimal(str(charge["below"])) - factor) * 100
            if points > 0:
                add("power factor", kwh, "kWh", points * Decimal(str(charge["surcharge_per_kwh_per_pct"])))

    # ---- energy by its lines -------------------------------------------------------------------

    def line_at(self, clock):
        """The energy line of a moment: month, stretch, and the first band of its name and price, or all energy."""
        for at, month in enumerate(self.months):
            for number, stretch in enumerate(month.stretches):
                if stretch.begin <= clock.date() < stretch.end:
                    bands = stretch.tariff.bands
                    if not bands:
                        return (at, number, None) if "energy_blocks" in stretch.tariff.table else None
                    band = bands[stretch.tariff.band_at(clock, self.site.holidays)]
                    return at, number, [(one.name, one.rate) for one in bands].index((band.name, band.rate))
        return None

    def energy_amounts(self, is_billed):
        """Amount of each energy line; None where a price by the amount of a month is not this meter's own."""
        amounts = {}
        for at, month in enumerate(self.months):
            for number, stretch in enumerate(month.stretches):
                lines = [rounded(kwh * rate, self.places) for _, kwh, rate in self.energies(stretch)]
                bands = [(band.name, band.rate) for band in stretch.tariff.bands]
                if not bands:
                    if not is_billed and "energy_blocks" in stretch.tariff.table:
                        return None
                    amounts[at, number, None] = sum(lines, Decimal(0))
                for head, amount in zip(sorted({bands.index(band) for band in bands}), lines):
                    amounts[at, number, head] = amount
        return amounts

    # ---- the whole -----------------------------------------------------------------------------

    def total(self):
        return sum((line["amount"] for at in range(len(self.months)) for line in self.lines(at)), Decimal(0))

    def marginal_kilowatt(self, at):
        """All blocks of the month above the peak with one kW less, its reactive power as it is, must come down."""
        month = self.months[at]
        demand = month.stretches[-1].tariff.get("demand") if month.stretches else None
        if demand is None or (peak := month.peaks[demand["per"].lower()]) is None:
            return None

        def lowered(block):
            kw = max(block["kw"] - 1, 0.0)
            kvar = math.sqrt(max(block["kva"] ** 2 - block["kw"] ** 2, 0)) if not np.isnan(block["kva"]) else np.nan
            return block | {"kw": kw, "kva": math.hypot(kw, kvar)}

        least, before, known = demand_at(lowered(peak), demand["per"]), self.total(), dict(month.peaks)
        month.peaks = {unit: block and lowered(block) for unit, block in known.items()}
        saving, month.peaks = before - self.total(), known
        return {
            "at": local_time.stamp(self.site.zone, peak["start_s"]),
            "saving": saving,
            "blocks": sum(demand_at(block, demand["per"]) > least for block in month.blocks),
        }

    def bill(self):
        months = []
        for at, month in enumerate(self.months):
            lines = self.lines(at)
            whole_s = local_time.midnight(self.site.zone, month.next) - local_time.midnight(self.site.zone, month.first)
            months.append(
                {
                    "month": f"{month.first:%Y-%m}",
                    "from": month.begin.isoformat(),
                    "to": month.end.isoformat(),
                    "complete": month.covered_s > whole_s - 0.5,
                    "covered_pct": 100 * month.covered_s / whole_s,
                    "lines": lines,
                    "total": sum((line["amount"] for line in lines), Decimal(0)),
                    "marginal_kilowatt": self.marginal_kilowatt(at),
                }
            )
        return {
            "currency": self.currency,
            "meter": self.meter.id,
            "months": months,
            "total": sum((month["total"] for month in months), Decimal(0)),
        }


KINDS = {"standing": "standing", "capacity": "standing", "demand": "demand", "tax": "tax"}
KINDS |= {"reactive": "reactive", "power factor": "reactive"}


def by_day(site, metered):
    """The bill, had the log ended with each day: the day's month filled anew, the months before as they ended."""
    meter = site.meter_of("supply")
    if meter is None or not site.toml.get("tariff"):
        return []
    whole, days = Biller(site, metered[meter]), []
    clocks = local_time.calendar(site, whole.quarters.start_s).local.dt.date
    dates = whole.blocks.start_s.map(lambda at: local_time.local(site.zone, at).date())
    for at, month in enumerate(whole.months):
        own, own_blocks = clocks >= month.begin, dates >= month.begin
        for number in range((month.end - month.begin).days):
            date = month.begin + dt.timedelta(number)
            cut = copy.copy(whole)
            cut.quarters, cut.blocks = whole.quarters[own & (clocks <= date)], whole.blocks[own_blocks & (dates <= date)]
            cut.months = whole.months[:at] + [
                Month(month.first, month.begin, date + dt.timedelta(1), whole.tariffs)
            ]
            cut.fill()
            days.append({"date": date.isoformat()} | sums_of(cut))
    return days


def sums_of(biller):
    sums = dict.fromkeys(["standing", "energy", "demand", "reactive", "tax"], Decimal(0))
    for at in range(len(biller.months)):
        for line in biller.lines(at):
            sums[KINDS.get(line["line"], "energy")] += line["amount"]
    return sums | {"total": sum(sums.values())}


def bill(site, metered):
    meter = site.meter_of("supply")
    if meter is None or not site.toml.get("tariff"):
        return None
    return Biller(site, metered[meter]).bill()
