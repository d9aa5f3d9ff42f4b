"""The sites that are recomputed: the demo, public logs where they are there, and variants made of them."""

import csv
import datetime as dt
import gzip
import math
import shutil
from dataclasses import dataclass, field
from pathlib import Path

HERE = Path(__file__).resolve().parent
DEMO = HERE.parent.parent / "sample-data" / "ferry-lane"


@dataclass
class Case:
    name: str
    folder: Path
    energy: bool = True
    breakdowns: bool = True
    # Columns of words in the logs by which the energy is broken down.
    columns: list = field(default_factory=list)
    balance: bool = False
    diagnose: bool = False
    place: bool = False
    # Further arguments of `balance`, each a run of its own.
    variants: list = field(default_factory=list)
    # Arguments of `energy` that change what is looked at: from, to, window_min, target, step.
    energy_options: dict = field(default_factory=dict)


def copied(folder, target, changes):
    """A copy of a site with pieces of its site.toml replaced; None appends."""
    shutil.copytree(folder, target, copy_function=shutil.copyfile)
    for path in [target, *target.rglob("*")]:
        path.chmod(0o755 if path.is_dir() else 0o644)
    file = target / "site.toml"
    text = file.read_text()
    for old, new in changes:
        if old is not None and old not in text:
            raise ValueError(f"{file}: {old!r} is not there")
        text = text + new if old is None else text.replace(old, new, 1)
    file.write_text(text)
    return target


# A tariff with everything that a tariff can have, and a change of prices in the middle of a month.
EVERYTHING = """
[[tariff]]
from = "2017-06-01"
standing_per_day = 1.37
energy = [
  { band = "peak", days = "Mon-Fri", from = "08:00", to = "20:00", months = "11-3", rate_per_kwh = 0.2345 },
  { band = "day", days = "Mon-Fri", from = "08:00", to = "20:00", months = "4-10", rate_per_kwh = 0.1987 },
  { band = "early", days = "Mon-Fri", from = "06:00", to = "08:00", rate_per_kwh = 0.1753 },
  { band = "quiet", otherwise = true, rate_per_kwh = 0.1311 },
  { band = "holiday", days = "Sat,Sun,holidays", from = "07:00", to = "13:15", rate_per_kwh = 0.1505 },
]
demand = { per = "kW", rate_per_month = 5.55, ratchet_months = 3, ratchet_share = 0.85 }
capacity = { kva = 750, rate_per_kva_day = 0.0317 }
reactive = { free_share_of_kwh = 0.33, rate_per_kvarh = 0.0061 }
tax_pct = 19

[[tariff]]
from = "2018-05-17"
standing_per_day = 1.49
energy_blocks = [ { up_to_kwh_per_month = 20000, rate_per_kwh = 0.21 }, { up_to_kwh_per_month = 61000.5, rate_per_kwh = 0.187 }, { rate_per_kwh = 0.1234 } ]
demand = { per = "kVA", rate_per_month = 6.10, ratchet_months = 11, ratchet_share = 0.9 }
power_factor = { below = 0.97, surcharge_per_kwh_per_pct = 0.0005 }
tax_pct = 7.7

[[tariff]]
from = "2018-11-01"
energy = [
  { band = "night", from = "22:00", to = "06:00", rate_per_kwh = 0.0905 },
  { band = "day", from = "06:00", to = "22:00", rate_per_kwh = 0.2015 },
]
demand = { per = "kVA", rate_per_month = 4.75 }
"""

# Prices of active energy and power alone, in a currency without a smaller unit.
WITHOUT_REACTIVE = """
[[tariff]]
from = "2016-01-01"
standing_per_day = 210
energy = [
  { band = "weekday", days = "Mon-Fri", from = "07:30", to = "18:45", rate_per_kwh = 27.5 },
  { band = "else", otherwise = true, rate_per_kwh = 17.25 },
]
demand = { per = "kW", rate_per_month = 1450, ratchet_months = 2, ratchet_share = 0.5 }
tax_pct = 10
"""


