"""JSON against docs/schema and CSV against JSON, for all commands on the records that are named.

usage: forms.py RECORD...     BUILD says where the program is
"""
import concurrent.futures
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


def kinds(node):
    """What of a value makes it another one to spoil: its keys, and what kind each is."""
    if isinstance(node, dict):
        return tuple((key, kinds(value)) for key, value in node.items())
    return type(node).__name__


def thinned(node):
    """The same with one of each kind in its lists, so that it is quickly looked at."""
    if isinstance(node, dict):
        return {key: thinned(value) for key, value in node.items()}
    if isinstance(node, list):
        return [thinned(one) for one in (node if len(node) <= 5 else {kinds(one): one for one in reversed(node)}.values())]
    return node


def check_refusals(command, validator, output, seen):
    whole, count = thinned(output), 0

    def refused(what):
        nonlocal count
        count += 1
        if validator.is_valid(whole):
            fail(f"{command}: the schema takes this: {what}")

    if validator.is_valid(whole):  # else a list has become too short, or this was told already
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
    """How many rows were compared."""
    what = f"{command} --csv {table} {record}"
    got, csv_status = csv_rows(command, table, record)
    if csv_status != status or not got:
        fail(f"{what}: exit status {csv_status}, and {status} with --json")
        return 0
    unit = {"ft": "ft", "ft-in": "ft", "m": "m"}.get(output["unit"])
    lists = [p for _, p, _ in TABLES[command] if p]
    headings, rows = got[0], got[1:]
    want = [(row, outer) for row, outer in rows_at(output, path) if not must or must in row]
    if len(rows) != len(want):
        fail(f"{what}: {len(rows)} rows, {len(want)} in the JSON")
        return 0
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
    return len(rows)


# ---- all of it ----


def check_command(command):
    """The faults of a command, and how many outputs, spoilt ones and tables were looked at."""
    failed.clear()
    made = validators()
    outputs = spoilt = compared = 0
    rows, seen = {}, Seen()
    if command not in TABLES:
        fail(f"{command} has no table in docs/csv.md")
        return failed, 0, 0, 0
    for record in sys.argv[1:]:
        if "bad/" in record and command != "audit":
            continue  # nothing else has results of a record with errors
        done = run(command, record, "--json")
        if done.returncode == 2:
            continue
        text = done.stdout.decode("utf-8", "strict")
        output = json.loads(text, parse_constant=lambda word: fail(f"{command} {record}: {word}"))
        outputs += 1
        if made:
            for error in made[command].iter_errors(output):
                fail(f"{command} {record}: {error.json_path}: {error.message[:200]}")
            spoilt += check_refusals(command, made[command], output, seen)
        if re.search("handbook|bad/|long|solid|wide|hostile-outside", record):
            continue
        exact = json.loads(text, parse_float=Figure, parse_int=Figure)
        for table, path, must in TABLES[command]:
            rows[table] = rows.get(table, 0) + check_table(command, table, path, must, record, exact, done.returncode)
            compared += 1
    for table, _, _ in TABLES[command]:
        if not rows.get(table):
            fail(f"{command} --csv {table}: no record has a row of it")
    if made and spoilt < 20:
        fail(f"{command}: only {spoilt} spoilt outputs")
    return failed, outputs, spoilt, compared


def main():
    made = validators() is not None
    if not made:
        print("[  SKIPPED ] forms: no python3-jsonschema, so no JSON is held against docs/schema")
    with concurrent.futures.ProcessPoolExecutor() as pool:
        found = list(pool.map(check_command, COMMANDS))
    faults = [fault for one in found for fault in one[0]]
    outputs, spoilt, compared = (sum(one[k] for one in found) for k in (1, 2, 3))
    for fault in faults[:40]:
        print(fault)
    if faults:
        print(f"{len(faults)} faults")
        print("[  FAILED  ] forms")
        return 1
    if made:
        print(f"[       OK ] schema: {outputs} outputs fit, {spoilt} spoilt ones are refused")
    print(f"[       OK ] csv: {compared} tables are as the JSON")
    return 0


if __name__ == "__main__":
    sys.exit(main())
