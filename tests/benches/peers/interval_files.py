"""Files of interval data: `tapoff energy FILE` (all of it) and polars adding up the same values, in turn in one run.

    python tests/benches/peers/interval_files.py write FOLDER      makes the files: a row per day, 61 MB; NEM12, 100 MB
    python tests/benches/peers/interval_files.py run FOLDER        needs TAPOFF, the program; RUNS, the number of runs
    python tests/benches/peers/interval_files.py polars KIND FILE  what polars does

The seconds of tapoff hold what polars does not do: the time zone, quality marks, demand, base load, the calendar.
"""

import datetime
import os
import subprocess
import sys
import time

METERS, DAYS = 20, 10_000


def write(folder):
    os.makedirs(folder, exist_ok=True)
    labels = ",".join(f"{at // 2:02}:{at % 2 * 30:02}" for at in range(48))
    first = datetime.date(1999, 1, 1)
    with open(os.path.join(folder, "wide.csv"), "w") as out:
        out.write(f"MPAN,Date,{labels} kWh\n")
        for meter in range(METERS):
            for day in range(DAYS):
                date = first + datetime.timedelta(days=day)
                values = ",".join(f"{(day * 7 + at * 31 + meter) % 9000 / 1000:.3f}" for at in range(48))
                out.write(f"{1_000_000_000_000 + meter},{date:%d/%m/%Y},{values}\n")
    first = datetime.date(2023, 1, 1)
    with open(os.path.join(folder, "nem12.csv"), "w") as out:
        out.write("100,NEM12,202601010000,A,B\n")
        for meter in range(26):
            for channel in ["E1", "B1"]:
                out.write(f"200,NMI{meter:07},B1E1,{channel},{channel},N1,S,kWh,5,\n")
                for day in range(1096):
                    date = first + datetime.timedelta(days=day)
                    values = ",".join(f"{(day * 7 + at * 31 + meter) % 900 / 1000:.3f}" for at in range(288))
                    varies = day % 30 == 0
                    out.write(f"300,{date:%Y%m%d},{values},{'V' if varies else 'A'},,,20260101000000,\n")
                    if varies:
                        out.write("400,1,100,A,,\n400,101,288,S14,,\n")
        out.write("900\n")


def with_polars(kind, path):
    import polars as pl

    if kind == "wide":
        table = pl.read_csv(path, try_parse_dates=False)
        values = table.columns[2:]
        long = table.unpivot(on=values, index=["MPAN", "Date"], value_name="kwh")
        day = pl.col("Date").str.to_date("%d/%m/%Y")
        sums = long.with_columns(day).group_by("MPAN").agg(pl.col("kwh").sum(), pl.col("Date").min())
    else:
        lines = pl.read_csv(path, has_header=False, separator="\x01", quote_char=None, new_columns=["column_1"])
        field = pl.col("column_1").str.split(",")
        rows = lines.with_columns(kind=pl.col("column_1").str.slice(0, 3))
        rows = rows.with_columns(channel=pl.when(pl.col("kind") == "200").then(field.list.slice(1, 4).list.join(" ")))
        rows = rows.with_columns(pl.col("channel").forward_fill()).filter(pl.col("kind") == "300")
        values = field.list.slice(2, 288).cast(pl.List(pl.Float64)).list.sum()
        day = field.list.get(1).str.to_date("%Y%m%d")
        rows = rows.select("channel", values.alias("kwh"), day.alias("day"))
        sums = rows.group_by("channel").agg(pl.col("kwh").sum(), pl.col("day").min())
    print(sums)


def timed(command):
    """Seconds and megabytes of one process."""
    begun = time.perf_counter()
    child = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, status, usage = os.wait4(child.pid, 0)
    child.returncode = status
    if status != 0:
        raise SystemExit(f"{command} failed")
    return time.perf_counter() - begun, usage.ru_maxrss / 1024


def run(folder):
    for name in ["wide", "nem12"]:
        path = os.path.join(folder, f"{name}.csv")
        megabytes = os.path.getsize(path) / 1e6
        zone = ["--timezone", "Europe/London"]
        commands = {
            "tapoff": [os.environ["TAPOFF"], "energy", path, *zone, "--format", "json"],
            "polars": [sys.executable, __file__, "polars", name, path],
        }
        best = {}
        for _ in range(int(os.environ.get("RUNS", "2"))):
            for program, command in commands.items():
                seconds, memory = timed(command)
                known = best.get(program, (seconds, memory))
                best[program] = min(known[0], seconds), max(known[1], memory)
        ratio = best["tapoff"][0] / best["polars"][0]
        for program, (seconds, memory) in best.items():
            print(f"{name:6} {megabytes:5.0f} MB  {program:7} {seconds:7.2f} s {memory:6.0f} MB")
        print(f"{name:6} tapoff / polars {ratio:.1f}")


if __name__ == "__main__":
    {"write": write, "run": run, "polars": with_polars}[sys.argv[1]](*sys.argv[2:])
