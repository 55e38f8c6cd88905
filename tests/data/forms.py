"""JSON against docs/schema and CSV against JSON, for all commands on the records that are named.

usage: forms.py RECORD...     BUILD says where the program is
"""
import copy
import csv
import glob
import io
import json
import os
import pathlib
import re
import subprocess
import sys
import warnings

PROGRAM = os.path.join(os.environ.get("BUILD", "build/release"), "rodbook")
failed = []


def fail(what):
    failed.append(what)
    if len(failed) <= 20:
        print(what)


def run(command, record, *words):
    done = subprocess.run([PROGRAM, command, *words, record], stdin=subprocess.DEVNULL, capture_output=True)
    if done.returncode not in (0, 1, 2) or (done.returncode == 2 and done.stdout):
        fail(f"{command} {' '.join(words)} {record}: exit status {done.returncode}")
    return done


# ---- the schemas ----

SCHEMAS = {os.path.basename(f)[:-5]: json.load(open(f, encoding="utf-8")) for f in glob.glob("docs/schema/*.json")}
COMMANDS = sorted(set(SCHEMAS) - {"common"})


def resolve(schema, command):
    """What a $ref stands for, and the file that it stands in."""
    while "$ref" in schema:
        file, at = schema["$ref"].split("#")
        command = file[:-5] or command
        schema = SCHEMAS[command]
        for part in at.strip("/").split("/"):
            schema = schema[part]
    return schema, command


def uri(name):
    return pathlib.Path(f"docs/schema/{name}.json").absolute().as_uri()


def validators():
    """A validator for each command; None where there is none on this machine."""
    warnings.simplefilter("ignore", DeprecationWarning)
    try:
        from jsonschema import Draft202012Validator, RefResolver
    except ImportError:
        return None
    made = {}
    for command, schema in SCHEMAS.items():
        Draft202012Validator.check_schema(schema)
        base, store = uri(command), {uri(name): other for name, other in SCHEMAS.items()}
        made[command] = Draft202012Validator(schema, resolver=RefResolver(base, schema, store=store))
    return made


# ---- outputs that must be refused ----


class Seen:
    """Places of an output that have been spoilt already, by their keys."""

    def __init__(self):
        self.places = set()

    def first(self, *place):
        new = place not in self.places
        self.places.add(place)
        return new


def other_kind(value):
    if isinstance(value, bool):
        return "true"
    if isinstance(value, (int, float)):
        return str(value)
    return {str: 1, list: {}, dict: [], type(None): {}}[type(value)]


def spoil(whole, node, place, seen, refused):
    """Each object: with a key less, with one more; each value: of another kind. refused() of each spoilt whole."""
    if isinstance(node, list):
        for i, value in enumerate(node):
            if not isinstance(value, (dict, list)) and seen.first(place, "item"):
                node[i] = other_kind(value)
                refused(place + ": an item of another kind")
                node[i] = value
            spoil(whole, value, place, seen, refused)
    if not isinstance(node, dict):
        return
    shape = ",".join(node)
    if seen.first(place, shape):
        node["surplus"] = 1
        refused(place + ": a key too many")
        del node["surplus"]
    for key in list(node):
        value, here = node[key], f"{place}.{key}"
        if seen.first(here, shape, "gone"):
            kept = dict(node)
            del node[key]
            refused(here + ": gone")
            node.clear()
            node.update(kept)
        if seen.first(here, shape, type(value).__name__):
            node[key] = other_kind(value)
            refused(here + ": of another kind")
            if isinstance(value, str):
                node[key] = ""
                refused(here + ": empty")
            node[key] = value
        spoil(whole, value, here, seen, refused)


def check_refusals(command, validator, output, seen):
    whole, count = copy.deepcopy(output), 0

    def refused(what):
        nonlocal count
        count += 1
        if validator.is_valid(whole):
            fail(f"{command}: the schema takes this: {what}")

    spoil(whole, whole, "", seen, refused)
    return count


# ---- CSV ----


class Figure(str):
    """A number as it was printed."""


def tables():
    """command -> [(table, path, key that a row must have)], as docs/csv.md has them."""
    found = {}
    for line in open("docs/csv.md", encoding="utf-8"):
        cells = [c.strip() for c in line.split("|")[1:-1]]
        if len(cells) != 4 or not cells[0].startswith("`"):
            continue
        where = re.findall(r"`([^`]*)`", cells[2])
        path = where[0].split(".") if where else []
        for command in re.findall(r"`([^`]*)`", cells[0]):
            found.setdefault(command, []).append((cells[1].strip("`"), path, where[1] if len(where) > 1 else None))
    return found


TABLES = tables()


def rows_at(node, path, outer=None):
    """(row, the object around it), wherever the path leads."""
    if isinstance(node, list):
        for one in node:
            yield from rows_at(one, path, outer)
    elif path:
        yield from rows_at(node[path[0]], path[1:], node)
    else:
        yield node, outer


def flat(node, path, lists, before=""):
    """Keys and values of a row; lists that are tables of their own left out."""
    for key, value in node.items():
        if path + [key] in lists:
            continue
        if isinstance(value, dict):
            yield from flat(value, path + [key], lists, f"{before}{key}.")
        else:
            yield before + key, value


