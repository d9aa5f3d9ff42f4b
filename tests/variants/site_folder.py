"""A site folder in memory: site.toml as tables, machines.csv and the logs as rows of cells."""

import copy
import csv
import tomllib
from dataclasses import dataclass, field

# Written by the demo's generator for its tests; no command reads it.
NOT_OF_THE_SITE = {"truth.json"}


@dataclass
class Log:
    """A CSV log: its column names and its rows, the time in the first column."""

    header: list
    rows: list


@dataclass
class SiteFolder:
    """Everything that a variant may change before it is written."""

    toml: dict
    columns: list
    machines: list
    # By path inside the site folder.
    logs: dict
    # Other files of the site, as they are.
    others: dict = field(default_factory=dict)

    def copy(self):
        """Tables and machines of its own; log rows are shared, since changes replace them."""
        return SiteFolder(
            copy.deepcopy(self.toml),
            self.columns,
            [dict(row) for row in self.machines],
            {name: Log(log.header, log.rows) for name, log in self.logs.items()},
            dict(self.others),
        )

    def tables(self, name):
        """The tables of a kind, such as `board`; an empty list where there are none."""
        return self.toml.get(name, [])

    def identifiers(self, name):
        """What the tables of a kind are called."""
        key = "id" if name in ("board", "circuit", "meter") else "name"
        return {table[key] for table in self.tables(name)}

    def write(self, folder):
        """Writes the site into an empty folder."""
        (folder / "meters").mkdir()
        (folder / "site.toml").write_text(toml_text(self.toml))
        with open(folder / "machines.csv", "w", newline="") as file:
            writer = csv.DictWriter(file, self.columns)
            writer.writeheader()
            writer.writerows(self.machines)
        for name, log in self.logs.items():
            lines = [",".join(cells) for cells in [log.header, *log.rows]]
            (folder / name).write_text("\n".join(lines) + "\n")
        for name, content in self.others.items():
            (folder / name).write_text(content)


def read_site_folder(folder):
    """A site whose logs are CSV files in `meters`, the time in their first column."""
    with open(folder / "machines.csv", newline="") as file:
        reader = csv.DictReader(file)
        machines = list(reader)
    logs = {}
    for path in sorted((folder / "meters").iterdir()):
        header, *rows = (line.split(",") for line in path.read_text().splitlines())
        logs[f"meters/{path.name}"] = Log(header, rows)
    read = {"site.toml", "machines.csv"} | NOT_OF_THE_SITE
    others = {path.name: path.read_text() for path in folder.iterdir() if path.is_file() and path.name not in read}
    toml = tomllib.loads((folder / "site.toml").read_text())
    return SiteFolder(toml, list(reader.fieldnames), machines, logs, others)


def toml_text(document):
    """TOML of the tables of a site: `[table]`, `[[table]]`, and `[meter.columns]` as an inline table."""
    text = ""
    for name, value in document.items():
        for table in value if isinstance(value, list) else [value]:
            heading = f"[[{name}]]" if isinstance(value, list) else f"[{name}]"
            keys = "".join(f"{toml_key(key)} = {toml_value(item)}\n" for key, item in table.items())
            text += f"{heading}\n{keys}\n"
    return text


def toml_key(key):
    """A key as it is where it can be bare, else in quotes."""
    bare = key.isascii() and key.replace("_", "").replace("-", "").isalnum()
    return key if bare else toml_value(key)


def toml_value(value):
    """A value on one line."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    if isinstance(value, list):
        return "[" + ", ".join(map(toml_value, value)) + "]"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{toml_key(key)} = {toml_value(item)}" for key, item in value.items()) + " }"
    return str(value)
