"""An invented estate analysed by the program, and its tables checked by programs that use none of its code.

Energy, maximum demand and the demand of all sites at one time come from the raw logs with pandas; the documented queries run on
duckdb and, with --spark, on Spark SQL, and give the same; a run that is killed again and again ends with the same tables;
a standalone cluster of one master and two workers on the loopback, one of them killed in the middle, gives them cell by cell.

    check_estate.py PROGRAM GENERATOR [--sites 40] [--broken 12] [--days 15] [--step 15] [--kills 4] [--spark killed|both]
"""

import argparse
import json
import os
import random
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import pandas as pd

from estate_tables import read, result, same, views

QUERIES = [
    "coincident-demand", "coincident-maximum", "dangers", "energy-by-month", "bill-by-line", "gain-by-moves", "totals",
    "data-quality",
]


def run(*command, **options):
    done = subprocess.run(list(map(str, command)), capture_output=True, text=True, **options)
    if done.returncode != 0:
        sys.exit(f"{command}: status {done.returncode}\n{done.stdout[-3000:]}{done.stderr[-6000:]}")
    return done.stdout


def close(found, wanted, what):
    if not np.isclose(found, wanted, rtol=1e-9, atol=1e-9):
        sys.exit(f"{what}: {found!r}, recalculated {wanted!r}")


