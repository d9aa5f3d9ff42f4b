"""What must hold of every run, whatever the site: its exit status, its time, and results that can be read."""

import csv
import html.parser
import json
import re
import signal

# Time of the processor that a run may take: a busy machine makes none longer.
LONGEST_S = 60
# Time by the clock after which a run waits for something that never comes.
HUNG_S = 900
# Texts that a figure never is.
NOT_A_FIGURE = re.compile(r"(?<![\w.])-?(?:NaN|nan|inf|Inf|[Ii]nfinity)(?!\w)")
# A minus before a figure of noughts alone; dates and names have a letter or digit before theirs.
MINUS_NOUGHT = re.compile(r"(?<![\w.])[-\u2212]0(?:\.0*)?(?![\w.])")


class TextOfPage(html.parser.HTMLParser):
    """The words of a page as a reader sees them, those in its charts included, and its blocks of JSON."""

    def __init__(self):
        super().__init__()
        self.words, self.blocks, self.inside = [], [], None

    def handle_starttag(self, tag, attributes):
        if tag in ("script", "style"):
            self.inside = dict(attributes).get("type", tag)

    def handle_endtag(self, tag):
        if tag in ("script", "style"):
            self.inside = None

    def handle_data(self, data):
        if self.inside is None:
            self.words.append(data)
        elif self.inside == "application/json":
            self.blocks.append(data)


def faults_of_run(command, status, error):
    """What is wrong with how a run ended; `status` is None where it did not end."""
    if status is None:
        return [f"has not ended after {HUNG_S} s"]
    if status == -signal.SIGXCPU:
        return [f"takes over {LONGEST_S} s of the processor"]
    place = re.search(r"panicked at ([^\n]+)", error)
    if place:
        return [f"panics at {place.group(1)}"]
    asked_for_limits = command[0] == "check" or "--fail-on" in command
    if status not in (0, 1, 2) or (status == 1 and not asked_for_limits):
        return [f"ends with {status}"]
    if status == 2 and not error.strip():
        return ["ends with 2 and says nothing"]
    return faults_of_text(error)


def faults_of_text(text):
    """Figures that are none, in a text for people."""
    faults = []
    for name, pattern in [("no figure", NOT_A_FIGURE), ("minus nought", MINUS_NOUGHT)]:
        found = pattern.search(text)
        if found:
            start = text.rfind("\n", 0, found.start()) + 1
            line = text[start : found.end() + 60].split("\n")[0]
            faults.append(f"{name}: {' '.join(line.split())[-160:]}")
    return faults


def faults_of_csv(text):
    """Figures that are none, each with the name of its column; tables follow one another after an empty line."""
    faults, header = set(), None
    for row in csv.reader(text.splitlines()):
        if not row:
            header = None
        elif header is None:
            header = row
        else:
            faults |= {f"{column}: {fault}" for column, cell in zip(header, row) for fault in faults_of_text(cell)}
    return sorted(faults)


def faults_of_json(text, schema=None):
    """JSON that cannot be read or that its schema does not describe; a number that is none is written as null."""
    try:
        result = json.loads(text, parse_constant=reject_constant)
    except ValueError as error:
        return [f"JSON cannot be read: {error}"]
    return sorted(set(outside_schema(result, schema, schema, ""))) if schema else []


def reject_constant(word):
    raise ValueError(f"{word} is no number of JSON")


def outside_schema(value, schema, root, at):
    """Where a value has another type than its schema says, or keys too many or too few."""
    if "$ref" in schema:
        target = root
        for key in schema["$ref"].removeprefix("#/").split("/"):
            target = target[key]
        yield from outside_schema(value, target, root, at)
        return
    alternatives = schema.get("anyOf") or schema.get("oneOf")
    if alternatives:
        faults = [list(outside_schema(value, one, root, at)) for one in alternatives]
        yield from min(faults, key=len)
        return
    types = schema.get("type", [])
    if types and not any(is_of_type(value, one) for one in ([types] if isinstance(types, str) else types)):
        yield f"{at} is {json.dumps(value)[:40]} and not of type {types}"
    elif "enum" in schema and value not in schema["enum"]:
        yield f"{at} is {json.dumps(value)[:40]}, which is not listed"
    elif isinstance(value, dict):
        for key in schema.get("required", []):
            if key not in value:
                yield f"{at}.{key} is missing"
        for key, item in value.items():
            inner = schema.get("properties", {}).get(key, schema.get("additionalProperties"))
            if isinstance(inner, dict):
                yield from outside_schema(item, inner, root, f"{at}.{key}")
    elif isinstance(value, list):
        first = schema.get("prefixItems", [])
        for index, item in enumerate(value):
            inner = first[index] if index < len(first) else schema.get("items")
            if isinstance(inner, dict):
                yield from outside_schema(item, inner, root, f"{at}[]")


def is_of_type(value, name):
    """Whether a value of JSON is of the type that a schema names."""
    if isinstance(value, bool) or value is None:
        return name == {True: "boolean", False: "boolean", None: "null"}[value]
    kinds = {"number": (int, float), "integer": int, "string": str, "array": list, "object": dict}
    return name in kinds and isinstance(value, kinds[name])


def faults_of_report(folder):
    """All files of a report: the page, its charts, its numbers."""
    faults = []
    for path in sorted(folder.rglob("*")):
        if path.suffix == ".json":
            faults += [f"{path.name}: {fault}" for fault in faults_of_json(path.read_text())]
        elif path.suffix == ".csv":
            faults += [f"{path.name}: {fault}" for fault in faults_of_csv(path.read_text())]
        elif path.suffix == ".svg":
            found = NOT_A_FIGURE.search(path.read_text())
            faults += [f"{path.name}: a coordinate is {found.group()}"] if found else []
        elif path.suffix == ".html":
            page = TextOfPage()
            page.feed(path.read_text())
            faults += [f"{path.name}: {fault}" for fault in faults_of_text("\n".join(page.words))]
            faults += [f"{path.name}: {fault}" for block in page.blocks for fault in faults_of_json(block)]
    return faults
