"""A meter's days beside their baseline (ordinary least squares of numpy, Student's t of scipy), and those that stand out."""

import csv
import datetime as dt

import numpy as np
from scipy import stats

import local_time

KINDS = ("working-day", "saturday", "sunday-or-holiday")
KIND_NAMES = ("working day", "Saturday", "Sunday or holiday")
# Calibration by monthly and by hourly data: CV(RMSE) and NMBE in per cent (ASHRAE Guideline 14-2014).
LIMITS = (("monthly", 15, 5), ("hourly", 30, 10))
# So many periods more than coefficients are needed.
SPARE_PERIODS = 5
MOST_CORRELATION = 0.9
MEDIAN_TO_DEVIATION = 1 / stats.norm.ppf(0.75)
STANDS_OUT, FEWEST_DAYS = 3.5, 5


def change(site, metered, asked=None):
    """`asked`: begin, end and unit of a baseline beside what the site declares."""
    table = site.toml.get("baseline", {})
    with_days = [one for one in metered.values() if len(one.quarters)]
    wanted = table.get("meter", site.meter_of("supply"))
    chosen = [one for one in with_days if wanted in (None, one.id)]
    if not chosen:
        return {}
    meter, found, model = chosen[0], {}, None
    begin, end, by = asked or (table.get("from"), table.get("to"), None)
    if begin and end:
        goes_by = table.get("goes_by")
        variables = [
            Variable(site, one) for one in site.toml.get("variable", []) if goes_by is None or one["name"] in goes_by
        ]
        model = Baseline(
            site,
            meter,
            (dt.date.fromisoformat(str(begin)), dt.date.fromisoformat(str(end))),
            by or table.get("by", "day"),
            variables,
            goes_by is None or "day type" in goes_by,
        )
        if model.is_known:
            found["baseline"] = model.answer()
        else:
            model = None
    below = meter.nearest_below(metered)
    found["unusual_days"] = StandingOut(site, meter, below, model).answer()
    return found


def kind_of(site, date):
    if date in site.holidays or date.weekday() == 6:
        return 2
    return 1 if date.weekday() == 5 else 0


def length_s(site, date):
    return local_time.midnight(site.zone, date + dt.timedelta(1)) - local_time.midnight(site.zone, date)


def whole_days(site, meter):
    """Energy of the local days that have all their readings, and the first and last day with any."""
    dates = local_time.calendar(site, meter.quarters.start_s).date
    sums = meter.quarters.groupby(dates.to_numpy())[["kwh", "covered_s"]].sum()
    whole = {
        date: row.kwh for date, row in sums.iterrows() if abs(row.covered_s - length_s(site, date)) < 0.5
    }
    return whole, min(sums.index), max(sums.index)


class Variable:
    """A value for each day of a series of the user's own, by the day."""

    def __init__(self, site, table):
        if table.get("per", "day") != "day":
            raise ValueError(f"{table['name']}: only series by the day are worked out here")
        heating, cooling = table.get("heating_base_c"), table.get("cooling_base_c")
        self.name = table["name"]
        self.unit = table.get("unit") or ("unit" if heating is None and cooling is None else "K·d")
        self.of_day = {}
        with (site.folder / table["file"]).open(newline="", encoding="utf-8-sig") as file:
            for row in csv.DictReader(file):
                if text := row[table["column"]].strip():
                    value = float(text)
                    if heating is not None:
                        value = max(heating - value, 0.0)
                    elif cooling is not None:
                        value = max(value - cooling, 0.0)
                    self.of_day[dt.date.fromisoformat(next(iter(row.values())))] = value


class Period:
    def __init__(self, site, first, after, whole, variables):
        self.first, self.after = first, after
        dates = [first + dt.timedelta(number) for number in range((after - first).days)]
        self.days = len(dates)
        own = [whole.get(date) for date in dates]
        self.kwh = None if None in own else sum(own)
        self.shares = np.bincount([kind_of(site, date) for date in dates], minlength=3) / self.days
        values = [[variable.of_day.get(date) for date in dates] for variable in variables]
        self.variables = [None if None in one else sum(one) / self.days for one in values]