def cell_of(value):
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return value
    return str(value)


def is_same(cell, want):
    if isinstance(want, list):
        return json.loads(cell, parse_float=Figure, parse_int=Figure) == want
    return cell == want


def unit_of(command, path, must, key, unit):
    """What stands behind the heading of a key, going by the schema; None where the row has no such key."""
    schema, file = SCHEMAS[command], command
    leaf = ""
    for part in path + key.split("."):
        while True:
            schema, file = resolve(schema, file)
            if "oneOf" in schema:
                choices = [resolve(s, file) for s in schema["oneOf"] if s.get("type") != "null"]
                schema, file = next(c for c in choices if not must or must in c[0]["properties"])
            elif schema.get("type") == "array":
                schema = schema["items"]
            else:
                break
        if part not in schema.get("properties", {}):
            return None
        schema = schema["properties"][part]
    schema = schema.get("items", schema)
    leaf = schema.get("$ref", "").split("/")[-1].replace("_or_null", "").replace("net_", "")
    power = {"length": "", "size": "", "area": "2", "volume": "3"}.get(leaf)
    return "" if power is None or unit is None else f" {unit}{power}"


def csv_rows(command, table, record):
    done = run(command, record, "--csv", table)
    if done.returncode == 2:
        return None, done.returncode
    text = done.stdout.decode("utf-8", "strict")
    if not text.endswith("\r\n") or text.startswith("\ufeff"):
        fail(f"{command} --csv {table} {record}: no CR LF at its end, or a byte order mark")
    return list(csv.reader(io.StringIO(text, newline=""), strict=True)), done.returncode


def check_table(command, table, path, must, record, output, status):
    what = f"{command} --csv {table} {record}"
    got, csv_status = csv_rows(command, table, record)
    if csv_status != status or not got:
        fail(f"{what}: exit status {csv_status}, and {status} with --json")
        return
    unit = {"ft": "ft", "ft-in": "ft", "m": "m"}.get(output["unit"])
    lists = [p for _, p, _ in TABLES[command] if p]
    headings, rows = got[0], got[1:]
    want = [(row, outer) for row, outer in rows_at(output, path) if not must or must in row]
    if len(rows) != len(want):
        fail(f"{what}: {len(rows)} rows, {len(want)} in the JSON")
        return
    keys = []
    for heading in headings:
        key = heading.split(" ")[0]
        keys.append(key)
        inner, outer = (unit_of(command, p, must, key, unit) for p in (path, path[:-1]))
        behind = inner if inner is not None else outer
        if behind is None or heading != key + behind:
            fail(f"{what}: heading {heading!r}")
    for cells, (row, outer) in zip(rows, want):
        values = dict(flat(row, path, lists))
        whole = {"schema", "job", "unit"} if not path else set()
        for key in values:
            if key not in keys and key not in whole and not key.startswith("record.") and not any(
                    k.startswith(key + ".") for k in keys):
                fail(f"{what}: no column for {key}")
        if len(cells) != len(keys):
            fail(f"{what}: a row of {len(cells)} cells")
        for key, cell in zip(keys, cells):
            value = values.get(key, outer.get(key) if outer else None)
            if not is_same(cell, cell_of(value)):
                fail(f"{what}: {key} is {cell!r}, {value!r} in the JSON")


# ---- all of it ----


def main():
    made = validators()
    if made is None:
        print("[  SKIPPED ] forms: no python3-jsonschema, so no JSON is held against docs/schema")
    outputs = spoilt = compared = 0
    seen = {command: Seen() for command in COMMANDS}
    for command in COMMANDS:
        if command not in TABLES:
            fail(f"{command} has no table in docs/csv.md")
        for record in sys.argv[1:]:
            done = run(command, record, "--json")
            if done.returncode == 2:
                continue
            text = done.stdout.decode("utf-8", "strict")
            output = json.loads(text, parse_constant=lambda word: fail(f"{command} {record}: {word}"))
            outputs += 1
            if made:
                for error in made[command].iter_errors(output):
                    fail(f"{command} {record}: {error.json_path}: {error.message[:200]}")
                spoilt += check_refusals(command, made[command], output, seen[command])
            if re.search("handbook|bad/|solid|(long|wide|hostile)-outside", record):
                continue
            exact = json.loads(text, parse_float=Figure, parse_int=Figure)
            for table, path, must in TABLES[command]:
                check_table(command, table, path, must, record, exact, done.returncode)
                compared += 1
    if outputs < len(COMMANDS) or compared < outputs or (made and spoilt < 20 * len(COMMANDS)):
        fail(f"only {outputs} outputs, {compared} tables, {spoilt} spoilt ones")
    if failed:
        print(f"{len(failed)} faults")
        print("[  FAILED  ] forms")
        return 1
    if made:
        print(f"[       OK ] schema: {outputs} outputs fit, {spoilt} spoilt ones are refused")
    print(f"[       OK ] csv: {compared} tables are as the JSON")
    return 0


sys.exit(main())
