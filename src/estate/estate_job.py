"""The analysis of an estate on Apache Spark.

Each task starts the program for one site; the program writes the rows of the site into a file in the folder of results, as
it does on one machine, and leaves a file that was made from the same inputs as it is. From these files Spark makes the tables,
and with Spark SQL the demand of all sites at one time. Scheduling, repetition and recovery are Spark's.

Every worker sees the folder of sites and that of results under the same path. pyspark and pyarrow are needed, nothing else.
"""

import io
import json
import os
import subprocess
import sys
import zipfile

import pyarrow as pa
import pyarrow.parquet as pq
from pyspark import SparkFiles, StorageLevel
from pyspark.sql import SparkSession
from pyspark.sql import functions as f
from pyspark.sql.pandas.types import from_arrow_schema

# Columns by whose month a table is divided.
DIVIDED_BY = {"intervals": "start", "demand": "start", "bills": "period_from"}

# Sites of which a task makes one file of a table of readings.
SITES_A_FILE = 500


def analyse(order):
    """Rows of (site, part, state) through the program: what a task does."""

    def task(rows):
        program = SparkFiles.get(os.path.basename(order["program"]))
        os.chmod(program, 0o755)
        for listed, part in rows:
            site = json.loads(listed)["path"]
            command = [program, "estate", f"--site={site}", f"--as-listed={listed}", *order["settings"]]
            # The program ends when this process does: it reads its standard input to the end.
            done = subprocess.run(
                [*command, "-o", part, "--", order["folder"]],
                stdin=subprocess.DEVNULL,
                capture_output=True,
                text=True,
            )
            if done.returncode != 0:
                # Not the site's fault, whose row the program writes itself: Spark tries again, elsewhere if it can.
                raise RuntimeError(f"{site}: status {done.returncode}: {done.stderr[-2000:]}")
            yield site, part

    return task


def entries(part, table):
    """Parquet files of a table in the file of a site."""
    with zipfile.ZipFile(part) as archive:
        for name in sorted(archive.namelist()):
            if name == f"{table}.parquet" or name.startswith(f"{table}/"):
                yield pq.read_table(io.BytesIO(archive.read(name)))


def as_spark_has_it(table):
    """Moments in microseconds, and a column by which the rows of a site keep their order."""
    fields = [
        field.with_type(pa.timestamp("us", tz="UTC")) if pa.types.is_timestamp(field.type) else field
        for field in table.schema
    ]
    return table.cast(pa.schema([pa.field(one.name, one.type, nullable=True) for one in fields]))


def rows_of(table, schema):
    """Batches of part files into batches of rows of a table."""

    def task(batches):
        for batch in batches:
            for part in batch.column("part").to_pylist():
                row = 0
                for found in entries(part, table):
                    found = as_spark_has_it(found)
                    order = pa.array(range(row, row + found.num_rows), pa.int64())
                    row += found.num_rows
                    found = found.append_column("row", order).cast(schema)
                    yield from found.to_batches()

    return task


def schema_of(table, parts):
    """Columns of a table, from the first site that has rows in it; None where no site has."""
    for part in parts:
        for found in entries(part, table):
            return as_spark_has_it(found).schema.append(pa.field("row", pa.int64()))
    return None


def write(rows, table, out, sites):
    """The table as few files, its rows sorted by site; divided by month where they have a time."""
    target = os.path.join(out, table)
    if table not in DIVIDED_BY:
        rows.coalesce(1).sortWithinPartitions("site", "row").drop("row").write.parquet(target)
        return
    rows = rows.withColumn("month", f.date_format(DIVIDED_BY[table], "yyyy-MM"))
    files = 1 + sites // SITES_A_FILE
    # By month, and by ranges of sites within it: each task has whole stretches of sites.
    spread = rows.repartition(files, "month") if files == 1 else rows.repartitionByRange(files * 12, "month", "site")
    sorted_rows = spread.sortWithinPartitions("month", "site", "row").drop("row")
    sorted_rows.write.partitionBy("month").parquet(target)


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        order = json.load(file)
    spark = (
        SparkSession.builder.master(order["master"])
        .appName("tapoff estate")
        .config("spark.sql.session.timeZone", "UTC")
        .config("spark.sql.sources.partitionColumnTypeInference.enabled", "false")
        .config("spark.sql.parquet.outputTimestampType", "TIMESTAMP_MILLIS")
        .config("spark.ui.enabled", "false")
        .getOrCreate()
    )
    context = spark.sparkContext
    context.addFile(order["program"])
    sites = [(json.dumps(site["listed"]), site["part"]) for site in order["sites"]]

    # A task for each site, so that a lost worker costs little.
    analysed = context.parallelize(sites, len(sites)).mapPartitions(analyse(order))
    analysed.count()

    parts = [site["part"] for site in order["sites"]]
    slices = min(len(parts), 4 * context.defaultParallelism)
    files = context.parallelize([(part,) for part in parts], slices).toDF("part string").persist(StorageLevel.DISK_ONLY)
    written = set()
    for table in order["tables"]:
        schema = schema_of(table, parts)
        if schema is None:
            continue
        rows = files.mapInArrow(rows_of(table, schema), from_arrow_schema(schema))
        write(rows, table, order["out"], len(parts))
        spark.read.parquet(os.path.join(order["out"], table)).createOrReplaceTempView(table)
        written.add(table)

    if {"sites", "demand"} <= written:
        together = spark.sql(order["coincident"])
        together.coalesce(1).write.parquet(os.path.join(order["out"], "coincident"))
    spark.stop()


if __name__ == "__main__":
    main()