class Baseline:
    def __init__(self, site, meter, span, by, variables, by_kind):
        self.meter, (self.begin, self.end), self.by = meter, span, by
        self.variables, self.by_kind = variables, by_kind
        whole, first, last = whole_days(site, meter)
        self.periods = [Period(site, *dates, whole, variables) for dates in self.calendar(first, last)]
        self.inside = [one for one in self.periods if self.is_inside(one)]
        self.used = [one for one in self.inside if one.kwh is not None and None not in one.variables]
        self.name_columns()
        self.is_known = len(self.used) >= len(self.columns) + SPARE_PERIODS
        if self.is_known:
            self.fit()

    def calendar(self, first, last):
        if self.by == "week":
            first -= dt.timedelta(first.weekday())
        if self.by == "month":
            first = first.replace(day=1)
        while first <= last:
            after = first + dt.timedelta({"day": 1, "week": 7, "month": 32}[self.by])
            after = after.replace(day=1) if self.by == "month" else after
            yield first, after
            first = after

    def is_inside(self, period):
        return self.begin <= period.first and period.after <= self.end

    def name_columns(self):
        self.columns = [("each day", "kWh/d", lambda one: 1.0)]
        self.seen, self.idle = (True,) * 3, None
        if self.by_kind and self.by == "day":
            self.seen = tuple(any(one.shares[kind] for one in self.used) for kind in range(3))
            for kind in [kind for kind in range(3) if self.seen[kind]][1:]:
                self.columns.append((KIND_NAMES[kind], "kWh/d", lambda one, kind=kind: one.shares[kind]))
        elif self.by_kind:
            idle = [1 - one.shares[0] for one in self.used]
            if max(idle) - min(idle) < 1e-9:
                self.idle = idle[0]
            else:
                self.columns.append(("non-working day", "kWh/d", lambda one: 1 - one.shares[0]))
        self.own = len(self.columns)
        for at, variable in enumerate(self.variables):
            self.columns.append((variable.name, f"kWh/{variable.unit}", lambda one, at=at: one.variables[at]))

    def fit(self):
        x = np.array([self.row(one) for one in self.used], dtype=float)
        y = np.array([one.kwh / one.days for one in self.used])
        self.beta = np.linalg.lstsq(x, y, rcond=None)[0]
        self.x, self.y, self.residuals = x, y, y - x @ self.beta
        self.freedom = len(y) - x.shape[1]
        self.deviation = np.sqrt(self.residuals @ self.residuals / self.freedom)
        self.inverse = np.linalg.pinv(x) @ np.linalg.pinv(x).T
        self.quantile = stats.t.ppf(0.975, self.freedom)
        pairs = zip(self.used, self.used[1:], self.residuals, self.residuals[1:])
        products = sum(a * b for one, next_one, a, b in pairs if one.after == next_one.first)
        self.correlation = products / (self.residuals @ self.residuals)

    def row(self, period):
        return [value(period) for _, _, value in self.columns]

    def expected(self, period):
        """Of a period: expected energy and half of its prediction interval. (kWh)"""
        if None in period.variables or any(share and not seen for share, seen in zip(period.shares, self.seen)):
            return None, None
        row = np.array(self.row(period))
        half = self.quantile * self.deviation * np.sqrt(1 + row @ self.inverse @ row)
        return row @ self.beta * period.days, half * period.days

    def outside(self, period):
        """Variables beyond what the baseline has seen."""
        row, names = self.row(period), []
        for at in range(self.own, len(self.columns)):
            low, high = self.x[:, at].min(), self.x[:, at].max()
            slack = 1e-9 * max(abs(low), abs(high))
            if not low - slack <= row[at] <= high + slack:
                names.append(self.columns[at][0])
        if self.idle is not None and abs(self.idle - (1 - period.shares[0])) > 1e-9:
            names.append("non-working day")
        return names

    def answer(self):
        errors = self.deviation * np.sqrt(np.diag(self.inverse))
        mean = self.y.mean()
        cv = 100 * np.sqrt(self.residuals @ self.residuals / self.freedom) / mean
        nmbe = 100 * self.residuals.sum() / self.freedom / mean
        return self.index() | {
            "meter": self.meter.id,
            "by": self.by,
            "from": self.begin.isoformat(),
            "to": self.end.isoformat(),
            "n": len(self.y),
            "left_out": len(self.inside) - len(self.y),
            "degrees_of_freedom": self.freedom,
            "terms": [
                {
                    "term": name,
                    "unit": unit,
                    "coefficient": beta,
                    "standard_error": error,
                    "low_95": beta - self.quantile * error,
                    "high_95": beta + self.quantile * error,
                }
                for (name, unit, _), beta, error in zip(self.columns, self.beta, errors)
            ],
            "r_squared": 1 - self.residuals @ self.residuals / ((self.y - mean) @ (self.y - mean)),
            "residual_kwh": self.deviation,
            "cv_rmse_pct": cv,
            "nmbe_pct": nmbe,
            "limits": [
                {
                    "guideline": "ASHRAE Guideline 14-2014",
                    "data": data,
                    "cv_rmse_limit_pct": most_cv,
                    "nmbe_limit_pct": most_nmbe,
                    "within": bool(cv <= most_cv and abs(nmbe) <= most_nmbe),
                }
                for data, most_cv, most_nmbe in LIMITS[: 1 if self.by == "month" else 2]
            ],
            "autocorrelation": self.correlation,
            "periods": self.beside(),
            "since": self.since(),
        }

    def index(self):
        """All energy over the sum of the variable, where there is one alone."""
        if len(self.variables) != 1:
            return {}

        def over(periods):
            units = sum(one.variables[0] * one.days for one in periods)
            return sum(one.kwh for one in periods) / units if units > 0 else None

        after = [one for one in self.periods if one.first >= self.end and None not in (one.kwh, self.expected(one)[0])]
        variable = self.variables[0]
        return {
            "energy_index": {
                "variable": variable.name,
                "unit": f"kWh/{variable.unit}",
                "baseline_kwh_per_unit": over(self.used),
                "since_kwh_per_unit": over(after),
            }
        }

    def key(self, first):
        if self.by == "week":
            week = first.isocalendar()
            return f"{week.year}-W{week.week:02}"
        return f"{first:%Y-%m}" if self.by == "month" else first.isoformat()

    def beside(self):
        rows, sums = [], {True: 0.0, False: 0.0}
        for period in self.periods:
            kwh, half = self.expected(period)
            inside = self.is_inside(period)
            difference = None if None in (kwh, period.kwh) else period.kwh - kwh
            cumulative = None
            if difference is not None and (inside or period.first >= self.end):
                sums[inside] += difference
                cumulative = sums[inside]
            rows.append(
                {
                    "key": self.key(period.first),
                    "from": period.first.isoformat(),
                    "to": period.after.isoformat(),
                    "in_baseline": inside,
                    "energy_kwh": period.kwh,
                    "expected_kwh": kwh,
                    "low_95_kwh": None if kwh is None else kwh - half,
                    "high_95_kwh": None if kwh is None else kwh + half,
                    "difference_kwh": difference,
                    "cumulative_kwh": cumulative,
                    "extrapolated": [] if kwh is None else self.outside(period),
                }
                | ({"day_type": KINDS[int(period.shares.argmax())]} if self.by == "day" else {})
            )
        return rows

    def since(self):
        after = [one for one in self.periods if one.first >= self.end]
        pairs = [(one, self.expected(one)[0]) for one in after]
        pairs = [(one, kwh) for one, kwh in pairs if None not in (kwh, one.kwh)]
        if not pairs:
            return None
        energy, expected = sum(one.kwh for one, _ in pairs), sum(kwh for _, kwh in pairs)
        days = np.array([one.days for one, _ in pairs])
        row = days @ np.array([self.row(one) for one, _ in pairs])
        together = min(max(self.correlation, 0), MOST_CORRELATION)
        variance = (1 + together) / (1 - together) * (days @ days + row @ self.inverse @ row)
        half = self.quantile * self.deviation * np.sqrt(variance)
        difference = energy - expected
        return {
            "periods": len(pairs),
            "left_out": len(after) - len(pairs),
            "energy_kwh": energy,
            "expected_kwh": expected,
            "difference_kwh": difference,
            "difference_pct": 100 * difference / expected if expected > 0 else None,
            "low_95_kwh": difference - half,
            "high_95_kwh": difference + half,
        }