def from_the_logs(folder, out, broken_names, step_min):
    """Energy and demand of each site, and their sum at one time, from the logs alone."""
    sites = {row["site"]: row for row in result(out)["sites"]}
    meters, demand = read(out, "meters").set_index("site"), read(out, "demand")
    demands, maxima, corrected = [], {}, 0
    for site, row in sites.items():
        if site in broken_names:
            assert row["status"] == "failed" and row["message"], site
            continue
        assert row["status"] == "ok", (site, row["message"])
        log = pd.read_csv(folder / site / "meters" / "main.csv", parse_dates=["time"])
        kw = log.filter(like="active_power_l").filter(regex="_kw$").sum(axis=1).set_axis(log["time"].dt.tz_localize("UTC"))
        blocks = kw.resample("30min").agg(["mean", "count"])
        complete = blocks["mean"][blocks["count"] == 30 // step_min]
        as_logged = meters.loc[site]
        if pd.notna(as_logged["energy_kwh_as_logged"]):
            # Readings were taken for a fault of the meter and left out: the log as it is agrees, and for the sum over sites
            # what is left is taken from the table.
            corrected += 1
            close(as_logged["energy_kwh_as_logged"], kw.sum() * step_min / 60, f"energy of {site}, as logged")
            close(as_logged["max_demand_kw_as_logged"], complete.max(), f"maximum demand of {site}, as logged")
            complete = demand[demand["site"] == site].set_index("start")["kw"]
        else:
            close(row["energy_import_kwh"], kw.sum() * step_min / 60, f"energy of {site}")
            close(row["max_demand_kw"], complete.max(), f"maximum demand of {site}")
        demands.append(complete.rename(site))
        maxima[site] = complete.max()
    together = pd.concat(demands, axis=1)
    kw = together.sum(axis=1)
    high = kw + together.isna().mul(pd.Series(maxima)).sum(axis=1)
    table = read(out, "coincident").set_index("start")
    assert len(table) == len(kw), (len(table), len(kw))
    assert (table["sites"].to_numpy() == together.notna().sum(axis=1).sort_index().to_numpy()).all()
    for name, wanted in [("kw", kw), ("high_kw", high)]:
        assert np.allclose(table[name].to_numpy(), wanted.sort_index().to_numpy(), rtol=1e-9), name
    found = result(out)["coincident_demand"]
    close(found["kw"], kw.max(), "coincident maximum")
    close(found["high_kw"], high.max(), "its upper bound")
    close(found["sum_of_maxima_kw"], sum(maxima.values()), "sum of the maxima")
    assert corrected <= len(maxima) // 4, f"{corrected} meters were taken for faulty"
    return len(maxima)


def queries(program, folder, out):
    """The documented queries on an embedded engine, and what they say compared with the result."""
    engine, total = views(out), result(out)["totals"]
    frames = {}
    for name in QUERIES:
        frames[name] = engine.execute(run(program, "estate", folder, "--sql", name)).df()
    maximum = result(out)["coincident_demand"]
    for key in ["kw", "high_kw", "sum_of_maxima_kw"]:
        close(frames["coincident-maximum"][key][0], maximum[key], f"coincident-maximum, {key}")
    table = read(out, "coincident")
    for key in ["kw", "high_kw", "sites"]:
        assert np.allclose(frames["coincident-demand"][key], table[key], rtol=1e-9), key
    sums = frames["totals"].iloc[0]
    for key in ["energy_import_kwh", "energy_export_kwh", "carbon_kg", "dangers", "warnings", "overloaded_phases"]:
        close(sums[key], total[key]["sum"], f"totals, {key}")
    assert (sums["analysed"], sums["failed"]) == (total["analysed"], total["failed"])
    close(frames["energy-by-month"]["energy_import_kwh"].sum(), total["energy_import_kwh"]["sum"], "energy by month")
    by_currency = frames["bill-by-line"].groupby("currency")["amount"].sum()
    for currency, cost in total["cost"].items():
        close(by_currency[currency], cost["sum"], f"bill in {currency}")
    assert len(frames["dangers"]) == total["dangers"]["sum"]
    return frames


def killed_again_and_again(program, folder, out, reference, kills, took):
    """Ended at random moments and started again: the tables are those of a run that nobody disturbed."""
    chance = random.Random(7)
    for kill in range(kills):
        process = subprocess.Popen(
            [program, "estate", folder, "-o", out], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        # What is done stays done: each run is shorter than the one before.
        time.sleep(chance.uniform(0.05, 1.5 * took / (kill + 1)))
        process.send_signal(signal.SIGKILL)
        process.wait()
        for file in Path(out).rglob("*.zip"):
            assert file.stat().st_size > 0, file
    run(program, "estate", folder, "-o", out)
    for file in sorted(Path(reference, "tables").rglob("*.parquet")):
        other = Path(out, "tables", file.relative_to(Path(reference, "tables")))
        assert other.read_bytes() == file.read_bytes(), other
    left = [file for file in Path(out).rglob("*") if file.suffix in {".tmp", ".log", ".new", ".old"}]
    assert not left, left


class Cluster:
    """A standalone cluster on the loopback: one master, two workers of one core."""

    def __init__(self, scratch):
        import pyspark

        home = Path(pyspark.__file__).parent
        self.environment = {
            **os.environ,
            "SPARK_HOME": str(home),
            "SPARK_LOCAL_IP": "127.0.0.1",
            "PYSPARK_PYTHON": sys.executable,
            "SPARK_LOCAL_DIRS": str(scratch),
            "SPARK_WORKER_DIR": str(scratch / "work"),
        }
        self.processes = []
        self.scratch = scratch
        self.master = f"spark://127.0.0.1:{self.port()}"
        _, port = self.master.rsplit(":", 1)
        self.start("org.apache.spark.deploy.master.Master", "--host", "127.0.0.1", "--port", port, "--webui-port", "0")
        self.workers = [self.start_worker() for _ in range(2)]

    @staticmethod
    def port():
        import socket

        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            return free.getsockname()[1]

    def start(self, name, *words):
        log = open(self.scratch / f"{len(self.processes)}.log", "w")
        command = [str(Path(self.environment["SPARK_HOME"], "bin", "spark-class")), name, *words]
        process = subprocess.Popen(
            command, env=self.environment, stdout=log, stderr=log, start_new_session=True
        )
        self.processes.append(process)
        return process

    def start_worker(self):
        words = ["--host", "127.0.0.1", "--webui-port", "0", "--cores", "1", "--memory", "1g", self.master]
        return self.start("org.apache.spark.deploy.worker.Worker", *words)

    def kill(self, process):
        """A worker with its executors, which are its children."""
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()

    def end(self):
        for process in reversed(self.processes):
            if process.poll() is None:
                self.kill(process)


def on_spark(program, folder, local, scratch, frames, both):
    cluster = Cluster(scratch)
    try:
        for name, kills in [("cluster", False), ("one worker killed", True)][0 if both else 1 :]:
            out = scratch / name.replace(" ", "-")
            begun = time.monotonic()
            process = subprocess.Popen(
                [program, "estate", folder, "-o", out, "--spark", cluster.master],
                env={**cluster.environment, "PYTHONWARNINGS": "ignore"},
                stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT,
                text=True,
            )
            if kills:
                while process.poll() is None and len(list(Path(out).glob("parts/*.zip"))) < 5:
                    time.sleep(0.1)
                assert process.poll() is None, "the job ended before a worker could be killed"
                cluster.kill(cluster.workers[0])
            said, _ = process.communicate()
            if process.returncode != 0:
                sys.exit(f"{name}: status {process.returncode}\n{said[-8000:]}")
            differences = same(local, out, tolerance=1e-12)
            if differences:
                sys.exit(f"{name}: the tables differ from those of one machine:\n" + "\n".join(differences))
            print(f"{name}: tables equal, {time.monotonic() - begun:.1f} s")
        spark_sql(program, folder, out, frames)
    finally:
        cluster.end()


def spark_sql(program, folder, out, frames):
    """The same queries, unchanged, on Spark SQL."""
    from pyspark.sql import SparkSession

    spark = (
        SparkSession.builder.master("local[1]")
        .config("spark.sql.session.timeZone", "UTC")
        .config("spark.ui.enabled", "false")
        .config("spark.driver.bindAddress", "127.0.0.1")
        .config("spark.driver.host", "127.0.0.1")
        .getOrCreate()
    )
    spark.sparkContext.setLogLevel("ERROR")
    for table in sorted(path.name for path in Path(out, "tables").iterdir() if path.is_dir()):
        spark.read.parquet(str(Path(out, "tables", table))).createOrReplaceTempView(table)
    for name in QUERIES:
        found = spark.sql(run(program, "estate", folder, "--sql", name))
        rows, wanted = [row.asDict() for row in found.collect()], frames[name]
        assert found.columns == list(wanted.columns) and len(rows) == len(wanted), (name, len(rows), len(wanted))
        for row, (_, other) in zip(rows, wanted.iterrows()):
            for key, value in row.items():
                one, two = value, other[key]
                if pd.isna(one) and pd.isna(two):
                    continue
                is_number = isinstance(one, (int, float)) or "Decimal" in type(one).__name__
                alike = np.isclose(float(one), float(two), rtol=1e-9) if is_number else True
                alike = alike and (is_number or hasattr(one, "year") or one == two)
                assert alike, (name, key, one, two)
    spark.stop()
    print(f"{len(QUERIES)} queries: the same on Spark SQL as on duckdb")


def main():
    words = argparse.ArgumentParser()
    words.add_argument("program", type=Path)
    words.add_argument("generator", type=Path)
    words.add_argument("--sites", type=int, default=40)
    words.add_argument("--broken", type=int, default=12)
    words.add_argument("--days", type=int, default=15)
    words.add_argument("--step", type=int, default=15)
    words.add_argument("--kills", type=int, default=4)
    words.add_argument("--spark", choices=["killed", "both"])
    words.add_argument("--keep", type=Path)
    asked = words.parse_args()
    program = asked.program.resolve()
    scratch = asked.keep or Path(tempfile.mkdtemp(prefix="estate-"))
    folder = scratch / "sites"
    folder.mkdir(parents=True)
    run(asked.generator, folder, asked.sites, asked.broken, asked.days, asked.step)
    listed = [json.loads(line)["path"] for line in run(program, "estate", folder, "--list").splitlines()]
    assert len(listed) == asked.sites
    first_broken = asked.sites - asked.broken
    broken = {site for site in listed if site.rsplit("-", 1)[-1].isdigit() and int(site.rsplit("-", 1)[-1]) >= first_broken}

    out = scratch / "local"
    begun = time.monotonic()
    run(program, "estate", folder, "-o", out)
    took = time.monotonic() - begun
    most = resource.getrusage(resource.RUSAGE_CHILDREN)
    print(f"{asked.sites} sites: {took:.1f} s, {asked.sites / took:.2f} sites/s, largest process {most.ru_maxrss / 1024:.0f} MB")

    sound = from_the_logs(folder, out, broken, asked.step)
    print(f"{sound} sites: energy, maximum demand and coincident demand agree with the logs")
    frames = queries(program, folder, out)
    print(f"{len(QUERIES)} queries agree with estate.json")

    begun = time.monotonic()
    run(program, "estate", folder, "-o", out)
    print(f"second run, nothing changed: {time.monotonic() - begun:.1f} s")
    if asked.kills:
        killed_again_and_again(program, folder, scratch / "killed", out, asked.kills, took)
        print(f"killed {asked.kills} times: tables equal, byte for byte")
    changed = folder / sorted(set(listed) - broken)[0] / "machines.csv"
    changed.write_text(changed.read_text() + "\n")
    begun = time.monotonic()
    parts = {path: path.stat().st_mtime_ns for path in Path(out).glob("parts/*.zip")}
    run(program, "estate", folder, "-o", out)
    print(f"second run, one site changed: {time.monotonic() - begun:.1f} s")
    again = [path for path, at in parts.items() if path.stat().st_mtime_ns != at]
    refused = sum(1 for row in result(out)["sites"] if "link" in (row["message"] or ""))
    assert len(again) == 1 + refused, f"{len(again)} sites were analysed again"
    if asked.spark:
        (scratch / "spark").mkdir()
        on_spark(program, folder, out, scratch / "spark", frames, asked.spark == "both")
    if not asked.keep:
        shutil.rmtree(scratch)


if __name__ == "__main__":
    main()
