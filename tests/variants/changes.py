"""What may be odd about a site and is legal all the same: each change takes the random numbers and the site.

Nothing here is meant to be refused. Some of it is, where one change makes another impossible; `run.py` counts that.
"""

import datetime
from fnmatch import fnmatch

CONNECTIONS = ["L1", "L2", "L3", "L1-L2", "L2-L3", "L3-L1", "3ph", "any", "any-2"]
# Numbers that a key may take instead of the demo's. 1 makes every limit exceeded, 999 none.
OTHER_NUMBERS = {
    "phase_limit_a": [1, 15, 60, 999],
    "neutral_limit_a": [1, 15, 60, 999],
    "line_voltage_v": [60, 208, 400, 480, 690],
    "frequency_hz": [50, 60],
    "length_m": [1, 30, 400],
    "rate_per_kwh": [0, 0.01, 1, 30],
    "standing_per_day": [0, 999],
    "rate_per_month": [0, 15],
    "tax_pct": [0, 60],
    "demand_window_min": [15, 30, 60],
    "carbon_g_per_kwh": [0, 1, 999],
    "transformer_kva": [1, 15, 999],
    "current_capacity_a": [1, 15, 999],
    "ways": [[1, 0, 0], [0, 0, 0], [42, 42, 42]],
}
OTHER_WORDS = {
    "stamp": ["start", "end"],
    "readings": ["average", "instant"],
    "timezone": ["UTC", "Europe/London", "America/New_York", "Pacific/Auckland", "Asia/Kolkata"],
    "class": ["0.5", "1", "2"],
}
# Keys without which a site is still one.
OPTIONAL = ["neutral_limit_a", "phase_limit_a", "transformer_kva", "ways", "feeder", "cable", "use", "frequency_hz"] + [
    "carbon_g_per_kwh", "holidays", "currency", "class", "tax_pct", "demand"]  # fmt: skip
CELLS = ["0", "", "-5", "-0.0", "0.001", "99999", "230.0", "NaN"]