class StandingOut:
    def __init__(self, site, meter, below, baseline):
        self.site, self.meter = site, meter
        self.days, _, _ = whole_days(site, meter)
        self.below = {one.id: whole_days(site, one)[0] for one in below}
        self.expected = None
        if baseline is not None and baseline.by == "day":
            self.expected = {one.first: baseline.expected(one)[0] for one in baseline.periods}
        self.hours, self.phases = self.by_hour(), self.by_phase()

    def by_hour(self):
        when = local_time.calendar(self.site, self.meter.quarters.start_s)
        sums = {date: np.zeros(24) for date in self.days}
        for date, hour, kwh in zip(when.date, when.hour, self.meter.quarters.kwh):
            if date in sums:
                sums[date][hour] += kwh
        return sums

    def by_phase(self):
        log = self.meter.log
        phases = log.phases("active_power", "kw")
        if phases is None:
            return {}
        dates = local_time.calendar(self.site, log.starts).date.to_numpy()
        sums = {date: np.zeros(3) for date in self.days}
        for date, *kw in zip(dates, *phases):
            if date in sums:
                sums[date] += np.nan_to_num(kw) * log.hours
        return sums

    def answer(self):
        found = []
        for kind in range(3):
            dates = [date for date in sorted(self.days) if kind_of(self.site, date) == kind]
            if self.expected is not None:
                dates = [date for date in dates if self.expected.get(date) is not None]
            if len(dates) < FEWEST_DAYS:
                continue
            kwh = np.array([self.days[date] for date in dates])
            usual = np.median(kwh) if self.expected is None else np.array([self.expected[date] for date in dates])
            differences = kwh - usual
            from_middle = differences - np.median(differences)
            spread = MEDIAN_TO_DEVIATION * np.median(np.abs(from_middle))
            if not spread > 0:
                continue
            for date, own, difference, score in zip(dates, kwh, differences, from_middle / spread):
                if abs(score) > STANDS_OUT:
                    found.append(self.one(date, kind, own, difference, score))
        return sorted(found, key=lambda one: (-abs(one["score"]), one["date"]))

    def one(self, date, kind, kwh, difference, score):
        others = [other for other in self.days if other != date and kind_of(self.site, other) == kind]
        sign = 1 if score > 0 else -1
        return {
            "meter": self.meter.id,
            "date": date.isoformat(),
            "day_type": KINDS[kind],
            "energy_kwh": kwh,
            "expected_kwh": kwh - difference,
            "difference_kwh": difference,
            "score": score,
            "hours": self.stretch(date, others, sign),
            "part": self.part(date, others, sign),
            "phase": self.phase(date, others, sign),
        }

    def stretch(self, date, others, sign):
        """Of all stretches of hours the one that differs most; the earliest and shortest of equal ones."""
        beyond = sign * (self.hours[date] - np.median([self.hours[other] for other in others], axis=0))
        sums = {(a, b): beyond[a:b].sum() for a in range(24) for b in range(a + 1, 25)}
        (begin, end), most = max(sums.items(), key=lambda one: one[1])
        return {"from_hour": begin, "to_hour": end, "difference_kwh": sign * most} if most > 0 else None

    def part(self, date, others, sign):
        differences = {}
        for name, days in self.below.items():
            usual = [days[other] for other in others if other in days]
            if date in days and usual:
                differences[name] = days[date] - np.median(usual)

        def beyond(day):
            if all(day in days for days in self.below.values()):
                return self.days[day] - sum(days[day] for days in self.below.values())
            return None

        if self.below and (own := beyond(date)) is not None:
            usual = [rest for other in others if (rest := beyond(other)) is not None]
            if usual:
                differences["unmetered"] = own - np.median(usual)
        return largest(differences, sign)

    def phase(self, date, others, sign):
        if not self.phases:
            return None
        usual = np.median([self.phases[other] for other in others], axis=0)
        return largest({f"L{at + 1}": one for at, one in enumerate(self.phases[date] - usual)}, sign)


def largest(differences, sign):
    if not differences:
        return None
    name, most = max(differences.items(), key=lambda one: sign * one[1])
    return {"name": name, "difference_kwh": most} if sign * most > 0 else None