def loads_of_a_feeder(folder, target, count):
    """The first loads of the public feeder as a site of their own, few enough to try every allocation."""
    text = (folder / "site.toml").read_text()
    head, *meters = text.split("[[meter]]")
    target.mkdir()
    (target / "site.toml").write_text("[[meter]]".join([head, *meters[:count]]))
    rows = (folder / "machines.csv").read_text().splitlines(keepends=True)
    (target / "machines.csv").write_text("".join(rows[: count + 1]))
    (target / "meters").mkdir()
    shutil.copyfile(folder / "meters" / "loads.csv", target / "meters" / "loads.csv")
    return target


def spoiled(folder, target):
    """The demo with one week of the main meter written otherwise and with readings in it that cannot be."""
    copied(
        folder,
        target,
        [
            (
                'files = "meters/main-*.csv"',
                'files = "meters/main-*.csv.gz"\nseparator = ";"\ndecimal = ","\nmissing = ["-9999"]',
            ),
            ('active_power_l1_kw = "P1"', 'active_power_l1_kw = { column = "P1", scale = 0.001 }'),
        ],
    )
    logs = target / "meters"
    with (logs / "main-2026-w11.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    for path in logs.glob("main-*.csv"):
        path.unlink()
    for row in rows:
        row["P1"] = f"{1000 * float(row['P1']):.0f}"
    # Far beyond any fuse; more than three times the fuse in one minute, denied by P; negative; lost; not read.
    rows[700]["P1"], rows[701]["P2"] = "6553500", "-6553.5"
    rows[900]["I1"] = "400.0"
    rows[1200]["U3"] = "-231.0"
    loaded = next(at for at in range(3000, len(rows)) if float(rows[at]["I2"]) > 10)
    for at in range(loaded, loaded + 3):
        rows[at] |= {"U2": "3.0", "P2": "0.00", "Q2": "0.00"}
    rows[4000]["Q1"], rows[4001]["IN"], rows[4002]["P3"] = "-9999", "", "n/a"
    # Rows that came late.
    rows[100:130] = rows[115:130] + rows[100:115]
    lines = [";".join(rows[0])] + [";".join(row.values()).replace(".", ",") for row in rows]
    (logs / "main-2026-w11.csv.gz").write_bytes(gzip.compress("\r\n".join(lines).encode(), mtime=0))
    return target


def with_frequency(folder, target):
    """The demo with a frequency beside the main meter's readings: an excursion, one at the limit, and misreadings."""
    copied(folder, target, [('active_power_l1_kw = "P1"', 'frequency_hz = "f"\nactive_power_l1_kw = "P1"')])
    for week, path in enumerate(sorted((target / "meters").glob("main-*.csv"))):
        with path.open(newline="") as file:
            rows = list(csv.DictReader(file))
        # By its time: a row that comes twice holds the same twice.
        times = list(dict.fromkeys(row["time"] for row in rows))
        hertz = {time: f"{50 + (at * 7 % 41 - 20) / 1000:.3f}" for at, time in enumerate(times)}
        hertz |= {times[at]: f"{49.41 + week / 100:.2f}" for at in range(700 + week, 712 + 30 * week)}
        hertz |= dict(zip(times[2000:2003], ("50.5", "50.51", "49.5")))
        hertz |= dict(zip(times[3000:3003], ("0", "65.535", "")))
        for row in rows:
            row["f"] = hertz[row["time"]]
        lines = [",".join(rows[0])] + [",".join(row.values()) for row in rows]
        path.write_text("\n".join(lines) + "\n")
    return target


def sunny(target):
    """Ten weeks of a workshop with generation: exported on sunny days, imported at night, leading and lagging."""
    (target / "meters").mkdir(parents=True)
    (target / "site.toml").write_text(
        '[site]\nname = "Sunny"\ntimezone = "Europe/London"\ncurrency = "GBP"\nholidays = ["2026-04-03", "2026-04-06"]\n'
        '[supply]\nline_voltage_v = 400\nphase_limit_a = 125\n'
        '[[meter]]\nid = "main"\nmeasures = "supply"\nfiles = "meters/main.csv"\nstamp = "start"\n'
        'time = { column = "time", format = "%Y-%m-%d %H:%M", zone = "UTC" }\n'
        '[meter.columns]\nactive_power_kw = "P"\nreactive_power_kvar = "Q"\n'
        '[[meter]]\nid = "roof"\nmeasures = "Panels"\nfiles = "meters/roof.csv"\nstamp = "start"\n'
        'time = { column = "time", format = "%Y-%m-%d %H:%M", zone = "UTC" }\n[meter.columns]\nactive_power_kw = "P"\n'
    )
    (target / "machines.csv").write_text("machine,circuit,connection,current_a,movable,role\nPanels,supply,3ph,65,no,generation\n")
    rows, roof, start = ["time,P,Q"], ["time,P"], dt.datetime(2026, 3, 9)
    for at in range(70 * 96):
        moment = start + dt.timedelta(minutes=15 * at)
        hour = moment.hour + moment.minute / 60
        works = moment.weekday() < 5 and 7 <= hour < 17
        load = 4.5 + (23.0 if works else 0.0) + (at * 37 % 101) / 40
        sun = max(math.sin(math.pi * (hour - 6) / 13), 0.0) * (15 + at // 96 * 7 % 29)
        lagging = (9.0 if works else 1.5) - (at * 53 % 97) / 24
        rows.append(f"{moment:%Y-%m-%d %H:%M},{load - sun:.3f},{lagging:.3f}")
        # A meter of generation that stops for some days, and counts what is generated as exported.
        if not 2000 <= at < 2300:
            roof.append(f"{moment:%Y-%m-%d %H:%M},{-sun:.3f}")
    (target / "meters" / "roof.csv").write_text("\n".join(roof) + "\n")
    (target / "meters" / "main.csv").write_text("\n".join(rows) + "\n")
    return target


def cases(shared, scratch):
    found = [
        Case("ferry-lane, spoiled", spoiled(DEMO, scratch / "spoiled")),
        Case("ferry-lane", DEMO, balance=True, diagnose=True, place=True, variants=[["--max-moves", "3"]]),
        Case("sunny workshop", sunny(scratch / "sunny"), energy=False),
        Case("ferry-lane with a frequency", with_frequency(DEMO, scratch / "frequency"), energy=False, diagnose=True),
        Case(
            "ferry-lane, two weeks",
            DEMO,
            breakdowns=False,
            energy_options={"from": "2026-03-16", "to": "2026-03-30", "window_min": 15, "target": 0.98, "step": 5.0},
        ),
    ]
    if shared is None:
        return found
    campus, feeder, steel = (shared / "data" / name for name in ("campus", "european-lv", "steel-works"))
    return found + [
        Case("campus", campus, diagnose=True),
        Case(
            "campus with a tariff",
            copied(
                campus,
                scratch / "campus",
                [('timezone = "Europe/Rome"', 'timezone = "Europe/Rome"\ncurrency = "JPY"'), (None, WITHOUT_REACTIVE)],
            ),
            breakdowns=False,
            energy_options={"window_min": 60, "baseline": ("2016-12-01", "2017-12-01", "month")},
        ),
        Case("european-lv", feeder, balance=True, diagnose=True),
        Case(
            "european-lv, ten loads",
            loads_of_a_feeder(feeder, scratch / "ten", 10),
            energy=False,
            balance=True,
            variants=[["--objective", objective, "--all-moves"] for objective in ("neutral-peak", "phase-peak")],
        ),
        Case("steel-works", steel, columns=["column:Load_Type", "column:WeekStatus"], diagnose=True),
        Case(
            "steel-works with a tariff",
            copied(
                steel,
                scratch / "steel",
                [
                    (
                        "demand_window_min = 15",
                        'demand_window_min = 30\ncurrency = "EUR"\n'
                        'holidays = ["2018-01-01", "2018-02-16", "2018-05-07", "2018-09-24", "2018-12-25"]',
                    ),
                    (None, EVERYTHING),
                ],
            ),
            breakdowns=False,
            energy_options={"baseline": ("2018-01-01", "2018-07-02", "week")},
        ),
    ]