def change(random, site):
    """Makes a variant of the site: things are left out, with all that refers to them; the rest is changed."""
    drop_tables(random, site)
    drop_logs(random, site)
    every = len(site.machines)
    site.machines = random.sample(site.machines, random.choice([0, 1, 3, every // 2, every, every]))
    drop_what_refers_to_nothing(site)
    drop_keys(random, site)
    set_keys(random, site)
    drop_columns(random, site)
    change_machines(random, site)
    cut_logs(random, site)
    for log in site.logs.values():
        change_log(random, log)
    move_baseline(random, site)
    if random.random() < 0.3:
        site.others["readings.csv"] = rounds_of_readings(random, site)
    if random.random() < 0.3:
        site.others["switching.csv"] = switching_tests(random, site)
    drop_empty_tables(site)


def drop_tables(random, site):
    """Fewer boards, circuits, meters, prices and so on, from none of them to nearly all."""
    if random.random() < 0.1:
        return
    for name, tables in list(site.toml.items()):
        share = random.choice([0, 0, 0.05, 0.3, 0.9])
        if isinstance(tables, list):
            site.toml[name] = [table for table in tables if random.random() >= share]
        elif name not in ("site", "supply") and random.random() < share:
            del site.toml[name]


def drop_logs(random, site):
    """Logs that nobody has copied yet, with the meters that read them."""
    for name in list(site.logs):
        if random.random() < 0.12:
            del site.logs[name]


def drop_what_refers_to_nothing(site):
    """Circuits of missing boards, machines of missing circuits, meters of missing things."""
    fed = site.identifiers("board") | {"supply"}
    site.toml["board"] = [board for board in site.tables("board") if board["fed_from"] in fed]
    boards = site.identifiers("board")
    site.toml["circuit"] = [circuit for circuit in site.tables("circuit") if circuit["board"] in boards]
    nodes = boards | site.identifiers("circuit")
    site.machines = [row for row in site.machines if row["circuit"] in nodes]
    measurable = nodes | {"supply"} | {row["machine"] for row in site.machines}
    has_log = lambda meter: any(fnmatch(name, meter["files"]) for name in site.logs)
    site.toml["meter"] = [meter for meter in site.tables("meter") if meter["measures"] in measurable and has_log(meter)]
    for row in site.machines:
        for column in ("meter", "schedule"):
            if row[column] not in site.identifiers(column):
                row[column] = ""
    baseline = site.toml.get("baseline", {})
    variables = site.identifiers("variable")
    if any(word != "day type" and word not in variables for word in baseline.get("goes_by", [])):
        del site.toml["baseline"]


def drop_empty_tables(site):
    """`[[board]]` of no board is no table at all."""
    site.toml = {name: value for name, value in site.toml.items() if value}


def inner_tables(value):
    """A table and all tables within it."""
    if isinstance(value, dict):
        yield value
    for item in value.values() if isinstance(value, dict) else value if isinstance(value, list) else []:
        yield from inner_tables(item)


def drop_keys(random, site):
    """Optional keys that nobody has filled in."""
    share = random.choice([0, 0, 0.1, 0.5, 1])
    supply = site.toml["supply"]
    for table in inner_tables(site.toml):
        for key in OPTIONAL:
            needed = table is supply and key == "phase_limit_a"
            if key in table and not needed and random.random() < share:
                del table[key]


def set_keys(random, site):
    """One or two kinds of number or word, other than the demo has them, in about half of the places."""
    if random.random() < 0.4:
        return
    others = OTHER_NUMBERS | OTHER_WORDS
    for key in random.sample(sorted(others), random.choice([1, 2])):
        for table in inner_tables(site.toml):
            if key in table and random.random() < 0.5:
                table[key] = random.choice(others[key])


def drop_columns(random, site):
    """Quantities that a meter does not log; at least one stays."""
    share = random.choice([0, 0, 0.2, 0.5, 0.9])
    for meter in site.tables("meter"):
        columns = list(meter["columns"])
        kept = [name for name in columns if random.random() >= share] or [random.choice(columns)]
        meter["columns"] = {name: meter["columns"][name] for name in kept}


def change_machines(random, site):
    """Cells of the machine list."""
    of_circuit = {circuit["id"]: circuit.get("phases", "3ph") for circuit in site.tables("circuit")}
    for row in site.machines:
        all_phases = of_circuit.get(row["circuit"], "3ph") == "3ph"
        if all_phases and random.random() < 0.06:
            row["connection"] = random.choice(CONNECTIONS)
        elif random.random() < 0.05 and row["connection"] != "3ph":
            row["connection"], row["movable"] = "unknown", ""
        if row["connection"].startswith("any"):
            row["movable"] = random.choice(["yes", ""])
        elif random.random() < 0.2 and row["connection"] != "3ph":
            row["movable"] = random.choice(["yes", "no", ""])
        for column, chance, words in [
            ("meter", 0.1, [""]),
            ("schedule", 0.1, [""]),
            ("quantity", 0.1, ["1", "2", "50"]),
            ("keep_with", 0.05, ["a", "b"]),
            ("third_harmonic_pct", 0.1, ["0", "30", "100"]),
            ("utilisation_factor", 0.1, ["", "0", "0.001", "1"]),
            ("power_factor", 0.1, ["", "0.05", "1", "0.9"]),
        ]:
            if random.random() < chance:
                row[column] = random.choice(words)
    if random.random() < 0.15:
        for row in site.machines:
            row["movable"] = "" if row["connection"].startswith("any") else "no"
    elif random.random() < 0.1:
        for row in site.machines:
            if of_circuit.get(row["circuit"], "3ph") == "3ph":
                row["connection"], row["movable"] = "3ph", ""
    # Machines that are kept together are of one kind and on one circuit: the first says which.
    for word in ("a", "b"):
        together = [row for row in site.machines if row["keep_with"] == word]
        for row in together:
            if any(row[key] != together[0][key] for key in ("circuit", "connection")) or row["movable"] == "no":
                row["keep_with"] = ""


def cut_logs(random, site):
    """Logs of an hour to four weeks: mostly the same time of every log, else of each its own."""
    every_log = [row[0] for log in site.logs.values() for row in log.rows]
    minutes = random.choice([15, 60, 60, 360, 1440, 1440, 2880, 10080, None])
    if not every_log or minutes is None:
        if random.random() < 0.7:
            # Four weeks of minutes cost the most and are rarely odd.
            for log in site.logs.values():
                log.rows = log.rows[::30]
        return
    one_stretch = random.random() < 0.7
    start = random.choice(every_log)
    for log in site.logs.values():
        begin = start if one_stretch else random.choice(log.rows)[0]
        first = datetime.datetime.fromisoformat(begin[:16].replace(" ", "T"))
        end = (first + datetime.timedelta(minutes=minutes)).isoformat()
        stretch = [row for row in log.rows if first.isoformat()[:16] <= row[0][:16].replace(" ", "T") < end[:16]]
        # A stretch in which this log has no row would be a log of nothing, which is refused.
        log.rows = stretch or log.rows[:1]


def change_log(random, log):
    """Rows of a log: few, thin, turned round, repeated, or with a column that holds one value."""
    size = random.choice([None] * 8 + [1, 2, 10])
    if size:
        at = random.randrange(len(log.rows))
        log.rows = log.rows[at : at + size]
    if random.random() < 0.15:
        log.rows = log.rows[:: random.choice([2, 3, 7])]
    if random.random() < 0.1:
        log.rows = log.rows[::-1]
    if random.random() < 0.1:
        log.rows = log.rows + log.rows[: len(log.rows) // 2]
    if random.random() < 0.3:
        columns = range(1, len(log.header))
        constant = set(random.choice([columns, random.sample(columns, 1), random.sample(columns, len(columns) // 2)]))
        cell = random.choice(CELLS)
        log.rows = [[cell if at in constant else value for at, value in enumerate(row)] for row in log.rows]
    if random.random() < 0.1:
        minus = lambda value: value[1:] if value.startswith("-") else "-" + value if value else value
        log.rows = [[row[0], *map(minus, row[1:])] for row in log.rows]


def move_baseline(random, site):
    """A baseline of another length, by another period, or of other days than the logs have."""
    baseline = site.toml.get("baseline")
    if baseline and random.random() < 0.5:
        first = datetime.date(2026, 3, random.randint(1, 31))
        days = random.choice([1, 7, 14, 20])
        baseline["from"], baseline["to"] = first.isoformat(), (first + datetime.timedelta(days=days)).isoformat()
        baseline["by"] = random.choice(["day", "week", "month"])


def switching_tests(random, site):
    """Machines switched on and off on purpose, at minutes within a log or of a day without one."""
    every_log = [row[0] for log in site.logs.values() for row in log.rows]
    lines = ["time,machine,state"]
    for row in random.sample(site.machines, min(len(site.machines), random.randint(0, 5))):
        begin = random.choice(every_log) if every_log and random.random() < 0.8 else "2026-01-05 09:00"
        first = datetime.datetime.fromisoformat(begin[:16].replace(" ", "T"))
        for at, state in enumerate(random.choice([["on"], ["on", "off"], ["off", "on"], ["on", "off", "on", "off"]])):
            time = first + datetime.timedelta(minutes=random.choice([1, 5, 20]) * at)
            lines.append(f"{time:%Y-%m-%d %H:%M},{row['machine']},{state}")
    return "\n".join(lines) + "\n"


def rounds_of_readings(random, site):
    """Readings by hand: up to three rounds at a few places, of the phases that a place has, sometimes the neutral."""
    phases = dict.fromkeys(sorted(site.identifiers("board") | {"supply"}), "3ph")
    phases |= {circuit["id"]: circuit.get("phases", "3ph") for circuit in site.tables("circuit")}
    phases |= {row["machine"]: row["connection"] for row in site.machines if not row["connection"].startswith("any")}
    lines = ["time,at,l1_a,l2_a,l3_a,n_a"]
    for day in range(random.randint(0, 3)):
        for place in random.sample(sorted(phases), min(len(phases), random.randint(1, 6))):
            read = [random.choice(["0", "10", "55.5", "300"]) for _ in range(4)]
            has = [phases[place] == "3ph" or phase in phases[place] for phase in ("L1", "L2", "L3")]
            has.append(random.random() < 0.5 and phases[place].count("L") != 2)
            cells = [cell if one else "" for cell, one in zip(read, has)]
            lines.append(",".join([f"2026-03-1{day} 10:00", place, *cells]))
    return "\n".join(lines) + "\n"
